//! The class as the teacher wrote it down: teas, ways of steeping, hands, times and the sheet.

mod adapt;
mod certainty;
pub mod course;
pub mod difference;
pub mod read;
pub mod setting;
pub mod start;
pub mod steeping;
pub mod taste;
pub mod ways;
pub mod weights;
pub mod write;

pub use adapt::Adapt;

use difference::DifferenceTest;
use protocol::text::name_key;
use protocol::{Code, Recipe, Sheet, TeaCard};
use serde::{Deserialize, Serialize};
use setting::{Setting, Vessel};
use start::leaf::Form;
use uuid::Uuid;
use weights::ClassWeights;

/// The most teas one class can set side by side.
pub const MAX_TEAS: usize = 12;
/// The most steeps one tea can have.
pub(crate) const MAX_STEEPS: u32 = 20;
/// The most seats one class can have.
pub const MAX_SEATS: u32 = 10_000;

/// A class: everything the class file says, with every default filled in.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Class {
    /// What the class is called.
    pub title: String,
    /// The day, as `YYYY-MM-DD`.
    pub date: String,
    /// How many seats are expected.
    pub seats: u32,
    /// Who pours.
    pub pourers: Pourers,
    /// Seconds of hands' work to warm one vessel; 0 = vessels are not warmed.
    pub warm_s: u32,
    /// Seconds of hands' work to pour one tea's water.
    pub pour_s: u32,
    /// Seconds of hands' work to decant one tea.
    pub decant_s: u32,
    /// Seconds to taste after the last cup of a round is ready.
    pub taste_s: u32,
    /// Seconds between a round's end and the next round's first cue.
    pub pause_s: u32,
    /// Whether the teas' names are kept from the seats until the teacher reveals them.
    pub blind: bool,
    /// What is scored.
    pub sheet: Sheet,
    /// How much each attribute counts for a total, if the class wants totals.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weights: Option<ClassWeights>,
    /// Whether the votes on strength may change later steeps, for every tea that does not say otherwise; what really holds for a
    /// tea is said by `Class::adapt`.
    #[serde(default, skip_serializing_if = "Adapt::is_usual")]
    pub adapt: Adapt,
    /// The teas, in the order of the file.
    pub teas: Vec<Tea>,
    /// The room, its kettles, and the run of the class.
    #[serde(default)]
    pub setting: Setting,
    /// Difference tests, in the order of the file; number 1 is the first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub tests: Vec<DifferenceTest>,
}

/// Who pours.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Pourers {
    /// Every seat brews its own set with its own pair of hands.
    EachSeat,
    /// So many pairs of hands at one table serve everybody.
    Table(u8),
}

impl Pourers {
    /// How many pairs of hands the timetable is for.
    pub fn hands(self) -> u8 {
        match self {
            Pourers::EachSeat => 1,
            Pourers::Table(hands) => hands,
        }
    }
}

/// One thing being steeped: a leaf under one way of steeping.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tea {
    /// Its name, unique in the class.
    pub name: String,
    /// The leaf; two teas may be the same leaf under two ways of steeping.
    pub leaf: String,
    /// The blind code. Always there once the class has been opened.
    pub code: Option<Code>,
    /// Dry leaf, grams.
    pub leaf_g: f64,
    /// Water per steep, millilitres.
    pub water_ml: f64,
    /// Water temperature of each steep, °C; as many as there are steeps.
    pub temp_c: Vec<f64>,
    /// Seconds of a rinse before the first steep, if the leaf is rinsed.
    pub rinse_s: Option<u32>,
    /// Each steep's seconds from lid on to the start of the decant; 0 is a flash steep.
    pub steep_s: Vec<u32>,
    /// Seconds of hands' work to pour this tea, if it differs from the class's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pour_s: Option<u32>,
    /// Seconds of hands' work to decant this tea, if it differs from the class's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub decant_s: Option<u32>,
    /// What it steeps in, if that is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vessel: Option<Vessel>,
    /// Whether the votes may change its later steeps, if it differs from the class's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub adapt: Option<Adapt>,
    /// How the leaf is rolled, if that is known: how quickly it gives is first guessed by it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub form: Option<Form>,
}

impl Tea {
    /// How many steeps the tea has.
    pub fn steeps(&self) -> u32 {
        self.steep_s.len() as u32
    }

    /// How it is steeped, for taking home.
    pub fn recipe(&self) -> Recipe {
        Recipe {
            leaf_g: self.leaf_g,
            water_ml: self.water_ml,
            temp_c: self.temp_c.clone(),
            steep_s: self.steep_s.clone(),
            rinse_s: self.rinse_s,
        }
    }

    /// What two leaves are compared by: one leaf, however its name is spelt.
    pub fn leaf_key(&self) -> String {
        name_key(&self.leaf)
    }

    /// Grams of leaf per 100 ml of water.
    pub fn dose_g_per_100_ml(&self) -> f64 {
        self.leaf_g * 100.0 / self.water_ml
    }
}

impl Class {
    /// How many rounds the class has: the most steeps of any tea.
    pub fn rounds(&self) -> u32 {
        self.teas.iter().map(Tea::steeps).max().unwrap_or(0)
    }

