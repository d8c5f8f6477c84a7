//! Classes of 4 and 8 teas with 1 and 20 seats: what a teacher needs is on every screen.

use super::*;
use proptest::prelude::*;

const NAMES: [&str; 20] = [
    "Ann", "Bob", "Li Wei", "Dag", "Eve", "Fatima", "Gus", "Hana", "Ivo", "Jun", "Kofi", "Lena", "Mo", "Nia",
    "Oskar", "Pia", "Quentin", "Rosa", "Sami", "Tove",
];
const SIZES: [(u16, u16); 3] = [(80, 24), (60, 20), (100, 30)];

fn class(teas: usize, seats: usize) -> Class {
    let head = format!(
        "title = \"An evening of {teas} teas side by side\"\ndate = 2026-11-28\nseats = {seats}\npourers = 1\n\
         pour_s = 8\ndecant_s = 6\ntaste_s = 90\n[sheet]\nattributes = [\"liking\"]\n"
    );
    let tea = |i: usize| {
        let code = code(i);
        format!(
            "[[tea]]\nname = \"Tea {i}\"\ncode = \"{code}\"\nleaf_g = 5\nwater_ml = 110\ntemp_c = 95\n\
             steep_s = [60, 45]\n"
        )
    };
    let mut class = Class::with(&(head + &(1..=teas).map(tea).collect::<String>()), &NAMES[..seats]);
    class.tell(&Command::Teacher(Teacher::Start { anyway: true }));
    class
}

fn code(tea: usize) -> u16 {
    100 + 70 * tea as u16
}

/// Some time into the first tasting: most have scored, some lag behind, one has lost the link.
fn tasting(teas: usize, seats: usize) -> Class {
    let mut class = class(teas, seats);
    class.now = class.room.timetable.find(Action::Taste, None, 1).unwrap().at + 40 * SECOND_US;
    for (seat, name) in NAMES.iter().enumerate().take(seats) {
        let lags = [5, 12, 17].contains(&seat);
        for tea in 1..=if lags { teas - 1 } else { teas } {
            class.score(seat, code(tea));
            class.screen.say(format!("scored: {} steep 1 by {}", code(tea), name));
        }
    }
    class
}

#[test]
fn who_lags_behind_and_what_happened_last_are_on_every_screen() {
    for (teas, seats) in [(4, 1), (4, 20), (8, 1), (8, 20)] {
        let class = tasting(teas, seats);
        for (width, height) in SIZES {
            let shown = class.picture(width, height);
            insta::assert_snapshot!(format!("tasting-{teas}-teas-{seats}-seats-{width}x{height}"), shown);
            let news = shown.lines().filter(|line| line.contains(" · scored: ")).count();
            assert!(news >= 2, "{shown}");
            let all = if seats == 1 { "1 of 1 complete" } else { "17 of 20 complete" };
            assert!(shown.contains(all), "{shown}");
            for name in NAMES.iter().take(seats).filter(|name| ["Fatima", "Mo", "Rosa"].contains(name)) {
                assert!(shown.contains(name), "{name} lags behind: {shown}");
            }
        }
    }
}

#[test]
fn a_last_call_counts_down_and_says_how_many_are_writing() {
    let class = tasting(8, 20);
    let mut view = class.view();
    view.last_call = Some(view.now + 23 * SECOND_US);
    view.seats.iter_mut().take(4).for_each(|seat| seat.writing = true);
    for (width, height) in SIZES {
        let shown = class.picture_of(&view, width, height);
        assert!(shown.contains("LAST CALL 0:23 · 4 are writing"), "{shown}");
    }
    insta::assert_snapshot!("last-call-80x24", class.picture_of(&view, 80, 24));
    view.last_call = Some(view.now + -SECOND_US);
    let shown = class.picture_of(&view, 80, 24);
    assert!(shown.contains("CLOSES NOW · 4 are writing") && !shown.contains("LAST CALL 0:00"), "{shown}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn two_lines_of_news_and_what_comes_next_are_there_at_any_size(teas in 1usize..=12, width in 60u16..120, height in 20u16..50) {
        let mut class = class(teas, 20);
        class.now = class.room.timetable.cues[0].at + 5 * SECOND_US;
        class.screen.say("one".into());
        class.screen.say("two".into());
        let shown = class.picture(width, height);
        prop_assert!(shown.contains(" · one") && shown.contains(" · two"), "{}", shown);
        prop_assert!(shown.contains(" next   ") && shown.contains(" type: _"), "{}", shown);
        prop_assert!(shown.contains(" of 20 expected") || shown.contains(" of 20 complete"), "{}", shown);
    }
}
