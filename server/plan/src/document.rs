//! Everything a teacher wants to know before the class, in one value. Its JSON is documented in `server/docs/prepare.md`.

use super::assumes::assumes;
use super::difference_test::TestPlan;
use super::kettles::{Act, Before, KettleStep, filled_ml, found_before};
use super::placed::RoundDocument;
use super::quantities::{Caffeine, Quantities, caffeine, quantities};
use super::rounds::{CupPlan, RoundPlan, Unplannable, plan_rounds};
use super::timetable::{Rest, with_kettles};
use super::water::{self, Cooling, Span};
use super::{difference_test, orders, warnings};
use class::course::Course;
use class::{Class, Pourers, Tea};
use protocol::time::SECOND_US;
use protocol::{Action, CAUTIONS, Code, HostTime, Timetable};
use serde::Serialize;
use stats::can_show;

/// The number of the JSON shape; a change of meaning gets a new one, added fields do not.
pub const FORMAT: u32 = 1;

/// The plan of a class.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Plan {
    /// [`FORMAT`].
    pub format: u32,
    /// The class's title.
    pub title: String,
    /// Its day.
    pub date: String,
    /// How many seats are expected.
    pub seats: u32,
    /// How many pairs of hands pour for all; `null` when each seat brews its own set.
    pub pourers: Option<u8>,
    /// What the plan takes for granted about hands and kettles, in words.
    pub assumes: String,
    /// What is to be done at the kettles before the first cue.
    pub before_start: Vec<Before>,
    /// Where water boils in this room, °C.
    pub boiling_c: f64,
    /// Clock time of the first cue, seconds after midnight, if the class file gives a start.
    pub start_s: Option<u32>,
    /// From the first cue to the end of the last tasting, seconds.
    pub length_s: u32,
    /// The teas, in the order of the file.
    pub teas: Vec<TeaPlan>,
    /// Warming and rinsing before the first pour.
    pub preparation: Vec<PrepPlan>,
    /// The rounds.
    pub rounds: Vec<RoundDocument>,
    /// What to set, draw and fill at the kettles.
    pub kettles: Vec<KettleStep>,
    /// What to buy, weigh and boil.
    pub quantities: Quantities,
    /// An upper estimate for one person.
    pub caffeine: Caffeine,
    /// In which order each seat tastes the cups of a round.
    pub orders: Vec<Vec<Code>>,
    /// What is to be known about those orders.
    pub order_note: Option<String>,
    /// What this many seats can show.
    pub can_show: String,
    /// The difference tests, with their key.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub tests: Vec<TestPlan>,
    /// What will not go as wished, and what would help.
    pub warnings: Vec<String>,
    /// The usual cautions.
    pub cautions: Vec<String>,
}

/// One tea.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TeaPlan {
    /// Its code.
    pub code: Code,
    /// Its name.
    pub name: String,
    /// Its leaf.
    pub leaf: String,
    /// Dry leaf for one vessel, grams.
    pub leaf_g: f64,
    /// Water for one vessel and steep, millilitres.
    pub water_ml: f64,
    /// Grams of leaf per 100 ml.
    pub dose_g_per_100_ml: f64,
    /// Seconds of each steep.
    pub steep_s: Vec<u32>,
    /// Temperature of the water for each steep, °C.
    pub temp_c: Vec<f64>,
    /// How hot the first steep really begins, poured into a cold vessel; `null` if no vessel is given.
    pub in_cold_vessel: Option<Span>,
    /// The same into a warmed one.
    pub in_warmed_vessel: Option<Span>,
}

/// A vessel warmed or a leaf rinsed before the first pour.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PrepPlan {
    /// `warm` or `rinse`.
    pub action: Action,
    /// Which tea.
    pub code: Code,
    /// Seconds from the first cue of the class.
    pub at_s: u32,
    /// How long it takes.
    pub length_s: u32,
    /// Whose hands, from 1.
    pub hands: u8,
}

