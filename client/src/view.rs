//! The whole screen from the app and the time. No colour is used: weight and words carry everything.

pub mod board;
mod closed;
mod cues;
mod difference;
mod keys_help;
mod large;
mod lobby;
mod said;
mod sheet;
mod teas;
#[cfg(test)]
mod tests;
mod top;

use protocol::fit;
use protocol::time::clock_face;
use protocol::{HostTime, Phase};
use ratatui::Frame;
use ratatui::style::{Style, Stylize};
use ratatui::text::Line;
use ratatui::widgets::Paragraph;
use seat::app::{App, Class, Cup};
use seat::host_clock::OwnTime;
use seat::words::missing;

/// So many rows of the table of teas stay, whatever else there is: its head, two teas, and how many more there are.
const FEWEST_TEAS: usize = 4;
/// From this size on the large letters stay for whoever pours; the rows are those below the title.
const LARGE_FROM: (usize, usize) = (60, 16);
/// So many columns of two rows may stay empty because words are not broken.
const LOOSE: usize = 20;
/// Below this the screen shows only what is to do.
const SMALLEST: (u16, u16) = (40, 12);

/// Draws everything.
pub fn draw(frame: &mut Frame, app: &App, now: OwnTime) {
    let area = frame.area();
    let (width, height) = (usize::from(area.width), usize::from(area.height));
    let lines = if area.width < SMALLEST.0 || area.height < SMALLEST.1 {
        small(app, now, width)
    } else {
        page(app, now, width, height)
    };
    frame.render_widget(Paragraph::new(lines), area);
}

fn small(app: &App, now: OwnTime, width: usize) -> Vec<Line<'static>> {
    let mut lines = wrapped("make the window larger", width);
    if let Some((_, typed)) = app.code_asked() {
        lines.splice(0..0, wrapped(&format!("join code: {typed}_"), width));
    }
    if let Some((class, at)) = app.class.as_ref().zip(app.host_now(now)) {
        lines = wrapped(&cues::shortest(class, at), width);
        lines.extend(wrapped("make the window larger", width));
    }
    lines
}

fn page(app: &App, now: OwnTime, width: usize, height: usize) -> Vec<Line<'static>> {
    let mut lines = top::lines(app, now, width, height);
    let room = height.saturating_sub(lines.len() + 1);
    let running = matches!(app.phase(), Phase::Running | Phase::Held);
    let body = |room: usize| {
        let (mut body, pages) = match (&app.class, app.host_now(now)) {
            _ if app.help => (keys_help::lines(app, width), 1),
            _ if app.reading => (said::page(app, width, room), 1),
            (Some(class), at) if class.phase == Phase::Closed => closed::page(app, class, at, width, room),
            (Some(class), Some(at)) if running => (class_page(app, class, at, now, width, room), 1),
            _ => (lobby::lines(app, width, room), 1),
        };
        body.truncate(room);
        body.resize(room, Line::default());
        (body, pages)
    };
    let (mut rows, pages) = body(room);
    let mut bottom = bottom(app, now, width, pages);
    // What needs a second row takes it from below the body, as long as nothing stands there.
    let room = room.saturating_sub(bottom.len() - 1);
    if rows.iter().skip(room).any(|row| row.width() > 0) {
        rows = body(room).0;
    }
    rows.truncate(room);
    lines.append(&mut rows);
    lines.append(&mut bottom);
    lines
}

/// Cues, teas and the sheet, each as tall as there is room for.
fn class_page(
    app: &App,
    class: &Class,
    at: HostTime,
    now: OwnTime,
    width: usize,
    room: usize,
) -> Vec<Line<'static>> {
    let cue_lines = cues::lines(app, class, at, now, width);
    let test = app.test_in_hand().map(|card| difference::lines(app, card, now, width));
    let sheet_full = test.as_ref().map_or_else(|| sheet::height(app, class, width), Vec::len);
    let teas_full = class.teas.len() + 1;
    let mut left = room.saturating_sub(cue_lines.len());
    let mut take = |wanted: usize| {
        let taken = wanted.min(left);
        left -= taken;
        taken
    };
    // Room for the large letters is kept even when there are none, so that nothing jumps when they come. Whoever has a pot
    // in the hand keeps them, and the rest gives way; whoever only tastes keeps the sheet.
    let fewest_teas = teas_full.min(FEWEST_TEAS);
    let pours = class.hands.is_some() && width >= LARGE_FROM.0 && room >= LARGE_FROM.1;
    let mut large_rows = if pours { take(large::ROWS) } else { 0 };
    let mut tea_rows = take(fewest_teas);
    let sheet_rows = take(sheet_full);
    if !pours {
        large_rows = take(large::ROWS);
    }
    // A second row of what is said takes a tea's, and not the large letters.
    if large_rows + 1 == large::ROWS && tea_rows == FEWEST_TEAS {
        (large_rows, tea_rows) = (large::ROWS, tea_rows - 1);
    }
    tea_rows += take(teas_full - tea_rows);
    let large_rows = if large_rows == large::ROWS { large_rows } else { 0 };
    let large = cues::large(app, class, at, now, width).filter(|_| large_rows > 0);
    let mut gap = || {
        let gap = usize::from(left > 0);
        left -= gap;
        vec![Line::default(); gap]
    };
    let gaps = [gap(), gap(), gap()];
    let [after_teas, after_cues, before_cues] = gaps;
    let mut lines = before_cues;
    let mut letters = large.unwrap_or_default();
    letters.resize(large_rows, Line::default());
    lines.extend(letters);
    lines.extend(cue_lines);
    lines.extend(after_cues);
    lines.extend(teas::lines(app, class, at, width, tea_rows));
    lines.extend(after_teas);
    match test {
        Some(test) => lines.extend(test.into_iter().take(sheet_rows)),
        None => lines.extend(sheet::lines(app, class, now, width, sheet_rows)),
    }
    lines
}

