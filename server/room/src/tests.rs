//! The room's laws: what may happen when, and that replaying a ledger gives the live state.

use super::*;
use class::difference::Side;
use class::read;
use proptest::prelude::*;
use protocol::time::SECOND_US;
use protocol::wire::{Hello, PROTOCOL, RefusalCode};
use protocol::{Action, Answer, Score};

/// A room that is driven by commands and keeps its ledger in memory, as the owner does with the real one.
struct Desk {
    room: Room,
    rounds: Rounds,
    ledger: Vec<Entry>,
    ids: u128,
}

impl Desk {
    fn new(text: &str) -> Self {
        let class = Box::new(read::class(text).unwrap().with_codes(7));
        let first = Event::Class { class_id: Uuid::from_u128(1), seed: 7, class };
        let ledger = vec![Entry { seq: 1, at: HostTime(0), event: first }];
        let room = Room::replay(ledger.clone()).unwrap();
        Self { rounds: plan::plan_rounds(&room.class), room, ledger, ids: 100 }
    }

    fn two_ways() -> Self {
        Self::new(include_str!("../../tests/classes/two-ways.toml"))
    }

    fn fresh(&mut self) -> Uuid {
        self.ids += 1;
        Uuid::from_u128(self.ids)
    }

    fn tell(&mut self, command: &Command, now_s: i64) -> Result<usize, Refusal> {
        let now = HostTime(now_s * SECOND_US).max(self.room.last_at);
        let events = self.room.decide(command.clone(), now, &self.rounds)?;
        for event in &events {
            let seq = self.room.seq + 1;
            self.room.fold(seq, now, event.clone());
            self.ledger.push(Entry { seq, at: now, event: event.clone() });
        }
        Ok(events.len())
    }

    fn teacher(&mut self, wish: Teacher, now_s: i64) -> Result<usize, Refusal> {
        self.tell(&Command::Teacher(wish), now_s)
    }

    fn join(&mut self, name: &str, token: Option<Token>, pourer: Option<u8>) -> Result<usize, Refusal> {
        let token = token.unwrap_or(Token(self.fresh()));
        let hello = Hello { protocol: PROTOCOL, name: name.into(), token, pourer, since: None };
        let fresh_seat = SeatId(self.fresh());
        self.tell(&Command::Join { hello, fresh_seat }, 0)
    }

    fn score(
        &mut self,
        seat: usize,
        code: u16,
        steep: u32,
        revision: u32,
        liking: i32,
        now_s: i64,
    ) -> Result<usize, Refusal> {
        let id = self.fresh();
        let score = score(id, code, steep, revision, liking);
        self.tell(&Command::Score { seat: self.room.seats[seat].id, score }, now_s)
    }
}

fn score(id: Uuid, code: u16, steep: u32, revision: u32, liking: i32) -> Score {
    let values = [("liking".to_string(), liking)].into();
    Score {
        id,
        code: Code::new(code).unwrap(),
        steep,
        revision,
        values,
        strength: None,
        note: String::new(),
        words: vec![],
    }
}

fn code<T: std::fmt::Debug>(result: Result<T, Refusal>) -> RefusalCode {
    result.unwrap_err().code
}

#[test]
fn a_name_belongs_to_one_seat_until_the_teacher_releases_it() {
    let mut desk = Desk::two_ways();
    desk.join("Ann", None, None).unwrap();
    assert_eq!(code(desk.join(" ANN ", None, None)), RefusalCode::NameTaken);
    let (seat, token) = (desk.room.seats[0].id, desk.room.seats[0].token);
    assert_eq!(desk.join("whoever", Some(token), None), Ok(0), "the token is enough");
    assert_eq!(
        desk.join("Bob", Some(Token(Uuid::from_u128(9))), None),
        Ok(1),
        "a token of one's own is a new seat"
    );
    assert_eq!(
        desk.join("Bob", Some(Token(Uuid::from_u128(9))), None),
        Ok(0),
        "and the same seat when the welcome was lost"
    );
    assert_eq!(code(desk.teacher(Teacher::Release("Zoe".into()), 1)), RefusalCode::BadName);
    desk.teacher(Teacher::Release("ann".into()), 1).unwrap();
    desk.join("Ann", None, None).unwrap();
    assert_eq!(desk.room.seats.len(), 2);
    assert_eq!(desk.room.seats[0].id, seat, "the seat and its scores are kept");
    assert!(desk.room.seat_with(token).is_none(), "the lost token no longer opens it");
    assert_eq!(code(desk.join("\u{1b}[31mEve", None, None)), RefusalCode::BadName);
}

