//! The first lines: class, name, link; and what is out of the ordinary.

use protocol::Phase;
use protocol::fit;
use protocol::time::clock_face;
use ratatui::style::Style;
use ratatui::text::Line;
use seat::app::{App, LinkState};
use seat::host_clock::{Doubt, OwnTime};
use seat::words::{self, count};

/// From this height on a rule parts the title from the rest.
const TALL: usize = 22;

pub fn lines(app: &App, now: OwnTime, width: usize, height: usize) -> Vec<Line<'static>> {
    let mut lines = vec![title(app, now, width)];
    if height >= TALL {
        lines.push(Line::styled("─".repeat(width), Style::new().dim()));
    }
    if let Some(words) = no_link(app, now) {
        let wrapped = fit::wrap(&words, width.saturating_sub(2));
        lines.extend(wrapped.into_iter().take(3).map(|l| Line::styled(format!(" {l}"), Style::new().bold())));
    }
    for words in app.warnings() {
        let words = format!("WARNING  {words} · any key takes this away");
        let wrapped = fit::wrap(&words, width.saturating_sub(2));
        lines.extend(wrapped.into_iter().take(5).map(|l| Line::styled(format!(" {l}"), Style::new().bold())));
    }
    lines
}

pub(super) fn title(app: &App, now: OwnTime, width: usize) -> Line<'static> {
    let link = match app.link {
        LinkState::Linked => match app.bound_us(now).and_then(words::unsure_clock) {
            // The bound is that of the clock before.
            _ if app.clock.doubt() == Some(Doubt::Host) => "linked · asking for the time",
            Some(unsure) => &format!("linked · {unsure}"),
            None => "linked",
        },
        LinkState::AtDoor | LinkState::NotAdmitted => "at the door",
        LinkState::Idle | LinkState::Dialling(_) => "calling the host",
        LinkState::Waiting(_) => "no link",
    };
    // A class that is about to close is past holding.
    let called = app.last_call_left_s(now).is_some();
    let held = if app.phase() == Phase::Held && !called { "HELD · " } else { "" };
    let link = format!("{held}{link}");
    let class = app.title().unwrap_or("tea class");
    let who = format!(" {class} · {}", app.name);
    let room = width.saturating_sub(fit::columns(&link) + 3);
    Line::styled(format!("{}  {link} ", fit::left(&who, room)), Style::new().bold())
}

fn no_link(app: &App, now: OwnTime) -> Option<String> {
    let (since, reason) = app.unlinked.as_ref()?;
    if app.link == LinkState::NotAdmitted {
        return Some(reason.clone());
    }
    let mut parts = vec![format!("no link to the host for {}", clock_face(now.seconds_since(*since)))];
    match app.class.as_ref().map(|c| c.phase) {
        Some(Phase::Running | Phase::Held) => parts.push("cues go on from the timetable".into()),
        _ => parts.push(reason.clone()),
    }
    parts.extend(app.class.as_ref().and_then(|_| words::unsure_clock(app.bound_us(now)?)));
    parts.push(match app.link {
        LinkState::Waiting(at) => format!("trying again in {} s", at.seconds_until(now)),
        _ => "trying again now".into(),
    });
    let (scores, answers) = (app.outbox().len(), app.answers_waiting().len());
    if scores > 0 {
        parts.push(format!("{} waiting", count(scores, "score")));
    }
    if answers > 0 {
        parts.push(format!("{} waiting", count(answers, "answer")));
    }
    Some(parts.join(" · "))
}
