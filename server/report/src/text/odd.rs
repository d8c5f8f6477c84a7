//! Odd classes on the page: whatever is scored, every line fits and no figure is none.

use crate::text::{seat_page, within};
use fixtures::{At, Filled, class_file, room};
use proptest::prelude::*;
use room::Room;
use summary::{Summary, summarise};

const LIKING: &str = "[sheet]\nattributes = [\"liking\"]";

/// A room from one table of single digits: a row for each taster, a column for each tea, one steep, one attribute.
fn table(sheet: &str, rows: &[&str], revealed: &[usize]) -> Room {
    let teas = rows[0].len();
    room(&class_file(teas, 1, sheet), rows.len(), revealed, |At { seat, tea, .. }| {
        let value = rows[seat].as_bytes()[tea];
        value
            .is_ascii_digit()
            .then(|| Filled { values: vec![Some(i32::from(value - b'0'))], ..Filled::default() })
    })
}

fn page_is_sound(summary: &Summary, room: &Room) -> Result<(), TestCaseError> {
    for width in [60, 80, 100] {
        let page = within(summary, width);
        for line in page.lines() {
            prop_assert!(line.chars().count() <= width, "{}: {}", width, line);
            prop_assert!(!line.split_whitespace().any(|w| matches!(w, "NaN" | "inf" | "-inf")), "{}", line);
        }
        for seat in &summary.seats {
            let own = seat_page(summary, room, &seat.name, width);
            prop_assert!(own.is_some_and(|own| own.lines().all(|line| line.chars().count() <= width)));
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn whatever_is_scored_fits_the_page_and_has_no_figure_that_is_none(
        (teas, steeps, seats) in (1usize..5, 1u32..4, 0usize..8),
        scored in 0.0..1.0f64,
        (low, high) in (1i32..9).prop_flat_map(|low| (Just(low), low..=9)),
        (open, repeats, seed) in (0usize..5, any::<bool>(), any::<u64>()),
    ) {
        let sheet = "[sheet]\nattributes = [\"aroma\", \"liking\"]\nweights = { aroma = 50, liking = 50 }";
        let class = class_file(teas, steeps, sheet);
        let class = if repeats { class.replace("leaf_g = 5", "leaf_g = 3") } else { class };
        let revealed: Vec<usize> = (0..teas.min(open)).collect();
        let room = room(&class, seats, &revealed, |At { seat, tea, steep }| {
            let place = (seat * 100 + tea * 10 + steep as usize) as u64;
            let mut rng = fastrand::Rng::with_seed(seed ^ place.wrapping_mul(0x9E37_79B9_7F4A_7C15));
            let mut value = || (rng.f64() < 0.9).then(|| rng.i32(low..=high));
            let values = vec![value(), value()];
            let strength = value().map(|v| (v % 5 - 2) as i8);
            (rng.f64() < scored).then_some(Filled { values, strength, ..Filled::default() })
        });
        let summary = summarise(&room, room.last_at);
        page_is_sound(&summary, &room)?;
    }
}

#[test]
fn odd_classes_get_words() {
    let five = |_: At| Some(Filled { values: vec![Some(5)], strength: Some(0), ..Filled::default() });
    let odd = [
        ("nobody came", room(&class_file(2, 1, LIKING), 0, &[], |_| None)),
        ("nobody scored", room(&class_file(2, 1, LIKING), 3, &[], |_| None)),
        ("one seat", room(&class_file(2, 1, LIKING), 1, &[0, 1], five)),
        ("one tea", room(&class_file(1, 2, LIKING), 4, &[], five)),
        ("all equal", room(&class_file(3, 1, LIKING), 4, &[], five)),
    ];
    let mut pages = String::new();
    for (name, room) in odd {
        let summary = summarise(&room, room.last_at);
        page_is_sound(&summary, &room).unwrap();
        let page = within(&summary, 80);
        let upto = page.find("HOW IT WAS COMPUTED").unwrap();
        pages += &format!("==== {name}\n{}\n", &page[..upto]);
    }
    insta::assert_snapshot!(pages);
}

#[test]
fn the_exact_p_that_decides_in_a_small_class_stands_in_the_table_of_rank_tests() {
    let room = table(LIKING, &["123", "123", "132", "132"], &[]);
    let summary = summarise(&room, room.last_at);
    let tables = crate::tables::tables(&summary);
    let ranks = tables.iter().find(|table| table.name == "rank tests").unwrap();
    let exact =
        |row: &&Vec<crate::tables::Cell>| row.iter().any(|cell| cell.to_string() == "Friedman, exact");
    assert!(ranks.rows.iter().find(exact).unwrap().iter().any(|cell| cell.to_string().contains("0.069")));
}
