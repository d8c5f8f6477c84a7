//! What a seat keeps on its machine: its places, the scores and answers that no host has acknowledged yet, and the
//! sheets begun and not sent.

use crate::app::desk::Cup;
use crate::app::filled::Filled;
use protocol::wire::{Heard, PROOFS};
use protocol::{Answer, JoinCode, Pin, Score, SeatId, Token};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// How many classes are remembered. One with a waiting score is never forgotten.
const CLASSES: usize = 50;
/// How many tokens of one class a seat was welcomed with are remembered.
const WELCOMED: usize = PROOFS - 1;
/// The form of the file.
pub const FORM: u32 = 2;
/// The form of the file in which a class had one token, which followed from the seat's secret and the class's id.
const ONE_TOKEN: u32 = 1;

/// What a seat keeps on its machine.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Kept {
    /// The form of the file, [`FORM`].
    pub form: u32,
    /// What this seat's tokens are made from; nobody else knows it.
    secret: Uuid,
    /// What lets it in to classes; the one for which a token was made last comes last.
    #[serde(default)]
    tokens: Vec<Tokens>,
    /// The one joined last comes last.
    classes: Vec<KeptClass>,
}

/// A seat's tokens of one class.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tokens {
    /// The class.
    pub class_id: Uuid,
    /// Those that it was welcomed with, the oldest first.
    welcomed: Vec<Token>,
    /// The one that was made last, as long as no welcome has come since. It may have been said to a host, and is never said again.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    made: Option<Token>,
}

impl Tokens {
    fn of(class_id: Uuid) -> Self {
        Self { class_id, welcomed: Vec::new(), made: None }
    }

    /// Those that may lead to the seat's place, in the order in which they are tried.
    pub fn known(&self) -> impl Iterator<Item = Token> {
        self.welcomed.iter().copied().chain(self.made)
    }

    /// The one that was made last, as long as no welcome has come since.
    pub fn made(&self) -> Option<Token> {
        self.made
    }

    /// A welcome has come: the last one may have led to it. Whether that is news.
    fn welcomed(&mut self) -> bool {
        let Some(token) = self.made.take() else { return false };
        if self.welcomed.len() == WELCOMED {
            // The first one stays: no host that only pretends to be the class can drive out the place that was taken first.
            self.welcomed.remove(1);
        }
        self.welcomed.push(token);
        true
    }
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
    /// The scores that the host has acknowledged, the latest of each cup: should it lose them all the same, they are sent again.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub acknowledged: Vec<Score>,
    /// The last entry of the host's ledger that the seat was told of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heard: Option<Heard>,
    /// The number of the last thing that the teacher said and the seat showed.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub said: u64,
    /// The host's address as it was typed last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub address: Option<String>,
    /// The join code that was said last, so that it need not be typed again.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub join_code: Option<JoinCode>,
    /// The pin by which the host was known, if it was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pin: Option<Pin>,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands it over like this")]
fn is_nothing(seq: &u64) -> bool {
    *seq == 0
}

/// The classes that were joined with a pin: none of them is met again without it, at whatever address.
#[derive(Clone, Debug, Default)]
pub struct Pinned(Vec<(Uuid, Option<JoinCode>, Pin)>);

impl Pinned {
    /// The pin of a class.
    pub fn of_class(&self, class_id: Uuid) -> Option<Pin> {
        self.0.iter().find(|(id, ..)| *id == class_id).map(|(.., pin)| *pin)
    }

    /// The pin of the class that was joined last by this code.
    pub fn of_code(&self, code: JoinCode) -> Option<Pin> {
        self.0.iter().rfind(|(_, known, _)| *known == Some(code)).map(|(.., pin)| *pin)
    }

    /// The class that was joined last by this pin.
    pub fn class_with(&self, pin: Pin) -> Option<Uuid> {
        self.0.iter().rfind(|(.., known)| *known == pin).map(|(id, ..)| *id)
    }
}

impl Kept {
    /// Nothing yet. `secret` is a fresh random id.
    pub fn new(secret: Uuid) -> Self {
        Self { form: FORM, secret, tokens: Vec::new(), classes: Vec::new() }
    }

    /// The same in the form of today; of a form that this program does not know, nothing.
    pub fn in_form(mut self) -> Option<Self> {
        match self.form {
            FORM => Some(self),
            ONE_TOKEN => {
                let token = |class_id: Uuid| Token(Uuid::new_v5(&self.secret, class_id.as_bytes()));
                let of = |id| Tokens { welcomed: vec![token(id)], ..Tokens::of(id) };
                self.tokens = self.classes.iter().map(|class| of(class.class_id)).collect();
                self.form = FORM;
                Some(self)
            }
            _ => None,
        }
    }

    /// The seat's tokens, class by class.
    pub fn tokens(&self) -> &[Tokens] {
        &self.tokens
    }

