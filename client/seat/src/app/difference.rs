//! Difference tests at a seat: what is asked, what is chosen, and how the answer gets to the host.

use super::{App, Class, CupState, Draw, Effect, Happening, Key, LinkState, Place};
use crate::host_clock::OwnTime;
use crate::words;
use protocol::wire::SeatMessage;
use protocol::{Answer, Code, Phase, TestCard};
use uuid::Uuid;

impl App {
    /// The test that has the keys instead of the sheet.
    pub fn test_in_hand(&self) -> Option<&TestCard> {
        let class = self.class.as_ref().filter(|class| class.phase != Phase::Closed)?;
        class.tests.get(&self.desk.test?)
    }

    /// How the answer to a test stands.
    pub fn test_state(&self, test: u32) -> CupState {
        if self.desk.picks.contains_key(&test) {
            CupState::Draft
        } else if self.answers_waiting().iter().any(|answer| answer.test == test) {
            CupState::Sent
        } else if self.class.as_ref().is_some_and(|class| class.answered.contains_key(&test)) {
            CupState::Kept
        } else {
            CupState::Open
        }
    }

    /// The cup that is chosen in a test, sent or not.
    pub fn pick(&self, test: u32) -> Option<Code> {
        let draft = self.desk.picks.get(&test).copied();
        draft.or_else(|| self.answered(test).map(|answer| answer.pick))
    }

    /// The answers not yet acknowledged, oldest first.
    pub fn answers_waiting(&self) -> &[Answer] {
        self.class.as_ref().and_then(|class| self.kept.class(class.id)).map_or(&[], |kept| &kept.answers)
    }

    /// What was last answered: sent, or else taken.
    fn answered(&self, test: u32) -> Option<&Answer> {
        let waiting = self.answers_waiting().iter().filter(|answer| answer.test == test);
        waiting.max_by_key(|answer| answer.revision).or_else(|| self.class.as_ref()?.answered.get(&test))
    }

    /// Takes in the tests that are open to this seat; those it has not known yet are told.
    pub(super) fn open_tests(&mut self, cards: Vec<TestCard>, now: OwnTime) -> Vec<Effect> {
        let mut effects = Vec::new();
        for card in cards {
            let Some(class) = &mut self.class else { break };
            let number = card.test;
            if class.tests.insert(number, card.clone()).is_some() {
                continue;
            }
            // Whoever is at a sheet finishes it first.
            if self.test_state(number) == CupState::Open {
                if self.is_nobody_at_it(now) {
                    self.turn_to_test(number, now);
                } else {
                    let next = self.offers(now).first() == Some(&Place::Test(number));
                    let tab = if next { "Tab" } else { "Tab, after the cups" };
                    self.note(now, format!("test {number} is open: {tab}"));
                }
            }
            effects.push(Effect::Say(Happening::TestOpened(card)));
        }
        effects
    }

    /// A key while a test has the keys.
    pub(super) fn on_test(
        &mut self,
        card: &TestCard,
        key: &Key,
        now: OwnTime,
        draw: Draw<'_>,
    ) -> Vec<Effect> {
        let (number, codes) = (card.test, &card.codes);
        let here = self.pick(number).and_then(|pick| codes.iter().position(|code| *code == pick));
        let last = codes.len().saturating_sub(1);
        let there = match (key, here) {
            (Key::Enter, _) => return self.send_pick(number, now, draw),
            (Key::Esc, _) => {
                self.desk.test = None;
                return Vec::new();
            }
            (Key::Backspace, _) => {
                self.desk.picks.remove(&number);
                return Vec::new();
            }
            (Key::Left, None) => last,
            (Key::Right, None) => 0,
            (Key::Left, Some(here)) => here.saturating_sub(1),
            (Key::Right, Some(here)) => (here + 1).min(last),
            (Key::Char(c), _) => match c.to_digit(10) {
                Some(digit) if (1..=codes.len()).contains(&(digit as usize)) => digit as usize - 1,
                _ => {
                    self.note(now, format!("1 to {} chooses a cup; Tab goes back to the sheet", codes.len()));
                    return Vec::new();
                }
            },
            _ => return Vec::new(),
        };
        if let Some(&code) = codes.get(there) {
            match self.answered(number) {
                Some(answer) if answer.pick == code => drop(self.desk.picks.remove(&number)),
                _ => drop(self.desk.picks.insert(number, code)),
            }
        }
        Vec::new()
    }

