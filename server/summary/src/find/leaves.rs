//! The ways of steeping one leaf: whether they differ at all, and which.

use crate::data::{Attribute, Compared, Data};
use crate::find::differences::{Difference, MainTest, MeanPair, OverWays, Tukey, averaged, over_ways};
use crate::find::strength::LIKING;
use crate::known::Known;
use class::Tea;
use protocol::Code;
use schemars::JsonSchema;
use serde::Serialize;
use stats::Interval;
use stats::interval::SIGNIFICANCE;
use stats::multiple::holm;
use stats::say::turned;

/// A revealed leaf that was steeped in several ways.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Leaf {
    /// The leaf.
    pub leaf: String,
    /// Its ways, in the order of the teas.
    pub ways: Vec<LeafWay>,
    /// Whether all teas compared are this leaf: then its tests are those of the teas, and are said only once.
    pub whole: bool,
    /// Each attribute: over the steeps, then steep by steep.
    pub comparisons: Vec<LeafComparison>,
}

/// One way of it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LeafWay {
    /// How it is steeped, for instance "3 g, 100 ml, 95 °C, 45 60 90 s".
    pub way: String,
    /// The codes that it was served under.
    pub teas: Vec<Code>,
}

/// One attribute of a leaf's ways.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LeafComparison {
    /// The attribute.
    pub attribute: String,
    /// The steep, `null` over the steeps.
    pub steep: Option<u32>,
    /// The steeps that go in: over the steeps those that all these ways were served at.
    pub steeps: Vec<u32>,
    /// The one test over all ways that the sentences go by. Its adjusted p is Holm's over leaf × attribute (over the steeps)
    /// or leaf × attribute × steep (at one), and never below that of the test over all teas: ways differ only where teas do.
    pub test: Known<MainTest>,
    /// Whether its adjusted p is that of the test over all teas.
    pub held_by_teas: bool,
    /// The figures behind it.
    #[serde(flatten)]
    pub over: OverWays,
    /// Where no difference is shown over the steeps: how far apart two ways, the others halfway between them, would truly
    /// have to lie to be told apart in four classes of five, points; else, or where nothing would be, `null`. Also where other
    /// teas were compared: they decide too whether ways differ, and what they are is not known.
    pub told_apart_from_points: Option<f64>,
}

impl LeafComparison {
    /// Whether the ways are shown to differ.
    pub fn shown(&self) -> bool {
        self.test.get().is_some_and(|test| test.p_holm <= SIGNIFICANCE)
    }
}

/// One way of a leaf that is shown to be liked more than another.
#[derive(Clone, Copy, Debug)]
pub struct Better<'a> {
    /// The leaf.
    pub leaf: &'a Leaf,
    /// The way that is liked more.
    pub better: &'a LeafWay,
    /// The other.
    pub than: &'a LeafWay,
    /// By how much, points.
    pub points: f64,
}

impl Leaf {
    /// Every two of its ways of which one is shown to be liked more, over the steeps; the largest difference first.
    pub fn liked_more(&self) -> Vec<Better<'_>> {
        let liking =
            |c: &&LeafComparison| c.steep.is_none() && c.shown() && c.attribute.eq_ignore_ascii_case(LIKING);
        let tukey = self.comparisons.iter().find(liking).and_then(|c| c.over.tukey.get());
        let way = |tea: Code| self.ways.iter().find(|way| way.teas.contains(&tea));
        let of = |pair: &MeanPair| {
            let (first, second) = (way(pair.first)?, way(pair.second)?);
            let (better, than) = if pair.difference > 0.0 { (first, second) } else { (second, first) };
            Some(Better { leaf: self, better, than, points: pair.difference.abs() })
        };
        let told = tukey.into_iter().flat_map(|tukey| &tukey.pairs).filter(|pair| pair.differs);
        let mut all: Vec<Better<'_>> = told.filter_map(of).collect();
        all.sort_by(|a, b| b.points.total_cmp(&a.points));
        all
    }
}

/// By how much most another way of its leaf is shown to be liked more than that of a tea.
pub fn better_than(leaves: &[Leaf], tea: Code) -> Option<Better<'_>> {
    leaves.iter().flat_map(Leaf::liked_more).find(|found| found.than.teas.contains(&tea))
}

