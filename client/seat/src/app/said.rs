//! What the teacher says: each line is shown once, for as long as it takes to read, one after the other; also after the seat's
//! program was started again. All of it can be read again.

use super::{App, Effect, Happening, NOTICE_US};
use crate::host_clock::OwnTime;
use crate::words;
use protocol::wire::{SAYINGS, Saying};

/// Whoever is busy tasting reads one character in so long, in microseconds.
const CHARACTER_US: i64 = 100_000;

/// What the teacher has said to this seat.
#[derive(Clone, Debug, Default)]
pub(super) struct Sayings {
    /// The newest, oldest first.
    lines: Vec<Saying>,
    /// The one that is being shown, and until when.
    standing: Option<(Saying, OwnTime)>,
}

impl App {
    /// The host tells everything that it has said to this seat.
    pub(super) fn hear_all_said(&mut self, said: Vec<Saying>, now: OwnTime) -> Vec<Effect> {
        let before = std::mem::take(&mut self.sayings.lines);
        let news: Vec<Saying> = said.iter().filter(|saying| !before.contains(saying)).cloned().collect();
        self.sayings.lines = said.into_iter().filter(|saying| before.contains(saying)).collect();
        self.hear_said(news, now)
    }

    /// Something is said, or was while the link was away.
    pub(super) fn hear_said(&mut self, said: Vec<Saying>, now: OwnTime) -> Vec<Effect> {
        let shown = self.said_until();
        let mut effects = Vec::new();
        for saying in said {
            self.heard(saying.seq);
            let lines = &mut self.sayings.lines;
            if lines.contains(&saying) {
                continue;
            }
            let place = lines.partition_point(|known| known.seq < saying.seq);
            lines.insert(place, saying.clone());
            lines.drain(..lines.len().saturating_sub(SAYINGS));
            if saying.seq > shown {
                let Saying { words, to_you, .. } = saying;
                effects.push(Effect::Say(Happening::Said { words, to_you }));
            }
        }
        effects.extend(self.show_said(now));
        effects
    }

    /// Shows the next line once the one before has had its time. That it is shown is kept.
    pub(super) fn show_said(&mut self, now: OwnTime) -> Option<Effect> {
        if self.teacher_says(now).is_some() {
            return None;
        }
        self.sayings.standing = None;
        let id = self.class.as_ref()?.id;
        let next = self.said_to_come().next()?.clone();
        self.kept.show(id, next.seq);
        let read_us = CHARACTER_US * next.words.chars().count() as i64;
        let until = OwnTime(self.alone_from(now).0 + read_us.max(NOTICE_US));
        self.sayings.standing = Some((next, until));
        Some(Effect::Keep)
    }

    /// Shows all that was said on a page of its own.
    pub(super) fn read_said(&mut self) -> Vec<Effect> {
        self.reading = true;
        self.said_is_read()
    }

    /// Everything said so far has been read.
    pub(super) fn said_is_read(&mut self) -> Vec<Effect> {
        self.sayings.standing = None;
        let last = self.sayings.lines.last().map(|saying| saying.seq);
        let shown = self.class.as_ref().zip(last).is_some_and(|(class, seq)| self.kept.show(class.id, seq));
        shown.then_some(Effect::Keep).into_iter().collect()
    }

    /// Something else takes room beside what the teacher says for a while; what it says has its time all the same.
    pub(super) fn give_said_longer(&mut self, now: OwnTime) {
        let from = self.alone_from(now);
        if let Some((_, until)) = self.sayings.standing.as_mut().filter(|(_, until)| *until > now) {
            until.0 += now.0 + NOTICE_US - from.0;
        }
    }

    /// When a line that waits is shown, if one waits.
    pub(super) fn next_said(&self) -> Option<OwnTime> {
        let (_, until) = self.sayings.standing.as_ref()?;
        self.said_to_come().next().map(|_| *until)
    }

    /// What the teacher says, while it is shown, and how many lines come after it.
    pub fn teacher_says(&self, now: OwnTime) -> Option<(String, usize)> {
        let (saying, _) = self.sayings.standing.as_ref().filter(|(_, until)| now < *until)?;
        Some((words::said(&saying.words, saying.to_you), self.said_to_come().count()))
    }

    /// What the teacher has said to this seat, oldest first: the newest lines, each with whether it was for this seat alone.
    pub fn all_said(&self) -> impl DoubleEndedIterator<Item = (&str, bool)> {
        self.sayings.lines.iter().map(|saying| (saying.words.as_str(), saying.to_you))
    }

    /// The lines that have not been shown.
    fn said_to_come(&self) -> impl Iterator<Item = &Saying> {
        let shown = self.said_until();
        self.sayings.lines.iter().filter(move |saying| saying.seq > shown)
    }

    /// The number of the last line that was shown.
    fn said_until(&self) -> u64 {
        self.class.as_ref().and_then(|class| self.kept.class(class.id)).map_or(0, |kept| kept.said)
    }

    /// From when on nothing else takes room beside what the teacher says.
    fn alone_from(&self, now: OwnTime) -> OwnTime {
        self.notice.as_ref().map_or(now, |notice| OwnTime(notice.at.0 + NOTICE_US).max(now))
    }
}
