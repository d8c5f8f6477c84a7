//! Scores: on disk once acknowledged, counted once, and none without a trace.

use super::super::Held;
use super::super::trace::What;
use super::{Promise, Run, Verdict};
use protocol::wire::{HostMessage, from_json};
use protocol::{Action, Cue, SeatId, Timetable};
use room::Event;
use seat::app::Happening;
use std::collections::{BTreeMap, BTreeSet};

/// By so much a seat's clock may be ahead, in microseconds.
const AHEAD_US: i64 = 50_000;

/// Checks all scores of a class.
pub fn judge(held: &Held, runs: &[Run<'_>], verdict: &mut Verdict) {
    let (mut names, mut on_disk) = (BTreeMap::new(), BTreeMap::new());
    for entry in &held.ledger {
        match &entry.event {
            Event::Seated { seat, name, .. } => drop(names.insert(*seat, name.as_str())),
            Event::Scored { seat, score, .. } => {
                let name = names.get(seat).copied().unwrap_or("nobody");
                let again = on_disk.insert(score.id, (entry.seq, name, score)).is_some();
                verdict.unless(!again, Promise::ScoresKeptOnce, || {
                    format!("event {}: score {} of {name} is in the ledger twice", entry.seq, score.id)
                });
            }
            _ => {}
        }
    }
    let mut settled: BTreeSet<_> = held.outboxes.values().flatten().copied().collect();
    let records = || runs.iter().flat_map(|run| run.records.iter().map(move |record| (run.name, record)));
    for (name, record) in records() {
        let at_us = record.at_us;
        match &record.what {
            What::Said(Happening::Kept { score, .. }) => {
                settled.insert(score.id);
                let found = on_disk.get(&score.id).filter(|(_, of, kept)| *of == name && *kept == score);
                verdict.unless(found.is_some(), Promise::ScoresKeptOnce, || {
                    format!(
                        "{at_us} µs, {name}: {} steep {} is kept, and the ledger has no such score",
                        score.code, score.steep
                    )
                });
            }
            What::Said(Happening::NotTaken { id: Some(id), reason }) => {
                settled.insert(*id);
                verdict.unless(!reason.is_empty(), Promise::NothingDropped, || {
                    format!("{at_us} µs, {name}: score {id} was not taken, and nobody said why")
                });
            }
            What::Received(text) => {
                if let Ok(HostMessage::Accepted { seq, id, .. }) = from_json(text) {
                    let right = on_disk.get(&id).is_some_and(|(at, of, _)| (*at, *of) == (seq, name));
                    verdict.unless(right, Promise::ScoresKeptOnce, || {
                        format!(
                            "{at_us} µs, {name}: score {id} was accepted as event {seq}, and is not there"
                        )
                    });
                }
            }
            _ => {}
        }
    }
    for (name, record) in records() {
        let What::Said(Happening::Sent { score, .. }) = &record.what else { continue };
        verdict.unless(settled.contains(&score.id), Promise::NothingDropped, || {
            let (code, steep) = (score.code, score.steep);
            format!(
                "{} µs, {name}: {code} steep {steep} was sent; it is neither kept, nor declined, nor waiting",
                record.at_us
            )
        });
    }
    evidence(held, verdict);
}

/// Whether the summary counts for every cup whoever scored it, each once, and names all who owe it and have not: those who
/// came to score before its decant was over.
fn evidence(held: &Held, verdict: &mut Verdict) {
    let mut asked_since = BTreeMap::new();
    // Who came to score, whether they are still there or not, and since when sheets had been asked of who was sent away.
    let (mut came, mut away) = (BTreeSet::new(), BTreeMap::new());
    let mut scored = BTreeMap::<_, BTreeSet<_>>::new();
    let mut course = Timetable::default();
    for entry in &held.ledger {
        match &entry.event {
            Event::Seated { seat, role, .. } if role.scores() => {
                asked_since.entry(*seat).or_insert(entry.at);
                came.insert(*seat);
            }
            Event::Seated { seat, .. } => drop(asked_since.remove(seat)),
            Event::SentAway { seats, .. } => {
                let gone = seats.iter().filter_map(|seat| Some((*seat, asked_since.remove(seat)?)));
                away.extend(gone.collect::<Vec<_>>());
            }
            Event::LetBack { seats, undone } => {
                let back = seats.iter().filter_map(|seat| Some((*seat, away.remove(seat)?)));
                let since = |(seat, since)| (seat, if *undone { since } else { entry.at });
                asked_since.extend(back.map(since).collect::<Vec<_>>());
            }
            Event::Scored { seat, score, .. } => {
                scored.entry((score.code, score.steep)).or_default().insert(*seat);
            }
            Event::Started { timetable }
            | Event::Resumed { timetable }
            | Event::Held { timetable, .. }
            | Event::Steered { timetable: Some(timetable), .. } => {
                course = timetable.clone();
            }
            _ => {}
        }
    }
    let asked = |seat: &SeatId| came.contains(seat);
    for seat in scored.values().flatten().filter(|seat| !asked(seat)) {
        verdict.broken(
            Promise::NoFalseScore,
            format!("{seat:?} did not come to score, and a score of it was taken"),
        );
    }
    for tea in &held.summary.teas {
        for cup in &tea.steeps {
            let by = scored.get(&(tea.code, cup.steep)).cloned().unwrap_or_default();
            let decant = course.find(Action::Decant, Some(tea.code), cup.steep).map(Cue::end);
            let owe = asked_since.iter().filter(|(_, since)| decant.is_some_and(|at| at > **since));
            let due: BTreeSet<_> = owe.map(|(seat, _)| seat).chain(&by).collect();
            let (n, of) = (cup.figures.sheets.n, cup.figures.sheets.of);
            let missing = cup.missing.iter().filter(|missing| !missing.came_later).count();
            verdict.unless(
                (n, of, n + missing) == (by.len(), due.len(), of),
                Promise::NumbersCarryEvidence,
                || {
                    let (by, due) = (by.len(), due.len());
                    format!("{} steep {}: {by} of {due} seats scored it; the summary says {n} of {of}, and names {missing} missing", tea.code, cup.steep)
                },
            );
        }
    }
    early(held, verdict);
}

/// Whether no score was taken of a cup that was not there yet. A seat's clock may be a little ahead of the host's.
fn early(held: &Held, verdict: &mut Verdict) {
    let mut course = Timetable::default();
    for entry in &held.ledger {
        match &entry.event {
            Event::Started { timetable }
            | Event::Resumed { timetable }
            | Event::Held { timetable, .. }
            | Event::Steered { timetable: Some(timetable), .. } => {
                course = timetable.clone();
            }
            Event::Scored { seat: _, score, .. } => {
                let decant = course.find(Action::Decant, Some(score.code), score.steep).map(Cue::end);
                let there = decant.is_some_and(|at| at <= entry.at + AHEAD_US);
                verdict.unless(there, Promise::NoFalseScore, || {
                    let (code, steep) = (score.code, score.steep);
                    format!(
                        "event {}: {code} steep {steep} is scored, and it is in the cup at {decant:?}",
                        entry.seq
                    )
                });
            }
            _ => {}
        }
    }
}
