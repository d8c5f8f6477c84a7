//! From which console the teacher did something.

use crate::{Entry, Room};
use protocol::text::{self, NAME_CHARS};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

/// What the host's own terminal is called in a ledger.
const HOST: &str = "host";

/// A console of the teacher's.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(from = "String", into = "String")]
pub enum Console {
    /// The terminal of the host's own machine.
    #[default]
    Host,
    /// One that leads from elsewhere, by its name.
    Lead(String),
}

impl Console {
    /// The console of that name, made inert.
    pub fn named(name: &str) -> Self {
        let name = text::clean(name, NAME_CHARS);
        if name.eq_ignore_ascii_case(HOST) { Self::Host } else { Self::Lead(name) }
    }
}

impl From<String> for Console {
    fn from(name: String) -> Self {
        Self::named(&name)
    }
}

impl From<Console> for String {
    fn from(console: Console) -> String {
        match console {
            Console::Host => HOST.into(),
            Console::Lead(name) => name,
        }
    }
}

impl fmt::Display for Console {
    /// "the host's console", "Ann's console".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Console::Host => f.write_str("the host's console"),
            Console::Lead(name) => write!(f, "{name}'s console"),
        }
    }
}

/// What was done at consoles elsewhere, of what a review tells.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Elsewhere {
    /// By its place among what was put right.
    amendments: BTreeMap<usize, Console>,
    /// By its place among the acts that changed the course.
    acts: BTreeMap<usize, Console>,
}

impl Room {
    /// Takes in one entry, and remembers at which console elsewhere it was done. All else is as the event alone says.
    pub fn take(&mut self, entry: Entry) {
        let (amendments, acts) = (self.amendments.len(), self.course.acts().len());
        self.fold(entry.seq, entry.at, entry.event);
        let now = self.course.acts().len();
        self.elsewhere.acts.retain(|&place, _| place < now);
        let Some(console @ Console::Lead(_)) = entry.by else { return };
        let put_right = (amendments..self.amendments.len()).map(|place| (place, console.clone()));
        self.elsewhere.amendments.extend(put_right);
        self.elsewhere.acts.extend((acts..now).map(|place| (place, console.clone())));
    }

    /// The console elsewhere at which something was put right, by its place among the amendments.
    pub fn amended_at(&self, place: usize) -> Option<&Console> {
        self.elsewhere.amendments.get(&place)
    }

    /// The console elsewhere at which the course was changed, by its place among the acts.
    pub fn steered_at(&self, place: usize) -> Option<&Console> {
        self.elsewhere.acts.get(&place)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_console_has_a_name_and_only_the_hosts_own_is_called_host() {
        for (name, console, shown) in [
            ("host", Console::Host, "the host's console"),
            ("HOST ", Console::Host, "the host's console"),
            ("Ann", Console::Lead("Ann".into()), "Ann's console"),
            ("An\u{1b}[2Jn", Console::Lead(text::clean("An\u{1b}[2Jn", NAME_CHARS)), "An [2Jn's console"),
        ] {
            assert_eq!(Console::named(name), console);
            assert_eq!(console.to_string(), shown, "{name:?}");
            let json = serde_json::to_string(&console).unwrap();
            assert_eq!(serde_json::from_str::<Console>(&json).unwrap(), console);
        }
    }
}
