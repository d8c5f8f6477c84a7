//! Several classes pooled: teas that are the same leaf steeped the same way are taken together, whatever their codes.
//!
//! Teas that are still blind in their ledger stay coded: they are compared within their class
//! and joined with nothing. All tests take each taster's level, and with it the class, out first: see [`together`].

pub mod beyond;
pub mod class;
pub mod decision;
pub mod digest;
pub mod pairs;
pub mod say;
pub mod settled;
pub mod strength;
pub mod tasters;
pub mod test;
pub mod together;
pub mod votes;
pub mod ways;

use crate::say::brief::Line;
use beyond::NotPooled;
use class::Class;
use digest::{Counts, Digest};
use pairs::Pair;
use protocol::{Code, Phase};
use room::light::ClassScores;
use schemars::JsonSchema;
use serde::Serialize;
use stats::describe::Description;
use std::collections::BTreeMap;
use strength::WayVotes;
use together::Together;
use uuid::Uuid;
use votes::Rule;
use ways::{Scale, Way};

/// The number of the JSON shape; a change of meaning gets a new one, added fields do not.
pub const FORMAT: u32 = 2;
/// The attribute that ways are judged by where there is one of this name; else it is the one with the most scores.
const JUDGED_BY: &str = "liking";

/// Several classes. Its JSON is documented in `server/docs/json.md`.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Pool {
    /// The number of this shape: 2.
    pub format: u32,
    /// What was found in a few lines without tests and probabilities; empty if there is nothing to report.
    #[schemars(with = "Vec<String>")]
    pub brief: Vec<Line>,
    /// The classes in the order of their days.
    pub classes: Vec<ClassLine>,
    /// The ways.
    pub ways: Vec<WayLine>,
    /// The ways compared, by attribute.
    pub together: Vec<Together>,
    /// Pairs of ways, by the attribute that they are judged by.
    pub pairs: Vec<Pair>,
    /// The strength votes, by way and steep: the detail of `strength`.
    pub rules: Vec<Rule>,
    /// The strength votes on each way over its steeps, each taster counted once: what the short list goes by.
    pub strength: Vec<WayVotes>,
    /// So many tasters have to vote on a way, and all to agree, for anything to be shown of it, all ways being looked at.
    pub tasters_needed: usize,
}

/// One class.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ClassLine {
    /// Its number here, from 1.
    pub class: usize,
    /// Its id.
    pub class_id: Uuid,
    /// Its title.
    pub title: String,
    /// Its day, YYYY-MM-DD.
    pub date: String,
    /// Where it stands.
    pub phase: Phase,
    /// Whether it was only rehearsed: then it is in no figure, unless every class was.
    pub rehearsal: bool,
    /// The seats that are left out.
    pub left_out: Vec<String>,
    /// How many times a cup, or a seat's score of one, was voided.
    pub voided: usize,
    /// What of the class is not there any more, in sentences; empty if nothing is known to be missing.
    pub damage: Vec<String>,
    /// How many seats came and count.
    pub seats: usize,
    /// How many sheets count.
    pub sheets: usize,
    /// The numbers of its ways.
    pub ways: Vec<usize>,
    /// The codes of the teas whose names are still kept from the class.
    pub still_blind: Vec<Code>,
    /// Steeps that were done again or once more, and are left out here: other classes have none to go with them.
    pub not_pooled: Vec<NotPooled>,
}

/// One way.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WayLine {
    /// What it is.
    #[serde(flatten)]
    pub way: Way,
    /// Its attributes.
    pub attributes: Vec<AttributeLine>,
}

/// One attribute of a way.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "PooledAttribute")]
pub struct AttributeLine {
    /// The attribute.
    #[serde(flatten)]
    pub scale: Scale,
    /// All classes and steeps together.
    pub all_steeps: Description,
    /// Each steep that anybody scored.
    pub steeps: Vec<SteepLine>,
}

/// One attribute of a way at one steep.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "PooledSteep")]
pub struct SteepLine {
    /// The steep, from 1.
    pub steep: usize,
    /// All classes together.
    #[serde(flatten)]
    pub figures: Description,
    /// Each class.
    pub classes: Vec<InClass>,
}

