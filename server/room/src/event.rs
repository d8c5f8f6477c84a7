//! What can happen in a class: the entries of the ledger.
//!
//! Stored as JSON. A later program must read everything written here: fields may be added with a default, variants may
//! be added, nothing may be renamed or change its meaning.
//!
//! Two folds read it: [`crate::Room`] all of it, [`crate::light`] what a review of many ledgers needs. Both match every
//! variant by name, so that a new one does not compile until both say what they do with it.

use crate::Console;
use crate::DoorTerms;
use crate::adapting::Adapted;
use class::Class;
use class::course::Act;
use class::difference::DifferenceTest;
use protocol::{Answer, Code, HostTime, JoinCode, KeyHash, Role, Score, SeatId, Timetable, Token, text};
use serde::{Deserialize, Serialize};
use strum::{EnumDiscriminants, EnumString, IntoStaticStr, VariantArray};
use uuid::Uuid;

/// One event with its number and instant.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// From 1, without gaps.
    pub seq: u64,
    /// When it happened; never before the entry in front of it.
    pub at: HostTime,
    /// What happened.
    pub event: Event,
    /// From which console the teacher did it; absent for what the host did by itself, for what came from a seat, and in ledgers
    /// of earlier programs.
    pub by: Option<Console>,
}

/// What of an entry's JSON is not the event's own.
#[derive(Deserialize)]
struct By {
    #[serde(default)]
    by: Option<Console>,
}

impl Entry {
    /// What the host did by itself, or what came from a seat.
    pub fn new(seq: u64, at: HostTime, event: Event) -> Self {
        Self { seq, at, event, by: None }
    }

    /// An entry as a ledger stores it, its texts made inert.
    ///
    /// # Errors
    /// As [`Event::read`].
    pub fn read(seq: u64, at: HostTime, kind: &str, json: &str) -> Result<Self, String> {
        let event = Event::read(kind, json)?;
        // Most entries are scores, which nobody's console gave; they are not read twice.
        let by = json.contains("\"by\"").then(|| serde_json::from_str::<By>(json));
        let by = by.transpose().map_err(|e| e.to_string())?.and_then(|by| by.by);
        Ok(Self { seq, at, event, by })
    }

    /// What a ledger stores of it beside its number and instant: the event, and one field more if a console did it.
    ///
    /// # Errors
    /// What can't be written as JSON.
    pub fn to_json(&self) -> Result<String, String> {
        #[derive(Serialize)]
        struct Stored<'a> {
            #[serde(flatten)]
            event: &'a Event,
            by: &'a Console,
        }
        let Some(by) = &self.by else { return self.event.to_json() };
        serde_json::to_string(&Stored { event: &self.event, by }).map_err(|e| e.to_string())
    }
}

/// How long a machine has been up.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Boot {
    /// Which start of which machine.
    pub id: Uuid,
    /// Microseconds since then, sleep included.
    pub up_us: i64,
}

