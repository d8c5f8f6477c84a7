//! What a value that can't be used was meant to be: `[3 min, 4 min]` for seconds is `[180, 240]`.

use super::day_of;
use super::quantity::{Unit, celsius};

/// A number of millilitres below this may have been meant in litres.
const LITRES: f64 = 10.0;

/// What is answered to the text of a value, as it stands in the file, that is not of the kind its key needs. `None` if
/// nobody can tell what was meant.
pub(super) fn remedy(key: &str, said: &str) -> Option<String> {
    match key {
        "blind" | "strength" | "note" | "in_order" | "balanced" | "roasted" => {
            yes(said).map(|yes| format!("write {yes}"))
        }
        "adapt" => yes(said).map(|yes| format!("write \"{}\"", if yes { "suggest" } else { "off" })),
        "date" => date(said).map(|day| format!("write the day without quotes, the year first: {day}")),
        "start" => time(said).map(|time| format!("write the time without quotes: {time}")),
        "pourers" => pourers(said).map(|right| format!("write {right}")),
        _ => Unit::of(key).and_then(|unit| amounts(unit, key, said)),
    }
}

/// What a number of °C would be, had it been written in °F; `None` if that is not within `most` either.
pub(super) fn as_fahrenheit(number: f64, most: f64) -> Option<String> {
    let c = celsius(number);
    (number > most && c <= most).then(|| format!("{number} °F is {c} °C"))
}

/// What a number of millilitres would be, had it been written in litres; `None` if that is not from `least` to `most`.
pub(super) fn as_litres(number: f64, least: f64, most: f64) -> Option<String> {
    let ml = (number * 100_000.0).round() / 100.0;
    (number < least.min(LITRES) && (least..=most).contains(&ml)).then(|| format!("{number} l is {ml} ml"))
}

/// A text without its quotes; the second one may have been forgotten.
fn unquoted(text: &str) -> &str {
    const QUOTES: [char; 5] = ['"', '\'', '“', '”', '„'];
    let text = text.trim();
    text.strip_prefix(QUOTES).map_or(text, |inner| inner.strip_suffix(QUOTES).unwrap_or(inner)).trim()
}

/// The parts of a list, with or without brackets and commas.
fn parts(text: &str) -> Vec<&str> {
    let text = text.trim();
    let inner = match text.strip_prefix('[') {
        Some(listed) => listed.strip_suffix(']').unwrap_or(listed).trim(),
        None => unquoted(text),
    };
    let parts: Vec<&str> = inner.split([',', ';']).filter(|part| !part.trim().is_empty()).collect();
    match parts[..] {
        [one] if one.split_whitespace().all(|number| number.parse::<f64>().is_ok()) => {
            one.split_whitespace().collect()
        }
        _ => parts,
    }
}

fn amounts(unit: Unit, key: &str, said: &str) -> Option<String> {
    let listed = key == "steep_s" || (key == "temp_c" && said.contains([',', '[']));
    if !listed {
        // `5,5` is five and a half where numbers have a comma.
        let said = unquoted(said).replacen(',', ".", 1);
        let right = written(unit.amount(&said)?, unit)?;
        let fahrenheit = || unit == Unit::Celsius && said.to_lowercase().contains('f');
        return Some(match unit {
            Unit::Count => format!("write it in digits, without quotes: {right}"),
            _ if fahrenheit() => {
                let number = said.trim_end_matches(|c: char| !c.is_ascii_digit());
                format!("{number} °F is {right} °C: write {right}")
            }
            _ => format!("write it in {}: {right}", unit.name()),
        });
    }
    let all: Option<Vec<String>> =
        parts(said).iter().map(|part| written(unit.amount(unquoted(part))?, unit)).collect();
    let all = all.filter(|all| !all.is_empty())?;
    Some(format!("write them in {}: [{}]", unit.name(), all.join(", ")))
}

/// A number as a class file has it; `None` if it can't be one.
fn written(amount: f64, unit: Unit) -> Option<String> {
    let whole = matches!(unit, Unit::Seconds | Unit::Count);
    let amount = if whole { amount.round() } else { (amount * 100.0).round() / 100.0 };
    (amount.is_finite() && amount < 1e6).then(|| amount.to_string())
}

fn yes(said: &str) -> Option<bool> {
    match unquoted(said).to_lowercase().as_str() {
        "yes" | "y" | "on" | "true" | "1" => Some(true),
        "no" | "n" | "off" | "false" | "0" => Some(false),
        _ => None,
    }
}

