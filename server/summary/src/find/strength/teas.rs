//! The strength vote on a tea over its steeps, each taster counted once, and how much longer or shorter it should be steeped.

use crate::data::{Data, ServedTea};
use crate::known::Known;
use protocol::{Code, Strength};
use schemars::JsonSchema;
use serde::Serialize;
use stats::extraction::{PER_MIN, ladder};
use stats::multiple::holm;
use stats::penalty::Hint;
use stats::votes::{OverTasters, over_tasters, stronger_by, tasters_to_show};

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
    /// What to do next time; `why` without votes.
    pub hint: Known<TeaHint>,
    /// By how much, as an estimate; `null` where no change is hinted at.
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
    /// The p that the hint goes by (without a hint the smaller of the two), by Holm over the same test of all teas.
    pub p_holm: f64,
    /// Over how many teas Holm went.
    pub family: usize,
}

impl TeaHint {
    /// The p that the hint goes by.
    pub fn p(&self) -> f64 {
        self.hint.deciding(self.signed_rank_p, self.majority_p)
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
    /// Whether these times are a first step: none is changed by more than half as long again in one go.
    pub first_step: bool,
}

/// Every tea that somebody voted on, and how many tasters have to vote on a tea for anything to be shown, all agreeing.
pub(super) fn teas(data: &Data<'_>) -> (Vec<StrengthTea>, usize) {
    let each = data.teas.iter().enumerate();
    let mut teas: Vec<StrengthTea> = each.map(|(place, tea)| one(data, place, tea)).collect();
    let family = TeaHint::adjust(teas.iter_mut().filter_map(|tea| tea.hint.get_mut()).collect());
    (teas, tasters_to_show(family.max(1)))
}

fn one(data: &Data<'_>, place: usize, tea: &ServedTea<'_>) -> StrengthTea {
    let cups = || tea.steeps.iter().map(|&steep| (steep, &data.scores[place][steep as usize - 1]));
    let votes = |seat: usize| -> Vec<i8> {
        cups().filter_map(|(_, seats)| Some(i8::from(seats[seat]?.strength?))).collect()
    };
    let by_taster: Vec<Vec<i8>> = (0..data.seats.len()).map(votes).collect();
    let voted =
        |seats: &[Option<&protocol::Score>]| seats.iter().flatten().any(|score| score.strength.is_some());
    let all = || by_taster.iter().flatten().copied();
    let found = over_tasters(&by_taster);
    let estimate = found.ok().filter(|found| matches!(found.hint, Hint::Lengthen | Hint::Shorten));
    StrengthTea {
        tea: tea.code,
        steeps: cups().filter(|(_, seats)| voted(seats)).map(|(steep, _)| steep).collect(),
        n: all().count(),
        counts: Strength::ALL.map(|step| all().filter(|&vote| vote == step.number()).count()),
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
            first_step: times.cut_short,
            steep_s: times.steep_s,
            leaf_g: Some(leaf_g * stronger_by),
        }
    }
}
