//! A console of lines, wherever they come from: what happens when, and what is answered to each line that is typed.

use super::command::{Typed, parse};
use super::words::{self, still_blind};
use super::{About, Answer, carry_out, cues, suggested};
use class::course::Turn;
use host::clock::HostClock;
use host::{Happening, HostError, HostHandle};
use protocol::text::clean;
use protocol::wire::TYPED_BYTES;
use protocol::{Action, HostTime, Phase, SeatId, Timetable};
use room::view::View;
use room::{Event, Offer, Teacher};
use std::collections::HashMap;
use std::future::Future;
use tokio::time::{Duration, sleep_until, timeout};

/// How long the wait for a cue may take before the clock is looked at again.
const LOOK: Duration = Duration::from_secs(1);

/// Whether a line says yes to a question.
fn is_yes(line: &str) -> bool {
    matches!(line.trim().to_lowercase().as_str(), "" | "y" | "yes")
}

/// Whether a line says no to a question; any other word is done as it is, and is a no too.
fn is_no(line: &str) -> bool {
    matches!(line.trim().to_lowercase().as_str(), "n" | "no")
}

/// What a console may do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum May {
    /// Everything: the host's own terminal.
    All,
    /// Whatever concerns the class, but not the program that holds it.
    Lead,
    /// Look.
    Look,
}

impl May {
    /// Why a word is not carried out here, if it is not.
    fn refuses(self, typed: &Typed) -> Option<&'static str> {
        match self {
            May::All => None,
            May::Lead | May::Look if *typed == Typed::Stop => {
                Some("not done: only the host's own terminal stops the host; `close` ends the class")
            }
            May::Lead | May::Look if matches!(typed, Typed::Keys | Typed::NewKeys) => {
                Some("not done: the keys are shown and drawn on the host's own terminal alone")
            }
            May::Look if typed.acts() => Some(
                "not done: an observer's key sees and changes nothing; `who`, `summary`, `key`, `why` and `code` show something",
            ),
            May::Lead | May::Look => None,
        }
    }
}

/// What was asked last.
enum Question {
    /// Whether this is to be done.
    Sure(Typed),
    /// Whether the names are to be told once the class has closed.
    AtClose,
}

/// What the lines are about: the timetable that holds, and how far its cues have been shown.
struct Course {
    timetable: Timetable,
    shown: HostTime,
    names: HashMap<SeatId, String>,
    pourers: u8,
    kettles: Vec<String>,
    /// What was said last of what is suggested for a cup.
    suggested: HashMap<Turn, String>,
}

impl Course {
    fn take(&mut self, happening: &Happening) {
        let Happening::Entry(entry) = happening else { return };
        match &entry.event {
            Event::Started { timetable }
            | Event::Resumed { timetable }
            | Event::Held { timetable, .. }
            | Event::Steered { timetable: Some(timetable), .. } => {
                self.timetable = timetable.clone();
            }
            Event::Seated { seat, name, .. } | Event::Renamed { seat, name } => {
                drop(self.names.insert(*seat, name.clone()))
            }
            _ => {}
        }
    }

    /// What is suggested and was not said yet: once all sheets are in, or the time for them is over.
    fn suggested(&mut self, view: &View) -> Vec<String> {
        let closes = |round| self.timetable.find(Action::SheetCloses, None, round).map(|cue| cue.at);
        let over = |offer: &&Offer| offer.all_in || closes(offer.voted_in).is_none_or(|at| at <= view.now);
        let due: Vec<&Offer> = view.suggestions.iter().filter(over).collect();
        let news = due.into_iter().filter_map(|offer| {
            let line = suggested::line(offer);
            let said = self.suggested.insert((offer.suggestion.tea, offer.round), line.clone());
            (said.as_ref() != Some(&line)).then_some(line)
        });
        news.collect()
    }

    fn name(&self, seat: SeatId) -> String {
        self.names.get(&seat).cloned().unwrap_or_else(|| "a seat".into())
    }
}

/// What follows a line that was typed.
pub enum Reply {
    /// These lines or pages are shown; there may be none.
    Shown(Vec<String>),
    /// The host is to stop.
    Stop,
}

impl Reply {
    fn one(text: impl Into<String>) -> Self {
        Self::Shown(vec![text.into()])
    }
}

/// A console of lines.
pub struct LineConsole {
    host: HostHandle,
    clock: HostClock,
    about: About,
    may: May,
    course: Course,
    asked: Option<Question>,
    /// Whether it was asked once what becomes of blind teas at the end.
    was_asked_at_close: bool,
}

