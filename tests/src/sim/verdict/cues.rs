//! Cues: on their instants, once, none left out, and what is wet ends on time.

use super::super::Held;
use super::super::trace::{Shown, What};
use super::super::world::STEP_MS;
use super::courses::Courses;
use super::{Clocks, Promise, Run, Verdict};
use protocol::wire::{HostMessage, from_json};
use protocol::{Action, Code, Cue, HostTime, Phase, Timetable};
use room::Event;
use seat::app::{CueKey, Happening};
use std::collections::{BTreeMap, BTreeSet};

/// The runtime's timers count whole milliseconds, and both clocks round, in microseconds.
const TICK_US: i64 = 2_000;
/// Instants are read to a microsecond on either side.
const ROUNDING_US: i64 = 3;

/// What one run knew when.
struct Knowledge {
    /// When each cue at each instant was first known.
    learned_us: BTreeMap<(CueKey, HostTime), i64>,
    /// Every timetable, from when to when it was the last one told.
    told: Vec<(i64, i64, Phase, Timetable)>,
}

/// Checks one run of a seat's program.
pub fn judge(held: &Held, run: &Run<'_>, clocks: &Clocks, verdict: &mut Verdict) {
    let knowledge = Knowledge::of(run);
    // The number of the clock that the seat goes by, and of the one it was last told of.
    let (mut clock, mut told) = (None, None);
    let (mut joined_us, mut excused_us, mut widest_us) = (None, i64::MIN, 0);
    let mut before = Shown::default();
    let mut fired = BTreeMap::<CueKey, i64>::new();
    let (mut rings, mut bells) = (0, 0);
    for record in &run.records {
        let (at_us, name, number) = (record.at_us, run.name, run.number);
        match &record.what {
            What::Received(text) => match from_json::<HostMessage>(text) {
                Ok(HostMessage::Welcome(welcome)) => told = welcome.clock,
                Ok(HostMessage::Back(back)) => told = back.clock,
                _ => {}
            },
            What::Slept { length_us, .. } => excused_us = excused_us.max(at_us + length_us),
            What::Said(Happening::ClockSet(_)) => (clock, excused_us) = (told, excused_us.max(at_us)),
            What::Rang => rings += 1,
            What::Cue { cue, shown, bell, .. } => {
                bells += usize::from(*bell);
                verdict.unless(fired.insert(cue.key(), at_us).is_none(), Promise::CuesOnTheInstant, || {
                    format!("{at_us} µs, {name}/{number}: {cue} of round {} came twice", cue.round())
                });
                let Some(number) = clock else { continue };
                honest(run, at_us, shown, clocks, number, verdict);
                let bound_us = shown.bound_us.max(before.bound_us).unwrap_or(0);
                let off_us = clocks.host_time(number, at_us).unwrap_or_default() - cue.at;
                verdict.unless(off_us >= -bound_us - ROUNDING_US, Promise::CuesOnTheInstant, || {
                    format!("{at_us} µs, {name}: {cue} came {} µs early; it states ± {bound_us} µs", -off_us)
                });
                let Some(learned_us) = knowledge.learned(cue) else {
                    let words = format!("{at_us} µs, {name}: no timetable has {cue} at {} µs", cue.at.0);
                    verdict.broken(Promise::CuesOnTheInstant, words);
                    continue;
                };
                let could_us = (at_us - off_us).max(learned_us).max(excused_us).max(joined_us.unwrap_or(0));
                verdict.unless(at_us <= could_us + bound_us + TICK_US, Promise::CuesOnTheInstant, || {
                    let late_us = at_us - could_us;
                    format!("{at_us} µs, {name}: {cue} came {late_us} µs late; it states ± {bound_us} µs")
                });
            }
            What::Shown(shown) => {
                if let (None, Some(_)) = (joined_us, shown.host) {
                    (joined_us, clock) = (Some(at_us), told);
                }
                if let Some(number) = clock {
                    honest(run, at_us, shown, clocks, number, verdict);
                }
                (before, widest_us) = (*shown, widest_us.max(shown.bound_us.unwrap_or(0)));
            }
            _ => {}
        }
    }
    verdict.unless(rings == bells, Promise::CuesOnTheInstant, || {
        format!("{}/{}: {bells} cues with a bell, and it rang {rings} times", run.name, run.number)
    });
    let (Some(number), Some(joined_us)) = (clock, joined_us) else { return };
    let sure_us = widest_us + TICK_US + STEP_MS as i64 * 1_000;
    // Where the host's clocks differ, when a cue is due depends on which one the seat knew; what is wet is judged below.
    let told = knowledge.told.iter().filter(|(.., phase, _)| *phase != Phase::Closed && clocks.agree());
    for (from_us, to_us, _, table) in told {
        for cue in &table.cues {
            let due_us = cue.at - clocks.host_time(number, 0).unwrap_or_default();
            let surely_us = joined_us.max(*from_us) + sure_us..*to_us - sure_us - slept_us(run, due_us);
            let came = fired.get(&cue.key()).is_some_and(|&at_us| at_us <= *to_us);
            verdict.unless(!surely_us.contains(&due_us) || came, Promise::CuedWithoutNetwork, || {
                format!(
                    "{}/{}: {cue} of round {} never came, due at {due_us} µs",
                    run.name,
                    run.number,
                    cue.round()
                )
            });
        }
    }
    ends_what_it_began(held, run, sure_us, verdict);
}

