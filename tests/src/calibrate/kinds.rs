//! The kinds of sentences, and which of them a review shows.

use crate::calibrate::{advice, pool};
use room::Room;
use room::light::ClassScores;
use stats::interval::SIGNIFICANCE;
use stats::penalty::Hint;
use std::collections::BTreeSet;
use std::fmt;
use summary::Summary;
use summary::find::differences::Difference;
use summary::say::brief::Matter;
use summary::sentence::{About, Sentence};
use summary::several::digest::Digest;
use summary::several::{self, Pool};

/// What a sentence says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// The teas differ in an attribute over the steeps.
    Differ,
    /// They differ at one steep.
    DifferAtSteep,
    /// Two ways of a leaf differ over the steeps.
    Ways,
    /// They differ at one steep.
    WaysAtSteep,
    /// The tasters put the teas in one order.
    Agree,
    /// A tea should be steeped longer, or shorter, by the votes over its steeps.
    Strength,
    /// One steep of it should be.
    StrengthAtSteep,
    /// Anything would have a tea steeped otherwise: in short, a finding, a card, or a mark beside a cup.
    Advice,
    /// A time should stay as it is.
    Leave,
    /// A wrong strength costs liking.
    Cost,
    /// A word is ticked more for some teas.
    Words,
    /// A difference test finds the teas told apart.
    Tests,
    /// The totals differ.
    Totals,
    /// Which cup came first counts.
    FirstCup,
    /// Several classes: the ways differ.
    PooledDiffer,
    /// Several classes: one way lies above another.
    PooledPair,
    /// Several classes: two ways do not share a letter.
    PooledLetters,
    /// Several classes: a way should be steeped longer or shorter, by the votes over its steeps.
    PooledStrength,
    /// Several classes: a steep should be longer or shorter.
    PooledSteep,
    /// No such finding, though a page says both that something is shown and that it is not.
    AtOdds,
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Kind::Differ => "the teas differ",
            Kind::DifferAtSteep => "the teas differ at one steep",
            Kind::Ways => "two ways of a leaf differ",
            Kind::WaysAtSteep => "two ways of a leaf differ at one steep",
            Kind::Agree => "the tasters agree on an order",
            Kind::Strength => "a tea should steep longer (shorter)",
            Kind::StrengthAtSteep => "one steep should be longer (shorter)",
            Kind::Advice => "anything would have a tea changed",
            Kind::Leave => "leave the time as it is",
            Kind::Cost => "a wrong strength costs liking",
            Kind::Words => "a word is ticked more for some teas",
            Kind::Tests => "a difference test shows something",
            Kind::Totals => "the totals differ",
            Kind::FirstCup => "the first cup is scored otherwise",
            Kind::PooledDiffer => "several classes: the ways differ",
            Kind::PooledPair => "several classes: a way is above another",
            Kind::PooledLetters => "several classes: ways do not share a letter",
            Kind::PooledStrength => "several classes: a way should steep longer (shorter)",
            Kind::PooledSteep => "several classes: a steep should be longer (shorter)",
            Kind::AtOdds => "the page contradicts itself",
        })
    }
}

fn kind(sentence: &Sentence) -> Option<Kind> {
    let test = sentence.evidence.test.as_deref().unwrap_or_default();
    let over = sentence.evidence.steep.is_none();
    let by = |over_steeps: Kind, at_one: Kind| Some(if over { over_steeps } else { at_one });
    match sentence.about {
        About::Difference => by(Kind::Differ, Kind::DifferAtSteep),
        About::Agreement => Some(Kind::Agree),
        About::Strength if test.contains("binomial") => Some(Kind::Leave),
        About::Strength if test.starts_with("Welch") => Some(Kind::Cost),
        About::Strength => by(Kind::Strength, Kind::StrengthAtSteep),
        About::Words => Some(Kind::Words),
        About::Tests => Some(Kind::Tests),
        About::Totals => Some(Kind::Totals),
        About::Serving => Some(Kind::FirstCup),
        About::Ways | About::Class | About::Seat => None,
    }
}

/// Of one kind whether the class has a sentence of it at all is told by its design: what may be said, and what is shown.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Said {
    /// The kinds that the page has a sentence of.
    pub there: BTreeSet<Kind>,
    /// The kinds of which one at least is shown.
    pub shown: BTreeSet<Kind>,
}

impl Said {
    fn add(&mut self, kind: Kind, shown: bool) {
        self.there.insert(kind);
        if shown {
            self.shown.insert(kind);
        }
    }
}

/// What the review of one class says.
pub fn of_one(summary: &Summary, room: &Room) -> Said {
    let class = &room.class;
    let mut said = Said::default();
    let sentences = &summary.findings.sentences;
    for (kind, sentence) in sentences.iter().filter_map(|sentence| Some((kind(sentence)?, sentence))) {
        said.add(kind, sentence.shown);
    }
    if class.sheet.strength {
        for kind in [Kind::Strength, Kind::StrengthAtSteep, Kind::Leave, Kind::Cost] {
            said.there.insert(kind);
        }
        said.add(Kind::Advice, advice::is_given(summary) || advice::is_in_the_next_class(room));
    }
    of_ways(summary, &mut said);
    let marks = class.sheet.strength && (advice::is_at_odds(summary) || advice::is_two_for_one_tea(summary));
    said.add(Kind::AtOdds, at_odds(summary) || tests_at_odds(summary) || marks);
    said
}

