//! What can happen in a class: the entries of the ledger.
//!
//! Stored as JSON. A later program must read everything written here: fields may be added with a default, variants may
//! be added, nothing may be renamed or change its meaning.

use class::Class;
use class::difference::DifferenceTest;
use protocol::{Answer, Code, HostTime, Score, SeatId, Timetable, Token, text};
use serde::{Deserialize, Serialize};
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
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
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
    },
    /// The teacher freed a seat for somebody without its token.
    Released {
        /// The seat.
        seat: SeatId,
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
    /// The class is over.
    Closed,
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
            Event::Seated { name: seat, .. } => name(seat),
            Event::Scored { score, .. } => *score = score.clone().inert(),
            _ => {}
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
    /// What is no event.
    pub fn from_json(json: &str) -> Result<Self, String> {
        serde_json::from_str::<Event>(json).map(Event::inert).map_err(|e| e.to_string())
    }

    /// The event's name as stored in the ledger.
    pub fn kind(&self) -> &'static str {
        match self {
            Event::Class { .. } => "class",
            Event::Opened { .. } => "opened",
            Event::Seated { .. } => "seated",
            Event::Released { .. } => "released",
            Event::Started { .. } => "started",
            Event::Held { .. } => "held",
            Event::Resumed { .. } => "resumed",
            Event::Scored { .. } => "scored",
            Event::Revealed { .. } => "revealed",
            Event::TestOpened { .. } => "test_opened",
            Event::Answered { .. } => "answered",
            Event::Closed => "closed",
        }
    }
}
