//! Which sweet spots a guide goes by, and how sure it says they are.

use super::answer::AnswerKind;
use super::coding::What;
use super::region::{RegionFactor, RegionFound};
use super::say::{called, towards};
use super::{Spot as Found, Spots};
use crate::guide::Spot;
use plan::ways::Middle;
use protocol::say::{list, many};

/// A best way is handed out only if so much of what was tasted, by volume, is told from it.
const TOLD: f64 = 0.5;

/// The best ways that are sure enough to be handed out: of enough ways to need no assumption, liked (the middle of the scale or above),
/// with at least half of what was tasted told from them, and of tasters of one mind: a way between two groups would please neither. One at the edge of what was tasted goes in as the best of that.
pub fn sure_enough(spots: &Spots) -> Vec<Spot> {
    let scale = spots.scale();
    let liked = |found: &&Found| {
        found.answer.expected.is_some_and(|own| own.value >= f64::midpoint(scale.low, scale.high))
    };
    spots.leaves.iter().filter(|found| told(found)).filter(liked).filter_map(handed_out).collect()
}

/// Whether the best way is known so well that new ways are no longer what tells most: it is inside, and half of what was tasted is told from
/// it without any assumption.
pub fn is_known(found: &Found) -> bool {
    told(found) && found.answer.kind != AnswerKind::GoOn
}

fn told(found: &Found) -> bool {
    let answer = &found.answer;
    let named = matches!(answer.kind, AnswerKind::Top | AnswerKind::Ridge | AnswerKind::GoOn);
    // A region of a single point is finer than any scores can tell: the surface is none that this fits.
    let is_told = |region: &RegionFound| region.share > 0.0 && region.share <= 1.0 - TOLD;
    named && !answer.rests_on_prior && found.groups.is_none() && answer.region.as_ref().is_some_and(is_told)
}

fn handed_out(found: &Found) -> Option<Spot> {
    let best = found.answer.best.as_ref()?;
    let way = Middle {
        dose_g_per_100_ml: best.dose_g_per_100_ml,
        temp_c: best.temp_c.clone(),
        steep_s: best.steep_s.clone(),
        rinse_s: found.behind.leaf.last.1.rinse_s,
    };
    Some(Spot { leaf: found.leaf.clone(), way, sure: sure(found) })
}

/// "found from 11 ways, tasted in 3 classes, 24 seats: the best may lie anywhere from …".
fn sure(found: &Found) -> String {
    let answer = &found.answer;
    let tasted = many(found.ways.iter().filter(|way| way.cups > 0).count(), "way");
    let by = tasted_by(found.classes.len(), found.tasters);
    let (open, told): (Vec<&RegionFactor>, Vec<&RegionFactor>) = answer
        .region
        .iter()
        .flat_map(|region| &region.factors)
        .partition(|factor| factor.open_below && factor.open_above);
    let ranges: Vec<String> = told.into_iter().map(range).collect();
    // A region may reach to all ends and still leave out what makes up for too much or too little.
    let anywhere = match ranges.is_empty() {
        true => "anywhere that was tasted, though not in every combination".to_string(),
        false => format!("anywhere from {}", list(&ranges)),
    };
    let open: Vec<String> = open.iter().map(|factor| called(factor.what).to_string()).collect();
    let open = if open.is_empty() { String::new() } else { format!("; still open: {}", list(&open)) };
    match answer.kind {
        AnswerKind::GoOn => {
            let rises: Vec<String> =
                answer.go_on.iter().map(|go| towards(go.what, go.more).to_string()).collect();
            let rises = list(&rises);
            format!(
                "the best of {tasted}, {by}: the liking still rises with {rises}, where nobody has tasted it yet"
            )
        }
        AnswerKind::Ridge => {
            format!("found from {tasted}, {by}: one of many about as good, which may lie {anywhere}{open}")
        }
        _ => format!("found from {tasted}, {by}: the best may lie {anywhere}{open}"),
    }
}

