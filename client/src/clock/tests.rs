use super::*;
use std::sync::Mutex;
use std::sync::mpsc;
use uuid::Uuid;

#[tokio::test]
async fn the_alarm_thread_wakes_in_order_and_never_early() {
    let clock = OwnClock::precise();
    let began = clock.now();
    let woken = Arc::new(Mutex::new(Vec::new()));
    let waits = [30, 10, 20, 10].map(|after_ms| {
        let (clock, woken) = (clock.clone(), woken.clone());
        tokio::spawn(async move {
            let at = began.plus(Duration::from_millis(after_ms));
            clock.wait_until(at).await;
            assert!(clock.now() >= at, "woken early");
            woken.lock().unwrap().push(after_ms);
        })
    });
    for wait in waits {
        wait.await.unwrap();
    }
    assert_eq!(*woken.lock().unwrap(), [10, 10, 20, 30]);
}

#[test]
fn a_ring_comes_at_its_instant_unless_it_is_taken_back() {
    let clock = OwnClock::precise();
    let (tell, told) = mpsc::channel();
    let ring = |name: &'static str| {
        let tell = tell.clone();
        let ring: Ring = Arc::new(move |at| tell.send((name, at)).unwrap_or_default());
        ring
    };
    let began = clock.now();
    let at_ms = |ms| began.plus(Duration::from_millis(ms));
    let late = clock.ring_at(at_ms(40), ring("late")).unwrap();
    let taken_back = clock.ring_at(at_ms(20), ring("taken back")).unwrap();
    let early = clock.ring_at(at_ms(10), ring("early")).unwrap();
    drop(taken_back);
    for (name, ms) in [("early", 10), ("late", 40)] {
        let (rung, at) = told.recv().unwrap();
        assert_eq!(rung, name);
        assert!(at >= at_ms(ms), "{name} rang early");
    }
    assert!(!early.take_over() && !late.take_over(), "both have rung");
    assert!(told.try_recv().is_err(), "what was taken back does not ring");
}

#[test]
fn a_ring_that_the_machine_slept_over_is_left_to_whoever_set_it() {
    let clock = OwnClock::precise();
    let (tell, told) = mpsc::channel();
    let ring = |name: &'static str| {
        let tell = tell.clone();
        let ring: Ring = Arc::new(move |_| tell.send(name).unwrap_or_default());
        ring
    };
    let began = clock.now();
    let slept_over = clock.ring_at(began.plus(Duration::from_secs(10)), ring("slept over")).unwrap();
    clock.sleep(60_000_000, 60_000_000);
    // Set last and due last: when it rings, the thread is done with the other.
    let next = clock.ring_at(began.plus(Duration::from_millis(60_030)), ring("next")).unwrap();
    assert_eq!(told.recv().unwrap(), "next");
    assert!(next.has_rung() && !slept_over.has_rung() && slept_over.take_over());
}

#[tokio::test(start_paused = true)]
async fn a_skewed_clock_gains_its_parts_per_million_and_waits_by_itself() {
    let (room, quick) = (OwnClock::start(), OwnClock::skewed(200));
    quick.wait_until(OwnTime(10_002_000)).await;
    assert!((10_000_000..10_002_000).contains(&room.now().0), "{:?}", room.now());
    assert!(quick.now() >= OwnTime(10_002_000));
}

#[test]
fn after_a_sleep_the_clock_has_gone_on_as_far_as_it_was_counted_and_says_so() {
    let clock = OwnClock::start();
    let slept = clock.slept();
    let before = clock.now();
    clock.sleep(30_000_000, 29_500_000);
    assert!(slept.has_changed().unwrap());
    assert_eq!(*slept.borrow(), 30_000_000);
    assert!(clock.now().0 - before.0 >= 29_500_000);
}

#[test]
fn a_sleep_that_all_threads_find_at_once_is_counted_once() {
    let clock = OwnClock::start();
    let before = clock.now();
    std::thread::scope(|all| {
        for _ in 0..8 {
            all.spawn(|| clock.noticed(0, 30_000_000));
        }
    });
    assert_eq!(*clock.slept().borrow(), 30_000_000);
    let passed_us = clock.now().0 - before.0;
    assert!((30_000_000..45_000_000).contains(&passed_us), "{passed_us} µs");
    clock.noticed(30_000_000, 5_000_000);
    assert_eq!(*clock.slept().borrow(), 35_000_000, "the next one");
}

#[test]
fn a_machine_that_is_awake_is_not_found_to_have_slept() {
    let asleep = Asleep::start();
    let end = OwnClock::start();
    while end.now() < OwnTime(5_000) {
        assert_eq!(asleep.more_us(0), None);
    }
}

#[test]
fn ids_of_one_seed_repeat_themselves_and_others_do_not() {
    let three = |mut ids: Ids| [ids.draw(), ids.draw(), ids.draw()];
    assert_eq!(three(Ids::seeded(7)), three(Ids::seeded(7)));
    assert_ne!(three(Ids::seeded(7)), three(Ids::seeded(8)));
    assert_ne!(three(Ids::Random), three(Ids::Random));
    assert_eq!(Ids::seeded(7).draw().get_version_num(), 4);
}

#[test]
fn ordered_ids_sort_in_the_order_in_which_they_were_drawn() {
    for mut ids in [Ids::seeded(7), Ids::Random] {
        let drawn: Vec<Uuid> = (0..1000).map(|_| ids.draw_ordered()).collect();
        assert!(drawn.is_sorted_by(|a, b| a < b), "{ids:?}");
        assert!(drawn.iter().all(|id| id.get_version_num() == 7));
    }
    let two = |mut ids: Ids| [ids.draw_ordered(), ids.draw_ordered()];
    assert_eq!(two(Ids::seeded(7)), two(Ids::seeded(7)));
    assert_ne!(two(Ids::seeded(7)), two(Ids::seeded(8)));
}

/// One that went back let an answer to a question from before the sleep pass for a fresh one.
#[tokio::test(start_paused = true)]
async fn a_simulated_clock_never_goes_back_though_it_counts_less_than_was_slept() {
    let clock = OwnClock::skewed(0);
    tokio::time::advance(Duration::from_secs(5)).await;
    clock.doze(4_000_000, -1_000_000);
    let mut shown = Vec::new();
    for _ in 0..5 {
        shown.push(clock.now().0 / 1_000);
        tokio::time::advance(Duration::from_secs(1)).await;
    }
    assert_eq!(shown, [5_000, 5_750, 6_500, 7_250, 8_000]);
    assert_eq!(clock.now().0, 9_000_000);
}
