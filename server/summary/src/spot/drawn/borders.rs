//! Lines that part a plane: round all places of which something holds (marching squares), and slanting lines that fill them. Pure.

use super::Point;
use std::collections::BTreeMap;

/// Cells along each side of a paper.
const CELLS: usize = 56;
/// How often the place where a line crosses an edge of a cell is halved in.
const HALVINGS: usize = 12;
/// How many slanting lines cross a paper from corner to corner.
const SLANTS: usize = 56;
/// How many places are looked at along each.
const ALONG: usize = 60;

/// A paper in cells, with what of it is shown.
pub struct Paper {
    low: Point,
    high: Point,
    shown: Vec<bool>,
}

/// An edge of a cell: its left or lower corner, and whether it goes upward.
type Edge = (usize, usize, bool);

impl Paper {
    /// From a corner to the one across.
    pub fn new(low: Point, high: Point, shown: &dyn Fn(Point) -> bool) -> Self {
        let mut paper = Self { low, high, shown: Vec::new() };
        paper.shown = paper.corners().map(|(i, j)| shown(paper.corner(i, j))).collect();
        paper
    }

    fn corners(&self) -> impl Iterator<Item = (usize, usize)> + use<> {
        (0..=CELLS).flat_map(|j| (0..=CELLS).map(move |i| (i, j)))
    }

    /// By shares of the way from the low corner to the high one.
    fn at(&self, [x, y]: Point) -> Point {
        let share = |d: usize, share: f64| self.low[d] + (self.high[d] - self.low[d]) * share;
        [share(0, x), share(1, y)]
    }

    fn corner(&self, i: usize, j: usize) -> Point {
        self.at([i as f64 / CELLS as f64, j as f64 / CELLS as f64])
    }

    /// The corners that are shown.
    pub fn points(&self) -> impl Iterator<Item = Point> {
        self.corners().zip(&self.shown).filter(|(_, shown)| **shown).map(|((i, j), _)| self.corner(i, j))
    }

    /// Whether all corners of a cell are shown.
    fn shows(&self, i: usize, j: usize) -> bool {
        [(i, j), (i + 1, j), (i, j + 1), (i + 1, j + 1)].iter().all(|(i, j)| self.shown[j * (CELLS + 1) + i])
    }
}

/// Between a place where something holds and one where it does not: where that changes.
fn between(mut inside: Point, mut outside: Point, holds: &dyn Fn(Point) -> bool) -> Point {
    let half = |a: Point, b: Point| [f64::midpoint(a[0], b[0]), f64::midpoint(a[1], b[1])];
    for _ in 0..HALVINGS {
        let middle = half(inside, outside);
        if holds(middle) { inside = middle } else { outside = middle }
    }
    half(inside, outside)
}

/// The lines between where something holds and where it does not, in the cells that are shown or in all.
pub fn borders(paper: &Paper, only_shown: bool, holds: &dyn Fn(Point) -> bool) -> Vec<Vec<Point>> {
    let held: Vec<bool> = paper.corners().map(|(i, j)| holds(paper.corner(i, j))).collect();
    let held = |i: usize, j: usize| held[j * (CELLS + 1) + i];
    let crossed = |(i, j, upward): Edge| {
        let (k, l) = if upward { (i, j + 1) } else { (i + 1, j) };
        (held(i, j) != held(k, l)).then(|| {
            let ends = (paper.corner(i, j), paper.corner(k, l));
            if held(i, j) { between(ends.0, ends.1, holds) } else { between(ends.1, ends.0, holds) }
        })
    };
    let mut beside: BTreeMap<Edge, Vec<Edge>> = BTreeMap::new();
    let cells = (0..CELLS).flat_map(|j| (0..CELLS).map(move |i| (i, j)));
    for (i, j) in cells.filter(|&(i, j)| !only_shown || paper.shows(i, j)) {
        // Round the cell: below, right, above, left.
        let round = [(i, j, false), (i + 1, j, true), (i, j + 1, false), (i, j, true)];
        let cut: Vec<Edge> = round.into_iter().filter(|&edge| crossed(edge).is_some()).collect();
        let pairs = match cut[..] {
            [a, b] => vec![(a, b)],
            [below, right, above, left] => {
                let centre = paper.at([(i as f64 + 0.5) / CELLS as f64, (j as f64 + 0.5) / CELLS as f64]);
                // The line goes round the corners that are unlike the centre.
                if held(i, j) == holds(centre) {
                    vec![(below, right), (above, left)]
                } else {
                    vec![(below, left), (above, right)]
                }
            }
            _ => Vec::new(),
        };
        for (a, b) in pairs {
            beside.entry(a).or_default().push(b);
            beside.entry(b).or_default().push(a);
        }
    }
    joined(beside).into_iter().map(|line| line.into_iter().filter_map(crossed).collect()).collect()
}

