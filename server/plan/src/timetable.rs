//! The plan of a whole class, or of what is left of it after a hold.

use super::hands::Hands;
use super::kettles::Kettles;
use super::rounds::{RoundPlan, Unplannable, plan_preset, teas_of};
use class::{Class, Tea};
use protocol::time::SECOND_US;
use protocol::{Action, Code, Cue, HostTime};

/// What is already settled when a class is planned: nothing at the start, what is wet or done after a hold.
#[derive(Clone, Copy, Debug, Default)]
pub struct Rest<'a> {
    /// Cues that stand as they are.
    pub kept: &'a [Cue],
    /// Seconds of tasting that a round still has, if a hold fell into its tasting.
    pub tasting_left_s: Option<u32>,
}

impl Rest<'_> {
    fn find(&self, action: Action, code: Option<Code>, steep: u32) -> Option<&Cue> {
        self.kept.iter().find(|c| c.key() == (steep, action, code))
    }
}

/// All cues of the class: the kept ones as they are, and everything else planned to begin at `from` or later.
/// Codes must have been drawn; `whole` are the class's rounds as [`super::rounds::plan_rounds`] gives them.
///
/// # Errors
/// What a hold left dry of a round can't be served by these hands and kettles.
pub fn plan(
    class: &Class,
    whole: &[RoundPlan],
    rest: Rest<'_>,
    from: HostTime,
) -> Result<Vec<Cue>, Unplannable> {
    let mut cues = rest.kept.to_vec();
    let mut hands = Hands::new(class.pourers.hands());
    for cue in rest.kept.iter().filter(|c| c.hands > 0) {
        hands.occupy(cue.hands, cue.at, cue.end());
    }
    let mut kettles = Kettles::new(class);
    let mut begin = from;
    for planned in whole {
        let round = planned.round;
        let teas = teas_of(class, round);
        let is_dry = |code| rest.find(Action::Pour, Some(code), round).is_none();
        let dry: Vec<(Code, &Tea)> = teas.iter().copied().filter(|&(code, _)| is_dry(code)).collect();
        let ready =
            if round == 1 { prepare(class, &dry, &rest, &mut hands, begin, &mut cues) } else { begin };
        let poured = rest.kept.iter().filter(|c| c.action == Action::Pour && c.steep == round);
        poured
            .filter_map(|c| Some((c.code?, c.at)))
            .for_each(|(code, at)| kettles.has_poured(planned, code, at));
        // What a hold left dry begins when no hands are busy any more with what was wet.
        let left = match dry.len() {
            0 => None,
            all if all == teas.len() => Some((planned.clone(), ready)),
            _ => Some((plan_preset(class, round, &dry)?, ready.max(hands.all_free_at()))),
        };
        if let Some((plan, ready)) = left {
            let at = ready + kettles.wait_us(&plan, ready);
            kettles.pass(&plan, at);
            pour(&plan, at, &mut cues);
        }
        let last_cup =
            cues.iter().filter(|c| c.action == Action::Decant && c.steep == round).map(Cue::end).max();
        let closes = taste(class, &rest, round, last_cup.unwrap_or(ready), from, &mut cues);
        begin = from.max(closes.plus_s(class.pause_after(round)));
    }
    Ok(cues)
}

/// Warms vessels and rinses leaf for the teas still dry; gives the instant from which they may be poured.
fn prepare(
    class: &Class,
    dry: &[(Code, &Tea)],
    rest: &Rest<'_>,
    hands: &mut Hands,
    from: HostTime,
    cues: &mut Vec<Cue>,
) -> HostTime {
    let mut ready = from;
    for action in [Action::Warm, Action::Rinse] {
        let begin = ready;
        for &(code, tea) in dry {
            let length_s = match (action, tea.rinse_s) {
                (Action::Warm, _) => class.warm_s,
                // The hands stay with a rinse from first to last: it is short, and it must not turn into a steep.
                (_, Some(rinse_s)) => class.pour_s(tea) + rinse_s + class.decant_s(tea),
                (_, None) => 0,
            };
            if length_s == 0 {
                continue;
            }
            if let Some(done) = rest.find(action, Some(code), 1) {
                ready = ready.max(done.end());
                continue;
            }
            let (at, who) = hands.place_work(i64::from(length_s) * SECOND_US, begin);
            let temp_c = tea.temp_c.first().copied();
            cues.push(Cue { temp_c, ..Cue::new(at, action, Some(code), 1, who, length_s) });
            ready = ready.max(at.plus_s(length_s));
        }
    }
    ready
}

/// The pours and decants of a round that begins at `begin`.
fn pour(planned: &RoundPlan, begin: HostTime, cues: &mut Vec<Cue>) {
    for cup in &planned.cups {
        let cue = |at_s, action, hands, length_s| {
            Cue::new(begin.plus_s(at_s), action, Some(cup.code), planned.round, hands, length_s)
        };
        cues.push(Cue {
            steep_s: Some(cup.steep_s),
            temp_c: Some(cup.temp_c),
            ..cue(cup.pour_at_s, Action::Pour, cup.pour_hands, cup.pour_s)
        });
        cues.push(cue(cup.decant_at_s, Action::Decant, cup.decant_hands, cup.decant_s));
    }
}

/// Puts the round's tasting behind its last cup; gives the instant at which its sheet closes.
fn taste(
    class: &Class,
    rest: &Rest<'_>,
    round: u32,
    last_cup: HostTime,
    from: HostTime,
    cues: &mut Vec<Cue>,
) -> HostTime {
    let whole_round = |at, action, length_s| Cue::new(at, action, None, round, 0, length_s);
    let tasting = rest.find(Action::Taste, None, round);
    if tasting.is_none() {
        cues.push(whole_round(last_cup, Action::Taste, class.taste_s));
    }
    if let Some(closed) = rest.find(Action::SheetCloses, None, round) {
        return closed.at;
    }
    let closes = match (tasting, rest.tasting_left_s) {
        (Some(_), Some(left_s)) => from.max(last_cup).plus_s(left_s),
        (Some(taste), None) => taste.end().max(from),
        (None, _) => last_cup.plus_s(class.taste_s),
    };
    cues.push(whole_round(closes, Action::SheetCloses, 0));
    closes
}
