//! What is to do now and next.

use super::large;
use protocol::fit;
use protocol::say::kettle;
use protocol::time::clock_face;
use protocol::{Action, Code, Cue, HostTime, Phase};
use ratatui::style::{Style, Stylize};
use ratatui::text::{Line, Span};
use seat::app::{App, Class, Cup};
use seat::deeds;
use seat::host_clock::OwnTime;
use seat::words::closes;

/// The last seconds before a cue are counted down in large letters.
const COUNTDOWN_S: i64 = 10;
/// A tasting gives way to the countdown only this short before the next cue.
const HURRY_S: i64 = 5;
/// While the class holds the work at a kettle stands in large letters for so long, in microseconds of host time.
const DUE_US: i64 = 10_000_000;
/// That a lid goes on is read in so long, in microseconds of host time.
const LID_US: i64 = 1_500_000;

/// Always as many lines, so that nothing below them jumps: what to do now, what comes next, and for whoever scores in which
/// order to taste.
pub fn lines(app: &App, class: &Class, at: HostTime, now: OwnTime, width: usize) -> Vec<Line<'static>> {
    let in_hand = match class.current(at) {
        Some(cue) => {
            let room = width.saturating_sub(7);
            let left_s = app.taste_left_s(cue, at, now);
            let words = format!(" NOW   {}", deeds::under_way(room, cue, &class.kettles, left_s));
            Line::styled(fit::cut(&words, width), Style::new().bold())
        }
        None => match ready(app, class, at) {
            Some(cup) => {
                let words = format!(" NOW   {} is ready: taste it", class.served(cup));
                Line::styled(fit::cut(&words, width), Style::new().bold())
            }
            None => {
                let words = format!(" NOW   {}", idle(app, class, at, now));
                Line::styled(fit::cut(&words, width), Style::new().dim())
            }
        },
    };
    // What would come after the end of a last call does not come.
    let comes = |cue: &&Cue| class.last_call.is_none_or(|end| cue.at <= end);
    let next = match class.next(at).filter(comes) {
        _ if let Some((from, cup)) = next_cup(class, at) => {
            let wait = clock_face(from.seconds_until(at));
            let words = format!(" NEXT  next cup in {wait}  {}", class.served(cup));
            Line::from(fit::cut(&words, width))
        }
        Some(cue) => {
            let wait = clock_face(cue.at.seconds_until(at));
            let then = class.next_together(at).into_iter().skip(1);
            let then: String =
                then.map(|cue| format!(" · then {}", deeds::deed(cue, &class.kettles))).collect();
            let head = match taste_left_beside_work(app, class, at, now) {
                Some(left) => format!(" NEXT  {left} left to taste · in {wait}  "),
                None => format!(" NEXT  in {wait}  "),
            };
            let room = width.saturating_sub(fit::columns(&head));
            let words = format!("{head}{}{then}", deeds::with_dots_in(room, cue, &class.kettles));
            Line::from(fit::cut(&words, width))
        }
        None if let Some(left_s) = app.last_call_left_s(now) => {
            Line::from(fit::cut(&format!(" NEXT  {}", closes(left_s)), width))
        }
        None if class.phase == Phase::Held => {
            Line::from(fit::cut(" NEXT  nothing until the class goes on; what is wet ends on time", width))
        }
        None if let Some(left) = taste_left_beside_work(app, class, at, now) => {
            Line::from(format!(" NEXT  {left} left to taste"))
        }
        None => Line::from(" NEXT  nothing more is planned"),
    };
    let mut lines = vec![in_hand, next];
    lines.extend(class.role.scores().then(|| drink(app, class, at, width)));
    lines
}

/// What there is to say while nothing is in these hands.
fn idle(app: &App, class: &Class, at: HostTime, now: OwnTime) -> String {
    let tasting = class.tasting(at).map(|cue| {
        let left = app.taste_left_s(cue, at, now).map(|left_s| format!(" · {} left", clock_face(left_s)));
        format!("everybody tastes round {}{}", cue.round(), left.unwrap_or_default())
    });
    let idle = if class.only_tastes() { "nothing to taste now" } else { "nothing for your hands" };
    // Whoever looked away when a kettle was to be set sees it here.
    let set = class.kettles_set(at).into_iter().filter(|_| tasting.is_none()).filter_map(|cue| {
        Some(format!(" · {} set to {} °C", kettle(cue.kettle, &class.kettles), cue.temp_c?))
    });
    let set: String = set.collect();
    tasting.unwrap_or_else(|| idle.into()) + &set
}

/// The time left to taste while work of these hands stands in the place of the tasting, for whoever scores.
fn taste_left_beside_work(app: &App, class: &Class, at: HostTime, now: OwnTime) -> Option<String> {
    class.current(at).filter(|cue| cue.action != Action::Taste && class.role.scores())?;
    let taste = class.tasting(at).filter(|taste| taste.is_for(class.hands))?;
    app.taste_left_s(taste, at, now).map(clock_face)
}

/// For whoever only tastes: the cup that stands ready without a score, first of all the one whose sheet is shown.
fn ready(app: &App, class: &Class, at: HostTime) -> Option<Cup> {
    let in_hand = app.cup_in_hand().filter(|cup| app.is_unsent(*cup));
    in_hand.or_else(|| app.next_cup(at)).filter(|_| class.only_tastes())
}

