//! Sentences on whether the teas differ.

use crate::data::Data;
use crate::find::differences::{Difference, MainTest, MeanPair, RankTest};
use crate::known::Known;
use crate::sentence::{About, Evidence, Sentence};
use protocol::Code;
use protocol::say::{list, many, steeps};
use stats::interval::SIGNIFICANCE;
use stats::power::{SD_OF_DIFFERENCES, smallest_difference, tasters_for};
use stats::say::{p, p_of_family, points, range, turned};

/// The most pairs that a sentence names; the table has them all.
const PAIRS: usize = 4;
/// How many tasters would find a difference is not reported below this many points: nobody would ask; a line of our own.
pub(crate) const LEAST_POINTS: f64 = 0.2;

/// A sentence for every attribute over the steeps, those that differ first; then one for every steep at which an attribute
/// differs, and one for all the others.
pub fn sentences(data: &Data<'_>, all: &[Difference]) -> Vec<Sentence> {
    let over = all.iter().filter(|d| d.steep.is_none());
    let (tested, untested): (Vec<&Difference>, Vec<&Difference>) = over.partition(|d| d.test.get().is_some());
    let mut said: Vec<Sentence> = tested.iter().map(|d| one(data, d, About::Difference)).collect();
    said.sort_by_key(|sentence| !sentence.shown);
    said.extend(not_tested(&untested));
    let single: Vec<&Difference> = all.iter().filter(|d| d.steep.is_some()).collect();
    let (shown, rest): (Vec<&Difference>, Vec<&Difference>) =
        single.into_iter().partition(|d| d.test.get().is_some_and(|t| t.p_holm <= SIGNIFICANCE));
    said.extend(shown.iter().map(|d| one(data, d, About::Difference)));
    said.extend(others(&rest, shown.len()));
    said
}

/// One sentence for all attributes that can't be tested for the same reason.
fn not_tested(untested: &[&Difference]) -> Vec<Sentence> {
    let mut reasons: Vec<(&str, Vec<String>)> = Vec::new();
    for d in untested {
        let Known::Not { why } = &d.test else { continue };
        match reasons.iter_mut().find(|(other, _)| other == why) {
            Some((_, attributes)) => attributes.push(d.attribute.clone()),
            None => reasons.push((why, vec![d.attribute.clone()])),
        }
    }
    let tasters = untested.iter().map(|d| d.tasters).max().unwrap_or(0);
    let of = |(why, attributes): &(&str, Vec<String>)| {
        let text = format!("{}: whether the teas differ can't be tested: {why}.", list(attributes));
        Sentence::plain(text, About::Difference, tasters)
    };
    reasons.iter().map(of).collect()
}

/// One attribute, over the steeps or at one.
pub fn one(data: &Data<'_>, d: &Difference, about: About) -> Sentence {
    let what = match d.steep {
        None => d.attribute.clone(),
        Some(steep) => format!("{} at steep {steep}", d.attribute),
    };
    let left_out = left_out(d);
    let test = match &d.test {
        Known::Is(test) => test,
        Known::Not { why } => {
            let text = format!("{what}: whether the teas differ can't be tested: {why}.{left_out}");
            return Sentence { text, about, shown: false, evidence: evidence(d, None, None) };
        }
    };
    let shown = test.p_holm <= SIGNIFICANCE;
    let largest = pairs(d).into_iter().next();
    let by = basis(data, d, test);
    let text = if shown {
        format!("{what}: the teas differ ({by}). {}{left_out}", which(data, d))
    } else {
        format!(
            "{what}: no difference between the {} is shown ({by}).{}{left_out}",
            many(d.teas.len(), "tea"),
            unseen(data, d, test, largest.as_ref())
        )
    };
    Sentence { text, about, shown, evidence: evidence(d, Some(test), largest) }
}

fn basis(data: &Data<'_>, d: &Difference, test: &MainTest) -> String {
    let name = match test.name {
        RankTest::WilcoxonExact => "exact signed rank test",
        RankTest::SkillingsMack => "Skillings–Mack test, since many scores are missing",
        RankTest::FriedmanExact => "Friedman's test, exact",
        RankTest::Friedman | RankTest::FriedmanF => "Friedman's test",
    };
    let (tasters, teas) = (many(test.n, "taster"), many(d.teas.len(), "tea"));
    let all = data.teas.iter().filter(|tea| d.teas.contains(&tea.code)).all(|tea| tea.steeps == d.steeps);
    let steeps = match d.steep {
        None if !all => format!(", compared at {} only, which all were served at", steeps(&d.steeps)),
        _ => String::new(),
    };
    format!("{tasters}, {teas}{steeps}; {name}, {}", p_of_family(test.p, test.p_holm, test.family))
}

/// Every two teas, the larger first, the largest difference first; by adjusted means where many scores are missing.
fn pairs(d: &Difference) -> Vec<MeanPair> {
    let Known::Is(tukey) = d.pairs() else { return Vec::new() };
    let larger_first = |pair: &MeanPair| match pair.difference < 0.0 {
        false => *pair,
        true => MeanPair {
            first: pair.second,
            second: pair.first,
            difference: -pair.difference,
            interval: turned(pair.interval),
            ..*pair
        },
    };
    let mut pairs: Vec<MeanPair> = tukey.pairs.iter().map(larger_first).collect();
    pairs.sort_by(|a, b| b.difference.total_cmp(&a.difference));
    pairs
}

