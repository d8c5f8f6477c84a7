//! The exact stagger against published optima, an independent checker and brute force.

mod begun;
mod checker;
mod instance;
mod laws;

use instance::Instance;
use plan::exact::{NODE_BUDGET, Wish, solve};
use serde::Deserialize;

#[derive(Deserialize)]
struct Optimum {
    id: String,
    spread: u32,
    makespan: u32,
    starts: Vec<u32>,
}

#[test]
fn every_open_case_is_proven_and_equal_to_the_optimum_of_a_general_solver() {
    let instances = include_str!("instances.jsonl").lines();
    let optima = include_str!("optimum.jsonl").lines();
    let mut cases = 0;
    for (instance, optimum) in instances.zip(optima) {
        let instance: Instance = serde_json::from_str(instance).unwrap();
        let optimum: Optimum = serde_json::from_str(optimum).unwrap();
        assert_eq!(instance.id, optimum.id);
        let round = instance.round();
        let found = solve(&round, Wish::StrictSpread, NODE_BUDGET).unwrap();
        assert_eq!(checker::fault(&round, &found), None, "{}", instance.id);
        assert!(found.proof.starts, "{} is not proven", instance.id);
        assert_eq!(
            (found.spread_s, found.makespan_s, found.starts_s),
            (optimum.spread, optimum.makespan, optimum.starts),
            "{}",
            instance.id
        );
        cases += 1;
    }
    assert_eq!(cases, 40);
}

#[test]
fn a_wish_for_cups_within_some_seconds_is_kept_at_the_least_makespan_and_never_later_than_the_strict_plan() {
    for line in include_str!("instances.jsonl").lines() {
        let instance: Instance = serde_json::from_str(line).unwrap();
        let round = instance.round();
        let strict = solve(&round, Wish::StrictSpread, NODE_BUDGET).unwrap();
        let exactly = solve(&round, Wish::ReadyWithin { s: strict.spread_s }, NODE_BUDGET).unwrap();
        assert_eq!(
            exactly.starts_s, strict.starts_s,
            "{}: a limit of the best spread leaves nothing to relax",
            instance.id
        );
        let mut before = strict.makespan_s;
        for more_s in [10, 60, 3600] {
            let s = strict.spread_s + more_s;
            let found = solve(&round, Wish::ReadyWithin { s }, NODE_BUDGET).unwrap();
            assert_eq!(checker::fault(&round, &found), None, "{}", instance.id);
            assert!(found.proof.starts && found.spread_s <= s, "{}", instance.id);
            assert!(found.makespan_s <= before, "{}: more room made it longer", instance.id);
            before = found.makespan_s;
        }
    }
}
