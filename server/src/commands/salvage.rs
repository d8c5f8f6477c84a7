//! `kettlecall check --salvage`.

use crate::exit::Failure;
use crate::output::print;
use ledger::salvage::{Meaning, Salvaged, salvage};
use protocol::text::message;
use room::Event;
use std::io::Write;
use std::path::Path;

/// What entries mean: they are events.
pub struct Events;

impl Meaning for Events {
    fn kind(&self, json: &str) -> Option<String> {
        Some(Event::parse(json).ok()?.kind().name().into())
    }

    fn lost(&self) -> (String, String) {
        stored(&Event::Lost { why: "it was damaged, and could not be saved".into(), at_end: false })
    }

    fn end_unknown(&self) -> (String, String) {
        stored(&Event::Lost { why: "nothing told how far the damaged file went".into(), at_end: true })
    }
}

/// Kind and JSON of an event without any text that could not be written.
pub fn stored(event: &Event) -> (String, String) {
    (event.kind().name().into(), event.to_json().unwrap_or_default())
}

/// Writes whatever can be saved of a ledger or a record into a new ledger, and says what is lost.
pub fn run(from: &Path, to: &Path) -> Result<(), Failure> {
    let Some(done) = salvage(from, to, &Events)? else {
        let words = format!(
            "{}: its first entry, which says what class it is and without which no other can be understood, is nowhere to be \
             found; nothing was written. Is there a copy or a record of it?",
            from.display()
        );
        return Err(Failure { words, code: 4 });
    };
    let _ = writeln!(std::io::stderr(), "{}", message(&format!("written: {}", to.display())));
    Ok(print(&page(from, &done))?)
}

fn page(from: &Path, done: &Salvaged) -> String {
    let touched = done.entries - done.proven();
    let shown = from.display();
    let is_in_doubt = !done.loose.is_empty() || done.mark_of_another.is_some();
    let mut lines = vec![match touched {
        0 if is_in_doubt => {
            format!(
                "Saved were the {} entries of the ledger that lies at {shown}, not what lies beside it.",
                done.entries
            )
        }
        0 if !done.end_known => {
            format!("What is there of {} was saved: {} entries.", from.display(), done.entries)
        }
        0 => format!("All {} entries of {} were saved.", done.entries, from.display()),
        _ => format!(
            "{} of {} entries of {} are proven to be whole.",
            done.proven(),
            done.entries,
            from.display()
        ),
    }];
    let mut say = |numbers: &[u64], one: &str, many: &str| {
        if let Some(named) = named(numbers) {
            lines.push(format!("{named} {}.", if numbers.len() == 1 { one } else { many }));
        }
    };
    say(
        &done.mended,
        "was changed in one place and put right, which is proven",
        "were changed in one place each and put right, which is proven",
    );
    say(
        &done.lost,
        "is lost: an entry that says so stands in its place",
        "are lost: entries that say so stand in their places",
    );
    let as_read = [
        "was changed after it was written: taken as it reads",
        "were changed after they were written: taken as they read",
    ];
    say(&done.changed, as_read[0], as_read[1]);
    let unproven = [
        "reads well, but nothing proves it: taken as it reads",
        "read well, but nothing proves them: taken as they read",
    ];
    say(&done.unproven, unproven[0], unproven[1]);
    let others = [
        "of another ledger was found too, and left out: a file was copied over this one, or written into it",
        "of another ledger were found too, and left out: a file was copied over this one, or written into it",
    ];
    say(&done.others, others[0], others[1]);
    let loose = [
        "lies in its -wal, and could not be joined to these",
        "lie in its -wal, and could not be joined to these",
    ];
    say(&done.loose, loose[0], loose[1]);
    if done.line_ends {
        lines.push(
            "Its line ends were changed, as mail programs and editors do: what they had put there was left out."
                .into(),
        );
    }
    if let Some(seq) = done.mark_of_another {
        lines.push(format!("Its -mark tells of another ledger than this one, up to entry {seq}."));
    }
    if let Some(seq) = done.closed_at {
        lines.push(format!(
            "The ledger itself says that it was closed with entry {seq}; its -mark tells of more, of this ledger or of another."
        ));
    }
    if let Some(entries) = done.other_in_wal {
        lines.push(format!(
            "The other one lies in its -wal, with {entries} entries. To save that one: move {shown} away, leave what lies beside it, and save \
             once more to another file."
        ));
    }
    if is_in_doubt {
        lines.push(format!(
            "Is there an earlier copy of the class that these are of? Put it in the place of {shown}, leave what lies beside it, and \
             save once more."
        ));
    }
    if !done.end_known {
        lines.push(format!(
            "Nothing tells how far it had come: whether more was written after entry {} can't be told. Entry {} of the new ledger says so.",
            done.entries,
            done.entries + 1
        ));
    }
    lines.push("The new ledger is chained anew from entry 1. Keep the damaged file.".into());
    lines.join("\n") + "\n"
}

