//! The plan as one page to print: run sheet, lists, kettles, a blank score form for every seat, and the sealed key on a
//! page of its own. No scripts, nothing fetched from outside; all text from people is escaped.

use crate::plan::text::{clock, deed, proved};
use class::Class;
use plan::difference::TestPlan;
use plan::document::Plan;
use plan::placed::RoundDocument;
use plan::warnings::words_s;
use protocol::Code;
use std::fmt::Write;

const STYLE: &str = "\
body{font:11pt/1.35 Georgia,serif;color:#000;background:#fff;margin:1.5rem auto;max-width:46rem;padding:0 1rem}\
h1{font-size:1.5rem;margin:.2rem 0}h2{font-size:1.1rem;margin:1.2rem 0 .3rem;border-bottom:1px solid #000}\
table{border-collapse:collapse;width:100%;margin:.3rem 0}th,td{text-align:left;padding:.15rem .4rem;border-bottom:1px solid #bbb;vertical-align:top}\
th{font-weight:bold}td.box{border:1px solid #000;min-width:2.2rem;height:1.6rem}td.note{border:1px solid #000;width:30%}\
.warn{border-left:4px solid #000;padding-left:.6rem;margin:.4rem 0}.page{break-before:page}.key{break-before:right}section{break-inside:avoid}\
.small{font-size:.85rem}.scroll{overflow-x:auto}@page{margin:14mm}";

/// Text that a page shows and never runs.
pub fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '&' => out += "&amp;",
            '<' => out += "&lt;",
            '>' => out += "&gt;",
            '"' => out += "&quot;",
            '\'' => out += "&#39;",
            c => out.push(c),
        }
    }
    out
}

/// The whole page. It holds the names of blind teas on its last sheet only.
pub fn html(plan: &Plan, class: &Class) -> String {
    let mut out = String::new();
    // Writing to a String can't fail.
    let _ = write_page(&mut out, plan, class);
    out
}

fn write_page(out: &mut String, plan: &Plan, class: &Class) -> std::fmt::Result {
    let title = escaped(&plan.title);
    write!(
        out,
        "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">"
    )?;
    write!(out, "<title>{title}</title><style>{STYLE}</style></head><body>")?;
    write!(
        out,
        "<h1>{title}</h1><p>{} · {} seats · {} in all",
        escaped(&plan.date),
        plan.seats,
        words_s(plan.length_s)
    )?;
    if plan.start_s.is_some() {
        write!(
            out,
            " · arrive by {} · first cue {} · end {}",
            clock(plan, -600),
            clock(plan, 0),
            clock(plan, plan.length_s.into())
        )?;
    }
    write!(out, "</p>")?;
    for warning in &plan.warnings {
        write!(out, "<p class=\"warn\">{}</p>", escaped(warning))?;
    }
    run_sheet(out, plan, class)?;
    kettle_plan(out, plan, class)?;
    weighing_list(out, plan)?;
    write!(out, "<section><h2>What the class can show</h2><p>{}</p></section>", escaped(&plan.can_show))?;
    write!(out, "<section><h2>Cautions</h2><ul>")?;
    for caution in &plan.cautions {
        write!(out, "<li>{}</li>", escaped(caution))?;
    }
    write!(out, "<li>{}</li></ul></section>", escaped(&plan.caffeine.words()))?;
    for (seat, order) in plan.orders.iter().enumerate() {
        score_form(out, plan, class, seat + 1, order)?;
    }
    for test in &plan.tests {
        test_table(out, test)?;
    }
    sealed_key(out, plan)?;
    for test in &plan.tests {
        test_key(out, plan, test)?;
    }
    write!(out, "</body></html>")?;
    writeln!(out)
}

fn run_sheet(out: &mut String, plan: &Plan, class: &Class) -> std::fmt::Result {
    if !plan.preparation.is_empty() {
        write!(
            out,
            "<section><h2>Before the first pour</h2><table><tr><th>When</th><th>What</th><th>Hands</th></tr>"
        )?;
        for p in &plan.preparation {
            write!(
                out,
                "<tr><td>{}</td><td>{} {} ({} s)</td><td>{}</td></tr>",
                clock(plan, p.at_s.into()),
                p.action,
                p.code,
                p.length_s,
                p.hands
            )?;
        }
        write!(out, "</table></section>")?;
    }
    for round in &plan.rounds {
        write!(
            out,
            "<section><h2>Round {} · begins {}</h2>",
            round.plan.round,
            clock(plan, round.begins_s.into())
        )?;
        write!(
            out,
            "<p class=\"small\">First to last cup {}. Last cup ready after {}.</p>",
            proved(round.plan.spread),
            proved(round.plan.last_cup)
        )?;
        write!(
            out,
            "<div class=\"scroll\"><table><tr><th>When</th><th>What</th><th>Water</th><th>Hands</th></tr>"
        )?;
        for (at_s, what, water, hands) in rows(round, class) {
            write!(
                out,
                "<tr><td>{}</td><td>{what}</td><td>{water}</td><td>{hands}</td></tr>",
                clock(plan, at_s.into())
            )?;
        }
        let (tastes, closes) = (clock(plan, round.tastes_s.into()), clock(plan, round.closes_s.into()));
        write!(
            out,
            "<tr><td>{tastes}</td><td>taste until {closes}</td><td></td><td>all</td></tr></table></div>"
        )?;
        if round.pause_s > 0 {
            let rest = if round.is_break { "break" } else { "pause" };
            write!(out, "<p class=\"small\">Then {} of {rest}.</p>", words_s(round.pause_s))?;
        }
        write!(out, "</section>")?;
    }
    Ok(())
}

