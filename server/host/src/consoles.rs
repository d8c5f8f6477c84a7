//! Consoles elsewhere: which key lets one in, and the lines that go to and fro. What the words on them mean is not known here.

use protocol::proof::Secret;
use protocol::text;
use protocol::wire::{Lead, PROTOCOL, RefusalCode, version_words};
use protocol::{Challenge, KeyId, Proved, Purpose};
use std::collections::BTreeSet;
use std::fmt;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use tokio::sync::{mpsc, watch};
use uuid::Uuid;

/// How many consoles may be there at once beside the host's own.
pub const CONSOLES: usize = 8;
/// How many lines may wait on the way, either way.
const LINES: usize = 64;

/// The keys of a class.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct Keys {
    /// Of consoles that lead.
    pub teacher: Secret,
    /// Of consoles that look on.
    pub observer: Secret,
}

/// A console that has come.
#[derive(Debug)]
pub struct Remote {
    /// What it is called: as it said, or with a number behind it where another one is called so.
    pub name: String,
    /// Whether it may change anything.
    pub acts: bool,
    /// What is typed there; ends with its link.
    pub typed: mpsc::Receiver<String>,
    /// What it shows; its link ends when this is dropped.
    pub shows: mpsc::Sender<Shown>,
}

/// What goes to a console.
#[derive(Debug)]
pub enum Shown {
    /// A line, or a page of them.
    Text(String),
    /// The class is over, and there is nothing to come back for.
    Over,
}

/// Where consoles from elsewhere come in.
#[derive(Clone)]
pub struct Consoles(Arc<Inside>);

struct Inside {
    keys: watch::Sender<Option<Keys>>,
    come: mpsc::Sender<Remote>,
    names: Mutex<BTreeSet<String>>,
}

impl fmt::Debug for Consoles {
    /// A key never reaches a log.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Consoles(…)")
    }
}

/// The door's end of a console.
pub(crate) struct Link {
    pub(crate) acts: bool,
    pub(crate) typed: mpsc::Sender<String>,
    pub(crate) shown: mpsc::Receiver<Shown>,
    /// Changes when the keys do: the link is void then.
    pub(crate) keys: watch::Receiver<Option<Keys>>,
    name: Taken,
}

/// A name as long as a console has it.
struct Taken {
    name: String,
    consoles: Arc<Inside>,
}

impl Drop for Taken {
    fn drop(&mut self) {
        self.consoles.names().remove(&self.name);
    }
}

impl Inside {
    fn names(&self) -> MutexGuard<'_, BTreeSet<String>> {
        self.names.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Link {
    pub(crate) fn name(&self) -> &str {
        &self.name.name
    }
}

impl Default for Consoles {
    /// Where nobody comes in.
    fn default() -> Self {
        Self::new().0
    }
}

impl Consoles {
    /// With no key yet, so that nobody can come; those who come are to be taken from the other half.
    pub fn new() -> (Self, mpsc::Receiver<Remote>) {
        let (come, came) = mpsc::channel(CONSOLES);
        let inside = Inside { keys: watch::Sender::new(None), come, names: Mutex::default() };
        (Self(Arc::new(inside)), came)
    }

    /// From now on consoles come in with these keys; who came in with others is let go.
    pub fn draw(&self, keys: Keys) {
        self.0.keys.send_if_modified(|now| now.replace(keys) != Some(keys));
    }

    /// What those are called that are there now.
    pub fn here(&self) -> Vec<String> {
        self.0.names().iter().cloned().collect()
    }

