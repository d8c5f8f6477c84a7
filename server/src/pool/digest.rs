//! One class worked up for pooling: counts and figures of every cup and attribute, and each taster's mean of each tea.

use super::record::Record;
use crate::stats::describe::describe;
use crate::summary::findings::data::CUPS_SCORED;
use protocol::Strength;
use serde::Serialize;

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
    pub fn figures(&self) -> Option<Figures> {
        let each = self.0.iter().flat_map(|&(points, times)| std::iter::repeat_n(f64::from(points), times));
        let found = describe(&each.collect::<Vec<f64>>()).ok()?;
        Some(Figures {
            n: found.n,
            mean: found.mean,
            sd: found.sd,
            min: found.min,
            lower_quartile: found.lower_quartile,
            median: found.median,
            upper_quartile: found.upper_quartile,
            max: found.max,
        })
    }
}

/// The figures of some points; quartiles are interpolated between the points in order.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Figures {
    /// How many.
    pub n: usize,
    /// Arithmetic mean.
    pub mean: f64,
    /// Standard deviation of a sample (divisor n − 1); `null` for a single one.
    pub sd: Option<f64>,
    /// The lowest.
    pub min: f64,
    /// A quarter of the way through.
    pub lower_quartile: f64,
    /// The middle one.
    pub median: f64,
    /// Three quarters of the way through.
    pub upper_quartile: f64,
    /// The highest.
    pub max: f64,
}

/// One class.
#[derive(Clone, Debug, PartialEq)]
pub struct Digest {
    /// For each tea, steep and attribute what was given.
    pub cups: Vec<Vec<Vec<Cell>>>,
    /// For each attribute, seat and tea the mean over the steeps that the seat scored; none if they are fewer than
    /// [`CUPS_SCORED`] of the steeps that anybody of the class scored.
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
    pub figures: Option<Figures>,
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
        let mut sums = vec![vec![vec![(0, 0u32); teas.len()]; record.seats.len()]; width];
        for (filled, points) in record.filled() {
            let steep = filled.steep as usize - 1;
            for (attribute, points) in points.iter().enumerate().filter_map(|(a, p)| Some((a, (*p)?))) {
                cups[filled.tea][steep][attribute].counts.add(points, 1);
                let (sum, count) = &mut sums[attribute][filled.seat][filled.tea];
                (*sum, *count) = (*sum + i64::from(points), *count + 1);
            }
            if let Some(strength) = filled.strength {
                votes[filled.tea][steep].push(Vote { strength, points: points.to_vec() });
            }
        }
        for cell in cups.iter_mut().flatten().flatten() {
            cell.figures = cell.counts.figures();
        }
        let scored = |tea: usize, attribute: usize| {
            cups[tea].iter().filter(|cells| cells[attribute].figures.is_some()).count()
        };
        let of_attribute = |(attribute, seats): (usize, &Vec<Vec<(i64, u32)>>)| {
            let needed: Vec<f64> =
                (0..teas.len()).map(|tea| CUPS_SCORED * scored(tea, attribute) as f64).collect();
            let mean = |(&(sum, count), needed): (&(i64, u32), &f64)| {
                (count > 0 && f64::from(count) >= *needed).then(|| sum as f64 / f64::from(count))
            };
            seats.iter().map(|teas| teas.iter().zip(&needed).map(mean).collect()).collect()
        };
        let means = sums.iter().enumerate().map(of_attribute).collect();
        Self { cups, means, votes }
    }
}
