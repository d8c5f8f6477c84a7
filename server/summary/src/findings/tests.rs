//! What is found in classes whose answers are known, in odd ones, and in any.

use super::*;
use crate::find::differences::DecidingTest;
use crate::find::differences::{Difference, differences};
use crate::sentence::About;
use crate::summarise;
use fixtures::{At, Filled, class_file, evening, room};
use proptest::prelude::*;

const LIKING: &str = "[sheet]\nattributes = [\"liking\"]";

fn near(ours: f64, known: f64, tolerance: f64) {
    assert!((ours - known).abs() <= tolerance, "{ours} is not {known}");
}

fn found(room: &Room) -> Findings {
    find(room, room.last_at)
}

fn said(found: &Findings, about: About) -> Vec<&str> {
    found.sentences.iter().filter(|s| s.about == about).map(|s| s.text.as_str()).collect()
}

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

/// The synthetic example of the reference values: 8 tasters, 4 teas, computed with scipy 1.17.1.
#[test]
fn the_reference_table_gives_its_figures() {
    let rows = ["7563", "8654", "6675", "9744", "7853", "6554", "8762", "7645"];
    let room = table(LIKING, &rows, &[]);
    let found = found(&room);
    assert_eq!(found.figures.differences.len(), 1 + 1, "over the steeps and at its one steep");
    let d = &found.figures.differences[0];
    let friedman = d.friedman.get().unwrap();
    assert_eq!(friedman.rank_sums, [29.5, 23.0, 18.0, 9.5]);
    near(friedman.chi_squared, 16.636_36, 5e-6);
    near(friedman.p, 0.000_839_47, 5e-9);
    let ranks = d.rank_sums.get().unwrap();
    near(ranks.least_significant_difference, 10.12, 0.005);
    near(ranks.family_difference, 13.27, 0.005);
    let shown: Vec<bool> = ranks.pairs.iter().map(|p| p.p_family <= 0.05).collect();
    assert_eq!(shown, [false, false, true, false, true, false], "20 and 13.5 pass 13.27");
    let test = d.test.get().unwrap();
    assert_eq!((test.name, test.n, test.family), (DecidingTest::FriedmanF, 8, 1));
    assert!(test.p < friedman.p, "the F form is the sharper one here");
    let sentence = &found.sentences[0];
    assert!(sentence.shown && sentence.text.starts_with("liking: the teas differ (8 tasters, 4 teas;"));
    assert!(sentence.text.contains("211 is above 250 by 3.5 points"), "{}", sentence.text);
}

#[test]
fn who_ranks_all_alike_is_counted_exactly() {
    let found = found(&table(LIKING, &["975", "864", "753", "986"], &[]));
    let friedman = found.figures.differences[0].friedman.get().unwrap();
    assert_eq!((friedman.iman_davenport, friedman.kendall_w), (None, 1.0));
    // Three others draw the first one's order out of six.
    near(friedman.p_all_alike.unwrap(), 1.0 / 216.0, 1e-12);
    assert_eq!(found.figures.differences[0].test.get().unwrap().name, DecidingTest::FriedmanExact);
}

#[test]
fn two_teas_are_compared_by_signed_ranks_and_five_tasters_are_too_few() {
    let found = found(&table(LIKING, &["97", "86", "75", "92", "61"], &[0, 1]));
    let test = found.figures.differences[0].test.get().unwrap();
    assert_eq!((test.name, test.p), (DecidingTest::WilcoxonExact, 0.0625));
    assert!(found.sentences.iter().all(|s| !s.shown));
    assert!(said(&found, About::Ways).is_empty(), "all the class had is one leaf, and it is said once");
    let ways = said(&found, About::Difference)[0];
    assert!(ways.starts_with("liking: no difference between the 2 ways of Leaf 1 is shown"), "{ways}");
    assert!(
        ways.contains("Too few to tell: even if all 5 tasters agreed, that gave p 0.062; 6 are needed."),
        "{ways}"
    );
    assert!(
        said(&found, About::Class)[0]
            .contains("no signed rank test reaches 5 %: even if all agree, it gives p 0.062")
    );
}

