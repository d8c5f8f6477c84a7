//! `kettlecall check`.

use super::salvage::Events;
use super::whole;
use crate::exit::Failure;
use crate::output::print;
use ledger::salvage::hidden_end;
use ledger::{Ending, Found, inspect};
use protocol::say::many;
use room::{Console, Entry, Kind, Room};
use std::path::Path;

/// Says whether a ledger or a record is whole, and what is in it.
pub fn run(path: &Path) -> Result<(), Failure> {
    let mut scores = 0;
    let mut found = inspect(path, |record| {
        scores += usize::from(record.kind == Kind::Scored.name());
        Ok(())
    })?;
    if let (Ending::Unmarked, None) = (found.ending, &found.broken) {
        found.broken = hidden_end(path, &Events).map(|end| hidden(found.entries + 1, end));
    }
    let (room, by) = match found.entries {
        0 => (None, Vec::new()),
        _ => {
            let (entries, broken) = whole::entries(path, true)?;
            let by = at_other_consoles(&entries);
            (Some(whole::replay(path, entries, broken.as_deref())?), by)
        }
    };
    print(&page(path, &found, scores, room.as_ref(), by))?;
    found.whole(path)?;
    Ok(())
}

/// What is wrong where a ledger's own bytes have more than can be read.
fn hidden(first: u64, end: u64) -> String {
    let those =
        if first == end { format!("entry {end} is") } else { format!("entries {first} to {end} are") };
    format!("{those} in its bytes and can't be read, as where an earlier copy of its -wal was put beside it")
}

/// What the teacher did at other consoles than the host's own, a line for each console.
fn at_other_consoles(entries: &[Entry]) -> Vec<String> {
    let mut by: Vec<(&Console, Vec<String>)> = Vec::new();
    for entry in entries {
        let Some(console @ Console::Lead(_)) = &entry.by else { continue };
        let did = format!("{} {}", entry.seq, entry.event.kind().name().replace('_', " "));
        match by.iter_mut().find(|(known, _)| *known == console) {
            Some((_, all)) => all.push(did),
            None => by.push((console, vec![did])),
        }
    }
    by.into_iter().map(|(console, did)| format!("Done at {console}: {}.", did.join(", "))).collect()
}

fn page(path: &Path, found: &Found, scores: usize, room: Option<&Room>, by: Vec<String>) -> String {
    let shown = path.display();
    let mut lines = vec![match &found.broken {
        None => format!("{shown} is whole."),
        Some(_) => format!("{shown} is damaged: {}.", found.broken_words().unwrap_or_default()),
    }];
    if let Some(room) = room {
        let counted = if found.broken.is_some() { "Whole are" } else { "It holds" };
        let entries =
            if found.entries == 1 { "1 entry".into() } else { format!("{} entries", found.entries) };
        lines.push(format!("{counted} {entries}, {} of them.", many(scores, "score")));
        let names: Vec<&str> =
            room.seats.iter().filter(|seat| seat.same_as.is_none()).map(|seat| seat.name.as_str()).collect();
        lines.push(format!("Class: {}, {}.", room.class.title, room.class.date));
        lines.push(match names.len() {
            0 => "Seats: none.".into(),
            n => format!("Seats: {n} ({}).", names.join(", ")),
        });
        lines.extend(by);
        lines.extend(room.damage.lost());
        lines.push(chain(found));
    }
    lines.extend(ending(path, found));
    lines.extend(ledger::rescued(path).map(|rescued| whole::left_behind(path, &rescued) + "."));
    let beside = ledger::beside_it(path);
    if !beside.is_empty() {
        let names: Vec<String> = beside.iter().map(|path| path.display().to_string()).collect();
        let or = match found.broken {
            None => format!("; or make one file of it: kettlecall record {shown} -o NEW.record"),
            Some(_) => String::new(),
        };
        lines.push(format!("To copy it, copy all of: {shown}, {}{or}", names.join(", ")));
    }
    lines.join("\n") + "\n"
}

/// From where on it is chained, in a sentence.
fn chain(found: &Found) -> String {
    match found.chained_from {
        1 => "Every entry is chained to those before it: a change in any of them would show.".into(),
        from if from > found.entries => {
            "It is not chained, as it was written by an earlier program: a change in it may not show.".into()
        }
        from => format!(
            "It is not chained before entry {from}: a change in an earlier entry shows, but not in which."
        ),
    }
}

/// How it ends, in a sentence; nothing where it was said already.
fn ending(path: &Path, found: &Found) -> Option<String> {
    Some(match found.ending {
        Ending::Closed if found.broken.is_some() => return None,
        Ending::Closed if ledger::record::is_one(path) => {
            "It is a record, and says itself how many entries it has.".into()
        }
        Ending::Closed => "It was closed, and says itself how far it goes.".into(),
        Ending::Open => {
            let open = "A host has it open, or went down without closing it";
            let vouched = ledger::marked(path);
            vouched.map_or(format!("{open}."), |seq| format!("{open}; up to entry {seq} is vouched for."))
        }
        Ending::Unmarked => {
            "A host has it open, or went down without closing it. Its -mark is not beside it, so that nobody can tell whether the last \
             entries are there."
                .into()
        }
        Ending::Unknown => {
            "It was written by an earlier program, and does not say how far it goes: whether the last entries are there can't be told."
                .into()
        }
    })
}
