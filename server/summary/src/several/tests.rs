//! Ways are matched by leaf and steeping; what is blind stays coded.

use super::*;
use crate::next;
use crate::spot::fitted::USUAL;
use crate::spot::spots;
use ::class::read;
use ::class::setting::{Material, Vessel};
use ::class::write::{Written, class_file};
use fixtures::several::{class, entries, plain, score, seat};
use proptest::prelude::*;
use protocol::Token;
use room::light::ClassScores;
use room::{Entry, Event, Room};
use stats::describe::describe;
use stats::penalty::Hint;

mod compared;

fn scores(entries: Vec<Entry>) -> ClassScores {
    ClassScores::of(&Room::replay(entries).unwrap())
}

/// A class of [`fixtures::several::held`].
fn held(
    date: &str,
    blind: bool,
    first: u16,
    seats: u8,
    points: impl Fn(u8, u16, u32) -> Option<(i32, i8)>,
) -> (ClassScores, Digest) {
    let record = scores(fixtures::several::held(date, blind, first, seats, points));
    let digest = Digest::of(&record);
    (record, digest)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]
    #[test]
    fn pooled_figures_are_those_of_all_points_together(
        points in prop::collection::vec(prop::collection::vec(prop::option::of(1i32..=9), 6), 1..4),
    ) {
        let classes: Vec<(ClassScores, Digest)> = points
            .iter()
            .enumerate()
            .map(|(i, of_class)| held("2026-11-28", false, 100 + 10 * i as u16, 6, |n, tea, steep| {
                Some((of_class[n as usize].filter(|_| tea == 0 && steep == 1)?, 0))
            }))
            .collect();
        let pool = pool(&classes);
        let all: Vec<f64> = points.iter().flatten().flatten().map(|&p| f64::from(p)).collect();
        let line = pool.ways[0].attributes.iter().find(|a| a.scale.name == "liking");
        prop_assert_eq!(line.is_some(), !all.is_empty());
        if let Some(line) = line {
            let known = describe(&all).unwrap();
            let found = line.steeps[0].figures;
            prop_assert_eq!((found.n, found.mean, found.sd), (known.n, known.mean, known.sd));
            prop_assert_eq!((found.lower_quartile, found.median, found.upper_quartile), (known.lower_quartile, known.median, known.upper_quartile));
            prop_assert_eq!(line.steeps[0].classes.iter().map(|c| c.figures.n).sum::<usize>(), all.len());
        }
    }

    #[test]
    fn the_points_of_a_pair_are_the_middle_of_its_interval_and_what_was_above_here_has_its_own_p(
        points in prop::collection::vec(prop::collection::vec(prop::option::weighted(0.9, 1i32..=4), 18), 2..5),
        lift in 0i32..3,
    ) {
        let classes: Vec<(ClassScores, Digest)> = points
            .iter()
            .enumerate()
            .map(|(i, of_class)| held("2026-11-28", false, 100 + 10 * i as u16, 6, |n, tea, _| {
                let own = of_class[3 * n as usize + tea as usize % 3]?;
                Some((own + lift * i32::from(tea == 0), 0))
            }))
            .collect();
        for pair in &pool(&classes).pairs {
            let Some(all) = &pair.all_ways else { continue };
            prop_assert_eq!(pair.points(), all.mean);
            if let Some((low, high)) = all.low.zip(all.high) {
                prop_assert!((pair.points() - (low + high) / 2.0).abs() < 1e-6, "{}", pair.words);
            }
            if all.in_these_classes {
                prop_assert!(all.p_in_these_classes.unwrap() <= 0.05 + 1e-6, "{}", pair.words);
                prop_assert!(all.mean_in_these_classes.unwrap() * all.mean > 0.0, "{}", pair.words);
            }
        }
    }

    #[test]
    fn a_class_that_scores_everything_higher_changes_no_difference(lift in 0i32..3) {
        let lifted = |by: i32| {
            let second = held("2026-12-05", false, 200, 5, move |n, tea, steep| plain(n, tea, steep).map(|(p, s)| (p + by - 2, s)));
            pool(&[held("2026-11-28", false, 100, 6, plain), second])
        };
        let (plain, lifted) = (lifted(0), lifted(lift));
        for (a, b) in plain.pairs.iter().zip(&lifted.pairs) {
            prop_assert!((a.all.mean - b.all.mean).abs() < 1e-9, "{} {}", a.words, b.words);
            prop_assert_eq!(a.p.is_some(), b.p.is_some());
            prop_assert!(a.p.zip(b.p).is_none_or(|(a, b)| (a - b).abs() < 1e-9));
        }
        for (a, b) in plain.together.iter().zip(&lifted.together) {
            let p = |t: &Together| t.by_points.unwrap().p;
            prop_assert!((p(a) - p(b)).abs() < 1e-9);
        }
    }
}

