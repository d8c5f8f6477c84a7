//! Two ways as the review that was read tells them apart: of several classes together, or of one class by itself.

use crate::figures::Figures;
use crate::find::leaves::{ToldPair, told as told_apart};
use crate::find::strength::LIKING;
use crate::several::Pool;
use crate::several::pairs::Pair;
use crate::several::ways::ways;
use protocol::Code;
use room::light::ClassScores;
use stats::say::{fine, p as chance, plus};

/// Two ways.
pub(super) struct Told {
    /// The number of the one.
    pub first: usize,
    /// The number of the other.
    pub second: usize,
    /// Whether both are one leaf.
    pub same_leaf: bool,
    /// Whether it is liking that they are judged by.
    pub liking: bool,
    /// Whether they are shown to differ.
    pub shown: bool,
    /// The first less the second, points.
    pub points: f64,
    /// The p of that, where there is one.
    pub p: Option<f64>,
    /// What was found, in words.
    pub words: String,
}

impl Told {
    /// The higher one and the lower one.
    pub fn better(&self) -> (usize, usize) {
        if self.points > 0.0 { (self.first, self.second) } else { (self.second, self.first) }
    }
}

/// Every pair of the pool; of one class with what its own review says of two ways of a leaf, whose test is another one.
pub(super) fn told(pool: &Pool, records: &[&ClassScores], alone: Option<&Figures>) -> Vec<Told> {
    let own = |pair: &Pair| match (records, alone) {
        ([record], Some(found)) if pair.same_leaf => own(pair, record, found),
        _ => None,
    };
    let one = |pair: &Pair| {
        let own = own(pair);
        Told {
            first: pair.first,
            second: pair.second,
            same_leaf: pair.same_leaf,
            liking: pair.attribute.name.eq_ignore_ascii_case(LIKING),
            shown: own.map_or_else(|| pair.shown(), |own| own.differs),
            points: own.map_or_else(|| pair.points(), |own| own.difference),
            p: own.map_or(pair.p, |own| own.p),
            words: own.map_or_else(|| pair.words.clone(), |own| words(pool, pair, &own)),
        }
    };
    pool.pairs.iter().map(one).collect()
}

/// What the class's own review has of two ways, the first less the second.
fn own(pair: &Pair, record: &ClassScores, found: &Figures) -> Option<ToldPair> {
    let of_teas = ways(&[record]).1.into_iter().next()?;
    let way = |code: Code| {
        let place = record.class.teas.iter().position(|tea| tea.code == Some(code))?;
        of_teas.get(place).map(|way| way + 1)
    };
    let over = found.differences.iter().find(|d| d.attribute == pair.attribute.name && d.steep.is_none())?;
    let told = told_apart(over, &found.leaves);
    told.get()?.iter().find_map(|told| match (way(told.first)?, way(told.second)?) {
        of if of == (pair.first, pair.second) => Some(*told),
        of if of == (pair.second, pair.first) => Some(ToldPair {
            difference: -told.difference,
            interval: told.interval.map(stats::say::turned),
            ..*told
        }),
        _ => None,
    })
}

/// "Oak b and Oak c: no difference in liking is shown, +0.30 points (95 % interval −0.60 to +1.20; p 0.71); it may still be there".
fn words(pool: &Pool, pair: &Pair, own: &ToldPair) -> String {
    let range = own.interval.map(|of| format!("95 % interval {} to {}", plus(of.low), plus(of.high)));
    let figures: Vec<String> = range.into_iter().chain(own.p.map(chance)).collect();
    let figures = if figures.is_empty() { String::new() } else { format!(" ({})", figures.join("; ")) };
    let (one, other, name) = (pool.called(pair.first), pool.called(pair.second), &pair.attribute.name);
    if !own.differs {
        let by = plus(own.difference);
        return format!(
            "{one} and {other}: no difference in {name} is shown, {by} points{figures}; it may still be there"
        );
    }
    let (above, below) = if own.difference > 0.0 { (one, other) } else { (other, one) };
    format!("{above} is above {below} in {name} by {} points", fine(own.difference.abs()))
}
