//! Which sheet has the keys. It never changes under the fingers: a cup that was chosen or touched stays until the person
//! leaves it, and one that is not scored stays as long as its round is the newest. By itself a sheet gives way only after it
//! was sent, or to the next round, and neither before nobody was at it for five seconds.

use super::{App, Class, Cup, CupState, Effect, Happening, Key, Served};
use crate::host_clock::OwnTime;
use crate::words;
use protocol::{HostTime, Phase};

/// A sheet at which no key was pressed for so long may be exchanged for another, in microseconds of the seat's time.
pub const IDLE_US: i64 = 5_000_000;
/// After the sheet has changed by itself, what is written within this time was meant for what stood there before. Whoever
/// goes on writing is still at it: each such key counts anew. In microseconds of the seat's time.
const DEAF_US: i64 = 500_000;
/// The same after Enter, with the fingers on the keys: what follows it at once was still meant for the sheet that was sent.
pub(super) const DEAF_AFTER_ENTER_US: i64 = 1_200_000;

/// Once something written was left out, nothing is taken before nobody has written for so long: else the first figures of a
/// sheet would be left out, and the later ones would stand on the wrong lines. In microseconds of the seat's time.
pub(super) const LOOKED_US: i64 = 2_500_000;

/// A Tab pressed this soon after the sheet has changed by itself was meant for what the screen offered before. In
/// microseconds of the seat's time.
const MEANT_US: i64 = 2_000_000;
/// For so long whoever comes back to the screen is told that the sheet has changed, whatever else there is to say.
const TOLD_US: i64 = 10_000_000;

/// What the keys can be for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// The sheet of a cup.
    Cup(Cup),
    /// A difference test.
    Test(u32),
}

/// The cup in hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Hand {
    /// Which.
    pub cup: Cup,
    /// Whether the person chose it, or has touched its sheet.
    pub chosen: bool,
    /// When a key was last pressed at it, or else when it came.
    pub since: OwnTime,
    /// Whether it is a sent sheet that was opened and shut again: it stays for the rest of its round.
    pub shut_again: bool,
}

/// The sheet has changed by itself.
#[derive(Clone, Copy, Debug)]
pub struct Moved {
    at: OwnTime,
    /// What the screen offered then.
    offered: Option<Place>,
}

impl Hand {
    fn is_idle(&self, now: OwnTime) -> bool {
        !self.chosen && now.0 - self.since.0 >= IDLE_US
    }
}

impl App {
    /// The cup in hand: the sheet that is drawn, and that the next key is for.
    pub fn cup_in_hand(&self) -> Option<Cup> {
        self.desk.hand.map(|hand| hand.cup)
    }

    /// What is offered: every cup on the table and every test that is not sent, from the one in hand on and round again. The
    /// first is where Tab leads.
    pub fn offers(&self, now: OwnTime) -> Vec<Place> {
        let Some((class, at)) = self.class.as_ref().zip(self.host_now(now)) else { return Vec::new() };
        if matches!(class.phase, Phase::Lobby | Phase::Closed) {
            return Vec::new();
        }
        let here = self.place_in_hand();
        let mut places = self.places(class, at);
        if let Some(here) = places.iter().position(|place| Some(*place) == here) {
            places.rotate_left(here);
        }
        let open = |place: &Place| {
            let state = match place {
                Place::Cup(cup) if class.role.scores() => self.cup_state(*cup),
                Place::Cup(_) => return false,
                Place::Test(test) => self.test_state(*test),
            };
            matches!(state, CupState::Open | CupState::Draft)
        };
        places.into_iter().filter(|place| Some(*place) != here && open(place)).collect()
    }

