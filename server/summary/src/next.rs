//! The next class: what is still open, side by side once more.

mod further;
mod pairs;

use crate::figures::Figures;
use crate::several::Pool;
use crate::several::strength::WayVotes;
use crate::several::votes::Rule;
use crate::several::ways::ways;
use crate::spot::Spots;
use crate::spot::next::{AGAIN, serves, shortened};
use class::course::Wanted;
use class::steeping::Ways;
use class::write::{Written, class_file};
use class::{Class, MAX_SEATS, MAX_TEAS, Tea, read};
use further::Further;
use pairs::Told;
use protocol::say::list;
use protocol::text::TITLE_CHARS;
use room::light::ClassScores;
use stats::interval::SIGNIFICANCE;
use stats::penalty::Hint;
use stats::say::points;
use std::collections::{BTreeMap, BTreeSet};

/// As many teas as one pair of hands can still serve in a round; a class of more is the teacher's own choice.
const MOST: usize = 6;
/// A steep is changed by a quarter, and by [`ROUND_S`] seconds at least. Common practice.
const STEP: f64 = 0.25;
/// Steeps are written in steps of this many seconds.
const ROUND_S: u32 = 5;
/// The longest steep that a class file takes, seconds.
const LONGEST_S: u32 = 3600;

/// A next class, written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Next {
    /// Its class file.
    pub text: String,
    /// What is open too, by what it is called, and has no room in it.
    pub no_room: Vec<String>,
}

/// A class file that compares what is still open. `date` is the day to write, `YYYY-MM-DD`; everything but the teas is as
/// in the last class. `spots` are the sweet spots of the same classes; `alone` is what was found in the only class, whose own review
/// decides what is open there.
///
/// # Errors
/// A sentence when nothing is open, or nothing that may be named.
pub fn next(
    pool: &Pool,
    spots: &Spots,
    records: &[&ClassScores],
    date: &str,
    alone: Option<&Figures>,
) -> Result<Next, String> {
    let last = records.last().ok_or("no class, so nothing to compare again")?;
    let told = pairs::told(pool, records, alone);
    let class_of = |list: &List| {
        let mut class = Class { date: date.into(), ..last.class.clone() };
        let one_mind =
            |votes: &WayVotes| list.ways.contains(&(votes.way - 1)) && one_mind(pool, votes).is_some();
        if pool.strength.iter().any(one_mind) {
            class.seats = class.seats.max(pool.tasters_needed as u32).min(MAX_SEATS);
        }
        // One way under two names is one only as long as nobody knows it.
        class.blind |= list.further.again;
        class.title = next_title(&class.title);
        class.teas = list.teas.iter().map(|t| t.tea.clone()).collect();
        let rounds = class.rounds();
        class.setting.breaks.retain(|b| b.after_round < rounds);
        class
    };
    let list = |most_further: usize, same_water: bool| {
        let further = Further { most: most_further, same_water, ..Further::default() };
        candidates(pool, spots, records, &told, further)
    };
    let own = class_of(&list(0, false));
    // Further ways are there as far as they can be served as the last class was: else others, or fewer.
    let (mut found, mut fewer) = (list(MOST, false), None);
    let most = found.further.chosen.len();
    for (more, same_water) in (1..=most).rev().flat_map(|more| [(more, false), (more, true)]) {
        found = list(more, same_water);
        let Err(why) = serves(&class_of(&found), &[&last.class, &own]) else { break };
        (found, fewer) = (list(more - 1, same_water), fewer.or(Some(why)));
    }
    let class = class_of(&found);
    let fewer = fewer.filter(|_| found.further.chosen.len() < most);
    let List { teas, ways, left, further, .. } = found;
    if teas.len() < 2 {
        let blind = pool.classes.iter().any(|class| !class.still_blind.is_empty());
        let hint = if blind {
            "; teas that are still blind can't be taken up by name: reveal them first"
        } else {
            ""
        };
        return Err(format!("nothing is open between ways that may be named{hint}"));
    }
    let no_room: Vec<String> =
        left.iter().filter(|way| !ways.contains(way)).map(|way| pool.called(way + 1).to_string()).collect();
    let n = pool.classes.len();
    let classes = format!("{n} {}", if n == 1 { "class" } else { "classes" });
    let mut heading = vec![
        format!("Written by `kettlecall review --next` from {classes}: what is still open, side by side once more."),
        "Changed steeps have the times that are advised beside them; a steep that is changed by itself differs by about a quarter. \
         Both are rough guesses: change what you like."
            .into(),
    ];
    if !further.chosen.is_empty() {
        heading.push(further::words(&further.leaves));
    }
    if further.again {
        heading.push(AGAIN.into());
    }
    if let Some(why) = fewer {
        heading.push(format!("More ways can't be served as well as the last class was: {why}"));
    }
    if !no_room.is_empty() {
        heading.push(no_room_for(&no_room));
    }
    let heading: Vec<&str> = heading.iter().map(String::as_str).collect();
    let text = class_file(&heading, &class, &teas);
    // A ledger from anywhere may hold what no class file can say.
    match read::class(&text) {
        Ok(_) => Ok(Next { text, no_room }),
        Err(faults) => Err(format!(
            "the next class can't be written as a class file:\n{}",
            faults.render("next", &text, "it was not written")
        )),
    }
}

