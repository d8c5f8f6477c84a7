//! From ledgers to rows: for each leaf what every taster gave every cup, and where the cup's way lies.
//!
//! A leaf in several steeps is one cup: a taster's steeps of one tea hang together, and counting each by itself would make the answer look
//! surer than it is. Its liking is the taster's mean over the steeps that all cups of the leaf in that class share, as in a review. Its
//! place is that of its first steep, as the leaf's usual ladder has it: the seconds of each steep are divided by the usual ratio of that
//! steep to the first (the middle of all ways of the leaf), and the geometric mean of these is taken; of the temperature the mean, less
//! what that steep is usually hotter than the first. Of one steep, and of ways that keep the usual ladder, that is just the first
//! steep's seconds and temperature.

use super::{ClassRead, Judged};
use crate::data::side_by_side;
use crate::several::beyond::Written;
use crate::several::class::Class;
use crate::several::digest::Digest;
use crate::several::{judged_by, ways};
use class::Tea;
use plan::ladder::water_s;
use protocol::Strength;
use room::light::ClassScores;
use schemars::JsonSchema;
use serde::Serialize;
use stats::surface::Estimate;
use std::collections::{BTreeMap, BTreeSet};

/// Where a way lies, in natural units: ln of grams per 100 ml, °C, ln of seconds.
pub type Place = [f64; 3];

/// A cup that a taster scored or voted on.
#[derive(Clone, Debug, PartialEq)]
pub struct Cup {
    /// The class, from 0.
    pub class: usize,
    /// The taster, from 0, each class's own.
    pub taster: usize,
    /// The place of its way among the leaf's.
    pub way: usize,
    /// Where it lies.
    pub place: Place,
    /// The liking, points.
    pub liking: Option<f64>,
    /// The vote over its steeps: −1 too thin, 0 right, 1 too strong.
    pub vote: Option<i8>,
}

/// One way of a leaf that was tasted.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "TastedWay")]
pub struct Tasted {
    /// What to call it.
    pub called: String,
    /// Grams of leaf per 100 ml of water.
    pub dose_g_per_100_ml: f64,
    /// Its temperature, °C, as the leaf's usual ladder has its first steep.
    pub temp_c: f64,
    /// Its time, seconds, as the leaf's usual ladder has its first steep; as it was really served.
    pub seconds: f64,
    /// The numbers of the classes that tasted it.
    pub classes: Vec<usize>,
    /// How many cups of it were scored.
    pub cups: usize,
    /// Their plain mean, points; `null` without any.
    pub mean: Option<f64>,
    /// How many points the best way is expected to lie above it; `null` without a surface.
    pub lost: Option<Estimate>,
    /// The tasters who found it too thin, right, and too strong.
    pub votes: [usize; 3],
    /// Where it lies, natural.
    #[serde(skip)]
    pub place: Place,
}

/// How seconds and temperature usually go from steep to steep.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ladder {
    /// The seconds of each steep over those of the first.
    pub times: Vec<f64>,
    /// By how many °C each steep is hotter than the first.
    pub hotter_c: Vec<f64>,
    /// How many steeps were tasted.
    pub tasted: usize,
}

/// One leaf.
#[derive(Clone, Debug, PartialEq)]
pub struct Leaf {
    /// Its name.
    pub name: String,
    /// The cups, class by class and taster by taster.
    pub cups: Vec<Cup>,
    /// Its ways.
    pub ways: Vec<Tasted>,
    /// How it usually goes from steep to steep.
    pub ladder: Ladder,
    /// The water of its last tea, millilitres.
    pub water_ml: f64,
    /// Its last tea, and the number of its class, from 0.
    pub last: (usize, Tea),
}

/// The rows of some classes.
pub struct Rows {
    /// The classes.
    pub classes: Vec<ClassRead>,
    /// What ways are judged by.
    pub judged: Option<Judged>,
    /// The leaves, as they first appear.
    pub leaves: Vec<Leaf>,
}

