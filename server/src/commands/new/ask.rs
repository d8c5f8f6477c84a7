//! Asks for a class file in questions, one line each, over any reader and writer. An answer can be taken back, and what was answered
//! is handed on after each, so that the questions can go on another time.

use class::setting::MAX_KETTLES;
use class::start::choose;
use class::start::leaf::{Choice, Form, Kind, Leaf, Oxidation, Sitting};
use class::start::spec;
use class::start::table::Table;
use class::start::wishes::{Basis, Kettle, SEATS, TITLE, Wishes, named};
use class::{MAX_TEAS, Pourers, taste};
use protocol::Sheet;
use protocol::text::message;
use std::collections::VecDeque;
use std::io::{BufRead, Read, Write};
use thiserror::Error;

/// The longest answer, bytes; what is longer is taken for several.
const LINE_BYTES: u64 = 4096;
/// The answer that takes the one before it back.
const BACK: &str = "back";

/// Why the questions came to no end.
#[derive(Debug, Error)]
pub enum AskError {
    /// There are no more answers.
    #[error(
        "the answers ended before the class was complete; no class file was written\n\
         answer every question (Enter takes what stands in brackets), or say it all with flags: kettlecall new --help"
    )]
    Ended,
    /// The terminal failed.
    #[error("can't ask: {0}")]
    Io(#[from] std::io::Error),
}

/// Why a round of questions stopped.
enum Stop {
    /// The last answer was taken back.
    Back,
    Failed(AskError),
}

impl From<std::io::Error> for Stop {
    fn from(error: std::io::Error) -> Self {
        Stop::Failed(error.into())
    }
}

/// A question as it was put, and its answer.
pub type Answer = (String, String);

/// What was answered already, and what is told after each answer.
pub struct Notes<'a> {
    /// The answers of another time, in their order; those that no longer go with the questions are passed over.
    pub earlier: Vec<Answer>,
    /// Is told all answers so far.
    pub keep: &'a mut dyn FnMut(&[Answer]),
}

/// What is known already; the rest is asked, or taken as usual.
#[derive(Clone, Debug, Default)]
pub struct Given {
    /// What the class is called.
    pub title: Option<String>,
    /// The day, as `YYYY-MM-DD`.
    pub date: Option<String>,
    /// Today, as `YYYY-MM-DD`.
    pub today: String,
    /// When it starts, as `HH:MM:SS`.
    pub start: Option<String>,
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
    /// Whether all seats draw from these kettles.
    pub shared_kettles: bool,
    /// Height above sea level, metres.
    pub altitude_m: Option<f64>,
    /// Seconds to taste after a round's last cup.
    pub taste_s: Option<u32>,
}

impl Given {
    /// What is given, and the usual for the rest.
    pub fn or_usual(self) -> Wishes {
        Wishes {
            title: self.title.unwrap_or_else(|| TITLE.into()),
            date: self.date.unwrap_or(self.today),
            start: self.start,
            seats: self.seats.unwrap_or(SEATS),
            pourers: self.pourers.unwrap_or(Pourers::EachSeat),
            basis: self.basis.unwrap_or(Basis::Sitting(Sitting::Middle)),
            water_ml: self.water_ml,
            teas: self.teas,
            kettles: self.kettles,
            shared_kettles: self.shared_kettles,
            altitude_m: self.altitude_m.unwrap_or(0.0),
            taste_s: self.taste_s,
        }
    }
}

/// Asks for everything that is not given. `table` says how a leaf is steeped that another way of it is to differ from.
///
/// # Errors
/// When the answers end early or can't be read.
pub fn ask(
    given: &Given,
    table: &Table,
    notes: Notes<'_>,
    answers: &mut dyn BufRead,
    questions: &mut dyn Write,
) -> Result<Wishes, AskError> {
    writeln!(questions, "Enter takes what stands in brackets; `{BACK}` goes back to the question before.")?;
    let Notes { mut earlier, keep } = notes;
    loop {
        let mut talk = Talk {
            answers: &mut *answers,
            questions: &mut *questions,
            earlier: earlier.into(),
            answered: vec![],
            keep,
        };
        match talk.all(given.clone(), table) {
            Ok(wishes) => return Ok(wishes),
            Err(Stop::Failed(error)) => return Err(error),
            // The answers that are left are gone through once more, unseen, up to the question before.
            Err(Stop::Back) => earlier = talk.answered,
        }
    }
}

