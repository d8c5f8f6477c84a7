//! The short list on a screen: where there is too little room sentences get shorter, then pictures and what matters least go.

use super::GAP;
use crate::text::lines::wrapped;
use summary::say::brief::Line;

/// A sentence of the short list.
#[derive(Clone)]
pub(in crate::text) struct Found {
    lines: Vec<String>,
    /// Whether pictures go before it does.
    kept: bool,
    /// What has more of it goes first.
    goes: usize,
}

impl Found {
    /// A sentence by its place among others of its kind: the first is kept.
    pub(in crate::text) fn in_order(text: &str, place: usize, width: usize) -> Self {
        Self { lines: wrapped(GAP, text, width), kept: place == 0, goes: place }
    }

    /// The lines of a short list, at length or briefly.
    pub(in crate::text) fn all(brief: &[Line], short: bool, width: usize) -> Vec<Self> {
        let one = |(place, line): (usize, &Line)| Self {
            lines: wrapped(GAP, if short { &line.short } else { &line.text }, width),
            kept: line.matter.is_kept(),
            // Of one matter the last goes first.
            goes: line.matter as usize * brief.len() + place,
        };
        brief.iter().enumerate().map(one).collect()
    }
}

/// What is tried, one after the other.
pub(in crate::text) struct Tried<'a, R> {
    /// The whole list, briefly or not, and what has room beside it.
    pub(in crate::text) whole: &'a [(Length, R)],
    /// What has room beside a list of which only what is kept must stand; the last whatever is kept.
    pub(in crate::text) cut: &'a [R],
}

/// How long sentences are.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(in crate::text) enum Length {
    Full,
    Brief,
}

/// A screen of a head, the short list and what is below it.
pub(in crate::text) struct Screen<'a, R> {
    /// What comes first.
    pub(in crate::text) head: Vec<String>,
    /// The short list at length and briefly.
    pub(in crate::text) list: (Vec<Found>, Vec<Found>),
    /// The lines of the screen.
    pub(in crate::text) rows: usize,
    /// What is below the list where there is so much room.
    pub(in crate::text) below: &'a dyn Fn(R) -> Vec<Vec<String>>,
}

impl<R: Copy> Screen<'_, R> {
    /// The lines, with empty ones between the parts where there is room for them.
    pub(in crate::text) fn laid_out(self, tried: &Tried<'_, R>) -> String {
        let (all, short) = &self.list;
        // The line of the prompt is below, and one says in short.
        let rows = self.rows - 1 - usize::from(!all.is_empty());
        let rows = rows.saturating_sub(self.head.len());
        let left = |room: R| rows.saturating_sub((self.below)(room).iter().map(Vec::len).sum::<usize>());
        let of = |length| if length == Length::Full { all } else { short };
        let whole = tried.whole.iter().find(|(as_long, room)| length(of(*as_long)) <= left(*room));
        let (found, room) = match (whole, tried.cut) {
            (Some((as_long, room)), _) => (of(*as_long).clone(), *room),
            (None, [rooms @ .., least]) => {
                // What is kept has room before pictures have; what else there is, as far as there is room left.
                let kept: usize =
                    short.iter().filter(|found| found.kept).map(|found| found.lines.len()).sum();
                let room = *rooms.iter().find(|room| kept <= left(**room)).unwrap_or(least);
                (cut(short.clone(), left(room)), room)
            }
            (None, []) => return String::new(),
        };
        let more = all.len() - found.len();
        let more = if more > 0 { format!("   … and {more} more, with the rest") } else { String::new() };
        let mut parts = vec![self.head];
        if !found.is_empty() {
            let lines = found.iter().flat_map(|found| found.lines.iter().cloned());
            parts.push(std::iter::once(format!("IN SHORT{more}")).chain(lines).collect());
        }
        parts.extend((self.below)(room));
        parts.retain(|part| !part.is_empty());
        let spaced = length(&found) + parts.len() - 1 <= left(room);
        let lines = if spaced { parts.join(&String::new()) } else { parts.concat() };
        lines.iter().map(|line| format!("{line}\n")).collect()
    }
}

/// As many sentences as have room in whole, the first at least; what matters least goes first.
fn cut(mut found: Vec<Found>, room: usize) -> Vec<Found> {
    while found.len() > 1 && length(&found) > room {
        let last = (0..found.len()).max_by_key(|&place| found[place].goes);
        last.map(|place| found.remove(place));
    }
    found
}

fn length(found: &[Found]) -> usize {
    found.iter().map(|found| found.lines.len()).sum()
}
