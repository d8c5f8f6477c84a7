//! The teacher's screen: state, keys and drawing. Pure; the loop around it is in `terminal`.

use super::About;
use super::command::{Typed, parse};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use protocol::fit;
use protocol::time::clock_face;
use protocol::{CAUTIONS, Cue, HostTime, Phase, SteepState};
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::{Modifier, Style};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Paragraph, Row, Table, Wrap};
use room::Teacher;
use room::view::{Tally, TeaView, View};
use std::cell::Cell;
use std::collections::VecDeque;

/// How many lines of what happened are remembered.
const MEMORY: usize = 200;
/// The longest line that can be typed.
const TYPED_CHARS: usize = 120;

/// The screen's own state; the class itself comes in as a [`View`].
#[derive(Clone, Debug)]
pub struct Screen {
    about: About,
    typed: String,
    said: VecDeque<String>,
    answer: String,
    question: Option<Question>,
    page: Option<Page>,
}

/// Something that is asked once before it is done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Question {
    Close,
    Stop,
}

/// A long text over the class.
#[derive(Clone, Debug)]
struct Page {
    text: String,
    from: u16,
    /// The last line it can begin with, known once it has been drawn.
    last: Cell<u16>,
}

/// What a key leads to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Deed {
    /// Nothing beyond the screen.
    None,
    /// Carry out a command.
    Do(Typed),
}

impl Screen {
    /// A screen for a class.
    pub fn new(about: About) -> Self {
        let said = about.notices.iter().map(|n| format!("notice: {n}")).collect();
        Self { about, typed: String::new(), said, answer: String::new(), question: None, page: None }
    }

    /// Adds a line to what happened.
    pub fn say(&mut self, line: String) {
        if !line.is_empty() {
            self.said.push_back(line);
        }
        while self.said.len() > MEMORY {
            self.said.pop_front();
        }
    }

    /// Answers what was typed, in a line of its own above it.
    pub fn answer(&mut self, words: String) {
        self.answer = words;
    }

    /// Shows a long text until another key than those for reading on.
    pub fn show(&mut self, text: String) {
        self.page = Some(Page { text, from: 0, last: Cell::new(u16::MAX) });
    }

