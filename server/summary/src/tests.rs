//! The summary of a small class, counted by hand.

use super::*;
use class::course::{Act, Course};
use class::read;
use protocol::time::SECOND_US;
use protocol::{Score, SeatId, Token};
use room::{Entry, Event};

fn code(n: u16) -> Code {
    Code::new(n).unwrap()
}

/// Three seats; 417 steep 1 scored 4, 6 and (revised from 9) 8; steep 2 by one; Cy came an hour late.
fn room() -> Room {
    let class = read::class(include_str!("../../tests/classes/two-ways.toml")).unwrap();
    let timetable = protocol::Timetable::new(
        1,
        plan::plan(
            &class,
            &Course::written(&class),
            &plan::plan_rounds(&class).unwrap(),
            plan::Rest::default(),
            HostTime(0),
        )
        .unwrap(),
    );
    let mut events =
        vec![(0, Event::Class { class_id: Uuid::from_u128(1), seed: 0, class: Box::new(class) })];
    let seat = |n: u128| SeatId(Uuid::from_u128(n));
    for (at_s, n, name) in [(1, 1, "Ann"), (1, 2, "Bob"), (3600, 3, "Cy")] {
        events.push((
            at_s,
            Event::Seated {
                seat: seat(n),
                name: name.into(),
                token: Token(Uuid::nil()),
                pourer: None,
                role: protocol::Role::Scores,
            },
        ));
    }
    events.insert(3, (2, Event::Started { timetable }));
    let mut score = |id: u128, who, steep, revision, liking: i32, strength: Option<i8>| {
        let score = Score {
            id: Uuid::from_u128(id),
            code: code(417),
            steep,
            revision,
            values: [("liking".to_string(), liking)].into(),
            strength: strength.map(|s| s.try_into().unwrap()),
            note: if liking == 4 { "thin".into() } else { String::new() },
            words: Vec::new(),
        };
        events.push((3601, Event::Scored { seat: seat(who), score, on_paper: false }));
    };
    score(10, 1, 1, 1, 4, Some(-1));
    score(11, 2, 1, 1, 6, Some(0));
    score(12, 3, 1, 1, 9, None);
    score(13, 3, 1, 2, 8, None);
    score(14, 2, 2, 1, 7, Some(0));
    let entries = events.into_iter().enumerate();
    Room::replay(
        entries.map(|(i, (at_s, event))| Entry::new(i as u64 + 1, HostTime(at_s * SECOND_US), event)),
    )
    .unwrap()
}

#[test]
fn each_cup_says_how_many_of_how_many_and_who_is_missing() {
    let room = room();
    let summary = summarise(&room, room.last_at);
    let tea = summary.teas.iter().find(|t| t.code == code(417)).unwrap();
    let liking = |f: &CupFigures| f.attributes.iter().find(|a| a.name == "liking").unwrap().clone();
    let first = liking(&tea.steeps[0].figures);
    assert_eq!((first.n, first.of, first.mean), (3, 3, Some(6.0)), "the revision counts");
    assert_eq!((first.sd, first.min, first.max), (Some(2.0), Some(4.0), Some(8.0)));
    let aroma = &tea.steeps[0].figures.attributes[0];
    assert_eq!((aroma.n, aroma.mean), (0, None));
    assert_eq!(tea.steeps[0].figures.strength, Some(StrengthLine { n: 2, of: 3, counts: [0, 1, 1, 0, 0] }));
    assert_eq!(tea.steeps[0].notes, [Note { seat: "Ann".into(), text: "thin".into() }]);
    let missing: Vec<_> = tea.steeps[1].missing.iter().map(|m| (m.seat.as_str(), m.came_later)).collect();
    assert_eq!(missing, [("Ann", false), ("Cy", true)]);
    let all = liking(&tea.all_steeps);
    assert_eq!((all.n, all.of, all.mean), (4, 7, Some(6.25)), "Cy owes nothing, and one of hers is there");
    assert_eq!(summary.sheets, InOf { n: 4, of: 25 });
    assert_eq!(summary.seats[2].sheets, InOf { n: 1, of: 1 });
    assert_eq!(summary.seats[1].sheets, InOf { n: 2, of: 12 });
    assert_eq!(summary.seats[1].missing.len(), 10);
}

#[test]
fn a_cup_that_was_never_there_is_not_missed_by_anybody() {
    let room = room();
    let early = summarise(&room, HostTime(5 * SECOND_US));
    let served: usize = early.teas.iter().map(|t| t.steeps.len()).sum();
    assert!(served < 12, "scored cups only");
    assert!(early.sheets.of < 36);
}

