//! A change of course while the class runs: what stands, which decant moves, and what follows in words.

use super::hold::BEGUN_S;
use class::course::Turn;
use protocol::time::SECOND_US;
use protocol::{Action, Code, Cue, HostTime, Timetable};

/// Seconds between a change of course and the first cue that it plans anew: the seats have heard of it by then.
pub const STEER_S: u32 = 5;

/// The cues that stand when the course changes at `at` in round `first` and later: all that has begun, the decants of what is
/// wet, and the rounds before as they are planned. A tasting that has not begun waits for its last cup.
pub fn standing(timetable: &Timetable, first: u32, at: HostTime) -> Vec<Cue> {
    let begun = |cue: &Cue| cue.at <= at.plus_s(BEGUN_S);
    let has_begun = |action, cue: &Cue| timetable.find(action, cue.code, cue.round()).is_some_and(begun);
    let closes = |round| timetable.find(Action::SheetCloses, None, round).map(|closes| closes.at);
    let before = first.checked_sub(1).and_then(closes).unwrap_or(HostTime(i64::MIN));
    let last = timetable.cues.iter().filter(|c| !c.action.is_at_kettle()).map(Cue::round).max();
    let stands = |cue: &&Cue| match cue.action {
        _ if begun(cue) => true,
        Action::Lid | Action::Decant if has_begun(Action::Pour, cue) => true,
        Action::PourOff if has_begun(Action::Rinse, cue) => true,
        // What is done at a kettle may be kept apart under a number that is no round's.
        action if action.is_at_kettle() && (cue.round() == 0 || Some(cue.round()) > last) => cue.at <= before,
        _ => cue.round() < first,
    };
    timetable.cues.iter().filter(stands).cloned().collect()
}

/// Gives a steep that is wet another length: its decant moves, in the revision of this number, and its pour says how long.
/// Nothing happens where the cues have no such pour and decant.
pub fn retime(cues: &mut Vec<Cue>, (code, round): Turn, steep_s: u32, revision: u32, now: HostTime) {
    let place = |cues: &[Cue], action| cues.iter().position(|c| c.key() == (round, action, Some(code)));
    let (Some(pour), Some(decant)) = (place(cues, Action::Pour), place(cues, Action::Decant)) else { return };
    cues[pour].steep_s = Some(steep_s);
    let lid_on = cues[pour].end();
    (cues[decant].at, cues[decant].moved_in) = (lid_on.plus_s(steep_s), Some(revision));
    // A flash steep has no time for a lid, and what was to be one may need it now.
    match (place(cues, Action::Lid), lid_on > now) {
        (Some(lid), true) if steep_s == 0 => drop(cues.remove(lid)),
        (None, true) if steep_s > 0 => {
            let lid = Cue::new(lid_on, Action::Lid, Some(code), cues[pour].steep, cues[pour].hands, 0);
            cues.push(lid.in_round(round));
        }
        _ => {}
    }
    // In a hold a tasting stands that waits for its last cup.
    let ends = cues.iter().filter(|c| c.action == Action::Decant && c.round() == round).map(Cue::end).max();
    let taste = cues.iter_mut().find(|c| c.key() == (round, Action::Taste, None) && c.at > now);
    if let (Some(taste), Some(ends)) = (taste, ends) {
        taste.at = ends;
    }
}

/// Gives the decant of what is wet into other hands, in the revision of this number, if they have nothing else to do then.
pub fn give_decant(cues: &mut [Cue], (code, round): Turn, hands: u8, revision: u32) {
    let Some(place) = cues.iter().position(|c| c.key() == (round, Action::Decant, Some(code))) else {
        return;
    };
    if in_the_way(cues, &cues[place], hands).is_none() {
        (cues[place].hands, cues[place].moved_in) = (hands, Some(revision));
    }
}

/// What these hands have to do while something is to be decanted.
fn in_the_way<'c>(cues: &'c [Cue], decant: &Cue, hands: u8) -> Option<&'c Cue> {
    let work = |c: &&Cue| {
        let of_hands = c.key() != decant.key() && c.hands == hands && !c.action.is_within();
        of_hands && c.length_s > 0 && c.at < decant.end() && decant.at < c.end()
    };
    cues.iter().find(work)
}

