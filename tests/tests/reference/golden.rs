//! Golden files of general reference libraries, and our figures held against theirs.

use serde_json::Value;
use stats::incomplete::complete;
use std::fmt::{Debug, Display};

/// Of the reference figure; the golden files have ten digits.
const RELATIVE: f64 = 1e-8;

/// One of our figures, if there is one, and how far it may be off beside [`RELATIVE`].
pub struct Figure {
    pub value: Option<f64>,
    pub absolute: f64,
}

/// A figure made of sums, which may cancel to zero up to the rounding of what it is made of.
pub fn sum(value: impl Into<Option<f64>>) -> Figure {
    Figure { value: value.into(), absolute: 1e-12 }
}

/// A chance: small ones must agree in relation to their size too.
pub fn chance(value: impl Into<Option<f64>>) -> Figure {
    Figure { value: value.into(), absolute: 0.0 }
}

/// The sets in a part of a golden file.
pub fn sets(file: &str, part: &str) -> Vec<Value> {
    let mut golden: Value = serde_json::from_str(file).unwrap();
    assert!(golden["library"].as_str().unwrap().contains("scipy 1."), "the file names its libraries");
    let Value::Array(sets) = golden[part].take() else { panic!("no {part}") };
    assert_eq!(sets.len(), 500, "{part}");
    sets
}

/// A table with a row for each taster: "57 6-", or lists where digits are not enough.
pub fn rows(packed: &Value) -> Vec<Vec<Option<f64>>> {
    match packed {
        Value::String(text) => {
            text.split(' ').map(|row| row.chars().map(|c| c.to_digit(10).map(f64::from)).collect()).collect()
        }
        lists => list(lists).iter().map(|row| list(row).iter().map(Value::as_f64).collect()).collect(),
    }
}

/// The tasters of such a table who scored everything.
pub fn full(packed: &Value) -> Vec<Vec<f64>> {
    complete(&rows(packed)).rows
}

pub fn list(value: &Value) -> &[Value] {
    value.as_array().unwrap_or_else(|| panic!("{value} is no list"))
}

/// How much of a golden file has been compared.
#[derive(Debug, Default)]
pub struct Check {
    asked: usize,
    answered: usize,
    figures: usize,
}

impl Check {
    /// Either figures on both sides, or a reason in words on ours and `null` on theirs.
    pub fn hold<T: Debug, E: Debug + Display>(
        &mut self,
        what: &Value,
        ours: Result<T, E>,
        theirs: &Value,
        figures: impl Fn(&T) -> Vec<Figure>,
    ) {
        self.asked += 1;
        match ours {
            Ok(found) => {
                let text = format!("{found:?}");
                assert!(!text.contains("NaN") && !text.contains("inf"), "{what}: {text}");
                assert!(!theirs.is_null(), "{what}: {text}, reference nothing");
                let (figures, theirs) = (figures(&found), list(theirs));
                assert_eq!(figures.len(), theirs.len(), "{what}: {text}");
                for (place, (ours, theirs)) in figures.iter().zip(theirs).enumerate() {
                    self.figure(&format!("figure {place} of {what}"), ours, theirs.as_f64());
                }
                self.answered += 1;
            }
            Err(why) => {
                assert!(why.to_string().contains(' '), "{why:?} has no words");
                assert!(theirs.is_null(), "{what}: {why}, reference {theirs}");
            }
        }
    }

    fn figure(&mut self, what: &str, ours: &Figure, theirs: Option<f64>) {
        match (ours.value, theirs) {
            (Some(a), Some(b)) => {
                let near = (a - b).abs() <= RELATIVE * b.abs() + ours.absolute;
                assert!(near, "{what}: {a}, reference {b}");
                self.figures += 1;
            }
            (ours, theirs) => assert_eq!(ours, theirs, "{what}"),
        }
    }

    /// That this many sets at least were answered, and this many figures compared.
    pub fn covers(&self, answered: usize, figures: usize) {
        assert!(self.asked >= 500 && self.answered >= answered && self.figures >= figures, "{self:?}");
    }
}
