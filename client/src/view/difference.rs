//! A difference test in the place of the sheet.

use super::sheet::with_offer;
use protocol::TestCard;
use protocol::fit;
use ratatui::style::Stylize;
use ratatui::text::{Line, Span};
use seat::app::App;
use seat::host_clock::OwnTime;

/// The question, the cups from left to right, and the one that is chosen.
pub fn lines(app: &App, card: &TestCard, now: OwnTime, width: usize) -> Vec<Line<'static>> {
    let head = format!(" TEST {}  {} · {}", card.test, card.kind, app.test_state(card.test));
    let mut lines = vec![with_offer(&head, app, now, width)];
    let question = fit::wrap(&card.question, width.saturating_sub(4));
    lines.extend(question.into_iter().map(|line| Line::from(format!("   {line}"))));
    let picked = app.pick(card.test);
    let mut cups = vec![Span::raw("   ")];
    cups.extend(card.reference.map(|code| Span::raw(format!("first {code}, then  "))));
    cups.extend(card.codes.iter().map(|code| match picked == Some(*code) {
        true => Span::raw(format!("[{code}]  ")).bold(),
        false => Span::raw(format!(" {code}   ")),
    }));
    lines.push(Line::default());
    lines.push(Line::from(cups));
    lines
}
