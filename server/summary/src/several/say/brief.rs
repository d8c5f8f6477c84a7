//! What several classes have found, for whoever reads only a few lines: no figures but points and counts, and no two lines alike.

mod leaves;

use crate::find::strength::LIKING;
use crate::say::brief::{Line, Matter};
use crate::say::capital;
use crate::several::Pool;
use crate::several::say::strength::next_time;
use crate::several::say::{in_classes, these, too_few};
use crate::several::together::{Mean, Together};
use crate::several::ways::Way;
use leaves::Names;
use protocol::say::{list, many};
use stats::say::{points, signed};
use std::collections::BTreeSet;

/// So many comparisons of ways that no taster links are told of the liking.
const GROUPS: usize = 2;
/// Of so many attributes in which the ways differ each is told with its extremes.
const EXTREMES: usize = 2;
/// So many things of one kind are named, here and there; of more it is said how many they are.
const NAMED: usize = 4;

/// The lines; none if nothing was compared and nobody voted.
pub fn lines(pool: &Pool) -> Vec<Line> {
    let (groups, mut lines) = liked(pool);
    let next = next_time(pool);
    let next = next.map(|(text, short)| Line { text, short, matter: Matter::NextTime });
    let others = differences(pool);
    lines.extend(next);
    lines.extend(leaves::line(pool, &groups));
    lines.extend(others);
    if !lines.is_empty() {
        let text = reach(pool);
        let short = "What is not shown may be there all the same.".to_string();
        lines.push(Line { text, short, matter: Matter::Reach });
    }
    lines
}

/// Of whom all this speaks.
fn reach(pool: &Pool) -> String {
    let others = pool.together.iter().any(|found| found.shown() && found.for_others());
    let votes = pool.strength.iter().any(|votes| votes.shown);
    let whose = match (others, votes) {
        (true, false) => "What is shown is to hold in classes like these",
        (true, true) => {
            "What the scores show is to hold in classes like these, what the votes show is of these"
        }
        (false, _) => "All this is about these classes and these cups",
    };
    format!("{whose}; what is not shown may be there all the same.")
}

fn way(pool: &Pool, number: usize) -> Option<&Way> {
    pool.ways.iter().map(|line| &line.way).find(|way| way.way == number)
}

/// Some names, or the first of them and how many more there are.
fn some(names: &[String], one_more: &str) -> String {
    match names.len() > NAMED {
        true => {
            let more = many(names.len() + 1 - NAMED, one_more);
            list(&names[..NAMED - 1].iter().cloned().chain([more]).collect::<Vec<_>>())
        }
        false => list(names),
    }
}

/// Which way was liked best, for every group of ways that tasters link, the largest group first; and the groups that are told.
fn liked(pool: &Pool) -> (Vec<&Together>, Vec<Line>) {
    let of_liking = |found: &&Together| {
        found.attribute.name.eq_ignore_ascii_case(LIKING) && found.p_of_all.is_some() && found.means.len() > 1
    };
    let mut groups: Vec<&Together> = pool.together.iter().filter(of_liking).collect();
    groups.sort_by_key(|found| std::cmp::Reverse(found.tasters));
    let more = groups.len().saturating_sub(GROUPS);
    groups.truncate(GROUPS);
    let more =
        (more > 0).then(|| format!(" ({} of other teas, with the rest.)", many(more, "more comparison")));
    let told = groups.iter().enumerate().map(|(place, found)| {
        let behind = if place + 1 == GROUPS { more.as_deref().unwrap_or_default() } else { "" };
        let said = |brief: bool| liked_of(pool, found, brief) + behind;
        Line { text: said(false), short: said(true), matter: Matter::Liked }
    });
    let told = told.collect();
    (groups, told)
}

