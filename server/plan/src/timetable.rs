//! The plan of a whole class, or of what is left of it after a hold.

use super::hands::Hands;
use super::kettles::{Act, Kettles, Next, kettle_number};
use super::resumed::take_up;
use super::rounds::{CupPlan, RoundPlan, Unplannable, counts_first_set_up, rounds_of};
use class::Class;
use class::course::{Course, Due, Steep};
use protocol::time::SECOND_US;
use protocol::{Action, Code, Cue, HostTime};

/// The round of what is done at a kettle before the first pour, for warming and rinsing: so that its cue is another one
/// than that for the same tea's pour.
const BEFORE_ROUND_1: u32 = 0;

/// Water of this heat warms a vessel well enough, °C: a kettle is not set to another temperature for it. Common practice,
/// no source.
const WARMS_C: f64 = 60.0;

/// What is already settled when a class is planned: nothing at the start, what is wet or done after a hold.
#[derive(Clone, Copy, Debug, Default)]
pub struct Rest<'a> {
    /// Cues that stand as they are.
    pub kept: &'a [Cue],
    /// Seconds of tasting that a round still has, if a hold fell into its tasting.
    pub tasting_left_s: Option<u32>,
}

impl Rest<'_> {
    pub(super) fn find(&self, action: Action, code: Option<Code>, round: u32) -> Option<&Cue> {
        self.kept.iter().find(|c| c.key() == (round, action, code))
    }
}

/// All cues of a class that is run by this course: the kept ones as they are, and everything else planned to begin at `from`
/// or later. Codes must have been drawn; `whole` are the rounds of the class as written, as
/// [`super::rounds::plan_rounds`] gives them.
///
/// # Errors
/// What is dry of a round can't be served by these hands and kettles.
pub fn plan(
    class: &Class,
    course: &Course,
    whole: &[RoundPlan],
    rest: Rest<'_>,
    from: HostTime,
) -> Result<Vec<Cue>, Unplannable> {
    with_kettles(class, course, whole, rest, from).map(|(cues, _)| cues)
}

/// The same with what is to be done at the kettles.
pub(super) fn with_kettles(
    class: &Class,
    course: &Course,
    whole: &[RoundPlan],
    rest: Rest<'_>,
    from: HostTime,
) -> Result<(Vec<Cue>, Vec<Act>), Unplannable> {
    let has_begun = |round| rest.kept.iter().any(|c| c.action == Action::Pour && c.round() == round);
    let rounds = &rounds_of(class, course, whole, has_begun)?;
    let mut cues = rest.kept.to_vec();
    let mut hands = Hands::new(class.pourers.hands()).of_those(course.hands(class));
    for cue in rest.kept.iter().filter(|c| c.hands > 0) {
        hands.occupy(cue.hands, cue.at, cue.end());
    }
    // Between what is wet and what is planned anew the hands have their pause as between any two teas.
    let at_work =
        |c: &&Cue| matches!(c.action, Action::Pour | Action::Decant | Action::Fill | Action::Refill);
    let rested = rest.kept.iter().filter(at_work).map(|c| c.end().plus_s(class.setting.gap_s)).max();
    let mut kettles = Kettles::new(class, from);
    if !rest.kept.is_empty() {
        let written = &Course::written(class);
        kettles.were_switched_on(&with_kettles(class, written, whole, Rest::default(), from)?.1);
    }
    kettles.has_happened(rounds, rest.kept);
    let mut begin = from;
    for planned in rounds {
        let round = planned.round;
        let teas = course.due(class, round);
        let is_dry = |due: &Due<'_>| rest.find(Action::Pour, Some(due.code), round).is_none();
        let dry: Vec<Due<'_>> = teas.iter().copied().filter(is_dry).collect();
        // Before a tea's first steep, which is in the first round unless it is left out there.
        let is_first = |due: &Due<'_>| {
            let poured = |c: &Cue| c.action == Action::Pour && c.code == Some(due.code);
            let sooner = |(other, steep): (u32, &Steep)| other < round && !steep.skipped;
            !rest.kept.iter().any(poured) && !course.of(due.code).any(sooner)
        };
        let first: Vec<Due<'_>> = dry.iter().copied().filter(is_first).collect();
        let mut tools = Tools { class, hands: &mut hands, kettles: &mut kettles };
        let ready = prepare(planned, &first, &rest, &mut tools, begin, &mut cues);
        let counted = counts_first_set_up(class, round);
        let left = match dry.len() {
            0 => None,
            // A kettle that was heating before a hold is not heated again: that round goes on as it stands.
            all if all == teas.len() && !(counted && kettles.are_begun()) => {
                let ready = ready.max(hands.all_free_at()).max(rested.unwrap_or_default());
                let at = kettles.begin(planned, ready, counted, &mut hands);
                Some((planned.clone(), at))
            }
            _ => {
                let (plan, at);
                (plan, at, kettles, hands) = take_up(class, planned, &dry, rest, ready, (&kettles, &hands))?;
                Some((plan, at))
            }
        };
        if let Some((plan, at)) = left {
            let new = cues.len();
            pour(course, &plan, at, &mut cues);
            cues[new..].iter().for_each(|c| hands.occupy(c.hands, c.at, c.end()));
            kettles.pass(&plan, at, &hands);
            for act in kettles.acts.iter().filter(|act| act.round == round && act.hands > 0) {
                hands.occupy(act.hands, act.at, act.at.plus_s(act.length_s));
            }
        }
        let last_cup =
            cues.iter().filter(|c| c.action == Action::Decant && c.round() == round).map(Cue::end).max();
        let closes =
            taste(course.taste_s(class, round), &rest, round, last_cup.unwrap_or(ready), from, &mut cues);
        begin = from.max(closes.plus_s(class.pause_after(round)));
    }
    let teas: Vec<Code> = class.coded().map(|(code, _)| code).collect();
    at_the_kettles(&kettles.acts, &teas, course.rounds(), &mut cues);
    Ok((cues, kettles.acts))
}

