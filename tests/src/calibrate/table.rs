//! The table of rates.

use crate::calibrate::design::Shape;
use crate::calibrate::kinds::Kind;
use stats::proportion::proportion;
use std::collections::BTreeMap;
use std::fmt::Write;

/// How many of how many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Rate {
    /// How many.
    pub x: usize,
    /// Of how many.
    pub n: usize,
}

/// One row: how often a kind of sentence is shown where nothing is there, and where something is.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The classes.
    pub what: String,
    /// How scores are spread.
    pub shape: Shape,
    /// Where nothing is there.
    pub null: Rate,
    /// Where something is there.
    pub truth: Rate,
}

/// False alarms are wanted in no more classes than this: the level, and a little for what can only be had roughly.
pub const MOST: f64 = 0.06;

impl Rate {
    /// Whether it is shown to be above a share.
    pub fn above(&self, share: f64) -> bool {
        proportion(self.x, self.n).is_ok_and(|found| found.exact.low > share)
    }

    /// "4.2 (2.6 to 6.4)", per cent with the exact interval.
    fn words(&self) -> String {
        let Ok(found) = proportion(self.x, self.n) else { return "–".into() };
        let percent = |share: f64| format!("{:.1}", share * 100.0);
        format!("{:>5} ({} to {})", percent(found.share), percent(found.exact.low), percent(found.exact.high))
    }
}

/// The whole table, kind by kind.
pub fn rates(rows: &BTreeMap<Kind, Vec<Row>>) -> String {
    let mut text = String::new();
    for (kind, rows) in rows {
        let all = rows
            .iter()
            .fold(Rate::default(), |all, row| Rate { x: all.x + row.null.x, n: all.n + row.null.n });
        // Writing to a String can't fail.
        let _ = writeln!(text, "\n{kind}: {} of all null classes", all.words().trim_start());
        let _ = writeln!(text, "  {:<58} {:<7} {:<24} power, %", "classes", "scores", "false alarms, %");
        for row in rows {
            let mark = if row.null.above(MOST) { "!" } else { " " };
            let (null, truth) = (row.null.words(), row.truth.words());
            let _ = writeln!(text, "  {:<58} {:<7} {null:<22} {mark} {truth}", row.what, row.shape);
        }
    }
    text
}

/// The rows whose false alarms are shown to be too many, in words.
pub fn too_many(rows: &BTreeMap<Kind, Vec<Row>>) -> Vec<String> {
    let of = |(kind, rows): (&Kind, &Vec<Row>)| -> Vec<String> {
        let rows = rows.iter().filter(|row| row.null.above(MOST));
        rows.map(|row| format!("{kind}: {} ({}), {}", row.what, row.shape, row.null.words().trim_start()))
            .collect()
    };
    rows.iter().flat_map(of).collect()
}

/// Power said and power had, of classes of one kind: what it is, how scores are spread, the mean difference named, and how
/// often it was found.
pub fn missed(rows: &[(String, Shape, f64, Rate)]) -> String {
    let mut text = "\nwhat could have been missed: 80 % said, in four classes of five\n".to_string();
    let _ = writeln!(text, "  {:<58} {:<7} {:<14} power had, %", "classes", "scores", "names, points");
    for (what, shape, points, rate) in rows {
        let _ = writeln!(text, "  {what:<58} {shape:<7} {points:<14.2} {}", rate.words());
    }
    text
}
