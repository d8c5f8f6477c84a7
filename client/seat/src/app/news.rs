//! What the link's news change.

use super::class::by_cup;
use super::said::Sayings;
use super::{App, Class, Cup, Desk, Draw, Effect, End, Filled, Happening, LinkEvent, LinkState};
use crate::host_clock::{Moved, OwnTime, Why};
use crate::words;
use protocol::wire::{Back, Heard, HostMessage, RefusalCode, SeatMessage, Welcome};
use protocol::{Phase, TeaCard, Timetable};
use uuid::Uuid;

impl App {
    pub(super) fn hear(&mut self, news: LinkEvent, now: OwnTime, draw: Draw<'_>) -> Vec<Effect> {
        match news {
            LinkEvent::Dialling(attempt) => {
                // Who waits to be let in is still at the door.
                if self.link != LinkState::NotAdmitted {
                    self.link = LinkState::Dialling(attempt);
                }
                self.dialled = self.dialled.saturating_add(1);
                Vec::new()
            }
            LinkEvent::CodeAsked { reason } => self.ask_for_code(reason),
            LinkEvent::TokenWanted(class_id) => {
                self.kept.make_token(class_id, draw());
                vec![Effect::Keep]
            }
            LinkEvent::Exchange { exchange, slept_us } => {
                let slept = self.slept(slept_us, now);
                let moved = self.clock.add(exchange, slept_us).or_else(|| self.went_back(now)).map(|moved| {
                    self.note(now, words::clock_set(moved));
                    Effect::Say(Happening::ClockSet(moved))
                });
                slept.into_iter().chain(moved).collect()
            }
            LinkEvent::NotAdmitted { reason } => self.not_admitted(reason, now),
            LinkEvent::Lost { reason, again_at } => self.lost(reason, again_at, now),
            LinkEvent::NotTheHost { reason } => {
                let closed = self.phase() == Phase::Closed;
                vec![Effect::Quit(if closed { End::Closed } else { End::NotTheHost(reason) })]
            }
            LinkEvent::Refused { code, reason } => {
                // A closed class has nothing more to refuse; whatever came last, it ended well.
                let closed = self.phase() == Phase::Closed;
                let end = if closed { End::Closed } else { End::Refused(reason.clone()) };
                vec![Effect::Say(Happening::Refused { code, reason }), Effect::Quit(end)]
            }
            LinkEvent::Host(message) => self.hear_host(message, now),
        }
    }

    /// The machine has slept, this many microseconds in all; said once for each sleep.
    pub(super) fn slept(&mut self, slept_us: i64, now: OwnTime) -> Option<Effect> {
        let for_s = (slept_us - self.clock.slept_us()).max(0) / 1_000_000;
        self.clock.slept(slept_us).then(|| {
            self.note(now, words::slept(for_s));
            Effect::Say(Happening::Slept { for_s })
        })
    }

    /// By how much host time goes back on the screen, when that is too much for it to stand still instead.
    fn went_back(&self, now: OwnTime) -> Option<Moved> {
        let by_us = self.clock.in_room_us(self.host_now(now)? - self.shown?);
        Some(Moved { why: Why::Better, by_us, bound_us: self.bound_us(now)? }).filter(|_| by_us < 0)
    }

    fn lost(&mut self, reason: String, again_at: OwnTime, now: OwnTime) -> Vec<Effect> {
        // Before the first link the reason may change from one attempt to the next, and what to do does not.
        let other = |known: &String| *known != reason && self.class.is_some();
        let news = self.unlinked.as_ref().is_none_or(|(_, known)| other(known));
        let since = self.unlinked.as_ref().map_or(now, |(since, _)| *since);
        self.link = LinkState::Waiting(again_at);
        self.unlinked = Some((since, reason.clone()));
        let again_in_s = again_at.seconds_until(now);
        let seated = self.class.is_some();
        if news { vec![Effect::Say(Happening::NoLink { reason, again_in_s, seated })] } else { Vec::new() }
    }

