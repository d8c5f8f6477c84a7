//! The guide as one page to hand out: a sheet that is printed on one side.

use crate::home::{CAUTIONS, POUR_OFF};
use crate::words::{capital, counted};
use maud::{Markup, html};
use protocol::say::list;
use summary::guide::{By, Group, Guide, Line, Sure, Tasted};

const STYLE: &str = "\
body{font:1rem/1.4 Georgia,serif;color:#1f1b16;background:#fffdf8;margin:0 auto;max-width:60rem;padding:1.2rem 1rem 2rem}\
h1{font-size:1.5rem;line-height:1.2;margin:0 0 .2rem}p{margin:.3rem 0}.scroll{overflow-x:auto}\
table{border-collapse:collapse;width:100%;margin:.6rem 0;font-size:.9rem;line-height:1.3;font-variant-numeric:lining-nums tabular-nums}\
th,td{text-align:left;vertical-align:top;padding:.18rem .6rem .18rem 0}thead th{border-bottom:1px solid #1f1b16;vertical-align:bottom}\
tbody tr:first-child>*{border-top:1px solid #d8d1c3}tbody th{font-weight:bold;max-width:12rem}small{font-weight:normal;color:#4a443b}\
td.number{white-space:nowrap}.tasted td{font-weight:bold}.tasted td.sure{font-weight:normal}.sure{color:#4a443b}\
@media screen and (max-width:40rem){table,thead,tbody{display:block}table{font-size:.85rem}tr{display:grid;grid-template-columns:4rem 3.4rem 5.6rem 3rem 1fr}\
tbody th,.sure,thead th:first-child,thead th:last-child{grid-column:1/-1}tbody th{max-width:none}tbody tr:first-child>td{border-top:0}}\
@media print{@page{margin:10mm}body{font-size:9pt;line-height:1.25;padding:0;max-width:none;background:#fff}table{font-size:8pt;line-height:1.15;margin:.3rem 0}\
th,td{padding:.1rem .4rem .1rem 0}h1{font-size:14pt}tbody{break-inside:avoid}}";

/// The page.
pub fn html(guide: &Guide) -> String {
    let title = "How to steep it";
    let body = html! {
        header {
            h1 { (title) }
            p { (made_from(guide)) " It is where to begin: taste, and change one thing at a time." }
        }
        main {
            div class="scroll" {
                table {
                    thead {
                        tr {
                            th { "Leaf" } th { "Sitting" } th { "Leaf, g to 100 ml" } th { "Water, °C" } th { "Rinse" }
                            th { "Steeps, seconds" } th { "How sure" }
                        }
                    }
                    @for one in &guide.groups { (group(one)) "\n" }
                }
            }
        }
        footer {
            p {
                "A short sitting: little leaf, few long steeps. A long one: much leaf, many short steeps. Times are from lid on to \
                 the start of pouring off. " (POUR_OFF)
            }
            p {
                "“Shown” means that chance alone would seldom make such a difference; it speaks for the people who tasted, not for \
                 everybody. A seat is one person in one class: whoever came twice had two. Common practice is what people usually do; \
                 these classes did not taste it."
            }
            p { (CAUTIONS) }
        }
    };
    crate::html::page(title, STYLE, &body)
}

fn made_from(guide: &Guide) -> String {
    match &guide.days {
        None if guide.rehearsals > 0 => {
            "Only rehearsals are there, which say nothing of a tea: all of it is common practice.".into()
        }
        None => "No class has tasted anything for this yet: all of it is common practice.".into(),
        Some((first, last)) if first == last => format!("From {}, {first}.", counted(guide.classes, "class")),
        Some((first, last)) => format!("From {} classes, {first} to {last}.", guide.classes),
    }
}

fn group(group: &Group) -> Markup {
    let lines: Vec<(&Line, &str)> = [(&group.short, "short"), (&group.long, "long")]
        .into_iter()
        .filter_map(|(line, sitting)| Some((line.as_ref()?, sitting)))
        .collect();
    let rows = lines.len() + usize::from(!group.not_liked.is_empty());
    html! {
        tbody {
            @for (row, (of, sitting)) in lines.iter().enumerate() { (line(of, sitting, (row == 0).then(|| head(group, rows)))) }
            @if !group.not_liked.is_empty() {
                tr {
                    @if lines.is_empty() { (head(group, rows)) }
                    td colspan="6" class="sure" { "tasted, and no way of it was liked: " (list(&group.not_liked)) }
                }
            }
        }
    }
}

/// Which leaf some rows are about.
fn head(group: &Group, rows: usize) -> Markup {
    html! {
        th rowspan=(rows) {
            (capital(&group.leaf))
            @if !group.tasted.is_empty() && group.tasted != [group.leaf.clone()] {
                br; small { (list(&group.tasted)) }
            }
        }
    }
}

/// One row; the first of some begins with their head.
fn line(line: &Line, sitting: &str, head: Option<Markup>) -> Markup {
    let practice = line.sure == Sure::Practice;
    html! {
        tr class=[(!practice).then_some("tasted")] {
            @if let Some(head) = head { (head) }
            td { (sitting) }
            td class="number" { (format!("{}", (line.dose_g_per_100_ml * 10.0).round() / 10.0)) }
            td class="number" { (water(line)) }
            td class="number" { (line.rinse_s.map_or("–".into(), |s| format!("{s} s"))) }
            td { (steeps(&line.steep_s)) }
            td class="sure" { (sure(&line.sure)) }
        }
    }
}

fn water(line: &Line) -> String {
    if line.first_c == line.last_c {
        format!("{}", line.first_c)
    } else {
        format!("{} to {}", line.first_c, line.last_c)
    }
}

fn steeps(steep_s: &[u32]) -> String {
    let all = steep_s.iter().map(|&s| if s == 0 { "flash".into() } else { s.to_string() });
    all.collect::<Vec<String>>().join(", ")
}

/// How sure a line is, in plain words.
fn sure(sure: &Sure) -> String {
    match sure {
        Sure::Practice => "common practice only".into(),
        Sure::Spot(words) => words.clone(),
        Sure::Tasted(Tasted { classes, seats, by }) => {
            let classes = if *classes == 1 { "1 class".into() } else { format!("{classes} classes") };
            let seats = counted(*seats, "seat");
            let by = match by {
                By::Shown => "shown to be liked better than another way".into(),
                By::Middle(1) => "the one way that was liked; not shown to be better".into(),
                By::Middle(n) => format!("the middle of {n} ways that were liked; none shown to be better"),
                By::Only => "liked, but the only way tasted".into(),
            };
            format!("tasted in {classes}, {seats}: {by}")
        }
    }
}

#[cfg(test)]
mod tests;
