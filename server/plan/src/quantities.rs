//! What to weigh out and how much water to bring; how much liquor comes of it, and how much caffeine at most.

use class::{Class, Pourers, Tea};
use protocol::Code;
use serde::Serialize;

/// Water that a gram of dry leaf keeps, millilitres: worked out from the moisture of drained leaf; no peer-reviewed
/// figure was found, so measuring one's own is better.
pub const KEPT_ML_PER_G: f64 = 3.0;
/// The least and the most that a gram of dry leaf keeps, millilitres.
pub const KEPT_RANGE_ML_PER_G: (f64, f64) = (2.0, 4.0);
/// Caffeine in a gram of dry leaf, milligrams: rounded from three oolongs to greens, 23.8–36.6 (Hicks, Hsieh and Bell,
/// Food Research International 29, 325, 1996).
pub const CAFFEINE_MG_PER_G: f64 = 30.0;
/// The least and the most caffeine in a gram of dry leaf, milligrams (common practice; it holds the
/// analyses of Hicks, Hsieh and Bell).
pub const CAFFEINE_RANGE_MG_PER_G: (f64, f64) = (15.0, 50.0);
/// Share of the caffeine of three steeps that the first one takes (Hicks, Hsieh and Bell 1996; 5 min at the boil).
pub const FIRST_STEEP_SHARE: f64 = 0.69;
/// Caffeine at once that raises no concern for healthy adults, milligrams (EFSA Journal 13(5):4102, 2015).
pub const EFSA_SINGLE_MG: f64 = 200.0;
/// Caffeine in a day that raises no concern for healthy adults, milligrams (EFSA 2015).
pub const EFSA_DAY_MG: f64 = 400.0;
/// Caffeine in a day that raises no concern in pregnancy, milligrams (EFSA 2015).
pub const EFSA_PREGNANCY_MG: f64 = 200.0;
/// Takes a rounding of the arithmetic for no reason to set another vessel.
const ROUNDING: f64 = 1e-9;

/// What is poured off one vessel, millilitres; never below 0.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Liquor {
    /// If the leaf keeps 3 ml a gram.
    pub ml: f64,
    /// If it keeps 4 ml a gram.
    pub low_ml: f64,
    /// If it keeps 2 ml a gram.
    pub high_ml: f64,
}

/// What comes of `water_ml` on `leaf_g` grams. Dry leaf keeps some of it; leaf that is wet already keeps no more.
pub fn liquor(water_ml: f64, leaf_g: f64, dry: bool) -> Liquor {
    let after = |kept_ml_per_g: f64| {
        let kept = if dry { kept_ml_per_g * leaf_g } else { 0.0 };
        (water_ml - kept).max(0.0)
    };
    let (least, most) = KEPT_RANGE_ML_PER_G;
    Liquor { ml: after(KEPT_ML_PER_G), low_ml: after(most), high_ml: after(least) }
}

/// The liquor of each of a tea's steeps from one vessel. A rinse wets the leaf, so that only an unrinsed first steep
/// loses any.
pub fn liquors(tea: &Tea) -> Vec<Liquor> {
    let dry = |steep: u32| steep == 1 && tea.rinse_s.is_none();
    (1..=tea.steeps()).map(|steep| liquor(tea.water_ml, tea.leaf_g, dry(steep))).collect()
}

/// Leaf and water.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Amount {
    /// Dry leaf, grams.
    pub leaf_g: f64,
    /// Water for all steeps, for the rinse and for warming the vessels, millilitres.
    pub water_ml: f64,
}

impl Amount {
    fn times(self, factor: f64) -> Self {
        Self { leaf_g: self.leaf_g * factor, water_ml: self.water_ml * factor }
    }
}

/// What one tea needs.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TeaNeed {
    /// The tea's name.
    pub tea: String,
    /// The liquor of each steep, from one vessel.
    pub liquor: Vec<Liquor>,
    /// Full cups of the class's size that one vessel fills in its smallest steep, if the leaf keeps 3 ml a gram.
    pub cups_per_vessel: u32,
    /// How many vessels are set: one for each seat that brews its own, or so many at the table that every steep gives
    /// everybody a cup. `None` if no number of them would: the leaf keeps all the water.
    pub vessels: Option<u32>,
    /// Leaf and water of one vessel, all steeps.
    pub vessel: Amount,
    /// Leaf and water of all vessels (of one, if there is no number of them), without the spare.
    pub brewed: Amount,
}

