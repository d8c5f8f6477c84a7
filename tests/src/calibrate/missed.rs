//! What could have been missed: the power that a review says a class had, beside the power that such classes have.

use crate::calibrate::design::{Design, Shape};
use crate::calibrate::dice::Dice;
use crate::calibrate::held::held;
use protocol::Code;
use summary::find::differences::Difference;
use summary::{Summary, summarise};

/// A design, and its name.
#[derive(Clone, Debug)]
pub struct Reach {
    /// What it is.
    pub what: String,
    /// Nothing is there.
    pub null: Design,
}

/// One class that names a difference which it would have missed, and whether another such class, with that difference
/// between two of its teas, finds it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Named {
    /// The difference, points.
    pub points: f64,
    /// Whether the other class finds it.
    pub found: bool,
}

/// The designs.
pub fn all() -> Vec<Reach> {
    let of = |shape: Shape| {
        let sizes = [(2, 8, 0.0), (3, 8, 0.0), (4, 8, 0.0), (4, 20, 0.0), (6, 12, 0.0), (4, 10, 0.25)];
        sizes.map(|(teas, tasters, missing)| {
            let gaps =
                if missing > 0.0 { format!(", {:.0} % missing", missing * 100.0) } else { String::new() };
            let what = format!("{teas} teas, {tasters} tasters{gaps}");
            Reach {
                what,
                null: Design { missing, attributes: 1, steeps: 1, ..Design::of(teas, tasters, shape) },
            }
        })
    };
    let ways = |shape: Shape| {
        let sizes = [(1, 3, "3 ways of a leaf, 12 tasters"), (2, 3, "3 ways of 2 leaves, 12 tasters")];
        sizes.map(|(leaves, ways, what)| Reach {
            what: what.into(),
            null: Design { attributes: 1, steeps: 1, ..Design::ways(leaves, ways, 12, shape) },
        })
    };
    Shape::ALL.into_iter().flat_map(|shape| of(shape).into_iter().chain(ways(shape))).collect()
}

impl Reach {
    /// One drawing; `None` where the review names no difference.
    pub fn drawn(&self, seed: u64) -> Option<Named> {
        let dice = &mut Dice::new(seed);
        let room = held(&self.null, &[], "2026-11-28", dice);
        let points = named(&summarise(&room, room.last_at))?;
        let mut truth = self.null.clone();
        // The least favourable: all other teas lie between the two.
        truth.lift.iter_mut().for_each(|lift| *lift = -points / 2.0);
        (truth.lift[0], truth.lift[1]) = (0.0, -points);
        let room = held(&truth, &[], "2026-11-28", dice);
        let found = over_steeps(&summarise(&room, room.last_at)).is_some_and(told_apart);
        Some(Named { points, found })
    }
}

/// What is found of liking, over the steeps.
fn over_steeps(summary: &Summary) -> Option<Difference> {
    let differences = &summary.findings.figures.differences;
    differences.iter().find(|d| d.attribute == "liking" && d.steep.is_none()).cloned()
}

/// The difference in liking that a review says it would have missed in one class of five: between ways of a leaf where other teas stand
/// beside them, else between teas.
fn named(summary: &Summary) -> Option<f64> {
    let beside_others = summary.findings.figures.leaves.iter().find(|leaf| !leaf.whole);
    match beside_others {
        Some(leaf) => {
            let mut liking = leaf.comparisons.iter().filter(|c| c.attribute == "liking" && c.steep.is_none());
            liking.find_map(|c| c.told_apart_from_points)
        }
        None => over_steeps(summary)?.told_apart_from_points,
    }
}

/// Whether the first two teas are told apart: by the test over all teas, and by their own comparison behind it.
fn told_apart(found: Difference) -> bool {
    let [first, second] = [found.teas[0], found.teas[1]];
    let both = |a: Code, b: Code| (a, b) == (first, second) || (b, a) == (first, second);
    let pairs = found.pairs();
    let pair = pairs.get().and_then(|tukey| tukey.pairs.iter().find(|pair| both(pair.first, pair.second)));
    found.shown() && pair.is_some_and(|pair| pair.differs)
}