/// Puts every decant that was moved in this revision into hands that are free for it; gives the cue that is in the way if there
/// are none. Its own hands come first.
///
/// # Errors
/// The work that no hands are free beside.
pub fn find_hands(
    cues: &mut [Cue],
    revision: u32,
    hands: u8,
    may: impl Fn(Code, u8) -> bool,
) -> Result<(), Cue> {
    for moved in 0..cues.len() {
        if cues[moved].action != Action::Decant || cues[moved].moved_in != Some(revision) {
            continue;
        }
        let decant = cues[moved].clone();
        let in_the_way = |hands: u8| in_the_way(cues, &decant, hands).cloned();
        let free = std::iter::once(decant.hands)
            .chain((1..=hands).filter(|&h| decant.code.is_none_or(|code| may(code, h))))
            .find(|&h| in_the_way(h).is_none());
        match (free, in_the_way(decant.hands)) {
            (Some(free), _) => cues[moved].hands = free,
            (None, Some(other)) => return Err(other),
            (None, None) => {}
        }
    }
    Ok(())
}

/// What a change of course has moved, in words: "round 2 is tasted 10 s later, round 3 begins 10 s later".
pub fn follows(old: &Timetable, new: &Timetable, now: HostTime) -> String {
    let begins = |table: &Timetable, round| {
        let pours = table.cues.iter().filter(|c| c.action == Action::Pour && c.round() == round);
        pours.map(|c| c.at).min()
    };
    let tastes = |table: &Timetable, round| table.find(Action::Taste, None, round).map(|c| c.at);
    let ends = |table: &Timetable| table.cues.iter().map(Cue::end).max();
    let last = |table: &Timetable| table.cues.iter().filter(|c| c.code.is_none()).map(Cue::round).max();
    let last = last(old).max(last(new)).unwrap_or(0);
    let mut said = Vec::new();
    let mut say = |what: String, was: Option<HostTime>, is: Option<HostTime>| {
        let moved = match (was, is) {
            (Some(was), Some(is)) => later((is.0 - was.0) / SECOND_US),
            _ => None,
        };
        said.extend(moved.map(|moved| format!("{what} {moved}")));
    };
    let at_hand = new.round(now).max(1);
    let ahead = |at: Option<HostTime>| at.is_none_or(|at| at > now);
    if ahead(tastes(new, at_hand)) {
        say(format!("round {at_hand} is tasted"), tastes(old, at_hand), tastes(new, at_hand));
    }
    let next = (at_hand..=last).find(|&round| begins(old, round).is_some_and(|at| at > now));
    if let Some(next) = next {
        say(format!("round {next} begins"), begins(old, next), begins(new, next));
    }
    say("the class ends".into(), ends(old), ends(new));
    if said.is_empty() { "nothing else moves".into() } else { said.join(", ") }
}

/// `10 s later`, `2 min 5 s earlier`; nothing for what has not moved.
fn later(by_s: i64) -> Option<String> {
    let length = crate::warnings::words_s(u32::try_from(by_s.abs()).unwrap_or(u32::MAX));
    match by_s {
        0 => None,
        1.. => Some(format!("{length} later")),
        _ => Some(format!("{length} earlier")),
    }
}

/// Whether the pour of a cup has begun by `now`, or will have before anybody hears otherwise.
pub fn is_begun(timetable: &Timetable, (code, round): Turn, now: HostTime) -> bool {
    timetable.poured(code, round, now.plus_s(BEGUN_S))
}

/// The decant of a cup that is wet at `now` and can still be moved.
pub fn wet(timetable: &Timetable, turn: Turn, now: HostTime) -> Option<&Cue> {
    let (code, round): (Code, u32) = turn;
    let decant = timetable.find(Action::Decant, Some(code), round)?;
    (is_begun(timetable, turn, now) && decant.at > now.plus_s(BEGUN_S)).then_some(decant)
}
