//! Plain sentences, each with its evidence.

pub mod brief;
mod compared;
pub mod difference_tests;
mod differences;
pub mod method;
pub mod next_time;
mod others;
pub mod seat;
mod serving;
mod strength;
mod ways;

use crate::data::Data;
use crate::figures::Figures;
use crate::sentence::{About, Sentence};
use stats::penalty::Hint;
use stats::say;
use stats::wilcoxon::smallest_p;

/// Everything that can be said, what matters most first: what is shown of each kind before what is not.
pub fn all(data: &Data<'_>, found: &Figures) -> Vec<Sentence> {
    let mut said = totals_of(data, found);
    said.extend(differences::sentences(data, &found.differences, &found.leaves));
    said.extend(ways::sentences(data, &found.leaves));
    said.extend(found.strength.iter().flat_map(|found| strength::sentences(data, found)));
    said.extend(others::words(data, &found.words));
    said.extend(others::agreement(&found.agreement));
    said.extend(found.serving.iter().filter_map(|serving| serving::sentence(data, serving)));
    if found.tasters == 0 {
        said.clear();
    }
    said.extend(difference_tests::sentences(&found.tests));
    said.push(reach(found.tasters));
    said
}

fn totals_of(data: &Data<'_>, found: &Figures) -> Vec<Sentence> {
    found.totals.iter().flat_map(|totals| others::totals(data, totals, &found.leaves)).collect()
}

/// With a capital letter at its head.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// What a hint by the strength votes would change, if anything.
pub(crate) fn longer_or_shorter(hint: Hint) -> Option<&'static str> {
    match hint {
        Hint::Lengthen => Some("longer"),
        Hint::Shorten => Some("shorter"),
        Hint::Leave | Hint::TooFewToTell => None,
    }
}

/// What n tasters can show at all.
fn reach(tasters: usize) -> Sentence {
    let text = match tasters {
        0 => "Nobody has scored, so there is nothing to report of the teas' scores.".to_string(),
        1 => "One taster has scored: the figures are one person's view, and nothing can be tested.".into(),
        2..=5 => format!(
            "With {tasters} tasters no signed rank test reaches 5 %: even if all agree, it gives {}.",
            say::p(smallest_p(tasters))
        ),
        _ => format!(
            "{tasters} tasters have scored; what a class of this size can and can't show is said with each finding."
        ),
    };
    let only = "The class speaks for itself only: it is no panel of consumers.";
    let text = if tasters > 1 { format!("{text} {only}") } else { text };
    Sentence::plain(text, About::Class, tasters)
}