/// What happened.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, EnumDiscriminants)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[strum_discriminants(
    name(Kind),
    derive(Hash, PartialOrd, Ord, EnumString, IntoStaticStr, VariantArray),
    strum(serialize_all = "snake_case"),
    doc = "What kind of event it is. Its name is the one that stands in the JSON and in the ledger."
)]
pub enum Event {
    /// The first entry: the class as written, with its codes drawn from `seed`.
    Class {
        /// The class's id.
        class_id: Uuid,
        /// What the codes were drawn from.
        seed: u64,
        /// The class.
        class: Box<Class>,
    },
    /// A host opened the ledger.
    Opened {
        /// The host machine's wall clock, microseconds since 1970.
        unix_us: i64,
        /// Host seconds per second from now on.
        pace: f64,
        /// How long the machine had been up, and since which start; absent where a machine can't say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        boot: Option<Boot>,
        /// On which terms people come; the usual ones in ledgers of earlier programs.
        #[serde(default, skip_serializing_if = "DoorTerms::are_usual")]
        door: DoorTerms,
    },
    /// The teacher changed the terms on which people come, while the class was open.
    DoorSet {
        /// From now on.
        door: DoorTerms,
    },
    /// A join code was drawn: from now on it lets a new seat in, and no earlier one does.
    JoinCodeDrawn {
        /// The code.
        join_code: JoinCode,
    },
    /// The keys were drawn by which consoles elsewhere come in: from now on these, and none before. The ledger has only their
    /// hashes.
    KeysDrawn {
        /// The hash of the key that leads.
        teacher: KeyHash,
        /// The hash of the key that looks on.
        observer: KeyHash,
    },
    /// A seat was taken, or taken again under the same id.
    Seated {
        /// The seat.
        seat: SeatId,
        /// Its name.
        name: String,
        /// What lets it back in.
        token: Token,
        /// Which pourer it is, if any.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pourer: Option<u8>,
        /// What it has come for.
        #[serde(default, skip_serializing_if = "Role::is_usual")]
        role: Role,
    },
    /// The teacher freed a seat for somebody without its token.
    Released {
        /// The seat.
        seat: SeatId,
    },
    /// The teacher lets somebody in by name: the next one to come under it may sit down.
    Admitted {
        /// The name.
        name: String,
    },
    /// The teacher thought better of letting somebody in who has not come.
    AdmittedNoMore {
        /// The name.
        name: String,
    },
    /// The class began.
    Started {
        /// From now on.
        timetable: Timetable,
    },
    /// The class waits.
    Held {
        /// What still stands.
        timetable: Timetable,
        /// What is left of the tasting that the hold interrupts.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        tasting_left_s: Option<u32>,
    },
    /// The class goes on.
    Resumed {
        /// From now on.
        timetable: Timetable,
    },
    /// A score came in.
    Scored {
        /// Whose.
        seat: SeatId,
        /// The score, its note made inert.
        score: Score,
        /// It was taken on paper and entered afterwards.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        on_paper: bool,
    },
    /// The blind was lifted off these teas.
    Revealed {
        /// Their codes.
        codes: Vec<Code>,
    },
    /// A difference test was opened to the seats.
    TestOpened {
        /// Its number, from 1.
        test: u32,
    },
    /// An answer to a difference test came in.
    Answered {
        /// Whose.
        seat: SeatId,
        /// The answer.
        answer: Answer,
    },
    /// The teacher said something.
    Said {
        /// The seat it was said to; without one, to all.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        seat: Option<SeatId>,
        /// The words.
        words: String,
    },
    /// The class is about to close.
    LastCall {
        /// When the seats send what is written as it stands.
        #[serde(rename = "until_us")]
        until: HostTime,
    },
    /// The class is over.
    Closed,
    /// The teacher lets a seat's scores count, or not.
    SeatCounts {
        /// The seat.
        seat: SeatId,
        /// Whether they count.
        counts: bool,
        /// Whether the last change is taken back by it.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        undone: bool,
    },
    /// The teacher sent seats away: they are let in no more, owe nothing, and their names are free.
    SentAway {
        /// The seats.
        seats: Vec<SeatId>,
        /// Their scores do not count as long as they are away.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        without_scores: bool,
        /// Why; empty where nothing was said.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        reason: String,
    },
    /// The teacher let seats back that had been sent away.
    LetBack {
        /// The seats.
        seats: Vec<SeatId>,
        /// Sending them away was a slip: they owe what they owed, as if they had never gone.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        undone: bool,
    },
    /// The teacher opened the sheets of a cup again: these seats owe them once more. What they had scored counts until they do.
    SheetsReopened {
        /// The seats.
        seats: Vec<SeatId>,
        /// The tea.
        code: Code,
        /// The round.
        round: u32,
        /// When the time for it is over; they are taken later too.
        #[serde(rename = "until_us")]
        until: HostTime,
    },
    /// The same was taken back.
    SheetsShut {
        /// The seats.
        seats: Vec<SeatId>,
        /// The tea.
        code: Code,
        /// The round.
        round: u32,
    },
    /// A seat's name was put right.
    Renamed {
        /// The seat.
        seat: SeatId,
        /// Its name from now on.
        name: String,
    },
    /// A seat came that had been told of an entry which this ledger does not have: entries are missing that were once on
    /// disk, but for those that the seats still had and sent again.
    FellShort {
        /// The seat.
        seat: SeatId,
        /// The number it had been told of.
        heard: u64,
        /// How far this ledger had come when it was opened.
        ended: u64,
    },
    /// Two seats are one person's: what the first has scored is the second's.
    SeatsJoined {
        /// The seat that is no more.
        from: SeatId,
        /// The seat that stays.
        into: SeatId,
    },
    /// Two seats that were joined by mistake are two persons' again, each with what was sent from it.
    SeatsParted {
        /// The seat that was no more.
        seat: SeatId,
    },
    /// A cup does not count: it was spilled, or mixed up with another one.
    Voided {
        /// The tea.
        code: Code,
        /// The steep.
        steep: u32,
        /// The seat whose scores of it up to now do not count; without one nobody's do, nor any to come.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        seat: Option<SeatId>,
        /// Why.
        reason: String,
    },
    /// A cup that was voided by mistake counts again.
    Restored {
        /// The tea.
        code: Code,
        /// The steep.
        steep: u32,
        /// The seat whose score of it counts again; without one the cup of all does.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        seat: Option<SeatId>,
        /// Why.
        reason: String,
    },
    /// The teacher changed the course of the class.
    Steered {
        /// What was done.
        #[serde(flatten)]
        act: Act,
        /// The suggestions that were taken with it, one for each steep that it is about; else empty.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        suggested: Vec<Adapted>,
        /// From now on; absent where no cue changes.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        timetable: Option<Timetable>,
    },
    /// What stood here was damaged and could not be saved.
    Lost {
        /// What was the matter with it.
        why: String,
        /// Nothing stood here that is known of: more may have been written behind the entry before.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        at_end: bool,
    },
}

