//! The summary for a terminal or a printer.

use crate::summary::figures::Figures;
use crate::summary::{CupFigures, CupLine, Summary, TeaLine};
use protocol::Strength;
use std::fmt::Write;

/// The whole summary in words and columns. Plain text, at most about 76 wide unless names are long.
pub fn text(summary: &Summary) -> String {
    let mut out = String::new();
    // Writing to a String can't fail.
    let _ = write_summary(&mut out, summary);
    out
}

fn write_summary(out: &mut String, s: &Summary) -> std::fmt::Result {
    writeln!(out, "{} · {} · class {}", s.title, s.date, s.phase)?;
    writeln!(
        out,
        "{} of {} expected seats came · {} of {} sheets are in",
        s.seats.len(),
        s.seats_expected,
        s.sheets.n,
        s.sheets.of
    )?;
    for tea in &s.teas {
        write_tea(out, tea)?;
    }
    write_absent(out, s)?;
    if !s.still_blind.is_empty() {
        let codes: Vec<String> = s.still_blind.iter().map(ToString::to_string).collect();
        writeln!(out, "\nStill blind: {}. The teacher's `reveal` gives their names.", codes.join(", "))?;
    }
    writeln!(out, "\n{}", caution(s.seats.iter().filter(|seat| seat.sheets.n > 0).count()))
}

fn write_tea(out: &mut String, tea: &TeaLine) -> std::fmt::Result {
    match (&tea.name, &tea.leaf) {
        (Some(name), Some(leaf)) if name != leaf => {
            writeln!(out, "\nTEA {}  {name} (leaf: {leaf})", tea.code)?
        }
        (Some(name), _) => writeln!(out, "\nTEA {}  {name}", tea.code)?,
        (None, _) => writeln!(out, "\nTEA {}  still blind", tea.code)?,
    }
    if tea.steeps.is_empty() {
        return writeln!(out, "  not poured");
    }
    for cup in &tea.steeps {
        write_cup(out, cup)?;
    }
    if tea.steeps.len() > 1 {
        writeln!(
            out,
            "  all {} steeps · {} of {} sheets",
            tea.steeps.len(),
            tea.all_steeps.sheets.n,
            tea.all_steeps.sheets.of
        )?;
        write_figures(out, &tea.all_steeps)?;
    }
    Ok(())
}

fn write_cup(out: &mut String, cup: &CupLine) -> std::fmt::Result {
    let sheets = cup.figures.sheets;
    write!(out, "  steep {} · {} of {} sheets", cup.steep, sheets.n, sheets.of)?;
    if !cup.missing.is_empty() {
        let names: Vec<String> = cup
            .missing
            .iter()
            .map(|m| if m.came_later { format!("{} (came later)", m.seat) } else { m.seat.clone() })
            .collect();
        write!(out, " · missing: {}", names.join(", "))?;
    }
    writeln!(out)?;
    write_figures(out, &cup.figures)?;
    for note in &cup.notes {
        writeln!(out, "    {}: \"{}\"", note.seat, note.text)?;
    }
    Ok(())
}

fn write_figures(out: &mut String, figures: &CupFigures) -> std::fmt::Result {
    if figures.sheets.n == 0 {
        return writeln!(out, "    nobody has scored it");
    }
    let width = figures.attributes.iter().map(|a| a.name.chars().count()).max().unwrap_or(0).max(8);
    writeln!(out, "    {:width$}     n of      mean  median      SD   low–high", "")?;
    for line in &figures.attributes {
        let Figures { n, mean, median, sd, min, max } = line.figures;
        let figure = |value: Option<f64>| value.map_or("–".to_string(), |v| format!("{v:.2}"));
        let range = match (min, max) {
            (Some(min), Some(max)) => format!("{min}–{max}"),
            _ => "–".to_string(),
        };
        let (mean, median, sd) = (figure(mean), figure(median), figure(sd));
        writeln!(
            out,
            "    {:width$}  {n:>4} of {:<4}{mean:>7} {median:>7} {sd:>7}   {range}",
            line.name, line.of
        )?;
    }
    let Some(strength) = figures.strength.filter(|s| s.n > 0) else { return Ok(()) };
    let votes: Vec<String> = Strength::ALL
        .iter()
        .zip(strength.counts)
        .filter(|&(_, count)| count > 0)
        .map(|(word, count)| format!("{count} {word}"))
        .collect();
    writeln!(out, "    {:width$}  {:>4} of {:<4}  {}", "strength", strength.n, strength.of, votes.join(", "))
}

/// Who owes what, seat by seat.
fn write_absent(out: &mut String, s: &Summary) -> std::fmt::Result {
    let owing: Vec<_> = s.seats.iter().filter(|seat| !seat.missing.is_empty()).collect();
    if owing.is_empty() {
        return writeln!(out, "\nNo sheet is missing.");
    }
    writeln!(out, "\nMissing sheets")?;
    for seat in owing {
        if seat.sheets.n == 0 {
            writeln!(out, "  {}: all {}", seat.name, seat.sheets.of)?;
            continue;
        }
        let cups: Vec<String> = seat.missing.iter().map(|c| format!("{}/{}", c.code, c.steep)).collect();
        writeln!(out, "  {}: {} (tea/steep)", seat.name, cups.join(", "))?;
    }
    Ok(())
}

/// What figures of so few tasters can and can't show; those who scored nothing do not count. The bounds are computed: a
/// paired t test at 5 % with a power of 80 % and differences that spread by 1.5 points finds 2.15 points with 6 tasters,
/// 1.73 with 8, 1.33 with 12.
fn caution(tasters: usize) -> String {
    let reach = match tasters {
        0 => return "Nobody has scored, so there is nothing to tell.".into(),
        1 => "One taster speaks for one taster.",
        2..=5 => "With so few tasters hardly any difference can be told from chance.",
        6..=8 => "With 6 to 8 tasters only differences of about 2 points are likely to show.",
        9..=15 => "With so many tasters differences under 1.5 points are easily missed.",
        _ => "Differences of less than a point are easily missed.",
    };
    format!(
        "These figures describe this class and no other.\n{reach}\nA difference that does not show may still be there."
    )
}