impl LineConsole {
    /// A console of the class as it stands.
    ///
    /// # Errors
    /// The host has stopped.
    pub async fn new(host: HostHandle, clock: HostClock, about: About, may: May) -> Result<Self, HostError> {
        let room = host.room().await?;
        let course = Course {
            shown: clock.now(),
            names: room.seats.iter().map(|s| (s.id, s.name.clone())).collect(),
            pourers: room.class.pourers.hands(),
            kettles: room.class.kettle_names(),
            suggested: HashMap::new(),
            timetable: room.timetable.clone(),
        };
        Ok(Self { host, clock, about, may, course, asked: None, was_asked_at_close: false })
    }

    /// What is shown first.
    ///
    /// # Errors
    /// The host has stopped.
    pub async fn heading(&self) -> Result<Vec<String>, HostError> {
        let about = &self.about;
        let mut lines = vec![about.heading.clone()];
        if self.may == May::All {
            lines.push(format!("ledger: {}", about.ledger.display()));
            lines.push(format!("listening: {}", about.listening));
        }
        lines.push(format!("join: {}", about.join(self.host.room().await?.join_code)));
        lines.extend(about.notices.iter().map(|notice| format!("notice: {notice}")));
        if self.may == May::All {
            lines.extend(about.keys.iter().map(|keys| keys.first_told().to_string()));
        } else {
            let view = self.host.view(0).await?;
            let stands = match view.phase {
                // Not a word that stands for letting people in, too.
                Phase::Lobby => "not begun".to_string(),
                _ => words::stands(&view),
            };
            lines.push(format!("the class now: {stands}"));
            lines.push(words::who(&view));
            let door = self.host.lobby(None).await?;
            lines.extend((door.by_name || !door.names.is_empty()).then(|| words::at_door(&door)));
        }
        lines.extend(protocol::CAUTIONS.map(|caution| format!("caution: {caution}")));
        Ok(lines)
    }

    /// Waits for the next cue, not for long: after the machine has slept the instant is nearer than it was.
    pub fn until_cue(&self) -> impl Future<Output = ()> + Send + use<> {
        let next = self.course.timetable.coming(self.course.shown).first().map(|c| c.at);
        let instant = next.map(|at| self.clock.instant_of(at));
        async move {
            match instant {
                Some(at) => timeout(LOOK, sleep_until(at)).await.unwrap_or_default(),
                None => std::future::pending().await,
            }
        }
    }

    /// The cues that are due and not shown yet, and what is newly suggested.
    pub async fn due(&mut self) -> Vec<String> {
        let now = self.clock.now();
        let (course, kettles) = (&self.course, &self.course.kettles);
        let due = course.timetable.due(course.shown, now);
        let mut lines: Vec<String> = due.iter().map(|cue| cues::cue(cue, course.pourers, kettles)).collect();
        self.course.shown = now;
        lines.extend(self.suggested().await);
        lines
    }

    /// What a happening is here; `last` of those that have come by now.
    pub async fn happened(&mut self, happening: &Happening, last: bool) -> Vec<String> {
        self.course.take(happening);
        if let Happening::Moved(ledger) = happening {
            self.about.ledger = ledger.clone();
        }
        let (this, course) = (self.host.console(), &self.course);
        let line = words::happening(happening, this, &course.kettles, |seat| course.name(seat));
        let mut lines: Vec<String> = line.into_iter().collect();
        let may_suggest =
            matches!(happening, Happening::Entry(entry) if matches!(entry.event, Event::Scored { .. }));
        // Of many at once the last is soon enough.
        if may_suggest && last {
            lines.extend(self.suggested().await);
        }
        lines
    }

    async fn suggested(&mut self) -> Vec<String> {
        // A host that has stopped says itself why.
        let view = self.host.view(0).await.ok();
        view.map_or(Vec::new(), |view| self.course.suggested(&view))
    }

