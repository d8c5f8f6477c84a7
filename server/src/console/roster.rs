//! The seats in the order in which a teacher looks for them, as lines of a screen and as a list.

use super::words::tally;
use protocol::say::many;
use protocol::{Role, fit};
use room::view::{SeatView, View};
use std::cmp::Reverse;

/// Before the first line, and as wide before the others.
const LABEL: &str = " seats  ";

/// Who is here: whoever has most sheets missing first, of equals those without a link, then as they sat down.
pub fn in_order(view: &View) -> Vec<&SeatView> {
    let mut seats: Vec<&SeatView> = view.seats.iter().filter(|seat| !seat.away).collect();
    seats.sort_by_key(|seat| (Reverse(behind(seat)), seat.linked));
    seats
}

/// How many sheets are missing from a seat that owes some.
fn behind(seat: &SeatView) -> usize {
    if owes(seat) { seat.sheets.due.saturating_sub(seat.sheets.present) } else { 0 }
}

fn owes(seat: &SeatView) -> bool {
    seat.counts && seat.role.scores() && !seat.away
}

/// How many have come for the class itself; who only looks on, such as a board, was not expected.
fn came(view: &View) -> usize {
    view.seats.iter().filter(|seat| seat.role != Role::Watches && !seat.away).count()
}

/// `16 of 20 complete`; before the first cup how many are seated.
pub fn complete(view: &View) -> String {
    let owing = view.seats.iter().filter(|seat| owes(seat));
    let all_in = owing.clone().filter(|seat| behind(seat) == 0).count();
    if view.class_in.due == 0 {
        format!("{} of {} expected", came(view), view.expected)
    } else {
        format!("{all_in} of {} complete", owing.count())
    }
}

/// A seat with what sets it apart: `Ann (pourer 1, no link) 3 of 5`.
fn named(seat: &SeatView) -> String {
    let pourer = seat.pourer.map(|p| format!("pourer {p}"));
    let link = (!seat.linked).then(|| "no link".to_string());
    let apart: Vec<String> = [pourer, link].into_iter().flatten().collect();
    let apart = if apart.is_empty() { String::new() } else { format!(" ({})", apart.join(", ")) };
    let sheets = match owes(seat) && seat.sheets.due > 0 {
        true => format!(" {}", tally(seat.sheets)),
        false => String::new(),
    };
    let writing = if seat.writing { " writing" } else { "" };
    format!("{}{apart}{sheets}{writing}", seat.name)
}

/// At most `rows` lines: those behind and those without a link, then how many have all their sheets in; before the first cup
/// everybody. Who has no room is counted; no name is ever cut in two by the end of a line.
pub fn lines(view: &View, width: usize, rows: usize) -> Vec<String> {
    let begun = view.class_in.due > 0;
    let shown = in_order(view).into_iter().filter(|seat| !begun || behind(seat) > 0 || !seat.linked);
    let mut names: Vec<String> = shown.map(named).collect();
    let all = names.len();
    loop {
        let left_out = all - names.len();
        let more = match (left_out, begun) {
            (0, _) => None,
            (n, true) => Some(format!("and {n} more")),
            (n, false) => Some(format!("and {n} more are seated")),
        };
        let pieces: Vec<String> = if begun {
            names.iter().cloned().chain(more).chain([complete(view)]).collect()
        } else {
            [complete(view)].into_iter().chain(names.iter().cloned()).chain(more).collect()
        };
        let lines = filled(&pieces, width);
        if lines.len() <= rows || names.pop().is_none() {
            return lines.into_iter().take(rows).collect();
        }
    }
}

/// Pieces set one behind the other with dots between, none of them broken.
fn filled(pieces: &[String], width: usize) -> Vec<String> {
    let room = width.saturating_sub(LABEL.len());
    let mut lines: Vec<String> = Vec::new();
    for piece in pieces.iter().map(|piece| fit::cut(piece, room)) {
        match lines.last_mut() {
            Some(line) if fit::columns(line) + 3 + fit::columns(&piece) <= room => {
                *line += " · ";
                *line += &piece;
            }
            _ => lines.push(piece),
        }
    }
    let label = |i: usize| if i == 0 { LABEL.to_string() } else { " ".repeat(LABEL.len()) };
    lines.iter().enumerate().map(|(i, line)| fit::cut(&(label(i) + line), width)).collect()
}

