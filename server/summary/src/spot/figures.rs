//! The figures of a fitted surface, for whoever wants to check them.

use super::coding::{Coding, What};
use super::fitted::{Error, Fitted};
use super::rows::Leaf;
use schemars::JsonSchema;
use serde::Serialize;
use stats::anova::{Effect, Leftover};
use stats::surface::analysis::{Analysis, analysis};
use stats::surface::canonical::{Kind, canonical};
use stats::surface::shape::{Shape, Term};
use stats::surface::{Estimate, Run, fit};

/// The surface of a leaf's liking: score = level of the taster + slopes + products + squares. In natural units dose and time stand by
/// their natural logarithms: ln of g/100 ml, °C, ln of s.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "SpotFit")]
pub struct Fit {
    /// How many cups were scored.
    pub scores: usize,
    /// The prior; `null` for least squares.
    pub prior: Option<PriorUsed>,
    /// The score at the coded centre, the mean over the tasters.
    pub centre: Estimate,
    /// The coefficients: slopes, then products, then squares.
    pub terms: Vec<TermLine>,
    /// Each class, how far it lies above the first by its tasters; empty for one class.
    pub classes: Vec<ClassLevel>,
    /// What the surface is judged by.
    pub error: Error,
    /// What is left over, as it is judged by; of ways in classes the mean square is never below that of single cups. With a prior the
    /// squares by which the coefficients miss it are in that of cups too.
    pub residual: Leftover,
    /// Where the squares go, by least squares; `null` where these can't be had.
    pub analysis: Option<AnalysisLine>,
    /// What the surface is about its stationary point.
    pub canonical: CanonicalLine,
}

/// The prior: a hill not far outside what was tasted, as normal spreads in points per coded unit or its square.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PriorUsed {
    /// The spread of one score that it is weighed against.
    pub noise: f64,
    /// The standard deviation of a slope at the centre about 0.
    pub slope: f64,
    /// The standard deviation of a product's coefficient about 0.
    pub cross: f64,
    /// The expected coefficient of a square.
    pub bend: f64,
    /// Its standard deviation.
    pub bend_spread: f64,
}

/// One coefficient.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TermLine {
    /// The factors that it is of: one for a slope, two for a product, the same one twice for a square.
    pub of: Vec<What>,
    /// Points per coded unit, or per their product.
    pub coded: Estimate,
    /// Points per natural unit, or per their product: the polynomial over ln g/100 ml, °C and ln s.
    pub natural: Estimate,
}

/// One class's level.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "SpotClassLevel")]
pub struct ClassLevel {
    /// The class.
    pub class: usize,
    /// Points above the first class, by least squares with the classes alone as blocks.
    pub above_first: Estimate,
}

/// The analysis of variance by least squares, each source after those before it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "SpotAnalysis")]
pub struct AnalysisLine {
    /// The tasters' levels; `null` for one taster.
    pub blocks: Option<Effect>,
    /// The slopes.
    pub slopes: Effect,
    /// The products of two factors; `null` for one factor.
    pub products: Option<Effect>,
    /// The squares.
    pub squares: Option<Effect>,
    /// What is left over of single cups.
    pub residual: Leftover,
    /// What the surface misses of the ways' own means; `null` where nothing repeats, or there are no more ways than coefficients.
    pub lack_of_fit: Option<Effect>,
    /// Pure error: what ways and tasters leave over; `null` likewise.
    pub pure_error: Option<Leftover>,
    /// The share of all squares that tasters and surface explain.
    pub r_squared: f64,
    /// The same, less what chance would explain.
    pub adjusted_r_squared: f64,
}

/// The canonical analysis, in coded units.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "SpotCanonical")]
pub struct CanonicalLine {
    /// What it is. A bend below a tenth of the strongest counts as none.
    pub kind: Kind,
    /// Where it is level, in coded units; on a ridge, the point of the ridge nearest to the centre. It may lie far outside what was tasted
    /// and is no advice. `null` for a plane.
    pub stationary: Option<Vec<f64>>,
    /// The same in g/100 ml, °C and s, for each factor.
    pub stationary_at: Option<Vec<f64>>,
    /// Its standard errors in coded units, by the delta method; `null` where a bend counts as none.
    pub standard_errors: Option<Vec<f64>>,
    /// Whether it lies within what was tasted.
    pub inside: bool,
    /// The eigenvalues, points per square of a coded unit, the largest first.
    pub eigenvalues: Vec<f64>,
    /// The eigenvector of each, of length 1.
    pub directions: Vec<Vec<f64>>,
    /// Which of them count as none.
    pub flat: Vec<bool>,
}

