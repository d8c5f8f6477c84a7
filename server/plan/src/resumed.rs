//! A round that is taken up again while some of its teas are steeping or ready.

use super::exact::{Fault, Poured};
use super::hands::Hands;
use super::kettles::Kettles;
use super::rounds::{RoundPlan, Taken, Unplannable, plan_rest};
use super::timetable::Rest;
use class::Class;
use class::course::Due;
use protocol::time::SECOND_US;
use protocol::{Action, Cue, HostTime};

/// So often it is tried to pour between the decants of what is steeping before it is left for after them.
const MOST_TRIES: usize = 8;
/// What was poured earlier than this counts as poured then, seconds (eleven days): it keeps every sum small.
const LONGEST_AGO_S: i64 = 1_000_000;

/// The plan of what a hold has left dry of a round; with its second 0, at `ready` or later, and with kettles and hands
/// after what has to be done before that.
///
/// # Errors
/// No order of these hands and kettles can serve it.
pub(super) fn take_up<'c>(
    class: &'c Class,
    planned: &RoundPlan,
    dry: &[Due<'_>],
    rest: Rest<'_>,
    ready: HostTime,
    (kettles, hands): (&Kettles<'c>, &Hands),
) -> Result<(RoundPlan, HostTime, Kettles<'c>, Hands), Unplannable> {
    let round = planned.round;
    let pours = rest.kept.iter().filter(|c| c.action == Action::Pour && c.round() == round);
    let poured: Vec<(&Cue, &Cue)> =
        pours.filter_map(|pour| Some((pour, rest.find(Action::Decant, pour.code, round)?))).collect();
    // Work of hands other than with what is poured comes to its end first.
    let own =
        |c: &&Cue| matches!(c.action, Action::Pour | Action::Lid | Action::Decant) && c.round() == round;
    let busy = rest.kept.iter().filter(|c| c.hands > 0 && !own(c)).map(|c| {
        let gap_s = if c.length_s > 0 && c.action.is_at_kettle() { class.setting.gap_s } else { 0 };
        c.end().plus_s(gap_s)
    });
    // Whole seconds from what is steeping, so that what fits between two decants is seen to fit.
    let whole = |at: HostTime| {
        let from = poured.first().map_or(at, |(pour, _)| pour.at);
        at + (from.0 - at.0).rem_euclid(SECOND_US)
    };
    let mut at = whole(busy.max().unwrap_or_default().max(ready));
    let mut tries = 0;
    loop {
        tries += 1;
        let next = poured.iter().map(|(_, decant)| decant.end()).filter(|&end| end > at).min();
        let stand = Taken {
            planned,
            at,
            kettles,
            poured: poured.iter().map(|&(pour, decant)| seen_from(at, pour, decant)).collect(),
        };
        let later = match (plan_rest(class, dry, &stand), next) {
            (Err(Unplannable { fault: Fault::Steeping, .. }), Some(next)) => next,
            (plan, _) => {
                let plan = plan?;
                let (mut kettles, mut hands) = (kettles.clone(), hands.clone());
                let begin = kettles.begin(&plan, at, false, &mut hands);
                // A plan that has to wait for a kettle collides with no decant only when there is none left.
                if begin == at || next.is_none() {
                    return Ok((plan, begin, kettles, hands));
                }
                begin
            }
        };
        let last = poured.iter().map(|(_, decant)| decant.end()).max().unwrap_or(later);
        at = whole(if tries < MOST_TRIES { later } else { later.max(last) });
    }
}

/// A tea that is poured, in whole seconds from `at`; it takes no less than the time it has.
fn seen_from(at: HostTime, pour: &Cue, decant: &Cue) -> Poured {
    let floor = |time: HostTime| (time.0 - at.0).div_euclid(SECOND_US);
    let ceil = |time: HostTime| -(at.0 - time.0).div_euclid(SECOND_US);
    let shift = (-LONGEST_AGO_S - floor(pour.at)).max(0);
    let seconds = |s: i64| i32::try_from(s + shift).unwrap_or(i32::MAX / 16);
    let hands = |cue: &Cue| cue.hands.saturating_sub(1);
    Poured {
        pour_at_s: seconds(floor(pour.at)),
        pour_s: pour.length_s,
        decant_at_s: seconds(floor(decant.at)),
        ready_at_s: seconds(ceil(decant.end())),
        hands: (hands(pour), hands(decant)),
    }
}

#[cfg(test)]
mod tests;