#[test]
fn a_pourers_place_is_held_by_one_seat() {
    let text = include_str!("../../tests/classes/two-ways.toml");
    let mut desk = Desk::new(&text.replace("\"each seat\"", "2"));
    assert_eq!(code(desk.join("Ann", None, Some(3))), RefusalCode::BadPourer);
    desk.join("Ann", None, Some(2)).unwrap();
    assert_eq!(code(desk.join("Bob", None, Some(2))), RefusalCode::BadPourer);
    let token = desk.room.seats[0].token;
    assert_eq!(desk.join("Ann", Some(token), Some(2)), Ok(0));
    assert_eq!(desk.join("Ann", Some(token), Some(1)), Ok(1));
    assert_eq!(desk.room.hands_of(&desk.room.seats[0]), Some(1));
    assert_eq!(code(Desk::two_ways().join("Ann", None, Some(1))), RefusalCode::BadPourer);
}

#[test]
fn a_released_pourers_place_can_be_taken_by_another_and_a_class_does_not_begin_without_its_pourers_unasked() {
    let text = include_str!("../../tests/classes/two-ways.toml");
    let mut desk = Desk::new(&text.replace("\"each seat\"", "1"));
    let start = |anyway| Teacher::Start { anyway };
    assert!(desk.teacher(start(false), 0).unwrap_err().reason.contains("nobody is pourer 1"));
    desk.join("Ann", None, Some(1)).unwrap();
    let token = desk.room.seats[0].token;
    desk.teacher(Teacher::Release("Ann".into()), 0).unwrap();
    desk.join("Bob", None, Some(1)).unwrap();
    assert_eq!(desk.join("Ann", Some(token), None), Ok(1), "Ann is back with her token");
    assert_eq!(code(desk.join("Ann", None, None)), RefusalCode::NameTaken, "so nobody else gets her seat");
    assert_eq!(desk.teacher(start(false), 0), Ok(1));
    assert_eq!(Desk::new(&text.replace("\"each seat\"", "2")).teacher(start(true), 0), Ok(1));
}

#[test]
fn the_teachers_words_work_only_when_they_make_sense() {
    let mut desk = Desk::two_ways();
    assert!(desk.teacher(Teacher::Hold, 0).is_err() && desk.teacher(Teacher::Resume, 0).is_err());
    assert_eq!(desk.teacher(Teacher::Start { anyway: false }, 0), Ok(1));
    assert!(desk.teacher(Teacher::Start { anyway: false }, 1).is_err());
    assert_eq!(desk.teacher(Teacher::Resume, 1), Ok(0), "it runs already");
    assert_eq!(desk.teacher(Teacher::Hold, 2), Ok(1));
    assert_eq!(desk.teacher(Teacher::Hold, 3), Ok(0), "it waits already");
    assert_eq!(desk.teacher(Teacher::Resume, 4), Ok(1));
    let wet = desk.teacher(Teacher::Close, 60).unwrap_err().reason;
    assert!(wet.contains("is wet for another"), "{wet}");
    assert_eq!(desk.teacher(Teacher::Close, 4000), Ok(1));
    assert_eq!(desk.teacher(Teacher::Close, 4000), Ok(0));
    assert!(desk.teacher(Teacher::Start { anyway: false }, 4001).is_err());
    assert_eq!(desk.teacher(Teacher::Reveal(None), 4002), Ok(1), "names can be told after the end");
    assert_eq!(desk.teacher(Teacher::Reveal(None), 4003), Ok(0));
}

#[test]
fn stopping_the_host_holds_a_running_class_and_leaves_any_other_as_it_is() {
    let mut desk = Desk::two_ways();
    assert_eq!(desk.tell(&Command::Stop, 0), Ok(0));
    desk.teacher(Teacher::Start { anyway: false }, 0).unwrap();
    assert_eq!(desk.tell(&Command::Stop, 30), Ok(1));
    assert_eq!(desk.room.phase, Phase::Held);
}