#[test]
fn blind_teas_stay_blind_until_they_are_revealed() {
    let mut room = room();
    assert_eq!(summarise(&room, room.last_at).still_blind.len(), 4);
    room.fold(room.seq + 1, room.last_at, Event::Revealed { codes: vec![code(417)] });
    let summary = summarise(&room, room.last_at);
    assert_eq!(summary.still_blind, [238, 305, 862].map(code));
    let name = |n| summary.teas.iter().find(|t| t.code == code(n)).unwrap().name.as_deref();
    assert_eq!((name(417), name(238)), (Some("Lantern Slope, short"), None));
}

/// The summary after something was put right.
fn after(events: impl IntoIterator<Item = Event>) -> Summary {
    let mut room = room();
    for event in events {
        room.fold(room.seq + 1, room.last_at, event);
    }
    summarise(&room, room.last_at)
}

fn seat(n: u128) -> SeatId {
    SeatId(Uuid::from_u128(n))
}

/// The mean liking of the first cup, and of how many sheets.
fn first_cup(summary: &Summary) -> (Option<f64>, InOf) {
    let tea = summary.teas.iter().find(|t| t.code == code(417)).unwrap();
    let figures = &tea.steeps[0].figures;
    (figures.attributes.iter().find(|a| a.name == "liking").unwrap().mean, figures.sheets)
}

#[test]
fn who_is_left_out_is_in_no_figure_and_said_to_be_left_out() {
    let summary = after([Event::SeatCounts { seat: seat(3), counts: false, undone: false }]);
    assert_eq!(first_cup(&summary), (Some(5.0), InOf { n: 2, of: 2 }));
    assert_eq!(summary.seats.iter().map(|s| s.name.as_str()).collect::<Vec<_>>(), ["Ann", "Bob"]);
    assert_eq!(summary.findings.figures.seats.len(), 2);
    assert_eq!((summary.aside[0].what, summary.aside[0].seat.as_deref()), (aside::What::LeftOut, Some("Cy")));
    assert_eq!(summary.aside[0].text, "Cy was left out by the teacher: these scores do not count.");
    assert_eq!((summary.came, after([]).came), (3, 3), "who came is another matter");
    let (name, token) = ("Pat".to_string(), protocol::Token(Uuid::from_u128(99)));
    let pat = Event::Seated { seat: seat(9), name, token, pourer: None, role: protocol::Role::PoursOnly };
    let nothing = after([pat, Event::SeatCounts { seat: seat(9), counts: false, undone: false }]);
    assert_eq!(nothing.aside[0].text, "Pat was left out by the teacher, and there is no score of Pat.");
    assert_eq!(nothing.came, 4);
}

#[test]
fn what_was_put_right_is_in_the_figures_and_said_with_its_reason() {
    let void = |seat| Event::Voided { code: code(417), steep: 1, seat, reason: "mixed up.".into() };
    let one = after([void(Some(seat(1)))]);
    assert_eq!(first_cup(&one), (Some(7.0), InOf { n: 2, of: 3 }), "it is owed once more");
    assert_eq!(one.aside[0].text, "417 steep 1 of Ann does not count: mixed up.");
    let all = after([void(None)]);
    let tea = all.teas.iter().find(|t| t.code == code(417)).unwrap();
    assert_eq!(tea.steeps.iter().map(|s| s.steep).collect::<Vec<_>>(), [2, 3], "nobody owes it");
    assert_eq!((all.aside[0].scores, all.sheets.of), (Some(3), 2 * 11));
    let joined = after([Event::SeatsJoined { from: seat(3), into: seat(1) }]);
    assert_eq!(first_cup(&joined), (Some(7.0), InOf { n: 2, of: 2 }), "the later of the two");
    assert_eq!(joined.aside[0].text, "Cy and Ann are one person: Ann.");
}

#[test]
fn a_rehearsal_says_so() {
    let opened = |pace| Event::Opened { unix_us: 0, pace, boot: None, door: Default::default() };
    assert_eq!(after([opened(60.0), opened(1.0)]).rehearsal, Some(60.0), "the first opening says what it is");
    assert_eq!(after([opened(1.0)]).rehearsal, None);
}

