//! Describing each tea, steep, leaf and way of steeping; the single scores behind it.

use crate::data::{Attribute, Data};
use crate::known::Known;
use protocol::Code;
use schemars::JsonSchema;
use serde::Serialize;
use stats::Interval;
use stats::describe::{Description, describe, mean_interval};
use stats::interval::CONFIDENCE;

/// The figures of one attribute over one value for each taster.
///
/// What it is of is said by `tea`, `leaf`, `way` and `steep`, one of the first three being there. Where a taster gave
/// several scores (over the steeps, over the teas of a leaf), the taster's mean counts as one value, if at least half of
/// the cups are scored.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Described {
    /// The attribute.
    pub attribute: String,
    /// One tea; else `null`.
    pub tea: Option<Code>,
    /// All revealed teas of one leaf; else `null`.
    pub leaf: Option<String>,
    /// All revealed teas steeped in one way, in words; else `null`.
    pub way: Option<String>,
    /// The steep; `null` for all steeps together.
    pub steep: Option<u32>,
    /// How many tasters.
    pub n: usize,
    /// How many scores they gave.
    pub scores: usize,
    /// Arithmetic mean; `null` without scores, as are all figures below.
    pub mean: Option<f64>,
    /// Standard deviation of a sample (divisor n − 1); `null` for fewer than two tasters.
    pub sd: Option<f64>,
    /// The lowest.
    pub min: Option<f64>,
    /// A quarter of the way through the values in order, interpolated straight.
    pub lower_quartile: Option<f64>,
    /// The middle one.
    pub median: Option<f64>,
    /// Three quarters of the way.
    pub upper_quartile: Option<f64>,
    /// The highest.
    pub max: Option<f64>,
    /// The 95 % t interval of the mean.
    pub interval: Known<Interval>,
}

/// The scale of one attribute.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Scale {
    /// The attribute.
    pub attribute: String,
    /// The lowest point.
    pub min: i32,
    /// The highest point.
    pub max: i32,
    /// What the lowest point means, if the class file says it.
    pub low: Option<String>,
    /// What the highest point means, if the class file says it.
    pub high: Option<String>,
}

/// One taster's mean of one tea over the steeps, if at least half of them are scored.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TasterMean {
    /// The attribute.
    pub attribute: String,
    /// The tea.
    pub tea: Code,
    /// The seat's name.
    pub seat: String,
    /// The mean, points.
    pub value: f64,
}

/// One score of one taster.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Dot {
    /// The attribute.
    pub attribute: String,
    /// The tea.
    pub tea: Code,
    /// The steep.
    pub steep: u32,
    /// The seat's name.
    pub seat: String,
    /// The score, points.
    pub value: f64,
}

/// One attribute of one tea from steep to steep.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Curve {
    /// The attribute.
    pub attribute: String,
    /// The tea.
    pub tea: Code,
    /// The steeps that were served, in order.
    pub steeps: Vec<CurvePoint>,
}

/// One steep of a curve.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CurvePoint {
    /// The steep.
    pub steep: u32,
    /// How many scored it.
    pub n: usize,
    /// Their mean; `null` if nobody did.
    pub mean: Option<f64>,
    /// Its 95 % t interval.
    pub interval: Known<Interval>,
}

/// The figures of every tea, leaf and way, over the steeps and steep by steep.
pub fn described(data: &Data<'_>) -> Vec<Described> {
    let groups = groups(data);
    let steeps: Vec<Option<u32>> = std::iter::once(None).chain((1..=data.last_steep()).map(Some)).collect();
    let mut all = Vec::new();
    for attribute in &data.attributes {
        for group in &groups {
            for &steep in &steeps {
                let served = |t: &usize| match steep {
                    Some(steep) => data.teas[*t].steeps.contains(&steep),
                    None => !data.teas[*t].steeps.is_empty(),
                };
                if group.teas.iter().any(served) {
                    all.push(one(data, attribute, group, steep));
                }
            }
        }
    }
    all
}

/// Teas that are described together.
struct Group {
    tea: Option<Code>,
    leaf: Option<String>,
    way: Option<String>,
    teas: Vec<usize>,
}

