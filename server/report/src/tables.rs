//! What was found as plain tables: the one definition behind the page, the spreadsheet and the files of comma-separated
//! values. Pure. A table tells no more than the findings do: blind teas stand under their codes, and the seats' private
//! pages have no table.

mod attributes;
mod build;
mod cell;
mod compared;
mod found;
mod ledger;
mod names;
mod panel;
mod pooled;
mod totals;
mod votes;
mod ways;

pub(crate) use build::codes;
pub use cell::Cell;
pub use ledger::ledger;
pub use pooled::pooled;

use summary::Summary;

/// One table of the report.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Short and unique whatever the case of its letters, for a sheet's tab and a file's name: `differences`, `aroma by
    /// steep`; 1 to 31 UTF-16 units, no control and none of `[]:*?/\<>|"`.
    pub name: String,
    /// What it shows, in a sentence for people.
    pub title: String,
    /// What to know when reading it (method, level, what is missing); may be empty.
    pub notes: Vec<String>,
    /// Its columns; their names are unique within the table.
    pub columns: Vec<Column>,
    /// Its rows, each with one cell for each column. A table without rows is left out, so there is one at least.
    pub rows: Vec<Vec<Cell>>,
    /// What it belongs to, so that a page can put it behind its picture.
    pub about: TableOf,
}

/// One column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its name.
    pub name: String,
    /// The unit of its numbers, where they have one that the name does not say.
    pub unit: Option<String>,
    /// What is in it.
    pub holds: Holds,
}

/// What the cells of a column are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holds {
    /// Words.
    Words,
    /// Numbers; single cells may still be words, such as `all` for the steep.
    Numbers,
    /// The attribute that a row is about.
    Attribute,
    /// The seat that a row is about.
    Seat,
    /// The code of a tea that a row is about; a row may have two.
    Code,
}

impl Column {
    /// Whether its cells are numbers, which stand to the right.
    pub fn numeric(&self) -> bool {
        matches!(self.holds, Holds::Numbers | Holds::Code)
    }

    /// Its name and unit: "mean (points)".
    pub fn head(&self) -> String {
        self.unit.as_ref().map_or_else(|| self.name.clone(), |unit| format!("{} ({unit})", self.name))
    }
}

/// What a table belongs to. A kind may have several tables, in the order in which they are read; attributes are named as
/// on the sheet, the weighted total as [`summary::find::totals::TOTAL`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TableOf {
    /// The sentences.
    Sentences,
    /// What the teas are.
    Teas,
    /// Which sheets are in, by cup and by seat.
    Sheets,
    /// What was noted in words.
    Notes,
    /// The figures of one attribute for each tea, leaf and way, over the steeps and steep by steep: n, mean, spread,
    /// quartiles, letters of teas that are not told apart.
    Spread(String),
    /// One attribute from steep to steep: mean and interval.
    Curves(String),
    /// Every two teas by one attribute: difference and simultaneous interval.
    Pairs(String),
    /// Whether the teas differ: the test that counts for each attribute and steep, and the tests behind it.
    Differences,
    /// Two ways of one leaf.
    Ways,
    /// How far the tasters agree: Kendall's W and intraclass correlations.
    Agreement,
    /// Each taster's mean of each tea beside the class's.
    Panel,
    /// The strength votes and what to do next time.
    Strength,
    /// What a wrong strength costs in liking.
    Penalty,
    /// Words ticked, with Cochran's test.
    Words,
    /// Weighted totals, their weights, and each taster's.
    Totals,
    /// The difference tests: triangle, duo-trio, paired comparison.
    Tests,
    /// Every single score in long form.
    Scores,
    /// How all of it was computed.
    Method,
    /// Several classes together; only in [`pooled`].
    Pooled,
}

/// Every table of a summary, in the order in which they are read. What the class has not (no words on the sheet, no two
/// ways of one leaf, nobody who scored) has no table, and a column that would hold nothing is left out.
pub fn tables(summary: &Summary) -> Vec<Table> {
    let found = &summary.findings;
    let mut all = vec![found::found(summary), found::teas(summary)];
    let attributes = found.figures.scales.iter().map(|scale| scale.attribute.as_str());
    for (scale, short) in found.figures.scales.iter().zip(names::short(attributes)) {
        all.extend(attributes::attribute(summary, scale, &short));
    }
    all.extend(compared::differences(summary));
    all.extend(ways::ways(summary));
    all.extend([panel::agreement(summary), panel::means(summary)]);
    all.extend(found.figures.strength.iter().flat_map(|strength| votes::strength(summary, strength)));
    all.push(votes::ticked(summary));
    all.push(totals::tests(summary));
    all.extend(found.figures.totals.iter().flat_map(|totals| totals::totals(summary, totals)));
    all.push(found::notes(summary));
    all.extend(found::sheets(summary));
    all.extend([found::scores(summary), found::scales(summary), found::method(summary)]);
    finish(all)
}

/// Leaves out what holds nothing, and makes the names fit.
fn finish(mut all: Vec<Table>) -> Vec<Table> {
    all.retain(|table| !table.rows.is_empty());
    names::unique(&mut all);
    all.into_iter().map(Table::without_empty_columns).collect()
}

/// The same tables with the ledger's own scores, as [`ledger`] gives them, in the second place: what files are made of.
pub fn with_scores(mut tables: Vec<Table>, scores: Table) -> Vec<Table> {
    tables.retain(|table| table.about != TableOf::Scores);
    if !scores.rows.is_empty() {
        tables.insert(tables.len().min(1), scores);
    }
    tables
}

/// A table of tables: which there are, what they show, and what to know of them.
pub fn index(tables: &[Table]) -> Table {
    let row = |table: &Table| -> Vec<Cell> {
        vec![table.name.as_str().into(), table.title.as_str().into(), table.notes.join(" ").into()]
    };
    let columns = [build::words("table"), build::words("shows"), build::words("notes")];
    let rows = tables.iter().map(row).collect();
    build::table(TableOf::Method, "tables", "The tables", columns, rows)
}

#[cfg(test)]
mod tests;
