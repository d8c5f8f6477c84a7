//! What is wrong with a file of scores: at which line, in which column, and what to do.

use std::fmt;

/// One fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The line of the file, from 1.
    pub line: u64,
    /// The column by its name and number; `None` when the whole line is meant.
    pub column: Option<(String, usize)>,
    /// What is wrong.
    pub problem: String,
    /// What to do.
    pub remedy: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}", self.line)?;
        if let Some((name, number)) = &self.column {
            write!(f, ", {name} (column {number})")?;
        }
        write!(f, ": {}; {}", self.problem, self.remedy)
    }
}

impl Fault {
    /// The same where it stands in a spreadsheet, which has letters for its columns.
    fn in_sheet(&self) -> String {
        let place =
            self.column.as_ref().map(|(name, number)| format!(", {name} (column {})", letters(*number)));
        format!("row {}{}: {}; {}", self.line, place.unwrap_or_default(), self.problem, self.remedy)
    }
}

/// A column's letters: A for 1, Z for 26, AA for 27.
fn letters(mut number: usize) -> String {
    let mut all = Vec::new();
    while number > 0 {
        number -= 1;
        all.push(char::from(b'A' + (number % 26) as u8));
        number /= 26;
    }
    all.into_iter().rev().collect()
}

/// All faults of a file of text, one a line in the order of the file, and how many there are.
pub fn render(file: &str, faults: &[Fault]) -> String {
    drawn(file, faults, Fault::to_string)
}

/// The same of a spreadsheet.
pub fn render_sheet(file: &str, faults: &[Fault]) -> String {
    drawn(file, faults, Fault::in_sheet)
}

fn drawn(file: &str, faults: &[Fault], draw: impl Fn(&Fault) -> String) -> String {
    let mut ordered: Vec<&Fault> = faults.iter().collect();
    ordered.sort_by_key(|f| (f.line, f.column.as_ref().map(|c| c.1)));
    let lines: String = ordered.iter().map(|fault| format!("{file}, {}\n", draw(fault))).collect();
    let count = if faults.len() == 1 { "one fault".into() } else { format!("{} faults", faults.len()) };
    format!("{lines}{count}: nothing was entered")
}
