//! One class worked up for pooling: counts and figures of every cup and attribute, and what each taster gave.

use crate::several::beyond::Written;
use protocol::Strength;
use room::light::ClassScores;
use stats::describe::{Description, describe};
use std::collections::BTreeSet;

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
    /// For each attribute, seat, tea and steep what was given.
    pub points: Vec<Vec<Vec<Vec<Option<i32>>>>>,
    /// For each attribute and tea the steeps, from 0, that anybody scored.
    pub scored: Vec<Vec<BTreeSet<usize>>>,
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
    /// The place of the seat that gave it.
    pub seat: usize,
    /// The vote.
    pub strength: Strength,
    /// The points of the same sheet by attribute.
    pub points: Vec<Option<i32>>,
}

impl Digest {
    /// Works up a class.
    pub fn of(record: &ClassScores) -> Self {
        let (teas, width) = (&record.class.teas, record.class.sheet.attributes.len());
        let by_steep = |tea: &class::Tea| vec![vec![Cell::default(); width]; tea.steep_s.len()];
        let mut cups: Vec<Vec<Vec<Cell>>> = teas.iter().map(by_steep).collect();
        let mut votes: Vec<Vec<Vec<Vote>>> = teas.iter().map(|t| vec![Vec::new(); t.steep_s.len()]).collect();
        let of_seat: Vec<Vec<Option<i32>>> = teas.iter().map(|t| vec![None; t.steep_s.len()]).collect();
        let mut given = vec![vec![of_seat; record.seats.len()]; width];
        let written = Written::of(record);
        let pooled = record.filled().filter(|(filled, _)| written.has(filled.tea, filled.steep));
        for (filled, points) in pooled {
            let steep = filled.steep as usize - 1;
            for (attribute, points) in points.iter().enumerate().filter_map(|(a, p)| Some((a, (*p)?))) {
                cups[filled.tea][steep][attribute].counts.add(points, 1);
                given[attribute][filled.seat][filled.tea][steep] = Some(points);
            }
            if let Some(strength) = filled.strength {
                votes[filled.tea][steep].push(Vote { seat: filled.seat, strength, points: points.to_vec() });
            }
        }
        for cell in cups.iter_mut().flatten().flatten() {
            cell.figures = cell.counts.figures();
        }
        let of_tea = |attribute: usize, cells: &Vec<Vec<Cell>>| -> BTreeSet<usize> {
            let cells = cells.iter().enumerate();
            cells.filter(|(_, cells)| cells[attribute].figures.is_some()).map(|(steep, _)| steep).collect()
        };
        let of_attribute = |attribute| cups.iter().map(|cells| of_tea(attribute, cells)).collect();
        let scored = (0..width).map(of_attribute).collect();
        Self { cups, points: given, scored, votes }
    }
}
