//! What may happen when.

use super::*;
use class::{MAX_SEATS, read};
use protocol::time::SECOND_US;
use protocol::wire::{Join, RefusalCode};
use protocol::{Action, Answer, Cue, Score};

mod adapting;
mod away;
mod closing;
mod correcting;
mod difference_test;
mod door;
mod hands;
mod laws;
mod places;
mod reopening;
mod roles;
mod saying;
mod steering;
mod tasting;
mod voiding;

/// A room that is driven by commands and keeps its ledger in memory, as the owner does with the real one.
struct Led {
    room: Room,
    rounds: Rounds,
    ledger: Vec<Entry>,
    ids: u128,
    letting: Letting,
}

impl Led {
    fn new(text: &str) -> Self {
        let class = Box::new(read::class(text).unwrap().with_codes(7));
        let first = Event::Class { class_id: Uuid::from_u128(1), seed: 7, class };
        let ledger = vec![Entry::new(1, HostTime(0), first)];
        let room = Room::replay(ledger.clone()).unwrap();
        let letting = Letting { places: Some(MAX_SEATS), by_name: false, on_paper: false };
        Self { rounds: plan::plan_rounds(&room.class), room, ledger, ids: 100, letting }
    }

    fn two_ways() -> Self {
        Self::new(include_str!("../../tests/classes/two-ways.toml"))
    }

    fn fresh(&mut self) -> Uuid {
        self.ids += 1;
        Uuid::from_u128(self.ids)
    }

    fn command(&mut self, command: &Command, now_s: i64) -> Result<usize, Refusal> {
        let now = HostTime(now_s * SECOND_US).max(self.room.last_at);
        let events = self.room.decide(command.clone(), now, &self.rounds)?;
        let count = events.len();
        events.into_iter().for_each(|event| self.happens(now, event));
        Ok(count)
    }

    fn teacher(&mut self, wish: Teacher, now_s: i64) -> Result<usize, Refusal> {
        self.command(&Command::Teacher(wish), now_s)
    }

    fn join(&mut self, name: &str, token: Option<Token>, pourer: Option<u8>) -> Result<usize, Refusal> {
        self.join_as(name, token, pourer, protocol::Role::Scores, 0)
    }

    fn join_as(
        &mut self,
        name: &str,
        token: Option<Token>,
        pourer: Option<u8>,
        role: protocol::Role,
        now_s: i64,
    ) -> Result<usize, Refusal> {
        let token = token.unwrap_or(Token(self.fresh()));
        let class_id = self.room.class_id;
        let join = Join { pourer, role, ..Join::new(class_id, name, token) };
        let (comer, fresh_seat) = (Comer::Says(token), SeatId(self.fresh()));
        self.command(&Command::Join { join, comer, fresh_seat, letting: self.letting }, now_s)
    }

    fn correct(&mut self, wish: Correction) -> Result<usize, Refusal> {
        let events = self.room.correct(&wish)?;
        let (count, at) = (events.len(), self.room.last_at);
        events.into_iter().for_each(|event| self.happens(at, event));
        Ok(count)
    }

    fn happens(&mut self, at: HostTime, event: Event) {
        let seq = self.room.seq + 1;
        self.room.fold(seq, at, event.clone());
        self.ledger.push(Entry::new(seq, at, event));
    }