/// Steps from edge to edge as lines: first those that have an end, then those that close.
fn joined(mut beside: BTreeMap<Edge, Vec<Edge>>) -> Vec<Vec<Edge>> {
    let mut lines = Vec::new();
    let first = |beside: &BTreeMap<Edge, Vec<Edge>>| {
        let ended = beside.iter().find(|(_, next)| next.len() == 1);
        ended.or_else(|| beside.iter().find(|(_, next)| !next.is_empty())).map(|(&edge, _)| edge)
    };
    while let Some(mut at) = first(&beside) {
        let mut line = vec![at];
        while let Some(next) = beside.get_mut(&at).and_then(Vec::pop) {
            if let Some(back) = beside.get_mut(&next) {
                let own = back.iter().position(|&edge| edge == at);
                own.map(|own| back.remove(own));
            }
            line.push(next);
            at = next;
        }
        lines.push(line);
    }
    lines
}

/// Slanting lines over all places of which something holds.
pub fn hatch(paper: &Paper, holds: &dyn Fn(Point) -> bool) -> Vec<[Point; 2]> {
    let mut lines = Vec::new();
    for slant in 1..2 * SLANTS {
        // From the left and upper side to the lower and right one, in shares of the paper.
        let sum = slant as f64 / SLANTS as f64;
        let along = |n: usize| {
            let (from, to) = ((sum - 1.0).max(0.0), sum.min(1.0));
            let x = from + (to - from) * n as f64 / ALONG as f64;
            paper.at([x, 1.0 - (sum - x)].map(|share| share.clamp(0.0, 1.0)))
        };
        let mut begun: Option<Point> = None;
        for n in 0..=ALONG {
            let point = along(n);
            match (holds(point), begun) {
                (true, None) => {
                    begun = Some(if n == 0 { point } else { between(point, along(n - 1), holds) });
                }
                (false, Some(from)) => {
                    lines.push([from, between(along(n - 1), point, holds)]);
                    begun = None;
                }
                _ => {}
            }
        }
        lines.extend(begun.map(|from| [from, along(ALONG)]));
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    fn off([x, y]: Point) -> f64 {
        x.hypot(y)
    }

    #[test]
    fn round_a_circle_goes_one_line_that_closes_and_lies_on_it() {
        let paper = Paper::new([-2.0, -2.0], [2.0, 2.0], &|_| true);
        let lines = borders(&paper, true, &|point| off(point) <= 1.3);
        let [circle] = &lines[..] else { panic!("{} lines", lines.len()) };
        assert!(circle.iter().all(|point| (off(*point) - 1.3).abs() < 1e-4), "{circle:?}");
        assert_eq!(circle.first(), circle.last());
        let length: f64 =
            circle.windows(2).map(|pair| off([pair[1][0] - pair[0][0], pair[1][1] - pair[0][1]])).sum();
        assert!((length / (std::f64::consts::TAU * 1.3) - 1.0).abs() < 0.005, "{length}");
    }

    #[test]
    fn of_two_islands_each_has_its_line_and_where_nothing_is_shown_lines_end() {
        let islands = |[x, y]: Point| off([x.abs() - 1.0, y]) <= 0.6;
        let paper = Paper::new([-2.0, -2.0], [2.0, 2.0], &|_| true);
        assert_eq!(borders(&paper, true, &islands).len(), 2);
        let right = Paper::new([-2.0, -2.0], [2.0, 2.0], &|[x, _]| x >= 1.0);
        let lines = borders(&right, true, &islands);
        assert_eq!(lines.len(), 1, "{lines:?}");
        assert!(lines[0].iter().all(|[x, _]| *x >= 1.0 - 1e-9) && lines[0].first() != lines[0].last());
    }

    #[test]
    fn a_saddle_is_parted_by_its_centre() {
        let paper = Paper::new([-1.0, -1.0], [1.0, 1.0], &|_| true);
        // In the middle of a cell: two of its corners hold, across from each other.
        let off = |point: Point| point.map(|x| x - 1.0 / CELLS as f64);
        for pass in [1e-4, -1e-4] {
            let lines = borders(&paper, true, &|point| off(point)[0] * off(point)[1] + pass >= 0.0);
            assert_eq!(lines.len(), 2, "{lines:?}");
            for line in &lines {
                let right = off(line[0])[0] > 0.0;
                assert!(
                    line.iter().all(|&p| (off(p)[0] > 0.0) == right),
                    "no line goes over the pass: {line:?}"
                );
            }
        }
    }

    #[test]
    fn what_fills_a_circle_lies_in_it_and_crosses_its_middle() {
        let paper = Paper::new([-2.0, -2.0], [2.0, 2.0], &|_| true);
        let lines = hatch(&paper, &|point| off(point) <= 1.0);
        assert!(lines.iter().flatten().all(|point| off(*point) <= 1.0 + 1e-4));
        let longest = lines.iter().map(|[a, b]| off([b[0] - a[0], b[1] - a[1]])).fold(0.0, f64::max);
        assert!((longest - 2.0).abs() < 0.01 && lines.len() > 20, "{longest} {}", lines.len());
    }
}
