//! A tea is given to another pourer; a pourer leaves, is back, and somebody else takes the place.

use super::*;
use plan::hold::BEGUN_S;

const TWO_POURERS: &str = include_str!("../../../tests/classes/five-teas.toml");

/// A table of two, Ann and Ben, that runs; Cy tastes.
fn table() -> Led {
    let mut led = Led::new(&TWO_POURERS.replace("pourers = 1", "pourers = 2"));
    led.join("Ann", None, Some(1)).unwrap();
    led.join("Ben", None, Some(2)).unwrap();
    led.join("Cy", None, None).unwrap();
    led.teacher(Teacher::Start { anyway: false }, 0).unwrap();
    led
}

/// Whose hands pour and decant, for every cue of the table that `is` says.
fn hands(led: &Led, is: impl Fn(&Cue) -> bool) -> Vec<u8> {
    let work = led.room.timetable.cues.iter().filter(|c| c.hands > 0 && is(c));
    let mut hands: Vec<u8> = work.map(|c| c.hands).collect();
    hands.sort_unstable();
    hands.dedup();
    hands
}

/// A second at which something of each pourer's is wet, and what that is.
fn both_wet(led: &Led) -> (i64, [Cue; 2]) {
    let pours = led.room.timetable.cues.iter().filter(|c| c.action == Action::Pour);
    let now_s = pours.map(|c| c.end().0 / SECOND_US + 2);
    now_s.into_iter().find_map(|now_s| Some((now_s, wet_of_each(led, now_s)?))).unwrap()
}

fn wet_of_each(led: &Led, now_s: i64) -> Option<[Cue; 2]> {
    let soon = HostTime(now_s * SECOND_US).plus_s(BEGUN_S);
    let wet = |hands: u8| {
        let table = &led.room.timetable;
        let decants =
            table.cues.iter().filter(|c| c.action == Action::Decant && c.hands == hands && c.at > soon);
        let mut decants =
            decants.filter(|c| table.find(Action::Pour, c.code, c.round()).is_some_and(|p| p.at < soon));
        decants.next().cloned()
    };
    Some([wet(1)?, wet(2)?])
}

fn steer(led: &mut Led, wish: Steering, now_s: i64) -> Result<usize, Refusal> {
    led.teacher(Teacher::Steer(wish), now_s)
}

#[test]
fn a_tea_is_given_to_one_pourer_with_all_that_is_dry_of_it_and_undone() {
    let mut led = table();
    let (now_s, [of_ann, _]) = both_wet(&led);
    let code = of_ann.code.unwrap();
    let dry = |c: &Cue| c.code == Some(code) && c.at.0 / SECOND_US > now_s && c.round() > of_ann.round();
    steer(&mut led, Steering::Hand { code, to: Some("ben".into()) }, now_s).unwrap();
    assert_eq!(hands(&led, |c| dry(c) && !c.action.is_at_kettle()), [2]);
    steering::holds(&led.room).unwrap();
    assert_eq!(steer(&mut led, Steering::Hand { code, to: Some("2".into()) }, now_s), Ok(0));
    steer(&mut led, Steering::Undo, now_s + 1).unwrap();
    assert_eq!(led.room.course.handed(code), None);
    steer(&mut led, Steering::Hand { code, to: Some("1".into()) }, now_s + 2).unwrap();
    assert_eq!(hands(&led, |c| dry(c) && !c.action.is_at_kettle()), [1]);
    steer(&mut led, Steering::Hand { code, to: None }, now_s + 3).unwrap();
    assert_eq!(Room::replay(led.ledger.clone()).unwrap(), led.room);
}

#[test]
fn what_is_wet_of_a_tea_that_is_named_goes_over_where_the_other_hands_are_free_and_nothing_else_that_is_wet()
{
    let (mut over, mut kept) = (0, 0);
    let led = table();
    let ends: Vec<i64> = led.room.timetable.cues.iter().map(|c| c.end().0 / SECOND_US + 1).collect();
    for now_s in ends {
        let Some([of_ann, of_ben]) = wet_of_each(&led, now_s) else { continue };
        let mut led = table();
        steer(&mut led, Steering::Hand { code: of_ann.code.unwrap(), to: Some("Ben".into()) }, now_s)
            .unwrap();
        let table = &led.room.timetable;
        let is = |of: &Cue| table.find(Action::Decant, of.code, of.round()).unwrap().clone();
        assert_eq!((is(&of_ann).at, is(&of_ben)), (of_ann.at, of_ben.clone()));
        match is(&of_ann) {
            Cue { hands: 2, moved_in, .. } => {
                over += 1;
                assert_eq!(moved_in, Some(table.revision), "every seat hears of it");
            }
            Cue { hands, .. } => {
                kept += 1;
                let (ours, theirs) = (of_ann.at..of_ann.end(), &led.room.timetable.cues);
                let busy = theirs.iter().any(|c| c.hands == 2 && c.at < ours.end && ours.start < c.end());
                assert!(hands == 1 && busy, "Ben's hands are not free");
            }
        }
        steering::holds(&led.room).unwrap();
    }
    assert!(over > 0, "{over} went over, {kept} stayed");
}