#[test]
fn teas_are_matched_by_leaf_and_way_and_not_by_code_or_name() {
    let pool = pool(&[held("2026-11-28", false, 100, 6, plain), held("2026-12-05", false, 300, 6, plain)]);
    assert_eq!(pool.ways.len(), 3);
    assert_eq!(pool.ways[0].way.known.as_ref().unwrap().names, ["Slope, long 100", "Slope, long 300"]);
    assert_eq!(pool.ways[0].attributes[0].steeps[0].figures.n, 12);
    let pair = &pool.pairs[0];
    assert!(pair.same_leaf && pair.shown() && pair.all.mean > 1.0, "{pair:?}");
    assert_eq!((pair.all.n, pair.classes.len(), pair.favours), (12, 2, Some(pairs::Steeps::Longer)));
    assert_eq!((pair.classes[0].so_far.n, pair.classes[1].so_far.n), (6, 12));
}

#[test]
fn one_class_and_several_mean_the_same_by_the_same_way() {
    let tea =
        ::class::Tea { leaf: "Lantern slope".into(), ..class("2026-11-28", false, 100).teas[0].clone() };
    let vessel = |mass_g| Some(Vessel { material: Material::Glass, mass_g });
    let (bare, glass) = (tea.clone(), ::class::Tea { vessel: vessel(200.0), ..tea.clone() });
    for (one, other, same) in [
        (&bare, bare.clone(), true),
        (&bare, glass.clone(), true),
        (&glass, ::class::Tea { vessel: vessel(90.0), ..tea.clone() }, false),
        (&bare, ::class::Tea { rinse_s: Some(5), ..tea.clone() }, false),
        (&bare, ::class::Tea { steep_s: vec![45, 61], ..tea.clone() }, false),
    ] {
        let mut class = class("2026-11-28", false, 100);
        let spelt = |tea: &::class::Tea, leaf: &str, code| ::class::Tea {
            leaf: leaf.into(),
            code: Code::new(code),
            ..tea.clone()
        };
        class.teas = vec![spelt(one, "Lantern Slope", 100), spelt(&other, "LANTERN slope", 101)];
        let room = Room::replay(entries(class, 1, vec![Event::Closed])).unwrap();
        let found = crate::summarise(&room, room.last_at).findings.figures.ways;
        assert_eq!(found.iter().map(|two| two.same_way).collect::<Vec<_>>(), [same], "{other:?}");
        let (ways, _) = ways::ways(&[&ClassScores::of(&room)]);
        assert_eq!(ways.len(), if same { 1 } else { 2 }, "{other:?}");
    }
}

#[test]
fn a_taster_of_a_tea_has_a_mean_from_half_of_the_steeps_that_the_class_scored() {
    let mut long = class("2026-11-28", false, 100);
    long.teas[0].steep_s = vec![45; 6];
    let seated = |n| Event::Seated {
        seat: seat(n),
        name: format!("{n}"),
        token: Token(Uuid::nil()),
        pourer: None,
        role: protocol::Role::Scores,
    };
    // The sixth steep is scored by nobody.
    let scored = [(0, 1..=5), (1, 1..=3), (2, 1..=2)].into_iter().flat_map(|(n, steeps)| {
        let one = move |steep: u32| {
            let score = score(u128::from(n) << 8 | u128::from(steep), 100, steep, 1, 5, None);
            Event::Scored { seat: seat(n), score, on_paper: false }
        };
        steeps.map(one)
    });
    let events: Vec<Event> = (0..3).map(seated).chain(scored).collect();
    let digest = Digest::of(&scores(entries(long, 1, events)));
    let class = Class { digest: &digest, ways: vec![0, 1, 2], scales: vec![0, 1, 2] };
    let of_first_tea: Vec<Option<f64>> =
        tasters::compared(&[class], &[0], 0).tasters.iter().map(|taster| taster.means[0]).collect();
    assert_eq!(of_first_tea, [Some(5.0), Some(5.0)], "five and three of five, and not two");
    assert_eq!(digest.cups[0][0][0].figures.unwrap().n, 3, "every score counts in the figures of its cup");
}

