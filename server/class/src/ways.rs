//! How people steep a leaf, as they tell it: the file of ways as it was read.

use crate::start::leaf::{Choice, Form, Oxidation};
use serde::{Deserialize, Serialize};

/// The most ways that one file can hold.
pub const MAX_WAYS: usize = 60;

/// What a file of ways says.
#[derive(Clone, Debug, PartialEq)]
pub struct Collected {
    /// What was collected, if the file says it.
    pub title: Option<String>,
    /// The ways, in the order of the file; at least one.
    pub ways: Vec<Way>,
}

/// One person's way of steeping a leaf.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Way {
    /// Whose it is, unique in the file.
    pub who: String,
    /// What kind of leaf it is for.
    pub kind: LeafKind,
    /// Dry leaf, grams per 100 ml.
    pub dose_g_per_100_ml: f64,
    /// Water per steep, millilitres, if that is said.
    pub water_ml: Option<f64>,
    /// Water temperature of each steep, °C; as many as there are steeps.
    pub temp_c: Vec<f64>,
    /// Each steep's seconds from lid on to the start of the decant; 0 is a flash steep. At least one.
    pub steep_s: Vec<u32>,
    /// Seconds of a rinse before the first steep, if the leaf is rinsed.
    pub rinse_s: Option<u32>,
    /// What else they said.
    pub remarks: Option<String>,
}

/// What kind of leaf a way is for, as far as it is said.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct LeafKind {
    /// Its form.
    pub form: Option<Form>,
    /// How far it is oxidised.
    pub oxidation: Option<Oxidation>,
    /// Whether it was roasted.
    pub roasted: Option<bool>,
    /// Its age, years.
    pub age_years: Option<u32>,
}

impl LeafKind {
    /// Whether ways for the two may be set side by side: the same in form, oxidation and roast, and in how old they are as far as the
    /// starting points tell ages apart.
    pub fn like(&self, other: &Self) -> bool {
        let key = |kind: &Self| (kind.form, kind.oxidation, kind.roasted, kind.age_years.map(Age::of));
        key(self) == key(other)
    }

    /// `ball-rolled, half oxidised, roasted`; `leaf that nobody described` if nothing is said.
    pub fn described(&self) -> String {
        let age = self.age_years.map(Age::of).filter(|age| *age != Age::Young);
        let parts: Vec<&str> = [
            self.form.map(Form::word),
            self.oxidation.map(Oxidation::said),
            self.roasted.map(|roasted| if roasted { "roasted" } else { "not roasted" }),
            age.map(Age::word),
        ]
        .into_iter()
        .flatten()
        .collect();
        if parts.is_empty() { "leaf that nobody described".into() } else { parts.join(", ") }
    }
}

/// How old a leaf is, as far as the starting points tell ages apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Age {
    /// Under five years.
    Young,
    /// From five years on.
    Aged,
    /// From fifteen years on.
    Old,
}

impl Age {
    /// That of a leaf of so many years.
    pub fn of(years: u32) -> Self {
        match years {
            0..5 => Age::Young,
            5..15 => Age::Aged,
            _ => Age::Old,
        }
    }

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Age::Young => "young",
            Age::Aged => "aged",
            Age::Old => "old",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::start::table::Table;

    /// The ages at which the starting points change are those by which ways are parted.
    #[test]
    fn ages_are_parted_where_the_starting_points_part_them() {
        let table = Table::compiled_in().unwrap();
        let from: Vec<u32> = table.rule.iter().filter_map(|rule| rule.from_years).collect();
        for years in 0..30 {
            let passed = from.iter().filter(|from| years >= **from).count();
            assert_eq!(Age::of(years) as usize, passed, "{years}");
        }
    }

    #[test]
    fn leaf_is_of_one_kind_where_nothing_that_is_said_differs() {
        let kind = |form, roasted, age_years| LeafKind { form, roasted, age_years, ..LeafKind::default() };
        let rolled = kind(Some(Form::BallRolled), Some(true), Some(1));
        for (other, like, said) in [
            (kind(Some(Form::BallRolled), Some(true), Some(4)), true, "ball-rolled, roasted"),
            (kind(Some(Form::BallRolled), Some(true), Some(5)), false, "ball-rolled, roasted, aged"),
            (kind(Some(Form::BallRolled), None, Some(1)), false, "ball-rolled"),
            (kind(Some(Form::Open), Some(true), Some(1)), false, "open, roasted"),
            (LeafKind::default(), false, "leaf that nobody described"),
        ] {
            assert_eq!((rolled.like(&other), other.described().as_str()), (like, said));
        }
    }
}