    /// Understands a line, and does what it says if this console may.
    ///
    /// # Errors
    /// The host has stopped.
    pub async fn typed(&mut self, line: &str) -> Result<Reply, HostError> {
        let line = clean(line, TYPED_BYTES);
        let asked = self.asked.take();
        let sure = match asked {
            Some(Question::AtClose) if is_yes(&line) => {
                self.about.at_close.reveal(self.host.clone());
                return Ok(Reply::one("the names are told when the class has closed"));
            }
            Some(Question::Sure(typed)) if is_yes(&line) => Some(typed),
            Some(_) if is_no(&line) => return Ok(Reply::one("not done")),
            _ => None,
        };
        let (typed, is_sure) = match sure {
            Some(typed) => (typed, true),
            None => match parse(&line) {
                Ok(None) => return Ok(Reply::Shown(Vec::new())),
                Err(answer) => return Ok(Reply::one(answer)),
                Ok(Some(typed)) => (typed, false),
            },
        };
        if let Some(refusal) = self.may.refuses(&typed) {
            return Ok(Reply::one(refusal));
        }
        if !is_sure && let Some(question) = self.question(&typed).await? {
            self.asked = Some(Question::Sure(typed));
            return Ok(Reply::one(question));
        }
        let closes = matches!(typed, Typed::Teacher(Teacher::Close { .. }));
        let answer = carry_out(&self.host, &self.about, typed).await?;
        let mut shown = Vec::new();
        if closes && !self.was_asked_at_close && !self.about.at_close.is_wished() {
            let view = self.host.view(0).await?;
            // Without a last call there is no time for an answer; the last words say what can be done.
            if let Some(question) = still_blind(&view).filter(|_| view.last_call.is_some()) {
                shown.push(format!(
                    "{question} Enter or y: yes, when the class has closed; anything else: no"
                ));
                (self.asked, self.was_asked_at_close) = (Some(Question::AtClose), true);
            }
        }
        match answer {
            Answer::Words(words) if words.is_empty() => {}
            Answer::Words(words) => shown.push(words),
            Answer::Page(page) => shown.push(page),
            Answer::Stop => return Ok(Reply::Stop),
        }
        Ok(Reply::Shown(shown))
    }

    /// What is asked once before a word is carried out.
    async fn question(&self, typed: &Typed) -> Result<Option<String>, HostError> {
        Ok(match typed {
            Typed::Teacher(Teacher::Reveal(_)) => {
                words::reveal_question(&self.host.view(0).await?, "anything else")
            }
            Typed::Keys => Some(words::keys_question("anything else")),
            Typed::NewKeys => match self.about.led_by() {
                here if here.is_empty() => None,
                here => Some(words::new_keys_question(&here, "anything else")),
            },
            _ => None,
        })
    }

    /// What is shown at the end of a host: of a class that is closed all that it found, and how its blind teas are revealed.
    ///
    /// # Errors
    /// The host has stopped.
    pub async fn last_page(&self) -> Result<Vec<String>, HostError> {
        let view = self.host.view(0).await?;
        if view.phase != Phase::Closed {
            return Ok(Vec::new());
        }
        let mut lines = vec![super::summary(&self.host).await?];
        if let Some(blind) = still_blind(&view) {
            let blind = blind.trim_end_matches(" Reveal now?");
            let ledger = self.about.ledger.display();
            lines.push(format!("{blind} To reveal them: kettlecall open {ledger}, then `reveal`"));
        }
        Ok(lines)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::console::command::WORDS;

    /// Of every word whether a console that leads may say it, and one that looks on.
    #[test]
    fn an_observer_only_looks_and_nobody_elsewhere_stops_the_host_or_sees_its_keys() {
        let typed = |word: &str| match word {
            "reopen" | "leave" | "drop" | "take" => format!("{word} 417"),
            "longer" | "shorter" | "more" | "skip" | "again" => format!("{word} 417 10"),
            "hand" => "hand 417 to Ben".into(),
            "pourer" => "pourer Ann leaves".into(),
            "release" | "away" | "back" | "count" | "say" => format!("{word} Ann"),
            "void" | "restore" => format!("{word} 417 2 spilled"),
            "test" => "test 1".into(),
            "admit" => "admit Ann".into(),
            "places" => "places 40".into(),
            "taste" => "taste +30".into(),
            "was" => "was 417 2 60".into(),
            word => word.into(),
        };
        let allows = |may: May| -> Vec<&str> {
            let allowed = |word: &&str| may.refuses(&parse(&typed(word)).unwrap().unwrap()).is_none();
            WORDS.into_iter().filter(allowed).collect()
        };
        assert_eq!(allows(May::All).len(), WORDS.len());
        assert_eq!(allows(May::Look), ["lobby", "why", "key", "who", "summary", "code", "help"]);
        assert_eq!(allows(May::Lead).len(), WORDS.len() - 2);
        for (line, may) in [
            ("code new", May::Look),
            ("lobby on", May::Look),
            ("away all since 19:05", May::Look),
            ("keys new", May::Lead),
            ("keys", May::Lead),
            ("stop", May::Lead),
        ] {
            let refusal = may.refuses(&parse(line).unwrap().unwrap());
            assert!(refusal.is_some_and(|words| words.starts_with("not done: ")), "{line}");
        }
    }
}