/// The figures of a leaf's surface.
pub fn figures(leaf: &Leaf, coding: &Coding, fitted: &Fitted) -> Fit {
    let surface = &fitted.surface;
    let prior = fitted.prior.as_ref().map(|prior| PriorUsed {
        noise: prior.noise,
        slope: prior.slope,
        cross: prior.cross,
        bend: prior.bend,
        bend_spread: prior.bend_spread,
    });
    Fit {
        scores: surface.scores,
        prior,
        centre: surface.centre,
        terms: terms(coding, fitted),
        classes: classes(leaf, fitted),
        error: fitted.error,
        residual: surface.residual,
        analysis: analysis(&fitted.runs, &surface.shape).ok().map(AnalysisLine::of),
        canonical: canonical_line(coding, fitted),
    }
}

/// In natural units slopes are those at natural zero, and products and squares are divided by the steps.
fn terms(coding: &Coding, fitted: &Fitted) -> Vec<TermLine> {
    let surface = &fitted.surface;
    let zero: Vec<f64> = coding.factors.iter().map(|factor| factor.coded(0.0)).collect();
    let (slopes, covariance) = surface.slopes(&zero);
    let line = |(term, coded): (&Term, Estimate)| {
        let (of, natural) = match *term {
            Term::Slope(i) => {
                let at_zero = Estimate { value: slopes[i], standard_error: covariance[i][i].sqrt() };
                (vec![i], over(at_zero, coding.factors[i].step))
            }
            Term::Cross(i, j) => (vec![i, j], over(coded, coding.factors[i].step * coding.factors[j].step)),
            Term::Bend(i) => (vec![i, i], over(coded, coding.factors[i].step.powi(2))),
        };
        TermLine { of: of.into_iter().map(|i| coding.factors[i].what).collect(), coded, natural }
    };
    surface.shape.terms.iter().zip(surface.estimates()).map(line).collect()
}

fn over(of: Estimate, by: f64) -> Estimate {
    Estimate { value: of.value / by, standard_error: of.standard_error / by }
}

fn classes(leaf: &Leaf, fitted: &Fitted) -> Vec<ClassLevel> {
    let numbers: Vec<usize> = leaf.classes();
    let place = |class: usize| numbers.iter().position(|&number| number == class + 1).unwrap_or_default();
    let runs: Vec<Run> = leaf
        .liked()
        .zip(&fitted.runs)
        .map(|((cup, _), run)| Run { blocks: vec![place(cup.class)], ..run.clone() })
        .collect();
    let shape: &Shape = &fitted.surface.shape;
    let Ok(surface) = fit(&runs, shape, fitted.prior.as_ref()) else { return Vec::new() };
    let above = |(place, &class): (usize, &usize)| {
        Some(ClassLevel { class, above_first: surface.level_above(place, 0)? })
    };
    numbers.iter().enumerate().skip(1).filter_map(above).collect()
}

impl AnalysisLine {
    fn of(found: Analysis) -> Self {
        Self {
            blocks: found.blocks,
            slopes: found.slopes,
            products: found.crosses,
            squares: found.bends,
            residual: found.residual,
            lack_of_fit: found.lack_of_fit,
            pure_error: found.pure,
            r_squared: found.r_squared,
            adjusted_r_squared: found.adjusted_r_squared,
        }
    }
}

fn canonical_line(coding: &Coding, fitted: &Fitted) -> CanonicalLine {
    let surface = &fitted.surface;
    let found = canonical(&surface.shape, &surface.coefficients);
    let said = |at: &Vec<f64>| -> Vec<f64> {
        coding.factors.iter().zip(at).map(|(factor, coded)| factor.said(*coded)).collect()
    };
    // Far off a ridge e to the power of it may be no number.
    let said = found.stationary.as_ref().map(said).filter(|at| at.iter().all(|v| v.is_finite()));
    CanonicalLine {
        kind: found.kind,
        inside: found.stationary.as_ref().is_some_and(|at| fitted.tried.holds(at)),
        stationary_at: said,
        stationary: found.stationary,
        standard_errors: surface
            .level_point()
            .ok()
            .map(|point| point.estimates().iter().map(|own| own.standard_error).collect()),
        eigenvalues: found.axes.iter().map(|axis| axis.value).collect(),
        directions: found.axes.iter().map(|axis| axis.direction.clone()).collect(),
        flat: found.flat,
    }
}
