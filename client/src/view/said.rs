//! What the teacher says: a line while it is shown, and all of them on a page.

use protocol::fit;
use ratatui::style::Stylize;
use ratatui::text::Line;
use seat::answer;
use seat::app::App;
use seat::host_clock::OwnTime;

/// So many columns of two rows may stay empty because words are not broken.
const LOOSE: usize = 20;

/// The line that is shown.
pub struct Standing {
    words: String,
    /// How many lines come after it.
    more: usize,
    key: &'static str,
}

/// The line that is shown now.
pub fn standing(app: &App, now: OwnTime) -> Option<Standing> {
    let (words, more) = app.teacher_says(now)?;
    Some(Standing { words, more, key: if app.on_note() { "F3" } else { "!" } })
}

impl Standing {
    /// The line in one row or in two, with how many come after it. Where it has no room it is cut, and says which key shows all.
    pub fn in_rows(&self, rows: usize, width: usize) -> Vec<String> {
        let room = width.saturating_sub(2).max(1);
        let more = if self.more > 0 { format!(" · {} more", self.more) } else { String::new() };
        let whole = fit::wrap(&format!("{}{more}", self.words), room);
        if whole.len() <= rows {
            return whole;
        }
        let end = format!("{more} · {} shows all", self.key);
        let columns = if rows == 1 { room } else { (rows * width).saturating_sub(LOOSE) };
        let words = fit::cut(&self.words, columns.saturating_sub(fit::columns(&end)));
        fit::wrap(&(words + &end), room).into_iter().take(rows).collect()
    }
}

/// What the teacher has said, the newest last and always on the page.
pub fn page(app: &App, width: usize, room: usize) -> Vec<Line<'static>> {
    let parts = answer::said(app).into_iter().map(|line| {
        let mut rows = fit::wrap(&line, width.saturating_sub(4).max(1)).into_iter();
        let first = rows.next().map(|row| format!(" · {row}"));
        first.into_iter().chain(rows.map(|row| format!("   {row}"))).collect::<Vec<_>>()
    });
    let mut left = room.saturating_sub(1);
    // Whole lines from the newest back, as many as there is room for.
    let shown: Vec<Vec<String>> = parts
        .rev()
        .take_while(|rows| {
            let fits = rows.len() <= left;
            left = left.saturating_sub(rows.len());
            fits
        })
        .collect();
    let rows = shown.into_iter().rev().flatten().map(Line::from);
    std::iter::once(Line::from(" What the teacher said").bold()).chain(rows).collect()
}
