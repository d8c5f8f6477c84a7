//! What was found, for whoever reads only a few lines: no figures but points and counts.

mod apart;
mod first_cup;
mod next_time;
mod words;

use crate::data::Data;
use crate::figures::Figures;
use crate::find::differences::Difference;
use crate::find::strength::LIKING;
use crate::say::compared::{one_tea_briefly, pairs};
use crate::say::differences::{alike, whole};
use crate::sentence::{About, Sentence};
use protocol::Code;
use protocol::say::{list, many};
use serde::Serialize;
use stats::say::{points, signed};

/// So many lines at most, the last of which says how far all this goes.
const MOST: usize = 8;
/// Whoever is liked less than so many others is not named.
const NAMED: usize = 5;
/// Of more tasters "only" is not said.
const FEW_TASTERS: usize = 20;

/// Said of means that have what is missing made up by the model.
const EVENED: &str = ", missing scores allowed for";

/// One of the lines; as JSON its text.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(into = "String")]
pub struct Line {
    /// What it says.
    pub text: String,
    /// The same where there is little room.
    pub short: String,
    /// What it is about.
    pub matter: Matter,
}

/// What a line is about: what matters most first, so that the last goes first where there is no room for all.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Matter {
    /// Which tea was liked best, and whether that is shown.
    Liked,
    /// What to steep longer or shorter.
    NextTime,
    /// Ways of one leaf.
    Ways,
    /// What so few can't show.
    Reach,
    /// That the first cup was scored otherwise.
    FirstCup,
    /// In what the teas differ.
    Differences,
    /// Difference tests of other teas.
    Tests,
    /// Words ticked.
    Words,
}

impl Matter {
    /// Whether a picture goes before such a line does.
    pub fn is_kept(self) -> bool {
        self <= Matter::Reach
    }
}

impl From<Line> for String {
    fn from(line: Line) -> Self {
        line.text
    }
}

impl Line {
    fn new(matter: Matter, text: String) -> Self {
        Self { short: text.clone(), text, matter }
    }
}

/// The lines; none if nobody has scored and no test was answered.
pub fn lines(data: &Data<'_>, found: &Figures, sentences: &[Sentence]) -> Vec<Line> {
    let liked = liked(data, found);
    let but_liking = liked.is_some();
    let (ways, tests) = apart::lines(data, found);
    let line = |matter| move |text| Line::new(matter, text);
    let mut lines: Vec<Line> = liked.map(line(Matter::Liked)).into_iter().collect();
    lines.extend(next_time::line(data, found));
    lines.extend(differences(data, found, sentences, but_liking).map(line(Matter::Differences)));
    lines.extend(ways.into_iter().map(|(text, short)| Line { text, short, matter: Matter::Ways }));
    lines.extend(first_cup::line(found));
    lines.extend(words::line(data, found).map(line(Matter::Words)));
    lines.extend(tests.map(line(Matter::Tests)));
    while lines.len() > MOST - 1 {
        let last = (0..lines.len()).max_by_key(|&i| lines[i].matter);
        last.map(|i| lines.remove(i));
    }
    if !lines.is_empty() {
        lines.push(Line::new(Matter::Reach, reach(data, found)));
    }
    lines
}

/// The comparison by liking over the steeps, if the sheet asks for it.
fn by_liking(found: &Figures) -> Option<&Difference> {
    found.differences.iter().find(|d| d.steep.is_none() && d.attribute.eq_ignore_ascii_case(LIKING))
}

