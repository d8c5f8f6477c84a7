//! The sweet spot of a leaf: from the ways that were tasted, in one class or many, to the way that most will like, how far to trust it,
//! and what is still open. Pure: the same ledgers give the same answer.
//!
//! A way is a place: dose, temperature and time. Each taster gives each cup of a leaf one liking, and over the places lies a surface of
//! the second order, every taster's own level taken out ([`stats::surface`]). How rows come of ledgers, and why, stands in
//! `server/docs/method.md`.

pub mod answer;
pub mod coding;
pub mod drawn;
pub mod figures;
pub mod fitted;
pub mod groups;
pub mod limits;
pub mod next;
pub mod pour;
pub mod region;
pub mod rows;
pub mod say;
pub mod sure_enough;
pub mod votes;

use crate::several::digest::Digest;
use answer::{Answer, AnswerKind};
use coding::{Coding, Factor};
use figures::Fit;
use fitted::{Assumed, Fitted, Scale};
use groups::TwoGroups;
use room::light::ClassScores;
use rows::{Leaf, Tasted};
use schemars::JsonSchema;
use serde::Serialize;
use votes::{VotesFit, WithLiking};

/// The number of the JSON shape; a change of meaning gets a new one, added fields do not.
pub const FORMAT: u32 = 1;

/// The sweet spots of the leaves of some classes. Its JSON is documented in `server/docs/json.md`.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Spots {
    /// The number of this shape: 1.
    pub format: u32,
    /// The classes that were read, in the order of their days.
    pub classes: Vec<ClassRead>,
    /// The attribute that ways are judged by: the liking, or where there is none of that name the one with most scores; `null`
    /// without any. A class that scores it on another scale, or not at all, says nothing here.
    pub judged_by: Option<Judged>,
    /// Every leaf whose name may be known, that with the most ways first.
    pub leaves: Vec<Spot>,
}

/// One class that was read.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ClassRead {
    /// Its number here, from 1.
    pub class: usize,
    /// Its title.
    pub title: String,
    /// Its day, YYYY-MM-DD.
    pub date: String,
    /// Whether it is left out, as a rehearsal beside classes.
    pub left_out: bool,
}

/// The scale that ways are judged by.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Judged {
    /// The attribute.
    pub attribute: String,
    /// The lowest point of its scale.
    pub min: i32,
    /// The highest point.
    pub max: i32,
}

/// One leaf.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Spot {
    /// The leaf.
    pub leaf: String,
    /// The numbers of the classes that tasted it.
    pub classes: Vec<usize>,
    /// How many tasters scored it, one who sat in two classes counting as two.
    pub tasters: usize,
    /// How many cups were scored; the steeps of a tea that one taster had are one cup here.
    pub cups: usize,
    /// What to do, and how sure that is.
    pub answer: Answer,
    /// What was varied, and how it is coded; empty where all ways are one.
    pub factors: Vec<Factor>,
    /// The ways that were tasted.
    pub ways: Vec<Tasted>,
    /// The surface of the liking; `null` where it can't be fitted, and `no_fit` says why.
    pub fit: Option<Fit>,
    /// Why there is no surface; `null` where there is one.
    pub no_fit: Option<String>,
    /// The strength votes over the same places, one vote for each taster and way; `null` where they can't be fitted.
    pub votes: Option<VotesFit>,
    /// Why there is none of the votes; `null` where there is one.
    pub no_votes: Option<String>,
    /// Two groups of tasters who like it best in different ways; `null` where none are shown.
    pub groups: Option<TwoGroups>,
    /// What the numbers of each leaf are made of, for whoever goes on from here.
    #[serde(skip)]
    pub behind: Behind,
}

/// What the surface was fitted to.
#[derive(Clone, Debug, PartialEq)]
pub struct Behind {
    /// The rows of the leaf.
    pub leaf: Leaf,
    /// How places are coded.
    pub coding: Coding,
    /// The fit.
    pub fitted: Option<Fitted>,
}

/// The sweet spots of some classes, which come in the order of their days; with the weak prior that says "a hill not far outside what
/// was tasted", or by least squares alone.
pub fn spots(classes: &[(ClassScores, Digest)], assumed: Option<Assumed>) -> Spots {
    let rows = rows::rows(classes);
    let scale = scale(rows.judged.as_ref());
    let mut leaves: Vec<Spot> = rows.leaves.into_iter().map(|leaf| spot(leaf, scale, assumed)).collect();
    leaves.sort_by_key(|spot| std::cmp::Reverse(spot.ways.len()));
    Spots { format: FORMAT, classes: rows.classes, judged_by: rows.judged, leaves }
}

fn scale(judged: Option<&Judged>) -> Scale {
    let (low, high) = judged.map_or((1, 9), |judged| (judged.min, judged.max));
    Scale { low: low.into(), high: high.into() }
}

impl Spots {
    /// The scale that ways are judged by.
    pub fn scale(&self) -> Scale {
        scale(self.judged_by.as_ref())
    }
}

/// The sweet spot of one leaf.
pub fn spot(leaf: Leaf, scale: Scale, assumed: Option<Assumed>) -> Spot {
    let coding = Coding::of(&leaf);
    let fitted = fitted::fitted(&leaf, &coding, scale, assumed);
    let votes = votes::model(&leaf, &coding);
    let (fitted, with_liking) = match (fitted, &votes) {
        (Ok(fitted), Ok(votes)) => {
            let (fitted, with) = fitted.with_votes(&leaf, &coding, scale, votes);
            (Ok(fitted), with)
        }
        (fitted, _) => (fitted, WithLiking::Apart),
    };
    let answer = answer::answer(&leaf, &coding, fitted.as_ref().ok(), assumed.is_some());
    let fit = fitted.as_ref().ok().map(|fitted| figures::figures(&leaf, &coding, fitted));
    let why = fitted.as_ref().err().map(ToString::to_string);
    let mut spot = Spot {
        leaf: leaf.name.clone(),
        classes: leaf.classes(),
        tasters: leaf.tasters(),
        cups: leaf.liked().count(),
        factors: coding.factors.clone(),
        ways: leaf.ways.clone(),
        answer,
        fit,
        no_fit: why,
        no_votes: votes.as_ref().err().map(ToString::to_string),
        votes: votes.ok().map(|votes| VotesFit::of(&leaf, &coding, votes, with_liking)),
        groups: None,
        behind: Behind { leaf, coding, fitted: fitted.ok() },
    };
    if let (Some(fitted), Some(at)) = (&spot.behind.fitted, &spot.answer.at) {
        fitted.lose(&spot.behind.coding, at, &mut spot.ways);
        // Where the best lies at an edge, many scores lie at the end of their scale, and that alone parts high scorers from low ones.
        if matches!(spot.answer.kind, AnswerKind::Top | AnswerKind::Ridge) {
            spot.groups = groups::groups(&spot.behind.leaf, &spot.behind.coding, fitted, at);
        }
    }
    spot.answer.words = say::words(&spot);
    spot
}

#[cfg(test)]
mod tests;
