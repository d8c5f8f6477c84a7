//! The strength votes on a way over all its steeps and classes, each taster counted once, and how much longer or shorter it should
//! be steeped.

use crate::find::strength::{Estimate, TeaHint};
use crate::several::Looked;
use crate::several::class::Class;
use crate::several::test::Test;
use crate::several::ways::Way;
use protocol::Strength;
use schemars::JsonSchema;
use serde::Serialize;
use stats::anova::one_way;
use stats::interval::SIGNIFICANCE;
use stats::penalty::Hint;
use stats::votes::{over_tasters, stronger_by, tasters_to_show};
use std::collections::BTreeMap;

/// The votes on one way over its steeps and classes.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WayVotes {
    /// The way's number.
    pub way: usize,
    /// The steeps that somebody voted on.
    pub steeps: Vec<u32>,
    /// Those of them whose own votes lie to the side of the hint: more for too thin than for too strong, or the other way round;
    /// of a way to be left, those that most find just right. Empty without a hint.
    pub alike: Vec<u32>,
    /// How many votes.
    pub n: usize,
    /// Much too thin, too thin, just right, too strong, much too strong.
    pub counts: [usize; 5],
    /// What to do next time, each taster of each class counted once; it speaks for these classes. The adjustment is over all ways.
    pub hint: TeaHint,
    /// Each class's votes, in the order of their days.
    pub classes: Vec<WayVotesInClass>,
    /// Whether the classes vote differently (F test between classes of the tasters' balances, from −1 to 1); `null` when that can't
    /// be computed.
    pub moves: Option<Test>,
    /// Whether the hint is shown: by its adjusted p, and unless the classes vote differently and not all to the same side.
    pub shown: bool,
    /// By how much, as an estimate; `null` where no change is hinted at.
    pub estimate: Option<Estimate>,
    /// In words; empty until it is put into words.
    pub words: String,
}

/// One class's votes on a way.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WayVotesInClass {
    /// The class's number.
    pub class: usize,
    /// How many tasters voted.
    pub tasters: usize,
    /// Much too thin, too thin, just right, too strong, much too strong.
    pub counts: [usize; 5],
    /// A taster's share of votes for too strong less that for too thin, the mean over the tasters: −1 to 1.
    pub balance: f64,
}

impl WayVotes {
    /// Whether the classes vote differently, and not all to the same side.
    pub fn divided(&self) -> bool {
        let side = |class: &WayVotesInClass| class.balance.partial_cmp(&0.0);
        let first = self.classes.first().and_then(side);
        let moved = self.moves.is_some_and(|moves| moves.p <= SIGNIFICANCE);
        moved && (self.hint.hint == Hint::Leave || self.classes.iter().any(|class| side(class) != first))
    }
}

/// A taster's votes on a way by steep.
type OfTaster = Vec<(u32, Strength)>;

/// Every way that anybody voted on; and how many tasters have to vote on one for anything to be shown, all agreeing.
pub(crate) fn strength(classes: &[Class<'_>], ways: &[Way]) -> (Looked<WayVotes, ()>, usize) {
    let mut found: Vec<WayVotes> = ways.iter().filter_map(|way| one(classes, way)).collect();
    let family = TeaHint::adjust(found.iter_mut().map(|votes| &mut votes.hint).collect());
    for votes in &mut found {
        votes.shown =
            votes.hint.hint != Hint::TooFewToTell && votes.hint.p_holm <= SIGNIFICANCE && !votes.divided();
    }
    let found = found.into_iter().map(|votes| (votes, ())).collect();
    (Looked { found, tested: family }, tasters_to_show(family.max(1)))
}

/// A way without what takes all of them to know.
fn one(classes: &[Class<'_>], way: &Way) -> Option<WayVotes> {
    let mut tasters: BTreeMap<(usize, usize), OfTaster> = BTreeMap::new();
    for (number, class) in classes.iter().enumerate() {
        let teas = class.ways.iter().zip(&class.digest.votes).filter(|(own, _)| **own + 1 == way.way);
        for (steep, votes) in teas.flat_map(|(_, steeps)| (1..).zip(steeps)) {
            votes.iter().for_each(|vote| {
                tasters.entry((number, vote.seat)).or_default().push((steep, vote.strength));
            });
        }
    }
    let tasters: Vec<(usize, OfTaster)> =
        tasters.into_iter().map(|((class, _), votes)| (class, votes)).collect();
    let numbers = |votes: &OfTaster| -> Vec<i8> { votes.iter().map(|(_, vote)| i8::from(*vote)).collect() };
    let over = over_tasters(&tasters.iter().map(|(_, votes)| numbers(votes)).collect::<Vec<_>>()).ok()?;
    let all: OfTaster = tasters.iter().flat_map(|(_, votes)| votes.iter().copied()).collect();
    let mut steeps: Vec<u32> = all.iter().map(|(steep, _)| *steep).collect();
    steeps.sort_unstable();
    steeps.dedup();
    let by_class: Vec<&[(usize, OfTaster)]> = tasters.chunk_by(|a, b| a.0 == b.0).collect();
    let balances: Vec<Vec<f64>> =
        by_class.iter().map(|class| class.iter().map(|(_, votes)| balance(votes)).collect()).collect();
    let in_class = |(class, balances): (&&[(usize, OfTaster)], &Vec<f64>)| WayVotesInClass {
        class: class[0].0 + 1,
        tasters: class.len(),
        counts: counts(class.iter().flat_map(|(_, votes)| votes)),
        balance: balances.iter().sum::<f64>() / balances.len() as f64,
    };
    let changes = matches!(over.hint, Hint::Lengthen | Hint::Shorten);
    let recipe = way.known.as_ref().map(|known| &known.steeping);
    let recipe = recipe.map(|steeping| (steeping.leaf_g, &steeping.steep_s[..], steeping.rinse_s.is_some()));
    Some(WayVotes {
        way: way.way,
        alike: steeps.iter().copied().filter(|steep| to_the_side(over.hint, &all, *steep)).collect(),
        steeps,
        n: all.len(),
        counts: counts(&all),
        hint: TeaHint::of(over),
        classes: by_class.iter().zip(&balances).map(in_class).collect(),
        moves: one_way(&balances).ok().map(|found| Test::of(found.between, found.within)),
        shown: false,
        estimate: changes.then(|| Estimate::of(recipe, stronger_by(over.balance, 1))),
        words: String::new(),
    })
}

fn counts<'a>(votes: impl IntoIterator<Item = &'a (u32, Strength)>) -> [usize; 5] {
    let votes: Vec<Strength> = votes.into_iter().map(|(_, vote)| *vote).collect();
    Strength::ALL.map(|step| votes.iter().filter(|vote| **vote == step).count())
}

/// The share of votes for too strong less that for too thin.
fn balance(votes: &OfTaster) -> f64 {
    let [much_thin, thin, _, strong, much_strong] = counts(votes).map(|count| count as f64);
    (strong + much_strong - much_thin - thin) / votes.len() as f64
}

/// Whether the votes on one steep lie where the hint has those on all.
fn to_the_side(hint: Hint, all: &OfTaster, steep: u32) -> bool {
    let [much_thin, thin, right, strong, much_strong] = counts(all.iter().filter(|(of, _)| *of == steep));
    match hint {
        Hint::Lengthen => much_thin + thin > strong + much_strong,
        Hint::Shorten => strong + much_strong > much_thin + thin,
        Hint::Leave => right > much_thin + thin + strong + much_strong,
        Hint::TooFewToTell => false,
    }
}
