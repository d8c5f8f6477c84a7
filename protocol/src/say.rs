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

#[cfg(test)]
mod tests {
    use super::*;

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
