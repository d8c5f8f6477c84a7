//! Each round of a class as the best schedule there is for its hands and kettles, in seconds from the round's begin.

mod give;

pub use give::Given;

use super::exact::{self, Begun, Bound, Fault, NODE_BUDGET, Poured, Round, TeaJob};
use super::filling::{Filling, LID_S};
use super::heat::Heat;
use super::kettles::Kettles;
use super::quantities::{Draw, draws};
use super::remedy::remedy;
use super::warnings::is_queue;
use super::water;
use class::Class;
use class::course::{Course, Due};
use protocol::{Code, HostTime};
use serde::Serialize;

/// One tea in a round.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CupPlan {
    /// The tea's code.
    pub code: Code,
    /// Start of the pour.
    pub pour_at_s: u32,
    /// Length of the pour.
    pub pour_s: u32,
    /// From lid on to the start of the decant.
    pub steep_s: u32,
    /// Start of the decant.
    pub decant_at_s: u32,
    /// Length of the decant.
    pub decant_s: u32,
    /// The cup is ready: the end of the decant.
    pub ready_at_s: u32,
    /// Whose hands pour, from 1.
    pub pour_hands: u8,
    /// Whose hands decant, from 1.
    pub decant_hands: u8,
    /// Which kettle the water comes from, by its place in the class file from 1; none without kettles.
    pub kettle: Option<usize>,
    /// The water's temperature as the class file asks for it, °C.
    pub temp_c: f64,
    /// What its kettle is set to, °C: within the tolerance of what is asked for, and not above the boiling point.
    pub set_c: f64,
    /// Water into each vessel, millilitres.
    pub water_ml: f64,
    /// How many vessels one pair of hands fills.
    pub vessels: u32,
    /// What its kettle gives for it, millilitres: all that is poured at the same time.
    pub draw_ml: f64,
    /// The kettle is filled after it, up or afresh: after the pour and its lid, by the hands that pour; where the steep is
    /// shorter than that, directly after the decant, by the hands that decant.
    pub refill_after: bool,
}

/// A value of a plan and how far it is from the best possible.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Proved {
    /// The value, seconds.
    pub value_s: u32,
    /// Whether no schedule has less; never where seats wait for each other at kettles they share.
    pub proven: bool,
    /// No schedule has less than this, seconds; equals the value if proven.
    pub bound_s: u32,
}

/// One round's schedule.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RoundPlan {
    /// Which round, from 1.
    pub round: u32,
    /// Its cups, in the order of the class file.
    pub cups: Vec<CupPlan>,
    /// Between the first cup that is ready and the last.
    pub spread: Proved,
    /// When the last cup is ready.
    pub last_cup: Proved,
    /// What was given of the least spread, if anything was.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub given: Option<Given>,
    /// Whether the pour starts are the lexicographically smallest of all best schedules.
    pub starts_proven: bool,
    /// The shortest pause one pair of hands has between two tasks of different teas; none if there is no such pause.
    pub smallest_gap_s: Option<u32>,
}

/// How long the search for one round may go on. Rounds of up to eight teas are proven well within the first figure (the
/// hardest of 1,500 random ones took 520,000 branches); larger ones share a few seconds of an ordinary machine.
fn node_budget(teas: usize, rounds: u32) -> u64 {
    if teas <= 8 { NODE_BUDGET } else { NODE_BUDGET / u64::from(rounds.max(8)) }
}

/// The same for what a hold has left dry: a teacher who resumes waits for it, and so does every seat. Two searches of this
/// length are less than 100 ms of an ordinary machine; a branch of more teas takes longer, and has more questions.
fn rest_budget(teas: usize) -> u64 {
    const BRANCHES_TIMES_SQUARED_TEAS: u64 = 600_000;
    BRANCHES_TIMES_SQUARED_TEAS / (teas * teas).max(1) as u64
}

/// Where a round's kettles stand at its second 0.
enum Stand<'a> {
    /// Ready for their first tea.
    Preset,
    /// As the class file says.
    AsWritten,
    /// As what has happened by this instant has left them.
    Begun(&'a Taken<'a>),
    /// Ready for their first tea; the search begins from a plan of the round as it was before.
    Planned(Option<&'a RoundPlan>),
}

