//! The standards' own methods, with how certain each value is.

use super::leaf::{Form, Leaf, Oxidation};
use crate::certainty::Certainty;
use crate::weights::standard::Standard;
use serde::Deserialize;

/// A standard's method.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum MethodName {
    /// ISO 3103: 2 g to 100 ml, boiling, one long steep.
    #[serde(rename = "iso-3103")]
    Iso3103,
    /// The covered bowl for oolong: 5 g to 110 ml, boiling, 2, 3 and 5 min.
    CoveredBowl,
    /// 1:50: 3 g to 150 ml, boiling, by class of tea.
    OneToFifty,
}

impl MethodName {
    /// Every method.
    pub const ALL: [MethodName; 3] = [MethodName::Iso3103, MethodName::CoveredBowl, MethodName::OneToFifty];
}

/// The classes the standards tell apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum TeaClass {
    /// Green, whole leaf.
    Green,
    /// Green, broken or fannings.
    GreenBroken,
    White,
    /// Oolong in strips.
    OolongStrip,
    /// Oolong rolled into balls.
    OolongRolled,
    Black,
    /// Dark, loose.
    Dark,
    /// Compressed, of whatever leaf.
    Compressed,
}

impl TeaClass {
    /// The class a leaf most likely belongs to. Lightly oxidised open leaf is taken for white tea, everything else
    /// between green and fully oxidised for oolong (common practice, no source).
    pub(crate) fn of(leaf: &Leaf) -> Self {
        match (leaf.oxidation, leaf.form) {
            (_, Form::Compressed) => TeaClass::Compressed,
            (Oxidation::Green, Form::Broken) => TeaClass::GreenBroken,
            (Oxidation::Green, _) => TeaClass::Green,
            (Oxidation::Lightly, Form::Open) => TeaClass::White,
            (Oxidation::Lightly | Oxidation::Half | Oxidation::Highly, Form::BallRolled) => {
                TeaClass::OolongRolled
            }
            (Oxidation::Lightly | Oxidation::Half | Oxidation::Highly, _) => TeaClass::OolongStrip,
            (Oxidation::Fully, _) => TeaClass::Black,
            (Oxidation::PostFermented, _) => TeaClass::Dark,
        }
    }

    /// Its factor weights, where the standard has one row for it.
    pub(crate) fn weights(self) -> Option<&'static Standard> {
        Standard::of(match self {
            TeaClass::Green => "green",
            TeaClass::White => "white",
            TeaClass::OolongStrip | TeaClass::OolongRolled => "oolong",
            TeaClass::Dark => "dark, loose",
            TeaClass::Compressed => "compressed",
            // Of green tea the standard knows no broken leaf, and of black tea two rows.
            TeaClass::GreenBroken | TeaClass::Black => return None,
        })
    }

    /// Its name for people.
    pub(crate) fn name(self) -> &'static str {
        match self {
            TeaClass::Green => "green tea",
            TeaClass::GreenBroken => "green tea, broken",
            TeaClass::White => "white tea",
            TeaClass::OolongStrip => "oolong in strips",
            TeaClass::OolongRolled => "rolled oolong",
            TeaClass::Black => "black tea",
            TeaClass::Dark => "dark tea",
            TeaClass::Compressed => "compressed tea",
        }
    }
}

#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Method {
    pub(crate) name: MethodName,
    /// What it is.
    pub(crate) what: String,
    /// Dry leaf, grams.
    pub(crate) leaf_g: f64,
    /// Water, millilitres.
    pub(crate) water_ml: f64,
    /// Water, °C.
    pub(crate) temp_c: f64,
    /// The standard.
    pub(crate) source: String,
    /// The teas it is for.
    pub(crate) scope: String,
    /// Leaf and water for people.
    pub(crate) amount: String,
    /// Times by class of tea; never empty.
    pub(crate) time: Vec<Time>,
}

/// The times of a method for some classes of tea.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Time {
    /// For these.
    pub(crate) tea: Vec<TeaClass>,
    /// The steeps, seconds.
    pub(crate) steep_s: Vec<u32>,
    /// How the times (and the amount for these teas) were seen.
    pub(crate) certainty: Certainty,
    /// What else is to be said.
    pub(crate) note: Option<String>,
}

