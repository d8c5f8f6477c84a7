//! One seat's own page to take home, as HTML: its scores beside the class's, its votes and notes, and how to brew the teas that are
//! revealed. For that person only; no other seat is named. The same as text is [`crate::text::seat_page`].

use super::{
    CAUTIONS, FEW_OTHERS, HABITS, Own, POUR_OFF, Recipe, YOURS, above_class, correlation, liked_and_wished,
};
use crate::words::{capital, joined, rehearsal, scale_words};
use maud::{Markup, html};
use protocol::text::NAME_CHARS;
use protocol::{Code, say};
use room::Room;
use stats::say::{fine, signed};
use summary::find::describe::Scale;
use summary::find::seats::{OwnScore, SeatPage};
use summary::{Summary, TeaLine};

const STYLE: &str = concat!(include_str!("../page/style.css"), include_str!("seat.css"));

/// The page of the seat of this name; `None` if there is no such seat.
pub fn html(summary: &Summary, room: &Room, seat: &str) -> Option<String> {
    let found = &summary.findings.figures.seat(seat)?;
    let own = Own::of(room, summary, seat);
    let body = html! {
        header {
            h1 { (seat) " and the class" }
            p { (summary.title) " · " (summary.date) }
            @for line in rehearsal(summary).iter().chain(&found.damage) { p { (line) } }
        }
        main {
            @if found.scores.is_empty() {
                p { "You have scored nothing, so there is nothing to set beside the class." }
            } @else {
                p { (YOURS) }
                @let mine = liked_and_wished(summary, found, &own);
                @if !mine.is_empty() {
                    section {
                        h2 { "For your own cup" }
                        ul { @for said in &mine { li { (said) } } }
                    }
                }
                section {
                    h2 { "You and the class" }
                    ul { @for sentence in &found.sentences { li { (capital(&sentence.text)) } } }
                }
            }
            (cups(summary, found, &own))
            (to_brew(summary))
            @if !found.scores.is_empty() { (habits(found)) }
            footer { p class="note" { (CAUTIONS) } }
        }
    };
    Some(crate::html::page(&format!("{seat} · {}", summary.title), STYLE, &body))
}

/// The names of the files of some seats, without their endings: each with its number, so that no two are the same however much
/// their names are alike, and without what means something to a system of files.
pub fn file_names(seats: &[&str]) -> Vec<String> {
    let digits = seats.len().to_string().len().max(2);
    let name = |(number, seat): (usize, &&str)| {
        let kept = seat.chars().map(|c| if c.is_alphanumeric() { c } else { ' ' }).take(NAME_CHARS);
        let words: Vec<String> = kept.collect::<String>().split_whitespace().map(String::from).collect();
        format!("{number:0digits$}-{}", words.join("-")).trim_end_matches('-').to_string()
    };
    (1..).zip(seats).map(name).collect()
}

/// `liking from 1 (dislike extremely) to 9 (like extremely)`.
fn said(scale: &Scale) -> String {
    format!("{} from {}", scale.attribute, scale_words(scale))
}

/// What the seat said of each tea.
fn cups(summary: &Summary, found: &SeatPage, own: &[Own]) -> Markup {
    let scales = &summary.findings.figures.scales;
    let of_tea = |code: Code| found.scores.iter().any(|s| s.tea == code) || own.iter().any(|o| o.tea == code);
    let teas: Vec<&TeaLine> = summary.teas.iter().filter(|tea| of_tea(tea.code)).collect();
    html! {
        @if !teas.is_empty() {
            section {
                h2 { "Your cups" }
                @if !found.scores.is_empty() {
                    p class="key" { (line(&Strip::KEY)) "Full: your score. Ring: the others' mean, which stands in brackets." }
                    @if found.scores.iter().any(OwnScore::hides_others) { p class="note" { (FEW_OTHERS) } }
                    p class="note" { (joined(scales.iter().map(said), " · ")) }
                }
                @for tea in teas { (cups_of(summary, tea, found, own)) }
            }
        }
    }
}

