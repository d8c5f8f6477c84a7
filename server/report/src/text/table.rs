//! Tables in columns. One that is too wide is split into several, each beginning with the first column again.

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
        self.cells.iter().map(|c| c.chars().count()).max().unwrap_or(0).max(self.head.chars().count())
    }

    fn set(&self, text: &str) -> String {
        let width = self.width();
        if self.right { format!("{text:>width$}") } else { format!("{text:<width$}") }
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

/// Text in lines of at most `width` characters, the first after `first`, the others as far in; a word that is longer
/// than a line stands alone.
pub fn wrapped(first: &str, text: &str, width: usize) -> Vec<String> {
    let indent = first.chars().count();
    let mut lines = Vec::new();
    let mut line = first.to_string();
    let mut length = indent;
    let mut empty = true;
    for word in text.split_whitespace() {
        let chars = word.chars().count();
        if !empty && length + 1 + chars > width {
            lines.push(std::mem::replace(&mut line, " ".repeat(indent)));
            (length, empty) = (indent, true);
        }
        if !empty {
            line.push(' ');
            length += 1;
        }
        line += word;
        (length, empty) = (length + chars, false);
    }
    lines.push(line.trim_end().to_string());
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
    fn text_is_wrapped_between_words_and_hangs_in() {
        assert_eq!(
            wrapped("  + ", "the teas differ by much", 16),
            ["  + the teas", "    differ by", "    much"]
        );
        assert_eq!(
            wrapped("· ", "a wordmuchlongerthanthis b", 10),
            ["· a", "  wordmuchlongerthanthis", "  b"]
        );
        assert_eq!(wrapped("- ", "", 10), ["-"]);
    }
}
