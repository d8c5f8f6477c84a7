//! What is said of ways, in words that need no statistics. The text and the page say the same.

use crate::words::{capital, counted};
use plan::ways::{AGREE_C, AGREE_FOLD, Beside, Difference, Factor, Group, LEAST_WAYS, Middle};
use protocol::say::list;

/// How it is computed, under every comparison.
pub(super) const HOW: &str = "The middle is the median of each thing, of leaf and seconds in folds (between 2 and 8 g lies 4). How strong a \
                              cup gets is reckoned from the leaf and from how fast leaf gives into water of that heat; dry leaf begins late, so a first cup after a rinse is stronger. It is a rough \
                              guess, good for more or less, not for tastes. server/docs/method.md has the rules.";

/// What the middle is worth.
pub(super) const UNTASTED: &str = "Nobody has tasted the middle way for being in the middle. It is a place to start: taste it beside the others.";

/// So many times, as precise as it is worth.
pub(super) fn times(fold: f64) -> String {
    match fold {
        f if f < 0.995 => format!("{f:.2}"),
        f if f < 9.95 => format!("{f:.1}"),
        f => format!("{f:.0}"),
    }
}

/// A number without decimals that say nothing.
pub(super) fn plain(number: f64) -> String {
    format!("{}", (number * 10.0).round() / 10.0)
}

/// `95`, `90 to 95`.
pub(super) fn water(temp_c: &[f64]) -> String {
    let (first, last) = (temp_c.first().copied(), temp_c.last().copied());
    match (first, last) {
        (Some(first), Some(_)) if temp_c.iter().all(|c| *c == first) => plain(first),
        (Some(first), Some(last)) => format!("{} to {}", plain(first), plain(last)),
        _ => String::new(),
    }
}

/// `25, 20, 25`, a flash steep in its word.
pub(super) fn steeps(steep_s: &[u32]) -> String {
    let steeps = steep_s.iter().map(|&s| if s == 0 { "flash".into() } else { s.to_string() });
    steeps.collect::<Vec<String>>().join(", ")
}

pub(super) fn rinse(rinse_s: Option<u32>) -> String {
    rinse_s.map_or("–".into(), |s| format!("{s} s"))
}

/// `3 ways of ball-rolled, half oxidised leaf`.
pub(super) fn head(group: &Group) -> String {
    format!("{} · {}", capital(&group.leaf), counted(group.ways.len(), "way"))
}

fn factor(factor: Factor) -> &'static str {
    match factor {
        Factor::Leaf => "leaf",
        Factor::Water => "water of the first steep",
        Factor::FirstSteep => "first steep",
        Factor::LaterSteeps => "later steeps",
    }
}

/// A value of a factor without its unit.
fn value(of: Factor, value: f64) -> String {
    match of {
        Factor::FirstSteep | Factor::LaterSteeps => format!("{value:.0}"),
        Factor::Leaf | Factor::Water => plain(value),
    }
}

fn unit(of: Factor) -> &'static str {
    match of {
        Factor::Leaf => "g to 100 ml",
        Factor::Water => "°C",
        Factor::FirstSteep => "s",
        Factor::LaterSteeps => "s on average",
    }
}

/// How far they are apart in one thing, and what that does.
pub(super) fn difference(of: &Difference) -> String {
    let name = capital(factor(of.factor));
    let (least, most, unit) = (value(of.factor, of.least), value(of.factor, of.most), unit(of.factor));
    if of.agree {
        return if least == most {
            format!("{name}: {least} {unit}, all alike.")
        } else {
            format!("{name}: from {least} to {most} {unit}; they agree.")
        };
    }
    let span = match of.factor {
        Factor::Leaf => format!("{} times as much", times(of.span)),
        Factor::Water => format!("{} °C apart", plain(of.span)),
        Factor::FirstSteep | Factor::LaterSteeps => format!("{} times as long", times(of.span)),
    };
    let cup = if of.factor == Factor::LaterSteeps { "second" } else { "first" };
    let fold = times(of.strength_fold);
    format!(
        "{name}: from {least} to {most} {unit}, {span}. That alone makes the {cup} cup {fold} times as strong."
    )
}

/// What they differ in most, and what all of it comes to.
pub(super) fn most(group: &Group) -> Vec<String> {
    let most = match group.differ_most_in() {
        Some(most) => format!("They differ most in the {}, by what it does to the cup.", factor(most.factor)),
        None if group.differences.is_empty() => {
            return vec!["One way alone: there is nothing to compare.".into()];
        }
        None => format!(
            "They agree: leaf and times are less than {AGREE_FOLD} times apart, the water at most {AGREE_C} °C."
        ),
    };
    let cups = group.first_cups().map(|(weakest, strongest)| {
        format!(
            "All in all their first cups go from {} to {} times as strong as the middle way's.",
            times(weakest),
            times(strongest)
        )
    });
    std::iter::once(most).chain(cups).collect()
}

/// Who stands apart, a sentence each; or that nobody does.
pub(super) fn apart(group: &Group) -> Vec<String> {
    if group.ways.len() < LEAST_WAYS {
        return vec![format!("With fewer than {LEAST_WAYS} ways nobody can be said to stand apart.")];
    }
    let all: Vec<String> = group.ways.iter().filter_map(one_apart).collect();
    if all.is_empty() { vec!["Nobody lies far from the others.".into()] } else { all }
}

fn one_apart(of: &Beside) -> Option<String> {
    let what = |factor: Factor, from: f64| match factor {
        Factor::Leaf => format!("{} times as much leaf", times(from)),
        Factor::Water if from < 0.0 => format!("water {} °C cooler", plain(-from)),
        Factor::Water => format!("water {} °C hotter", plain(from)),
        Factor::FirstSteep => format!("a first steep {} times as long", times(from)),
        Factor::LaterSteeps => format!("later steeps {} times as long", times(from)),
    };
    let what: Vec<String> = of.apart.iter().map(|apart| what(apart.factor, apart.from_median)).collect();
    (!what.is_empty()).then(|| format!("{}, beside the median: {}.", of.way.who, list(&what)))
}

/// The middle way as it would be poured.
pub(super) fn middle(middle: &Middle) -> String {
    let rinse = middle.rinse_s.map_or(String::new(), |s| format!("Rinse {s} s and pour it off. "));
    format!(
        "{} g to 100 ml, water at {} °C. {rinse}Steeps: {} s.",
        plain(middle.dose_g_per_100_ml),
        water(&middle.temp_c),
        steeps(&middle.steep_s)
    )
}

/// What somebody else said.
pub(super) fn remarks(group: &Group) -> Vec<String> {
    let all = group.ways.iter().filter_map(|of| Some((&of.way.who, of.way.remarks.as_ref()?)));
    all.map(|(who, said)| format!("{who}: “{said}”")).collect()
}
