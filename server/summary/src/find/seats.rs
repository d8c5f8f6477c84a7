//! The seat and the class: one page for each.

use crate::data::{Attribute, Data, finest};
use crate::find::ways::repeats;
use crate::known::Known;
use crate::say::seat::about_seat;
use crate::sentence::Sentence;
use protocol::Code;
use schemars::JsonSchema;
use serde::Serialize;
use stats::Cannot;
use stats::describe::describe;
use stats::panel::habits::{Correlation, Habits, Leans, Spread, habits};
use stats::panel::{BesideOthers, Discrimination, Performance, Repeatability, performance};
use stats::two_means::TTest;

/// One seat's page.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SeatPage {
    /// The seat's name.
    pub seat: String,
    /// Each attribute.
    pub attributes: Vec<SeatAttribute>,
    /// The seat's own scores beside the class's.
    pub scores: Vec<OwnScore>,
    /// What of the class is not there any more, in sentences; empty if nothing is known to be missing.
    pub damage: Vec<String>,
    /// What that says, kindly; empty until it is put into words.
    pub sentences: Vec<Sentence>,
}

/// How a seat uses one attribute's scale, over the steeps.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SeatAttribute {
    /// The attribute.
    pub attribute: String,
    /// Whether the scores are high or low.
    pub bias: Known<Bias>,
    /// How wide they are spread.
    pub spread: Known<Spread>,
    /// Whether they go along with the others'.
    pub with_others: Known<Correlation>,
    /// Where a tea was served twice: whether this taster tells the cups (tea and steep) apart; else `null`.
    pub discrimination: Option<Known<Discrimination>>,
    /// Where a tea was served twice: how near the scores of one and the same cup lie; else `null`.
    pub repeatability: Option<Known<Repeatability>>,
    /// The same beside the other tasters; else `null`.
    pub beside_others: Option<Known<BesideOthers>>,
    /// All three in words; else `null`.
    pub verdict: Option<String>,
    /// How many others the figures beside them go by, of the tea that the fewest have scored.
    #[serde(skip)]
    others: usize,
}

/// How far a seat scores above or below the class.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Bias {
    /// Teas that this seat and at least one other have scored.
    pub teas: usize,
    /// Mean of this seat's score less the class's mean, points.
    pub points: f64,
    /// The t test of it, with its interval.
    pub test: Known<TTest>,
    /// `high`, `low` or `not shown`.
    pub leans: String,
}

/// One score beside the class's.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct OwnScore {
    /// The attribute.
    pub attribute: String,
    /// The tea.
    pub tea: Code,
    /// The steep.
    pub steep: u32,
    /// This seat's score.
    pub own: f64,
    /// The others' mean; `null` if nobody else scored it, and on a seat's own page if fewer than three did.
    pub others_mean: Option<f64>,
    /// How many others.
    pub others: usize,
}

/// From how many others on a seat is set beside them on its own page. Our own rule.
const LEAST_OTHERS: usize = 3;

/// What is said in place of figures of fewer others.
pub(crate) const FEW_OTHERS: &str = "too few others to set you beside them";

impl SeatPage {
    /// The page as the person at the seat may see it: nothing that few others' own scores could be told from.
    pub(crate) fn for_the_seat(&self) -> Self {
        let attributes: Vec<SeatAttribute> =
            self.attributes.iter().map(SeatAttribute::for_the_seat).collect();
        let scores = self.scores.iter().map(|s| OwnScore { others_mean: s.others_shown(), ..s.clone() });
        Self {
            seat: self.seat.clone(),
            scores: scores.collect(),
            damage: self.damage.clone(),
            sentences: about_seat(&attributes),
            attributes,
        }
    }
}

impl SeatAttribute {
    /// Whether there are others, too few for the seat to be set beside them.
    pub(crate) fn has_few_others(&self) -> bool {
        (1..LEAST_OTHERS).contains(&self.others)
    }

    fn for_the_seat(&self) -> Self {
        if !self.has_few_others() {
            return self.clone();
        }
        let mut own = self.clone();
        own.bias = Known::not(FEW_OTHERS);
        own.with_others = Known::not(FEW_OTHERS);
        if let Some(spread) = own.spread.get_mut() {
            spread.others_mean_sd = None;
        }
        own.beside_others = own.beside_others.map(|_| Known::not(FEW_OTHERS));
        own.verdict = None;
        own
    }
}

impl OwnScore {
    /// The others' mean as the seat may see it: of so many that nobody's own score can be told from it.
    pub fn others_shown(&self) -> Option<f64> {
        self.others_mean.filter(|_| self.others >= LEAST_OTHERS)
    }

    /// Whether there is a mean that the seat may not see.
    pub fn hides_others(&self) -> bool {
        (1..LEAST_OTHERS).contains(&self.others)
    }
}

