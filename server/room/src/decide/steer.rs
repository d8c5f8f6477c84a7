//! A class that runs is steered: the teacher's acts, decided. Each becomes one event with one revision of the timetable.

use super::adapt::timed;
use super::{Refusal, Rounds, refuse};
use crate::{Adapted, Entry, Event, Room};
use class::course::{Act, Course, LONGEST_STEEP_S, MOST_ROUNDS, Steep, Timed, Turn};
use plan::steer::{STEER_S, find_hands, give_decant, is_begun, retime, standing, wet};
use plan::{Rest, hold::BEGUN_S, plan};
use protocol::text::{NOTE_CHARS, clean};
use protocol::wire::RefusalCode;
use protocol::{Action, Code, Cue, HostTime, Phase, Timetable};

/// What a teacher can want to be otherwise in a class that runs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Steering {
    /// The steeps that are wet, or else the next ones, of some teas are longer, or shorter below nought.
    Longer {
        /// The teas.
        codes: Vec<Code>,
        /// By how many seconds.
        by_s: i32,
    },
    /// A steep is left out: of this round, or the next.
    Skip {
        /// The tea.
        code: Code,
        /// The round.
        round: Option<u32>,
        /// Why; empty where nothing is said.
        reason: String,
    },
    /// A tea is served no more.
    Drop {
        /// The tea.
        code: Code,
        /// Why; empty where nothing is said.
        reason: String,
    },
    /// A tea that was dropped is served again.
    Take(Code),
    /// A steep that went wrong is done again at the end: that of this round, or the last that was poured.
    Again {
        /// The tea.
        code: Code,
        /// The round of the steep that went wrong.
        round: Option<u32>,
    },
    /// A tea is steeped once more than planned.
    More {
        /// The tea.
        code: Code,
        /// For so many seconds.
        steep_s: u32,
    },
    /// A steep really sat for so long.
    Was {
        /// The tea.
        code: Code,
        /// The round.
        round: u32,
        /// Seconds from lid on to the start of the decant.
        steep_s: u32,
    },
    /// The next steeps of some teas are as long as the votes suggest; of all teas where none is named.
    Follow {
        /// The teas.
        codes: Vec<Code>,
        /// So many seconds instead of what is suggested.
        steep_s: Option<u32>,
    },
    /// The next steep of a tea stays as planned, whatever the votes suggest.
    Leave(Code),
    /// This round, or else the next, is tasted longer, or shorter below nought.
    Taste {
        /// By how many seconds.
        by_s: i32,
    },
    /// The tasting of this round ends.
    TasteEnd,
    /// A tea is poured by one pourer from now on: by a number or a seat's name, by anybody where none is named.
    Hand {
        /// The tea.
        code: Code,
        /// Whose it is.
        to: Option<String>,
    },
    /// A pourer, by number or name, leaves when what is wet is decanted.
    PourerLeaves(String),
    /// A pourer who had left is back.
    PourerBack(String),
    /// The last act is undone.
    Undo,
}

/// How many seconds beside a wish are tried that can't be.
const NEAR_S: i32 = 120;

pub(super) fn no<T>(reason: impl Into<String>) -> Result<T, Refusal> {
    refuse(RefusalCode::Other, reason)
}

impl Room {
    /// What steering the class leads to.
    pub(super) fn steer(
        &self,
        wish: &Steering,
        now: HostTime,
        rounds: &Rounds,
    ) -> Result<Vec<Event>, Refusal> {
        if self.phase == Phase::Lobby {
            return no("the class has not begun; what it is to be stands in its class file");
        }
        if self.last_call.is_some() && !matches!(wish, Steering::Was { .. }) {
            return no("the last call is on: nothing is poured any more");
        }
        let suggested = match wish {
            Steering::Follow { codes, steep_s } => self.suggested(codes, *steep_s, now)?,
            _ => Vec::new(),
        };
        let act = if suggested.is_empty() { self.act(wish, now)? } else { Some(timed(&suggested)) };
        match act {
            Some(act) => self.steered_to(act, suggested, wish, now, rounds),
            None => Ok(Vec::new()),
        }
    }