/// A round's pours and decants in order: when, what, which water, whose hands.
fn rows(round: &RoundDocument, class: &Class) -> Vec<(u32, String, String, u8)> {
    let mut rows = Vec::new();
    for cup in &round.plan.cups {
        let kettle = cup.kettle.and_then(|k| class.setting.kettles.get(k - 1));
        let kettle = kettle.map_or(String::new(), |k| format!(", {}", escaped(&k.name)));
        let pour = format!("<b>pour {}</b> ({} s), then steep {} s", cup.code, cup.pour_s, cup.steep_s);
        rows.push((
            round.begins_s + cup.pour_at_s,
            pour,
            format!("{} °C{kettle}", cup.set_c),
            cup.pour_hands,
        ));
        let decant = format!("<b>decant {}</b> ({} s)", cup.code, cup.decant_s);
        rows.push((round.begins_s + cup.decant_at_s, decant, String::new(), cup.decant_hands));
    }
    rows.sort_by_key(|r| r.0);
    rows
}

fn kettle_plan(out: &mut String, plan: &Plan, class: &Class) -> std::fmt::Result {
    if plan.kettles.is_empty() {
        return Ok(());
    }
    write!(
        out,
        "<section><h2>Kettles</h2><p class=\"small\">Water boils at {:.1} °C here.</p><table><tr><th>When</th><th>Kettle</th><th>What</th></tr>",
        plan.boiling_c
    )?;
    for step in &plan.kettles {
        let name = class.setting.kettles.get(step.kettle - 1).map_or("", |k| &k.name);
        write!(
            out,
            "<tr><td>{}</td><td>{}</td><td>{}</td></tr>",
            clock(plan, step.at_s),
            escaped(name),
            deed(&step.deed)
        )?;
    }
    write!(out, "</table></section>")
}

/// By code, not by name: the list lies open on the table.
fn weighing_list(out: &mut String, plan: &Plan) -> std::fmt::Result {
    let q = &plan.quantities;
    write!(
        out,
        "<section><h2>To weigh out and to bring</h2><table><tr><th>Code</th><th>Vessels</th><th>Leaf each</th><th>Water each steep</th><th>First liquor</th></tr>"
    )?;
    for (tea, need) in plan.teas.iter().zip(&q.teas) {
        let vessels = need.vessels.map_or("–".to_string(), |v| v.to_string());
        let first = need.liquor.first().map_or(0.0, |l| l.ml);
        write!(
            out,
            "<tr><td>{}</td><td>{vessels}</td><td>{} g</td><td>{} ml</td><td>{first:.0} ml</td></tr>",
            tea.code, tea.leaf_g, tea.water_ml
        )?;
    }
    write!(
        out,
        "</table><p>In all {:.1} g of leaf and {:.1} l of water; with {} % to spare {:.1} g and {:.1} l.</p></section>",
        q.table.leaf_g,
        q.table.water_ml / 1000.0,
        q.spare_percent,
        q.to_bring.leaf_g,
        q.to_bring.water_ml / 1000.0
    )
}

fn score_form(out: &mut String, plan: &Plan, class: &Class, seat: usize, order: &[Code]) -> std::fmt::Result {
    let sheet = &class.sheet;
    write!(
        out,
        "<section class=\"page\"><h1>Seat {seat}</h1><p>{} · {} · name: ____________________</p>",
        escaped(&plan.title),
        escaped(&plan.date)
    )?;
    let scales: Vec<String> = sheet
        .attributes
        .iter()
        .map(|a| {
            let words = match (&a.low, &a.high) {
                (Some(low), Some(high)) => format!(" {} to {}", escaped(low), escaped(high)),
                _ => String::new(),
            };
            format!("{} {}–{}{words}", escaped(&a.name), a.min, a.max)
        })
        .collect();
    write!(
        out,
        "<p class=\"small\">{}{}</p>",
        scales.join(" · "),
        if sheet.strength { " · strength −2 much too thin to 2 much too strong" } else { "" }
    )?;
    if !sheet.words.is_empty() {
        let words: Vec<String> = sheet.words.iter().map(|word| escaped(word)).collect();
        write!(out, "<p class=\"small\">words, all that fit: {}</p>", words.join(" · "))?;
    }
    for round in &plan.rounds {
        write!(out, "<h2>Round {}</h2><div class=\"scroll\"><table><tr><th>Code</th>", round.plan.round)?;
        for attribute in &sheet.attributes {
            write!(out, "<th>{}</th>", escaped(&attribute.name))?;
        }
        write!(
            out,
            "{}{}{}</tr>",
            if sheet.strength { "<th>strength</th>" } else { "" },
            if sheet.words.is_empty() { "" } else { "<th>words</th>" },
            if sheet.note { "<th>note</th>" } else { "" }
        )?;
        for code in order.iter().filter(|code| round.plan.cups.iter().any(|c| c.code == **code)) {
            let boxes =
                "<td class=\"box\"></td>".repeat(sheet.attributes.len() + usize::from(sheet.strength));
            write!(
                out,
                "<tr><td>{code}</td>{boxes}{}{}</tr>",
                if sheet.words.is_empty() { "" } else { "<td class=\"note\"></td>" },
                if sheet.note { "<td class=\"note\"></td>" } else { "" }
            )?;
        }
        write!(out, "</table></div>")?;
    }
    write!(out, "</section>")
}

