//! Laws of every timetable, for any class, any hold and any resumption.

use super::{Rest, held, hold, plan, plan_rounds};
use class::{Class, Pourers, Tea, read};
use proptest::prelude::*;
use protocol::time::SECOND_US;
use protocol::{Action, Code, Cue, HostTime, Timetable};

fn base() -> Class {
    read::class(include_str!("../../tests/classes/two-ways.toml")).unwrap()
}

prop_compose! {
    fn a_tea()(steep_s in prop::collection::vec(0u32..200, 1..5), rinse_s in prop::option::of(0u32..15)) -> Tea {
        Tea { temp_c: vec![90.0; steep_s.len()], steep_s, rinse_s, code: None, ..base().teas[0].clone() }
    }
}

prop_compose! {
    fn a_class()(
        teas in prop::collection::vec(a_tea(), 1..9),
        table_hands in prop::option::of(1u8..4),
        (pour_s, decant_s, warm_s) in (1u32..30, 1u32..30, prop_oneof![Just(0), 1u32..20]),
        (taste_s, pause_s) in (10u32..200, 0u32..60),
        seed: u64,
    ) -> Class {
        let pourers = table_hands.map_or(Pourers::EachSeat, Pourers::Table);
        Class { teas, pourers, pour_s, decant_s, warm_s, taste_s, pause_s, ..base() }.with_codes(seed)
    }
}

/// Every law that holds for a whole timetable.
fn check(class: &Class, cues: &[Cue]) -> Result<(), TestCaseError> {
    for hands in 1..=class.pourers.hands() {
        let mut work: Vec<_> = cues.iter().filter(|c| c.hands == hands).map(|c| (c.at, c.end())).collect();
        work.sort();
        prop_assert!(
            work.windows(2).all(|w| w[0].1 <= w[1].0),
            "hands {} do two things at once: {:?}",
            hands,
            work
        );
    }
    prop_assert!(cues.iter().all(|c| c.hands <= class.pourers.hands()));
    let find =
        |action, code: Option<Code>, steep| cues.iter().filter(move |c| c.key() == (steep, action, code));
    let only = |action, code, steep| {
        let mut all = find(action, code, steep);
        let first = all.next().ok_or_else(|| TestCaseError::fail(format!("no {action} {code:?} {steep}")))?;
        prop_assert!(all.next().is_none(), "{} {:?} {} twice", action, code, steep);
        Ok::<_, TestCaseError>(first)
    };
    let mut round_begins = HostTime(0);
    for round in 1..=class.rounds() {
        let taste = only(Action::Taste, None, round)?;
        let closes = only(Action::SheetCloses, None, round)?;
        prop_assert!(closes.at >= taste.end(), "tasting is cut short");
        for (code, tea) in class.coded().filter(|(_, t)| t.steeps() >= round) {
            let (pour, decant) =
                (only(Action::Pour, Some(code), round)?, only(Action::Decant, Some(code), round)?);
            prop_assert_eq!(decant.at - pour.end(), i64::from(tea.steep_s[round as usize - 1]) * SECOND_US);
            prop_assert!(decant.end() <= taste.at, "tasting before {} is decanted", code);
            prop_assert!(pour.at >= round_begins);
            if round == 1 {
                for (action, wanted) in
                    [(Action::Warm, class.warm_s > 0), (Action::Rinse, tea.rinse_s.is_some())]
                {
                    prop_assert_eq!(find(action, Some(code), 1).count(), usize::from(wanted));
                    prop_assert!(find(action, Some(code), 1).all(|c| c.end() <= pour.at));
                }
            }
        }
        round_begins = closes.at.plus_s(class.pause_s);
    }
    Ok(())
}

proptest! {
    #[test]
    fn no_hands_do_two_things_and_every_steep_is_exact_and_decants_come_before_tasting(class in a_class(), from in 0i64..1_000_000_000) {
        let whole = plan_rounds(&class).unwrap();
        let cues = plan(&class, &whole, Rest::default(), HostTime(from)).unwrap();
        check(&class, &cues)?;
        prop_assert!(cues.iter().all(|c| c.at >= HostTime(from)));
    }

    #[test]
    fn the_laws_hold_after_any_holds_and_nothing_wet_has_moved(
        class in a_class(),
        holds in prop::collection::vec((0i64..600, 0i64..300), 1..4),
    ) {
        let whole = plan_rounds(&class).unwrap();
        let mut table = Timetable::new(1, plan(&class, &whole, Rest::default(), HostTime(0)).unwrap());
        let mut at = HostTime(0);
        for (run_s, wait_s) in holds {
            at = at + run_s * SECOND_US + 123_457;
            let kept = held(&table, at);
            for cue in table.cues.iter().filter(|c| c.action == Action::Pour && c.at <= at) {
                let decant = table.find(Action::Decant, cue.code, cue.steep);
                prop_assert!(kept.contains(cue) && decant.is_some_and(|d| kept.contains(d)), "wet leaves lost their decant");
            }
            let dry = |c: &&Cue| c.action == Action::Pour && c.at > at.plus_s(hold::BEGUN_S);
            prop_assert_eq!(kept.iter().filter(dry).count(), 0, "something dry would be poured during the hold");
            let left_s = hold::tasting_left_s(&table, at);
            at = at + wait_s * SECOND_US;
            let rest = Rest { kept: &kept, tasting_left_s: left_s };
            table = Timetable::new(table.revision + 1, plan(&class, &whole, rest, at).unwrap());
            check(&class, &table.cues)?;
            prop_assert!(kept.iter().all(|c| table.cues.contains(c)), "a kept cue moved");
            prop_assert!(table.cues.iter().all(|c| kept.contains(c) || c.at >= at), "a new cue lies in the past");
        }
    }
}

#[test]
fn the_tasting_that_holds_interrupt_goes_on_for_what_was_left_of_it() {
    let class = base();
    let whole = plan_rounds(&class).unwrap();
    let mut table = Timetable::new(1, plan(&class, &whole, Rest::default(), HostTime(0)).unwrap());
    let taste = table.find(Action::Taste, None, 1).unwrap().clone();
    for (held_s, resumed_s, left_s) in [(20, 500, 40), (510, 900, 30), (928, 950, 2)] {
        let (held_at, resumed_at) = (taste.at.plus_s(held_s), taste.at.plus_s(resumed_s));
        assert_eq!(hold::tasting_left_s(&table, held_at).unwrap_or(2), left_s, "held at {held_s} s");
        let kept = held(&table, held_at);
        let rest = Rest { kept: &kept, tasting_left_s: hold::tasting_left_s(&table, held_at) };
        table = Timetable::new(table.revision + 1, plan(&class, &whole, rest, resumed_at).unwrap());
    }
    // The last hold came within two seconds of the end: the sheet closed as planned.
    assert_eq!(table.find(Action::SheetCloses, None, 1).unwrap().at, taste.at.plus_s(930));
}
