//! What the keys do.

use super::filled::{Digits, Typed};
use super::{App, Cup, Desk, Effect, Filled, Key, Line};
use crate::host_clock::OwnTime;
use protocol::text::NOTE_CHARS;
use protocol::{Attribute, Phase, Sheet, Strength};
use uuid::Uuid;

/// What the keys can be for.
#[derive(Clone, Copy, PartialEq)]
enum InHand {
    Cup(Cup),
    Test(u32),
}

impl App {
    /// The cup in hand: the one taken up, or else the one last decanted that is not scored, or else the one
    /// last decanted.
    pub fn cup_in_hand(&self, now: OwnTime) -> Option<Cup> {
        let (class, at) = (self.class.as_ref()?, self.host_now(now)?);
        let decanted = class.decanted(at);
        let unscored = || decanted.iter().rev().copied().find(|cup| self.said(*cup).is_none());
        self.desk.hand.or_else(unscored).or_else(|| decanted.last().copied())
    }

    pub(super) fn press(&mut self, key: Key, now: OwnTime, id: Uuid) -> Vec<Effect> {
        self.warnings.clear();
        let asked = std::mem::take(&mut self.leaving);
        if std::mem::take(&mut self.help) && key != Key::Interrupt {
            return Vec::new();
        }
        let closed = self.phase() == Phase::Closed;
        match key {
            Key::Interrupt if asked || closed => return vec![Effect::Quit(self.leave_end())],
            Key::Char('q') | Key::Enter if closed => return vec![Effect::Quit(self.leave_end())],
            Key::Interrupt => {
                self.leaving = true;
                self.note(now, "Ctrl-C again to leave; your seat is kept");
            }
            Key::Help => self.help = true,
            Key::Char('?') if !self.is_on(Line::Note) => self.help = true,
            Key::Tab => self.move_hand(1, now),
            Key::BackTab => self.move_hand(-1, now),
            key => {
                return match self.test_in_hand().cloned() {
                    Some(card) => self.on_test(&card, &key, now, id),
                    None => self.on_sheet(key, now, id),
                };
            }
        }
        Vec::new()
    }

    fn is_on(&self, line: Line<'_>) -> bool {
        let here = |class: &super::Class| Desk::lines(&class.sheet).get(self.desk.line) == Some(&line);
        self.test_in_hand().is_none() && self.class.as_ref().is_some_and(here)
    }

    /// Whether the words of the sheet have the keys.
    pub fn on_words(&self) -> bool {
        self.is_on(Line::Words)
    }

    /// To the next cup or, after the last, the first open test; and round again.
    fn move_hand(&mut self, step: isize, now: OwnTime) {
        let at = self.host_now(now);
        let cups = self.class.as_ref().zip(at).map(|(c, at)| c.in_table_order(c.poured(at)));
        let cups: Vec<InHand> = cups.unwrap_or_default().into_iter().map(InHand::Cup).collect();
        let tests = self.class.as_ref().into_iter().flat_map(|c| c.tests.keys()).map(|n| InHand::Test(*n));
        let places: Vec<InHand> = cups.into_iter().chain(tests).collect();
        if places.is_empty() {
            return self.note(now, "nothing has been poured yet");
        }
        let test = self.test_in_hand().map(|card| InHand::Test(card.test));
        let here = test.or_else(|| self.cup_in_hand(now).map(InHand::Cup));
        let here = here.and_then(|here| places.iter().position(|place| *place == here));
        let last = places.len() as isize;
        let there = here.map_or(last - 1, |i| (i as isize + step).rem_euclid(last));
        match places[there.unsigned_abs()] {
            InHand::Test(test) => self.desk.test = Some(test),
            InHand::Cup(cup) => {
                self.desk.test = None;
                self.desk.take_up(cup);
            }
        }
    }

    fn on_sheet(&mut self, key: Key, now: OwnTime, id: Uuid) -> Vec<Effect> {
        let Some(sheet) = self.class.as_ref().map(|c| c.sheet.clone()) else { return Vec::new() };
        let Some(cup) = self.cup_in_hand(now) else {
            if key == Key::Enter {
                self.note(now, "nothing to send: no cup has been decanted yet");
            }
            return Vec::new();
        };
        let last = Desk::lines(&sheet).len().saturating_sub(1);
        match key {
            Key::Up => self.desk.go_to_line(self.desk.line.saturating_sub(1)),
            Key::Down => self.desk.go_to_line((self.desk.line + 1).min(last)),
            Key::Enter => return self.send_draft(cup, now, id),
            key => self.edit(&sheet, cup, key, now),
        }
        Vec::new()
    }

    fn send_draft(&mut self, cup: Cup, now: OwnTime, id: Uuid) -> Vec<Effect> {
        match self.desk.drafts.get(&cup).cloned() {
            Some(draft) => self.send(cup, &draft, now, id),
            None => {
                let sent = self.said(cup).is_some();
                let words = if sent {
                    "nothing new to send: change a line first"
                } else {
                    "nothing to send: fill at least one line"
                };
                self.note(now, format!("{cup}: {words}"));
                Vec::new()
            }
        }
    }

    fn edit(&mut self, sheet: &Sheet, cup: Cup, key: Key, now: OwnTime) {
        let mut filled = self.shown(cup);
        // Whoever begins to write means the note, but for the words, which are found by their first letter.
        if let (Key::Char(c), Some(note)) = (&key, Desk::lines(sheet).iter().position(|l| *l == Line::Note))
            && c.is_alphabetic()
            && !self.on_words()
        {
            self.desk.go_to_line(note);
        }
        match Desk::lines(sheet).get(self.desk.line) {
            Some(Line::Attribute(scale)) => self.edit_value(sheet, scale, &mut filled, &key, now),
            Some(Line::Strength) => edit_strength(&mut filled, &key),
            Some(Line::Words) => self.edit_words(sheet, &mut filled, &key, now),
            Some(Line::Note) => edit_note(&mut filled, &key),
            None => {}
        }
        // A digit that ends one number and starts the next may already have been put down on another line.
        self.put_down(cup, filled);
    }

