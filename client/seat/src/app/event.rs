//! What comes in and what goes out.

use super::{Cup, Served};
use crate::host_clock::{Moved, OwnTime};
use protocol::clock::Exchange;
use protocol::wire::{HostMessage, RefusalCode, SeatMessage};
use protocol::{
    Answer, Code, Cue, HostTime, JoinCode, Phase, Role, Score, SeatId, Strength, TeaCard, TestCard,
};
use uuid::Uuid;

/// Something from outside.
#[derive(Clone, Debug, PartialEq)]
pub enum Event {
    /// News from the link.
    Link(LinkEvent),
    /// A key.
    Key(Key),
    /// A whole sheet at once.
    Fill(Fill),
    /// An answer to a difference test.
    Answer {
        /// Which test, from 1.
        test: u32,
        /// The cup chosen.
        pick: Code,
    },
    /// The join code.
    JoinCode(JoinCode),
    /// Time has passed.
    Tick,
    /// This machine has slept; this many microseconds in all since the program began.
    Slept(i64),
    /// Something is wrong on this machine.
    Warn(String),
    /// The person's own scores and notes have been written, to this place.
    NotesKept(String),
    /// Everything that the teacher has said so far has been read.
    SaidIsRead,
    /// The person leaves.
    Leave,
}

/// News from the link. Text from the host has been made inert.
#[derive(Clone, Debug, PartialEq)]
pub enum LinkEvent {
    /// Dialling, for the n-th time since the last link.
    Dialling(u32),
    /// The host asks for a join code, or for another one; no other attempt comes before there is one.
    CodeAsked {
        /// What the host says.
        reason: String,
    },
    /// A new token is to be said to a class, and waits until it is kept.
    TokenWanted(Uuid),
    /// One exchange with the host's clock.
    Exchange {
        /// The four instants, in host microseconds by each side's clock.
        exchange: Exchange,
        /// What this machine had slept in all when it asked, in microseconds.
        slept_us: i64,
    },
    /// Any other message of the host.
    Host(HostMessage),
    /// The teacher lets people in by name, and has not let this one in; the seat asks again by itself.
    NotAdmitted {
        /// What the host says.
        reason: String,
    },
    /// There is no link; another attempt comes.
    Lost {
        /// Why.
        reason: String,
        /// When the next attempt comes.
        again_at: OwnTime,
    },
    /// Whoever answers is not the host of the class; no other attempt comes.
    NotTheHost {
        /// Why, and what to do.
        reason: String,
    },
    /// The host will not have this seat; no other attempt comes.
    Refused {
        /// Why, for a program.
        code: RefusalCode,
        /// Why and what to do, for a person.
        reason: String,
    },
}

/// A key, as far as a seat knows keys.
#[derive(Clone, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "keys are named as on the keyboard")]
pub enum Key {
    Char(char),
    Paste(String),
    Up,
    Down,
    Left,
    Right,
    Tab,
    BackTab,
    Backspace,
    Enter,
    Esc,
    /// F1.
    Help,
    /// F2: a cup by its code and steep.
    GoTo,
    /// F3: what the teacher has said.
    Said,
    /// Ctrl-C.
    Interrupt,
}

/// A sheet filled at one go.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fill {
    /// The tea.
    pub code: Code,
    /// The steep; the one last decanted if left out.
    pub steep: Option<u32>,
    /// The values in the sheet's order; `None` for a blank.
    pub values: Vec<Option<i32>>,
    /// Values by the names of their lines; `None` for a blank.
    pub named: Vec<(String, Option<i32>)>,
    /// The strength vote.
    pub strength: Option<Strength>,
    /// The words ticked, in any order and in whatever capitals.
    pub words: Vec<String>,
    /// The note.
    pub note: String,
    /// What is to be blank from now on.
    pub cleared: Vec<Cleared>,
}

/// What can be taken off a sheet that was sent, besides values.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "they are the lines of the sheet")]
pub enum Cleared {
    Strength,
    Words,
    Note,
}

impl Fill {
    /// A blank sheet for the steep of this tea that was last decanted.
    pub fn of(code: Code) -> Self {
        let (values, named, words, cleared) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        Self { code, steep: None, values, named, strength: None, words, note: String::new(), cleared }
    }

    /// Whether it says anything about the cup.
    pub(super) fn says_nothing(&self) -> bool {
        *self == Self { steep: self.steep, ..Self::of(self.code) }
    }
}

/// What a seat without a screen can be told.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SeatInput {
    /// Fill a sheet and send it.
    Fill(Fill),
    /// Answer a difference test and send it.
    Answer {
        /// Which test, from 1.
        test: u32,
        /// The cup chosen.
        pick: Code,
    },
    /// Say this join code.
    JoinCode(JoinCode),
    /// Answer a question.
    Ask(Question),
    /// Leave; the seat is kept.
    Leave,
}

/// What can be asked of a seat; answered by [`Happening::Answer`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Question {
    /// The clock of each tea.
    Teas,
    /// What is to do now and next.
    Next,
    /// The seat's own scores.
    Mine,
    /// The cups without a score.
    Missing,
    /// What the sheet asks.
    Sheet,
    /// The difference tests that are open, and the seat's answers.
    Tests,
    /// What the teacher has said.
    Said,
    /// How sure the clock is.
    Clock,
    /// What can be typed.
    Help,
}