/// "Entry 3", "Entries 3, 5 to 9 and 12"; nothing for none.
fn named(numbers: &[u64]) -> Option<String> {
    let mut runs: Vec<(u64, u64)> = Vec::new();
    for &number in numbers {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == number => *last = number,
            _ => runs.push((number, number)),
        }
    }
    let said = |&(first, last): &(u64, u64)| {
        if first == last { first.to_string() } else { format!("{first} to {last}") }
    };
    let all = protocol::say::list(&runs.iter().map(said).collect::<Vec<_>>());
    match numbers.len() {
        0 => None,
        1 => Some(format!("Entry {all}")),
        _ => Some(format!("Entries {all}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_lost_is_said_by_number() {
        let done = Salvaged {
            entries: 20,
            mended: vec![9],
            lost: vec![3, 5, 6, 7],
            changed: vec![1],
            unproven: vec![4],
            others: vec![1, 2],
            end_known: true,
            ..Salvaged::default()
        };
        let said = page(Path::new("a.ledger"), &done);
        assert_eq!(
            said.lines().collect::<Vec<_>>(),
            [
                "14 of 20 entries of a.ledger are proven to be whole.",
                "Entry 9 was changed in one place and put right, which is proven.",
                "Entries 3 and 5 to 7 are lost: entries that say so stand in their places.",
                "Entry 1 was changed after it was written: taken as it reads.",
                "Entry 4 reads well, but nothing proves it: taken as it reads.",
                "Entries 1 to 2 of another ledger were found too, and left out: a file was copied over this one, or written into it.",
                "The new ledger is chained anew from entry 1. Keep the damaged file.",
            ]
        );
        let cut = Salvaged { entries: 20, ..Salvaged::default() };
        let said = page(Path::new("a.ledger"), &cut);
        assert!(said.starts_with("What is there of a.ledger was saved: 20 entries."), "{said}");
        assert!(said.contains("whether more was written after entry 20 can't be told"), "{said}");
        let beside = Salvaged {
            entries: 20,
            loose: vec![31, 32],
            mark_of_another: Some(32),
            end_known: true,
            ..Salvaged::default()
        };
        assert_eq!(
            page(Path::new("a.ledger"), &beside).lines().collect::<Vec<_>>(),
            [
                "Saved were the 20 entries of the ledger that lies at a.ledger, not what lies beside it.",
                "Entries 31 to 32 lie in its -wal, and could not be joined to these.",
                "Its -mark tells of another ledger than this one, up to entry 32.",
                "Is there an earlier copy of the class that these are of? Put it in the place of a.ledger, leave what lies beside it, and save once more.",
                "The new ledger is chained anew from entry 1. Keep the damaged file.",
            ]
        );
        let two = Salvaged { entries: 20, other_in_wal: Some(9), ..Salvaged::default() };
        let said = page(Path::new("a.ledger"), &two);
        assert!(
            said.contains(
                "The other one lies in its -wal, with 9 entries. To save that one: move a.ledger away"
            ),
            "{said}"
        );
        assert_eq!(named(&[]), None);
    }
}