#[test]
fn what_is_blind_in_its_ledger_is_joined_with_nothing_and_named_nowhere() {
    let pool = pool(&[held("2026-11-28", false, 100, 6, plain), held("2026-12-05", true, 300, 6, plain)]);
    assert_eq!(pool.ways.len(), 6);
    assert_eq!(
        pool.classes[1].still_blind.iter().map(ToString::to_string).collect::<Vec<_>>(),
        ["300", "301", "302"]
    );
    let page = serde_json::to_string(&pool).unwrap();
    assert!(page.contains("Slope, long 100") || page.contains("Lantern Slope"));
    assert!(!page.contains("long 300") && !page.contains("short 300"));
    let coded: Vec<&Pair> = pool.pairs.iter().filter(|p| p.first > 3).collect();
    assert_eq!(coded.len(), 3, "compared within their class");
    assert!(coded.iter().all(|p| !p.same_leaf && p.words.contains("(blind in class 2)")));
}

#[test]
fn the_votes_say_which_way_a_steep_should_go() {
    let pool = pool(&[held("2026-11-28", false, 100, 6, plain), held("2026-12-05", false, 300, 6, plain)]);
    let of = |way: usize| pool.rules.iter().find(|r| (r.way, r.steep) == (way, 1)).unwrap();
    assert_eq!((of(1).favours, of(1).steep_s, of(1).n), (Hint::Shorten, Some(45), 12));
    assert_eq!((of(2).favours, of(2).counts), (Hint::Leave, [0, 0, 12, 0, 0]));
    assert_eq!(of(3).favours, Hint::TooFewToTell);
    assert!(
        of(1).words.contains("shorten (0 thin, 0 right, 12 strong; exact sign test, n 12, p"),
        "{}",
        of(1).words
    );
}

/// Seven of eight in one class find a steep too thin, all eight of the other just right: together they lean, and are not alike.
#[test]
fn votes_that_the_classes_do_not_share_are_told_class_by_class() {
    let class = |first: u16, thin: u8| {
        held("2026-11-28", false, first, 8, move |n, _, _| Some((5, if n < thin { -1 } else { 0 })))
    };
    let pool = pool(&[class(100, 7), class(200, 0)]);
    let rule = &pool.rules[0];
    assert_eq!((rule.favours, rule.classes.len()), (Hint::Lengthen, 2));
    assert!(rule.p <= 0.05 && rule.p_of_all > 0.05, "{rule:?}");
    for words in [
        "the votes lean to too thin, which is not shown (7 thin, 9 right, 0 strong",
        "do not vote alike",
        "class 2 0 thin, 8 right",
    ] {
        assert!(rule.words.contains(words), "{}", rule.words);
    }
    // Of many steeps some lean one way by chance: that is told with the steep and nowhere else.
    assert!(pool.brief.iter().all(|line| !line.text.contains("by the strength votes")), "{:?}", pool.brief);
}

#[test]
fn too_few_are_said_in_words() {
    let one = held("2026-11-28", false, 100, 1, plain);
    let pool = pool(&[one]);
    assert!(
        pool.pairs.iter().all(|p| p.p.is_none() && p.words.contains("too few to tell")),
        "{:?}",
        pool.pairs
    );
    assert!(pool.together.iter().all(|t| t.by_points.is_none() && t.words.contains("too few to tell")));
    assert!(super::pool(&[]).pairs.is_empty());
}

