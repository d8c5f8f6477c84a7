//! The sheet of the cup in hand.

use protocol::fit;
use protocol::time::clock_face;
use protocol::{Attribute, Role, Sheet};
use ratatui::style::{Style, Stylize};
use ratatui::text::{Line, Span};
use seat::app::{App, Class, Cup, Desk, Filled, Line as SheetLine, note};
use seat::host_clock::OwnTime;
use seat::words::closes;

/// A scale with more points than this is not drawn point by point.
const POINTS: i64 = 11;

/// How many rows the whole sheet takes. The words take one until the keys are on them.
pub fn height(app: &App, class: &Class, width: usize) -> usize {
    match app.cup_in_hand() {
        Some(cup) => drawn(app, class, cup, width).0.len() + 1,
        None => 1,
    }
}

/// The sheet in at most `rows` rows, around the line that has the keys.
pub fn lines(app: &App, class: &Class, now: OwnTime, width: usize, rows: usize) -> Vec<Line<'static>> {
    if rows == 0 {
        return Vec::new();
    }
    let Some(cup) = app.cup_in_hand() else {
        let words = match class.role {
            Role::Scores => " The sheet opens when the first cup is ready.",
            Role::PoursOnly | Role::Watches => " No sheet is asked of you.",
        };
        return vec![Line::styled(fit::cut(words, width), Style::new().dim())];
    };
    let mut lines = vec![head(app, cup, now, width)];
    let (drawn, here) = drawn(app, class, cup, width);
    let space = rows - 1;
    let from = (here + 1).saturating_sub(space).min(drawn.len().saturating_sub(space));
    lines.extend(drawn.into_iter().skip(from).take(space));
    lines
}

/// Whose sheet it is and how it stands.
fn head(app: &App, cup: Cup, now: OwnTime, width: usize) -> Line<'static> {
    let open = if app.is_opened(cup) { ", open for a change" } else { "" };
    let head = format!(" SHEET  {} · {}{open}", app.served(cup), app.cup_state(cup));
    with_offer(&head, app, now, width)
}

/// A head, and beside it the last call or what is ready meanwhile.
pub fn with_offer(head: &str, app: &App, now: OwnTime, width: usize) -> Line<'static> {
    let beside = match app.last_call_left_s(now) {
        Some(0) => closes(0),
        Some(left_s) => format!("last call {}", clock_face(left_s)),
        None => app.offer_words(now).unwrap_or_default(),
    };
    let room = width.saturating_sub(fit::columns(head) + 3);
    let beside = if fit::columns(&beside) <= room { fit::right(&beside, room) } else { String::new() };
    Line::styled(fit::cut(&format!("{head}  {beside}"), width), Style::new().bold())
}

/// Every row below the head, and which of them has the keys.
fn drawn(app: &App, class: &Class, cup: Cup, width: usize) -> (Vec<Line<'static>>, usize) {
    let all = Desk::lines(&class.sheet);
    let (filled, form) = (app.shown(cup), Form::of(&all, width));
    let (mut rows, mut here) = (Vec::new(), 0);
    for (i, line) in all.iter().enumerate() {
        let focused = i == app.desk.line.min(all.len() - 1);
        if focused {
            here = rows.len();
        }
        if focused && *line == SheetLine::Words {
            let (unfolded, at) = form.unfolded(&class.sheet, &filled, app.desk.word);
            here += at;
            rows.extend(unfolded);
        } else {
            rows.push(form.line(line, &filled, class, focused));
        }
    }
    (rows, here)
}

/// How wide the parts of a line are.
struct Form {
    label: usize,
    low: usize,
    /// Whether scales are drawn point by point.
    wide: bool,
    width: usize,
}

impl Form {
    fn of(all: &[SheetLine], width: usize) -> Self {
        let scales: Vec<Attribute> = all.iter().filter_map(SheetLine::scale).collect();
        let end = |word: &Option<String>, point: i32| {
            fit::columns(&word.clone().unwrap_or_else(|| point.to_string()))
        };
        let label = scales.iter().map(|a| fit::columns(&a.name)).max().unwrap_or(0).clamp(8, 16);
        let low = scales.iter().map(|a| end(&a.low, a.min)).max().unwrap_or(0);
        let drawn = |a: &Attribute| {
            let cells = cell(a) * points(a).min(POINTS) as usize;
            3 + label + 2 + low + 1 + cells + 1 + end(&a.high, a.max)
        };
        let wide = scales.iter().all(|a| drawn(a) <= width);
        Self { label, low, wide, width }
    }