#[test]
fn a_recipe_is_what_was_poured_and_not_what_was_written() {
    let mut room = room();
    let written = summarise(&room, HostTime(3602 * SECOND_US));
    let of = |summary: &Summary| summary.teas.iter().find(|t| t.code == code(417)).unwrap().recipe.clone();
    assert_eq!(of(&written), None, "still blind");
    room.revealed.insert(code(417), 1);
    let recipe = of(&summarise(&room, HostTime(3602 * SECOND_US))).unwrap();
    let tea = room.class.tea(code(417)).unwrap();
    assert_eq!((recipe.leaf_g, &recipe.steep_s), (tea.leaf_g, &tea.steep_s));
    let second = tea.steep_s[1];
    for cue in &mut room.timetable.cues {
        if cue.action == protocol::Action::Pour && cue.code == Some(code(417)) && cue.steep == 1 {
            cue.steep_s = Some(7);
        }
    }
    let poured = of(&summarise(&room, HostTime(3602 * SECOND_US))).unwrap();
    assert_eq!(poured.steep_s[..2], [7, second]);
}

#[test]
fn a_review_reads_the_course_as_it_was_run() {
    let written = room().class.tea(code(417)).unwrap().steep_s.clone();
    let sat = Act::Sat { code: code(417), round: 2, steep_s: 77 };
    let steered = |act| Event::Steered { act, suggested: vec![], timetable: None };
    let blind = after([steered(sat.clone())]);
    assert_eq!(blind.aside[0].text, "417 was given another time in round 2 than was written.");
    let of = |summary: &Summary| summary.teas.iter().find(|t| t.code == code(417)).unwrap().clone();
    assert!(
        of(&blind).course.iter().all(|turn| turn.steep_s.is_none()),
        "a blind tea's seconds could tell it"
    );
    let revealed = Event::Revealed { codes: vec![code(417)] };
    let open = after([
        revealed,
        steered(sat),
        steered(Act::Sat { code: code(417), round: 1, steep_s: 5 }),
        steered(Act::Undone),
    ]);
    let tea = of(&open);
    assert_eq!(tea.recipe.unwrap().steep_s[..3], [written[0], 77, written[2]]);
    let course: Vec<_> = tea.course.iter().map(|turn| (turn.round, turn.steep, turn.steep_s)).collect();
    assert_eq!(course[..2], [(1, 1, Some(written[0])), (2, 2, Some(77))]);
    assert_eq!(open.aside[0].text, format!("417 sat 77 s in round 2, not {} s.", written[1]));
}

/// 417 steep 1 done again in two rounds behind its three, and scored by Ann in those of `scored`.
fn again(scored: &[u32], more: Vec<Event>) -> Summary {
    let added = |(round, steep_s)| Event::Steered {
        act: Act::Added { code: code(417), round, steep: 1, steep_s, temp_c: 88.0 },
        suggested: vec![],
        timetable: None,
    };
    let score = |&steep: &u32| Event::Scored {
        seat: seat(1),
        score: Score {
            id: Uuid::from_u128(70 + u128::from(steep)),
            code: code(417),
            steep,
            revision: 1,
            values: [("liking".to_string(), 6)].into(),
            strength: None,
            note: String::new(),
            words: Vec::new(),
        },
        on_paper: false,
    };
    let steered = [(4, 70), (5, 33)].into_iter().map(added).chain(scored.iter().map(score)).chain(more);
    after(steered.chain([Event::Revealed { codes: vec![code(417)] }]))
}

#[test]
fn a_recipe_has_each_steep_once_and_of_one_done_again_the_last_that_counts() {
    let written = room().class.tea(code(417)).unwrap().clone();
    let with = |first_s: u32| [&[first_s], &written.steep_s[1..]].concat();
    let void = |steep| Event::Voided { code: code(417), steep, seat: None, reason: "cold.".into() };
    let said = |which: &str| vec![format!("steep 1 was done again; the {which} stands here")];
    for (scored, more, seconds, words) in [
        (&[][..], vec![], written.steep_s[0], vec![]),
        (&[4], vec![], 70, said("last one")),
        (&[4, 5], vec![], 33, said("last one")),
        (&[4, 5], vec![void(1), void(5)], 70, said("last one")),
        (&[4, 5], vec![void(4)], 33, said("last one")),
        (&[5], vec![void(1), void(4)], 33, said("last one")),
    ] {
        let case = format!("{scored:?} {more:?}");
        let summary = again(scored, more);
        let tea = summary.teas.iter().find(|t| t.code == code(417)).unwrap();
        let recipe = tea.recipe.clone().unwrap();
        assert_eq!(recipe.steep_s, with(seconds), "{case}");
        let first_c = if seconds == written.steep_s[0] { written.temp_c[0] } else { 88.0 };
        assert_eq!((recipe.temp_c[0], recipe.temp_c.len()), (first_c, 3), "{case}");
        assert_eq!(recipe::done_again(&tea.course), words, "{case}");
        assert_eq!(tea.course.iter().filter(|turn| turn.in_recipe).count(), 3, "{case}");
    }
    let between = again(&[4, 5], vec![void(5)]);
    let tea = between.teas.iter().find(|t| t.code == code(417)).unwrap();
    assert_eq!(tea.steeps.iter().map(|cup| cup.steep).collect::<Vec<_>>(), [1, 2, 3, 4]);
}

