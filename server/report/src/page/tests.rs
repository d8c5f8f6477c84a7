//! The page: its shape, its words, what never stands in it.

pub(super) mod check;

use super::*;
use crate::words::capital;
use check::{page_is_sound, without_pictures};
use fixtures::{At, Filled, class_file, evening, room};
use proptest::prelude::*;
use room::Room;
use summary::summarise;

const SHEET: &str = "[sheet]\nattributes = [\"aroma\", { name = \"liking\", min = 1, max = 9 }]\n\
                     words = [\"floral\", \"warm bread\"]\nweights = { aroma = 40, liking = 60 }";

fn page(room: &Room) -> String {
    html(&summarise(room, room.last_at))
}

/// Sound, and the same again.
fn sound(room: &Room) -> String {
    let page = page(room);
    page_is_sound(&page).unwrap();
    assert_eq!(
        page,
        crate::page::html(&summarise(room, room.last_at)),
        "the same ledger gives the same page"
    );
    page
}

/// Everybody scores everything, as `value` says.
fn scored(teas: usize, steeps: u32, seats: usize, value: impl Fn(At) -> i32) -> Room {
    room(&class_file(teas, steeps, SHEET), seats, &(0..teas).collect::<Vec<_>>(), |at| {
        let words = if at.tea % 2 == 0 { vec!["floral".to_string()] } else { Vec::new() };
        Some(Filled { values: vec![Some(value(at)); 2], strength: Some((at.seat % 3) as i8 - 1), words })
    })
}

fn pictures(page: &str) -> usize {
    page.matches("<figure").count()
}

#[test]
fn the_page_is_as_it_was_read_last() {
    let page = sound(&evening(&[0, 1, 2, 3]));
    // Lines of their own for elements are easier to compare.
    insta::assert_snapshot!("page", without_pictures(&page).replace("><", ">\n<"));
}

#[test]
fn every_kind_of_picture_is_there_once_there_are_scores() {
    let page = sound(&scored(4, 3, 8, |at| 1 + ((at.seat * 3 + at.tea * 2 + at.steep as usize) % 9) as i32));
    for title in [
        "The teas by liking",
        "Aroma from steep to steep",
        "Aroma: every score",
        "Aroma: which teas differ",
        "Aroma: each taster and the class",
        "Liking from steep to steep",
        "Total of each tea",
        "Total: which teas differ",
        "Leaf 1, two ways",
        "What a wrong strength costs in liking",
        "Words ticked",
    ] {
        assert!(page.contains(&format!("<h3>{title}</h3>")), "{title}");
    }
}

#[test]
fn every_score_is_a_dot_and_every_steep_a_point_of_a_curve() {
    let room = evening(&[0, 1, 2, 3]);
    let (page, found) = (page(&room), summarise(&room, room.last_at).findings);
    let picture = |title: &str| {
        page.split(&format!("<h3>{title}</h3>")).nth(1).unwrap().split("</svg>").next().unwrap()
    };
    for scale in &found.figures.scales {
        let title = capital(&scale.attribute);
        let scores = found.figures.dots.iter().filter(|dot| dot.attribute == scale.attribute).count();
        let every =
            if title == "Liking" { "The teas by liking".into() } else { format!("{title}: every score") };
        assert_eq!(picture(&every).matches(" r=\"22\"").count(), scores);
        let curves = picture(&format!("{title} from steep to steep"));
        // The first tea's sign is a full circle: at three steeps, in the label and beside the name.
        assert_eq!(curves.matches("<circle").count(), 5);
        assert_eq!(
            ["211", "224", "237", "250"].map(|code| curves.matches(&format!(">{code}</text>")).count()),
            [1; 4]
        );
    }
}

/// What is read without asking for more: no drawings, nothing that is folded.
fn open_words(page: &str) -> String {
    let without = |page: String, from: &str, to: &str| {
        let mut pieces = page.split(from);
        let first = pieces.next().unwrap_or_default().to_string();
        pieces.fold(first, |page, piece| page + piece.split_once(to).map_or("", |(_, rest)| rest))
    };
    let mut page = without(without(page.to_string(), "<svg", "</svg>"), "<style>", "</style>");
    // The innermost first: one may lie in another.
    while let Some(end) = page.find("</details>") {
        let start = page[..end].rfind("<details").unwrap();
        page.replace_range(start..end + "</details>".len(), "");
    }
    page
}

