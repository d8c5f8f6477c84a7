//! Understands what is typed for a class file: whole teas and kettles as flags, single answers to questions.

use super::leaf::{Choice, Kind, Leaf, MAX_YEARS};
use super::wishes::Kettle;
use crate::setting::FILLS_ML;
use crate::{MAX_SEATS, Pourers, read};
use std::ops::RangeInclusive;

/// Doses that can be asked for, grams per 100 ml.
const DOSES: RangeInclusive<f64> = 0.5..=15.0;
/// Powers of a kettle that a class file takes, watts.
const WATTS: RangeInclusive<f64> = 50.0..=10_000.0;
/// Heights that a class file takes, metres.
const ALTITUDES_M: RangeInclusive<f64> = -430.0..=5500.0;
/// Water per steep that a class file takes, millilitres.
const WATERS_ML: RangeInclusive<f64> = 10.0..=5000.0;

/// Understands `NAME, kind=KIND, form=FORM, oxidation=OXIDATION, roasted, dry, age=YEARS, dose=G, water=C, first=S,
/// leaf=NAME`; all but the name may be left out.
///
/// # Errors
/// A sentence saying what is not understood and what would be right.
pub fn tea(text: &str) -> Result<Leaf, String> {
    let mut parts = text.split(',');
    let mut leaf = Leaf::named(name(parts.next().unwrap_or_default())?);
    for part in parts {
        let (key, value) =
            part.split_once('=').map_or((part.trim(), None), |(k, v)| (k.trim(), Some(v.trim())));
        match (key, value) {
            ("kind", Some(v)) => (leaf.form, leaf.oxidation) = Kind::understand(v)?.usual(),
            ("form", Some(v)) => leaf.form = Choice::understand(v)?,
            ("oxidation", Some(v)) => leaf.oxidation = Choice::understand(v)?,
            ("age", Some(v)) => leaf.age_years = years(v)?,
            ("dose", Some(v)) => leaf.dose = Some(dose(v)?),
            ("water", Some(v)) => leaf.temp_c = Some(temp_c(v)?),
            ("first", Some(v)) => leaf.first_s = Some(first_s(v)?),
            ("leaf", Some(v)) => leaf.leaf = Some(name(v)?),
            ("roasted", None) => leaf.roasted = true,
            ("dry", None) => leaf.dry = true,
            ("roasted", Some(v)) => leaf.roasted = yes(v)?,
            ("dry", Some(v)) => leaf.dry = yes(v)?,
            _ => {
                let shown = protocol::text::clean(part, 20);
                return Err(format!(
                    "`{shown}` is not understood; after the name come kind=, form=, oxidation=, age=, dose=, water=, first=, leaf=, roasted or dry, with commas between"
                ));
            }
        }
    }
    Ok(leaf)
}

/// Leaf, grams per 100 ml.
///
/// # Errors
/// A sentence with what would be right.
pub fn dose(text: &str) -> Result<f64, String> {
    within(text, DOSES, "g per 100 ml", &["g"])
}

/// The water of a first steep, °C.
///
/// # Errors
/// A sentence with what would be right.
pub fn temp_c(text: &str) -> Result<f64, String> {
    within(text, 40.0..=100.0, "°C", &["°c", "c", "°"])
}

/// A first steep, seconds.
///
/// # Errors
/// A sentence with what would be right.
pub fn first_s(text: &str) -> Result<u32, String> {
    within(text, 0.0..=900.0, "s", &["seconds", "s"]).map(|s| s.round() as u32)
}

/// Seconds to taste after a round's last cup.
///
/// # Errors
/// A sentence with what would be right.
pub fn taste_s(text: &str) -> Result<u32, String> {
    within(text, 10.0..=3600.0, "s", &["seconds", "s"]).map(|s| s.round() as u32)
}

/// A time of day, as `18:30` or `18:30:00`; as a class file has it.
///
/// # Errors
/// A sentence with what would be right.
pub fn start(text: &str) -> Result<String, String> {
    let parts: Vec<Option<u32>> = text.trim().split(':').map(|part| part.parse().ok()).collect();
    match parts[..] {
        [Some(h @ 0..24), Some(min @ 0..60)] => Ok(format!("{h:02}:{min:02}:00")),
        [Some(h @ 0..24), Some(min @ 0..60), Some(s @ 0..60)] => Ok(format!("{h:02}:{min:02}:{s:02}")),
        _ => Err(refused(text, "give a time of day, for example 18:30")),
    }
}

/// Understands `NAME, 1200 ml, 1800 W`; litres are taken too.
///
/// # Errors
/// A sentence saying what is not understood and what would be right.
pub fn kettle(text: &str) -> Result<Kettle, String> {
    let parts: Vec<&str> = text.split(',').collect();
    match parts[..] {
        [called, fill, power] => {
            Ok(Kettle { name: name(called)?, fill_ml: fill_ml(fill)?, watts: watts(power)? })
        }
        _ => Err("say name, fill and power with commas between, for example \"big kettle, 1200 ml, 1800 W\""
            .into()),
    }
}

