//! A class that runs is steered: what each act does, what it may not do, and the laws of any number of them.

use super::*;
use class::course::Turn;
use plan::hold::BEGUN_S;
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

const FIVE: &str = include_str!("../../../tests/classes/five-teas.toml");
const TWO: &str = include_str!("../../../tests/classes/two-ways.toml");

/// A class that runs, with one who tastes.
fn running(text: &str) -> Led {
    let mut led = Led::new(text);
    led.join("Ann", None, None).unwrap();
    led.teacher(Teacher::Start { anyway: true }, 0).unwrap();
    led
}

impl Led {
    fn steer(&mut self, wish: Steering, now_s: i64) -> Result<usize, Refusal> {
        self.teacher(Teacher::Steer(wish), now_s)
    }

    /// When a cue begins, in seconds.
    fn at_s(&self, action: Action, (code, round): Turn) -> Option<i64> {
        self.room.timetable.find(action, Some(code), round).map(|cue| cue.at.0 / SECOND_US)
    }

    fn tastes_s(&self, round: u32) -> i64 {
        self.room.timetable.find(Action::Taste, None, round).unwrap().at.0 / SECOND_US
    }

    /// The teas in the order in which a round pours them.
    fn poured(&self, round: u32) -> Vec<Code> {
        let pours = self.room.timetable.cues.iter();
        pours.filter(|c| c.action == Action::Pour && c.round() == round).filter_map(|c| c.code).collect()
    }

    fn last_s(&self) -> i64 {
        self.room.timetable.cues.iter().map(|c| c.end().0 / SECOND_US + 1).max().unwrap_or(0)
    }
}

#[test]
fn a_wet_steep_is_made_longer_and_only_its_own_decant_moves() {
    let mut led = running(FIVE);
    let round = led.poured(1);
    let (last, other) = (*round.last().unwrap(), round[0]);
    let now_s = led.at_s(Action::Pour, (last, 1)).unwrap() + 12;
    let before = led.room.timetable.clone();
    led.steer(Steering::Longer { codes: vec![last], by_s: 30 }, now_s).unwrap();
    let decant = |table: &Timetable, code| table.find(Action::Decant, Some(code), 1).unwrap().clone();
    let (was, is) = (decant(&before, last), decant(&led.room.timetable, last));
    assert_eq!((is.at.seconds_until(was.at), is.moved_in), (30, Some(led.room.timetable.revision)));
    assert_eq!(decant(&led.room.timetable, other), decant(&before, other));
    assert_eq!(led.tastes_s(1), is.end().0 / SECOND_US, "the tasting waits for it");
    let words = led.room.course.steep((last, 1)).unwrap().steep_s;
    assert_eq!(led.room.timetable.find(Action::Pour, Some(last), 1).unwrap().steep_s, Some(words));
}

#[test]
fn a_steep_is_never_shorter_than_it_has_been() {
    let mut led = running(FIVE);
    let code = led.poured(1)[0];
    let lid_s = led.at_s(Action::Pour, (code, 1)).unwrap() + 8;
    let before = led.room.clone();
    let refusal = led.steer(Steering::Longer { codes: vec![code], by_s: -1000 }, lid_s + 5).unwrap_err();
    assert!(refusal.reason.contains("no less than has passed"), "{}", refusal.reason);
    let steep_s = led.room.course.steep((code, 1)).unwrap().steep_s as i32;
    let refusal = led.steer(Steering::Longer { codes: vec![code], by_s: -steep_s }, lid_s + 5).unwrap_err();
    assert!(refusal.reason.contains("it can be at most"), "{}", refusal.reason);
    assert_eq!(led.room, before);
}