    /// The person waits at the door; said when it is news.
    fn not_admitted(&mut self, reason: String, now: OwnTime) -> Vec<Effect> {
        let before = std::mem::replace(&mut self.link, LinkState::NotAdmitted);
        let known = self.unlinked.replace((now, reason.clone())).map(|(_, reason)| reason);
        if before == LinkState::NotAdmitted && known.as_ref() == Some(&reason) {
            return Vec::new();
        }
        vec![Effect::Say(Happening::AtDoor { reason })]
    }

    fn hear_host(&mut self, message: HostMessage, now: OwnTime) -> Vec<Effect> {
        match message {
            HostMessage::Welcome(welcome) => self.welcome(&welcome, now),
            HostMessage::Back(back) => self.back(*back, now),
            HostMessage::Course { seq, phase, timetable } => self.course(seq, phase, timetable, now),
            HostMessage::Accepted { seq, id, link } => self.accepted(Heard { seq, link }, id, now),
            HostMessage::Declined { id, code, reason } => self.declined(id, code, reason, now),
            HostMessage::Revealed { seq, teas } => self.revealed(seq, teas),
            HostMessage::Test { seq, card } => {
                self.heard(seq);
                self.open_tests(vec![card], now)
            }
            HostMessage::Notice { words } => {
                self.note(now, words.clone());
                vec![Effect::Say(Happening::Warning(words))]
            }
            HostMessage::Cups { seq, voided, scores } => self.cups(seq, &voided, &scores, now),
            HostMessage::Reopened { seq, reopened } => self.hear_reopened(seq, &reopened, now),
            HostMessage::Said(saying) => self.hear_said(vec![saying], now),
            HostMessage::LastCall { seq, until } => self.last_call(seq, until, now),
            HostMessage::Here { names, seats } => self.here(names, seats),
            // The link itself deals with these; a message of a later protocol is not for this seat.
            HostMessage::Greeting { .. }
            | HostMessage::Class { .. }
            | HostMessage::Pong { .. }
            | HostMessage::Refusal { .. }
            | HostMessage::Led { .. }
            | HostMessage::Line { .. }
            | HostMessage::Unknown => Vec::new(),
        }
    }

    fn welcome(&mut self, welcome: &Welcome, now: OwnTime) -> Vec<Effect> {
        let (class_id, title) = (welcome.class_id, welcome.title.clone());
        let before = self.class.as_ref().filter(|c| c.id == class_id).map(|c| c.phase);
        let left_open = self.class.as_ref().filter(|c| c.id != class_id && c.phase != Phase::Closed);
        let left_open =
            left_open.and_then(|class| self.kept.class(class.id)).map(|class| class.acknowledged.len());
        (self.link, self.unlinked, self.dialled) = (LinkState::Linked, None, 0);
        self.name = welcome.name.clone();
        self.clock.set_pace(welcome.pace);
        self.clock.joined(welcome.clock);
        self.keep_drafts();
        let void: Vec<Cup> = by_cup(&welcome.voided).into_keys().collect();
        self.kept.forget(class_id, &void);
        let known =
            self.class.as_ref().filter(|class| class.id == class_id).map(|class| class.voided.clone());
        let was_open = self.class.as_ref().filter(|class| class.id == class_id);
        let was_open = was_open.map(|class| class.reopened.clone()).unwrap_or_default();
        match &mut self.class {
            Some(class) if class.id == class_id => class.again(welcome, self.clock.host_time(now)),
            other => {
                // Another class counts time from another epoch, and its cups are other cups.
                if other.is_some() {
                    self.clock.reset();
                    self.shown = None;
                    self.sayings = Sayings::default();
                }
                *other = Some(Class::new(welcome));
                self.find_drafts(class_id, now);
            }
        }
        self.kept.seated(class_id, welcome.seat, &welcome.name);
        self.kept.came_by(class_id, &self.address, self.join_code, self.pin);
        let heard = Heard { seq: welcome.seq, link: welcome.link.clone() };
        let sent_again = self.kept.compare(class_id, &welcome.scores, heard);
        let place = words::place(&welcome.teas, welcome.pourers, welcome.hands, welcome.role);
        let (name, before_start) = (welcome.name.clone(), welcome.before_start.clone());
        let seated = Happening::Seated { name, title, seat: welcome.seat, place, before_start };
        let mut effects = vec![Effect::Keep];
        if let Some(phase) = before {
            effects.push(Effect::Say(Happening::LinkBack));
            if phase != welcome.phase {
                effects.push(Effect::Say(Happening::Phase(welcome.phase)));
            }
        } else {
            effects.push(Effect::Say(seated));
            if welcome.phase != Phase::Lobby {
                effects.push(Effect::Say(Happening::Phase(welcome.phase)));
            }
        }
        if before != Some(welcome.phase) {
            effects.extend(self.say_not_sent());
        }
        if sent_again > 0 {
            let words = words::lost_there(sent_again);
            self.note(now, words.clone());
            effects.push(Effect::Say(Happening::Warning(words)));
        }
        if let Some(scores) = left_open.filter(|scores| *scores > 0) {
            let words = words::another_class(scores);
            self.note(now, words.clone());
            effects.push(Effect::Say(Happening::Warning(words)));
        }
        effects.extend(self.say_last_call(now));
        effects.extend(self.open_tests(welcome.tests.clone(), now));
        if let (Some(known), Some(class)) = (known, &mut self.class) {
            class.voided = known;
            effects.extend(self.say_void(&welcome.voided, now));
        }
        effects.extend(self.say_reopened(&was_open, &welcome.reopened, now));
        effects.extend(self.hear_all_said(welcome.said.clone(), now));
        effects.extend(self.send_again());
        effects
    }