/// What the whole class needs.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Quantities {
    /// The teas, one by one, in the order of the file.
    pub teas: Vec<TeaNeed>,
    /// What is brewed in all, without the spare.
    pub table: Amount,
    /// One seat's part of it.
    pub seat: Amount,
    /// What the kettles are filled with in the course of the class, millilitres; none without kettles.
    pub filled_ml: f64,
    /// What to bring, with the spare: of water what is brewed, or what the kettles are filled with if that is more.
    pub to_bring: Amount,
    /// The spare, per cent.
    pub spare_percent: u32,
}

impl Quantities {
    /// The same where so much water goes into the kettles.
    pub fn filling(self, filled_ml: f64) -> Self {
        let drawn = Amount { water_ml: self.table.water_ml.max(filled_ml), ..self.table };
        Self { filled_ml, to_bring: self.with_spare(drawn), ..self }
    }

    /// An amount with the spare of this class.
    pub fn with_spare(&self, amount: Amount) -> Amount {
        with_spare(amount, self.spare_percent)
    }
}

fn with_spare(amount: Amount, spare_percent: u32) -> Amount {
    amount.times(1.0 + f64::from(spare_percent) / 100.0)
}

/// What a class needs. A vessel is filled once for each steep, once more for a rinse, and once more to be warmed.
pub fn quantities(class: &Class) -> Quantities {
    let seats = class.seats.max(1);
    let teas: Vec<TeaNeed> = class.teas.iter().map(|tea| need(class, tea, seats)).collect();
    let table = teas.iter().fold(Amount::default(), |sum, tea| Amount {
        leaf_g: sum.leaf_g + tea.brewed.leaf_g,
        water_ml: sum.water_ml + tea.brewed.water_ml,
    });
    let spare_percent = class.setting.spare_percent;
    Quantities {
        teas,
        table,
        seat: table.times(1.0 / f64::from(seats)),
        filled_ml: 0.0,
        to_bring: with_spare(table, spare_percent),
        spare_percent,
    }
}

/// What a tea's pour takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Draw {
    /// Which tea.
    pub code: Code,
    /// Water into each vessel, millilitres.
    pub water_ml: f64,
    /// Vessels that one pair of hands fills: a table's stand side by side and are filled in one go.
    pub vessels: u32,
    /// How many do so at the same time from the same kettle.
    pub seats: u32,
}

impl Draw {
    /// What leaves the kettle, millilitres.
    pub fn all_ml(self) -> f64 {
        self.water_ml * f64::from(self.vessels) * f64::from(self.seats)
    }
}

/// What the pour of each coded tea takes, in the order of the file.
pub fn draws(class: &Class) -> Vec<Draw> {
    let seats = class.seats.max(1);
    let draw = |(code, tea): (Code, &Tea)| {
        let (vessels, seats) = match class.pourers {
            Pourers::EachSeat if class.setting.shared_kettles => (1, seats),
            Pourers::EachSeat => (1, 1),
            Pourers::Table(_) => (need(class, tea, seats).vessels.unwrap_or(1), 1),
        };
        Draw { code, water_ml: tea.water_ml, vessels, seats }
    };
    class.coded().map(draw).collect()
}

fn need(class: &Class, tea: &Tea, seats: u32) -> TeaNeed {
    let liquor = liquors(tea);
    let smallest_ml = liquor.iter().map(|l| l.ml).fold(f64::INFINITY, f64::min);
    // Casts keep to the ends of u32, and no steep at all asks for no vessel beyond the first.
    let cups_per_vessel = (smallest_ml / class.setting.cup_ml + ROUNDING).floor() as u32;
    let vessels = match class.pourers {
        Pourers::EachSeat => Some(seats),
        Pourers::Table(_) if smallest_ml <= 0.0 => None,
        Pourers::Table(_) => {
            let wanted = f64::from(seats) * class.setting.cup_ml / smallest_ml;
            Some(((wanted - ROUNDING).ceil() as u32).max(1))
        }
    };
    let fillings = tea.steeps() + u32::from(tea.rinse_s.is_some()) + u32::from(class.warm_s > 0);
    let vessel = Amount { leaf_g: tea.leaf_g, water_ml: tea.water_ml * f64::from(fillings) };
    let brewed = vessel.times(f64::from(vessels.unwrap_or(1)));
    TeaNeed { tea: tea.name.clone(), liquor, cups_per_vessel, vessels, vessel, brewed }
}

/// Caffeine that one person may take in, milligrams.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Dose {
    /// At 30 mg per gram of leaf.
    pub mg: f64,
    /// At 15 mg per gram.
    pub low_mg: f64,
    /// At 50 mg per gram.
    pub high_mg: f64,
}

