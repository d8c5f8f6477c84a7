//! A class as it was held: the events of its ledger, and the room that they make.

use crate::calibrate::design::{Design, Votes, name};
use crate::calibrate::dice::Dice;
use class::difference::{Asking, Side};
use plan::orders::order;
use protocol::{Answer, Code, HostTime, Score, SeatId, Strength, Token};
use room::{Entry, Event, Room};
use std::collections::BTreeMap;
use uuid::Uuid;

/// A class of this design after everybody has scored. `moved` is what each tea has more in this class alone, points.
pub fn held(design: &Design, moved: &[f64], date: &str, dice: &mut Dice) -> Room {
    let seed = dice.seed();
    let class = design.class(date).with_codes(seed);
    let codes: Vec<Code> = class.teas.iter().map(|tea| tea.code.unwrap()).collect();
    let class_id = Uuid::from_u128(u128::from(dice.seed()));
    let mut events = vec![Event::Class { class_id, seed, class: Box::new(class) }];
    let id = |seat: usize| SeatId(Uuid::from_u128(seat as u128 + 1));
    events.extend((0..design.tasters).map(|seat| Event::Seated {
        seat: id(seat),
        name: format!("Seat {}", seat + 1),
        token: Token(Uuid::from_u128(seat as u128 + 1)),
        pourer: None,
        role: protocol::Role::Scores,
    }));
    for seat in 0..design.tasters {
        let taster = Taster::drawn(design, dice);
        let order = order(codes.len(), seat, seed);
        // The same under each code of a way.
        let mut found: BTreeMap<(usize, usize), f64> = BTreeMap::new();
        for (tea, &code) in codes.iter().enumerate() {
            if dice.yes(design.missing) {
                continue;
            }
            let own = dice.normal(1.0);
            let own = *found.entry(design.teas[tea]).or_insert(own);
            for steep in 1..=design.steeps {
                let first = if order[0] == tea { design.first_cup } else { 0.0 };
                let cup = Cup { tea, more: moved.get(tea).copied().unwrap_or(0.0) + first, own };
                let mut score = taster.score(design, cup, dice);
                (score.id, score.code, score.steep) =
                    (Uuid::from_u128(events.len() as u128 + 1000), code, steep);
                events.push(Event::Scored { seat: id(seat), score, on_paper: false });
            }
        }
    }
    events.push(Event::Closed);
    let entry = |(i, event)| Entry::new(i as u64 + 1, HostTime(i as i64), event);
    let mut room = Room::replay(events.into_iter().enumerate().map(entry)).unwrap();
    answers(design, &mut room, dice);
    room
}

/// One cup for one taster.
struct Cup {
    tea: usize,
    /// What it has more besides what is true of the tea, points.
    more: f64,
    /// How this taster finds the tea's strength at all its steeps.
    own: f64,
}

/// Somebody who scores.
struct Taster {
    /// How high, attribute by attribute.
    levels: Vec<f64>,
    /// What each tea has more for this one, attribute by attribute, points; the same for each code of a way.
    sees: Vec<Vec<f64>>,
    /// How readily each word is ticked.
    ticks: Vec<f64>,
}

impl Taster {
    fn drawn(design: &Design, dice: &mut Dice) -> Self {
        let mut ways = design.teas.clone();
        ways.sort_unstable();
        ways.dedup();
        let mut seen = || -> Vec<f64> {
            let of_ways: Vec<f64> = ways.iter().map(|_| dice.normal(design.seen)).collect();
            design.teas.iter().map(|tea| of_ways[ways.binary_search(tea).unwrap()]).collect()
        };
        let sees = (0..design.attributes).map(|_| seen()).collect();
        Self {
            sees,
            levels: (0..design.attributes).map(|_| dice.normal(1.0)).collect(),
            ticks: (0..design.words.0).map(|_| dice.between(0.1, 0.9)).collect(),
        }
    }

    fn score(&self, design: &Design, cup: Cup, dice: &mut Dice) -> Score {
        let strength = design.votes.map(|votes| {
            let thin = if design.teas[cup.tea] == design.teas[0] { design.thin } else { 0.0 };
            let found = votes.own.sqrt() * cup.own + dice.normal((1.0 - votes.own).sqrt()) - thin;
            vote(votes, found)
        });
        let wrong = strength.is_some_and(|vote| vote != 0);
        let cost = design.votes.filter(|_| wrong).map_or(0.0, |votes| votes.costs);
        let mut value = |attribute: usize| {
            let own = if attribute == 0 { design.lift[cup.tea] - cost } else { 0.0 };
            let effect = own + cup.more + self.sees[attribute][cup.tea];
            (name(attribute).to_string(), design.shape.points(self.levels[attribute], effect, dice))
        };
        let values = (0..design.attributes).map(&mut value).collect();
        let ticked = self.ticks.iter().enumerate().filter(|&(word, chance)| {
            let more = if word == 0 && cup.tea == 0 { design.words.1 } else { 0.0 };
            dice.yes((chance + more).min(0.95))
        });
        Score {
            id: Uuid::nil(),
            code: Code::new(100).unwrap(),
            steep: 1,
            revision: 1,
            values,
            strength: strength.map(|vote| Strength::try_from(vote).unwrap()),
            note: String::new(),
            words: ticked.map(|(word, _)| format!("word {word}")).collect(),
        }
    }
}

fn vote(votes: Votes, found: f64) -> i8 {
    let steps = if found.abs() <= votes.right_within {
        0
    } else if found.abs() <= votes.right_within + 1.0 {
        1
    } else {
        2
    };
    if found < 0.0 { -steps } else { steps }
}

/// Every seat answers every test: those who tell the teas apart rightly, the others by guessing.
fn answers(design: &Design, room: &mut Room, dice: &mut Dice) {
    for number in 1..=design.tests.0 as u32 {
        room.fold(room.seq + 1, room.last_at, Event::TestOpened { test: number });
        let test = room.class.tests[number as usize - 1].clone();
        for place in 0..design.tasters {
            let Some(set) = test.set(place) else { continue };
            let guess = set.cups[dice.one_of(set.cups.len())].code;
            // Of a paired comparison no answer is right: whoever tells the teas apart finds the first one more so.
            let right = match test.asking {
                Asking::Paired { .. } => Some(Side::First),
                _ => test.right(set),
            };
            let knows = set.cups.iter().find(|cup| Some(cup.tea) == right).map(|cup| cup.code);
            let pick = if dice.yes(design.tests.1) { knows.unwrap_or(guess) } else { guess };
            let answer =
                Answer { id: Uuid::from_u128(u128::from(dice.seed())), test: number, pick, revision: 1 };
            let seat = room.seats[place].id;
            room.fold(room.seq + 1, room.last_at, Event::Answered { seat, answer });
        }
    }
}
