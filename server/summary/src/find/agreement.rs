//! How far the tasters agree.

use crate::data::{Attribute, Data};
use crate::find::differences::{MainTest, by_ways, in_order};
use crate::known::Known;
use schemars::JsonSchema;
use serde::Serialize;
use stats::Interval;
use stats::agreement::{MeanSpearman, concordance};
use stats::icc::{Form, Icc, MeanSquares};
use stats::incomplete::complete;
use stats::interval::SIGNIFICANCE;
use stats::multiple::holm;

/// One attribute, over the steeps that all teas were served at: each taster's mean of each tea, complete tasters only. The codes
/// of one way of steeping a leaf are one tea.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Agreement {
    /// The attribute.
    pub attribute: String,
    /// Complete tasters.
    pub tasters: usize,
    /// Tasters with a value for at least one tea.
    pub scored: usize,
    /// Teas.
    pub teas: usize,
    /// Whether there is a common order, by the complete tasters' ranks: the test that goes with W. Holm over the attributes.
    pub test: Known<MainTest>,
    /// Kendall's coefficient of concordance.
    pub kendall: Known<Kendall>,
    /// ICC(2,1): how well one taster's score stands for another's, level included.
    pub icc_2_1: Known<IccFinding>,
    /// ICC(3,1): the same, differences of level not counted.
    pub icc_3_1: Known<IccFinding>,
    /// ICC(3,k): how well the mean of this class would repeat.
    pub icc_3_k: Known<IccFinding>,
}

/// Kendall's W.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Kendall {
    /// 0 no common order, 1 all the same order.
    pub w: f64,
    /// How much that is.
    pub size: AgreementSize,
    /// The mean rank correlation of every two tasters; `null` if no two have an order.
    pub spearman: Option<MeanSpearman>,
    /// Tasters who gave every tea the same score.
    pub flat_tasters: usize,
}

/// W in words; the lines between them are common practice, without a source.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum AgreementSize {
    /// Below 0.1: no agreement to speak of.
    None,
    /// From 0.1.
    Little,
    /// From 0.3.
    InPart,
    /// From 0.5, halfway to full agreement.
    Much,
    /// From 0.7.
    Nearly,
}

impl AgreementSize {
    /// Of W from 0 to 1.
    pub fn of(w: f64) -> Self {
        match w {
            w if w < 0.1 => Self::None,
            w if w < 0.3 => Self::Little,
            w if w < 0.5 => Self::InPart,
            w if w < 0.7 => Self::Much,
            _ => Self::Nearly,
        }
    }
}

/// An intraclass correlation.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct IccFinding {
    /// At most 1; below 0 if the teas' means differ less than chance would have it.
    pub value: f64,
    /// Its 95 % interval; `null` where there is none.
    pub interval: Option<Interval>,
    /// F against a true correlation of 0.
    pub f: f64,
    /// Degrees of freedom of F.
    pub df: (usize, usize),
    /// p of F.
    pub p: f64,
}

/// The agreement on every attribute.
pub fn agreement(data: &Data<'_>) -> Vec<Agreement> {
    let mut all: Vec<Agreement> = data.attributes.iter().map(|attribute| one(data, attribute)).collect();
    let tests: Vec<&mut MainTest> = all.iter_mut().filter_map(|found| found.test.get_mut()).collect();
    let p: Vec<f64> = tests.iter().map(|test| test.p).collect();
    let adjusted = holm(&p).unwrap_or_else(|_| p.clone());
    for (test, p_holm) in tests.into_iter().zip(adjusted) {
        (test.p_holm, test.family) = (p_holm, p.len());
    }
    all
}

/// With gaps: of fewer complete tasters it is not said whether they agree, nor of fewer than half of those who scored. Our own rule.
const FEWEST: usize = 5;

impl Agreement {
    /// Whether so few scored every tea that it is not said whether the tasters agree.
    pub fn too_few(&self) -> bool {
        self.tasters < self.scored && (self.tasters < FEWEST || self.tasters * 2 < self.scored)
    }

    /// Whether a common order is shown.
    pub fn shown(&self) -> bool {
        !self.too_few() && self.test.get().is_some_and(|test| test.p_holm <= SIGNIFICANCE)
    }
}

fn one(data: &Data<'_>, attribute: &Attribute) -> Agreement {
    let places = attribute.scored(None);
    let columns = attribute.compared(&places, None).columns;
    let row = |seat: usize| -> Vec<Option<f64>> { columns.iter().map(|column| column[seat]).collect() };
    let rows: Vec<Vec<Option<f64>>> = match by_ways(data, &places, &columns) {
        Some((_, rows)) => rows,
        None => (0..data.seats.len()).map(row).collect(),
    };
    let teas = rows.first().map_or(0, Vec::len);
    let full = complete(&rows).rows;
    let kendall = concordance(&full).map(|found| Kendall {
        w: found.w,
        size: AgreementSize::of(found.w),
        spearman: found.spearman,
        flat_tasters: found.flat_tasters,
    });
    let squares = MeanSquares::of(&full);
    let icc = |form| squares.and_then(|squares| squares.icc(form)).map(IccFinding::of).into();
    Agreement {
        attribute: attribute.name.clone(),
        tasters: full.len(),
        scored: rows.iter().filter(|row| row.iter().any(Option::is_some)).count(),
        teas,
        test: in_order(&full, teas),
        kendall: kendall.into(),
        icc_2_1: icc(Form::RandomSingle),
        icc_3_1: icc(Form::FixedSingle),
        icc_3_k: icc(Form::FixedMean),
    }
}

impl IccFinding {
    fn of(found: Icc) -> Self {
        Self { value: found.value, interval: found.interval, f: found.f, df: found.df, p: found.p }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn agreement_is_called_by_its_size() {
        let sizes = [0.04, 0.1, 0.3, 0.5, 0.7, 1.0].map(AgreementSize::of);
        use AgreementSize::{InPart, Little, Much, Nearly, None};
        assert_eq!(sizes, [None, Little, InPart, Much, Nearly, Nearly]);
    }
}