#[test]
fn what_was_found_and_all_teas_by_liking_come_first_and_the_method_last() {
    let page = sound(&evening(&[0, 1, 2, 3]));
    let at = |words: &str| page.find(words).unwrap_or_else(|| panic!("{words}"));
    let order = [
        "<h1>",
        "In short</h2>",
        "The teas by liking</h3>",
        "<nav",
        "The teas, one by one</h2>",
        "Aroma</h2>",
        "Two ways of one leaf</h2>",
        "Do the tasters agree?</h2>",
        "Every finding with its evidence</h2>",
        "How it was computed</h2>",
    ];
    assert!(order.windows(2).all(|pair| at(pair[0]) < at(pair[1])), "{:?}", order.map(at));
    let first = &page[at("The teas by liking</h3>")..at("<nav")];
    for shown in
        [">224 Tea 2</text>", ">6.9 a</text>", ">5 g, 100 ml, 95 °C, 30 40 50 s</text>", "letter in common"]
    {
        assert!(first.contains(shown), "{shown}");
    }
    assert!(at(">224 Tea 2</text>") < at(">211 Tea 1</text>"), "the most liked comes first");
}

#[test]
fn tests_and_tables_are_folded() {
    let page = sound(&evening(&[0, 1, 2, 3]));
    let open = open_words(&page);
    for evidence in ["Friedman", "Kendall", " p 0.", "p below", "<td", "Holm"] {
        assert!(page.contains(evidence) && !open.contains(evidence), "{evidence}: {open}");
    }
    assert!(
        open.contains("The teas differ in aroma") && open.contains("shown to differ. A ring: not shown."),
        "{open}"
    );
}

#[test]
fn every_tea_has_a_card_with_its_recipe_its_ladder_its_words_and_its_notes() {
    let room = scored(2, 3, 6, |at| 3 + at.tea as i32);
    let mut summary = summarise(&room, room.last_at);
    summary.teas[0].steeps[1]
        .notes
        .push(summary::Note { seat: "Ann".into(), text: "like hay & honey".into() });
    let page = html(&summary);
    page_is_sound(&page).unwrap();
    let cards: Vec<&str> =
        page.split("<article>").skip(1).map(|card| card.split("</article>").next().unwrap()).collect();
    let [second, first] = cards[..] else { panic!("{}", cards.len()) };
    assert!(
        second.contains("<h3>224 Tea 2</h3>") && second.contains("Leaf 1: 5 g, 100 ml, 95 °C, 30 40 50 s"),
        "{second}"
    );
    for rung in
        [">30 s</text>", ">40 s</text>", ">50 s</text>", ">liking</text>", ">thin</text>", ">strong</text>"]
    {
        assert!(first.contains(rung), "{rung}: {first}");
    }
    assert!(first.contains("Words, of 6 tasters: floral 6."), "{first}");
    assert!(first.contains("Steep 2, Ann: <q>like hay &amp; honey</q>"), "{first}");
    assert!(!second.contains("Words, of"), "nobody ticked a word for it");
}

#[test]
fn a_tea_that_is_in_no_picture_is_named_there_with_its_reason() {
    let value = |at: At| {
        (at.tea != 1).then(|| Filled { values: vec![Some(3 + at.seat as i32), Some(4)], ..Filled::default() })
    };
    let page = sound(&room(&class_file(3, 2, SHEET), 5, &[0, 1, 2], value));
    let named = page.matches("Not in the picture: 224 Tea 2 (it was not served).").count();
    assert!(named >= 5, "{named} pictures say so");
}

#[test]
fn a_revealed_tea_has_its_name_in_every_picture_of_teas() {
    let page = sound(&scored(4, 3, 8, |at| 1 + ((at.seat * 3 + at.tea * 2 + at.steep as usize) % 9) as i32));
    for figure in page.split("<figure").skip(1).map(|figure| figure.split("</figure>").next().unwrap()) {
        let Some(title) = figure.split("<h3>").nth(1).map(|title| title.split('<').next().unwrap()) else {
            continue;
        };
        assert!(figure.split("</desc>").nth(1).unwrap().contains("Tea "), "{title}");
    }
}

#[test]
fn blind_teas_have_neither_name_nor_leaf_nor_way() {
    let page = sound(&evening(&[0]));
    assert!(page.contains("Tea 1") && page.contains("Still blind: 224, 237 and 250."));
    for hidden in ["Tea 2", "Tea 3", "Tea 4", "Leaf 2", "two ways</h3>", "5 g"] {
        assert!(!page.contains(hidden), "{hidden}");
    }
}

#[test]
fn text_from_people_is_shown_and_never_runs() {
    let class = class_file(2, 2, SHEET)
        .replace("\"Tea 1\"", "'<script>alert(1)</script>'")
        .replace("\"Found\"", "'</title><b>&amp;\"'")
        .replace("floral", "<i onclick='x'>");
    let class = class.replace("\"<i onclick='x'>\"", "'''<i onclick=\"x\">'''");
    let room = room(&class, 3, &[0, 1], |at| {
        let words = vec!["<i onclick=\"x\">".to_string()];
        Some(Filled { values: vec![Some(3 + at.tea as i32), Some(5)], strength: None, words })
    });
    let page = sound(&room);
    assert!(page.contains("&lt;script&gt;alert(1)"), "the name is there, and inert");
    for live in ["<script", "<i ", "</title><b>"] {
        assert!(!page.contains(live), "{live}");
    }
}

