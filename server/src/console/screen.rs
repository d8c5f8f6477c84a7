//! The teacher's screen. Pure; the loop around it is in `terminal`.

mod draw;
mod keys;
mod next;
mod room_for;
mod teas;

use super::About;
use super::command::Typed;
use super::words::still_blind;
use protocol::Code;
use protocol::text::{Inert, message};
use room::view::View;
use std::cell::Cell;
use std::collections::VecDeque;

/// How many lines of what happened are remembered.
const MEMORY: usize = 200;

/// The screen's own state; the class itself comes in as a [`View`].
#[derive(Clone, Debug)]
pub struct Screen {
    about: About,
    typed: String,
    said: VecDeque<Inert>,
    answer: Inert,
    question: Option<Question>,
    page: Option<Page>,
}

/// Something that is asked once before it is done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Question {
    /// With a last call of so many seconds.
    Close(u32),
    Reveal(Option<Code>),
    /// At the end of a class whose teas are still blind. It comes by itself, so that Enter is no answer to it.
    StillBlind,
    /// Whether the keys are to be shown where the class may see them.
    Keys,
    /// Whether consoles elsewhere are to be let go by new keys.
    NewKeys,
    Stop,
}

/// A long text over the class.
#[derive(Clone, Debug)]
struct Page {
    text: Inert,
    from: u16,
    /// The last line it can begin with, known once it has been drawn.
    last: Cell<u16>,
}

/// What a key leads to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Deed {
    /// Nothing beyond the screen.
    None,
    /// Carry out a command.
    Do(Typed),
}

impl Screen {
    /// A screen for a class.
    pub fn new(about: About) -> Self {
        let said = VecDeque::new();
        Self { about, typed: String::new(), said, answer: Inert::default(), question: None, page: None }
    }

    /// Adds a line to what happened.
    pub fn say(&mut self, line: String) {
        // Whoever sits down has a link; that needs no line of its own.
        let told =
            line.strip_prefix("linked: ").zip(self.said.back().and_then(|s| s.strip_prefix("seated: ")));
        let told = told.is_some_and(|(linked, seated)| seated.split(", pourer").next() == Some(linked));
        if !line.is_empty() && !told {
            self.said.push_back(message(&line));
        }
        while self.said.len() > MEMORY {
            self.said.pop_front();
        }
    }

    /// Answers what was typed, in a line of its own above it.
    pub fn answer(&mut self, words: String) {
        self.answer = message(&words);
    }

    /// The class has closed: once more it is asked whether the names are to be told.
    pub fn closed(&mut self, view: &View) {
        if still_blind(view).is_some() {
            self.question = Some(Question::StillBlind);
        }
    }

    /// Shows a long text until another key than those for reading on.
    pub fn show(&mut self, text: String) {
        self.page = Some(Page { text: message(&text), from: 0, last: Cell::new(u16::MAX) });
    }
}

#[cfg(test)]
mod tests;