    /// What is offered in words, as it stands beside the sheet: `268 is ready: Tab`.
    pub fn offer_words(&self, now: OwnTime) -> Option<String> {
        let offers = self.offers(now);
        let cups = offers.iter().filter(|place| matches!(place, Place::Cup(_))).count();
        let cup = match offers.first()? {
            Place::Cup(cup) => *cup,
            Place::Test(test) if cups == 0 => return Some(format!("test {test} is open: Tab")),
            Place::Test(test) => {
                return Some(format!("test {test} and {} are open: Tab", words::count(cups, "cup")));
            }
        };
        // A cup of another round than that of the sheet is called by its steep, too.
        let same = self.cup_in_hand().is_none_or(|hand| hand.steep == cup.steep);
        let called = if same { cup.code.to_string() } else { cup.short() };
        let begun = self.cup_state(cup) == CupState::Draft;
        Some(match cups - 1 {
            0 => format!("{called} is {}: Tab", if begun { "begun" } else { "ready" }),
            more => format!("{called} and {more} more are {}: Tab", if begun { "open" } else { "ready" }),
        })
    }

    /// All that Tab can lead to: the cups on the table and then the tests.
    fn places(&self, class: &Class, at: HostTime) -> Vec<Place> {
        let cups = class.on_the_table(at).into_iter().map(Place::Cup);
        cups.chain(class.tests.keys().map(|test| Place::Test(*test))).collect()
    }

    pub(super) fn place_in_hand(&self) -> Option<Place> {
        let test = self.test_in_hand().map(|card| Place::Test(card.test));
        test.or_else(|| self.cup_in_hand().map(Place::Cup))
    }

    /// The person takes up a cup.
    pub(super) fn take_up(&mut self, cup: Cup, now: OwnTime) {
        if self.cup_in_hand() != Some(cup) {
            self.lay_out(cup);
        }
        self.desk.hand = Some(Hand { cup, chosen: true, since: now, shut_again: false });
        (self.desk.test, self.desk.deaf_until, self.desk.moved) = (None, OwnTime::default(), None);
        (self.desk.left_out, self.desk.sent_at) = (None, None);
        self.desk.unread_until = OwnTime::default();
    }

    /// The sheet of another cup comes, or that of the same one anew: one that was begun goes on where it is empty.
    fn lay_out(&mut self, cup: Cup) {
        let draft = self.desk.drafts.get(&cup);
        let sheet = self.class.as_ref().map(|class| &class.sheet);
        let line = sheet.zip(draft).map_or(0, |(sheet, filled)| filled.first_empty_on(sheet));
        self.desk.go_to_line(line);
        self.desk.opened = None;
    }

    /// A key was pressed at the cup in hand, and with `touched` at its sheet.
    pub(super) fn at_hand(&mut self, touched: bool, now: OwnTime) {
        if let Some(hand) = &mut self.desk.hand {
            hand.since = now;
            hand.chosen |= touched;
            hand.shut_again &= !touched;
        }
    }

    /// The sheet in hand was sent as it stood, without a key: whoever is at it goes on, and otherwise it may give way.
    pub(super) fn let_idle(&mut self, cup: Cup, now: OwnTime) {
        if let Some(hand) = self.desk.hand.as_mut().filter(|hand| hand.cup == cup) {
            (hand.chosen, hand.since) = (false, now);
            self.desk.opened = Some(cup);
        }
    }

    /// The person has sent the sheet in hand: the next cup, or the same one until there is another. What has become of the
    /// sheet that was sent is told with the cup in hand from now on.
    pub(super) fn go_on_from(&mut self, cup: Cup, what: &str, now: OwnTime) {
        if self.cup_in_hand() != Some(cup) {
            return self.note(now, what);
        }
        let next = self.host_now(now).and_then(|at| self.next_cup(at)).unwrap_or(cup);
        self.pass_on_to(next, now);
        if next != cup {
            self.desk.deaf_until = OwnTime(now.0 + DEAF_AFTER_ENTER_US);
        }
        self.desk.sent_at = Some(now);
        let words = self.with_hand(cup, what).unwrap_or_else(|| what.into());
        self.note_of_hand(now, words);
    }

