use crate::rounds::{RoundPlan, Unplannable};
use crate::{Rest, held, plan_rounds};
use class::course::Course;
use class::{Class, read};
use protocol::time::SECOND_US;
use protocol::{Action, Code, Cue, HostTime, Timetable};

/// The cues of a class that is run as it was written.
fn plan(class: &Class, whole: &[RoundPlan], rest: Rest<'_>, from: HostTime) -> Result<Vec<Cue>, Unplannable> {
    crate::plan(class, &Course::written(class), whole, rest, from)
}

/// Five teas, one pourer, one kettle of 1.2 l; its three last pours are all at 95 °C.
fn five() -> Class {
    read::class(include_str!("../../../tests/classes/five-teas.toml")).unwrap().with_codes(1)
}

fn of(cues: &[Cue], action: Action) -> Vec<&Cue> {
    cues.iter().filter(|c| c.action == action && c.steep == 1).collect()
}

/// Held `wait_s` after the second pour's end, resumed `held_s` later: what was kept, and the new cues.
fn resumed(class: &Class, wait_s: u32, held_s: u32) -> (Vec<Cue>, Vec<Cue>, HostTime) {
    let whole = plan_rounds(class).unwrap();
    let table = Timetable::new(1, plan(class, &whole, Rest::default(), HostTime(0)).unwrap());
    let at = of(&table.cues, Action::Pour)[1].end().plus_s(wait_s);
    let kept = held(&table, at);
    assert_eq!(of(&kept, Action::Pour).len(), 2);
    let from = at.plus_s(held_s);
    let rest = Rest { kept: &kept, tasting_left_s: None };
    let cues = Timetable::new(2, plan(class, &whole, rest, from).unwrap()).cues;
    (kept, cues, from)
}

/// Below nought for what was before.
fn after_s(at: HostTime, from: HostTime) -> i64 {
    (at.0 - from.0) / SECOND_US
}

fn spread_s(cues: &[Cue]) -> i64 {
    let ends = || of(cues, Action::Decant).into_iter().map(Cue::end);
    ends().max().unwrap().seconds_until(ends().min().unwrap())
}

/// Pour, steep and decant of the dry teas, seconds.
fn jobs(class: &Class, kept: &[Cue]) -> Vec<(i64, i64, i64)> {
    let dry = |code: Code| !of(kept, Action::Pour).iter().any(|c| c.code == Some(code));
    let job = |tea: &class::Tea| (class.pour_s(tea), tea.steep_s[0], class.decant_s(tea));
    let all = class.coded().filter(|&(code, _)| dry(code)).map(|(_, tea)| job(tea));
    all.map(|(p, s, d)| (p.into(), s.into(), d.into())).collect()
}

/// The least spread of the whole round and with it the earliest last cup, by trying all seconds for three dry teas of one
/// temperature.
fn least(class: &Class, kept: &[Cue], from: HostTime) -> (i64, i64) {
    let gap = i64::from(class.setting.gap_s);
    let wet: Vec<(i64, i64)> =
        of(kept, Action::Decant).iter().map(|c| (after_s(c.at, from), after_s(c.end(), from))).collect();
    let jobs = jobs(class, kept);
    let work = |job: usize, at: i64| {
        let (pour, steep, decant) = jobs[job];
        [(at, at + pour), (at + pour + steep, at + pour + steep + decant)]
    };
    let apart = |done: &[(i64, i64)], new: &[(i64, i64)]| {
        new.iter().all(|n| done.iter().all(|d| n.0 >= d.1 + gap || d.0 >= n.1 + gap))
    };
    let mut best = (i64::MAX, i64::MAX);
    let mut next = vec![wet];
    let mut go = Vec::new();
    for job in 0..jobs.len() {
        std::mem::swap(&mut next, &mut go);
        next.clear();
        for done in &go {
            for at in 0..100 {
                let new = work(job, at);
                if apart(done, &new) {
                    next.push(done.iter().copied().chain(new).collect());
                }
            }
        }
    }
    for done in next {
        let decants = done.iter().enumerate().filter(|&(i, _)| i < 2 || i % 2 == 1).map(|(_, w)| w.1);
        let (first, last) = (decants.clone().min().unwrap(), decants.max().unwrap());
        best = best.min((last - first, last));
    }
    best
}

#[test]
fn cups_that_are_steeping_or_ready_count_for_the_spread_after_a_hold() {
    let class = five();
    for (wait_s, held_s) in [(8, 29), (8, 60), (2, 40), (20, 90)] {
        let (kept, cues, from) = resumed(&class, wait_s, held_s);
        let last = of(&cues, Action::Decant).iter().map(|c| c.end()).max().unwrap();
        let found = (spread_s(&cues), last.seconds_until(from));
        assert_eq!(found, least(&class, &kept, from), "held {wait_s} s after the pour for {held_s} s");
    }
}

#[test]
fn hands_pour_between_the_decants_of_what_a_hold_left_wet() {
    let class = five();
    let (kept, cues, from) = resumed(&class, 8, 29);
    let pours = of(&cues, Action::Pour);
    let new: Vec<i64> =
        pours.iter().filter(|c| !kept.contains(c)).map(|c| c.at.seconds_until(from)).collect();
    let last_kept = of(&kept, Action::Decant).last().unwrap().at.seconds_until(from);
    assert!(new[0] == 0 && new.iter().all(|&at| at < last_kept), "{new:?}, decant at {last_kept}");
}

#[test]
fn a_kettle_goes_on_heating_over_every_hold_before_the_first_pour() {
    let kettle = "[[kettle]]\nname = \"Kettle\"\nfill_ml = 1200\nwatts = 1800\nstarts_c = 20\n";
    let tea = |code, temp_c| {
        format!(
            "[[tea]]\nname = \"Tea {code}\"\ncode = \"{code}\"\nleaf_g = 4\nwater_ml = 180\ntemp_c = {temp_c}\nsteep_s = [60]\n"
        )
    };
    let head = "title = \"Cold kettle\"\ndate = 2026-11-28\nseats = 4\npourers = 1\npour_s = 8\ndecant_s = 6\ntaste_s = 60\n";
    let class = read::class(&format!("{head}{}{}{kettle}", tea(101, 95), tea(102, 95))).unwrap();
    let whole = plan_rounds(&class).unwrap();
    let first_pour = |cues: &[Cue]| of(cues, Action::Pour)[0].at;
    let mut table = Timetable::new(1, plan(&class, &whole, Rest::default(), HostTime(0)).unwrap());
    let hot = first_pour(&table.cues);
    assert!(hot > HostTime(0).plus_s(200), "{hot:?}");
    // Two holds while it heats: it is hot when it would have been, and if that is over, at once.
    for (at_s, from_s) in [(60, 90), (120, 180), (200, 1000)] {
        let kept = held(&table, HostTime(0).plus_s(at_s));
        let from = HostTime(0).plus_s(from_s);
        let rest = Rest { kept: &kept, tasting_left_s: None };
        table = Timetable::new(table.revision + 1, plan(&class, &whole, rest, from).unwrap());
        assert_eq!(first_pour(&table.cues), hot.max(from), "held at {at_s} s, resumed at {from_s} s");
    }
}