impl Event {
    /// The event with every text in it made inert: a ledger may come from anywhere.
    pub fn inert(mut self) -> Self {
        let name = |text: &mut String| *text = text::clean(text, text::TITLE_CHARS);
        match &mut self {
            Event::Class { class, .. } => {
                [&mut class.title, &mut class.date].into_iter().for_each(name);
                class.teas.iter_mut().flat_map(|t| [&mut t.name, &mut t.leaf]).for_each(name);
                class.setting.kettles.iter_mut().map(|k| &mut k.name).for_each(name);
                class.sheet.words.iter_mut().for_each(name);
                class.tests.iter_mut().flat_map(DifferenceTest::text_mut).for_each(name);
                for attribute in &mut class.sheet.attributes {
                    name(&mut attribute.name);
                    attribute.low.iter_mut().chain(&mut attribute.high).for_each(name);
                }
            }
            Event::Seated { name: seat, .. }
            | Event::Renamed { name: seat, .. }
            | Event::Admitted { name: seat }
            | Event::AdmittedNoMore { name: seat } => name(seat),
            Event::Voided { reason, .. }
            | Event::Restored { reason, .. }
            | Event::SentAway { reason, .. } => *reason = text::clean(reason, text::NOTE_CHARS),
            Event::Said { words, .. } => *words = text::clean(words, text::NOTE_CHARS),
            Event::Lost { why, .. } => *why = text::clean(why, text::NOTE_CHARS),
            Event::Scored { score, .. } => *score = score.clone().inert(),
            Event::Steered { act, .. } => *act = act.clone().inert(),
            Event::Opened { .. }
            | Event::DoorSet { .. }
            | Event::JoinCodeDrawn { .. }
            | Event::KeysDrawn { .. }
            | Event::Released { .. }
            | Event::Started { .. }
            | Event::Held { .. }
            | Event::Resumed { .. }
            | Event::Revealed { .. }
            | Event::TestOpened { .. }
            | Event::Answered { .. }
            | Event::LastCall { .. }
            | Event::Closed
            | Event::SeatCounts { .. }
            | Event::LetBack { .. }
            | Event::SheetsReopened { .. }
            | Event::SheetsShut { .. }
            | Event::FellShort { .. }
            | Event::SeatsJoined { .. }
            | Event::SeatsParted { .. } => {}
        }
        self
    }

    /// The event as a ledger stores it.
    ///
    /// # Errors
    /// What can't be written as JSON.
    pub fn to_json(&self) -> Result<String, String> {
        serde_json::to_string(self).map_err(|e| e.to_string())
    }

    /// An event as a ledger stores it, its texts made inert.
    ///
    /// # Errors
    /// A kind that this program does not know, or JSON that is no event of that kind.
    pub fn read(kind: &str, json: &str) -> Result<Self, String> {
        let kind = Kind::named(kind)?;
        let event = Self::parse(json)?;
        if event.kind() != kind {
            return Err(format!("it is filed as `{}`, but says `{}`", kind.name(), event.kind().name()));
        }
        Ok(event)
    }