    /// Who has come; said when it is somebody else than before.
    fn here(&mut self, names: Vec<String>, seats: u32) -> Vec<Effect> {
        let Some(class) = &mut self.class else { return Vec::new() };
        let news = class.here.replace((names.clone(), seats)) != class.here;
        if news { vec![Effect::Say(Happening::Here { names, seats })] } else { Vec::new() }
    }

    /// What waits, on its way again.
    fn send_again(&self) -> impl Iterator<Item = Effect> {
        let scores = self.outbox().iter().cloned();
        scores.map(|score| Effect::Send(SeatMessage::Score(score))).chain(self.send_answers_again())
    }

    /// The link is back, and the host has told what was missed.
    fn back(&mut self, back: Back, now: OwnTime) -> Vec<Effect> {
        let Some(class) = &mut self.class else { return Vec::new() };
        (self.link, self.unlinked, self.dialled) = (LinkState::Linked, None, 0);
        self.clock.set_pace(back.pace);
        self.clock.joined(back.clock);
        class.last_call = back.last_call_us;
        class.owes_from = back.owes_from_us.unwrap_or(class.owes_from);
        for score in back.scores {
            self.kept.acknowledge(class.id, score.clone());
            class.take(score);
        }
        self.kept.hear(class.id, Heard { seq: back.seq, link: back.link });
        let keeps = self.kept.welcomed(class.id).then_some(Effect::Keep);
        back.answers.into_iter().for_each(|answer| class.take_answer(answer));
        let timetable = back.timetable.unwrap_or_else(|| class.timetable.clone());
        let (seq, phase, teas) = (back.seq, back.phase, back.teas);
        let mut effects: Vec<Effect> = keeps.into_iter().chain([Effect::Say(Happening::LinkBack)]).collect();
        effects.extend(self.course(seq, phase, timetable, now));
        effects.extend(self.say_last_call(now));
        if !teas.is_empty() {
            effects.extend(self.revealed(seq, teas));
        }
        effects.extend(self.open_tests(back.tests, now));
        if let Some(reopened) = &back.reopened {
            effects.extend(self.hear_reopened(seq, reopened, now));
        }
        effects.extend(self.hear_said(back.said, now));
        effects.extend(self.send_again());
        effects
    }