/// A page for every seat, without its sentences.
pub fn pages(data: &Data<'_>) -> Vec<SeatPage> {
    let columns: Vec<Vec<SeatAttribute>> = data.attributes.iter().map(|a| by_seat(data, a)).collect();
    let page = |seat: usize| {
        let attributes: Vec<SeatAttribute> = columns.iter().map(|column| column[seat].clone()).collect();
        SeatPage {
            seat: data.seats[seat].into(),
            damage: data.room.damage.words(),
            sentences: Vec::new(),
            attributes,
            scores: data.attributes.iter().flat_map(|a| own_scores(data, a, seat)).collect(),
        }
    };
    (0..data.seats.len()).map(page).collect()
}

/// One attribute of every seat.
fn by_seat(data: &Data<'_>, attribute: &Attribute) -> Vec<SeatAttribute> {
    // Each tea over its own steeps: seats are compared here, and not teas.
    let teas: Vec<Vec<Option<f64>>> =
        (0..data.teas.len()).map(|tea| attribute.compared(&[tea], None).columns.concat()).collect();
    // Of some teas a mean is made up and rounded; the same mean of another tea must not seem to be another one.
    let row = |seat: usize| teas.iter().map(|tea| tea.get(seat).copied().flatten().map(finest)).collect();
    let rows: Vec<Vec<Option<f64>>> = (0..data.seats.len()).map(row).collect();
    // Without seats or teas there are no habits to speak of.
    let found = habits(&rows);
    let repeated = repeated_cups(data, attribute);
    let performed = repeated.map(|cups| performance(&cups));
    let one = |seat: usize| {
        let habit: Result<&Habits, Cannot> =
            found.as_ref().map_err(|why| *why).and_then(|all| all.get(seat).ok_or(Cannot::Tasters(1)));
        let performed: Option<&Performance> =
            performed.as_ref().and_then(|p| p.as_ref().ok()).and_then(|all| all.get(seat));
        SeatAttribute {
            attribute: attribute.name.clone(),
            bias: habit.and_then(|h| h.bias.clone()).map(Bias::of).into(),
            spread: habit.and_then(|h| h.spread).into(),
            with_others: habit.and_then(|h| h.with_others).into(),
            discrimination: performed.map(|p| p.discrimination.into()),
            repeatability: performed.map(|p| p.repeatability.into()),
            beside_others: performed.map(|p| p.beside_others.into()),
            verdict: performed.map(|p| p.verdict.to_string()),
            others: fewest_others(&rows, seat),
        }
    };
    (0..data.seats.len()).map(one).collect()
}

/// How many others have scored the tea, among those that a seat shares with any, that the fewest have.
fn fewest_others(rows: &[Vec<Option<f64>>], seat: usize) -> usize {
    let scored = |tea: usize| rows.iter().filter(|row| row[tea].is_some()).count();
    let own = rows[seat].iter().enumerate().filter(|(_, own)| own.is_some());
    own.map(|(tea, _)| scored(tea) - 1).filter(|&others| others > 0).min().unwrap_or(0)
}

/// Every seat's scores of each cup (leaf, way and steep); nothing where no cup was served twice.
fn repeated_cups(data: &Data<'_>, attribute: &Attribute) -> Option<Vec<Vec<Vec<f64>>>> {
    let same = repeats(data);
    if same.is_empty() {
        return None;
    }
    let alone = (0..data.teas.len()).filter(|tea| !same.iter().any(|group| group.contains(tea)));
    let groups: Vec<Vec<usize>> = same.iter().cloned().chain(alone.map(|tea| vec![tea])).collect();
    let cups: Vec<(&Vec<usize>, u32)> =
        groups.iter().flat_map(|group| (1..=data.last_steep()).map(move |steep| (group, steep))).collect();
    let cell = |seat: usize, (group, steep): &(&Vec<usize>, u32)| -> Vec<f64> {
        group.iter().filter_map(|&tea| attribute.at(tea, *steep).get(seat).copied().flatten()).collect()
    };
    let row = |seat| cups.iter().map(|cup| cell(seat, cup)).collect();
    Some((0..data.seats.len()).map(row).collect())
}

impl Bias {
    fn of(found: stats::panel::habits::Bias) -> Self {
        Self {
            teas: found.teas,
            points: found.points,
            test: found.test.into(),
            leans: match found.leans {
                Leans::High => "high",
                Leans::Low => "low",
                Leans::NotShown => "not shown",
            }
            .into(),
        }
    }
}

fn own_scores(data: &Data<'_>, attribute: &Attribute, seat: usize) -> Vec<OwnScore> {
    let mut all = Vec::new();
    for (place, tea) in data.teas.iter().enumerate() {
        for &steep in &tea.steeps {
            let cell = attribute.at(place, steep);
            let Some(own) = cell.get(seat).copied().flatten() else { continue };
            let others: Vec<f64> =
                cell.iter().enumerate().filter(|(i, _)| *i != seat).filter_map(|(_, value)| *value).collect();
            let others_mean = describe(&others).ok().map(|d| d.mean);
            let attribute = attribute.name.clone();
            all.push(OwnScore { attribute, tea: tea.code, steep, own, others_mean, others: others.len() });
        }
    }
    all
}
