//! Each attribute: the figures of every tea, its curve over the steeps, every two teas.

use crate::tables::build::{at_steep, columns, ends, known_ends, row, steep, table, tea, teas, yes};
use crate::tables::{Cell, Table, TableOf};
use crate::words::scale_words;
use protocol::Code;
use summary::Summary;
use summary::find::describe::{Described, Scale};
use summary::find::differences::{AdjustedTea, Difference};
use summary::find::leaves::told;
use summary::known::Known;

/// What is said under every table of means over the steeps.
const ONE_EACH: &str = "Each taster counts once: over all steeps with the mean of the steeps scored, if those are half of \
                        the steeps served at least. From and to: the 95 % interval of the mean.";
/// What letters say.
const LETTERS: &str = "Teas that share a letter are not shown to differ (Tukey's honestly significant differences, 95 % over \
                       all pairs together; all share one where the test over all teas, adjusted, shows nothing). Letters go by \
                       the tasters who scored every tea, at the steeps that all teas were served at, or by the adjusted means; \
                       the mean beside them is of everybody who scored the tea.";
/// What adjusted means are.
const ADJUSTED: &str = "Adjusted means are those expected if every taster had scored every tea (additive model tea + taster), \
                        given where many scores are missing.";

/// The tables of one attribute, called `short` in the names of tables.
pub fn attribute(summary: &Summary, scale: &Scale, short: &str) -> [Table; 3] {
    let name = &scale.attribute;
    let all = summary.findings.figures.differences.iter();
    let differences: Vec<&Difference> = all.filter(|d| d.attribute == *name).collect();
    [
        by_tea(summary, scale, short, &differences),
        by_steep(summary, scale, short),
        pairs(summary, name, short, &differences),
    ]
}

/// How many tasters its pairs are of.
fn tasters(difference: &Difference) -> usize {
    match difference.additive.as_ref().and_then(Known::get) {
        Some(_) => difference.tasters,
        None => difference.complete,
    }
}

fn scale_note(scale: &Scale) -> String {
    format!("Scale from {}.", scale_words(scale))
}

fn by_tea(summary: &Summary, scale: &Scale, short: &str, differences: &[&Difference]) -> Table {
    let of = |line: &&Described| line.attribute == scale.attribute;
    let lines: Vec<&Described> = summary.findings.figures.described.iter().filter(of).collect();
    // Where every leaf and every way is one tea only, the teas say it all.
    let groups = lines.iter().filter(|l| l.tea.is_none() && l.steep.is_none()).count();
    let grouped = groups != 2 * summary.teas.len();
    let (mut lettered, mut adapted) = (false, false);
    let lines = lines.iter().filter(|l| l.tea.is_some() || grouped).filter(|l| l.n > 0);
    let rows: Vec<Vec<Cell>> = lines
        .map(|line| {
            let (what, name) = match (line.tea, &line.leaf, &line.way) {
                (Some(code), _, _) => ("tea", tea(summary, code)),
                (None, Some(leaf), _) => ("leaf", [Cell::Empty, leaf.as_str().into()]),
                (None, None, way) => ("way", [Cell::Empty, way.as_deref().into()]),
            };
            let compared = line.tea.zip(differences.iter().find(|d| d.steep == line.steep));
            let letters = compared.and_then(|(tea, difference)| difference.letters(tea));
            let adjusted = compared.and_then(|(tea, difference)| adjusted(difference, tea));
            lettered |= letters.is_some();
            adapted |= adjusted.is_some();
            row([
                &[what.into()],
                &name,
                &[steep(line.steep), line.n.into(), line.scores.into(), Cell::number(line.mean, 2)],
                &known_ends(&line.interval),
                &[
                    Cell::number(line.sd, 2),
                    Cell::number(line.min, 2),
                    Cell::number(line.lower_quartile, 2),
                    Cell::number(line.median, 2),
                    Cell::number(line.upper_quartile, 2),
                    Cell::number(line.max, 2),
                    letters.into(),
                    Cell::number(adjusted.map(|a| a.adjusted_mean), 2),
                    Cell::number(adjusted.map(|a| a.standard_error), 2),
                ],
            ])
        })
        .collect();
    let columns = columns![
        words "of"; code "tea"; words "name"; number "steep" "tasters" "scores"; points "mean" "from" "to"
        "SD" "lowest" "lower quartile" "median" "upper quartile" "highest"; words "letters";
        points "adjusted mean" "its standard error"
    ];
    let (name, title) = (format!("{short} by tea"), format!("{}: the figures of each tea", scale.attribute));
    let table = table(TableOf::Spread(scale.attribute.clone()), &name, &title, columns, rows);
    let notes = [(lettered, LETTERS), (adapted, ADJUSTED)].into_iter();
    let notes = notes.filter(|(there, _)| *there).map(|(_, note)| note.into());
    table.note(scale_note(scale)).note(ONE_EACH).notes(notes)
}