    /// The event of an act that can be, with the suggestions that were taken with it.
    pub(super) fn steered_to(
        &self,
        act: Act,
        suggested: Vec<Adapted>,
        wish: &Steering,
        now: HostTime,
        rounds: &Rounds,
    ) -> Result<Vec<Event>, Refusal> {
        let course = self.course.after(&self.class, &act);
        let timetable = match self.kept(&course, now) {
            Ok(kept) => self.steered(&course, kept, now, rounds)?,
            Err(other) => return no(self.no_hands(wish, &other, now)),
        };
        Ok(vec![Event::Steered { act, suggested, timetable }])
    }

    /// What an event is about to move or take back, or whose work it leaves to nobody, in words; nothing for one that moves no cue.
    pub fn follows(&self, entry: &Entry) -> Option<String> {
        let (act, timetable) = match &entry.event {
            Event::Steered { act, timetable, .. } => (act, timetable),
            Event::SentAway { seats, .. } => return self.leaves_empty(seats),
            Event::Released { seat } => return self.leaves_empty(&[*seat]),
            _ => return None,
        };
        let moves = match timetable {
            _ if matches!(act, Act::Sat { .. }) => None,
            Some(new) if self.phase == Phase::Running => {
                Some(plan::steer::follows(&self.timetable, new, entry.at))
            }
            _ if self.phase == Phase::Held => Some("what is dry is planned when the class goes on".into()),
            _ => None,
        };
        let last = self.course.last_act().filter(|_| *act == Act::Undone);
        match (last.map(|last| format!("taken back: {last}")), moves) {
            (Some(last), Some(moves)) => Some(format!("{last} · {moves}")),
            (last, moves) => last.or(moves),
        }
    }

    /// What is to be done; nothing if it is so already.
    fn act(&self, wish: &Steering, now: HostTime) -> Result<Option<Act>, Refusal> {
        if let Some(&code) = wish.codes().iter().find(|&&code| self.class.tea(code).is_none()) {
            return refuse(RefusalCode::UnknownCup, format!("this class has no tea {code}"));
        }
        match *wish {
            Steering::Longer { ref codes, by_s } => self.longer(codes, by_s, now),
            Steering::Skip { code, round, ref reason } => self.skip(code, round, why(reason), now).map(Some),
            Steering::Drop { code, ref reason } => self.drop_tea(code, why(reason), now),
            Steering::Take(code) => self.take_back(code, now),
            Steering::Again { code, round } => self.again(code, round, now).map(Some),
            Steering::More { code, steep_s } => self.more(code, steep_s, now).map(Some),
            Steering::Was { code, round, steep_s } => self.was(code, round, steep_s, now),
            Steering::Follow { .. } => Ok(None),
            Steering::Leave(code) => self.leave(code, now),
            Steering::Taste { by_s } => self.taste_longer(by_s, now),
            Steering::TasteEnd => self.end_tasting(now),
            Steering::Hand { code, ref to } => self.hand_over(code, to.as_deref()),
            Steering::PourerLeaves(ref pourer) => self.pourer_leaves(pourer),
            Steering::PourerBack(ref pourer) => self.pourer_back(pourer),
            Steering::Undo => self.undo(now).map(Some).map_err(|refusal| match self.course.last_act() {
                Some(last) => Refusal {
                    reason: format!("the last change ({last}) can't be taken back: {}", refusal.reason),
                    ..refusal
                },
                None => refusal,
            }),
        }
    }

