//! Before the class begins.

use protocol::fit;
use protocol::{CAUTIONS, Phase};
use ratatui::style::{Style, Stylize};
use ratatui::text::Line;
use seat::app::App;
use seat::words::{asked, here, place};

pub fn lines(app: &App, width: usize) -> Vec<Line<'static>> {
    let mut lines = vec![Line::default()];
    match &app.class {
        Some(class) if class.phase == Phase::Lobby => {
            lines
                .push(Line::from(format!(" You are seated as {}. The teacher will begin.", app.name)).bold());
            let place = place(&class.teas, class.pourers, class.hands, class.role);
            lines.extend(indented(&place, width, " "));
            if let Some((names, seats)) = &class.here {
                lines.extend(indented(&here(names, *seats), width, " "));
            }
            if class.role.scores() {
                lines.extend(indented(&format!("The sheet: {}.", asked(&class.sheet)), width, " "));
            }
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

fn indented(text: &str, width: usize, indent: &'static str) -> Vec<Line<'static>> {
    let wrapped = fit::wrap(text, width.saturating_sub(indent.len() + 1));
    wrapped.into_iter().map(|line| Line::styled(format!("{indent}{line}"), Style::new())).collect()
}
