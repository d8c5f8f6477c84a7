//! Amounts as people write them, with their units: `3 min`, `203 °F`, `0.1 l`. A class file has the number alone, in the
//! unit that the key names.

/// The unit that a key of the class file names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unit {
    Seconds,
    Celsius,
    Grams,
    Millilitres,
    Watts,
    Metres,
    /// A number of people, steeps or the like.
    Count,
}

impl Unit {
    /// The unit of a key; `None` for a key that is no number.
    pub(super) fn of(key: &str) -> Option<Self> {
        Some(match key {
            "from" | "to" => Unit::Celsius,
            "watts" => Unit::Watts,
            "seats" | "age_years" | "steeps" | "steep" | "after_round" | "from_steep" | "to_steep" => {
                Unit::Count
            }
            "dose_g_per_100_ml" => Unit::Grams,
            _ => match key.rsplit_once('_')?.1 {
                "s" => Unit::Seconds,
                "c" => Unit::Celsius,
                "g" => Unit::Grams,
                "ml" => Unit::Millilitres,
                "m" => Unit::Metres,
                _ => return None,
            },
        })
    }

    /// Its name in a sentence.
    pub(super) fn name(self) -> &'static str {
        match self {
            Unit::Seconds => "seconds",
            Unit::Celsius => "°C",
            Unit::Grams => "grams",
            Unit::Millilitres => "ml",
            Unit::Watts => "watts",
            Unit::Metres => "metres",
            Unit::Count => "digits",
        }
    }

    /// A number with a word behind it, in this unit.
    fn convert(self, number: f64, word: &str) -> Option<f64> {
        let factor = match (self, word) {
            (_, "") => 1.0,
            (Unit::Seconds, "s" | "sec" | "secs" | "second" | "seconds" | "″" | "''") => 1.0,
            (Unit::Seconds, "m" | "min" | "mins" | "minute" | "minutes" | "′" | "'") => 60.0,
            (Unit::Seconds, "h" | "hr" | "hour" | "hours") => 3600.0,
            (Unit::Celsius, "c" | "°" | "°c" | "° c" | "℃" | "degrees" | "degrees c" | "celsius") => 1.0,
            (Unit::Celsius, "f" | "°f" | "° f" | "℉" | "degrees f" | "fahrenheit") => {
                return Some(celsius(number));
            }
            (
                Unit::Grams,
                "g" | "gr" | "gram" | "grams" | "gramme" | "grammes" | "g per 100 ml" | "g/100ml"
                | "g/100 ml",
            ) => 1.0,
            (Unit::Grams, "kg") | (Unit::Millilitres, "l" | "litre" | "litres" | "liter" | "liters") => {
                1000.0
            }
            (Unit::Millilitres, "ml" | "cc" | "millilitres" | "milliliters") => 1.0,
            (Unit::Millilitres, "cl") => 10.0,
            (Unit::Watts, "w" | "watt" | "watts") | (Unit::Metres, "m" | "metres" | "meters") => 1.0,
            (Unit::Watts, "kw") | (Unit::Metres, "km") => 1000.0,
            (Unit::Count, "people" | "persons" | "seats" | "tasters" | "steeps") => 1.0,
            _ => return None,
        };
        Some(number * factor)
    }

    /// An amount in this unit; `None` for what is none.
    pub(super) fn amount(self, text: &str) -> Option<f64> {
        let text = text.trim().to_lowercase();
        if self == Unit::Seconds && text.contains(':') {
            return clock(&text);
        }
        let (mut sum, mut rest, mut named) = (0.0, text.as_str(), true);
        while !rest.is_empty() {
            // `40 25` are two numbers, `1 min 30` is one amount.
            if !named || (sum > 0.0 && self != Unit::Seconds) {
                return None;
            }
            let digits = rest.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(rest.len());
            let number: f64 = rest[..digits].parse().ok()?;
            rest = rest[digits..].trim_start();
            let word_end = rest.find(|c: char| c.is_ascii_digit()).filter(|_| self == Unit::Seconds);
            let word = rest[..word_end.unwrap_or(rest.len())].trim();
            sum += self.convert(number, word.trim_end_matches('.'))?;
            named = !word.is_empty();
            rest = &rest[word_end.unwrap_or(rest.len())..];
        }
        (!text.is_empty()).then_some(sum)
    }
}

/// `3:30`, minutes and seconds, or `0:03:30`.
fn clock(text: &str) -> Option<f64> {
    let parts: Option<Vec<u32>> = text.split(':').map(|part| part.trim().parse().ok()).collect();
    match parts?[..] {
        [minutes, seconds] if minutes < 1000 && seconds < 60 => Some(f64::from(minutes * 60 + seconds)),
        [hours, minutes, seconds] if hours < 24 && minutes < 60 && seconds < 60 => {
            Some(f64::from(hours * 3600 + minutes * 60 + seconds))
        }
        _ => None,
    }
}

/// Degrees Celsius of degrees Fahrenheit, whole: no kettle is set more finely.
pub(super) fn celsius(fahrenheit: f64) -> f64 {
    ((fahrenheit - 32.0) / 1.8).round()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_are_understood_with_the_units_people_write() {
        for (key, text, amount) in [
            ("steep_s", "3 min", Some(180.0)),
            ("steep_s", "3min", Some(180.0)),
            ("steep_s", "1 min 30 s", Some(90.0)),
            ("steep_s", "1 min 30", Some(90.0)),
            ("steep_s", "45 sec.", Some(45.0)),
            ("steep_s", "1.5 min", Some(90.0)),
            ("steep_s", "3'", Some(180.0)),
            ("steep_s", "3:30", Some(210.0)),
            ("steep_s", "00:03:30", Some(210.0)),
            ("steep_s", "40 25 30", None),
            ("steep_s", "soon", None),
            ("steep_s", "3:75", None),
            ("steep_s", "", None),
            ("temp_c", "203 °F", Some(95.0)),
            ("temp_c", "203F", Some(95.0)),
            ("temp_c", "95 °C", Some(95.0)),
            ("temp_c", "95 90", None),
            ("leaf_g", "5 g", Some(5.0)),
            ("water_ml", "0.1 l", Some(100.0)),
            ("watts", "1.8 kW", Some(1800.0)),
            ("altitude_m", "1.5 km", Some(1500.0)),
            ("seats", "8 people", Some(8.0)),
        ] {
            assert_eq!(Unit::of(key).unwrap().amount(text), amount, "{key} = {text}");
        }
        assert_eq!(Unit::of("title"), None);
    }
}