    /// What has become of a cup, and which one is in hand now if that is another.
    pub(super) fn with_hand(&self, cup: Cup, what: &str) -> Option<String> {
        match self.place_in_hand()? {
            Place::Cup(hand) if hand != cup => Some(format!("{what} · now {}", self.served(hand))),
            _ => None,
        }
    }

    /// Whether no sheet of the cup was sent.
    pub fn is_unsent(&self, cup: Cup) -> bool {
        self.said(cup).is_none()
    }

    /// The cup that comes next by itself: of those on the table, the first in the serving order that is not scored. What was
    /// missed in an earlier round comes only when it is chosen: whoever tastes would score this round into that one.
    pub fn next_cup(&self, at: HostTime) -> Option<Cup> {
        let class = self.class.as_ref().filter(|class| class.role.scores())?;
        class.on_the_table(at).into_iter().find(|cup| self.is_unsent(*cup))
    }

    /// That the sheet has changed by itself, or that keys were left out since, as long as that is news.
    pub(super) fn moved_words(&self, now: OwnTime) -> Option<String> {
        let fresh = |at: OwnTime| now.0 - at.0 < TOLD_US;
        let cup = self.cup_in_hand()?;
        if self.desk.left_out.is_some_and(fresh) {
            return Some(left_out(&sheet_of(self.served(cup)), self.desk.unread_until > now));
        }
        self.desk.moved.is_some_and(|moved| fresh(moved.at)).then(|| sheet_of(self.served(cup)))
    }

    /// What is written is taken again: no sentence says that it is left out.
    pub(super) fn takes_again(&mut self, cup: Cup, now: OwnTime) {
        if self.desk.left_out.take().is_some() {
            self.note_of_hand(now, format!("{} and takes what you type", sheet_of(self.served(cup))));
        }
    }

    /// The sheet goes to a cup that was not chosen.
    fn pass_on_to(&mut self, cup: Cup, now: OwnTime) {
        self.desk.hand = Some(Hand { cup, chosen: false, since: now, shut_again: false });
        self.desk.left_out = None;
        self.lay_out(cup);
    }

    /// A cup that was not there before. Whoever comes to a class in the middle of a round is not told of each.
    pub(super) fn ready(&self, cup: Cup) -> Option<Effect> {
        let scores = self.class.as_ref().is_some_and(|class| class.role.scores());
        (scores && self.cup_state(cup) == CupState::Open)
            .then_some(Effect::Say(Happening::Ready(self.served(cup))))
    }

    /// Whether another sheet or a test may take the keys by itself.
    pub(super) fn is_nobody_at_it(&self, now: OwnTime) -> bool {
        !self.is_at_something_else() && self.desk.hand.is_none_or(|hand| hand.is_idle(now))
    }

    fn is_at_something_else(&self) -> bool {
        self.help || self.reading || self.desk.going.is_some() || self.test_in_hand().is_some()
    }

    /// The keys go to a test by themselves.
    pub(super) fn turn_to_test(&mut self, test: u32, now: OwnTime) {
        self.desk.test = Some(test);
        self.desk.deaf_until = OwnTime(now.0 + DEAF_US);
    }

    /// Exchanges a sheet that nobody is at.
    pub(super) fn settle(&mut self, now: OwnTime) {
        self.shut_unchanged(now);
        self.listen_again(now);
        let Some((class, at)) = self.class.as_ref().zip(self.host_now(now)) else { return };
        if matches!(class.phase, Phase::Lobby | Phase::Closed) {
            return;
        }
        let table = class.on_the_table(at);
        let shows_something = || table.last().copied().filter(|_| class.role.scores());
        let next = self.next_cup(at);
        let next = if self.desk.hand.is_none() { next.or_else(shows_something) } else { next };
        if let Some(cup) = next.filter(|cup| self.desk.hand.is_none_or(|hand| self.gives_way(hand.cup, *cup)))
            && self.is_nobody_at_it(now)
        {
            let before = self.cup_in_hand();
            if before.is_some() {
                self.desk.moved = Some(Moved { at: now, offered: self.offers(now).first().copied() });
            }
            self.pass_on_to(cup, now);
            match before {
                Some(before) if before.steep == cup.steep => {
                    self.note_of_hand(now, sheet_of(self.served(cup)))
                }
                Some(_) if self.served(cup).steep != cup.steep => {
                    self.note_of_hand(now, sheet_of(self.served(cup)));
                }
                Some(_) => {
                    self.note_of_hand(now, format!("round {}: {}", cup.steep, sheet_of(self.served(cup))))
                }
                None => {}
            }
            self.desk.deaf_until = OwnTime(now.0 + DEAF_US);
        }
    }

