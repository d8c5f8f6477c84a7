//! Lists, counts and plurals in running text.

/// "8 tasters".
pub fn many(n: usize, one: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") }
}

/// "steep 1", "steeps 1 to 3", "steeps 1, 3 and 4".
pub fn steeps(steeps: &[u32]) -> String {
    match steeps {
        [one] => format!("steep {one}"),
        [first, .., last] if (last - first) as usize + 1 == steeps.len() && steeps.len() > 2 => {
            format!("steeps {first} to {last}")
        }
        _ => format!("steeps {}", list(&steeps.iter().map(ToString::to_string).collect::<Vec<_>>())),
    }
}

/// "A, B and C".
pub fn list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// A kettle by its place from 1, as the people at the table call it; where there is one, no name is needed.
pub fn kettle(place: Option<u8>, kettles: &[String]) -> String {
    let Some(place) = place.filter(|_| kettles.len() > 1) else { return "the kettle".into() };
    let name = kettles.get(usize::from(place).saturating_sub(1)).filter(|name| !name.is_empty());
    match name {
        Some(name) if name.to_lowercase().contains("kettle") => name.clone(),
        Some(name) => format!("kettle {name}"),
        None => format!("kettle {place}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kettle_goes_by_its_name_where_there_are_several() {
        let names = ["big kettle", "of glass", ""].map(String::from);
        for (place, kettles, words) in [
            (Some(1), &names[..1], "the kettle"),
            (None, &names[..], "the kettle"),
            (Some(1), &names[..], "big kettle"),
            (Some(2), &names[..], "kettle of glass"),
            (Some(3), &names[..], "kettle 3"),
            (Some(9), &names[..], "kettle 9"),
        ] {
            assert_eq!(kettle(place, kettles), words);
        }
    }

    #[test]
    fn counts_and_lists_read_as_words() {
        assert_eq!((many(1, "taster").as_str(), many(8, "taster").as_str()), ("1 taster", "8 tasters"));
        assert_eq!(list(&["a", "b", "c"].map(String::from)), "a, b and c");
        assert_eq!(
            [&[2][..], &[1, 2], &[1, 2, 3], &[1, 3, 4]].map(steeps),
            ["steep 2", "steeps 1 and 2", "steeps 1 to 3", "steeps 1, 3 and 4"]
        );
    }
}
