//! The course: the class as it is really run, as written plus what the teacher changed on the way.
//!
//! A round is one turn of the class. A tea has at most one cup in a round, so a cup is known by its tea and its round. As
//! written, round 3 is the third steep of every tea that has one; a steep that is done again, or one more, is served in a
//! round of its own behind the last.

mod wanted;
mod words;

pub use wanted::Wanted;

use crate::{Class, Tea};
use protocol::Code;
use protocol::text::{NOTE_CHARS, clean};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// The longest steep, seconds.
pub const LONGEST_STEEP_S: u32 = 3600;
/// The longest tasting of a round, seconds.
pub const LONGEST_TASTE_S: u32 = 3600;
/// The most rounds that a class can come to have.
pub const MOST_ROUNDS: u32 = 40;

/// A tea in a round: one cup.
pub type Turn = (Code, u32);

/// What a teacher changed in a class that runs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "act", rename_all = "snake_case")]
pub enum Act {
    /// Steeps that are wet, or still dry, have another length.
    Timed {
        /// Each of them.
        steeps: Vec<Timed>,
    },
    /// A tea is left out of a round.
    Skipped {
        /// The tea.
        code: Code,
        /// The round.
        round: u32,
        /// Why, in the teacher's words; empty where nothing was said.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        reason: String,
    },
    /// A tea is served no more.
    Dropped {
        /// The tea.
        code: Code,
        /// From this round on.
        from: u32,
        /// Why, in the teacher's words; empty where nothing was said.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        reason: String,
    },
    /// A tea that was dropped is served again.
    TakenBack {
        /// The tea.
        code: Code,
        /// From this round on.
        from: u32,
    },
    /// A tea is steeped once more: again, because it went wrong, or beyond its last steep.
    Added {
        /// The tea.
        code: Code,
        /// In which round.
        round: u32,
        /// Which steep of the tea it is.
        steep: u32,
        /// Its seconds.
        steep_s: u32,
        /// Its water, °C.
        temp_c: f64,
    },
    /// A steep really sat for so long, whatever the timetable had.
    Sat {
        /// The tea.
        code: Code,
        /// The round.
        round: u32,
        /// From lid on to the start of the decant, seconds.
        steep_s: u32,
    },
    /// A steep that is dry stays as it was planned, whatever the votes suggest.
    Kept {
        /// The tea.
        code: Code,
        /// The round.
        round: u32,
        /// Its seconds as planned.
        steep_s: u32,
    },
    /// A round is tasted for another time.
    Tasted {
        /// The round.
        round: u32,
        /// For how long in all, seconds from its last cup on.
        taste_s: u32,
    },
    /// A tea's steeps that are dry are one pourer's from now on.
    Handed {
        /// The tea.
        code: Code,
        /// Which pourer's; anybody's again where none is named.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        hands: Option<u8>,
    },
    /// A pourer leaves: what is dry is the others'.
    PourerLeft {
        /// Which one.
        hands: u8,
    },
    /// A pourer who had left is back.
    PourerBack {
        /// Which one.
        hands: u8,
    },
    /// The last act that was not undone is.
    Undone,
}

/// One steep's new length.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Timed {
    /// The tea.
    pub code: Code,
    /// The round.
    pub round: u32,
    /// Seconds from lid on to the start of the decant.
    pub steep_s: u32,
}

/// One steep of a tea in the course.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steep {
    /// Which steep of the tea it is, from 1.
    pub steep: u32,
    /// How long it is to be, seconds from lid on to the start of the decant.
    pub steep_s: u32,
    /// How long it really was, where the teacher said so afterwards.
    pub sat_s: Option<u32>,
    /// Its water, °C.
    pub temp_c: f64,
    /// Left out by the teacher.
    pub skipped: bool,
}

impl Steep {
    /// How long it was, as far as is known: as the teacher said afterwards, else as planned.
    pub fn really_s(&self) -> u32 {
        self.sat_s.unwrap_or(self.steep_s)
    }
}

/// A tea's turn in a round, with what it takes to plan it.
#[derive(Clone, Copy, Debug)]
pub struct Due<'a> {
    /// Its code.
    pub code: Code,
    /// The tea.
    pub tea: &'a Tea,
    /// The steep.
    pub steep: Steep,
    /// Who may pour it, a bit for each pourer from the first; nothing where all may.
    pub by: Option<u8>,
}

