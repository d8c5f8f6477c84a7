//! The strength vote: what it says about each steep, and what a wrong strength costs in liking.

mod teas;

pub use teas::{Estimate, StrengthTea, TeaHint};

use crate::data::Data;
use crate::find::ways::repeats;
use crate::known::Known;
use crate::recipe::{called, seconds};
use protocol::say::many;
use protocol::{Code, Score, Strength};
use schemars::JsonSchema;
use serde::Serialize;
use stats::interval::SIGNIFICANCE;
use stats::multiple::holm;
use stats::penalty::{Hint, Penalty, large_enough, penalties, steep_hint, tally};
use stats::two_means::TTest;
use stats::votes::over_tasters;
use std::collections::BTreeSet;

/// What an attribute is called, in whatever case, that tells how much a tea is liked.
pub const LIKING: &str = "liking";

/// The vote of the whole class.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StrengthFindings {
    /// The attribute whose name is "liking", in whatever case; `null` if there is none, and then no penalties.
    pub liking: Option<String>,
    /// Each cup: tea after tea, steep after steep.
    pub cups: Vec<StrengthCup>,
    /// Each tea over its steeps, then all teas together (`tea` is `null`): the penalties without tests, since the same
    /// people voted several times.
    pub over_steeps: Vec<PenaltyLine>,
    /// The vote on each tea over its steeps, each taster counted once: what the sentences go by. The codes of one way of steeping
    /// a leaf are one tea, and have one hint.
    pub teas: Vec<StrengthTea>,
    /// So many tasters have to vote on a tea, and all to agree, for anything to be shown of it, all teas being looked at.
    pub tasters_needed: usize,
}

/// The votes on one way of steeping a leaf under several codes, all together.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OneWay {
    /// Its codes.
    pub teas: Vec<Code>,
    /// Votes.
    pub n: usize,
    /// Much too thin, too thin, just right, too strong, much too strong.
    pub counts: [usize; 5],
}

/// The vote on one cup.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StrengthCup {
    /// The tea.
    pub tea: Code,
    /// The steep.
    pub steep: u32,
    /// What it is called: `steep 2`, or `steep 1 again (round 4)`.
    pub called: String,
    /// The steep's time as it was, s; `null` while the tea is blind.
    pub steep_s: Option<u32>,
    /// Votes.
    pub n: usize,
    /// Much too thin, too thin, just right, too strong, much too strong.
    pub counts: [usize; 5],
    /// Where its way stands under several codes: the votes on this steep under all of them, which the hint goes by; else `null`.
    pub together: Option<OneWay>,
    /// Which way the votes go; `why` without votes. Advice only where it is shown.
    pub hint: Known<HintFinding>,
    /// Liking of those who find it too thin or too strong beside those who find it just right; `why` where these are less than a
    /// fifth of the votes or fewer than three tasters.
    pub penalty: Known<PenaltyFinding>,
}

/// Which way the votes on a cup go.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct HintFinding {
    /// What it comes to.
    pub hint: Hint,
    /// Exact two-sided sign test of too thin against too strong, this cup by itself; under several codes each taster counts once.
    pub sign_p: f64,
    /// Exact one-sided binomial test that more than half find it just right.
    pub majority_p: f64,
    /// The p that the hint goes by (without a hint the smaller of the two), by Holm over both tests of all cups, those of one way
    /// and steep being one.
    pub p_holm: f64,
    /// Whether the hint is shown: by its adjusted p. What is not shown is no advice.
    #[serde(rename = "shown")]
    pub is_shown: bool,
}

impl HintFinding {
    /// The p that the hint goes by.
    pub fn p(&self) -> f64 {
        self.hint.deciding(self.sign_p, self.majority_p)
    }

    /// What is shown once all cups are looked at: the hint, if the p by Holm reaches the level. Nothing else is advice.
    pub fn shown(&self) -> Option<Hint> {
        shown(self.hint, self.p_holm)
    }
}

/// A hint, if the p that it goes by, adjusted, reaches the level.
fn shown(hint: Hint, p_holm: f64) -> Option<Hint> {
    (hint != Hint::TooFewToTell && p_holm <= SIGNIFICANCE).then_some(hint)
}

impl StrengthCup {
    /// What its own votes show once all cups are looked at.
    pub fn shown(&self) -> Option<Hint> {
        self.hint.get()?.shown()
    }

    /// How many votes its hint goes by, and which: under all codes of its way.
    pub fn votes(&self) -> (usize, [usize; 5]) {
        self.together.as_ref().map_or((self.n, self.counts), |all| (all.n, all.counts))
    }

