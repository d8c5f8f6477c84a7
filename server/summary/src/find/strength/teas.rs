//! The strength vote on a tea over its steeps, each taster counted once, and how much longer or shorter it should be steeped.

use super::OneWay;
use crate::data::{Data, ServedTea};
use crate::known::Known;
use protocol::say::many;
use protocol::{Code, Strength};
use schemars::JsonSchema;
use serde::Serialize;
use stats::extraction::{PER_MIN, ladder};
use stats::multiple::holm;
use stats::penalty::Hint;
use stats::votes::{MOST, OverTasters, over_tasters, stronger_by, tasters_to_show};

/// The votes on one tea over its steeps.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StrengthTea {
    /// The tea.
    pub tea: Code,
    /// The steeps that somebody voted on.
    pub steeps: Vec<u32>,
    /// Votes.
    pub n: usize,
    /// Much too thin, too thin, just right, too strong, much too strong.
    pub counts: [usize; 5],
    /// Where its way stands under several codes: the votes under all of them, which the hint and the estimate go by; else `null`.
    pub together: Option<OneWay>,
    /// Which way the votes go; `why` without votes. Advice only where it is shown.
    pub hint: Known<TeaHint>,
    /// By how much, as an estimate, where the hint is a change that is shown; else `null`.
    pub estimate: Option<Estimate>,
}

/// What to do with a tea next time, each taster counted once: the votes of one person on one tea hang together.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TeaHint {
    /// What it comes to.
    pub hint: Hint,
    /// Tasters who voted.
    pub tasters: usize,
    /// Those who find it too thin more often than too strong.
    pub too_thin: usize,
    /// Those who find it too strong more often than too thin.
    pub too_strong: usize,
    /// Those for whom more than half of their votes are just right.
    pub mostly_right: usize,
    /// Exact two-sided sign test over the tasters who lean to a side, this tea by itself.
    pub sign_p: f64,
    /// Exact two-sided signed rank test of the tasters' balances (a taster's share of votes for too strong less that for too
    /// thin), this tea by itself: the side goes by it.
    pub signed_rank_p: f64,
    /// Exact one-sided binomial test that more than half of the tasters find it mostly just right.
    pub majority_p: f64,
    /// The p that the hint goes by (without a hint the smaller of the two), by Holm over the same test of all teas,
    /// a way under several codes being one.
    pub p_holm: f64,
    /// Over how many teas Holm went.
    pub family: usize,
    /// Whether the hint is shown: by its adjusted p. What is not shown is no advice.
    #[serde(rename = "shown")]
    pub is_shown: bool,
}

impl TeaHint {
    /// The p that the hint goes by.
    pub fn p(&self) -> f64 {
        self.hint.deciding(self.signed_rank_p, self.majority_p)
    }

    /// "leaned thin (6 of 8 tasters)", of a change that is hinted at: as many as find it so more often than the other way round.
    pub(crate) fn leaned(&self) -> Option<String> {
        let (word, tasters) = match self.hint {
            Hint::Lengthen => ("thin", self.too_thin),
            Hint::Shorten => ("strong", self.too_strong),
            Hint::Leave | Hint::TooFewToTell => return None,
        };
        Some(format!("leaned {word} ({tasters} of {})", many(self.tasters, "taster")))
    }

    /// What was found of one tea alone.
    pub(crate) fn of(found: OverTasters) -> Self {
        Self {
            hint: found.hint,
            tasters: found.tasters,
            too_thin: found.too_thin,
            too_strong: found.too_strong,
            mostly_right: found.mostly_right,
            sign_p: found.sign_p,
            signed_rank_p: found.signed_rank_p,
            majority_p: found.majority_p,
            p_holm: 1.0,
            family: 1,
            is_shown: false,
        }
    }

    /// Holm over the same test of all teas; says how many they are.
    pub(crate) fn adjust(hints: Vec<&mut TeaHint>) -> usize {
        let of = |p: fn(&TeaHint) -> f64| -> Vec<f64> {
            let p: Vec<f64> = hints.iter().map(|hint| p(hint)).collect();
            // Without an adjustment p stands as it is; chances never lie outside 0 to 1.
            holm(&p).unwrap_or(p)
        };
        let (side, majority) = (of(|hint| hint.signed_rank_p), of(|hint| hint.majority_p));
        let family = hints.len();
        for (hint, (side, majority)) in hints.into_iter().zip(side.into_iter().zip(majority)) {
            (hint.p_holm, hint.family) = (hint.hint.deciding(side, majority), family);
            hint.is_shown = hint.shown().is_some();
        }
        family
    }

    /// What is shown once all teas are looked at: the hint, if the p by Holm reaches the level. Nothing else is advice.
    pub fn shown(&self) -> Option<Hint> {
        super::shown(self.hint, self.p_holm)
    }
}