/// Which tea was liked best, and whether that is shown.
fn liked(data: &Data<'_>, found: &Figures) -> Option<String> {
    let of = by_liking(found)?;
    // The means that every picture shows: those that the test goes by.
    let plain = |tea: Code| {
        let over = found
            .described
            .iter()
            .find(|d| d.attribute == of.attribute && d.tea == Some(tea) && d.steep.is_none());
        over.and_then(|over| over.mean)
    };
    let mut order: Vec<(f64, Code)> = match &of.by_ways {
        Some(_) => of.compared().into_iter().filter_map(|(way, mean)| Some((mean, *way.first()?))).collect(),
        None => of
            .teas
            .iter()
            .filter_map(|&tea| {
                Some((of.adjusted(tea).map(|of| of.adjusted_mean).or_else(|| plain(tea))?, tea))
            })
            .collect(),
    };
    order.sort_by(|a, b| b.0.total_cmp(&a.0));
    let (best, tea) = *order.first()?;
    let level = order.iter().take_while(|(mean, _)| best - mean < 1e-9).count();
    let called = |tea: Code| one_tea_briefly(data, &of.codes(tea));
    let names = |of: &[(f64, Code)]| list(&of.iter().map(|(_, tea)| called(*tea)).collect::<Vec<_>>());
    let some = |of: &[(f64, Code)]| some(&of.iter().map(|(_, tea)| called(*tea)).collect::<Vec<_>>());
    let (attribute, of_scale) = (&of.attribute, on_scale(found, &of.attribute, best));
    if order.len() == 1 {
        return Some(format!("Mean {attribute} of {}: {of_scale}.", called(tea)));
    }
    let each = if level > 1 { " each" } else { "" };
    let gaps = |tea: Code| scored_by(of, tea).map_or(String::new(), |by| format!(", scored by {by}"));
    let evened = if order.iter().any(|(_, tea)| of.adjusted(*tea).is_some()) { EVENED } else { "" };
    let behind = if level > 1 { String::new() } else { gaps(tea) };
    let head =
        format!("Highest mean {attribute}{evened}: {} ({of_scale}{each}{behind})", names(&order[..level]));
    if of.test.get().is_none() {
        return Some(format!("{head}; whether the teas differ in it can't be tested."));
    }
    if !of.shown() {
        let ways = whole(&found.leaves).map_or(String::new(), |leaf| format!(" between the ways of {leaf}"));
        return Some(format!("{head}, but too close to call{ways}."));
    }
    let (pairs, alike) = (pairs(&of.pairs()), alike(of));
    let told = |above: Code, below: Code| {
        let are = |first, second| of.codes(first).contains(&above) && of.codes(second).contains(&below);
        pairs.iter().any(|pair| pair.differs && are(pair.first, pair.second))
            || alike.iter().any(|(first, second, _)| are(*first, *second))
    };
    let (best_ones, rest) = order.split_at(level);
    let (below, open): (Vec<_>, Vec<_>) =
        rest.iter().copied().partition(|(_, other)| best_ones.iter().all(|(_, best)| told(*best, *other)));
    // The largest difference that is shown, where it is none of the highest.
    let largest = pairs.iter().find(|pair| pair.differs).filter(|pair| {
        !best_ones.iter().any(|(_, best)| of.codes(*best).contains(&pair.first)) || below.is_empty()
    });
    let largest = largest.map_or(String::new(), |pair| {
        format!(
            " {} is liked more than {} by {}.",
            called(pair.first),
            called(pair.second),
            points(pair.difference)
        )
    });
    Some(match (below.is_empty(), open.is_empty()) {
        (true, _) => format!(
            "{head}; that the {} differ is shown, but not that the highest is liked more than another.{largest}",
            whats_compared(found)
        ),
        (false, true) if level > 1 => format!("{head}, liked more than {}.{largest}", some(&below)),
        (false, true) => {
            let next: Vec<String> = below
                .iter()
                .take(NAMED - 1)
                .map(|(mean, tea)| {
                    let by = scored_by(of, *tea).map_or(String::new(), |by| format!(" ({by})"));
                    format!("{} {}{by}", called(*tea), signed(*mean))
                })
                .chain((below.len() >= NAMED).then(|| many(below.len() + 1 - NAMED, "more tea")))
                .collect();
            let than = if below.len() == 1 { "the other" } else { "every other" };
            format!(
                "Liked best{evened}: {} ({of_scale}{}), more than {than}. Then {}.{largest}",
                called(tea),
                gaps(tea),
                list(&next)
            )
        }
        (false, false) => {
            format!(
                "{head}, liked more than {}; too close to call against {}.{largest}",
                some(&below),
                some(&open)
            )
        }
    })
}

/// Some teas by name, or how many they are.
fn some(names: &[String]) -> String {
    if names.len() < NAMED { list(names) } else { format!("{} others", names.len()) }
}

/// "3 of 12", where means have missing scores allowed for and this tea has some.
fn scored_by(of: &Difference, tea: Code) -> Option<String> {
    let n = of.adjusted(tea)?.n;
    (n < of.tasters).then(|| format!("{n} of {}", of.tasters))
}

