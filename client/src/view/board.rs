//! The board for a whole room: the next cue of all hands and the clock of every tea, in letters that are read from its back. It
//! asks nothing of anybody; names stand on it once they are revealed.

use super::large;
use protocol::fit;
use protocol::time::clock_face;
use protocol::{Action, Cue, HostTime, Phase, SteepState, TeaCard, TeaClock};
use ratatui::Frame;
use ratatui::style::{Style, Stylize};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;
use seat::app::{App, Class};
use seat::deeds;
use seat::host_clock::OwnTime;
use seat::words::{closes, count, steep_of};

/// Work that has begun is called out for so long, in microseconds of host time.
const CALLED_US: i64 = 4_000_000;
/// A cue that is further off gives its place to the tasting.
const NEAR_S: i64 = 30;
/// Beside each other: a code, a space and minutes, and what parts two teas.
const TEA_COLUMNS: usize = 38;

/// Draws it.
pub fn draw(frame: &mut Frame, app: &App, now: OwnTime) {
    let (width, height) = (usize::from(frame.area().width), usize::from(frame.area().height));
    frame.render_widget(Paragraph::new(lines(app, now, width, height)), frame.area());
}

fn lines(app: &App, now: OwnTime, width: usize, height: usize) -> Vec<Line<'static>> {
    let Some((class, at)) = app.class.as_ref().zip(app.host_now(now)) else {
        return vec![super::top::title(app, now, width)];
    };
    let mut head = call(app, class, at, now, width);
    let room = height.saturating_sub(head.len());
    let grids = [grid(class, at, width), tight_grid(class, at, width)];
    let fewest_rows = grids.iter().map(Vec::len).min();
    // What comes next beside the large cue gives way to the clocks.
    let head_rows = head.len() - usize::from(fewest_rows == Some(room + 1));
    head.truncate(head_rows);
    let room = height.saturating_sub(head.len());
    // Too low for letters: a line for each tea.
    let teas = grids.into_iter().find(|grid| grid.len() <= room).unwrap_or_else(|| {
        class.teas.iter().map(|card| Line::from(fit::cut(&small(class, card, at), width))).collect()
    });
    // The title gives way, too.
    let spare = room.saturating_sub(teas.len());
    let mut lines: Vec<Line<'static>> =
        (spare > 0).then(|| super::top::title(app, now, width)).into_iter().collect();
    let gap = usize::from(spare > 2);
    lines.extend(std::iter::repeat_n(Line::default(), gap));
    lines.extend(head);
    lines.extend(std::iter::repeat_n(Line::default(), gap));
    lines.extend(teas);
    lines.truncate(height);
    lines
}

/// What all look up for: work that has just begun, what comes next, the tasting, that the class holds or closes. Always as many
/// rows.
fn call(app: &App, class: &Class, at: HostTime, now: OwnTime, width: usize) -> Vec<Line<'static>> {
    let is_called = |cue: &&Cue| cue.code.is_some() && !cue.action.is_at_kettle() && !cue.action.is_within();
    let begun =
        class.timetable.cues.iter().filter(is_called).rfind(|cue| cue.at <= at && at - cue.at < CALLED_US);
    let next = class.timetable.coming(at).iter().find(is_called).map(|cue| (cue, cue.at.seconds_until(at)));
    let tasting = class.tasting(at).and_then(|cue| app.taste_left_s(cue, at, now)).map(clock_face);
    let next_is_near = next.is_some_and(|(_, left_s)| left_s <= NEAR_S);
    let counts_down = begun.is_none() && (next_is_near || class.phase != Phase::Held && tasting.is_none());
    let counted = next.map(|(cue, _)| cue).filter(|_| counts_down);
    let texts = match (class.phase, app.last_call_left_s(now)) {
        (Phase::Closed, _) => vec!["CLOSED".into()],
        (_, Some(left_s)) => vec![format!("LAST CALL {}", clock_face(left_s)), clock_face(left_s)],
        (Phase::Lobby, _) => vec!["SOON".into()],
        _ if let Some(cue) = begun => deeds::headlines(cue, &class.kettles),
        (Phase::Held, _) if !next_is_near => vec!["HOLD".into()],
        _ if let Some(left) = tasting.filter(|_| !next_is_near) => vec![format!("TASTE {left}"), left],
        _ if let Some((cue, left_s)) = next => {
            let deeds = deeds::headlines(cue, &class.kettles);
            deeds
                .iter()
                .map(|deed| format!("{deed} {}", clock_face(left_s)))
                .chain([clock_face(left_s)])
                .collect()
        }
        (Phase::Held, _) => vec!["HOLD".into()],
        _ => vec!["DONE".into()],
    };
    let drawn = texts.iter().find_map(|text| large::centred(text, width));
    let mut rows: Vec<Line<'static>> = drawn.map_or_else(
        || vec![Line::from(texts[0].clone())],
        |rows| rows.into_iter().map(Line::bold).collect(),
    );
    rows.resize(large::ROWS, Line::default());
    let told = match app.last_call_left_s(now) {
        Some(left_s) if class.phase != Phase::Closed => closes(left_s),
        _ => then(class, at, counted).unwrap_or_default(),
    };
    rows.push(Line::from(fit::cut(&told, width)));
    rows
}