/// What there is to work with before the first pour.
struct Tools<'t, 'c> {
    class: &'c Class,
    hands: &'t mut Hands,
    kettles: &'t mut Kettles<'c>,
}

/// Warms vessels and rinses leaf for the teas still dry, with water from the kettles that they are poured from; gives the
/// instant from which they may be poured.
fn prepare(
    planned: &RoundPlan,
    dry: &[Due<'_>],
    rest: &Rest<'_>,
    tools: &mut Tools<'_, '_>,
    from: HostTime,
    cues: &mut Vec<Cue>,
) -> HostTime {
    let class = tools.class;
    let cup = |code| planned.cups.iter().find(|c| c.code == code);
    let mut ready = from;
    for action in [Action::Warm, Action::Rinse] {
        let begin = ready;
        // Water heats quicker than it cools.
        let mut order = dry.to_vec();
        if action == Action::Rinse {
            order.sort_by(|a, b| {
                let set_c = |code| cup(code).filter(|c| c.kettle.is_some()).map_or(0.0, |c| c.set_c);
                set_c(a.code).total_cmp(&set_c(b.code))
            });
        }
        for Due { code, tea, steep, by } in order {
            let length_s = match (action, tea.rinse_s) {
                (Action::Warm, _) => class.warm_s,
                // The hands stay with a rinse from first to last: it is short, and it must not turn into a steep.
                (_, Some(rinse_s)) => class.pour_s(tea) + rinse_s + class.decant_s(tea),
                (_, None) => 0,
            };
            if length_s == 0 {
                continue;
            }
            if let Some(done) = rest.kept.iter().find(|c| c.action == action && c.code == Some(code)) {
                ready = ready.max(done.end());
                continue;
            }
            let mut cue =
                Cue::new(begin, action, Some(code), steep.steep, 0, length_s).in_round(planned.round);
            cue.temp_c = Some(steep.temp_c);
            let mut earliest = begin;
            let draw = cup(code).and_then(|cup| {
                (cue.water_ml, cue.vessels) = water(cup);
                let k = cup.kettle? - 1;
                cue.kettle = kettle_number(k + 1);
                let as_it_is = tools.kettles.set_c(k).filter(|&c| action == Action::Warm && c >= WARMS_C);
                let set_c = as_it_is.unwrap_or(cup.set_c);
                if action == Action::Warm {
                    cue.temp_c = Some(set_c);
                }
                let next = Next { round: BEFORE_ROUND_1, code, set_c, ml: cup.draw_ml };
                earliest = earliest.max(tools.kettles.make_ready(k, next, tools.hands).0);
                Some((k, next))
            });
            (cue.at, cue.hands) = tools.hands.place_work_by(by, i64::from(length_s) * SECOND_US, earliest);
            let at = cue.at;
            if let Some((k, next)) = draw {
                let pour_s = if action == Action::Warm { length_s } else { class.pour_s(tea) };
                tools.kettles.pour(k, next, at, pour_s, cue.hands);
            }
            if let (Action::Rinse, Some(rinse_s)) = (action, tea.rinse_s) {
                let off = at.plus_s(class.pour_s(tea) + rinse_s);
                let off = Cue::new(off, Action::PourOff, Some(code), steep.steep, cue.hands, 0);
                cues.push(off.in_round(planned.round));
            }
            cues.push(cue);
            ready = ready.max(at.plus_s(length_s));
        }
    }
    ready
}

/// Water into each vessel, and how many vessels where it is more than one.
fn water(cup: &CupPlan) -> (Option<f64>, Option<u32>) {
    (Some(cup.water_ml), (cup.vessels > 1).then_some(cup.vessels))
}

/// The pours, lids and decants of a round that begins at `begin`.
fn pour(course: &Course, planned: &RoundPlan, begin: HostTime, cues: &mut Vec<Cue>) {
    let round = planned.round;
    for cup in &planned.cups {
        let steep = course.steep((cup.code, round)).map_or(round, |steep| steep.steep);
        let cue = |at_s, action, hands, length_s| {
            Cue::new(begin.plus_s(at_s), action, Some(cup.code), steep, hands, length_s).in_round(round)
        };
        let (water_ml, vessels) = water(cup);
        cues.push(Cue {
            steep_s: Some(cup.steep_s),
            temp_c: Some(cup.temp_c),
            kettle: cup.kettle.and_then(kettle_number),
            water_ml,
            vessels,
            ..cue(cup.pour_at_s, Action::Pour, cup.pour_hands, cup.pour_s)
        });
        // A flash steep has no time for a lid.
        if cup.steep_s > 0 {
            cues.push(cue(cup.pour_at_s + cup.pour_s, Action::Lid, cup.pour_hands, 0));
        }
        cues.push(cue(cup.decant_at_s, Action::Decant, cup.decant_hands, cup.decant_s));
    }
}

/// Adds what hands have to do at the kettles, each once.
fn at_the_kettles(acts: &[Act], teas: &[Code], rounds: u32, cues: &mut Vec<Cue>) {
    for mut cue in acts.iter().filter_map(Act::cue) {
        // Twice before the same tea, as for warming and again for its rinse, or again after a hold: no cue is ever two, so
        // the second names another tea, or is kept apart as one before the first round or after the last.
        let taken =
            |(steep, code): (u32, Code)| cues.iter().any(|c| c.key() == (steep, cue.action, Some(code)));
        let own = cue.code.into_iter().chain(teas.iter().copied());
        let after_last = rounds + 1..=u32::MAX;
        let steeps = [cue.steep, BEFORE_ROUND_1].into_iter().chain(after_last);
        let mut keys = steeps.flat_map(|steep| own.clone().map(move |code| (steep, code)));
        if let Some((steep, code)) = keys.find(|&key| !taken(key)) {
            (cue.steep, cue.code) = (steep, Some(code));
        }
        cues.push(cue);
    }
}

/// Puts the round's tasting of so many seconds behind its last cup; gives the instant at which its sheet closes.
fn taste(
    taste_s: u32,
    rest: &Rest<'_>,
    round: u32,
    last_cup: HostTime,
    from: HostTime,
    cues: &mut Vec<Cue>,
) -> HostTime {
    let whole_round = |at, action, length_s| Cue::new(at, action, None, round, 0, length_s);
    let tasting = rest.find(Action::Taste, None, round);
    // A round may have waited for a tea that it is to be without.
    let begins = last_cup.max(from);
    if tasting.is_none() {
        cues.push(whole_round(begins, Action::Taste, taste_s));
    }
    if let Some(closed) = rest.find(Action::SheetCloses, None, round) {
        return closed.at;
    }
    let closes = match (tasting, rest.tasting_left_s) {
        (Some(_), Some(left_s)) => from.max(last_cup).plus_s(left_s),
        (Some(taste), None) => taste.end().max(from),
        (None, _) => begins.plus_s(taste_s),
    };
    cues.push(whole_round(closes, Action::SheetCloses, 0));
    closes
}
