//! After the class: what this seat found.

use protocol::HostTime;
use protocol::fit;
use protocol::time::clock_face;
use ratatui::style::Stylize;
use ratatui::text::Line;
use seat::app::{App, Class};
use seat::words::{NOT_SENT, answer, count, score_content, tea};

/// The page that is turned to, and how many there are: where room is short the blank lines go, and then what has no room
/// stands on another page.
pub fn page(
    app: &App,
    class: &Class,
    at: Option<HostTime>,
    width: usize,
    room: usize,
) -> (Vec<Line<'static>>, usize) {
    let mut lines = lines(app, class, at, width);
    if lines.len() > room {
        lines.retain(|line| line.width() > 0);
    }
    let pages = lines.len().div_ceil(room.max(1)).max(1);
    let here = lines.into_iter().skip(app.desk.line % pages * room).take(room);
    (here.collect(), pages)
}

fn lines(app: &App, class: &Class, at: Option<HostTime>, width: usize) -> Vec<Line<'static>> {
    let mut lines = vec![Line::default(), Line::from(" The class is closed.").bold()];
    if let Some(at) = at {
        let wet = class.timetable.coming(at).iter().filter(|c| class.ends_a_wet_steep(c, at));
        lines.extend(wet.map(|cue| {
            let wait = clock_face(cue.at.seconds_until(at));
            Line::from(fit::cut(&format!(" Still under water: {cue} in {wait}"), width)).bold()
        }));
    }
    let waiting = app.waiting();
    if waiting > 0 {
        let what = if app.answers_waiting().is_empty() { "score" } else { "message" };
        let words = format!(" {} not acknowledged yet; stay until the host has them.", count(waiting, what));
        lines.push(Line::from(fit::cut(&words, width)).bold());
    }
    let not_sent = app.not_sent();
    if !not_sent.is_empty() {
        let told =
            std::iter::once(NOT_SENT.to_string()).chain(not_sent.iter().map(|sheet| format!("  {sheet}")));
        let wrapped = told.flat_map(|words| fit::wrap(&words, width.saturating_sub(2)));
        lines.extend(wrapped.map(|text| Line::from(format!(" {text}")).bold()));
    }
    let notes = match app.notes_kept() {
        Some(place) => format!("Your scores and notes are kept in `{place}`."),
        None => "Keep your scores and notes in a file? k does.".into(),
    };
    let wrapped = fit::wrap(&notes, width.saturating_sub(2));
    lines.extend(wrapped.into_iter().map(|text| Line::from(format!(" {text}"))));
    if class.taken.is_empty() && waiting == 0 && not_sent.is_empty() {
        lines.push(Line::from(" You scored nothing, and that is all right."));
    }
    if !class.answered.is_empty() {
        let answers: Vec<_> = class.answered.values().map(answer).collect();
        lines.push(Line::default());
        let wrapped = fit::wrap(&answers.join(" · "), width.saturating_sub(2));
        lines.extend(wrapped.into_iter().map(|text| Line::from(format!(" {text}"))));
    }
    for card in &class.teas {
        let blind = if card.name.is_none() { " · still blind" } else { "" };
        lines.push(Line::default());
        lines.push(Line::from(fit::cut(&format!(" {}{blind}", tea(card)), width)).bold());
        for (cup, score) in class.taken.iter().filter(|(cup, _)| cup.code == card.code) {
            let head = format!("   {}  ", class.served(*cup).which());
            let wrapped =
                fit::wrap(&score_content(score, &class.sheet), width.saturating_sub(head.len() + 1));
            for (i, text) in wrapped.into_iter().enumerate() {
                let head = if i == 0 { head.clone() } else { " ".repeat(head.len()) };
                lines.push(Line::from(head + &text));
            }
        }
    }
    lines
}
