//! What the keys do.

use super::{App, Cup, Desk, Draw, Effect, Filled, Key, Line, LinkState};
use crate::host_clock::OwnTime;
use crate::words;
use protocol::{Phase, Sheet};

impl App {
    pub(super) fn press(&mut self, key: Key, now: OwnTime, draw: Draw<'_>) -> Vec<Effect> {
        self.warnings.clear();
        self.at_hand(false, now);
        let asked_to_leave = std::mem::take(&mut self.leaving);
        let asked = std::mem::take(&mut self.desk.asked);
        let aside = std::mem::take(&mut self.help) | std::mem::take(&mut self.reading);
        if aside && key != Key::Interrupt {
            return Vec::new();
        }
        let closed = self.phase() == Phase::Closed;
        match key {
            Key::Interrupt if asked_to_leave || closed => return vec![Effect::Quit(self.leave_end())],
            Key::Interrupt => self.leaving = true,
            Key::Help => self.help = true,
            Key::Said => return self.read_said(),
            key if self.link == LinkState::AtDoor => return self.type_code(&key),
            key if closed => return self.on_closed_page(&key, now),
            key => return self.on_class_page(key, asked, now, draw),
        }
        Vec::new()
    }

    fn on_closed_page(&mut self, key: &Key, now: OwnTime) -> Vec<Effect> {
        match key {
            Key::Char('?') => self.help = true,
            Key::Char('!') => return self.read_said(),
            key if self.is_deaf(key, now) => {}
            Key::Up => self.desk.go_to_line(self.desk.line.saturating_sub(1)),
            Key::Down => self.desk.go_to_line(self.desk.line.saturating_add(1)),
            Key::Char('k') if self.notes_kept.is_none() => return vec![Effect::KeepNotes],
            Key::Char('q') => return vec![Effect::Quit(self.leave_end())],
            _ => {}
        }
        Vec::new()
    }

    fn on_class_page(&mut self, key: Key, asked: Option<Cup>, now: OwnTime, draw: Draw<'_>) -> Vec<Effect> {
        if let Some(typed) = self.desk.going.take() {
            self.go_by_code(typed, &key, now);
            return Vec::new();
        }
        if let Some(words) = self.class.as_ref().and_then(|class| words::not_asked(class.role)) {
            match key {
                Key::Char('?') => self.help = true,
                Key::Char('!') => return self.read_said(),
                Key::Esc | Key::Up | Key::Down | Key::Left | Key::Right | Key::Backspace => {}
                _ => self.note(now, words),
            }
            return Vec::new();
        }
        match key {
            Key::Char('?') if !self.is_on(Line::Note) => self.help = true,
            Key::Char('!') if !self.is_on(Line::Note) => return self.read_said(),
            Key::GoTo => self.desk.going = Some(String::new()),
            Key::Char('/') if !self.is_on(Line::Note) => self.desk.going = Some(String::new()),
            Key::Tab => self.move_hand(1, now),
            Key::BackTab => self.move_hand(-1, now),
            _ if self.is_deaf(&key, now) => {}
            Key::Char('n' | 'N') | Key::Esc if asked.is_some() && asked == self.cup_in_hand() => {
                self.note(now, "not sent");
            }
            key => {
                return match self.test_in_hand().cloned() {
                    Some(card) => self.on_test(&card, &key, now, draw),
                    None => self.on_sheet(key, asked, now, draw),
                };
            }
        }
        Vec::new()
    }

    pub(super) fn is_on(&self, line: Line<'_>) -> bool {
        let here = |class: &super::Class| Desk::lines(&class.sheet).get(self.desk.line) == Some(&line);
        self.test_in_hand().is_none() && self.class.as_ref().is_some_and(here)
    }

    /// Whether the words of the sheet have the keys.
    pub fn on_words(&self) -> bool {
        self.is_on(Line::Words)
    }

    /// Whether the note of the sheet has the keys.
    pub fn on_note(&self) -> bool {
        self.is_on(Line::Note)
    }

    fn on_sheet(&mut self, key: Key, asked: Option<Cup>, now: OwnTime, draw: Draw<'_>) -> Vec<Effect> {
        let Some(sheet) = self.class.as_ref().map(|c| c.sheet.clone()) else { return Vec::new() };
        let Some(cup) = self.cup_in_hand() else {
            match key {
                Key::Enter => self.note(now, "nothing to send: no cup is in hand"),
                Key::Char(_) | Key::Paste(_) => self.note(now, "left out: no cup is in hand yet"),
                _ => {}
            }
            return Vec::new();
        };
        let last = Desk::lines(&sheet).len().saturating_sub(1);
        let (asked, shut) = (asked == Some(cup), self.is_shut(cup));
        self.at_hand(!shut && key != Key::Enter, now);
        match key {
            Key::Enter if shut => self.open(cup, now),
            Key::Char('y' | 'Y') if asked => return self.send_draft(&sheet, cup, asked, now, draw),
            Key::Up => self.desk.go_to_line(self.desk.line.saturating_sub(1)),
            Key::Down => self.desk.go_to_line((self.desk.line + 1).min(last)),
            Key::Enter => return self.send_draft(&sheet, cup, asked, now, draw),
            key if shut => {
                let writes =
                    matches!(key, Key::Char(_) | Key::Paste(_) | Key::Backspace | Key::Left | Key::Right);
                if writes {
                    let state = self.cup_state(cup);
                    self.note_of_hand(
                        now,
                        format!("{} is {state}: Enter opens it for a change", self.served(cup)),
                    );
                }
            }
            key => {
                self.takes_again(cup, now);
                self.edit(&sheet, cup, key, now);
            }
        }
        Vec::new()
    }

    /// Sends what is filled in. A sheet on which nothing but a note stands may be a slip of the fingers and is asked about
    /// once.
    fn send_draft(
        &mut self,
        sheet: &Sheet,
        cup: Cup,
        asked: bool,
        now: OwnTime,
        draw: Draw<'_>,
    ) -> Vec<Effect> {
        let Some(draft) = self.desk.drafts.get(&cup).cloned() else {
            let words = if self.said(cup).is_some() {
                self.desk.opened = None;
                "nothing new to send; it stays as it was sent"
            } else {
                "nothing to send: fill at least one line"
            };
            self.note(now, format!("{}: {words}", self.served(cup)));
            return Vec::new();
        };
        if draft.is_only_a_note_on(sheet) && !asked {
            self.desk.asked = Some(cup);
            return Vec::new();
        }
        self.send(cup, &draft, now, draw)
    }

    /// Makes it the cup's draft, unless it is what was sent already.
    pub(super) fn put_down(&mut self, cup: Cup, filled: Filled) {
        let said = self.said(cup).map(Filled::from).unwrap_or_default();
        if filled == said {
            self.desk.drafts.remove(&cup);
        } else {
            self.desk.drafts.insert(cup, filled);
        }
    }
}