/// Which teas differ, by how much.
fn which(data: &Data<'_>, d: &Difference) -> String {
    let pairs: Vec<MeanPair> = pairs(d).into_iter().filter(|pair| pair.differs).collect();
    if pairs.is_empty() {
        return which_alike(data, d);
    }
    let said: Vec<String> = pairs
        .iter()
        .take(PAIRS)
        .map(|pair| {
            let (first, second) = (data.label(pair.first), data.label(pair.second));
            let (points, range) = (points(pair.difference), range(pair.interval));
            format!("{first} is above {second} by {points} ({range})")
        })
        .collect();
    let more = match pairs.len().saturating_sub(PAIRS) {
        0 => String::new(),
        1 => "; the table has one pair more".into(),
        n => format!("; the table has {n} pairs more"),
    };
    format!("{}{more}.", said.join("; "))
}

/// Which teas differ where the analysis of variance leaves nothing over: every taster finds the very same differences.
fn which_alike(data: &Data<'_>, d: &Difference) -> String {
    let said: Vec<String> = alike(d)
        .iter()
        .take(PAIRS)
        .map(|(first, second, by)| {
            format!("{} is above {} by {}", data.label(*first), data.label(*second), points(*by))
        })
        .collect();
    if said.is_empty() {
        return "Which of them it is can't be shown pair by pair.".into();
    }
    format!("{}, for every taster alike.", said.join("; "))
}

/// Every two teas that differ, the higher one first, the largest difference first; none where tasters differ in them.
fn alike(d: &Difference) -> Vec<(Code, Code, f64)> {
    if d.pairs().get().is_some() {
        return Vec::new();
    }
    let mut pairs = Vec::new();
    for (i, (&a, mean_a)) in d.teas.iter().zip(&d.means).enumerate() {
        for (&b, mean_b) in d.teas.iter().zip(&d.means).skip(i + 1) {
            let by = mean_a - mean_b;
            pairs.push(if by < 0.0 { (b, a, -by) } else { (a, b, by) });
        }
    }
    pairs.retain(|(_, _, by)| *by > 1e-9);
    pairs.sort_by(|a, b| b.2.total_cmp(&a.2));
    pairs
}

/// What may be there unseen.
fn unseen(data: &Data<'_>, d: &Difference, test: &MainTest, largest: Option<&MeanPair>) -> String {
    let mut said = Vec::new();
    if test.p <= SIGNIFICANCE {
        let others = many(test.family, "test");
        said.push(format!(
            "By itself {} would count, but with {others} made it may well be chance.",
            p(test.p)
        ));
    }
    let mean_square = d.additive.as_ref().and_then(|a| a.get()).map(|a| a.residual.mean_square);
    let mean_square = mean_square.or(d.anova.get().map(|a| a.residual.mean_square));
    if let (Some(pair), Some(mean_square)) = (largest, mean_square) {
        // The difference of two teas of one taster has twice the variance of what is left over.
        let sd = (2.0 * mean_square).sqrt();
        let (first, second) = (data.label(pair.first), data.label(pair.second));
        let (size, range) = (points(pair.difference), range(pair.interval));
        said.push(format!("The largest seen: {first} above {second} by {size} ({range})."));
        let reach = smallest_difference(test.n).map(|points| points / SD_OF_DIFFERENCES * sd);
        if let Some(reach) = reach.filter(|&reach| test.n > 2 && reach >= 0.05) {
            let n = many(test.n, "taster");
            said.push(format!(
                "With {n} who differ as these do, a difference below {} between two teas is missed in more than one class of five.",
                points(reach)
            ));
        }
        let needed = tasters_for(pair.difference, sd).filter(|&needed| needed > test.n);
        if let Some(needed) = needed.filter(|_| pair.difference >= LEAST_POINTS) {
            said.push(format!(
                "If {size} were the truth, about {needed} tasters would show it, looking at these two teas alone."
            ));
        }
    }
    said.iter().map(|sentence| format!(" {sentence}")).collect()
}

fn left_out(d: &Difference) -> String {
    let all_count = d.test.get().is_some_and(|test| test.name == RankTest::SkillingsMack);
    if d.left_out.is_empty() || all_count {
        return String::new();
    }
    let names: Vec<String> = d.left_out.iter().map(|l| l.seat.clone()).collect();
    format!(" Left out, since they have no score for every tea: {}.", list(&names))
}

/// One sentence for all the single steeps at which nothing is shown.
fn others(rest: &[&Difference], shown: usize) -> Option<Sentence> {
    let tested: Vec<&MainTest> = rest.iter().filter_map(|d| d.test.get()).collect();
    let family = tested.first()?.family;
    let else_ = if shown == 0 { "" } else { " else" };
    let smallest = tested.iter().map(|t| t.p).fold(1.0, f64::min);
    let text = format!(
        "Steep by steep nothing{else_} is shown, allowing for {} (the smallest {}by itself: {}).",
        many(family, "test"),
        if shown == 0 { "" } else { "of the others " },
        p(smallest)
    );
    let n = tested.iter().map(|t| t.n).max().unwrap_or(0);
    let evidence = Evidence { n, p: Some(smallest), ..Evidence::default() };
    Some(Sentence { text, about: About::Difference, shown: false, evidence })
}

fn evidence(d: &Difference, test: Option<&MainTest>, largest: Option<MeanPair>) -> Evidence {
    let same = alike(d).first().copied();
    Evidence {
        attribute: Some(d.attribute.clone()),
        steep: d.steep,
        teas: match (largest, same) {
            (Some(pair), _) => vec![pair.first, pair.second],
            (None, Some((first, second, _))) => vec![first, second],
            (None, None) => d.teas.clone(),
        },
        n: test.map_or(d.complete, |t| t.n),
        test: test.map(|t| t.name.to_string()),
        p: test.map(|t| t.p),
        p_adjusted: test.map(|t| t.p_holm),
        points: largest.map(|pair| pair.difference).or(same.map(|(_, _, by)| by)),
        interval: largest.map(|pair| pair.interval),
    }
}