impl Leaf {
    /// The cups whose liking was given.
    pub fn liked(&self) -> impl Iterator<Item = (&Cup, f64)> {
        self.cups.iter().filter_map(|cup| Some((cup, cup.liking?)))
    }

    /// The numbers, from 1, of the classes that tasted it.
    pub fn classes(&self) -> Vec<usize> {
        self.cups.iter().map(|cup| cup.class + 1).collect::<BTreeSet<_>>().into_iter().collect()
    }

    /// Where a tea of it lies by the steeps that were tasted; nothing if it has fewer.
    pub fn place_of(&self, tea: &Tea) -> Option<Place> {
        place(tea, &(0..self.ladder.tasted.max(1)).collect(), &self.ladder)
    }

    /// How many tasters gave it a liking.
    pub fn tasters(&self) -> usize {
        self.liked().map(|(cup, _)| cup.taster).collect::<BTreeSet<_>>().len()
    }
}

/// A tea of the leaf in a class.
struct Served {
    class: usize,
    tea: usize,
    way: usize,
    run: Tea,
}

/// The rows of classes in the order of their days. Rehearsals beside classes, teas that are still blind, and steeps that were done again are
/// left out, as in a review of several.
pub fn rows(classes: &[(ClassScores, Digest)]) -> Rows {
    let records: Vec<&ClassScores> = classes.iter().map(|(record, _)| record).collect();
    let all_rehearsed = records.iter().all(|record| record.rehearsal);
    let counts = |record: &ClassScores| all_rehearsed || !record.rehearsal;
    let (named, of_teas) = ways::ways(&records);
    let (scales, of_attributes) = ways::scales(&records);
    let parts: Vec<Class<'_>> = classes
        .iter()
        .zip(&of_teas)
        .zip(of_attributes)
        .map(|(((record, digest), ways), scales)| match counts(record) {
            true => Class { digest, ways: ways.clone(), scales },
            false => Class { digest, ways: Vec::new(), scales: Vec::new() },
        })
        .collect();
    let judged = judged_by(&parts, &scales);
    let mut leaves: Vec<(String, String, Vec<Served>)> = Vec::new();
    for (class, record) in records.iter().enumerate().filter(|(_, record)| counts(record)) {
        for (tea, it) in record.class.teas.iter().enumerate().filter(|(tea, _)| record.is_open(*tea)) {
            let served = Served { class, tea, way: of_teas[class][tea], run: record.course.as_run(it) };
            match leaves.iter_mut().find(|(key, ..)| *key == it.leaf_key()) {
                Some((.., teas)) => teas.push(served),
                None => leaves.push((it.leaf_key(), it.leaf.clone(), vec![served])),
            }
        }
    }
    let read = |(class, record): (usize, &&ClassScores)| ClassRead {
        class: class + 1,
        title: record.class.title.clone(),
        date: record.class.date.clone(),
        left_out: !counts(record),
    };
    let leaf =
        |(_, name, teas): (String, String, Vec<Served>)| leaf(name, &teas, &records, &parts, judged, &named);
    Rows {
        classes: records.iter().enumerate().map(read).collect(),
        leaves: leaves.into_iter().filter_map(leaf).collect(),
        judged: judged.map(|at| Judged {
            attribute: scales[at].name.clone(),
            min: scales[at].min,
            max: scales[at].max,
        }),
    }
}