    /// Lets a console in that proves a key over its connection's nonce. A key is one ledger's, so that its proof names no class.
    ///
    /// # Errors
    /// Why not, for a program and for a person.
    pub(crate) fn enter(&self, lead: &Lead, over: Challenge) -> Result<Link, (RefusalCode, String)> {
        if lead.protocol != PROTOCOL {
            return Err((RefusalCode::ProtocolVersion, version_words(PROTOCOL, lead.protocol)));
        }
        let mut keys = self.0.keys.subscribe();
        let known = *keys.borrow_and_update();
        let proves = |(purpose, secret): &(Purpose, Secret)| {
            let Proved { key, proof } = lead.proved;
            key == KeyId::of(*purpose, secret) && proof.holds(*purpose, secret, over, Uuid::nil())
        };
        let known = known.map(|keys| [(Purpose::Teacher, keys.teacher), (Purpose::Observer, keys.observer)]);
        let Some((purpose, _)) = known.iter().flatten().find(|key| proves(key)) else {
            let words = "that key is none of this class's, or the teacher has drawn new ones since; ask the teacher for the file beside the ledger";
            return Err((RefusalCode::KeyWrong, words.into()));
        };
        let asked = text::name(&lead.name)
            .map_err(|why| (RefusalCode::BadName, format!("a console can't have that name: {why}")))?;
        let mut names = self.0.names();
        if names.len() >= CONSOLES {
            let words = format!("{CONSOLES} consoles are there already, and no more can be; end one of them");
            return Err((RefusalCode::Busy, words));
        }
        let name = free(&asked, &names);
        let ((typed, hears), (shows, shown)) = (mpsc::channel(LINES), mpsc::channel(LINES));
        let acts = *purpose == Purpose::Teacher;
        let remote = Remote { name: name.clone(), acts, typed: hears, shows };
        if self.0.come.try_send(remote).is_err() {
            return Err((
                RefusalCode::HostStopping,
                "the host can take no console just now; try again later".into(),
            ));
        }
        names.insert(name.clone());
        Ok(Link { acts, typed, shown, keys, name: Taken { name, consoles: self.0.clone() } })
    }
}

/// A name that no other console has; the host's own is called `host`.
fn free(asked: &str, taken: &BTreeSet<String>) -> String {
    let is_free = |name: &String| {
        let same = |other: &str| text::name_key(other) == text::name_key(name);
        !same("host") && !taken.iter().any(|other| same(other))
    };
    let numbered = (2..).map(|n| format!("{asked} {n}"));
    let mut names = std::iter::once(asked.to_string()).chain(numbered);
    names.find(is_free).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use protocol::{Certificate, Nonce};

    const KEYS: Keys = Keys { teacher: [1; 16], observer: [2; 16] };
    const OVER: Challenge = Challenge { nonce: Nonce([7; 16]), certificate: None };

    fn lead(purpose: Purpose, secret: Secret, over: Challenge, name: &str) -> Lead {
        Lead {
            protocol: PROTOCOL,
            name: name.into(),
            proved: Proved::of(purpose, &secret, over, Uuid::nil()),
        }
    }

    #[test]
    fn only_who_proves_a_key_of_now_over_the_nonce_of_now_comes_in() {
        let (consoles, mut came) = Consoles::new();
        let teacher = lead(Purpose::Teacher, [1; 16], OVER, "Ann");
        let refused = |lead: &Lead| consoles.enter(lead, OVER).err().map(|(code, _)| code);
        assert_eq!(refused(&teacher), Some(RefusalCode::KeyWrong), "there is no key yet");
        consoles.draw(KEYS);
        for (lead, case) in [
            (lead(Purpose::Teacher, [2; 16], OVER, "Ann"), "the observer's key as the teacher's"),
            (lead(Purpose::Observer, [1; 16], OVER, "Ann"), "the teacher's key as the observer's"),
            (lead(Purpose::Seat, [1; 16], OVER, "Ann"), "a seat's proof"),
            (
                lead(Purpose::Teacher, [1; 16], Challenge::plain(Nonce([8; 16])), "Ann"),
                "another connection's nonce",
            ),
            (
                lead(
                    Purpose::Teacher,
                    [1; 16],
                    Challenge { certificate: Some(Certificate::of(b"abc")), ..OVER },
                    "Ann",
                ),
                "what was proved to whoever has another certificate",
            ),
        ] {
            assert_eq!(refused(&lead), Some(RefusalCode::KeyWrong), "{case}");
        }
        assert!(consoles.enter(&teacher, OVER).is_ok_and(|link| link.acts));
        assert!(
            consoles.enter(&lead(Purpose::Observer, [2; 16], OVER, "Bob"), OVER).is_ok_and(|link| !link.acts)
        );
        assert_eq!([(); 2].map(|()| came.try_recv().unwrap().acts), [true, false]);
        consoles.draw(Keys { teacher: [3; 16], ..KEYS });
        assert_eq!(refused(&teacher), Some(RefusalCode::KeyWrong), "new ones were drawn");
    }

    #[test]
    fn a_console_has_a_name_of_its_own_and_there_are_eight_at_most() {
        let (consoles, mut came) = Consoles::new();
        consoles.draw(KEYS);
        let enter = |name: &str| consoles.enter(&lead(Purpose::Teacher, [1; 16], OVER, name), OVER);
        let names = ["Ann", "ann", "Ann 2", "HOST", "鐵觀音", "Bob", "Cy", "Di"];
        let mut links: Vec<Link> = names.iter().map(|name| enter(name).ok().unwrap()).collect();
        let called: Vec<&str> = links.iter().map(Link::name).collect();
        assert_eq!(called, ["Ann", "ann 2", "Ann 2 2", "HOST 2", "鐵觀音", "Bob", "Cy", "Di"]);
        while came.try_recv().is_ok() {}
        assert_eq!(enter("Ed").err().unwrap().0, RefusalCode::Busy);
        assert_eq!(enter("\u{1b}[2J").err().unwrap().0, RefusalCode::BadName);
        links.remove(0);
        assert_eq!(enter("Ann").ok().unwrap().name(), "Ann", "who has gone leaves the name");
    }

    #[test]
    fn a_link_is_void_once_the_keys_are_others_and_not_before() {
        let (consoles, _came) = Consoles::new();
        consoles.draw(KEYS);
        let link = consoles.enter(&lead(Purpose::Teacher, [1; 16], OVER, "Ann"), OVER).ok().unwrap();
        consoles.draw(KEYS);
        assert!(!link.keys.has_changed().unwrap(), "the same are no others");
        consoles.draw(Keys { observer: [9; 16], ..KEYS });
        assert!(link.keys.has_changed().unwrap());
    }
}