#[test]
fn a_round_that_is_no_such_steep_is_called_by_its_steep_and_is_in_no_line_from_steep_to_steep() {
    let summary = again(&[4, 5], vec![]);
    let called: Vec<String> = [3, 4, 5].map(|round| summary.called(code(417), round)).into();
    assert_eq!(called, ["steep 3", "steep 1 again (round 4)", "steep 1 again (round 5)"]);
    assert_eq!(summary.cup(code(417), 2), "417/2");
    assert_eq!(summary.cup(code(417), 4), "417 steep 1 again (round 4)");
    let curves = &summary.findings.figures.curves;
    let curve = curves.iter().find(|c| c.tea == code(417) && c.attribute == "liking").unwrap();
    let steeps = |curve: &Curve| curve.steeps.iter().map(|p| p.steep).collect::<Vec<_>>();
    assert_eq!((steeps(curve), steeps(&summary.drawn(curve))), (vec![1, 2, 3, 4, 5], vec![1, 2, 3]));
    assert_eq!(
        summary.not_drawn("liking").unwrap(),
        "Not in the lines, being done again: 417 steep 1 again (round 4) and 417 steep 1 again (round 5)."
    );
    assert_eq!(after([]).not_drawn("liking"), None);
    let once_more = Act::Added { code: code(417), round: 5, steep: 4, steep_s: 90, temp_c: 95.0 };
    let more = after([Event::Steered { act: once_more, suggested: vec![], timetable: None }]);
    assert_eq!(more.called(code(417), 5), "steep 4 (round 5)");
}

#[test]
fn what_was_left_out_is_told_once_for_each_act_with_the_teachers_reason() {
    let steered = |act| Event::Steered { act, suggested: vec![], timetable: None };
    let code = code(417);
    let skipped = |round, reason: &str| steered(Act::Skipped { code, round, reason: reason.into() });
    let dropped = |from, reason: &str| steered(Act::Dropped { code, from, reason: reason.into() });
    let back = |from| steered(Act::TakenBack { code, from });
    for (events, told) in [
        (vec![skipped(2, "broken pot")], vec!["417 was left out of round 2: broken pot."]),
        (vec![skipped(2, "")], vec!["417 was left out of round 2."]),
        (vec![dropped(2, "stale!")], vec!["417 was dropped from round 2 on: stale!"]),
        (
            vec![skipped(1, "cold"), dropped(2, "")],
            vec!["417 was left out of round 1: cold.", "417 was dropped from round 2 on."],
        ),
        (vec![dropped(1, "stale"), back(3)], vec!["417 was dropped for rounds 1 to 2: stale."]),
        (
            vec![dropped(2, "stale"), back(2), dropped(2, "stale")],
            vec!["417 was dropped from round 2 on: stale."],
        ),
        (vec![dropped(2, "stale"), back(2)], vec![]),
        (vec![skipped(2, "broken pot"), steered(Act::Undone)], vec![]),
    ] {
        let summary = after(events);
        let texts: Vec<&str> = summary.aside.iter().map(|aside| aside.text.as_str()).collect();
        assert_eq!(texts, told);
    }
    let summary = after([skipped(1, "cold"), dropped(2, "")]);
    let tea = summary.teas.iter().find(|t| t.code == code).unwrap();
    let left_out: Vec<_> = tea.course.iter().map(|turn| (turn.left_out, turn.reason.as_deref())).collect();
    assert_eq!(left_out, [(true, Some("cold")), (true, None), (true, None)]);
    let aside = &summary.aside[0];
    assert_eq!((aside.tea, aside.steep, aside.reason.as_deref()), (Some(code), Some(1), Some("cold")));
}

