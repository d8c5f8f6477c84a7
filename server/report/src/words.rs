//! Words that tables, text and page share.

use protocol::{Phase, Role};
use summary::find::describe::Scale;
pub(crate) use summary::say::capital;
use summary::sentence::About;
use summary::{Missing, SeatLine, Summary, TeaLine};

/// The attribute that a first picture shows wherever it is asked.
pub(crate) const LIKING: &str = "liking";

/// Items in a row.
pub fn joined<T: ToString>(items: impl IntoIterator<Item = T>, between: &str) -> String {
    items.into_iter().map(|item| item.to_string()).collect::<Vec<_>>().join(between)
}

/// A tea's code and, once it may be known, its name.
pub(crate) fn label(tea: &TeaLine) -> String {
    tea.name.as_ref().map_or_else(|| tea.code.to_string(), |name| format!("{} {name}", tea.code))
}

/// "1 round", "2 rounds".
pub(crate) fn counted(count: usize, one: &str) -> String {
    format!("{count} {one}{}", if count == 1 { "" } else { "s" })
}

/// The same as the words of a cell.
pub(crate) fn about(about: About) -> &'static str {
    match about {
        About::Class => "how far this goes",
        About::Difference => "do the teas differ",
        About::Ways => "two ways of one leaf",
        About::Agreement => "do the tasters agree",
        About::Strength => "how long to steep next time",
        About::Words => "words",
        About::Tests => "can the class tell them apart",
        About::Totals => "weighted totals",
        About::Serving => "which cup came first",
        About::Seat => "you and the class",
    }
}

/// Who owes the sheet of a cup.
pub(crate) fn missing(all: &[Missing]) -> String {
    joined(all.iter().filter(|m| !m.came_later).map(|m| &m.seat), ", ")
}

/// Who came only after a cup was decanted.
pub(crate) fn came_later(all: &[Missing]) -> String {
    joined(all.iter().filter(|m| m.came_later).map(|m| &m.seat), ", ")
}

/// "95 of 96 sheets are in", and which is missing (seat, tea/steep) if it is one.
pub(crate) fn sheets_in(summary: &Summary) -> String {
    let sheets = summary.sheets;
    let counted = format!("{} of {} sheets are in", sheets.n, sheets.of);
    let mut missing = summary.seats.iter().flat_map(|seat| seat.missing.iter().map(|cup| (&seat.name, cup)));
    match (missing.next(), missing.next()) {
        (Some((seat, cup)), None) => {
            format!("{counted} (missing: {seat}, {})", summary.cup(cup.code, cup.steep))
        }
        _ => counted,
    }
}

/// What has to be known before anything else is read: that it was a rehearsal, what was put right, who is left out.
pub(crate) fn first(summary: &Summary) -> Vec<String> {
    rehearsal(summary).into_iter().chain(summary.aside.iter().map(|aside| aside.text.clone())).collect()
}

/// That a class was a rehearsal, if it was.
pub(crate) fn rehearsal(summary: &Summary) -> Option<String> {
    summary
        .rehearsal
        .map(|pace| format!("A rehearsal, {pace} times as fast as a class: it says nothing of the teas."))
}

/// Where a class stands: `closed`, or `before the class`.
pub(crate) fn phase(phase: Phase) -> String {
    if phase == Phase::Lobby { "before the class".into() } else { phase.to_string() }
}

/// The same where nothing else says that it is about a class: `class closed`.
pub(crate) fn stands(stands: Phase) -> String {
    if stands == Phase::Lobby { phase(stands) } else { format!("class {stands}") }
}

/// A seat's name, and what it came for if not to score.
pub(crate) fn seat(line: &SeatLine) -> String {
    match line.role {
        Role::Scores => line.name.clone(),
        Role::PoursOnly => format!("{} (pours only)", line.name),
        Role::Watches => format!("{} (watches)", line.name),
    }
}

/// "1 (dislike extremely) to 9 (like extremely)".
pub fn scale_words(scale: &Scale) -> String {
    let end = |point: i32, word: &Option<String>| {
        word.as_ref().map_or_else(|| point.to_string(), |word| format!("{point} ({word})"))
    };
    format!("{} to {}", end(scale.min, &scale.low), end(scale.max, &scale.high))
}
