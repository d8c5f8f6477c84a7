//! Sweet spots as one page: the answer in sentences, pictures, the ways that were tasted.

use super::{profile, slice};
use crate::home::CAUTIONS;
use crate::page::STYLE;
use crate::text::spot::{best_first, points_below};
use crate::words::{counted, joined};
use maud::{Markup, html};
use protocol::say::list;
use stats::say::fine;
use summary::spot::drawn::{Drawn, drawn};
use summary::spot::rows::Tasted;
use summary::spot::{Spot, Spots};

/// What this page has beside the others' style.
const OWN: &str = "main{display:block}main .first section{grid-column:auto}.first figure h3{border:0;font-size:1.05rem;margin:0 0 .4rem}.pictures{margin-top:1.2rem}article{border-top:0}article+article{margin-top:2.5rem}.ways td b{font-weight:bold}.ways span{white-space:nowrap}\
                   @media(max-width:30rem){.ways{font-size:.78rem}.ways th,.ways td{padding-right:.4rem}.ways td,.ways td:not(.number){min-width:0}.ways .below span{display:block}}\
                   @media print{main .first{grid-template-columns:2fr 3fr}article{break-inside:auto}.pictures{grid-template-columns:1fr 1fr}article+article{break-before:page}.ways{break-inside:avoid}}";

/// What stands under every page.
const MOST: &str = "The points are means over these tasters: what most like, not everybody. Taste the best way beside your own before you go by it.";

/// The whole page.
pub fn html(spots: &Spots) -> String {
    let single: Vec<String> =
        spots.leaves.iter().filter(|spot| spot.factors.is_empty()).map(|spot| spot.leaf.clone()).collect();
    let title = "The sweet spot";
    let body = html! {
        header {
            h1 { (title) }
            @for words in heading(spots) { p { (words) } }
        }
        main {
            @for spot in spots.leaves.iter().filter(|spot| !spot.factors.is_empty()) { (leaf(spots, spot)) }
            @if !single.is_empty() {
                p { "Tasted in one way only, so that nothing can be said of a better one: " (list(&single)) "." }
            }
        }
        footer { p class="note" { (MOST) } p class="note" { (CAUTIONS) } }
    };
    crate::html::page(title, &format!("{STYLE}{OWN}"), &body)
}

/// From which classes, judged by what.
fn heading(spots: &Spots) -> Vec<String> {
    let counted_in: Vec<&str> =
        spots.classes.iter().filter(|class| !class.left_out).map(|class| class.date.as_str()).collect();
    let classes =
        if counted_in.len() == 1 { "1 class".into() } else { format!("{} classes", counted_in.len()) };
    let days = match (counted_in.first(), counted_in.last()) {
        (Some(first), Some(last)) if first == last => format!(", {first}"),
        (Some(first), Some(last)) => format!(", {first} to {last}"),
        _ => String::new(),
    };
    let judged = spots.judged_by.as_ref();
    let judged = judged
        .map_or("nothing scored".into(), |by| format!("{} from {} to {}", by.attribute, by.min, by.max));
    let aside: Vec<usize> =
        spots.classes.iter().filter(|class| class.left_out).map(|class| class.class).collect();
    let aside = (!aside.is_empty()).then(|| format!("Left out, being rehearsals: {}.", joined(&aside, ", ")));
    let nothing = spots.leaves.is_empty();
    let nothing = nothing
        .then(|| "Nobody has scored a tea whose name may be known; reveal the teas first.".to_string());
    [Some(format!("From {classes}{days} · {judged}")), aside, nothing].into_iter().flatten().collect()
}

fn leaf(spots: &Spots, spot: &Spot) -> Markup {
    let ways = best_first(spot);
    let number =
        |way: &Tasted| ways.iter().position(|other| std::ptr::eq(*other, way)).map_or(0, |at| at + 1);
    let numbers: Vec<usize> = spot.ways.iter().map(number).collect();
    let drawn = drawn(spot, spots.scale().points());
    let pictured = drawn.as_ref().map(|drawn| pictures(spots, spot, drawn, &numbers)).unwrap_or_default();
    let mut pictured = pictured.into_iter();
    let first = pictured.next();
    let rest: Vec<Markup> = pictured.collect();
    html! {
        article {
            div class="first" {
                section {
                    h2 { (spot.leaf) }
                    ul { @for words in &spot.answer.words { li { (words) } } }
                    p class="note" { (counted(spot.ways.len(), "way")) ", " (counted(spot.cups, "cup")) " scored, " (tasted_by(spot)) "." }
                }
                @if let Some(first) = first { (first) }
            }
            @if let Some(drawn) = &drawn {
                (how_to_read(spot, drawn))
                div class="pictures" { @for picture in rest { (picture) } }
            }
            h3 { "The ways that were tasted, the best first" }
            (table(spot, &ways))
        }
        "\n"
    }
}

