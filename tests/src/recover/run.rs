//! Classes on a hill, and the ways that people bring.

use super::Way;
use super::hill::{Hill, place, steps};
use crate::calibrate::dice::Dice;
use class::read;
use protocol::{Code, HostTime, Role, Score, SeatId, Strength, Token};
use room::light::ClassScores;
use room::{Entry, Event, Room};
use summary::several::digest::Digest;
use uuid::Uuid;

/// A class as the program reads it.
pub type Held = (ClassScores, Digest);

/// The spread of one score, points.
const NOISE: f64 = 1.5;
/// How high tasters score: the spread of their levels, points.
const LEVELS: f64 = 0.8;

/// Who sits in a class, and what its day does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crowd {
    /// How many tasters.
    pub tasters: usize,
    /// How many steps the best of every second taster lies from that of the others, half in dose and half in time.
    pub apart: f64,
    /// So many times as far as others do, every second taster's scores lie about 6.
    pub wider: f64,
    /// How much better or worse a way is in one class than in another, for all its tasters: the spread in points.
    pub wayward: f64,
    /// Whether they vote on strength, and how many steps too strong the balance of their votes lies beside the true best.
    pub votes: Option<f64>,
}

impl Crowd {
    /// Tasters of one mind.
    pub fn of(tasters: usize) -> Self {
        Self { tasters, apart: 0.0, wider: 1.0, wayward: 0.0, votes: None }
    }
}

/// In which direction cups get stronger: by dose, temperature and time.
const STRONGER: [f64; 3] = [0.7, 0.35, 0.62];
/// How much stronger a cup tastes a step along it, in spreads of one vote; how far off right a vote is given, and how tasters differ in it.
const STEP: f64 = 0.8;
const RIGHT: f64 = 0.8;
const OWN_STRENGTH: f64 = 0.5;

/// How strong a way tastes beside the balance, in spreads of one vote.
fn strength(hill: &Hill, off: f64, at: [f64; 3]) -> f64 {
    let steps = steps();
    let along: f64 = (0..3).map(|i| STRONGER[i] * (at[i] - hill.top[i]) / steps[i]).sum();
    STEP * (along - off)
}

/// About what wide scores lie, points.
const MIDDLE: f64 = 6.0;

/// Ways as people have them by habit: around 4 g, 85 °C and a minute, threefold in leaf and fourfold in time between five of them, by 30 °C;
/// who takes more leaf steeps shorter.
pub fn habits(n: usize, dice: &mut Dice) -> Vec<Way> {
    let way = |_| {
        let leaf = dice.normal(0.45);
        let seconds = 60.0 * (dice.normal(0.5) - 0.5 * leaf).exp();
        (4.0 * leaf.exp(), dice.between(70.0, 100.0).round(), seconds.round() as u32)
    };
    (0..n).map(way).collect()
}

/// The file of a class of one leaf.
fn file(number: usize, ways: &[Way], Crowd { tasters, votes, .. }: Crowd) -> String {
    let strength = votes.is_some();
    let mut text = format!(
        "title = \"Class {number}\"\ndate = 2026-11-{:02}\nblind = false\nseats = {tasters}\npourers = \"each seat\"\npour_s = 5\n\
         decant_s = 4\ntaste_s = 60\n[sheet]\nstrength = {strength}\nattributes = [\"liking\"]\n",
        number + 1
    );
    for (n, (dose, temp_c, seconds)) in ways.iter().enumerate() {
        text += &format!(
            "[[tea]]\nname = \"Way {n}\"\nleaf = \"Lantern Slope\"\ncode = \"{}\"\nleaf_g = {dose:.2}\nwater_ml = 100\ntemp_c = {temp_c}\n\
             steep_s = [{seconds}]\n",
            100 + n
        );
    }
    text
}

/// A class in which everybody tasted every way once.
pub fn held(hill: &Hill, number: usize, ways: &[Way], crowd: Crowd, dice: &mut Dice) -> Held {
    let Crowd { tasters, wider, .. } = crowd;
    let class = read::class(&file(number, ways, crowd)).unwrap_or_else(|faults| panic!("{faults:?}"));
    let class_id = Uuid::from_u128(number as u128 + 1);
    let mut events = vec![Event::Class { class_id, seed: 7, class: Box::new(class) }];
    let id = |seat: usize| SeatId(Uuid::from_u128(seat as u128 + 1));
    events.extend((0..tasters).map(|seat| Event::Seated {
        seat: id(seat),
        name: format!("Seat {}", seat + 1),
        token: Token(Uuid::from_u128(seat as u128 + 1)),
        pourer: None,
        role: Role::Scores,
    }));
    // Nothing is drawn for what is not asked for, so that the other rows stay as they are.
    let moved: Vec<f64> = match crowd.wayward > 0.0 {
        true => ways.iter().map(|_| dice.normal(crowd.wayward)).collect(),
        false => vec![0.0; ways.len()],
    };
    let hills = hill.apart(crowd.apart);
    // Votes have dice of their own, so that the same likings are drawn with them and without.
    let mut voting = Dice::new(hill.top[0].to_bits() ^ number as u64);
    for seat in 0..tasters {
        let (hill, wider) = (&hills[seat % 2], if seat % 2 == 0 { wider } else { 1.0 });
        let level = dice.normal(LEVELS);
        let own = voting.normal(OWN_STRENGTH);
        for (n, way) in ways.iter().enumerate() {
            let liking = MIDDLE + wider * (hill.liking(&place(*way)) - MIDDLE);
            let liking = liking + moved[n] + level + dice.normal(NOISE);
            let vote = crowd.votes.map(|off| {
                let tastes = strength(hill, off, place(*way)) + own + voting.normal(1.0);
                match tastes {
                    tastes if tastes < -RIGHT => Strength::TooThin,
                    tastes if tastes > RIGHT => Strength::TooStrong,
                    _ => Strength::JustRight,
                }
            });
            let score = Score {
                id: Uuid::from_u128(events.len() as u128 + 1000),
                code: Code::new(100 + n as u16).unwrap(),
                steep: 1,
                revision: 1,
                values: [("liking".to_string(), liking.round().clamp(1.0, 9.0) as i32)].into(),
                strength: vote,
                note: String::new(),
                words: Vec::new(),
            };
            events.push(Event::Scored { seat: id(seat), score, on_paper: false });
        }
    }
    events.push(Event::Closed);
    let entry = |(i, event)| Entry::new(i as u64 + 1, HostTime(i as i64), event);
    let room = Room::replay(events.into_iter().enumerate().map(entry)).unwrap();
    let record = ClassScores::of(&room);
    let digest = Digest::of(&record);
    (record, digest)
}
