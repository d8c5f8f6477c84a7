//! Whether the two ways that were liked best should be tasted again, blind, rather than others beside the best.
//!
//! A way may lie off the surface by a little of its own. What a class is worth is how much better the way will be that is named after it
//! ([`stats::design::named`]); where the surface is known well, that is more often found out by the two best once more.

use super::choose::{Asked, same};
use crate::spot::region::Alike;
use stats::design::named::Naming;
use stats::design::{Model, Planned};
use stats::surface::prior::Prior;

/// A way lies off the surface by so many points, of a scale from 1 to 9. A rule of our own.
const OWN: f64 = 0.25;
/// Two places nearer than so many steps along every factor are one way: less is a slip of the hand.
pub(super) const APART: f64 = 0.25;
/// So many of the ways that can't be told from the best stand for all of them.
const OPTIONS: usize = 24;

/// The two ways of a leaf that were liked best, the better first, and what is expected of each beside the best of the surface, points.
fn two_best(asked: &Asked<'_>) -> Option<[(Vec<f64>, f64); 2]> {
    let ways: Vec<Vec<f64>> =
        asked.leaf.ways.iter().filter(|way| way.cups > 0).map(|way| asked.coding.code(&way.place)).collect();
    let mut expected: Vec<(Vec<f64>, f64)> =
        ways.into_iter().map(|way| (way.clone(), own(asked, &way) - asked.below(&way))).collect();
    expected.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut best = expected.into_iter();
    Some([best.next()?, best.next()?])
}

/// By how many points a way is thought to lie above the surface by itself: what its cups were above it, drawn towards none the fewer they
/// are (the mean of a normal deviation, of any textbook of mixed models).
fn own(asked: &Asked<'_>, way: &[f64]) -> f64 {
    let Some(fitted) = asked.fitted else { return 0.0 };
    let above = |run: &stats::surface::Run| run.score + asked.below(&run.at);
    let level = |taster: &[usize]| {
        let own: Vec<f64> = fitted.runs.iter().filter(|run| run.blocks == taster).map(above).collect();
        own.iter().sum::<f64>() / own.len() as f64
    };
    let own: Vec<f64> = fitted
        .runs
        .iter()
        .filter(|run| same(&run.at, way))
        .map(|run| above(run) - level(&run.blocks))
        .collect();
    let variance = (OWN * asked.scale.points()).powi(2);
    let n = own.len() as f64;
    own.iter().sum::<f64>() / n * variance / (variance + fitted.surface.residual.mean_square / n)
}

/// Completes a class of some ways with so many others.
type Completed<'a> = &'a dyn Fn(&[Planned], usize) -> Option<Vec<Planned>>;

/// Cups of the two best in turn, and how many, if that is worth more than the ways of `instead`; both in a class of its own block. Where
/// the best is known they have the whole class, else no more than half of it, and new ways the rest.
pub fn again(
    asked: &Asked<'_>,
    (model, prior, made): (&Model, &Prior, &[Planned]),
    candidates: &[Vec<f64>],
    instead: &[Planned],
    completed: Completed<'_>,
) -> Option<(usize, Vec<Planned>)> {
    let two = two_best(asked)?;
    let block = model.blocks - 1;
    let cups = if asked.known { instead.len() } else { instead.len() / 4 * 2 };
    let repeated: Vec<Planned> = (0..cups).map(|n| Planned { at: two[n % 2].0.clone(), block }).collect();
    let class = match instead.len() - cups {
        _ if cups < 2 => return None,
        0 => repeated,
        others => completed(&repeated, others)?,
    };
    let alike = Alike::about(asked.fitted?, &asked.best, true).ok()?;
    let open: Vec<&Vec<f64>> = candidates.iter().filter(|way| alike.holds(way)).collect();
    let every = open.len().div_ceil(OPTIONS).max(1);
    let mut options: Vec<(Vec<f64>, f64)> = two.to_vec();
    let others = instead.iter().chain(&class).map(|run| &run.at).chain(open.into_iter().step_by(every));
    for way in std::iter::once(&asked.best).chain(others) {
        if options.iter().all(|(there, _)| !same(there, way)) {
            options.push((way.clone(), -asked.below(way)));
        }
    }
    let (options, expected): (Vec<Vec<f64>>, Vec<f64>) = options.into_iter().unzip();
    let own = OWN * asked.scale.points();
    let naming = Naming { model, prior, own, apart: APART, made, options: &options, expected: &expected };
    (naming.gain(&class).ok()? > naming.gain(instead).ok()?).then_some((cups, class))
}
