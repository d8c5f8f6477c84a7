//! What the class found, per tea and steep and attribute. Pure: the same ledger gives the same summary everywhere.

pub mod adapted;
pub mod aside;
pub mod data;
pub mod figures;
pub mod find;
pub mod findings;
pub mod guide;
pub mod known;
pub mod next;
pub mod recipe;
pub mod say;
pub mod sentence;
pub mod several;
pub mod sheets;
pub mod spot;

use adapted::{AdaptedSteep, adapted};
use aside::{Aside, aside};
use class::steeping::Steeping;
use find::describe::{Curve, CurvePoint};
use findings::Findings;
use protocol::say::list;
use protocol::{Code, HostTime, Phase, Role, Strength};
use recipe::Turn;
use room::Room;
use schemars::JsonSchema;
use serde::Serialize;
use sheets::{Cup, InOf, served};
use stats::describe::{Description, describe};
use uuid::Uuid;

/// The number of the JSON shape; a change of meaning gets a new one, added fields do not.
pub const FORMAT: u32 = 3;

/// The summary of one class. Its JSON is documented in `server/docs/json.md`.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Summary {
    /// The number of this shape: 3.
    pub format: u32,
    /// The class's id.
    pub class_id: Uuid,
    /// Its title.
    pub title: String,
    /// Its day, YYYY-MM-DD.
    pub date: String,
    /// Where it stands.
    pub phase: Phase,
    /// How many times as fast as a class it ran, if it was only a rehearsal; `null` for a class.
    pub rehearsal: Option<f64>,
    /// What was put right or left out, and why.
    pub aside: Vec<Aside>,
    /// How many seats were expected.
    pub seats_expected: u32,
    /// The seats that came and count, in the order in which they came.
    pub seats: Vec<SeatLine>,
    /// The teas, in the order of their codes when the class is blind.
    pub teas: Vec<TeaLine>,
    /// The codes of the teas whose names are still kept from the class.
    pub still_blind: Vec<Code>,
    /// Filled sheets, and sheets due: of every seat that scores for every cup decanted after it had sat down, and whatever
    /// came in beyond that.
    pub sheets: InOf,
    /// What the scores say: tests and sentences.
    pub findings: Findings,
    /// How many people sat down, whether their scores count or not.
    pub came: usize,
    /// The steeps that were given another time by the votes on the one before, and how the votes on them went.
    pub adapted: Vec<AdaptedSteep>,
}

/// One seat.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SeatLine {
    /// Its name.
    pub name: String,
    /// What it came for.
    pub role: Role,
    /// Its sheets.
    pub sheets: InOf,
    /// The cups that it owes and has not scored.
    pub missing: Vec<Cup>,
}

/// One tea.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct TeaLine {
    /// Its code.
    pub code: Code,
    /// Its name, `null` while it is blind.
    pub name: Option<String>,
    /// Its leaf, `null` while it is blind.
    pub leaf: Option<String>,
    /// How it was steeped, as it was served and in what, if that is known; `null` while it is blind. Each steep is there once, in
    /// the order of the steeps: one that was done again as it was the last time that counts.
    pub recipe: Option<Steeping>,
    /// Each steep that was in the cup.
    pub steeps: Vec<CupLine>,
    /// All these steeps together.
    pub all_steeps: CupFigures,
    /// Each round of it as the class was really run: what the teacher made longer or shorter, left out, had done again.
    pub course: Vec<Turn>,
}

impl Summary {
    fn turn(&self, code: Code, round: u32) -> Option<&Turn> {
        self.teas.iter().find(|tea| tea.code == code)?.course.iter().find(|turn| turn.round == round)
    }

    /// What the cup of a round is called: `steep 2`, `steep 1 again (round 4)`.
    pub fn called(&self, code: Code, round: u32) -> String {
        self.turn(code, round).map_or_else(|| format!("steep {round}"), Turn::called)
    }

    /// A cup in a list of them: `155/2`, `155 steep 1 again (round 4)`.
    pub fn cup(&self, code: Code, round: u32) -> String {
        match self.turn(code, round).filter(|turn| turn.steep != round) {
            Some(turn) => format!("{code} {}", turn.called()),
            None => format!("{code}/{round}"),
        }
    }

