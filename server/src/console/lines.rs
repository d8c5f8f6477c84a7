//! The console without a terminal: happenings as lines on standard output, commands as lines on standard input.

use super::command::{Typed, parse};
use super::words::still_blind;
use super::{About, Answer, ConsoleError, Ended, carry_out, cues, suggested, words};
use class::course::Turn;
use host::Happening;
use host::Host;
use protocol::text::message;
use protocol::{Action, HostTime, SeatId, Timetable};
use room::view::View;
use room::{Event, Offer, Teacher};
use std::collections::HashMap;
use std::io::{BufRead, Write};
use tokio::sync::mpsc;
use tokio::time::{Duration, sleep_until, timeout};
use writer::{LAST_WORDS, Lines, Writer};

/// How long the wait for a cue may take before the clock is looked at again.
const LOOK: Duration = Duration::from_secs(1);

/// Lines of standard input, read by a thread of their own: a pending read must not keep the program from ending.
fn typed_lines() -> mpsc::UnboundedReceiver<String> {
    let (send, lines) = mpsc::unbounded_channel();
    std::thread::spawn(move || {
        for line in std::io::stdin().lock().split(b'\n') {
            let Ok(line) = line else { return };
            if send.send(String::from_utf8_lossy(&line).into_owned()).is_err() {
                return;
            }
        }
    });
    lines
}

/// Prints a text. An output that is gone must not end a class that runs: it is logged once and the class goes on.
fn print(out: &mut Lines, text: &str) {
    static GONE: std::sync::Once = std::sync::Once::new();
    if let Err(error) = writeln!(out, "{}", message(text)) {
        GONE.call_once(|| tracing::warn!(%error, "nobody reads the output any more; the class goes on"));
    }
}

/// Whether a line says yes to a question.
fn is_yes(line: &str) -> bool {
    matches!(line.trim().to_lowercase().as_str(), "" | "y" | "yes")
}

/// Whether teas that are still blind are revealed when the class closes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum AtClose {
    #[default]
    NotAsked,
    Asked,
    Stays,
    Reveals,
    /// The class has closed, and their names are being told.
    Told,
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

/// Runs until the class is closed or the host is stopped. The end of standard input changes nothing: the class goes on.
///
/// # Errors
/// The host failed.
pub async fn run(host: Host, mut about: About) -> Result<Ended, ConsoleError> {
    let out = Writer::stdout()?;
    let ended = hold(host, &mut about, &mut out.lines()).await;
    // Nobody may be reading; the end does not wait for that.
    out.finish(LAST_WORDS);
    ended
}