    /// Makes a new token for a class, in the place of one that has led to no welcome; `drawn` is a fresh id. It is no clue to the
    /// others (a name-based UUID, RFC 9562 §5.5, under the seat's secret).
    pub fn make_token(&mut self, class_id: Uuid, drawn: Uuid) {
        let place = self.tokens.iter().position(|tokens| tokens.class_id == class_id);
        let mut tokens = place.map_or_else(|| Tokens::of(class_id), |place| self.tokens.remove(place));
        tokens.made = Some(Token(Uuid::new_v5(&self.secret, drawn.as_bytes())));
        self.tokens.push(tokens);
        while self.tokens.len() > CLASSES {
            // Whoever names classes that there are not drives out no others, and the new one stays.
            let stays =
                |tokens: &Tokens| tokens.class_id == class_id || self.class(tokens.class_id).is_some();
            let Some(oldest) = self.tokens.iter().position(|tokens| !stays(tokens)) else { break };
            self.tokens.remove(oldest);
        }
    }

    /// Notes that a class has welcomed the seat; whether a token is kept for longer because of it.
    pub fn welcomed(&mut self, class_id: Uuid) -> bool {
        self.tokens.iter_mut().any(|tokens| tokens.class_id == class_id && tokens.welcomed())
    }

    /// The last entry of each class's ledger that the seat was told of.
    pub fn heard(&self) -> Vec<(Uuid, Heard)> {
        self.classes.iter().filter_map(|class| Some((class.class_id, class.heard.clone()?))).collect()
    }

    /// What is kept of one class.
    pub fn class(&self, class_id: Uuid) -> Option<&KeptClass> {
        self.classes.iter().find(|c| c.class_id == class_id)
    }

    /// Notes a place at a class; whatever else is kept of that class stays.
    pub fn seated(&mut self, class_id: Uuid, seat: SeatId, name: &str) {
        self.welcomed(class_id);
        let place = self.classes.iter().position(|c| c.class_id == class_id);
        let known = place.map(|i| self.classes.remove(i));
        let fresh = || KeptClass {
            class_id,
            seat,
            name: String::new(),
            outbox: Vec::new(),
            answers: Vec::new(),
            drafts: Vec::new(),
            acknowledged: Vec::new(),
            heard: None,
            said: 0,
            address: None,
            join_code: None,
            pin: None,
        };
        self.classes.push(KeptClass { seat, name: name.into(), ..known.unwrap_or_else(fresh) });
        while self.classes.len() > CLASSES {
            let forgettable = |c: &KeptClass| c.outbox.is_empty() && c.answers.is_empty();
            let Some(oldest) = self.classes.iter().position(forgettable) else { break };
            let gone = self.classes.remove(oldest);
            self.tokens.retain(|tokens| tokens.class_id != gone.class_id);
        }
    }

    /// Notes by which address, join code and pin the place was come by.
    pub fn came_by(&mut self, class_id: Uuid, address: &str, join_code: Option<JoinCode>, pin: Option<Pin>) {
        if let Some(class) = self.classes.iter_mut().find(|c| c.class_id == class_id) {
            // A code is known only where it was typed, and a class that once had a pin is not met without one again.
            let known = class.join_code.filter(|_| class.address.as_deref() == Some(address));
            class.address = Some(address.to_string());
            class.join_code = join_code.or(known);
            class.pin = pin.or(class.pin);
        }
    }

    /// What is known of the class that was joined last at an address.
    pub fn at(&self, address: &str) -> Option<&KeptClass> {
        self.classes.iter().rfind(|class| class.address.as_deref() == Some(address))
    }

    /// The classes that were joined with a pin.
    pub fn pinned(&self) -> Pinned {
        let pinned = |class: &KeptClass| Some((class.class_id, class.join_code, class.pin?));
        Pinned(self.classes.iter().filter_map(pinned).collect())
    }

    /// Notes the drafts of a class; whether they were others before.
    pub fn draft(&mut self, class_id: Uuid, drafts: Vec<(Cup, Filled)>) -> bool {
        let class = self.classes.iter_mut().find(|c| c.class_id == class_id);
        class.is_some_and(|class| std::mem::replace(&mut class.drafts, drafts) != class.drafts)
    }

    /// Notes that something the teacher said is shown; whether it had not been before.
    pub fn show(&mut self, class_id: Uuid, seq: u64) -> bool {
        let class = self.classes.iter_mut().find(|class| class.class_id == class_id && class.said < seq);
        class.map(|class| class.said = seq).is_some()
    }

    /// Puts a score into the outbox.
    pub fn put_in(&mut self, class_id: Uuid, score: Score) {
        if let Some(class) = self.classes.iter_mut().find(|c| c.class_id == class_id) {
            class.outbox.push(score);
        }
    }