impl Method {
    /// The times for a class of tea, and whether the method is meant for it. Outside its scope a method lends its
    /// first times.
    pub(crate) fn time(&self, class: TeaClass) -> Option<(&Time, bool)> {
        let own = self.time.iter().find(|t| t.tea.contains(&class)).map(|t| (t, true));
        own.or_else(|| self.time.first().map(|t| (t, false)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::start::table::Table;

    const CLASSES: [TeaClass; 8] = [
        TeaClass::Green,
        TeaClass::GreenBroken,
        TeaClass::White,
        TeaClass::OolongStrip,
        TeaClass::OolongRolled,
        TeaClass::Black,
        TeaClass::Dark,
        TeaClass::Compressed,
    ];

    fn time(name: MethodName, class: TeaClass) -> (Vec<u32>, Certainty, bool) {
        let table = Table::compiled_in().unwrap();
        let method = table.method(name).unwrap();
        let (time, meant) = method.time(class).unwrap();
        (time.steep_s.clone(), time.certainty, meant)
    }

    #[test]
    fn every_method_stands_in_the_table_once_and_has_times() {
        let table = Table::compiled_in().unwrap();
        for name in MethodName::ALL {
            assert_eq!(
                table.method.iter().filter(|m| m.name == name && !m.time.is_empty()).count(),
                1,
                "{name:?}"
            );
        }
    }

    /// ISO 3103:2019, catalogue page and clause list; 2.8 g is the small pot's leaf.
    #[test]
    fn iso_3103_steeps_black_tea_six_minutes_and_green_five_or_three() {
        assert_eq!(time(MethodName::Iso3103, TeaClass::Black), (vec![360], Certainty::Found, true));
        assert_eq!(time(MethodName::Iso3103, TeaClass::Green), (vec![300], Certainty::Found, true));
        assert_eq!(time(MethodName::Iso3103, TeaClass::GreenBroken), (vec![180], Certainty::Found, true));
        let table = Table::compiled_in().unwrap();
        let iso = &table.method[0];
        assert!((iso.leaf_g / iso.water_ml * 100.0 - 2.0).abs() < 0.02 && iso.temp_c == 100.0);
    }

    #[test]
    fn a_tea_outside_the_scope_gets_the_first_times_and_is_told_so() {
        assert_eq!(time(MethodName::Iso3103, TeaClass::OolongStrip), (vec![360], Certainty::Found, false));
        assert!(!time(MethodName::CoveredBowl, TeaClass::Black).2);
    }

    /// GB/T 23776-2018 as other pages quote it.
    #[test]
    fn the_covered_bowl_steeps_oolong_two_three_and_five_minutes() {
        let seen = time(MethodName::CoveredBowl, TeaClass::OolongRolled);
        assert_eq!(seen, (vec![120, 180, 300], Certainty::SecondHand, true));
        let table = Table::compiled_in().unwrap();
        assert_eq!((table.method[1].leaf_g, table.method[1].water_ml), (5.0, 110.0));
    }

    #[test]
    fn one_to_fifty_has_a_time_for_every_class_and_only_oolong_was_seen_quoted() {
        let table = Table::compiled_in().unwrap();
        assert_eq!(table.method[2].leaf_g * 50.0, table.method[2].water_ml);
        for class in CLASSES {
            let (_, certainty, meant) = time(MethodName::OneToFifty, class);
            let oolong = matches!(class, TeaClass::OolongStrip | TeaClass::OolongRolled);
            assert!(meant, "{class:?}");
            assert_eq!(certainty == Certainty::SecondHand, oolong, "{class:?}");
        }
        assert_eq!(time(MethodName::OneToFifty, TeaClass::OolongStrip).0, [300]);
        assert_eq!(time(MethodName::OneToFifty, TeaClass::OolongRolled).0, [360]);
    }

    #[test]
    fn a_class_of_tea_has_the_weights_of_its_row() {
        let row = |class: TeaClass| class.weights().map(|row| row.tea);
        assert_eq!(
            CLASSES.map(row),
            [
                Some("green"),
                None,
                Some("white"),
                Some("oolong"),
                Some("oolong"),
                None,
                Some("dark, loose"),
                Some("compressed")
            ]
        );
    }
}
