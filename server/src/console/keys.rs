//! The keys of a class: where they lie, how they are drawn, and what is said of them on the host's own terminal.

use crate::output::{replace_secret, save_secret};
use host::clock::fresh_secret;
use host::consoles::{Consoles, Keys};
use protocol::{ConsoleKey, KeyHash, Purpose};
use room::Teacher;
use std::ffi::OsString;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// What the file of a ledger's keys ends in, behind the ledger's name.
const BESIDE: &str = "-keys";

/// Where the keys of a ledger lie.
pub fn beside(ledger: &Path) -> PathBuf {
    let mut name: OsString = ledger.as_os_str().into();
    name.push(BESIDE);
    name.into()
}

/// The keys of a class that is open.
#[derive(Debug)]
pub struct KeyRing {
    path: PathBuf,
    keys: Mutex<[ConsoleKey; 2]>,
    consoles: Consoles,
    /// What is told of them at the opening.
    first_told: String,
}

/// What becomes of the keys at an opening: those that lie beside the ledger if they are the ledger's, else new ones.
pub fn open(
    ledger: &Path,
    known: Option<(KeyHash, KeyHash)>,
    consoles: Consoles,
) -> io::Result<(KeyRing, Option<Teacher>)> {
    let path = beside(ledger);
    let kept = match std::fs::read_to_string(&path) {
        Ok(text) => pair(&text),
        Err(error) if error.kind() == io::ErrorKind::NotFound => None,
        // Not UTF-8: no file of keys.
        Err(error) if error.kind() == io::ErrorKind::InvalidData => None,
        Err(error) => return Err(error),
    };
    let is_kept = |keys: &[ConsoleKey; 2]| Some(hashes(keys)) == known;
    let (keys, drawn) = match kept.filter(is_kept) {
        Some(keys) => (keys, None),
        None => {
            let keys = fresh();
            write(&path, &keys)?;
            (keys, Some(wish(&keys)))
        }
    };
    consoles.draw(secrets(&keys));
    let lie = path.display();
    let first_told = match (&drawn, known) {
        (Some(_), Some(_)) => format!(
            "keys: those of this class were not beside its ledger, or were others: new ones are in {lie}, and the old ones are void"
        ),
        _ => format!(
            "keys: the class can be led from elsewhere with those in {lie}, which is for you alone; `keys` shows them"
        ),
    };
    Ok((KeyRing { path, keys: Mutex::new(keys), consoles, first_told }, drawn))
}

impl KeyRing {
    /// What is told at the opening: where the keys lie. They themselves stand on no screen and in no log unless they are asked for.
    pub fn first_told(&self) -> &str {
        &self.first_told
    }

    /// Both keys, and what each is for.
    pub fn page(&self) -> String {
        let keys = *self.keys.lock().unwrap_or_else(PoisonError::into_inner);
        format!("{}\nkept in {}", told(&keys).join("\n"), self.path.display())
    }

    /// Which consoles are here that have come in by the keys.
    pub fn here(&self) -> Vec<String> {
        self.consoles.here()
    }

    /// Draws new keys, writes them where the old ones lay, and gives what the ledger is to be told, and in words where they lie and who
    /// came in with the old ones and is let go.
    ///
    /// # Errors
    /// They can't be written; the old ones still hold.
    pub fn draw(&self) -> io::Result<(Teacher, String)> {
        let fresh = fresh();
        write(&self.path, &fresh)?;
        let here = self.here();
        *self.keys.lock().unwrap_or_else(PoisonError::into_inner) = fresh;
        self.consoles.draw(secrets(&fresh));
        let let_go = match here.is_empty() {
            true => "no other console was there to be let go".into(),
            false => format!("let go: {}", here.join(", ")),
        };
        Ok((
            wish(&fresh),
            format!("the new keys are in {}; `keys` shows them; {let_go}", self.path.display()),
        ))
    }
}

fn fresh() -> [ConsoleKey; 2] {
    [Purpose::Teacher, Purpose::Observer].map(|purpose| ConsoleKey { purpose, secret: fresh_secret() })
}