/// The class as it is run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Course {
    steeps: BTreeMap<Turn, Steep>,
    /// How long rounds are tasted, where it is not as written; seconds.
    tastings: BTreeMap<u32, u32>,
    /// Which teas are dropped.
    dropped: BTreeSet<Code>,
    /// Which steeps stay as planned, by the teacher's word.
    kept: BTreeSet<Turn>,
    /// Whose steeps a tea's are, where it was given to one pourer.
    handed: BTreeMap<Code, u8>,
    /// The pourers who have left.
    left: BTreeSet<u8>,
    /// What the teacher did and did not undo, in order.
    acts: Vec<Act>,
}

impl Act {
    /// Why something is left out by it, in the teacher's words; nothing where nothing was said.
    pub fn reason(&self) -> Option<&str> {
        match self {
            Act::Skipped { reason, .. } | Act::Dropped { reason, .. } if !reason.is_empty() => Some(reason),
            _ => None,
        }
    }

    /// The act with the teacher's words made inert: a ledger may come from anywhere.
    pub fn inert(mut self) -> Self {
        if let Act::Skipped { reason, .. } | Act::Dropped { reason, .. } = &mut self {
            *reason = clean(reason, NOTE_CHARS);
        }
        self
    }
}

impl Course {
    /// A class as it is written; its codes must have been drawn.
    pub fn written(class: &Class) -> Self {
        let steeps = class.coded().flat_map(|(code, tea)| {
            (1..).zip(&tea.steep_s).map(move |(steep, &steep_s)| {
                let temp_c = tea.temp_c.get(steep as usize - 1).copied().unwrap_or(100.0);
                ((code, steep), Steep { steep, steep_s, sat_s: None, temp_c, skipped: false })
            })
        });
        Self { steeps: steeps.collect(), ..Self::default() }
    }

    /// The course after one more act. What an act is about and is not there is passed over: whether an act can be, is decided
    /// before it is in a ledger.
    pub fn after(&self, class: &Class, act: &Act) -> Self {
        if *act == Act::Undone {
            let left = &self.acts[..self.acts.len().saturating_sub(1)];
            return left.iter().fold(Self::written(class), |course, act| course.after(class, act));
        }
        let mut next = self.clone();
        next.apply(act);
        next.acts.push(act.clone());
        next
    }

    fn apply(&mut self, act: &Act) {
        match *act {
            Act::Timed { ref steeps } => {
                for &Timed { code, round, steep_s } in steeps {
                    self.steeps.entry((code, round)).and_modify(|steep| steep.steep_s = steep_s);
                }
            }
            Act::Skipped { code, round, .. } => self.skip(code, round..=round, true),
            Act::Dropped { code, from, .. } => {
                self.dropped.insert(code);
                self.skip(code, from..=u32::MAX, true);
            }
            Act::TakenBack { code, from } => {
                self.dropped.remove(&code);
                self.skip(code, from..=u32::MAX, false);
            }
            // A ledger may come from anywhere.
            Act::Added { round, .. } if !(1..=MOST_ROUNDS).contains(&round) => {}
            Act::Added { code, round, steep, steep_s, temp_c } => {
                let steep = Steep { steep, steep_s, sat_s: None, temp_c, skipped: false };
                self.steeps.insert((code, round), steep);
            }
            Act::Sat { code, round, steep_s } => {
                self.steeps.entry((code, round)).and_modify(|steep| steep.sat_s = Some(steep_s));
            }
            Act::Kept { code, round, steep_s } => {
                self.kept.insert((code, round));
                self.steeps.entry((code, round)).and_modify(|steep| steep.steep_s = steep_s);
            }
            Act::Tasted { round, taste_s } => {
                self.tastings.insert(round, taste_s);
            }
            Act::Handed { code, hands: Some(hands) } => drop(self.handed.insert(code, hands)),
            Act::Handed { code, hands: None } => drop(self.handed.remove(&code)),
            Act::PourerLeft { hands } => drop(self.left.insert(hands)),
            Act::PourerBack { hands } => drop(self.left.remove(&hands)),
            Act::Undone => {}
        }
    }

