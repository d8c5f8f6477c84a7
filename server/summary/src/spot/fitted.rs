//! The surface of a leaf's liking, and what it is judged by.

use super::coding::Coding;
use super::rows::{Leaf, Tasted};
use super::votes::WithLiking;
use plan::ways::choose::HILL;
use schemars::JsonSchema;
use serde::Serialize;
use stats::Cannot;
use stats::anova::{Effect, Leftover};
use stats::surface::canonical::{Best, Tried, best};
use stats::surface::ends::{Ended, fit_ended};
use stats::surface::prior::Prior;
use stats::surface::shape::Shape;
use stats::surface::varied::varied;
use stats::surface::{Run, Surface, fit};
use stats::votes_surface::VotesSurface;
use stats::votes_surface::beside::Beside;

/// From the lowest to the highest point of a scale from 1 to 9: on another scale the prior's points stretch with it.
const USUAL_RANGE: f64 = 8.0;
/// The spread of one score to begin with, points of a scale from 1 to 9; then the scores' own is taken.
const NOISE: f64 = HILL.noise;
/// With as many classes or more the ways' differences from class to class are the error: what is said is to hold for other classes.
const LEAST_CLASSES: usize = 3;

/// So many degrees of freedom single cups lend to the ways' differences from class to class. Chosen by the classes that `recover` draws.
const LEAN: usize = 8;

/// The best liked may lie so many steps off where the strength votes balance, a standard deviation. Chosen by the classes that `recover`
/// draws.
const OFF: f64 = 1.0;

/// Where ways that are all liked the same would differ so much in more draws than these, nothing is shown.
const LEVEL: f64 = 0.05;

/// The scale of the scores.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// Its lowest point.
    pub low: f64,
    /// Its highest point.
    pub high: f64,
}

impl Scale {
    /// How many of its points stand for one of a scale from 1 to 9.
    pub fn points(self) -> f64 {
        (self.high - self.low) / USUAL_RANGE
    }
}

/// What is assumed of a hill beforehand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Assumed {
    /// So many points of a scale from 1 to 9 are lost one step from the top, give or take as many.
    pub loss: f64,
    /// Two tops of three lie within so many steps of the middle of what was tasted, along each factor.
    pub reach: f64,
}

/// What is assumed unless nothing is to be. Chosen by the classes that `recover` draws; see `server/docs/method.md`.
pub const USUAL: Assumed = Assumed { loss: HILL.loss, reach: HILL.reach };

/// What the surface is judged by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Error {
    /// What single cups are off the surface: it speaks for these classes.
    Cups,
    /// What the ways' means in each class are off the surface: it speaks for classes like these.
    WaysInClasses,
}

/// A surface that was fitted.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// The surface, with the error that it is judged by.
    pub surface: Surface,
    /// Its runs, those at an end of the scale as far beyond it as the surface has them; the only kind of blocks is the taster, and a taster
    /// sits in one class.
    pub runs: Vec<Run>,
    /// What it is judged by.
    pub error: Error,
    /// The prior; nothing for least squares.
    pub prior: Option<Prior>,
    /// What was tasted.
    pub tried: Tried,
    /// Where the best way is.
    pub best: Best,
    /// Whether anything that was varied is shown to change the liking; nothing where that can't be tested.
    pub varied: Option<Effect>,
}

/// Fits the surface of a leaf.
///
/// # Errors
/// Why it can't be: nothing was varied, or without a prior too few ways.
pub fn fitted(
    leaf: &Leaf,
    coding: &Coding,
    scale: Scale,
    assumed: Option<Assumed>,
) -> Result<Fitted, Cannot> {
    let shape = Shape::second_order(coding.factors.len());
    if coding.factors.is_empty() {
        return Err(Cannot::Ways(2));
    }
    let runs = runs(leaf, coding);
    let tried = Tried::of(runs.iter().map(|run| run.at.as_slice())).ok_or(Cannot::Scores(1))?;
    let points = scale.points();
    let hill = |noise: f64| assumed.map(|hill| Prior::hill(noise, hill.loss * points, hill.reach));
    let first = hill(NOISE * points);
    let (Ended { surface, .. }, _) = judged(leaf, &runs, &shape, first.as_ref(), scale)?;
    let prior = hill(surface.residual.mean_square.sqrt());
    let (Ended { surface, runs, .. }, error) = judged(leaf, &runs, &shape, prior.as_ref(), scale)?;
    let best = best(&shape, &surface.coefficients, &tried);
    // Without the prior, which would have a hill even where all ways are liked the same. Scores at an end stand where the surface has them,
    // as they do in its error.
    let varied = varied(&runs, &shape, Some(surface.residual)).ok();
    Ok(Fitted { surface, runs, error, prior, tried, best, varied })
}

/// What was given, cup by cup.
fn runs(leaf: &Leaf, coding: &Coding) -> Vec<Run> {
    leaf.liked()
        .map(|(cup, score)| Run { at: coding.code(&cup.place), blocks: vec![cup.taster], score })
        .collect()
}