/// "6.6 of 9"; on a scale that does not begin at 0 or 1 with both ends.
fn on_scale(found: &Figures, attribute: &str, points: f64) -> String {
    let scale = found.scales.iter().find(|scale| scale.attribute == attribute);
    let points = signed(points);
    match scale.map(|scale| (scale.min, scale.max)) {
        Some((0 | 1, max)) => format!("{points} of {max}"),
        Some((min, max)) => {
            format!("{points} on a scale from {} to {max}", min.to_string().replace('-', "−"))
        }
        None => points,
    }
}

/// What is compared: the teas, or the ways of the one leaf that there is.
fn whats_compared(found: &Figures) -> String {
    whole(&found.leaves).map_or("teas".to_string(), |leaf| format!("ways of {leaf}"))
}

/// Over the steeps: in what the teas differ, and in what no difference is shown; `but_liking` of which that is said already.
fn differences(data: &Data<'_>, found: &Figures, sentences: &[Sentence], but_liking: bool) -> Option<String> {
    let teas = whats_compared(found);
    let over: Vec<&Sentence> = sentences
        .iter()
        .filter(|s| s.about == About::Difference && s.evidence.steep.is_none() && s.evidence.test.is_some())
        .filter(|s| {
            let attribute = s.evidence.attribute.as_deref().unwrap_or_default();
            !(but_liking && attribute.eq_ignore_ascii_case(LIKING))
        })
        .collect();
    // A way under several codes by all of them.
    let called = |s: &Sentence, tea: Code| {
        let of = found
            .differences
            .iter()
            .find(|d| d.steep.is_none() && Some(&d.attribute) == s.evidence.attribute.as_ref());
        of.map_or_else(|| data.label(tea), |d| one_tea_briefly(data, &d.codes(tea)))
    };
    let attribute = |s: &Sentence| s.evidence.attribute.clone().unwrap_or_default();
    let with_pair = |s: &Sentence| match (&s.evidence.teas[..], s.evidence.points, s.evidence.interval) {
        // Only a pair that is told apart by itself.
        ([above, below], Some(by), interval) if interval.is_none_or(|interval| interval.low > 0.0) => {
            format!("{} ({} above {} by {})", attribute(s), called(s, *above), called(s, *below), points(by))
        }
        _ => attribute(s),
    };
    let (shown, not): (Vec<&Sentence>, Vec<&Sentence>) = over.into_iter().partition(|s| s.shown);
    let shown: Vec<String> = shown.into_iter().map(with_pair).collect();
    let not: Vec<String> = not.into_iter().map(attribute).collect();
    match (shown.is_empty(), not.is_empty()) {
        (true, true) => None,
        (false, true) => Some(format!("The {teas} differ in {}.", list(&shown))),
        (true, false) => Some(format!("In {} no difference between the {teas} is shown.", list(&not))),
        (false, false) => {
            Some(format!("The {teas} differ in {}; in {} no difference is shown.", list(&shown), list(&not)))
        }
    }
}

/// How many tasted, and what so few easily miss: in liking, else in what comes first of all that is not shown.
fn reach(data: &Data<'_>, found: &Figures) -> String {
    let tasted = match found.tasters {
        0 => return "This is about these cups only; what is not shown may be there all the same.".into(),
        1 => return "Only one tasted: one person's view, of which nothing can be tested.".into(),
        n if n <= FEW_TASTERS => format!("Only {n} tasted"),
        n => format!("{n} tasted"),
    };
    let missed = |d: &Difference| {
        let apart = d.told_apart_from_points.filter(|_| d.steep.is_none() && !d.shown())?;
        let fits = apart >= 0.05 && data.width(&d.attribute).is_none_or(|width| apart <= width);
        fits.then(|| (d.attribute.clone(), points(apart)))
    };
    match by_liking(found).and_then(missed).or_else(|| found.differences.iter().find_map(missed)) {
        Some((attribute, apart)) => format!(
            "{tasted}: a difference below about {apart} in {attribute} is easily missed. Not shown is not the same as none."
        ),
        None => format!("{tasted}, and only these cups: not shown is not the same as none."),
    }
}

#[cfg(test)]
mod tests;