#[test]
fn where_no_hands_would_be_free_it_is_said_by_how_many_seconds_it_could_be() {
    let led = running(TWO);
    let round = led.poured(1);
    // Every wet steep that can be put upon another one's decant is refused, and both ways out are good.
    let mut refused = 0;
    for (code, by_s) in round.iter().flat_map(|&code| (1..80).map(move |by_s| (code, by_s))) {
        let mut led = running(TWO);
        let now_s = led.at_s(Action::Pour, (*round.last().unwrap(), 1)).unwrap() + 9;
        let Err(refusal) = led.steer(Steering::Longer { codes: vec![code], by_s }, now_s) else { continue };
        let Some((_, ways)) = refusal.reason.split_once(" then; ") else { continue };
        refused += 1;
        let ways: Vec<i32> = ways.split_whitespace().filter_map(|word| word.parse().ok()).collect();
        assert!(!ways.is_empty(), "{}", refusal.reason);
        for by_s in ways {
            let mut led = led.room.clone();
            let now = HostTime(now_s * SECOND_US);
            let wish = Command::Teacher(Teacher::Steer(Steering::Longer { codes: vec![code], by_s }));
            let rounds = plan::plan_rounds(&led.class);
            for event in led.decide(wish, now, &rounds).unwrap() {
                led.fold(led.seq + 1, now, event);
            }
            holds(&led).unwrap();
        }
    }
    assert!(refused > 0);
}

#[test]
fn what_is_left_out_is_not_poured_and_owes_nothing_and_is_taken_back() {
    let mut led = running(FIVE);
    let code = led.poured(2)[0];
    led.steer(Steering::Skip { code, round: Some(2), reason: String::new() }, 60).unwrap();
    assert!(!led.poured(2).contains(&code) && led.poured(1).contains(&code));
    led.steer(Steering::Undo, 61).unwrap();
    assert!(led.poured(2).contains(&code));
    led.steer(Steering::Drop { code, reason: String::new() }, 62).unwrap();
    let rounds = led.room.course.rounds();
    let served = |led: &Led| (1..=rounds).filter(|&round| led.poured(round).contains(&code)).count();
    let left = served(&led);
    led.steer(Steering::Take(code), 63).unwrap();
    assert!(served(&led) > left);
    assert_eq!(led.steer(Steering::Take(code), 64), Ok(0), "it is so already");
}

#[test]
fn a_steep_that_went_wrong_is_done_again_in_a_round_of_its_own_with_a_cup_of_its_own() {
    let mut led = running(FIVE);
    let code = led.poured(1)[0];
    let written = led.room.class.rounds();
    let now_s = led.tastes_s(1) + 5;
    led.steer(Steering::Again { code, round: None }, now_s).unwrap();
    let pour = led.room.timetable.find(Action::Pour, Some(code), written + 1).unwrap();
    assert_eq!((pour.steep, pour.round()), (1, written + 1));
    let other = led.poured(1)[1];
    led.steer(Steering::Again { code: other, round: Some(1) }, now_s + 1).unwrap();
    assert_eq!(led.poured(written + 1).len(), 2, "the same steep of two teas is tasted side by side");
    let end_s = led.last_s();
    led.score(0, code.to_string().parse().unwrap(), 1, 1, 4, end_s).unwrap();
    led.score(0, code.to_string().parse().unwrap(), written + 1, 1, 8, end_s).unwrap();
    let seat = led.room.seats[0].id;
    let liking = |round| led.room.scores.of(seat, (code, round)).unwrap().score.values["liking"];
    assert_eq!((liking(1), liking(written + 1)), (4, 8));
    let refusal = led.steer(Steering::Undo, end_s + 1).unwrap_err();
    assert!(refusal.reason.contains("has been poured"), "{}", refusal.reason);
}

#[test]
fn one_more_steep_goes_beside_the_same_steep_of_the_others_or_behind_them() {
    let mut led = running(FIVE);
    let written = led.room.class.rounds();
    let code = led.poured(1)[0];
    led.steer(Steering::More { code, steep_s: 33 }, 30).unwrap();
    let steeps = led.room.class.tea(code).unwrap().steeps();
    let round = led.room.course.of(code).last().unwrap().0;
    assert_eq!(round, (steeps + 1).max(if steeps < written { steeps + 1 } else { written + 1 }));
    let pour = led.room.timetable.find(Action::Pour, Some(code), round).unwrap();
    assert_eq!((pour.steep, pour.steep_s), (steeps + 1, Some(33)));
}

