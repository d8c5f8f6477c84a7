//! The table of teas: what each one is doing, and how its last score stands.

use protocol::fit;
use protocol::time::clock_face;
use protocol::{HostTime, SteepState, TeaCard};
use ratatui::style::Style;
use ratatui::text::Line;
use seat::app::{App, Class, Cup, CupState};

/// Columns of steep, state, left and score, with the two before each.
const FIXED: usize = 2 + 7 + 2 + 9 + 2 + 6 + 2 + 7;

/// The table in at most `rows` rows. If it must be cut, the tea in hand comes first, then those at work.
pub fn lines(app: &App, class: &Class, at: HostTime, width: usize, rows: usize) -> Vec<Line<'static>> {
    let Some(space) = rows.checked_sub(1) else { return Vec::new() };
    let name_width = class.teas.iter().map(|t| fit::columns(&label(t))).max().unwrap_or(3);
    let tea = name_width.clamp(3, 26).min(width.saturating_sub(FIXED + 2)).max(3);
    let score = if class.role.scores() { "score" } else { "" };
    let head = row(tea, ["tea", "steep", "state", "left", score]);
    let mut lines = vec![Line::styled(fit::cut(&head, width), Style::new().dim())];
    let mut teas: Vec<&TeaCard> = class.teas.iter().collect();
    let calm = |t: &TeaCard| {
        matches!(class.timetable.clock(t.code, at).state, SteepState::Dry | SteepState::Resting)
    };
    let shown = if teas.len() > space {
        let in_hand = app.cup_in_hand().map(|cup| cup.code);
        teas.sort_by_cached_key(|t| (Some(t.code) != in_hand, calm(t)));
        space.saturating_sub(1)
    } else {
        space
    };
    lines.extend(teas.iter().take(shown).map(|card| one(app, class, card, at, tea, width)));
    let more = teas.len().saturating_sub(shown);
    if more > 0 {
        lines.push(Line::styled(format!(" … {more} more"), Style::new().dim()));
    }
    lines.truncate(rows);
    lines
}

fn one(app: &App, class: &Class, card: &TeaCard, at: HostTime, tea: usize, width: usize) -> Line<'static> {
    let clock = class.timetable.clock(card.code, at);
    let left = clock.until.map(|until| clock_face(until.seconds_until(at))).unwrap_or_default();
    let cup = Cup { code: card.code, steep: clock.round };
    let score = match app.cup_state(cup) {
        _ if clock.steep == 0 || !class.role.scores() => String::new(),
        CupState::Open if !class.has_cup(cup, at) => "not yet".into(),
        state => state.to_string(),
    };
    let steep = if clock.steep == 0 {
        format!("0 of {}", card.steeps)
    } else {
        format!("{} of {}", clock.steep, card.steeps.max(clock.steep))
    };
    let text = row(tea, [&label(card), &steep, &clock.state.to_string(), &left, &score]);
    let calm = matches!(clock.state, SteepState::Dry | SteepState::Resting);
    Line::styled(fit::cut(&text, width), if calm { Style::new() } else { Style::new().bold() })
}

fn row(tea: usize, [name, steep, state, left, score]: [&str; 5]) -> String {
    let name = fit::left(name, tea);
    let (steep, state) = (fit::left(steep, 7), fit::left(state, 9));
    format!(" {name}  {steep}  {state}  {}  {}", fit::right(left, 6), fit::left(score, 7))
}

fn label(card: &TeaCard) -> String {
    card.name.as_ref().map_or(card.code.to_string(), |name| format!("{} {name}", card.code))
}
