//! What a seat knows and does, without any I/O: events in, effects out.

mod alarm;
mod class;
mod closing;
pub(crate) mod desk;
mod difference;
mod door;
mod due;
mod edit;
mod event;
mod fill;
pub(crate) mod filled;
mod hand;
mod keys;
mod moments;
mod news;
pub mod note;
mod opened;
mod owed;
mod reopened;
mod said;
#[cfg(test)]
mod tests;
mod voids;

pub use alarm::CueKey;
pub use class::{Class, CupState};
pub use desk::{Cup, Desk, Line, Served};
pub use event::{
    Cleared, Effect, End, Event, Fill, Happened, Happening, Key, LinkEvent, Question, SeatInput,
};
pub use filled::Filled;
pub use hand::Place;

use crate::host_clock::{HostClock, OwnTime};
use crate::kept::Kept;
use crate::words;
use protocol::{HostTime, JoinCode, Phase, Pin, Score};
use uuid::Uuid;

/// A better estimate that is further behind than this is another time altogether, in microseconds.
const STANDS_US: i64 = 2_000_000;
/// How long a notice stays on the screen, in microseconds.
const NOTICE_US: i64 = 10_000_000;

/// After a class so many attempts are made to find the host again.
const LAST_DIALS: u32 = 3;

/// Draws an id for a score or an answer, each time another.
pub type Draw<'a> = &'a mut dyn FnMut() -> Uuid;

/// How the link to the host stands.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum LinkState {
    /// Dialling, for the n-th time since the last link.
    Dialling(u32),
    /// The host asks for a join code, and waits until there is one.
    AtDoor,
    /// The person waits until the teacher lets them in by name; the seat asks again by itself.
    NotAdmitted,
    /// Seated and linked.
    Linked,
    /// No link; the next attempt comes at the instant given.
    Waiting(OwnTime),
    /// No link has been tried yet.
    #[default]
    Idle,
}

/// What was last said to the person.
#[derive(Clone, Debug)]
struct Notice {
    at: OwnTime,
    words: String,
    /// It says something of the hand, and is no longer true when that is at another place.
    of: Option<Place>,
}

/// One seat's whole state.
#[derive(Clone, Debug)]
pub struct App {
    /// The name of the person at the seat.
    pub name: String,
    /// The link.
    pub link: LinkState,
    /// Since when there is no link, and why; `None` while linked.
    pub unlinked: Option<(OwnTime, String)>,
    /// Host time as the seat knows it.
    pub clock: HostClock,
    /// The class, once seated.
    pub class: Option<Class>,
    /// Drafts, and the cup in hand.
    pub desk: Desk,
    /// Whether the keys are being explained.
    pub help: bool,
    /// Whether what the teacher has said is being read again.
    pub reading: bool,
    /// Where the host is, as it was typed.
    address: String,
    join_code: Option<JoinCode>,
    pin: Option<Pin>,
    /// What is typed for a join code, and what was said about it last.
    typed_code: (String, String),
    kept: Kept,
    notice: Option<Notice>,
    sayings: said::Sayings,
    warnings: Vec<String>,
    leaving: bool,
    /// How often the host was dialled since the last link.
    dialled: u32,
    /// Where the person's own scores are kept, once they are.
    notes_kept: Option<String>,
    /// The number of begun sheets that the host was last told over this link.
    told_writing: Option<u32>,
    /// The latest host time that the screen may have shown.
    shown: Option<HostTime>,
}

impl App {
    /// A seat that knows what it kept, and nothing of a host yet.
    pub fn new(name: impl Into<String>, kept: Kept) -> Self {
        Self {
            name: name.into(),
            link: LinkState::Idle,
            unlinked: None,
            clock: HostClock::default(),
            class: None,
            desk: Desk::default(),
            help: false,
            reading: false,
            address: String::new(),
            join_code: None,
            pin: None,
            typed_code: Default::default(),
            kept,
            notice: None,
            sayings: said::Sayings::default(),
            warnings: Vec::new(),
            leaving: false,
            dialled: 0,
            notes_kept: None,
            told_writing: None,
            shown: None,
        }
    }

