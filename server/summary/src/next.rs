//! The next class: what is still open, side by side once more.

use crate::several::Pool;
use crate::several::pairs::Pair;
use crate::several::votes::Rule;
use crate::several::ways::ways;
use class::course::Wanted;
use class::steeping::Ways;
use class::write::{Written, class_file};
use class::{Class, MAX_TEAS, Tea, read};
use protocol::text::{NAME_CHARS, TITLE_CHARS};
use room::light::ClassScores;
use stats::interval::SIGNIFICANCE;
use stats::penalty::Hint;
use std::collections::BTreeMap;

/// As many teas as one pair of hands can still serve in a round; a class of more is the teacher's own choice.
const MOST: usize = 6;
/// A steep is changed by a quarter, and by [`ROUND_S`] seconds at least. Common practice.
const STEP: f64 = 0.25;
/// Steeps are written in steps of this many seconds.
const ROUND_S: u32 = 5;
/// The longest steep that a class file takes, seconds.
const LONGEST_S: u32 = 3600;

/// A class file that compares what is still open. `date` is the day to write, `YYYY-MM-DD`; everything but the teas is as
/// in the last class.
///
/// # Errors
/// A sentence when nothing is open, or nothing that may be named.
pub fn next(pool: &Pool, records: &[&ClassScores], date: &str) -> Result<String, String> {
    let last = records.last().ok_or("no class, so nothing to compare again")?;
    let teas = candidates(pool, records);
    if teas.len() < 2 {
        let blind = pool.classes.iter().any(|class| !class.still_blind.is_empty());
        let hint = if blind {
            "; teas that are still blind can't be taken up by name: reveal them first"
        } else {
            ""
        };
        return Err(format!("nothing is open between ways that may be named{hint}"));
    }
    let mut class = Class { date: date.into(), ..last.class.clone() };
    class.title = next_title(&class.title);
    class.teas = teas.iter().map(|t| t.tea.clone()).collect();
    let rounds = class.rounds();
    class.setting.breaks.retain(|b| b.after_round < rounds);
    let n = pool.classes.len();
    let classes = format!("{n} {}", if n == 1 { "class" } else { "classes" });
    let text = class_file(
        &[
            &format!(
                "Written by `kettlecall review --next` from {classes}: what is still open, side by side once more."
            ),
            "A changed steep differs by about a quarter; that is common practice, not a finding. Change what you like.",
        ],
        &class,
        &teas,
    );
    // A ledger from anywhere may hold what no class file can say.
    match read::class(&text) {
        Ok(_) => Ok(text),
        Err(faults) => Err(format!(
            "the next class can't be written as a class file:\n{}",
            faults.render("next", &text, "it was not written")
        )),
    }
}

fn next_title(title: &str) -> String {
    let title = title.strip_prefix("Next: ").unwrap_or(title);
    format!("Next: {title}").chars().take(TITLE_CHARS).collect()
}