/// What comes next beside the cue that is counted down in large letters.
fn then(class: &Class, at: HostTime, counted: Option<&Cue>) -> Option<String> {
    let is_said = |cue: &&Cue| {
        !cue.action.is_at_kettle() && !cue.action.is_within() && cue.action != Action::SheetCloses
    };
    let in_words = |cue: &Cue| {
        format!("{} in {}", deeds::deed(cue, &class.kettles), clock_face(cue.at.seconds_until(at)))
    };
    let coming = class.timetable.coming(at).iter().filter(is_said).filter(|cue| Some(*cue) != counted);
    let coming: Vec<String> = coming.take(3).map(in_words).collect();
    (!coming.is_empty()).then(|| format!(" then {}", coming.join(" · ")))
}

/// How many teas have room beside each other.
fn beside(width: usize) -> usize {
    (width / (TEA_COLUMNS + 1)).clamp(1, 2)
}

/// The clocks of the teas, two beside each other where there is room, and below each what it is of.
fn grid(class: &Class, at: HostTime, width: usize) -> Vec<Line<'static>> {
    let columns = width / beside(width);
    let mut lines = Vec::new();
    for teas in class.teas.chunks(beside(width)) {
        let drawn: Vec<Vec<String>> = teas.iter().map(|card| large::rows(&clock(class, card, at))).collect();
        for row in 0..large::ROWS {
            let text: String =
                drawn.iter().map(|rows| format!(" {}", fit::left(&rows[row], columns - 1))).collect();
            lines.push(Line::styled(fit::cut(&text, width), Style::new().bold()));
        }
        let told: String =
            teas.iter().map(|card| format!(" {}", fit::left(&under(class, card, at), columns - 1))).collect();
        lines.push(Line::from(fit::cut(&told, width)));
    }
    lines
}

/// The same for many teas: what each clock is of stands behind its figures, in as few words as there is room for, so that
/// the figures are as large.
fn tight_grid(class: &Class, at: HostTime, width: usize) -> Vec<Line<'static>> {
    let columns = width / beside(width);
    let mut lines = Vec::new();
    for teas in class.teas.chunks(beside(width)) {
        let mut rows = vec![Vec::new(); large::ROWS];
        for card in teas {
            let figures = large::rows(&clock(class, card, at));
            let room = columns.saturating_sub(1 + figures.first().map_or(0, |row| fit::columns(row)));
            let told = behind(class, card, at, room);
            for ((row, figures), told) in rows.iter_mut().zip(figures).zip(told) {
                let figures = fit::cut(&format!(" {figures}"), columns);
                row.extend([Span::raw(figures).bold(), Span::raw(fit::left(&told, room))]);
            }
        }
        lines.extend(rows.into_iter().map(Line::from));
    }
    lines
}

/// A tea in large letters: its code, and how long until its next turn.
fn clock(class: &Class, card: &TeaCard, at: HostTime) -> String {
    let left = class.timetable.clock(card.code, at).until.map(|until| clock_face(until.seconds_until(at)));
    format!("{} {}", card.code, left.unwrap_or_default())
}

/// What a tea is doing.
fn state(class: &Class, clock: &TeaClock) -> String {
    match clock.state {
        // In a hold nobody knows what is still to come.
        SteepState::Resting if clock.until.is_none() && class.phase != Phase::Held => "done".to_string(),
        state => state.to_string(),
    }
}

