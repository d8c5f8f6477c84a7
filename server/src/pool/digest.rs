//! One class worked up for pooling: counts and figures of every cup and attribute, and each taster's mean of each tea.

use super::record::Record;
use crate::stats::describe::{Description, describe};
use crate::summary::findings::data::CUPS_SCORED;
use protocol::Strength;

/// How often each number of points was given, in their order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Counts(Vec<(i32, usize)>);

impl Counts {
    fn add(&mut self, points: i32, times: usize) {
        match self.0.iter().position(|&(p, _)| p >= points) {
            Some(at) if self.0[at].0 == points => self.0[at].1 += times,
            Some(at) => self.0.insert(at, (points, times)),
            None => self.0.push((points, times)),
        }
    }

    /// Takes others in.
    pub fn join(&mut self, other: &Counts) {
        other.0.iter().for_each(|&(points, times)| self.add(points, times));
    }

    /// The figures; `None` without any points.
    pub fn figures(&self) -> Option<Description> {
        let each = self.0.iter().flat_map(|&(points, times)| std::iter::repeat_n(f64::from(points), times));
        describe(&each.collect::<Vec<f64>>()).ok()
    }
}

/// One class.
#[derive(Clone, Debug, PartialEq)]
pub struct Digest {
    /// For each tea, steep and attribute what was given.
    pub cups: Vec<Vec<Vec<Cell>>>,
    /// For each attribute, seat and tea the mean over the steeps at which all teas of the class were scored, as the review
    /// of one class compares teas: none if the seat scored fewer than [`CUPS_SCORED`] of them, and set to the level of
    /// all of them where it left some out.
    pub means: Vec<Vec<Vec<Option<f64>>>>,
    /// For each tea and steep the strength votes, each with the points of the same sheet.
    pub votes: Vec<Vec<Vec<Vote>>>,
}

/// One tea, steep and attribute.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cell {
    /// What was given.
    pub counts: Counts,
    /// Its figures.
    pub figures: Option<Description>,
}

/// A strength vote.
#[derive(Clone, Debug, PartialEq)]
pub struct Vote {
    /// The vote.
    pub strength: Strength,
    /// The points of the same sheet by attribute.
    pub points: Vec<Option<i32>>,
}

impl Digest {
    /// Works up a class.
    pub fn of(record: &Record) -> Self {
        let (teas, width) = (&record.class.teas, record.class.sheet.attributes.len());
        let by_steep = |tea: &crate::class::Tea| vec![vec![Cell::default(); width]; tea.steep_s.len()];
        let mut cups: Vec<Vec<Vec<Cell>>> = teas.iter().map(by_steep).collect();
        let mut votes: Vec<Vec<Vec<Vote>>> = teas.iter().map(|t| vec![Vec::new(); t.steep_s.len()]).collect();
        for (filled, points) in record.filled() {
            let steep = filled.steep as usize - 1;
            for (attribute, points) in points.iter().enumerate().filter_map(|(a, p)| Some((a, (*p)?))) {
                cups[filled.tea][steep][attribute].counts.add(points, 1);
            }
            if let Some(strength) = filled.strength {
                votes[filled.tea][steep].push(Vote { strength, points: points.to_vec() });
            }
        }
        for cell in cups.iter_mut().flatten().flatten() {
            cell.figures = cell.counts.figures();
        }
        let means = means(record, &cups);
        Self { cups, means, votes }
    }
}

/// What one seat gave one tea for one attribute at the steeps that count.
#[derive(Clone, Copy, Default)]
struct Given {
    points: i64,
    levels: f64,
    steeps: usize,
}

fn means(record: &Record, cups: &[Vec<Vec<Cell>>]) -> Vec<Vec<Vec<Option<f64>>>> {
    let width = record.class.sheet.attributes.len();
    let levels: Vec<Vec<Option<f64>>> = (0..width).map(|attribute| levels(cups, attribute)).collect();
    let mut given = vec![vec![vec![Given::default(); cups.len()]; record.seats.len()]; width];
    for (filled, points) in record.filled() {
        for (attribute, points) in points.iter().enumerate() {
            let level = levels[attribute].get(filled.steep as usize - 1).copied().flatten();
            if let (Some(points), Some(level)) = (*points, level) {
                let given = &mut given[attribute][filled.seat][filled.tea];
                given.points += i64::from(points);
                given.levels += level;
                given.steeps += 1;
            }
        }
    }
    let of_attribute = |(seats, levels): (&Vec<Vec<Given>>, &Vec<Option<f64>>)| {
        let levels: Vec<f64> = levels.iter().copied().flatten().collect();
        seats.iter().map(|teas| teas.iter().map(|given| given.mean(&levels)).collect()).collect()
    };
    given.iter().zip(&levels).map(of_attribute).collect()
}

/// By steep the mean of all scores of an attribute there; `None` where not every tea that was scored at all was scored.
fn levels(cups: &[Vec<Vec<Cell>>], attribute: usize) -> Vec<Option<f64>> {
    let of = |steep: &Vec<Cell>| steep[attribute].figures;
    let scored: Vec<&Vec<Vec<Cell>>> =
        cups.iter().filter(|steeps| steeps.iter().any(|steep| of(steep).is_some())).collect();
    let level = |steep: usize| {
        let all: Option<Vec<Description>> =
            scored.iter().map(|steeps| steeps.get(steep).and_then(of)).collect();
        let (sum, n) =
            all?.iter().fold((0.0, 0.0), |(sum, n), f| (sum + f.mean * f.n as f64, n + f.n as f64));
        (n > 0.0).then(|| sum / n)
    };
    (0..scored.iter().map(|steeps| steeps.len()).min().unwrap_or(0)).map(level).collect()
}

impl Given {
    /// As [`crate::summary::findings::data::Attribute::compared`] has it.
    fn mean(&self, levels: &[f64]) -> Option<f64> {
        let (n, all) = (self.steeps as f64, levels.len() as f64);
        if self.steeps == 0 || n < CUPS_SCORED * all {
            return None;
        }
        let mean = self.points as f64 / n;
        if self.steeps == levels.len() {
            return Some(mean);
        }
        Some(mean + (levels.iter().sum::<f64>() / all - self.levels / n))
    }
}