/// One class's part of it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "SteepInClass")]
pub struct InClass {
    /// The class's number.
    pub class: usize,
    /// Its figures.
    #[serde(flatten)]
    pub figures: Description,
}

impl Pool {
    /// The classes that are in the figures: rehearsals only if every class is one.
    pub fn counted(&self) -> impl Iterator<Item = &ClassLine> {
        let all = self.classes.iter().all(|class| class.rehearsal);
        self.classes.iter().filter(move |class| all || !class.rehearsal)
    }

    /// What a way is called, by its number.
    pub fn called(&self, way: usize) -> &str {
        self.ways.iter().find(|line| line.way.way == way).map_or("", |line| &line.way.called)
    }
}

/// Pools classes, which come in the order of their days.
pub fn pool(classes: &[(ClassScores, Digest)]) -> Pool {
    let records: Vec<&ClassScores> = classes.iter().map(|(record, _)| record).collect();
    let (ways, of_teas) = ways::ways(&records);
    let (scales, of_attributes) = ways::scales(&records);
    let all_rehearsed = records.iter().all(|record| record.rehearsal);
    // A rehearsal beside classes keeps its number, and has nothing that counts.
    let counts = |record: &ClassScores| all_rehearsed || !record.rehearsal;
    let parts = classes.iter().zip(&of_teas).zip(of_attributes);
    let parts = parts.map(|(((record, digest), ways), scales)| match counts(record) {
        true => Class { digest, ways: ways.clone(), scales },
        false => Class { digest, ways: Vec::new(), scales: Vec::new() },
    });
    let parts: Vec<Class<'_>> = parts.collect();
    let judged = judged_by(&parts, &scales);
    // Four parts that need nothing of one another.
    let (lines, together, pairs, rules, strength) = std::thread::scope(|scope| {
        let lines = scope.spawn(|| way_lines(&parts, &ways, &scales));
        let together = scope.spawn(|| together::together(&parts, &ways, &scales));
        let strength = scope.spawn(|| strength::strength(&parts, &ways));
        let pairs = judged.map(|at| pairs::pairs(&parts, &ways, (at, &scales[at])));
        let rules = votes::rules(&parts, &ways, judged.unwrap_or(0));
        (joined(lines), joined(together), pairs, rules, joined(strength))
    });
    let name = judged.map_or("", |at| &scales[at].name);
    let way = |way: usize| &ways[way - 1];
    let pairs = pairs.map(|pairs| pairs::decided(pairs, &together, &ways));
    let together =
        together.said(|found, tested, behind| found.words = say::together::words(found, tested, behind.why));
    let pairs = pairs.map(|pairs| {
        pairs.said(|pair, tested, why| {
            pair.words = say::pairs::words(pair, way(pair.first), way(pair.second), tested, why);
        })
    });
    let (strength, tasters_needed) = strength;
    let strength = strength.said(|votes, tested, ()| {
        votes.words = say::strength::words(votes, way(votes.way), tested, tasters_needed);
    });
    let rules = rules.said(|rule, tested, hint| {
        rule.words = say::votes::words(rule, &hint, way(rule.way), tested, name);
    });
    let class_lines = records.iter().zip(of_teas).enumerate();
    let mut pool = Pool {
        format: FORMAT,
        brief: Vec::new(),
        classes: class_lines.map(|(i, (record, ways))| class_line(i, record, ways)).collect(),
        ways: lines,
        together,
        pairs: pairs.unwrap_or_default(),
        rules,
        strength,
        tasters_needed,
    };
    pool.brief = say::brief::lines(&pool);
    pool
}

/// What was found without its words, each with a note that the words need, and how many of them were tested.
pub(crate) struct Looked<T, N> {
    found: Vec<(T, N)>,
    tested: usize,
}

impl<T, N> Looked<T, N> {
    /// All of it, each put into words by `say`.
    fn said(self, say: impl Fn(&mut T, usize, N)) -> Vec<T> {
        let one = |(mut found, note)| {
            say(&mut found, self.tested, note);
            found
        };
        self.found.into_iter().map(one).collect()
    }
}