/// A kettle's fill, in litres or millilitres: `1.2`, `1.2 l`, `1200 ml`. A bare number up to 20 is litres.
///
/// # Errors
/// A sentence with what would be right.
pub fn fill_ml(text: &str) -> Result<f64, String> {
    let typed = text.trim().to_lowercase();
    let typed = typed.strip_suffix("itres").or(typed.strip_suffix("itre")).unwrap_or(&typed);
    let (number, factor) = match (typed.strip_suffix("ml"), typed.strip_suffix('l')) {
        (Some(ml), _) => (ml, Some(1.0)),
        (None, Some(litres)) => (litres, Some(1000.0)),
        (None, None) => (typed, None),
    };
    let number = number.trim().replace(',', ".").parse::<f64>().ok();
    let ml = number.map(|n| n * factor.unwrap_or(if n <= 20.0 { 1000.0 } else { 1.0 }));
    ml.map(|ml| (ml * 10.0).round() / 10.0)
        .filter(|ml| FILLS_ML.contains(ml))
        .ok_or_else(|| refused(text, "a kettle holds 0.1 to 20 litres, for example 1.2 l or 1200 ml"))
}

/// A kettle's power in watts.
///
/// # Errors
/// A sentence with what would be right.
pub fn watts(text: &str) -> Result<f64, String> {
    within(text, WATTS, "W", &["watts", "watt", "w"])
}

/// Height above sea level in metres.
///
/// # Errors
/// A sentence with what would be right.
pub fn altitude_m(text: &str) -> Result<f64, String> {
    within(text, ALTITUDES_M, "m above the sea", &["m"])
}

/// Water per steep in millilitres.
///
/// # Errors
/// A sentence with what would be right.
pub fn water_ml(text: &str) -> Result<f64, String> {
    within(text, WATERS_ML, "ml", &["ml"])
}

/// How many seats.
///
/// # Errors
/// A sentence with what would be right.
pub fn seats(text: &str) -> Result<u32, String> {
    count(text, 1..=MAX_SEATS)
}

/// A leaf's age in years.
///
/// # Errors
/// A sentence with what would be right.
pub fn years(text: &str) -> Result<u32, String> {
    count(text, 0..=MAX_YEARS)
}

/// A whole number.
///
/// # Errors
/// A sentence with what would be right.
pub fn count(text: &str, range: RangeInclusive<u32>) -> Result<u32, String> {
    let number = text.trim().parse().ok().filter(|n| range.contains(n));
    number.ok_or_else(|| {
        refused(text, &format!("give a whole number from {} to {}", range.start(), range.end()))
    })
}

/// Who pours: `each seat`, or a number of pourers.
///
/// # Errors
/// A sentence with what would be right.
pub fn pourers(text: &str) -> Result<Pourers, String> {
    let typed = text.trim().to_lowercase().replace('-', " ");
    if typed == "each seat" {
        return Ok(Pourers::EachSeat);
    }
    let hands = typed.parse().ok().filter(|n| (1..=8).contains(n)).map(Pourers::Table);
    hands.ok_or_else(|| refused(text, "say `each-seat`, or 1 to 8 pourers who serve one table"))
}

/// Yes or no.
///
/// # Errors
/// A sentence with what would be right.
pub fn yes(text: &str) -> Result<bool, String> {
    match text.trim().to_lowercase().as_str() {
        "y" | "yes" | "true" => Ok(true),
        "n" | "no" | "false" => Ok(false),
        _ => Err(refused(text, "say yes or no")),
    }
}

/// The name of a tea or a kettle.
///
/// # Errors
/// A sentence with what would be right.
pub fn name(text: &str) -> Result<String, String> {
    protocol::text::name(text).map_err(|problem| format!("the name can't be used: {problem}"))
}

/// The title of a class.
///
/// # Errors
/// A sentence with what would be right.
pub fn title(text: &str) -> Result<String, String> {
    protocol::text::title(text).map_err(|problem| format!("the title can't be used: {problem}"))
}

/// A day as `YYYY-MM-DD`.
///
/// # Errors
/// A sentence with what would be right.
pub fn date(text: &str) -> Result<String, String> {
    read::day_of(text).ok_or_else(|| refused(text, "give a day as year-month-day, for example 2026-11-28"))
}

fn within(text: &str, range: RangeInclusive<f64>, unit: &str, suffixes: &[&str]) -> Result<f64, String> {
    let typed = text.trim().to_lowercase().replace(',', ".");
    let bare = suffixes.iter().find_map(|s| typed.strip_suffix(s)).unwrap_or(&typed).trim();
    // To a tenth: nobody measures a dose, a power or a height closer.
    let number = bare.parse::<f64>().ok().map(|n| (n * 10.0).round() / 10.0).filter(|n| range.contains(n));
    number.ok_or_else(|| {
        refused(text, &format!("give a number from {} to {} {unit}", range.start(), range.end()))
    })
}