/// Everybody, one a line, in the same order.
pub fn list(view: &View) -> String {
    let mut out = format!("{} of {} expected seats", came(view), view.expected);
    if view.class_in.due > 0 {
        out += &format!("; {}", complete(view));
    }
    for seat in in_order(view) {
        let pourer = seat.pourer.map_or(String::new(), |p| format!(", pourer {p}"));
        let link = if seat.linked { "linked" } else { "no link" };
        let sheets = match (seat.role.scores(), seat.counts) {
            (false, _) => "owes no sheets".to_string(),
            (true, counts) => {
                let aside = if counts { "" } else { ", left out" };
                format!("{} of {} sheets{aside}", seat.sheets.present, seat.sheets.due)
            }
        };
        let writing = if seat.writing { ", writing" } else { "" };
        out += &format!("\n  {}{pourer}: {link}, {sheets}{writing}", seat.name);
    }
    for seat in view.seats.iter().filter(|seat| seat.away) {
        let aside = if seat.counts { "" } else { ", left out" };
        out += &format!("\n  {}: sent away, {} scored{aside}", seat.name, many(seat.sheets.present, "sheet"));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use protocol::{HostTime, Phase, SeatId};
    use room::view::Tally;
    use uuid::Uuid;

    fn view(seats: &[(String, usize, bool)], due: usize) -> View {
        let seat = |(i, (name, present, linked)): (usize, &(String, usize, bool))| SeatView {
            id: SeatId(Uuid::from_u128(i as u128)),
            name: name.clone(),
            pourer: None,
            role: Role::Scores,
            away: false,
            counts: true,
            writing: false,
            linked: *linked,
            sheets: Tally { present: *present.min(&due), due },
        };
        let all = Tally { present: 0, due: due * seats.len() };
        View {
            join_code: None,
            by_name: false,
            title: "Evening".into(),
            now: HostTime(0),
            phase: Phase::Running,
            last_call: None,
            rehearsal: None,
            round: 1,
            rounds: 1,
            expected: 20,
            pourers: 1,
            kettles: Vec::new(),
            seats: seats.iter().enumerate().map(seat).collect(),
            teas: Vec::new(),
            coming: Vec::new(),
            all_done: false,
            round_in: all,
            class_in: all,
            suggestions: Vec::new(),
            tests: Vec::new(),
        }
    }

    #[test]
    fn those_behind_come_first_then_those_without_a_link_and_the_rest_is_counted() {
        let seats = [("Ann", 3, true), ("Bob", 1, true), ("Cleo", 3, false), ("Dan", 1, false)];
        let seats = seats.map(|(name, present, linked)| (name.to_string(), present, linked));
        let lines = lines(&view(&seats, 3), 100, 2);
        assert_eq!(
            lines,
            [" seats  Dan (no link) 1 of 3 · Bob 1 of 3 · Cleo (no link) 3 of 3 · 2 of 4 complete"]
        );
    }

    proptest! {
        #[test]
        fn no_name_is_cut_in_two_and_everybody_is_named_or_counted(
            seats in proptest::collection::vec(("[A-Z][a-z]{1,7}( [A-Z][a-z]{1,7})?", 0usize..4, any::<bool>()), 1..40),
            width in 50usize..120,
            rows in 1usize..5,
        ) {
            let view = view(&seats, 3);
            let lines = lines(&view, width, rows);
            prop_assert!(lines.len() <= rows && lines.iter().all(|line| fit::columns(line) <= width));
            prop_assert!(lines.concat().ends_with("complete"), "{lines:?}");
            let wanted = seats.iter().filter(|(_, present, linked)| *present < 3 || !linked).count();
            let pieces: Vec<&str> = lines.iter().flat_map(|line| line[LABEL.len()..].split(" · ")).collect();
            let more = pieces.iter().find_map(|p| p.strip_prefix("and ")?.strip_suffix(" more")?.parse().ok());
            let named = pieces.iter().filter(|p| p.contains(" of 3") && !p.contains("complete")).count();
            prop_assert_eq!(named + more.unwrap_or(0), wanted, "{:?}", lines);
        }
    }
}