fn groups(data: &Data<'_>) -> Vec<Group> {
    let none = || Group { tea: None, leaf: None, way: None, teas: Vec::new() };
    let teas = data.teas.iter().enumerate();
    let teas = teas.map(|(i, tea)| Group { tea: Some(tea.code), teas: vec![i], ..none() });
    let leaf = |teas: Vec<usize>| {
        // As its first tea spells it.
        let leaf = data.teas[teas[0]].open.map(|tea| tea.leaf.clone());
        Group { leaf, teas, ..none() }
    };
    let leaves = data.leaves().into_iter().map(leaf);
    let ways = data.ways(|_| ()).into_iter();
    let ways = ways.map(|(way, teas)| Group { way: Some(way.to_string()), teas, ..none() });
    teas.chain(leaves).chain(ways).collect()
}

fn one(data: &Data<'_>, attribute: &Attribute, group: &Group, steep: Option<u32>) -> Described {
    let of_seat = |seat| attribute.mean(&group.teas, steep, seat);
    let (values, scores): (Vec<f64>, Vec<usize>) = (0..data.seats.len()).filter_map(of_seat).unzip();
    let figures = describe(&values).ok();
    let figure = |of: fn(&Description) -> f64| figures.as_ref().map(of);
    Described {
        attribute: attribute.name.clone(),
        tea: group.tea,
        leaf: group.leaf.clone(),
        way: group.way.clone(),
        steep,
        n: values.len(),
        scores: scores.iter().sum(),
        mean: figure(|f| f.mean),
        sd: figures.as_ref().and_then(|f| f.sd),
        min: figure(|f| f.min),
        lower_quartile: figure(|f| f.lower_quartile),
        median: figure(|f| f.median),
        upper_quartile: figure(|f| f.upper_quartile),
        max: figure(|f| f.max),
        interval: interval(&values),
    }
}

/// The usual interval of a mean.
pub fn interval(values: &[f64]) -> Known<Interval> {
    mean_interval(values, CONFIDENCE).map(|mean| mean.interval).into()
}

/// The scales of the sheet.
pub fn scales(data: &Data<'_>) -> Vec<Scale> {
    let of = |a: &protocol::Attribute| Scale {
        attribute: a.name.clone(),
        min: a.min,
        max: a.max,
        low: a.low.clone(),
        high: a.high.clone(),
    };
    data.room.class.sheet.attributes.iter().map(of).collect()
}

/// Every taster's mean of every tea.
pub fn means(data: &Data<'_>) -> Vec<TasterMean> {
    let mut all = Vec::new();
    for attribute in &data.attributes {
        for (place, tea) in data.teas.iter().enumerate() {
            let by_seat = attribute.of(place, None).into_iter().zip(&data.seats);
            all.extend(by_seat.filter_map(|(value, seat)| {
                let (attribute, seat) = (attribute.name.clone(), (*seat).to_string());
                Some(TasterMean { attribute, tea: tea.code, seat, value: value? })
            }));
        }
    }
    all
}

/// Every score of every attribute.
pub fn dots(data: &Data<'_>) -> Vec<Dot> {
    let mut all = Vec::new();
    for attribute in &data.attributes {
        for (place, tea) in data.teas.iter().enumerate() {
            for &steep in &tea.steeps {
                let scored = attribute.at(place, steep).iter().zip(&data.seats);
                all.extend(scored.filter_map(|(value, seat)| {
                    let (attribute, seat) = (attribute.name.clone(), (*seat).to_string());
                    Some(Dot { attribute, tea: tea.code, steep, seat, value: (*value)? })
                }));
            }
        }
    }
    all
}

/// The curves, taken from the figures of single steeps.
pub fn curves(described: &[Described]) -> Vec<Curve> {
    let mut curves: Vec<Curve> = Vec::new();
    for line in described {
        let (Some(tea), Some(steep)) = (line.tea, line.steep) else { continue };
        let point = CurvePoint { steep, n: line.n, mean: line.mean, interval: line.interval.clone() };
        match curves.last_mut().filter(|c| c.tea == tea && c.attribute == line.attribute) {
            Some(curve) => curve.steeps.push(point),
            None => curves.push(Curve { attribute: line.attribute.clone(), tea, steeps: vec![point] }),
        }
    }
    curves
}
