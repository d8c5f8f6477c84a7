//! Asks for a class file in questions, one line each, over any reader and writer.

use class::setting::MAX_KETTLES;
use class::start::leaf::{Choice, Form, Leaf, Oxidation, Sitting};
use class::start::spec;
use class::start::wishes::{Basis, Kettle, SEATS, TITLE, Wishes, named};
use class::{MAX_TEAS, Pourers};
use std::io::{BufRead, Read, Write};
use thiserror::Error;

/// The longest answer, bytes; what is longer is taken for several.
const LINE_BYTES: u64 = 4096;

/// Why the questions came to no end.
#[derive(Debug, Error)]
pub enum AskError {
    /// There are no more answers.
    #[error(
        "the answers ended before the class was complete; nothing was written\n\
         answer every question (Enter takes what stands in brackets), or say it all with flags: kettlecall new --help"
    )]
    Ended,
    /// The terminal failed.
    #[error("can't ask: {0}")]
    Io(#[from] std::io::Error),
}

/// What is known already; the rest is asked, or taken as usual.
#[derive(Clone, Debug, Default)]
pub struct Given {
    /// What the class is called.
    pub title: Option<String>,
    /// The day, as `YYYY-MM-DD`.
    pub date: String,
    /// How many seats are expected.
    pub seats: Option<u32>,
    /// Who pours.
    pub pourers: Option<Pourers>,
    /// How the teas are steeped.
    pub basis: Option<Basis>,
    /// Water per steep, millilitres; never asked.
    pub water_ml: Option<f64>,
    /// The teas.
    pub teas: Vec<Leaf>,
    /// The kettles.
    pub kettles: Vec<Kettle>,
    /// Height above sea level, metres.
    pub altitude_m: Option<f64>,
}

impl Given {
    /// What is given, and the usual for the rest.
    pub fn or_usual(self) -> Wishes {
        Wishes {
            title: self.title.unwrap_or_else(|| TITLE.into()),
            date: self.date,
            seats: self.seats.unwrap_or(SEATS),
            pourers: self.pourers.unwrap_or(Pourers::EachSeat),
            basis: self.basis.unwrap_or(Basis::Sitting(Sitting::Middle)),
            water_ml: self.water_ml,
            teas: self.teas,
            kettles: self.kettles,
            altitude_m: self.altitude_m.unwrap_or(0.0),
        }
    }
}

/// Asks for everything that is not given.
///
/// # Errors
/// When the answers end early or can't be read.
pub fn ask(
    mut given: Given,
    answers: &mut dyn BufRead,
    questions: &mut dyn Write,
) -> Result<Wishes, AskError> {
    let mut talk = Talk { answers, questions };
    writeln!(talk.questions, "Enter takes what stands in brackets.")?;
    if given.title.is_none() {
        given.title = Some(talk.ask("Title", TITLE, spec::title)?);
    }
    if given.teas.is_empty() {
        let most = MAX_TEAS as u32;
        let teas =
            talk.ask(&format!("How many teas (1 to {most})"), "4", |text| spec::count(text, 1..=most))?;
        for number in 1..=teas {
            let leaf = talk.leaf(number, &given.teas)?;
            given.teas.push(leaf);
        }
    }
    if given.basis.is_none() {
        given.basis = Some(Basis::Sitting(talk.choose("Sitting", Sitting::Middle)?));
    }
    if given.seats.is_none() {
        given.seats = Some(talk.ask("Seats", &SEATS.to_string(), spec::seats)?);
    }
    if given.pourers.is_none() {
        let who = "Who pours (each-seat for its own set, or 1 to 8 pourers at one table)";
        given.pourers = Some(talk.ask(who, "each-seat", spec::pourers)?);
    }
    if given.kettles.is_empty() {
        let most = MAX_KETTLES as u32;
        let how_many = format!("How many kettles (0 to {most}; 0 if hot water is always at hand)");
        for number in 1..=talk.ask(&how_many, "1", |text| spec::count(text, 0..=most))? {
            let usual = if number == 1 { "kettle".into() } else { format!("kettle {number}") };
            let kettle = Kettle {
                name: talk.ask(&format!("Name of kettle {number}"), &usual, spec::name)?,
                fill_ml: talk.ask("  litres", "1.2", spec::fill_ml)?,
                watts: talk.ask("  watts", "1800", spec::watts)?,
            };
            given.kettles.push(kettle);
        }
    }
    if given.altitude_m.is_none() {
        given.altitude_m = Some(talk.ask("Altitude in metres", "0", spec::altitude_m)?);
    }
    Ok(given.or_usual())
}

struct Talk<'a> {
    answers: &'a mut dyn BufRead,
    questions: &'a mut dyn Write,
}

impl Talk<'_> {
    fn leaf(&mut self, number: u32, earlier: &[Leaf]) -> Result<Leaf, AskError> {
        let own = |text: &str| {
            let name = spec::name(text)?;
            if named(earlier, &name) {
                return Err(format!("`{name}` is another tea already; give each its own name"));
            }
            Ok(name)
        };
        let name = self.ask(&format!("Name of tea {number}"), &format!("Tea {number}"), own)?;
        let usual = Leaf::named(name);
        Ok(Leaf {
            form: self.choose::<Form>("  leaf", usual.form)?,
            oxidation: self.choose::<Oxidation>("  oxidation", usual.oxidation)?,
            roasted: self.ask("  roasted (yes or no)", "no", spec::yes)?,
            age_years: self.ask("  age in years", "0", spec::years)?,
            ..usual
        })
    }

    fn choose<T: Choice>(&mut self, question: &str, usual: T) -> Result<T, AskError> {
        let words: Vec<String> =
            T::words().split(", ").enumerate().map(|(i, word)| format!("{} {word}", i + 1)).collect();
        self.ask(&format!("{question} ({})", words.join(", ")), usual.word(), T::understand)
    }

    /// Asks until the answer can be understood.
    fn ask<T>(
        &mut self,
        question: &str,
        usual: &str,
        understand: impl Fn(&str) -> Result<T, String>,
    ) -> Result<T, AskError> {
        loop {
            write!(self.questions, "{question} [{usual}]: ")?;
            self.questions.flush()?;
            let mut line = Vec::new();
            if Read::take(&mut *self.answers, LINE_BYTES).read_until(b'\n', &mut line)? == 0 {
                writeln!(self.questions)?;
                return Err(AskError::Ended);
            }
            let line = String::from_utf8_lossy(&line);
            let answer = if line.trim().is_empty() { usual } else { line.trim() };
            match understand(answer) {
                Ok(understood) => return Ok(understood),
                Err(problem) => writeln!(self.questions, "  {problem}")?,
            }
        }
    }
}