#[test]
fn the_next_class_compares_what_is_open_and_is_accepted_by_the_reader() {
    let classes = [held("2026-11-28", false, 100, 6, plain), held("2026-12-05", false, 300, 6, plain)];
    let records: Vec<&ClassScores> = classes.iter().map(|(r, _)| r).collect();
    let text = next::next(&pool(&classes), &spots(&classes, Some(USUAL)), &records, "2027-01-09", None)
        .unwrap()
        .text;
    insta::assert_snapshot!(&text);
    let class = read::class(&text).unwrap();
    let steeps: Vec<Vec<u32>> = class.teas.iter().map(|t| t.steep_s.clone()).collect();
    assert_eq!(steeps[..2], [vec![45, 60], vec![35, 40]], "as it was, and with the times that are advised");
    assert_eq!(rest_of(&class), rest_of(&records[1].class), "everything else as in the last class");
}

/// A class without what the next one has of its own.
fn rest_of(class: &::class::Class) -> ::class::Class {
    ::class::Class { title: String::new(), date: String::new(), teas: Vec::new(), ..class.clone() }
}

#[test]
fn a_class_with_kettles_vessels_and_breaks_goes_into_the_next_as_it_is() {
    let text = include_str!("../../../../demo/six-teas.toml");
    let class = read::class(text).unwrap_or_else(|f| panic!("{f:?}")).with_codes(1);
    let opened = ::class::Class { blind: false, ..class };
    let record = scores(entries(opened.clone(), 1, Vec::new()));
    let teas: Vec<Written> = opened
        .teas
        .iter()
        .map(|t| Written { tea: ::class::Tea { code: None, ..t.clone() }, why: "open".into() })
        .collect();
    let again = read::class(&class_file(&[], &opened, &teas)).unwrap_or_else(|f| panic!("{f:?}"));
    assert_eq!(rest_of(&again), rest_of(&record.class));
    assert_eq!(again.teas, teas.into_iter().map(|t| t.tea).collect::<Vec<_>>());
}

#[test]
fn when_nothing_may_be_named_no_next_class_is_written() {
    let blind = [held("2026-11-28", true, 100, 6, plain)];
    let records: Vec<&ClassScores> = blind.iter().map(|(r, _)| r).collect();
    let why =
        next::next(&pool(&blind), &spots(&blind, Some(USUAL)), &records, "2027-01-09", None).unwrap_err();
    assert!(why.contains("reveal them first"), "{why}");
}

/// Votes as in `plain`, and a liking that tells no tea from another, so that all of them are open.
fn level(n: u8, tea: u16, steep: u32) -> Option<(i32, i8)> {
    let (_, strength) = plain(n, tea, steep)?;
    Some((4 + i32::from((n + tea as u8) % 3), strength))
}

#[test]
fn the_next_class_begins_with_the_seconds_that_were_served() {
    use ::class::course::{Act, Timed};
    let mut classes = [held("2026-11-28", false, 300, 6, level)];
    let record = &mut classes[0].0;
    let timed = |code| Timed { code, round: 1, steep_s: 77 };
    let steeps = record.class.coded().map(|(code, _)| timed(code)).collect();
    record.course = record.course.after(&record.class, &Act::Timed { steeps });
    let records: Vec<&ClassScores> = classes.iter().map(|(r, _)| r).collect();
    let text = next::next(&pool(&classes), &spots(&classes, Some(USUAL)), &records, "2027-01-09", None)
        .unwrap()
        .text;
    let class = read::class(&text).unwrap();
    let was = |tea: &&::class::Tea| records[0].class.teas.iter().any(|old| tea.name.starts_with(&old.name));
    let first: Vec<u32> = class.teas.iter().filter(was).map(|tea| tea.steep_s[0]).collect();
    assert!(!first.is_empty() && first.iter().all(|s| [57, 77, 97].contains(s)), "{first:?}");
}

