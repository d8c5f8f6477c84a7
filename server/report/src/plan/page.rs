//! The plan as one page to print: run sheet, lists, kettles, a blank score form for every seat, and the sealed key on a
//! page of its own.

mod forms;
mod picture;

use crate::html::page;
use crate::plan::text::round::{at_kettles, water};
use crate::plan::text::{any_proved, clock, deed, proved, proven_means, temperatures, total, who};
use crate::words::joined;
use class::Class;
use maud::{Markup, html};
use plan::difference_test::TestPlan;
use plan::document::Plan;
use plan::placed::RoundDocument;
use plan::warnings::words_s;
use protocol::Code;

const STYLE: &str = "\
body{font:11pt/1.35 Georgia,serif;color:#000;background:#fff;margin:1.5rem auto;max-width:46rem;padding:0 1rem}\
h1{font-size:1.5rem;margin:.2rem 0}h2{font-size:1.1rem;margin:1.2rem 0 .3rem;border-bottom:1px solid #000}\
table{border-collapse:collapse;width:100%;margin:.3rem 0}th,td{text-align:left;padding:.15rem .4rem;border-bottom:1px solid #bbb;vertical-align:top}\
th{font-weight:bold}td.box{border:1px solid #000;min-width:2.2rem;height:1.6rem}td.note{border:1px solid #000;width:30%}\
.warn{border-left:4px solid #000;padding-left:.6rem;margin:.4rem 0}.page{break-before:page}.key{break-before:right}section{break-inside:avoid}\
.small{font-size:.85rem}.scroll{overflow-x:auto}@page{margin:14mm}\
h2{break-after:avoid}tr,.whole{break-inside:avoid}.run{break-inside:auto}figure{margin:.5rem 0}figure svg{display:block;width:100%;max-width:34rem}";

/// The whole page. It holds the names of blind teas on its last sheet only.
pub fn html(plan: &Plan, class: &Class) -> String {
    let body = html! {
        h1 { (plan.title) }
        p {
            (plan.date) " · " (who(plan)) " " (words_s(plan.length_s)) " in all"
            @if plan.start_s.is_some() {
                " · arrive by " (clock(plan, -600)) " · first cue " (clock(plan, 0))
                " · end " (clock(plan, plan.length_s.into()))
            }
        }
        (warnings(&plan.warnings))
        (preparation(plan))
        @if any_proved(plan) { p class="small" { (proven_means(plan)) } }
        @for round in &plan.rounds { (run_sheet(plan, round, class)) }
        (kettles(plan, class))
        (weighing_list(plan))
        section { h2 { "What the class can show" } p { (plan.can_show) } }
        section {
            h2 { "Cautions" }
            ul { @for caution in plan.cautions.iter().chain([&plan.caffeine.words()]) { li { (caution) } } }
        }
        (forms::forms(plan, class))
        @for test in &plan.tests { (test_table(test)) }
        (sealed_key(plan))
        @for test in &plan.tests { (test_key(plan, test)) }
    };
    page(&plan.title, &format!("{STYLE}{}", forms::STYLE), &body)
}

fn warnings(all: &[String]) -> Markup {
    html! { @for warning in all { p class="warn" { (warning) } } }
}

/// The row of heads.
fn heads<const N: usize>(heads: [&str; N]) -> Markup {
    html! { tr { @for head in heads { th { (head) } } } }
}

fn preparation(plan: &Plan) -> Markup {
    html! {
        @if !plan.preparation.is_empty() || !plan.before_start.is_empty() {
            section {
                h2 { "Before the first pour" }
                table {
                    (heads(["When", "What", "Hands"]))
                    @for before in &plan.before_start {
                        tr { td { (clock(plan, before.at_s)) } td { (before.words) } td {} }
                    }
                    @for p in &plan.preparation {
                        tr {
                            td { (clock(plan, p.at_s.into())) }
                            td { (p.action) " " (p.code) " (" (p.length_s) " s)" }
                            td { (p.hands) }
                        }
                    }
                }
            }
        }
    }
}

fn run_sheet(plan: &Plan, round: &RoundDocument, class: &Class) -> Markup {
    let at = |s: u32| clock(plan, s.into());
    html! {
        section class="run" {
            div class="whole" {
                h2 { "Round " (round.plan.round) " · begins " (at(round.begins_s)) }
                p class="small" {
                    "First to last cup " (proved(round.plan.spread)) ". "
                    "Last cup ready after " (proved(round.plan.last_cup)) "."
                    @if let Some(given) = &round.plan.given { " " (given.words()) "." }
                }
                (picture::figure(plan, round, &class.setting.kettles))
            }
            div class="scroll" {
                table {
                    (heads(["When", "What", "Water", "Hands"]))
                    @for (at_s, what, water, hands) in rows(plan, round, class) {
                        tr { td { (clock(plan, at_s)) } td { (what) } td { (water) } td { (hands) } }
                    }
                    tr {
                        td { (at(round.tastes_s)) }
                        td { "taste until " (at(round.closes_s)) }
                        td {}
                        td { "all" }
                    }
                }
            }
            @if round.pause_s > 0 {
                p class="small" {
                    "Then " (words_s(round.pause_s)) " of " (if round.is_break { "break" } else { "pause" }) "."
                }
            }
        }
    }
}

