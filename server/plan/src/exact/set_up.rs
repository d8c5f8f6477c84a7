//! What a kettle needs between two set points, in seconds of the search.

use super::round::{Kettle, MAX_TEAS, NEVER, Round};

/// A set-up of more seconds than this (eleven days) counts as impossible; it also keeps every sum small.
const LONGEST_SET_UP_S: u32 = 1_000_000;

/// Set-ups of one kettle.
#[derive(Clone, Debug)]
pub(super) struct KettleTable {
    /// From pour start to pour start when the second tea comes next: pour and set-up.
    pub direct: [[i32; MAX_TEAS]; MAX_TEAS],
    /// The same by the shortest way over any other teas. Set-ups within the tolerance are free, so 80, 81, 82 may be
    /// quicker than 80, 82: only this way round holds for every pair of teas of one kettle, next to one another or not.
    pub any: [[i32; MAX_TEAS]; MAX_TEAS],
    /// From second 0 to the pour start of the first tea.
    pub first: [i32; MAX_TEAS],
    /// The same over any other teas.
    pub any_first: [i32; MAX_TEAS],
}

impl KettleTable {
    pub fn new(round: &Round, kettle: &Kettle) -> Self {
        let mut direct = [[NEVER; MAX_TEAS]; MAX_TEAS];
        let mut first = [NEVER; MAX_TEAS];
        let n = round.teas.len();
        for (b, to) in round.teas.iter().enumerate() {
            first[b] = set_up_s(kettle, kettle.start_c, to.temp_c, round);
            for (a, from) in round.teas.iter().enumerate().filter(|&(a, _)| a != b) {
                let set_up = set_up_s(kettle, Some(from.temp_c), to.temp_c, round);
                direct[a][b] = NEVER.min(seconds(from.pour_s) + set_up);
            }
        }
        let (mut any, mut any_first) = (direct, first);
        for k in 0..n {
            for a in 0..n {
                for b in 0..n {
                    any[a][b] = any[a][b].min(any[a][k] + any[k][b]);
                }
            }
        }
        for b in 0..n {
            for k in (0..n).filter(|&k| k != b) {
                any_first[b] = any_first[b].min(first[k] + any[k][b]);
            }
        }
        Self { direct, any, first, any_first }
    }
}

/// Whole seconds to bring a kettle from one set point to another; [`NEVER`] if it cannot be done.
fn set_up_s(kettle: &Kettle, from_c: Option<f64>, to_c: f64, round: &Round) -> i32 {
    let needs_s = from_c.map_or(0, |from_c| kettle.heat.set_up_s(from_c, to_c, round.room_c, round.tol_c));
    if needs_s > LONGEST_SET_UP_S { NEVER } else { seconds(needs_s) }
}

/// Seconds in the type of the search.
pub(super) fn seconds(value: u32) -> i32 {
    i32::try_from(value).unwrap_or(NEVER)
}