/// What that time is of.
fn under(class: &Class, card: &TeaCard, at: HostTime) -> String {
    let clock = class.timetable.clock(card.code, at);
    let name = card.name.as_ref().map_or(String::new(), |name| format!(" · {name}"));
    let steep = match clock.steep {
        0 => count(card.steeps as usize, "steep"),
        steep => steep_of(steep, card.steeps, clock.round),
    };
    format!("{} · {steep}{name}", state(class, &clock))
}

/// The same in rows of `room` columns beside the large figures. A wait of ten minutes and more leaves only a few.
fn behind(class: &Class, card: &TeaCard, at: HostTime, room: usize) -> [String; large::ROWS] {
    let clock = class.timetable.clock(card.code, at);
    let parted = |words: String| if fit::columns(&words) < room { format!(" {words}") } else { words };
    let state = match (state(class, &clock), clock.state) {
        (words, _) if fit::columns(&words) <= room => words,
        (_, SteepState::Dry) => "later".into(),
        (_, SteepState::Resting) => "rests".into(),
        (words, _) => words,
    };
    let steep = match clock.steep {
        0 => format!("0 of {}", card.steeps),
        steep => format!("{steep} of {}", card.steeps.max(steep)),
    };
    let steep = if fit::columns(&steep) > room { steep.replace(" of ", "/") } else { steep };
    let round = (clock.round != clock.steep).then(|| format!("round {}", clock.round));
    let mut rest = round.into_iter().chain(card.name.clone());
    [state, steep, rest.next().unwrap_or_default(), rest.next().unwrap_or_default()]
        .map(|words| fit::cut(&parted(words), room))
}

fn small(class: &Class, card: &TeaCard, at: HostTime) -> String {
    format!(" {:<9} {}", clock(class, card, at), under(class, card, at))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{Desk, again, timetable, welcome};
    use protocol::wire::{HostMessage, Welcome};
    use protocol::{Role, Timetable};
    use ratatui::Terminal;
    use ratatui::backend::TestBackend;

    fn shown(desk: &Desk, width: u16, height: u16) -> String {
        let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
        terminal.draw(|frame| draw(frame, &desk.app, desk.now)).unwrap();
        terminal.backend().to_string()
    }

    fn board(phase: Phase, second: i64) -> Desk {
        let mut welcome = welcome(phase);
        (welcome.role, welcome.hands) = (Role::Watches, None);
        let mut desk = Desk::seated(welcome);
        desk.go_to(second);
        desk
    }

    /// Between two steeps the host tells of no other while the class holds.
    fn held_between_steeps() -> Desk {
        let mut desk = board(Phase::Running, 130);
        let first = timetable(2).cues.into_iter().filter(|cue| cue.round() == 1).collect();
        let timetable = Timetable::new(2, first);
        desk.host(HostMessage::Course { seq: 20, phase: Phase::Held, timetable });
        desk
    }

    #[test]
    fn a_board_shows_what_all_look_up_for_and_every_teas_clock() {
        for (name, second) in [("before-a-pour", 28), ("pouring", 36), ("tasting", 120)] {
            insta::assert_snapshot!(format!("board-{name}"), shown(&board(Phase::Running, second), 80, 24));
        }
        insta::assert_snapshot!("board-held", shown(&board(Phase::Held, 50), 80, 24));
        insta::assert_snapshot!("board-held-between-steeps", shown(&held_between_steeps(), 80, 24));
        insta::assert_snapshot!("board-lobby", shown(&board(Phase::Lobby, 0), 80, 24));
    }

    #[test]
    fn a_steep_that_is_done_again_has_its_round_beside_it() {
        let mut desk = Desk::seated(Welcome { role: Role::Watches, hands: None, ..again(Phase::Running) });
        desk.go_to(365);
        assert!(shown(&desk, 80, 24).contains(" steeping · steep 2 of 2 in round 3 "));
    }

    #[test]
    fn a_window_of_any_size_is_filled_and_never_run_over() {
        for (width, height) in [(20, 5), (40, 12), (60, 20), (80, 24), (132, 43)] {
            let shown = shown(&board(Phase::Running, 28), width, height);
            assert_eq!(shown.lines().count(), usize::from(height));
        }
    }
}
