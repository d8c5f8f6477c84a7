//! Each round of a class as the best schedule there is for its hands and kettles, in seconds from the round's begin.

use super::exact::{self, Bound, Fault, NODE_BUDGET, Round, Solution, TeaJob, Wish};
use super::water::{NEVER_S, kettle_setup_s};
use crate::class::{Class, Tea};
use protocol::Code;
use serde::Serialize;

/// One tea in a round.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CupPlan {
    /// The tea's code.
    pub code: Code,
    /// Start of the pour.
    pub pour_at_s: u32,
    /// Length of the pour.
    pub pour_s: u32,
    /// From lid on to the start of the decant.
    pub steep_s: u32,
    /// Start of the decant.
    pub decant_at_s: u32,
    /// Length of the decant.
    pub decant_s: u32,
    /// The cup is ready: the end of the decant.
    pub ready_at_s: u32,
    /// Whose hands pour, from 1.
    pub pour_hands: u8,
    /// Whose hands decant, from 1.
    pub decant_hands: u8,
    /// Which kettle the water comes from, by its place in the class file from 1; none without kettles.
    pub kettle: Option<usize>,
    /// The water's temperature, °C.
    pub temp_c: f64,
}

/// A value of a plan and how far it is from the best possible.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Proved {
    /// The value, seconds.
    pub value_s: u32,
    /// Whether no schedule has less.
    pub proven: bool,
    /// No schedule has less than this, seconds; equals the value if proven.
    pub bound_s: u32,
}

/// One round's schedule.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RoundPlan {
    /// Which round, from 1.
    pub round: u32,
    /// Its cups, in the order of the class file.
    pub cups: Vec<CupPlan>,
    /// Between the first cup that is ready and the last.
    pub spread: Proved,
    /// When the last cup is ready.
    pub last_cup: Proved,
    /// Whether the pour starts are the lexicographically smallest of all best schedules.
    pub starts_proven: bool,
    /// The shortest pause one pair of hands has between two tasks of different teas; none if there is no such pause.
    pub smallest_gap_s: Option<u32>,
}

/// How long the search for one round may go on. Rounds of up to eight teas are proven well within the first figure (the
/// hardest of 1,500 random ones took 520,000 branches); larger ones get about half a second on an ordinary machine.
fn node_budget(teas: usize) -> u64 {
    if teas <= 8 { NODE_BUDGET } else { NODE_BUDGET / 8 }
}

/// Where a kettle stands when a round begins.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Stand {
    /// Its last set point; none if it is preset for whatever comes first.
    temp_c: Option<f64>,
    /// How long before the round's begin it was last poured from, seconds.
    idle_s: u32,
}

/// A round that can't be planned, in words.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("round {round}: {fault}")]
pub struct Unplannable {
    /// Which round.
    pub round: u32,
    /// Why.
    pub fault: Fault,
}

/// The teas of a class that have a steep in this round.
pub fn teas_of(class: &Class, round: u32) -> Vec<(Code, &Tea)> {
    class.coded().filter(|(_, tea)| tea.steeps() >= round).collect()
}

/// The schedules of all rounds. In the first round a kettle stands where the class file says, or is preset; in a later
/// one it can be set during the tasting and the pause before.
///
/// # Errors
/// The first round that no order of these hands and kettles can serve.
pub fn plan_rounds(class: &Class) -> Result<Vec<RoundPlan>, Unplannable> {
    let mut stands: Vec<Stand> =
        class.setting.kettles.iter().map(|k| Stand { temp_c: k.starts_c, idle_s: 0 }).collect();
    let mut rounds = Vec::new();
    for round in 1..=class.rounds() {
        let plan = plan_round(class, round, &teas_of(class, round), &stands)?;
        let wait_s = class.taste_s + class.pause_after(round);
        for (k, stand) in stands.iter_mut().enumerate() {
            let last = plan.cups.iter().filter(|c| c.kettle == Some(k + 1)).max_by_key(|c| c.pour_at_s);
            *stand = match last {
                Some(cup) => Stand {
                    temp_c: Some(cup.temp_c),
                    idle_s: plan.last_cup.value_s - cup.pour_at_s - cup.pour_s + wait_s,
                },
                None => Stand { idle_s: stand.idle_s + plan.last_cup.value_s + wait_s, ..*stand },
            };
        }
        rounds.push(plan);
    }
    Ok(rounds)
}

