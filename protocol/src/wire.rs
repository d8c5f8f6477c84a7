//! Every message on the wire. This file and `README.md` beside the crate are the protocol.
//!
//! JSON objects with a `type`, one per WebSocket text message. Unknown fields are ignored by both sides, so a
//! later program may add some; a new meaning needs a new [`PROTOCOL`].

use crate::{
    Answer, Code, HostTime, JoinCode, Nonce, Phase, Proved, Role, Score, SeatId, Sheet, TeaCard, TestCard,
    Timetable, Token,
};
use serde::{Deserialize, Serialize};
use std::time::Duration;
use uuid::Uuid;

/// The version of the protocol; both sides say theirs in their first message.
pub const PROTOCOL: u32 = 5;
/// The port a host listens on unless told otherwise.
pub const DEFAULT_PORT: u16 = 4177;
/// The largest message a host takes from a seat, in bytes.
pub const SEAT_MESSAGE_BYTES: usize = 16 * 1024;
/// The largest message a seat takes from a host, in bytes.
pub const HOST_MESSAGE_BYTES: usize = 1024 * 1024;
/// How long a new connection may take to say hello.
pub const HELLO_LIMIT: Duration = Duration::from_secs(5);
/// How many hellos a connection may say: without a place, with what the seat was let in by before, with a new token.
pub const HELLOS: usize = 3;
/// How many secrets a hello may prove; a host looks at no more.
pub const PROOFS: usize = 4;
/// How often a seat pings once it is settled.
pub const PING_EVERY: Duration = Duration::from_secs(5);
/// How many pings a seat sends at once on joining, and how far apart.
pub const PING_BURST: (u32, Duration) = (8, Duration::from_millis(40));
/// How many pings a seat sends after that before it is settled, and how far apart: a room that joins all at once has
/// answers that are slow for everybody, and these come when it is quieter.
pub const PING_SETTLING: (u32, Duration) = (8, Duration::from_secs(1));
/// The longest line that a console elsewhere may type, in bytes.
pub const TYPED_BYTES: usize = 1024;
/// After this long without a message the other side counts as gone.
pub const SILENCE_LIMIT: Duration = Duration::from_secs(20);

/// What a host says to a seat.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "type", rename_all = "snake_case")]
pub enum HostMessage {
    /// The first message on every connection ([`HostMessage::greeting`]). It says nothing of the class: what is there of it is
    /// for seats of protocol 2 and 3, which learn from such a message that they are older.
    Greeting {
        /// The host's protocol version.
        protocol: u32,
        /// What a seat's proofs are made over; a host of an earlier protocol has none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        nonce: Option<Nonce>,
        /// Nil.
        class_id: Uuid,
        /// Empty.
        title: String,
    },
    /// The answer to a hello that may come in and asks for no place that the host could give: which class it is. The seat says
    /// hello again: with its place in that class, or with a new token if it named this class and the host knows none that it
    /// proved.
    Class {
        /// The class's id: a token and an outbox belong to one class.
        class_id: Uuid,
        /// The class's title.
        title: String,
    },
    /// The answer to a good hello: the seat's place and everything it needs.
    Welcome(Box<Welcome>),
    /// The answer to a good hello that said `since`: what has changed after that, and nothing else.
    Back(Box<Back>),
    /// The phase or the timetable changed; the whole timetable as it now is.
    Course {
        /// The ledger's number of this change.
        seq: u64,
        /// The phase from now on.
        phase: Phase,
        /// The timetable from now on.
        timetable: Timetable,
    },
    /// A test is open to this seat.
    Test {
        /// The ledger's number of this change.
        seq: u64,
        /// What the seat is asked.
        #[serde(flatten)]
        card: TestCard,
    },
    /// The score or the answer is in the ledger, on disk.
    Accepted {
        /// The ledger's number of it.
        seq: u64,
        /// Its id.
        id: Uuid,
        /// The beginning of its link in the ledger's chain, as in [`Heard`].
        #[serde(default, skip_serializing_if = "String::is_empty")]
        link: String,
    },
    /// The score or the answer can't be taken as it is; sending it again will not help.
    Declined {
        /// Its id.
        id: Uuid,
        /// Why, for a program.
        code: RefusalCode,
        /// Why and what to do, for a person.
        reason: String,
    },
    /// The teacher lifted the blind off some teas: their cards, now with names.
    Revealed {
        /// The ledger's number of this change.
        seq: u64,
        /// The teas that were revealed.
        teas: Vec<TeaCard>,
    },
    /// The class is about to close: at `until` a seat sends every sheet with anything on it, and a little later the class is
    /// closed.
    LastCall {
        /// The ledger's number of this change.
        seq: u64,
        /// When it ends, in host time.
        #[serde(rename = "until_us")]
        until: HostTime,
    },
    /// Who has come, while people are being seated. A class of many is not told name by name.
    Here {
        /// Some of the names, in the order in which the seats were taken.
        names: Vec<String>,
        /// How many seats there are.
        seats: u32,
    },
    /// Cups were voided, or count again: how it stands now.
    Cups {
        /// The ledger's number of this change.
        seq: u64,
        /// All cups that do not count.
        voided: Vec<VoidCup>,
        /// The seat's own scores that count, as the ledger has them.
        scores: Vec<Score>,
    },
    /// Sheets of this seat's are open again: all that are, in place of those that were.
    Reopened {
        /// The ledger's number of this change.
        seq: u64,
        /// The sheets.
        reopened: Vec<OpenSheet>,
    },
    /// The teacher says something to this seat, or to all.
    Said(Saying),
    /// Something that everybody should know, in words.
    Notice {
        /// The words.
        words: String,
    },
    /// The answer to a ping.
    Pong {
        /// The ping's own `t1_us`, unchanged.
        t1_us: i64,
        /// Host time when the ping came.
        t2_us: i64,
        /// Host time when this answer left.
        t3_us: i64,
    },
    /// The connection ends here; the seat may come back unless the code says otherwise.
    Refusal {
        /// Why, for a program.
        code: RefusalCode,
        /// Why and what to do, for a person.
        reason: String,
    },
    /// The answer to a good [`Lead`]: from now on the console's lines come.
    Led {
        /// What the console is called.
        name: String,
        /// Whether it may change anything.
        acts: bool,
    },
    /// What a console shows: a line, or a page of them.
    Line {
        /// The text.
        text: String,
    },
    /// A message of a later protocol; a seat ignores it.
    #[serde(other)]
    Unknown,
}