    fn skip(&mut self, code: Code, rounds: std::ops::RangeInclusive<u32>, skipped: bool) {
        let (from, to) = rounds.into_inner();
        if from <= to {
            self.steeps.range_mut((code, from)..=(code, to)).for_each(|(_, steep)| steep.skipped = skipped);
        }
    }

    /// What the teacher did last and did not undo.
    pub fn last_act(&self) -> Option<&Act> {
        self.acts.last()
    }

    /// What the teacher did and did not undo, in order.
    pub fn acts(&self) -> &[Act] {
        &self.acts
    }

    /// The act by which a steep is left out; nothing where it is not.
    pub fn left_out_by(&self, (code, round): Turn) -> Option<&Act> {
        self.steep((code, round)).filter(|steep| steep.skipped)?;
        self.acts.iter().rfind(|act| match act {
            Act::Skipped { code: of, round: skipped, .. } => (*of, *skipped) == (code, round),
            Act::Dropped { code: of, from, .. } => *of == code && *from <= round,
            _ => false,
        })
    }

    /// Whether it is run as it was written.
    pub fn is_as_written(&self) -> bool {
        self.acts.is_empty()
    }

    /// Whether a tea is dropped.
    pub fn is_dropped(&self, code: Code) -> bool {
        self.dropped.contains(&code)
    }

    /// Whether the teacher wants a steep to stay as planned.
    pub fn is_kept(&self, turn: Turn) -> bool {
        self.kept.contains(&turn)
    }

    /// Whether a pourer has left.
    pub fn has_left(&self, pourer: u8) -> bool {
        self.left.contains(&pourer)
    }

    /// The pourer that a tea was given to.
    pub fn handed(&self, code: Code) -> Option<u8> {
        self.handed.get(&code).copied()
    }

    /// The pourers who are there, a bit for each from the first; nothing where all are.
    pub fn hands(&self, class: &Class) -> Option<u8> {
        let all = all_hands(class);
        let here = self.left.iter().fold(all, |here, &pourer| here & !bit(pourer));
        (here != 0 && here != all).then_some(here)
    }

    /// The same of those who may pour a tea.
    pub fn hands_for(&self, class: &Class, code: Code) -> Option<u8> {
        let here = self.hands(class).unwrap_or(all_hands(class));
        let own = self.handed.get(&code).map_or(here, |&pourer| here & bit(pourer));
        // A tea whose pourer has left is anybody's.
        let by = if own == 0 { here } else { own };
        (by != all_hands(class)).then_some(by)
    }

    /// How many rounds there are.
    pub fn rounds(&self) -> u32 {
        self.steeps.keys().map(|&(_, round)| round).max().unwrap_or(0)
    }

    /// How long a round is tasted, seconds from its last cup on.
    pub fn taste_s(&self, class: &Class, round: u32) -> u32 {
        self.tastings.get(&round).copied().unwrap_or(class.taste_s)
    }

    /// A tea's steep in a round, whether it is left out or not.
    pub fn steep(&self, (code, round): Turn) -> Option<&Steep> {
        self.steeps.get(&(code, round))
    }

    /// A tea's steeps by round, whether they are left out or not.
    pub fn of(&self, code: Code) -> impl DoubleEndedIterator<Item = (u32, &Steep)> + Clone {
        self.steeps.range((code, 0)..=(code, u32::MAX)).map(|(&(_, round), steep)| (round, steep))
    }

    /// A tea with the seconds that its steeps were really given, as many steeps as are written: what is left out keeps its
    /// own, and what was done again or once more is none of them.
    pub fn as_run(&self, tea: &Tea) -> Tea {
        let mut run = tea.clone();
        for (round, seconds) in (1..).zip(&mut run.steep_s) {
            let steep = tea.code.and_then(|code| self.steep((code, round))).filter(|steep| !steep.skipped);
            *seconds = steep.filter(|steep| steep.steep == round).map_or(*seconds, Steep::really_s);
        }
        run
    }

    /// The teas that are served in a round, in the order of the class file.
    pub fn due<'c>(&'c self, class: &'c Class, round: u32) -> Vec<Due<'c>> {
        let due = |(code, tea)| {
            let steep = *self.steep((code, round)).filter(|steep| !steep.skipped)?;
            Some(Due { code, tea, steep, by: self.hands_for(class, code) })
        };
        class.coded().filter_map(due).collect()
    }
}

