//! Each warning in a class that calls for it, and in none that does not.

use super::alike;
use crate::document::{Plan, document};
use class::read;

/// A class of teas `(°C, ml, seconds)`, with more lines at the top and its kettles.
fn planned(top: &str, kettles: &str, teas: &[(u32, u32, &str)]) -> Plan {
    let teas: String = teas
        .iter()
        .enumerate()
        .map(|(i, (temp_c, water_ml, steep_s))| {
            format!(
                "[[tea]]\nname = \"Tea {i}\"\ncode = \"{}\"\nleaf_g = 1\nwater_ml = {water_ml}\ntemp_c = {temp_c}\nsteep_s = {steep_s}\n",
                201 + i
            )
        })
        .collect();
    let head = "title = \"Warned\"\ndate = 2026-11-28\npour_s = 10\ndecant_s = 8\n";
    document(&read::class(&format!("{head}{top}\n{kettles}\n{teas}")).unwrap(), 1).unwrap()
}

const BIG: &str = "[[kettle]]\nname = \"big\"\nfill_ml = 1200\nwatts = 1800\n";

fn said(plan: &Plan, start: &str) -> Option<String> {
    plan.warnings.iter().find(|w| w.contains(start)).cloned()
}

#[test]
fn a_refill_within_a_round_is_said_with_the_kettle_that_would_do_without() {
    let plan = planned("seats = 4\npourers = 1", BIG, &[(95, 300, "[60, 60]"); 4]);
    let words = said(&plan, "filled up").unwrap();
    assert!(words.starts_with("Rounds 1 (after ") && words.contains(" and 2 (after "), "{words}");
    assert!(
        words.contains("1080 ml a filling") && words.contains("1200 ml") && words.contains("(1350 ml)"),
        "{words}"
    );
    let larger = planned("seats = 4\npourers = 1", &BIG.replace("1200", "1350"), &[(95, 300, "[60, 60]"); 4]);
    assert_eq!(said(&larger, "filled up"), None, "what is advised helps");
}

#[test]
fn a_kettle_that_is_emptied_to_cool_is_said_and_not_taken_for_too_small() {
    let teas = [(95, 150, "[60]"), (70, 150, "[60]")];
    let plan = planned("seats = 4\npourers = 1\nin_order = true", BIG, &teas);
    assert!(plan.rounds[0].plan.spread.value_s < 240, "{:?}", plan.rounds[0].plan.spread);
    assert_eq!(said(&plan, "filled up"), None);
    assert_eq!(
        said(&plan, "emptied").as_deref(),
        Some(
            "Round 1 (after 201): big is emptied and filled afresh between two pours, which is sooner than waiting until it is \
             cooler. What would help: another kettle."
        )
    );
}

#[test]
fn a_kettle_that_stands_hot_is_emptied_before_a_cool_class_and_not_waited_for() {
    let class_s = |starts_c: &str| {
        let kettle = format!("{BIG}starts_c = {starts_c}\n");
        planned("seats = 4\npourers = 1", &kettle, &[(70, 150, "[60]")]).length_s
    };
    let (cold_s, hot_s) = (class_s("20"), class_s("95"));
    // Twenty seconds to fill it, and the hands' pause before.
    assert!((cold_s..cold_s + 30).contains(&hot_s), "{hot_s} s instead of {cold_s} s");
}

#[test]
fn spread_is_given_where_the_last_cup_then_comes_a_minute_earlier_and_never_where_it_is_not_to_be() {
    // A cold kettle, and a weaker one that is preset.
    let kettles = format!("{BIG}starts_c = 20\n{}", BIG.replace("1800", "1000"));
    let teas =
        [(90, 100, "[20]"), (98, 100, "[60]"), (80, 100, "[20]"), (70, 100, "[20]"), (70, 100, "[180]")];
    let give = |s: u32| {
        let plan = planned(&format!("seats = 2\npourers = 1\nready_give_s = {s}"), &kettles, &teas);
        plan.rounds[0].plan.clone()
    };
    let strict = give(0);
    assert_eq!(strict.given, None);
    let mut given = Vec::new();
    for s in [5, 7, 10, 11, 30] {
        let round = give(s);
        match round.given {
            None => assert_eq!(round, strict),
            Some(bargain) => {
                given.push((s, bargain.gave_s, bargain.saved_s));
                assert_eq!((bargain.least_spread, bargain.last_cup), (strict.spread, strict.last_cup));
                assert_eq!(round.spread.value_s, strict.spread.value_s + bargain.gave_s);
                assert_eq!(round.last_cup.value_s, strict.last_cup.value_s - bargain.saved_s);
                assert!(bargain.gave_s <= s && bargain.saved_s >= 60 && round.last_cup.proven);
            }
        }
    }
    assert_eq!(given, [(11, 11, 72), (30, 11, 72)], "below 11 s there is nothing worth giving");
}