#[test]
fn holm_goes_over_attributes_for_the_whole_and_over_attributes_and_steeps_for_single_steeps() {
    let found = found(&evening(&[]));
    let over: Vec<_> = found.figures.differences.iter().filter(|d| d.steep.is_none()).collect();
    let single: Vec<_> = found.figures.differences.iter().filter(|d| d.steep.is_some()).collect();
    assert_eq!((over.len(), single.len()), (2, 6));
    for (tests, family) in [(over, 2), (single, 6)] {
        assert!(tests.iter().all(|d| d.test.get().is_some_and(|t| t.family == family && t.p_holm >= t.p)));
    }
}

#[test]
fn a_taster_with_a_gap_is_named_and_with_many_gaps_everybody_counts() {
    let few = found(&table(LIKING, &["7563", "8654", "6675", "9744", "7853", "655-", "8762", "7645"], &[]));
    let d = &few.figures.differences[0];
    assert_eq!((d.tasters, d.complete, d.values, d.many_missing), (8, 7, 31, false));
    assert_eq!(d.left_out.iter().map(|l| l.seat.as_str()).collect::<Vec<_>>(), ["Filip"]);
    assert!(few.sentences[0].text.contains("Left out, since they have no score for every tea: Filip."));
    assert_eq!((&d.skillings_mack, &d.additive), (&None, &None));

    let many = found(&table(LIKING, &["75-3", "8-54", "6675", "97-4", "7853", "655-", "-762", "7645"], &[]));
    let d = &many.figures.differences[0];
    assert!(d.many_missing && d.missing_share > 0.15);
    assert_eq!(d.test.get().unwrap().name, DecidingTest::AdditivePermuted);
    assert_eq!(d.test.get().unwrap().n, 8, "nobody is left out");
    let additive = d.additive.as_ref().unwrap().get().unwrap();
    assert_eq!(additive.teas.iter().map(|t| t.n).collect::<Vec<_>>(), [7, 7, 6, 7]);
    assert!(many.sentences[0].text.contains("by permutations, since many scores are missing"));
    assert!(!many.sentences[0].text.contains("Left out"));
}

#[test]
fn while_teas_are_blind_nothing_tells_that_they_belong_together() {
    for revealed in [vec![], vec![0], vec![0, 2]] {
        let room = evening(&revealed);
        let summary = summarise(&room, room.last_at);
        assert!(summary.findings.figures.ways.is_empty(), "{revealed:?}");
        assert!(summary.findings.figures.leaves.is_empty(), "{revealed:?}");
        let page = serde_json::to_string(&summary).unwrap();
        for tea in (0..4).filter(|tea| !revealed.contains(tea)) {
            assert!(!page.contains(&format!("Tea {}", tea + 1)), "{revealed:?}");
        }
        for (leaf, teas) in [("Leaf 1", [0, 1]), ("Leaf 2", [2, 3])] {
            assert_eq!(page.contains(leaf), teas.iter().any(|t| revealed.contains(t)), "{revealed:?}");
        }
        let alone = summary.findings.figures.described.iter().filter(|d| d.leaf.is_some() || d.way.is_some());
        assert!(alone.clone().all(|d| d.scores <= 8 * 3 * revealed.len()), "only what is revealed counts");
        assert!(summary.findings.figures.strength.unwrap().cups.iter().all(|cup| {
            cup.steep_s.is_some() == revealed.iter().any(|&t| room.class.teas[t].code == Some(cup.tea))
        }));
    }
    assert_eq!(found(&evening(&[0, 1])).figures.ways.len(), 1);
    assert_eq!(found(&evening(&[0, 1, 2, 3])).figures.ways.len(), 2);
}

