//! Every fault of a class file is shown with its file, line, field, what is wrong and what would be right; all at once.

use class::read;
use class::setting::Setting;
use class::start::leaf::Form;
use proptest::prelude::*;
use protocol::text::message;

fn faults(name: &str) -> String {
    let path = format!("{}/tests/faults/{name}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).unwrap();
    read::class(&text).unwrap_err().render(name, &text, "the class was not opened")
}

#[test]
fn many_faults_are_shown_at_once_each_at_its_line() {
    insta::assert_snapshot!(faults("many.toml"));
}

#[test]
fn kettles_vessels_doses_and_ramps_are_checked_like_the_rest() {
    insta::assert_snapshot!(faults("setting.toml"));
}

#[test]
fn words_that_could_not_be_told_apart_or_typed_are_refused() {
    insta::assert_snapshot!(faults("words.toml"));
    let text = include_str!("../classes/two-ways.toml");
    let many: Vec<String> = (0..41).map(|n| format!("\"w{n}\"")).collect();
    let text = format!("{text}\n[sheet]\nwords = [{}]\n", many.join(", "));
    let faults = read::class(&text).unwrap_err();
    assert_eq!(faults.0.len(), 1);
    assert_eq!(
        (faults.0[0].problem.as_str(), faults.0[0].remedy.as_str()),
        ("lists 41 words", "list up to 40 words")
    );
}

#[test]
fn tests_that_could_not_be_served_are_refused() {
    insta::assert_snapshot!(faults("tests.toml"));
}

#[test]
fn ways_of_one_leaf_are_not_changed_by_votes() {
    insta::assert_snapshot!(faults("adapt.toml"));
}

#[test]
fn a_leaf_is_rolled_in_one_of_the_ways_that_are_known() {
    insta::assert_snapshot!(faults("form.toml"));
}

#[test]
fn a_setting_is_read_whole_and_everything_in_it_may_be_left_out() {
    let text = include_str!("../classes/two-ways.toml");
    let plain = read::class(text).unwrap();
    assert_eq!(plain.setting, Setting::default());
    let more = "start = 18:30:00\naltitude_m = 1500\ngap_s = 3\nready_within_s = 30\n";
    let kettle = "\n[[kettle]]\nname = \"big\"\nfill_ml = 1200\nwatts = 1800\n[[break]]\nafter_round = 1\nlength_s = 600\n";
    let text = text.replace(
        "leaf_g = 3.0\n",
        "dose_g_per_100_ml = 3\nvessel = \"porcelain\"\nvessel_g = 110\nform = \"ball-rolled\"\n",
    );
    let text = text.replace("temp_c = 90", "temp_c = { from = 90, to = 96 }");
    let class = read::class(&format!("{more}{text}{kettle}")).unwrap();
    assert_eq!((class.setting.start_s, class.setting.altitude_m), (Some(66_600), 1500.0));
    assert_eq!(class.setting.kettles[0].efficiency, 0.85);
    assert_eq!((class.pause_after(1), class.pause_after(2)), (600, 15));
    assert_eq!((class.teas[0].leaf_g, class.teas[0].vessel.unwrap().material.name()), (3.0, "porcelain"));
    assert_eq!(class.teas[2].temp_c, [90.0, 93.0, 96.0]);
    assert_eq!([class.teas[0].form, class.teas[1].form], [Some(Form::BallRolled), None]);
}

#[test]
fn a_class_without_teas_is_refused() {
    insta::assert_snapshot!(faults("no-teas.toml"));
}

#[test]
fn what_is_not_toml_is_shown_where_it_breaks() {
    insta::assert_snapshot!(faults("not-toml.toml"));
}

#[test]
fn a_key_that_holds_a_strange_character_is_one_fault_and_its_own_key_is_not_missing() {
    for strange in ["ti\u{85}tle", "\u{9d}title", "ti\u{7}tle", "title\u{2003}"] {
        let text = include_str!("../classes/two-ways.toml").replacen("title", strange, 1);
        let faults = read::class(&text).unwrap_err();
        assert_eq!(faults.0.len(), 1, "{strange:?}: {faults:?}");
        assert!(faults.0[0].problem.contains("U+"), "{:?}", faults.0[0]);
    }
}

#[test]
fn an_empty_file_lists_everything_that_is_missing() {
    insta::assert_snapshot!(read::class("").unwrap_err().render(
        "empty.toml",
        "",
        "the class was not opened"
    ));
}

#[test]
fn what_was_written_for_people_is_answered_with_what_a_class_file_has() {
    insta::assert_snapshot!(faults("for-people.toml"));
}

#[test]
fn one_slip_is_one_fault_and_the_rest_of_the_file_is_read_all_the_same() {
    insta::assert_snapshot!(faults("slips.toml"));
}

#[test]
fn a_head_with_wrong_brackets_hides_no_other_fault_and_leaves_no_trail() {
    insta::assert_snapshot!(faults("heads.toml"));
    let good = include_str!("../classes/two-ways.toml");
    let values = "pour_s = \"8 s\"\n".to_string() + &good.replace("temp_c = 90", "temp_c = \"90 °C\"");
    let (first, rest) = values.split_once("[[tea]]").unwrap();
    let count = |text: &str| read::class(text).unwrap_err().0.len();
    let all = count(&values);
    assert!(all >= 2);
    for head in ["[tea]", "[[tea]", "[tea]]", "[[tea]] Lantern Slope", "[[[tea]]]"] {
        // One fault more: the head's own.
        assert_eq!(count(&format!("{first}{head}{rest}")), all + 1, "{head}");
    }
}

#[test]
fn what_stands_behind_a_value_in_its_line_is_not_missing_too() {
    let good = include_str!("../classes/two-ways.toml");
    let two = good.replacen("\"\nleaf_g = ", "\" ; leaf_g = ", 1);
    let faults = read::class(&two).unwrap_err().0;
    assert_eq!(faults.len(), 1, "{faults:?}");
    assert!(faults[0].remedy.starts_with("put `leaf_g = "), "{faults:?}");
}

#[test]
fn a_key_of_the_class_at_the_end_of_the_file_is_sent_above_the_first_section() {
    let good = include_str!("../classes/two-ways.toml");
    for (key, knows) in [("pour_s", true), ("seats", false)] {
        let line = good.lines().find(|line| line.starts_with(key)).unwrap();
        let without = good.replacen(&format!("{line}\n"), "", 1);
        let missing = read::class(&without).unwrap_err().0;
        assert_eq!(missing.len(), 1, "{missing:?}");
        assert!(
            missing[0].place.is_none() && missing[0].remedy.ends_with("above the first line in brackets")
        );
        let low = format!("{without}\n{line}\n");
        let faults = read::class(&low).unwrap_err().0;
        assert_eq!(faults.len(), 1, "{faults:?}");
        assert_eq!(&low[faults[0].place.clone().unwrap()], key);
        assert!(faults[0].remedy.ends_with("above the first line in brackets"), "{faults:?}");
        assert_eq!(faults[0].remedy.starts_with("put `pour_s = "), knows, "{faults:?}");
    }
}

#[test]
fn a_name_that_is_used_twice_is_said_as_it_is_written() {
    let good = include_str!("../classes/two-ways.toml");
    let name = good.lines().filter_map(|line| line.strip_prefix("name = ")).next().unwrap().trim_matches('"');
    let last = good.lines().filter_map(|line| line.strip_prefix("name = ")).next_back().unwrap();
    let text = good.replace(&format!("name = {last}"), &format!("name = \"{}\"", name.to_uppercase()));
    let problem = &read::class(&text).unwrap_err().0[0].problem;
    assert_eq!(*problem, format!("`{}` is used twice", name.to_uppercase()));
}

#[test]
fn no_fault_looks_like_a_compilers() {
    for name in ["many.toml", "setting.toml", "not-toml.toml", "for-people.toml", "slips.toml"] {
        let drawn = faults(name);
        for sign in ["-->", " | ", "error:", "help:", "^"] {
            assert!(!drawn.contains(sign), "{name}: {sign}");
        }
    }
}

#[test]
fn a_control_character_old_or_new_is_named_and_never_shown() {
    let good = include_str!("../classes/two-ways.toml");
    for c in ['\u{7}', '\u{1b}', '\u{7f}', '\u{85}', '\u{9b}', '\u{202e}', '\u{2066}', '\u{2028}'] {
        let text = good.replacen("Lantern Slope", &format!("Lantern{c}Slope"), 1);
        let faults = read::class(&text).unwrap_err();
        let drawn = faults.render("evening.toml", &text, "the class was not opened");
        assert_eq!(faults.0.len(), 1, "{drawn}");
        assert!(drawn.contains(&format!("U+{:04X}", c as u32)) && !drawn.contains(c), "{drawn:?}");
    }
}

proptest! {
    #[test]
    fn no_text_makes_the_reader_panic(text in any::<String>()) {
        if let Err(faults) = read::class(&text) {
            prop_assert!(!faults.0.is_empty());
            let drawn = faults.render("x.toml", &text, "the class was not opened");
            prop_assert_eq!(message(&drawn), drawn);
        }
    }

    #[test]
    fn no_damage_to_a_good_class_makes_the_reader_panic(at in 0usize..1000, cut in 0usize..20, put in "[\\[\\]{}=\"#,0-9a-z\\n\u{9b}\u{202e}-]{0,6}") {
        let good = include_str!("../classes/two-ways.toml");
        let at = at % good.len();
        let damaged = format!("{}{put}{}", &good[..at], &good[(at + cut).min(good.len())..]);
        match read::class(&damaged) {
            Ok(class) => prop_assert!(!class.teas.is_empty()),
            Err(faults) => {
                let drawn = faults.render("x.toml", &damaged, "the class was not opened");
                prop_assert!(!faults.0.is_empty());
                prop_assert_eq!(message(&drawn), drawn);
            }
        }
    }
}

#[test]
fn every_fault_of_a_file_of_ways_is_shown_at_once() {
    let text = include_str!("../faults/ways.toml");
    insta::assert_snapshot!(read::ways(text).unwrap_err().render("ways.toml", text, "nothing was compared"));
    for (text, fault) in [
        ("", "is missing: the file has no ways"),
        ("[[way]]\nwho = \"a\"\ndose_g_per_100_ml = 3\nsteep_s = [20]\n", "temp_c is missing"),
        ("[[tea]]\nname = \"a\"\n", "tea is not known here"),
    ] {
        let said = read::ways(text).unwrap_err().render("ways.toml", text, "nothing was compared");
        assert!(said.replace('\n', " ").contains(fault), "{text}: {said}");
    }
}