/// The ways of each leaf, by the test that their sentences go by.
fn of_ways(summary: &Summary, said: &mut Said) {
    for found in summary.findings.figures.leaves.iter().flat_map(|leaf| &leaf.comparisons) {
        said.add(if found.steep.is_none() { Kind::Ways } else { Kind::WaysAtSteep }, found.shown());
    }
}

/// A sentence of the same page says the contrary, or a figure beside it does: two ways of a leaf differ where the teas are not
/// shown to; two teas are told apart where no difference is shown; an interval, good for all pairs, leaves out 0 there.
fn at_odds(summary: &Summary) -> bool {
    let figures = &summary.findings.figures;
    let unseen = || figures.differences.iter().filter(|d| !d.shown());
    let ways = figures.leaves.iter().flat_map(|leaf| &leaf.comparisons).filter(|ways| ways.shown());
    let told = |d: &Difference| d.pairs().get().is_some_and(|all| all.pairs.iter().any(|pair| pair.differs));
    let beside = |s: &Sentence| s.evidence.interval.is_some_and(|all| all.low > 0.0 || all.high < 0.0);
    let sentences = summary.findings.sentences.iter().filter(|s| s.about == About::Difference && !s.shown);
    let agree = summary.findings.sentences.iter().filter(|s| s.about == About::Agreement && s.shown);
    // Who is said to agree are those whose agreement was counted, and no small part of the class.
    let few = |s: &Sentence| {
        let of = figures.agreement.iter().find(|of| Some(&of.attribute) == s.evidence.attribute.as_ref());
        of.is_none_or(|of| of.tasters != s.evidence.n || of.tasters * 2 < of.scored)
    };
    ways.into_iter().any(|ways| unseen().any(|d| d.attribute == ways.attribute && d.steep == ways.steep))
        || agree.into_iter().any(few)
        || raw_before_adjusted(summary)
        || better_way_left_out(summary)
        || unseen().any(told)
        || sentences.into_iter().any(beside)
}

/// A way of a leaf is shown to be liked more, and next time's line does not name it; or teas are left as they are of which no votes show
/// that.
fn better_way_left_out(summary: &Summary) -> bool {
    let figures = &summary.findings.figures;
    let line = summary.findings.brief.iter().find(|line| line.matter == Matter::NextTime);
    let text = line.map_or("", |line| line.text.as_str());
    // Of many leaves the line names some.
    let told = figures.leaves.iter().filter_map(|leaf| leaf.liked_more().first().map(|of| of.better.teas[0]));
    let left_out = told.take(2).any(|tea| !text.contains(&tea.to_string()));
    let right = figures.strength.iter().flat_map(|strength| &strength.teas);
    let right = right.filter_map(|tea| tea.hint.get()?.shown()).any(|hint| hint == Hint::Leave);
    left_out || (text.to_lowercase().contains("leave ") && !right)
}

/// The tea that is named first in short is not the one that the test has highest.
fn raw_before_adjusted(summary: &Summary) -> bool {
    let named = summary.findings.brief.iter().find(|line| line.matter == Matter::Liked);
    let liking = summary.findings.figures.differences.iter().find(|d| d.steep.is_none());
    let highest = liking.and_then(|d| {
        let of =
            d.compared().into_iter().filter(|(codes, _)| codes.iter().any(|&tea| d.adjusted(tea).is_some()));
        of.max_by(|a, b| a.1.total_cmp(&b.1))
    });
    let first = |text: &str| -> Option<String> {
        let names = text.split_once(": ")?.1.split(" (").next()?;
        Some(names.to_string())
    };
    named.zip(highest).is_some_and(|(line, (codes, _))| {
        let named = first(&line.text).unwrap_or_default();
        codes.len() == 1 && !codes.iter().any(|code| named.contains(&code.to_string()))
    })
}

/// A test of which it is said that somebody tells the teas apart although nothing is shown, or the other way round.
fn tests_at_odds(summary: &Summary) -> bool {
    summary.findings.figures.tests.iter().any(|test| {
        let apart = test.outcome.get().and_then(|found| Some(found.discriminators.as_ref()?.at_least > 0.0));
        let said = test.words.iter().any(|words| words.contains("at least "));
        apart.is_some_and(|apart| said != test.shown() || (said && !apart))
    })
}

/// What the review of several classes says.
pub fn of_several(classes: &[ClassScores]) -> Said {
    let worked_up: Vec<(ClassScores, Digest)> =
        classes.iter().map(|class| (class.clone(), Digest::of(class))).collect();
    of_pool(&several::pool(&worked_up))
}

fn of_pool(pool: &Pool) -> Said {
    let mut said = Said::default();
    for together in &pool.together {
        said.add(Kind::PooledDiffer, together.shown());
        let (first, last) = (together.means.first(), together.means.last());
        let shared = |a: &str, b: &str| a.chars().any(|letter| b.contains(letter));
        let apart = first.zip(last).is_some_and(|(a, b)| !shared(&a.letters, &b.letters));
        said.add(Kind::PooledLetters, apart);
    }
    pool.pairs.iter().for_each(|pair| said.add(Kind::PooledPair, pair.shown()));
    let moves = |hint: Hint| matches!(hint, Hint::Lengthen | Hint::Shorten);
    for votes in &pool.strength {
        said.add(Kind::PooledStrength, moves(votes.hint.hint) && votes.shown);
    }
    for rule in &pool.rules {
        said.add(Kind::PooledSteep, moves(rule.favours) && rule.p_of_all <= SIGNIFICANCE);
    }
    said.add(Kind::AtOdds, pool::is_at_odds(pool));
    said
}
