//! A class to be drawn: who tastes what, and what is true of it.

use crate::calibrate::dice::Dice;
use class::{Class, read};
use std::fmt::{self, Write};

/// How the scores of one cup are spread, on a scale from 1 to 9.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// The bell.
    Normal,
    /// Most near the top, with a long tail below.
    Skewed,
    /// Three points that nearly all scores fall on.
    Tied,
}

impl Shape {
    /// All.
    pub const ALL: [Shape; 3] = [Shape::Normal, Shape::Skewed, Shape::Tied];

    /// The standard deviation of one taster's scores of cups that are the same, points (before they are rounded).
    pub fn sd(self) -> f64 {
        match self {
            Shape::Normal => 1.2,
            Shape::Skewed => 1.5,
            Shape::Tied => 0.5,
        }
    }

    /// A score: `level` is how high this taster scores (standard normal), `effect` what is true of this cup, points.
    pub fn points(self, level: f64, effect: f64, dice: &mut Dice) -> i32 {
        let sd = self.sd();
        let cup = match self {
            Shape::Normal => 5.0 + level + dice.normal(sd),
            Shape::Skewed => 8.0 + level / 2.0 - dice.exponential(sd),
            Shape::Tied => 5.0 + level / 2.5 + dice.normal(sd),
        };
        ((cup + effect).round() as i32).clamp(1, 9)
    }
}

impl fmt::Display for Shape {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Shape::Normal => "normal",
            Shape::Skewed => "skewed",
            Shape::Tied => "tied",
        })
    }
}

/// The strength votes. What a taster finds of a cup is a standard normal number, the tea's own added.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Votes {
    /// Nearer to 0 than this it is just right: 0.6745 for half of the cups that are right.
    pub right_within: f64,
    /// The share of the variance that is the taster's own, the same at every steep of a tea.
    pub own: f64,
    /// What a wrong strength costs in liking, points.
    pub costs: f64,
}

/// A class to be drawn.
#[derive(Clone, Debug)]
pub struct Design {
    /// The leaf and the way of each tea.
    pub teas: Vec<(usize, usize)>,
    /// How many score.
    pub tasters: usize,
    /// Steeps of each tea.
    pub steeps: u32,
    /// Attributes; the first is liking, and alone has true differences.
    pub attributes: usize,
    /// How scores are spread.
    pub shape: Shape,
    /// The chance that a taster has left a tea out.
    pub missing: f64,
    /// How differently tasters see a way, the same under each of its codes: a standard deviation, points.
    pub seen: f64,
    /// What each tea has more than others in liking, points.
    pub lift: Vec<f64>,
    /// What the first cup of a round gets more, points.
    pub first_cup: f64,
    /// The strength votes, if they are asked.
    pub votes: Option<Votes>,
    /// How much thinner the first tea, and each other of its way, is than right.
    pub thin: f64,
    /// How many words are asked, and how much more often the first is ticked for the first tea, as a chance.
    pub words: (usize, f64),
    /// Whether totals are weighed.
    pub totals: bool,
    /// How many difference tests there are, and the share of tasters who truly tell the teas apart.
    pub tests: (usize, f64),
}

impl Design {
    /// So many teas of different leaves and tasters; two steeps, two attributes.
    pub fn of(teas: usize, tasters: usize, shape: Shape) -> Self {
        Self {
            teas: (0..teas).map(|tea| (tea, 0)).collect(),
            tasters,
            steeps: 2,
            attributes: 2,
            shape,
            missing: 0.0,
            seen: 0.0,
            lift: vec![0.0; teas],
            first_cup: 0.0,
            votes: None,
            thin: 0.0,
            words: (0, 0.0),
            totals: false,
            tests: (0, 0.0),
        }
    }

    /// So many ways of each of so many leaves.
    pub fn ways(leaves: usize, ways: usize, tasters: usize, shape: Shape) -> Self {
        let teas = (0..leaves).flat_map(|leaf| (0..ways).map(move |way| (leaf, way))).collect();
        Self { teas, ..Self::of(leaves * ways, tasters, shape) }
    }

    /// So many ways of one leaf, each under two codes.
    pub fn twice(ways: usize, tasters: usize, shape: Shape) -> Self {
        let teas = (0..2 * ways).map(|tea| (0, tea / 2)).collect();
        Self { teas, ..Self::of(2 * ways, tasters, shape) }
    }

    /// The class file.
    pub fn class(&self, date: &str) -> Class {
        let names: Vec<String> = (0..self.attributes).map(|a| format!("\"{}\"", name(a))).collect();
        let mut text = format!(
            "title = \"Drawn\"\ndate = {date}\nseats = {}\nblind = false\npourers = \"each seat\"\npour_s = 5\ndecant_s = 4\n\
             taste_s = 60\n[sheet]\nattributes = [{}]\nstrength = {}\n",
            self.tasters,
            names.join(", "),
            self.votes.is_some()
        );
        let words: Vec<String> = (0..self.words.0).map(|word| format!("\"word {word}\"")).collect();
        if !words.is_empty() {
            text += &format!("words = [{}]\n", words.join(", "));
        }
        if self.totals {
            text += &format!("weights = {{ {} = 60, {} = 40 }}\n", name(0), name(1));
        }
        for (tea, (leaf, way)) in self.teas.iter().enumerate() {
            // Writing to a String can't fail.
            let _ = write!(
                text,
                "[[tea]]\nname = \"Tea {tea}\"\nleaf = \"Leaf {leaf}\"\ncode = \"{}\"\nleaf_g = {}\nwater_ml = 100\n\
                 temp_c = 95\nsteep_s = [30]\nthen_add_s = 10\nsteeps = {}\n",
                211 + tea * 13,
                3 + way,
                self.steeps
            );
        }
        for test in 0..self.tests.0 {
            let kind =
                ["kind = \"triangle\"", "kind = \"duo-trio\"", "kind = \"paired\"\nask = \"stronger\""]
                    [test % 3];
            let _ = write!(text, "[[test]]\n{kind}\nteas = [\"Tea 0\", \"Tea 1\"]\nsteep = 1\n");
        }
        read::class(&text).unwrap_or_else(|faults| panic!("{faults:?}"))
    }
}

/// The name of an attribute.
pub fn name(attribute: usize) -> &'static str {
    ["liking", "aroma", "body", "aftertaste"][attribute]
}