#[test]
fn a_score_is_taken_from_the_pour_until_the_class_is_closed() {
    let mut desk = Desk::two_ways();
    desk.join("Ann", None, None).unwrap();
    assert_eq!(code(desk.score(0, 417, 1, 1, 5, 0)), RefusalCode::NotPoured);
    desk.teacher(Teacher::Start { anyway: false }, 0).unwrap();
    let pour = desk.room.timetable.find(Action::Pour, Code::new(417), 1).unwrap().at.0 / SECOND_US;
    assert_eq!(code(desk.score(0, 417, 1, 1, 5, pour - 1)), RefusalCode::NotPoured);
    assert_eq!(desk.score(0, 417, 1, 1, 5, pour), Ok(1));
    assert_eq!(code(desk.score(0, 111, 1, 1, 5, pour)), RefusalCode::UnknownCup);
    assert_eq!(code(desk.score(0, 417, 9, 1, 5, pour)), RefusalCode::UnknownCup);
    assert_eq!(code(desk.score(0, 417, 1, 2, 10, pour)), RefusalCode::BadScore);
    assert_eq!(desk.score(0, 417, 1, 2, 6, 3000), Ok(1), "revised, long after the sheet closed");
    desk.teacher(Teacher::Close, 4000).unwrap();
    assert_eq!(code(desk.score(0, 417, 1, 3, 7, 4001)), RefusalCode::ClassClosed);
    let counting: Vec<i32> = desk.room.scores.counting().map(|k| k.score.values["liking"]).collect();
    assert_eq!((counting, desk.room.scores.all().len()), (vec![6], 2));
}

#[test]
fn a_known_score_is_acknowledged_again_even_after_the_close_and_its_id_serves_nothing_else() {
    let mut desk = Desk::two_ways();
    desk.join("Ann", None, None).unwrap();
    desk.join("Bob", None, None).unwrap();
    desk.teacher(Teacher::Start { anyway: false }, 0).unwrap();
    let first = score(Uuid::from_u128(5), 417, 1, 1, 5);
    let send = |desk: &mut Desk, seat: usize, score: Score| {
        let seat = desk.room.seats[seat].id;
        desk.tell(&Command::Score { seat, score }, 3000)
    };
    assert_eq!(send(&mut desk, 0, first.clone()), Ok(1));
    assert_eq!(code(send(&mut desk, 1, first.clone())), RefusalCode::IdReused);
    assert_eq!(code(send(&mut desk, 0, score(first.id, 417, 1, 1, 6))), RefusalCode::IdReused);
    desk.teacher(Teacher::Close, 4000).unwrap();
    assert_eq!(send(&mut desk, 0, first), Ok(0));
}

#[test]
fn one_seat_can_fill_one_cup_only_so_often() {
    let mut desk = Desk::two_ways();
    desk.join("Ann", None, None).unwrap();
    desk.teacher(Teacher::Start { anyway: false }, 0).unwrap();
    for revision in 1..=100 {
        assert_eq!(desk.score(0, 417, 1, revision, 5, 3000), Ok(1));
    }
    assert_eq!(code(desk.score(0, 417, 1, 101, 5, 3000)), RefusalCode::BadScore);
}

#[test]
fn a_ledger_that_is_none_is_refused_in_words() {
    let entry = |seq, event| Entry { seq, at: HostTime(0), event };
    assert!(Room::replay([]).unwrap_err().contains("empty"));
    assert!(Room::replay([entry(1, Event::Closed)]).unwrap_err().contains("does not begin"));
    let mut entries = Desk::two_ways().ledger;
    entries.push(entry(3, Event::Closed));
    assert!(Room::replay(entries).unwrap_err().contains("jumps from event 1 to event 3"));
}

fn answer(id: Uuid, test: u32, pick: Code, revision: u32) -> Answer {
    Answer { id, test, pick, revision }
}

/// A class with tests, its first two seats taken, in the middle of its second round.
fn five_tests() -> Desk {
    let mut desk = Desk::new(include_str!("../../tests/classes/five-tests.toml"));
    desk.join("Ann", None, Some(1)).unwrap();
    desk.join("Bob", None, None).unwrap();
    desk.teacher(Teacher::Start { anyway: false }, 0).unwrap();
    desk
}

