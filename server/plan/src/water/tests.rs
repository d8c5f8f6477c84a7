use super::*;
use proptest::prelude::*;

fn near(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} is not {expected} ± {tolerance}");
}

#[test]
fn water_boils_as_two_reference_libraries_say_at_every_altitude_of_the_table() {
    // Pressure: ISO 2533. Boiling point: CoolProp 8.0.0 and the Python package iapws 1.5.5, equal within
    // 0.001 K. The plan promises 0.1 °C; the table is printed to 0.01 hPa and 0.01 °C.
    let table = [
        (0.0, 1013.25, 99.97),
        (500.0, 954.61, 98.31),
        (1000.0, 898.75, 96.65),
        (1500.0, 845.56, 94.98),
        (2000.0, 794.95, 93.32),
        (2500.0, 746.83, 91.65),
        (3000.0, 701.09, 89.97),
        (4000.0, 616.40, 86.62),
        (5000.0, 540.20, 83.26),
    ];
    for (altitude_m, hpa, boiling) in table {
        near(pressure_at_hpa(altitude_m), hpa, 0.01);
        near(boiling_c(pressure_at_hpa(altitude_m)), boiling, 0.006);
    }
}

#[test]
fn the_saturation_equation_gives_its_own_published_check_values() {
    // IAPWS R7-97 (2012), table 36; kelvins at 0.1, 1 and 10 MPa.
    for (hpa, kelvins) in [(1e3, 372.755_919), (1e4, 453.035_632), (1e5, 584.149_488)] {
        near(boiling_c(hpa) + 273.15, kelvins, 1e-6);
    }
}

#[test]
fn measured_pressure_goes_before_altitude() {
    let high = Setting { altitude_m: 3000.0, ..Setting::default() };
    near(air_pressure_hpa(&high), 701.09, 0.01);
    assert_eq!(air_pressure_hpa(&Setting { pressure_hpa: Some(990.0), ..high }), 990.0);
}

#[test]
fn a_set_point_out_of_reach_is_said_and_one_within_the_tolerance_is_not() {
    let said = reach_warning(100.0, boiling_c(pressure_at_hpa(2000.0)), 1.0).unwrap();
    assert!(said.contains("93.3 °C") && said.contains("100 °C") && said.contains("steep longer"), "{said}");
    assert_eq!(reach_warning(100.0, boiling_c(1013.25), 1.0), None);
}

#[test]
fn a_cold_vessel_takes_what_the_mass_balance_of_the_table_says() {
    // Reference table of mixing temperatures, printed to 0.01 °C: (vessel g, J/(kg K), water g, °C).
    let table = [
        (110.0, 1050.0, 110.0, 83.96),
        (110.0, 800.0, 110.0, 87.16),
        (200.0, 1050.0, 285.0, 88.03),
        (200.0, 800.0, 285.0, 90.54),
        (150.0, 840.0, 150.0, 86.63),
        (150.0, 920.0, 120.0, 82.76),
        (1000.0, 460.0, 500.0, 85.59),
        (200.0, 235.0, 150.0, 94.43),
        (300.0, 500.0, 500.0, 94.65),
    ];
    for (vessel_g, heat, water_g, expected) in table {
        near(mixed_c(100.0, water_g, 20.0, vessel_g, heat), expected, 0.006);
    }
}

#[test]
fn a_mug_filled_again_and_again_comes_to_the_boil() {
    // "Thermal Observations on the Preparation of Hot Leaf Juice": 300 g of mug and of water, about 84, 97 and
    // 99 °C; the formula's exact values, with 4184 for water, are 85.84, 97.49 and 99.56.
    let fill = |wall_c| mixed_c(100.0, 300.0, wall_c, 300.0, 900.0 * WATER_J_PER_KG_K / 4184.0);
    let (first, second, third) = (fill(20.0), fill(fill(20.0)), fill(fill(fill(20.0))));
    for (value, exact, published) in [(first, 85.84, 84.0), (second, 97.49, 97.0), (third, 99.56, 99.0)] {
        near(value, exact, 0.006);
        near(value, published, 2.0);
    }
}

