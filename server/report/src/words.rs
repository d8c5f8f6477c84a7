//! Words that tables, text and page share.

use summary::Missing;
use summary::find::describe::Scale;
use summary::sentence::About;

/// Items in a row.
pub fn joined<T: ToString>(items: impl IntoIterator<Item = T>, between: &str) -> String {
    items.into_iter().map(|item| item.to_string()).collect::<Vec<_>>().join(between)
}

/// The same as the words of a cell.
pub(crate) fn about(about: About) -> &'static str {
    match about {
        About::Class => "how far this goes",
        About::Difference => "do the teas differ",
        About::Ways => "two ways of one leaf",
        About::Agreement => "do the tasters agree",
        About::Strength => "how long to steep next time",
        About::Words => "words",
        About::Tests => "can the class tell them apart",
        About::Totals => "weighted totals",
        About::Seat => "you and the class",
    }
}

/// With a capital letter at its head.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// Who has not scored a cup.
pub(crate) fn missing(all: &[Missing]) -> String {
    let name = |m: &Missing| if m.came_later { format!("{} (came later)", m.seat) } else { m.seat.clone() };
    joined(all.iter().map(name), ", ")
}

/// "1 (dislike extremely) to 9 (like extremely)".
pub fn scale_words(scale: &Scale) -> String {
    let end = |point: i32, word: &Option<String>| {
        word.as_ref().map_or_else(|| point.to_string(), |word| format!("{point} ({word})"))
    };
    format!("{} to {}", end(scale.min, &scale.low), end(scale.max, &scale.high))
}