    /// Takes in an event. Ids are drawn for the scores and the answers that may come of it.
    pub fn update(&mut self, event: Event, now: OwnTime, draw: Draw<'_>) -> Vec<Effect> {
        let (typing, place) = (matches!(event, Event::Key(_)), self.desk.place());
        // News of the machine come with a key that was pressed at the sheet as it was drawn before them.
        let settles =
            !matches!(event, Event::Slept(_) | Event::Warn(_) | Event::NotesKept(_) | Event::SaidIsRead);
        // The screen has been drawn since the last event, up to now by what was known until now.
        self.shown = self.host_now(now);
        // What is due comes before the news: a new timetable must not swallow a cue whose instant has come.
        let mut effects = self.fire(now, draw);
        effects.extend(match event {
            Event::Link(news) => self.hear(news, now, draw),
            Event::Key(key) => self.press(key, now, draw),
            Event::Fill(fill) => self.fill(&fill, now, draw),
            Event::Answer { test, pick } => self.answer(test, pick, now, draw),
            Event::JoinCode(code) => self.knock(code),
            Event::Tick => Vec::new(),
            Event::Slept(slept_us) => self.slept(slept_us, now).into_iter().collect(),
            Event::Warn(words) => self.warn(words),
            Event::NotesKept(place) => self.keep_notes_at(place),
            Event::SaidIsRead => self.said_is_read(),
            Event::Leave => vec![Effect::Quit(self.leave_end())],
        });
        effects.extend(self.fire(now, draw));
        effects.extend(self.show_said(now));
        if settles {
            self.settle(now);
        }
        self.shown = self.host_now(now);
        // Not with every letter: while a line is being filled its draft waits, unless something is kept anyway.
        let keeps = effects.contains(&Effect::Keep);
        let ends = effects.iter().any(|e| matches!(e, Effect::Quit(_)));
        let filling = typing && place == self.desk.place() && !keeps && !ends;
        if !filling && self.keep_drafts() && !keeps {
            effects.insert(0, Effect::Keep);
        }
        effects.extend(self.tell_writing());
        effects
    }

    /// Puts the drafts among what is kept; whether that changed anything.
    fn keep_drafts(&mut self) -> bool {
        let drafts = self.desk.drafts.iter().map(|(cup, filled)| (*cup, filled.clone())).collect();
        self.class.as_ref().is_some_and(|class| self.kept.draft(class.id, drafts))
    }

    /// Host time at `now`; `None` before the first exchange with the host. When a better estimate is a little behind
    /// what was shown already, time stands still until it has caught up: no clock on the screen goes back.
    pub fn host_now(&self, now: OwnTime) -> Option<HostTime> {
        let known = self.clock.host_time(now)?;
        Some(self.shown.filter(|shown| (0..STANDS_US).contains(&(*shown - known))).unwrap_or(known))
    }

    /// The latest host time that this seat knew.
    pub(crate) fn last_host_time(&self) -> Option<HostTime> {
        self.shown
    }

    /// The bound on the error of [`Self::host_now`], ± microseconds of the room: that of the estimate, and by how much the
    /// time shown is ahead of it while it stands still.
    pub fn bound_us(&self, now: OwnTime) -> Option<i64> {
        let ahead_us = self.host_now(now)? - self.clock.host_time(now)?;
        Some(self.clock.bound_us(now)?.saturating_add((ahead_us as f64 / self.clock.pace()).ceil() as i64))
    }

    /// What the seat has of a class, for its next hello: the class's id and the highest number heard.
    pub fn known(&self) -> Option<(Uuid, u64)> {
        self.class.as_ref().map(|class| (class.id, class.seq))
    }

    /// What is to be kept on this machine.
    pub fn kept(&self) -> &Kept {
        &self.kept
    }

    /// The scores not yet acknowledged, oldest first.
    pub fn outbox(&self) -> &[Score] {
        self.class.as_ref().and_then(|c| self.kept.class(c.id)).map_or(&[], |k| &k.outbox)
    }

    /// Where the class stands.
    pub fn phase(&self) -> Phase {
        self.class.as_ref().map_or(Phase::Lobby, |c| c.phase)
    }

    /// Whether the class is closed and nothing waits to be acknowledged.
    pub fn is_done(&self) -> bool {
        self.phase() == Phase::Closed && self.waiting() == 0
    }

