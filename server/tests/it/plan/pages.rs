//! The plan as a page to print.

use super::{SIX, TWO_WAYS, planned};
use plan::kettles::{Deed, KettleStep};
use report::plan::page;

#[test]
fn the_page_is_whole_in_itself_and_names_blind_teas_on_its_last_sheet_only() {
    let (class, plan) = planned(SIX);
    let page = page::html(&plan, &class);
    for outside in ["<script", "http:", "https:", "src=", "@import", "url("] {
        assert!(!page.contains(outside), "{outside}");
    }
    let (open, key) = page.split_once("<h1>The key</h1>").unwrap();
    for tea in &class.teas {
        assert!(key.contains(&tea.name));
    }
    assert!(class.teas.iter().all(|tea| !open.contains(&tea.name)), "the run sheet lies open on the table");
    assert_eq!(open.matches("<h1>Seat ").count(), 6);
}

#[test]
fn every_round_is_drawn_with_its_hands_teas_and_kettles_named() {
    let (class, plan) = planned(SIX);
    let page = page::html(&plan, &class);
    let pictures: Vec<&str> =
        page.split("<svg ").skip(1).filter_map(|rest| rest.split("</svg>").next()).collect();
    assert_eq!(pictures.len(), plan.rounds.len());
    for (picture, round) in pictures.iter().zip(&plan.rounds) {
        let title = format!("Whose hands do what in round {}", round.plan.round);
        for words in [title.as_str(), ">hands 1<", ">big kettle<", ">98 °C<"] {
            assert!(picture.contains(words), "{words}");
        }
        for cup in &round.plan.cups {
            // By the hands that pour and that decant it, as a lane of its own, at its kettle.
            assert!(picture.matches(&format!(">{}<", cup.code)).count() >= 4, "{}: {picture}", cup.code);
            assert!(picture.contains(&format!(">{} s<", cup.steep_s)), "{}", cup.code);
        }
    }
}

#[test]
fn eight_people_have_eight_sheets_and_no_round_of_a_longer_class_is_broken_over_two() {
    let class = |teas: usize, steeps: usize| {
        let tea = |i| {
            let steeps = vec!["40"; steeps].join(", ");
            format!(
                "[[tea]]\nname = \"Tea {i}\"\nleaf_g = 4\nwater_ml = 110\ntemp_c = 95\nsteep_s = [{steeps}]\n"
            )
        };
        let head = "title = \"Forms\"\ndate = 2026-11-28\nseats = 8\npourers = 1\npour_s = 8\ndecant_s = 6\ntaste_s = 300\n";
        let (class, plan) = planned(&(head.to_string() + &(0..teas).map(tea).collect::<String>()));
        page::html(&plan, &class)
    };
    for (teas, steeps) in [(5, 3), (8, 3), (4, 4)] {
        assert_eq!(class(teas, steeps).matches("class=\"form ").count(), 8, "{teas} teas, {steeps} steeps");
    }
    let long = class(8, 5);
    assert_eq!(long.matches("<h1>Seat 3 · rounds ").count() + long.matches("<h1>Seat 3 · round ").count(), 2);
    assert_eq!(long.matches("<h2>Round 4</h2>").count(), 8, "each round is on one sheet of each seat");
}

#[test]
fn the_words_below_a_picture_name_only_what_is_drawn_in_it() {
    let (class, plan) = planned(SIX);
    let page = page::html(&plan, &class);
    let captions: Vec<&str> =
        page.split("<figcaption").skip(1).filter_map(|rest| rest.split("</figcaption>").next()).collect();
    assert_eq!(captions.len(), plan.rounds.len());
    let mut seen = Vec::new();
    for (caption, round) in captions.iter().zip(&plan.rounds) {
        let mine = plan.kettles.iter().filter(|s| s.round == round.plan.round && s.hands.is_some());
        let mine: Vec<_> = mine.filter(|s| !matches!(s.deed, Deed::Draw { .. })).collect();
        let begins = i64::from(round.begins_s);
        let fills = |s: &&&KettleStep| !matches!(s.deed, Deed::Set { .. }) && s.at_s >= begins;
        let (fills, before) = (mine.iter().any(|s| fills(&s)), mine.iter().any(|s| s.at_s < begins));
        assert_eq!(caption.contains("a kettle is filled"), fills, "{caption}");
        assert_eq!(caption.contains("at the kettles before the round"), before, "{caption}");
        seen.extend([fills, before]);
    }
    assert!(seen.contains(&true));
}

#[test]
fn names_in_a_page_never_run() {
    let evil = TWO_WAYS.replace("Copper Pier", "<b onload=x()>&\\\"Pier'");
    let (class, plan) = planned(&evil);
    let page = page::html(&plan, &class);
    assert!(!page.contains("<b onload") && page.contains("&lt;b onload=x()&gt;&amp;&quot;Pier'"));
}
