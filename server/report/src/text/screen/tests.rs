//! The screen as a person sees it, and that it holds whatever was scored.

use super::*;
use fixtures::{At, Filled, class_file, evening, room};
use proptest::prelude::*;
use room::Room;
use summary::summarise;

fn shown(room: &Room, size: (usize, usize)) -> String {
    screen(&summarise(room, room.last_at), size, "kettlecall review found.ledger")
}

#[test]
fn a_revealed_class_fits_one_screen() {
    let room = evening(&[0, 1, 2, 3]);
    insta::assert_snapshot!("screen-80x24", shown(&room, (80, 24)));
    insta::assert_snapshot!("screen-80x40", shown(&room, (80, 40)));
}

/// What was liked best, what to change, the ways of each leaf and how far it goes are there before any picture is.
#[test]
fn where_there_is_little_room_what_matters_most_is_kept() {
    let room = evening(&[0, 1, 2, 3]);
    let mut summary = summarise(&room, room.last_at);
    for more in 0..12 {
        let shown = screen(&summary, (80, 24), "kettlecall review found.ledger");
        let flowing = shown.split_whitespace().collect::<Vec<_>>().join(" ");
        for line in summary.findings.brief.iter().filter(|line| line.matter.is_kept()) {
            assert!(flowing.contains(&line.text) || flowing.contains(&line.short), "{more}: {shown}");
        }
        assert!(shown.lines().count() < 24, "{more}: {shown}");
        let line = summary.findings.brief.iter().find(|line| !line.matter.is_kept()).unwrap().clone();
        summary.findings.brief.push(line);
    }
}

#[test]
fn a_blind_class_shows_codes_only() {
    insta::assert_snapshot!("screen-blind", shown(&evening(&[0]), (80, 30)));
}

#[test]
fn a_class_that_nobody_scored_says_so() {
    let nobody = room(&class_file(2, 1, "[sheet]\nattributes = [\"liking\"]"), 3, &[], |_| None);
    let shown = shown(&nobody, (80, 24));
    assert!(shown.contains("Nobody has scored") && shown.contains("--full"), "{shown}");
    assert!(!shown.contains("TEAS"), "{shown}");
}

#[test]
fn a_tea_that_nobody_scored_is_named_with_its_reason() {
    let sheet = "[sheet]\nattributes = [\"liking\"]";
    let class = room(&class_file(3, 1, sheet), 4, &[0, 1, 2], |At { seat, tea, .. }| {
        (tea != 1).then(|| Filled { values: vec![Some(3 + (seat + tea) as i32)], ..Filled::default() })
    });
    let shown = shown(&class, (80, 24));
    assert!(shown.contains("224 Tea 2 is left out: it was not served"), "{shown}");
}

#[test]
fn without_a_liking_the_total_and_without_weights_the_first_attribute_leads() {
    let five = |_: At| Some(Filled { values: vec![Some(5), Some(6)], ..Filled::default() });
    let head = |sheet: &str| {
        let room = room(&class_file(2, 1, sheet), 3, &[0, 1], five);
        let shown = shown(&room, (80, 40));
        shown.lines().find(|line| line.ends_with(" mean")).unwrap().split(' ').next().unwrap().to_string()
    };
    assert_eq!(head("[sheet]\nattributes = [\"aroma\", \"body\"]"), "AROMA");
    let weighted = "[sheet]\nattributes = [\"aroma\", \"body\"]\nweights = { aroma = 50, body = 50 }";
    assert_eq!(head(weighted), "TOTAL");
    assert_eq!(
        head("[sheet]\nattributes = [\"aroma\", \"Liking\"]\nweights = { aroma = 50, Liking = 50 }"),
        "LIKING"
    );
}

/// Six teas with long names, one of them scored by nobody, at the least width.
#[test]
fn where_there_is_little_room_teas_that_are_left_out_are_told_by_their_codes() {
    let sheet = "[sheet]\nattributes = [\"liking\"]";
    let class = class_file(6, 2, sheet).replace("name = \"Tea ", "name = \"A tea with quite a long name ");
    let room = room(&class, 3, &[0, 1, 2, 3, 4, 5], |At { seat, tea, .. }| {
        (tea != 2).then(|| Filled { values: vec![Some(3 + (seat + tea) as i32)], ..Filled::default() })
    });
    insta::assert_snapshot!("screen-60x24", shown(&room, (60, 24)));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]
    #[test]
    fn whatever_is_scored_is_at_most_so_wide_and_so_long(
        (teas, steeps, seats) in (1usize..7, 1u32..9, 0usize..8),
        (scored, seed) in (0.0..1.0f64, any::<u64>()),
        (width, rows) in (60usize..130, 24usize..50),
        name in "[a-z 茶é]{1,30}",
    ) {
        let sheet = "[sheet]\nattributes = [\"x\", { name = \"liking\", min = 1, max = 9 }]";
        let class = class_file(teas, steeps, sheet).replace("name = \"Tea ", &format!("name = \"T{name} "));
        let revealed: Vec<usize> = (0..teas).collect();
        let room = room(&class, seats, &revealed, |At { seat, tea, steep }| {
            let place = (seat * 100 + tea * 10 + steep as usize) as u64;
            let mut rng = fastrand::Rng::with_seed(seed ^ place.wrapping_mul(0x9E37_79B9_7F4A_7C15));
            let mut value = || Some(rng.i32(1..=9));
            let values = vec![value(), value()];
            let strength = value().map(|v| (v % 5 - 2) as i8);
            (rng.f64() < scored).then_some(Filled { values, strength, ..Filled::default() })
        });
        let shown = shown(&room, (width, rows));
        prop_assert!(shown.lines().all(|line| line.width() < width.min(81)), "{}", shown);
        prop_assert!(shown.lines().count() < rows.max(25), "{}", shown);
        prop_assert!(shown.contains("--full") && shown.contains("Found · "), "{}", shown);
    }
}