    /// Makes it the cup's draft, unless it is what was sent already.
    fn put_down(&mut self, cup: Cup, filled: Filled) {
        let said = self.said(cup).map(Filled::from).unwrap_or_default();
        if filled == said {
            self.desk.drafts.remove(&cup);
        } else {
            self.desk.drafts.insert(cup, filled);
            self.desk.hand = Some(cup);
        }
    }

    fn edit_words(&mut self, sheet: &Sheet, filled: &mut Filled, key: &Key, now: OwnTime) {
        let (words, here) = (&sheet.words, self.desk.word);
        let Some(word) = words.get(here) else { return };
        match key {
            Key::Char(' ') => filled.tick(word, sheet),
            Key::Backspace if filled.words.contains(word) => filled.tick(word, sheet),
            Key::Left => self.desk.word = here.checked_sub(1).unwrap_or(words.len() - 1),
            Key::Right => self.desk.word = (here + 1) % words.len(),
            Key::Char(c) if c.is_alphanumeric() => {
                let begins = |i: &usize| starts_with(&words[*i], *c);
                match (here + 1..words.len()).chain(0..=here).find(begins) {
                    Some(there) => self.desk.word = there,
                    None => self.note(now, format!("no word begins with {c}; Space ticks, ↑↓ another line")),
                }
            }
            _ => {}
        }
    }

    fn edit_value(&mut self, sheet: &Sheet, scale: &Attribute, filled: &mut Filled, key: &Key, now: OwnTime) {
        let value = filled.values.get(&scale.name).copied();
        let nudged = |by: i32, start: i32| {
            Some(value.map_or(start, |v| v.saturating_add(by).clamp(scale.min, scale.max)))
        };
        let middle = scale.min.midpoint(scale.max);
        let set = match key {
            Key::Char(c) if c.is_ascii_digit() => {
                return self.digit(sheet, scale, filled, c.to_digit(10).unwrap_or(0), now);
            }
            Key::Char('-') if scale.min < 0 => {
                self.desk.digits = Some(Digits::minus());
                return;
            }
            Key::Left => nudged(-1, middle),
            Key::Right => nudged(1, middle),
            Key::Backspace => None,
            _ => return,
        };
        self.desk.digits = None;
        match set {
            Some(value) => filled.values.insert(scale.name.clone(), value),
            None => filled.values.remove(&scale.name),
        };
    }

    fn digit(&mut self, sheet: &Sheet, scale: &Attribute, filled: &mut Filled, digit: u32, now: OwnTime) {
        let begun = self.desk.digits.is_some();
        let mut digits = self.desk.digits.take().unwrap_or_default();
        match digits.push(digit, scale) {
            Typed::Whole(value) => {
                filled.values.insert(scale.name.clone(), value);
                let last = Desk::lines(sheet).len().saturating_sub(1);
                self.desk.go_to_line((self.desk.line + 1).min(last));
            }
            Typed::SoFar(value) => {
                if let Some(value) = value {
                    filled.values.insert(scale.name.clone(), value);
                }
                self.desk.digits = Some(digits);
            }
            // The number before is whole after all, so this digit belongs to the next line.
            Typed::Unfit if begun && filled.values.contains_key(&scale.name) => {
                self.desk.go_to_line(self.desk.line + 1);
                match Desk::lines(sheet).get(self.desk.line) {
                    Some(Line::Attribute(next)) => self.digit(sheet, next, filled, digit, now),
                    Some(Line::Strength) => {
                        edit_strength(filled, &Key::Char(char::from_digit(digit, 10).unwrap_or('0')))
                    }
                    _ => self.desk.go_to_line(self.desk.line - 1),
                }
            }
            Typed::Unfit => self.note(now, crate::words::scale(scale)),
        }
    }
}

fn edit_strength(filled: &mut Filled, key: &Key) {
    let place = |s: Strength| usize::from((s.number() + 2).unsigned_abs());
    let at = |i: usize| Some(Strength::ALL[i.min(4)]);
    filled.strength = match (key, filled.strength) {
        (Key::Char(c @ '1'..='5'), _) => at(*c as usize - '1' as usize),
        (Key::Left | Key::Right, None) => Some(Strength::JustRight),
        (Key::Left, Some(s)) => at(place(s).saturating_sub(1)),
        (Key::Right, Some(s)) => at(place(s) + 1),
        (Key::Backspace, _) => None,
        (_, same) => same,
    };
}

/// Whether a word begins with a letter, in whatever capitals.
fn starts_with(word: &str, letter: char) -> bool {
    word.chars().next().is_some_and(|first| first.to_lowercase().eq(letter.to_lowercase()))
}

fn edit_note(filled: &mut Filled, key: &Key) {
    match key {
        Key::Char(c) => push_inert(&mut filled.note, &c.to_string()),
        Key::Paste(text) => push_inert(&mut filled.note, text),
        Key::Backspace => {
            filled.note.pop();
        }
        _ => {}
    }
}

/// Adds text to a note as far as it has room; characters that act become spaces, as they would on sending.
fn push_inert(note: &mut String, text: &str) {
    for c in text.chars() {
        let room = note.chars().count() < NOTE_CHARS;
        if room {
            let one = protocol::text::clean(&format!("x{c}x"), 3);
            note.push(one.chars().nth(1).unwrap_or(' '));
        }
    }
}