/// Two teas, or ways, as they are told apart: with figures that say the same as the verdict.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ToldPair {
    /// One tea.
    pub first: Code,
    /// The other.
    pub second: Code,
    /// First mean less second, points.
    pub difference: f64,
    /// Its interval; `None` where it would say otherwise than the test that decides.
    pub interval: Option<Interval>,
    /// Its p; `None` where it would say otherwise.
    pub p: Option<f64>,
    /// Whether they are shown to differ.
    pub differs: bool,
}

/// Every two teas of a comparison as they are told apart. Two ways of one leaf go by their leaf's own comparison.
pub fn told(d: &Difference, leaves: &[Leaf]) -> Known<Vec<ToldPair>> {
    let of_leaf = |pair: &MeanPair| {
        let of = leaves.iter().filter(|leaf| !leaf.whole).flat_map(|leaf| &leaf.comparisons);
        let mut of = of.filter(|c| c.attribute == d.attribute && c.steep == d.steep);
        of.find_map(|c| {
            let way = |tea: Code| Some(*c.over.ways.iter().find(|codes| codes.contains(&tea))?.first()?);
            let (first, second) = (way(pair.first)?, way(pair.second)?);
            let own = c.over.tukey.get()?.pairs.iter().find_map(|own| match (own.first, own.second) {
                of if of == (first, second) => Some(*own),
                of if of == (second, first) => {
                    Some(MeanPair { difference: -own.difference, interval: turned(own.interval), ..*own })
                }
                _ => None,
            });
            own.filter(|own| own.differs == pair.differs)
        })
    };
    let one = |pair: &MeanPair| {
        let own = of_leaf(pair).unwrap_or(*pair);
        ToldPair {
            first: pair.first,
            second: pair.second,
            difference: own.difference,
            interval: Some(own.interval).filter(|interval| pair.differs != interval.contains(0.0)),
            p: Some(own.p).filter(|p| pair.differs == (*p <= SIGNIFICANCE)),
            differs: pair.differs,
        }
    };
    match d.pairs() {
        Known::Is(tukey) => Known::Is(tukey.pairs.iter().map(one).collect()),
        Known::Not { why } => Known::not(why),
    }
}

/// Every revealed leaf of several ways. While a tea is blind, that it belongs to others is not told.
pub fn leaves(data: &Data<'_>, differences: &[Difference]) -> Vec<Leaf> {
    let steeped = data.ways(Tea::leaf_key);
    let of_leaf = |teas: Vec<usize>| {
        let own = steeped.iter().filter(|(_, of)| of.iter().any(|tea| teas.contains(tea)));
        let own: Vec<(String, Vec<usize>)> = own.map(|(way, of)| (way.to_string(), of.clone())).collect();
        if own.len() < 2 {
            return None;
        }
        let comparisons = comparisons(data, &own);
        let code = |tea: &usize| data.teas[*tea].code;
        let whole = differences.iter().all(|d| d.teas.iter().all(|tea| teas.iter().any(|t| code(t) == *tea)));
        let ways =
            own.iter().map(|(way, of)| LeafWay { way: way.clone(), teas: of.iter().map(code).collect() });
        Some(Leaf {
            leaf: data.teas[*teas.first()?].open?.leaf.clone(),
            ways: ways.collect(),
            whole,
            comparisons,
        })
    };
    let mut all: Vec<Leaf> = data.leaves().into_iter().filter_map(of_leaf).collect();
    adjust(&mut all, differences, |c| c.steep.is_none());
    adjust(&mut all, differences, |c| c.steep.is_some());
    all
}

fn comparisons(data: &Data<'_>, ways: &[(String, Vec<usize>)]) -> Vec<LeafComparison> {
    let teas: Vec<usize> = ways.iter().flat_map(|(_, of)| of.iter().copied()).collect();
    let shared = |steep: &u32| teas.iter().all(|&tea| data.teas[tea].steeps.contains(steep));
    let steeps: Vec<u32> = (1..=data.last_steep()).filter(shared).collect();
    let of = |attribute: &Attribute, steep: Option<u32>| {
        // A way that nobody scored is not compared.
        let scored = attribute.scored(steep);
        let of = ways.iter().map(|(_, of)| of.iter().copied().filter(|tea| scored.contains(tea)).collect());
        let groups: Vec<Vec<usize>> = of.filter(|of: &Vec<usize>| !of.is_empty()).collect();
        let Compared { steeps, columns } = attribute.compared(&groups.concat(), steep);
        let codes = |of: &Vec<usize>| of.iter().map(|&tea| data.teas[tea].code).collect();
        let repeated = groups.iter().any(|of| of.len() > 1);
        let rows = averaged(&columns, &groups, data.seats.len());
        let (test, over) = over_ways(&rows, groups.iter().map(codes).collect(), repeated);
        let attribute = attribute.name.clone();
        let (held_by_teas, told_apart_from_points) = (false, None);
        LeafComparison { attribute, steep, steeps, test, held_by_teas, over, told_apart_from_points }
    };
    let steeps: Vec<Option<u32>> = std::iter::once(None).chain(steeps.into_iter().map(Some)).collect();
    data.attributes
        .iter()
        .flat_map(|a| steeps.iter().map(move |&steep| (a, steep)))
        .map(|(a, s)| of(a, s))
        .collect()
}