    /// Whether this cup's sheet may be exchanged by itself for another one's. Whoever drinks from a cup that is not scored
    /// looks up to score it, and finds it there as long as its round is the newest.
    fn gives_way(&self, here: Cup, to: Cup) -> bool {
        let stays = self.is_unsent(here) || self.desk.hand.is_some_and(|hand| hand.shut_again);
        here != to && (!stays || to.steep > here.steep)
    }

    /// When the sheet in hand may give way to another that is ready, or shuts, if nobody is at it till then.
    pub(super) fn gives_way_at(&self, now: OwnTime) -> Option<OwnTime> {
        let moves = || {
            let hand = self.desk.hand.filter(|hand| !hand.chosen && !self.is_at_something_else())?;
            let next = self.next_cup(self.host_now(now)?)?;
            let at_work = !matches!(self.phase(), Phase::Lobby | Phase::Closed);
            (self.gives_way(hand.cup, next) && at_work).then_some(OwnTime(hand.since.0 + IDLE_US))
        };
        [moves(), self.shuts_at(), self.listens_at()].into_iter().flatten().min()
    }

    /// Whether a key is left out, because what it was meant for has just been exchanged for something else.
    pub(super) fn is_deaf(&mut self, key: &Key, now: OwnTime) -> bool {
        let (just_changed, unread) = (now < self.desk.deaf_until, now < self.desk.unread_until);
        if unread && !just_changed && matches!(key, Key::Up | Key::Down) {
            // Whoever presses it has looked.
            self.listen(now);
            return true;
        }
        let writes = matches!(key, Key::Char(_) | Key::Paste(_) | Key::Backspace | Key::Left | Key::Right);
        let deaf = just_changed || unread && (writes || *key == Key::Enter);
        if deaf {
            let what = match (self.test_in_hand(), self.cup_in_hand()) {
                _ if self.phase() == Phase::Closed => "the class has just been closed".to_string(),
                (Some(card), _) => format!("test {} has just come", card.test),
                (None, Some(cup)) => sheet_of(self.served(cup)),
                (None, None) => return false,
            };
            if just_changed {
                self.desk.deaf_until = self.desk.deaf_until.max(OwnTime(now.0 + DEAF_US));
            }
            if self.phase() != Phase::Closed && (writes || unread) {
                self.desk.unread_until = OwnTime(now.0 + LOOKED_US);
            }
            self.desk.left_out = Some(now);
            self.note_of_hand(now, left_out(&what, self.desk.unread_until > now));
        }
        deaf
    }

    /// What is written is taken again, and that is said.
    fn listen(&mut self, now: OwnTime) {
        self.desk.unread_until = OwnTime::default();
        match self.cup_in_hand().filter(|_| self.test_in_hand().is_none()) {
            Some(cup) => self.takes_again(cup, now),
            None => self.desk.left_out = None,
        }
    }

    /// Nobody has written for long enough.
    pub(super) fn listen_again(&mut self, now: OwnTime) {
        if self.listens_at().is_some_and(|at| at <= now) {
            self.listen(now);
        }
    }

    /// When what is written is taken again, where it is left out just now.
    pub(super) fn listens_at(&self) -> Option<OwnTime> {
        (self.desk.unread_until > OwnTime::default()).then_some(self.desk.unread_until)
    }