    /// A clean desk, but for the sheets of this class that were begun in an earlier run.
    fn find_drafts(&mut self, class_id: Uuid, now: OwnTime) {
        let drafts = self.kept.class(class_id).map(|c| c.drafts.clone()).unwrap_or_default();
        self.desk = Desk { drafts: drafts.into_iter().collect(), ..Desk::default() };
        if !self.desk.drafts.is_empty() {
            let cups: Vec<_> = self.desk.drafts.keys().map(|cup| self.served(*cup).to_string()).collect();
            self.note(now, format!("begun and not sent: {}", cups.join(", ")));
        }
    }

    /// The course of the class from event `seq` on. One that is older than what the seat has changes nothing, so that no
    /// screen goes back.
    fn course(&mut self, seq: u64, phase: Phase, timetable: Timetable, now: OwnTime) -> Vec<Effect> {
        let host_now = self.host_now(now);
        let Some(class) = self.class.as_mut().filter(|class| class.seq <= seq) else { return Vec::new() };
        class.seq = seq;
        class.adopt(timetable, host_now);
        let changed = class.phase != phase;
        class.phase = phase;
        if changed && phase == Phase::Closed {
            class.closed_at = host_now;
            self.turn_to_the_end(now);
        }
        if !changed {
            return Vec::new();
        }
        std::iter::once(Effect::Say(Happening::Phase(phase))).chain(self.say_not_sent()).collect()
    }

    fn accepted(&mut self, heard: Heard, id: Uuid, now: OwnTime) -> Vec<Effect> {
        self.heard(heard.seq);
        let Some(class) = &mut self.class else { return Vec::new() };
        self.kept.hear(class.id, heard);
        // Nothing to do for one that was acknowledged before.
        let Some(score) = self.kept.take_out(class.id, id) else { return self.answer_accepted(id, now) };
        let content = words::score_content(&score, &class.sheet);
        let blank = match words::blanks(&score, &class.sheet) {
            0 => String::new(),
            blank => format!(" · {} blank", words::count(blank, "line")),
        };
        self.kept.acknowledge(class.id, score.clone());
        class.take(score.clone());
        let cup = Cup::of(&score);
        let served = self.served(cup);
        let kept = format!("{served} is kept");
        if let Some(moved) = self.moved_words(now) {
            self.note_of_hand(now, format!("{moved} · {kept}"));
        } else if let Some(words) = self.with_hand(cup, &format!("{kept}{blank}")) {
            self.note_of_hand(now, words);
        } else {
            self.note(now, format!("{kept}: {content}{blank}"));
        }
        vec![Effect::Keep, Effect::Say(Happening::Kept { score, cup: served, content })]
    }

    fn declined(&mut self, id: Uuid, code: RefusalCode, reason: String, now: OwnTime) -> Vec<Effect> {
        let Some(class) = &self.class else { return Vec::new() };
        let Some(score) = self.kept.take_out(class.id, id) else {
            return self.answer_declined(id, reason, now);
        };
        // The sheet comes back, unless the person has begun or sent a newer one for the same cup, or none of that cup will
        // ever be taken.
        let cup = Cup::of(&score);
        if code != RefusalCode::Voided && self.said(cup).is_none_or(|said| said.revision < score.revision) {
            self.desk.drafts.entry(cup).or_insert_with(|| Filled::from(&score));
        }
        self.note(now, format!("{} was not taken: {reason}", self.served(cup)));
        let mut effects = vec![Effect::Keep, Effect::Say(Happening::NotTaken { id: Some(id), reason })];
        // All that the class was closed without, once the last of them has been declined.
        if code == RefusalCode::ClassClosed && self.outbox().is_empty() {
            effects.extend(self.say_not_sent());
        }
        effects
    }

    /// Notes the number of what was heard.
    pub(super) fn heard(&mut self, seq: u64) {
        self.class.iter_mut().for_each(|class| class.seq = class.seq.max(seq));
    }

    fn revealed(&mut self, seq: u64, teas: Vec<TeaCard>) -> Vec<Effect> {
        self.heard(seq);
        let Some(class) = &mut self.class else { return Vec::new() };
        for card in &teas {
            if let Some(known) = class.teas.iter_mut().find(|t| t.code == card.code) {
                *known = card.clone();
            }
        }
        vec![Effect::Say(Happening::Revealed(teas))]
    }
}
