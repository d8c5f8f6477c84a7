//! What is to do now and next.

use super::large;
use protocol::fit;
use protocol::time::clock_face;
use protocol::{Cue, HostTime, Phase};
use ratatui::style::Style;
use ratatui::text::Line;
use seat::app::Class;
use seat::words::cue_with_dots;

/// The last seconds before a cue are counted down in large letters.
const COUNTDOWN_S: i64 = 10;
/// Work under way gives way to the countdown only this short before the next cue.
const HURRY_S: i64 = 5;

/// Always two lines, so that nothing below them jumps.
pub fn lines(class: &Class, at: HostTime, width: usize) -> Vec<Line<'static>> {
    let now = match class.current(at) {
        Some(cue) => {
            Line::styled(fit::cut(&format!(" NOW   {}", cue_with_dots(cue)), width), Style::new().bold())
        }
        None => Line::styled(" NOW   nothing for your hands", Style::new().dim()),
    };
    let next = match class.next(at) {
        Some(cue) => {
            let wait = clock_face(cue.at.seconds_until(at));
            let long = format!(" NEXT  in {wait}  {}", cue_with_dots(cue));
            let short = format!(" NEXT  in {wait}  {cue}");
            Line::from(if fit::columns(&long) <= width { long } else { fit::cut(&short, width) })
        }
        None if class.phase == Phase::Held => Line::from(" NEXT  nothing until the class goes on"),
        None => Line::from(" NEXT  nothing more is planned"),
    };
    vec![now, next]
}

/// The same in one line, for a window that has room for nothing else.
pub fn shortest(class: &Class, at: HostTime) -> String {
    match (class.current(at), class.next(at)) {
        (Some(cue), _) => format!("NOW {cue}"),
        (None, Some(cue)) => format!("NEXT {cue} in {}", clock_face(cue.at.seconds_until(at))),
        (None, None) => "nothing is planned".into(),
    }
}

/// In large letters: the work under way, the last seconds before a cue, or how long it is till then.
pub fn large(class: &Class, at: HostTime, width: usize) -> Option<Vec<Line<'static>>> {
    let next = class.next(at).map(|cue| (cue, cue.at.seconds_until(at)));
    let texts = match (class.current(at), next) {
        (None, Some((cue, left_s))) if left_s <= COUNTDOWN_S => countdown(cue, left_s),
        (Some(_), Some((cue, left_s))) if left_s <= HURRY_S => countdown(cue, left_s),
        (Some(cue), _) => vec![cue.to_string().to_uppercase()],
        (None, Some((_, left_s))) => vec![clock_face(left_s)],
        (None, None) => return None,
    };
    let drawn = texts.iter().find_map(|text| large::centred(text, width))?;
    Some(drawn.into_iter().map(|line| line.style(Style::new().bold())).collect())
}

fn countdown(cue: &Cue, left_s: i64) -> Vec<String> {
    vec![format!("{} {left_s}", cue.to_string().to_uppercase()), left_s.to_string()]
}
