//! What several classes have found, for whoever reads only a few lines.

use super::Pool;
use super::pairs::Pair;
use super::rules::{Favour, Rule};
use crate::stats::interval::SIGNIFICANCE;
use crate::summary::findings::sentences::say::{list, many, points};

/// The lines; none if nothing was compared and nobody voted.
pub fn lines(pool: &Pool) -> Vec<String> {
    let mut lines = together(pool);
    lines.extend(pool.pairs.iter().filter(|pair| pair.same_leaf).filter_map(|pair| one_leaf(pool, pair)));
    lines.extend(steeps(pool));
    if !lines.is_empty() {
        lines.push(
            "All this is about these classes and these cups; what is not shown may be there all the same."
                .into(),
        );
    }
    lines
}

fn label(pool: &Pool, way: usize) -> String {
    pool.ways.iter().find(|line| line.way.way == way).map_or(format!("way {way}"), |line| line.way.label())
}

/// In what the ways differ, and in what no difference is shown.
fn together(pool: &Pool) -> Vec<String> {
    let (mut shown, mut not) = (Vec::new(), Vec::new());
    for found in &pool.together {
        let Some(of_all) = found.p_of_all else { continue };
        let (name, n) = (&found.attribute.name, many(found.tasters, "taster"));
        match (&found.means[..], of_all <= SIGNIFICANCE) {
            ([first, .., last], true) => shown.push(format!(
                "{name} ({} above {} by {}, {n})",
                label(pool, first.way),
                label(pool, last.way),
                points(first.adjusted_mean - last.adjusted_mean)
            )),
            _ => not.push(format!("{name} ({n})")),
        }
    }
    let mut lines = Vec::new();
    if !shown.is_empty() {
        lines.push(format!("The ways differ in {}.", list(&shown)));
    }
    if !not.is_empty() {
        lines.push(format!("No difference between the ways is shown in {}.", list(&not)));
    }
    lines
}

/// Whether it mattered how one leaf was steeped.
fn one_leaf(pool: &Pool, pair: &Pair) -> Option<String> {
    let of_all = pair.p_of_all?;
    let leaf = pool.ways.iter().find(|line| line.way.way == pair.first)?.way.known.as_ref()?.leaf.clone();
    let (first, second) = (pair.first, pair.second);
    let (above, below) = if pair.all.mean > 0.0 { (first, second) } else { (second, first) };
    let (name, by) = (&pair.attribute.name, points(pair.all.mean));
    Some(match (pair.shown(), of_all <= SIGNIFICANCE) {
        (true, _) => format!("{leaf}: way {above} is above way {below} in {name} by {by}."),
        (false, true) => format!(
            "{leaf}: way {above} came out above way {below} in {name} by {by}, but not alike in all classes."
        ),
        (false, false) => {
            format!("{leaf}: no difference between way {first} and way {second} is shown in {name}.")
        }
    })
}

/// Which steeps the votes would change.
fn steeps(pool: &Pool) -> Option<String> {
    let of = |rule: &Rule| {
        let what = match rule.favours {
            Favour::Lengthen => "longer",
            Favour::Shorten => "shorter",
            Favour::Leave | Favour::TooFewToTell => return None,
        };
        Some(format!("steep {} of {} {what}", rule.steep, label(pool, rule.way)))
    };
    let told: Vec<String> = pool.rules.iter().filter_map(of).collect();
    (!told.is_empty())
        .then(|| format!("To try next time by the strength votes, each steep by itself: {}.", list(&told)))
}
