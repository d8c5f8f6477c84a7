//! The sweet spots of some leaves for a terminal or a printer.

use crate::text::lines::Lines;
use crate::text::table::Table;
use crate::words::joined;
use protocol::say::{list, many};
use stats::Interval;
use stats::interval::CONFIDENCE;
use stats::say::{fine, plus, signed};
use stats::surface::Estimate;
use summary::spot::coding::{Factor, What};
use summary::spot::figures::{Fit, TermLine};
use summary::spot::rows::Tasted;
use summary::spot::{Spot, Spots};

/// How many ways of a leaf are shown unless all are asked for.
const WAYS: usize = 8;

/// The sweet spots in words and columns, in lines of at most `width` characters (60 to 100) unless names are long; with all ways and all
/// figures where `full` is asked for.
pub fn within(spots: &Spots, width: usize, full: bool) -> String {
    let mut page = Page { spots, full, out: Lines::within(width) };
    page.write();
    page.out.finish()
}

struct Page<'a> {
    spots: &'a Spots,
    full: bool,
    out: Lines,
}

impl Page<'_> {
    fn write(&mut self) {
        let spots = self.spots;
        let counted = spots.classes.iter().filter(|class| !class.left_out).count();
        let classes = if counted == 1 { "class" } else { "classes" };
        let judged = spots.judged_by.as_ref();
        let judged = judged
            .map_or("nothing scored".into(), |by| format!("{} ({} to {})", by.attribute, by.min, by.max));
        self.out.line(&format!("Sweet spot · {counted} {classes} · {judged}"));
        let aside: Vec<usize> = spots.classes.iter().filter(|c| c.left_out).map(|c| c.class).collect();
        if !aside.is_empty() {
            self.out.text("", &format!("Left out, being rehearsals: {}.", joined(&aside, ", ")));
        }
        if spots.leaves.is_empty() {
            self.out.text("", "Nobody has scored a tea whose name may be known; reveal the teas first.");
        }
        let (open, single): (Vec<&Spot>, Vec<&Spot>) =
            spots.leaves.iter().partition(|spot| !spot.factors.is_empty());
        open.iter().for_each(|spot| self.leaf(spot));
        if !single.is_empty() {
            let names: Vec<String> = single.iter().map(|spot| spot.leaf.clone()).collect();
            self.out.line("");
            self.out.text(
                "",
                &format!(
                    "Tasted in one way only, so that nothing can be said of a better one: {}.",
                    list(&names)
                ),
            );
        }
        if !self.full && !open.is_empty() {
            self.out.line("");
            self.out.text("", "All ways and figures: --full; for programs: --format json.");
        }
    }

    fn leaf(&mut self, spot: &Spot) {
        let tasters = many(spot.tasters, "seat");
        let classes = if spot.classes.len() == 1 {
            "1 class".into()
        } else {
            format!("{} classes", spot.classes.len())
        };
        let ways = many(spot.ways.len(), "way");
        self.out.head(&format!("{} · {ways} · {tasters} · {classes}", spot.leaf.to_uppercase()));
        for words in &spot.answer.words {
            self.out.text("  ", words);
        }
        self.ways(spot);
        if let Some(fit) = spot.fit.as_ref().filter(|_| self.full) {
            self.figures(spot, fit);
        }
    }

    /// The ways that were tasted, the best first.
    fn ways(&mut self, spot: &Spot) {
        let mut ways = best_first(spot);
        let more = ways.len().saturating_sub(WAYS);
        if !self.full {
            ways.truncate(WAYS);
        }
        let judged = spot.fit.is_some() && spot.answer.best.is_some();
        let below = |way: &&Tasted| way.lost.filter(|_| judged).map_or("–".into(), points_below);
        let table = Table::of(&ways)
            .words("tasted", |way| way.called.clone())
            .numbers("g/100 ml", |way| fine(way.dose_g_per_100_ml))
            .numbers("°C", |way| format!("{:.0}", way.temp_c))
            .numbers("s", |way| format!("{:.0}", way.seconds))
            .numbers("cups", |way| way.cups.to_string())
            .numbers("mean", |way| way.mean.map_or("–".into(), fine))
            .numbers("below the best", below);
        self.out.line("");
        self.out.table(2, &table);
        if more > 0 && !self.full {
            self.out.line(&format!("  and {}", many(more, "way").replace("way", "more way")));
        }
    }

    fn figures(&mut self, spot: &Spot, fit: &Fit) {
        self.out.line("");
        for factor in &spot.factors {
            self.out.text("  ", &coding(factor));
        }
        let table = Table::of(&fit.terms)
            .words("term", term)
            .numbers("coded", |line| plus(line.coded.value))
            .numbers("its error", |line| fine(line.coded.standard_error))
            .numbers("natural", |line| format!("{:.4}", line.natural.value))
            .numbers("its error", |line| format!("{:.4}", line.natural.standard_error));
        self.out.line("");
        self.out.table(2, &table);
        let canonical = &fit.canonical;
        let values: Vec<String> = canonical.eigenvalues.iter().map(|value| plus(*value)).collect();
        self.out.line("");
        self.out.text(
            "  ",
            &format!(
                "Shape: {:?}, bending by {} points per square of a step.",
                canonical.kind,
                values.join(", ")
            )
            .to_lowercase(),
        );
        self.out.text(
            "  ",
            &format!(
                "Left over: {} points of one score, on {} degrees of freedom.",
                fine(fit.residual.mean_square.sqrt()),
                fit.residual.df
            ),
        );
    }
}

/// The ways of a leaf, that with the fewest points below the best first.
pub(crate) fn best_first(spot: &Spot) -> Vec<&Tasted> {
    let mut ways: Vec<&Tasted> = spot.ways.iter().collect();
    let lost = |way: &Tasted| way.lost.map_or(f64::INFINITY, |lost| lost.value);
    ways.sort_by(|a, b| lost(a).total_cmp(&lost(b)));
    ways
}

/// "0.4 (−0.1 to 0.9)".
pub(crate) fn points_below(lost: Estimate) -> String {
    // About 95 in a hundred; the exact reach is in the JSON's figures.
    let half = 2.0 * lost.standard_error;
    let interval = Interval { low: lost.value - half, high: lost.value + half, confidence: CONFIDENCE };
    format!("{} ({} to {})", signed(lost.value), signed(interval.low), signed(interval.high))
}

fn called(what: What) -> &'static str {
    match what {
        What::Dose => "dose",
        What::Temperature => "temperature",
        What::Time => "time",
    }
}

/// How a factor is coded.
fn coding(factor: &Factor) -> String {
    let unit = match factor.what {
        What::Dose => "g/100 ml",
        What::Temperature => "°C",
        What::Time => "s",
    };
    let step = match factor.logarithm {
        true => "half as much again".to_string(),
        false => format!("{} {unit}", factor.step),
    };
    format!(
        "{}: {} to {} {unit} tasted; 0 is {} {unit}, a step is {step}",
        called(factor.what),
        fine(factor.low),
        fine(factor.high),
        fine(factor.centre)
    )
}

fn term(line: &TermLine) -> String {
    let names: Vec<&str> = line.of.iter().map(|what| called(*what)).collect();
    match names[..] {
        [one, other] if one == other => format!("{one} squared"),
        _ => names.join(" × "),
    }
}