/// What a thread has come to; a panic goes on here.
fn joined<T>(thread: std::thread::ScopedJoinHandle<'_, T>) -> T {
    thread.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
}

fn class_line(place: usize, record: &ClassScores, mut ways: Vec<usize>) -> ClassLine {
    let blind = (0..record.class.teas.len()).filter(|&tea| !record.is_open(tea));
    let mut still_blind: Vec<Code> = blind.filter_map(|tea| record.class.teas[tea].code).collect();
    still_blind.sort();
    ways.sort();
    ways.dedup();
    ClassLine {
        class: place + 1,
        class_id: record.class_id,
        title: record.class.title.clone(),
        date: record.class.date.clone(),
        phase: record.phase,
        rehearsal: record.rehearsal,
        left_out: record.left_out.clone(),
        voided: record.voided,
        damage: record.damage.words(),
        seats: record.seats.len(),
        sheets: record.sheets(),
        ways: ways.into_iter().map(|w| w + 1).collect(),
        still_blind,
        not_pooled: beyond::beyond(record),
    }
}

/// The scale that ways are judged by.
pub(crate) fn judged_by(classes: &[Class<'_>], scales: &[Scale]) -> Option<usize> {
    let scored = |at: usize| -> usize {
        let own =
            classes.iter().filter_map(|c| Some(&c.digest.points[c.scales.iter().position(|&s| s == at)?]));
        own.flatten().flatten().flatten().flatten().count()
    };
    let by_name = |at: &usize| scales[*at].name.to_lowercase() == JUDGED_BY;
    let most = |places: Vec<usize>| places.into_iter().rev().max_by_key(|&at| scored(at));
    most((0..scales.len()).filter(by_name).collect()).or_else(|| most((0..scales.len()).collect()))
}

fn way_lines(classes: &[Class<'_>], ways: &[Way], scales: &[Scale]) -> Vec<WayLine> {
    // By way, scale and steep: everything, and each class that has any.
    type Steeps = BTreeMap<(usize, usize, usize), (Counts, Vec<InClass>)>;
    let mut steeps = Steeps::new();
    for (number, class) in classes.iter().enumerate() {
        let mut of_class: BTreeMap<(usize, usize, usize), Vec<&digest::Cell>> = BTreeMap::new();
        for (&way, cups) in class.ways.iter().zip(&class.digest.cups) {
            for (steep, cells) in cups.iter().enumerate() {
                for (&scale, cell) in
                    class.scales.iter().zip(cells).filter(|(_, cell)| cell.figures.is_some())
                {
                    of_class.entry((way, scale, steep + 1)).or_default().push(cell);
                }
            }
        }
        for (key, cells) in of_class {
            let (all, each) = steeps.entry(key).or_default();
            cells.iter().for_each(|cell| all.join(&cell.counts));
            // Two teas of one class may be one way.
            let figures = match cells[..] {
                [one] => one.figures,
                _ => cells
                    .iter()
                    .fold(Counts::default(), |mut sum, cell| {
                        sum.join(&cell.counts);
                        sum
                    })
                    .figures(),
            };
            each.extend(figures.map(|figures| InClass { class: number + 1, figures }));
        }
    }
    let line = |way: &Way| {
        let attributes = scales.iter().enumerate().filter_map(|(at, scale)| {
            let own = || steeps.range((way.way - 1, at, 0)..=(way.way - 1, at, usize::MAX));
            let mut all = Counts::default();
            own().for_each(|(_, (counts, _))| all.join(counts));
            let steep = |(key, (counts, classes)): (&(usize, usize, usize), &(Counts, Vec<InClass>))| {
                Some(SteepLine { steep: key.2, figures: counts.figures()?, classes: classes.clone() })
            };
            Some(AttributeLine {
                scale: scale.clone(),
                all_steeps: all.figures()?,
                steeps: own().filter_map(steep).collect(),
            })
        });
        WayLine { attributes: attributes.collect(), way: way.clone() }
    };
    ways.iter().map(line).collect()
}

#[cfg(test)]
mod tests;