    /// Whether the class is closed and the teacher may still reveal a tea to this seat. A host that does not come back after
    /// some attempts has gone home.
    pub fn awaits_reveal(&self) -> bool {
        let blind = |class: &Class| class.teas.iter().any(|tea| tea.name.is_none());
        let gone = matches!(self.link, LinkState::Waiting(_)) && self.dialled >= LAST_DIALS;
        self.phase() == Phase::Closed && self.class.as_ref().is_some_and(blind) && !gone
    }

    /// Where the person's own scores and notes are kept, once they are.
    pub fn notes_kept(&self) -> Option<&str> {
        self.notes_kept.as_deref()
    }

    /// How many scores and answers wait to be acknowledged.
    pub fn waiting(&self) -> usize {
        self.outbox().len() + self.answers_waiting().len()
    }

    /// The class's title, once seated.
    pub fn title(&self) -> Option<&str> {
        self.class.as_ref().map(|c| c.title.as_str())
    }

    /// The last thing to be said to the person but for what the teacher says, while it is fresh.
    pub fn notice(&self, now: OwnTime) -> Option<&str> {
        let here = self.place_in_hand();
        let holds = |said: &&Notice| now.0 - said.at.0 < NOTICE_US && (said.of.is_none() || said.of == here);
        self.notice.as_ref().filter(holds).map(|said| said.words.as_str())
    }

    /// What the person is asked, until the next key.
    pub fn question(&self) -> Option<String> {
        if self.leaving {
            return Some("Ctrl-C again to leave; your seat is kept".into());
        }
        let cup = self.desk.asked.filter(|cup| self.cup_in_hand() == Some(*cup))?;
        let note = words::shortened(&self.desk.drafts.get(&cup)?.note);
        Some(format!("nothing but the note “{note}”: send it? Enter or y sends, n does not"))
    }

    /// What is wrong on this machine, until the person has pressed a key.
    pub fn warnings(&self) -> &[String] {
        &self.warnings
    }

    /// The cup as it is spoken of.
    pub fn served(&self, cup: Cup) -> Served {
        self.class.as_ref().map_or(Served { cup, steep: cup.steep }, |class| class.served(cup))
    }

    /// How one cup's score stands.
    pub fn cup_state(&self, cup: Cup) -> CupState {
        if self.void(cup).is_some() {
            CupState::Void
        } else if self.desk.drafts.contains_key(&cup) {
            CupState::Draft
        } else if self.outbox().iter().any(|s| Cup::of(s) == cup) {
            CupState::Sent
        } else if self.is_reopened(cup) {
            CupState::Open
        } else if self.class.as_ref().is_some_and(|c| c.taken.contains_key(&cup)) {
            CupState::Kept
        } else {
            CupState::Open
        }
    }

    /// What was last said of the cup: sent, or else taken.
    fn said(&self, cup: Cup) -> Option<&Score> {
        let waiting = self.outbox().iter().filter(|s| Cup::of(s) == cup).max_by_key(|s| s.revision);
        waiting.or_else(|| self.class.as_ref()?.taken.get(&cup))
    }

    /// What the sheet shows for a cup: the draft, or what was last sent, or a blank.
    pub fn shown(&self, cup: Cup) -> Filled {
        let draft = self.desk.drafts.get(&cup).cloned();
        draft.or_else(|| self.said(cup).map(Filled::from)).unwrap_or_default()
    }

    fn leave_end(&self) -> End {
        if self.phase() == Phase::Closed { End::Closed } else { End::Left }
    }

    fn warn(&mut self, words: String) -> Vec<Effect> {
        if !self.warnings.contains(&words) {
            self.warnings.push(words.clone());
        }
        vec![Effect::Say(Happening::Warning(words))]
    }

    fn keep_notes_at(&mut self, place: String) -> Vec<Effect> {
        let news = self.notes_kept.replace(place.clone()).as_ref() != Some(&place);
        if news { vec![Effect::Say(Happening::NotesKept(place))] } else { Vec::new() }
    }

    fn note(&mut self, now: OwnTime, words: impl Into<String>) {
        self.give_said_longer(now);
        self.notice = Some(Notice { at: now, words: words.into(), of: None });
    }

    /// Says something that holds as long as the hand stays where it is.
    fn note_of_hand(&mut self, now: OwnTime, words: impl Into<String>) {
        self.give_said_longer(now);
        self.notice = Some(Notice { at: now, words: words.into(), of: self.place_in_hand() });
    }
}