/// Makes the plan of a class whose codes have been drawn; serving orders are drawn from `seed`.
///
/// # Errors
/// The first round that no order of these hands and kettles can serve.
pub fn document(class: &Class, seed: u64) -> Result<Plan, Unplannable> {
    let rounds = plan_rounds(class)?;
    let (cues, acts) = with_kettles(class, &Course::written(class), &rounds, Rest::default(), HostTime(0))?;
    let cues = Timetable::new(1, cues);
    let seconds = |at: HostTime| u32::try_from(at.0 / SECOND_US).unwrap_or(0);
    let at = |action, round| cues.find(action, None, round).map_or(0, |c| seconds(c.at));
    let preparation = cues.cues.iter().filter(|c| matches!(c.action, Action::Warm | Action::Rinse));
    let preparation: Vec<PrepPlan> = preparation
        .filter_map(|c| {
            let code = c.code?;
            Some(PrepPlan {
                action: c.action,
                code,
                at_s: seconds(c.at),
                length_s: c.length_s,
                hands: c.hands,
            })
        })
        .collect();
    let mut documents: Vec<RoundDocument> = Vec::new();
    for plan in rounds {
        let round = plan.round;
        let (tastes_s, closes_s) = (at(Action::Taste, round), at(Action::SheetCloses, round));
        let begins_s = tastes_s - plan.last_cup.value_s;
        let prepared_s = preparation.iter().map(|p| p.at_s + p.length_s).max().unwrap_or(0);
        let could_begin_s = documents.last().map_or(prepared_s, |before| before.closes_s + before.pause_s);
        let last = round == class.rounds();
        documents.push(RoundDocument {
            begins_s,
            tastes_s,
            closes_s,
            when_tasted: plan.cups.iter().map(|cup| when_tasted(class, &plan, cup)).collect(),
            waits_s: begins_s.saturating_sub(could_begin_s),
            pause_s: if last { 0 } else { class.pause_after(round) },
            is_break: !last && class.setting.breaks.iter().any(|b| b.after_round == round),
            plan,
        });
    }
    let mut kettles: Vec<KettleStep> = acts.into_iter().map(Act::step).collect();
    kettles.sort_by_key(|s| (s.at_s, s.kettle));
    let quantities = quantities(class).filling(filled_ml(class, &kettles));
    let caffeine = match class.pourers {
        Pourers::EachSeat => caffeine(quantities.seat.leaf_g, 1),
        Pourers::Table(_) => caffeine(quantities.table.leaf_g, class.seats),
    };
    // To a hundredth: no formula is better, and the page is the same on every machine.
    let boiling_c = (boiling_here(class) * 100.0).round() / 100.0;
    let codes: Vec<Code> = class.coded().map(|(code, _)| code).collect();
    let drawn = orders::orders(codes.len(), class.seats as usize, seed);
    let warnings = warnings::all(class, boiling_c, &documents, &kettles, &quantities);
    let tests = difference_test::plans(class, &quantities);
    Ok(Plan {
        format: FORMAT,
        title: class.title.clone(),
        date: class.date.clone(),
        seats: class.seats,
        pourers: match class.pourers {
            Pourers::EachSeat => None,
            Pourers::Table(hands) => Some(hands),
        },
        assumes: assumes(class),
        before_start: found_before(class, &kettles),
        boiling_c,
        start_s: class.setting.start_s,
        length_s: documents.last().map_or(0, |r| r.closes_s),
        teas: class.coded().map(|(code, tea)| tea_plan(class, code, tea)).collect(),
        preparation,
        rounds: documents,
        kettles,
        quantities,
        caffeine,
        orders: drawn
            .into_iter()
            .map(|row| row.into_iter().filter_map(|i| codes.get(i).copied()).collect())
            .collect(),
        order_note: orders::imbalance(codes.len(), class.seats as usize),
        can_show: can_show::sentence(class.seats as usize, class.teas.len(), class.sheet.attributes.len()),
        tests,
        warnings,
        cautions: CAUTIONS.iter().map(ToString::to_string).collect(),
    })
}

fn tea_plan(class: &Class, code: Code, tea: &Tea) -> TeaPlan {
    let first_c = tea.temp_c.first().copied().unwrap_or(100.0).min(boiling_here(class));
    let room_c = class.setting.room_c;
    TeaPlan {
        code,
        name: tea.name.clone(),
        leaf: tea.leaf.clone(),
        leaf_g: tea.leaf_g,
        water_ml: tea.water_ml,
        dose_g_per_100_ml: tea.dose_g_per_100_ml(),
        steep_s: tea.steep_s.clone(),
        temp_c: tea.temp_c.clone(),
        in_cold_vessel: tea.vessel.as_ref().map(|v| water::poured_c(first_c, tea.water_ml, v, room_c)),
        in_warmed_vessel: tea
            .vessel
            .as_ref()
            .map(|v| water::poured_warmed_c(first_c, tea.water_ml, v, room_c)),
    }
}

/// Where water boils in a class's room, °C.
pub fn boiling_here(class: &Class) -> f64 {
    water::boiling_c(water::air_pressure_hpa(&class.setting))
}

/// How warm a cup is when everybody begins to taste: poured (into a cold vessel only at a first steep that was neither
/// warmed for nor rinsed), steeped under its lid, then waiting in an open cup.
fn when_tasted(class: &Class, round: &RoundPlan, cup: &CupPlan) -> Option<Span> {
    let tea = class.tea(cup.code)?;
    let vessel = tea.vessel.as_ref()?;
    let (room_c, water_c) = (class.setting.room_c, cup.temp_c.min(boiling_here(class)));
    let cold = round.round == 1 && class.warm_s == 0 && tea.rinse_s.is_none();
    let poured = if cold {
        water::poured_c(water_c, tea.water_ml, vessel, room_c)
    } else {
        water::poured_warmed_c(water_c, tea.water_ml, vessel, room_c)
    };
    let steeped = water::cooled_c(poured, Cooling::LiddedCup, room_c, f64::from(cup.steep_s));
    let waits_s = round.last_cup.value_s - cup.ready_at_s;
    Some(water::cooled_c(steeped, Cooling::TastingCup, room_c, f64::from(waits_s)))
}
