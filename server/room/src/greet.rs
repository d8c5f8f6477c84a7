//! What a seat gets when it sits down, and when it comes back.

use super::{Room, Rounds, Seat};
use class::Pourers;
use plan::kettles::{before, before_line};
use plan::orders;
use protocol::wire::{Back, Welcome};
use protocol::{Code, Phase, SeatId, TestCard, Timetable};

/// What a seat is told of the timetable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sees {
    /// All of it.
    All,
    /// All but what is done at kettles that another seat gets ready for everybody.
    NoKettles,
    /// What those need who only taste a blind class.
    Tasting,
}

impl Sees {
    /// That part of a timetable.
    pub fn of(self, timetable: &Timetable) -> Timetable {
        match self {
            Sees::All => timetable.clone(),
            Sees::NoKettles => timetable.without_kettles(),
            Sees::Tasting => timetable.for_tasters(),
        }
    }
}

impl Room {
    /// Everything a seat needs, at a host that runs at `pace`.
    pub fn welcome(&self, seat: &Seat, rounds: &Rounds, pace: f64) -> Welcome {
        Welcome {
            class_id: self.class_id,
            title: self.class.title.clone(),
            seat: seat.id,
            name: seat.name.clone(),
            seq: self.seq,
            // The room knows no chain: the host puts it in.
            link: String::new(),
            pace,
            clock: self.anchor.map(|a| a.clock),
            phase: self.phase,
            sheet: self.class.sheet.clone(),
            teas: self.class.cards(|code| self.revealed.contains_key(&code)),
            pourers: match self.class.pourers {
                Pourers::EachSeat => None,
                Pourers::Table(hands) => Some(hands),
            },
            hands: self.hands_of(seat),
            role: seat.role,
            owes_from_us: self.owes_from(seat).unwrap_or(seat.asked_since),
            order: self.order_of(seat.id),
            kettles: match self.hands_of(seat) {
                Some(_) => self.class.kettle_names(),
                None => Vec::new(),
            },
            before_start: self.hands_of(seat).and_then(|_| self.before_start(rounds)),
            last_call_us: self.last_call,
            timetable: self.timetable_for(seat),
            scores: self.scores.of_seat(seat.id).map(|kept| kept.score.clone()).collect(),
            tests: self.test_cards(seat.id, 0),
            answers: self.answers.of_seat(seat.id).map(|kept| kept.answer).collect(),
            voided: self.voided_for(seat),
            reopened: self.open_sheets(seat),
            said: self.said_to(seat, 0),
        }
    }

    /// What is to be done at the kettles before the class begins; `None` once it has.
    pub fn before_start(&self, rounds: &Rounds) -> Option<String> {
        let rounds = rounds.as_ref().ok().filter(|_| self.phase == Phase::Lobby)?;
        before_line(&before(&self.class, rounds)).map(|line| format!("before you start: {line}"))
    }

    /// In which order a seat tastes the cups of a round: that of the plan and of its printed forms. It follows from the ledger:
    /// from the seed of the class and the seat's place among those who came to score.
    pub fn order_of(&self, seat: SeatId) -> Vec<Code> {
        match self.place_of(seat) {
            Some(place) => self.order_at(place),
            None => self.class.coded().map(|(code, _)| code).collect(),
        }
    }

    /// The same by the place, from 0, of a seat among those that come to score, whether it is taken yet or not.
    pub fn order_at(&self, place: usize) -> Vec<Code> {
        let codes: Vec<Code> = self.class.coded().map(|(code, _)| code).collect();
        let row = orders::order(codes.len(), place, self.seed);
        row.into_iter().filter_map(|tea| codes.get(tea).copied()).collect()
    }

    /// What a seat missed that has everything up to event `since`.
    pub fn missed(&self, seat: &Seat, since: u64, pace: f64) -> Back {
        let new_cards =
            |card: &protocol::TeaCard| self.revealed.get(&card.code).is_some_and(|&seq| seq > since);
        let cards = self.class.cards(|code| self.revealed.contains_key(&code)).into_iter();
        let scores = self.scores.of_seat(seat.id).filter(|kept| kept.seq > since);
        let answers = self.answers.of_seat(seat.id).filter(|kept| kept.seq > since);
        Back {
            seq: self.seq,
            link: String::new(),
            pace,
            clock: self.anchor.map(|a| a.clock),
            phase: self.phase,
            last_call_us: self.last_call,
            timetable: (self.timetable_seq > since).then(|| self.timetable_for(seat)),
            teas: cards.filter(new_cards).collect(),
            scores: scores.map(|kept| kept.score.clone()).collect(),
            tests: self.test_cards(seat.id, since),
            answers: answers.map(|kept| kept.answer).collect(),
            owes_from_us: self.owes_from(seat).filter(|_| seat.owes_since_seq > since),
            reopened: (seat.owes_since_seq > since).then(|| self.open_sheets(seat)),
            said: self.said_to(seat, since),
        }
    }

    /// What a seat is asked in the tests opened after event `since`.
    fn test_cards(&self, seat: SeatId, since: u64) -> Vec<TestCard> {
        let opened = self.opened.iter().filter(|&(_, &seq)| seq > since);
        opened.filter_map(|(&number, _)| self.test_card(number, seat)).collect()
    }

    /// What a seat is asked in a test; nothing for one that has not come to score.
    pub fn test_card(&self, number: u32, seat: SeatId) -> Option<TestCard> {
        let place = self.place_of(seat).filter(|_| self.seat_of(seat).is_some_and(|s| s.role.scores()))?;
        self.class.test(number)?.card(number, place)
    }

    /// What a seat is told of the timetable: how hot and how long is nothing for one that has no hands in a blind class, and
    /// of seats that draw from the same kettles only one fills and sets them.
    pub fn sees(&self, seat: &Seat) -> Sees {
        if self.class.blind && self.hands_of(seat).is_none() {
            Sees::Tasting
        } else if self.share_kettles() && self.kettle_keeper().is_some_and(|keeper| keeper.id != seat.id) {
            Sees::NoKettles
        } else {
            Sees::All
        }
    }

    /// Whether each seat brews with water from the same kettles.
    pub fn share_kettles(&self) -> bool {
        self.class.pourers == Pourers::EachSeat && self.class.setting.shared_kettles
    }

    /// Who gets the kettles ready that all seats draw from: the first that sat down to brew and was not released.
    fn kettle_keeper(&self) -> Option<&Seat> {
        let here = |seat: &&Seat| self.is_here(seat) && !seat.released && self.hands_of(seat).is_some();
        self.seats.iter().find(here)
    }

    fn timetable_for(&self, seat: &Seat) -> Timetable {
        self.sees(seat).of(&self.timetable)
    }
}