#[test]
fn a_tea_that_joins_a_round_in_a_hold_is_waited_for_with_the_tasting() {
    let mut led = running(TWO);
    let (first, second) = (Code::new(417).unwrap(), Code::new(238).unwrap());
    led.steer(Steering::More { code: first, steep_s: 30 }, 10).unwrap();
    let now_s = led.at_s(Action::Pour, (first, 4)).unwrap() + 3;
    led.teacher(Teacher::Hold, now_s).unwrap();
    led.steer(Steering::More { code: second, steep_s: 20 }, now_s + 1).unwrap();
    led.teacher(Teacher::Resume, now_s + 2).unwrap();
    holds(&led.room).unwrap();
    assert_eq!(led.poured(4), [first, second]);
    assert!(led.tastes_s(4) > led.at_s(Action::Decant, (second, 4)).unwrap());
}

#[test]
fn a_steep_as_it_really_was_changes_no_cue() {
    let mut led = running(FIVE);
    let code = led.poured(1)[0];
    let early = led.steer(Steering::Was { code, round: 1, steep_s: 60 }, 20).unwrap_err();
    assert!(early.reason.contains("has not been decanted"), "{}", early.reason);
    let now_s = led.tastes_s(1) + 1;
    let before = led.room.timetable.clone();
    assert_eq!(led.steer(Steering::Was { code, round: 1, steep_s: 60 }, now_s), Ok(1));
    assert_eq!(led.room.timetable, before);
    assert_eq!(led.room.course.steep((code, 1)).unwrap().really_s(), 60);
    led.steer(Steering::Undo, now_s + 1).unwrap();
    assert!(led.room.course.is_as_written());
}

#[test]
fn before_the_class_and_in_its_last_call_nothing_is_steered() {
    let mut led = Led::new(FIVE);
    let refusal = led.steer(Steering::Undo, 0).unwrap_err();
    assert!(refusal.reason.contains("has not begun"), "{}", refusal.reason);
    led.teacher(Teacher::Start { anyway: true }, 0).unwrap();
    let refusal = led.steer(Steering::Undo, 1).unwrap_err();
    assert_eq!(refusal.reason, "there is nothing to undo");
    let code = Code::new(999).unwrap();
    assert!(
        led.steer(Steering::Drop { code, reason: String::new() }, 2)
            .unwrap_err()
            .reason
            .contains("no tea 999")
    );
}

#[derive(Clone, Debug)]
enum Step {
    Steer(usize, usize, u32, i32, u8),
    Hold,
    Resume,
    Score(usize, u32),
    Restart,
    Away(usize, bool),
    Back(usize),
    Reopen(usize, u32, usize),
    Void(usize, u32, bool),
    Count(usize, bool),
}

fn a_step() -> impl Strategy<Value = Step> {
    prop_oneof![
        8 => (0usize..5, 0usize..5, 0u32..9, -60i32..90, 0u8..18)
            .prop_map(|(tea, other, round, by_s, act)| Step::Steer(tea, other, round, by_s, act)),
        1 => Just(Step::Hold),
        2 => Just(Step::Resume),
        2 => (0usize..5, 1u32..9).prop_map(|(tea, round)| Step::Score(tea, round)),
        1 => Just(Step::Restart),
        1 => (0usize..3, any::<bool>()).prop_map(|(seat, without)| Step::Away(seat, without)),
        1 => (0usize..3).prop_map(Step::Back),
        1 => (0usize..5, 0u32..9, 0usize..4).prop_map(|(tea, round, seat)| Step::Reopen(tea, round, seat)),
        1 => (0usize..5, 1u32..9, any::<bool>()).prop_map(|(tea, round, void)| Step::Void(tea, round, void)),
        1 => (0usize..3, any::<bool>()).prop_map(|(seat, counts)| Step::Count(seat, counts)),
    ]
}

