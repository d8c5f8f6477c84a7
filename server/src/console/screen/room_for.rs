//! Which lines the screen has room for. What a teacher can't do without comes first; the rest as far as there is room.

use protocol::{CAUTIONS, Phase};
use room::view::View;

/// Lines of what happened that are always there.
const NEWS: u16 = 2;
/// The lines at the bottom: an answer, what is typed, what can be typed.
pub(super) const FOOT: u16 = 3;

/// How many lines each part has.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Rows {
    pub(super) join: u16,
    pub(super) rule: u16,
    pub(super) teas: u16,
    pub(super) gap: u16,
    pub(super) then: u16,
    pub(super) sheets: u16,
    pub(super) suggested: u16,
    pub(super) seats: u16,
    pub(super) news_rule: u16,
    pub(super) news: u16,
}

/// The lines of a screen `height` high whose seats and suggestions would like so many.
pub(super) fn rows(view: &View, height: u16, seats: u16, suggested: u16) -> Rows {
    let lobby = view.phase == Phase::Lobby;
    // Title, what comes next, one line of seats.
    let fixed = 3 + FOOT + NEWS;
    let mut left = height.saturating_sub(fixed);
    let mut take = |wanted: u16| {
        let taken = wanted.min(left);
        left -= taken;
        taken
    };
    let mut rows = Rows { join: if lobby { take(1) } else { 0 }, ..Rows::default() };
    rows.teas = take(view.teas.len() as u16 + 1);
    rows.news_rule = take(1);
    let running = u16::from(!lobby);
    rows.then = take(running);
    rows.seats = 1 + take(seats.saturating_sub(1).min(1));
    rows.sheets = take(running);
    rows.suggested = take(suggested);
    rows.join += take(1 - rows.join);
    let cautions = if lobby { take(CAUTIONS.len() as u16) } else { 0 };
    rows.rule = take(1);
    rows.gap = take(1);
    rows.seats += take(seats.saturating_sub(rows.seats).min(2));
    rows.news = NEWS + cautions + left;
    rows
}
