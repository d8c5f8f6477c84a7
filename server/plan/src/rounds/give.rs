//! A little spread for an earlier last cup: where kettles bind, the very least spread can cost minutes.

use super::Proved;
use crate::exact::{Begun, Fault, Round, Solution, Wish, solve_begun};
use crate::warnings::words_s;
use class::setting::Setting;
use serde::Serialize;

/// How much earlier the last cup has to be for the spread to be more than the least, seconds.
const WORTH_GIVING_S: u32 = 60;

/// Spread that was given so that the last cup gets ready earlier.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Given {
    /// The least spread there is.
    pub least_spread: Proved,
    /// The last cup that comes with it.
    pub last_cup: Proved,
    /// How much more the spread is than that, seconds.
    pub gave_s: u32,
    /// How much earlier the last cup is, seconds.
    pub saved_s: u32,
}

impl Given {
    /// The bargain in words.
    pub fn words(&self) -> String {
        format!(
            "{} s more spread than the least saves {}; ready_give_s = 0 asks for the least",
            self.gave_s,
            words_s(self.saved_s)
        )
    }
}

/// The least spread; or a little more, if the class gives it and the last cup is then so much earlier that it is worth it.
pub(super) fn solve(
    setting: &Setting,
    problem: &Round,
    budget: u64,
    begun: Option<&Begun>,
) -> Result<(Solution, Option<Given>), Fault> {
    let solve = |wish| solve_begun(problem, wish, budget, begun);
    if let Some(s) = setting.ready_within_s {
        return Ok((solve(Wish::ReadyWithin { s })?, None));
    }
    let strict = solve(Wish::StrictSpread)?;
    if setting.ready_give_s == 0 || strict.makespan_s < WORTH_GIVING_S + no_sooner_s(problem) {
        return Ok((strict, None));
    }
    let s = strict.spread_s + setting.ready_give_s;
    let sooner = solve(Wish::ReadyWithin { s })?;
    if sooner.makespan_s + WORTH_GIVING_S > strict.makespan_s || sooner.spread_s > s {
        return Ok((strict, None));
    }
    let given = Given {
        least_spread: strict.proof.spread.into(),
        last_cup: strict.proof.makespan.into(),
        gave_s: sooner.spread_s.saturating_sub(strict.spread_s),
        saved_s: strict.makespan_s - sooner.makespan_s,
    };
    Ok((sooner, Some(given)))
}

/// No last cup is ready before this: the longest tea, and all the hands' work.
fn no_sooner_s(problem: &Round) -> u32 {
    let longest = problem.teas.iter().map(|t| t.pour_s + t.steep_s + t.decant_s).max().unwrap_or(0);
    let work: u32 = problem.teas.iter().map(|t| t.pour_s + t.decant_s).sum();
    longest.max(work.div_ceil(u32::from(problem.hands)))
}