    /// Whether its votes stand at this code and not at one before it.
    fn leads(&self) -> bool {
        leads(self.tea, self.together.as_ref())
    }
}

/// Whether a code is the first of those that count together.
fn leads(tea: Code, together: Option<&OneWay>) -> bool {
    together.is_none_or(|all| all.teas.first() == Some(&tea))
}

impl StrengthTea {
    /// How many votes its hint goes by, and which: under all codes of its way.
    pub fn votes(&self) -> (usize, [usize; 5]) {
        self.together.as_ref().map_or((self.n, self.counts), |all| (all.n, all.counts))
    }

    /// The codes that its hint is of.
    pub fn codes(&self) -> &[Code] {
        self.together.as_ref().map_or(std::slice::from_ref(&self.tea), |all| &all.teas)
    }
}

impl StrengthFindings {
    pub(crate) fn tea(&self, tea: Code) -> Option<&StrengthTea> {
        self.teas.iter().find(|of| of.tea == tea)
    }

    /// Each tea once: of a way under several codes the first.
    pub fn each(&self) -> impl Iterator<Item = &StrengthTea> {
        self.teas.iter().filter(|tea| leads(tea.tea, tea.together.as_ref()))
    }

    /// Over how many tests Holm went for the cups: two of each, those of one way and steep being one.
    pub(crate) fn tests_of_cups(&self) -> usize {
        2 * self.cups.iter().filter(|cup| cup.hint.get().is_some() && cup.leads()).count()
    }

    /// The cups of a tea whose own votes show something else than those of the tea over its steeps, or show something where these
    /// don't.
    pub fn otherwise(&self, tea: Code) -> Vec<(&StrengthCup, Hint)> {
        let whole = self.tea(tea).filter(|of| of.steeps.len() > 1);
        let of_tea = |of: &StrengthTea| of.hint.get().and_then(TeaHint::shown);
        let cups = self.cups.iter().filter(|cup| cup.tea == tea).filter_map(|cup| Some((cup, cup.shown()?)));
        whole.map_or_else(Vec::new, |of| cups.filter(|(_, hint)| Some(*hint) != of_tea(of)).collect())
    }

    /// Whether a cup that shows nothing by itself goes the way that its tea is shown to go: more found it too thin of a tea to steep longer,
    /// too strong of one to steep shorter, just right of one to leave. Then the tea's advice is the cup's.
    pub fn goes_with_its_tea(&self, cup: &StrengthCup) -> bool {
        let (n, [much_thin, thin, right, strong, much_strong]) = cup.votes();
        let (thin, strong) = (much_thin + thin, strong + much_strong);
        let tea = self.tea(cup.tea).and_then(|of| of.hint.get()?.shown());
        cup.shown().is_none()
            && tea.is_some_and(|tea| match tea {
                Hint::Lengthen => thin > strong,
                Hint::Shorten => strong > thin,
                Hint::Leave => 2 * right > n,
                Hint::TooFewToTell => false,
            })
    }

    /// What to try in place of a tea's times or leaf: only where it is shown which way they should go, and for all its steeps.
    pub fn to_try(&self, tea: Code) -> Option<&Estimate> {
        let of = self.tea(tea).filter(|of| of.hint.get().is_some_and(|hint| hint.shown().is_some()))?;
        of.estimate.as_ref().filter(|_| self.otherwise(tea).is_empty())
    }
}

/// A penalty analysis of several cups.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PenaltyLine {
    /// The tea; `null` for all teas.
    pub tea: Option<Code>,
    /// What was found.
    pub penalty: Known<PenaltyFinding>,
}

/// Liking by strength vote.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PenaltyFinding {
    /// Votes with a liking.
    pub n: usize,
    /// Those for just right.
    pub just_right: usize,
    /// Their mean liking.
    pub just_right_mean: f64,
    /// Too thin, much or little; `null` if nobody.
    pub too_thin: Option<PenaltySide>,
    /// Too strong, much or little; `null` if nobody.
    pub too_strong: Option<PenaltySide>,
}

/// One side of the vote.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PenaltySide {
    /// How many.
    pub n: usize,
    /// Their share, 0 to 1.
    pub share: f64,
    /// Whether the share is a fifth at least; smaller groups are not looked at (common practice, no source).
    pub large_enough: bool,
    /// Their mean liking.
    pub mean: f64,
    /// Just right's mean less theirs, points.
    pub drop: f64,
    /// Welch's t of the drop; `null` where votes of one person come several times.
    pub test: Option<Known<TTest>>,
    /// The t test's p by Holm, over all sides of all cups that are large enough; `null` for others.
    pub p_holm: Option<f64>,
}

