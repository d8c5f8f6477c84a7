//! Whole classes on simulated networks: links, machines and programs fail, and every promise is kept.

use protocol::{Action, Code, Cue};
use room::{Event, Teacher};
use seat::app::Happening;
use seat::host_clock::{Doubt, Why};
use std::collections::BTreeSet;
use tests::sim::faults::{Fault, Links, Restart, Trouble};
use tests::sim::sweep::sweep;
use tests::sim::trace::{Shown, What};
use tests::sim::verdict::judge;
use tests::sim::world::{LIMIT_MS, Nap, World};
use tests::sim::{Held, run};

/// Seeds in the sweep; `simulate` holds as many as you like.
const SWEEP: u64 = 12;

/// Holds a class in which every promise is kept.
fn hold(world: &World) -> Held {
    let held = run(world).unwrap_or_else(|words| panic!("{words}"));
    let broken: Vec<String> = judge(&held).iter().map(ToString::to_string).collect();
    assert!(broken.is_empty(), "seed {}, {:#?}\n{}", world.seed, world.faults, broken.join("\n"));
    held
}

fn fault(from_ms: u64, to_ms: u64, what: Trouble) -> Fault {
    Fault { from_ms, to_ms: Some(to_ms), what }
}

/// A seat's cues: true instant, cue, what the screen showed, whether it was missed.
fn cues<'a>(held: &'a Held, seat: &str) -> Vec<(i64, &'a Cue, &'a Shown, bool)> {
    let of = held.trace.iter().filter(|record| record.who == seat);
    of.filter_map(|record| match &record.what {
        What::Cue { cue, shown, missed, .. } => Some((record.at_us, cue, shown, *missed)),
        _ => None,
    })
    .collect()
}

/// What a seat said, and when.
fn said<'a>(held: &'a Held, seat: &str) -> Vec<(i64, &'a Happening)> {
    let of = held.trace.iter().filter(|record| record.who == seat);
    of.filter_map(|record| match &record.what {
        What::Said(what) => Some((record.at_us, what)),
        _ => None,
    })
    .collect()
}

/// The cues of a class without their instants by true time.
fn cued<'a>(held: &'a Held, seat: &str) -> Vec<&'a Cue> {
    cues(held, seat).into_iter().map(|(_, cue, ..)| cue).collect()
}

fn notices(held: &Held) -> String {
    let opened = held.trace.iter().filter_map(|record| match &record.what {
        What::Opened { notices, .. } => Some(notices.join("\n")),
        _ => None,
    });
    opened.collect()
}

#[test]
fn in_a_calm_class_every_seat_is_cued_on_every_instant_and_scores_every_cup() {
    let held = hold(&World::calm(1, 4));
    for seat in ["Ann", "Bob", "=Cy", "Dee"] {
        for (at_us, cue, ..) in cues(&held, seat) {
            assert!((at_us - cue.at.0).abs() < 10_000, "{seat}: {cue} at {at_us} µs");
        }
        assert_eq!(
            cued(&held, seat).len(),
            2 + 6 + 6 + 6 + 2 + 2,
            "rinse and pour off, pours, lids, decants, tastings"
        );
    }
    assert_eq!((held.summary.sheets.n, held.summary.sheets.of), (4 * 6, 4 * 6));
}

#[test]
fn a_link_cut_in_mid_round_moves_no_cue_and_loses_no_score() {
    let mut world = World::calm(2, 3);
    world.faults = vec![fault(26_000, 80_000, Trouble::Cut(Links::Seat(0)))];
    let held = hold(&world);
    assert_eq!(cued(&held, "Ann"), cued(&held, "Bob"));
    let cut = |at_us: i64| (46_000_000..80_000_000).contains(&at_us);
    assert!(cues(&held, "Ann").iter().filter(|(at_us, ..)| cut(*at_us)).count() > 5);
    let said = said(&held, "Ann");
    let waits = said
        .iter()
        .filter(|(at_us, what)| cut(*at_us) && matches!(what, Happening::Sent { linked: false, .. }));
    assert!(waits.count() > 0, "scores waited for the link");
    assert!(said.iter().any(|(at_us, what)| matches!(what, Happening::LinkBack) && *at_us > 80_000_000));
    assert_eq!(held.summary.sheets.n, held.summary.sheets.of);
}