    /// An event of whatever kind its JSON says, its texts made inert.
    ///
    /// # Errors
    /// What makes it unreadable.
    pub fn parse(json: &str) -> Result<Self, String> {
        Ok(serde_json::from_str::<Event>(json).map_err(|e| e.to_string())?.inert())
    }

    /// What kind of event it is.
    pub fn kind(&self) -> Kind {
        self.into()
    }
}

impl Kind {
    /// Every kind there is.
    pub const ALL: &'static [Self] = Self::VARIANTS;

    /// Its name in a ledger.
    pub fn name(self) -> &'static str {
        self.into()
    }

    /// The kind of a name.
    ///
    /// # Errors
    /// A sentence if this program knows no such kind.
    pub fn named(name: &str) -> Result<Self, String> {
        name.parse().map_err(|_| {
            let name = text::clean(name, text::NAME_CHARS);
            format!("this program knows no event of the kind `{name}`; a later program wrote it, so update this one")
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_kind_has_the_name_that_stands_in_the_json() {
        for kind in Kind::ALL {
            assert_eq!(Kind::named(kind.name()), Ok(*kind));
            // An event of no fields is either read or misses one; a kind that JSON does not know is another fault.
            let fault = serde_json::from_str::<Event>(&format!("{{\"kind\":\"{}\"}}", kind.name())).err();
            assert!(fault.is_none_or(|fault| fault.to_string().contains("missing field")), "{kind:?}");
        }
    }

    #[test]
    fn what_is_filed_under_an_unknown_or_another_kind_is_refused_in_words() {
        assert_eq!(Event::read("closed", r#"{"kind":"closed"}"#), Ok(Event::Closed));
        let unknown = Event::read("spilled\u{1b}[2J", r#"{"kind":"spilled"}"#).unwrap_err();
        assert!(unknown.contains("knows no event of the kind `spilled") && unknown.contains("update"));
        assert!(!unknown.contains('\u{1b}'));
        let other = Event::read("opened", r#"{"kind":"closed"}"#).unwrap_err();
        assert_eq!(other, "it is filed as `opened`, but says `closed`");
    }

    #[test]
    fn an_entry_says_which_console_did_it_and_the_event_is_the_same() {
        const STORED: &str = include_str!("../../../tests/pinned/events.jsonl");
        for line in STORED.lines() {
            let event = Event::parse(line).unwrap();
            let kind = event.kind().name();
            for by in [None, Some(Console::Host), Some(Console::Lead("Ann".into()))] {
                let entry = Entry { seq: 3, at: HostTime(4), event: event.clone(), by };
                let json = entry.to_json().unwrap();
                assert_eq!(Entry::read(3, HostTime(4), kind, &json), Ok(entry), "{json}");
                assert_eq!(
                    Event::read(kind, &json),
                    Ok(event.clone()),
                    "an earlier program reads the event alone"
                );
            }
        }
        let nasty = r#"{"kind":"closed","by":"An\u001b[2Jn"}"#;
        let read = Entry::read(1, HostTime(0), "closed", nasty).unwrap();
        assert!(!format!("{}", read.by.unwrap()).contains('\u{1b}'));
        assert!(Entry::read(1, HostTime(0), "closed", r#"{"kind":"closed","by":7}"#).is_err());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(500))]
        #[test]
        fn no_damage_to_a_stored_event_makes_its_reader_panic_and_what_is_read_is_stored_as_what_reads_the_same(
            which: prop::sample::Index, at: prop::sample::Index, cut in 0usize..20, put in "[\\[\\]{}\",:0-9a-z_e.-]{0,6}",
        ) {
            const STORED: &str = include_str!("../../../tests/pinned/events.jsonl");
            let lines: Vec<&str> = STORED.lines().collect();
            let good = which.get(&lines);
            let kind = serde_json::from_str::<Event>(good).unwrap().kind().name();
            let at = at.index(good.len());
            let damaged: String = good.chars().take(at).chain(put.chars()).chain(good.chars().skip(at + cut)).collect();
            match Event::read(kind, &damaged) {
                Ok(event) => prop_assert_eq!(Event::read(kind, &event.to_json().unwrap()), Ok(event)),
                Err(words) => prop_assert!(!words.is_empty()),
            }
        }
    }
}
