//! What sentences on teas and on ways have in common: the test in words, the pairs, and what may be there unseen.

use crate::data::Data;
use crate::find::differences::{DecidingTest, MainTest, MeanPair, Tukey};
use crate::known::Known;
use protocol::Code;
use protocol::say::{list, many};
use protocol::text::name_key;
use stats::interval::SIGNIFICANCE;
use stats::say::{p, points, range, turned};
use stats::wilcoxon::smallest_p;

/// The most pairs that a sentence names; the table has them all.
pub(crate) const PAIRS: usize = 4;

/// How a sentence calls a test.
pub(crate) fn test_name(test: DecidingTest) -> &'static str {
    match test {
        DecidingTest::WilcoxonExact => "exact signed rank test",
        DecidingTest::FriedmanExact => "Friedman's test, exact",
        DecidingTest::Friedman | DecidingTest::FriedmanF => "Friedman's test",
        DecidingTest::AdditiveF => "F test, each taster's own level taken out",
        DecidingTest::AdditivePermuted => "F test, each taster's own level taken out, by permutations",
    }
}

/// A tea, or a way by all its codes.
pub(crate) fn label(data: &Data<'_>, codes: &[Code]) -> String {
    let Some((&first, others)) = codes.split_first() else { return String::new() };
    let also: Vec<String> = others.iter().map(Code::to_string).collect();
    if also.is_empty() { data.label(first) } else { format!("{} (also {})", data.label(first), list(&also)) }
}

/// A tea by what it is, of a way under several codes by its name, or its leaf where the names are not one: "Oak (211 and 224, one tea
/// under two codes)".
pub(crate) fn one_tea(data: &Data<'_>, codes: &[Code]) -> String {
    match codes {
        [tea] => data.label(*tea),
        codes => {
            let under = ways(codes.len()).replace("way", "code");
            format!("{} ({}, one tea under {under})", name(data, codes), by_code(codes))
        }
    }
}

/// The same where it is said already that the codes are one tea: "Oak (211 and 224)".
pub(crate) fn one_tea_briefly(data: &Data<'_>, codes: &[Code]) -> String {
    match codes {
        [tea] => data.label(*tea),
        codes => format!("{} ({})", name(data, codes), by_code(codes)),
    }
}

/// What the codes of a way are called by.
fn name(data: &Data<'_>, codes: &[Code]) -> String {
    let mut teas = data.teas.iter().filter(|tea| codes.contains(&tea.code)).filter_map(|tea| tea.open);
    let Some(first) = teas.next() else { return String::new() };
    if teas.all(|tea| name_key(&tea.name) == name_key(&first.name)) { &first.name } else { &first.leaf }
        .clone()
}

fn by_code(codes: &[Code]) -> String {
    list(&codes.iter().map(Code::to_string).collect::<Vec<_>>())
}

/// "two ways".
pub(crate) fn ways(count: usize) -> String {
    match count {
        2 => "two ways".into(),
        3 => "three ways".into(),
        4 => "four ways".into(),
        count => many(count, "way"),
    }
}

/// Every two, the larger first, the largest difference first.
pub(crate) fn pairs(tukey: &Known<&Tukey>) -> Vec<MeanPair> {
    let Known::Is(tukey) = tukey else { return Vec::new() };
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

/// The interval of a pair where it says the same as the verdict: left out is one that holds 0 though the two are told apart
/// by another test, or leaves out 0 though they are not.
pub(crate) fn agreeing(pair: &MeanPair) -> Option<stats::Interval> {
    Some(pair.interval).filter(|interval| pair.differs != interval.contains(0.0))
}

/// "1.2 points (0.3 to 2.1)".
pub(crate) fn by(pair: &MeanPair) -> String {
    let size = points(pair.difference);
    agreeing(pair).map_or(size.clone(), |interval| format!("{size} ({})", range(interval)))
}

/// The pair that a sentence is about: of what is shown the largest that is told apart, else the largest.
pub(crate) fn foremost(pairs: &[MeanPair], shown: bool) -> Option<MeanPair> {
    if !shown {
        return pairs.first().copied();
    }
    let told = pairs.iter().find(|pair| pair.differs);
    told.or(pairs.first().filter(|pair| agreeing(pair).is_some())).copied()
}

/// What may be there unseen.
pub(crate) struct Unseen<'a> {
    pub test: &'a MainTest,
    /// How many are compared, and what they are: "tea" or "way".
    pub of: (usize, &'a str),
    /// The largest difference, with the names of both.
    pub largest: Option<(MeanPair, String, String)>,
    /// From which difference on two would be told apart in four classes of five, points; and the width of the scale.
    pub told_apart_from: Option<f64>,
    pub width: Option<f64>,
}

impl Unseen<'_> {
    /// What was seen, and that nobody could have shown anything, but no word of what is missed.
    pub fn seen(&self) -> String {
        sentences(&self.largest_seen().into_iter().chain(too_few(self.test)).collect::<Vec<_>>())
    }

    fn largest_seen(&self) -> Option<String> {
        let (pair, first, second) = self.largest.as_ref()?;
        Some(format!("The largest seen: {first} above {second} by {}.", by(pair)))
    }

    pub fn words(&self) -> String {
        let (test, (count, what)) = (self.test, self.of);
        if too_few(test).is_some() {
            return self.seen();
        }
        let mut said: Vec<String> = self.largest_seen().into_iter().collect();
        let tasters = many(test.n, "taster");
        let fits = |reach: &f64| self.width.is_none_or(|width| *reach <= width) && *reach >= 0.05;
        match self.told_apart_from {
            Some(reach) if fits(&reach) => {
                let between =
                    if count > 2 { format!(" (the other {what}s between them)") } else { String::new() };
                let allowing = match test.family {
                    0 | 1 => String::new(),
                    tests => format!(", as {tests} tests are allowed for"),
                };
                said.push(format!(
                    "With {tasters} who differ as these do, a difference below {} between two {what}s{between} is missed in \
                     more than one class of five{allowing}.",
                    points(reach)
                ));
            }
            Some(reach) if reach < 0.05 => {}
            _ if self.largest.is_some() => said.push(format!(
                "With {tasters} who differ as these do, hardly any difference on this scale would be shown."
            )),
            _ => {}
        }
        sentences(&said)
    }
}

/// That even if all agreed nothing would be shown, for a test of two.
fn too_few(test: &MainTest) -> Option<String> {
    let enough = |n: &usize| smallest_p(*n) * test.family as f64 <= SIGNIFICANCE;
    if test.name != DecidingTest::WilcoxonExact || enough(&test.n) {
        return None;
    }
    let needed = (1..100).find(enough)?;
    let allowing = match test.family {
        0 | 1 => String::new(),
        tests => format!(", allowing for {tests} tests"),
    };
    let agreed = if test.n == 1 {
        "one taster alone gives".to_string()
    } else {
        format!("even if all {} agreed, that gave", many(test.n, "taster"))
    };
    Some(format!("Too few to tell: {agreed} {}; {needed} are needed{allowing}.", p(smallest_p(test.n))))
}

/// Each with a blank before it.
fn sentences(said: &[String]) -> String {
    said.iter().map(|sentence| format!(" {sentence}")).collect()
}