async fn hold(mut host: Host, about: &mut About, out: &mut Lines) -> Result<Ended, ConsoleError> {
    print(out, &about.heading);
    print(out, &format!("ledger: {}", about.ledger.display()));
    print(out, &format!("listening: {}", about.listening));
    print(out, &format!("join: {}", about.join(host.handle.room().await?.join_code)));
    for notice in &about.notices {
        print(out, &format!("notice: {notice}"));
    }
    for caution in protocol::CAUTIONS {
        print(out, &format!("caution: {caution}"));
    }
    let mut course = first_course(&host).await?;
    let mut typed = typed_lines();
    let mut signals = super::terminal::Signals::new()?;
    let mut asked_to_stop = false;
    let mut asked_to_reveal: Option<Typed> = None;
    let mut reveals = AtClose::default();
    let ended = loop {
        let next = course.timetable.coming(course.shown).first().map(|c| c.at);
        let cue_due = async {
            match next {
                // Not for long: after the machine has slept the instant is nearer than it was.
                Some(at) => timeout(LOOK, sleep_until(host.clock.instant_of(at))).await.unwrap_or_default(),
                None => std::future::pending().await,
            }
        };
        tokio::select! {
            biased;
            happening = host.happenings.recv() => {
                let Some(happening) = happening else { return Err(host.failed().await.into()) };
                course.take(&happening);
                if let Happening::Moved(ledger) = &happening {
                    about.ledger = ledger.clone();
                }
                if let Some(line) = words::happening(&happening, host.handle.console(), &course.kettles, |seat| course.name(seat)) {
                    print(out, &line);
                }
                let may_suggest = matches!(&happening, Happening::Entry(entry) if matches!(entry.event, Event::Scored { .. }));
                // Of many at once the last is soon enough.
                if may_suggest && host.happenings.is_empty() {
                    suggest(&host, &mut course, out).await;
                }
                match &happening {
                    Happening::Entry(entry) if entry.event == Event::Closed => {
                        let names = reveals == AtClose::Reveals;
                        if !names || host.handle.teacher(Teacher::Reveal(None)).await? != Ok(true) {
                            break Ended::Closed;
                        }
                        reveals = AtClose::Told;
                    }
                    Happening::Entry(entry) if reveals == AtClose::Told && matches!(entry.event, Event::Revealed { .. }) => {
                        break Ended::Closed;
                    }
                    _ => {}
                }
            }
            () = cue_due => {
                let now = host.clock.now();
                for cue in course.timetable.due(course.shown, now) {
                    print(out, &cues::cue(cue, course.pourers, &course.kettles));
                }
                course.shown = now;
                suggest(&host, &mut course, out).await;
            }
            // Before what was typed: a heap of lines does not make two presses of Ctrl-C one.
            hard = signals.recv() => {
                if hard || asked_to_stop {
                    break Ended::Stopped;
                }
                asked_to_stop = true;
                print(out, "stop the host? Ctrl-C again stops it; the class can be continued from its ledger");
            }
            Some(line) = typed.recv() => {
                if reveals == AtClose::Asked {
                    reveals = if is_yes(&line) { AtClose::Reveals } else { AtClose::Stays };
                    if reveals == AtClose::Reveals {
                        print(out, "the names are told when the class has closed");
                        continue;
                    }
                }
                let confirmed = asked_to_reveal.take().filter(|_| is_yes(&line));
                let sure = confirmed.is_some();
                let typed = match confirmed.map_or_else(|| parse(&line), |typed| Ok(Some(typed))) {
                    Ok(None) => continue,
                    Err(answer) => {
                        print(out, &answer);
                        continue;
                    }
                    Ok(Some(typed)) => typed,
                };
                if matches!(typed, Typed::Teacher(Teacher::Reveal(_))) && !sure
                    && let Some(question) = words::reveal_question(&host.handle.view(0).await?, "anything else")
                {
                    print(out, &question);
                    asked_to_reveal = Some(typed);
                    continue;
                }
                let closes = matches!(typed, Typed::Teacher(Teacher::Close { .. }));
                let answer = carry_out(&host.handle, about, typed).await?;
                if closes && reveals == AtClose::default() {
                    let view = host.handle.view(0).await?;
                    // Without a last call there is no time for an answer; the last words say what can be done.
                    if let Some(question) = still_blind(&view).filter(|_| view.last_call.is_some()) {
                        print(out, &format!("{question} Enter or y: yes, when the class has closed; anything else: no"));
                        reveals = AtClose::Asked;
                    }
                }
                match answer {
                    Answer::Words(words) if words.is_empty() => {}
                    Answer::Words(words) => print(out, &words),
                    Answer::Page(page) => print(out, &page),
                    Answer::Stop => break Ended::Stopped,
                }
            }
        }
    };
    if ended == Ended::Closed {
        print(out, &super::summary(&host.handle).await?);
    }
    let view = host.handle.view(0).await.ok();
    let closed = view.as_ref().is_some_and(|v| v.phase == protocol::Phase::Closed);
    if let Some(blind) = view.as_ref().filter(|_| closed).and_then(words::still_blind) {
        let blind = blind.trim_end_matches(" Reveal now?");
        print(
            out,
            &format!("{blind} To reveal them: kettlecall open {}, then `reveal`", about.ledger.display()),
        );
    }
    if let Some(words) = about.left(host.stop().await?) {
        print(out, &words);
    }
    let ended = if closed { Ended::Closed } else { ended };
    print(out, &super::terminal::last_words(ended, about));
    Ok(ended)
}

/// Says what is newly suggested.
async fn suggest(host: &Host, course: &mut Course, out: &mut Lines) {
    // A host that has stopped says itself why.
    if let Ok(view) = host.handle.view(0).await {
        course.suggested(&view).iter().for_each(|line| print(out, line));
    }
}

async fn first_course(host: &Host) -> Result<Course, ConsoleError> {
    let room = host.handle.room().await?;
    Ok(Course {
        shown: host.clock.now(),
        names: room.seats.iter().map(|s| (s.id, s.name.clone())).collect(),
        pourers: room.class.pourers.hands(),
        kettles: room.class.kettle_names(),
        suggested: HashMap::new(),
        timetable: room.timetable.clone(),
    })
}
