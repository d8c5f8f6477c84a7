//! The planner and the figures against the outside world: published methods and a general reference library.

use class::course::Course;
use class::{Class, read};
use plan::{Rest, plan, plan_rounds};
use protocol::time::SECOND_US;
use protocol::{Action, HostTime, Timetable};
use serde_json::Value;
use stats::describe::{Description, describe};

fn planned(text: &str) -> (Class, Timetable) {
    let class = read::class(text).unwrap();
    let course = Course::written(&class);
    let cues = plan(&class, &course, &plan_rounds(&class).unwrap(), Rest::default(), HostTime(0)).unwrap();
    (class, Timetable::new(1, cues))
}

/// Seconds from lid on to the start of the decant of every steep of a tea, and the water's temperature.
fn steeps(class: &Class, timetable: &Timetable, tea: usize) -> Vec<(i64, f64)> {
    let code = class.teas[tea].code;
    let one = |steep| {
        let pour = timetable.find(Action::Pour, code, steep).unwrap();
        let decant = timetable.find(Action::Decant, code, steep).unwrap();
        ((decant.at - pour.end()) / SECOND_US, pour.temp_c.unwrap())
    };
    (1..=class.teas[tea].steeps()).map(one).collect()
}

/// ISO 3103:2019, overview and clauses as published in the catalogue: 2 g of leaf per 100 ml (± 2 %), large pot filled to
/// about 285 ml with 5.6 ± 0.1 g, small pot to about 140 ml with 2.8 ± 0.05 g, boiling water, 6 min for black tea.
#[test]
fn a_class_by_iso_3103_is_planned_as_the_standard_says() {
    let (class, timetable) = planned(include_str!("../../classes/iso-3103.toml"));
    for (tea, leaf_g, tolerance_g) in [(0, 5.6, 0.1), (1, 2.8, 0.05)] {
        assert_eq!(steeps(&class, &timetable, tea), [(360, 100.0)]);
        let by_dose_g = class.teas[tea].water_ml * 2.0 / 100.0;
        assert!((by_dose_g - leaf_g).abs() <= tolerance_g + 1e-9, "2 g per 100 ml gives {by_dose_g} g");
        assert!((class.teas[tea].dose_g_per_100_ml() / 2.0 - 1.0).abs() <= 0.02, "within 2 %");
    }
}

/// GB/T 23776-2018, covered bowl for oolong: 5 g in 110 ml (1:22), boiling, poured off after 2, 3 and 5 min. Seen on
/// pages that quote the standard, not in the standard itself.
#[test]
fn a_class_by_the_covered_bowl_method_is_planned_as_quoted() {
    let (class, timetable) = planned(include_str!("../../classes/covered-bowl.toml"));
    for tea in 0..2 {
        assert_eq!(steeps(&class, &timetable, tea), [(120, 100.0), (180, 100.0), (300, 100.0)]);
        assert_eq!((class.teas[tea].water_ml / class.teas[tea].leaf_g).round(), 22.0);
    }
    let tastes: Vec<u32> =
        timetable.cues.iter().filter(|c| c.action == Action::Taste).map(|c| c.steep).collect();
    assert_eq!(tastes, [1, 2, 3]);
}

/// Common practice, no source: the usual rules of short and long sittings can be written as class files.
#[test]
fn the_rules_of_the_trade_are_planned_to_the_second() {
    let rules = [
        ("steep_s = [45, 60, 90, 120]", vec![45, 60, 90, 120]),
        ("steep_s = [60, 45, 60, 90, 120]", vec![60, 45, 60, 90, 120]),
        ("steep_s = [15]\nthen_add_s = 5\nsteeps = 6", vec![15, 20, 25, 30, 35, 40]),
        ("steep_s = [25, 20]\nthen_add_s = 5\nsteeps = 5", vec![25, 20, 25, 30, 35]),
        ("steep_s = [40, 25, 30]\nthen_add_s = 10\nsteeps = 7", vec![40, 25, 30, 40, 50, 60, 70]),
        ("steep_s = [0, 0, 5]", vec![0, 0, 5]),
    ];
    for (rule, seconds) in rules {
        let head = "title = \"Rule\"\ndate = 2026-11-28\nseats = 4\npourers = \"each seat\"\npour_s = 8\ndecant_s = 6\ntaste_s = 60\n";
        let tea = "[[tea]]\nname = \"Leaf\"\ncode = \"417\"\nleaf_g = 3\nwater_ml = 100\ntemp_c = 95\n";
        let (class, timetable) = planned(&format!("{head}{tea}{rule}\n"));
        let planned: Vec<i64> = steeps(&class, &timetable, 0).into_iter().map(|(s, _)| s).collect();
        assert_eq!(planned, seconds, "{rule}");
    }
}

/// Mean, median and standard deviation against a general reference library; the golden file names it and its version, and
/// `tests/reference/describe.py` rewrites it.
#[test]
fn the_figures_agree_with_a_general_reference_library() {
    let golden: Value = serde_json::from_str(include_str!("../../reference/describe.json")).unwrap();
    let sets = golden["sets"].as_array().unwrap();
    assert!(sets.len() >= 200, "{} sets by {}", sets.len(), golden["library"]);
    for set in sets {
        let values: Vec<f64> =
            set["values"].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect();
        let ours = describe(&values).ok();
        let figure = |of: fn(&Description) -> f64| ours.as_ref().map(of);
        for (name, ours) in [
            ("mean", figure(|d| d.mean)),
            ("median", figure(|d| d.median)),
            ("sd", ours.and_then(|d| d.sd)),
            ("min", figure(|d| d.min)),
            ("max", figure(|d| d.max)),
        ] {
            let theirs = set[name].as_f64();
            let close = match (ours, theirs) {
                (None, None) => true,
                (Some(a), Some(b)) => (a - b).abs() <= 1e-9 * b.abs().max(1.0),
                _ => false,
            };
            assert!(close, "{name} of {}: {ours:?}, reference {theirs:?}", set["values"]);
        }
    }
}