    /// One key while the class is as in `view`.
    pub fn key(&mut self, key: KeyEvent, view: &View) -> Deed {
        let control = key.modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT);
        let ctrl_c = key.code == KeyCode::Char('c') && control;
        if let Some(question) = self.question.take() {
            let yes = key.code == KeyCode::Enter || (question == Question::Stop && ctrl_c);
            if !yes {
                self.answer("all as it was".into());
                return Deed::None;
            }
            return Deed::Do(match question {
                Question::Close => Typed::Teacher(Teacher::Close { now: false }),
                Question::Stop => Typed::Stop,
            });
        }
        if ctrl_c {
            self.question = Some(Question::Stop);
            return Deed::None;
        }
        if let Some(page) = &mut self.page {
            let last = page.last.get();
            match key.code {
                KeyCode::Up => page.from = page.from.saturating_sub(1),
                KeyCode::Down => page.from = (page.from + 1).min(last),
                KeyCode::PageUp => page.from = page.from.saturating_sub(10),
                KeyCode::PageDown | KeyCode::Char(' ') => page.from = (page.from + 10).min(last),
                KeyCode::Home => page.from = 0,
                KeyCode::End => page.from = last,
                // Whoever begins to type a word means the line below.
                KeyCode::Char(c) if !control => {
                    self.page = None;
                    self.typed.push(c);
                }
                _ => self.page = None,
            }
            return Deed::None;
        }
        match key.code {
            // The space bar only ever holds: held down, it must not set the class going again.
            KeyCode::Char(' ') if self.typed.is_empty() && view.phase == Phase::Running => {
                return Deed::Do(Typed::Teacher(Teacher::Hold));
            }
            KeyCode::Char(' ') if self.typed.is_empty() => {}
            KeyCode::Char(c) if !control && !c.is_control() && self.typed.chars().count() < TYPED_CHARS => {
                self.typed.push(c);
            }
            KeyCode::Backspace => drop(self.typed.pop()),
            KeyCode::Esc => self.typed.clear(),
            KeyCode::Enter => return self.enter(view.phase),
            _ => {}
        }
        Deed::None
    }

    fn enter(&mut self, phase: Phase) -> Deed {
        let line = std::mem::take(&mut self.typed);
        self.answer.clear();
        match parse(&line) {
            Ok(None) => Deed::None,
            Ok(Some(Typed::Teacher(Teacher::Close { now: false }))) if phase != Phase::Closed => {
                self.question = Some(Question::Close);
                Deed::None
            }
            Ok(Some(Typed::Stop)) => {
                self.question = Some(Question::Stop);
                Deed::None
            }
            Ok(Some(typed)) => Deed::Do(typed),
            Err(answer) => {
                self.answer(answer);
                Deed::None
            }
        }
    }

    /// Draws the class as it is in `view`.
    pub fn draw(&self, frame: &mut Frame<'_>, view: &View) {
        let area = frame.area();
        let teas = view.teas.len() as u16 + 1;
        let [head, rule, body, foot] = Layout::vertical([
            Constraint::Length(2),
            Constraint::Length(1),
            Constraint::Min(1),
            Constraint::Length(3),
        ])
        .areas(area);
        frame.render_widget(self.head(view, area.width), head);
        frame.render_widget(Paragraph::new("─".repeat(area.width.into())), rule);
        if let Some(page) = &self.page {
            let text = wrapped(&page.text, area.width.into());
            page.last.set((text.lines().count() as u16).saturating_sub(body.height));
            frame.render_widget(Paragraph::new(text).scroll((page.from.min(page.last.get()), 0)), body);
        } else {
            let [table, next, seats, said] = Layout::vertical([
                Constraint::Length(teas),
                Constraint::Length(if view.phase == Phase::Lobby { 2 } else { 4 }),
                Constraint::Length(seat_lines(view, area.width)),
                Constraint::Min(0),
            ])
            .areas(body);
            frame.render_widget(tea_table(view, area.width), table);
            frame.render_widget(Paragraph::new(next_lines(view)), next);
            frame.render_widget(Paragraph::new(wrapped(&seats_line(view), area.width.into())), seats);
            self.draw_said(frame, view, said);
        }
        frame.render_widget(self.foot(view, area.width), foot);
    }

    fn head(&self, view: &View, width: u16) -> Paragraph<'_> {
        let stands = match view.phase {
            Phase::Lobby => "lobby".to_string(),
            Phase::Running if view.all_done => "all rounds are done".into(),
            phase => format!("{phase} · round {} of {}", view.round, view.rounds),
        };
        let room = usize::from(width).saturating_sub(fit::columns(&stands) + 2);
        let title = fit::cut(&view.title, room);
        let gap = room.saturating_sub(fit::columns(&title)) + 1;
        let bold = Style::new().add_modifier(Modifier::BOLD);
        let first = Line::from(vec![
            Span::raw(" "),
            Span::styled(title, bold),
            " ".repeat(gap).into(),
            Span::styled(stands, bold),
        ]);
        Paragraph::new(vec![first, Line::from(format!(" join with: {}", self.about.join))])
    }

    fn draw_said(&self, frame: &mut Frame<'_>, view: &View, area: Rect) {
        let rows = usize::from(area.height).saturating_sub(1);
        let mut lines: Vec<Line<'_>> = Vec::new();
        if view.phase == Phase::Lobby {
            lines.extend(CAUTIONS.iter().map(|c| Line::from(format!(" ! {c}"))));
        }
        let older = self.said.len().saturating_sub(rows.saturating_sub(lines.len()));
        lines.extend(self.said.iter().skip(older).map(|s| Line::from(format!(" · {s}"))));
        lines.insert(0, Line::from("─".repeat(area.width.into())));
        frame.render_widget(Paragraph::new(lines).wrap(Wrap { trim: false }), area);
    }

    fn foot(&self, view: &View, width: u16) -> Paragraph<'_> {
        let bold = Style::new().add_modifier(Modifier::BOLD);
        let narrow = width < 76;
        let hint = match (&self.page, view.phase) {
            (Some(_), _) => " Up and Down read on, any other key goes back to the class",
            (None, Phase::Lobby) if narrow => " type start and Enter; help lists the other words",
            (None, Phase::Running) if narrow => " Space holds the class; help lists the words to type",
            (None, Phase::Held) if narrow => " type resume and Enter; help lists the other words",
            (None, Phase::Lobby) => {
                " type a word and Enter: start · key · who · summary · release · help · stop"
            }
            (None, Phase::Running) => {
                " Space holds · type: hold · who · summary · reveal · close · help · stop"
            }
            (None, Phase::Held) => " type: resume · who · summary · reveal · close · help · stop",
            (None, Phase::Closed) => " type: summary · who · reveal · help · stop",
        };
        let line = match self.question {
            Some(Question::Close) => format!(" Close? {}Enter: yes, other keys: no", owing(view)),
            Some(Question::Stop) => " Stop the host for now? Ctrl-C again: yes, other keys: no".into(),
            None => format!(" say: {}_", self.typed),
        };
        // Over a page the class is out of sight, but never what comes next.
        let answer = match (&self.page, view.coming.first()) {
            (Some(_), Some(cue)) => format!(" next   {}", cue_in(cue, view)),
            _ => format!(" {}", self.answer),
        };
        Paragraph::new(vec![Line::from(answer), Line::styled(line, bold), Line::from(hint)])
    }
}

