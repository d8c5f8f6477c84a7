//! One key at a line of the sheet.

use super::filled::{Digits, Typed};
use super::{App, Cup, Desk, Filled, Key, Line, note};
use crate::host_clock::OwnTime;
use crate::words;
use protocol::{Attribute, Sheet};

impl App {
    pub(super) fn edit(&mut self, sheet: &Sheet, cup: Cup, key: Key, now: OwnTime) {
        let mut filled = self.shown(cup);
        let lines = Desk::lines(sheet);
        // Whoever begins to write means the note, but for the words, which are found by their first letter.
        let writes = match &key {
            Key::Char(c) => c.is_alphabetic() && !self.on_words(),
            Key::Paste(_) => true,
            _ => false,
        };
        match lines.iter().position(|line| *line == Line::Note) {
            Some(note) if writes => self.desk.go_to_line(note),
            None if matches!(key, Key::Paste(_)) => {
                return self.note(now, "what was pasted is left out: this sheet asks for no note");
            }
            _ => {}
        }
        match lines.get(self.desk.line) {
            Some(Line::Words) => self.edit_words(sheet, &mut filled, &key, now),
            Some(Line::Note) => {
                // Some terminals paste one character after the other.
                let before = self.desk.unfit.filter(|(of, _)| *of == cup).map_or(0, |(_, before)| before);
                let unfit = note::edit(&mut filled.note, &key);
                self.desk.unfit = (unfit > 0).then_some((cup, before + unfit));
                if unfit > 0 {
                    self.note(now, note::unfit(before + unfit));
                }
            }
            Some(line) => {
                if let Some(scale) = line.scale() {
                    self.edit_value(sheet, &scale, &mut filled, &key, now);
                }
            }
            None => {}
        }
        // A digit that ends one number and starts the next may already have been put down on another line.
        self.put_down(cup, filled);
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

    /// A key at a line with points: an attribute, or the strength.
    fn edit_value(&mut self, sheet: &Sheet, scale: &Attribute, filled: &mut Filled, key: &Key, now: OwnTime) {
        let value = self.line_here(sheet).and_then(|line| filled.points(&line));
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
        if let Some(line) = self.line_here(sheet) {
            filled.set_points(&line, set);
        }
    }

    fn line_here<'a>(&self, sheet: &'a Sheet) -> Option<Line<'a>> {
        Desk::lines(sheet).get(self.desk.line).copied()
    }

    fn digit(&mut self, sheet: &Sheet, scale: &Attribute, filled: &mut Filled, digit: u32, now: OwnTime) {
        let Some(line) = self.line_here(sheet) else { return };
        let mut digits = self.desk.digits.take().unwrap_or_default();
        let begun = digits.has_begun();
        match digits.push(digit, scale) {
            Typed::Whole(value) => {
                filled.set_points(&line, Some(value));
                let last = Desk::lines(sheet).len().saturating_sub(1);
                self.desk.go_to_line((self.desk.line + 1).min(last));
            }
            Typed::SoFar(value) => {
                if value.is_some() {
                    filled.set_points(&line, value);
                }
                self.desk.digits = Some(digits);
            }
            // The number before is whole after all, so this digit belongs to the next line.
            Typed::Unfit if begun && filled.points(&line).is_some() => {
                self.desk.go_to_line(self.desk.line + 1);
                match self.line_here(sheet).and_then(|line| line.scale()) {
                    Some(next) => self.digit(sheet, &next, filled, digit, now),
                    None => self.desk.go_to_line(self.desk.line - 1),
                }
            }
            Typed::Unfit => self.note(now, words::scale(scale)),
        }
    }
}

/// Whether a word begins with a letter, in whatever capitals.
fn starts_with(word: &str, letter: char) -> bool {
    word.chars().next().is_some_and(|first| first.to_lowercase().eq(letter.to_lowercase()))
}
