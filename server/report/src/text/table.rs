//! Tables in columns. One that is too wide is split into several, each beginning with the first column again.

use unicode_width::UnicodeWidthStr;

/// A column with its head.
pub struct Column {
    head: String,
    cells: Vec<String>,
    right: bool,
}

impl Column {
    /// Words, set to the left.
    pub fn words(head: &str, cells: impl IntoIterator<Item = String>) -> Self {
        Self { head: head.into(), cells: cells.into_iter().collect(), right: false }
    }

    /// Numbers, set to the right.
    pub fn numbers(head: &str, cells: impl IntoIterator<Item = String>) -> Self {
        Self { right: true, ..Self::words(head, cells) }
    }

    fn width(&self) -> usize {
        self.cells.iter().chain([&self.head]).map(|cell| cell.width()).max().unwrap_or(0)
    }

    fn set(&self, text: &str) -> String {
        let room = " ".repeat(self.width().saturating_sub(text.width()));
        if self.right { room + text } else { text.to_string() + &room }
    }
}

/// The lines of a table, `indent` in, at most `width` wide where one column beside the first fits.
pub fn lines(columns: &[Column], indent: usize, width: usize) -> Vec<String> {
    let Some((first, rest)) = columns.split_first() else { return Vec::new() };
    let mut lines = Vec::new();
    let mut from = 0;
    while from < rest.len() {
        let mut room = width.saturating_sub(indent + first.width());
        let fitting = rest[from..].iter().take_while(|column| {
            let needed = column.width() + 2;
            let fits = needed <= room;
            room = room.saturating_sub(needed);
            fits
        });
        let upto = from + fitting.count().max(1);
        if from > 0 {
            lines.push(String::new());
        }
        let block: Vec<&Column> = std::iter::once(first).chain(&rest[from..upto]).collect();
        let row = |cell: &dyn Fn(&Column) -> String| {
            let set: Vec<String> = block.iter().map(|column| column.set(&cell(column))).collect();
            format!("{:indent$}{}", "", set.join("  ")).trim_end().to_string()
        };
        lines.push(row(&|column| column.head.clone()));
        let rows = first.cells.len();
        lines.extend((0..rows).map(|i| row(&|column| column.cells.get(i).cloned().unwrap_or_default())));
        from = upto;
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_that_is_too_wide_is_split_and_names_its_rows_again() {
        let column = |head: &str, cells: [&str; 2]| Column::numbers(head, cells.map(String::from));
        let columns = [
            Column::words("tea", ["417", "238"].map(String::from)),
            column("mean", ["5.9", "10.4"]),
            column("SD", ["0.91", "1"]),
            column("median", ["6", "5.5"]),
        ];
        assert_eq!(
            lines(&columns, 2, 22),
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
        assert_eq!(lines(&columns, 2, 60).len(), 3);
        assert_eq!(lines(&columns, 2, 3).len(), 11, "one column at least, however narrow");
    }

    #[test]
    fn columns_stay_straight_with_wide_letters_and_marks_above_letters() {
        let columns = [
            Column::words("tea", ["鐵觀音", "Ti\u{e8}gu\u{101}nyi\u{304}n", "plain"].map(String::from)),
            Column::numbers("茶", ["5.9", "一", "10.4"].map(String::from)),
        ];
        assert_eq!(
            lines(&columns, 0, 60),
            [
                "tea           茶",
                "鐵觀音       5.9",
                "Ti\u{e8}gu\u{101}nyi\u{304}n    一",
                "plain       10.4"
            ]
        );
    }
}