/// Where a round is taken up again.
pub(super) struct Taken<'a> {
    /// Its plan before it was held.
    pub planned: &'a RoundPlan,
    /// Second 0 of the new one.
    pub at: HostTime,
    pub kettles: &'a Kettles<'a>,
    pub poured: Vec<Poured>,
}

/// A round that can't be planned, in words.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("round {round}: {}{remedy}", match .fault { Fault::Draw(_) => String::new(), fault => format!("{fault}. ") })]
pub struct Unplannable {
    /// Which round.
    pub round: u32,
    /// Why.
    pub fault: Fault,
    /// The nearest change that would help.
    pub remedy: String,
}

/// The schedules of all rounds. In the first round a kettle stands where the class file says, or is preset. In a later
/// one it is taken to be ready for its first tea: how long that takes, and whether the round has to wait for it, is
/// [`super::kettles`]' to say, since it depends on when the round could begin.
///
/// # Errors
/// The first round that no order of these hands and kettles can serve.
pub fn plan_rounds(class: &Class) -> Result<Vec<RoundPlan>, Unplannable> {
    plan_rounds_by(class, class.pourers.hands())
}

/// The same with other than the class's own pairs of hands.
pub(super) fn plan_rounds_by(class: &Class, hands: u8) -> Result<Vec<RoundPlan>, Unplannable> {
    let stand = |round| if counts_first_set_up(class, round) { Stand::AsWritten } else { Stand::Preset };
    let course = Course::written(class);
    let plan = |round| {
        let teas = course.due(class, round);
        plan_round(class, round, &teas, hands, &stand(round), node_budget(teas.len(), class.rounds()))
    };
    (1..=class.rounds()).map(plan).collect()
}