/// What a close would cut off.
fn owing(view: &View) -> String {
    let missing = view.class_in.due - view.class_in.present.min(view.class_in.due);
    let unlinked = view.seats.iter().filter(|s| !s.linked).count();
    let mut words = String::new();
    if missing > 0 {
        words += &format!("{missing} sheets missing. ");
    }
    if unlinked > 0 {
        words += &format!("{unlinked} without a link. ");
    }
    words
}

/// A text with its long lines broken between words.
fn wrapped(text: &str, width: usize) -> String {
    text.lines().flat_map(|line| fit::wrap(line, width)).map(|line| line + "\n").collect()
}

/// "for 0:12" or the like, until `until`.
fn left(until: Option<HostTime>, now: HostTime) -> String {
    until.map_or(String::new(), |at| clock_face(at.seconds_until(now)))
}

fn tally(tally: Tally) -> String {
    if tally.due == 0 { "–".into() } else { format!("{} of {}", tally.present, tally.due) }
}

fn tea_table(view: &View, width: u16) -> Table<'static> {
    // Codes and clocks first: a narrow screen leaves out the sheets, then the names.
    let (fixed, gaps) = (4 + 7 + 9 + 12, 4);
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
    let rows = view.teas.iter().map(|tea| {
        let TeaView { code, name, steeps, clock, cup_in } = tea;
        let at_work = !matches!(clock.state, SteepState::Dry | SteepState::Resting);
        let left = match (clock.state, clock.until) {
            (SteepState::Dry | SteepState::Resting, Some(_)) => {
                format!("next in {}", left(clock.until, view.now))
            }
            (_, until) => left(until, view.now),
        };
        let state = clock.state.to_string();
        let name = fit::cut(name.as_deref().unwrap_or("blind"), name_columns.into());
        let cells =
            [format!(" {code}"), name, format!("{} of {steeps}", clock.steep), state, left, tally(*cup_in)];
        Row::new(pick(cells)).style(if at_work { bold } else { Style::new() })
    });
    let mut widths = [4, name_columns, 7, 9, 12].map(Constraint::Length).to_vec();
    if sheets {
        widths.push(Constraint::Length(9));
    }
    let header = pick([" tea", "", "steep", "state", "left", "sheets in"].map(String::from));
    Table::new(rows, widths).header(Row::new(header)).column_spacing(1)
}

/// A cue, whose hands it is for at a table, and when.
fn cue_in(cue: &Cue, view: &View) -> String {
    let hands =
        if view.pourers > 1 && cue.hands > 0 { format!(" (pourer {})", cue.hands) } else { String::new() };
    format!("{cue}{hands} in {}", clock_face(cue.at.seconds_until(view.now)))
}

fn next_lines(view: &View) -> Vec<Line<'static>> {
    let bold = Style::new().add_modifier(Modifier::BOLD);
    let cue = |c: &Cue| cue_in(c, view);
    let next = match (view.phase, view.coming.first()) {
        (Phase::Lobby, _) => "the class has not begun".to_string(),
        (Phase::Closed, _) => "the class is closed".into(),
        (Phase::Held, None) => "held: nothing is wet, nothing is poured until you resume".into(),
        (Phase::Held, Some(c)) => format!("held: nothing new is poured · {}", cue(c)),
        (Phase::Running, None) => "no cue is left; close the class when the sheets are in".into(),
        (Phase::Running, Some(c)) => cue(c),
    };
    let then: Vec<String> = view.coming.iter().skip(1).take(2).map(cue).collect();
    let then = if then.is_empty() { String::new() } else { format!(" then   {}", then.join(" · ")) };
    let sheets = format!(" sheets {} in this round · {} in all", tally(view.round_in), tally(view.class_in));
    if view.phase == Phase::Lobby {
        return vec![Line::from(""), Line::styled(format!(" next   {next}"), bold)];
    }
    vec![Line::from(""), Line::styled(format!(" next   {next}"), bold), Line::from(then), Line::from(sheets)]
}

/// Seats as they fit: those without a link are named first, in words.
fn seats_line(view: &View) -> String {
    let mut out = format!(" seats  {} of {} expected", view.seats.len(), view.expected);
    let mut seats: Vec<_> = view.seats.iter().collect();
    seats.sort_by_key(|s| s.linked);
    for seat in seats {
        let link = if seat.linked { "" } else { " (no link)" };
        let pourer = seat.pourer.map_or(String::new(), |p| format!(", pourer {p}"));
        out += &format!(" · {}{pourer}{link} {}", seat.name, tally(seat.sheets));
    }
    out
}

fn seat_lines(view: &View, width: u16) -> u16 {
    // Lines are broken between words, so each may lose a little of its width.
    let wrapped = wrapped(&seats_line(view), width.into());
    (wrapped.lines().count() as u16).min(4)
}

#[cfg(test)]
mod tests;
