//! The plan of a whole class, or of what is left of it after a hold.

use super::stagger::{Hands, Job, Slot, stagger};
use crate::class::{Class, Tea};
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
/// Codes must have been drawn.
pub fn plan(class: &Class, rest: Rest<'_>, from: HostTime) -> Vec<Cue> {
    let mut cues = rest.kept.to_vec();
    let mut hands = Hands::new(class.pourers.hands());
    for cue in rest.kept.iter().filter(|c| c.hands > 0) {
        hands.occupy(cue.hands, cue.at, cue.end());
    }
    let mut begin = from;
    for round in 1..=class.rounds() {
        let teas: Vec<(Code, &Tea)> = class.coded().filter(|(_, tea)| tea.steeps() >= round).collect();
        let dry: Vec<(Code, &Tea)> = teas
            .iter()
            .copied()
            .filter(|&(code, _)| rest.find(Action::Pour, Some(code), round).is_none())
            .collect();
        let ready =
            if round == 1 { prepare(class, &dry, &rest, &mut hands, begin, &mut cues) } else { begin };
        pour(class, &dry, round, &mut hands, ready, &mut cues);
        let last_cup =
            cues.iter().filter(|c| c.action == Action::Decant && c.steep == round).map(Cue::end).max();
        let closes = taste(class, &rest, round, last_cup.unwrap_or(ready), from, &mut cues);
        begin = from.max(closes.plus_s(class.pause_after(round)));
    }
    cues
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
            cues.push(Cue {
                at,
                action,
                code: Some(code),
                steep: 1,
                hands: who,
                length_s,
                steep_s: None,
                temp_c,
            });
            ready = ready.max(at.plus_s(length_s));
        }
    }
    ready
}

fn pour(
    class: &Class,
    dry: &[(Code, &Tea)],
    round: u32,
    hands: &mut Hands,
    from: HostTime,
    cues: &mut Vec<Cue>,
) {
    let index = round as usize - 1;
    let us = |seconds: u32| i64::from(seconds) * SECOND_US;
    let jobs: Vec<Job> = dry
        .iter()
        .map(|&(_, tea)| Job {
            pour_us: us(class.pour_s(tea)),
            steep_us: us(tea.steep_s[index]),
            decant_us: us(class.decant_s(tea)),
        })
        .collect();
    for (&(code, tea), slot) in dry.iter().zip(stagger(&jobs, hands, from)) {
        let Slot { pour_at, pour_hands, decant_at, decant_hands } = slot;
        let decant = Cue {
            at: decant_at,
            action: Action::Decant,
            code: Some(code),
            steep: round,
            hands: decant_hands,
            length_s: class.decant_s(tea),
            steep_s: None,
            temp_c: None,
        };
        cues.push(Cue {
            at: pour_at,
            action: Action::Pour,
            hands: pour_hands,
            length_s: class.pour_s(tea),
            steep_s: Some(tea.steep_s[index]),
            temp_c: tea.temp_c.get(index).copied(),
            ..decant.clone()
        });
        cues.push(decant);
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
    let whole_round = |at, action, length_s| Cue {
        at,
        action,
        code: None,
        steep: round,
        hands: 0,
        length_s,
        steep_s: None,
        temp_c: None,
    };
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