fn wish(codes: &[Code], (tea, other, round, by_s, act): (usize, usize, u32, i32, u8)) -> Steering {
    let code = codes[tea % codes.len()];
    let of = Some(round).filter(|&round| round > 0);
    match act {
        0 => Steering::Longer { codes: vec![code], by_s },
        1 => Steering::Longer { codes: vec![code, codes[other % codes.len()]], by_s },
        2 => Steering::Skip { code, round: of, reason: String::new() },
        3 => Steering::Drop { code, reason: String::new() },
        4 => Steering::Take(code),
        5 => Steering::Again { code, round: of },
        6 => Steering::More { code, steep_s: by_s.unsigned_abs() },
        7 => Steering::Was { code, round, steep_s: by_s.unsigned_abs() },
        8 => Steering::Follow { codes: vec![code], steep_s: Some(by_s.unsigned_abs()) },
        9 => Steering::Leave(code),
        10 | 11 => Steering::Hand { code, to: (other > 0).then(|| (other % 2 + 1).to_string()) },
        12 => Steering::PourerLeaves((other % 2 + 1).to_string()),
        13 => Steering::PourerBack((other % 2 + 1).to_string()),
        14 => Steering::Taste { by_s },
        15 => Steering::TasteEnd,
        _ => Steering::Undo,
    }
}

/// No hands do two things at once, no cue is two, and every cup of the course is steeped for as long as the course says.
pub(super) fn holds(room: &Room) -> Result<(), TestCaseError> {
    let table = &room.timetable;
    for hands in 1..=room.class.pourers.hands() {
        let work = table.cues.iter().filter(|c| c.hands == hands && !c.action.is_within() && c.length_s > 0);
        let mut work: Vec<_> = work.map(|c| (c.at, c.end(), c.to_string())).collect();
        work.sort();
        let twice = work.windows(2).find(|w| w[0].1 > w[1].0);
        prop_assert!(twice.is_none(), "hands {} do two things at once: {:?}", hands, twice);
    }
    let keys: BTreeSet<_> = table.cues.iter().map(Cue::key).collect();
    prop_assert_eq!(keys.len(), table.cues.len(), "a cue is two");
    let mut planned = BTreeSet::new();
    for pour in table.cues.iter().filter(|c| c.action == Action::Pour) {
        let turn = (pour.code.unwrap(), pour.round());
        planned.insert(turn);
        let decant = table.find(Action::Decant, pour.code, pour.round()).unwrap();
        let steep = room.course.steep(turn).unwrap();
        prop_assert_eq!(decant.at, pour.end().plus_s(steep.steep_s), "{:?}", turn);
        prop_assert_eq!((pour.steep_s, pour.steep), (Some(steep.steep_s), steep.steep));
        let taste = table.find(Action::Taste, None, pour.round());
        prop_assert!(
            taste.is_none_or(|taste| taste.at >= decant.end()),
            "{:?} is tasted before its decant",
            turn
        );
    }
    let last = room.course.rounds();
    let due = (1..=last)
        .flat_map(|round| room.course.due(&room.class, round).into_iter().map(move |d| (d.code, round)));
    let due: BTreeSet<Turn> = due.collect();
    if room.phase == Phase::Running {
        prop_assert_eq!(planned, due, "the timetable has every cup of the course");
    } else {
        prop_assert!(planned.is_subset(&due));
    }
    Ok(())
}

/// Who sits in a class that the laws are tried on.
const NAMES: [&str; 3] = ["Ann", "Bob", "Cy"];

fn can_be_undone(step: &Step) -> bool {
    match *step {
        Step::Steer(.., act) => act < 16,
        Step::Away(..) | Step::Reopen(..) | Step::Void(..) | Step::Count(..) => true,
        Step::Hold | Step::Resume | Step::Score(..) | Step::Restart | Step::Back(_) => false,
    }
}