/// A surface with the error that holds for it. Least squares alone take every score as it is given; else one at an end of its scale may
/// lie beyond it.
fn judged(
    leaf: &Leaf,
    runs: &[Run],
    shape: &Shape,
    prior: Option<&Prior>,
    scale: Scale,
) -> Result<(Ended, Error), Cannot> {
    let ended = match prior {
        Some(_) => fit_ended(runs, shape, prior, (scale.low, scale.high))?,
        None => {
            Ended { surface: fit(runs, shape, None)?, runs: runs.to_vec(), hidden: vec![0.0; runs.len()] }
        }
    };
    Ok(match between_classes(leaf, &ended) {
        Some(error) => (Ended { surface: ended.surface.judged_by(error), ..ended }, Error::WaysInClasses),
        None => (ended, Error::Cups),
    })
}

fn between_classes(leaf: &Leaf, ended: &Ended) -> Option<Leftover> {
    let cells: Vec<usize> = leaf.liked().map(|(cup, _)| cup.class * leaf.ways.len() + cup.way).collect();
    let mut classes: Vec<usize> = leaf.liked().map(|(cup, _)| cup.class).collect();
    classes.dedup();
    // One taster in each class has no spread to set apart: there the two errors are one.
    let alone = leaf.tasters() == classes.len();
    let enough = classes.len() >= LEAST_CLASSES && !alone;
    let cells =
        ended.surface.between_cells(&ended.runs, &ended.hidden, &cells, classes.len()).filter(|_| enough)?;
    // Of a few classes the cells' own spread is hardly known: it is drawn towards that of single cups, which they spread by at least. A rule
    // of our own; from memory, moderated variances of the kind are common practice.
    let cups = ended.surface.residual.mean_square;
    let df = cells.df + LEAN;
    let mean_square = (cells.df as f64 * cells.mean_square + LEAN as f64 * cups) / df as f64;
    // What moves from class to class comes on top of what single cups are off: where it looks like less, that is chance.
    let mean_square = mean_square.max(cups);
    Some(Leftover { mean_square, df, squares: mean_square * df as f64 })
}

impl Fitted {
    /// The same with the strength votes joined where they agree with the best liked to within chance, and what they do beside it.
    /// Where nothing is assumed, or of fewer than three classes, they stand apart.
    pub fn with_votes(
        self,
        leaf: &Leaf,
        coding: &Coding,
        scale: Scale,
        votes: &VotesSurface,
    ) -> (Self, WithLiking) {
        let (Best::Top { at } | Best::Ridge { at, .. } | Best::Edge { at, .. }) = &self.best else {
            return (self, WithLiking::Apart);
        };
        // Of fewer classes the liking is known too little to see that votes are off: then they cost more than they gain.
        if leaf.classes().len() < LEAST_CLASSES {
            return (self, WithLiking::Apart);
        }
        let Some(prior) = &self.prior else { return (self, WithLiking::Apart) };
        let level = match votes.beside(&self.surface, at, OFF) {
            Ok(Beside::Agree(level)) => level,
            Ok(Beside::Stronger) => return (self, WithLiking::Stronger),
            Ok(Beside::Lighter) => return (self, WithLiking::Lighter),
            Err(_) => return (self, WithLiking::Apart),
        };
        let prior = Some(Prior { level: Some(level), ..prior.clone() });
        let shape = &self.surface.shape;
        let Ok((Ended { surface, runs, .. }, error)) =
            judged(leaf, &runs(leaf, coding), shape, prior.as_ref(), scale)
        else {
            return (self, WithLiking::Apart);
        };
        let best = best(shape, &surface.coefficients, &self.tried);
        (
            Self { surface, runs, error, prior, best, tried: self.tried, varied: self.varied },
            WithLiking::Joined,
        )
    }

    /// Where the best way lies before it is rounded to what can be poured: the region is about that.
    pub fn middle(&self) -> Vec<f64> {
        match &self.best {
            Best::Top { at } | Best::Ridge { at, .. } | Best::Edge { at, .. } => at.clone(),
            Best::Nowhere => vec![0.0; self.tried.low.len()],
        }
    }

    /// Whether the best lies at an edge of what was tasted.
    pub fn at_edge(&self) -> bool {
        matches!(self.best, Best::Edge { .. })
    }

    /// Whether what was varied may as well change nothing: all ways then differ by no more than chance makes them.
    pub fn may_be_flat(&self) -> bool {
        self.varied.is_some_and(|found| found.p > LEVEL)
    }

    /// Says of every way how many points a place in coded units is expected to lie above it.
    pub fn lose(&self, coding: &Coding, at: &[f64], ways: &mut [Tasted]) {
        for way in ways {
            way.lost = Some(self.surface.difference(at, &coding.code(&way.place)));
        }
    }
}
