//! The ledger: read back it gives the live room, and nothing in it does anything to a terminal.

use super::super::Held;
use super::super::trace::What;
use super::{Promise, Verdict};
use protocol::text::clean;
use room::last_call::ARRIVE_S;
use room::{Event, Room};

/// Checks the ledger and what was seen of it on the way.
pub fn judge(held: &Held, verdict: &mut Verdict) {
    let mut replayed = 0;
    for record in &held.trace {
        match &record.what {
            What::Replayed { seq, differs } => {
                replayed += 1;
                verdict.unless(differs.is_none(), Promise::StateIsAFold, || {
                    let differs = differs.as_deref().unwrap_or_default();
                    format!("{} µs: the ledger up to event {seq} gives {differs}", record.at_us)
                });
            }
            What::Panicked => verdict.broken(
                Promise::NothingDropped,
                format!("{} µs: a connection's task at the host panicked", record.at_us),
            ),
            _ => {}
        }
    }
    verdict.unless(replayed > 0, Promise::StateIsAFold, || "the ledger was never read back".into());
    if let Err(fault) = Room::replay(held.ledger.iter().cloned()) {
        verdict.broken(Promise::StateIsAFold, format!("the ledger can't be replayed: {fault}"));
    }
    last_call(held, verdict);
    for entry in &held.ledger {
        let text = match &entry.event {
            Event::Seated { name, .. } => name,
            Event::Scored { score, .. } => &score.note,
            _ => continue,
        };
        verdict.unless(clean(text, usize::MAX) == *text, Promise::TextIsInert, || {
            format!("event {}: {text:?} is not inert", entry.seq)
        });
    }
}

/// A class is closed some seconds after its last call has ended, and not before.
fn last_call(held: &Held, verdict: &mut Verdict) {
    let mut ends = None;
    for entry in &held.ledger {
        match entry.event {
            Event::LastCall { until } => ends = Some(until),
            Event::Closed => {
                let arrived = ends.is_some_and(|until| entry.at >= until.plus_s(ARRIVE_S));
                verdict.unless(arrived, Promise::ClosingLosesNothing, || {
                    format!(
                        "event {}: closed at {:?}, and the last call ended at {ends:?}",
                        entry.seq, entry.at
                    )
                });
            }
            _ => {}
        }
    }
}