#[test]
fn a_pot_that_was_forgotten_is_no_wish_of_the_next_class_nor_are_the_votes_on_it() {
    use ::class::course::Act;
    let mut classes = [held("2026-11-28", false, 300, 6, level)];
    let record = &mut classes[0].0;
    let (code, tea) = record.class.coded().next().unwrap();
    let (name, cued_s) = (tea.name.clone(), tea.steep_s[0]);
    record.course = record.course.after(&record.class, &Act::Sat { code, round: 1, steep_s: 680 });
    let pool = pool(&classes);
    assert!(
        pool.rules.iter().any(|rule| rule.steep_s == Some(680) && rule.favours == Hint::Shorten),
        "{:?}",
        pool.rules
    );
    let records: Vec<&ClassScores> = classes.iter().map(|(r, _)| r).collect();
    let text = next::next(&pool, &spots(&classes, Some(USUAL)), &records, "2027-01-09", None).unwrap().text;
    let class = read::class(&text).unwrap();
    let again: Vec<u32> =
        class.teas.iter().filter(|tea| tea.name.starts_with(&name)).map(|t| t.steep_s[0]).collect();
    assert_eq!(again, [cued_s], "six tasters show nothing that would change a steep: {text}");
    let aside = format!(
        "# Steep 1 sat 680 s, as was told afterwards: a slip, left aside with the votes on it; the {cued_s} s it was cued for stand \
         here."
    );
    assert!(text.contains(&aside), "{text}");
}

/// One tea's second steep is done again in a third round, another tea is steeped once more: all six score both.
#[test]
fn steeps_done_again_or_once_more_are_left_out_and_it_is_said_how_many() {
    use ::class::course::Act;
    let plain_class = held("2026-11-28", false, 100, 6, plain);
    let code = |n| Code::new(n).unwrap();
    let added = |n, steep| Event::Steered {
        act: Act::Added { code: code(n), round: 3, steep, steep_s: 50, temp_c: 95.0 },
        suggested: Vec::new(),
        timetable: None,
    };
    let mut entries = fixtures::several::held("2026-12-05", false, 300, 6, plain);
    let mut more: Vec<Event> = vec![added(300, 2), added(301, 3)];
    for (n, tea) in (0..6).flat_map(|n| [(n, 300), (n, 301)]) {
        let score = score(u128::from(n) << 32 | u128::from(tea), tea, 3, 1, 9, Some(2));
        more.push(Event::Scored { seat: seat(n), score, on_paper: false });
    }
    let from = entries.len() as u64 + 1;
    entries.extend(
        (from..).zip(more).map(|(seq, event)| Entry::new(seq, protocol::HostTime(seq as i64), event)),
    );
    let record = scores(entries);
    let digest = Digest::of(&record);
    let with = pool(&[plain_class.clone(), (record, digest)]);
    let without = pool(&[plain_class, held("2026-12-05", false, 300, 6, plain)]);
    assert_eq!(
        (&with.together, &with.pairs, &with.rules),
        (&without.together, &without.pairs, &without.rules)
    );
    assert_eq!(with.classes[1].sheets, without.classes[1].sheets + 12);
    assert_eq!(
        say::beyond::sentence(&with).unwrap(),
        "Left out are 12 sheets (300 steep 2 again in class 2 and 301 steep 3 once more in class 2): other classes have none to go with \
         them."
    );
    assert_eq!(say::beyond::sentence(&without), None);
}

#[test]
fn a_rehearsal_beside_classes_is_in_no_figure() {
    let classes = || vec![held("2026-11-28", false, 100, 6, plain), held("2026-12-05", false, 300, 6, plain)];
    let mut with = classes();
    let mut rehearsed =
        held("2026-12-01", false, 500, 4, |_, tea, _| Some((1 + 4 * i32::from(tea == 1), -2)));
    rehearsed.0.rehearsal = true;
    with.push(rehearsed.clone());
    let (with, without) = (pool(&with), pool(&classes()));
    assert_eq!(
        (&with.brief, &with.together, &with.pairs, &with.rules, &with.strength),
        (&without.brief, &without.together, &without.pairs, &without.rules, &without.strength)
    );
    assert_eq!(with.counted().count(), 2);
    assert_eq!(
        say::rehearsed::sentence(&with).unwrap(),
        "Class 3 was a rehearsal and is left out of all figures."
    );
    let alone = pool(&[rehearsed]);
    assert!(!alone.ways[0].attributes.is_empty() && alone.counted().count() == 1, "{alone:?}");
    assert_eq!(
        say::rehearsed::sentence(&alone).unwrap(),
        "Every class was a rehearsal: what is said of the teas means nothing."
    );
    assert_eq!(say::rehearsed::sentence(&without), None);
}
