//! The seat in lines: one per happening on the way out, one per filled sheet or question on the way in.

pub mod typed;

mod shell;
#[cfg(test)]
mod tests;

pub use shell::{PlainError, run};

use protocol::{Action, CAUTIONS, HostTime, Phase};
use seat::app::{Happened, Happening};
use seat::words::{self, count, tea};

/// How lines are printed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Manner {
    /// The host time in front of every line.
    pub stamp: bool,
    /// A bell with every cue for this seat; for a terminal, not for a pipe.
    pub bell: bool,
    /// Only what is for this seat: not what other hands do, and not who has come.
    pub quiet: bool,
}

impl Manner {
    /// A happening as it is printed.
    fn print(self, happened: &Happened) -> Vec<String> {
        if self.quiet && is_for_others(&happened.what) {
            return Vec::new();
        }
        let mut lines = lines(happened, self.stamp);
        if let (true, Happening::Cue { bell: true, .. }, Some(first)) =
            (self.bell, &happened.what, lines.first_mut())
        {
            first.insert(0, '\u{7}');
        }
        lines
    }
}

/// Whether it says nothing to this seat's hands, and nothing of its cups.
fn is_for_others(what: &Happening) -> bool {
    matches!(what, Happening::Cue { mine: false, .. } | Happening::Here { .. })
}

/// A happening as lines. The host time goes in front if `stamp` asks for it.
pub fn lines(happened: &Happened, stamp: bool) -> Vec<String> {
    let plain = lines_of(&happened.what);
    if stamp {
        plain.into_iter().map(|line| format!("{} {line}", stamped(happened.at))).collect()
    } else {
        plain
    }
}

/// Host time in seconds, in brackets, all of one width: `[  35.002]`.
fn stamped(at: Option<HostTime>) -> String {
    match at {
        Some(HostTime(us)) => format!("[{:8.3}]", us as f64 / 1e6),
        None => "[       -]".into(),
    }
}

fn lines_of(what: &Happening) -> Vec<String> {
    let line = match what {
        Happening::Seated { name, title, place, before_start, .. } => {
            let mut lines = vec![format!("seated as {name} at \"{title}\""), place.clone()];
            lines.extend(before_start.clone());
            lines.extend(CAUTIONS.map(|caution| format!("  {caution}")));
            lines.push("type help to see what can be typed".into());
            return lines;
        }
        Happening::NoLink { reason, again_in_s, seated } => {
            let cues = if *seated { "cues go on, " } else { "" };
            let wait = count(*again_in_s as usize, "second");
            let mut lines = vec![format!("no link: {reason}; {cues}trying again in {wait}")];
            lines.extend((!seated).then(|| format!("  {}", words::NO_CLASS_YET)));
            return lines;
        }
        Happening::AtDoor { reason } => reason.clone(),
        Happening::CodeAsked { reason } => format!("{reason}; type it here, then Enter"),
        Happening::LinkBack => "the link is back".into(),
        Happening::Slept { for_s } => words::slept(*for_s),
        Happening::ClockSet(moved) => words::clock_set(*moved),
        Happening::Phase(phase) => phase_words(*phase).into(),
        Happening::Cue { cue, .. } if cue.action == Action::SheetCloses => format!("the {cue}"),
        Happening::Cue { words, missed: true, .. } => format!("missed: {words}"),
        Happening::Cue { words, cue, mine: false, .. } => format!("pourer {}: {words}", cue.hands),
        Happening::Cue { words, .. } => format!("now: {words}"),
        Happening::Soon { words, in_s, .. } => format!("soon: {words} in {in_s} s"),
        Happening::Ready(cup) => format!("ready: {cup}"),
        Happening::TasteLeft { round, left_s } => format!("{left_s} s left to taste round {round}"),
        Happening::Drink(codes) => words::drink(codes),
        Happening::LastCall { left_s, role, missing } => {
            let missing = (!missing.is_empty()).then(|| words::missing(missing));
            return [words::last_call_in_lines(*left_s, *role)].into_iter().chain(missing).collect();
        }
        Happening::Counts(words) => words.clone(),
        Happening::Said { words, to_you } => words::said(words, *to_you),
        Happening::Missing(cups) => words::missing(cups),
        Happening::Here { names, seats } => words::here(names, *seats),
        Happening::Sent { cup, linked: true, .. } => format!("sent: {cup}"),
        Happening::Sent { cup, .. } => format!("waits for the link: {cup}"),
        Happening::Kept { cup, content, .. } => format!("kept: {cup} ({content})"),
        Happening::TestOpened(card) => {
            let (test, cups) = (card.test, words::cups(card));
            return vec![
                format!("test {test} ({}): {}", card.kind, card.question),
                format!("  your cups: {cups}; answer with: test {test} CODE"),
            ];
        }
        Happening::AnswerSent { answer, linked: true } => format!("sent: {}", words::answer(answer)),
        Happening::AnswerSent { answer, .. } => format!("waits for the link: {}", words::answer(answer)),
        Happening::AnswerKept(answer) => format!("kept: {}", words::answer(answer)),
        Happening::NotTaken { reason, .. } => format!("not taken: {reason}"),
        Happening::NotSent(sheets) => {
            let sheets = sheets.iter().map(|sheet| format!("  {sheet}"));
            return std::iter::once(words::NOT_SENT.to_string()).chain(sheets).collect();
        }
        Happening::Revealed(teas) => {
            return teas.iter().map(|card| format!("revealed: {}", tea(card))).collect();
        }
        Happening::Refused { reason, .. } => format!("refused: {reason}"),
        Happening::Stays => "stay for the reveal, or type leave".into(),
        Happening::NotesKept(place) => words::notes_kept(place),
        Happening::Answer(lines) => return lines.clone(),
        Happening::Warning(warning) => format!("warning: {warning}"),
    };
    vec![line]
}

/// What a phase means for the person.
pub fn phase_words(phase: Phase) -> &'static str {
    match phase {
        Phase::Lobby => "the class has not begun",
        Phase::Running => "the class is running",
        Phase::Held => "the class holds: nothing new is poured; what is wet ends on time",
        Phase::Closed => "the class is closed",
    }
}
