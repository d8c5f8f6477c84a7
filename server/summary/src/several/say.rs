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

/// That something is shown of these classes and no others, behind it.
fn these(classes: usize) -> &'static str {
    if classes == 1 { " in this class" } else { " in these classes" }
}
