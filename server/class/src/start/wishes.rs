//! What somebody wants a class file for.

use super::leaf::{Leaf, Sitting};
use super::method::MethodName;
use crate::setting::MAX_KETTLES;
use crate::{MAX_TEAS, Pourers};

/// The title of a class nobody has named.
pub const TITLE: &str = "Tea side by side";
/// The seats of a class nobody has counted.
pub const SEATS: u32 = 8;

/// What the teas are steeped by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// By the table of starting points.
    Sitting(Sitting),
    /// As a standard says.
    Method(MethodName),
}

/// A kettle somebody has.
#[derive(Clone, Debug, PartialEq)]
pub struct Kettle {
    /// What it is called.
    pub name: String,
    /// What it is filled with, millilitres.
    pub fill_ml: f64,
    /// Heating power, watts.
    pub watts: f64,
}

/// Everything a class file is written from.
#[derive(Clone, Debug, PartialEq)]
pub struct Wishes {
    /// What the class is called.
    pub title: String,
    /// The day, as `YYYY-MM-DD`.
    pub date: String,
    /// When the first cue falls, as `HH:MM:SS`; `None` leaves it open.
    pub start: Option<String>,
    /// How many seats are expected.
    pub seats: u32,
    /// Who pours.
    pub pourers: Pourers,
    /// How the teas are steeped.
    pub basis: Basis,
    /// Water per steep, millilitres; `None` takes what the cups need.
    pub water_ml: Option<f64>,
    /// The teas, at least one.
    pub teas: Vec<Leaf>,
    /// The kettles; none means that nothing is known of them.
    pub kettles: Vec<Kettle>,
    /// Whether all seats draw from these kettles; else each has its own.
    pub shared_kettles: bool,
    /// Height above sea level, metres.
    pub altitude_m: f64,
    /// Seconds to taste after a round's last cup; `None` takes what the cups need.
    pub taste_s: Option<u32>,
}

impl Wishes {
    /// Whether a class file can say all this.
    ///
    /// # Errors
    /// A sentence saying what can't be and what would be right.
    pub fn check(&self) -> Result<(), String> {
        if self.teas.is_empty() || self.teas.len() > MAX_TEAS {
            return Err(format!("a class has 1 to {MAX_TEAS} teas, not {}", self.teas.len()));
        }
        if self.kettles.len() > MAX_KETTLES {
            return Err(format!("a class has at most {MAX_KETTLES} kettles, not {}", self.kettles.len()));
        }
        for (i, tea) in self.teas.iter().enumerate() {
            if named(&self.teas[..i], &tea.name) {
                return Err(format!("two teas are called `{}`; give each its own name", tea.name));
            }
            if matches!(self.basis, Basis::Method(_)) && (tea.temp_c.is_some() || tea.first_s.is_some()) {
                return Err(format!(
                    "`{}` asks for its own water or first steep, but a method sets them itself; leave out water= and first=, or --method",
                    tea.name
                ));
            }
            let unlike = |other: &&Leaf| {
                let kind = |of: &Leaf| (of.form, of.oxidation, of.roasted, of.dry, of.age_years);
                other.leaf_name() == tea.leaf_name() && kind(other) != kind(tea)
            };
            if let Some(other) = self.teas[..i].iter().find(unlike) {
                return Err(format!(
                    "`{}` and `{}` are said to be one leaf, but are described as two; say the same kind, form, oxidation, roast and age of both",
                    other.name, tea.name
                ));
            }
            if let (Basis::Method(_), Some(dose)) = (self.basis, tea.dose) {
                return Err(format!(
                    "`{}` asks for a dose of {dose} g, but a method sets the dose itself; leave out dose= or --method",
                    tea.name
                ));
            }
        }
        Ok(())
    }
}

/// Whether one of the teas has this name; capitals do not matter.
pub fn named(teas: &[Leaf], name: &str) -> bool {
    teas.iter().any(|tea| tea.name.to_lowercase() == name.to_lowercase())
}