    /// A curve as it is drawn from steep to steep: each point by its steep and not by its round, without what was done again.
    pub fn drawn(&self, curve: &Curve) -> Curve {
        let point = |point: &CurvePoint| match self.turn(curve.tea, point.steep) {
            Some(turn) if turn.again => None,
            turn => Some(CurvePoint { steep: turn.map_or(point.steep, |turn| turn.steep), ..point.clone() }),
        };
        Curve { steeps: curve.steeps.iter().filter_map(point).collect(), ..curve.clone() }
    }

    /// What is left out of the lines from steep to steep, in a sentence; nothing where nothing is.
    pub fn not_drawn(&self, attribute: &str) -> Option<String> {
        let of = self.findings.figures.curves.iter().filter(|curve| curve.attribute == attribute);
        let points = of.flat_map(|curve| curve.steeps.iter().map(|point| (curve.tea, point)));
        let again = points.filter(|(code, point)| {
            point.mean.is_some() && self.turn(*code, point.steep).is_some_and(|turn| turn.again)
        });
        let cups: Vec<String> =
            again.map(|(code, point)| format!("{code} {}", self.called(code, point.steep))).collect();
        (!cups.is_empty()).then(|| format!("Not in the lines, being done again: {}.", list(&cups)))
    }
}

/// One tea at one steep.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CupLine {
    /// The steep, from 1; one that was done again, or once more, has the number of its round.
    pub steep: u32,
    /// What it is called: `steep 2`, or `steep 1 again (round 4)`.
    pub called: String,
    /// What was found.
    #[serde(flatten)]
    pub figures: CupFigures,
    /// Who has come to score and has not scored it.
    pub missing: Vec<Missing>,
    /// What was noted in words, by seat.
    pub notes: Vec<Note>,
}

/// Somebody whose sheet is missing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Missing {
    /// The seat's name.
    pub seat: String,
    /// The seat came to score only after this cup had been decanted, and owes nothing for it.
    pub came_later: bool,
}

/// A note in words.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Note {
    /// Who wrote it.
    pub seat: String,
    /// What.
    pub text: String,
}

/// Figures over some sheets.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CupFigures {
    /// Sheets in and due.
    pub sheets: InOf,
    /// One line for each attribute of the sheet.
    pub attributes: Vec<AttributeLine>,
    /// The strength vote, `null` when the sheet does not ask it.
    pub strength: Option<StrengthLine>,
}

/// One attribute.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AttributeLine {
    /// Its name.
    pub name: String,
    /// How many scores were due.
    pub of: usize,
    /// How many scores there are; what too few of them can't give is `null`.
    pub n: usize,
    /// Arithmetic mean; needs one score.
    pub mean: Option<f64>,
    /// The middle score, or halfway between the two middle ones; needs one score.
    pub median: Option<f64>,
    /// Standard deviation of a sample (divisor n − 1); needs two scores.
    pub sd: Option<f64>,
    /// The lowest score.
    pub min: Option<f64>,
    /// The highest score.
    pub max: Option<f64>,
}

/// The strength vote.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct StrengthLine {
    /// Votes.
    pub n: usize,
    /// Votes due.
    pub of: usize,
    /// How many said: much too thin, too thin, just right, too strong, much too strong.
    pub counts: [usize; 5],
}

/// One filled sheet with what a summary needs to know about it.
struct SeatSheet<'a> {
    score: &'a protocol::Score,
    seat: &'a str,
}

