//! What the table must come near to: common practice, no source; within 20 % in dose and seconds and 5 °C.

use super::*;
use crate::start::leaf::Oxidation;

fn leaf(form: Form, oxidation: Oxidation) -> Leaf {
    Leaf { form, oxidation, ..Leaf::named("A") }
}

fn begin(leaf: &Leaf, sitting: Sitting) -> Start {
    start(&Table::compiled_in().unwrap(), leaf, sitting)
}

fn near(start: &Start, dose: f64, temp_c: std::ops::RangeInclusive<f64>, steep_s: &[u32]) {
    assert!((start.dose / dose - 1.0).abs() <= 0.2, "{start:?}");
    let warm = temp_c.start() - 5.0..=temp_c.end() + 5.0;
    assert!(warm.contains(&start.temp_c) && warm.contains(&start.last_c), "{start:?}");
    let all_s = start.all_s();
    assert!(all_s.len() >= steep_s.len(), "{start:?}");
    for (n, (&is, &wanted)) in all_s.iter().zip(steep_s).enumerate() {
        assert!((f64::from(is) / f64::from(wanted) - 1.0).abs() <= 0.2, "steep {}: {is} for {wanted}", n + 1);
    }
}

#[test]
fn a_short_sitting_begins_with_3_g_at_95_and_45_60_90_120_s() {
    for form in [Form::Twisted, Form::Open, Form::Compressed] {
        for oxidation in [Oxidation::Half, Oxidation::Highly, Oxidation::Fully] {
            near(&begin(&leaf(form, oxidation), Sitting::Short), 3.0, 95.0..=95.0, &[45, 60, 90, 120]);
        }
    }
}

#[test]
fn a_short_sitting_puts_60_s_in_front_for_ball_rolled_leaf() {
    for oxidation in [Oxidation::Lightly, Oxidation::Half, Oxidation::Highly, Oxidation::Fully] {
        let start = begin(&leaf(Form::BallRolled, oxidation), Sitting::Short);
        near(&start, 3.0, 95.0..=95.0, &[60, 45, 60, 90, 120]);
        assert_eq!(start.steeps, 5);
    }
}

#[test]
fn a_long_sitting_begins_with_6_g_at_95_and_15_s_and_5_more_each_steep() {
    for form in [Form::Twisted, Form::Open, Form::Compressed] {
        near(
            &begin(&leaf(form, Oxidation::Half), Sitting::Long),
            6.0,
            95.0..=95.0,
            &[15, 20, 25, 30, 35, 40, 45, 50],
        );
    }
}

#[test]
fn a_long_sitting_gives_ball_rolled_leaf_25_s_first() {
    for oxidation in [Oxidation::Lightly, Oxidation::Half, Oxidation::Highly, Oxidation::Fully] {
        near(
            &begin(&leaf(Form::BallRolled, oxidation), Sitting::Long),
            6.0,
            95.0..=95.0,
            &[25, 20, 25, 30, 35],
        );
    }
}

#[test]
fn the_middle_way_takes_rolled_oolong_at_100_and_25_20_25_s() {
    for oxidation in [Oxidation::Lightly, Oxidation::Half, Oxidation::Highly] {
        for roasted in [false, true] {
            let leaf = Leaf { roasted, ..leaf(Form::BallRolled, oxidation) };
            near(&begin(&leaf, Sitting::Middle), 5.0, 100.0..=100.0, &[25, 20, 25, 30, 35, 40]);
        }
    }
}

#[test]
fn the_middle_way_takes_roasted_twisted_oolong_at_90_to_100_and_15_20_25_s() {
    for oxidation in [Oxidation::Half, Oxidation::Highly] {
        let start = begin(&Leaf { roasted: true, ..leaf(Form::Twisted, oxidation) }, Sitting::Middle);
        near(&start, 5.0, 90.0..=100.0, &[15, 20, 25, 30, 35, 40]);
        assert!((90.0..=100.0).contains(&start.temp_c));
    }
}

#[test]
fn the_middle_way_takes_open_highly_oxidised_oolong_at_80_to_90_and_20_25_30_s() {
    let start = begin(&leaf(Form::Open, Oxidation::Highly), Sitting::Middle);
    near(&start, 5.0, 80.0..=90.0, &[20, 25, 30, 35, 40, 45]);
    assert!((80.0..=90.0).contains(&start.temp_c) && start.last_c <= 90.0);
}