/// The schedule of some teas of a round with kettles that are all preset, as after a hold.
///
/// # Errors
/// No order of these hands and kettles can serve them.
pub fn plan_preset(class: &Class, round: u32, teas: &[(Code, &Tea)]) -> Result<RoundPlan, Unplannable> {
    let stands = vec![Stand { temp_c: None, idle_s: 0 }; class.setting.kettles.len()];
    plan_round(class, round, teas, &stands)
}

fn plan_round(
    class: &Class,
    round: u32,
    teas: &[(Code, &Tea)],
    stands: &[Stand],
) -> Result<RoundPlan, Unplannable> {
    let index = round as usize - 1;
    let temp_c = |tea: &Tea| tea.temp_c.get(index).copied().unwrap_or(100.0);
    let setting = &class.setting;
    let jobs: Vec<TeaJob> = teas
        .iter()
        .map(|&(_, tea)| TeaJob {
            pour_s: class.pour_s(tea),
            steep_s: tea.steep_s[index],
            decant_s: class.decant_s(tea),
            temp_c: temp_c(tea),
        })
        .collect();
    let kettles = setting.kettles.iter().zip(stands).map(|(kettle, stand)| {
        let setup_s =
            |from_c, to_c| kettle_setup_s(kettle, from_c, to_c, setting.room_c, setting.tolerance_c);
        // Between rounds nobody waits for a kettle to cool: it is emptied and filled afresh.
        let afresh_s = |to_c| if stand.idle_s > 0 { setup_s(setting.room_c, to_c) } else { NEVER_S };
        let in_time = |from_c, to_c| setup_s(from_c, to_c).min(afresh_s(to_c)) <= stand.idle_s;
        // A kettle that has had time enough to be set for any of the teas is as good as preset.
        let start_c = stand.temp_c.filter(|&from_c| !jobs.iter().all(|j| in_time(from_c, j.temp_c)));
        exact::Kettle {
            fill_kg: kettle.fill_ml / 1000.0,
            watts: kettle.watts,
            eta: kettle.efficiency,
            tau_s: kettle.cooling_s,
            start_c,
        }
    });
    let problem = Round {
        kettles: kettles.collect(),
        teas: jobs,
        hands: class.pourers.hands(),
        room_c: setting.room_c,
        tol_c: setting.tolerance_c,
        order_fixed: setting.in_order,
        gap_s: setting.gap_s,
    };
    let wish = setting.ready_within_s.map_or(Wish::StrictSpread, |s| Wish::ReadyWithin { s });
    let solved = exact::solve(&problem, wish, node_budget(problem.teas.len()))
        .map_err(|fault| Unplannable { round, fault })?;
    Ok(written_down(round, teas, &problem, &solved))
}

fn written_down(round: u32, teas: &[(Code, &Tea)], problem: &Round, solved: &Solution) -> RoundPlan {
    let cups: Vec<CupPlan> = teas
        .iter()
        .enumerate()
        .map(|(i, &(code, _))| {
            let TeaJob { pour_s, steep_s, decant_s, temp_c } = problem.teas[i];
            let pour_at_s = solved.starts_s[i];
            let decant_at_s = pour_at_s + pour_s + steep_s;
            CupPlan {
                code,
                pour_at_s,
                pour_s,
                steep_s,
                decant_at_s,
                decant_s,
                ready_at_s: decant_at_s + decant_s,
                pour_hands: solved.pour_hands[i] + 1,
                decant_hands: solved.decant_hands[i] + 1,
                kettle: solved.kettle.get(i).map(|&k| usize::from(k) + 1),
                temp_c,
            }
        })
        .collect();
    let proved = |b: Bound| Proved { value_s: b.value_s, proven: b.proven(), bound_s: b.bound_s };
    RoundPlan {
        round,
        smallest_gap_s: smallest_gap_s(&cups),
        cups,
        spread: proved(solved.proof.spread),
        last_cup: proved(solved.proof.makespan),
        starts_proven: solved.proof.starts,
    }
}

/// The shortest pause of any hands between the tasks of two teas.
fn smallest_gap_s(cups: &[CupPlan]) -> Option<u32> {
    let mut tasks: Vec<(u8, u32, u32, Code)> = cups
        .iter()
        .flat_map(|c| {
            [
                (c.pour_hands, c.pour_at_s, c.pour_at_s + c.pour_s, c.code),
                (c.decant_hands, c.decant_at_s, c.ready_at_s, c.code),
            ]
        })
        .collect();
    tasks.sort();
    let pairs = tasks.windows(2).filter(|w| w[0].0 == w[1].0 && w[0].3 != w[1].3);
    pairs.map(|w| w[1].1.saturating_sub(w[0].2)).min()
}
