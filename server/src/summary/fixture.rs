//! Classes for the tests of what is found, built of events as a ledger has them.

use class::read;
use protocol::{Code, HostTime, Score, SeatId, Token};
use room::{Entry, Event, Room};
use uuid::Uuid;

/// One cup for somebody to score: which seat and tea (from 0), which steep (from 1).
#[derive(Clone, Copy, Debug)]
pub struct At {
    pub seat: usize,
    pub tea: usize,
    pub steep: u32,
}

/// A filled sheet: values in the order of the sheet, strength, words.
#[derive(Clone, Debug, Default)]
pub struct Filled {
    pub values: Vec<Option<i32>>,
    pub strength: Option<i8>,
    pub words: Vec<String>,
}

/// A class file of `teas` teas with `steeps` steeps each, all of one leaf two by two; `sheet` is the `[sheet]` section.
pub fn class_file(teas: usize, steeps: u32, sheet: &str) -> String {
    let mut text = format!(
        "title = \"Found\"\ndate = 2026-11-28\nseats = 8\npourers = \"each seat\"\npour_s = 8\ndecant_s = 6\n\
         taste_s = 60\n\n{sheet}\n"
    );
    for tea in 0..teas {
        let (leaf, grams, code) = (tea / 2, 3 + tea % 2 * 2, 211 + tea * 13);
        text += &format!(
            "\n[[tea]]\nname = \"Tea {}\"\nleaf = \"Leaf {}\"\ncode = \"{code}\"\nleaf_g = {grams}\nwater_ml = 100\n\
             temp_c = 95\nsteep_s = [30]\nthen_add_s = 10\nsteeps = {steeps}\n",
            tea + 1,
            leaf + 1
        );
    }
    text
}

/// A room after everybody has scored; the teas whose codes `revealed` names are open.
pub fn room(class: &str, seats: usize, revealed: &[usize], score: impl Fn(At) -> Option<Filled>) -> Room {
    let class = read::class(class).unwrap();
    let codes: Vec<Code> = class.teas.iter().map(|t| t.code.unwrap()).collect();
    let steeps: Vec<u32> = class.teas.iter().map(class::Tea::steeps).collect();
    let names: Vec<String> = class.sheet.attributes.iter().map(|a| a.name.clone()).collect();
    let mut events = vec![Event::Class { class_id: Uuid::from_u128(1), seed: 0, class: Box::new(class) }];
    let id = |seat: usize| SeatId(Uuid::from_u128(seat as u128 + 1));
    for seat in 0..seats {
        let name = ["Ann", "Bob", "Cleo", "Dario", "Edda", "Filip", "Goran", "Hanna"]
            .get(seat)
            .map_or_else(|| format!("Seat {}", seat + 1), |name| (*name).to_string());
        events.push(Event::Seated { seat: id(seat), name, token: Token(Uuid::nil()), pourer: None });
    }
    for seat in 0..seats {
        for (tea, &code) in codes.iter().enumerate() {
            for steep in 1..=steeps[tea] {
                let Some(filled) = score(At { seat, tea, steep }) else { continue };
                let values = names.iter().zip(&filled.values);
                let score = Score {
                    id: Uuid::from_u128(events.len() as u128 + 1000),
                    code,
                    steep,
                    revision: 1,
                    values: values.filter_map(|(name, value)| Some((name.clone(), (*value)?))).collect(),
                    strength: filled.strength.map(|s| s.try_into().unwrap()),
                    note: String::new(),
                    words: filled.words,
                };
                events.push(Event::Scored { seat: id(seat), score, on_paper: false });
            }
        }
    }
    if !revealed.is_empty() {
        events.push(Event::Revealed { codes: revealed.iter().map(|&tea| codes[tea]).collect() });
    }
    events.push(Event::Closed);
    let entry = |(i, event)| Entry { seq: i as u64 + 1, at: HostTime(i as i64), event };
    Room::replay(events.into_iter().enumerate().map(entry)).unwrap()
}

/// A class of eight with four teas, three steeps and a liking: tea 2 much liked, tea 4 too strong from steep 2 on, one
/// score left out; `noise` spreads the scores.
pub fn evening(revealed: &[usize]) -> Room {
    let sheet = "[sheet]\nattributes = [\"aroma\", { name = \"liking\", min = 1, max = 9, low = \"dislike extremely\", \
                 high = \"like extremely\" }]\nweights = { aroma = 40, liking = 60 }";
    room(&class_file(4, 3, sheet), 8, revealed, |At { seat, tea, steep }| {
        // Scattered but fixed: no draw, so that the pictures stay the same.
        let scattered = |k: usize| (seat * 41 + tea * 97 + steep as usize * 173 + k * 59) * 2_654_435_761;
        let noise = |k: usize| ((scattered(k) >> 16) % 5) as i32 - 2;
        let bias = [0, 1, -1, 0, 2, 0, -1, 0][seat % 8];
        let strong = tea == 3 && steep > 1;
        let votes = if strong { [1, 1, 2, 1, 1, 1, 0, 1] } else { [0, 0, -1, 0, 1, 0, -1, 0] };
        let (aroma, liking) = (5 + noise(1) + bias, [5, 7, 5, 4][tea] + noise(2) / 2 + bias);
        (seat != 6 || tea != 2 || steep != 3).then(|| Filled {
            values: vec![Some(aroma.clamp(1, 9)), Some(liking.clamp(1, 9))],
            strength: Some(votes[(seat + tea) % 8]),
            words: Vec::new(),
        })
    })
}