#[test]
fn a_hold_that_is_heard_only_in_a_burst_after_a_stall_moves_nothing_that_is_wet_by_then() {
    let mut world = World::calm(3, 3);
    // The teacher holds while nothing gets through; the seats pour on by their timetable.
    world.faults = vec![fault(24_000, 45_000, Trouble::Stall(Links::All))];
    world.teacher.extend([(30_500, Teacher::Hold), (60_000, Teacher::Resume)]);
    let held = hold(&world);
    for seat in ["Ann", "Bob", "=Cy"] {
        let said = said(&held, seat);
        let heard = said.iter().find(|(_, what)| matches!(what, Happening::Phase(protocol::Phase::Held)));
        assert!(heard.is_some_and(|(at_us, _)| *at_us >= 45_000_000));
        let pours = |(_, cue, ..): &(i64, &Cue, &Shown, bool)| cue.action == Action::Pour && cue.steep == 1;
        let poured: Vec<_> = cues(&held, seat).into_iter().filter(pours).collect();
        assert_eq!(poured.len(), 3, "each once");
        let unheard = |at_us: i64| (30_500_000..45_000_000).contains(&at_us);
        assert!(
            poured.iter().any(|(at_us, ..)| unheard(*at_us)),
            "one was poured after the hold it had not heard"
        );
        let decants =
            cued(&held, seat).into_iter().filter(|cue| cue.action == Action::Decant && cue.steep == 1);
        assert_eq!(decants.count(), 3);
    }
}

#[test]
fn on_a_lopsided_way_a_seat_is_off_by_what_it_says() {
    let mut world = World::calm(4, 2);
    world.seats[0].way.up_more_ms = 400;
    let held = hold(&world);
    for (at_us, cue, shown, _) in cues(&held, "Ann") {
        let off_us = (at_us - cue.at.0).abs();
        assert!((150_000..220_000).contains(&off_us), "nobody can measure half of 400 ms away: {off_us} µs");
        assert!(shown.bound_us.unwrap() >= off_us, "{off_us} µs off");
    }
    for (at_us, cue, shown, _) in cues(&held, "Bob") {
        assert!((at_us - cue.at.0).abs() < 10_000 && shown.bound_us.unwrap() < 15_000, "{cue}: {shown:?}");
    }
}

#[test]
fn a_host_that_is_killed_in_mid_steep_and_started_again_moves_nothing_although_its_wall_clock_was_set() {
    let mut world = World::calm(5, 3);
    let calm = hold(&world);
    let restart = Restart::SameBoot { wall_stepped_us: 3_600_000_000 };
    world.faults = vec![fault(34_000, 41_500, Trouble::HostDown(restart))];
    let held = hold(&world);
    for seat in ["Ann", "Bob", "=Cy"] {
        assert_eq!(cued(&held, seat), cued(&calm, seat));
        assert!(!said(&held, seat).iter().any(|(_, what)| matches!(what, Happening::ClockSet(_))));
        assert!(said(&held, seat).iter().any(|(_, what)| matches!(what, Happening::LinkBack)));
    }
    assert!(notices(&held).contains("the wall clock was set by +3600.0 s"), "{}", notices(&held));
}

