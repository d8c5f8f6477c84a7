//! What a seat keeps on its machine: its places, the scores and answers that no host has acknowledged yet, and the
//! sheets begun and not sent.

use crate::app::desk::Cup;
use crate::app::filled::Filled;
use protocol::{Answer, Score, SeatId};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// How many classes are remembered. One with a waiting score is never forgotten.
const CLASSES: usize = 50;
/// The form of the file.
pub const FORM: u32 = 1;

/// What a seat keeps on its machine.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Kept {
    /// The form of the file, [`FORM`].
    pub form: u32,
    /// What this seat's tokens are made from; nobody else knows it.
    secret: Uuid,
    /// The one joined last comes last.
    classes: Vec<KeptClass>,
}

/// What a seat keeps of one class.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct KeptClass {
    /// The class.
    pub class_id: Uuid,
    /// The seat's id there.
    pub seat: SeatId,
    /// The name it had.
    pub name: String,
    /// Scores not yet acknowledged, oldest first.
    pub outbox: Vec<Score>,
    /// Answers to difference tests not yet acknowledged, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub answers: Vec<Answer>,
    /// Sheets begun and not sent, by cup.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub drafts: Vec<(Cup, Filled)>,
}

impl Kept {
    /// Nothing yet. `secret` is a fresh random id.
    pub fn new(secret: Uuid) -> Self {
        Self { form: FORM, secret, classes: Vec::new() }
    }

    /// What the seat's tokens are made from.
    pub fn secret(&self) -> Uuid {
        self.secret
    }

    /// What is kept of one class.
    pub fn class(&self, class_id: Uuid) -> Option<&KeptClass> {
        self.classes.iter().find(|c| c.class_id == class_id)
    }

    /// Notes a place at a class; an outbox and drafts for that class stay.
    pub fn seated(&mut self, class_id: Uuid, seat: SeatId, name: &str) {
        let place = self.classes.iter().position(|c| c.class_id == class_id);
        let known = place.map(|i| self.classes.remove(i));
        let (outbox, answers, drafts) = known.map(|c| (c.outbox, c.answers, c.drafts)).unwrap_or_default();
        self.classes.push(KeptClass { class_id, seat, name: name.into(), outbox, answers, drafts });
        while self.classes.len() > CLASSES {
            let forgettable = |c: &KeptClass| c.outbox.is_empty() && c.answers.is_empty();
            let Some(oldest) = self.classes.iter().position(forgettable) else { break };
            self.classes.remove(oldest);
        }
    }

    /// Notes the drafts of a class; whether they were others before.
    pub fn draft(&mut self, class_id: Uuid, drafts: Vec<(Cup, Filled)>) -> bool {
        let class = self.classes.iter_mut().find(|c| c.class_id == class_id);
        class.is_some_and(|class| std::mem::replace(&mut class.drafts, drafts) != class.drafts)
    }

    /// Puts a score into the outbox.
    pub fn put_in(&mut self, class_id: Uuid, score: Score) {
        if let Some(class) = self.classes.iter_mut().find(|c| c.class_id == class_id) {
            class.outbox.push(score);
        }
    }

    /// Takes a score out of the outbox.
    pub fn take_out(&mut self, class_id: Uuid, id: Uuid) -> Option<Score> {
        let class = self.classes.iter_mut().find(|c| c.class_id == class_id)?;
        let place = class.outbox.iter().position(|s| s.id == id)?;
        Some(class.outbox.remove(place))
    }

    /// Puts an answer among those that wait.
    pub fn put_answer_in(&mut self, class_id: Uuid, answer: Answer) {
        if let Some(class) = self.classes.iter_mut().find(|c| c.class_id == class_id) {
            class.answers.push(answer);
        }
    }

    /// Takes an answer out of those that wait.
    pub fn take_answer_out(&mut self, class_id: Uuid, id: Uuid) -> Option<Answer> {
        let class = self.classes.iter_mut().find(|c| c.class_id == class_id)?;
        let place = class.answers.iter().position(|a| a.id == id)?;
        Some(class.answers.remove(place))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;

    const SECRET: Uuid = Uuid::from_u128(77);

    fn filled() -> Kept {
        let mut kept = Kept::new(SECRET);
        kept.seated(Uuid::from_u128(9), SeatId(Uuid::from_u128(1)), "Ann");
        kept.put_in(Uuid::from_u128(9), fixture::score(3, 417, 1));
        let begun = fixture::score(4, 417, 2);
        kept.draft(Uuid::from_u128(9), vec![(Cup::of(&begun), Filled::from(&begun))]);
        kept
    }

    #[test]
    fn a_class_with_a_waiting_score_is_never_forgotten() {
        let mut kept = filled();
        for n in 100..100 + 2 * CLASSES as u128 {
            kept.seated(Uuid::from_u128(n), SeatId(Uuid::from_u128(n)), "Ann");
        }
        assert_eq!(kept.classes.len(), CLASSES);
        assert_eq!(kept.class(Uuid::from_u128(9)).unwrap().outbox.len(), 1);
    }

    #[test]
    fn a_file_without_drafts_is_read() {
        let mut kept = filled();
        kept.draft(Uuid::from_u128(9), Vec::new());
        let text = serde_json::to_string(&kept).unwrap();
        assert!(!text.contains("drafts"));
        assert_eq!(serde_json::from_str::<Kept>(&text).unwrap(), kept);
    }

    #[test]
    fn a_new_place_at_the_same_class_keeps_the_outbox_and_the_drafts() {
        let mut kept = filled();
        kept.seated(Uuid::from_u128(9), SeatId(Uuid::from_u128(5)), "Ann");
        let class = kept.class(Uuid::from_u128(9)).unwrap();
        assert_eq!((class.seat.0.as_u128(), class.outbox.len(), class.drafts.len()), (5, 1, 1));
    }
}
