//! The classes that are drawn: each a design without a true difference, and the same with one.

use crate::calibrate::design::{Design, Shape, Votes};
use crate::calibrate::dice::Dice;
use crate::calibrate::held::held;
use crate::calibrate::kinds::{Kind, Said, of_one, of_several};
use room::light::ClassScores;
use summary::summarise;

/// What is drawn: one class, or several that are pooled.
#[derive(Clone, Debug)]
pub struct Case {
    /// Its family: a word to choose it by.
    pub family: &'static str,
    /// What it is, for a person.
    pub what: String,
    /// Nothing is there.
    pub null: Design,
    /// Something is there.
    pub truth: Design,
    /// How many classes are pooled; one is a class by itself.
    pub classes: usize,
    /// How far a way moves from class to class: a standard deviation, points.
    pub moves: f64,
    /// The kinds of sentences that the true difference should bring.
    pub finds: &'static [Kind],
    /// The other kinds that are looked at.
    pub also: &'static [Kind],
}

impl Case {
    fn one(
        family: &'static str,
        what: impl Into<String>,
        null: Design,
        truth: Design,
        finds: &'static [Kind],
    ) -> Self {
        Self { family, what: what.into(), null, truth, classes: 1, moves: 0.0, finds, also: &[Kind::AtOdds] }
    }

    /// What the review says of one drawing.
    pub fn drawn(&self, design: &Design, seed: u64) -> Said {
        let dice = &mut Dice::new(seed);
        if self.classes == 1 {
            let room = held(design, &[], "2026-11-28", dice);
            return of_one(&summarise(&room, room.last_at), &room);
        }
        let classes: Vec<ClassScores> = (0..self.classes)
            .map(|class| {
                let moved: Vec<f64> = design.teas.iter().map(|_| dice.normal(self.moves)).collect();
                ClassScores::of(&held(design, &moved, &format!("2026-11-{:02}", class + 1), dice))
            })
            .collect();
        of_several(&classes)
    }
}

/// All cases.
pub fn all() -> Vec<Case> {
    let each = |of: fn(Shape) -> Vec<Case>| Shape::ALL.into_iter().flat_map(of);
    each(complete)
        .chain(each(gaps))
        .chain(each(twice))
        .chain(twice_voted())
        .chain(each(ways))
        .chain(votes())
        .chain(each(costs))
        .chain(words())
        .chain(tests())
        .chain(each(pools))
        .chain(pooled_votes())
        .chain(each(first_cup))
        .collect()
}

/// What a true difference between teas should bring.
const TEAS: &[Kind] = &[Kind::Differ, Kind::DifferAtSteep, Kind::Agree, Kind::Totals];
/// The same between ways of one leaf.
const WAYS: &[Kind] = &[Kind::Differ, Kind::DifferAtSteep, Kind::Agree, Kind::Ways, Kind::WaysAtSteep];
/// The same over several classes.
const POOLED: &[Kind] = &[Kind::PooledDiffer, Kind::PooledPair, Kind::PooledLetters];

/// The same with the first tea liked by so many standard deviations of a cup more than the others. They are put lower, as
/// there is no room above where most scores are near the top.
fn lifted(design: &Design, by: f64) -> Design {
    let mut truth = design.clone();
    truth.lift.iter_mut().skip(1).for_each(|lift| *lift = -by * design.shape.sd());
    truth
}

fn complete(shape: Shape) -> Vec<Case> {
    [(2, 8), (3, 6), (4, 8), (6, 12), (4, 20)]
        .map(|(teas, tasters)| {
            let null = Design { totals: teas == 4, ..Design::of(teas, tasters, shape) };
            let truth = lifted(&null, 1.0);
            let also = &[Kind::AtOdds, Kind::FirstCup];
            Case {
                also,
                ..Case::one("complete", format!("{teas} teas, {tasters} tasters"), null, truth, TEAS)
            }
        })
        .into()
}