/// What the acts of a teacher change: the course, the cups that are void, whose scores count, and who is away.
fn changed(room: &Room) -> (class::course::Course, Vec<bool>, Vec<(bool, bool)>) {
    let turns = room.class.coded().flat_map(|(code, _)| (1..12).map(move |round| (code, round)));
    let seats = room.seats.iter().map(|seat| (seat.counts, seat.away.is_some()));
    (room.course.clone(), turns.map(|cup| room.is_void(cup)).collect(), seats.collect())
}

/// An undo right after an act takes back that one and nothing else, or says why not.
fn undo_takes_back_that(led: &Led, before: &Room, now_s: i64) -> Result<(), TestCaseError> {
    let undone = led.room.decide(
        Command::Teacher(Teacher::Steer(Steering::Undo)),
        HostTime(now_s * SECOND_US),
        &led.rounds,
    );
    let Ok(events) = undone else { return Ok(()) };
    let mut after = led.room.clone();
    for event in events {
        after.fold(after.seq + 1, HostTime(now_s * SECOND_US), event);
    }
    prop_assert_eq!(changed(&after), changed(before));
    Ok(())
}

fn laws(text: &str, steps: Vec<(Step, i64)>) -> Result<(), TestCaseError> {
    let mut led = running(text);
    led.join("Bob", None, None).unwrap();
    led.join("Cy", None, None).unwrap();
    let codes: Vec<Code> = led.room.class.coded().map(|(code, _)| code).collect();
    let mut now_s = 0;
    for (step, passed_s) in steps {
        now_s += passed_s;
        let (before, now) = (led.room.clone(), HostTime(now_s * SECOND_US));
        let outcome = match step {
            Step::Steer(tea, other, round, by_s, act) => {
                led.steer(wish(&codes, (tea, other, round, by_s, act)), now_s)
            }
            Step::Hold => led.teacher(Teacher::Hold, now_s),
            Step::Resume => led.teacher(Teacher::Resume, now_s),
            Step::Score(tea, round) => {
                let id = led.fresh();
                let seat = led.room.seats[round as usize % 3].id;
                let strength = Some(protocol::Strength::TooThin);
                let score = Score { code: codes[tea % codes.len()], strength, ..score(id, 417, round, 1, 5) };
                led.command(&Command::Score { seat, score }, now_s)
            }
            Step::Away(seat, without_scores) => {
                let who = Who::Named(NAMES[seat].into());
                led.teacher(Teacher::Away { who, without_scores, reason: String::new() }, now_s)
            }
            Step::Back(seat) => led.teacher(Teacher::Back(NAMES[seat].into()), now_s),
            Step::Reopen(tea, round, seat) => {
                let round = Some(round).filter(|&round| round > 0);
                let seat = NAMES.get(seat).map(|name| name.to_string());
                led.teacher(Teacher::Reopen { code: codes[tea % codes.len()], round, seat }, now_s)
            }
            Step::Void(tea, round, void) => {
                let (code, steep) = (codes[tea % codes.len()], round);
                let (seat, reason) = (None, "spilled".to_string());
                led.teacher(
                    Teacher::Correct(match void {
                        true => Correction::Void { code, steep, seat, reason },
                        false => Correction::Restore { code, steep, seat, reason },
                    }),
                    now_s,
                )
            }
            Step::Count(seat, counts) => {
                led.teacher(Teacher::Count { name: NAMES[seat].into(), counts }, now_s)
            }
            Step::Restart => {
                led.command(&Command::Stop, now_s).unwrap();
                let again = Room::replay(led.ledger.clone()).unwrap();
                prop_assert_eq!(&again, &led.room);
                led.room = again;
                Ok(0)
            }
        };
        if outcome.is_err() {
            prop_assert_eq!(&before, &led.room);
        }
        holds(&led.room)?;
        if outcome.is_ok_and(|events| events > 0) && can_be_undone(&step) {
            undo_takes_back_that(&led, &before, now_s)?;
        }
        let (old, new) = (&before.timetable, &led.room.timetable);
        let own: BTreeMap<_, _> = new.cues.iter().map(|c| (c.key(), c)).collect();
        for pour in old.cues.iter().filter(|c| c.action == Action::Pour && c.at <= now.plus_s(BEGUN_S)) {
            let decant = old.find(Action::Decant, pour.code, pour.round()).unwrap();
            let is = own[&decant.key()];
            let moved = is.moved_in == Some(new.revision) && new.revision > old.revision && decant.at > now;
            prop_assert!(is == decant || moved, "{} of round {} moved", decant, decant.round());
            prop_assert!(is.at >= decant.at.min(now), "what has passed is not taken back");
            prop_assert_eq!(own[&pour.key()].at, pour.at);
        }
        let known: BTreeSet<_> = old.cues.iter().map(|c| (c.key(), c.at)).collect();
        let past = new.cues.iter().find(|c| c.at < now && !known.contains(&(c.key(), c.at)));
        prop_assert!(past.is_none(), "a new cue lies in the past: {:?}", past);
        prop_assert!(led.room.scores.all().len() >= before.scores.all().len());
        prop_assert!(
            led.room.seats.iter().all(|seat| led.room.owes_from(seat).is_none() || seat.away.is_none())
        );
    }
    // Whatever happened, everybody is let back with all that was scored, and the class comes to its end.
    led.teacher(Teacher::Back("all".into()), now_s).unwrap();
    prop_assert!(led.room.seats.iter().all(|seat| seat.away.is_none()));
    led.teacher(Teacher::Resume, now_s).unwrap();
    holds(&led.room)?;
    let end_s = led.last_s().max(now_s);
    led.teacher(Teacher::Close { last_call_s: 0 }, end_s).unwrap();
    prop_assert_eq!(led.room.phase, Phase::Closed);
    let stored = led.ledger.iter().map(|entry| {
        let event = serde_json::from_str(&serde_json::to_string(&entry.event).unwrap()).unwrap();
        Entry { event, ..entry.clone() }
    });
    prop_assert_eq!(Room::replay(stored).unwrap(), led.room);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]
    #[test]
    fn whatever_is_steered_the_laws_of_the_timetable_hold(steps in prop::collection::vec((a_step(), 0i64..90), 0..25), which in 0usize..3) {
        laws([FIVE, TWO, &FIVE.replace("pourers = 1", "pourers = 2")][which], steps)?;
    }
}

