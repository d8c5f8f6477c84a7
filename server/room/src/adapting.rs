//! The next steep follows the class: what the votes on a tea suggest for the steep after, as long as that is dry.
//!
//! Nothing here is kept: what is suggested follows from the state and the instant, before and after a restart. Only what the teacher, or
//! for them the host, has made of it stands in the ledger.

use crate::scores::Cup;
use crate::{Refusal, Room};
use class::course::Turn;
use class::{Adapt, Tea};
use plan::ladder::{self, Answer, FOLLOWED_VOTES, Suggestion, Votes, suggest};
use plan::steer::is_begun;
use protocol::time::SECOND_US;
use protocol::wire::RefusalCode;
use protocol::{Action, Code, HostTime, Phase};
use serde::{Deserialize, Serialize};

/// Host seconds before the first pour of a round at which its suggestions are followed at the latest: hands and seats have heard of
/// them by then.
const FOLLOW_LEAD_S: i64 = 15;

/// A steep that was given another time by the votes on the one before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Adapted {
    /// The tea.
    pub code: Code,
    /// The round of the steep.
    pub round: u32,
    /// Which steep of the tea it is.
    pub steep: u32,
    /// The votes on the steep before it, as they stood then.
    pub votes: Votes,
    /// How many could have voted there.
    pub could_vote: usize,
    /// The steep as planned, seconds.
    pub planned_s: u32,
    /// What was suggested, seconds; absent where nothing else than the plan was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub suggested_s: Option<u32>,
    /// What it was given, seconds: another number than was suggested where the teacher wished so.
    pub taken_s: u32,
    /// The host took it by the class file's word, and not the teacher.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub followed: bool,
}

/// What is suggested for a steep that is not poured yet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Offer {
    /// The round of the steep.
    pub round: u32,
    /// The round of the steep that was voted on.
    pub voted_in: u32,
    /// What is suggested.
    pub suggestion: Suggestion,
    /// Whether every sheet is in that is owed for the steep that was voted on.
    pub all_in: bool,
    /// Whether the host takes it by itself unless the teacher says no.
    pub follows: bool,
    /// When it does at the latest; while a class is held, nobody knows.
    pub follows_at: Option<HostTime>,
}

impl Offer {
    /// The seconds that it would change the steep to.
    pub fn takes_s(&self) -> Option<u32> {
        match self.suggestion.answer {
            Answer::Takes(seconds) => Some(seconds),
            Answer::Stays | Answer::Spent => None,
        }
    }
}

impl Room {
    /// What the votes suggest for each tea's next steep, in the order of the class file: once four have voted on the steep before or
    /// all sheets of it are in, and as long as the next one is dry.
    pub fn suggestions(&self, now: HostTime) -> Vec<Offer> {
        self.class.coded().filter_map(|(code, tea)| self.offer(code, tea, now).ok()).collect()
    }

    /// What the votes suggest for a tea's next steep.
    ///
    /// # Errors
    /// Why nothing is suggested, in words.
    pub fn suggestion(&self, code: Code, now: HostTime) -> Result<Offer, Refusal> {
        let tea = self.class.tea(code).ok_or_else(|| Refusal {
            code: RefusalCode::UnknownCup,
            reason: format!("this class has no tea {code}"),
        })?;
        self.offer(code, tea, now).map_err(|why| Refusal {
            code: RefusalCode::Other,
            reason: format!("nothing is suggested for {code}: {why}"),
        })
    }

