//! What a benchmark found: figures beside their baselines and goals, as a table to read and a line of JSON to keep.

use super::machine::Machine;
use serde::{Deserialize, Serialize};
use std::fmt::Write;

/// A value that something else reached in the same run.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Baseline {
    /// What reached it.
    pub name: String,
    /// The value, in the unit of the figure.
    pub value: f64,
    /// Our value over it; absent when it is 0.
    pub ratio: Option<f64>,
}

/// Whether a goal is a ceiling or a floor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Bound {
    /// Not more than this.
    AtMost,
    /// Not less than this.
    AtLeast,
}

/// What a figure should be.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Goal {
    /// Ceiling or floor.
    pub bound: Bound,
    /// Of the figure, or of its ratio if there is a baseline to hold it against.
    pub value: f64,
    /// The name of that baseline.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub against: Option<String>,
}

/// One figure.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    /// At what size or in what variant.
    pub at: String,
    /// What was measured.
    pub name: String,
    /// The unit of all values.
    pub unit: String,
    /// Our value.
    pub ours: f64,
    /// What else was measured in the same run.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub baselines: Vec<Baseline>,
    /// What it should be.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub goals: Vec<Goal>,
}

/// All figures of one run of a benchmark.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Report {
    /// The benchmark.
    pub bench: String,
    /// Where it ran.
    pub machine: Machine,
    /// What it found.
    pub figures: Vec<Figure>,
}

impl Goal {
    /// In words.
    pub fn words(&self) -> String {
        let bound = if self.bound == Bound::AtMost { "≤" } else { "≥" };
        match &self.against {
            Some(name) => format!("{bound} {}× {name}", round(self.value)),
            None => format!("{bound} {}", round(self.value)),
        }
    }

    /// Whether a figure meets it; `None` when what it is held against was not measured.
    pub fn is_met(&self, figure: &Figure) -> Option<bool> {
        let value = match &self.against {
            Some(name) => figure.baselines.iter().find(|b| b.name == *name)?.ratio?,
            None => figure.ours,
        };
        Some(if self.bound == Bound::AtMost { value <= self.value } else { value >= self.value })
    }
}

impl Figure {
    /// A figure alone.
    pub fn new(at: impl Into<String>, name: &str, unit: &str, ours: f64) -> Self {
        let (baselines, goals) = (Vec::new(), Vec::new());
        Self { at: at.into(), name: name.into(), unit: unit.into(), ours, baselines, goals }
    }

    /// Beside what something else reached.
    pub fn beside(mut self, name: &str, value: f64) -> Self {
        let ratio = (value > 0.0).then(|| self.ours / value);
        self.baselines.push(Baseline { name: name.into(), value, ratio });
        self
    }

    /// With a ceiling.
    pub fn at_most(self, value: f64) -> Self {
        self.goal(Bound::AtMost, value, None)
    }

    /// With a ceiling for the ratio to a baseline.
    pub fn at_most_times(self, value: f64, against: &str) -> Self {
        self.goal(Bound::AtMost, value, Some(against.into()))
    }

    /// With a floor for the ratio to a baseline.
    pub fn at_least_times(self, value: f64, against: &str) -> Self {
        self.goal(Bound::AtLeast, value, Some(against.into()))
    }

    fn goal(mut self, bound: Bound, value: f64, against: Option<String>) -> Self {
        self.goals.push(Goal { bound, value, against });
        self
    }

    /// The goals in words, each with whether it is met.
    pub fn goals_in_words(&self) -> String {
        let met = |goal: &Goal| match goal.is_met(self) {
            Some(true) => "met",
            Some(false) => "missed",
            None => "not measured",
        };
        let goals = self.goals.iter().map(|goal| format!("{}: {}", goal.words(), met(goal)));
        goals.collect::<Vec<_>>().join("; ")
    }
}

/// A value to three digits that matter.
pub fn round(value: f64) -> String {
    let places = match value.abs() {
        100.0.. => 0,
        10.0.. => 1,
        1.0.. => 2,
        0.1.. => 3,
        0.0 => 0,
        _ => 4,
    };
    format!("{value:.places$}")
}

impl Report {
    /// A report from this machine as it was before the benchmark.
    pub fn new(bench: &str) -> Self {
        Self { bench: bench.into(), machine: Machine::here(), figures: Vec::new() }
    }

    /// The table. Every cell of a baseline has its value, and in brackets ours as a multiple of it.
    pub fn table(&self) -> String {
        let mut rows: Vec<Vec<String>> = Vec::new();
        let mut names = None;
        for figure in &self.figures {
            let own: Vec<&str> = figure.baselines.iter().map(|b| b.name.as_str()).collect();
            if names.as_ref() != Some(&own) {
                let heads = ["", "", "ours"].into_iter().chain(own.iter().copied());
                rows.extend([Vec::new(), heads.map(String::from).collect()]);
                names = Some(own);
            }
            let what = format!("{}, {}", figure.name, figure.unit);
            let cells = figure.baselines.iter().map(|b| {
                let ratio = b.ratio.map_or(String::new(), |ratio| format!(" ({}×)", round(ratio)));
                format!("{}{ratio}", round(b.value))
            });
            let mut row = vec![figure.at.clone(), what, round(figure.ours)];
            row.extend(cells);
            if !figure.goals.is_empty() {
                row.push(format!("goal {}", figure.goals_in_words()));
            }
            rows.push(row);
        }
        aligned(&rows)
    }

    /// Prints the table and, as the last line, everything as JSON.
    pub fn print(&self) {
        println!("{}\n{}", self.bench, self.table());
        println!("{}", serde_json::to_string(self).unwrap_or_else(|error| error.to_string()));
    }
}

fn aligned(rows: &[Vec<String>]) -> String {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let length = |cell: &String| cell.chars().count();
    let is_cell = |cell: &&String| !cell.starts_with("goal");
    let width =
        |c: usize| rows.iter().filter_map(|r| r.get(c)).filter(is_cell).map(length).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns).map(width).collect();
    let mut text = String::new();
    for row in rows {
        let mut line = String::new();
        for (cell, width) in row.iter().zip(&widths) {
            let _ = write!(line, "{cell:<width$}  ");
        }
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_goal_is_held_against_the_figure_or_its_ratio() {
        let figure = Figure::new("10 seats", "error", "ms", 0.5).beside("sleep", 2.0).at_most(0.4);
        let figure =
            figure.at_most_times(0.25, "sleep").at_least_times(0.3, "sleep").at_most_times(1.0, "nothing");
        let met: Vec<_> = figure.goals.iter().map(|goal| goal.is_met(&figure)).collect();
        assert_eq!(met, [Some(false), Some(true), Some(false), None]);
        assert_eq!(
            figure.goals_in_words(),
            "≤ 0.400: missed; ≤ 0.250× sleep: met; ≥ 0.300× sleep: missed; ≤ 1.00× nothing: not measured"
        );
    }

    #[test]
    fn values_keep_three_digits() {
        let values = [1234.5, 99.94, 3.456, 0.1234, 0.01234, 0.0];
        assert_eq!(values.map(round), ["1234", "99.9", "3.46", "0.123", "0.0123", "0"]);
    }
}
