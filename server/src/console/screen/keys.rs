//! What a key does.

use super::{Deed, Question, Screen};
use crate::console::command::{Typed, parse};
use crate::console::words::{reveal_question, writers};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use protocol::{Phase, SteepState};
use room::Teacher;
use room::view::View;

/// The longest line that can be typed.
const TYPED_CHARS: usize = 120;

impl Screen {
    /// One key while the class is as in `view`.
    pub fn key(&mut self, key: KeyEvent, view: &View) -> Deed {
        let control = key.modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT);
        let ctrl_c = key.code == KeyCode::Char('c') && control;
        if let Some(question) = self.question.take() {
            let enters = key.code == KeyCode::Enter && question != Question::StillBlind;
            let yes = (enters || matches!(key.code, KeyCode::Char('y' | 'Y'))) && !control;
            if yes || (question == Question::Stop && ctrl_c) {
                return Deed::Do(question.typed());
            }
            self.answer("all as it was".into());
            // Whoever goes on typing a word means the line below; n only answers.
            if let KeyCode::Char(c) = key.code
                && !control
                && c.is_alphabetic()
                && !matches!(c, 'n' | 'N')
            {
                self.typed.push(c);
            }
            return Deed::None;
        }
        if ctrl_c {
            self.question = Some(Question::Stop);
            return Deed::None;
        }
        if let Some(page) = &mut self.page {
            let last = page.last.get();
            match key.code {
                // A class can be held whatever is in sight.
                KeyCode::Char(' ') if view.phase == Phase::Running && view.last_call.is_none() => {
                    return Deed::Do(Typed::Teacher(Teacher::Hold));
                }
                KeyCode::Up => page.from = page.from.saturating_sub(1),
                KeyCode::Down => page.from = (page.from + 1).min(last),
                KeyCode::PageUp => page.from = page.from.saturating_sub(10),
                KeyCode::PageDown | KeyCode::Char(' ') => page.from = (page.from + 10).min(last),
                KeyCode::Home => page.from = 0,
                KeyCode::End => page.from = last,
                // Whoever begins to type a word means the line below.
                KeyCode::Char(c) if !control => {
                    self.page = None;
                    self.typed.push(c);
                }
                _ => self.page = None,
            }
            return Deed::None;
        }
        match key.code {
            // The space bar only ever holds: held down, it must not set the class going again.
            KeyCode::Char(' ') if self.typed.is_empty() && view.phase == Phase::Running => {
                return Deed::Do(Typed::Teacher(Teacher::Hold));
            }
            KeyCode::Char(' ') if self.typed.is_empty() => {}
            KeyCode::Char(c) if !control && !c.is_control() && self.typed.chars().count() < TYPED_CHARS => {
                self.typed.push(c);
            }
            KeyCode::Backspace => drop(self.typed.pop()),
            KeyCode::Esc => self.typed.clear(),
            KeyCode::Enter => return self.enter(view),
            _ => {}
        }
        Deed::None
    }

    fn enter(&mut self, view: &View) -> Deed {
        let line = std::mem::take(&mut self.typed);
        self.answer(String::new());
        let typed = match parse(&line) {
            Ok(Some(typed)) => typed,
            Ok(None) => return Deed::None,
            Err(answer) => {
                self.answer(answer);
                return Deed::None;
            }
        };
        // What can't be is refused at once, not after a question.
        let closes = view.phase != Phase::Closed && view.last_call.is_none() && !is_wet(view);
        self.question = match &typed {
            Typed::Teacher(Teacher::Close { last_call_s: last_call_s @ 1.. }) if closes => {
                Some(Question::Close(*last_call_s))
            }
            Typed::Teacher(Teacher::Close { last_call_s: 0 })
                if view.phase != Phase::Closed && !is_wet(view) && writers(view) > 0 =>
            {
                Some(Question::Close(0))
            }
            Typed::Teacher(Teacher::Reveal(code)) if reveal_question(view, "").is_some() => {
                Some(Question::Reveal(*code))
            }
            Typed::Keys => Some(Question::Keys),
            Typed::NewKeys if !self.about.led_by().is_empty() => Some(Question::NewKeys),
            Typed::Stop => Some(Question::Stop),
            _ => return Deed::Do(typed),
        };
        Deed::None
    }
}

/// Whether leaves are under water.
fn is_wet(view: &View) -> bool {
    let wet = |state| matches!(state, SteepState::Pouring | SteepState::Steeping | SteepState::Decanting);
    view.teas.iter().any(|tea| wet(tea.clock.state))
}

impl Question {
    /// What is done if the answer is yes.
    fn typed(self) -> Typed {
        match self {
            Question::Close(last_call_s) => Typed::Teacher(Teacher::Close { last_call_s }),
            Question::Reveal(code) => Typed::Teacher(Teacher::Reveal(code)),
            Question::StillBlind => Typed::Teacher(Teacher::Reveal(None)),
            Question::Keys => Typed::Keys,
            Question::NewKeys => Typed::NewKeys,
            Question::Stop => Typed::Stop,
        }
    }
}