fn end_of_round(desk: &Desk, round: u32) -> i64 {
    desk.room.timetable.find(Action::Taste, None, round).unwrap().at.0 / SECOND_US
}

#[test]
fn a_test_is_opened_when_both_of_its_teas_are_in_the_cups_and_once() {
    let mut desk = five_tests();
    let taste = end_of_round(&desk, 1);
    let decants =
        [417, 862].map(|n| desk.room.timetable.find(Action::Decant, Code::new(n), 1).unwrap().end());
    let last = decants.into_iter().max().unwrap().0 / SECOND_US;
    assert_eq!(code(desk.teacher(Teacher::Test(1), last - 1)), RefusalCode::NotPoured);
    assert_eq!(desk.teacher(Teacher::Test(1), last), Ok(1));
    assert_eq!(desk.teacher(Teacher::Test(1), taste), Ok(0), "it is open already");
    assert_eq!(
        code(desk.teacher(Teacher::Test(2), taste)),
        RefusalCode::NotPoured,
        "its liquor is the second"
    );
    for unknown in [0, 6, u32::MAX] {
        assert_eq!(code(desk.teacher(Teacher::Test(unknown), taste)), RefusalCode::UnknownTest);
    }
    let view = desk.room.view(HostTime(taste * SECOND_US), 0);
    assert_eq!(view.tests.iter().map(|t| t.open).collect::<Vec<_>>(), [true, false, false, false, false]);
}

#[test]
fn an_answer_is_one_of_the_seats_own_cups_and_the_last_one_counts() {
    let mut desk = five_tests();
    let now_s = end_of_round(&desk, 1);
    let seats = [desk.room.seats[0].id, desk.room.seats[1].id];
    let [own, other] = seats.map(|seat| desk.room.test_card(1, seat).unwrap().codes);
    let send = |desk: &mut Desk, seat: SeatId, answer| desk.tell(&Command::Answer { seat, answer }, now_s);
    let id = |n| Uuid::from_u128(n);
    assert_eq!(code(send(&mut desk, seats[0], answer(id(1), 1, own[0], 1))), RefusalCode::NotOpen);
    desk.teacher(Teacher::Test(1), now_s).unwrap();
    assert_eq!(send(&mut desk, seats[0], answer(id(1), 1, own[0], 1)), Ok(1));
    assert_eq!(send(&mut desk, seats[0], answer(id(1), 1, own[0], 1)), Ok(0), "sent again");
    assert_eq!(code(send(&mut desk, seats[0], answer(id(1), 1, own[1], 1))), RefusalCode::IdReused);
    assert_eq!(code(send(&mut desk, seats[1], answer(id(1), 1, own[0], 1))), RefusalCode::IdReused);
    assert_eq!(code(send(&mut desk, seats[0], answer(id(2), 7, own[0], 1))), RefusalCode::UnknownTest);
    assert_eq!(code(send(&mut desk, seats[0], answer(id(2), 1, other[0], 1))), RefusalCode::BadAnswer);
    assert_eq!(code(send(&mut desk, seats[0], answer(id(2), 1, own[0], 0))), RefusalCode::BadAnswer);
    assert_eq!(send(&mut desk, seats[0], answer(id(2), 1, own[2], 2)), Ok(1));
    let scored = desk.tell(&Command::Score { seat: seats[0], score: score(id(2), 417, 1, 1, 5) }, now_s);
    assert_eq!(code(scored), RefusalCode::IdReused, "scores and answers share their ids");
    assert_eq!(desk.room.answers.of(seats[0], 1).map(|kept| kept.answer.pick), Some(own[2]));
    assert_eq!(desk.room.answers.all().len(), 2, "all are kept");
    let view = desk.room.view(HostTime(now_s * SECOND_US), 0);
    assert_eq!(
        (view.tests[0].answered, view.tests[0].missing.as_slice()),
        (view::Tally { present: 1, due: 2 }, &["Bob".to_string()][..])
    );
    for revision in 3..=100 {
        assert_eq!(send(&mut desk, seats[0], answer(id(revision.into()), 1, own[0], revision)), Ok(1));
    }
    assert_eq!(code(send(&mut desk, seats[0], answer(id(101), 1, own[0], 101))), RefusalCode::BadAnswer);
    desk.teacher(Teacher::Close, 4000).unwrap();
    assert_eq!(code(send(&mut desk, seats[1], answer(id(200), 1, other[0], 1))), RefusalCode::ClassClosed);
    assert_eq!(send(&mut desk, seats[0], answer(id(1), 1, own[0], 1)), Ok(0), "a known one is acknowledged");
}