/// Four codes that are two teas served twice each.
fn twice() -> String {
    let text = class_file(4, 2, LIKING);
    text.replace("leaf_g = 5", "leaf_g = 3")
}

#[test]
fn a_tea_under_two_codes_shows_interaction_and_how_tasters_repeat() {
    let score = |At { seat, tea, steep }: At| {
        let off = (seat * 7 + tea * 3 + steep as usize).is_multiple_of(4) as i32;
        let values = vec![Some(4 + 2 * (tea as i32 / 2) + (seat % 3) as i32 + off)];
        Some(Filled { values, ..Filled::default() })
    };
    let blind = found(&room(&twice(), 6, &[0, 1, 2], score));
    assert!(blind.figures.differences[0].repeated.is_some(), "one leaf is open already");
    assert_eq!(
        blind.figures.differences[0].repeated.as_ref().unwrap().get(),
        None,
        "but one alone is no comparison"
    );
    let open = found(&room(&twice(), 6, &[0, 1, 2, 3], score));
    let repeated = open.figures.differences[0].repeated.as_ref().unwrap().get().unwrap();
    assert_eq!((repeated.tasters, repeated.groups.len(), repeated.interaction.df), (6, 2, 5));
    assert!(repeated.teas.p < 0.001 && repeated.error.df == 12, "{repeated:?}");
    assert!(open.figures.ways.iter().all(|ways| ways.same_way));
    let page = &open.figures.seats[0].attributes[0];
    assert_eq!(page.repeatability.as_ref().unwrap().get().unwrap().df, 4, "two teas, two steeps, once more");
    assert!(page.verdict.is_some());
    assert!(found(&room(&twice(), 6, &[], score)).figures.seats[0].attributes[0].repeatability.is_none());
}

#[test]
fn a_taster_with_less_than_half_of_a_teas_steeps_has_no_mean_of_it() {
    let class = class_file(2, 3, LIKING);
    let found = found(&room(&class, 2, &[], |At { seat, tea, steep }| {
        (seat == 0 || tea == 1 || steep == 1)
            .then(|| Filled { values: vec![Some(5 + steep as i32)], ..Filled::default() })
    }));
    let means: Vec<_> =
        found.figures.means.iter().map(|m| (m.seat.as_str(), m.tea.to_string(), m.value)).collect();
    assert_eq!(means, [("Ann", "211".into(), 7.0), ("Ann", "224".into(), 7.0), ("Bob", "224".into(), 7.0)]);
    assert_eq!(found.figures.differences[0].left_out[0].seat, "Bob");
    assert_eq!(found.figures.dots.len(), 6 + 4, "every single score is there all the same");
}

/// Totals of the reference values: scores (92, 88, 90, 91, 86) come to 90.25 by the row for oolong.
#[test]
fn totals_follow_the_weights_and_say_where_they_come_from() {
    let scale = |name: &str, max: i32| format!("{{ name = \"{name}\", min = 0, max = {max} }}");
    let names = ["appearance", "liquor colour", "aroma", "taste", "infused leaf"];
    let attributes: Vec<String> = names.iter().map(|name| scale(name, 100)).collect();
    let sheet = |row: &str| format!("[sheet]\nattributes = [{}]\nweights = \"{row}\"", attributes.join(", "));
    let score = |at: At| {
        let full = [92, 88, 90, 91, 86].map(Some).to_vec();
        let values = if at.seat == 1 { vec![Some(92), None] } else { full };
        Some(Filled { values, ..Filled::default() })
    };
    let oolong = found(&room(&class_file(2, 1, &sheet("oolong")), 3, &[], score)).figures.totals.unwrap();
    assert_eq!((oolong.teas[0].n, oolong.teas[0].without), (2, 1), "a sheet with a blank has no total");
    near(oolong.teas[0].mean.unwrap(), 90.25, 1e-9);
    assert_eq!(oolong.source, "the row \"oolong\" of GB/T 23776-2018, as quoted by others");
    assert!(oolong.weights.iter().all(|w| w.stretched_from.is_none()));
    let green = found(&room(&class_file(2, 1, &sheet("green")), 3, &[], score)).figures.totals.unwrap();
    near(green.teas[0].mean.unwrap(), 90.20, 1e-9);
    assert_eq!(green.source, "weights for \"green\": common practice, no source");

    let own = "[sheet]\nattributes = [\"aroma\", \"taste\"]\nweights = { aroma = 25, taste = 75 }";
    let score = |_: At| Some(Filled { values: vec![Some(1), Some(7)], ..Filled::default() });
    let own = found(&room(&class_file(2, 1, own), 3, &[], score)).figures.totals.unwrap();
    near(own.teas[0].mean.unwrap(), 0.75 * 75.0, 1e-9);
    assert_eq!(own.weights[0].stretched_from, Some([1, 9]));
    assert_eq!(found(&evening(&[])).figures.totals.unwrap().source, "the class's own weights");
    assert_eq!(found(&table(LIKING, &["12", "21"], &[])).figures.totals, None);
}