/// What the teacher said. A seat shows each once, by its number.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Saying {
    /// The ledger's number of it.
    pub seq: u64,
    /// The words, one line.
    pub words: String,
    /// It is for this seat alone.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub to_you: bool,
}

/// A cup that does not count: it was spilled, or mixed up with another one.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct VoidCup {
    /// The tea.
    pub code: Code,
    /// The round.
    pub steep: u32,
    /// Why.
    pub reason: String,
    /// Only what this seat has scored of it by now does not count; another score of it may come.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub only_yours: bool,
}

/// A sheet that the teacher has opened again: it is owed once more, and a score of it that came before counts until then.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct OpenSheet {
    /// The tea.
    pub code: Code,
    /// The round.
    pub steep: u32,
    /// When the time for it is over, in host time; it is taken later too.
    pub until_us: HostTime,
}

/// The most sayings that a seat is told of when it comes back: the newest.
pub const SAYINGS: usize = 20;

/// The seat's place and the class as it stands.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Welcome {
    /// The class's id.
    pub class_id: Uuid,
    /// The class's title.
    pub title: String,
    /// The seat's id.
    pub seat: SeatId,
    /// The seat's name as the host keeps it.
    pub name: String,
    /// The ledger's number of the last event this describes.
    pub seq: u64,
    /// The beginning of its link, as in [`Heard`].
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub link: String,
    /// Host seconds per second of the room; 1 but in rehearsals.
    pub pace: f64,
    /// The number of the host's clock: as long as it stays the same, host time runs on without a break, also when the
    /// host's program was started again. Without one, every connection may be to another clock.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clock: Option<u64>,
    /// Where the class stands.
    pub phase: Phase,
    /// What is scored.
    pub sheet: Sheet,
    /// The teas in the order of the class file.
    pub teas: Vec<TeaCard>,
    /// How many pairs of hands pour for all; absent when each seat brews its own set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pourers: Option<u8>,
    /// Which hands this seat is; absent for a seat that does not pour.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hands: Option<u8>,
    /// What the seat has come for.
    #[serde(default, skip_serializing_if = "Role::is_usual")]
    pub role: Role,
    /// From when on it owes sheets: for what is decanted later than this, in host time.
    #[serde(default)]
    pub owes_from_us: HostTime,
    /// In which order this seat tastes the cups of a round; a round without one of the teas leaves it out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub order: Vec<Code>,
    /// The kettles by name, in the order of the class file; none for a seat that only tastes.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub kettles: Vec<String>,
    /// What is to be done at the kettles before the class begins, in words; absent once it has, where nothing is, and for a seat
    /// that only tastes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub before_start: Option<String>,
    /// When the last call ends, if there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub last_call_us: Option<HostTime>,
    /// All the cues.
    pub timetable: Timetable,
    /// The seat's own scores that count, as the ledger has them.
    pub scores: Vec<Score>,
    /// The tests that are open, as this seat is asked them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub tests: Vec<TestCard>,
    /// The seat's own answers that count, as the ledger has them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub answers: Vec<Answer>,
    /// The cups that do not count.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub voided: Vec<VoidCup>,
    /// The sheets that are open again and have no new score yet.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub reopened: Vec<OpenSheet>,
    /// What the teacher has said since the seat was taken, to it or to all.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub said: Vec<Saying>,
}

