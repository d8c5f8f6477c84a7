//! Several classes for a terminal or a printer.

use super::pairs::{Difference, Pair};
use super::{AttributeLine, Pool};
use crate::stats::describe::Description;
use std::fmt::Write;

/// The pooled classes in words and columns.
pub fn text(pool: &Pool) -> String {
    let mut out = String::new();
    // Writing to a String can't fail.
    let _ = write_pool(&mut out, pool);
    out
}

fn write_pool(out: &mut String, pool: &Pool) -> std::fmt::Result {
    let seats: usize = pool.classes.iter().map(|c| c.seats).sum();
    let sheets: usize = pool.classes.iter().map(|c| c.sheets).sum();
    writeln!(out, "{} classes · {seats} seats · {sheets} sheets\n\nCLASSES", pool.classes.len())?;
    for class in &pool.classes {
        let ways: Vec<String> = class.ways.iter().map(ToString::to_string).collect();
        writeln!(
            out,
            "  {:>3}  {}  {} · {} · {} seats · {} sheets · ways {}",
            class.class,
            class.date,
            class.title,
            class.phase,
            class.seats,
            class.sheets,
            ways.join(" ")
        )?;
        if !class.still_blind.is_empty() {
            let codes: Vec<String> = class.still_blind.iter().map(ToString::to_string).collect();
            writeln!(out, "       still blind, so joined with no other class: {}", codes.join(", "))?;
        }
    }
    writeln!(out, "\nWAYS")?;
    for line in &pool.ways {
        let rule = line.way.known.as_ref().map_or(String::new(), |known| format!(": {}", known.rule()));
        writeln!(out, "  {}{rule}", line.way.label())?;
        for attribute in &line.attributes {
            write_attribute(out, attribute)?;
        }
    }
    writeln!(out, "\nTOGETHER (each taster's level taken out, and the class with it)")?;
    for found in &pool.together {
        writeln!(out, "  {}", found.words)?;
        if let Some(ranks) = found.by_ranks {
            writeln!(
                out,
                "    by ranks: chi-squared {:.2} on {}, {}",
                ranks.statistic,
                ranks.df,
                super::together::chance(ranks.p)
            )?;
        }
        for mean in &found.means {
            writeln!(
                out,
                "    way {:>3}  {:>6.2} ± {:.2}  {:<6} n {}",
                mean.way, mean.adjusted_mean, mean.standard_error, mean.letters, mean.n
            )?;
        }
    }
    if pool.together.is_empty() {
        writeln!(out, "  No taster scored two ways, so none can be compared.")?;
    }
    writeln!(out, "\nTWO WAYS OF ONE LEAF")?;
    let (own, others): (Vec<&Pair>, Vec<&Pair>) = pool.pairs.iter().partition(|pair| pair.same_leaf);
    own.iter().try_for_each(|pair| write_pair(out, pair))?;
    if own.is_empty() {
        writeln!(out, "  No leaf was steeped two ways in one class.")?;
    }
    writeln!(out, "\nOTHER PAIRS")?;
    others.iter().try_for_each(|pair| write_pair(out, pair))?;
    if others.is_empty() {
        writeln!(out, "  none")?;
    }
    writeln!(
        out,
        "\nSTEEPS (by the strength votes; exact tests at 5 %, each by itself: about one in twenty comes by chance)"
    )?;
    pool.rules.iter().try_for_each(|rule| writeln!(out, "  {}", rule.words))?;
    if pool.rules.is_empty() {
        writeln!(out, "  No strength votes.")?;
    }
    writeln!(
        out,
        "\nThese figures describe these classes and no other. Two seats of one name in two classes count as two tasters."
    )?;
    writeln!(out, "A difference that does not show may still be there.")
}

fn write_attribute(out: &mut String, line: &AttributeLine) -> std::fmt::Result {
    writeln!(
        out,
        "       {} ({} to {})         n    mean    SD  quartiles",
        line.scale.name, line.scale.min, line.scale.max
    )?;
    for steep in &line.steeps {
        writeln!(out, "         steep {:<4}       {}", steep.steep, figures(&steep.figures))?;
    }
    writeln!(out, "         all              {}", figures(&line.all_steeps))
}

fn figures(f: &Description) -> String {
    let sd = f.sd.map_or("–".to_string(), |sd| format!("{sd:.2}"));
    format!("{:>6}  {:>6.2} {sd:>5}  {} {} {}", f.n, f.mean, f.lower_quartile, f.median, f.upper_quartile)
}

fn write_pair(out: &mut String, pair: &Pair) -> std::fmt::Result {
    writeln!(out, "  {}", pair.words)?;
    if pair.classes.len() < 2 {
        return Ok(());
    }
    writeln!(out, "    way {} less way {}, class by class, and all so far", pair.first, pair.second)?;
    for class in &pair.classes {
        writeln!(
            out,
            "    class {:>3}  {}   so far {}",
            class.class,
            difference(&class.here),
            difference(&class.so_far)
        )?;
    }
    Ok(())
}

fn difference(d: &Difference) -> String {
    let interval = match (d.low, d.high) {
        (Some(low), Some(high)) => format!("({low:+.2} to {high:+.2})"),
        _ => "(too few to tell)".into(),
    };
    format!("{:+.2} {interval:<18} n {:<4}", d.mean, d.n)
}
