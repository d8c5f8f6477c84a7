//! The steeps that were given another time while the class ran, by the votes on the steep before, and what was voted on them.

use crate::sheets::Cup;
use plan::ladder::Votes;
use protocol::Code;
use room::{Adapted, Room};
use schemars::JsonSchema;
use serde::Serialize;

/// A steep that was given another time by the votes on the one before it. While its tea is blind its seconds are `null`.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AdaptedSteep {
    /// The tea.
    pub code: Code,
    /// The steep as it is numbered by its round.
    pub steep: u32,
    /// As it was planned, seconds.
    pub planned_s: Option<u32>,
    /// What the votes suggested, seconds; `null` too where that was no other time.
    pub suggested_s: Option<u32>,
    /// How long it really was, seconds.
    pub served_s: Option<u32>,
    /// Whether the host took the suggestion by the class file's word, and not the teacher.
    pub followed: bool,
    /// The votes on the steep before as they stood then: much too thin, too thin, just right, too strong, much too strong.
    pub votes: [usize; 5],
    /// How many could have voted there.
    pub could_vote: usize,
    /// The votes on this steep.
    pub next_votes: [usize; 5],
    /// All that in words.
    pub text: String,
}

/// The steeps that were in the cup and had been given another time, in the order in which that was done; a steep whose change was
/// taken back is none.
pub(crate) fn adapted(room: &Room, served: &[Cup]) -> Vec<AdaptedSteep> {
    let stands = |(place, adapted): &(usize, &Adapted)| {
        let turn = (adapted.code, adapted.round);
        let last = room.adapted.iter().rposition(|other| (other.code, other.round) == turn);
        let is_so = room.course.steep(turn).is_some_and(|steep| steep.steep_s != adapted.planned_s);
        let cup = |cup: &Cup| (cup.code, cup.steep) == turn;
        last == Some(*place) && is_so && !room.course.is_kept(turn) && served.iter().any(cup)
    };
    room.adapted.iter().enumerate().filter(stands).map(|(_, adapted)| steep(room, adapted)).collect()
}

fn steep(room: &Room, adapted: &Adapted) -> AdaptedSteep {
    let &Adapted { code, round, votes, could_vote, planned_s, suggested_s, followed, .. } = adapted;
    let open = room.is_open(code);
    let served_s = crate::recipe::seconds(room, code, round);
    let each = room.counted().filter_map(|seat| room.scores.of(seat.id, (code, round))?.score.strength);
    let next: Votes = each.collect();
    let seconds = match (open, served_s) {
        (true, Some(served_s)) => {
            let (taken, suggested) = match suggested_s {
                Some(s) if s == served_s => (" as the votes suggested", String::new()),
                Some(s) => ("", format!(", suggested {s} s")),
                None => ("", ", no other time suggested".into()),
            };
            format!("sat {served_s} s{taken}, planned {planned_s} s{suggested}")
        }
        _ => "was given another time than planned".into(),
    };
    let text = format!(
        "{code} {} {seconds}. Votes on the steep before: {}; votes on this one: {}.",
        crate::recipe::called(room, code, round),
        in_words(&votes),
        in_words(&next)
    );
    AdaptedSteep {
        code,
        steep: round,
        planned_s: open.then_some(planned_s),
        suggested_s: suggested_s.filter(|_| open),
        served_s: served_s.filter(|_| open),
        followed,
        votes: votes.0,
        could_vote,
        next_votes: next.0,
        text,
    }
}

/// `5 too thin, 2 just right`.
fn in_words(votes: &Votes) -> String {
    let each = [(votes.thin(), "too thin"), (votes.right(), "just right"), (votes.strong(), "too strong")];
    let each: Vec<String> =
        each.iter().filter(|(n, _)| *n > 0).map(|(n, what)| format!("{n} {what}")).collect();
    if each.is_empty() { "none".into() } else { each.join(", ") }
}