#[test]
fn what_was_answered_is_told_tea_by_tea_and_right_or_wrong() {
    let mut desk = five_tests();
    let now_s = end_of_round(&desk, 1);
    let seats = [desk.room.seats[0].id, desk.room.seats[1].id];
    for test in [1, 4, 5] {
        desk.teacher(Teacher::Test(test), now_s).unwrap();
        for (n, &seat) in seats.iter().enumerate() {
            // The first cup from the left, whatever is in it.
            let pick = desk.room.test_card(test, seat).unwrap().codes[0];
            let answer = answer(desk.fresh(), test, pick, 1);
            desk.tell(&Command::Answer { seat, answer }, now_s).unwrap();
            let given = &desk.room.tests_given()[test as usize - 1];
            assert_eq!((given.answers.len(), given.seats, given.open), (n + 1, 2, true));
            let set = desk.room.class.tests[test as usize - 1].set(n).unwrap();
            let found = given.answers[n];
            assert_eq!((found.seat, found.picked), (seat, set.cups[0].tea));
            let right = match test {
                1 => Some(set.cups.iter().filter(|cup| cup.tea == found.picked).count() == 1),
                4 => None,
                _ => Some(found.picked == Side::First),
            };
            assert_eq!(found.correct, right, "test {test}");
        }
    }
    let given = desk.room.tests_given();
    assert_eq!(
        given[0].teas.each_ref().map(|t| (t.code, t.name.clone())),
        [(Code::new(417), None), (Code::new(862), None)]
    );
    assert!(given[1].answers.is_empty() && !given[1].open);
    desk.teacher(Teacher::Reveal(None), now_s).unwrap();
    assert_eq!(desk.room.tests_given()[0].teas[1].name.as_deref(), Some("Copper Pier"));
}

#[test]
fn the_view_counts_what_is_in_of_what_is_due() {
    let mut desk = Desk::two_ways();
    desk.join("Ann", None, None).unwrap();
    desk.join("Bob", None, None).unwrap();
    desk.teacher(Teacher::Start { anyway: false }, 0).unwrap();
    let last_pour =
        desk.room.timetable.cues.iter().rfind(|c| c.steep == 1 && c.action == Action::Pour).unwrap().at.0
            / SECOND_US;
    desk.score(0, 417, 1, 1, 5, last_pour).unwrap();
    desk.score(0, 417, 1, 2, 6, last_pour).unwrap();
    let view = desk.room.view(HostTime(last_pour * SECOND_US), 3);
    assert_eq!((view.round, view.rounds, view.coming.len()), (1, 3, 3));
    assert_eq!(view.class_in, view::Tally { present: 1, due: 8 });
    assert_eq!(view.seats[0].sheets, view::Tally { present: 1, due: 4 });
    let tea = view.teas.iter().find(|t| t.code.to_string() == "417").unwrap();
    assert_eq!(tea.cup_in, view::Tally { present: 1, due: 2 });
    assert!(view.teas.is_sorted_by_key(|t| t.code), "the order of the file would tell");
}

#[derive(Clone, Debug)]
enum Step {
    Join(u8, Option<u8>),
    Score { seat: u8, tea: u8, steep: u32, revision: u32, liking: i32, again: bool },
    Answer { seat: u8, test: u32, cup: usize, revision: u32, again: bool },
    Wish(Teacher),
    Stop,
}