fn liked_of(pool: &Pool, found: &Together, brief: bool) -> String {
    let Some((best, rest)) = found.means.split_first() else { return String::new() };
    let name = &found.attribute.name;
    let of = if brief { String::new() } else { format!(" ({})", in_classes(found.tasters, found.classes)) };
    let points = match found.attribute.min {
        0 | 1 => format!("{} of {}", signed(best.adjusted_mean), found.attribute.max),
        min => {
            let min = min.to_string().replace('-', "−");
            format!("{} on a scale from {min} to {}", signed(best.adjusted_mean), found.attribute.max)
        }
    };
    let leaf = leaves::whole(pool, found);
    let mut of_leaf = Names { pool, brief, told: BTreeSet::new() };
    let (head, first) = match leaf {
        Some(leaf) => (format!("{leaf}, {} ways. ", found.means.len()), of_leaf.of(best.way)),
        None => (String::new(), pool.called(best.way).to_string()),
    };
    let called = |mean: &Mean| match leaf {
        Some(_) => way(pool, mean.way).map_or(String::new(), Way::called_of_leaf),
        None => pool.called(mean.way).to_string(),
    };
    let first = format!("{first}, {points}");
    let names = |of: &[&Mean]| -> Vec<String> { of.iter().map(|mean| called(mean)).collect() };
    if found.only_here() {
        let few = capital(&too_few(found.classes));
        return format!("{head}Highest mean {name}: {first}{of}. {few}.");
    }
    if !found.shown() {
        let why = if found.moved() {
            "but the classes do not agree on how the ways differ"
        } else {
            "but too close to call"
        };
        return format!("{head}Highest mean {name}: {first}, {why}{of}.");
    }
    let whose = if found.for_others() { "" } else { these(found.classes) };
    let (open, below): (Vec<&Mean>, Vec<&Mean>) =
        rest.iter().partition(|mean| mean.letters.chars().any(|letter| best.letters.contains(letter)));
    let said = match (&below[..], &open[..]) {
        ([], _) => format!(
            "Highest mean {name}: {first}; that the ways differ{whose} is shown, but not that the highest is liked more than another{of}."
        ),
        (below, []) => {
            let next: Vec<String> = below
                .iter()
                .map(|mean| format!("{} at {}", called(mean), signed(mean.adjusted_mean)))
                .collect();
            let than = if below.len() == 1 { "the other" } else { "every other" };
            format!("Liked best{whose}: {first}, more than {than}{of}. Then {}.", some(&next, "more way"))
        }
        (below, open) => format!(
            "Highest mean {name}{whose}: {first}, liked more than {}; too close to call against {}{of}.",
            some(&names(below), "more way"),
            some(&names(open), "more way")
        ),
    };
    head + &said
}

/// What the comparisons of one attribute come to, the strongest first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Come {
    Differ,
    DifferHere,
    Moved,
    NotShown,
}

/// In what else the ways differ and in what no difference is shown, each attribute once.
fn differences(pool: &Pool) -> Option<Line> {
    let mut told: Vec<(Come, &Together)> = Vec::new();
    let others = |found: &&Together| {
        found.p_of_all.is_some()
            && !found.attribute.name.eq_ignore_ascii_case(LIKING)
            && !found.means.is_empty()
    };
    for found in pool.together.iter().filter(others) {
        let come = match (found.shown(), found.for_others(), found.moved()) {
            (true, true, _) => Come::Differ,
            (true, false, _) => Come::DifferHere,
            (false, _, true) => Come::Moved,
            (false, _, false) => Come::NotShown,
        };
        match told.iter_mut().find(|(_, other)| other.attribute == found.attribute) {
            Some(other)
                if (come, std::cmp::Reverse(found.tasters))
                    < (other.0, std::cmp::Reverse(other.1.tasters)) =>
            {
                *other = (come, found);
            }
            Some(_) => {}
            None => told.push((come, found)),
        }
    }
    let of = |come: Come| -> Vec<&Together> {
        told.iter().filter(|(other, _)| *other == come).map(|(_, found)| *found).collect()
    };
    let extremes = |found: &Together| match &found.means[..] {
        [first, .., last] => format!(
            "{} ({} above {} by {})",
            found.attribute.name,
            pool.called(first.way),
            pool.called(last.way),
            points(first.adjusted_mean - last.adjusted_mean)
        ),
        _ => found.attribute.name.clone(),
    };
    let bare = |found: &[&Together]| -> Vec<String> {
        found.iter().map(|found| found.attribute.name.clone()).collect()
    };
    let here = match of(Come::DifferHere).iter().all(|found| found.classes == 1) {
        true => "In one class the ways differ in",
        false => "In these classes the ways differ in",
    };
    let said = |brief: bool| -> Vec<String> {
        let differ = |come: Come, words: &str| {
            let found = of(come);
            // Of many only the first has its extremes.
            let with = if found.len() > EXTREMES { 1 } else { EXTREMES };
            let with = if brief { 0 } else { with };
            let names: Vec<String> = found.iter().take(with).map(|found| extremes(found)).collect();
            let names = [names, bare(&found[with.min(found.len())..])].concat();
            (!names.is_empty()).then(|| format!("{words} {}.", some(&names, "more attribute")))
        };
        let plain = |come: Come, words: &str| {
            let names = bare(&of(come));
            (!names.is_empty()).then(|| format!("{words} {}.", some(&names, "more attribute")))
        };
        [
            differ(Come::Differ, "The ways differ in"),
            differ(Come::DifferHere, here),
            plain(Come::Moved, "The classes do not agree on how the ways differ in"),
            plain(Come::NotShown, "No difference between the ways is shown in"),
        ]
        .into_iter()
        .flatten()
        .collect()
    };
    let (text, short) = (said(false).join(" "), said(true).join(" "));
    (!text.is_empty()).then_some(Line { text, short, matter: Matter::Differences })
}

#[cfg(test)]
mod tests;