/// Seats are counted class by class: whoever sat in two sat twice.
fn tasted_by(spot: &Spot) -> String {
    match spot.classes.len() {
        1 => counted(spot.tasters, "taster"),
        n => format!("{} in {n} classes (whoever came twice had two)", counted(spot.tasters, "seat")),
    }
}

fn pictures(spots: &Spots, spot: &Spot, drawn: &Drawn, numbers: &[usize]) -> Vec<Markup> {
    let slices = drawn.slices.iter().map(|own| slice::figure(spot, own, numbers));
    let profiles = drawn.profiles.iter().map(|own| profile::figure(spot, own, spots.scale()));
    slices.chain(profiles).collect()
}

fn how_to_read(spot: &Spot, drawn: &Drawn) -> Markup {
    let three = spot.factors.len() > 2;
    let filled = drawn.slices.iter().any(|slice| slice.near.contains(&false));
    html! {
        h3 { "How to read the pictures" }
        ul class="note" {
            @if !drawn.slices.is_empty() {
                li {
                    "Each number is a way that was tasted; the table has them all. The cross is the best."
                    @if three && filled {
                        " What stands over a picture is held as in the best way: a full dot was tasted near that, an open ring was not."
                    }
                }
                @if drawn.slices.iter().any(|slice| !slice.contours.is_empty()) {
                    li { "Ways on one thin line should be liked alike: −1 is one point less than the best." }
                }
                li { "Striped, inside the heavy line: ways that can't be told from the best yet. The smaller it is, the surer the answer." }
                @if drawn.slices.iter().any(|slice| !slice.ends.is_empty()) {
                    li {
                        "Beyond the broken line nothing is drawn: so steeped it lies more than a step outside what was tasted (half as much \
                         leaf again, 10 °C, half as long again)."
                        @if three && filled { " An open ring may lie there, as what stands over the picture was otherwise for it." }
                    }
                }
                @if spot.answer.next.is_some() { li { "The triangle is a way to taste next." } }
            }
            li {
                "Of one thing by itself, all else as in the best way: the heavy line is the liking to expect; it may well lie anywhere \
                 between the broken ones (in 95 of 100 such tastings). Each stroke at the foot was tasted."
            }
            li { "Twice as much leaf, or twice as long, is as far everywhere on its scale." }
        }
    }
}

fn table(spot: &Spot, ways: &[&Tasted]) -> Markup {
    let judged = spot.fit.is_some() && spot.answer.best.is_some();
    html! {
        div class="scroll" {
            table class="ways" {
                thead {
                    tr {
                        th class="number" { "No." } th { "Way" } th class="number" { "g to 100 ml" } th class="number" { "°C" }
                        th class="number" { "First steep, s" } th class="number" { "Cups" } th class="number" { "Mean" }
                        @if judged { th { "Points below the best" } }
                    }
                }
                tbody {
                    @for (at, way) in ways.iter().enumerate() {
                        tr {
                            td class="number" { (at + 1) }
                            td { (way.called) }
                            td class="number" { (fine(way.dose_g_per_100_ml)) }
                            td class="number" { (format!("{:.0}", way.temp_c)) }
                            td class="number" { (format!("{:.0}", way.seconds)) }
                            td class="number" { (way.cups) }
                            td class="number" { (way.mean.map_or("–".into(), fine)) }
                            @if judged {
                                td class="below" {
                                    @for part in way.lost.map_or("–".into(), points_below).splitn(2, ' ') { span { (part) } " " }
                                }
                            }
                        }
                    }
                }
            }
        }
        @if judged {
            p class="note" {
                "In brackets: between what that may well be. Where 0 lies between, the way can't be told from the best by itself."
            }
        }
    }
}
