//! Every fault of a class file is shown with its file, line, field, what is wrong and what would be right; all at once.

#![expect(clippy::unwrap_used, reason = "a failing unwrap is a failing test")]

use proptest::prelude::*;
use server::class::read;

fn faults(name: &str) -> String {
    let path = format!("{}/tests/faults/{name}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).unwrap();
    read::class(&text).unwrap_err().render(name, &text, false)
}

#[test]
fn many_faults_are_shown_at_once_each_at_its_line() {
    insta::assert_snapshot!(faults("many.toml"));
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
fn an_empty_file_lists_everything_that_is_missing() {
    insta::assert_snapshot!(read::class("").unwrap_err().render("empty.toml", "", false));
}

#[test]
fn a_fault_shows_no_control_character_of_the_file() {
    assert!(!faults("many.toml").contains('\u{1b}'));
}

proptest! {
    #[test]
    fn no_text_makes_the_reader_panic(text in any::<String>()) {
        if let Err(faults) = read::class(&text) {
            prop_assert!(!faults.0.is_empty());
            faults.render("x.toml", &text, false);
        }
    }

    #[test]
    fn no_damage_to_a_good_class_makes_the_reader_panic(at in 0usize..1000, cut in 0usize..20, put in "[\\[\\]{}=\",0-9a-z\\n-]{0,6}") {
        let good = include_str!("classes/two-ways.toml");
        let at = at % good.len();
        let damaged = format!("{}{put}{}", &good[..at], &good[(at + cut).min(good.len())..]);
        match read::class(&damaged) {
            Ok(class) => prop_assert!(!class.teas.is_empty()),
            Err(faults) => prop_assert!(!faults.render("x.toml", &damaged, false).is_empty()),
        }
    }
}