/// The worked example of the reference values: 20 people, 3 too thin, 11 just right, 6 too strong.
#[test]
fn votes_advise_the_steep_and_a_wrong_strength_costs_liking() {
    let liking = [7, 6, 7, 8, 7, 8, 7, 7, 8, 6, 7, 8, 7, 7, 5, 6, 5, 4, 6, 5];
    let vote = |seat: usize| [-1, 0, 1][usize::from(seat >= 3) + usize::from(seat >= 14)];
    let found = found(&room(&class_file(1, 2, LIKING), 20, &[0], |At { seat, steep, .. }| {
        let strength = if steep == 1 { vote(seat) } else { -1 };
        Some(Filled { values: vec![Some(liking[seat])], strength: Some(strength), ..Filled::default() })
    }));
    let strength = found.figures.strength.as_ref().unwrap();
    let penalty = strength.cups[0].penalty.get().unwrap();
    assert_eq!((penalty.n, penalty.just_right, strength.cups[0].counts), (20, 11, [0, 3, 11, 6, 0]));
    let strong = penalty.too_strong.as_ref().unwrap();
    near(strong.drop, 2.1061, 5e-5);
    near(strong.test.as_ref().unwrap().get().unwrap().t, 5.7866, 5e-5);
    assert!(strong.large_enough && strong.p_holm.is_some());
    let thin = penalty.too_thin.as_ref().unwrap();
    assert!(!thin.large_enough && thin.p_holm.is_none(), "15 % are too few to look at");
    assert!(strength.cups[1].penalty.get().is_none(), "nobody finds it just right");
    assert!(strength.over_steeps[0].penalty.get().unwrap().too_strong.as_ref().unwrap().test.is_none());
    let said = said(&found, About::Strength);
    assert!(
        said[0].starts_with("211 Tea 1: steep it longer next time. Over steeps 1 and 2, 14 of 20 tasters find it rather too thin"),
        "{said:?}"
    );
    assert!(said[1].contains("those who find it too strong like it less by 2.1 points"), "{said:?}");
    assert_eq!(said.len(), 2, "{said:?}");
}

#[test]
fn the_lines_in_short_tell_what_is_shown_what_is_not_and_what_to_do() {
    let said = found(&evening(&[0, 1, 2, 3])).brief;
    let texts: Vec<&str> = said.iter().map(|line| line.text.as_str()).collect();
    insta::assert_snapshot!("in-short", texts.join("\n"));
    let blind = found(&evening(&[])).brief;
    let hidden = |text: &str| text.contains("Tea ") || text.contains("Leaf ");
    assert!(blind.iter().all(|line| !hidden(&line.text) && !hidden(&line.short)), "{blind:?}");
    let nobody = room(&class_file(2, 1, LIKING), 2, &[], |_| None);
    assert_eq!(found(&nobody).brief, []);
}