    /// The class is closed: what is typed just then was not meant for what stands there now.
    pub(super) fn turn_to_the_end(&mut self, now: OwnTime) {
        self.desk.going = None;
        self.desk.go_to_line(0);
        self.desk.deaf_until = OwnTime(now.0 + DEAF_US);
        self.desk.unread_until = OwnTime::default();
    }

    /// To what is offered, else to the next cup on the table or, after the last, the first test; and round again.
    pub(super) fn move_hand(&mut self, step: isize, now: OwnTime) {
        let Some((class, at)) = self.class.as_ref().zip(self.host_now(now)) else {
            return self.note(now, "the class has not begun");
        };
        let places = self.places(class, at);
        if places.is_empty() {
            return self.note(now, "no cup is ready yet");
        }
        let here = self.place_in_hand().and_then(|here| places.iter().position(|place| *place == here));
        let last = places.len() as isize;
        let beside = match here {
            Some(here) => (here as isize + step).rem_euclid(last),
            None if step > 0 => 0,
            None => last - 1,
        };
        let offered = self.offers(now).first().copied().filter(|_| step > 0);
        let moved = self.desk.moved.take().filter(|moved| step > 0 && now.0 - moved.at.0 < MEANT_US);
        if let Some((meant, cup)) = moved.map(|moved| moved.offered).zip(self.cup_in_hand())
            && self.test_in_hand().is_none()
        {
            let meant = meant.unwrap_or(Place::Cup(cup));
            if meant == Place::Cup(cup) {
                self.take_up(cup, now);
                return self.note_of_hand(now, format!("{} already", sheet_of(self.served(cup))));
            }
            return self.turn_to(meant, now);
        }
        // Pressed for what stood there before the sheet changed by itself, it may lead elsewhere than was meant.
        let (deaf_until, astray) = (self.desk.deaf_until, now < self.desk.deaf_until);
        self.desk.unread_until = OwnTime::default();
        self.turn_to(offered.unwrap_or(places[beside.unsigned_abs()]), now);
        if astray {
            self.desk.deaf_until = deaf_until.max(OwnTime(now.0 + DEAF_US));
        }
    }

    fn turn_to(&mut self, place: Place, now: OwnTime) {
        match place {
            Place::Cup(cup) => self.take_up(cup, now),
            Place::Test(test) => self.desk.test = Some(test),
        }
    }

    /// A key while a cup to go to is being typed.
    pub(super) fn go_by_code(&mut self, mut typed: String, key: &Key, now: OwnTime) {
        match key {
            Key::Esc | Key::GoTo => return,
            Key::Enter => match self.cup_called(&typed, now) {
                Ok(cup) => return self.take_up(cup, now),
                Err(reason) => self.note(now, reason),
            },
            Key::Backspace => drop(typed.pop()),
            Key::Char(c) if c.is_ascii_digit() || matches!(c, '/' | ' ') => typed.push(*c),
            _ => self.note(now, "a code and a steep, such as 417/2; Enter goes there, Esc stays"),
        }
        typed.truncate(12);
        self.desk.going = Some(typed);
    }

    fn cup_called(&self, typed: &str, now: OwnTime) -> Result<Cup, String> {
        let class = self.class.as_ref().ok_or(words::NOT_SEATED)?;
        let mut parts = typed.split(['/', ' ']).filter(|part| !part.is_empty());
        let code = parts.next().ok_or("type a code and a steep, such as 417/2")?.parse()?;
        let steep = parts.next().map(str::parse::<u32>).transpose();
        self.find_cup(class, code, steep.map_err(|_| "a steep is a number, such as 417/2")?, now)
    }
}

fn sheet_of(cup: Served) -> String {
    format!("the sheet is now {cup}")
}

/// With `waits` until nobody has written for a while.
fn left_out(what: &str, waits: bool) -> String {
    let how = if waits { ". Wait 3 s or press ↓, then type it" } else { "" };
    format!("left out: {what}{how}")
}