#[test]
fn a_host_whose_machine_started_anew_with_a_wrong_wall_clock_is_followed_from_its_first_answer_on() {
    let mut world = World::calm(6, 3);
    let restart = Restart::NewBoot { wall_wrong_us: 4_000_000 };
    world.faults = vec![fault(30_000, 38_000, Trouble::HostDown(restart))];
    let held = hold(&world);
    assert!(notices(&held).contains("restarted"));
    for seat in ["Ann", "Bob", "=Cy"] {
        let said = said(&held, seat);
        let set = said.iter().find_map(|(at_us, what)| match what {
            Happening::ClockSet(moved) => Some((*at_us, moved)),
            _ => None,
        });
        let (set_us, moved) = set.unwrap();
        assert_eq!(moved.why, Why::Doubt(Doubt::Host));
        assert!((moved.by_us - 4_000_000).abs() < 20_000, "{moved:?}");
        // Until then by the old clock, from then on by the new one; a cue in the leap comes with it.
        for (at_us, cue, ..) in cues(&held, seat) {
            let due_us = if at_us < set_us { cue.at.0 } else { (cue.at.0 - 4_000_000).max(set_us) };
            assert!((at_us - due_us).abs() < 25_000, "{seat}: {cue} at {at_us} µs instead of {due_us}");
        }
    }
}

#[test]
fn a_seat_that_leaves_before_a_decant_that_the_hosts_wrong_clock_puts_off_breaks_no_promise() {
    let mut world = World::calm(10, 2);
    let restart = Restart::NewBoot { wall_wrong_us: -3_000_000 };
    let gone = |from_ms| Fault { from_ms, to_ms: None, what: Trouble::SeatDown(0) };
    world.faults = vec![fault(26_000, 30_000, Trouble::HostDown(restart)), gone(49_500)];
    let held = hold(&world);
    let decant = |seat: &str| cues(&held, seat).into_iter().find(|(_, cue, ..)| is_first_decant(cue));
    let (at_us, ..) = decant("Bob").unwrap();
    assert!(
        (50_900_000..51_100_000).contains(&at_us),
        "3 s later than by the clock it was poured by: {at_us} µs"
    );
    assert!(decant("Ann").is_none());
}

fn is_first_decant(cue: &Cue) -> bool {
    cue.action == Action::Decant && cue.steep == 1 && cue.code == Code::new(519)
}

#[test]
fn a_seat_that_slept_hears_what_it_missed_and_is_right_again_after_one_answer() {
    let mut world = World::calm(7, 2);
    world.seats[0].naps = vec![Nap { from_us: 26_500_000, length_us: 14_000_000, counted_us: 13_200_000 }];
    let held = hold(&world);
    let said = said(&held, "Ann");
    assert!(said.iter().any(|(_, what)| matches!(what, Happening::Slept { for_s: 14 })));
    let set = said
        .iter()
        .find(|(_, what)| matches!(what, Happening::ClockSet(m) if m.why == Why::Doubt(Doubt::Slept)));
    let set_us = set.unwrap().0;
    assert!((40_500_000..42_000_000).contains(&set_us), "{set_us}");
    let all = cues(&held, "Ann");
    assert!(all.iter().any(|(_, _, _, missed)| *missed), "a pour was slept through");
    assert!(
        !all.iter().any(|(at_us, ..)| (26_500_001..40_500_000).contains(at_us)),
        "nobody hears while asleep"
    );
    for (at_us, cue, ..) in all.iter().filter(|(at_us, ..)| *at_us > set_us + 10_000_000) {
        assert!((at_us - cue.at.0).abs() < 15_000, "{cue} at {at_us} µs");
    }
    assert_eq!(cued(&held, "Ann"), cued(&held, "Bob"));
}

#[test]
fn a_seat_killed_with_scores_in_its_outbox_sends_them_when_it_is_back_and_one_that_is_gone_is_named_missing()
{
    let mut world = World::calm(8, 3);
    world.faults = vec![
        fault(40_000, 70_000, Trouble::Cut(Links::Seat(0))),
        fault(62_000, 72_000, Trouble::SeatDown(0)),
        Fault { from_ms: 55_500, to_ms: None, what: Trouble::SeatDown(1) },
    ];
    let held = hold(&world);
    let waiting = said(&held, "Ann").into_iter().filter_map(|(at_us, what)| match what {
        Happening::Sent { score, .. } if (45_000_000..62_000_000).contains(&at_us) => Some(score.id),
        _ => None,
    });
    let waiting: BTreeSet<_> = waiting.collect();
    let kept = said(&held, "Ann").into_iter().filter_map(|(at_us, what)| match what {
        Happening::Kept { score, .. } if at_us > 72_000_000 => Some(score.id),
        _ => None,
    });
    assert!(!waiting.is_empty() && kept.collect::<BTreeSet<_>>().is_superset(&waiting));
    let missing =
        |name: &str| held.summary.seats.iter().find(|seat| seat.name == name).unwrap().missing.len();
    assert_eq!((missing("Ann"), missing("Bob"), missing("=Cy")), (0, 3, 0));
}

