//! A tasting is made longer or ended while the class runs.

use super::*;

/// A class that runs, the first round tasted since five seconds.
fn given() -> (Led, i64) {
    let mut led = Led::new(include_str!("../../../tests/classes/two-ways.toml"));
    led.join("Ann", None, None).unwrap();
    led.teacher(Teacher::Start { anyway: true }, 0).unwrap();
    let now_s = led.at_of(Action::Taste, 1) + 5;
    (led, now_s)
}

impl Led {
    fn at_of(&self, action: Action, round: u32) -> i64 {
        self.room.timetable.find(action, None, round).unwrap().at.0 / SECOND_US
    }

    fn pours_from(&self, round: u32) -> i64 {
        let pours =
            self.room.timetable.cues.iter().filter(|c| c.action == Action::Pour && c.round() == round);
        pours.map(|c| c.at.0 / SECOND_US).min().unwrap()
    }

    fn taste(&mut self, wish: Steering, now_s: i64) -> Result<usize, Refusal> {
        self.teacher(Teacher::Steer(wish), now_s)
    }
}

#[test]
fn more_time_to_taste_moves_the_end_of_the_tasting_and_all_that_is_dry() {
    let (mut led, now_s) = given();
    let (closes_s, pours_s, revision) =
        (led.at_of(Action::SheetCloses, 1), led.pours_from(2), led.room.timetable.revision);
    let decants = |led: &Led| -> Vec<Cue> {
        led.room
            .timetable
            .cues
            .iter()
            .filter(|c| c.action == Action::Decant && c.round() == 1)
            .cloned()
            .collect()
    };
    let wet = decants(&led);
    led.taste(Steering::Taste { by_s: 40 }, now_s).unwrap();
    assert_eq!(led.at_of(Action::SheetCloses, 1), closes_s + 40);
    assert_eq!((led.pours_from(2) - pours_s, led.room.timetable.revision), (40, revision + 1));
    assert_eq!(decants(&led), wet);
    let second_s = led.at_of(Action::SheetCloses, 2) - led.at_of(Action::Taste, 2);
    assert_eq!(second_s, i64::from(led.room.class.taste_s), "one round's time is that round's");
    led.taste(Steering::Undo, now_s + 2).unwrap();
    assert_eq!((led.at_of(Action::SheetCloses, 1), led.pours_from(2)), (closes_s, pours_s));
    assert_eq!(Room::replay(led.ledger.clone()).unwrap(), led.room);
}

#[test]
fn a_tasting_ends_when_the_seats_have_heard_of_it() {
    let (mut led, now_s) = given();
    let earlier_s = led.at_of(Action::SheetCloses, 1) - (now_s + i64::from(plan::steer::STEER_S));
    let pours_s = led.pours_from(2);
    led.taste(Steering::TasteEnd, now_s).unwrap();
    assert_eq!(led.at_of(Action::SheetCloses, 1), now_s + i64::from(plan::steer::STEER_S));
    assert_eq!(pours_s - led.pours_from(2), earlier_s);
    assert_eq!(led.taste(Steering::TasteEnd, now_s + 1), Ok(0), "it is ending already");
}

#[test]
fn the_next_tasting_is_changed_while_none_lasts() {
    let (mut led, _) = given();
    let now_s = led.pours_from(2) + 20;
    led.taste(Steering::Taste { by_s: -20 }, now_s).unwrap();
    let second_s = led.at_of(Action::SheetCloses, 2) - led.at_of(Action::Taste, 2);
    assert_eq!(second_s, i64::from(led.room.class.taste_s) - 20);
}

#[test]
fn what_cant_be_is_refused_with_what_to_do() {
    let (mut led, now_s) = given();
    for (wish, at_s, words) in [
        (Steering::Taste { by_s: -1000 }, now_s, "`taste end`"),
        (Steering::Taste { by_s: 4000 }, now_s, "to 3600 s"),
        (Steering::TasteEnd, led.pours_from(2) + 3, "nothing is tasted just now"),
    ] {
        let refusal = led.room.clone();
        let words_said = led.taste(wish, at_s).unwrap_err().reason;
        assert!(words_said.contains(words), "{words_said}");
        assert_eq!(led.room, refusal);
    }
    led.teacher(Teacher::Hold, now_s + 1).unwrap();
    assert!(
        led.taste(Steering::Taste { by_s: 30 }, now_s + 2).unwrap_err().reason.contains("`resume` first")
    );
}