/// "Open too, with no room among 6 teas: Fir; compare that in a class of its own."
pub fn no_room_for(names: &[String]) -> String {
    let that = if names.len() == 1 { "that" } else { "those" };
    format!("Open too, with no room among {MOST} teas: {}; compare {that} in another class.", list(names))
}

fn next_title(title: &str) -> String {
    let title = title.strip_prefix("Next: ").unwrap_or(title);
    format!("Next: {title}").chars().take(TITLE_CHARS).collect()
}

/// What is open. Of a leaf of which a best way can be sought, the ways that would tell most of it come before all else, and instead of
/// all that would be tasted again; where none can be served, what follows. Then what the votes ask for: a steep that the votes would
/// change beside what it is now; then what so few could not show; two ways of one leaf; any two ways. Beside ways of a leaf stands the
/// one that is shown to be liked more than another. Ways that are blind are never named. Of a leaf of which too few ways were tasted,
/// other ways come behind all pairs.
fn candidates(pool: &Pool, spots: &Spots, records: &[&ClassScores], told: &[Told], further: Further) -> List {
    // How each way was last made.
    let mut made: BTreeMap<usize, Made> = BTreeMap::new();
    for (record, of_teas) in records.iter().zip(ways(records).1) {
        made.extend(
            of_teas.into_iter().zip((0..record.class.teas.len()).map(|place| Made::of(record, place))),
        );
    }
    made.retain(|way, _| pool.ways.iter().any(|w| w.way.way == way + 1 && w.way.known.is_some()));
    let mut changes: Vec<(usize, Tea, String)> = Vec::new();
    for (&way, tea) in &made {
        let mut asked = asked(pool, way + 1);
        asked.retain(|asked| tea.is_voted_on(asked.steep));
        if let Some(changed) = changed(&tea.wanted.tea, &asked) {
            let mut why: Vec<&str> = asked.iter().map(|asked| asked.words).collect();
            why.dedup();
            changes.push((way, changed, why.join("\n")));
        }
    }
    let mut open: Vec<&Told> = told
        .iter()
        .filter(|pair| !pair.shown)
        .filter(|pair| match [pair.first, pair.second].map(|way| made.get(&(way - 1))) {
            [Some(first), Some(second)] => !same_way(&first.wanted.tea, &second.wanted.tea),
            _ => false,
        })
        .collect();
    // Two ways of one leaf first; of the others, what is nearest to being shown.
    open.sort_by(|a, b| {
        (!a.same_leaf, a.p.unwrap_or(1.0))
            .partial_cmp(&(!b.same_leaf, b.p.unwrap_or(1.0)))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    let mut list = List { further, ..List::default() };
    let leaves = further::open(pool, spots, &made);
    let (sought, other): (Vec<_>, Vec<_>) = leaves.iter().partition(|open| open.is_sought());
    let last = records.last().map(|record| &record.class);
    if let Some(last) = last {
        further::add(&mut list, &sought, spots, last);
    }
    let leaf = |way: &usize| made.get(way).map(|made| made.wanted.tea.leaf_key());
    let replaced = |way: usize, list: &List| leaf(&way).is_some_and(|key| list.has_chosen(&key));
    changes.retain(|(way, ..)| !replaced(*way, &list));
    open.retain(|pair| !(pair.same_leaf && replaced(pair.first - 1, &list)));
    for votes in &pool.strength {
        if let Some(words) = one_mind(pool, votes) {
            list.notes.entry(votes.way - 1).or_default().push(words);
        }
    }
    let compared: BTreeSet<usize> = changes
        .iter()
        .map(|(way, ..)| *way)
        .chain(open.iter().flat_map(|pair| [pair.first - 1, pair.second - 1]))
        .collect();
    for pair in best(told) {
        let (better, than) = pair.better();
        let words =
            format!("the reference: liked {} more than {}", points(pair.points.abs()), pool.called(than));
        list.notes.entry(better - 1).or_default().push(words);
        if let Some(made) = made.get(&(better - 1))
            && !replaced(better - 1, &list)
            && compared.iter().any(|way| leaf(way) == leaf(&(better - 1)))
            && list.has_room(&[better - 1], 0)
        {
            list.add(better - 1, made, "as it was");
        }
    }
    for (way, changed, why) in changes {
        if list.has_room(&[way], 1) {
            list.add(way, &made[&way], "as it was, beside the changed steeps");
            list.push(changed, why);
        }
    }
    for votes in pool.strength.iter().filter(|votes| one_mind(pool, votes).is_some()) {
        if let Some(made) = made.get(&(votes.way - 1))
            && !replaced(votes.way - 1, &list)
            && list.has_room(&[votes.way - 1], 0)
        {
            list.add(votes.way - 1, made, "as it was, before more tasters");
        }
    }
    for pair in open {
        let both = [pair.first - 1, pair.second - 1];
        if list.has_room(&both, 0) {
            both.iter().for_each(|way| list.add(*way, &made[way], &pair.words));
        }
    }
    if let Some(last) = last {
        further::add(&mut list, &other, spots, last);
    }
    list
}

/// Of each leaf the way that is shown to be liked more than another and less than none, by the pair that lies farthest apart.
fn best(told: &[Told]) -> Vec<&Told> {
    let mut shown: Vec<&Told> =
        told.iter().filter(|pair| pair.same_leaf && pair.shown && pair.liking).collect();
    shown.sort_by(|a, b| b.points.abs().total_cmp(&a.points.abs()));
    let less: BTreeSet<usize> = shown.iter().map(|pair| pair.better().1).collect();
    let mut told = BTreeSet::new();
    // Two ways of a leaf that are both liked more than a third, and not told apart, are both the best so far.
    shown.retain(|pair| !less.contains(&pair.better().0) && told.insert(pair.better().0));
    shown
}

/// "all 6 found it too thin; with 8 tasters it could be shown", of votes of one mind that are too few to show anything.
fn one_mind(pool: &Pool, votes: &WayVotes) -> Option<String> {
    let (hint, needed) = (&votes.hint, pool.tasters_needed);
    let tasters = hint.tasters;
    let too_few = tasters > 1 && tasters < needed && !votes.shown;
    let word = match (hint.too_thin == tasters, hint.too_strong == tasters) {
        (true, _) => "thin",
        (_, true) => "strong",
        _ => return None,
    };
    too_few.then(|| format!("all {tasters} found it too {word}; with {needed} tasters it could be shown"))
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
    /// The seconds that are advised, where they are.
    advised_s: Option<u32>,
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
    // Times are advised for every steep, a change without them for those whose votes lie to its side.
    let advised = whole.estimate.as_ref().map_or(&[][..], |estimate| &estimate.steep_s);
    let steeps: Vec<(usize, Option<u32>)> = match advised {
        [] => whole.alike.iter().map(|&steep| (steep as usize, None)).collect(),
        some => (1..).zip(some.iter().copied().map(Some)).collect(),
    };
    let of_all = steeps.into_iter().filter(|_| whole.shown && changes(whole.hint.hint));
    let of_all = of_all.map(|(steep, advised_s)| Asked {
        steep,
        hint: whole.hint.hint,
        advised_s,
        words: &whole.words,
    });
    let of_all = of_all
        .filter(|asked| alone.iter().all(|rule| rule.steep != asked.steep || rule.favours == asked.hint));
    let own = alone
        .iter()
        .filter(|rule| changes(rule.favours) && !(whole.shown && rule.favours == whole.hint.hint));
    let own =
        own.map(|rule| Asked { steep: rule.steep, hint: rule.favours, advised_s: None, words: &rule.words });
    of_all.chain(own).collect()
}

#[derive(Default)]
struct List {
    teas: Vec<Written>,
    ways: Vec<usize>,
    /// What else is to be said of a way.
    notes: BTreeMap<usize, Vec<String>>,
    /// Ways that had no room.
    left: BTreeSet<usize>,
    further: Further,
}

impl List {
    /// How many teas more there is room for.
    fn room(&self) -> usize {
        MOST.min(MAX_TEAS).saturating_sub(self.teas.len())
    }

    /// Puts a further way on the list.
    fn choose(&mut self, tea: Tea, why: String) {
        if self.further.again || !self.teas.iter().any(|there| same_way(&there.tea, &tea)) {
            self.push(tea, why);
            self.further.chosen.extend(self.teas.last().map(|last| last.tea.name.clone()));
        }
    }

    /// Whether further ways of a leaf are on the list.
    fn has_chosen(&self, leaf: &str) -> bool {
        let chosen = |tea: &Tea| self.further.chosen.contains(&tea.name);
        self.teas.iter().any(|there| there.tea.leaf_key() == leaf && chosen(&there.tea))
    }

    /// Whether there is room for these ways, those that are there already aside, and so many teas more; if not, they are noted as left.
    fn has_room(&mut self, ways: &[usize], more: usize) -> bool {
        let new = ways.iter().filter(|way| !self.ways.contains(way)).count() + more;
        let has = new <= self.room();
        if !has {
            self.left.extend(ways);
        }
        has
    }

    fn add(&mut self, way: usize, made: &Made, why: &str) {
        let tea = &made.wanted.tea;
        if !self.ways.contains(&way) {
            self.ways.push(way);
            if !self.teas.iter().any(|there| same_way(&there.tea, tea)) {
                let notes = self.notes.get(&way).into_iter().flatten();
                let behind = notes.chain(&made.wanted.aside).map(String::as_str);
                let why: Vec<&str> = std::iter::once(why).chain(behind).collect();
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

/// The tea with its steeps changed as the votes would have them; `None` if nothing changes.
fn changed(tea: &Tea, asked: &[Asked<'_>]) -> Option<Tea> {
    let mut steep_s = tea.steep_s.clone();
    for asked in asked {
        if let Some(seconds) = steep_s.get_mut(asked.steep - 1) {
            let step =
                ((f64::from(*seconds) * STEP / f64::from(ROUND_S)).round() as u32 * ROUND_S).max(ROUND_S);
            *seconds = match (asked.advised_s, asked.hint) {
                (Some(advised_s), _) => advised_s.min(LONGEST_S),
                (None, Hint::Lengthen) => (*seconds + step).min(LONGEST_S),
                (None, _) => seconds.saturating_sub(step),
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

#[cfg(test)]
mod tests;