/// A difference test as it is laid out: nothing here tells what is in a cup.
fn test_table(out: &mut String, test: &TestPlan) -> std::fmt::Result {
    write!(
        out,
        "<section class=\"page\"><h1>Test {}</h1><p>{} · steep {} · {}</p><p>{}</p>",
        test.test,
        test.kind,
        test.steep,
        escaped(&test.question),
        escaped(&test.can_show)
    )?;
    for note in &test.notes {
        write!(out, "<p class=\"warn\">{}</p>", escaped(note))?;
    }
    write!(
        out,
        "<p>When both teas are in the cups, type <b>test {}</b>. Seats are numbered in the order in which they are taken.</p>",
        test.test
    )?;
    write!(out, "<table><tr><th>Seat</th><th>Cups from left to right</th></tr>")?;
    for serving in &test.servings {
        let codes: Vec<String> = serving.codes.iter().map(Code::to_string).collect();
        let first = serving.reference.map_or(String::new(), |code| format!("first {code}, then "));
        write!(out, "<tr><td>{}</td><td>{first}{}</td></tr>", serving.seat, codes.join(" · "))?;
    }
    write!(out, "</table></section>")
}

fn test_key(out: &mut String, plan: &Plan, test: &TestPlan) -> std::fmt::Result {
    let name = |code: Code| plan.teas.iter().find(|tea| tea.code == code).map_or("", |tea| tea.name.as_str());
    write!(
        out,
        "<section class=\"page\"><h1>The key to test {}</h1><p>For the teacher, out of sight of the seats. Pour from steep {}:",
        test.test, test.steep
    )?;
    for (&tea, cups) in test.teas.iter().zip(&test.cups) {
        write!(out, " {cups} cups of {tea} {};", escaped(name(tea)))?;
    }
    write!(out, "</p><table><tr><th>Cups from left to right</th><th>Right</th><th>Seats</th></tr>")?;
    for set in &test.key {
        let cups: Vec<String> =
            set.cups.iter().map(|cup| format!("<b>{}</b> = {}", cup.code, cup.tea)).collect();
        let seats: Vec<String> = set.seats.iter().map(ToString::to_string).collect();
        let right = set.right.map_or("either".to_string(), |code| code.to_string());
        write!(out, "<tr><td>{}</td><td>{right}</td><td>{}</td></tr>", cups.join(", "), seats.join(", "))?;
    }
    write!(out, "</table>")?;
    for short in &test.short {
        write!(out, "<p class=\"warn\">{}</p>", escaped(short))?;
    }
    write!(out, "</section>")
}

fn sealed_key(out: &mut String, plan: &Plan) -> std::fmt::Result {
    write!(
        out,
        "<section class=\"page\"><h1>The key</h1><p>For the teacher. Fold and seal until the teas are revealed.</p>"
    )?;
    write!(
        out,
        "<table><tr><th>Code</th><th>Tea</th><th>Leaf</th><th>Dose</th><th>Water</th><th>Steeps</th></tr>"
    )?;
    for tea in &plan.teas {
        let steeps: Vec<String> = tea.steep_s.iter().map(ToString::to_string).collect();
        let temps = tea.temp_c.iter().fold((f64::MAX, f64::MIN), |(a, b), &c| (a.min(c), b.max(c)));
        let temps =
            if temps.0 == temps.1 { format!("{}", temps.0) } else { format!("{}–{}", temps.0, temps.1) };
        write!(
            out,
            "<tr><td>{}</td><td>{}</td><td>{}</td><td>{} g in {} ml</td><td>{temps} °C</td><td>{} s</td></tr>",
            tea.code,
            escaped(&tea.name),
            escaped(&tea.leaf),
            tea.leaf_g,
            tea.water_ml,
            steeps.join(", ")
        )?;
    }
    write!(out, "</table></section>")
}