/// A round's pours and decants, and what hands do at the kettles meanwhile, in order: when, what, which water, whose hands.
fn rows(plan: &Plan, round: &RoundDocument, class: &Class) -> Vec<(i64, Markup, String, u8)> {
    let mut rows = Vec::new();
    let name = |kettle: usize| class.setting.kettles.get(kettle - 1).map_or("", |k| k.name.as_str());
    let at = |s: u32| i64::from(round.begins_s + s);
    for cup in &round.plan.cups {
        let from = cup.kettle.map_or(String::new(), |k| format!(", {}", name(k)));
        let water = format!("{} at {} °C{from}", water(cup), cup.set_c);
        let pour = html! { b { "pour " (cup.code) } " (" (cup.pour_s) " s), then steep " (cup.steep_s) " s" };
        rows.push((at(cup.pour_at_s), pour, water, cup.pour_hands));
        let decant = html! { b { "decant " (cup.code) } " (" (cup.decant_s) " s)" };
        rows.push((at(cup.decant_at_s), decant, String::new(), cup.decant_hands));
    }
    for step in at_kettles(plan, round) {
        let what = html! { (name(step.kettle)) ": " (deed(&step.deed)) };
        rows.push((step.at_s, what, String::new(), step.hands.unwrap_or(0)));
    }
    rows.sort_by_key(|r| r.0);
    rows
}

fn kettles(plan: &Plan, class: &Class) -> Markup {
    let name = |kettle: usize| class.setting.kettles.get(kettle - 1).map_or("", |k| &k.name);
    html! {
        @if !plan.kettles.is_empty() {
            section {
                h2 { "Kettles" }
                p class="small" { "Water boils at " (format!("{:.1}", plan.boiling_c)) " °C here." }
                table {
                    (heads(["When", "Kettle", "What"]))
                    @for step in &plan.kettles {
                        tr {
                            td { (clock(plan, step.at_s)) }
                            td { (name(step.kettle)) }
                            td { (deed(&step.deed)) }
                        }
                    }
                }
            }
        }
    }
}

/// By code, not by name: the list lies open on the table.
fn weighing_list(plan: &Plan) -> Markup {
    let q = &plan.quantities;
    html! {
        section {
            h2 { "To weigh out and to bring" }
            table {
                (heads(["Code", "Vessels", "Leaf each", "Water each steep", "First liquor"]))
                @for (tea, need) in plan.teas.iter().zip(&q.teas) {
                    tr {
                        td { (tea.code) }
                        td { (need.vessels.map_or("–".to_string(), |v| v.to_string())) }
                        td { (tea.leaf_g) " g" }
                        td { (tea.water_ml) " ml" }
                        td { (format!("{:.0} ml", need.liquor.first().map_or(0.0, |l| l.ml))) }
                    }
                }
            }
            p { "In all " (total(plan)) "." }
        }
    }
}

/// A difference test as it is laid out: nothing here tells what is in a cup.
fn test_table(test: &TestPlan) -> Markup {
    html! {
        section class="page" {
            h1 { "Test " (test.test) }
            p { (test.kind) " · steep " (test.steep) " · " (test.question) }
            p { (test.can_show) }
            (warnings(&test.notes))
            p {
                "When both teas are in the cups, type " b { "test " (test.test) } ". "
                "Seats are numbered in the order in which they are taken."
            }
            table {
                (heads(["Seat", "Cups from left to right"]))
                @for serving in &test.servings {
                    tr {
                        td { (serving.seat) }
                        td {
                            @if let Some(code) = serving.reference { "first " (code) ", then " }
                            (joined(&serving.codes, " · "))
                        }
                    }
                }
            }
        }
    }
}

fn test_key(plan: &Plan, test: &TestPlan) -> Markup {
    let name = |code: Code| plan.teas.iter().find(|tea| tea.code == code).map_or("", |tea| tea.name.as_str());
    html! {
        section class="page" {
            h1 { "The key to test " (test.test) }
            p {
                "For the teacher, out of sight of the seats. Pour from steep " (test.steep) ":"
                @for (&tea, cups) in test.teas.iter().zip(&test.cups) {
                    " " (cups) " cups of " (tea) " " (name(tea)) ";"
                }
            }
            table {
                (heads(["Cups from left to right", "Right", "Seats"]))
                @for set in &test.key {
                    tr {
                        td {
                            @for (place, cup) in set.cups.iter().enumerate() {
                                @if place > 0 { ", " }
                                b { (cup.code) } " = " (cup.tea)
                            }
                        }
                        td { (set.right.map_or("either".to_string(), |code| code.to_string())) }
                        td { (joined(&set.seats, ", ")) }
                    }
                }
            }
            (warnings(&test.short))
        }
    }
}

fn sealed_key(plan: &Plan) -> Markup {
    html! {
        section class="page" {
            h1 { "The key" }
            p { "For the teacher. Fold and seal until the teas are revealed." }
            table {
                (heads(["Code", "Tea", "Leaf", "Dose", "Water", "Steeps"]))
                @for tea in &plan.teas {
                    tr {
                        td { (tea.code) }
                        td { (tea.name) }
                        td { (tea.leaf) }
                        td { (tea.leaf_g) " g in " (tea.water_ml) " ml" }
                        td { (temperatures(&tea.temp_c)) " °C" }
                        td { (joined(&tea.steep_s, ", ")) " s" }
                    }
                }
            }
        }
    }
}