fn cups_of(summary: &Summary, tea: &TeaLine, found: &SeatPage, own: &[Own]) -> Markup {
    let scales = &summary.findings.figures.scales;
    let said: Vec<&Own> = own.iter().filter(|own| own.tea == tea.code).collect();
    let scores = |attribute: &str| -> Vec<&OwnScore> {
        found.scores.iter().filter(|s| s.tea == tea.code && s.attribute == attribute).collect()
    };
    html! {
        div class="tea" {
            h3 { (title(tea)) }
            @for scale in scales {
                @let all = scores(&scale.attribute);
                @if !all.is_empty() {
                    p class="scored" {
                        b { (capital(&scale.attribute)) }
                        span class="cups" {
                            @for score in all {
                                span {
                                    small { (summary.called(tea.code, score.steep)) }
                                    (line(&Strip::of(scale, score)))
                                    (score.own) @if let Some(others) = score.others_shown() { small { " (" (signed(others)) ")" } }
                                }
                            }
                        }
                    }
                }
            }
            @if !said.is_empty() {
                ul { @for own in said { li { small { (summary.called(tea.code, own.steep)) ": " } (own.words()) } } }
            }
        }
    }
}

/// Where a score and the others' mean stand on the scale, 0 to 1.
struct Strip {
    own: f64,
    others: Option<f64>,
}

impl Strip {
    const KEY: Self = Self { own: 0.7, others: Some(0.4) };

    fn of(scale: &Scale, score: &OwnScore) -> Self {
        let width = f64::from(scale.max - scale.min).max(1.0);
        let place = |points: f64| ((points - f64::from(scale.min)) / width).clamp(0.0, 1.0);
        Self { own: place(score.own), others: score.others_shown().map(place) }
    }
}

/// A small picture; its numbers stand beside it.
fn line(strip: &Strip) -> Markup {
    let x = |place: f64| format!("{:.1}", 7.0 + 86.0 * place);
    html! {
        svg class="strip" viewBox="0 0 100 14" aria-hidden="true" {
            path d="M7 7H93" stroke="#6b645a" stroke-width="1" {}
            @if let Some(others) = strip.others {
                circle cx=(x(others)) cy="7" r="4.5" fill="#fffdf8" stroke="#1f1b16" stroke-width="1.5" {}
            }
            circle cx=(x(strip.own)) cy="7" r="4" fill="#1f1b16" {}
        }
    }
}

fn to_brew(summary: &Summary) -> Markup {
    html! {
        section {
            h2 { "To brew them again" }
            p class="note" { (POUR_OFF) }
            ul class="brew" {
                @for tea in &summary.teas {
                    li {
                        b { (title(tea)) }
                        @match Recipe::of(tea) {
                            Some(recipe) => { ": " (recipe.words()) }
                            None => " is still blind: ask the teacher.",
                        }
                    }
                }
            }
        }
    }
}

/// Folded: for whoever likes figures.
fn habits(found: &SeatPage) -> Markup {
    let figure = |value: Option<f64>| value.map_or("–".into(), fine);
    html! {
        details {
            summary { "How you use the scale" }
            p class="note" { (HABITS) }
            div class="scroll" {
                table {
                    thead {
                        tr {
                            th {}
                            @for head in ["above the class", "your spread", "others' spread", "correlation"] {
                                th class="number" { (head) }
                            }
                        }
                    }
                    tbody {
                        @for a in &found.attributes {
                            tr {
                                td { (a.attribute) }
                                td class="number" { (above_class(a)) }
                                td class="number" { (figure(a.spread.get().map(|s| s.sd))) }
                                td class="number" { (figure(a.spread.get().and_then(|s| s.others_mean_sd))) }
                                td class="number" { (correlation(a)) }
                            }
                        }
                    }
                }
            }
            p class="note" { "Of " (say::many(found.scores.len(), "score")) " of yours." }
        }
    }
}

/// A tea's name and code, or its code alone while it is blind.
pub(super) fn title(tea: &TeaLine) -> String {
    tea.name.as_ref().map_or_else(|| tea.code.to_string(), |name| format!("{name} ({})", tea.code))
}

#[cfg(test)]
mod tests;