#[test]
fn the_iso_pot_is_told_as_a_range_cold_and_warmed() {
    let pot = Vessel { material: Material::Porcelain, mass_g: 200.0 };
    assert_eq!(poured_c(100.0, 285.0, &pot, 20.0).words(), "88–91 °C");
    assert_eq!(poured_warmed_c(100.0, 285.0, &pot, 20.0).words(), "98–99 °C");
    assert_eq!(Span::exactly(89.7).words(), "90 °C");
}

#[test]
fn cooling_follows_newton() {
    // A reference check, tolerance 1e-3: 90 °C in a room of 22 °C at 0.025 a minute.
    near(newton_c(90.0, 22.0, 0.025, 600.0), 74.958, 1e-3);
}

#[test]
fn a_mug_and_a_teapot_cool_as_they_were_measured() {
    // Open ceramic mug, room 20 °C: 75 °C at 5 min, 62 °C at 15 min, 50 °C at 30 min (the ± 15 % hold them).
    for (from_c, minutes, to_c) in [(75.0, 10.0, 62.0), (62.0, 15.0, 50.0)] {
        let span = cooled_c(Span::exactly(from_c), Cooling::OpenMug, 20.0, minutes * 60.0);
        assert!((span.low_c..=span.high_c).contains(&to_c), "{span:?} holds {to_c}");
    }
    // Galton's closed teapot: 2 °F in a minute near 82 °C.
    let span = cooled_c(Span::exactly(82.0), Cooling::ClosedPot, 18.0, 60.0);
    assert!((span.low_c..=span.high_c).contains(&(82.0 - 2.0 / 1.8)), "{span:?}");
}

#[test]
fn above_65_degrees_the_lips_are_warned() {
    // IARC Monographs volume 116: "very hot" is above 65 °C.
    assert_eq!(lips_warning(Span::exactly(65.0)), None);
    assert!(lips_warning(Span { low_c: 60.0, high_c: 66.0 }).unwrap().contains("may be very hot"));
    assert!(lips_warning(Span { low_c: 70.0, high_c: 74.0 }).unwrap().contains("is very hot"));
}

proptest! {
    #[test]
    fn a_pour_ends_between_vessel_and_water_and_warming_helps(
        water_c in 40.0..100.0f64, water_ml in 20.0..1000.0f64, mass_g in 5.0..2000.0f64, room_c in 5.0..35.0f64,
        which in 0..Material::ALL.len(),
    ) {
        let vessel = Vessel { material: Material::ALL[which], mass_g };
        let cold = poured_c(water_c, water_ml, &vessel, room_c);
        let warmed = poured_warmed_c(water_c, water_ml, &vessel, room_c);
        prop_assert!(room_c < cold.low_c && cold.low_c < cold.high_c && cold.high_c < water_c);
        prop_assert!(cold.low_c < warmed.low_c && cold.high_c < warmed.high_c && warmed.high_c < water_c);
    }

    #[test]
    fn standing_brings_a_cup_nearer_to_the_room_and_never_past_it(
        from_c in 0.0..100.0f64, room_c in 5.0..35.0f64, seconds in 0.0..7200.0f64,
    ) {
        let after = cooled_c(Span::exactly(from_c), Cooling::TastingCup, room_c, seconds);
        prop_assert!(after.low_c <= after.high_c);
        let between = from_c.min(room_c) - 1e-9..=from_c.max(room_c) + 1e-9;
        prop_assert!(between.contains(&after.low_c) && between.contains(&after.high_c));
    }

    #[test]
    fn water_boils_hotter_the_higher_the_pressure(hpa in 500.0..1085.0f64) {
        prop_assert!(boiling_c(hpa) < boiling_c(hpa + 0.1));
        prop_assert!((80.0..102.5).contains(&boiling_c(hpa)));
    }
}