/// The rounds of a course in which anything is served: as they were planned where nothing about them has changed, else
/// planned again, in searches that are brief for all of them together (half of what a hold may take: a class goes on meanwhile). Of one that has begun only what is poured from which
/// kettle matters.
///
/// # Errors
/// As for [`plan_rounds`].
pub(super) fn rounds_of(
    class: &Class,
    course: &Course,
    whole: &[RoundPlan],
    has_begun: impl Fn(u32) -> bool,
) -> Result<Vec<RoundPlan>, Unplannable> {
    let all = (1..=course.rounds()).map(|round| (round, course.due(class, round)));
    let all: Vec<(u32, Vec<Due<'_>>)> = all.filter(|(_, teas)| !teas.is_empty()).collect();
    let planned = |round| whole.iter().find(|plan| plan.round == round);
    let stands = |plan: &&RoundPlan, teas: &[Due<'_>]| {
        let there = |due: &Due<'_>| plan.cups.iter().any(|cup| cup.code == due.code);
        let same = |(due, cup): (&Due<'_>, &CupPlan)| {
            (due.code, due.steep.steep_s, due.steep.temp_c) == (cup.code, cup.steep_s, cup.temp_c)
        };
        let may = |due: &Due<'_>, hands: u8| {
            due.by.is_none_or(|by| by & (1 << hands.saturating_sub(1).min(7)) != 0)
        };
        let by_whom =
            |(due, cup): (&Due<'_>, &CupPlan)| may(due, cup.pour_hands) && may(due, cup.decant_hands);
        has_begun(plan.round) && teas.iter().all(there)
            || teas.len() == plan.cups.len()
                && teas.iter().zip(&plan.cups).all(same)
                && teas.iter().zip(&plan.cups).all(by_whom)
    };
    let changed = |(round, teas): &&(u32, Vec<Due<'_>>)| {
        !has_begun(*round) && planned(*round).filter(|plan| stands(plan, teas)).is_none()
    };
    let changed = all.iter().filter(changed).count().max(1) as u64;
    let one = |(round, teas): &(u32, Vec<Due<'_>>)| match planned(*round).filter(|plan| stands(plan, teas)) {
        Some(plan) => Ok(plan.clone()),
        None => {
            let budget = if has_begun(*round) { 0 } else { rest_budget(teas.len()) / (2 * changed) };
            let stand = &Stand::Planned(planned(*round));
            plan_round(class, *round, teas, class.pourers.hands(), stand, budget)
        }
    };
    all.iter().map(one).collect()
}

/// Whether a round's seconds count how long its kettles take from where the class file says that they stand: the first
/// round does, unless water for warming or rinsing is drawn from them before.
pub(super) fn counts_first_set_up(class: &Class, round: u32) -> bool {
    round == 1 && class.warm_s == 0 && class.teas.iter().all(|t| t.rinse_s.is_none())
}

/// The schedule of the teas that a hold has left dry of a round, from the kettles and the other teas as they stand.
///
/// # Errors
/// No order of these hands and kettles can serve them, or not so soon ([`Fault::Steeping`]).
pub(super) fn plan_rest(class: &Class, dry: &[Due<'_>], taken: &Taken<'_>) -> Result<RoundPlan, Unplannable> {
    let budget = rest_budget(dry.len() + taken.poured.len());
    plan_round(class, taken.planned.round, dry, class.pourers.hands(), &Stand::Begun(taken), budget)
}

/// The set points of a class's kettles: temperatures within the tolerance of the lowest of a group are set as one, the
/// highest of the group, so that no chain of small steps ever drifts away for free; and none lies above the boiling point.
fn set_points(class: &Class) -> Vec<(f64, f64)> {
    let boiling_c = water::boiling_c(water::air_pressure_hpa(&class.setting));
    let mut asked: Vec<f64> = class.teas.iter().flat_map(|t| t.temp_c.iter().copied()).collect();
    asked.sort_by(f64::total_cmp);
    asked.dedup();
    let tolerance_c = class.setting.tolerance_c;
    let reached = |c: f64| if c > boiling_c + tolerance_c { boiling_c } else { c };
    let mut groups: Vec<Vec<f64>> = Vec::new();
    for c in asked {
        match groups.last_mut() {
            Some(group) if reached(c) - reached(group[0]) <= tolerance_c => group.push(c),
            _ => groups.push(vec![c]),
        }
    }
    let highest = |group: &[f64]| reached(group.iter().copied().fold(f64::MIN, f64::max));
    groups.iter().flat_map(|group| group.iter().map(|&c| (c, highest(group)))).collect()
}

fn plan_round(
    class: &Class,
    round: u32,
    teas: &[Due<'_>],
    hands: u8,
    stand: &Stand<'_>,
    budget: u64,
) -> Result<RoundPlan, Unplannable> {
    let setting = &class.setting;
    let points = set_points(class);
    let set_c = |c: f64| points.iter().find(|(asked, _)| *asked == c).map_or(c, |&(_, set)| set);
    let draws = draws(class);
    let draw = |code| draws.iter().find(|d| d.code == code).copied();
    let poured: Vec<Draw> = teas.iter().filter_map(|due| draw(due.code)).collect();
    let jobs = teas.iter().zip(&poured).map(|(due, draw)| TeaJob {
        pour_s: class.pour_s(due.tea),
        steep_s: due.steep.steep_s,
        decant_s: class.decant_s(due.tea),
        temp_c: set_c(due.steep.temp_c),
        ml: draw.all_ml(),
    });
    let kettles = setting.kettles.iter().map(|kettle| exact::Kettle {
        heat: Heat::of(kettle),
        start_c: kettle.starts_c.filter(|_| matches!(stand, Stand::AsWritten)),
        water: Some(Filling::of(kettle)),
    });
    let problem = Round {
        teas: jobs.collect(),
        kettles: kettles.collect(),
        hands,
        by: given_to(teas, hands),
        room_c: setting.room_c,
        // Set points that lie within the tolerance have become one.
        tol_c: 0.0,
        order_fixed: setting.in_order,
        gap_s: setting.gap_s,
        lid_s: LID_S,
    };
    let unplannable = |fault| Unplannable { round, fault, remedy: remedy(class, teas, &problem, fault) };
    // No kettle gets water below the room's temperature, nor down to it in any time.
    if !problem.kettles.is_empty() && problem.teas.iter().any(|t| t.temp_c <= setting.room_c) {
        return Err(unplannable(Fault::Kettles));
    }
    let was = |planned: &RoundPlan, code| {
        let cup = planned.cups.iter().find(|cup| cup.code == code);
        cup.map_or((0, 0), |cup| (cup.pour_at_s, kettle_from_0(cup)))
    };
    let begun = match *stand {
        Stand::Begun(taken) => {
            let Taken { planned, at, kettles, poured } = taken;
            let ready_s = |k| problem.teas.iter().map(|tea| kettles.ready_in_s(k, tea, *at)).collect();
            Some(Begun {
                ready_s: (0..problem.kettles.len()).map(ready_s).collect(),
                planned: teas.iter().map(|due| was(planned, due.code)).collect(),
                poured: poured.clone(),
            })
        }
        Stand::Planned(Some(planned)) => Some(Begun {
            ready_s: vec![vec![0; problem.teas.len()]; problem.kettles.len()],
            planned: teas.iter().map(|due| was(planned, due.code)).collect(),
            poured: Vec::new(),
        }),
        Stand::Preset | Stand::AsWritten | Stand::Planned(None) => None,
    };
    let (solved, given) = give::solve(setting, &problem, budget, begun.as_ref()).map_err(unplannable)?;
    let cups = teas.iter().zip(&poured).enumerate().map(|(i, (due, draw))| {
        let TeaJob { pour_s, steep_s, decant_s, temp_c: set_c, ml: draw_ml } = problem.teas[i];
        let pour_at_s = solved.starts_s[i];
        let decant_at_s = pour_at_s + pour_s + steep_s;
        CupPlan {
            code: due.code,
            pour_at_s,
            pour_s,
            steep_s,
            decant_at_s,
            decant_s,
            ready_at_s: decant_at_s + decant_s,
            pour_hands: solved.pour_hands[i] + 1,
            decant_hands: solved.decant_hands[i] + 1,
            kettle: solved.kettle.get(i).map(|&k| usize::from(k) + 1),
            temp_c: due.steep.temp_c,
            set_c,
            water_ml: draw.water_ml,
            vessels: draw.vessels,
            draw_ml,
            refill_after: solved.refill_after[i],
        }
    });
    let cups: Vec<CupPlan> = cups.collect();
    // One kettle pours for one seat at a time: what assumes that all draw at once is nothing to promise.
    let known = |bound: Bound| {
        let found = Proved::from(bound);
        Proved { proven: found.proven && !is_queue(class), ..found }
    };
    Ok(RoundPlan {
        round,
        smallest_gap_s: smallest_gap_s(&cups),
        cups,
        spread: known(solved.proof.spread),
        last_cup: known(solved.proof.makespan),
        given,
        starts_proven: solved.proof.starts,
    })
}

/// Who of so many hands may pour which tea; nothing where all may pour all.
fn given_to(teas: &[Due<'_>], hands: u8) -> Vec<u8> {
    if teas.iter().all(|due| due.by.is_none()) {
        return Vec::new();
    }
    let all = u8::MAX >> 8u8.saturating_sub(hands).min(7);
    teas.iter().map(|due| due.by.unwrap_or(all) & all).collect()
}

fn kettle_from_0(cup: &CupPlan) -> u8 {
    let kettle = cup.kettle.and_then(|kettle| kettle.checked_sub(1));
    kettle.and_then(|kettle| u8::try_from(kettle).ok()).unwrap_or(0)
}

impl From<Bound> for Proved {
    fn from(b: Bound) -> Self {
        Self { value_s: b.value_s, proven: b.proven(), bound_s: b.bound_s }
    }
}

/// The shortest pause of any hands between the tasks of two teas.
fn smallest_gap_s(cups: &[CupPlan]) -> Option<u32> {
    let mut tasks: Vec<(u8, u32, u32, Code)> = cups
        .iter()
        .flat_map(|c| {
            [
                (c.pour_hands, c.pour_at_s, c.pour_at_s + c.pour_s, c.code),
                (c.decant_hands, c.decant_at_s, c.ready_at_s, c.code),
            ]
        })
        .collect();
    tasks.sort();
    let pairs = tasks.windows(2).filter(|w| w[0].0 == w[1].0 && w[0].3 != w[1].3);
    pairs.map(|w| w[1].1.saturating_sub(w[0].2)).min()
}
