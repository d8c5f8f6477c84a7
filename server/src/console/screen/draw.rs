//! The whole screen.

use super::room_for::{FOOT, rows};
use super::{Question, Screen, next, teas};
use crate::console::words::{
    self, keys_question, missing, new_keys_question, reveal_question, still_blind, writing,
};
use crate::console::{roster, suggested};
use protocol::text::{Inert, message};
use protocol::{CAUTIONS, Phase, fit};
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::{Modifier, Style};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;
use room::view::View;

const BOLD: Style = Style::new().add_modifier(Modifier::BOLD);

impl Screen {
    /// Draws the class as it is in `view`.
    pub fn draw(&self, frame: &mut Frame<'_>, view: &View) {
        let area = frame.area();
        let width = usize::from(area.width);
        let [above, foot] = Layout::vertical([Constraint::Min(0), Constraint::Length(FOOT)]).areas(area);
        frame.render_widget(self.foot(view, area.width), foot);
        if let Some(page) = &self.page {
            let [head, body] = Layout::vertical([Constraint::Length(2), Constraint::Min(0)]).areas(above);
            frame.render_widget(Paragraph::new(vec![title(view, width), rule(width)]), head);
            let text = wrapped(&page.text, width);
            page.last.set((text.lines().count() as u16).saturating_sub(body.height));
            frame.render_widget(Paragraph::new(text).scroll((page.from.min(page.last.get()), 0)), body);
            return;
        }
        let wanted = roster::lines(view, width, usize::MAX).len() as u16;
        let suggested = suggested::lines(view, width, usize::MAX).len() as u16;
        let rows = rows(view, area.height, wanted, suggested);
        let mut below = above;
        let mut head = vec![title(view, width)];
        head.extend((rows.join > 0).then(|| Line::from(self.join(view, width))));
        head.extend((rows.rule > 0).then(|| rule(width)));
        put(frame, &mut below, head);
        let part = cut_off(&mut below, rows.teas);
        frame.render_widget(teas::table(view, area.width, rows.teas), part);
        let mut middle = Vec::new();
        middle.extend((rows.gap > 0).then(|| Line::from("")));
        middle.push(Line::styled(fit::cut_middle(&next::next(view), width), BOLD));
        middle.extend((rows.then > 0).then(|| Line::from(fit::cut(&next::then(view), width))));
        middle.extend((rows.sheets > 0).then(|| Line::from(fit::cut(&next::sheets(view), width))));
        if rows.suggested > 0 {
            let suggested = suggested::lines(view, width, rows.suggested.into());
            middle.extend(suggested.iter().map(|line| Line::from(fit::cut(line, width))));
        }
        middle.extend(roster::lines(view, width, rows.seats.into()).into_iter().map(Line::from));
        middle.extend((rows.news_rule > 0).then(|| rule(width)));
        put(frame, &mut below, middle);
        put(frame, &mut below, self.news(view, width, rows.news.into()));
    }