    /// The cues that stand in another course, those that the teacher moves among them; nothing where no cue changes.
    ///
    /// # Errors
    /// Work that all hands would be at beside a decant that moves.
    fn kept(&self, course: &Course, now: HostTime) -> Result<Option<Vec<Cue>>, Cue> {
        let changed: Vec<Turn> = self.changed(course);
        let tasted = self.tasted_otherwise(course);
        let by_others = self.poured_by_others(course, now);
        let wet_handed = self.wet_handed(course, now);
        let rounds = changed.iter().chain(&by_others).map(|&(_, round)| round).chain(tasted.iter().copied());
        let Some(first) = rounds.chain(wet_handed.iter().map(|&((_, round), _)| round + 1)).min() else {
            return Ok(None);
        };
        let revision = self.timetable.revision + 1;
        let held = self.phase == Phase::Held;
        let mut cues = if held { self.timetable.cues.clone() } else { standing(&self.timetable, first, now) };
        let begun = |turn: &Turn| is_begun(&self.timetable, *turn, now);
        let (moved, dry): (Vec<Turn>, Vec<Turn>) = changed.into_iter().partition(begun);
        if held {
            // What is dry is planned when the class goes on; a tasting that stood waits for it.
            let all = cues.len();
            let waits = |c: &Cue| c.action == Action::Taste && c.at > now;
            cues.retain(|c| !waits(c) || !dry.iter().any(|&(_, round)| round == c.round()));
            if moved.is_empty() && wet_handed.is_empty() && cues.len() == all {
                return Ok(None);
            }
        }
        for cue in cues.iter_mut().filter(|c| c.action == Action::Taste && tasted.contains(&c.round())) {
            cue.length_s = course.taste_s(&self.class, cue.round());
        }
        for turn in moved {
            let steep_s = course.steep(turn).map_or(0, |steep| steep.steep_s);
            retime(&mut cues, turn, steep_s, revision, now);
        }
        for (turn, hands) in wet_handed {
            give_decant(&mut cues, turn, hands, revision);
        }
        let may = |code, pourer: u8| {
            course.hands_for(&self.class, code).is_none_or(|by| by & (1 << (pourer - 1)) != 0)
        };
        find_hands(&mut cues, revision, self.class.pourers.hands(), may)?;
        Ok(Some(cues))
    }

    /// The timetable of another course, of which these cues stand.
    fn steered(
        &self,
        course: &Course,
        kept: Option<Vec<Cue>>,
        now: HostTime,
        rounds: &Rounds,
    ) -> Result<Option<Timetable>, Refusal> {
        let Some(kept) = kept else { return Ok(None) };
        let revision = self.timetable.revision + 1;
        if self.phase == Phase::Held {
            return Ok(Some(Timetable::new(revision, kept)));
        }
        let rest = Rest { kept: &kept, tasting_left_s: None };
        let whole = rounds.as_deref().map_err(Clone::clone);
        let cues = whole.and_then(|whole| plan(&self.class, course, whole, rest, now.plus_s(STEER_S)));
        match cues {
            Ok(cues) => Ok(Some(Timetable::new(revision, cues))),
            Err(fault) => no(fault.to_string()),
        }
    }

    /// Why a decant can't move as wished, and by how much it could.
    fn no_hands(&self, wish: &Steering, other: &Cue, now: HostTime) -> String {
        let head = format!("nobody's hands would be free for it: they {other} then");
        let Steering::Longer { codes, by_s } = wish else {
            return format!("{head}; wait until that is done");
        };
        let does = |by_s: &i32| {
            let act = self.longer(codes, *by_s, now).ok().flatten();
            act.is_some_and(|act| self.kept(&self.course.after(&self.class, &act), now).is_ok())
        };
        let near = |step: i32| {
            (1..=NEAR_S).map(|s| by_s + step * s).filter(|by| by.signum() == by_s.signum()).find(does)
        };
        let words = |by: i32| format!("{} s {}", by.abs(), if by > 0 { "longer" } else { "shorter" });
        let could: Vec<String> = [near(-1), near(1)].into_iter().flatten().map(words).collect();
        match could.as_slice() {
            [] => format!("{head}; wait until that is done"),
            could => format!("{head}; {} would do", could.join(" or ")),
        }
    }