    /// Notes what was heard of the host's ledger, unless more of it was heard before.
    pub fn hear(&mut self, class_id: Uuid, heard: Heard) {
        if let Some(class) = self.classes.iter_mut().find(|c| c.class_id == class_id)
            && !heard.link.is_empty()
            && class.heard.as_ref().is_none_or(|known| known.seq <= heard.seq)
        {
            class.heard = Some(heard);
        }
    }

    /// Notes a score that the host has acknowledged, in the place of an earlier one of that cup.
    pub fn acknowledge(&mut self, class_id: Uuid, score: Score) {
        if let Some(class) = self.classes.iter_mut().find(|c| c.class_id == class_id) {
            let cup = Cup::of(&score);
            if class.acknowledged.iter().any(|known| Cup::of(known) == cup && known.revision > score.revision)
            {
                return;
            }
            class.acknowledged.retain(|known| Cup::of(known) != cup);
            class.acknowledged.push(score);
        }
    }

    /// Notes which of the seat's scores the host counts: these and no others.
    pub fn have(&mut self, class_id: Uuid, scores: &[Score]) {
        if let Some(class) = self.classes.iter_mut().find(|c| c.class_id == class_id) {
            class.acknowledged = scores.to_vec();
        }
    }

    /// Notes that nothing acknowledged of these cups is to be sent again: the teacher has voided it.
    pub fn forget(&mut self, class_id: Uuid, cups: &[Cup]) {
        if let Some(class) = self.classes.iter_mut().find(|c| c.class_id == class_id) {
            class.acknowledged.retain(|score| !cups.contains(&Cup::of(score)));
        }
    }