#[test]
fn whose_kettles_is_said_and_what_the_room_and_the_seats_can_not_do() {
    let own = planned("seats = 8\npourers = \"each seat\"", BIG, &[(95, 100, "[60]")]);
    assert_eq!(own.assumes, "Each seat pours and has a kettle of its own (big): 8 kettles in all.");
    let words = said(&own, "kettles heating at the same time").unwrap();
    assert!(
        words.contains("14400 W") && words.contains("63 A at 230 V") && words.contains("4 circuits"),
        "{words}"
    );
    assert_eq!(own.rounds[0].plan.cups[0].draw_ml, 100.0);

    let shared =
        planned("seats = 8\npourers = \"each seat\"\nshared_kettles = true", BIG, &[(95, 100, "[60]")]);
    assert_eq!(shared.assumes, "Each seat pours, and all 8 seats draw their water from big.");
    assert_eq!(said(&shared, "at the same time draw"), None, "one kettle is for one circuit");
    assert_eq!(shared.rounds[0].plan.cups[0].draw_ml, 800.0, "all seats draw at once");
    assert!(said(&shared, "the last one pours about 1 min 10 s later").is_some(), "{:?}", shared.warnings);
    let proven = |plan: &Plan| plan.rounds.iter().any(|round| round.plan.last_cup.proven);
    assert!(proven(&own) && !proven(&shared), "what no room can do is not called proven");

    let table = planned("seats = 8\npourers = 1", BIG, &[(95, 300, "[60]")]);
    assert_eq!(table.assumes, "All water comes from one kettle: big.");
    assert_eq!((said(&table, "at the same cue"), said(&table, "circuit")), (None, None));
}

#[test]
fn one_vessel_less_is_offered_where_it_nearly_does() {
    // 300 ml wanted; 301 − 3 ml of liquor are 2 ml short of it.
    let plan =
        planned("seats = 10\npourers = 1", "", &[(95, 301, "[60]"), (90, 301, "[60]"), (95, 200, "[60]")]);
    let words = said(&plan, "2 vessels for 2 ml").unwrap();
    assert_eq!(words, "201 and 202: 2 vessels for 2 ml: 303 ml of water, or cups of 29 ml, do with one.");
    assert!(said(&plan, "203").is_none(), "one vessel of 197 ml is no near miss");
    for help in ["cup_ml = 29", "seats = 9"] {
        let top = if help.starts_with("seats") { help.to_string() } else { format!("seats = 10\n{help}") };
        let plan = planned(&format!("{top}\npourers = 1"), "", &[(95, 301, "[60]")]);
        assert_eq!(plan.quantities.teas[0].vessels, Some(1), "{help}");
    }
}

#[test]
fn tasting_that_is_too_short_for_a_sheet_is_said_and_left_out_it_is_long_enough() {
    let teas = [(95, 100, "[60]"); 5];
    let hurried = planned("seats = 4\npourers = 1\ntaste_s = 60", "", &teas);
    let words = said(&hurried, "to taste").unwrap();
    assert!(
        words.contains("1 min to taste 5 cups are 12 s a cup") && words.contains("taste_s = 75"),
        "{words}"
    );
    let by_rule = planned("seats = 4\npourers = 1", "", &teas);
    assert_eq!(said(&by_rule, "to taste"), None);
    // Five teas, a sheet of six lines, 5 s a line.
    assert_eq!(by_rule.rounds[0].closes_s - by_rule.rounds[0].tastes_s, 150);
}

#[test]
fn what_can_not_be_had_comes_before_what_is_only_less_good() {
    let heavy = "seats = 8\npourers = 2\naltitude_m = 3000\ntaste_s = 10\ngap_s = 0";
    let mut plan = planned(heavy, BIG, &[(98, 100, "[60]"), (70, 100, "[10]")]);
    let place = |plan: &Plan, words: &str| plan.warnings.iter().position(|w| w.contains(words)).unwrap();
    assert!(place(&plan, "Water boils at") < place(&plan, "to taste"));
    let text = "title = \"Leaf\"\ndate = 2026-11-28\nseats = 2\npourers = 1\npour_s = 5\ndecant_s = 5\n[[tea]]\nname = \"Dry\"\nleaf_g = 90\nwater_ml = 100\ntemp_c = 95\nsteep_s = [5]\n";
    plan = document(&read::class(text).unwrap().with_codes(1), 1).unwrap();
    assert!(plan.warnings[0].contains("would keep all the water"), "{:?}", plan.warnings);
}

#[test]
fn warnings_of_one_matter_are_alike_whatever_their_numbers() {
    let warning = |teas: usize, taste_s: u32| {
        let plan = planned(
            &format!("seats = 4\npourers = 1\ntaste_s = {taste_s}"),
            "",
            &vec![(95, 100, "[60]"); teas],
        );
        said(&plan, "to taste").unwrap()
    };
    assert_ne!(warning(5, 60), warning(6, 40));
    assert!(alike(&warning(5, 60), &warning(6, 40)));
    let high = planned("seats = 4\npourers = 1\naltitude_m = 3000", "", &[(98, 100, "[60]")]);
    assert!(!alike(&warning(5, 60), &said(&high, "Water boils").unwrap()));
}
