//! Answers to what can be asked at a seat without a screen.

use crate::app::{App, Class, Cup, Question};
use crate::host_clock::{Doubt, OwnTime};
use crate::{deeds, help, words};
use protocol::time::clock_face;
use protocol::{Action, HostTime};

/// The answer, in lines.
pub fn lines(app: &App, question: Question, now: OwnTime) -> Vec<String> {
    let class = match &app.class {
        _ if question == Question::Help => return help::lines(app),
        Some(class) => class,
        None => return vec![words::NOT_SEATED.into()],
    };
    let at = app.host_now(now);
    match (question, at) {
        (Question::Mine, _) => mine(app, class),
        (Question::Sheet, _) => words::sheet(&class.sheet),
        (Question::Help, _) => Vec::new(),
        (Question::Tests, _) => tests(app, class),
        (Question::Said, _) => said(app),
        (Question::Clock, Some(at)) => clock(app, now, at),
        (_, None) => vec!["the host's clock is not known yet; ask again in a moment".into()],
        (Question::Teas, Some(at)) => teas(class, at),
        (Question::Next, Some(at)) => next(app, class, now, at),
        (Question::Missing, Some(_)) if let Some(words) = words::not_asked(class.role) => vec![words],
        (Question::Missing, Some(at)) => match app.missing(at) {
            cups if cups.is_empty() => vec!["no cup is without a score".into()],
            cups => vec![words::missing(&cups)],
        },
    }
}

fn clock(app: &App, now: OwnTime, at: HostTime) -> Vec<String> {
    let bound_us = app.bound_us(now).unwrap_or_default();
    let estimate = app.clock.estimate();
    let mut lines =
        vec![format!("{} on the class's clock, {}", clock_face(at.0 / 1_000_000), words::clock(bound_us))];
    lines.extend(estimate.jitter_us().zip(estimate.chosen()).map(|(jitter_us, best)| {
        let room = |host_us| words::short_time(app.clock.in_room_us(host_us));
        let (way, scatter) = (room(best.delay_us()), room(jitter_us as i64));
        format!("the host answers after {way} at best; its answers scatter by {scatter}")
    }));
    lines.extend(estimate.skew_ppm().map(|(skew, within)| {
        let gains = if skew < 0.0 { "loses" } else { "gains" };
        let skew = skew.abs();
        format!("the host's clock {gains} {skew:.1} ± {within:.1} µs a second on this machine's, which is allowed for")
    }));
    let doubt = app.clock.doubt().map(|why| match why {
        Doubt::Slept => "this machine slept, and the host has not been asked since",
        Doubt::Host => "the host started again, and has not been asked since",
    });
    lines.extend(doubt.map(String::from));
    lines
}

fn teas(class: &Class, at: HostTime) -> Vec<String> {
    let each = class.teas.iter().map(|card| {
        let clock = class.timetable.clock(card.code, at);
        let left = clock.until.map(|until| format!(", {} left", clock_face(until.seconds_until(at))));
        let left = left.unwrap_or_default();
        format!(
            "{}: {}, {}{left}",
            words::tea(card),
            words::steep_of(clock.steep, card.steeps, clock.round),
            clock.state
        )
    });
    each.collect()
}

fn next(app: &App, class: &Class, now: OwnTime, at: HostTime) -> Vec<String> {
    let current = class.current(at).map(|cue| match cue.action {
        Action::Taste => {
            let left_s = app.taste_left_s(cue, at, now);
            format!("now: {}", deeds::under_way(usize::MAX, cue, &class.kettles, left_s))
        }
        _ => format!("now: {}", deeds::with_brackets(cue, &class.kettles)),
    });
    let coming = class.next(at).map(|cue| {
        let wait = clock_face(cue.at.seconds_until(at));
        format!("next: {} in {wait}", deeds::with_brackets(cue, &class.kettles))
    });
    let round = class.timetable.round(at);
    let drink = class.role.scores().then(|| class.to_drink(round)).filter(|codes| codes.len() > 1);
    let called = app.last_call_left_s(now).map(|left_s| words::last_call_in_lines(left_s, class.role));
    let lines = [current, coming, drink.map(|codes| words::drink(&codes)), called];
    let lines: Vec<_> = lines.into_iter().flatten().collect();
    if lines.is_empty() { vec!["nothing is planned".into()] } else { lines }
}

fn mine(app: &App, class: &Class) -> Vec<String> {
    let taken = class.taken.iter();
    let kept = taken
        .map(|(cup, s)| format!("kept: {} ({})", class.served(*cup), words::score_content(s, &class.sheet)));
    let waiting = app.outbox().iter().map(|s| {
        let cup = class.served(Cup::of(s));
        format!("not acknowledged yet: {cup} ({})", words::score_content(s, &class.sheet))
    });
    let answers = class.answered.values().map(|a| format!("kept: {}", words::answer(a)));
    let waiting_answers =
        app.answers_waiting().iter().map(|a| format!("not acknowledged yet: {}", words::answer(a)));
    let lines: Vec<_> = kept.chain(waiting).chain(answers).chain(waiting_answers).collect();
    if lines.is_empty() { vec!["nothing scored yet".into()] } else { lines }
}

/// What the teacher has said, oldest first.
pub fn said(app: &App) -> Vec<String> {
    let lines: Vec<String> = app.all_said().map(|(words, to_you)| words::said(words, to_you)).collect();
    if lines.is_empty() { vec!["the teacher has said nothing so far".into()] } else { lines }
}

fn tests(app: &App, class: &Class) -> Vec<String> {
    let each = class.tests.values().map(|card| {
        let picked = app
            .pick(card.test)
            .map_or("not answered".into(), |code| format!("{code} {}", app.test_state(card.test)));
        let cups = words::cups(card);
        format!("test {} ({}): {} Your cups: {cups}. {picked}", card.test, card.kind, card.question)
    });
    let lines: Vec<_> = each.collect();
    if lines.is_empty() { vec!["no test is open".into()] } else { lines }
}