fn adjusted(difference: &Difference, tea: Code) -> Option<AdjustedTea> {
    let place = difference.teas.iter().position(|&other| other == tea)?;
    difference.additive.as_ref()?.get()?.teas.get(place).copied()
}

fn by_steep(summary: &Summary, scale: &Scale, short: &str) -> Table {
    let curves = summary.findings.figures.curves.iter().filter(|curve| curve.attribute == scale.attribute);
    let rows = curves.flat_map(|curve| {
        curve.steeps.iter().filter(|point| point.n > 0).map(|point| {
            row([
                &tea(summary, curve.tea),
                &[point.steep.into(), point.n.into(), Cell::number(point.mean, 2)],
                &known_ends(&point.interval),
            ])
        })
    });
    let columns = columns![
        code "tea"; words "name"; number "steep" "tasters"; points "mean" "from" "to"
    ];
    let title = format!("{}: mean and 95 % interval from steep to steep", scale.attribute);
    let about = TableOf::Curves(scale.attribute.clone());
    table(about, &format!("{short} by steep"), &title, columns, rows.collect()).note(scale_note(scale))
}

/// Every two teas of an attribute or of the total, for each comparison of them; why where there are none.
pub fn pairs(summary: &Summary, attribute: &str, short: &str, differences: &[&Difference]) -> Table {
    let mut rows = Vec::new();
    let mut missing = Vec::new();
    for difference in differences {
        match told(difference, &summary.findings.figures.leaves) {
            Known::Is(told) => rows.extend(told.iter().map(|pair| {
                row([
                    &[steep(difference.steep)],
                    &teas(summary, pair.first, pair.second),
                    &[Cell::number(pair.difference, 2)],
                    &ends(pair.interval, 2),
                    &[Cell::p(pair.p), yes(pair.differs), tasters(difference).into()],
                ])
            })),
            Known::Not { why } => {
                missing.push(format!("Not computed {}: {why}.", at_steep(difference.steep)));
            }
        }
    }
    let columns = columns![
        number "steep"; code "first"; words "first name"; code "second"; words "second name";
        points "first less second" "from" "to"; number "p"; words "differ"; number "tasters"
    ];
    let title = format!("{attribute}: every two teas");
    table(TableOf::Pairs(attribute.into()), &format!("{short} pairs"), &title, columns, rows)
        .note(
            "Tukey's honestly significant differences: p and the 95 % intervals hold over all pairs together. Differ: the \
             interval leaves out 0 and the test over all teas, adjusted, shows that they differ. Of the tasters who scored \
             every tea; where many scores are missing, of all, and the means are adjusted for that (Tukey–Kramer). Two ways of \
             one leaf differ where that leaf's own test says so, and have its figures. Empty where the pair by itself looks otherwise \
             than the test that decides; a way under several codes stands under its first.",
        )
        .notes(missing)
}
