//! What the votes suggest for the next steeps, in words for the teacher.

use plan::ladder::Answer;
use protocol::time::clock_face;
use protocol::{Code, HostTime};
use room::view::View;
use room::{Adapted, Offer, Room};

/// The lines of a screen so many columns wide that has room for so many of them, none while nothing is suggested: what can be typed,
/// each tea that could steep for another time, and in one line those that stay.
pub fn lines(view: &View, columns: usize, rows: usize) -> Vec<String> {
    let (stay, change): (Vec<&Offer>, Vec<&Offer>) =
        view.suggestions.iter().partition(|offer| offer.suggestion.answer == Answer::Stays);
    let mut lines = Vec::new();
    if let Some(first) = change.first() {
        lines.push(format!(" {}", what_to_type(&change, first.suggestion.tea, view.now)));
        lines.extend(
            change.iter().map(|offer| format!(" {}", offer.suggestion.line(columns.saturating_sub(1)))),
        );
    }
    let voted = |offer: &&Offer| {
        let suggestion = &offer.suggestion;
        format!("{} ({} of {} voted)", suggestion.tea, suggestion.votes.all(), suggestion.could_vote)
    };
    if !stay.is_empty() {
        let stay: Vec<String> = stay.iter().map(voted).collect();
        lines.push(format!(" as planned: {}", stay.join(", ")));
    }
    if lines.len() > rows && !change.is_empty() {
        // The teas before how to answer; `help` has that, too.
        lines.remove(0);
    }
    if lines.len() > rows {
        let more = lines.len() + 1 - rows.max(1);
        lines.truncate(rows.saturating_sub(1));
        lines.push(format!(" and {more} more next steeps; `why` has all of them"));
    }
    lines
}

fn what_to_type(change: &[&Offer], first: Code, now: HostTime) -> String {
    let (follows, asks): (Vec<&Offer>, Vec<&Offer>) = change.iter().partition(|offer| offer.follows);
    let mut parts = Vec::new();
    if let Some(one) = follows.first() {
        let codes: Vec<String> = follows.iter().map(|offer| offer.suggestion.tea.to_string()).collect();
        let when = match one.follows_at {
            Some(at) => format!("taken in {}", clock_face(at.seconds_until(now).max(0))),
            None => "taken when the class goes on".into(),
        };
        parts.push(format!("{when}: {}", codes.join(", ")));
        parts.push(format!("leave {} keeps the plan", one.suggestion.tea));
    }
    if let Some(one) = asks.iter().find(|offer| offer.takes_s().is_some()) {
        parts.push(format!("follow {} takes it", one.suggestion.tea));
    }
    parts.push(format!("why {first}"));
    format!("next steep   {}", parts.join(" · "))
}

/// A suggestion as a line of its own, with what can be typed.
pub fn line(offer: &Offer) -> String {
    let code = offer.suggestion.tea;
    let typed = match offer.takes_s() {
        Some(_) if offer.follows => format!(" · taken unless you type: leave {code}"),
        Some(_) => format!(" · follow {code} takes it"),
        None => String::new(),
    };
    format!("{}{typed}", offer.suggestion)
}

/// Why something is suggested for a tea's next steep, or why nothing is; for all teas where none is named.
pub fn why(room: &Room, code: Option<Code>, now: HostTime) -> String {
    let codes: Vec<Code> = match code {
        Some(code) => vec![code],
        None => room.class.cards(|code| room.is_open(code)).iter().map(|card| card.code).collect(),
    };
    let each = codes.iter().map(|&code| match room.suggestion(code, now) {
        Ok(offer) => format!("{}\n{}", line(&offer), offer.suggestion.why()),
        Err(refusal) => refusal.reason,
    });
    each.collect::<Vec<_>>().join("\n\n")
}

/// A suggestion that was taken.
pub fn taken(adapted: &Adapted) -> String {
    let &Adapted { code, round, planned_s, suggested_s, taken_s, followed, .. } = adapted;
    let suggested = match suggested_s {
        Some(s) if s != taken_s => format!(", suggested {s} s"),
        _ => String::new(),
    };
    let head = format!("{code} steeps {taken_s} s in round {round} (planned {planned_s} s{suggested})");
    if followed { format!("followed: {head}; leave {code} takes it back") } else { head }
}

#[cfg(test)]
mod tests {
    use super::*;
    use plan::ladder::Votes;

    #[test]
    fn what_was_taken_says_what_was_planned_and_how_to_take_it_back() {
        let adapted = Adapted {
            code: Code::new(417).unwrap(),
            round: 2,
            steep: 2,
            votes: Votes([0, 5, 2, 0, 0]),
            could_vote: 8,
            planned_s: 25,
            suggested_s: Some(34),
            taken_s: 34,
            followed: false,
        };
        for (adapted, words) in [
            (adapted, "417 steeps 34 s in round 2 (planned 25 s)"),
            (Adapted { taken_s: 30, ..adapted }, "417 steeps 30 s in round 2 (planned 25 s, suggested 34 s)"),
            (
                Adapted { followed: true, ..adapted },
                "followed: 417 steeps 34 s in round 2 (planned 25 s); leave 417 takes it back",
            ),
        ] {
            assert_eq!(taken(&adapted), words);
        }
    }
}