    fn line(&self, line: &SheetLine, filled: &Filled, class: &Class, focused: bool) -> Line<'static> {
        let name = match line {
            SheetLine::Attribute(a) => a.name.as_str(),
            SheetLine::Strength => "strength",
            SheetLine::Words => "words",
            SheetLine::Note => "note",
        };
        let mark = if focused { " › " } else { "   " };
        let label = Span::raw(format!("{mark}{}  ", fit::left(name, self.label)));
        let mut spans = vec![if focused { label.bold() } else { label }];
        let room = self.width.saturating_sub(self.label + 5);
        match line {
            SheetLine::Attribute(_) | SheetLine::Strength => {
                let value = filled.points(line);
                spans.extend(line.scale().into_iter().flat_map(|scale| self.points(&scale, value, room)));
                // The points of the strength have words of their own.
                let vote = filled.strength.filter(|_| *line == SheetLine::Strength);
                let used: usize = spans.iter().map(Span::width).sum();
                let words = vote.map(|vote| format!("   {vote}")).unwrap_or_default();
                if used + words.len() <= self.width {
                    spans.push(Span::raw(words).bold());
                }
            }
            SheetLine::Words => spans.push(folded(&class.sheet, filled, room)),
            SheetLine::Note => {
                let end = if focused { "▏" } else { "" };
                let used = note::room(&filled.note).map(|used| format!("  {used}")).unwrap_or_default();
                let room = room.saturating_sub(used.len());
                spans.push(Span::raw(fit::cut_front(&format!("{}{end}", filled.note), room)));
                spans.push(Span::raw(used).bold());
            }
        }
        Line::from(spans)
    }

    /// All the words in as many rows as they need, and the row of the one that has the keys.
    fn unfolded(&self, sheet: &Sheet, filled: &Filled, word: usize) -> (Vec<Line<'static>>, usize) {
        let room = self.width.saturating_sub(self.label + 4).max(4);
        let head = Span::raw(format!(" › {} ", fit::left("words", self.label))).bold();
        let (mut rows, mut used, mut here) = (vec![vec![head]], 0, 0);
        for (i, text) in sheet.words.iter().enumerate() {
            let ticked = filled.words.contains(text);
            let text = fit::cut(text, room - 3);
            let text = if ticked { format!("[{text}]") } else { format!(" {text} ") };
            let cell = Span::raw(format!("{}{text}", if i == word { "›" } else { " " }));
            if used + cell.width() > room {
                rows.push(vec![Span::raw(" ".repeat(self.label + 4))]);
                used = 0;
            }
            used += cell.width();
            let style = match (ticked, i == word) {
                (false, false) => Style::new().dim(),
                _ => Style::new().bold(),
            };
            if i == word {
                here = rows.len() - 1;
            }
            rows.last_mut().expect("there is always a row").push(cell.style(style));
        }
        (rows.into_iter().map(Line::from).collect(), here)
    }

    fn points(&self, scale: &Attribute, value: Option<i32>, room: usize) -> Vec<Span<'static>> {
        if self.wide && points(scale) <= POINTS {
            self.drawn(scale, value)
        } else {
            number(scale, value, room)
        }
    }

    /// The scale point by point; the value stands in its place, and at an end without a word its number.
    fn drawn(&self, attribute: &Attribute, value: Option<i32>) -> Vec<Span<'static>> {
        let end = |word: &Option<String>, point: i32| word.clone().unwrap_or_else(|| point.to_string());
        let low = end(&attribute.low, attribute.min);
        let mut spans = vec![Span::raw(format!("{} ", fit::right(&low, self.low))).dim()];
        let digits = cell(attribute) - 2;
        // A scale about nought is typed with its sign, so its numbers are shown.
        let numbered = attribute.min < 0;
        for point in attribute.min..=attribute.max {
            let shown = fit::right(&point.to_string(), digits);
            spans.push(match value {
                Some(value) if value == point => Span::raw(format!("[{shown}]")).bold(),
                _ if numbered => Span::raw(format!(" {shown} ")).dim(),
                _ => Span::raw(format!(" {} ", fit::right("·", digits))).dim(),
            });
        }
        spans.push(Span::raw(format!(" {}", end(&attribute.high, attribute.max))).dim());
        spans
    }
}

fn points(attribute: &Attribute) -> i64 {
    i64::from(attribute.max) - i64::from(attribute.min) + 1
}

/// How wide a point is drawn: its number in brackets.
fn cell(attribute: &Attribute) -> usize {
    attribute.max.to_string().len().max(attribute.min.to_string().len()) + 2
}

/// The value as a number and the scale in words.
fn number(attribute: &Attribute, value: Option<i32>, room: usize) -> Vec<Span<'static>> {
    let value = value.map_or("·".to_string(), |v| v.to_string());
    let shown = format!("[{}]", fit::right(&value, cell(attribute) - 2));
    let end = |point: i32, word: &Option<String>| match word {
        Some(word) => format!("{point} {word}"),
        None => point.to_string(),
    };
    let Attribute { min, max, low, high, .. } = attribute;
    let scale = format!("{} – {}", end(*min, low), end(*max, high));
    let rest = fit::cut(&format!("  {scale}"), room.saturating_sub(fit::columns(&shown)));
    vec![Span::raw(shown).bold(), Span::raw(rest).dim()]
}

/// The words ticked so far, in one row.
fn folded(sheet: &Sheet, filled: &Filled, room: usize) -> Span<'static> {
    let all = sheet.words.len();
    if filled.words.is_empty() {
        return Span::raw(fit::cut(&format!("none of {all} ticked"), room)).dim();
    }
    let counted = format!(" · {} of {all}", filled.words.len());
    Span::raw(fit::cut_middle(&format!("{}{counted}", filled.words.join(", ")), room)).bold()
}
