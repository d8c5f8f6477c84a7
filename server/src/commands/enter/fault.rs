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

/// All faults of a file, one a line in the order of the file, and how many there are.
pub fn render(file: &str, faults: &[Fault]) -> String {
    let mut ordered: Vec<&Fault> = faults.iter().collect();
    ordered.sort_by_key(|f| (f.line, f.column.as_ref().map(|c| c.1)));
    let lines: String = ordered.iter().map(|fault| format!("{file}, {fault}\n")).collect();
    let count = if faults.len() == 1 { "one fault".into() } else { format!("{} faults", faults.len()) };
    format!("{lines}{count}: nothing was entered")
}