fn hashes([teacher, observer]: &[ConsoleKey; 2]) -> (KeyHash, KeyHash) {
    let hash = |key: &ConsoleKey| KeyHash::of(key.purpose, &key.secret);
    (hash(teacher), hash(observer))
}

fn secrets([teacher, observer]: &[ConsoleKey; 2]) -> Keys {
    Keys { teacher: teacher.secret, observer: observer.secret }
}

fn wish(keys: &[ConsoleKey; 2]) -> Teacher {
    let (teacher, observer) = hashes(keys);
    Teacher::Keys { teacher, observer }
}

fn told([teacher, observer]: &[ConsoleKey; 2]) -> Vec<String> {
    vec![
        format!("{teacher}  leads the class: kettlecall lead ADDRESS --key FILE"),
        format!("{observer}  looks on and changes nothing, in the same way"),
    ]
}

/// Both keys of a file, the teacher's first.
fn pair(text: &str) -> Option<[ConsoleKey; 2]> {
    let keys: Vec<ConsoleKey> = text.lines().filter_map(|line| line.parse().ok()).collect();
    let of = |purpose| keys.iter().find(|key| key.purpose == purpose).copied();
    Some([of(Purpose::Teacher)?, of(Purpose::Observer)?])
}

fn write(path: &Path, [teacher, observer]: &[ConsoleKey; 2]) -> io::Result<()> {
    let text = format!(
        "# The keys of the class in the ledger beside this file. Whoever has one comes in from elsewhere:\n\
         # kettlecall lead ADDRESS --key FILE, where FILE is this file, or one with one of its lines.\n\
         # With the teacher's key one leads the class: everything but stopping the host.\n\
         {teacher}\n\
         # With the observer's key one sees what the teacher sees, the names of the teas too, and changes nothing.\n\
         {observer}\n"
    );
    if path.exists() { replace_secret(path, text.as_bytes()) } else { save_secret(path, text.as_bytes()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn known(wish: Option<Teacher>) -> Option<(KeyHash, KeyHash)> {
        match wish? {
            Teacher::Keys { teacher, observer } => Some((teacher, observer)),
            _ => None,
        }
    }

    #[test]
    fn keys_are_drawn_once_and_again_where_the_file_is_gone_or_of_another_class() {
        let folder = tempfile::tempdir().unwrap();
        let ledger = folder.path().join("class.ledger");
        let open = |known| open(&ledger, known, Consoles::default()).unwrap();
        let (ring, drawn) = open(None);
        let first = known(drawn);
        assert!(first.is_some());
        let told = ring.first_told().to_string();
        assert!(
            ring.page().lines().all(|line| !told.contains(line)),
            "the keys are shown where they are asked for: {told}"
        );
        let page = ring.page();
        let (ring, drawn) = open(first);
        assert_eq!((drawn, ring.page()), (None, page.clone()));
        assert_eq!(ring.first_told(), told);
        std::fs::remove_file(beside(&ledger)).unwrap();
        let (ring, drawn) = open(first);
        let second = known(drawn);
        assert!(second.is_some() && second != first && ring.page() != page);
        assert!(ring.first_told().contains("the old ones are void"));
        std::fs::write(beside(&ledger), [0xff, 0xfe]).unwrap();
        assert!(known(open(second).1).is_some(), "what is no text is no file of keys");
        let third = known(Some(open(second).0.draw().unwrap().0));
        assert_eq!(known(open(third).1), None, "what was drawn later is beside the ledger, too");
    }

    #[cfg(unix)]
    #[test]
    fn the_file_of_keys_is_its_owners_alone_also_when_it_is_written_anew() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let ledger = folder.path().join("class.ledger");
        let mode = || std::fs::metadata(beside(&ledger)).unwrap().permissions().mode() & 0o777;
        let (ring, _) = open(&ledger, None, Consoles::default()).unwrap();
        assert_eq!(mode(), 0o600);
        std::fs::set_permissions(beside(&ledger), std::fs::Permissions::from_mode(0o644)).unwrap();
        ring.draw().unwrap();
        assert_eq!(mode(), 0o600);
        assert!(!format!("{ring:?}").contains(&ring.page()[9..14]), "a key never reaches a log");
    }
}