    /// The cups that are served otherwise in another course.
    fn changed(&self, course: &Course) -> Vec<Turn> {
        let planned = |course: &Course, turn| {
            let steep = course.steep(turn).filter(|steep| !steep.skipped);
            steep.map(|steep| (steep.steep_s, steep.temp_c.to_bits()))
        };
        let last = self.course.rounds().max(course.rounds());
        let turns = self.class.coded().flat_map(|(code, _)| (1..=last).map(move |round| (code, round)));
        turns.filter(|&turn| planned(&self.course, turn) != planned(course, turn)).collect()
    }

    /// The steep of a tea that is wet, or else the next that is dry.
    fn wet_or_next(&self, code: Code, now: HostTime) -> Option<(u32, Steep)> {
        let mut served = self.course.of(code).filter(|(_, steep)| !steep.skipped);
        let wet = served.clone().find(|&(round, _)| wet(&self.timetable, (code, round), now).is_some());
        let dry = || served.find(|&(round, _)| !is_begun(&self.timetable, (code, round), now));
        wet.or_else(dry).map(|(round, steep)| (round, *steep))
    }

    /// The next steep of a tea that is dry.
    fn next_dry(&self, code: Code, now: HostTime) -> Result<u32, Refusal> {
        let mut served = self.course.of(code).filter(|(_, steep)| !steep.skipped);
        let dry = served.find(|&(round, _)| !is_begun(&self.timetable, (code, round), now));
        dry.map(|(round, _)| round).ok_or_else(|| Refusal {
            code: RefusalCode::UnknownCup,
            reason: format!("{code} has no steep to come"),
        })
    }

    /// Whether nothing more can be poured in a round: it is tasted, or a later one has begun.
    fn is_over(&self, round: u32, now: HostTime) -> bool {
        let begun = self.timetable.cues.iter().filter(|c| c.at <= now.plus_s(BEGUN_S));
        begun.into_iter().any(|c| match c.action {
            Action::Taste => c.round() >= round,
            Action::Pour => c.round() > round,
            _ => false,
        })
    }

    fn longer(&self, codes: &[Code], by_s: i32, now: HostTime) -> Result<Option<Act>, Refusal> {
        let mut steeps: Vec<Timed> = Vec::new();
        for &code in codes {
            if steeps.iter().any(|timed| timed.code == code) {
                continue;
            }
            let Some((round, steep)) = self.wet_or_next(code, now) else {
                return refuse(
                    RefusalCode::UnknownCup,
                    format!("{code} has no steep that is wet or to come"),
                );
            };
            let wanted = i64::from(steep.steep_s) + i64::from(by_s);
            let steep_s = u32::try_from(wanted).ok().filter(|&s| s <= LONGEST_STEEP_S);
            let Some(steep_s) = steep_s else {
                let was_s = steep.steep_s;
                return no(format!(
                    "{code} steeps {was_s} s; it can be 0 to {LONGEST_STEEP_S} s, and no less than has passed"
                ));
            };
            self.check_passed(code, round, steep_s, now)?;
            steeps.push(Timed { code, round, steep_s });
        }
        Ok(if by_s == 0 || steeps.is_empty() { None } else { Some(Act::Timed { steeps }) })
    }

    /// A steep that is wet is never shorter than it has been already.
    fn check_passed(&self, code: Code, round: u32, steep_s: u32, now: HostTime) -> Result<(), Refusal> {
        let Some(pour) = self.timetable.find(Action::Pour, Some(code), round) else { return Ok(()) };
        if !is_begun(&self.timetable, (code, round), now) {
            return Ok(());
        }
        let Some(decant) = wet(&self.timetable, (code, round), now) else {
            return no(format!(
                "{code} is decanted already; `was {code} {round} SECONDS` says how long it really sat"
            ));
        };
        let soonest = now.plus_s(BEGUN_S);
        if pour.end().plus_s(steep_s) >= soonest {
            return Ok(());
        }
        let most_s = decant.at.seconds_until(soonest);
        let passed_s = now.seconds_until(pour.end()).max(0);
        no(format!("{code} has been steeping for {passed_s} s; it can be at most {most_s} s shorter"))
    }