/// What is open, what the votes ask for first: a steep that the votes would change beside what it is now; two ways of one leaf;
/// any two ways. Ways that are blind are never named.
fn candidates(pool: &Pool, records: &[&ClassScores]) -> Vec<Written> {
    // How each way was last made.
    let mut made: BTreeMap<usize, Made> = BTreeMap::new();
    for (record, of_teas) in records.iter().zip(ways(records).1) {
        made.extend(
            of_teas.into_iter().zip((0..record.class.teas.len()).map(|place| Made::of(record, place))),
        );
    }
    let known = |way: usize| pool.ways.iter().any(|w| w.way.way == way && w.way.known.is_some());
    let mut list = List::default();
    for (&way, tea) in made.iter().filter(|(w, _)| known(**w + 1)) {
        let mut asked = asked(pool, way + 1);
        asked.retain(|asked| tea.is_voted_on(asked.steep));
        if let Some(changed) = changed(&tea.wanted.tea, &asked)
            && list.teas.len() + 2 <= MOST
        {
            list.add(way, tea, "as it was, beside the changed steeps");
            let mut why: Vec<&str> = asked.iter().map(|asked| asked.words).collect();
            why.dedup();
            list.push(changed, why.join("\n"));
        }
    }
    let mut open: Vec<&Pair> =
        pool.pairs.iter().filter(|p| !p.shown() && known(p.first) && known(p.second)).collect();
    // Two ways of one leaf first; of the others, what is nearest to being shown.
    open.sort_by(|a, b| {
        (!a.same_leaf, a.p.unwrap_or(1.0))
            .partial_cmp(&(!b.same_leaf, b.p.unwrap_or(1.0)))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    for pair in open {
        let both = [pair.first, pair.second].map(|way| made.get(&(way - 1)));
        if let [Some(first), Some(second)] = both
            && same_way(&first.wanted.tea, &second.wanted.tea)
        {
            continue;
        }
        let new = [pair.first, pair.second].iter().filter(|w| !list.ways.contains(&(**w - 1))).count();
        if list.teas.len() + new > MOST.min(MAX_TEAS) {
            continue;
        }
        for way in [pair.first - 1, pair.second - 1] {
            if let Some(tea) = made.get(&way) {
                list.add(way, tea, &pair.words);
            }
        }
    }
    list.teas
}

/// How a tea was made in the last class that had it.
struct Made {
    wanted: Wanted,
    /// The seconds that its written steeps were really given.
    run_s: Vec<u32>,
}

impl Made {
    fn of(record: &ClassScores, place: usize) -> Self {
        let tea = &record.class.teas[place];
        let counts = |round| record.filled().any(|(cup, _)| (cup.tea, cup.steep) == (place, round));
        Self { wanted: record.course.wanted(tea, counts), run_s: record.course.as_run(tea).steep_s }
    }

    /// Whether the votes on a steep, from 1, are about the seconds that it is to have: those on a slip are not.
    fn is_voted_on(&self, steep: usize) -> bool {
        steep.checked_sub(1).is_some_and(|place| self.wanted.tea.steep_s.get(place) == self.run_s.get(place))
    }
}

/// Whether two teas are one leaf steeped one way: beside each other they would compare nothing.
fn same_way(one: &Tea, other: &Tea) -> bool {
    let of = Ways::of([one, other].into_iter().map(|tea| (tea.leaf_key(), tea))).of;
    of[0] == of[1]
}

/// A change that the votes ask for, and its reason in words.
struct Asked<'a> {
    /// The steep, from 1.
    steep: usize,
    /// Longer or shorter.
    hint: Hint,
    words: &'a str,
}

/// What is shown to be asked for, as it stands in short: of all votes on a way, in the steeps that go the same way, and in a steep whose
/// own votes show something else. What is only hinted at changes nothing.
fn asked(pool: &Pool, way: usize) -> Vec<Asked<'_>> {
    let changes = |hint: Hint| matches!(hint, Hint::Lengthen | Hint::Shorten);
    let Some(whole) = pool.strength.iter().find(|votes| votes.way == way) else { return Vec::new() };
    let one_steep = whole.steeps.len() == 1;
    let by_itself = |rule: &&Rule| rule.way == way && rule.p_of_all <= SIGNIFICANCE && !one_steep;
    let alone: Vec<&Rule> =
        pool.rules.iter().filter(by_itself).filter(|rule| rule.favours != Hint::TooFewToTell).collect();
    let of_all = whole.alike.iter().filter(|_| whole.shown && changes(whole.hint.hint));
    let of_all =
        of_all.map(|&steep| Asked { steep: steep as usize, hint: whole.hint.hint, words: &whole.words });
    let of_all = of_all
        .filter(|asked| alone.iter().all(|rule| rule.steep != asked.steep || rule.favours == asked.hint));
    let own = alone
        .iter()
        .filter(|rule| changes(rule.favours) && !(whole.shown && rule.favours == whole.hint.hint));
    let own = own.map(|rule| Asked { steep: rule.steep, hint: rule.favours, words: &rule.words });
    of_all.chain(own).collect()
}

#[derive(Default)]
struct List {
    teas: Vec<Written>,
    ways: Vec<usize>,
}

impl List {
    fn add(&mut self, way: usize, made: &Made, why: &str) {
        let tea = &made.wanted.tea;
        if !self.ways.contains(&way) {
            self.ways.push(way);
            if !self.teas.iter().any(|there| same_way(&there.tea, tea)) {
                let why: Vec<&str> =
                    std::iter::once(why).chain(made.wanted.aside.iter().map(String::as_str)).collect();
                self.push(tea.clone(), why.join("\n"));
            }
        }
    }

    /// Puts a tea on the list under a name that no other has.
    fn push(&mut self, tea: Tea, why: String) {
        let taken = |name: &str| self.teas.iter().any(|t| t.tea.name.to_lowercase() == name.to_lowercase());
        let plain = shortened(&tea.name, "");
        let numbered = (2..).map(|n| shortened(&tea.name, &format!(" {n}")));
        let name = std::iter::once(plain).chain(numbered).find(|name| !taken(name)).unwrap_or_default();
        self.teas.push(Written { tea: Tea { name, code: None, ..tea }, why });
    }
}

/// A name with something behind it, cut to what a name may hold.
fn shortened(name: &str, behind: &str) -> String {
    let room = NAME_CHARS - behind.chars().count();
    let head: String = name.chars().take(room).collect();
    format!("{}{behind}", head.trim_end())
}

/// The tea with its steeps changed as the votes would have them; `None` if nothing changes.
fn changed(tea: &Tea, asked: &[Asked<'_>]) -> Option<Tea> {
    let mut steep_s = tea.steep_s.clone();
    for asked in asked {
        if let Some(seconds) = steep_s.get_mut(asked.steep - 1) {
            let step =
                ((f64::from(*seconds) * STEP / f64::from(ROUND_S)).round() as u32 * ROUND_S).max(ROUND_S);
            *seconds = match asked.hint {
                Hint::Lengthen => (*seconds + step).min(LONGEST_S),
                _ => seconds.saturating_sub(step),
            };
        }
    }
    let sum = |steeps: &[u32]| -> u32 { steeps.iter().sum() };
    let what = match sum(&steep_s).cmp(&sum(&tea.steep_s)) {
        std::cmp::Ordering::Less => ", shorter",
        std::cmp::Ordering::Greater => ", longer",
        std::cmp::Ordering::Equal => ", changed",
    };
    (steep_s != tea.steep_s).then(|| Tea { name: shortened(&tea.name, what), steep_s, ..tea.clone() })
}