/// When the last call was made, in true milliseconds.
fn called_ms(held: &Held) -> u64 {
    let call = held.ledger.iter().find(|entry| matches!(entry.event, Event::LastCall { .. })).unwrap();
    let opened = held.trace.iter().find_map(|record| match &record.what {
        What::Opened { at, .. } => Some(record.at_us - at.0),
        _ => None,
    });
    ((call.at.0 + opened.unwrap()) / 1_000) as u64
}

#[test]
fn a_last_call_over_which_the_host_is_down_loses_no_score_of_a_seat_that_had_no_link() {
    let mut world = World::calm(14, 3);
    let ms = called_ms(&hold(&world));
    let restart = Restart::SameBoot { wall_stepped_us: 0 };
    world.faults = vec![
        fault(ms - 40_000, ms + 47_000, Trouble::Cut(Links::Seat(0))),
        fault(ms + 5_000, ms + 45_000, Trouble::HostDown(restart)),
    ];
    let held = hold(&world);
    assert_eq!(held.summary.sheets.n, held.summary.sheets.of);
    assert!(notices(&held).contains("the last call was on"), "{}", notices(&held));
    let late = said(&held, "Ann").into_iter().filter(|(at_us, what)| {
        matches!(what, Happening::Kept { .. }) && *at_us > (ms as i64 + 45_000) * 1_000
    });
    assert!(late.count() > 0, "some came only then");
}

#[test]
fn classes_of_many_seeds_keep_every_promise() {
    let held = |seed| {
        let world = World::drawn(seed);
        let broken: Vec<String> =
            judge(&run(&world).map_err(|e| e.to_string())?).iter().map(ToString::to_string).collect();
        if broken.is_empty() { Ok(()) } else { Err(format!("{:#?}\n{}", world.faults, broken.join("\n"))) }
    };
    let kept = sweep(1..SWEEP + 1, held).unwrap_or_else(|(seed, words)| panic!("seed {seed}, {words}"));
    assert_eq!(kept.len() as u64, SWEEP);
}

#[test]
fn the_same_seed_gives_the_same_class_to_the_letter_and_another_one_another() {
    let text = |seed| run(&World::drawn(seed)).unwrap().text();
    for seed in [3, 61] {
        let (once, twice) = (text(seed), text(seed));
        let differs = once.lines().zip(twice.lines()).find(|(a, b)| a != b);
        assert!(once == twice, "seed {seed}: {differs:#?}");
        for part in ["\"t2_us\":", "\"seq\":", "\"since\":", "\"id\":", "\"at_us\":"] {
            assert!(once.contains(part), "the trace of seed {seed} has no {part}");
        }
    }
    assert_ne!(text(3), text(4));
}

#[test]
fn a_class_that_does_not_come_to_its_end_is_given_up_in_words() {
    let mut world = World::calm(9, 2);
    let restart = Restart::SameBoot { wall_stepped_us: 0 };
    world.faults = vec![Fault { from_ms: 50_000, to_ms: None, what: Trouble::HostDown(restart) }];
    let words = run(&world).unwrap_err();
    assert!(
        words.starts_with(&format!("the class is stuck: after {LIMIT_MS} ms of simulated time")),
        "{words}"
    );
    assert!(words.contains("Ann") && words.contains("Bob"), "{words}");
}