/// The vote, if the sheet asks it.
pub fn strength(data: &Data<'_>) -> Option<StrengthFindings> {
    let sheet = &data.room.class.sheet;
    if !sheet.strength {
        return None;
    }
    let liking = sheet.attributes.iter().map(|a| &a.name).find(|name| name.eq_ignore_ascii_case(LIKING));
    let liking = liking.map(String::as_str);
    let mut cups = Vec::new();
    let mut lines = Vec::new();
    let mut everybody = Vec::new();
    let repeats = repeats(data);
    for (place, tea) in data.teas.iter().enumerate() {
        let mut of_tea = Vec::new();
        let way = repeats.iter().find(|way| way.contains(&place)).map_or(&[][..], Vec::as_slice);
        for &steep in &tea.steeps {
            let scores = &data.scores[place][steep as usize - 1];
            let votes: Vec<Strength> = scores.iter().flatten().filter_map(|s| s.strength).collect();
            let liked = liked(scores, liking);
            let (together, hint) = match one_way(data, way, steep) {
                Some((together, hint)) => (Some(together), hint),
                None => (None, hint(&votes)),
            };
            cups.push(StrengthCup {
                tea: tea.code,
                steep,
                called: called(data.room, tea.code, steep),
                steep_s: tea.open.and_then(|_| seconds(data.room, tea.code, steep)),
                n: votes.len(),
                counts: Strength::ALL.map(|step| votes.iter().filter(|&&vote| vote == step).count()),
                together,
                hint,
                penalty: penalty(&liked, liking, true),
            });
            of_tea.extend(liked);
        }
        lines.push(PenaltyLine { tea: Some(tea.code), penalty: penalty(&of_tea, liking, false) });
        everybody.extend(of_tea);
    }
    lines.push(PenaltyLine { tea: None, penalty: penalty(&everybody, liking, false) });
    adjust_hints(&mut cups);
    adjust(&mut cups);
    let (teas, tasters_needed) = teas::teas(data, &repeats);
    Some(StrengthFindings { liking: liking.map(Into::into), cups, over_steeps: lines, teas, tasters_needed })
}

/// A vote, with its seat and the liking of the same sheet.
#[derive(Clone, Copy)]
struct Liked {
    seat: usize,
    vote: Strength,
    points: f64,
}

/// The votes on a cup that have a liking, of each seat's sheet.
fn liked(scores: &[Option<&Score>], liking: Option<&str>) -> Vec<Liked> {
    let of = |(seat, score): (usize, &Option<&Score>)| {
        let score = (*score)?;
        Some(Liked { seat, vote: score.strength?, points: f64::from(*score.values.get(liking?)?) })
    };
    scores.iter().enumerate().filter_map(of).collect()
}

/// The votes on a steep under all codes of a way, each taster counted once; nothing where it was served under one only.
fn one_way(data: &Data<'_>, way: &[usize], steep: u32) -> Option<(OneWay, Known<HintFinding>)> {
    let served: Vec<usize> =
        way.iter().copied().filter(|&tea| data.teas[tea].steeps.contains(&steep)).collect();
    if served.len() < 2 {
        return None;
    }
    let vote = |tea: usize, seat: usize| data.scores[tea][steep as usize - 1][seat]?.strength;
    let own = |seat: usize| -> Vec<Strength> { served.iter().filter_map(|&tea| vote(tea, seat)).collect() };
    let votes: Vec<Vec<Strength>> = (0..data.seats.len()).map(own).collect();
    let together =
        OneWay::of(served.iter().map(|&tea| data.teas[tea].code).collect(), votes.iter().flatten());
    let steps: Vec<Vec<i8>> = votes.iter().map(|own| own.iter().map(|&vote| vote.into()).collect()).collect();
    let hint = over_tasters(&steps).map(|found| HintFinding {
        hint: Hint::by(found.majority_p, found.sign_p, found.too_thin > found.too_strong),
        sign_p: found.sign_p,
        majority_p: found.majority_p,
        p_holm: 1.0,
        is_shown: false,
    });
    Some((together, hint.into()))
}