    /// What happened last, in so many lines; in the lobby what is to be known and the cautions before it.
    fn news(&self, view: &View, width: usize, rows: usize) -> Vec<Line<'static>> {
        let lobby = view.phase == Phase::Lobby;
        let inert: Vec<Inert> = self.about.notices.iter().map(|notice| message(notice)).collect();
        let notices = inert.iter().map(|notice| &**notice);
        let cautions = notices.chain(CAUTIONS).filter(|_| lobby).map(|c| format!(" ! {c}"));
        let cautions: Vec<String> = cautions.flat_map(|c| fit::wrap(&c, width)).collect();
        // Something of what happened is in sight even where the cautions would fill the screen.
        let notices = inert.iter().filter(|_| !lobby).map(|n| format!("notice: {n}"));
        let news = notices.chain(self.said.iter().map(ToString::to_string));
        let news = news.flat_map(|said| fit::wrap(&format!(" · {said}"), width));
        let news: Vec<String> = news.collect();
        let cautioned = cautions.len().min(rows.saturating_sub(news.len().min(2)));
        let older = news.len().saturating_sub(rows - cautioned);
        cautions.into_iter().take(cautioned).chain(news.into_iter().skip(older)).map(Line::from).collect()
    }

    /// How to join. Where room is short the name is left out: the seat asks for it; then the words before the line. A line that
    /// has a pin is shown as a whole or not at all, so that nobody copies it without the pin.
    fn join(&self, view: &View, width: usize) -> String {
        let line = self.about.join(view.join_code);
        let nameless = line.split_once(" --name").map_or(&*line, |(nameless, _)| nameless);
        let forms = [format!(" join with: {line}"), format!(" join with: {nameless}"), nameless.to_string()];
        let fitting = forms.iter().find(|form| fit::columns(form) <= width).cloned();
        fitting.unwrap_or_else(|| match self.about.pin {
            Some(_) => " to join: type code, and copy all that it shows".into(),
            None => format!(" join with: {nameless}"),
        })
    }

    fn foot(&self, view: &View, width: u16) -> Paragraph<'_> {
        let narrow = width < 76;
        let hint = match (&self.page, view.phase) {
            (Some(_), Phase::Running) if view.last_call.is_none() => {
                " Up and Down read on, Space holds, other keys go back"
            }
            (Some(_), _) => " Up and Down read on, any other key goes back to the class",
            (None, phase) if view.last_call.is_some() && phase != Phase::Closed => {
                " words: close now · who · summary · help · stop"
            }
            (None, Phase::Lobby) if narrow => " type start and Enter; help lists the other words",
            (None, Phase::Running) if narrow => " Space holds the class; help lists the words to type",
            (None, Phase::Held) if narrow => " type resume and Enter; help lists the other words",
            (None, Phase::Lobby) if view.by_name => {
                " words: start · admit · lobby · who · key · help · stop, then Enter"
            }
            (None, Phase::Running) if view.by_name => {
                " Space holds · words: hold · admit · lobby · who · summary · close · help · stop"
            }
            (None, Phase::Lobby) => " words: start · key · who · summary · release · help · stop, then Enter",
            (None, Phase::Running) => {
                " Space holds · words: hold · who · summary · reveal · close · help · stop"
            }
            (None, Phase::Held) => " words: resume · who · summary · reveal · close · help · stop",
            (None, Phase::Closed) => " words: summary · who · reveal · help · stop",
        };
        let line = match self.question {
            Some(Question::Close(0)) => {
                format!(" Close now? {}, not sent yet. Enter or y: yes, other keys: no", writing(view))
            }
            Some(Question::Close(_)) => format!(" Close? {}Enter or y: yes, other keys: no", owing(view)),
            Some(Question::Reveal(_)) => {
                format!(" {}", reveal_question(view, "other keys").unwrap_or_default())
            }
            Some(Question::StillBlind) => {
                format!(" {} y: yes, other keys: no", still_blind(view).unwrap_or_default())
            }
            Some(Question::Keys) => format!(" {}", keys_question("other keys")),
            Some(Question::NewKeys) => {
                format!(" {}", new_keys_question(&self.about.led_by(), "other keys"))
            }
            Some(Question::Stop) => " Stop the host for now? Enter or y: yes, other keys: no".into(),
            None => format!(" type: {}_", self.typed),
        };
        // Over a page the class is out of sight, but never what comes next.
        let answer = match (&self.page, view.coming.first()) {
            (Some(_), Some(cue)) => format!(" next   {}", next::in_short(cue, view)),
            _ => format!(" {}", self.answer),
        };
        // A long answer takes the line of the hint: what to do often stands at its end.
        let mut lines = fit::wrap(&answer, width.into()).into_iter();
        let answer = lines.next().unwrap_or_default();
        let hint = lines.next().map_or_else(|| hint.to_string(), |rest| format!(" {rest}"));
        Paragraph::new(vec![Line::from(answer), Line::styled(line, BOLD), Line::from(hint)])
    }
}

/// Puts lines at the top of what is left of the screen.
fn put(frame: &mut Frame<'_>, left: &mut Rect, lines: Vec<Line<'_>>) {
    let part = cut_off(left, lines.len() as u16);
    frame.render_widget(Paragraph::new(lines), part);
}

/// The next `rows` lines of what is left.
fn cut_off(left: &mut Rect, rows: u16) -> Rect {
    let rows = rows.min(left.height);
    let part = Rect { height: rows, ..*left };
    (left.y, left.height) = (left.y + rows, left.height - rows);
    part
}

fn rule(width: usize) -> Line<'static> {
    Line::from("─".repeat(width))
}

fn title(view: &View, width: usize) -> Line<'static> {
    let stands = words::stands(view);
    let room = width.saturating_sub(fit::columns(&stands) + 2);
    let title = fit::cut(&view.title, room);
    let gap = room.saturating_sub(fit::columns(&title)) + 1;
    Line::from(vec![
        Span::raw(" "),
        Span::styled(title, BOLD),
        " ".repeat(gap).into(),
        Span::styled(stands, BOLD),
    ])
}

/// What a close would leave out.
fn owing(view: &View) -> String {
    let unlinked = view.seats.iter().filter(|s| !s.linked).count();
    let mut words = String::new();
    if missing(view) > 0 {
        words += &format!("{} sheets missing. ", missing(view));
    }
    if unlinked > 0 {
        words += &format!("{unlinked} without a link. ");
    }
    match view.rounds.saturating_sub(view.round) {
        0 => {}
        1 => words += "1 round to come. ",
        rounds => words += &format!("{rounds} rounds to come. "),
    }
    words
}

/// A text with its long lines broken between words.
fn wrapped(text: &str, width: usize) -> String {
    text.lines().flat_map(|line| fit::wrap(line, width)).map(|line| line + "\n").collect()
}
