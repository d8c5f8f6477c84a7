//! What tables are put together from.

use crate::tables::{Cell, Column, Holds, Table, TableOf};
use protocol::Code;
use protocol::say::list;
use stats::Interval;
use stats::anova::Effect;
use summary::Summary;
use summary::known::Known;

pub fn table<const N: usize>(
    about: TableOf,
    name: &str,
    title: &str,
    columns: [Column; N],
    rows: Vec<Vec<Cell>>,
) -> Table {
    Table { name: name.into(), title: title.into(), notes: Vec::new(), columns: columns.into(), rows, about }
}

impl Table {
    pub(super) fn note(mut self, note: impl Into<String>) -> Self {
        self.notes.push(note.into());
        self
    }

    pub(super) fn notes(mut self, notes: impl IntoIterator<Item = String>) -> Self {
        self.notes.extend(notes);
        self
    }

    /// Without the columns that hold nothing in any row.
    pub(super) fn without_empty_columns(mut self) -> Self {
        let used: Vec<bool> = (0..self.columns.len())
            .map(|column| self.rows.iter().any(|row| row[column] != Cell::Empty))
            .collect();
        let mut keep = used.iter();
        self.columns.retain(|_| keep.next() == Some(&true));
        for row in &mut self.rows {
            let mut keep = used.iter();
            row.retain(|_| keep.next() == Some(&true));
        }
        self
    }
}

/// Columns in their order, each kind before its names: `columns![code "tea"; points "mean" "SD"]`.
macro_rules! columns {
    ($($kind:ident $($name:literal)+);+) => { [$($(crate::tables::build::$kind($name)),+),+] };
}
pub(crate) use columns;

fn column(name: &str, holds: Holds) -> Column {
    Column { name: name.into(), unit: None, holds }
}

pub fn words(name: &str) -> Column {
    column(name, Holds::Words)
}

/// Numbers without a unit.
pub fn number(name: &str) -> Column {
    column(name, Holds::Numbers)
}

pub fn in_unit(name: &str, unit: &str) -> Column {
    Column { unit: Some(unit.into()), ..number(name) }
}

pub fn percent(name: &str) -> Column {
    in_unit(name, "%")
}

pub fn seconds(name: &str) -> Column {
    in_unit(name, "s")
}

pub fn grams(name: &str) -> Column {
    in_unit(name, "g")
}

pub fn millilitres(name: &str) -> Column {
    in_unit(name, "ml")
}

pub fn attribute(name: &str) -> Column {
    column(name, Holds::Attribute)
}

pub fn seat(name: &str) -> Column {
    column(name, Holds::Seat)
}

pub fn code(name: &str) -> Column {
    column(name, Holds::Code)
}

pub fn points(name: &str) -> Column {
    in_unit(name, "points")
}

/// A tea: its code, and its name once that may be known.
pub fn tea(summary: &Summary, code: Code) -> [Cell; 2] {
    let name = summary.teas.iter().find(|tea| tea.code == code).and_then(|tea| tea.name.as_deref());
    [code.into(), name.unwrap_or("still blind").into()]
}

pub fn teas(summary: &Summary, first: Code, second: Code) -> [Cell; 4] {
    let ([a, b], [c, d]) = (tea(summary, first), tea(summary, second));
    [a, b, c, d]
}

/// A steep, or all of them together.
pub fn steep(steep: Option<u32>) -> Cell {
    steep.map_or_else(|| "all".into(), Cell::from)
}

/// "over all steeps", "at steep 2".
pub fn at_steep(steep: Option<u32>) -> String {
    steep.map_or_else(|| "over all steeps".into(), |steep| format!("at steep {steep}"))
}

pub fn yes(so: bool) -> Cell {
    if so { "yes" } else { "no" }.into()
}

/// The ends of an interval with as many decimals.
pub fn ends(interval: Option<Interval>, decimals: u8) -> [Cell; 2] {
    [Cell::number(interval.map(|i| i.low), decimals), Cell::number(interval.map(|i| i.high), decimals)]
}

/// The ends of an interval of points, or why there is none.
pub fn known_ends(interval: &Known<Interval>) -> [Cell; 2] {
    known(interval, |i| ends(Some(*i), 2))
}

/// The cells of a figure; if it can't be had, why, and nothing in the cells behind.
pub fn known<T, const N: usize>(figure: &Known<T>, cells: impl FnOnce(&T) -> [Cell; N]) -> [Cell; N] {
    match figure {
        Known::Is(figure) => cells(figure),
        Known::Not { why } => {
            std::array::from_fn(|place| if place == 0 { Cell::Not(why.clone()) } else { Cell::Empty })
        }
    }
}

/// Squares, degrees of freedom, mean square, F, p and size of an effect.
pub fn effect(effect: &Effect) -> [Cell; 6] {
    [
        Cell::number(effect.squares, 3),
        effect.df.into(),
        Cell::number(effect.mean_square, 3),
        Cell::number(effect.f, 2),
        Cell::p(effect.p),
        Cell::number(effect.partial_eta_squared, 3),
    ]
}

/// Codes in words: "417, 238 and 862".
pub fn codes(codes: &[Code]) -> String {
    list(&codes.iter().map(Code::to_string).collect::<Vec<_>>())
}

pub fn row<const N: usize>(parts: [&[Cell]; N]) -> Vec<Cell> {
    parts.concat()
}