fn a_step() -> impl Strategy<Value = Step> {
    let wish = prop_oneof![
        Just(Teacher::Start { anyway: false }),
        Just(Teacher::Hold),
        Just(Teacher::Resume),
        Just(Teacher::Reveal(None)),
        Just(Teacher::Reveal(Code::new(238))),
        (0u8..6).prop_map(|n| Teacher::Release(format!("seat {n}"))),
        (0u32..7).prop_map(Teacher::Test),
        Just(Teacher::Close),
    ];
    prop_oneof![
        3 => (0u8..6, prop::option::of(0u8..6)).prop_map(|(n, token)| Step::Join(n, token)),
        8 => (0u8..6, 0u8..5, 0u32..5, 0u32..4, -1i32..11, any::<bool>())
            .prop_map(|(seat, tea, steep, revision, liking, again)| Step::Score { seat, tea, steep, revision, liking, again }),
        4 => (0u8..6, 0u32..7, 0usize..4, 0u32..4, any::<bool>())
            .prop_map(|(seat, test, cup, revision, again)| Step::Answer { seat, test, cup, revision, again }),
        4 => wish.prop_map(Step::Wish),
        1 => Just(Step::Stop),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]
    #[test]
    fn replaying_the_ledger_gives_the_live_state_whatever_happened(steps in prop::collection::vec((a_step(), 0i64..120), 0..80)) {
        let mut desk = Desk::new(include_str!("../../tests/classes/five-tests.toml"));
        desk.join("Pia", None, Some(1)).unwrap();
        let (mut now_s, mut last, mut last_answer) = (0, None, None);
        for (step, passed_s) in steps {
            now_s += passed_s;
            let teas = [417, 238, 862, 305, 999];
            // A refusal is an answer too; what matters is that it leaves no trace.
            let before = desk.room.clone();
            let told = match step {
                Step::Join(n, token) => {
                    let token = token.map(|t| desk.room.seats.get(t as usize).map_or(Token(Uuid::nil()), |s| s.token));
                    desk.join(&format!("seat {n}"), token, None)
                }
                Step::Score { seat, tea, steep, revision, liking, again } => {
                    let Some(seat) = desk.room.seats.get(seat as usize).map(|s| s.id) else { continue };
                    let id = desk.fresh();
                    let new = score(id, teas[tea as usize], steep, revision, liking);
                    let score = if again { last.clone().unwrap_or(new) } else { new };
                    last = Some(score.clone());
                    desk.tell(&Command::Score { seat, score }, now_s)
                }
                Step::Answer { seat, test, cup, revision, again } => {
                    let Some(seat) = desk.room.seats.get(seat as usize).map(|s| s.id) else { continue };
                    let own = desk.room.test_card(test, seat).and_then(|card| card.codes.get(cup).copied());
                    let new = answer(desk.fresh(), test, own.unwrap_or(Code::new(999).unwrap()), revision);
                    let answer = if again { last_answer.unwrap_or(new) } else { new };
                    last_answer = Some(answer);
                    desk.tell(&Command::Answer { seat, answer }, now_s)
                }
                Step::Wish(wish) => desk.teacher(wish, now_s),
                Step::Stop => desk.tell(&Command::Stop, now_s),
            };
            if told.is_err() {
                prop_assert_eq!(&before, &desk.room);
            }
        }
        // Through text and back, as the ledger stores it.
        let stored = desk.ledger.iter().map(|entry| {
            let event = serde_json::from_str(&serde_json::to_string(&entry.event).unwrap()).unwrap();
            Entry { event, ..entry.clone() }
        });
        prop_assert_eq!(Room::replay(stored).unwrap(), desk.room);
    }

    #[test]
    fn scores_sent_one_to_five_times_in_any_order_count_once(
        (order, count) in (1usize..8).prop_flat_map(|n| {
            let sends: Vec<usize> = (0..n).flat_map(|i| vec![i; 1 + i % 5]).collect();
            (Just(sends).prop_shuffle(), Just(n))
        }),
    ) {
        let mut desk = Desk::two_ways();
        desk.join("Ann", None, None).unwrap();
        desk.teacher(Teacher::Start { anyway: false }, 0).unwrap();
        let seat = desk.room.seats[0].id;
        for i in order {
            let score = score(Uuid::from_u128(i as u128), 417, 1, i as u32 + 1, 1 + i as i32);
            desk.tell(&Command::Score { seat, score }, 3000).unwrap();
        }
        prop_assert_eq!(desk.room.scores.all().len(), count, "all are kept, each once");
        let counting: Vec<u32> = desk.room.scores.counting().map(|k| k.score.revision).collect();
        prop_assert_eq!(counting, vec![count as u32], "the last revision counts, whatever came last");
    }
}