    fn send_pick(&mut self, test: u32, now: OwnTime, draw: Draw<'_>) -> Vec<Effect> {
        match self.desk.picks.get(&test) {
            Some(&pick) => self.answer(test, pick, now, draw),
            None => {
                let sent = self.answered(test).is_some();
                let words =
                    if sent { "nothing new to send: choose another cup" } else { "choose a cup first" };
                self.note(now, format!("test {test}: {words}"));
                Vec::new()
            }
        }
    }

    /// Sends an answer, if it is one: first into what is kept and onto the disk, then on its way.
    pub(super) fn answer(&mut self, test: u32, pick: Code, now: OwnTime, draw: Draw<'_>) -> Vec<Effect> {
        let class_id = match self.check_answer(test, pick) {
            Ok(class) => class.id,
            Err(reason) => return self.not_taken(reason, now),
        };
        let revision = self.answered(test).map_or(0, |answer| answer.revision).saturating_add(1);
        let answer = Answer { id: draw(), test, pick, revision };
        self.kept.put_answer_in(class_id, answer);
        self.desk.picks.remove(&test);
        if self.desk.test == Some(test) {
            self.desk.test = None;
        }
        let linked = self.link == LinkState::Linked;
        let how = if linked { "is sent" } else { "is kept here and waits for the link" };
        self.note(now, format!("{} {how}", words::answer(&answer)));
        let mut effects = vec![Effect::Keep, Effect::Say(Happening::AnswerSent { answer, linked })];
        if linked {
            effects.push(Effect::Send(SeatMessage::Answer(answer)));
        }
        effects
    }

    fn check_answer(&self, test: u32, pick: Code) -> Result<&Class, String> {
        let class = self.class.as_ref().ok_or(words::NOT_SEATED)?;
        if class.phase == Phase::Closed {
            return Err("the class is closed; no answer is taken any more".into());
        }
        words::not_asked(class.role).map_or(Ok(()), Err)?;
        let card = class.tests.get(&test).ok_or_else(|| format!("test {test} is not open"))?;
        if !card.codes.contains(&pick) {
            return Err(format!("test {test}: {pick} is none of your cups: {}", words::cups(card)));
        }
        Ok(class)
    }

    /// The answers that wait, on their way again.
    pub(super) fn send_answers_again(&self) -> impl Iterator<Item = Effect> {
        self.answers_waiting().iter().map(|answer| Effect::Send(SeatMessage::Answer(*answer)))
    }

    /// The host has an answer on disk.
    pub(super) fn answer_accepted(&mut self, id: Uuid, now: OwnTime) -> Vec<Effect> {
        let Some(class) = &mut self.class else { return Vec::new() };
        let Some(answer) = self.kept.take_answer_out(class.id, id) else { return Vec::new() };
        class.take_answer(answer);
        self.note(now, format!("{} is kept", words::answer(&answer)));
        vec![Effect::Keep, Effect::Say(Happening::AnswerKept(answer))]
    }

    /// The host does not take an answer: the choice comes back, unless there is a newer one.
    pub(super) fn answer_declined(&mut self, id: Uuid, reason: String, now: OwnTime) -> Vec<Effect> {
        let Some(class) = &self.class else { return Vec::new() };
        let Some(answer) = self.kept.take_answer_out(class.id, id) else { return Vec::new() };
        self.desk.picks.entry(answer.test).or_insert(answer.pick);
        self.note(now, format!("{} was not taken: {reason}", words::answer(&answer)));
        vec![Effect::Keep, Effect::Say(Happening::NotTaken { id: Some(id), reason })]
    }
}
