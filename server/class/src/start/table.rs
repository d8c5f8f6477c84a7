//! The table of starting points, as it stands in `table.toml`. Common practice, no source, unless a value says more.

use super::leaf::{Form, Leaf, Oxidation, Sitting};
use super::method::{Method, MethodName};
use crate::read;
use serde::Deserialize;

/// The table's text, compiled in.
const TEXT: &str = include_str!("table.toml");

/// The whole table.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Table {
    /// What holds for any leaf.
    pub(crate) sitting: Sittings,
    /// What holds from a high dose on.
    pub(crate) flash: Flash,
    /// The run of the class.
    pub(crate) run: Run,
    /// What holds for some leaf, from the general to the particular.
    pub(crate) rule: Vec<Rule>,
    /// The standards' own methods.
    pub(crate) method: Vec<Method>,
}

/// What holds for any leaf, by length of sitting.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Sittings {
    pub(crate) short: Base,
    /// Between the two.
    pub(crate) middle: Base,
    pub(crate) long: Base,
}

/// How to steep before anything is known of the leaf.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Base {
    /// Dry leaf, grams per 100 ml.
    pub(crate) dose: f64,
    /// Water, °C.
    pub(crate) temp_c: f64,
    /// The first steeps, seconds.
    pub(crate) steep_s: Vec<u32>,
    /// How much longer each later steep is, seconds.
    pub(crate) then_add_s: u32,
    /// How many steeps in all.
    pub(crate) steeps: u32,
    /// How much hotter the last steep is than the first, °C.
    pub(crate) raise_c: f64,
}

/// Flash steeps for a high dose.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Flash {
    /// From which dose on, grams per 100 ml.
    pub(crate) from_dose: f64,
    /// The first steeps, seconds.
    pub(crate) steep_s: Vec<u32>,
    /// How much longer each later steep is, seconds.
    pub(crate) then_add_s: u32,
    /// The first steep of tightly rolled leaf, seconds.
    pub(crate) opening_s: u32,
    /// Why.
    pub(crate) because: String,
}

/// The run of the class.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Run {
    /// When every seat brews its own set.
    pub(crate) seat: SeatHands,
    /// When pourers serve a table.
    pub(crate) table: TableHands,
    /// Between rounds, seconds.
    pub(crate) pause_s: u32,
    /// One person's tasting cup, millilitres.
    pub(crate) cup_ml: f64,
    /// What the leaf keeps of the first water, millilitres per gram.
    pub(crate) leaf_keeps_ml_per_g: f64,
}

/// One pair of hands at a seat.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SeatHands {
    /// To pour one tea, seconds.
    pub(crate) pour_s: u32,
    /// To decant one tea, seconds.
    pub(crate) decant_s: u32,
    /// Water per steep, millilitres.
    pub(crate) water_ml: f64,
}

/// One pair of hands at a table.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct TableHands {
    /// To pour one tea, seconds.
    pub(crate) pour_s: u32,
    /// To decant one tea, seconds.
    pub(crate) decant_s: u32,
}

/// What holds for some leaf.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Rule {
    /// For these forms; `None` is for all.
    pub(crate) form: Option<Vec<Form>>,
    /// For these degrees of oxidation.
    pub(crate) oxidation: Option<Vec<Oxidation>>,
    /// For these sittings.
    pub(crate) sitting: Option<Vec<Sitting>>,
    /// For roasted leaf, or for leaf that is not.
    pub(crate) roasted: Option<bool>,
    /// For very dry leaf.
    pub(crate) dry: Option<bool>,
    /// From this age on, years.
    pub(crate) from_years: Option<u32>,
    /// The water, °C.
    pub(crate) temp_c: Option<f64>,
    /// The water is at least so hot, °C.
    pub(crate) at_least_c: Option<f64>,
    /// A steep before the first, seconds.
    pub(crate) front_s: Option<u32>,
    /// The first steep, seconds.
    pub(crate) first_s: Option<u32>,
    /// The first steeps, seconds.
    pub(crate) steep_s: Option<Vec<u32>>,
    /// All steeps, per cent of what they were.
    pub(crate) percent: Option<u32>,
    /// A rinse, seconds.
    pub(crate) rinse_s: Option<u32>,
    /// Why.
    pub(crate) because: String,
}

