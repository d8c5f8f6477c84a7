//! Plain sentences, each with its evidence.

pub mod brief;
pub mod difference_tests;
mod differences;
pub mod method;
mod others;
pub mod seat;
mod ways;

use crate::data::Data;
use crate::figures::Figures;
use crate::sentence::{About, Evidence, Sentence};
use stats::say;
use stats::wilcoxon::smallest_p;

/// Everything that can be said, what matters most first: what is shown of each kind before what is not.
pub fn all(data: &Data<'_>, found: &Figures) -> Vec<Sentence> {
    let mut told = totals_of(data, found);
    told.extend(differences::sentences(data, &found.differences));
    told.extend(ways::sentences(data, &found.ways));
    told.extend(found.strength.iter().flat_map(|strength| others::strength(data, strength)));
    told.extend(others::words(data, &found.words));
    told.extend(others::agreement(&found.agreement, &found.differences));
    if found.tasters == 0 {
        told.clear();
    }
    told.extend(difference_tests::sentences(&found.tests));
    told.push(reach(found.tasters));
    told
}

fn totals_of(data: &Data<'_>, found: &Figures) -> Vec<Sentence> {
    found.totals.iter().flat_map(|totals| others::totals(data, totals)).collect()
}

/// What so many tasters can show at all.
fn reach(tasters: usize) -> Sentence {
    let text = match tasters {
        0 => "Nobody has scored, so there is nothing to tell of the teas' scores.".to_string(),
        1 => "One taster has scored: the figures tell one person's view, and nothing can be tested.".into(),
        2..=5 => format!(
            "With {tasters} tasters no signed rank test reaches 5 %: even if all agree, it gives {}.",
            say::p(smallest_p(tasters))
        ),
        _ => format!(
            "{tasters} tasters have scored; what so many can and can't show is said with each finding."
        ),
    };
    let only = "The class speaks for itself only: it is no panel of consumers.";
    let text = if tasters > 1 { format!("{text} {only}") } else { text };
    let evidence = Evidence { n: tasters, ..Evidence::default() };
    Sentence { text, about: About::Class, shown: false, evidence }
}