    /// When the cups of a round are all there, in seconds.
    fn cups_of(&self, round: u32) -> i64 {
        let decants =
            self.room.timetable.cues.iter().filter(|c| c.round() == round && c.action == Action::Decant);
        decants.map(|c| c.end().0 / SECOND_US).max().unwrap()
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
        self.command(&Command::Score { seat: self.room.seats[seat].id, score }, now_s)
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
    let mut led = Led::two_ways();
    led.join("Ann", None, None).unwrap();
    assert_eq!(code(led.join(" ANN ", None, None)), RefusalCode::NameTaken);
    let (seat, token) = (led.room.seats[0].id, led.room.seats[0].token);
    assert_eq!(led.join("whoever", Some(token), None), Ok(0), "the token is enough");
    assert_eq!(
        led.join("Bob", Some(Token(Uuid::from_u128(9))), None),
        Ok(1),
        "a token of one's own is a new seat"
    );
    assert_eq!(
        led.join("Bob", Some(Token(Uuid::from_u128(9))), None),
        Ok(0),
        "and the same seat when the welcome was lost"
    );
    assert_eq!(code(led.teacher(Teacher::Release("Zoe".into()), 1)), RefusalCode::BadName);
    led.teacher(Teacher::Release("ann".into()), 1).unwrap();
    led.join("Ann", None, None).unwrap();
    assert_eq!(led.room.seats.len(), 2);
    assert_eq!(led.room.seats[0].id, seat, "the seat and its scores are kept");
    assert!(led.room.seat_with(token).is_none(), "the lost token no longer opens it");
    assert_eq!(code(led.join("\u{1b}[31mEve", None, None)), RefusalCode::BadName);
}

#[test]
fn a_pourers_place_is_held_by_one_seat() {
    let text = include_str!("../../tests/classes/two-ways.toml");
    let mut led = Led::new(&text.replace("\"each seat\"", "2"));
    assert_eq!(code(led.join("Ann", None, Some(3))), RefusalCode::BadPourer);
    led.join("Ann", None, Some(2)).unwrap();
    assert_eq!(code(led.join("Bob", None, Some(2))), RefusalCode::BadPourer);
    let token = led.room.seats[0].token;
    assert_eq!(led.join("Ann", Some(token), Some(2)), Ok(0));
    assert_eq!(led.join("Ann", Some(token), Some(1)), Ok(1));
    assert_eq!(led.room.hands_of(&led.room.seats[0]), Some(1));
    assert_eq!(code(Led::two_ways().join("Ann", None, Some(1))), RefusalCode::BadPourer);
}

#[test]
fn a_released_pourers_place_can_be_taken_by_another_and_a_class_does_not_begin_without_its_pourers_unasked() {
    let text = include_str!("../../tests/classes/two-ways.toml");
    let mut led = Led::new(&text.replace("\"each seat\"", "1"));
    let start = |anyway| Teacher::Start { anyway };
    assert!(led.teacher(start(false), 0).unwrap_err().reason.contains("nobody is pourer 1"));
    led.join("Ann", None, Some(1)).unwrap();
    let token = led.room.seats[0].token;
    led.teacher(Teacher::Release("Ann".into()), 0).unwrap();
    led.join("Bob", None, Some(1)).unwrap();
    assert_eq!(led.join("Ann", Some(token), None), Ok(1), "Ann is back with her token");
    assert_eq!(code(led.join("Ann", None, None)), RefusalCode::NameTaken, "so nobody else gets her seat");
    assert_eq!(led.teacher(start(false), 0), Ok(1));
    assert_eq!(Led::new(&text.replace("\"each seat\"", "2")).teacher(start(true), 0), Ok(1));
}

#[test]
fn the_teachers_words_work_only_when_they_make_sense() {
    let mut led = Led::two_ways();
    assert!(led.teacher(Teacher::Hold, 0).is_err() && led.teacher(Teacher::Resume, 0).is_err());
    assert_eq!(led.teacher(Teacher::Start { anyway: false }, 0), Ok(1));
    assert!(led.teacher(Teacher::Start { anyway: false }, 1).is_err());
    assert_eq!(led.teacher(Teacher::Resume, 1), Ok(0), "it runs already");
    assert_eq!(led.teacher(Teacher::Hold, 2), Ok(1));
    assert_eq!(led.teacher(Teacher::Hold, 3), Ok(0), "it waits already");
    assert_eq!(led.teacher(Teacher::Resume, 4), Ok(1));
    let wet = led.teacher(Teacher::Close { last_call_s: 0 }, 60).unwrap_err().reason;
    assert!(wet.contains("is wet for another"), "{wet}");
    assert_eq!(led.teacher(Teacher::Close { last_call_s: 0 }, 4000), Ok(1));
    assert_eq!(led.teacher(Teacher::Close { last_call_s: 0 }, 4000), Ok(0));
    assert!(led.teacher(Teacher::Start { anyway: false }, 4001).is_err());
    assert_eq!(led.teacher(Teacher::Reveal(None), 4002), Ok(1), "names can be revealed after the end");
    assert_eq!(led.teacher(Teacher::Reveal(None), 4003), Ok(0));
}

#[test]
fn stopping_the_host_holds_a_running_class_and_leaves_any_other_as_it_is() {
    let mut led = Led::two_ways();
    assert_eq!(led.command(&Command::Stop, 0), Ok(0));
    led.teacher(Teacher::Start { anyway: false }, 0).unwrap();
    assert_eq!(led.command(&Command::Stop, 30), Ok(1));
    assert_eq!(led.room.phase, Phase::Held);
}

#[test]
fn a_score_is_taken_from_the_end_of_the_decant_until_the_class_is_closed() {
    let mut led = Led::two_ways();
    led.join("Ann", None, None).unwrap();
    assert_eq!(code(led.score(0, 417, 1, 1, 5, 0)), RefusalCode::NotPoured);
    led.teacher(Teacher::Start { anyway: false }, 0).unwrap();
    let there = led.room.timetable.find(Action::Decant, Code::new(417), 1).unwrap().end().0 / SECOND_US;
    let early = led.score(0, 417, 1, 1, 5, there - 1).unwrap_err();
    assert_eq!(early.code, RefusalCode::NotPoured);
    assert_eq!(early.reason, "417 steep 1 is not in the cup yet; score it after its decant");
    assert_eq!(led.score(0, 417, 1, 1, 5, there), Ok(1));
    assert_eq!(code(led.score(0, 111, 1, 1, 5, there)), RefusalCode::UnknownCup);
    assert_eq!(code(led.score(0, 417, 9, 1, 5, there)), RefusalCode::UnknownCup);
    assert_eq!(code(led.score(0, 417, 1, 2, 10, there)), RefusalCode::BadScore);
    assert_eq!(led.score(0, 417, 1, 2, 6, 3000), Ok(1), "revised, long after the sheet closed");
    led.teacher(Teacher::Close { last_call_s: 0 }, 4000).unwrap();
    assert_eq!(code(led.score(0, 417, 1, 3, 7, 4001)), RefusalCode::ClassClosed);
    let counting: Vec<i32> = led.room.scores.counting().map(|k| k.score.values["liking"]).collect();
    assert_eq!((counting, led.room.scores.all().len()), (vec![6], 2));
}

#[test]
fn a_known_score_is_acknowledged_again_even_after_the_close_and_its_id_serves_nothing_else() {
    let mut led = Led::two_ways();
    led.join("Ann", None, None).unwrap();
    led.join("Bob", None, None).unwrap();
    led.teacher(Teacher::Start { anyway: false }, 0).unwrap();
    let first = score(Uuid::from_u128(5), 417, 1, 1, 5);
    let send = |led: &mut Led, seat: usize, score: Score| {
        let seat = led.room.seats[seat].id;
        led.command(&Command::Score { seat, score }, 3000)
    };
    assert_eq!(send(&mut led, 0, first.clone()), Ok(1));
    assert_eq!(code(send(&mut led, 1, first.clone())), RefusalCode::IdReused);
    assert_eq!(code(send(&mut led, 0, score(first.id, 417, 1, 1, 6))), RefusalCode::IdReused);
    led.teacher(Teacher::Close { last_call_s: 0 }, 4000).unwrap();
    assert_eq!(send(&mut led, 0, first), Ok(0));
}

#[test]
fn one_seat_can_fill_one_cup_only_so_often() {
    let mut led = Led::two_ways();
    led.join("Ann", None, None).unwrap();
    led.teacher(Teacher::Start { anyway: false }, 0).unwrap();
    for revision in 1..=100 {
        assert_eq!(led.score(0, 417, 1, revision, 5, 3000), Ok(1));
    }
    assert_eq!(code(led.score(0, 417, 1, 101, 5, 3000)), RefusalCode::BadScore);
}

#[test]
fn a_ledger_that_is_none_is_refused_in_words() {
    let entry = |seq, event| Entry::new(seq, HostTime(0), event);
    assert!(Room::replay([]).unwrap_err().contains("empty"));
    assert!(Room::replay([entry(1, Event::Closed)]).unwrap_err().contains("does not begin"));
    let mut entries = Led::two_ways().ledger;
    entries.push(entry(3, Event::Closed));
    assert!(Room::replay(entries).unwrap_err().contains("jumps from event 1 to event 3"));
}

fn answer(id: Uuid, test: u32, pick: Code, revision: u32) -> Answer {
    Answer { id, test, pick, revision }
}

#[test]
fn the_view_counts_what_is_in_of_what_is_due() {
    let mut led = Led::two_ways();
    led.join("Ann", None, None).unwrap();
    led.join("Bob", None, None).unwrap();
    led.teacher(Teacher::Start { anyway: false }, 0).unwrap();
    let last_cup = led.cups_of(1);
    led.score(0, 417, 1, 1, 5, last_cup).unwrap();
    led.score(0, 417, 1, 2, 6, last_cup).unwrap();
    let before = led.room.view(HostTime((last_cup - 1) * SECOND_US), 3);
    assert_eq!(before.class_in, view::Tally { present: 1, due: 6 }, "the last cup is not there yet");
    let view = led.room.view(HostTime(last_cup * SECOND_US), 3);
    assert_eq!((view.round, view.rounds, view.coming.len()), (1, 3, 3));
    assert_eq!(view.class_in, view::Tally { present: 1, due: 8 });
    assert_eq!(view.seats[0].sheets, view::Tally { present: 1, due: 4 });
    let tea = view.teas.iter().find(|t| t.code.to_string() == "417").unwrap();
    assert_eq!(tea.cup_in, view::Tally { present: 1, due: 2 });
    assert!(view.teas.is_sorted_by_key(|t| t.code), "the order of the file would give the teas away");
}