/// What the shell is to do.
#[derive(Clone, Debug, PartialEq)]
pub enum Effect {
    /// Send it to the host.
    Send(SeatMessage),
    /// Dial again with this join code.
    Knock(JoinCode),
    /// Keep [`super::App::kept`] on disk, before anything after it.
    Keep,
    /// Write the person's own scores and notes to a file for them to keep.
    KeepNotes,
    /// Say it.
    Say(Happening),
    /// End the program.
    Quit(End),
}

/// How a seat's program ends.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum End {
    /// The class was closed.
    Closed,
    /// The person left; the seat is kept.
    Left,
    /// Whoever answers is not the host of the class, for this reason.
    NotTheHost(String),
    /// The host will not have the seat, for this reason.
    Refused(String),
}

/// Something that happened, and when by host time, if that was known.
#[derive(Clone, Debug, PartialEq)]
pub struct Happened {
    /// Host time.
    pub at: Option<HostTime>,
    /// What.
    pub what: Happening,
}

/// Something that happened at the seat.
#[derive(Clone, Debug, PartialEq)]
pub enum Happening {
    /// The seat has its place.
    Seated {
        /// The name as the host keeps it.
        name: String,
        /// The class's title.
        title: String,
        /// The seat's id.
        seat: SeatId,
        /// What is on the table and what the seat's hands do, in words.
        place: String,
        /// What they do at the kettles before the class begins.
        before_start: Option<String>,
    },
    /// The host asks for a join code.
    CodeAsked {
        /// What it says.
        reason: String,
    },
    /// The person waits until the teacher lets them in by name; the seat asks again by itself.
    AtDoor {
        /// What the host says.
        reason: String,
    },
    /// There is no link.
    NoLink {
        /// Why.
        reason: String,
        /// Seconds until the next attempt.
        again_in_s: i64,
        /// Whether the seat has a timetable to go on from.
        seated: bool,
    },
    /// The link is back.
    LinkBack,
    /// This machine slept: the clock is not trusted until the host has been asked again.
    Slept {
        /// For how many seconds.
        for_s: i64,
    },
    /// The clock was set again after a sleep, because the host's clock is another one, or because a clock has jumped; or it
    /// went back further than time can stand still, because a much better answer came.
    ClockSet(Moved),
    /// The class is in another phase.
    Phase(Phase),
    /// A cue's instant has come.
    Cue {
        /// The cue.
        cue: Cue,
        /// The cue in words, with all that goes with it.
        words: String,
        /// Whether it is for this seat's hands, or everybody's.
        mine: bool,
        /// Whether to ring.
        bell: bool,
        /// Whether its time had gone by unheard, as after the machine slept.
        missed: bool,
    },
    /// A cue comes soon.
    Soon {
        /// The cue.
        cue: Cue,
        /// What is to be done then, in words.
        words: String,
        /// In how many seconds.
        in_s: i64,
    },
    /// There is a cup now, and no sheet of it yet.
    Ready(Served),
    /// So many seconds are left to taste a round.
    TasteLeft {
        /// The round.
        round: u32,
        /// How many.
        left_s: i64,
    },
    /// The order in which this seat tastes the cups of the round.
    Drink(Vec<Code>),
    /// The class is about to close.
    LastCall {
        /// Seconds until what is on the sheets is sent.
        left_s: i64,
        /// What the seat has come for.
        role: Role,
        /// The cups without a score.
        missing: Vec<Cup>,
    },
    /// The tasting of a round is over, and these cups have no score.
    Missing(Vec<Cup>),
    /// Cups do not count, or count again: in words.
    Counts(String),
    /// The teacher says something.
    Said {
        /// The words.
        words: String,
        /// To this seat alone.
        to_you: bool,
    },
    /// Who has come: some names, and how many there are.
    Here {
        /// The names.
        names: Vec<String>,
        /// How many there are in all.
        seats: u32,
    },
    /// A score is on its way.
    Sent {
        /// The score.
        score: Score,
        /// Of which cup.
        cup: Served,
        /// Whether there is a link to send it by; if not, it waits.
        linked: bool,
    },
    /// The host has a score on disk.
    Kept {
        /// The score.
        score: Score,
        /// Of which cup.
        cup: Served,
        /// Its content in words.
        content: String,
    },
    /// A difference test is open to this seat.
    TestOpened(TestCard),
    /// An answer to a difference test is on its way.
    AnswerSent {
        /// The answer.
        answer: Answer,
        /// Whether there is a link to send it by; if not, it waits.
        linked: bool,
    },
    /// The host has an answer on disk.
    AnswerKept(Answer),
    /// A score or an answer was not taken, by this seat or by the host.
    NotTaken {
        /// Its id, if it had been sent.
        id: Option<Uuid>,
        /// Why.
        reason: String,
    },
    /// The class is closed, and these sheets were not sent: each with what is on it.
    NotSent(Vec<String>),
    /// Teas were revealed.
    Revealed(Vec<TeaCard>),
    /// The host will not have the seat.
    Refused {
        /// Why, for a program.
        code: RefusalCode,
        /// Why and what to do, for a person.
        reason: String,
    },
    /// The class is closed, and this seat stays for what may be revealed.
    Stays,
    /// The person's own scores and notes are kept in this place.
    NotesKept(String),
    /// The answer to a question, in lines.
    Answer(Vec<String>),
    /// Something is wrong on this machine.
    Warning(String),
}

impl From<Fill> for SeatInput {
    fn from(fill: Fill) -> Self {
        SeatInput::Fill(fill)
    }
}