struct Talk<'a> {
    answers: &'a mut dyn BufRead,
    questions: &'a mut dyn Write,
    /// Answers that are given again without being asked.
    earlier: VecDeque<Answer>,
    answered: Vec<Answer>,
    keep: &'a mut dyn FnMut(&[Answer]),
}

impl Talk<'_> {
    fn all(&mut self, mut given: Given, table: &Table) -> Result<Wishes, Stop> {
        if given.title.is_none() {
            given.title = Some(self.ask("Title", TITLE, spec::title)?);
        }
        if given.date.is_none() {
            given.date = Some(self.ask("Date", &given.today, spec::date)?);
        }
        if given.start.is_none() {
            let no = |text: &str| if text == "no" { Ok(None) } else { spec::start(text).map(Some) };
            given.start = self.ask("Time of the first cue, as 18:30 (or no)", "no", no)?;
        }
        if given.basis.is_none() {
            given.basis = Some(Basis::Sitting(self.choose("Sitting", Sitting::Middle)?));
        }
        if given.teas.is_empty() {
            let most = MAX_TEAS as u32;
            let teas =
                self.ask(&format!("How many teas (1 to {most})"), "4", |text| spec::count(text, 1..=most))?;
            for number in 1..=teas {
                let leaf = self.tea(number, &given.teas, given.basis, table)?;
                given.teas.push(leaf);
            }
        }
        if given.seats.is_none() {
            given.seats = Some(self.ask("Seats", &SEATS.to_string(), spec::seats)?);
        }
        if given.pourers.is_none() {
            let who = "Who pours (each-seat for its own set, or 1 to 8 pourers at one table)";
            given.pourers = Some(self.ask(who, "each-seat", spec::pourers)?);
        }
        if given.kettles.is_empty() {
            self.kettles(&mut given)?;
        }
        if given.altitude_m.is_none() {
            given.altitude_m = Some(self.ask("Altitude in metres", "0", spec::altitude_m)?);
        }
        if given.taste_s.is_none() {
            let usual = taste::taste_s(given.teas.len(), &Sheet::default());
            let asked = self.ask("Seconds to taste after each round", &usual.to_string(), spec::taste_s)?;
            given.taste_s = Some(asked).filter(|s| *s != usual);
        }
        Ok(given.or_usual())
    }

    fn kettles(&mut self, given: &mut Given) -> Result<(), Stop> {
        let most = MAX_KETTLES as u32;
        let how_many = format!("How many kettles (0 to {most}; 0 if hot water is always at hand)");
        for number in 1..=self.ask(&how_many, "1", |text| spec::count(text, 0..=most))? {
            let usual = if number == 1 { "kettle".into() } else { format!("kettle {number}") };
            let kettle = Kettle {
                name: self.ask(&format!("Name of kettle {number}"), &usual, spec::name)?,
                fill_ml: self.ask("  litres", "1.2", spec::fill_ml)?,
                watts: self.ask("  watts", "1800", spec::watts)?,
            };
            given.kettles.push(kettle);
        }
        if !given.kettles.is_empty() && given.pourers == Some(Pourers::EachSeat) && !given.shared_kettles {
            let shared = "Do all seats draw from these (yes), or has every seat such kettles of its own (no)";
            given.shared_kettles = self.ask(shared, "no", spec::yes)?;
        }
        Ok(())
    }

    fn tea(
        &mut self,
        number: u32,
        earlier: &[Leaf],
        basis: Option<Basis>,
        table: &Table,
    ) -> Result<Leaf, Stop> {
        let own = |text: &str| {
            let name = spec::name(text)?;
            if named(earlier, &name) {
                return Err(format!("`{name}` is another tea already; give each its own name"));
            }
            Ok(name)
        };
        let name = self.ask(&format!("Name of tea {number}"), &format!("Tea {number}"), own)?;
        // A method steeps every leaf in its one way.
        if let (Some(Basis::Sitting(sitting)), Some(most)) = (basis, number.checked_sub(1).filter(|n| *n > 0))
        {
            let same = "  the same leaf as tea number (0 if it is another leaf)";
            let of = self.ask(same, "0", |text| spec::count(text, 0..=most))?;
            if let Some(of) = of.checked_sub(1).and_then(|of| earlier.get(of as usize)) {
                return self.way(name, of, earlier, sitting, table);
            }
        }
        let kind: Kind = self.choose("  kind", Kind::Oolong)?;
        let (form, oxidation) = kind.usual();
        Ok(Leaf {
            form: self.choose::<Form>("  leaf", form)?,
            oxidation: self.choose::<Oxidation>("  oxidation", oxidation)?,
            roasted: self.ask("  roasted (yes or no)", "no", spec::yes)?,
            age_years: self.ask("  age in years", "0", spec::years)?,
            ..Leaf::named(name)
        })
    }

    /// Another way of the leaf of an earlier tea.
    fn way(
        &mut self,
        name: String,
        of: &Leaf,
        earlier: &[Leaf],
        sitting: Sitting,
        table: &Table,
    ) -> Result<Leaf, Stop> {
        let usual = choose::start(table, of, sitting);
        let first = usual.steep_s.first().copied().unwrap_or(0);
        loop {
            let way = Leaf {
                name: name.clone(),
                leaf: Some(of.leaf_name().into()),
                dose: Some(self.ask("  leaf in g to 100 ml", &usual.dose.to_string(), spec::dose)?),
                temp_c: Some(self.ask("  water in °C", &usual.temp_c.to_string(), spec::temp_c)?),
                first_s: Some(self.ask("  first steep in seconds", &first.to_string(), spec::first_s)?),
                ..of.clone()
            };
            let steeped = choose::start(table, &way, sitting);
            let same = |other: &&Leaf| {
                other.leaf_name() == of.leaf_name()
                    && choose::start(table, other, sitting).is_steeped_as(&steeped)
            };
            match earlier.iter().find(same) {
                None => return Ok(way),
                Some(other) => {
                    let name = &other.name;
                    let words = format!("  that is just how {name} is steeped; change one of the three");
                    writeln!(self.questions, "{}", message(&words))?;
                }
            }
        }
    }

    fn choose<T: Choice>(&mut self, question: &str, usual: T) -> Result<T, Stop> {
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
    ) -> Result<T, Stop> {
        if let Some((put, answer)) = self.earlier.pop_front() {
            match understand(&answer) {
                Ok(understood) if put == question => {
                    self.answered.push((put, answer));
                    return Ok(understood);
                }
                // What was answered behind another question may mean something else now.
                _ => self.earlier.clear(),
            }
        }
        loop {
            write!(self.questions, "{question} [{usual}]: ")?;
            self.questions.flush()?;
            let mut line = Vec::new();
            if Read::take(&mut *self.answers, LINE_BYTES).read_until(b'\n', &mut line)? == 0 {
                writeln!(self.questions)?;
                return Err(Stop::Failed(AskError::Ended));
            }
            let line = String::from_utf8_lossy(&line);
            let answer = if line.trim().is_empty() { usual } else { line.trim() };
            if answer.eq_ignore_ascii_case(BACK) {
                if self.answered.pop().is_some() {
                    (self.keep)(&self.answered);
                    return Err(Stop::Back);
                }
                writeln!(self.questions, "  this is the first question")?;
                continue;
            }
            match understand(answer) {
                Ok(understood) => {
                    self.answered.push((question.into(), answer.into()));
                    (self.keep)(&self.answered);
                    return Ok(understood);
                }
                Err(problem) => writeln!(self.questions, "  {}", message(&problem))?,
            }
        }
    }
}
