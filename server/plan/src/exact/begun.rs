//! A round that is taken up again: some of its teas are wet or done, the kettles stand where that has left them.

use super::hands::overloads;
use super::kettle::{assign, fills};
use super::problem::{Best, Problem};
use super::round::MAX_TEAS;
use super::set_up::seconds;

/// Seconds between two pours that leave time for anything.
const FAR_APART: i32 = 1 << 21;
/// A tea is put at most this many seconds behind where the plan would have it.
const LONGEST_DELAY: i32 = 3600;

/// What is known of a round that is taken up again.
#[derive(Clone, Debug)]
pub struct Begun {
    /// For each kettle the seconds from second 0 until it is ready for each tea, as it stands.
    pub ready_s: Vec<Vec<u32>>,
    /// For each tea when it was to be poured, and from which kettle (from 0; any number without kettles). A search that may
    /// not take long does best to begin from there.
    pub planned: Vec<(u32, u8)>,
    /// The round's other teas: they are poured, and nothing about them can be changed. Their decants keep the hands they
    /// have, and their cups are cups of the round like the others.
    pub poured: Vec<Poured>,
}

/// A tea that is steeping or whose cup is ready. Seconds count from second 0, and are below nought for what is past.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Poured {
    /// Start of its pour.
    pub pour_at_s: i32,
    /// Length of its pour.
    pub pour_s: u32,
    /// Start of its decant.
    pub decant_at_s: i32,
    /// End of its decant.
    pub ready_at_s: i32,
    /// Whose hands pour and whose decant, from 0.
    pub hands: (u8, u8),
}

/// The schedule in which these teas are poured in the order, at the distances and from the kettles that were planned,
/// each as much later as it has to be now: the refills may stand elsewhere. `None` if that can't be.
pub(super) fn followed(problem: &Problem, begun: &Begun) -> Option<([i32; MAX_TEAS], [u8; MAX_TEAS])> {
    let n = problem.dry;
    let planned = begun.planned.get(..n)?;
    let mut kettle = [0; MAX_TEAS];
    kettle.iter_mut().zip(planned).for_each(|(kettle, &(_, planned))| *kettle = planned);
    if !problem.kettles.is_empty() && kettle[..n].iter().any(|&k| usize::from(k) >= problem.kettles.len()) {
        return None;
    }
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by_key(|&tea| (planned[tea].0, tea));
    // Each after those that it may not be poured before.
    let done = |place: usize| order[..place].iter().fold(0u16, |bits, &tea| bits | 1 << tea);
    if (0..n).any(|place| problem.before[order[place]] & !done(place) != 0) {
        return None;
    }
    let mut starts = problem.fixed;
    let last = seconds(planned[*order.last()?].0);
    (1..).zip(&order).for_each(|(place, &tea)| starts[tea] = last + place * FAR_APART);
    if !stands(problem, &starts, &kettle) {
        return None;
    }
    // From second 0 on.
    let mut delay = -seconds(planned[*order.first()?].0);
    for tea in order {
        let at = seconds(planned[tea].0) + delay;
        starts[tea] = (at..=at + LONGEST_DELAY).find(|&at| {
            starts[tea] = at;
            stands(problem, &starts, &kettle)
        })?;
        delay = starts[tea] - seconds(planned[tea].0);
    }
    Some((starts, kettle))
}

/// Whether hands and kettles can do this.
fn stands(problem: &Problem, starts: &[i32; MAX_TEAS], kettle: &[u8; MAX_TEAS]) -> bool {
    if assign(problem, starts, &kettle.map(|k| 1 << k), problem.has_begun()).is_none() {
        return false;
    }
    let best = Best { value: 0, starts: *starts, kettle: *kettle };
    overloads(problem, &problem.work(&fills(problem, &best)), starts).is_empty()
}