/// "tasted in 3 classes, 24 seats".
fn tasted_by(classes: usize, seats: usize) -> String {
    let classes = if classes == 1 { "1 class".into() } else { format!("{classes} classes") };
    format!("tasted in {classes}, {}", many(seats, "seat"))
}

/// "5.1 to 7.9 g", "86 to 96 °C", "18 to 32 s at first".
fn range(of: &RegionFactor) -> String {
    match of.what {
        What::Dose => format!("{:.1} to {:.1}\u{a0}g", of.low, of.high),
        What::Temperature => format!("{:.0} to {:.0}\u{a0}°C", of.low, of.high),
        What::Time => format!("{:.0} to {:.0}\u{a0}s at first", of.low, of.high),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spot::fitted::USUAL;
    use crate::spot::tests::{NINE, hill, leaf};
    use crate::spot::{FORMAT, Judged, spot};

    fn of(found: Found) -> Spots {
        let judged_by = Some(Judged { attribute: "liking".into(), min: 1, max: 9 });
        Spots { format: FORMAT, classes: Vec::new(), judged_by, leaves: vec![found] }
    }

    #[test]
    fn a_best_way_of_enough_ways_goes_in_with_how_far_it_may_lie() {
        let given = sure_enough(&of(spot(hill([0.3, -0.2], 0.0), NINE, Some(USUAL))));
        let [slope] = &given[..] else { panic!("{given:?}") };
        assert!(
            (slope.way.dose_g_per_100_ml - 3.4).abs() < 0.2 && slope.way.steep_s == [60, 90],
            "{slope:?}"
        );
        assert!(
            slope.sure.starts_with(
                "found from 9 ways, tasted in 1 class, 6 seats: the best may lie anywhere from 3."
            ),
            "{}",
            slope.sure
        );
    }

    #[test]
    fn a_factor_that_is_known_no_better_than_it_was_tasted_is_said_to_be_open() {
        let mut found = spot(hill([0.3, -0.2], 0.0), NINE, Some(USUAL));
        let factors = &mut found.answer.region.as_mut().unwrap().factors;
        (factors[1].open_below, factors[1].open_above) = (true, true);
        let sure = &sure_enough(&of(found.clone()))[0].sure;
        assert!(sure.contains("; still open: the temperature") && !sure.contains("°C"), "{sure}");
        let factors = &mut found.answer.region.as_mut().unwrap().factors;
        (factors[0].open_below, factors[0].open_above) = (true, true);
        let sure = &sure_enough(&of(found.clone()))[0].sure;
        assert!(
            sure.ends_with("may lie anywhere that was tasted, though not in every combination; still open: the dose and the temperature"),
            "{sure}"
        );
    }

    #[test]
    fn one_at_the_edge_says_that_it_still_rises() {
        let given = sure_enough(&of(spot(hill([1.8, 0.0], 0.0), NINE, Some(USUAL))));
        assert!(given[0].sure.contains("still rises with more leaf, where nobody"), "{}", given[0].sure);
    }

    #[test]
    fn what_leans_on_an_assumption_or_is_not_liked_stays_out() {
        let few = [([-1.0, 0.0], 4.0), ([0.0, 0.0], 8.0), ([1.0, 0.0], 4.0), ([0.0, 1.0], 4.5)];
        let ways: Vec<_> = few.iter().map(|&(x, score)| (x, vec![score, score + 0.3, score - 0.2])).collect();
        let found = spot(leaf(&ways, &[]), NINE, Some(USUAL));
        assert!(found.answer.best.is_some() && sure_enough(&of(found)).is_empty());
        let mut low = hill([0.3, -0.2], 0.0);
        for cup in &mut low.cups {
            cup.liking = cup.liking.map(|liking| (liking - 4.0).max(1.0));
        }
        let found = spot(low, NINE, Some(USUAL));
        assert!(found.answer.best.is_some() && sure_enough(&of(found)).is_empty());
    }
}
