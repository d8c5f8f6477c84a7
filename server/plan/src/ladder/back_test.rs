//! The rule tried out on drawn classes; `server/docs/method.md` has the table that the test prints.
//!
//! A drawn tea gives at a k that the model does not know, and was planned so that all its steeps are equally strong but all of them
//! twice as strong or half as strong as its panel would have them, or right. A panel's tasters differ in what they want (0.3 in units
//! of the strength's natural logarithm), each votes with an error of 0.2, and calls just right what lies within 0.25 of the own wish.
//! The right strength is the mean of the panel's wishes. Every suggestion is followed.

use super::{Answer, Course, Served, Votes, suggest};
use fastrand::Rng;
use protocol::{Code, Strength};
use stats::extraction::Leaf;

const CLASSES: usize = 1_000;
const BETWEEN_TASTERS: f64 = 0.3;
const BETWEEN_CUPS: f64 = 0.2;
const JUST_RIGHT_HALF: f64 = 0.25;
/// Votes on as many steeps; a fourth steep shows what they came to.
const VOTES: usize = 3;

/// What came of one drawn class: how far each steep lay above what its panel wants, in units of the strength's natural logarithm;
/// fewer steeps than planned where the leaf was spent.
struct Held {
    off: Vec<f64>,
    /// What the panel wants beside what all such people want: chance has a part in who sits there.
    chance: f64,
}

/// A standard normal deviate (Box and Muller).
fn normal(rng: &mut Rng) -> f64 {
    (-2.0 * (1.0 - rng.f64()).ln()).sqrt() * (std::f64::consts::TAU * rng.f64()).cos()
}

/// A value between two, evenly over their logarithms.
fn between(rng: &mut Rng, least: f64, most: f64) -> f64 {
    least * (most / least).powf(rng.f64())
}

fn vote(off: f64) -> Strength {
    match off {
        off if off < -2.0 * JUST_RIGHT_HALF => Strength::MuchTooThin,
        off if off < -JUST_RIGHT_HALF => Strength::TooThin,
        off if off <= JUST_RIGHT_HALF => Strength::JustRight,
        off if off <= 2.0 * JUST_RIGHT_HALF => Strength::TooStrong,
        _ => Strength::MuchTooStrong,
    }
}

/// Holds a class of `tasters` whose tea is planned `start` times as strong as they want it.
fn hold(rng: &mut Rng, tasters: usize, start: f64) -> Held {
    // Leaf and time as teas are steeped, with enough in the leaf for four steeps of twice the strength.
    let (per_min, right) = loop {
        let (per_min, seconds) = (between(rng, 0.2, 1.0), between(rng, 12.0, 45.0));
        let right = -(-per_min * seconds / 60.0f64).exp_m1();
        if right <= 0.11 {
            break (per_min, right);
        }
    };
    let wishes: Vec<f64> = (0..tasters).map(|_| BETWEEN_TASTERS * normal(rng)).collect();
    let wanted = wishes.iter().sum::<f64>() / tasters as f64;
    let rinse_s = rng.bool().then_some(5);
    let mut leaf = Leaf::new(true);
    rinse_s.into_iter().for_each(|s| {
        leaf.give(f64::from(s), per_min);
    });
    let begun = leaf;
    let mut planned_s = Vec::new();
    for _ in 0..=VOTES {
        let seconds = leaf.seconds_for(start * right, per_min).unwrap();
        leaf.give(seconds.round(), per_min);
        planned_s.push(seconds.round() as u32);
    }
    let (mut leaf, mut served, mut off) = (begun, Vec::<Served>::new(), Vec::new());
    for steep in 0..planned_s.len() {
        let course = Course {
            tea: Code::new(417).unwrap(),
            form: None,
            rinse_s,
            planned_s: &planned_s,
            temp_c: &[95.0; VOTES + 1],
            served: &served,
        };
        let seconds = match suggest(&course).map(|suggestion| suggestion.answer) {
            None | Some(Answer::Stays) => planned_s[steep],
            Some(Answer::Takes(seconds)) => seconds,
            Some(Answer::Spent) => break,
        };
        let strength = (leaf.give(f64::from(seconds), per_min) / right).ln() + wanted;
        off.push(strength - wanted);
        let votes: Votes =
            wishes.iter().map(|wish| vote(strength - wish + BETWEEN_CUPS * normal(rng))).collect();
        served.push(Served { seconds, temp_c: 95.0, votes, could_vote: tasters });
    }
    Held { off, chance: wanted }
}

/// The root of the mean square.
fn rms(all: impl Iterator<Item = f64>) -> f64 {
    let squares: Vec<f64> = all.map(|one| one * one).collect();
    (squares.iter().sum::<f64>() / squares.len() as f64).sqrt()
}

/// Whether the strength went to and fro: off by more than just right allows on the one side, then on the other.
fn swings(class: &Held) -> bool {
    let far: Vec<f64> = class.off.iter().copied().filter(|off| off.abs() > JUST_RIGHT_HALF).collect();
    far.windows(2).any(|two| two[0] * two[1] < 0.0)
}

#[test]
fn three_votes_bring_a_tea_near_what_its_class_wants_and_do_not_swing() {
    let page = include_str!("../../../docs/method.md");
    println!("start  tasters   before  1 vote  2 votes  3 votes   people   swing  spent");
    for (start, at_first) in [(2.0, "2 ×"), (0.5, "½ ×"), (1.0, "right")] {
        for tasters in [6, 8, 12] {
            let mut rng = Rng::with_seed(tasters as u64);
            let held: Vec<Held> = (0..CLASSES).map(|_| hold(&mut rng, tasters, start)).collect();
            let off: Vec<f64> = (0..=VOTES)
                .map(|votes| rms(held.iter().filter_map(|class| class.off.get(votes).copied())))
                .collect();
            let people = rms(held.iter().filter_map(|class| Some(class.off.get(VOTES)? + class.chance)));
            let share =
                |of: fn(&Held) -> bool| held.iter().filter(|class| of(class)).count() as f64 / CLASSES as f64;
            let (swing, spent) = (share(swings), share(|class| class.off.len() <= VOTES));
            println!(
                "{at_first:5}  {tasters:7}  {:7.2} {:7.2} {:8.2} {:8.2}   {people:6.2}   {:4.1} % {:4.1} %",
                off[0],
                off[1],
                off[2],
                off[3],
                swing * 100.0,
                spent * 100.0
            );
            let row = off.iter().chain([&people]).map(|off| format!(" {off:.2} |")).collect::<String>();
            assert!(page.contains(&format!("| {tasters} |{row}\n")), "the page has other figures");
            assert!(off[2..].iter().all(|off| *off <= 0.15) && off[1] <= 0.35, "{off:?}");
            assert!(start != 1.0 || off.iter().all(|off| *off <= 0.15), "right from the start: {off:?}");
            assert!(swing <= 0.01 && spent <= 0.01, "{swing} {spent}");
        }
    }
}
