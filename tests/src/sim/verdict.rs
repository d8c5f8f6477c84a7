//! What a trace is judged by: the promises, each checked from what was seen from outside.

mod courses;
mod cues;
mod ledger;
mod scores;
mod screens;
#[cfg(test)]
mod tests;

use super::Held;
use super::trace::{Record, What};
use super::world::HOST;
use protocol::HostTime;
use std::collections::BTreeMap;
use std::fmt;

/// A promise that was not kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Broken {
    /// Which one.
    pub promise: Promise,
    /// Who saw it, when, and what.
    pub words: String,
}

/// The promises, as far as a simulation can break them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Promise {
    /// What is wet ends on time.
    WetEndsOnTime,
    /// A cue comes at its instant, and host time is shown as rightly as the seat says.
    CuesOnTheInstant,
    /// A seat with the timetable needs no network to be cued.
    CuedWithoutNetwork,
    /// An acknowledged score is on disk, and counted once.
    ScoresKeptOnce,
    /// A cup can be scored from the end of its decant.
    NoFalseScore,
    /// A class closes with a last call, and what is sent at its end is taken.
    ClosingLosesNothing,
    /// State is a fold of the ledger.
    StateIsAFold,
    /// Text from a person is inert.
    TextIsInert,
    /// A number carries its evidence.
    NumbersCarryEvidence,
    /// Nothing is silently dropped.
    NothingDropped,
    /// Nobody's screen goes back.
    ScreensGoOn,
}

impl fmt::Display for Promise {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Promise::WetEndsOnTime => "what is wet ends on time",
            Promise::CuesOnTheInstant => "cues come on the instant, within the bound that the seat states",
            Promise::CuedWithoutNetwork => "a seat with the timetable needs no network to be cued",
            Promise::ScoresKeptOnce => "an acknowledged score is on disk and counted once",
            Promise::NoFalseScore => "a cup can be scored from the end of its decant",
            Promise::ClosingLosesNothing => "closing loses nothing",
            Promise::StateIsAFold => "state is a fold of the ledger",
            Promise::TextIsInert => "text from a person is inert",
            Promise::NumbersCarryEvidence => "a number carries its evidence",
            Promise::NothingDropped => "nothing is silently dropped",
            Promise::ScreensGoOn => "nobody's screen goes back",
        })
    }
}

impl fmt::Display for Broken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "broken: {}\n  {}", self.promise, self.words)
    }
}

/// The promises that a class broke, in the order in which they are listed above; none if all is well.
pub fn judge(held: &Held) -> Vec<Broken> {
    let (runs, clocks) = (runs(&held.trace), Clocks::of(&held.trace));
    let mut verdict = Verdict::default();
    clocks.judge(&mut verdict);
    for run in &runs {
        cues::judge(held, run, &clocks, &mut verdict);
        screens::judge(run, &mut verdict);
    }
    cues::judge_wet(held, &runs, &mut verdict);
    scores::judge(held, &runs, &mut verdict);
    ledger::judge(held, &mut verdict);
    verdict.0.sort_by_key(|broken| broken.promise);
    verdict.0
}

/// What was found so far.
#[derive(Default)]
struct Verdict(Vec<Broken>);

impl Verdict {
    fn broken(&mut self, promise: Promise, words: impl Into<String>) {
        self.0.push(Broken { promise, words: words.into() });
    }

    fn unless(&mut self, holds: bool, promise: Promise, words: impl FnOnce() -> String) {
        if !holds {
            self.broken(promise, words());
        }
    }
}

/// One run of a seat's program.
struct Run<'a> {
    name: &'a str,
    number: u32,
    records: Vec<&'a Record>,
    /// True time at which it ended or was killed; the end of everything if neither.
    ends_us: i64,
}

/// The runs of all seats, in the order in which they began.
fn runs(trace: &[Record]) -> Vec<Run<'_>> {
    let mut runs: Vec<Run<'_>> = Vec::new();
    let last_us = trace.last().map_or(0, |record| record.at_us);
    for record in trace.iter().filter(|record| record.who != HOST && record.who != "network") {
        let of = runs.iter_mut().rfind(|run| run.name == record.who);
        match (&record.what, of) {
            (What::Began, _) => {
                let (name, number) = (record.who.as_str(), record.run);
                runs.push(Run { name, number, records: vec![record], ends_us: last_us });
            }
            (What::Killed | What::Ended(_), Some(run)) => {
                run.ends_us = record.at_us;
                run.records.push(record);
            }
            (_, Some(run)) => run.records.push(record),
            (_, None) => {}
        }
    }
    runs
}

/// Host time in truth: each of the host's clocks by its number.
struct Clocks {
    /// Every opening's true instant and host time.
    openings: BTreeMap<u64, Vec<(i64, HostTime)>>,
}

impl Clocks {
    fn of(trace: &[Record]) -> Self {
        let mut openings = BTreeMap::<u64, Vec<_>>::new();
        for record in trace {
            if let What::Opened { at, clock, .. } = &record.what {
                openings.entry(*clock).or_default().push((record.at_us, *at));
            }
        }
        Self { openings }
    }

    /// What the host's clock of this number shows at a true instant, at pace 1; also while nobody is there to read it.
    fn host_time(&self, clock: u64, at_us: i64) -> Option<HostTime> {
        let (opened_us, host) = *self.openings.get(&clock)?.first()?;
        Some(host + (at_us - opened_us))
    }

    /// Whether all of them show the same host time, to a millisecond: none was moved by a wall clock.
    fn agree(&self) -> bool {
        let zeros: Vec<_> = self.openings.keys().filter_map(|&clock| self.host_time(clock, 0)).collect();
        zeros.windows(2).all(|two| (two[1] - two[0]).abs() <= 1_000)
    }

    /// A clock that keeps its number runs on without a break.
    fn judge(&self, verdict: &mut Verdict) {
        for (&clock, openings) in &self.openings {
            for &(at_us, host) in openings {
                let truth = self.host_time(clock, at_us).unwrap_or_default();
                verdict.unless((host - truth).abs() <= 1, Promise::WetEndsOnTime, || {
                    format!("{at_us} µs: the host's clock {clock} shows {} µs instead of {}", host.0, truth.0)
                });
            }
        }
    }
}
