//! What one seat said of its cups in words: votes, ticked words and notes.

use protocol::{Code, Score, Strength};
use room::Room;
use summary::Summary;

/// One cup of one seat.
#[derive(Clone, Debug, PartialEq)]
pub struct Own {
    /// The tea.
    pub tea: Code,
    /// The steep.
    pub steep: u32,
    /// How the strength was found.
    pub strength: Option<Strength>,
    /// The words ticked.
    pub words: Vec<String>,
    /// The note; empty without one.
    pub note: String,
}

impl Own {
    /// What the seat of a name said, tea after tea in the summary's order, steep after steep. Cups of which it said nothing in words
    /// are left out.
    pub fn of(room: &Room, summary: &Summary, seat: &str) -> Vec<Self> {
        let Some(seat) = room.seat_named(seat) else { return Vec::new() };
        let place = |code: Code| summary.teas.iter().position(|tea| tea.code == code);
        let mut scores: Vec<&Score> = room.scores.of_seat(seat.id).map(|kept| &kept.score).collect();
        scores.sort_by_key(|score| (place(score.code), score.steep));
        let said = |s: &&Score| s.strength.is_some() || !s.words.is_empty() || !s.note.is_empty();
        let own = |s: &Score| Own {
            tea: s.code,
            steep: s.steep,
            strength: s.strength,
            words: s.words.clone(),
            note: s.note.clone(),
        };
        scores.into_iter().filter(said).map(own).collect()
    }

    /// `too thin · floral, warm bread · “sweet at the end”`.
    pub fn words(&self) -> String {
        let strength = self.strength.map(|vote| vote.to_string());
        let words = (!self.words.is_empty()).then(|| self.words.join(", "));
        let note = (!self.note.is_empty()).then(|| format!("“{}”", self.note));
        strength.into_iter().chain(words).chain(note).collect::<Vec<_>>().join(" · ")
    }
}