/// An upper estimate of the caffeine that one person takes in, if the group drinks all that is brewed in equal parts.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Caffeine {
    /// From the first steeps only.
    pub first_steeps: Dose,
    /// From all the leaf holds.
    pub all_steeps: Dose,
}

/// The upper estimate for `leaf_g` grams of leaf shared by that many people (at least one). What kind of tea it is does
/// not enter: published analyses show no dependable trend by kind.
pub fn caffeine(leaf_g: f64, people: u32) -> Caffeine {
    let grams = leaf_g / f64::from(people.max(1));
    let (least, most) = CAFFEINE_RANGE_MG_PER_G;
    let dose = |share: f64| Dose {
        mg: grams * CAFFEINE_MG_PER_G * share,
        low_mg: grams * least * share,
        high_mg: grams * most * share,
    };
    Caffeine { first_steeps: dose(FIRST_STEEP_SHARE), all_steeps: dose(1.0) }
}

impl Caffeine {
    /// The estimate beside the figures of EFSA 2015, as sentences for a page.
    pub fn words(&self) -> String {
        let Dose { mg, low_mg, high_mg } = self.all_steeps;
        let verdict = |limit_mg: f64| {
            if mg > limit_mg {
                "over"
            } else if high_mg > limit_mg {
                "perhaps over"
            } else {
                "within"
            }
        };
        format!(
            "Caffeine, upper estimate for one person who drinks every steep to the end: {mg:.0} mg ({low_mg:.0} to \
             {high_mg:.0} mg, depending on the leaf); the first steeps alone {:.0} mg. EFSA 2015 sees no concern for \
             healthy adults up to {EFSA_SINGLE_MG} mg at once (this class: {}) and {EFSA_DAY_MG} mg in a day ({}), \
             and in pregnancy up to {EFSA_PREGNANCY_MG} mg in a day ({}). No kind of tea lowers this estimate.",
            self.first_steeps.mg,
            verdict(EFSA_SINGLE_MG),
            verdict(EFSA_DAY_MG),
            verdict(EFSA_PREGNANCY_MG),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use class::read;
    use proptest::prelude::*;

    fn near(value: f64, expected: f64, tolerance: f64) {
        assert!((value - expected).abs() <= tolerance, "{value} is not {expected} ± {tolerance}");
    }

    /// A class of one tea, 5 g on 110 ml, three steeps.
    fn class(pourers: Pourers, seats: u32, rinse_s: Option<u32>) -> Class {
        let mut class = read::class(include_str!("../../tests/classes/two-ways.toml")).unwrap();
        class.teas.truncate(1);
        class.teas[0].leaf_g = 5.0;
        class.teas[0].water_ml = 110.0;
        class.teas[0].steep_s = vec![60, 60, 90];
        class.teas[0].rinse_s = rinse_s;
        Class { pourers, seats, warm_s: 0, ..class }
    }

    #[test]
    fn dry_leaf_keeps_water_once() {
        // Reference check for water kept by the leaf: 5 g, 110 ml, 3 ml/g give 95 ml and then 110 ml; exact.
        let ml = |class: &Class| liquors(&class.teas[0]).iter().map(|l| l.ml).collect::<Vec<_>>();
        assert_eq!(ml(&class(Pourers::EachSeat, 1, None)), [95.0, 110.0, 110.0]);
        assert_eq!(ml(&class(Pourers::EachSeat, 1, Some(5))), [110.0; 3], "the rinse has wetted the leaf");
        assert_eq!(liquor(110.0, 5.0, true), Liquor { ml: 95.0, low_ml: 90.0, high_ml: 100.0 });
        assert_eq!(liquor(10.0, 5.0, true), Liquor { ml: 0.0, low_ml: 0.0, high_ml: 0.0 });
    }

    #[test]
    fn a_table_sets_as_many_vessels_as_give_everybody_a_cup() {
        for (seats, vessels) in [(1, 1), (3, 1), (4, 2), (6, 2), (7, 3), (19, 6), (20, 7)] {
            let need = &quantities(&class(Pourers::Table(1), seats, None)).teas[0];
            assert_eq!(
                (need.vessels, need.cups_per_vessel),
                (Some(vessels), 3),
                "{seats} seats, 95 ml a vessel"
            );
        }
    }

    #[test]
    fn leaf_that_keeps_all_the_water_is_not_given_a_number_of_vessels() {
        let mut class = class(Pourers::Table(1), 4, None);
        class.teas[0].leaf_g = 40.0;
        let need = &quantities(&class).teas[0];
        assert_eq!((need.vessels, need.cups_per_vessel, need.brewed), (None, 0, need.vessel));
    }

    #[test]
    fn each_seat_brings_its_own_set() {
        let mut class = class(Pourers::EachSeat, 8, Some(5));
        class.warm_s = 10;
        class.setting.spare_percent = 10;
        let all = quantities(&class);
        assert_eq!(all.teas[0].vessels, Some(8));
        assert_eq!(
            all.teas[0].vessel,
            Amount { leaf_g: 5.0, water_ml: 550.0 },
            "three steeps, rinse, warming"
        );
        assert_eq!(all.seat, all.teas[0].vessel);
        assert_eq!(all.table, Amount { leaf_g: 40.0, water_ml: 4400.0 });
        near(all.to_bring.leaf_g, 44.0, 1e-9);
        near(all.to_bring.water_ml, 4840.0, 1e-9);
        assert_eq!(all.with_spare(all.table), all.to_bring);
    }

    #[test]
    fn caffeine_is_that_of_the_reference_table() {
        // Reference check, upper estimate: five teas of 5 g at 30 mg/g, first steeps 69 % (Hicks and others 1996).
        let leaf_g = 25.0;
        near(caffeine(leaf_g, 1).all_steeps.mg, 750.0, 1e-9);
        near(caffeine(leaf_g, 1).first_steeps.mg, 517.5, 1e-9);
        for (people, first, all) in [(10, 51.75, 75.0), (4, 129.4, 187.5), (3, 172.5, 250.0)] {
            let caffeine = caffeine(leaf_g, people);
            near(caffeine.first_steeps.mg, first, 0.03);
            near(caffeine.all_steeps.mg, all, 1e-9);
        }
    }

    #[test]
    fn the_estimate_stands_beside_the_figures_of_efsa() {
        // EFSA 2015: 200 mg at once, 400 mg in a day, 200 mg in a day in pregnancy.
        let ten = caffeine(25.0, 10).words();
        assert!(
            ten.contains("75 mg (38 to 125 mg") && ten.contains("200 mg at once (this class: within)"),
            "{ten}"
        );
        let four = caffeine(25.0, 4).words();
        assert!(
            four.contains("at once (this class: perhaps over)") && four.contains("in a day (within)"),
            "{four}"
        );
        let three = caffeine(25.0, 3).words();
        assert!(
            three.contains("at once (this class: over)") && three.contains("400 mg in a day (perhaps over)")
        );
        assert!(three.contains("in pregnancy up to 200 mg in a day (over)"), "{three}");
    }

    #[test]
    fn no_kind_of_tea_lowers_the_estimate() {
        // The estimate takes grams only; a class of anything with as much leaf has the same.
        assert!(caffeine(25.0, 10).words().contains("No kind of tea lowers this estimate"));
        assert_eq!(caffeine(25.0, 0), caffeine(25.0, 1), "no people counts as one");
    }

    proptest! {
        #[test]
        fn everybody_gets_a_cup_and_one_vessel_less_would_not_do(
            seats in 1u32..200, leaf_g in 1.0..20.0f64, water_ml in 100.0..500.0f64, cup_ml in 5.0..300.0f64,
        ) {
            let mut class = class(Pourers::Table(2), seats, None);
            (class.teas[0].leaf_g, class.teas[0].water_ml) = (leaf_g, water_ml);
            class.setting.cup_ml = cup_ml;
            let all = quantities(&class);
            let vessels = f64::from(all.teas[0].vessels.unwrap());
            let (first_ml, wanted_ml) = (all.teas[0].liquor[0].ml, f64::from(seats) * cup_ml);
            prop_assert!(vessels * first_ml >= wanted_ml - 1e-4);
            prop_assert!(vessels == 1.0 || (vessels - 1.0) * first_ml < wanted_ml);
            prop_assert!((all.seat.leaf_g * f64::from(seats) - vessels * leaf_g).abs() < 1e-6);
            prop_assert!(all.to_bring.water_ml >= all.table.water_ml);
        }

        #[test]
        fn liquor_lies_between_its_ends_and_below_the_water(water_ml in 1.0..1000.0f64, leaf_g in 0.1..100.0f64) {
            let wet = liquor(water_ml, leaf_g, true);
            prop_assert!(0.0 <= wet.low_ml && wet.low_ml <= wet.ml && wet.ml <= wet.high_ml && wet.high_ml <= water_ml);
            prop_assert_eq!(liquor(water_ml, leaf_g, false).ml, water_ml);
        }
    }
}