#[test]
fn a_class_that_nobody_came_to_gives_a_page_of_words() {
    let page = sound(&scored(2, 2, 0, |_| 5));
    assert!(page.contains("Nobody came; 8 seats were expected."));
    assert!(page.contains("Nobody has scored, so there is nothing to report of the teas' scores."));
    assert_eq!(pictures(&page), 0);
}

#[test]
fn a_class_that_nobody_scored_gives_a_page_of_words() {
    let page = sound(&room(&class_file(2, 2, SHEET), 3, &[], |_| None));
    assert!(page.contains("3 of 8 expected seats came: Ann, Bob and Cleo."));
    assert_eq!(pictures(&page), 0);
}

#[test]
fn who_is_left_out_has_come_all_the_same() {
    let mut room = room(&class_file(2, 2, SHEET), 3, &[], |_| None);
    let bob = room.seats[1].id;
    room.fold(
        room.seq + 1,
        room.last_at,
        room::Event::SeatCounts { seat: bob, counts: false, undone: false },
    );
    let page = sound(&room);
    assert!(page.contains("3 of 8 expected seats came: Ann, Cleo and Bob (left out)."));
    assert!(page.contains("Bob was left out by the teacher, and there is no score of Bob."));
    let text = crate::text::within(&summary::summarise(&room, room.last_at), 80);
    assert!(text.contains("3 of 8 expected seats came"), "{text}");
}

#[test]
fn one_seat_gets_its_scores_drawn_and_told_what_cannot_be() {
    let page = sound(&scored(3, 2, 1, |at| 4 + at.tea as i32));
    assert!(page.contains("Aroma: every score</h3>"));
    assert!(page.contains("It takes two tasters at least to compare one with the class."));
    assert!(page.contains("No interval for 211, 224 and 237: needs two scores at least."), "{page}");
    assert!(page.contains("The teas are not compared in pairs: "));
}

#[test]
fn one_tea_at_one_steep_has_no_curve_and_no_pairs() {
    let page = sound(&scored(1, 1, 4, |at| 3 + at.seat as i32));
    assert!(page.contains("Only steep 1 was scored, so there is no curve from steep to steep."));
    assert!(!page.contains("which teas differ</h3>"));
}

#[test]
fn scores_that_are_all_equal_are_drawn_and_nothing_is_made_of_them() {
    let page = sound(&scored(3, 2, 5, |_| 5));
    assert!(
        page.contains("Aroma: every score</h3>") && page.contains("The teas are not compared in pairs: ")
    );
}

#[test]
fn twelve_teas_get_a_small_picture_each_and_letters_for_pairs() {
    let page = sound(&scored(12, 8, 20, |at| 1 + ((at.seat + at.tea * 5 + at.steep as usize) % 9) as i32));
    assert!(page.contains("Each tea has its own picture, the others behind it"));
    assert!(page.contains("Teas from the highest mean to the lowest"));
}

#[test]
fn long_names_are_cut_in_pictures_and_whole_in_words() {
    let long = "名".repeat(40);
    let class = class_file(2, 2, SHEET).replace("\"Tea 1\"", &format!("\"{long}\""));
    let page = sound(&room(&class, 4, &[0, 1], |at| {
        Some(Filled { values: vec![Some(2 + at.seat as i32 + at.tea as i32), Some(5)], ..Filled::default() })
    }));
    assert!(page.contains(&format!("211 {long}:")), "the text alternative has it");
    assert!(page.contains("名名名…</text>"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]
    #[test]
    fn whatever_is_scored_gives_a_sound_page(
        (teas, steeps, seats) in (1usize..8, 1u32..4, 0usize..6),
        (low, high) in (1i32..9).prop_flat_map(|low| (Just(low), low..=9)),
        scored in 0.0..1.0f64,
        revealed in prop::collection::vec(any::<bool>(), 8),
        seed in any::<u64>(),
    ) {
        let open: Vec<usize> = (0..teas).filter(|&tea| revealed[tea]).collect();
        let class = class_file(teas, steeps, SHEET).replace("name = \"Tea ", "name = \"Hidden cup ");
        let room = room(&class, seats, &open, |At { seat, tea, steep }| {
            let place = (seat * 100 + tea * 10 + steep as usize) as u64;
            let mut rng = fastrand::Rng::with_seed(seed ^ place.wrapping_mul(0x9E37_79B9_7F4A_7C15));
            let mut value = || (rng.f64() < scored).then(|| rng.i32(low..=high));
            let values = vec![value(), value()];
            let strength = value().map(|v| (v % 5 - 2) as i8);
            let words = value().map(|_| "floral".to_string()).into_iter().collect();
            value().map(|_| Filled { values, strength, words })
        });
        let page = page(&room);
        page_is_sound(&page).map_err(TestCaseError::fail)?;
        for tea in (0..teas).filter(|tea| !revealed[*tea]) {
            let name = format!("Hidden cup {}", tea + 1);
            prop_assert!(!page.contains(&name), "{} is still blind", name);
        }
    }
}
