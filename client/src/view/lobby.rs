//! Before the class begins.

use super::fit;
use crate::app::{App, Class};
use crate::words::count;
use protocol::{CAUTIONS, Phase};
use ratatui::style::{Style, Stylize};
use ratatui::text::Line;

pub fn lines(app: &App, width: usize) -> Vec<Line<'static>> {
    let mut lines = vec![Line::default()];
    match &app.class {
        Some(class) if class.phase == Phase::Lobby => {
            lines
                .push(Line::from(format!(" You are seated as {}. The teacher will begin.", app.name)).bold());
            lines.extend(indented(&place(class), width, " "));
        }
        Some(_) => lines.push(Line::from(" Setting the clock by the host's …").bold()),
        None => lines.push(Line::from(format!(" Looking for the class, for {} …", app.name)).bold()),
    }
    lines.push(Line::default());
    for caution in CAUTIONS {
        let text = indented(caution, width, "   ");
        lines.extend(text);
    }
    lines
}

fn place(class: &Class) -> String {
    let codes: Vec<_> = class.teas.iter().map(|t| t.code.to_string()).collect();
    let hands = match (class.pourers, class.hands) {
        (None, _) => "You brew your own set.".into(),
        (Some(_), None) => "Others pour; you taste.".into(),
        (Some(all), Some(hands)) => format!("You pour: hands {hands} of {all}."),
    };
    format!("{}: {}. {hands}", count(codes.len(), "tea"), codes.join(", "))
}

fn indented(text: &str, width: usize, indent: &'static str) -> Vec<Line<'static>> {
    let wrapped = fit::wrap(text, width.saturating_sub(indent.len() + 1));
    wrapped.into_iter().map(|line| Line::styled(format!("{indent}{line}"), Style::new())).collect()
}
