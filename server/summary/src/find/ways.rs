//! Two ways of steeping one leaf.

use crate::data::{Attribute, Compared, Data};
use crate::known::Known;
use class::Tea;
use class::steeping::Steeping;
use protocol::Code;
use schemars::JsonSchema;
use serde::Serialize;
use stats::describe::describe;
use stats::interval::CONFIDENCE;
use stats::multiple::holm;
use stats::paired::{Paired, paired};
use stats::wilcoxon::{Wilcoxon, wilcoxon};

/// Two revealed teas that are one leaf.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TwoWays {
    /// The leaf.
    pub leaf: String,
    /// One tea.
    pub first: Code,
    /// The other.
    pub second: Code,
    /// How the first is steeped, for instance "3 g, 100 ml, 95 °C, 45 60 90 s".
    pub first_way: String,
    /// How the second is steeped.
    pub second_way: String,
    /// Whether both are steeped the same way: a true repeat under two codes.
    pub same_way: bool,
    /// Each attribute: over the steeps, then steep by steep.
    pub comparisons: Vec<Comparison>,
}

/// One attribute of the two.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Comparison {
    /// The attribute.
    pub attribute: String,
    /// The steep of both, `null` over the steeps.
    pub steep: Option<u32>,
    /// The steeps that go in: over the steeps those that both were served at.
    pub steeps: Vec<u32>,
    /// Tasters who scored both.
    pub n: usize,
    /// Each of them.
    pub tasters: Vec<ScoredBoth>,
    /// The mean of first less second, points; `null` without tasters.
    pub mean_difference: Option<f64>,
    /// The exact signed rank test, with the smallest p that so many tasters can reach.
    pub wilcoxon: Known<Wilcoxon>,
    /// The signed rank test's p by Holm, over the attributes (over the steeps) or attributes and steeps (at one).
    pub p_holm: Option<f64>,
    /// The paired t test with the difference's interval and d_z.
    pub paired: Known<Paired>,
}

/// One taster who scored both.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ScoredBoth {
    /// The seat's name.
    pub seat: String,
    /// The first tea, points; over the steeps the mean of those that go in.
    pub first: f64,
    /// The second tea.
    pub second: f64,
}

/// The revealed teas that are one leaf steeped in one way, where there is more than one of them.
pub fn repeats(data: &Data<'_>) -> Vec<Vec<usize>> {
    data.ways(Tea::leaf_key).into_iter().map(|(_, teas)| teas).filter(|teas| teas.len() > 1).collect()
}

/// Every two revealed teas of one leaf. While one of them is blind, that they belong together is not told.
pub fn ways(data: &Data<'_>) -> Vec<TwoWays> {
    let steeped = data.ways(Tea::leaf_key);
    let mut all = Vec::new();
    for teas in data.leaves() {
        for (i, &first) in teas.iter().enumerate() {
            all.extend(teas[i + 1..].iter().filter_map(|&second| two_ways(data, &steeped, first, second)));
        }
    }
    all
}

fn two_ways(
    data: &Data<'_>,
    steeped: &[(Steeping, Vec<usize>)],
    first: usize,
    second: usize,
) -> Option<TwoWays> {
    let way = |tea: usize| steeped.iter().find(|(_, teas)| teas.contains(&tea)).map(|(way, _)| way);
    let (first_way, second_way) = (way(first)?, way(second)?);
    let shared = |steep: &u32| [first, second].iter().all(|&t| data.teas[t].steeps.contains(steep));
    let steeps: Vec<u32> = (1..=data.last_steep()).filter(shared).collect();
    let mut comparisons = Vec::new();
    for attribute in &data.attributes {
        let of = |steep| comparison(data, attribute, (first, second), steep);
        comparisons.extend(std::iter::once(None).chain(steeps.iter().copied().map(Some)).map(of));
    }
    adjust(&mut comparisons, |c| c.steep.is_none());
    adjust(&mut comparisons, |c| c.steep.is_some());
    Some(TwoWays {
        leaf: data.teas[first].open?.leaf.clone(),
        first: data.teas[first].code,
        second: data.teas[second].code,
        first_way: first_way.to_string(),
        second_way: second_way.to_string(),
        same_way: first_way == second_way,
        comparisons,
    })
}

fn comparison(
    data: &Data<'_>,
    attribute: &Attribute,
    (first, second): (usize, usize),
    steep: Option<u32>,
) -> Comparison {
    let Compared { steeps, columns } = attribute.compared(&[first, second], steep);
    let both = data.seats.iter().zip(columns[0].iter().zip(&columns[1]));
    let of_seat = |(seat, (first, second)): (&&str, (&Option<f64>, &Option<f64>))| {
        Some(ScoredBoth { seat: (*seat).to_string(), first: (*first)?, second: (*second)? })
    };
    let tasters: Vec<ScoredBoth> = both.filter_map(of_seat).collect();
    let differences: Vec<f64> = tasters.iter().map(|taster| taster.first - taster.second).collect();
    Comparison {
        attribute: attribute.name.clone(),
        steep,
        steeps,
        n: differences.len(),
        tasters,
        mean_difference: describe(&differences).ok().map(|d| d.mean),
        wilcoxon: wilcoxon(&differences).into(),
        p_holm: None,
        paired: paired(&differences, CONFIDENCE).into(),
    }
}

/// Holm over the signed rank tests of one family.
fn adjust(all: &mut [Comparison], family: impl Fn(&Comparison) -> bool) {
    let mut tested: Vec<(&mut Option<f64>, f64)> = all
        .iter_mut()
        .filter(|c| family(c))
        .filter_map(|c| Some((&mut c.p_holm, c.wilcoxon.get()?.p)))
        .collect();
    let p: Vec<f64> = tested.iter().map(|(_, p)| *p).collect();
    for ((place, _), adjusted) in tested.iter_mut().zip(holm(&p).unwrap_or(p)) {
        **place = Some(adjusted);
    }
}