/// What a seat missed while it had no link.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Back {
    /// The ledger's number of the last event this describes.
    pub seq: u64,
    /// The beginning of its link, as in [`Heard`].
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub link: String,
    /// Host seconds per second of the room; 1 but in rehearsals.
    pub pace: f64,
    /// The number of the host's clock, as in [`Welcome`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clock: Option<u64>,
    /// Where the class stands.
    pub phase: Phase,
    /// When the last call ends, if there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub last_call_us: Option<HostTime>,
    /// All the cues, if they have changed since.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub timetable: Option<Timetable>,
    /// The teas revealed since.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub teas: Vec<TeaCard>,
    /// The seat's own scores that came in since and count.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub scores: Vec<Score>,
    /// The tests that were opened since.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub tests: Vec<TestCard>,
    /// The seat's own answers that came in since and count.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub answers: Vec<Answer>,
    /// From when on it owes sheets, if the teacher has changed what it owes since.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub owes_from_us: Option<HostTime>,
    /// The sheets that are open again and have no new score yet, if the teacher has changed what it owes since.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reopened: Option<Vec<OpenSheet>>,
    /// What the teacher has said since, to it or to all.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub said: Vec<Saying>,
}

/// What a seat says to a host.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "type", rename_all = "snake_case")]
pub enum SeatMessage {
    /// The seat's first message.
    Hello(Hello),
    /// A filled sheet; repeated until accepted or declined.
    Score(Score),
    /// An answer to an open test; repeated until accepted or declined.
    Answer(Answer),
    /// On how many sheets something is filled in and not sent; said when it changes.
    Writing {
        /// How many.
        sheets: u32,
    },
    /// What time is it? Also the sign of life.
    Ping {
        /// The seat's own clock; comes back unchanged.
        t1_us: i64,
    },
    /// The first message of a console elsewhere, in place of a hello.
    Lead(Lead),
    /// A line that was typed at such a console, at most [`TYPED_BYTES`].
    Typed {
        /// The line.
        line: String,
    },
    /// A message this host does not know.
    #[serde(other)]
    Unknown,
}

/// Who is at the door. Before this a host says nothing of its class.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hello {
    /// The seat's protocol version.
    pub protocol: u32,
    /// The join code, if the seat has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub join_code: Option<JoinCode>,
    /// Which place is wanted; absent as long as the seat does not know the class.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub join: Option<Join>,
}

impl Hello {
    /// A hello of this protocol.
    pub fn new(join_code: Option<JoinCode>, join: Option<Join>) -> Self {
        Self { protocol: PROTOCOL, join_code, join }
    }
}

/// A console elsewhere that is to lead a class, or to look on.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Lead {
    /// Its protocol version.
    pub protocol: u32,
    /// What it is called: it stands beside whatever is done there.
    pub name: String,
    /// Its key, proved for no class: a key is one ledger's.
    #[serde(flatten)]
    pub proved: Proved,
}

/// Who wants to sit in which class.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Join {
    /// The class.
    pub class_id: Uuid,
    /// The person's name, unique in the class.
    pub name: String,
    /// The seat's tokens of this class, proved: every one that it was ever welcomed with and the one that it said last, the
    /// oldest first, at most [`PROOFS`]. The first that holds leads to its place.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub proofs: Vec<Proved>,
    /// A new random token, which leads to the new place from now on. It is said once in its life: by whoever has none of this
    /// class yet, or none that the host knows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub token: Option<Token>,
    /// Which pourer at the table this seat is, if any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pourer: Option<u8>,
    /// What the seat has come for.
    #[serde(default, skip_serializing_if = "Role::is_usual")]
    pub role: Role,
    /// The highest `seq` this seat has had of this class, if it still has all that came with it: the host then sends
    /// [`Back`] instead of a whole [`Welcome`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub since: Option<u64>,
    /// The last entry of the ledger that the seat was told of with its link, also in an earlier run of its program.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heard: Option<Heard>,
}

impl Join {
    /// Somebody who comes to score, and has nothing of the class yet.
    pub fn new(class_id: Uuid, name: impl Into<String>, token: Token) -> Self {
        let (name, role, token) = (name.into(), Role::default(), Some(token));
        Self { class_id, name, proofs: Vec::new(), token, pourer: None, role, since: None, heard: None }
    }
}