#[test]
fn a_word_ticked_at_any_steep_counts_once_for_a_tea() {
    let sheet = "[sheet]\nattributes = [\"liking\"]\nwords = [\"floral\", \"smoky\"]";
    let found = found(&room(&class_file(3, 2, sheet), 8, &[], |At { seat, tea, steep }| {
        let floral = tea == 1 && (steep == 1 || seat % 2 == 0);
        let words = if floral { vec!["floral".to_string()] } else { Vec::new() };
        Some(Filled { values: vec![Some(5)], words, strength: None })
    }));
    let counts: Vec<_> =
        found.figures.words.iter().map(|w| w.teas.iter().map(|t| t.n).collect::<Vec<_>>()).collect();
    assert_eq!(counts, [[0, 8, 0], [0, 0, 0]]);
    let said = said(&found, About::Words);
    assert!(said.iter().any(|text| text.contains("floral") && text.contains("224")), "{said:?}");
}

#[test]
fn who_scores_high_is_told_kindly_and_only_on_their_own_page() {
    let found = found(&evening(&[]));
    let edda = &found.figures.seats[4];
    assert_eq!(edda.seat, "Edda");
    assert!(edda.attributes.iter().all(|a| a.bias.get().unwrap().leans == "high"));
    assert!(edda.sentences.iter().any(|s| s.text.contains("neither right nor wrong")));
    assert!(found.sentences.iter().all(|s| s.about != About::Seat && !s.text.contains("Edda")));
}

/// Nothing but chance: over many classes a difference is claimed in about one of twenty at most.
#[test]
fn chance_alone_is_seldom_called_a_difference() {
    let (mut rng, mut claimed) = (fastrand::Rng::with_seed(7), 0);
    const CLASSES: usize = 200;
    for _ in 0..CLASSES {
        let scores: Vec<i32> = (0..8 * 3 * 2).map(|_| rng.i32(1..=9)).collect();
        let sheet = "[sheet]\nattributes = [\"aroma\", \"liking\"]\nstrength = false";
        let room = room(&class_file(3, 1, sheet), 8, &[], |At { seat, tea, .. }| {
            let values = (0..2).map(|k| Some(scores[(seat * 3 + tea) * 2 + k])).collect();
            Some(Filled { values, ..Filled::default() })
        });
        let data = Data::of(&room, room.last_at);
        let shown =
            |d: &Difference| d.steep.is_none() && d.test.get().is_some_and(|t| t.p_holm <= SIGNIFICANCE);
        claimed += usize::from(differences(&data).iter().any(shown));
    }
    // 5 % of 200 is 10; three standard deviations above are 19.
    assert!((1..=19).contains(&claimed), "{claimed} of {CLASSES}");
}

/// Numbers that are none, in the figures themselves: JSON would hide them as null.
fn sound(found: &Findings) -> Result<(), TestCaseError> {
    let written = format!("{found:?}");
    let words = written.split(|c: char| !(c.is_alphanumeric() || c == '.' || c == '-'));
    for word in words {
        prop_assert!(!matches!(word, "NaN" | "inf" | "-inf"), "{}", written);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn whatever_is_scored_gives_finite_figures_or_words(
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
        sound(&summary.findings)?;
        prop_assert!(!summary.findings.sentences.is_empty());
    }
}

#[test]
fn the_exact_p_decides_in_a_small_class() {
    let room = table(LIKING, &["123", "123", "132", "132"], &[]);
    let summary = summarise(&room, room.last_at);
    let test = summary.findings.figures.differences[0].test.get().unwrap();
    assert_eq!(test.name, DecidingTest::FriedmanExact);
    near(test.p, 0.069_444_44, 1e-8);
    assert!(!summary.findings.sentences[0].shown, "the F form alone would have called it a difference");
}
