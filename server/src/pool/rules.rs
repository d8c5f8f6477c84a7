//! Which way the evidence would have each steep go: longer, shorter, or as it is.

use super::Class;
use super::ways::Way;
use crate::stats::penalty::{Hint, penalties, steep_hint, tally};
use crate::summary::findings::sentences::say::{fine, p as chance};
use protocol::Strength;
use serde::Serialize;

/// The votes on one steep of one way, over all classes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Rule {
    /// The way's number.
    pub way: usize,
    /// The steep, from 1.
    pub steep: usize,
    /// Its seconds; `null` while the tea is blind.
    pub steep_s: Option<u32>,
    /// How many votes.
    pub n: usize,
    /// Much too thin, too thin, just right, too strong, much too strong.
    pub counts: [usize; 5],
    /// `lengthen`, `shorten`, `leave` or `too_few_to_tell`, by exact tests at 5 % for each steep.
    pub favours: Favour,
    /// How far those who find it too thin score below those who find it just right, points; `null` without either.
    pub too_thin_costs: Option<f64>,
    /// The same for too strong.
    pub too_strong_costs: Option<f64>,
    /// In words.
    pub words: String,
}

/// What a steep should do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Favour {
    /// Longer.
    Lengthen,
    /// Shorter.
    Shorten,
    /// As it is.
    Leave,
    /// The votes don't say.
    TooFewToTell,
}

/// The steeps that anybody voted on; what a strength costs is counted on the attribute `scale`.
pub fn rules(classes: &[Class<'_>], ways: &[Way], scale: usize, scale_name: &str) -> Vec<Rule> {
    let mut found = Vec::new();
    for way in ways {
        let mut steeps: Vec<Vec<(Strength, Option<f64>)>> = Vec::new();
        for class in classes {
            let own = class.scales.iter().position(|&s| s == scale);
            let teas = class.ways.iter().zip(&class.digest.votes).filter(|(w, _)| **w + 1 == way.way);
            for (steep, votes) in teas.flat_map(|(_, steeps)| steeps.iter().enumerate()) {
                steeps.resize_with(steeps.len().max(steep + 1), Vec::new);
                let points = |points: &[Option<i32>]| own.and_then(|own| points[own]).map(f64::from);
                steeps[steep].extend(votes.iter().map(|v| (v.strength, points(&v.points))));
            }
        }
        let each = steeps.iter().enumerate().filter(|(_, votes)| !votes.is_empty());
        found.extend(each.filter_map(|(steep, votes)| rule(way, steep, votes, scale_name)));
    }
    found
}

fn rule(way: &Way, steep: usize, votes: &[(Strength, Option<f64>)], scale_name: &str) -> Option<Rule> {
    let tally = tally(&votes.iter().map(|v| v.0).collect::<Vec<_>>()).ok()?;
    let hint = steep_hint(&tally);
    let scored: Vec<(Strength, f64)> = votes.iter().filter_map(|&(s, points)| Some((s, points?))).collect();
    let costs = penalties(&scored).ok();
    let too_thin_costs = costs.as_ref().and_then(|c| c.too_thin.as_ref()).map(|p| p.drop);
    let too_strong_costs = costs.as_ref().and_then(|c| c.too_strong.as_ref()).map(|p| p.drop);
    let favours = match hint.hint {
        Hint::Lengthen => Favour::Lengthen,
        Hint::Shorten => Favour::Shorten,
        Hint::Leave => Favour::Leave,
        Hint::TooFewToTell => Favour::TooFewToTell,
    };
    let steep_s = way.known.as_ref().and_then(|known| known.steep_s.get(steep).copied());
    let seconds = steep_s.map_or(String::new(), |s| format!(" ({s} s)"));
    let cost = match favours {
        Favour::Lengthen => too_thin_costs.map(|points| ("too thin", points)),
        Favour::Shorten => too_strong_costs.map(|points| ("too strong", points)),
        _ => None,
    };
    let cost = cost.map_or(String::new(), |(what, points)| {
        let side = if points < 0.0 { "above" } else { "below" };
        let points = fine(points.abs());
        format!(
            "; who finds it {what} scores {points} points {side} those who find it just right in {scale_name}"
        )
    });
    let found = match favours {
        Favour::Leave => format!(
            "leave it: {} of {} find it just right ({})",
            hint.just_right,
            tally.n,
            chance(hint.majority_p)
        ),
        Favour::Lengthen => format!(
            "lengthen: {} find it too thin, {} too strong (n {}, {})",
            hint.too_thin,
            hint.too_strong,
            tally.n,
            chance(hint.sign_p)
        ),
        Favour::Shorten => format!(
            "shorten: {} find it too strong, {} too thin (n {}, {})",
            hint.too_strong,
            hint.too_thin,
            tally.n,
            chance(hint.sign_p)
        ),
        Favour::TooFewToTell => format!(
            "too few to tell: {} too thin, {} just right, {} too strong (n {}, {})",
            hint.too_thin,
            hint.just_right,
            hint.too_strong,
            tally.n,
            chance(hint.sign_p)
        ),
    };
    let words = format!("{} steep {}{seconds}: {found}{cost}", way.label(), steep + 1);
    Some(Rule {
        way: way.way,
        steep: steep + 1,
        steep_s,
        n: tally.n,
        counts: tally.counts,
        favours,
        too_thin_costs,
        too_strong_costs,
        words,
    })
}
