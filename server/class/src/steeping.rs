//! A way of steeping, and when two teas are steeped the same way.
//!
//! They are if leaf, water, the temperatures, the seconds and the rinse are the same to the digit, and the vessel too where
//! it is given for both: a teacher who weighed the vessel once and not the next time still served the same tea. A rinse
//! counts with its seconds, for it takes from the leaf what the first steep then lacks.
//!
//! What is not given is the same as anything, so sameness does not carry over from tea to tea: one without a vessel is
//! steeped like one in porcelain and like one in glass, which are two ways. [`Ways`] therefore looks at all teas together.
//! Teas that are alike but for the vessel are one way as long as no two vessels among them differ; if two do, each vessel
//! is a way of its own, and the teas without one are another, as nobody knows which of them they belong to. The order of
//! the teas makes no difference, and two teas of one way are always the same.

use crate::Tea;
use crate::setting::Vessel;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::HashMap;
use std::fmt;
use std::hash::Hash;

/// How a tea is steeped.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Steeping {
    /// Dry leaf, grams.
    pub leaf_g: f64,
    /// Water per steep, millilitres; with the leaf it makes the dose.
    pub water_ml: f64,
    /// Water of each steep, °C.
    pub temp_c: Vec<f64>,
    /// Seconds of a rinse before the first steep; `null` without one.
    pub rinse_s: Option<u32>,
    /// Each steep, seconds.
    pub steep_s: Vec<u32>,
    /// What it steeps in: of a way, where that sets it apart from another one; of a recipe, if it is known; else `null`.
    pub vessel: Option<Vessel>,
}

/// All but the vessel, to the digit.
#[derive(PartialEq, Eq, Hash)]
struct BesidesVessel {
    leaf_g: u64,
    water_ml: u64,
    temp_c: Vec<u64>,
    rinse_s: Option<u32>,
    steep_s: Vec<u32>,
}

impl BesidesVessel {
    fn of(tea: &Tea) -> Self {
        Self {
            leaf_g: tea.leaf_g.to_bits(),
            water_ml: tea.water_ml.to_bits(),
            temp_c: tea.temp_c.iter().map(|c| c.to_bits()).collect(),
            rinse_s: tea.rinse_s,
            steep_s: tea.steep_s.clone(),
        }
    }
}

impl Steeping {
    /// What is done with leaf and water, in words: `95 °C, rinse 5 s, 45 60 90 s, porcelain of 110 g`.
    pub fn course(&self) -> String {
        let mut temps: Vec<String> = self.temp_c.iter().map(f64::to_string).collect();
        if temps.iter().all(|t| *t == temps[0]) {
            temps.truncate(1);
        }
        let steeps: Vec<String> = self.steep_s.iter().map(u32::to_string).collect();
        let rinse = self.rinse_s.map_or(String::new(), |s| format!(", rinse {s} s"));
        let vessel =
            self.vessel.map_or(String::new(), |v| format!(", {} of {} g", v.material.name(), v.mass_g));
        format!("{} °C{rinse}, {} s{vessel}", temps.join(" "), steeps.join(" "))
    }
}

impl fmt::Display for Steeping {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} g, {} ml, {}", self.leaf_g, self.water_ml, self.course())
    }
}

/// Some teas by their ways of steeping.
#[derive(Clone, Debug, PartialEq)]
pub struct Ways {
    /// Each tea's way, counted from 0.
    pub of: Vec<usize>,
    /// The ways as they first appear.
    pub ways: Vec<Steeping>,
}