    fn offer(&self, code: Code, tea: &Tea, now: HostTime) -> Result<Offer, String> {
        if let Some(why) = self.class.stays_because(tea) {
            return Err(why.into());
        }
        if self.phase == Phase::Closed || self.last_call.is_some() {
            return Err("nothing is poured any more".into());
        }
        if self.course.is_dropped(code) {
            return Err(format!("it is dropped; `take {code}` takes it back in"));
        }
        let turns: Vec<_> = self.course.of(code).filter(|(_, steep)| !steep.skipped).collect();
        let poured = |&&(round, _): &&(u32, _)| is_begun(&self.timetable, (code, round), now);
        let served = &turns[..turns.iter().take_while(poured).count()];
        let Some(&(voted_in, last)) = served.last() else {
            return Err("none of its steeps has been poured yet".into());
        };
        let Some(&(round, next)) = turns.get(served.len()) else {
            return Err("no steep of it is to come".into());
        };
        if !self.timetable.has_cup(code, voted_in, now) {
            return Err(format!("its steep {} is wet; the votes on it come later", last.steep));
        }
        let in_order = (1..).zip(&turns[..=served.len()]).all(|(n, (_, steep))| steep.steep == n);
        let (Some(&planned_s), true) = (tea.steep_s.get(served.len()), in_order) else {
            return Err(
                "it was not steeped as it is planned: a steep was left out, done again or added".into()
            );
        };
        if self.course.is_kept((code, round)) {
            return Err(format!("its steep {} stays as planned, {planned_s} s, as you said", next.steep));
        }
        if next.steep_s != planned_s {
            return Err(format!(
                "its steep {} has been changed already, from {planned_s} s to {} s",
                next.steep, next.steep_s
            ));
        }
        let steeps: Vec<ladder::Served> = served
            .iter()
            .map(|&(round, steep)| {
                let (votes, _, due) = self.votes((code, round));
                ladder::Served { seconds: steep.really_s(), temp_c: steep.temp_c, votes, could_vote: due }
            })
            .collect();
        let (votes, sheets, due) = self.votes((code, voted_in));
        let all_in = due > 0 && sheets == due;
        if votes.all() < FOLLOWED_VOTES && !all_in {
            return Err(format!(
                "{} of {due} have voted on its steep {}; it takes {FOLLOWED_VOTES} votes, or all sheets",
                votes.all(),
                last.steep
            ));
        }
        if votes.all() == 0 {
            return Err(format!("nobody has voted on the strength of its steep {}", last.steep));
        }
        let (planned_s, temp_c) = (&tea.steep_s, &tea.temp_c);
        let course = ladder::Course {
            tea: code,
            form: tea.form,
            rinse_s: tea.rinse_s,
            planned_s,
            temp_c,
            served: &steeps,
        };
        let suggestion = suggest(&course).ok_or("no steep of it is to come")?;
        let untouched = !self.adapted.iter().any(|adapted| (adapted.code, adapted.round) == (code, round));
        let follows = untouched && suggestion.followed_s(self.class.adapt(tea)).is_some();
        let follows_at = if follows { self.follows_at(voted_in, round) } else { None };
        Ok(Offer { round, voted_in, suggestion, all_in, follows, follows_at })
    }

    /// The votes on a cup's strength, how many sheets for it are in, and how many are due.
    fn votes(&self, cup: Cup) -> (Votes, usize, usize) {
        let served = self.served(cup);
        let due = self.counted().filter(|seat| self.is_due(seat, &served));
        let each: Vec<_> = due.map(|seat| self.scores.of(seat.id, cup)).collect();
        let sheets = each.iter().flatten();
        let votes = sheets.clone().filter_map(|kept| kept.score.strength).collect();
        (votes, sheets.count(), each.len())
    }

    /// When what was voted in one round is followed in another at the latest: its sheet closes, or the other one is about to begin.
    fn follows_at(&self, voted_in: u32, round: u32) -> Option<HostTime> {
        if self.phase != Phase::Running {
            return None;
        }
        let closes = self.timetable.find(Action::SheetCloses, None, voted_in).map(|cue| cue.at);
        let pours = self.timetable.cues.iter().filter(|c| c.action == Action::Pour && c.round() == round);
        let begins = pours.map(|cue| cue.at + -(FOLLOW_LEAD_S * SECOND_US)).min();
        closes.into_iter().chain(begins).min()
    }

    /// Whether every cup of a round has been decanted and every sheet that is owed for it is in.
    fn is_in(&self, round: u32, now: HostTime) -> bool {
        let cups = self.timetable.cues.iter().filter(|c| c.action == Action::Decant && c.round() == round);
        cups.filter_map(|cue| cue.code).all(|code| {
            let (_, sheets, due) = self.votes((code, round));
            self.timetable.has_cup(code, round, now) && sheets == due
        })
    }

    /// The suggestions that the host takes at `now` by the class file's word.
    pub(crate) fn followed(&self, now: HostTime) -> Vec<Offer> {
        let due =
            |offer: &Offer| offer.follows_at.is_some_and(|at| at <= now || self.is_in(offer.voted_in, now));
        self.following(now).filter(due).collect()
    }

    /// When the host has to ask next whether suggestions are to be followed; later votes come with a command of their own.
    pub fn asks_to_follow_at(&self, now: HostTime) -> Option<HostTime> {
        self.following(now).filter_map(|offer| offer.follows_at).filter(|&at| at > now).min()
    }

    /// The turns that are to be followed by now.
    pub fn due_to_follow(&self, now: HostTime) -> Vec<Turn> {
        self.followed(now).iter().map(|offer| (offer.suggestion.tea, offer.round)).collect()
    }

    fn following(&self, now: HostTime) -> impl Iterator<Item = Offer> {
        let follow = |&(_, tea): &(Code, &Tea)| self.class.adapt(tea) == Adapt::Follow;
        let running = self.phase == Phase::Running;
        let offers = self.class.coded().filter(move |coded| running && follow(coded));
        offers.filter_map(move |(code, tea)| self.offer(code, tea, now).ok()).filter(|offer| offer.follows)
    }
}