fn gaps(shape: Shape) -> Vec<Case> {
    [(3, 8, 0.2), (4, 8, 0.2), (6, 10, 0.2), (4, 16, 0.4)]
        .map(|(teas, tasters, missing)| {
            let null = Design { missing, ..Design::of(teas, tasters, shape) };
            let truth = lifted(&null, 1.0);
            let what = format!("{teas} teas, {tasters} tasters, {:.0} % missing", missing * 100.0);
            Case::one("gaps", what, null, truth, TEAS)
        })
        .into()
}

fn twice(shape: Shape) -> Vec<Case> {
    [(2, 8), (3, 8), (3, 14)]
        .map(|(ways, tasters)| {
            let null = Design { seen: shape.sd(), ..Design::twice(ways, tasters, shape) };
            let mut truth = null.clone();
            truth.lift.iter_mut().skip(2).for_each(|lift| *lift = -1.5 * shape.sd());
            Case::one(
                "twice",
                format!("{ways} ways of a leaf, each twice, {tasters} tasters"),
                null,
                truth,
                WAYS,
            )
        })
        .into()
}

fn twice_voted() -> Vec<Case> {
    [(2, 8), (3, 10)]
        .map(|(ways, tasters)| {
            let votes = Some(Votes { right_within: HALF, own: 0.4, costs: 0.0 });
            let null = Design { votes, attributes: 1, ..Design::twice(ways, tasters, Shape::Normal) };
            let truth = Design { thin: 1.0, ..null.clone() };
            let what = format!("{ways} ways of a leaf, each twice, {tasters} tasters, with votes");
            let also = &[Kind::Leave, Kind::StrengthAtSteep, Kind::AtOdds];
            Case { also, ..Case::one("twice", what, null, truth, &[Kind::Strength, Kind::Advice]) }
        })
        .into()
}

fn ways(shape: Shape) -> Vec<Case> {
    [(1, 3, 8), (1, 6, 8), (2, 3, 12)]
        .map(|(leaves, ways, tasters)| {
            let null = Design { attributes: 3, ..Design::ways(leaves, ways, tasters, shape) };
            let truth = lifted(&null, 1.0);
            let what = format!("{ways} ways of {leaves} leaves, {tasters} tasters");
            Case::one("ways", what.replace("1 leaves", "a leaf"), null, truth, WAYS)
        })
        .into()
}

/// Half of the cups are just right, at a vote of [`Votes::right_within`].
const HALF: f64 = 0.674_489_750_196;

fn votes() -> Vec<Case> {
    let kinds = [
        ("half just right", HALF, 0.0),
        ("half just right, of one mind", HALF, 0.8),
        ("nobody just right, of one mind", 0.0, 0.8),
    ];
    let sizes = [(2, 8), (4, 8), (4, 14), (6, 10), (8, 12)];
    let of = |(what, right_within, own): (&str, f64, f64)| {
        sizes.map(|(teas, tasters)| {
            let votes = Some(Votes { right_within, own, costs: 0.0 });
            let null = Design { votes, steeps: 3, attributes: 1, ..Design::of(teas, tasters, Shape::Normal) };
            let truth = Design { thin: 1.3, ..null.clone() };
            let what = format!("{teas} teas × 3 steeps, {tasters} tasters, {what}");
            let finds = &[Kind::Strength, Kind::StrengthAtSteep, Kind::Advice];
            Case {
                also: &[Kind::Leave, Kind::Cost, Kind::AtOdds],
                ..Case::one("votes", what, null, truth, finds)
            }
        })
    };
    let right = sizes.map(|(teas, tasters)| {
        let of = |right_within| {
            let votes = Some(Votes { right_within, own: 0.4, costs: 0.0 });
            Design { votes, steeps: 3, attributes: 1, ..Design::of(teas, tasters, Shape::Normal) }
        };
        let what = format!("{teas} teas × 3 steeps, {tasters} tasters, half or nearly all just right");
        Case::one("votes", what, of(HALF), of(2.0), &[Kind::Leave])
    });
    kinds.into_iter().flat_map(of).chain(right).collect()
}