impl Rule {
    /// Whether the rule speaks of this leaf in this sitting.
    pub(crate) fn fits(&self, leaf: &Leaf, sitting: Sitting) -> bool {
        self.form.as_ref().is_none_or(|f| f.contains(&leaf.form))
            && self.oxidation.as_ref().is_none_or(|o| o.contains(&leaf.oxidation))
            && self.sitting.as_ref().is_none_or(|s| s.contains(&sitting))
            && self.roasted.is_none_or(|r| r == leaf.roasted)
            && self.dry.is_none_or(|d| d == leaf.dry)
            && self.from_years.is_none_or(|y| leaf.age_years >= y)
    }
}

impl Table {
    /// Reads the table that is compiled in.
    ///
    /// # Errors
    /// Where the table is not as it should be; a test keeps that from happening.
    pub fn compiled_in() -> Result<Self, String> {
        read::compiled_in(TEXT)
    }

    /// The method of this name.
    pub(crate) fn method(&self, name: MethodName) -> Option<&Method> {
        self.method.iter().find(|method| method.name == name)
    }

    /// What holds for any leaf in this sitting.
    pub(crate) fn base(&self, sitting: Sitting) -> &Base {
        match sitting {
            Sitting::Short => &self.sitting.short,
            Sitting::Middle => &self.sitting.middle,
            Sitting::Long => &self.sitting.long,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::MAX_STEEPS;

    #[test]
    fn the_table_reads_and_every_value_is_a_sensible_one() {
        let table = Table::compiled_in().unwrap();
        let hot = |c: f64| (60.0..=100.0).contains(&c);
        for base in [&table.sitting.short, &table.sitting.middle, &table.sitting.long] {
            assert!((1.0..=table.flash.from_dose).contains(&base.dose) && hot(base.temp_c), "{base:?}");
            assert!(!base.steep_s.is_empty() && base.steep_s.len() as u32 <= base.steeps, "{base:?}");
            assert!(base.steeps < MAX_STEEPS && (0.0..=10.0).contains(&base.raise_c), "{base:?}");
        }
        assert!(!table.flash.steep_s.is_empty() && !table.flash.because.is_empty());
        for rule in &table.rule {
            assert!(rule.temp_c.is_none_or(hot) && rule.at_least_c.is_none_or(hot), "{rule:?}");
            assert!(rule.rinse_s.is_none_or(|s| (1..=60).contains(&s)), "{rule:?}");
            assert!(rule.percent.is_none_or(|p| (10..=200).contains(&p)), "{rule:?}");
            assert!(rule.steep_s.as_ref().is_none_or(|s| !s.is_empty()), "{rule:?}");
            assert!(!rule.because.is_empty() && !rule.because.contains('\n'), "{rule:?}");
        }
    }

    #[test]
    fn a_longer_sitting_has_more_leaf_more_steeps_and_shorter_ones() {
        let Sittings { short, middle, long } = Table::compiled_in().unwrap().sitting;
        assert!(short.dose < middle.dose && middle.dose < long.dose);
        assert!(short.steeps < middle.steeps && middle.steeps < long.steeps);
        assert!(short.steep_s[0] > middle.steep_s[0] && middle.steep_s[0] > long.steep_s[0]);
    }

    #[test]
    fn every_rule_fits_some_leaf() {
        use crate::start::leaf::Choice;
        let table = Table::compiled_in().unwrap();
        for rule in &table.rule {
            let fits = Form::ALL.iter().any(|&(form, _)| {
                Oxidation::ALL.iter().any(|&(oxidation, _)| {
                    Sitting::ALL.iter().any(|&(sitting, _)| {
                        let age_years = rule.from_years.unwrap_or(0);
                        let (roasted, dry) = (rule.roasted.unwrap_or(false), rule.dry.unwrap_or(false));
                        let leaf = Leaf { form, oxidation, roasted, dry, age_years, ..Leaf::named("A") };
                        rule.fits(&leaf, sitting)
                    })
                })
            });
            assert!(fits, "{rule:?}");
        }
    }
}
