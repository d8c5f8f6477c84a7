//! What several classes show, in words.

pub mod beyond;
pub mod brief;
pub mod pairs;
pub mod rehearsed;
pub mod strength;
pub mod together;
pub mod votes;

use protocol::say::{many, steeps};

/// " at steeps 1 to 3"; nothing where there are none.
fn at_steeps(places: &[usize]) -> String {
    let places: Vec<u32> = places.iter().filter_map(|&steep| u32::try_from(steep).ok()).collect();
    if places.is_empty() { String::new() } else { format!(" at {}", steeps(&places)) }
}

/// "12 tasters in 2 classes".
fn in_classes(tasters: usize, classes: usize) -> String {
    let classes = if classes == 1 { "1 class".to_string() } else { format!("{classes} classes") };
    format!("{} in {classes}", many(tasters, "taster"))
}

/// "three classes are too few to say it would be so in a fourth".
fn too_few(classes: usize) -> String {
    const NEXT: [(&str, &str); 10] = [
        ("one", "a second"),
        ("two", "a third"),
        ("three", "a fourth"),
        ("four", "a fifth"),
        ("five", "a sixth"),
        ("six", "a seventh"),
        ("seven", "an eighth"),
        ("eight", "a ninth"),
        ("nine", "a tenth"),
        ("ten", "an eleventh"),
    ];
    let next = classes.checked_sub(1).and_then(|place| NEXT.get(place));
    let (these, next) =
        next.map_or_else(|| (classes.to_string(), "another"), |&(these, next)| (these.to_string(), next));
    let are = if classes == 1 { "class is" } else { "classes are" };
    format!("{these} {are} too few to say it would be so in {next}")
}

/// That something is shown of these classes and no others, behind it.
fn these(classes: usize) -> &'static str {
    if classes == 1 { " in this class" } else { " in these classes" }
}

#[cfg(test)]
mod tests {
    use super::too_few;

    #[test]
    fn so_few_classes_say_nothing_of_the_next() {
        for (classes, said) in [
            (1, "one class is too few to say it would be so in a second"),
            (2, "two classes are too few to say it would be so in a third"),
            (3, "three classes are too few to say it would be so in a fourth"),
            (8, "eight classes are too few to say it would be so in a ninth"),
            (11, "11 classes are too few to say it would be so in another"),
        ] {
            assert_eq!(too_few(classes), said);
        }
    }
}
