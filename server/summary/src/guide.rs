//! The guide: for each kind of leaf how to begin, in a short and in a long sitting, and how sure that is.
//!
//! What classes have tasted goes first: of each leaf the way that was shown to be liked better than another one; where nothing is
//! shown, the middle of the ways that were liked (by their mean, above the middle of the scale). A tasted way stands under the sitting
//! whose usual dose is nearer, in folds; everything else is common practice. [`Spot`]s go before all of that.

use crate::several::Pool;
use crate::several::ways::{Steeped, Way};
use class::Tea;
use class::start::choose;
use class::start::leaf::{Form, Leaf, Oxidation, Sitting};
use class::start::table::Table;
use class::ways as told;
use class::ways::LeafKind;
use plan::ways::Middle;
use protocol::text::name_key;

/// The attribute that a way is judged by.
const LIKING: &str = "liking";
/// A leaf of so many years stands for all that have aged.
const AGED_YEARS: u32 = 8;

/// One way to steep a leaf best, found elsewhere, with how sure that is in a sentence.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
    /// The leaf, as the classes call it.
    pub leaf: String,
    /// How it is steeped.
    pub way: Middle,
    /// How sure that is.
    pub sure: String,
}

/// What a guide is made from, beside what classes found.
#[derive(Clone, Copy, Debug, Default)]
pub struct Known<'a> {
    /// What the leaves are like, by their names in the classes.
    pub leaves: &'a [Leaf],
    /// The best ways of some of them.
    pub spots: &'a [Spot],
}

/// The guide.
#[derive(Clone, Debug, PartialEq)]
pub struct Guide {
    /// How many classes it goes by; rehearsals are none.
    pub classes: usize,
    /// How many rehearsals were among what it was made from.
    pub rehearsals: usize,
    /// From the first day to the last, `YYYY-MM-DD`; empty without a class.
    pub days: Option<(String, String)>,
    /// The kinds of leaf, those that were tasted first.
    pub groups: Vec<Group>,
}

/// One kind of leaf.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// What it is like, or its name where nobody said.
    pub leaf: String,
    /// The leaves of the kind that classes tasted.
    pub tasted: Vec<String>,
    /// Those of them of which no way was liked.
    pub not_liked: Vec<String>,
    /// For a short sitting; nothing where it was not tasted and nobody said what leaf it is.
    pub short: Option<Line>,
    /// For a long one.
    pub long: Option<Line>,
}

/// How to begin with it.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Dry leaf, grams per 100 ml.
    pub dose_g_per_100_ml: f64,
    /// Water of the first steep, °C.
    pub first_c: f64,
    /// Water of the last, °C.
    pub last_c: f64,
    /// Seconds of a rinse.
    pub rinse_s: Option<u32>,
    /// Seconds of each steep.
    pub steep_s: Vec<u32>,
    /// How sure that is.
    pub sure: Sure,
}

/// How sure a line is.
#[derive(Clone, Debug, PartialEq)]
pub enum Sure {
    /// Nobody tasted it in these classes.
    Practice,
    /// Classes tasted it.
    Tasted(Tasted),
    /// As it was found elsewhere.
    Spot(String),
}

/// What classes say of a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tasted {
    /// In how many classes.
    pub classes: usize,
    /// From how many seats: whoever sat in two classes had one in each.
    pub seats: usize,
    /// What it goes by.
    pub by: By,
}

/// What a tasted line goes by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum By {
    /// Shown to be liked better than another way of the leaf.
    Shown,
    /// The middle of so many ways that were liked, none shown to be better.
    Middle(usize),
    /// The only way that was tasted.
    Only,
}