/// By how much a tea should be stronger, and what would make it so: an estimate, not a finding. The strength is changed by half
/// of how far the votes lie to one side (in units of its natural logarithm, by a half at most: a rule of our own), the times
/// follow from extraction of the first order with what fine black leaf gives, 46 % of what it still has in a minute.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Estimate {
    /// How many times as strong it should be.
    pub stronger_by: f64,
    /// The steeps as they would be, s; fewer than there were where the leaf can't give so much, empty while the tea is blind.
    pub steep_s: Vec<u32>,
    /// The leaf instead, g, the times left as they are; `null` while the tea is blind.
    pub leaf_g: Option<f64>,
    /// Whether these times are a first step: neither the strength nor a time is changed by more than half as much again in one go.
    pub first_step: bool,
}

/// Every tea that somebody voted on, and how many tasters have to vote on a tea for anything to be shown, all agreeing.
/// `repeats` are the places of the teas that are one leaf steeped in one way.
pub(super) fn teas(data: &Data<'_>, repeats: &[Vec<usize>]) -> (Vec<StrengthTea>, usize) {
    let each = data.teas.iter().enumerate();
    let mut teas: Vec<StrengthTea> = each.map(|(place, tea)| one(data, repeats, place, tea)).collect();
    let leading = teas.iter_mut().filter(|tea| super::leads(tea.tea, tea.together.as_ref()));
    let family = TeaHint::adjust(leading.filter_map(|tea| tea.hint.get_mut()).collect());
    for place in 0..teas.len() {
        let first = teas[place].together.as_ref().and_then(|all| all.teas.first());
        if let Some(hint) = teas.iter().find(|tea| Some(&tea.tea) == first).map(|tea| tea.hint.clone()) {
            teas[place].hint = hint;
        }
        let shown = teas[place].hint.get().is_some_and(|hint| hint.is_shown);
        teas[place].estimate = teas[place].estimate.take().filter(|_| shown);
    }
    (teas, tasters_to_show(family.max(1)))
}

fn one(data: &Data<'_>, repeats: &[Vec<usize>], place: usize, tea: &ServedTea<'_>) -> StrengthTea {
    let cups = |place: usize| {
        data.teas[place].steeps.iter().map(move |&steep| (steep, &data.scores[place][steep as usize - 1]))
    };
    let votes = |places: &[usize], seat: usize| -> Vec<Strength> {
        places.iter().flat_map(|&place| cups(place)).filter_map(|(_, seats)| seats[seat]?.strength).collect()
    };
    let own: Vec<Strength> = (0..data.seats.len()).flat_map(|seat| votes(&[place], seat)).collect();
    let way = repeats.iter().find(|way| way.contains(&place));
    let places = way.map_or(vec![place], Clone::clone);
    let by_taster: Vec<Vec<Strength>> = (0..data.seats.len()).map(|seat| votes(&places, seat)).collect();
    let voted =
        |seats: &[Option<&protocol::Score>]| seats.iter().flatten().any(|score| score.strength.is_some());
    let steps: Vec<Vec<i8>> =
        by_taster.iter().map(|own| own.iter().map(|&vote| vote.into()).collect()).collect();
    let found = over_tasters(&steps);
    let codes = |way: &Vec<usize>| way.iter().map(|&tea| data.teas[tea].code).collect();
    let estimate = found.ok().filter(|found| matches!(found.hint, Hint::Lengthen | Hint::Shorten));
    StrengthTea {
        tea: tea.code,
        steeps: cups(place).filter(|(_, seats)| voted(seats)).map(|(steep, _)| steep).collect(),
        n: own.len(),
        counts: Strength::ALL.map(|step| own.iter().filter(|vote| **vote == step).count()),
        together: way.map(|way| OneWay::of(codes(way), by_taster.iter().flatten())),
        hint: found.map(TeaHint::of).into(),
        estimate: estimate.map(|found| {
            let recipe = tea.open.map(|open| (open.leaf_g, tea.steep_s(), open.rinse_s.is_some()));
            Estimate::of(recipe, stronger_by(found.balance, 1))
        }),
    }
}

impl Estimate {
    /// What would make a tea so much stronger: its leaf in g, its steeps in s and whether it is rinsed; `None` while it is blind.
    pub(crate) fn of(recipe: Option<(f64, &[u32], bool)>, stronger_by: f64) -> Self {
        let Some((leaf_g, steep_s, rinsed)) = recipe else {
            return Self { stronger_by, steep_s: Vec::new(), leaf_g: None, first_step: false };
        };
        let times = ladder(steep_s, stronger_by, !rinsed, PER_MIN);
        Self {
            stronger_by,
            first_step: times.cut_short || stronger_by >= MOST || stronger_by <= MOST.recip(),
            steep_s: times.steep_s,
            leaf_g: Some(leaf_g * stronger_by),
        }
    }
}