fn costs(shape: Shape) -> Vec<Case> {
    [(2, 12), (4, 16)]
        .map(|(teas, tasters)| {
            let of = |costs| {
                let votes = Some(Votes { right_within: HALF, own: 0.0, costs });
                Design { votes, steeps: 3, attributes: 1, ..Design::of(teas, tasters, shape) }
            };
            let what = format!("{teas} teas × 3 steeps, {tasters} tasters, votes beside liking");
            Case::one("costs", what, of(0.0), of(2.0 * shape.sd()), &[Kind::Cost])
        })
        .into()
}

fn words() -> Vec<Case> {
    [(2, 8), (4, 10), (6, 16)]
        .map(|(teas, tasters)| {
            let of =
                |more| Design { words: (8, more), attributes: 1, ..Design::of(teas, tasters, Shape::Normal) };
            Case::one(
                "words",
                format!("{teas} teas, {tasters} tasters, 8 words"),
                of(0.0),
                of(0.5),
                &[Kind::Words],
            )
        })
        .into()
}

fn tests() -> Vec<Case> {
    [(1, 12), (1, 18), (3, 12), (3, 18)]
        .map(|(tests, tasters)| {
            let of = |tell| Design {
                tests: (tests, tell),
                attributes: 1,
                ..Design::of(2, tasters, Shape::Normal)
            };
            let many = if tests == 1 { "a triangle" } else { "three tests" };
            Case::one("tests", format!("{many}, {tasters} tasters"), of(0.0), of(0.5), &[Kind::Tests])
        })
        .into()
}

fn pools(shape: Shape) -> Vec<Case> {
    let ways = [(3, 1, 3, 8, 0.0), (3, 1, 3, 8, 0.6), (5, 1, 2, 6, 0.6), (6, 1, 4, 8, 0.6)];
    // Two classes speak for themselves, and with ways of several leaves many pairs are looked at.
    let leaves = [(2, 2, 2, 8, 0.0), (3, 2, 2, 8, 0.4)];
    ways.into_iter()
        .chain(leaves)
        .map(|(classes, leaves, ways, tasters, moves)| {
            let null = Design { attributes: 1, steeps: 1, ..Design::ways(leaves, ways, tasters, shape) };
            let truth = lifted(&null, 1.5);
            let how =
                if moves == 0.0 { "the same in all".into() } else { format!("moving by {moves:.1} SD") };
            let of =
                if leaves == 1 { format!("{ways} ways") } else { format!("{ways} ways of {leaves} leaves") };
            let what = format!("{classes} classes of {tasters}, {of}, {how}");
            let moves = moves * shape.sd();
            Case { classes, moves, ..Case::one("pools", what, null, truth, POOLED) }
        })
        .collect()
}

fn pooled_votes() -> Vec<Case> {
    [(3, 0.0), (5, 0.0)]
        .map(|(classes, own)| {
            let votes = Some(Votes { right_within: HALF, own, costs: 0.0 });
            let null = Design { votes, steeps: 3, attributes: 1, ..Design::of(2, 8, Shape::Normal) };
            let truth = Design { thin: 1.0, ..null.clone() };
            let what = format!("{classes} classes of 8, 2 teas × 3 steeps");
            Case {
                classes,
                ..Case::one("pools", what, null, truth, &[Kind::PooledStrength, Kind::PooledSteep])
            }
        })
        .into()
}

/// The first cup of a round is scored lower, with more tasters than whole rows of the serving design: whether that is found, and
/// whether the teas are found to differ beside it.
fn first_cup(shape: Shape) -> Vec<Case> {
    [(4, 6), (6, 9)]
        .into_iter()
        .flat_map(|(teas, tasters)| {
            let null = Design { attributes: 1, ..Design::of(teas, tasters, shape) };
            let lower = Design { first_cup: -1.5 * shape.sd(), ..null.clone() };
            let what = format!("{teas} teas, {tasters} tasters, the first cup as others or lower");
            let found = Case::one("first", what, null, lower.clone(), &[Kind::FirstCup]);
            let what = format!("{teas} teas, {tasters} tasters, the first cup lower");
            let truth = lifted(&lower, 1.0);
            let beside = Case::one("first", what, lower, truth, TEAS);
            [found, beside]
        })
        .collect()
}