fn pourers(said: &str) -> Option<String> {
    const WORDS: [&str; 8] = ["one", "two", "three", "four", "five", "six", "seven", "eight"];
    let said = unquoted(said).to_lowercase();
    let first = said.split_whitespace().next()?;
    let in_words = || WORDS.iter().zip(1u8..).find(|(word, _)| **word == first).map(|(_, n)| n);
    let number = first.parse::<u8>().ok().or_else(in_words);
    let each = said.replace(['-', '_'], " ") == "each seat";
    number.map(|n| n.to_string()).or_else(|| each.then(|| "\"each seat\"".into()))
}

/// A day with the year first or last, parted by anything that is no digit.
fn date(said: &str) -> Option<String> {
    let parts: Vec<&str> =
        unquoted(said).split(|c: char| !c.is_ascii_digit()).filter(|part| !part.is_empty()).collect();
    let [one, month, three] = parts[..] else { return None };
    let (year, day) = if one.len() == 4 { (one, three) } else { (three, one) };
    day_of(&format!("{year}-{month:0>2}-{day:0>2}"))
}

/// `18:30`, `18.30`, `6:30 pm`.
fn time(said: &str) -> Option<String> {
    let said = unquoted(said).to_lowercase();
    let (clock, afternoon) = match said.strip_suffix("pm") {
        Some(clock) => (clock, true),
        None => (said.strip_suffix("am").unwrap_or(&said), false),
    };
    let (hour, minute) = clock.trim().split_once([':', '.', 'h'])?;
    let (hour, minute): (u32, u32) = (hour.trim().parse().ok()?, minute.get(..2)?.parse().ok()?);
    let hour = if afternoon && hour < 12 { hour + 12 } else { hour };
    (hour < 24 && minute < 60).then(|| format!("{hour:02}:{minute:02}:00"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_meant_is_written_as_a_class_file_has_it() {
        for (key, said, right) in [
            ("steep_s", "[3 min, 4 min]", Some("write them in seconds: [180, 240]")),
            ("steep_s", "[\"3 min\", \"4:30\"]", Some("write them in seconds: [180, 270]")),
            ("steep_s", "\"40, 25, 30\"", Some("write them in seconds: [40, 25, 30]")),
            ("steep_s", "[40 25 30]", Some("write them in seconds: [40, 25, 30]")),
            ("steep_s", "40", Some("write them in seconds: [40]")),
            ("steep_s", "[soon]", None),
            ("steep_s", "[]", None),
            ("taste_s", "1 min", Some("write it in seconds: 60")),
            ("temp_c", "203 °F", Some("203 °F is 95 °C: write 95")),
            ("temp_c", "\"95 °C\"", Some("write it in °C: 95")),
            ("temp_c", "[203F, 194F]", Some("write them in °C: [95, 90]")),
            ("leaf_g", "5,5 g", Some("write it in grams: 5.5")),
            ("seats", "\"8\"", Some("write it in digits, without quotes: 8")),
            ("pourers", "each seat", Some("write \"each seat\"")),
            ("pourers", "2 people", Some("write 2")),
            ("pourers", "one", Some("write 1")),
            ("pourers", "\"Two people\"", Some("write 2")),
            ("pourers", "everybody", None),
            ("blind", "yes", Some("write true")),
            ("adapt", "false", Some("write \"off\"")),
            ("adapt", "true", Some("write \"suggest\"")),
            ("date", "28.11.2026", Some("write the day without quotes, the year first: 2026-11-28")),
            ("date", "\"2026-11-28\"", Some("write the day without quotes, the year first: 2026-11-28")),
            ("date", "2026-02-30", None),
            ("start", "6:30 pm", Some("write the time without quotes: 18:30:00")),
            ("start", "half past six", None),
            ("name", "Lantern Slope", None),
        ] {
            assert_eq!(remedy(key, said).as_deref(), right, "{key} = {said}");
        }
    }

    #[test]
    fn a_number_too_low_for_millilitres_may_be_litres() {
        assert_eq!(as_litres(1.2, 100.0, 20_000.0).as_deref(), Some("1.2 l is 1200 ml"));
        assert_eq!(as_litres(0.11, 20.0, 2000.0).as_deref(), Some("0.11 l is 110 ml"));
        assert_eq!(as_litres(0.01, 100.0, 20_000.0), None, "neither millilitres nor litres");
        assert_eq!(as_litres(12.0, 100.0, 20_000.0), None, "rarely meant in litres");
        assert_eq!(as_litres(7.0, 5.0, 20_000.0), None, "can be as it is");
    }

    #[test]
    fn a_number_too_high_for_water_may_be_fahrenheit() {
        assert_eq!(as_fahrenheit(203.0, 100.0).as_deref(), Some("203 °F is 95 °C"));
        assert_eq!(as_fahrenheit(95.0, 100.0), None);
        assert_eq!(as_fahrenheit(900.0, 100.0), None);
    }
}