    fn skip(&self, code: Code, round: Option<u32>, reason: String, now: HostTime) -> Result<Act, Refusal> {
        let Some(round) = round else {
            return self.next_dry(code, now).map(|round| Act::Skipped { code, round, reason });
        };
        self.check_cup(code, round)?;
        if is_begun(&self.timetable, (code, round), now) {
            return no(format!(
                "{code} has been poured in round {round}: what is wet ends on time; a cup that is not to count is voided afterwards"
            ));
        }
        if self.course.steep((code, round)).is_some_and(|steep| steep.skipped) {
            return no(format!("{code} is left out of round {round} already"));
        }
        Ok(Act::Skipped { code, round, reason })
    }

    fn drop_tea(&self, code: Code, reason: String, now: HostTime) -> Result<Option<Act>, Refusal> {
        if self.course.is_dropped(code) {
            return Ok(None);
        }
        self.next_dry(code, now).map(|from| Some(Act::Dropped { code, from, reason }))
    }

    fn take_back(&self, code: Code, now: HostTime) -> Result<Option<Act>, Refusal> {
        if !self.course.is_dropped(code) {
            return Ok(None);
        }
        let to_come = |&(round, _): &(u32, &Steep)| {
            !self.is_over(round, now) && !is_begun(&self.timetable, (code, round), now)
        };
        match self.course.of(code).find(to_come) {
            Some((from, _)) => Ok(Some(Act::TakenBack { code, from })),
            None => no(format!("no round of {code} is to come; `more {code} SECONDS` steeps it once more")),
        }
    }

    fn again(&self, code: Code, round: Option<u32>, now: HostTime) -> Result<Act, Refusal> {
        let poured = |round: u32| is_begun(&self.timetable, (code, round), now);
        let last = || self.course.of(code).rfind(|&(round, _)| poured(round)).map(|(round, _)| round);
        let Some(of) = round.or_else(last) else {
            return no(format!("{code} has not been poured yet; nothing is to be done again"));
        };
        self.check_cup(code, of)?;
        if !poured(of) && !self.is_over(of, now) {
            return no(format!("{code} is still to come in round {of}; it is not poured yet"));
        }
        let Some(&Steep { steep, steep_s, temp_c, .. }) = self.course.steep((code, of)) else {
            return refuse(RefusalCode::UnknownCup, format!("this class has no {code} steep {of}"));
        };
        let round = self.own_round(code, steep, now)?;
        Ok(Act::Added { code, round, steep, steep_s, temp_c })
    }

    fn more(&self, code: Code, steep_s: u32, now: HostTime) -> Result<Act, Refusal> {
        if steep_s > LONGEST_STEEP_S {
            return no(format!("a steep can be 0 to {LONGEST_STEEP_S} s"));
        }
        let last = self.course.of(code).map(|(_, steep)| *steep).max_by_key(|steep| steep.steep);
        let Some(last) = last else { return no(format!("{code} has no steep to go on from")) };
        let steep = last.steep + 1;
        // Beside the same steep of the others, where they have one that is still to come.
        let beside = steep <= self.class.rounds()
            && !self.is_over(steep, now)
            && self.course.steep((code, steep)).is_none();
        let round = if beside { steep } else { self.own_round(code, steep, now)? };
        Ok(Act::Added { code, round, steep, steep_s, temp_c: last.temp_c })
    }

    /// A round behind those that are written, for one more steep: one of its own, unless others have the same steep there.
    fn own_round(&self, code: Code, steep: u32, now: HostTime) -> Result<u32, Refusal> {
        if self.course.is_dropped(code) {
            return no(format!("{code} is dropped; `take {code}` takes it back in"));
        }
        let fits = |&round: &u32| {
            let others = self.course.due(&self.class, round);
            let taken = self.course.steep((code, round)).is_some();
            !taken && !self.is_over(round, now) && others.iter().all(|due| due.steep.steep == steep)
        };
        match (self.class.rounds() + 1..=MOST_ROUNDS).find(fits) {
            Some(round) => Ok(round),
            None => no(format!("a class has at most {MOST_ROUNDS} rounds")),
        }
    }

