//! What a surface of the second order looks like, and where its best way is: a top, a ridge, or in which direction.
//!
//! The canonical analysis of Box & Wilson, with the rule of Lenth (Journal of Statistical Software 32(7), 2009) for a bend that is
//! next to none: a stationary point far off along it would be an accident.

use super::shape::Shape;
use super::{Estimate, Surface};
use crate::Cannot;
use crate::eigen::{Axis, axes};
use crate::linear::{dot, sandwich, times};
use schemars::JsonSchema;
use serde::Serialize;

/// A bend below this share of the strongest counts as none.
const FLAT: f64 = 0.1;

/// What the surface is about its stationary point.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// It falls to all sides.
    Top,
    /// It rises to all sides.
    Bottom,
    /// It rises to some sides and falls to others.
    Saddle,
    /// Along some direction it does not bend; to all others it falls.
    Ridge,
    /// Along some direction it does not bend; to all others it rises.
    Valley,
    /// It does not bend at all.
    Plane,
}

/// The canonical analysis of a surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Canonical {
    pub kind: Kind,
    /// Where it is level, in coded units; on a ridge, the point of the ridge nearest to the centre. Nothing for a plane.
    pub stationary: Option<Vec<f64>>,
    /// How it bends along each of its axes, points per square of a coded unit, the largest first. Flat ones are not set to zero.
    pub axes: Vec<Axis>,
    /// Which of the axes count as flat.
    pub flat: Vec<bool>,
    /// The direction in which the flat axes rise, of length 1. Nothing if none is flat, or the ridge is level.
    pub uphill: Option<Vec<f64>>,
}

/// The canonical analysis of a surface's coefficients.
pub fn canonical(shape: &Shape, coefficients: &[f64]) -> Canonical {
    let (slopes, bends) = shape.parted(coefficients);
    let axes = axes(&bends);
    let strongest = axes.iter().map(|axis| axis.value.abs()).fold(0.0, f64::max);
    let flat: Vec<bool> =
        axes.iter().map(|axis| strongest == 0.0 || axis.value.abs() < FLAT * strongest).collect();
    let bent = || axes.iter().zip(&flat).filter(|(_, flat)| !**flat).map(|(axis, _)| axis);
    let level = || axes.iter().zip(&flat).filter(|(_, flat)| **flat).map(|(axis, _)| axis);
    let kind = match (bent().any(|axis| axis.value > 0.0), bent().any(|axis| axis.value < 0.0)) {
        (true, true) => Kind::Saddle,
        (true, false) if level().next().is_some() => Kind::Valley,
        (false, true) if level().next().is_some() => Kind::Ridge,
        (true, false) => Kind::Bottom,
        (false, true) => Kind::Top,
        (false, false) => Kind::Plane,
    };
    let along = |axes: &mut dyn Iterator<Item = &Axis>, far: &dyn Fn(&Axis) -> f64| {
        let mut point = vec![0.0; shape.factors];
        for axis in axes {
            let far = far(axis);
            point.iter_mut().zip(&axis.direction).for_each(|(sum, part)| *sum += far * part);
        }
        point
    };
    let stationary = along(&mut bent(), &|axis| -dot(&axis.direction, &slopes) / (2.0 * axis.value));
    let uphill = along(&mut level(), &|axis| dot(&axis.direction, &slopes));
    Canonical {
        kind,
        stationary: (kind != Kind::Plane).then_some(stationary),
        uphill: unit(uphill),
        axes,
        flat,
    }
}

/// The same direction with length 1; nothing if it has none.
fn unit(direction: Vec<f64>) -> Option<Vec<f64>> {
    let length = dot(&direction, &direction).sqrt();
    (length > 0.0).then(|| direction.iter().map(|part| part / length).collect())
}

/// What has been tasted: a lower and an upper end for each factor, in coded units.
#[derive(Clone, Debug, PartialEq)]
pub struct Tried {
    pub low: Vec<f64>,
    pub high: Vec<f64>,
}

impl Tried {
    /// The ends of some ways, each with as many factors. Nothing without ways.
    pub fn of<'a>(ways: impl IntoIterator<Item = &'a [f64]>) -> Option<Self> {
        let mut ways = ways.into_iter();
        let first = ways.next()?.to_vec();
        let mut tried = Self { low: first.clone(), high: first };
        for way in ways {
            for (i, &x) in way.iter().enumerate() {
                (tried.low[i], tried.high[i]) = (tried.low[i].min(x), tried.high[i].max(x));
            }
        }
        Some(tried)
    }

    /// Whether a way lies between the ends, these included.
    pub fn holds(&self, x: &[f64]) -> bool {
        x.iter().zip(self.low.iter().zip(&self.high)).all(|(x, (low, high))| low <= x && x <= high)
    }
}

