//! What would make a round possible that can't be planned.

use super::exact::{Fault, Round};
use super::filling::Filling;
use super::quantities::{draws, liquors};
use class::course::Due;
use class::setting::{FILLS_ML, Kettle};
use class::{Class, Pourers};

/// Smaller cups than this nobody can taste from, millilitres.
const LEAST_CUP_ML: u32 = 5;

/// The nearest change that would help, as a sentence without its full stop.
pub(super) fn remedy(class: &Class, teas: &[Due<'_>], problem: &Round, fault: Fault) -> String {
    match fault {
        Fault::Draw(_) => too_much(class),
        _ => too_cool(teas, problem),
    }
}

/// The teas that no kettle can come down to.
fn too_cool(teas: &[Due<'_>], problem: &Round) -> String {
    let cool = problem.teas.iter().zip(teas).filter(|(job, _)| job.temp_c <= problem.room_c);
    let asked: Vec<String> = cool
        .map(|(job, due)| format!("{} ({}) asks for {} °C", due.code, due.tea.name, job.temp_c))
        .collect();
    format!(
        "{} in a room of {} °C: give {} water above the room's temperature",
        asked.join(", "),
        problem.room_c,
        if asked.len() == 1 { "it" } else { "them" }
    )
}

/// Pours for which even the largest kettle is too small: the one that takes most, and what would do for all of them.
fn too_much(class: &Class) -> String {
    let usable = |k: &Kettle| Filling::of(k).usable_ml;
    let largest = class.setting.kettles.iter().max_by(|a, b| usable(a).total_cmp(&usable(b)));
    let most = draws(class).into_iter().max_by(|a, b| a.all_ml().total_cmp(&b.all_ml()));
    let (Some(kettle), Some(most)) = (largest, most) else { return String::new() };
    let name = class.coded().find(|(code, _)| *code == most.code).map_or("", |(_, tea)| tea.name.as_str());
    let (gives_ml, ml) = (usable(kettle), most.all_ml());
    format!(
        "{} ({name}) takes {ml:.0} ml at once, and {} gives {gives_ml:.0} ml a filling. What would help: {}",
        most.code,
        kettle.name,
        changes(class, kettle, ml).join(", or ")
    )
}

/// Changes of a class whose largest draw takes `ml`, more than its largest kettle gives. Each is tried: with any of them
/// every tea can be poured.
fn changes(class: &Class, kettle: &Kettle, ml: f64) -> Vec<String> {
    let gives_ml = Filling::of(kettle).usable_ml;
    let does = |change: &dyn Fn(&mut Class)| {
        let mut changed = class.clone();
        change(&mut changed);
        draws(&changed).iter().all(|draw| Filling::holds(gives_ml, draw.all_ml()))
    };
    let mut help = Vec::new();
    let full_ml = (Filling::full_for(ml) / 50.0).ceil() * 50.0;
    if FILLS_ML.contains(&full_ml) {
        help.push(format!("a kettle of {full_ml:.0} ml ({:.0} ml more)", full_ml - kettle.fill_ml));
    }
    let alone = help.len();
    if class.setting.shared_kettles && does(&|class| class.setting.shared_kettles = false) {
        help.push("a kettle for each seat (shared_kettles = false)".into());
    }
    if let Pourers::Table(_) = class.pourers {
        let cups = (LEAST_CUP_ML..class.setting.cup_ml.ceil() as u32).rev();
        if let Some(ml) = cups.into_iter().find(|&ml| does(&|class| class.setting.cup_ml = ml.into())) {
            help.push(format!("cups of {ml} ml"));
        }
    }
    let vessel_ml = gives_ml.floor();
    let smaller = |class: &mut Class| {
        class.teas.iter_mut().for_each(|tea| tea.water_ml = tea.water_ml.min(vessel_ml));
    };
    let mut small = class.clone();
    smaller(&mut small);
    // Leaf that keeps all of it leaves nothing to taste.
    let tasted = small.teas.iter().all(|tea| liquors(tea).iter().all(|liquor| liquor.ml > 0.0));
    if help.len() == alone && tasted && does(&smaller) {
        help.push(format!("at most {vessel_ml:.0} ml in each vessel"));
    }
    if help.len() == alone
        && let Some(seats) = (1..class.seats).rev().find(|&seats| does(&|class| class.seats = seats))
    {
        help.push(format!("at most {seats} seat{}", if seats == 1 { "" } else { "s" }));
    }
    if help.is_empty() {
        help.push("less water in each vessel, and fewer people who share it".into());
    }
    help
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan_rounds;
    use class::{Tea, read};
    use proptest::prelude::*;

    prop_compose! {
        /// Teas that all take much, each as it comes, from kettles that are mostly too small.
        fn a_class()(
            waters in prop::collection::vec((20u32..1500, 1u32..40, prop::bool::ANY), 1..5),
            pourers in prop::sample::select(vec![Pourers::EachSeat, Pourers::Table(1), Pourers::Table(2)]),
            (seats, cup_ml, shared) in (1u32..60, 5u32..80, prop::bool::ANY),
            fills in prop::collection::vec(100u32..3000, 1..3),
        ) -> Class {
            let base = read::class(include_str!("../../../demo/six-teas.toml")).unwrap();
            let one = |(tea, (water_ml, leaf_g, rinsed)): (&Tea, (u32, u32, bool))| Tea {
                water_ml: water_ml.into(),
                leaf_g: leaf_g.into(),
                rinse_s: rinsed.then_some(5),
                steep_s: vec![30],
                temp_c: vec![90.0],
                ..tea.clone()
            };
            let teas = base.teas.iter().zip(waters).map(one).collect();
            let kettle = |fill_ml: u32| Kettle { fill_ml: fill_ml.into(), ..base.setting.kettles[0].clone() };
            let mut class = Class { teas, pourers, seats, ..base.clone() };
            class.setting.kettles = fills.into_iter().map(kettle).collect();
            (class.setting.cup_ml, class.setting.shared_kettles) = (cup_ml.into(), shared);
            class.with_codes(7)
        }
    }

    /// The class with what `help` names, as a teacher would write it.
    fn changed(class: &Class, help: &str) -> Class {
        let number: f64 = help.split(' ').find_map(|word| word.parse().ok()).unwrap_or(0.0);
        let mut class = class.clone();
        let kettles = &mut class.setting.kettles;
        let largest = (0..kettles.len()).max_by(|&a, &b| kettles[a].fill_ml.total_cmp(&kettles[b].fill_ml));
        match help {
            _ if help.starts_with("a kettle of ") => kettles[largest.unwrap()].fill_ml = number,
            _ if help.contains("shared_kettles = false") => class.setting.shared_kettles = false,
            _ if help.starts_with("cups of ") => class.setting.cup_ml = number,
            _ if help.ends_with("ml in each vessel") => {
                class.teas.iter_mut().for_each(|tea| tea.water_ml = tea.water_ml.min(number));
            }
            _ if help.starts_with("at most ") => class.seats = number as u32,
            _ => panic!("what is meant by {help:?}?"),
        }
        class
    }

    proptest! {
        #[test]
        fn whatever_is_said_to_help_helps(class in a_class()) {
            let Err(refused) = plan_rounds(&class) else { return Ok(()) };
            prop_assert!(matches!(refused.fault, Fault::Draw(_)));
            let (_, helps) = refused.remedy.split_once("What would help: ").unwrap();
            for help in helps.split(", or ").filter(|help| !help.starts_with("less water")) {
                let again = plan_rounds(&changed(&class, help));
                prop_assert!(again.is_ok(), "{help} does not help: {:?}", again.err());
            }
        }
    }

    #[test]
    fn the_tea_that_takes_most_is_named_and_all_of_them_count() {
        let six = include_str!("../../../demo/six-teas.toml");
        let class = read::class(&six.replace("fill_ml = 1500", "fill_ml = 150")).unwrap();
        let mut class = class.with_codes(7);
        class.teas[4].water_ml = 300.0;
        let words = plan_rounds(&class).unwrap_err().remedy;
        assert!(words.contains(&class.teas[4].name) && words.contains("a kettle of 350 ml"), "{words}");
        let cold = six.replacen("temp_c = 75", "temp_c = 10", 1).replacen("temp_c = 98", "temp_c = 12", 1);
        let words = plan_rounds(&read::class(&cold).unwrap().with_codes(7)).unwrap_err().remedy;
        assert!(
            words.contains("10 °C") && words.contains("12 °C") && !words.contains("another kettle"),
            "{words}"
        );
    }
}
