//! Tables in columns. One that is too wide is split into several, each beginning with the first column again.

use unicode_width::UnicodeWidthStr;

struct Column {
    head: String,
    cells: Vec<String>,
    right: bool,
}

impl Column {
    fn width(&self) -> usize {
        self.cells.iter().chain([&self.head]).map(|cell| cell.width()).max().unwrap_or(0)
    }

    fn set(&self, text: &str) -> String {
        let room = " ".repeat(self.width().saturating_sub(text.width()));
        if self.right { room + text } else { text.to_string() + &room }
    }
}

/// What is told of some rows, column by column.
pub struct Table<'a, T> {
    rows: &'a [T],
    columns: Vec<Column>,
}

impl<'a, T> Table<'a, T> {
    pub fn of(rows: &'a [T]) -> Self {
        Self { rows, columns: Vec::new() }
    }

    fn column(mut self, head: &str, right: bool, cell: impl Fn(&T) -> String) -> Self {
        self.columns.push(Column { head: head.into(), cells: self.rows.iter().map(cell).collect(), right });
        self
    }

    /// Words, set to the left.
    pub fn words(self, head: &str, cell: impl Fn(&T) -> String) -> Self {
        self.column(head, false, cell)
    }

    /// Numbers, set to the right.
    pub fn numbers(self, head: &str, cell: impl Fn(&T) -> String) -> Self {
        self.column(head, true, cell)
    }

    /// Its lines, `indent` in, at most `width` wide where one column beside the first fits.
    pub fn lines(&self, indent: usize, width: usize) -> Vec<String> {
        let Some((first, mut rest)) = self.columns.split_first() else { return Vec::new() };
        let mut lines = Vec::new();
        while !rest.is_empty() {
            let mut room = width.saturating_sub(indent + first.width());
            let fitting = rest.iter().take_while(|column| {
                let needed = column.width() + 2;
                let fits = needed <= room;
                room = room.saturating_sub(needed);
                fits
            });
            let (block, others) = rest.split_at(fitting.count().max(1));
            let row = |cell: &dyn Fn(&Column) -> &str| {
                let set = std::iter::once(first).chain(block).map(|column| column.set(cell(column)));
                format!("{:indent$}{}", "", set.collect::<Vec<_>>().join("  ")).trim_end().to_string()
            };
            lines.extend((!lines.is_empty()).then(String::new));
            lines.push(row(&|column| &column.head));
            lines.extend((0..self.rows.len()).map(|i| row(&|column| &column.cells[i])));
            rest = others;
        }
        lines
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_that_is_too_wide_is_split_and_names_its_rows_again() {
        let rows = [["417", "5.9", "0.91", "6"], ["238", "10.4", "1", "5.5"]];
        let table = Table::of(&rows).words("tea", |row| row[0].into()).numbers("mean", |row| row[1].into());
        let table = table.numbers("SD", |row| row[2].into()).numbers("median", |row| row[3].into());
        assert_eq!(
            table.lines(2, 22),
            [
                "  tea  mean    SD",
                "  417   5.9  0.91",
                "  238  10.4     1",
                "",
                "  tea  median",
                "  417       6",
                "  238     5.5"
            ]
        );
        assert_eq!(table.lines(2, 60).len(), 3);
        assert_eq!(table.lines(2, 3).len(), 11, "one column at least, however narrow");
    }

    #[test]
    fn columns_stay_straight_with_wide_letters_and_marks_above_letters() {
        let rows = [("鐵觀音", "5.9"), ("Ti\u{e8}gu\u{101}nyi\u{304}n", "一"), ("plain", "10.4")];
        let table = Table::of(&rows).words("tea", |row| row.0.into()).numbers("茶", |row| row.1.into());
        assert_eq!(
            table.lines(0, 60),
            [
                "tea           茶",
                "鐵觀音       5.9",
                "Ti\u{e8}gu\u{101}nyi\u{304}n    一",
                "plain       10.4"
            ]
        );
    }
}
