//! A leaf's surface as it is drawn, in coded units: a slice for each pair of factors through the best way, and a profile along each.
//!
//! A place is drawn only if it lies within a step of what was tasted, which is all that lies between the ways (their convex hull), and
//! where water does not boil.

mod borders;
mod reach;

use super::Spot;
use super::answer::AnswerKind;
use super::coding::{Factor, What};
use super::fitted::Fitted;
use super::region::Alike;
use borders::{Paper, borders, hatch};
use reach::within;
use stats::Interval;
use stats::interval::CONFIDENCE;

/// Nothing is drawn that lies more steps than this outside what was tasted.
const FURTHEST: f64 = 1.0;
/// So many steps beyond the lowest and the highest value that was tasted are on the paper; more where a way to taste next lies there.
const MARGIN: f64 = 0.4;
/// Water boils, °C.
const BOILING_C: f64 = 100.0;
/// More points below the best than this, of a scale from 1 to 9, get no lines.
const DEEPEST: f64 = 4.0;
/// Contour lines go by one of these, points, times a power of ten.
const ROUND: [f64; 3] = [1.0, 2.0, 5.0];
/// At most so many of them.
const LINES: f64 = 5.0;
/// A way is near a slice if it lies no more than so many steps from it.
const NEAR: f64 = 0.5;
/// Points of a profile.
const POINTS: usize = 61;

/// A place on a slice: across and upward, coded.
pub type Point = [f64; 2];

/// What is drawn of a leaf.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    /// One for each pair of factors.
    pub slices: Vec<Slice>,
    /// One for each factor.
    pub profiles: Vec<Profile>,
}

/// The liking over two factors, all others as in the best way.
#[derive(Clone, Debug, PartialEq)]
pub struct Slice {
    /// The places of the factors among the leaf's: across and upward.
    pub factors: [usize; 2],
    /// Where the paper begins.
    pub low: Point,
    /// Where it ends.
    pub high: Point,
    /// The contour lines.
    pub contours: Vec<Contour>,
    /// Between the ways that can't be told from the best and those that can, within what was tasted. It is open where they reach the end
    /// of that.
    pub alike: Vec<Vec<Point>>,
    /// Slanting lines that fill them.
    pub hatch: Vec<[Point; 2]>,
    /// Where drawing ends, being a step outside what was tasted.
    pub ends: Vec<Vec<Point>>,
    /// Of each way of the leaf whether its other factors are near those of the best.
    pub near: Vec<bool>,
}

/// Ways that are expected to be liked alike.
#[derive(Clone, Debug, PartialEq)]
pub struct Contour {
    /// How many points below the best.
    pub below: f64,
    /// The lines, each from point to point.
    pub lines: Vec<Vec<Point>>,
}

/// The liking along one factor, all others as in the best way.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// The factor's place among the leaf's.
    pub factor: usize,
    /// Values of it, each with the liking expected there, the mean over the tasters, and the interval of that.
    pub points: Vec<(f64, f64, Interval)>,
}

/// What is drawn of a leaf; nothing where no best way can be named. `points` of its scale stand for one of a scale from 1 to 9.
pub fn drawn(spot: &Spot, points: f64) -> Option<Drawn> {
    let (fitted, at) = (spot.behind.fitted.as_ref()?, spot.answer.at.as_ref()?);
    let coding = &spot.behind.coding;
    let ways: Vec<Vec<f64>> = spot.ways.iter().map(|way| coding.code(&way.place)).collect();
    let next = spot.answer.next.as_ref().map(|next| coding.code(&next.place()));
    let view = View { spot, fitted, at, ways, next, points };
    let n = coding.factors.len();
    let pairs = (0..n).flat_map(|i| (i + 1..n).map(move |j| [i, j]));
    let slices = pairs.map(|pair| view.slice(pair)).collect();
    Some(Drawn { slices, profiles: (0..n).map(|factor| view.profile(factor)).collect() })
}

struct View<'a> {
    spot: &'a Spot,
    fitted: &'a Fitted,
    at: &'a [f64],
    ways: Vec<Vec<f64>>,
    next: Option<Vec<f64>>,
    points: f64,
}

