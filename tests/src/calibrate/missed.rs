//! What could have been missed: the power that a review says a class had, beside the power that such classes have.

use crate::calibrate::design::{Design, Shape};
use crate::calibrate::dice::Dice;
use crate::calibrate::held::held;
use crate::calibrate::kinds::{Kind, of_one};
use summary::sentence::About;
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
    Shape::ALL.into_iter().flat_map(of).collect()
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
        let said = of_one(&summarise(&room, room.last_at), &room.class);
        Some(Named { points, found: said.shown.contains(&Kind::Differ) })
    }
}

/// The difference in liking that a review says it would have missed in one class of five.
fn named(summary: &Summary) -> Option<f64> {
    let mut over = summary
        .findings
        .sentences
        .iter()
        .filter(|s| s.about == About::Difference && s.evidence.steep.is_none());
    let sentence = over.find(|s| s.evidence.attribute.as_deref() == Some("liking"))?;
    let (_, behind) = sentence.text.split_once("a difference below ")?;
    behind.split(' ').next()?.parse().ok()
}
