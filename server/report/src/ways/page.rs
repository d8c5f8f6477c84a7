//! Ways as a page with a picture.

use super::{picture, text, words};
use crate::home::CAUTIONS;
use crate::page::STYLE;
use maud::{Markup, html};
use plan::ways::{Compared, Group};

/// What this page has beside the others' style.
const OWN: &str = "body{max-width:46rem}main{display:block}section{margin:0}tr.middle td{font-weight:bold}.picture{margin:1rem 0}\
                   @media print{h2{margin-top:1.2rem}figure,table{break-inside:avoid}}";

/// The whole page.
pub fn html(compared: &Compared) -> String {
    let title = compared.title.as_deref().unwrap_or(text::TITLE);
    let body = html! {
        header { h1 { (title) } p { "How people steep it, side by side" } }
        main { @for one in &compared.groups { (group(one)) } }
        footer { p class="note" { (words::HOW) } p class="note" { (CAUTIONS) } }
    };
    crate::html::page(title, &format!("{STYLE}{OWN}"), &body)
}

fn group(group: &Group) -> Markup {
    let several = group.ways.len() > 1;
    html! {
        section {
            h2 { (words::head(group)) }
            @if several {
                p { b { "The middle way: " } (words::middle(&group.middle)) " " (words::UNTASTED) }
                (picture::figure(group))
            }
            (side_by_side(group))
            @for said in words::remarks(group) { p class="note" { (said) } }
            h3 { "Where they differ, and where not" }
            ul { @for one in &group.differences { li { (words::difference(one)) } } }
            p { @for words in words::most(group) { (words) " " } }
            @if several {
                h3 { "Who stands apart" }
                ul { @for words in words::apart(group) { li { (words) } } }
            }
        }
        "\n"
    }
}

/// Every way with how strong each of its cups is beside the middle way's.
fn side_by_side(group: &Group) -> Markup {
    let middle = &group.middle;
    let steeps = middle.steep_s.len();
    html! {
        div class="scroll" {
            table {
                caption { "Behind each time, in brackets: how many times as strong that cup gets as the middle way's." }
                thead {
                    tr {
                        th { "Whose" } th class="number" { "g to 100 ml" } th class="number" { "°C" } th { "Rinse" }
                        th { "Steeps, seconds" }
                    }
                }
                tbody {
                    @for of in &group.ways {
                        tr {
                            td { (of.way.who) }
                            td class="number" { (words::plain(of.way.dose_g_per_100_ml)) }
                            td class="number" { (words::water(&of.way.temp_c)) }
                            td { (words::rinse(of.way.rinse_s)) }
                            td {
                                @for (steep, seconds) in of.way.steep_s.iter().enumerate() {
                                    @if steep > 0 { ", " }
                                    (words::steeps(&[*seconds]))
                                    @if let Some(fold) = of.strength.get(steep).copied().flatten().filter(|_| steeps > 0) {
                                        "\u{a0}(" (words::times(fold)) ")"
                                    }
                                }
                            }
                        }
                    }
                    @if group.ways.len() > 1 {
                        tr class="middle" {
                            td { "the middle way" }
                            td class="number" { (words::plain(middle.dose_g_per_100_ml)) }
                            td class="number" { (words::water(&middle.temp_c)) }
                            td { (words::rinse(middle.rinse_s)) }
                            td { (words::steeps(&middle.steep_s)) }
                        }
                    }
                }
            }
        }
    }
}
