//! Labels beside points, so that none lies on another one or on a point.

use crate::page::canvas::{Pen, Side, TEXT, width_of};
use crate::page::look::Ink;

/// A rectangle: left, top, right, bottom.
pub type Box = [f64; 4];

/// A point that has a label.
#[derive(Clone, Debug)]
pub struct Labelled {
    /// Where it lies.
    pub at: (f64, f64),
    /// How much room it takes to each side.
    pub radius: f64,
    pub label: String,
    /// Whether its label stands in bold letters.
    pub bold: bool,
}

/// Whether two rectangles have a place in common.
pub fn meet(a: Box, b: Box) -> bool {
    a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3]
}

impl Labelled {
    /// What it covers without its label.
    pub fn covers(&self) -> Box {
        let ((x, y), r) = (self.at, self.radius);
        [x - r, y - r, x + r, y + r]
    }
}

/// Where the label of each point lies, within a part of the paper; `None` where there is no room.
pub fn places(points: &[Labelled], paper: Box) -> Vec<Option<Box>> {
    let mut taken: Vec<Box> = points.iter().map(Labelled::covers).collect();
    let mut placed = Vec::new();
    for point in points {
        let ((x, y), width, half) = (point.at, width_of(&point.label), TEXT * 0.6);
        let room = point.radius + 3.0;
        let shifts = (0..8).flat_map(|n| {
            let down = f64::from(n) * TEXT;
            [
                (1.0, down),
                (-1.0, down),
                (1.0, -down),
                (-1.0, -down),
                (0.0, down + room + half),
                (0.0, -down - room - half),
            ]
        });
        let boxes = shifts.map(|(side, down)| {
            let left = match side {
                s if s > 0.0 => x + room,
                s if s < 0.0 => x - room - width,
                _ => x - width / 2.0,
            };
            [left, y + down - half, left + width, y + down + half]
        });
        let fits = |own: &Box| {
            let on_paper =
                own[0] >= paper[0] && own[2] <= paper[2] && own[1] >= paper[1] && own[3] <= paper[3];
            on_paper && taken.iter().all(|other| !meet(*own, *other))
        };
        let found = boxes.into_iter().find(fits);
        taken.extend(found);
        placed.push(found);
    }
    placed
}

/// Writes a label, with a line to its point where it lies away from it.
pub fn write(pen: &mut Pen, point: &Labelled, place: Option<Box>) {
    let Some([left, top, right, bottom]) = place else { return };
    let (x, y) = point.at;
    let height = f64::midpoint(top, bottom);
    if (height - y).abs() > 2.0 * TEXT {
        let near = if left > x {
            left
        } else if right < x {
            right
        } else {
            f64::midpoint(left, right)
        };
        pen.line(&[(x, y), (near, height)], Ink::Grey, 0.7);
    }
    pen.shown(point.bold, &point.label, (left, height), Side::Right, Ink::Black);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn labels_lie_on_the_paper_and_never_on_each_other(
            points in prop::collection::vec((40.0..386.0_f64, 24.0..284.0_f64, "[A-Za-z]{1,12}"), 1..20),
        ) {
            let points: Vec<Labelled> = points
                .into_iter()
                .map(|(x, y, label)| Labelled { at: (x, y), radius: 7.5, label, bold: false })
                .collect();
            let labels: Vec<Box> = places(&points, [2.0, 20.0, 398.0, 284.0]).into_iter().flatten().collect();
            for (i, one) in labels.iter().enumerate() {
                prop_assert!(one[0] >= 2.0 && one[2] <= 398.0 && one[3] <= 284.0, "{:?}", one);
                prop_assert!(labels[..i].iter().all(|other| !meet(*one, *other)), "{:?}", one);
                prop_assert!(points.iter().all(|p| !meet(*one, [p.at.0, p.at.1, p.at.0, p.at.1])));
            }
            prop_assert!(!labels.is_empty());
        }
    }
}