#[test]
fn a_steep_that_followed_the_votes_says_what_was_planned_and_how_the_next_vote_answered() {
    let planned_s = room().class.tea(code(417)).unwrap().steep_s[1];
    let taken_s = planned_s + 20;
    let mut timetable = room().timetable;
    let second = |cue: &&mut protocol::Cue| {
        cue.action == protocol::Action::Pour && (cue.code, cue.round()) == (Some(code(417)), 2)
    };
    timetable.cues.iter_mut().find(second).unwrap().steep_s = Some(taken_s);
    let taken = room::Adapted {
        code: code(417),
        round: 2,
        steep: 2,
        votes: plan::ladder::Votes([1, 4, 2, 0, 0]),
        could_vote: 8,
        planned_s,
        suggested_s: Some(taken_s + 5),
        taken_s,
        followed: false,
    };
    let timed = class::course::Timed { code: code(417), round: 2, steep_s: taken_s };
    let steered = |act, suggested| Event::Steered { act, suggested, timetable: Some(timetable.clone()) };
    let followed = steered(Act::Timed { steeps: vec![timed] }, vec![taken]);
    let revealed = Event::Revealed { codes: vec![code(417)] };
    let open = after([followed.clone(), revealed.clone()]);
    let found = &open.adapted[0];
    let seconds = (found.planned_s, found.suggested_s, found.served_s);
    assert_eq!(seconds, (Some(planned_s), Some(taken_s + 5), Some(taken_s)));
    assert_eq!(found.next_votes, [0, 0, 1, 0, 0]);
    assert_eq!(
        found.text,
        format!(
            "417 steep 2 sat {taken_s} s, planned {planned_s} s, suggested {} s. Votes on the steep before: 5 too thin, 2 just right; votes on this one: 1 just right.",
            taken_s + 5
        )
    );
    let exactly = |event: Event| match event {
        Event::Steered { act, suggested, timetable } => {
            let suggested =
                suggested.into_iter().map(|of| room::Adapted { suggested_s: Some(taken_s), ..of });
            Event::Steered { act, suggested: suggested.collect(), timetable }
        }
        other => other,
    };
    let taken = after([exactly(followed.clone()), Event::Revealed { codes: vec![code(417)] }]);
    let text = format!("417 steep 2 sat {taken_s} s as the votes suggested, planned {planned_s} s. ");
    assert!(taken.adapted[0].text.starts_with(&text), "{}", taken.adapted[0].text);
    let blind = &after([followed.clone()]).adapted[0];
    assert_eq!((blind.planned_s, blind.suggested_s, blind.served_s), (None, None, None));
    assert!(blind.text.starts_with("417 steep 2 was given another time than planned. "), "{}", blind.text);
    let undone = after([followed, steered(Act::Undone, vec![]), revealed]);
    assert_eq!(undone.adapted, [], "what was taken back was no change");
}

#[test]
fn what_was_put_right_or_left_out_at_a_console_elsewhere_says_so_and_undone_it_leaves_no_trace() {
    let mut room = room();
    let ann = Some(room::Console::Lead("Ann".into()));
    let take = |room: &mut Room, event, by| {
        let entry = Entry { by, ..Entry::new(room.seq + 1, room.last_at, event) };
        room.take(entry);
    };
    let void = |steep| Event::Voided { code: code(417), steep, seat: None, reason: "cold.".into() };
    take(&mut room, void(1), ann.clone());
    take(&mut room, void(2), Some(room::Console::Host));
    let skip = |round| Event::Steered {
        act: class::course::Act::Skipped { code: code(417), round, reason: "stale".into() },
        suggested: Vec::new(),
        timetable: None,
    };
    take(&mut room, skip(2), ann.clone());
    let undone = Event::Steered { act: class::course::Act::Undone, suggested: Vec::new(), timetable: None };
    let said =
        |room: &Room| -> Vec<String> { aside::aside(room).into_iter().map(|aside| aside.text).collect() };
    assert!(
        said(&room).contains(&"417 was left out of round 2: stale (at Ann's console).".to_string()),
        "{:?}",
        said(&room)
    );
    assert!(
        said(&room)[0].ends_with("cold (at Ann's console).") && said(&room)[1].ends_with("cold."),
        "{:?}",
        said(&room)
    );
    take(&mut room, undone, None);
    take(&mut room, skip(2), None);
    assert!(said(&room).contains(&"417 was left out of round 2: stale.".to_string()), "{:?}", said(&room));
}
