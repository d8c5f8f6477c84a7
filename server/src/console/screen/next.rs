//! What comes next, and what is still to come in.

use crate::console::cues;
use crate::console::words::{tally, writing};
use protocol::time::clock_face;
use protocol::{Cue, Phase};
use room::view::View;

/// What is next, in a line; a cue with all that hands have to know.
pub(super) fn next(view: &View) -> String {
    if let Some(until) = view.last_call {
        // In a rehearsal, too, people in the room have as long as this says.
        let left_s = until.seconds_until(view.now) as f64 / view.rehearsal.unwrap_or(1.0);
        let left_s = left_s.ceil() as i64;
        let called =
            if left_s > 0 { format!("LAST CALL {}", clock_face(left_s)) } else { "CLOSES NOW".into() };
        return format!(" {called} · {}", writing(view));
    }
    let next = match (view.phase, view.coming.first()) {
        (Phase::Lobby, _) => "the class has not begun".to_string(),
        (Phase::Closed, _) => "the class is closed".into(),
        (Phase::Held, None) => "HOLD · nothing is wet, nothing is poured until you resume".into(),
        (Phase::Held, Some(c)) => format!("HOLD · nothing new is poured · {}", in_short(c, view)),
        (Phase::Running, None) => "no cue is left; close the class when the sheets are in".into(),
        (Phase::Running, Some(c)) => timed(&cues::with_water(c, &view.kettles), c, view),
    };
    format!(" next   {next}")
}

/// The cues after that, in short; empty if there are none.
pub(super) fn then(view: &View) -> String {
    // A lid is no news of its own before its pour.
    let coming = view.coming.iter().skip(1).filter(|cue| !cue.action.is_within());
    let then: Vec<String> = coming.take(2).map(|cue| in_short(cue, view)).collect();
    if then.is_empty() { String::new() } else { format!(" then   {}", then.join(" · ")) }
}

/// How many sheets are in.
pub(super) fn sheets(view: &View) -> String {
    format!(" sheets {} in this round · {} in all", tally(view.round_in), tally(view.class_in))
}

/// A cue, whose hands it is for at a table, and when.
pub(super) fn in_short(cue: &Cue, view: &View) -> String {
    timed(&cues::deed(cue, &view.kettles), cue, view)
}

fn timed(words: &str, cue: &Cue, view: &View) -> String {
    let hands =
        if view.pourers > 1 && cue.hands > 0 { format!(" (pourer {})", cue.hands) } else { String::new() };
    format!("{words}{hands} in {}", clock_face(cue.at.seconds_until(view.now)))
}