fn refused(text: &str, right: &str) -> String {
    format!("`{}` can't be taken; {right}", protocol::text::clean(text, 20))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::start::leaf::{Form, Oxidation};

    #[test]
    fn a_tea_is_a_name_and_what_is_known_of_it() {
        let leaf =
            tea("Lantern Slope, form=ball-rolled, oxidation=half, roasted, age=3, dose=6.5 g").unwrap();
        assert_eq!(
            (leaf.name.as_str(), leaf.form, leaf.oxidation),
            ("Lantern Slope", Form::BallRolled, Oxidation::Half)
        );
        assert_eq!((leaf.roasted, leaf.dry, leaf.age_years, leaf.dose), (true, false, 3, Some(6.5)));
        assert_eq!(tea("Lantern Slope"), Ok(Leaf::named("Lantern Slope")));
        assert!(tea("A, dry, roasted=no").is_ok_and(|leaf| leaf.dry && !leaf.roasted));
    }

    #[test]
    fn a_kind_of_tea_says_form_and_oxidation_unless_more_is_said() {
        for (kind, form, oxidation) in [
            ("green", Form::Open, Oxidation::Green),
            ("white", Form::Open, Oxidation::Lightly),
            ("oolong", Form::Twisted, Oxidation::Half),
            ("oolong, form=rolled", Form::BallRolled, Oxidation::Half),
            ("black", Form::Twisted, Oxidation::Fully),
            ("dark", Form::Compressed, Oxidation::PostFermented),
        ] {
            let leaf = tea(&format!("A, kind={kind}")).unwrap();
            assert_eq!((leaf.form, leaf.oxidation), (form, oxidation), "{kind}");
        }
        let way = tea("B, leaf=A, dose=8, water=90 °C, first=40 s").unwrap();
        assert_eq!(
            (way.leaf_name(), way.dose, way.temp_c, way.first_s),
            ("A", Some(8.0), Some(90.0), Some(40))
        );
        assert_eq!((start("18:30"), start("7:05:09")), (Ok("18:30:00".into()), Ok("07:05:09".into())));
    }

    #[test]
    fn a_kettle_is_a_name_a_fill_and_a_power() {
        let big = Kettle { name: "big kettle".into(), fill_ml: 1200.0, watts: 1800.0 };
        for text in
            ["big kettle, 1200 ml, 1800 W", "big kettle,1.2 l,1800", "big kettle, 1.2 litres, 1800 watts"]
        {
            assert_eq!(kettle(text), Ok(big.clone()), "{text}");
        }
    }

    #[test]
    fn a_bare_fill_is_in_litres_up_to_20_and_in_millilitres_above() {
        for (text, ml) in
            [("1.2", 1200.0), ("1,7", 1700.0), ("20", 20_000.0), ("800", 800.0), ("0.5L", 500.0)]
        {
            assert_eq!(fill_ml(text), Ok(ml), "{text}");
        }
        assert!(fill_ml("0.05").is_err() && fill_ml("21 l").is_err() && fill_ml("itres").is_err());
    }

    #[test]
    fn what_is_not_understood_is_answered_with_what_would_be_right() {
        for (answer, words) in [
            (tea("").map(drop), "at least one letter"),
            (tea("A, form=flat").map(drop), "ball-rolled"),
            (tea("A, from=open").map(drop), "kind=, form=, oxidation="),
            (tea("A, age=old").map(drop), "0 to 150"),
            (tea("A, dose=99").map(drop), "0.5 to 15 g"),
            (tea("A, roasted=very").map(drop), "yes or no"),
            (tea("A\u{1b}[2J").map(drop), "U+001B"),
            (kettle("big kettle, 1200 ml").map(drop), "1800 W"),
            (kettle("big, 50 ml, 1800 W").map(drop), "0.1 to 20 litres"),
            (kettle("big, 1 l, NaN W").map(drop), "50 to 10000 W"),
            (kettle("big, inf l, 900 W").map(drop), "litres"),
            (seats("0").map(drop), "1 to 10000"),
            (pourers("nine").map(drop), "each-seat"),
            (start("half past six").map(drop), "18:30"),
            (start("24:00").map(drop), "18:30"),
            (temp_c("20").map(drop), "40 to 100 °C"),
            (first_s("long").map(drop), "0 to 900 s"),
            (taste_s("5").map(drop), "10 to 3600 s"),
            (tea("A, kind=herb").map(drop), "green, white, oolong, black, dark"),
            (date("28.11.2026").map(drop), "2026-11-28"),
            (date("2026-02-30").map(drop), "2026-11-28"),
            (date("2026-11-28T10:00:00").map(drop), "2026-11-28"),
            (altitude_m("high").map(drop), "5500 m"),
        ] {
            let answer = answer.unwrap_err();
            assert!(answer.contains(words) && !answer.contains('\u{1b}'), "{answer}");
        }
    }

    #[test]
    fn who_pours_is_each_seat_or_a_number() {
        assert_eq!(pourers("each-seat"), Ok(Pourers::EachSeat));
        assert_eq!(pourers("Each seat"), Ok(Pourers::EachSeat));
        assert_eq!(pourers("2"), Ok(Pourers::Table(2)));
    }
}
