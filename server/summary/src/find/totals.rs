//! Weighted totals out of 100 points.

use crate::data::{Attribute, Data};
use crate::find::describe::interval;
use crate::find::differences;
use crate::find::differences::Difference;
use crate::known::Known;
use class::weights::standard::Standard;
use protocol::{Code, Score};
use schemars::JsonSchema;
use serde::Serialize;
use stats::Interval;
use stats::describe::describe;

/// The totals of a class that names weights.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Totals {
    /// Where the weights come from, in words.
    pub source: String,
    /// The weights.
    pub weights: Vec<Weight>,
    /// Each tea. A taster's total is the mean of the totals at the steeps for which all weighted attributes are scored, if
    /// those are half of the steeps at least.
    pub teas: Vec<TeaTotal>,
    /// Each taster's total of each tea.
    pub tasters: Vec<TasterTotal>,
    /// Whether the totals differ.
    pub difference: Box<Difference>,
}

/// The weight of one attribute.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Weight {
    /// The attribute.
    pub attribute: String,
    /// Percent; they add up to 100.
    pub percent: f64,
    /// The scale that was stretched straight to 0 to 100; `null` if it was that already.
    pub stretched_from: Option<[i32; 2]>,
}

/// One tea.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TeaTotal {
    /// The tea.
    pub tea: Code,
    /// Tasters with a total.
    pub n: usize,
    /// Tasters who scored the tea but not enough for a total.
    pub without: usize,
    /// Their mean, 0 to 100; `null` without tasters.
    pub mean: Option<f64>,
    /// Standard deviation; `null` for fewer than two.
    pub sd: Option<f64>,
    /// The 95 % t interval of the mean.
    pub interval: Known<Interval>,
}

/// One taster's total.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TasterTotal {
    /// The seat's name.
    pub seat: String,
    /// The tea.
    pub tea: Code,
    /// 0 to 100.
    pub points: f64,
}

/// How the total is called where attributes are named.
pub const TOTAL: &str = "total";

/// The totals, if the class names weights for attributes of its sheet.
pub fn totals(data: &Data<'_>) -> Option<Totals> {
    let named = data.room.class.weights.as_ref()?;
    let weights = named.weights().ok()?;
    let weighed = named.attributes.iter().map(|w| {
        let attribute = data.room.class.sheet.attributes.iter().find(|a| a.name == w.attribute)?;
        Some((attribute, w.percent))
    });
    let weighed: Vec<(&protocol::Attribute, f64)> = weighed.collect::<Option<_>>()?;
    let stretched = |score: &Score, a: &protocol::Attribute| -> Option<f64> {
        let (min, max) = (f64::from(a.min), f64::from(a.max));
        Some((f64::from(*score.values.get(&a.name)?) - min) / (max - min) * 100.0)
    };
    let total = |score: &Score| {
        let scores: Vec<Option<f64>> = weighed.iter().map(|(a, _)| stretched(score, a)).collect();
        weights.total(&scores).ok().map(|total| total.points)
    };
    let values = data.values(TOTAL, total);
    let standard = named.row.as_deref().and_then(Standard::of);
    let lines = weighed.iter().map(|(a, percent)| Weight {
        attribute: a.name.clone(),
        percent: *percent,
        stretched_from: (a.min != 0 || a.max != 100).then_some([a.min, a.max]),
    });
    let mut difference = [differences::difference(data, &values, None)];
    differences::adjust(&mut difference, |_| true);
    let [mut difference] = difference;
    difference.echo();
    Some(Totals {
        source: standard.map_or_else(|| "the class's own weights".into(), source),
        weights: lines.collect(),
        teas: (0..data.teas.len()).map(|tea| tea_total(data, &values, tea)).collect(),
        tasters: taster_totals(data, &values),
        difference: Box::new(difference),
    })
}

/// Where a row comes from, as far as it has been seen.
fn source(row: &Standard) -> String {
    match row.citation() {
        Some(citation) => format!("the row \"{}\" of {citation}", row.tea),
        None => format!("weights for \"{}\": common practice, no source", row.tea),
    }
}

fn tea_total(data: &Data<'_>, values: &Attribute, tea: usize) -> TeaTotal {
    let by_seat = values.of(tea, None);
    let points: Vec<f64> = by_seat.iter().copied().flatten().collect();
    let scored = (0..data.seats.len()).filter(|&seat| data.scores[tea].iter().any(|s| s[seat].is_some()));
    let figures = describe(&points).ok();
    TeaTotal {
        tea: data.teas[tea].code,
        n: points.len(),
        without: scored.count().saturating_sub(points.len()),
        mean: figures.map(|f| f.mean),
        sd: figures.and_then(|f| f.sd),
        interval: interval(&points),
    }
}

fn taster_totals(data: &Data<'_>, values: &Attribute) -> Vec<TasterTotal> {
    let mut all = Vec::new();
    for (place, tea) in data.teas.iter().enumerate() {
        let by_seat = values.of(place, None).into_iter().zip(&data.seats);
        all.extend(by_seat.filter_map(|(points, seat)| {
            Some(TasterTotal { seat: (*seat).to_string(), tea: tea.code, points: points? })
        }));
    }
    all
}