/// The rows of one leaf; nothing where nobody scored or voted on it.
fn leaf(
    name: String,
    teas: &[Served],
    records: &[&ClassScores],
    parts: &[Class<'_>],
    judged: Option<usize>,
    named: &[ways::Way],
) -> Option<Leaf> {
    let last = teas.last()?;
    let mut ladder = ladder(teas, records);
    let mut leaf = Leaf {
        name,
        cups: Vec::new(),
        ways: Vec::new(),
        ladder: Ladder::default(),
        water_ml: last.run.water_ml,
        last: (last.class, records[last.class].class.teas[last.tea].clone()),
    };
    let mut tasters = 0;
    for own in teas.chunk_by(|a, b| a.class == b.class) {
        tasters += class_rows(&mut leaf, own, &parts[own[0].class], judged, &mut ladder, tasters, named);
    }
    leaf.ladder = ladder;
    finish(&mut leaf);
    (!leaf.cups.is_empty()).then_some(leaf)
}

/// The usual ladder of a leaf's teas: the middle of them, steep by steep.
fn ladder(teas: &[Served], records: &[&ClassScores]) -> Ladder {
    let steeps = teas.iter().map(|served| served.run.steep_s.len()).max().unwrap_or(0);
    let middle = |steep: usize, of: &dyn Fn(&Tea) -> Option<f64>| {
        let was = |served: &&Served| Written::of(records[served.class]).has(served.tea, steep as u32 + 1);
        let mut values: Vec<f64> = teas.iter().filter(was).filter_map(|served| of(&served.run)).collect();
        values.sort_by(f64::total_cmp);
        match values.len() {
            0 => None,
            n => Some(f64::midpoint(values[(n - 1) / 2], values[n / 2])),
        }
    };
    let times = |steep: usize| {
        let seconds = |tea: &Tea, n: usize| tea.steep_s.get(n).map(|&s| water_s(s));
        middle(steep, &|tea| Some(seconds(tea, steep)? / seconds(tea, 0)?)).unwrap_or(1.0)
    };
    let hotter = |steep: usize| {
        middle(steep, &|tea| Some(tea.temp_c.get(steep)? - tea.temp_c.first()?)).unwrap_or(0.0)
    };
    Ladder { times: (0..steeps).map(times).collect(), hotter_c: (0..steeps).map(hotter).collect(), tasted: 0 }
}

/// The cups of one class; how many tasters it had.
fn class_rows(
    leaf: &mut Leaf,
    teas: &[Served],
    class: &Class<'_>,
    judged: Option<usize>,
    ladder: &mut Ladder,
    first_taster: usize,
    named: &[ways::Way],
) -> usize {
    let digest: &Digest = class.digest;
    let attribute = judged.and_then(|judged| class.scales.iter().position(|&scale| scale == judged));
    let scored = |tea: usize| attribute.map_or_else(BTreeSet::new, |at| digest.scored[at][tea].clone());
    let liked: Vec<BTreeSet<usize>> = teas.iter().map(|served| scored(served.tea)).collect();
    let shared =
        liked.iter().filter(|steeps| !steeps.is_empty()).cloned().reduce(|a, b| &a & &b).unwrap_or_default();
    let seats = digest.points.first().map_or(0, Vec::len);
    let steeps_of = |n: usize| if shared.is_empty() { &liked[n] } else { &shared };
    let row = |seat: usize, n: usize| -> Vec<Option<f64>> {
        let points = attribute.map(|at| &digest.points[at][seat][teas[n].tea]);
        let steep =
            |&steep: &usize| points.and_then(|points| points.get(steep).copied().flatten()).map(f64::from);
        steeps_of(n).iter().map(steep).collect()
    };
    let all: Vec<(usize, usize)> =
        (0..seats).flat_map(|seat| (0..teas.len()).map(move |n| (seat, n))).collect();
    let likings = side_by_side(&all.iter().map(|&(seat, n)| row(seat, n)).collect::<Vec<_>>());
    let mut votes: BTreeMap<(usize, usize), Vec<i8>> = BTreeMap::new();
    for (n, served) in teas.iter().enumerate() {
        for vote in digest.votes[served.tea].iter().flatten() {
            votes.entry((vote.seat, n)).or_default().push(side(vote.strength));
        }
    }
    let places: Vec<Option<(usize, Place)>> = teas
        .iter()
        .enumerate()
        .map(|(n, served)| {
            let voted =
                || digest.votes[served.tea].iter().enumerate().filter(|(_, v)| !v.is_empty()).map(|(s, _)| s);
            let steeps: BTreeSet<usize> =
                if steeps_of(n).is_empty() { voted().collect() } else { steeps_of(n).clone() };
            let place = place(&served.run, &steeps, ladder)?;
            ladder.tasted = ladder.tasted.max(steeps.last().map_or(0, |steep| steep + 1));
            Some((way_of(leaf, named, served, place), place))
        })
        .collect();
    for (&(seat, n), liking) in all.iter().zip(likings) {
        let vote = votes.get(&(seat, n)).map(|votes| over_steeps(votes));
        if let (Some((way, place)), true) = (places[n], liking.is_some() || vote.is_some()) {
            let taster = first_taster + seat;
            leaf.cups.push(Cup { class: teas[n].class, taster, way, place, liking, vote });
        }
    }
    seats
}

/// Which side a vote is on.
fn side(strength: Strength) -> i8 {
    strength.number().signum()
}

/// A taster's votes over the steeps of a cup as one: to the side that has more than half of them.
fn over_steeps(votes: &[i8]) -> i8 {
    let sum: i32 = votes.iter().map(|&vote| i32::from(vote)).sum();
    if 2 * sum.unsigned_abs() as usize > votes.len() { sum.signum() as i8 } else { 0 }
}

/// Where a tea lies by some of its steeps; nothing without one.
fn place(tea: &Tea, steeps: &BTreeSet<usize>, ladder: &Ladder) -> Option<Place> {
    let n = steeps.len() as f64;
    let mean = |of: &dyn Fn(usize) -> Option<f64>| -> Option<f64> {
        Some(steeps.iter().map(|&steep| of(steep)).sum::<Option<f64>>()? / n)
    };
    let seconds = |steep: usize| Some((water_s(*tea.steep_s.get(steep)?) / ladder.times.get(steep)?).ln());
    let temp_c = |steep: usize| Some(tea.temp_c.get(steep)? - ladder.hotter_c.get(steep)?);
    (!steeps.is_empty()).then(|| Some([tea.dose_g_per_100_ml().ln(), mean(&temp_c)?, mean(&seconds)?]))?
}

/// The number of a way among the leaf's, by its name and place: the same way over other steeps may lie elsewhere.
fn way_of(leaf: &mut Leaf, named: &[ways::Way], served: &Served, place: Place) -> usize {
    let near = |way: &Tasted| way.place.iter().zip(&place).all(|(a, b)| (a - b).abs() < 1e-9);
    leaf.ways.iter().position(near).unwrap_or_else(|| {
        leaf.ways.push(Tasted {
            called: named[served.way].called_of_leaf(),
            dose_g_per_100_ml: place[0].exp(),
            temp_c: place[1],
            seconds: place[2].exp(),
            classes: Vec::new(),
            cups: 0,
            mean: None,
            lost: None,
            votes: [0; 3],
            place,
        });
        leaf.ways.len() - 1
    })
}

/// What the ways have over all cups; ways that nobody tasted are none.
fn finish(leaf: &mut Leaf) {
    let mut sums = vec![0.0; leaf.ways.len()];
    for cup in &leaf.cups {
        let way = &mut leaf.ways[cup.way];
        if !way.classes.contains(&(cup.class + 1)) {
            way.classes.push(cup.class + 1);
        }
        if let Some(liking) = cup.liking {
            (way.cups, sums[cup.way]) = (way.cups + 1, sums[cup.way] + liking);
        }
        if let Some(vote) = cup.vote {
            way.votes[(vote + 1) as usize] += 1;
        }
    }
    for (way, sum) in leaf.ways.iter_mut().zip(sums) {
        way.mean = (way.cups > 0).then(|| sum / way.cups as f64);
    }
    let mut kept = Vec::new();
    let number: Vec<Option<usize>> = leaf
        .ways
        .drain(..)
        .map(|way| {
            (!way.classes.is_empty()).then(|| {
                kept.push(way);
                kept.len() - 1
            })
        })
        .collect();
    leaf.ways = kept;
    for cup in &mut leaf.cups {
        cup.way = number[cup.way].unwrap_or_default();
    }
}