    /// The host has told all that it has: what it had acknowledged and does not have waits to be sent again, and so does what
    /// was voided meanwhile, which it knows by its id. Nothing more is known of its ledger than this.
    ///
    /// How many scores it has lost, if its ledger ends before what was heard of it.
    pub fn compare(&mut self, class_id: Uuid, there: &[Score], heard: Heard) -> usize {
        let Some(class) = self.classes.iter_mut().find(|c| c.class_id == class_id) else { return 0 };
        let is_there = |score: &Score| {
            let same = |other: &&Score| Cup::of(other) == Cup::of(score);
            there.iter().filter(same).any(|other| other.revision >= score.revision)
        };
        let (_, lost): (Vec<Score>, Vec<Score>) = class.acknowledged.drain(..).partition(is_there);
        class.acknowledged = there.to_vec();
        let lost: Vec<Score> = lost
            .into_iter()
            .filter(|score| class.outbox.iter().all(|waiting| waiting.id != score.id))
            .collect();
        let ends_before = class.heard.as_ref().is_some_and(|known| known.seq > heard.seq);
        let count = if ends_before { lost.len() } else { 0 };
        // They are older than what waits already.
        class.outbox.splice(0..0, lost);
        // In a ledger that ends before it, other things may have been said under these numbers.
        class.said = class.said.min(heard.seq);
        class.heard = Some(heard).filter(|heard| !heard.link.is_empty());
        count
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
    fn a_class_is_known_by_its_address_and_a_code_only_where_it_was_typed() {
        let mut kept = filled();
        let [one, two] = ["KX7M-QR4T", "9999-2222"].map(|code| code.parse::<JoinCode>().unwrap());
        let (monday, friday) = (Uuid::from_u128(9), Uuid::from_u128(10));
        let at = |kept: &Kept, address| kept.at(address).map(|class| (class.class_id, class.join_code));
        assert_eq!(at(&kept, "tea:4177"), None);
        kept.came_by(monday, "tea:4177", Some(one), None);
        kept.seated(friday, SeatId(Uuid::from_u128(2)), "Ann");
        kept.came_by(friday, "tea:5000", Some(two), None);
        assert_eq!(at(&kept, "tea:4177"), Some((monday, Some(one))));
        assert_eq!(at(&kept, "tea:5000"), Some((friday, Some(two))));
        assert_eq!(at(&kept, "elsewhere:4177"), None);
        kept.came_by(friday, "tea:5000", None, None);
        assert_eq!(at(&kept, "tea:5000"), Some((friday, Some(two))), "who needs no code forgets none");
        kept.came_by(friday, "tea:4177", None, None);
        assert_eq!(at(&kept, "tea:4177"), Some((friday, None)), "it was typed for another address");
        let again: Kept = serde_json::from_str(&serde_json::to_string(&kept).unwrap()).unwrap();
        assert_eq!(again, kept);
    }

    #[test]
    fn a_class_keeps_its_pin_at_every_address_until_another_one_is_pasted() {
        let mut kept = filled();
        let code: JoinCode = "KX7M-QR4T".parse().unwrap();
        let [pin, other] = [&b"abc"[..], b"def"].map(Pin::of);
        let class_id = Uuid::from_u128(9);
        assert_eq!(kept.pinned().of_class(class_id), None);
        kept.came_by(class_id, "tea:4177", Some(code), Some(pin));
        kept.came_by(class_id, "tea:4177", None, None);
        let known = |kept: &Kept| {
            let pinned = kept.pinned();
            (pinned.of_class(class_id), pinned.of_code(code), pinned.class_with(pin))
        };
        assert_eq!(known(&kept), (Some(pin), Some(pin), Some(class_id)));
        kept.came_by(class_id, "elsewhere:4177", Some(code), None);
        assert_eq!(known(&kept), (Some(pin), Some(pin), Some(class_id)));
        kept.came_by(class_id, "tea:4177", Some(code), Some(other));
        assert_eq!(known(&kept), (Some(other), Some(other), None));
    }

    fn known(kept: &Kept, class_id: u128) -> Vec<Token> {
        let of = kept.tokens().iter().filter(|tokens| tokens.class_id == Uuid::from_u128(class_id));
        of.flat_map(Tokens::known).collect()
    }

    /// Makes a token for class 9, and is welcomed with it or not.
    fn makes(kept: &mut Kept, drawn: u128, welcomed: bool) -> Token {
        let class_id = Uuid::from_u128(9);
        kept.make_token(class_id, Uuid::from_u128(drawn));
        assert_eq!(kept.tokens().last().unwrap().made(), known(kept, 9).pop());
        assert!(!welcomed || kept.welcomed(class_id));
        assert!(!welcomed || !kept.welcomed(class_id), "it is no news any more");
        known(kept, 9).pop().unwrap()
    }

    #[test]
    fn what_was_welcomed_is_tried_first_and_what_led_to_nothing_makes_room_for_the_next() {
        let mut kept = Kept::new(SECRET);
        let first = makes(&mut kept, 1, true);
        let lost = makes(&mut kept, 2, false);
        assert_eq!(known(&kept, 9), [first, lost]);
        let second = makes(&mut kept, 3, true);
        assert_eq!(known(&kept, 9), [first, second]);
        assert_eq!(known(&kept, 10), []);
    }

    #[test]
    fn no_number_of_strangers_who_welcome_a_seat_drives_out_its_first_token() {
        let mut kept = Kept::new(SECRET);
        let first = makes(&mut kept, 1, true);
        for n in 2..40 {
            makes(&mut kept, n, true);
            let made = makes(&mut kept, 100 + n, false);
            assert!(known(&kept, 9).len() <= PROOFS);
            assert_eq!((known(&kept, 9)[0], known(&kept, 9).pop()), (first, Some(made)));
        }
    }

    #[test]
    fn classes_that_only_ask_for_a_token_drive_out_none_where_the_seat_has_a_place() {
        let mut kept = filled();
        let mine = makes(&mut kept, 1, true);
        for n in 100..100 + 2 * CLASSES as u128 {
            kept.make_token(Uuid::from_u128(n), Uuid::from_u128(n));
        }
        assert_eq!((kept.tokens().len(), known(&kept, 9)), (CLASSES, vec![mine]));
    }

    #[test]
    fn a_class_that_is_forgotten_takes_its_tokens_with_it() {
        let mut kept = Kept::new(SECRET);
        for n in 0..2 * CLASSES as u128 {
            kept.make_token(Uuid::from_u128(n), Uuid::from_u128(n));
            assert_eq!(known(&kept, n).len(), 1, "there is one to say, however many classes are kept");
            kept.seated(Uuid::from_u128(n), SeatId(Uuid::from_u128(n)), "Ann");
        }
        assert_eq!((kept.tokens().len(), kept.classes.len()), (CLASSES, CLASSES));
        assert_eq!((known(&kept, 0).len(), known(&kept, 99).len()), (0, 1));
    }

    /// The first form of the file, and the token of its class by RFC 9562 §5.5, computed in Python.
    #[test]
    fn a_file_of_the_first_form_gives_each_of_its_classes_the_token_that_it_had() {
        let first = r#"{"form":1,"secret":"00000000-0000-0000-0000-00000000004d","classes":[{"class_id":
            "00000000-0000-0000-0000-000000000009","seat":"00000000-0000-0000-0000-000000000001","name":"Ann","outbox":[]}]}"#;
        let kept = serde_json::from_str::<Kept>(first).unwrap().in_form().unwrap();
        let token = Token(Uuid::parse_str("72db3342-afd6-5c37-b40a-dd7019870f3f").unwrap());
        assert_eq!((kept.form, known(&kept, 9), kept.tokens()[0].made()), (FORM, vec![token], None));
        let later = first.replace(r#""form":1"#, r#""form":9"#);
        assert_eq!(serde_json::from_str::<Kept>(&later).unwrap().in_form(), None);
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