/// The summary of a class as it stands at `now`. Names of blind teas are left out.
pub fn summarise(room: &Room, now: HostTime) -> Summary {
    let cards = room.class.cards(|code| room.revealed.contains_key(&code));
    let served = served(room, now);
    let teas = cards.iter().map(|card| {
        let steeps: Vec<u32> = served.iter().filter(|c| c.code == card.code).map(|c| c.steep).collect();
        let sheets = |steep| -> Vec<SeatSheet<'_>> {
            let of = |s: &'_ room::Seat| room.scores.of(s.id, (card.code, steep));
            room.counted().filter_map(|s| Some(SeatSheet { score: &of(s)?.score, seat: &s.name })).collect()
        };
        let all: Vec<SeatSheet<'_>> = steeps.iter().flat_map(|&steep| sheets(steep)).collect();
        TeaLine {
            code: card.code,
            name: card.name.clone(),
            leaf: card.leaf.clone(),
            recipe: recipe::as_served(room, card.code, &steeps),
            course: recipe::turns(room, card.code, &steeps),
            all_steeps: cup_figures(
                room,
                &all,
                steeps.iter().map(|&steep| due(room, card.code, steep)).sum(),
            ),
            steeps: steeps.iter().map(|&steep| cup_line(room, card.code, steep, &sheets(steep))).collect(),
        }
    });
    let decanted: Vec<_> = served.iter().map(|cup| (*cup, room.served((cup.code, cup.steep)))).collect();
    let seats = room.counted().map(|seat| {
        let due = decanted.iter().filter(|(_, served)| room.is_due(seat, served));
        let due: Vec<Cup> = due.map(|(cup, _)| *cup).collect();
        let scored = |cup: &Cup| room.scores.of(seat.id, (cup.code, cup.steep)).is_some();
        let missing: Vec<Cup> = due.iter().filter(|cup| !scored(cup)).copied().collect();
        let sheets = InOf { n: due.len() - missing.len(), of: due.len() };
        SeatLine { name: seat.name.clone(), role: seat.role, sheets, missing }
    });
    let seats: Vec<SeatLine> = seats.collect();
    Summary {
        format: FORMAT,
        class_id: room.class_id,
        title: room.class.title.clone(),
        date: room.class.date.clone(),
        phase: room.phase,
        rehearsal: room.rehearsal(),
        aside: aside(room),
        seats_expected: room.class.seats,
        sheets: InOf {
            n: seats.iter().map(|s| s.sheets.n).sum(),
            of: seats.iter().map(|s| s.sheets.of).sum(),
        },
        seats,
        still_blind: cards.iter().filter(|c| c.name.is_none()).map(|c| c.code).collect(),
        teas: teas.collect(),
        findings: findings::find(room, now),
        came: room.persons(),
        adapted: adapted(room, &served),
    }
}

/// How many sheets of a cup are due.
fn due(room: &Room, code: Code, steep: u32) -> usize {
    let served = room.served((code, steep));
    room.counted().filter(|seat| room.is_due(seat, &served)).count()
}

fn cup_line(room: &Room, code: Code, steep: u32, sheets: &[SeatSheet<'_>]) -> CupLine {
    let served = room.served((code, steep));
    let asked = room.counted().filter(|s| s.role.scores() && s.away.is_none());
    let absent = asked.filter(|s| room.scores.of(s.id, (code, steep)).is_none());
    let missing = absent.map(|s| Missing { seat: s.name.clone(), came_later: !room.owes(s, &served) });
    let noted = sheets.iter().filter(|f| !f.score.note.is_empty());
    CupLine {
        steep,
        called: recipe::called(room, code, steep),
        figures: cup_figures(room, sheets, due(room, code, steep)),
        missing: missing.collect(),
        notes: noted.map(|f| Note { seat: f.seat.to_string(), text: f.score.note.clone() }).collect(),
    }
}

fn cup_figures(room: &Room, sheets: &[SeatSheet<'_>], due: usize) -> CupFigures {
    let sheet = &room.class.sheet;
    let attributes = sheet.attributes.iter().map(|attribute| {
        let values = sheets.iter().filter_map(|f| f.score.values.get(&attribute.name)).map(|&v| f64::from(v));
        let values: Vec<f64> = values.collect();
        let described = describe(&values).ok();
        let figure = |of: fn(&Description) -> f64| described.as_ref().map(of);
        AttributeLine {
            name: attribute.name.clone(),
            of: due,
            n: values.len(),
            mean: figure(|d| d.mean),
            median: figure(|d| d.median),
            sd: described.and_then(|d| d.sd),
            min: figure(|d| d.min),
            max: figure(|d| d.max),
        }
    });
    let strength = sheet.strength.then(|| {
        let votes: Vec<Strength> = sheets.iter().filter_map(|f| f.score.strength).collect();
        let counts = Strength::ALL.map(|s| votes.iter().filter(|&&v| v == s).count());
        StrengthLine { n: votes.len(), of: due, counts }
    });
    CupFigures { sheets: InOf { n: sheets.len(), of: due }, attributes: attributes.collect(), strength }
}

#[cfg(test)]
mod tests;