/// Holm over the tests of one family of all leaves, behind the tests over all teas.
fn adjust(all: &mut [Leaf], differences: &[Difference], family: impl Fn(&LeafComparison) -> bool) {
    let whole: Vec<bool> = all.iter().map(|leaf| leaf.whole).collect();
    let of_leaf = |leaf: usize, c: &LeafComparison| {
        differences
            .iter()
            .find(|d| !whole[leaf] && d.attribute == c.attribute && d.steep == c.steep)
            .and_then(|d| Some(d.test.get()?.p_holm))
    };
    let mut tested: Vec<(usize, &mut LeafComparison)> = all
        .iter_mut()
        .enumerate()
        .flat_map(|(place, leaf)| leaf.comparisons.iter_mut().map(move |c| (place, c)))
        .filter(|(_, c)| family(c))
        .collect();
    let p: Vec<f64> = tested.iter().filter_map(|(_, c)| Some(c.test.get()?.p)).collect();
    let adjusted = holm(&p).unwrap_or_else(|_| p.clone());
    let count = p.len();
    let mut adjusted = adjusted.into_iter();
    for (leaf, c) in &mut tested {
        let teas = of_leaf(*leaf, c);
        if let Some((test, p_holm)) = c.test.get_mut().and_then(|test| Some((test, adjusted.next()?))) {
            c.held_by_teas = teas.is_some_and(|teas| teas > p_holm);
            (test.p_holm, test.family) = (teas.map_or(p_holm, |teas| teas.max(p_holm)), count);
        }
        if c.shown() {
            c.over.show_the_only_pair();
        } else {
            c.over.show_no_pair();
        }
    }
    let shown = tested.iter().filter(|(_, c)| c.shown()).count();
    let level = SIGNIFICANCE / (count.saturating_sub(shown)).max(1) as f64;
    // What goes by the leaf's own test alone: behind that of all teas less is found than it says.
    let own = tested.iter_mut().filter(|(leaf, _)| whole[*leaf]);
    for (_, c) in own.filter(|(_, c)| c.steep.is_none() && !c.shown()) {
        c.told_apart_from_points =
            c.test.get().and_then(|test| c.over.told_apart_from(test, level, c.steeps.len()));
    }
}

/// Two ways of one leaf are told apart where their leaf's own tests do it, so that letters and sentences say the same; at a
/// single steep also where the teas' pairs do.
pub fn settle(differences: &mut [Difference], leaves: &[Leaf]) {
    for leaf in leaves.iter().filter(|leaf| !leaf.whole) {
        for c in &leaf.comparisons {
            let Known::Is(Tukey { pairs, .. }) = &c.over.tukey else { continue };
            // Of a single steep only what is shown is said, so that nothing stands against the teas' own pairs.
            let over = c.steep.is_none();
            let way =
                |tea: Code| c.over.ways.iter().find(|codes| codes.contains(&tea)).and_then(|w| w.first());
            let told = |first: Code, second: Code| {
                let (first, second) = (*way(first)?, *way(second)?);
                let both = |a: Code, b: Code| (a, b) == (first, second) || (b, a) == (first, second);
                pairs
                    .iter()
                    .find(|pair| both(pair.first, pair.second))
                    .map(|pair| pair.differs)
                    .filter(|differs| *differs || over)
            };
            let of = differences.iter_mut().filter(|d| d.attribute == c.attribute && d.steep == c.steep);
            of.for_each(|d| d.retell(&told));
        }
    }
    differences.iter_mut().for_each(Difference::echo);
}