/// Where the best way is, as far as what was tasted tells.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Best {
    /// A top inside what was tasted.
    Top {
        /// The way, in coded units.
        at: Vec<f64>,
    },
    /// A ridge through what was tasted: many ways are about as good.
    Ridge {
        /// The ridge's point nearest to the centre, in coded units.
        at: Vec<f64>,
        /// In which direction it rises, of length 1; nothing if it is level.
        uphill: Option<Vec<f64>>,
    },
    /// No top inside: the best of what was tasted lies at its edge.
    Edge {
        /// The best way inside what was tasted, by the surface, in coded units.
        at: Vec<f64>,
        /// From there, in which direction it still rises out of what was tasted, of length 1.
        go: Vec<f64>,
    },
    /// Nothing changes the score.
    Nowhere,
}

/// The best way by a surface's coefficients inside what was tasted. A point outside is never named; a top is one only if no bend is
/// flat.
pub fn best(shape: &Shape, coefficients: &[f64], tried: &Tried) -> Best {
    let found = canonical(shape, coefficients);
    match (found.kind, found.stationary) {
        (Kind::Top, Some(at)) if tried.holds(&at) => return Best::Top { at },
        (Kind::Ridge, Some(at)) if tried.holds(&at) => return Best::Ridge { at, uphill: found.uphill },
        _ => {}
    }
    let at = highest(shape, coefficients, tried);
    let slopes = times(&shape.slopes(&at), coefficients);
    let outward = |(i, &slope): (usize, &f64)| {
        let out = (slope > 0.0 && at[i] >= tried.high[i]) || (slope < 0.0 && at[i] <= tried.low[i]);
        if out { slope } else { 0.0 }
    };
    match unit(slopes.iter().enumerate().map(outward).collect()) {
        Some(go) => Best::Edge { at, go },
        None => Best::Nowhere,
    }
}

/// The highest point of a surface of the second order between the ends. It is stationary within some face of the box: every face
/// has some factors at an end, and all are looked at, 3 to the power of the factors.
pub fn highest(shape: &Shape, coefficients: &[f64], tried: &Tried) -> Vec<f64> {
    let (slopes, bends) = shape.parted(coefficients);
    let height = |x: &[f64]| dot(x, &slopes) + dot(x, &times(&bends, x));
    let faces = 3_usize.pow(shape.factors as u32);
    let point = |face: usize| {
        let end = |i: usize| match face / 3_usize.pow(i as u32) % 3 {
            0 => Some(tried.low[i]),
            1 => Some(tried.high[i]),
            _ => None,
        };
        let free: Vec<usize> = (0..shape.factors).filter(|&i| end(i).is_none()).collect();
        let mut x: Vec<f64> = (0..shape.factors).map(|i| end(i).unwrap_or(0.0)).collect();
        let given = times(&bends, &x);
        let slopes: Vec<f64> = free.iter().map(|&i| slopes[i] + 2.0 * given[i]).collect();
        let within: Vec<Vec<f64>> =
            free.iter().map(|&i| free.iter().map(|&j| bends[i][j]).collect()).collect();
        for axis in axes(&within) {
            // A face that does not fall to all sides has its highest point at its own edge.
            if axis.value >= 0.0 {
                return None;
            }
            let far = -dot(&axis.direction, &slopes) / (2.0 * axis.value);
            free.iter().zip(&axis.direction).for_each(|(&i, part)| x[i] += far * part);
        }
        tried.holds(&x).then_some(x)
    };
    let points = (0..faces).filter_map(point);
    points.max_by(|a, b| height(a).total_cmp(&height(b))).unwrap_or_else(|| tried.low.clone())
}

/// A surface's level point, and how sure it is.
#[derive(Clone, Debug, PartialEq)]
pub struct LevelPoint {
    /// In coded units.
    pub at: Vec<f64>,
    /// The variances and covariances by the delta method.
    pub covariance: Vec<Vec<f64>>,
}

impl LevelPoint {
    /// Each factor with its standard error.
    pub fn estimates(&self) -> Vec<Estimate> {
        let own =
            |(i, &value): (usize, &f64)| Estimate { value, standard_error: self.covariance[i][i].sqrt() };
        self.at.iter().enumerate().map(own).collect()
    }
}

impl Surface {
    /// The surface's level point.
    ///
    /// # Errors
    /// A plane, or a bend that counts as flat: then the point is anywhere along it.
    pub fn level_point(&self) -> Result<LevelPoint, Cannot> {
        let found = canonical(&self.shape, &self.coefficients);
        let at = found.stationary.filter(|_| !found.flat.contains(&true)).ok_or(Cannot::FlatBend)?;
        // The slopes at the point are 0; where they are not, the point moves by −(2B)⁻¹ of them.
        let part = |i: usize, j: usize| {
            found.axes.iter().map(|a| a.direction[i] * a.direction[j] / (2.0 * a.value)).sum::<f64>()
        };
        let moves: Vec<Vec<f64>> =
            (0..at.len()).map(|i| (0..at.len()).map(|j| part(i, j)).collect()).collect();
        let covariance = sandwich(&moves, &self.slopes(&at).1);
        Ok(LevelPoint { at, covariance })
    }
}

#[cfg(test)]
mod tests;