    fn was(&self, code: Code, round: u32, steep_s: u32, now: HostTime) -> Result<Option<Act>, Refusal> {
        self.check_cup(code, round)?;
        if steep_s > LONGEST_STEEP_S {
            return no(format!("a steep can be 0 to {LONGEST_STEEP_S} s"));
        }
        let decant = self.timetable.find(Action::Decant, Some(code), round);
        if decant.is_none_or(|decant| decant.at > now) {
            return no(format!(
                "{code} has not been decanted in round {round}; `longer {code} 10` and `shorter {code} 10` change a steep before"
            ));
        }
        let known = self.course.steep((code, round)).map(Steep::really_s);
        Ok((known != Some(steep_s)).then_some(Act::Sat { code, round, steep_s }))
    }

    fn undo(&self, now: HostTime) -> Result<Act, Refusal> {
        let Some(last) = self.course.last_act() else { return no("there is nothing to undo") };
        let poured = |turn: Turn| is_begun(&self.timetable, turn, now);
        let before = self.course.after(&self.class, &Act::Undone);
        match *last {
            Act::Timed { ref steeps } => {
                for &Timed { code, round, .. } in steeps {
                    let steep_s = before.steep((code, round)).map_or(0, |steep| steep.steep_s);
                    self.check_passed(code, round, steep_s, now)?;
                }
            }
            Act::Skipped { code, round, .. } | Act::Dropped { code, from: round, .. } => {
                if self.is_over(round, now) {
                    return no(format!(
                        "round {round} has gone on without {code}; `again {code} {round}` steeps it at the end, `take {code}` takes back a tea that was dropped"
                    ));
                }
            }
            Act::TakenBack { code, from } => {
                if let Some((round, _)) = self.course.of(code).find(|&(r, _)| r >= from && poured((code, r)))
                {
                    return no(format!(
                        "{code} has been poured in round {round}; `drop {code}` leaves it out from now on"
                    ));
                }
            }
            Act::Added { code, round, .. } => {
                if poured((code, round)) || self.scores.is_scored((code, round)) {
                    return no(format!(
                        "{code} has been poured in round {round}; a cup that is not to count is voided afterwards"
                    ));
                }
            }
            Act::Kept { code, round, .. } => {
                let steep_s = before.steep((code, round)).map_or(0, |steep| steep.steep_s);
                self.check_passed(code, round, steep_s, now)?;
            }
            Act::Tasted { round, .. } => self.check_untasted(round, now)?,
            // What is wet stays with whoever has it.
            Act::Handed { .. } | Act::PourerLeft { .. } | Act::PourerBack { .. } => {}
            Act::Sat { .. } | Act::Undone => {}
        }
        Ok(Act::Undone)
    }
}

/// A reason as it is kept.
fn why(reason: &str) -> String {
    clean(reason.trim(), NOTE_CHARS)
}

impl Steering {
    /// The teas that it is about.
    fn codes(&self) -> &[Code] {
        match self {
            Steering::Longer { codes, .. } | Steering::Follow { codes, .. } => codes,
            Steering::Skip { code, .. }
            | Steering::Drop { code, .. }
            | Steering::Take(code)
            | Steering::Leave(code)
            | Steering::Again { code, .. }
            | Steering::More { code, .. }
            | Steering::Hand { code, .. }
            | Steering::Was { code, .. } => std::slice::from_ref(code),
            Steering::Taste { .. }
            | Steering::TasteEnd
            | Steering::PourerLeaves(_)
            | Steering::PourerBack(_)
            | Steering::Undo => &[],
        }
    }
}