impl Ways {
    /// Teas are one way only if what comes with them is equal too: their leaf, or `()` if any leaf will do.
    pub fn of<'a, K: Eq + Hash>(teas: impl IntoIterator<Item = (K, &'a Tea)>) -> Self {
        // Alike but for the vessel, and the vessels that are given among them.
        let mut alike: HashMap<(K, BesidesVessel), (usize, Vec<Vessel>)> = HashMap::new();
        let mut places = Vec::new();
        for (key, tea) in teas {
            let next = alike.len();
            let (place, vessels) =
                alike.entry((key, BesidesVessel::of(tea))).or_insert_with(|| (next, Vec::new()));
            let vessel = tea.vessel.map(|vessel| {
                vessels.iter().position(|known| *known == vessel).unwrap_or_else(|| {
                    vessels.push(vessel);
                    vessels.len() - 1
                })
            });
            places.push((tea, *place, vessel));
        }
        let mut apart = vec![false; alike.len()];
        alike.into_values().for_each(|(place, vessels)| apart[place] = vessels.len() > 1);
        let (mut known, mut ways) = (HashMap::new(), Vec::new());
        let of = |(tea, place, vessel): (&Tea, usize, Option<usize>)| {
            *known.entry((place, vessel.filter(|_| apart[place]))).or_insert_with(|| {
                ways.push(Steeping {
                    leaf_g: tea.leaf_g,
                    water_ml: tea.water_ml,
                    temp_c: tea.temp_c.clone(),
                    rinse_s: tea.rinse_s,
                    steep_s: tea.steep_s.clone(),
                    vessel: tea.vessel.filter(|_| apart[place]),
                });
                ways.len() - 1
            })
        };
        Self { of: places.into_iter().map(of).collect(), ways }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read;
    use crate::setting::Material;
    use proptest::prelude::*;

    fn tea() -> Tea {
        read::class(include_str!("../../tests/classes/two-ways.toml")).unwrap().teas.remove(0)
    }

    fn vessel(material: Material) -> Option<Vessel> {
        Some(Vessel { material, mass_g: 110.0 })
    }

    /// Few values of each, so that many teas are alike.
    fn any_tea() -> impl Strategy<Value = Tea> {
        let vessels = prop::sample::select(vec![
            None,
            None,
            vessel(Material::Porcelain),
            vessel(Material::Glass),
            Some(Vessel { material: Material::Glass, mass_g: 200.0 }),
        ]);
        let rinses = prop::sample::select(vec![None, Some(5), Some(8)]);
        let steeps = prop::sample::select(vec![vec![45], vec![45, 60]]);
        let (leaf_g, temp_c) = (prop::sample::select(vec![3.0, 5.0]), prop::sample::select(vec![90.0, 95.0]));
        (leaf_g, temp_c, rinses, steeps, vessels).prop_map(|(leaf_g, temp, rinse_s, steep_s, vessel)| {
            let temp_c = vec![temp; steep_s.len()];
            Tea { leaf_g, temp_c, rinse_s, steep_s, vessel, ..tea() }
        })
    }

    fn ways_of(teas: &[Tea]) -> Vec<usize> {
        Ways::of(teas.iter().map(|tea| ((), tea))).of
    }

    /// Two teas alone.
    fn same(one: &Tea, other: &Tea) -> bool {
        ways_of(&[one.clone(), other.clone()]) == [0, 0]
    }

    proptest! {
        #[test]
        fn sameness_goes_both_ways_and_every_tea_is_as_itself(one in any_tea(), other in any_tea()) {
            prop_assert!(same(&one, &one));
            prop_assert_eq!(same(&one, &other), same(&other, &one));
            let measured = |t: &Tea| (t.leaf_g, t.water_ml, t.temp_c.clone(), t.rinse_s, t.steep_s.clone());
            let vessel = one.vessel.is_none() || other.vessel.is_none() || one.vessel == other.vessel;
            prop_assert_eq!(same(&one, &other), measured(&one) == measured(&other) && vessel);
        }

        #[test]
        fn teas_of_one_way_are_the_same_and_teas_of_two_ways_differ_unless_a_vessel_is_not_given(
            teas in prop::collection::vec(any_tea(), 0..20),
        ) {
            let of = ways_of(&teas);
            for (i, one) in teas.iter().enumerate() {
                for (j, other) in teas.iter().enumerate() {
                    if of[i] == of[j] {
                        prop_assert!(same(one, other));
                    } else if same(one, other) {
                        // Then one of them could belong to either of two vessels.
                        prop_assert!(one.vessel.is_none() != other.vessel.is_none());
                        let bare = |tea: &Tea| Tea { vessel: None, ..tea.clone() };
                        let given = teas.iter().filter(|t| t.vessel.is_some() && bare(t) == bare(one));
                        let given: Vec<_> = given.map(|t| t.vessel).collect();
                        prop_assert!(given.iter().any(|v| *v != given[0]));
                    }
                }
            }
        }

        #[test]
        fn the_order_of_the_teas_makes_no_other_ways(
            (teas, order) in prop::collection::vec(any_tea(), 1..12).prop_flat_map(|teas| {
                let order: Vec<usize> = (0..teas.len()).collect();
                (Just(teas), Just(order).prop_shuffle())
            }),
        ) {
            let (of, shuffled) = (ways_of(&teas), ways_of(&order.iter().map(|&i| teas[i].clone()).collect::<Vec<_>>()));
            for (a, &i) in order.iter().enumerate() {
                for (b, &j) in order.iter().enumerate() {
                    prop_assert_eq!(of[i] == of[j], shuffled[a] == shuffled[b]);
                }
            }
        }
    }

    #[test]
    fn whatever_is_measured_makes_another_way() {
        let tea = tea();
        for other in [
            Tea { leaf_g: tea.leaf_g + 0.1, ..tea.clone() },
            Tea { water_ml: tea.water_ml + 1.0, ..tea.clone() },
            // The same dose in more water.
            Tea { leaf_g: tea.leaf_g * 2.0, water_ml: tea.water_ml * 2.0, ..tea.clone() },
            Tea { temp_c: tea.temp_c.iter().map(|c| c - 1.0).collect(), ..tea.clone() },
            Tea { steep_s: tea.steep_s.iter().map(|s| s + 1).collect(), ..tea.clone() },
            Tea { rinse_s: Some(tea.rinse_s.unwrap_or(0) + 1), ..tea.clone() },
        ] {
            assert!(!same(&tea, &other), "{other:?}");
            assert_eq!(ways_of(&[tea.clone(), other]), [0, 1]);
        }
        let hands = Tea { name: "B".into(), leaf: "B".into(), pour_s: Some(99), ..tea.clone() };
        assert!(same(&tea, &hands), "names and hands make no way");
        let leaves = Ways::of([("a", &tea), ("b", &tea), ("a", &hands)]);
        assert_eq!(leaves.of, [0, 1, 0], "two leaves are two");
    }

    #[test]
    fn a_vessel_makes_another_way_only_where_it_is_given_for_both() {
        let with = |vessel| Tea { vessel, ..tea() };
        let [bare, porcelain, glass] = [None, vessel(Material::Porcelain), vessel(Material::Glass)].map(with);
        assert!(same(&bare, &porcelain) && same(&bare, &glass) && !same(&porcelain, &glass));
        assert_eq!(ways_of(&[bare.clone(), porcelain.clone(), porcelain.clone()]), [0, 0, 0]);
        assert_eq!(ways_of(&[bare.clone(), porcelain, glass, bare]), [0, 1, 2, 0]);
    }

    #[test]
    fn a_way_is_told_in_the_order_in_which_it_is_done_and_with_the_vessel_where_it_tells_two_apart() {
        let rinsed = Tea {
            leaf_g: 3.5,
            water_ml: 100.0,
            temp_c: vec![90.0, 90.0, 95.0],
            rinse_s: Some(5),
            steep_s: vec![45, 60, 90],
            vessel: vessel(Material::CastIron),
            ..tea()
        };
        let plain = Tea { rinse_s: None, temp_c: vec![95.0; 3], ..rinsed.clone() };
        let glass = Tea { vessel: vessel(Material::Glass), ..plain.clone() };
        let told = |teas: &[&Tea]| {
            let ways = Ways::of(teas.iter().map(|tea| ((), *tea))).ways;
            ways.iter().map(Steeping::to_string).collect::<Vec<_>>()
        };
        assert_eq!(told(&[&rinsed]), ["3.5 g, 100 ml, 90 90 95 °C, rinse 5 s, 45 60 90 s"]);
        assert_eq!(
            told(&[&plain, &glass]),
            [
                "3.5 g, 100 ml, 95 °C, 45 60 90 s, cast iron of 110 g",
                "3.5 g, 100 ml, 95 °C, 45 60 90 s, glass of 110 g"
            ]
        );
    }
}