/// Puts a guide together.
pub fn guide(pool: &Pool, teas: &[&Tea], known: Known<'_>, table: &Table) -> Guide {
    let held: Vec<_> = pool.classes.iter().filter(|class| !class.rehearsal).collect();
    let mut groups: Vec<(LeafKind, Group, Vec<Found>)> = Vec::new();
    for found in leaves(pool, teas, known) {
        let name = found.leaf.clone();
        let not_liked = found.not_liked.then(|| name.clone());
        let at = groups.iter().position(|(kind, ..)| *kind != LeafKind::default() && kind.like(&found.kind));
        match at {
            Some(at) => {
                groups[at].1.tasted.push(name);
                groups[at].1.not_liked.extend(not_liked);
                groups[at].2.push(found);
            }
            None => {
                let (kind, leaf) = (found.kind, found.described.clone());
                let words = if kind == LeafKind::default() { name.clone() } else { kind.described() };
                let mut group = practice(words, &leaf, table, vec![name]);
                group.not_liked.extend(not_liked);
                if kind.oxidation.is_none() {
                    // What is usual for one leaf is wrong for another.
                    (group.short, group.long) = (None, None);
                }
                groups.push((kind, group, vec![found]));
            }
        }
    }
    for (_, group, found) in &mut groups {
        for sitting in [Sitting::Short, Sitting::Long] {
            let here: Vec<&Found> = found.iter().filter(|one| one.sitting(table) == sitting).collect();
            let line = if sitting == Sitting::Short { &mut group.short } else { &mut group.long };
            if let Some(tasted) = together(&here) {
                *line = Some(tasted);
            }
        }
    }
    for leaf in usual() {
        let kind = kind_of(&leaf);
        if !groups.iter().any(|(there, ..)| there.like(&kind)) {
            let group = practice(leaf.name.clone(), &leaf, table, Vec::new());
            groups.push((kind, group, Vec::new()));
        }
    }
    let days = held.first().zip(held.last()).map(|(first, last)| (first.date.clone(), last.date.clone()));
    let rehearsals = pool.classes.len() - held.len();
    Guide {
        classes: held.len(),
        rehearsals,
        days,
        groups: groups.into_iter().map(|(_, group, _)| group).collect(),
    }
}

/// The kinds that every guide has. Common practice, no source.
fn usual() -> Vec<Leaf> {
    let leaf = |name: &str, form, oxidation| Leaf { form, oxidation, ..Leaf::named(name) };
    vec![
        leaf("Green, open leaf", Form::Open, Oxidation::Green),
        leaf("White, open leaf", Form::Open, Oxidation::Lightly),
        leaf("Oolong, rolled, light", Form::BallRolled, Oxidation::Lightly),
        Leaf { roasted: true, ..leaf("Oolong, rolled, roasted", Form::BallRolled, Oxidation::Half) },
        Leaf { roasted: true, ..leaf("Oolong, twisted, roasted", Form::Twisted, Oxidation::Half) },
        Leaf { age_years: AGED_YEARS, ..leaf("Oolong, aged", Form::Twisted, Oxidation::Half) },
        leaf("Black, twisted leaf", Form::Twisted, Oxidation::Fully),
        leaf("Dark, pressed", Form::Compressed, Oxidation::PostFermented),
    ]
}

fn kind_of(leaf: &Leaf) -> LeafKind {
    LeafKind {
        form: Some(leaf.form),
        oxidation: Some(leaf.oxidation),
        roasted: Some(leaf.roasted),
        age_years: Some(leaf.age_years),
    }
}

/// A kind of which nothing was tasted yet.
fn practice(words: String, leaf: &Leaf, table: &Table, tasted: Vec<String>) -> Group {
    let line = |sitting| {
        let start = choose::start(table, leaf, sitting);
        let steep_s = start.all_s();
        let (dose_g_per_100_ml, rinse_s, sure) = (start.dose, start.rinse_s, Sure::Practice);
        Line { dose_g_per_100_ml, first_c: start.temp_c, last_c: start.last_c, rinse_s, steep_s, sure }
    };
    let (short, long) = (Some(line(Sitting::Short)), Some(line(Sitting::Long)));
    Group { leaf: words, tasted, not_liked: Vec::new(), short, long }
}

