//! Before the class begins.

use protocol::fit;
use protocol::{CAUTIONS, Phase};
use ratatui::style::{Style, Stylize};
use ratatui::text::Line;
use seat::app::{App, LinkState};
use seat::words::{NO_CLASS_YET, asked, here, place};

/// Who sits here, who else has come, the sheet to come, and the cautions, without which nobody begins: where room is short the
/// blank lines go.
pub fn lines(app: &App, width: usize, room: usize) -> Vec<Line<'static>> {
    let mut lines = vec![Line::default()];
    match &app.class {
        Some(class) if class.phase == Phase::Lobby => {
            lines
                .push(Line::from(format!(" You are seated as {}. The teacher will begin.", app.name)).bold());
            let place = place(&class.teas, class.pourers, class.hands, class.role);
            lines.extend(indented(&place, width, " "));
            if let Some(before) = &class.before_start {
                lines.extend(indented(before, width, " ").into_iter().map(Line::bold));
            }
            if let Some((names, seats)) = &class.here {
                lines.extend(indented(&here(names, *seats), width, " "));
            }
            if class.role.scores() {
                lines.extend(indented(&format!("The sheet: {}.", asked(&class.sheet)), width, " "));
            }
        }
        Some(_) => lines.push(Line::from(" Setting the clock by the host's …").bold()),
        None if let Some((said, typed)) = app.code_asked() => {
            lines.push(Line::from(format!(" Type the join code, then Enter: {typed}_")).bold());
            lines.extend(indented(&format!("{said}."), width, " "));
        }
        None if app.link == LinkState::NotAdmitted => {
            lines.push(Line::from(format!(" Waiting at the door, as {}.", app.name)).bold());
        }
        None => {
            lines.push(Line::from(format!(" Looking for the class, for {} …", app.name)).bold());
            let asks = app.unlinked.as_ref().map(|_| indented(&format!("{NO_CLASS_YET}."), width, " "));
            lines.extend(asks.unwrap_or_default());
        }
    }
    lines.push(Line::default());
    for caution in CAUTIONS {
        let text = indented(caution, width, "   ");
        lines.extend(text);
    }
    if lines.len() > room {
        lines.retain(|line| line.width() > 0);
    }
    lines
}

fn indented(text: &str, width: usize, indent: &'static str) -> Vec<Line<'static>> {
    let wrapped = fit::wrap(text, width.saturating_sub(indent.len() + 1));
    wrapped.into_iter().map(|line| Line::styled(format!("{indent}{line}"), Style::new())).collect()
}