/// A pourer's bit; none for a number that no pourer has.
fn bit(pourer: u8) -> u8 {
    pourer.checked_sub(1).and_then(|place| 1u8.checked_shl(place.into())).unwrap_or(0)
}

/// The bits of all pourers of a class.
fn all_hands(class: &Class) -> u8 {
    (1..=class.pourers.hands()).fold(0, |all, pourer| all | bit(pourer))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read;

    fn class() -> Class {
        read::class(include_str!("../../tests/classes/five-teas.toml")).unwrap().with_codes(1)
    }

    #[test]
    fn a_tea_is_its_pourers_while_they_are_there_and_else_anybodys_who_is() {
        let class = Class { pourers: crate::Pourers::Table(3), ..class() };
        let (code, other) = (class.coded().next().unwrap().0, class.coded().nth(1).unwrap().0);
        let mut course = Course::written(&class);
        let by = |course: &Course| (course.hands_for(&class, code), course.hands_for(&class, other));
        for (act, who) in [
            (Act::Handed { code, hands: Some(2) }, (Some(0b010), None)),
            (Act::PourerLeft { hands: 1 }, (Some(0b010), Some(0b110))),
            (Act::PourerLeft { hands: 2 }, (Some(0b100), Some(0b100))),
            (Act::PourerBack { hands: 1 }, (Some(0b101), Some(0b101))),
            (Act::PourerBack { hands: 2 }, (Some(0b010), None)),
            (Act::Handed { code, hands: None }, (None, None)),
        ] {
            course = course.after(&class, &act);
            assert_eq!(by(&course), who, "{act:?}");
        }
    }

    #[test]
    fn each_act_changes_what_it_says_and_undoing_it_leaves_no_trace() {
        let class = class();
        let written = Course::written(&class);
        let codes: Vec<Code> = class.coded().map(|(code, _)| code).collect();
        let (code, rounds) = (codes[0], written.rounds());
        let served = |course: &Course, round| -> Vec<Code> {
            course.due(&class, round).iter().map(|due| due.code).collect()
        };
        assert_eq!(rounds, class.rounds());
        let acts = [
            Act::Timed { steeps: vec![Timed { code, round: 1, steep_s: 77 }] },
            Act::Skipped { code, round: 2, reason: "broken pot".into() },
            Act::Dropped { code, from: 2, reason: String::new() },
            Act::Added { code, round: rounds + 1, steep: 1, steep_s: 30, temp_c: 90.0 },
            Act::Sat { code, round: 1, steep_s: 60 },
            Act::Kept { code, round: 3, steep_s: 55 },
            Act::Tasted { round: 2, taste_s: 33 },
            Act::Handed { code, hands: Some(1) },
            Act::PourerLeft { hands: 2 },
        ];
        let mut course = written.clone();
        let mut before = Vec::new();
        for act in &acts {
            before.push(course.clone());
            course = course.after(&class, act);
        }
        assert_eq!(course.steep((code, 1)).map(|steep| (steep.steep_s, steep.really_s())), Some((77, 60)));
        assert_eq!((course.taste_s(&class, 2), course.taste_s(&class, 1)), (33, class.taste_s));
        assert!(!served(&course, 2).contains(&code) && course.is_dropped(code));
        assert_eq!(before[2].left_out_by((code, 2)).and_then(Act::reason), Some("broken pot"));
        assert_eq!(before[2].left_out_by((code, 3)), None, "it is left out of one round");
        assert_eq!(course.left_out_by((code, 3)), Some(&acts[2]));
        assert_eq!((served(&course, rounds + 1), course.rounds()), (vec![code], rounds + 1));
        assert_eq!(course.steep((code, 3)).map(|steep| steep.steep_s), Some(55));
        assert!(course.is_kept((code, 3)) && !course.is_kept((code, 2)));
        assert_eq!((course.handed(code), course.has_left(2)), (Some(1), true));
        let back = course.after(&class, &Act::TakenBack { code, from: 2 });
        assert_eq!((served(&back, 2), back.is_dropped(code)), (codes, false));
        while let Some(before) = before.pop() {
            course = course.after(&class, &Act::Undone);
            assert_eq!(course, before);
        }
        assert_eq!(course.after(&class, &Act::Undone), written, "nothing is left to undo");
    }
}