/// What classes found of one leaf.
struct Found {
    leaf: String,
    kind: LeafKind,
    /// The same for the starting points.
    described: Leaf,
    /// How it is best steeped, and how sure that is; nothing where none was liked.
    best: Option<(Middle, Sure)>,
    /// Whether it was asked how it is liked, and no way of it was.
    not_liked: bool,
}

impl Found {
    /// The sitting whose usual dose is nearer, in folds.
    fn sitting(&self, table: &Table) -> Sitting {
        let dose = self.best.as_ref().map_or(0.0, |(way, _)| way.dose_g_per_100_ml);
        let usual =
            |sitting| choose::start(table, &Leaf { dose: None, ..self.described.clone() }, sitting).dose;
        let far = |sitting| (dose / usual(sitting)).ln().abs();
        if far(Sitting::Short) <= far(Sitting::Long) { Sitting::Short } else { Sitting::Long }
    }
}

/// Every leaf whose name may be known, in the order in which the classes tasted it.
fn leaves(pool: &Pool, teas: &[&Tea], known: Known<'_>) -> Vec<Found> {
    let named = |way: &Way| way.known.as_ref().map(|known| name_key(&known.leaf));
    let counts = |way: usize| pool.classes.iter().any(|class| !class.rehearsal && class.ways.contains(&way));
    let ways = || pool.ways.iter().map(|line| &line.way).filter(|way| counts(way.way));
    let mut keys: Vec<String> = Vec::new();
    for key in ways().filter_map(named) {
        if !keys.contains(&key) {
            keys.push(key);
        }
    }
    let found = |key: String| {
        let of: Vec<&Way> = ways().filter(|way| named(way).as_ref() == Some(&key)).collect();
        let leaf = of.iter().find_map(|way| Some(way.known.as_ref()?.leaf.clone()))?;
        let said = known.leaves.iter().find(|leaf| name_key(leaf.leaf_name()) == key);
        let form = teas.iter().filter(|tea| tea.leaf_key() == key).find_map(|tea| tea.form);
        let kind = said.map_or(LeafKind { form, ..LeafKind::default() }, kind_of);
        let plain = Leaf { form: form.unwrap_or(Form::Twisted), ..Leaf::named(leaf.clone()) };
        let described = said.cloned().unwrap_or(plain);
        let spot = known.spots.iter().find(|spot| name_key(&spot.leaf) == key);
        let best =
            spot.map(|spot| (spot.way.clone(), Sure::Spot(spot.sure.clone()))).or_else(|| best(pool, &of));
        let asked = of.iter().any(|way| liking(pool, way.way).is_some());
        let not_liked = asked && best.is_none();
        Some(Found { leaf, kind, described, best, not_liked })
    };
    keys.into_iter().filter_map(found).collect()
}

/// The mean liking of a way, and whether that is liked: the middle of its scale or above.
fn liking(pool: &Pool, way: usize) -> Option<(f64, bool)> {
    let line = pool.ways.iter().find(|line| line.way.way == way)?;
    let attribute = line.attributes.iter().find(|one| name_key(&one.scale.name) == LIKING)?;
    let middle = f64::from(attribute.scale.min + attribute.scale.max) / 2.0;
    Some((attribute.all_steeps.mean, attribute.all_steeps.mean >= middle))
}

