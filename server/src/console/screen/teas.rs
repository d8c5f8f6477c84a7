//! The teas with their clocks.

use crate::console::words::tally;
use protocol::time::clock_face;
use protocol::{HostTime, SteepState, fit};
use ratatui::layout::Constraint;
use ratatui::style::{Modifier, Style};
use ratatui::widgets::{Row, Table};
use room::view::{LeftOut, TeaView, View};
use std::cmp::Reverse;

/// How many columns "next in 16:40" takes.
const LEFT: u16 = 13;

/// A table of `rows` lines. Where not all teas have room, those that want hands soonest are there, and how many are not.
pub(super) fn table(view: &View, width: u16, rows: u16) -> Table<'static> {
    // Codes and clocks first: a narrow screen leaves out the sheets, then the names.
    let (fixed, gaps) = (4 + 7 + 9 + LEFT, 4);
    let sheets = width >= fixed + gaps + 1 + 9 + 8;
    let name_columns = width.saturating_sub(fixed + gaps + if sheets { 10 } else { 0 });
    let bold = Style::new().add_modifier(Modifier::BOLD);
    let pick = |cells: [String; 6]| {
        let [code, name, steep, state, left, sheets_in] = cells;
        let mut row = vec![code, name, steep, state, left];
        if sheets {
            row.push(sheets_in);
        }
        row
    };
    let room = usize::from(rows.saturating_sub(1));
    let chosen = chosen(&view.teas, room);
    let hidden = view.teas.len() - chosen.len();
    let mut lines: Vec<Row<'static>> = chosen
        .into_iter()
        .map(|tea| {
            let TeaView { code, name, steeps, clock, cup_in, left_out } = tea;
            let left = match (clock.state, clock.until) {
                (SteepState::Dry | SteepState::Resting, Some(_)) => {
                    format!("next in {}", left(clock.until, view.now))
                }
                (_, until) => left(until, view.now),
            };
            let state = match left_out.filter(|_| !at_work(tea)) {
                Some(LeftOut::Dropped) => "dropped".into(),
                Some(LeftOut::Round(round)) => format!("skips {round}"),
                None => clock.state.to_string(),
            };
            let name = fit::cut(name.as_deref().unwrap_or("blind"), name_columns.into());
            let steep = format!("{} of {steeps}", clock.steep);
            let row = Row::new(pick([format!(" {code}"), name, steep, state, left, tally(*cup_in)]));
            row.style(if at_work(tea) { bold } else { Style::new() })
        })
        .collect();
    if hidden > 0 {
        let more = format!("and {hidden} more");
        lines.push(Row::new(pick(["", &more, "", "", "", ""].map(String::from))));
    }
    let mut widths = [4, name_columns, 7, 9, LEFT].map(Constraint::Length).to_vec();
    if sheets {
        widths.push(Constraint::Length(9));
    }
    let header = pick([" tea", "", "steep", "state", "left", "sheets in"].map(String::from));
    Table::new(lines, widths).header(Row::new(header)).column_spacing(1)
}

fn at_work(tea: &TeaView) -> bool {
    !matches!(tea.clock.state, SteepState::Dry | SteepState::Resting)
}

/// All teas, or those that have room with a line for the others, in the order they have.
fn chosen(teas: &[TeaView], room: usize) -> Vec<&TeaView> {
    if teas.len() <= room {
        return teas.iter().collect();
    }
    let mut by_need: Vec<usize> = (0..teas.len()).collect();
    by_need.sort_by_key(|&i| (Reverse(at_work(&teas[i])), teas[i].clock.until.unwrap_or(HostTime(i64::MAX))));
    by_need.truncate(room.saturating_sub(1));
    by_need.sort_unstable();
    by_need.into_iter().map(|i| &teas[i]).collect()
}

/// "0:12" or the like, until `until`.
fn left(until: Option<HostTime>, now: HostTime) -> String {
    until.map_or(String::new(), |at| clock_face(at.seconds_until(now)))
}
