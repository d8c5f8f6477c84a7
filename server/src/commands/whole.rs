//! Reads a ledger or a record, and if that is wished what is whole of one that is damaged.

use crate::exit::Failure;
use host::HostError;
use ledger::{Ending, Rescued, ending, inspect, rescued};
use protocol::text::message;
use room::{Entry, Room};
use std::io::Write;
use std::path::Path;

/// The class that a ledger or a record holds. With `up_to_break` one that is damaged is read up to its first entry that is not
/// whole, and the room says so.
pub fn room(path: &Path, up_to_break: bool) -> Result<Room, Failure> {
    let (entries, broken) = entries(path, up_to_break)?;
    replay(path, entries, broken.as_deref())
}

/// The entries that are whole, and why no more are.
pub fn entries(path: &Path, up_to_break: bool) -> Result<(Vec<Entry>, Option<String>), Failure> {
    let mut entries = Vec::new();
    let found = inspect(path, |record| {
        entries.push(Entry::read(record.seq, record.at, &record.kind, &record.json)?);
        Ok(())
    })?;
    let broken = found.breaks_off();
    if !up_to_break || found.entries == 0 {
        found.whole(path)?;
    }
    Ok((entries, broken))
}

/// The class of these entries.
pub fn replay(path: &Path, entries: Vec<Entry>, broken: Option<&str>) -> Result<Room, Failure> {
    let mut room = Room::replay(entries).map_err(|problem| HostError::Replay(path.into(), problem))?;
    broken.iter().for_each(|why| room.damage.breaks_off(why));
    Ok(room)
}

/// Says aloud of each file that is damaged that only a part of it is read.
pub fn warn<P: AsRef<Path>>(paths: &[P]) {
    for path in paths.iter().map(AsRef::as_ref) {
        let Ok(found) = inspect(path, |_| Ok(())) else { continue };
        let Some(why) = found.broken_words() else { continue };
        let path = path.display();
        let read = match found.breaks_off() {
            None => "All that was written is read here".into(),
            Some(_) => format!(
                "Only what is whole is read here; what follows is missing. `kettlecall check {path} --salvage NEW.ledger` saves all that can \
                 be saved"
            ),
        };
        let words = format!("{path} is damaged: {why}. {read}");
        let _ = writeln!(std::io::stderr(), "{}", message(&words));
    }
}

/// What to say of a ledger beside which a host saved more of the same class.
pub fn left_behind(path: &Path, rescued: &Rescued) -> String {
    let (shown, saved) = (path.display(), rescued.path.display());
    match rescued.lacks {
        None => format!("{shown} is not there, but {saved} is, to which a host saved what the class had"),
        Some((first, 1)) => {
            format!(
                "{shown} lacks entry {first} of {saved}, to which a host saved the class when it lost the ledger that lay here"
            )
        }
        Some((first, lacks)) => format!(
            "{shown} lacks {lacks} entries, from entry {first} on, of {saved}, to which a host saved the class when it lost the ledger that \
             lay here"
        ),
    }
}

/// Sees to it that nothing goes on as if nothing had happened where a host saved the class to another ledger.
///
/// # Errors
/// It did, and that one goes further.
pub fn refuse_left_behind(path: &Path) -> Result<(), Failure> {
    let Some(found) = rescued(path) else { return Ok(()) };
    let else_way =
        if found.lacks.is_none() { "begin the class anew" } else { "go on with this one all the same" };
    let words = format!(
        "{}; open that one to go on: kettlecall open {}. To {else_way}, move it away first",
        left_behind(path, &found),
        found.path.display()
    );
    Err(Failure { words, code: 4 })
}

/// Says aloud of each file what speaks against going by it: nothing vouches for its end, or a host saved more of its class to
/// another one. What can't be read says so itself.
pub fn doubts<P: AsRef<Path>>(paths: &[P]) {
    for path in paths.iter().map(AsRef::as_ref) {
        let is_unvouched = ending(path).is_ok_and(|ending| ending == Ending::Unmarked);
        let unvouched = is_unvouched.then(|| {
            format!(
                "{}: a host has it open, or went down without closing it, and its -mark is not beside it: whether the last entries are \
                 there can't be told",
                path.display()
            )
        });
        let rescued = rescued(path).map(|rescued| left_behind(path, &rescued));
        for words in unvouched.into_iter().chain(rescued) {
            let _ = writeln!(std::io::stderr(), "{}", message(&words));
        }
    }
}