/// How a leaf's ways say that it is best steeped.
fn best(pool: &Pool, ways: &[&Way]) -> Option<(Middle, Sure)> {
    let liking = |way: usize| liking(pool, way);
    let shown = |way: usize, sign: f64| {
        let pairs = pool
            .pairs
            .iter()
            .filter(|pair| pair.same_leaf && pair.shown() && name_key(&pair.attribute.name) == LIKING);
        let points = pairs.filter_map(move |pair| match (pair.first == way, pair.second == way) {
            (true, _) => Some(pair.points()),
            (_, true) => Some(-pair.points()),
            _ => None,
        });
        points.into_iter().any(|points| points * sign > 0.0)
    };
    let liked: Vec<&&Way> =
        ways.iter().filter(|way| liking(way.way).is_some_and(|(_, liked)| liked)).collect();
    let mean = |way: &Way| liking(way.way).map_or(0.0, |(mean, _)| mean);
    let better = liked.iter().map(|way| **way).filter(|way| shown(way.way, 1.0) && !shown(way.way, -1.0));
    let best = better.max_by(|a, b| mean(a).total_cmp(&mean(b)));
    // A way that another one was shown to beat has no part in the middle.
    let unbeaten: Vec<&Way> = liked.iter().filter(|way| !shown(way.way, -1.0)).map(|way| **way).collect();
    let (of, by) = match (best, ways.len()) {
        (Some(best), _) => (vec![best], By::Shown),
        (None, _) if unbeaten.is_empty() => return None,
        (None, 1) => (unbeaten, By::Only),
        (None, _) => {
            let n = unbeaten.len();
            (unbeaten, By::Middle(n))
        }
    };
    let told: Vec<told::Way> = of.iter().filter_map(|way| way.known.as_ref().map(as_told)).collect();
    // How much stands behind it: the classes that tasted these ways, or, of a way shown better, any way of the leaf.
    let behind: Vec<usize> = if by == By::Shown { ways } else { &of[..] }.iter().map(|way| way.way).collect();
    let classes = pool
        .classes
        .iter()
        .filter(|class| !class.rehearsal && class.ways.iter().any(|way| behind.contains(way)));
    let (classes, seats) = classes.fold((0, 0), |(n, seats), class| (n + 1, seats + class.seats));
    Some((Middle::of(&told.iter().collect::<Vec<_>>()), Sure::Tasted(Tasted { classes, seats, by })))
}

/// A way as the file of ways has it.
fn as_told(known: &Steeped) -> told::Way {
    let of = &known.steeping;
    told::Way {
        who: known.leaf.clone(),
        kind: LeafKind::default(),
        dose_g_per_100_ml: of.leaf_g * 100.0 / of.water_ml,
        water_ml: Some(of.water_ml),
        temp_c: of.temp_c.clone(),
        steep_s: of.steep_s.clone(),
        rinse_s: of.rinse_s,
        remarks: None,
    }
}

/// One line for all leaves of a kind: the middle of their best ways, no surer than the least sure of them.
fn together(found: &[&Found]) -> Option<Line> {
    let best: Vec<&(Middle, Sure)> = found.iter().filter_map(|one| one.best.as_ref()).collect();
    let ways: Vec<told::Way> = best.iter().map(|(way, _)| way.as_way(LeafKind::default())).collect();
    let middle = match &ways[..] {
        [] => return None,
        ways => Middle::of(&ways.iter().collect::<Vec<_>>()),
    };
    let sure = match &best[..] {
        [(_, only)] => only.clone(),
        all => {
            let tasted: Vec<&Tasted> = all
                .iter()
                .filter_map(|(_, sure)| if let Sure::Tasted(tasted) = sure { Some(tasted) } else { None })
                .collect();
            let by = tasted.iter().map(|one| one.by).max().unwrap_or(By::Shown);
            // Several leaves of one evening have the same people: the most are certain.
            let most = |of: fn(&Tasted) -> usize| tasted.iter().map(|one| of(one)).max().unwrap_or(0);
            match tasted.is_empty() {
                true => Sure::Spot(format!(
                    "the middle of the best ways of {} leaves, each found by several ways",
                    all.len()
                )),
                false => Sure::Tasted(Tasted { classes: most(|t| t.classes), seats: most(|t| t.seats), by }),
            }
        }
    };
    let (first_c, last_c) = (*middle.temp_c.first()?, *middle.temp_c.last()?);
    let Middle { dose_g_per_100_ml, rinse_s, steep_s, .. } = middle;
    Some(Line { dose_g_per_100_ml, first_c, last_c, rinse_s, steep_s, sure })
}

#[cfg(test)]
mod tests;