/// An entry of the ledger that a seat was told of. A host whose ledger has no such entry, or another one of that number, has
/// lost what was once on disk.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Heard {
    /// Its number.
    pub seq: u64,
    /// The first 16 hexadecimal digits of its link in the ledger's chain.
    pub link: String,
}

/// Why a host refuses a connection or declines a score or an answer. The spelling on the wire is stable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RefusalCode {
    /// The versions do not match.
    ProtocolVersion,
    /// Not a message of this protocol: not text, not JSON, or with a wrong shape.
    BadMessage,
    /// A `type` the host does not know.
    UnknownMessage,
    /// Over the size limit.
    TooLarge,
    /// The first message was not a hello, or one came more than is due.
    HelloExpected,
    /// No hello within the limit.
    HelloLate,
    /// No message within the silence limit.
    Silent,
    /// The name can't be taken.
    BadName,
    /// Another seat has the name.
    NameTaken,
    /// No such pourer at this table, or the place is taken.
    BadPourer,
    /// All seats are taken.
    ClassFull,
    /// A new seat needs the join code and said none.
    JoinCodeWanted,
    /// The join code is not this class's.
    JoinCodeWrong,
    /// The same, and too many wrong ones have come from this address lately.
    JoinCodeTooOften,
    /// The teacher lets people in by name, and has not let this one in yet.
    NotAdmitted,
    /// The key of a console is none of this class's.
    KeyWrong,
    /// Too many connections wait for their hello.
    Busy,
    /// The same seat has joined from another connection.
    Replaced,
    /// The teacher has sent this seat away.
    SentAway,
    /// The seat reads too slowly; it may come back at once.
    TooSlow,
    /// The seat sends more than a person can; it may come back in a moment.
    TooFast,
    /// The host is going down; the class can be continued later.
    HostStopping,
    /// The class is closed; scores are no longer taken.
    ClassClosed,
    /// No such tea or steep.
    UnknownCup,
    /// There is no such cup yet: it exists from the end of its decant.
    NotPoured,
    /// The teacher has voided this cup.
    Voided,
    /// The seat has come to pour or to watch.
    NotScoring,
    /// The score does not fit the sheet.
    BadScore,
    /// The score's or answer's id was used for something else.
    IdReused,
    /// No such test.
    UnknownTest,
    /// The test has not been opened.
    NotOpen,
    /// The answer is none of the seat's own cups, or one too many.
    BadAnswer,
    /// A code of a later protocol.
    #[serde(other)]
    Other,
}

impl RefusalCode {
    /// Whether a person who reads the join code off the teacher's screen can help.
    pub fn asks_for_join_code(self) -> bool {
        matches!(self, Self::JoinCodeWanted | Self::JoinCodeWrong | Self::JoinCodeTooOften)
    }

    /// Whether dialling again by itself could help; if not, a person must do something first.
    pub fn may_retry(self) -> bool {
        use RefusalCode::*;
        matches!(
            self,
            HelloLate | Silent | NotAdmitted | Busy | TooSlow | TooFast | HostStopping | TooLarge | Other
        )
    }
}

impl HostMessage {
    /// What a host says first on a connection.
    pub fn greeting(nonce: Nonce) -> Self {
        let (class_id, title) = (Uuid::nil(), String::new());
        Self::Greeting { protocol: PROTOCOL, nonce: Some(nonce), class_id, title }
    }

    /// A refusal.
    pub fn refusal(code: RefusalCode, reason: impl Into<String>) -> Self {
        HostMessage::Refusal { code, reason: reason.into() }
    }

    /// The message as JSON text.
    pub fn to_json(&self) -> String {
        to_json(self)
    }
}

impl SeatMessage {
    /// The message as JSON text.
    pub fn to_json(&self) -> String {
        to_json(self)
    }
}

fn to_json(message: &impl Serialize) -> String {
    // Only maps with keys that are not strings, or a failing Serialize, could fail here; the messages have neither.
    serde_json::to_string(message).expect("wire messages are plain data")
}

/// Reads a message from the other side.
///
/// # Errors
/// A sentence naming what is wrong and, where the reader knows it, the place in the text.
pub fn from_json<'a, M: Deserialize<'a>>(text: &'a str) -> Result<M, String> {
    serde_json::from_str(text).map_err(|e| {
        format!("this is no message of protocol {PROTOCOL}; update or mend the program that sent it: {e}")
    })
}

/// The words for two versions that do not match: which side is older, and what to do.
pub fn version_words(host: u32, seat: u32) -> String {
    let older = if seat < host { "seat" } else { "host" };
    format!("the host speaks protocol {host} and the seat protocol {seat}; update the {older}'s program")
}

/// A code that a tea on the card list has, and a steep it has.
pub fn has_cup(teas: &[TeaCard], code: Code, steep: u32) -> bool {
    teas.iter().any(|t| t.code == code && (1..=t.steeps).contains(&steep))
}
