//! A card for each tea, small enough for its tin: 70 × 100 mm, four on a sheet of A4 or Letter, with lines to cut along. A tea
//! that is still blind stands there by its code and with what was found of it, without name, leaf or recipe.

use super::{CAUTIONS, POUR_OFF, Recipe};
use crate::words::{capital, label, rehearsal};
use maud::{Markup, html};
use protocol::Code;
use protocol::text::name_key;
use summary::find::describe::{Described, Scale};
use summary::find::differences::Difference;
use summary::find::strength::Estimate;
use summary::say::next_time::{FIRST_STEP, ROUGH_GUESS, for_card, to_try_on_card};
use summary::{Summary, TeaLine};

const STYLE: &str = include_str!("cards.css");
/// So many words at most, those ticked by most.
const MOST_WORDS: usize = 6;
/// A ladder of more steeps has smaller rungs.
const FEW_STEEPS: usize = 10;

/// The page of all cards.
pub fn html(summary: &Summary) -> String {
    let title = format!("{} · cards", summary.title);
    let body = html! {
        header {
            h1 { (summary.title) }
            p { (summary.date) " · a card for each tea, to cut out for its tin" }
        }
        main class="cards" { @for tea in &summary.teas { (card(summary, tea)) } }
    };
    crate::html::page(&title, STYLE, &body)
}

fn card(summary: &Summary, tea: &TeaLine) -> Markup {
    let recipe = Recipe::of(tea);
    let code = tea.code.to_string();
    let leaf = tea.leaf.as_ref().filter(|leaf| tea.name.as_ref() != Some(leaf));
    let called = |code: Code| {
        let of = summary.teas.iter().find(|tea| tea.code == code);
        of.map_or_else(|| code.to_string(), label)
    };
    let next = for_card(&summary.findings.figures, tea.code, called);
    let estimate = to_try_on_card(&summary.findings.figures, tea.code);
    html! {
        article class="card" {
            h2 { (tea.name.as_ref().unwrap_or(&code)) }
            @if let Some(leaf) = leaf { p class="leaf" { "Leaf: " (leaf) } }
            @match &recipe {
                Some(recipe) => (steeped(recipe, estimate)),
                None => p { "Still blind. Its name, and how it was steeped, come with the teacher's reveal." },
            }
            dl {
                @if let Some(next) = next { dt { "Next time" } dd { (next) } }
                @if let Some(Liking { scale, found, compared }) = liking(summary, tea.code) {
                    dt { (capital(&scale.attribute)) }
                    @let adjusted = compared.and_then(|d| d.adjusted(tea.code)).map(|of| of.adjusted_mean);
                    dd {
                        @match adjusted.or(found.mean) {
                            Some(mean) => {
                                (format!("{mean:.1}")) " on a scale from " (scale.min) " to " (scale.max) ", mean of "
                                (protocol::say::many(found.n, "taster"))
                                @if adjusted.is_some() { ", missing scores allowed for" }
                                @if compared.is_some_and(|d| d.test.get().is_some() && !d.shown()) {
                                    "; between the teas too close to call"
                                }
                                (meter(scale, mean))
                            }
                            None => "nobody scored it",
                        }
                    }
                }
                @if let Some(words) = words(summary, tea.code) { dt { "Words" } dd { (words) } }
            }
            footer {
                p { (code) " · " (summary.title) " · " (summary.date) }
                @if rehearsal(summary).is_some() { p { "Only a rehearsal: what it says of the tea means nothing." } }
                p { (CAUTIONS) }
            }
        }
        "\n"
    }
}

/// Leaf, water and the ladder of steeps as served, under each the time to try where a change is shown to be wanted.
fn steeped(recipe: &Recipe<'_>, estimate: Option<&Estimate>) -> Markup {
    let water = recipe.water();
    let many = recipe.ladder.len() > FEW_STEEPS;
    let estimate = estimate.filter(|estimate| estimate.leaf_g.is_some());
    let to_try = |place: usize| estimate.map(|of| of.steep_s.get(place).copied());
    html! {
        p class="dose" {
            b { (recipe.dose()) @if let Some(water) = &water { " at " (water) } }
            @if let Some(words) = recipe.per_100_ml() { " " span class="whole" { (words) } }
            @for part in recipe.besides() { "; " (part) }
            ". " (POUR_OFF)
        }
        ol class=(if many { "ladder many" } else { "ladder" }) aria-label="Steeps as served" {
            @for (place, rung) in recipe.ladder.iter().enumerate() {
                li {
                    small { "steep " (rung.steep) }
                    b { (unbroken(&rung.time())) }
                    span { (rung.temp_c) "\u{a0}°C" }
                    @match to_try(place) {
                        Some(Some(seconds)) => span class="try" { "try " b { (unbroken(&format!("{seconds} s"))) } },
                        Some(None) => span class="try" { "leaf spent" },
                        None => {}
                    }
                }
            }
        }
        @for words in &recipe.done_again { p class="again" { (capital(words)) "." } }
        @if let Some((estimate, leaf_g)) = estimate.and_then(|estimate| Some((estimate, estimate.leaf_g?))) {
            p class="guess" {
                "To try (or " (format!("{leaf_g:.1}")) " g leaf): " (ROUGH_GUESS)
                @if estimate.first_step { "; a first step, " (FIRST_STEP) }
                "."
            }
        }
    }
}

/// A number stays with its unit.
fn unbroken(time: &str) -> String {
    time.replace(" s", "\u{a0}s").replace(" min", "\u{a0}min")
}

/// A tea's liking over its steeps.
struct Liking<'a> {
    scale: &'a Scale,
    found: &'a Described,
    /// The comparison of the teas.
    compared: Option<&'a Difference>,
}

/// The tea's liking, if the sheet asks for one.
fn liking(summary: &Summary, tea: Code) -> Option<Liking<'_>> {
    let figures = &summary.findings.figures;
    let scale = figures.scales.iter().find(|scale| name_key(&scale.attribute) == "liking")?;
    let of = |d: &&Described| d.attribute == scale.attribute && d.tea == Some(tea) && d.steep.is_none();
    let compared = figures.differences.iter().find(|d| d.attribute == scale.attribute && d.steep.is_none());
    Some(Liking { scale, found: figures.described.iter().find(of)?, compared })
}

/// Where a mean stands on its scale.
fn meter(scale: &Scale, mean: f64) -> Markup {
    let width = f64::from(scale.max - scale.min).max(1.0);
    let place = (100.0 * (mean - f64::from(scale.min)) / width).clamp(0.0, 100.0);
    html! {
        span class="meter" aria-hidden="true" {
            small { (scale.min) } span { i style=(format!("left:{place:.0}%")) {} } small { (scale.max) }
        }
    }
}

/// `floral 5 of 8, nutty 3 of 8`: the words that most ticked.
fn words(summary: &Summary, tea: Code) -> Option<String> {
    let words = &summary.findings.figures.words;
    let of = |word: &summary::find::ticks::WordFinding| {
        let count = word.teas.iter().find(|count| count.tea == tea)?;
        (count.n > 0).then(|| (count.n, format!("{} {} of {}", word.word, count.n, count.of)))
    };
    let mut found: Vec<(usize, String)> = words.iter().filter_map(of).collect();
    // Of as many in the order of the sheet.
    found.sort_by_key(|(n, _)| std::cmp::Reverse(*n));
    let said: Vec<String> = found.into_iter().take(MOST_WORDS).map(|(_, words)| words).collect();
    if words.is_empty() {
        None
    } else if said.is_empty() {
        Some("none ticked".into())
    } else {
        Some(said.join(", "))
    }
}

#[cfg(test)]
mod tests;