#[test]
fn leaf_of_15_years_and_more_gets_boiling_water_and_a_rinse() {
    for (form, _) in <Form as crate::start::leaf::Choice>::ALL {
        for sitting in [Sitting::Short, Sitting::Middle, Sitting::Long] {
            for age_years in [15, 40] {
                let start = begin(&Leaf { age_years, ..leaf(*form, Oxidation::Half) }, sitting);
                assert_eq!(start.temp_c, 100.0);
                assert!(start.rinse_s.is_some());
            }
        }
    }
}

#[test]
fn rolled_roasted_and_aged_leaf_gets_hotter_water_and_delicate_or_green_leaf_cooler() {
    for sitting in [Sitting::Short, Sitting::Middle, Sitting::Long] {
        let plain = begin(&leaf(Form::Twisted, Oxidation::Half), sitting).temp_c;
        let of = |leaf: Leaf| begin(&leaf, sitting).temp_c;
        assert!(of(leaf(Form::BallRolled, Oxidation::Half)) > plain);
        assert!(of(Leaf { roasted: true, ..leaf(Form::Twisted, Oxidation::Half) }) > plain);
        assert!(of(Leaf { age_years: 8, ..leaf(Form::Twisted, Oxidation::Half) }) > plain);
        assert!(of(leaf(Form::Twisted, Oxidation::Lightly)) < plain);
        assert!(of(leaf(Form::Open, Oxidation::Highly)) < plain);
        let green = of(leaf(Form::Twisted, Oxidation::Green));
        assert!(green <= 85.0 && of(leaf(Form::Open, Oxidation::Green)) < green);
    }
}

#[test]
fn old_very_dry_dark_or_compressed_leaf_is_rinsed_and_other_leaf_is_not() {
    let rinsed = |leaf: Leaf| begin(&leaf, Sitting::Long).rinse_s.is_some();
    assert!(rinsed(Leaf { dry: true, ..leaf(Form::Twisted, Oxidation::Half) }));
    assert!(rinsed(Leaf { age_years: 6, ..leaf(Form::Twisted, Oxidation::Half) }));
    assert!(
        rinsed(leaf(Form::Open, Oxidation::PostFermented))
            && rinsed(leaf(Form::Compressed, Oxidation::Green))
    );
    assert!(!rinsed(leaf(Form::Twisted, Oxidation::Half)) && !rinsed(leaf(Form::Open, Oxidation::Green)));
}

#[test]
fn a_high_dose_is_flashed_and_rolled_leaf_still_opens_first() {
    let of = |form, dose| begin(&Leaf { dose: Some(dose), ..leaf(form, Oxidation::Half) }, Sitting::Long);
    assert_eq!(of(Form::Twisted, 8.0).all_s()[..4], [0, 0, 5, 10]);
    assert_eq!(of(Form::BallRolled, 10.0).all_s()[..4], [10, 0, 5, 10]);
    assert_ne!(of(Form::Twisted, 7.9).all_s()[0], 0);
}

#[test]
fn more_leaf_than_usual_steeps_shorter_and_less_leaf_longer() {
    let of = |dose| begin(&Leaf { dose, ..leaf(Form::Twisted, Oxidation::Half) }, Sitting::Middle).all_s();
    assert_eq!(of(None), of(Some(5.0)));
    assert!(of(Some(7.0)).iter().zip(of(None)).all(|(more, usual)| *more < usual));
    assert!(of(Some(3.0)).iter().zip(of(None)).all(|(less, usual)| *less > usual));
}

#[test]
fn the_water_gets_hotter_towards_the_end_and_never_hotter_than_boiling() {
    let start = begin(&leaf(Form::Twisted, Oxidation::Green), Sitting::Long);
    assert!(start.last_c > start.temp_c && start.ramp_from() > 1);
    assert_eq!(begin(&leaf(Form::BallRolled, Oxidation::Half), Sitting::Middle).last_c, 100.0);
}

#[test]
fn only_the_last_word_on_a_thing_is_given_as_the_reason() {
    let start = begin(&Leaf { roasted: true, ..leaf(Form::Open, Oxidation::Highly) }, Sitting::Middle);
    assert_eq!(start.because, ["hotter water for roasted leaf"]);
    assert!(begin(&leaf(Form::Twisted, Oxidation::Half), Sitting::Middle).because.is_empty());
}