/// How long a machine sleeps on from a true instant at which it may be asleep, in microseconds.
fn slept_us(run: &Run<'_>, at_us: i64) -> i64 {
    let wakes = run.records.iter().filter_map(|record| match record.what {
        What::Slept { length_us, .. } if (record.at_us..record.at_us + length_us).contains(&at_us) => {
            Some(record.at_us + length_us - at_us)
        }
        _ => None,
    });
    wakes.max().unwrap_or(0)
}

/// By how much a run's clock was set back in all after a true instant, in microseconds: its cues come so much later then.
fn set_back_us(run: &Run<'_>, after_us: i64) -> i64 {
    let back = run.records.iter().filter(|record| record.at_us >= after_us).map(|record| match record.what {
        What::Said(Happening::ClockSet(moved)) => (-moved.by_us).max(0),
        _ => 0,
    });
    back.sum()
}

/// Whether host time on the screen is right within the bound that the seat states.
fn honest(run: &Run<'_>, at_us: i64, shown: &Shown, clocks: &Clocks, clock: u64, verdict: &mut Verdict) {
    let Some((host, bound_us)) = shown.host.zip(shown.bound_us) else { return };
    let off_us = host - clocks.host_time(clock, at_us).unwrap_or_default();
    verdict.unless(off_us.abs() <= bound_us + ROUNDING_US, Promise::CuesOnTheInstant, || {
        let name = run.name;
        format!("{at_us} µs, {name}: shows host time {off_us} µs off and states ± {bound_us} µs")
    });
}

/// Every steep that this run cued to pour is cued to decant by the same run, if it is there by then.
fn ends_what_it_began(held: &Held, run: &Run<'_>, sure_us: i64, verdict: &mut Verdict) {
    let courses = Courses::of(held);
    let cued = |action| {
        run.records.iter().filter_map(move |record| match &record.what {
            What::Cue { cue, .. } if cue.action == action => Some((record.at_us, cue)),
            _ => None,
        })
    };
    let decanted: BTreeSet<_> = cued(Action::Decant).map(|(_, cue)| (cue.code, cue.round())).collect();
    for (at_us, pour) in cued(Action::Pour) {
        let wet_us = courses.latest(pour) - pour.at;
        let by_us = at_us + wet_us + sure_us + set_back_us(run, at_us);
        let there = by_us + slept_us(run, at_us + wet_us) < run.ends_us;
        verdict.unless(
            !there || decanted.contains(&(pour.code, pour.round())),
            Promise::WetEndsOnTime,
            || format!("{}: poured at {at_us} µs ({pour}), and no decant came by {by_us} µs", run.name),
        );
    }
}