    /// Seconds of hands' work to pour a tea of this class.
    pub fn pour_s(&self, tea: &Tea) -> u32 {
        tea.pour_s.unwrap_or(self.pour_s)
    }

    /// Seconds of hands' work to decant a tea of this class.
    pub fn decant_s(&self, tea: &Tea) -> u32 {
        tea.decant_s.unwrap_or(self.decant_s)
    }

    /// Seconds between a round's end and the next one's first cue: the pause, or a break if one falls there.
    pub fn pause_after(&self, round: u32) -> u32 {
        self.setting.breaks.iter().find(|b| b.after_round == round).map_or(self.pause_s, |b| b.length_s)
    }

    /// The teas with their codes, once codes have been drawn.
    pub fn coded(&self) -> impl Iterator<Item = (Code, &Tea)> {
        self.teas.iter().filter_map(|tea| tea.code.map(|code| (code, tea)))
    }

    /// The tea served under a code.
    pub fn tea(&self, code: Code) -> Option<&Tea> {
        self.teas.iter().find(|tea| tea.code == Some(code))
    }

    /// What a seat may know of the teas, given which are revealed; in the order of the codes when the class is blind.
    pub fn cards(&self, revealed: impl Fn(Code) -> bool) -> Vec<TeaCard> {
        let mut cards: Vec<TeaCard> = self
            .coded()
            .map(|(code, tea)| {
                let open = !self.blind || revealed(code);
                TeaCard {
                    code,
                    steeps: tea.steeps(),
                    name: open.then(|| tea.name.clone()),
                    leaf: open.then(|| tea.leaf.clone()),
                    recipe: open.then(|| tea.recipe()),
                }
            })
            .collect();
        // The order of the class file could tell: the two ways of one leaf often stand side by side.
        if self.blind {
            cards.sort_by_key(|card| card.code);
        }
        cards
    }

    /// The kettles by name.
    pub fn kettle_names(&self) -> Vec<String> {
        self.setting.kettles.iter().map(|kettle| kettle.name.clone()).collect()
    }

    /// The seed from which codes and serving orders are drawn unless another one is given: always the same for the same
    /// title, day and teas (a name-based UUID, RFC 9562 §5.5), so that a printed plan fits the class that is opened later.
    pub fn own_seed(&self) -> u64 {
        let teas: Vec<&str> = self.teas.iter().map(|t| t.name.as_str()).collect();
        let name = format!("{}\n{}\n{}", self.title, self.date, teas.join("\n"));
        Uuid::new_v5(&Uuid::NAMESPACE_OID, name.as_bytes()).as_u64_pair().1
    }

    /// The difference test of a number, from 1.
    pub fn test(&self, number: u32) -> Option<&DifferenceTest> {
        self.tests.get(usize::try_from(number).ok()?.checked_sub(1)?)
    }

    /// The class with a three-digit code for every tea that has none yet and for every cup of its difference tests, drawn
    /// from `seed`, never equal.
    pub fn with_codes(mut self, seed: u64) -> Self {
        let mut rng = fastrand::Rng::with_seed(seed);
        let mut free: Vec<u16> = (Code::MIN..=Code::MAX)
            .filter(|&n| !self.teas.iter().any(|tea| tea.code.is_some() && tea.code == Code::new(n)))
            .collect();
        rng.shuffle(&mut free);
        let mut free = free.into_iter();
        for tea in self.teas.iter_mut().filter(|tea| tea.code.is_none()) {
            tea.code = free.next().and_then(Code::new);
        }
        let mut codes = free.filter_map(Code::new);
        for test in &mut self.tests {
            test.draw(&mut codes, &mut rng);
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::BTreeSet;

    fn class(codes: &[Option<u16>]) -> Class {
        let text = include_str!("../../tests/classes/two-ways.toml");
        let mut class = read::class(text).unwrap();
        let tea = class.teas[0].clone();
        class.teas = codes.iter().map(|c| Tea { code: c.and_then(Code::new), ..tea.clone() }).collect();
        class
    }

    proptest! {
        #[test]
        fn drawn_codes_never_clash_and_given_ones_stay(seed: u64, given in 100u16..=999) {
            let class = class(&[None, Some(given), None, None, None]).with_codes(seed);
            let codes: BTreeSet<Code> = class.coded().map(|(code, _)| code).collect();
            prop_assert_eq!(codes.len(), 5);
            prop_assert_eq!(class.teas[1].code, Code::new(given));
        }
    }

    #[test]
    fn the_same_seed_draws_the_same_codes_and_another_seed_others() {
        let draw = |seed| class(&[None; 4]).with_codes(seed).teas.iter().map(|t| t.code).collect::<Vec<_>>();
        assert_eq!(draw(1), draw(1));
        assert_ne!(draw(1), draw(2));
    }

    #[test]
    fn a_blind_tea_shows_its_code_only() {
        let class = class(&[Some(417), Some(238)]);
        let cards = class.cards(|code| code.to_string() == "238");
        assert_eq!(
            cards.iter().map(|c| c.code.to_string()).collect::<Vec<_>>(),
            ["238", "417"],
            "not in the file's order"
        );
        assert!(cards[0].name.is_some());
        assert_eq!((cards[1].name.clone(), cards[1].leaf.clone()), (None, None));
    }
}