#[test]
fn a_pourer_who_leaves_decants_what_is_wet_and_the_others_do_the_rest() {
    let mut led = table();
    let (now_s, [of_ann, _]) = both_wet(&led);
    steer(&mut led, Steering::PourerLeaves("Ann".into()), now_s).unwrap();
    let is = led.room.timetable.find(Action::Decant, of_ann.code, of_ann.round()).unwrap();
    assert_eq!(is, &of_ann, "what is wet keeps its pourer");
    let later = |c: &Cue| c.round() > of_ann.round() && !c.action.is_within();
    assert_eq!(hands(&led, later), [2]);
    steering::holds(&led.room).unwrap();
    assert_eq!(steer(&mut led, Steering::PourerLeaves("1".into()), now_s), Ok(0));
    let last = steer(&mut led, Steering::PourerLeaves("Ben".into()), now_s).unwrap_err();
    assert!(last.reason.contains("nobody else is left to pour"), "{}", last.reason);
    let code = of_ann.code.unwrap();
    let gone = steer(&mut led, Steering::Hand { code, to: Some("Ann".into()) }, now_s).unwrap_err();
    assert!(gone.reason.contains("pourer 1 has left"), "{}", gone.reason);
    let no_pourer = steer(&mut led, Steering::Hand { code, to: Some("Cy".into()) }, now_s).unwrap_err();
    assert_eq!(no_pourer.reason, "Cy is no pourer; name one by number, 1 to 2");
    steer(&mut led, Steering::PourerBack("Ann".into()), now_s + 1).unwrap();
    assert_eq!(hands(&led, later), [1, 2]);
    steer(&mut led, Steering::Undo, now_s + 2).unwrap();
    assert_eq!(hands(&led, later), [2]);
    assert_eq!(Room::replay(led.ledger.clone()).unwrap(), led.room);
}

#[test]
fn where_each_brews_or_one_pours_nothing_is_handed_over() {
    for (text, words) in
        [(TWO_POURERS, "one pourer"), (include_str!("../../../tests/classes/two-ways.toml"), "")]
    {
        let mut led = Led::new(text);
        led.join("Ann", None, None).unwrap();
        led.teacher(Teacher::Start { anyway: true }, 0).unwrap();
        let refusal = steer(&mut led, Steering::PourerLeaves("1".into()), 5).unwrap_err();
        assert!(refusal.reason.contains(words) && refusal.reason.contains("class"), "{}", refusal.reason);
    }
}

#[test]
fn a_taster_takes_over_the_place_of_a_pourer_with_what_is_wet_and_who_had_it_goes_on_tasting() {
    let mut led = table();
    let (now_s, _) = both_wet(&led);
    let is = |pourer: &str, name: &str| Teacher::PourerIs { pourer: pourer.into(), name: name.into() };
    let pourers = |led: &Led| led.room.seats.iter().map(|seat| seat.pourer).collect::<Vec<_>>();
    let before = led.room.timetable.clone();
    assert_eq!(led.teacher(is("Ann", "cy"), now_s), Ok(2));
    assert_eq!(pourers(&led), [None, Some(2), Some(1)]);
    assert_eq!(led.room.timetable, before, "the place has the work, whoever sits there");
    assert_eq!(led.teacher(is("1", "Cy"), now_s), Ok(0));
    // Ann's program still asks for the place that it was started for.
    let token = led.room.seats[0].token;
    assert_eq!(led.join("Ann", Some(token), Some(1)), Ok(0));
    assert_eq!(pourers(&led), [None, Some(2), Some(1)]);
    let refused = led.teacher(is("1", "Ben"), now_s).unwrap_err().reason;
    assert!(refused.starts_with("Ben is pourer 2; `pourer 2 is` and another name first"), "{refused}");
    // Who takes over the place of somebody who has left pours what is dry again.
    steer(&mut led, Steering::PourerLeaves("Cy".into()), now_s).unwrap();
    assert!(led.room.course.has_left(1));
    led.teacher(is("1", "Ann"), now_s + 1).unwrap();
    assert!(!led.room.course.has_left(1));
    assert_eq!(pourers(&led), [Some(1), Some(2), None]);
    steering::holds(&led.room).unwrap();
    assert_eq!(Room::replay(led.ledger.clone()).unwrap(), led.room);
}