impl OneWay {
    fn of<'a>(teas: Vec<Code>, votes: impl Iterator<Item = &'a Strength>) -> Self {
        let votes: Vec<Strength> = votes.copied().collect();
        let counts = Strength::ALL.map(|step| votes.iter().filter(|vote| **vote == step).count());
        Self { teas, n: votes.len(), counts }
    }
}

fn hint(votes: &[Strength]) -> Known<HintFinding> {
    let steps: Vec<i8> = votes.iter().map(|&vote| vote.into()).collect();
    let found = tally(&steps).map(|tally| steep_hint(&tally));
    found
        .map(|h| HintFinding {
            hint: h.hint,
            sign_p: h.sign_p,
            majority_p: h.majority_p,
            p_holm: 1.0,
            is_shown: false,
        })
        .into()
}

/// Holm over the two tests of every cup, one under several codes being one.
fn adjust_hints(cups: &mut [StrengthCup]) {
    let leading = cups.iter_mut().filter(|cup| cup.leads());
    let mut hints: Vec<&mut HintFinding> = leading.filter_map(|cup| cup.hint.get_mut()).collect();
    let p: Vec<f64> = hints.iter().flat_map(|hint| [hint.sign_p, hint.majority_p]).collect();
    let adjusted = holm(&p).unwrap_or_else(|_| p.clone());
    for (hint, adjusted) in hints.iter_mut().zip(adjusted.chunks(2)) {
        hint.p_holm = hint.hint.deciding(adjusted[0], adjusted[1]);
        hint.is_shown = hint.shown().is_some();
    }
    for place in 0..cups.len() {
        let cup = &cups[place];
        let first = cup.together.as_ref().filter(|_| !cup.leads()).and_then(|all| all.teas.first());
        let leading = cups.iter().find(|other| Some(&other.tea) == first && other.steep == cup.steep);
        if let Some(hint) = leading.map(|leading| leading.hint.clone()) {
            cups[place].hint = hint;
        }
    }
}

/// So many tasters have to find it just right for others to be set beside them. Our own rule.
const LEAST_JUST_RIGHT: usize = 3;

/// Why the others can't be set beside those who find it just right, if these are too few.
fn few_just_right(votes: &[Liked]) -> Option<String> {
    let right: Vec<usize> = votes.iter().filter(|v| v.vote == Strength::JustRight).map(|v| v.seat).collect();
    let tasters = right.iter().collect::<BTreeSet<_>>().len();
    let few = tasters < LEAST_JUST_RIGHT || !large_enough(right.len(), votes.len());
    (few && tasters > 0).then(|| {
        format!(
            "too few found it just right: {} of {}, by {} (a fifth of the votes is needed, by {LEAST_JUST_RIGHT} tasters at least)",
            right.len(),
            many(votes.len(), "vote"),
            many(tasters, "taster")
        )
    })
}

/// `once` if no person stands in the votes more than once, so that a test means something.
fn penalty(votes: &[Liked], liking: Option<&str>, once: bool) -> Known<PenaltyFinding> {
    if liking.is_none() {
        return Known::not("the sheet has no attribute named liking");
    }
    if let Some(why) = few_just_right(votes) {
        return Known::not(why);
    }
    let side = |p: Penalty| PenaltySide {
        n: p.n,
        share: p.share,
        large_enough: p.large_enough,
        mean: p.mean,
        drop: p.drop,
        test: once.then(|| p.welch.into()),
        p_holm: None,
    };
    let steps: Vec<(i8, f64)> = votes.iter().map(|of| (of.vote.into(), of.points)).collect();
    let found = penalties(&steps).map(|found| PenaltyFinding {
        n: found.n,
        just_right: found.just_right,
        just_right_mean: found.just_right_mean,
        too_thin: found.too_thin.map(side),
        too_strong: found.too_strong.map(side),
    });
    found.into()
}

/// Holm over all sides that are looked at.
fn adjust(cups: &mut [StrengthCup]) {
    let found = cups.iter_mut().filter_map(|cup| cup.penalty.get_mut());
    let sides = found.flat_map(|found| found.too_thin.iter_mut().chain(&mut found.too_strong));
    let mut tested: Vec<(&mut Option<f64>, f64)> = sides
        .filter(|side| side.large_enough)
        .filter_map(|side| {
            let p = side.test.as_ref()?.get()?.p;
            Some((&mut side.p_holm, p))
        })
        .collect();
    let p: Vec<f64> = tested.iter().map(|(_, p)| *p).collect();
    for ((place, _), adjusted) in tested.iter_mut().zip(holm(&p).unwrap_or(p)) {
        **place = Some(adjusted);
    }
}
