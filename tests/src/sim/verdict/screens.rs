//! Screens go on, and a seat that comes back hears only what it missed.

use super::super::trace::{Shown, What};
use super::{Promise, Run, Verdict};
use protocol::wire::{Hello, HostMessage, SeatMessage, from_json};
use seat::app::{End, Happening};

/// A jump back by more than this may be, if it is said, in microseconds.
const JUMP_US: i64 = 2_000_000;
/// A seat's clock may gain so much on true time between two looks, in microseconds.
const ROUNDING_US: i64 = 1_000;

/// Checks one run of a seat's program.
pub fn judge(run: &Run<'_>, verdict: &mut Verdict) {
    let (mut before, mut looked_us) = (Shown::default(), 0);
    let (mut set, mut seated, mut since) = (false, false, None);
    for record in &run.records {
        let at_us = record.at_us;
        match &record.what {
            What::Said(Happening::ClockSet(_)) => set = true,
            What::Said(Happening::Seated { .. }) => seated = true,
            What::Sent(text) => {
                // Before the seat knows the class it has nothing of it.
                if let Ok(SeatMessage::Hello(Hello { join: Some(join), .. })) = from_json(text) {
                    since = join.since;
                    verdict.unless(since.is_some() == seated, Promise::ScreensGoOn, || {
                        format!(
                            "{at_us} µs, {}: seated {seated}, and its hello says since {since:?}",
                            run.name
                        )
                    });
                }
            }
            What::Received(text) => {
                let whole = matches!(from_json(text), Ok(HostMessage::Welcome(_)));
                verdict.unless(!whole || since.is_none(), Promise::ScreensGoOn, || {
                    format!("{at_us} µs, {}: a whole welcome, although it has all up to {since:?}", run.name)
                });
            }
            What::Shown(shown) | What::Cue { shown, .. } => {
                verdict.unless(shown.seq >= before.seq, Promise::ScreensGoOn, || {
                    format!("{at_us} µs, {}: event {} after {}", run.name, shown.seq, before.seq)
                });
                let back_us = before.host.zip(shown.host).map_or(0, |(before, now)| before - now);
                // It had gone on since the last look.
                let jump_us = back_us + at_us - looked_us;
                verdict.unless(
                    back_us <= 0 || set && jump_us > JUMP_US - ROUNDING_US,
                    Promise::ScreensGoOn,
                    || {
                        let said = if set { "said so" } else { "without a word" };
                        format!("{at_us} µs, {}: host time went back by {back_us} µs, {said}", run.name)
                    },
                );
                if matches!(record.what, What::Shown(_)) {
                    (before, looked_us, set) = (*shown, at_us, false);
                }
            }
            What::Ended(end) => verdict.unless(*end == End::Closed, Promise::NothingDropped, || {
                format!("{at_us} µs, {}: its program ended with {end:?}", run.name)
            }),
            _ => {}
        }
    }
}