/// Whatever came in between: a decant is at the end of its steep, as long as the teacher had it last as far as the seat could
/// know since it was poured, at every seat through all runs of its program, and in
/// every timetable in the ledger. A program that was started again knows of its earlier pours only what the host knows:
/// one by a timetable that a hold had already replaced, unheard, is lost to it.
pub fn judge_wet(held: &Held, runs: &[Run<'_>], verdict: &mut Verdict) {
    let course = held.ledger.iter().rev().find_map(|entry| match &entry.event {
        Event::Started { timetable }
        | Event::Resumed { timetable }
        | Event::Steered { timetable: Some(timetable), .. } => Some(timetable),
        _ => None,
    });
    let host_knows = |pour: &Cue| {
        let known = course.and_then(|table| table.find(Action::Pour, pour.code, pour.round()));
        known.is_some_and(|known| known.at == pour.at)
    };
    let courses = Courses::of(held);
    let mut poured = BTreeMap::<(&str, Option<Code>, u32), (u32, &Cue)>::new();
    // The revisions that each seat has been told of, newest last, and how many it had been told when it poured.
    let mut told = BTreeMap::<&str, Vec<u32>>::new();
    let mut told_then = BTreeMap::<(&str, Option<Code>, u32), usize>::new();
    for run in runs {
        for record in &run.records {
            if let What::Received(text) = &record.what {
                told.entry(run.name).or_default().extend(revision_told(text));
            }
            let What::Cue { cue, .. } = &record.what else { continue };
            let told = told.entry(run.name).or_default();
            let cup = (run.name, cue.code, cue.round());
            if cue.action == Action::Pour {
                poured.insert(cup, (run.number, cue));
                told_then.insert(cup, told.len());
            }
            let (Action::Decant, Some(&(by, pour))) = (cue.action, poured.get(&cup)) else { continue };
            if by != run.number && !host_knows(pour) {
                continue;
            }
            let since = told_then.get(&cup).map_or(0, |then| then.saturating_sub(1));
            let dues: BTreeSet<HostTime> = told[since..].iter().map(|&r| courses.due(pour, r)).collect();
            verdict.unless(dues.contains(&cue.at), Promise::WetEndsOnTime, || {
                let due = dues.last().copied().unwrap_or_default();
                let (at_us, name, off_us) = (record.at_us, run.name, cue.at - due);
                format!(
                    "{at_us} µs, {name}: {cue} of round {} is {off_us} µs off the end of its steep",
                    cue.round()
                )
            });
        }
    }
    let mut known = Timetable::default();
    for entry in &held.ledger {
        let (Event::Started { timetable }
        | Event::Held { timetable, .. }
        | Event::Resumed { timetable }
        | Event::Steered { timetable: Some(timetable), .. }) = &entry.event
        else {
            continue;
        };
        for pour in known.cues.iter().filter(|cue| cue.action == Action::Pour && cue.at <= entry.at) {
            let decant = timetable.find(Action::Decant, pour.code, pour.round()).map(|cue| cue.at);
            let due = courses.due(pour, timetable.revision);
            verdict.unless(decant == Some(due), Promise::WetEndsOnTime, || {
                format!(
                    "event {}: {pour} is wet, and its decant is at {decant:?} instead of {due:?}",
                    entry.seq
                )
            });
        }
        known = timetable.clone();
    }
}

/// The revision of the timetable in a message of a host.
fn revision_told(text: &str) -> Option<u32> {
    match from_json::<HostMessage>(text) {
        Ok(HostMessage::Welcome(welcome)) => Some(welcome.timetable.revision),
        Ok(HostMessage::Back(back)) => back.timetable.map(|timetable| timetable.revision),
        Ok(HostMessage::Course { timetable, .. }) => Some(timetable.revision),
        _ => None,
    }
}

impl Knowledge {
    /// When a cue was first known. One that the teacher moved may be at another instant at a seat that poured at another, to which
    /// [`judge_wet`] holds it; it was known when that move was.
    fn learned(&self, cue: &Cue) -> Option<i64> {
        let moved = |known: &Cue| known.key() == cue.key() && known.moved_in == cue.moved_in;
        let of_move =
            || self.told.iter().find(|(.., table)| table.cues.iter().any(moved)).map(|(from, ..)| *from);
        let at_once = self.learned_us.get(&(cue.key(), cue.at)).copied();
        at_once.or_else(|| cue.moved_in.and_then(|_| of_move()))
    }

    fn of(run: &Run<'_>) -> Self {
        let (mut learned_us, mut told) = (BTreeMap::new(), Vec::<(i64, i64, Phase, Timetable)>::new());
        for record in &run.records {
            let What::Received(text) = &record.what else { continue };
            let (phase, timetable) = match from_json::<HostMessage>(text) {
                Ok(HostMessage::Welcome(welcome)) => (welcome.phase, Some(welcome.timetable)),
                Ok(HostMessage::Back(back)) => (back.phase, back.timetable),
                Ok(HostMessage::Course { phase, timetable, .. }) => (phase, Some(timetable)),
                _ => continue,
            };
            let last = told.last_mut();
            let timetable =
                timetable.or_else(|| last.as_ref().map(|told| told.3.clone())).unwrap_or_default();
            if let Some(last) = last {
                last.1 = record.at_us;
            }
            for cue in &timetable.cues {
                learned_us.entry((cue.key(), cue.at)).or_insert(record.at_us);
            }
            told.push((record.at_us, run.ends_us, phase, timetable));
        }
        Self { learned_us, told }
    }
}