/// For whoever only tastes: the cup that is there before anything else comes.
fn next_cup(class: &Class, at: HostTime) -> Option<(HostTime, Cup)> {
    let before = |(from, _): &(HostTime, Cup)| {
        let cue = class.next(at).map(|cue| cue.at);
        [cue, class.last_call].into_iter().flatten().all(|end| *from < end)
    };
    class.next_cup_from(at).filter(|_| class.only_tastes()).filter(before)
}

/// The cups of the round in the order in which this seat tastes them, and behind those that are there the ones to come; the
/// one in hand stands in brackets.
fn drink(app: &App, class: &Class, at: HostTime, width: usize) -> Line<'static> {
    let hand = app.cup_in_hand();
    let round = hand.map_or_else(|| class.timetable.round(at).max(1), |cup| cup.steep);
    let is_there = |code: &Code| class.has_cup(Cup { code: *code, steep: round }, at);
    let codes = class.to_drink(round);
    if codes.is_empty() && class.phase == Phase::Held {
        return Line::from(fit::cut(" DRINK  the order comes when the class goes on", width)).dim();
    }
    let (there, to_come): (Vec<_>, Vec<_>) = codes.into_iter().partition(is_there);
    let shown = |code: Code| match hand.is_some_and(|cup| cup.code == code) {
        true => Span::raw(format!("[{code}]")).bold(),
        false => Span::raw(format!(" {code} ")),
    };
    let parted = !there.is_empty() && !to_come.is_empty();
    let cups = there.into_iter().map(shown).chain(parted.then(|| Span::raw(" then ")));
    let mut spans = vec![Span::raw(" DRINK ")];
    let mut room = width.saturating_sub(7);
    for span in cups.chain(to_come.into_iter().map(shown)) {
        let Some(left) = room.checked_sub(span.width()) else { break };
        room = left;
        spans.push(span);
    }
    let of = format!(" · {}", class.steep_of_round(round));
    spans.extend((room >= fit::columns(&of)).then(|| Span::raw(of).dim()));
    Line::from(spans)
}

/// The same in one line, for a window that has room for nothing else.
pub fn shortest(class: &Class, at: HostTime) -> String {
    match (class.current(at), class.next(at)) {
        (Some(cue), _) => format!("NOW {}", deeds::deed(cue, &class.kettles)),
        (None, Some(cue)) => {
            let wait = clock_face(cue.at.seconds_until(at));
            format!("NEXT {} in {wait}", deeds::deed(cue, &class.kettles))
        }
        (None, None) => "nothing is planned".into(),
    }
}

/// In large letters: the work under way, the last seconds before a cue, the last call, the time left to taste, that the class
/// holds, or how long it is till the next cue.
pub fn large(
    app: &App,
    class: &Class,
    at: HostTime,
    now: OwnTime,
    width: usize,
) -> Option<Vec<Line<'static>>> {
    let (current, next) = (class.current(at), class.next(at));
    let held = class.phase == Phase::Held;
    // While the class holds nothing is poured that a kettle would be late for: its work has the letters only when it is due.
    let waits = |cue: &Cue| held && cue.action.is_at_kettle() && at - cue.at >= DUE_US;
    let works = current.is_some_and(|cue| cue.action != Action::Taste && !waits(cue));
    let near_s = if current.is_some() { HURRY_S } else { COUNTDOWN_S };
    let soon = next.filter(|cue| !(held && cue.action.is_at_kettle()));
    let soon = soon.map(|cue| (cue, cue.at.seconds_until(at)));
    // What these hands are at keeps the letters as long as it lasts; the line of what comes next counts down meanwhile. Only a
    // kettle, which does its work by itself, lets go of them just before, and a lid that has been read.
    let lets_go =
        |cue: &Cue| cue.action.is_at_kettle() || (cue.action == Action::Lid && at - cue.at >= LID_US);
    let keeps = works && !current.is_some_and(lets_go);
    let soon = soon.filter(|(_, left_s)| *left_s <= near_s && !keeps);
    let called = app.last_call_left_s(now).filter(|_| !works);
    let texts = match (current, next) {
        _ if let Some((cue, left_s)) = soon => deeds::countdown(cue, &class.kettles, left_s),
        _ if let Some(left_s) = called => {
            let left = clock_face(left_s);
            if left_s > 0 { vec![format!("LAST CALL {left}"), left] } else { vec!["CLOSES NOW".into()] }
        }
        (Some(cue), _) if cue.action == Action::Taste && !held => {
            let left = app.taste_left_s(cue, at, now).map(clock_face)?;
            vec![format!("TASTE {left}"), left]
        }
        (Some(cue), _) if works => deeds::headlines(cue, &class.kettles),
        _ if held => vec!["HOLD".into()],
        _ if let Some((from, _)) = next_cup(class, at) => {
            let left = clock_face(from.seconds_until(at));
            vec![format!("NEXT CUP {left}"), format!("CUP {left}")]
        }
        (_, Some(cue)) if class.only_tastes() => {
            vec![format!("TASTE IN {}", clock_face(cue.at.seconds_until(at)))]
        }
        (_, Some(cue)) => vec![clock_face(cue.at.seconds_until(at))],
        (_, None) => return None,
    };
    let drawn = texts.iter().find_map(|text| large::centred(text, width))?;
    Some(drawn.into_iter().map(|line| line.style(Style::new().bold())).collect())
}