/// The last row, or two of them where one has no room for what is said. What the teacher says stays; what comes beside it
/// takes the second row.
fn bottom(app: &App, now: OwnTime, width: usize, pages: usize) -> Vec<Line<'static>> {
    let room = width.saturating_sub(2);
    let of_keys = of_keys(app, now);
    let rows = match (said::standing(app, now), of_keys) {
        (Some(teacher), Some(words)) => {
            vec![teacher.in_rows(1, width)[0].clone(), fit::cut_middle(&words, room)]
        }
        (Some(teacher), None) => match (teacher.in_rows(2, width), app.last_call_words(now)) {
            (rows, Some(called)) if rows.len() == 1 => vec![rows[0].clone(), fit::cut_middle(&called, room)],
            (rows, _) => rows,
        },
        (None, Some(words)) => in_rows(&words, width),
        (None, None) => standing(app, now, width).map(|words| in_rows(&words, width)).unwrap_or_default(),
    };
    if rows.is_empty() {
        return vec![Line::styled(fit::cut(keys(app, width, pages), width), Style::new().dim())];
    }
    rows.into_iter().map(|row| Line::from(format!(" {row}")).bold()).collect()
}

/// The text in one row, or in two; what has no room in them is left out in the middle.
fn in_rows(words: &str, width: usize) -> Vec<String> {
    let rows = fit::wrap(words, width.saturating_sub(2));
    // Words don't fill their rows to the end.
    let both = fit::cut_middle(words, (2 * width).saturating_sub(LOOSE));
    let rows = if rows.len() > 2 { fit::wrap(&both, width.saturating_sub(2)) } else { rows };
    rows.into_iter().take(2).collect()
}

/// What is asked, or answers a key, or is news.
fn of_keys(app: &App, now: OwnTime) -> Option<String> {
    if let Some(typed) = app.desk.going.as_ref().filter(|_| app.phase() != Phase::Closed) {
        let reason = app.notice(now).map(|notice| format!(" · {notice}")).unwrap_or_default();
        return Some(format!("to which cup? {typed}▏ Enter goes, Esc stays{reason}"));
    }
    app.question().or_else(|| app.notice(now).map(String::from))
}

/// What is worth saying all the time.
fn standing(app: &App, now: OwnTime, width: usize) -> Option<String> {
    let closed = app.phase() == Phase::Closed;
    let open = app.reopened_left(now).filter(|_| !closed);
    let words = app.last_call_words(now).or_else(|| {
        let (cup, left_s) = open?;
        let key = if app.on_note() { "F2" } else { "/" };
        Some(format!("open again: {} · {} left · {key} goes there", cup.short(), clock_face(left_s)))
    });
    let behind = || app.host_now(now).map(|at| app.left_behind(at)).unwrap_or_default();
    words.or_else(|| {
        let behind = Some(behind()).filter(|behind| !closed && !behind.is_empty() && !is_aside(app))?;
        let key = if app.on_note() { "F2" } else { "/" };
        let words = format!("{} · {key} goes there", missing(&behind));
        let short = || behind.iter().map(Cup::short).collect::<Vec<_>>().join(", ");
        let fits = fit::columns(&words) + 2 <= width;
        Some(if fits { words } else { format!("no score: {} · {key} goes there", short()) })
    })
}

/// Whether a page is open in the place of the class.
fn is_aside(app: &App) -> bool {
    app.help || app.reading
}

fn keys(app: &App, width: usize, pages: usize) -> &'static str {
    match app.phase() {
        _ if is_aside(app) => " any key goes back",
        Phase::Closed if pages > 1 && app.notes_kept().is_none() => " ↑↓ page   k keep notes   q leave",
        Phase::Closed if pages > 1 => " ↑↓ page   q leave",
        Phase::Closed if app.notes_kept().is_none() => " k keep notes   q leave",
        Phase::Closed => " q leave",
        Phase::Lobby => " ? keys   Ctrl-C leave",
        _ if app.test_in_hand().is_some_and(|card| card.codes.len() == 2) => {
            " 1 2 or ←→ choose   Enter send   Tab back   ? keys"
        }
        _ if app.test_in_hand().is_some() => " 1 2 3 or ←→ choose   Enter send   Tab back   ? keys",
        _ if app.class.as_ref().is_some_and(|c| !c.role.scores()) => " ? keys   Ctrl-C leave",
        _ if app.cup_in_hand().is_some_and(|cup| app.is_shut(cup)) => {
            " Enter to change it   Tab other cup   / any cup   ? keys"
        }
        _ if app.on_words() => " Space tick   ←→ word   ↑↓ line   Enter send   ? keys",
        _ if width >= 76 => " Enter send   ↑↓ line   ←→ value   Tab other cup   ? keys   Ctrl-C leave",
        _ => " Enter send   Tab other cup   / any cup   ? keys",
    }
}

/// The text in lines to draw.
fn wrapped(text: &str, width: usize) -> Vec<Line<'static>> {
    fit::wrap(text, width).into_iter().map(Line::from).collect()
}
