//! The join code: asked for by the host, typed by the person, said, and kept with the class.

use super::{App, Effect, Happening, Key, LinkState};
use protocol::{JoinCode, Pin};

/// No code is typed longer than this, in characters.
const TYPED_CHARS: usize = 16;

impl App {
    /// Notes where the host is, which join code the person gave, and by which pin the host is known.
    pub fn comes_by(&mut self, address: &str, join_code: Option<JoinCode>, pin: Option<Pin>) {
        (self.address, self.join_code, self.pin) = (address.to_string(), join_code, pin);
    }

    /// What is said about the join code, and what is typed of it, while the host asks for one.
    pub fn code_asked(&self) -> Option<(&str, &str)> {
        let (typed, said) = &self.typed_code;
        (self.link == LinkState::AtDoor).then_some((said, typed))
    }

    pub(super) fn ask_for_code(&mut self, reason: String) -> Vec<Effect> {
        (self.link, self.unlinked) = (LinkState::AtDoor, None);
        self.typed_code = (String::new(), reason.clone());
        vec![Effect::Say(Happening::CodeAsked { reason })]
    }

    /// The person has a code; whether it is right, the host says.
    pub(super) fn knock(&mut self, code: JoinCode) -> Vec<Effect> {
        self.join_code = Some(code);
        // The link knows the host by the pin of the code's class, too.
        self.pin = self.pin.or(self.kept.pinned().of_code(code));
        vec![Effect::Knock(code)]
    }

    /// A key while the host asks for a code.
    pub(super) fn type_code(&mut self, key: &Key) -> Vec<Effect> {
        let (typed, said) = &mut self.typed_code;
        match key {
            Key::Enter if typed.is_empty() => {}
            Key::Enter => match typed.parse() {
                Ok(code) => {
                    self.link = LinkState::Dialling(1);
                    return self.knock(code);
                }
                Err(fault) => (*typed, *said) = (String::new(), fault),
            },
            Key::Backspace => drop(typed.pop()),
            Key::Esc => typed.clear(),
            Key::Char(letter) => put(typed, [*letter]),
            Key::Paste(text) => put(typed, text.chars()),
            _ => {}
        }
        Vec::new()
    }
}

fn put(typed: &mut String, letters: impl IntoIterator<Item = char>) {
    let letters = letters.into_iter().filter(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | ' '));
    for letter in letters {
        if typed.len() < TYPED_CHARS {
            typed.push(letter.to_ascii_uppercase());
        }
    }
}
