//! The sheet of the cup in hand.

use protocol::fit;
use protocol::{Attribute, Sheet, Strength};
use ratatui::style::{Style, Stylize};
use ratatui::text::{Line, Span};
use seat::app::{App, Class, Cup, Desk, Filled, Line as SheetLine};
use seat::host_clock::OwnTime;

/// A scale with more points than this is not drawn point by point.
const POINTS: i64 = 11;

/// How many rows the whole sheet takes. The words take one until the keys are on them.
pub fn height(app: &App, class: &Class, now: OwnTime, width: usize) -> usize {
    match app.cup_in_hand(now) {
        Some(cup) => drawn(app, class, cup, width).0.len() + 1,
        None => 1,
    }
}

/// The sheet in at most `rows` rows, around the line that has the keys.
pub fn lines(app: &App, class: &Class, now: OwnTime, width: usize, rows: usize) -> Vec<Line<'static>> {
    if rows == 0 {
        return Vec::new();
    }
    let Some(cup) = app.cup_in_hand(now) else {
        let words = " The sheet opens when the first cup is decanted.";
        return vec![Line::styled(fit::cut(words, width), Style::new().dim())];
    };
    let head = format!(" SHEET  {cup} · {}", app.cup_state(cup));
    let mut lines = vec![Line::styled(fit::cut(&head, width), Style::new().bold())];
    let (drawn, here) = drawn(app, class, cup, width);
    let space = rows - 1;
    let from = (here + 1).saturating_sub(space).min(drawn.len().saturating_sub(space));
    lines.extend(drawn.into_iter().skip(from).take(space));
    lines
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
        let attributes =
            || all.iter().filter_map(|l| if let SheetLine::Attribute(a) = l { Some(*a) } else { None });
        let word = |word: &Option<String>| word.as_deref().map_or(0, fit::columns);
        let label = attributes().map(|a| fit::columns(&a.name)).max().unwrap_or(0).clamp(8, 16);
        let low = attributes().map(|a| word(&a.low)).max().unwrap_or(0);
        let drawn =
            |a: &Attribute| 3 + label + 2 + low + 1 + 3 * points(a).min(POINTS) as usize + 1 + word(&a.high);
        let wide = attributes().all(|a| drawn(a) <= width);
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
        // The words of the strength bring a space of their own, which keeps them in line with the rest.
        let gap = if *line == SheetLine::Strength { " " } else { "  " };
        let label = Span::raw(format!("{mark}{}{gap}", fit::left(name, self.label)));
        let mut spans = vec![if focused { label.bold() } else { label }];
        let room = self.width.saturating_sub(self.label + 5);
        match line {
            SheetLine::Attribute(a) => {
                let value = filled.values.get(&a.name).copied();
                if self.wide && points(a) <= POINTS {
                    spans.extend(self.scale(a, value));
                } else {
                    spans.extend(number(a, value, room));
                }
            }
            SheetLine::Strength => spans.extend(strength(filled.strength, room + 1)),
            SheetLine::Words => spans.push(folded(&class.sheet, filled, room)),
            SheetLine::Note => {
                let end = if focused { "▏" } else { "" };
                spans.push(Span::raw(fit::cut_front(&format!("{}{end}", filled.note), room)));
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

    /// The scale point by point; the value stands in its place.
    fn scale(&self, attribute: &Attribute, value: Option<i32>) -> Vec<Span<'static>> {
        let word = |word: &Option<String>| word.clone().unwrap_or_default();
        let mut spans = vec![Span::raw(format!("{} ", fit::right(&word(&attribute.low), self.low))).dim()];
        for point in attribute.min..=attribute.max {
            if value == Some(point) {
                spans.push(Span::raw(format!("[{point}]")).bold());
            } else {
                spans.push(Span::raw(" · ").dim());
            }
        }
        spans.push(Span::raw(format!(" {}", word(&attribute.high))).dim());
        spans
    }
}

fn points(attribute: &Attribute) -> i64 {
    i64::from(attribute.max) - i64::from(attribute.min) + 1
}

/// The value as a number and the scale in words.
fn number(attribute: &Attribute, value: Option<i32>, room: usize) -> Vec<Span<'static>> {
    let value = value.map_or("·".to_string(), |v| v.to_string());
    let digits = attribute.max.to_string().len().max(attribute.min.to_string().len());
    let shown = format!("[{}]", fit::right(&value, digits));
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

/// All five words if they fit, or else the chosen one and its place among them.
fn strength(vote: Option<Strength>, room: usize) -> Vec<Span<'static>> {
    let span = |s: Strength| match vote == Some(s) {
        true => Span::raw(format!("[{s}]")).bold(),
        false => Span::raw(format!(" {s} ")).dim(),
    };
    let all: Vec<_> = Strength::ALL.into_iter().map(span).collect();
    if all.iter().map(Span::width).sum::<usize>() <= room {
        return all;
    }
    let text = match vote {
        Some(s) => format!(" [{s}]  {} of 5", i32::from(s.number()) + 3),
        None => " [·]  1 much too thin – 5 much too strong".into(),
    };
    vec![Span::raw(fit::cut(&text, room))]
}
