//! Which way the evidence would have each steep go: longer, shorter, or as it is.

use crate::several::Looked;
use crate::several::class::Class;
use crate::several::test::Test;
use crate::several::ways::Way;
use protocol::Strength;
use schemars::JsonSchema;
use serde::Serialize;
use stats::anova::one_way;
use stats::multiple::holm;
use stats::penalty::{Hint, SteepHint, penalties, steep_hint, tally};
use stats::votes::over_tasters;
use std::collections::BTreeMap;

/// The votes on one steep of one way, over all classes.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
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
    /// `lengthen`, `shorten`, `leave` or `too_few_to_tell`, by exact tests at 5 % for each steep, a taster who voted on it
    /// under several codes counted once.
    pub favours: Hint,
    /// The p of the test that it goes by, for this steep by itself.
    pub p: f64,
    /// The same by Holm over both tests of all steeps: up to 0.05 it is shown and advice, else the way the votes lean.
    pub p_of_all: f64,
    /// Each class's votes.
    pub classes: Vec<RuleInClass>,
    /// Whether the classes vote differently (F test between classes of the votes as −2 to 2); `null` when that can't be computed.
    pub moves: Option<Test>,
    /// How far those who find it too thin score below those who find it just right, points; `null` without either.
    pub too_thin_costs: Option<f64>,
    /// The same for too strong.
    pub too_strong_costs: Option<f64>,
    /// In words; empty until it is put into words.
    pub words: String,
}

/// One class's votes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct RuleInClass {
    /// The class's number.
    pub class: usize,
    /// Much too thin, too thin, just right, too strong, much too strong.
    pub counts: [usize; 5],
}

/// A vote with the points of the same sheet, and the class and the seat it was given in.
#[derive(Clone, Copy)]
struct Vote {
    class: usize,
    seat: usize,
    strength: Strength,
    points: Option<f64>,
}

/// The steeps that anybody voted on; what a strength costs is counted on the attribute `scale`.
pub(crate) fn rules(classes: &[Class<'_>], ways: &[Way], scale: usize) -> Looked<Rule, SteepHint> {
    let mut found = Vec::new();
    for way in ways {
        let mut steeps: Vec<Vec<Vote>> = Vec::new();
        for (number, class) in classes.iter().enumerate() {
            let own = class.scales.iter().position(|&s| s == scale);
            let teas = class.ways.iter().zip(&class.digest.votes).filter(|(w, _)| **w + 1 == way.way);
            for (steep, votes) in teas.flat_map(|(_, steeps)| steeps.iter().enumerate()) {
                steeps.resize_with(steeps.len().max(steep + 1), Vec::new);
                let points = |points: &[Option<i32>]| own.and_then(|own| points[own]).map(f64::from);
                steeps[steep].extend(votes.iter().map(|v| Vote {
                    class: number,
                    seat: v.seat,
                    strength: v.strength,
                    points: points(&v.points),
                }));
            }
        }
        let each = steeps.iter().enumerate().filter(|(_, votes)| !votes.is_empty());
        found.extend(each.filter_map(|(steep, votes)| rule(way, steep, votes)));
    }
    let p: Vec<f64> = found.iter().flat_map(|(_, hint)| [hint.sign_p, hint.majority_p]).collect();
    let adjusted = holm(&p).unwrap_or_else(|_| p.clone());
    for ((rule, hint), adjusted) in found.iter_mut().zip(adjusted.chunks(2)) {
        rule.p = hint.hint.deciding(hint.sign_p, hint.majority_p);
        rule.p_of_all = hint.hint.deciding(adjusted[0], adjusted[1]);
    }
    Looked { found, tested: p.len() }
}

/// What the votes say; where a taster has voted on the steep of a way under several codes, each taster of each class counted once.
fn each_once(votes: &[Vote], by_votes: SteepHint) -> SteepHint {
    let mut tasters: BTreeMap<(usize, usize), Vec<i8>> = BTreeMap::new();
    for vote in votes {
        tasters.entry((vote.class, vote.seat)).or_default().push(vote.strength.into());
    }
    if tasters.len() == votes.len() {
        return by_votes;
    }
    let Ok(found) = over_tasters(&tasters.into_values().collect::<Vec<_>>()) else { return by_votes };
    let hint = Hint::by(found.majority_p, found.sign_p, found.too_thin > found.too_strong);
    SteepHint { hint, sign_p: found.sign_p, majority_p: found.majority_p, ..by_votes }
}

/// A rule without what takes all of them to know.
fn rule(way: &Way, steep: usize, votes: &[Vote]) -> Option<(Rule, SteepHint)> {
    let tally = tally(&votes.iter().map(|v| v.strength.into()).collect::<Vec<i8>>()).ok()?;
    let hint = each_once(votes, steep_hint(&tally));
    let scored: Vec<(i8, f64)> =
        votes.iter().filter_map(|vote| Some((vote.strength.into(), vote.points?))).collect();
    let costs = penalties(&scored).ok();
    let by_class: Vec<&[Vote]> = votes.chunk_by(|a, b| a.class == b.class).collect();
    let counts =
        |votes: &[Vote]| Strength::ALL.map(|s| votes.iter().filter(|vote| vote.strength == s).count());
    let scores: Vec<Vec<f64>> = by_class
        .iter()
        .map(|votes| votes.iter().map(|vote| f64::from(i8::from(vote.strength))).collect())
        .collect();
    let moves = one_way(&scores).ok().map(|found| Test::of(found.between, found.within));
    let rule = Rule {
        way: way.way,
        steep: steep + 1,
        steep_s: way.known.as_ref().and_then(|known| known.steeping.steep_s.get(steep).copied()),
        n: tally.n,
        counts: tally.counts,
        favours: hint.hint,
        p: 1.0,
        p_of_all: 1.0,
        classes: by_class
            .iter()
            .map(|votes| RuleInClass { class: votes[0].class + 1, counts: counts(votes) })
            .collect(),
        moves,
        too_thin_costs: costs.as_ref().and_then(|c| c.too_thin.as_ref()).map(|p| p.drop),
        too_strong_costs: costs.as_ref().and_then(|c| c.too_strong.as_ref()).map(|p| p.drop),
        words: String::new(),
    };
    Some((rule, hint))
}