impl View<'_> {
    /// The ends of the paper along a factor.
    fn ends(&self, i: usize) -> (f64, f64) {
        let tried = &self.fitted.tried;
        let next = self.next.as_ref().map(|next| next[i]);
        let low = next.map_or(f64::INFINITY, |next| next - MARGIN / 2.0).min(tried.low[i] - MARGIN);
        let high = next.map_or(f64::NEG_INFINITY, |next| next + MARGIN / 2.0).max(tried.high[i] + MARGIN);
        let factor: &Factor = &self.spot.factors[i];
        let boils = if factor.what == What::Temperature { factor.coded(BOILING_C) } else { f64::INFINITY };
        (low.max(tried.low[i] - FURTHEST), high.min(tried.high[i] + FURTHEST).min(boils.max(tried.high[i])))
    }

    /// The best way with other values of two factors.
    fn place(&self, [i, j]: [usize; 2], [x, y]: Point) -> Vec<f64> {
        let mut place = self.at.to_vec();
        (place[i], place[j]) = (x, y);
        place
    }

    fn slice(&self, pair: [usize; 2]) -> Slice {
        let [(left, right), (bottom, top)] = pair.map(|i| self.ends(i));
        let (low, high) = ([left, bottom], [right, top]);
        let place = |point: Point| self.place(pair, point);
        let shown = |point: Point| within(&place(point), &self.ways, FURTHEST);
        let below = |point: Point| self.fitted.surface.difference(self.at, &place(point)).value;
        let paper = Paper::new(low, high, &shown);
        let deepest = paper.points().map(below).fold(0.0, f64::max).min(DEEPEST * self.points);
        let contour = |level: f64| Contour {
            below: level,
            lines: borders(&paper, true, &|point| below(point) <= level),
        };
        // Where nothing changes the liking, no place lies below another.
        let flat = self.spot.answer.kind == AnswerKind::NothingChanges;
        let contours = if flat { Vec::new() } else { levels(deepest).into_iter().map(contour).collect() };
        let alike = Alike::about(self.fitted, &self.fitted.middle(), self.fitted.at_edge()).ok();
        let tasted = |point: Point| self.fitted.tried.holds(&place(point));
        let alike = |point: Point| alike.as_ref().is_some_and(|alike| alike.holds(&place(point)));
        let near = |way: &Vec<f64>| {
            let others = (0..way.len()).filter(|i| !pair.contains(i));
            others.map(|i| (way[i] - self.at[i]).abs()).all(|far| far <= NEAR)
        };
        Slice {
            factors: pair,
            low,
            high,
            contours,
            alike: parts(borders(&paper, true, &alike), &tasted),
            hatch: hatch(&paper, &|point| tasted(point) && shown(point) && alike(point)),
            ends: borders(&paper, false, &shown),
            near: self.ways.iter().map(near).collect(),
        }
    }

    fn profile(&self, factor: usize) -> Profile {
        let (low, high) = self.ends(factor);
        let value = |n: usize| low + (high - low) * n as f64 / (POINTS - 1) as f64;
        let point = |x: f64| {
            let mut place = self.at.to_vec();
            place[factor] = x;
            let found = self.fitted.surface.at(&place);
            let interval = self.fitted.surface.interval(found, CONFIDENCE).ok()?;
            within(&place, &self.ways, FURTHEST).then_some((x, found.value, interval))
        };
        Profile { factor, points: (0..POINTS).map(value).filter_map(point).collect() }
    }
}

/// The parts of some lines at whose points something holds.
fn parts(lines: Vec<Vec<Point>>, holds: &dyn Fn(Point) -> bool) -> Vec<Vec<Point>> {
    let parts = lines.iter().flat_map(|line| line.split(|point| !holds(*point)));
    parts.filter(|part| part.len() > 1).map(<[Point]>::to_vec).collect()
}

/// Round numbers of points below the best, a few of them down to the deepest; the first also by half.
fn levels(deepest: f64) -> Vec<f64> {
    if !deepest.is_finite() || deepest <= 0.0 {
        return Vec::new();
    }
    let power = 10_f64.powf((deepest / LINES).log10().floor());
    let steps = ROUND.iter().map(|round| round * power).chain([10.0 * power]);
    let step = steps.into_iter().find(|step| deepest / step <= LINES + 1e-9).unwrap_or(10.0 * power);
    let whole = (1..).map(|n| f64::from(n) * step).take_while(|level| *level <= deepest + 1e-9);
    [step / 2.0].into_iter().filter(|half| *half <= deepest).chain(whole).collect()
}

#[cfg(test)]
mod tests;