/// `undo` after a void took back the act before it.
#[test]
fn undo_takes_back_what_was_put_right_too_the_last_first() {
    let mut led = running(TWO);
    let code = led.room.class.coded().next().unwrap().0;
    let now_s = led.cups_of(1) + 1;
    let undo = || Teacher::Steer(Steering::Undo);
    led.teacher(Teacher::Steer(Steering::Taste { by_s: 30 }), now_s).unwrap();
    let void = Correction::Void { code, steep: 1, seat: None, reason: "spilled".into() };
    led.teacher(Teacher::Correct(void), now_s).unwrap();
    let name = led.room.seats[0].name.clone();
    led.teacher(Teacher::Count { name, counts: false }, now_s).unwrap();
    led.teacher(undo(), now_s).unwrap();
    assert!(led.room.seats[0].counts && led.room.is_void((code, 1)) && led.room.course.last_act().is_some());
    led.teacher(undo(), now_s).unwrap();
    assert!(!led.room.is_void((code, 1)) && led.room.course.last_act().is_some(), "and nothing before it");
    led.teacher(undo(), now_s).unwrap();
    assert!(led.room.course.last_act().is_none());
    let restored = led.teacher(undo(), now_s).unwrap_err();
    assert_eq!(restored.reason, "there is nothing to undo");
    assert_eq!(Room::replay(led.ledger.clone()).unwrap(), led.room);
}
