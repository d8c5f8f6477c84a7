//! What the link's news change.

use super::{App, Class, Cup, Desk, Effect, End, Filled, Happening, LinkEvent, LinkState};
use crate::host_clock::OwnTime;
use crate::words;
use protocol::wire::{HostMessage, SeatMessage, Welcome};
use protocol::{Phase, TeaCard, Timetable};
use uuid::Uuid;

impl App {
    pub(super) fn hear(&mut self, news: LinkEvent, now: OwnTime) -> Vec<Effect> {
        match news {
            LinkEvent::Dialling(attempt) => {
                self.link = LinkState::Dialling(attempt);
                Vec::new()
            }
            LinkEvent::Greeted { class_id, title } => {
                self.link = LinkState::Greeted;
                self.greeted = Some((class_id, title));
                Vec::new()
            }
            LinkEvent::Exchange { exchange, first } => {
                self.clock.add(exchange, first);
                Vec::new()
            }
            LinkEvent::Lost { reason, again_at } => self.lost(reason, again_at, now),
            LinkEvent::Refused { code, reason } => {
                // A closed class has nothing more to refuse; whatever came last, it ended well.
                let closed = self.phase() == Phase::Closed;
                let end = if closed { End::Closed } else { End::Refused(reason.clone()) };
                vec![Effect::Say(Happening::Refused { code, reason }), Effect::Quit(end)]
            }
            LinkEvent::Host(message) => self.hear_host(message, now),
        }
    }

    fn lost(&mut self, reason: String, again_at: OwnTime, now: OwnTime) -> Vec<Effect> {
        let news = self.unlinked.as_ref().is_none_or(|(_, known)| *known != reason);
        let since = self.unlinked.as_ref().map_or(now, |(since, _)| *since);
        self.link = LinkState::Waiting(again_at);
        self.unlinked = Some((since, reason.clone()));
        let again_in_s = again_at.seconds_until(now);
        let seated = self.class.is_some();
        if news { vec![Effect::Say(Happening::NoLink { reason, again_in_s, seated })] } else { Vec::new() }
    }

    fn hear_host(&mut self, message: HostMessage, now: OwnTime) -> Vec<Effect> {
        match message {
            HostMessage::Welcome(welcome) => self.welcome(&welcome, now),
            HostMessage::Course { phase, timetable, .. } => self.course(phase, timetable, now),
            HostMessage::Accepted { id, .. } => self.accepted(id, now),
            HostMessage::Declined { id, reason, .. } => self.declined(id, reason, now),
            HostMessage::Revealed { teas, .. } => self.revealed(teas),
            // The link itself deals with these; a message of a later protocol is not for this seat.
            HostMessage::Greeting { .. }
            | HostMessage::Pong { .. }
            | HostMessage::Refusal { .. }
            | HostMessage::Unknown => Vec::new(),
        }
    }

    fn welcome(&mut self, welcome: &Welcome, now: OwnTime) -> Vec<Effect> {
        let Some((class_id, title)) = self.greeted.clone() else { return Vec::new() };
        let before = self.class.as_ref().filter(|c| c.id == class_id).map(|c| c.phase);
        self.link = LinkState::Linked;
        self.unlinked = None;
        self.name = welcome.name.clone();
        self.clock.set_pace(welcome.pace);
        self.keep_drafts();
        match &mut self.class {
            Some(class) if class.id == class_id => class.again(welcome, self.clock.host_time(now)),
            other => {
                // Another class counts time from another epoch, and its cups are other cups.
                if other.is_some() {
                    self.clock.reset();
                }
                *other = Some(Class::new(class_id, title.clone(), welcome));
                self.find_drafts(class_id, now);
            }
        }
        self.kept.seated(class_id, welcome.seat, &welcome.name);
        let place = words::place(&welcome.teas, welcome.pourers, welcome.hands);
        let seated = Happening::Seated { name: welcome.name.clone(), title, seat: welcome.seat, place };
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
        effects.extend(self.outbox().iter().cloned().map(|score| Effect::Send(SeatMessage::Score(score))));
        effects
    }

    /// A clean desk, but for the sheets of this class that were begun in an earlier run.
    fn find_drafts(&mut self, class_id: Uuid, now: OwnTime) {
        let drafts = self.kept.class(class_id).map(|c| c.drafts.clone()).unwrap_or_default();
        self.desk = Desk { drafts: drafts.into_iter().collect(), ..Desk::default() };
        if !self.desk.drafts.is_empty() {
            let cups: Vec<_> = self.desk.drafts.keys().map(ToString::to_string).collect();
            self.note(now, format!("begun and not sent: {}", cups.join(", ")));
        }
    }

    fn course(&mut self, phase: Phase, timetable: Timetable, now: OwnTime) -> Vec<Effect> {
        let host_now = self.host_now(now);
        let Some(class) = &mut self.class else { return Vec::new() };
        class.adopt(timetable, host_now);
        let changed = class.phase != phase;
        class.phase = phase;
        if changed { vec![Effect::Say(Happening::Phase(phase))] } else { Vec::new() }
    }

    fn accepted(&mut self, id: Uuid, now: OwnTime) -> Vec<Effect> {
        let Some(class) = &mut self.class else { return Vec::new() };
        // Nothing to do for one that was acknowledged before.
        let Some(score) = self.kept.take_out(class.id, id) else { return Vec::new() };
        let content = words::score_content(&score, &class.sheet);
        let blank = match words::blanks(&score, &class.sheet) {
            0 => String::new(),
            blank => format!(" · {} blank", words::count(blank, "line")),
        };
        class.take(score.clone());
        self.note(now, format!("{} is kept: {content}{blank}", Cup::of(&score)));
        vec![Effect::Keep, Effect::Say(Happening::Kept { score, content })]
    }

    fn declined(&mut self, id: Uuid, reason: String, now: OwnTime) -> Vec<Effect> {
        let Some(class) = &self.class else { return Vec::new() };
        let Some(score) = self.kept.take_out(class.id, id) else { return Vec::new() };
        // The sheet comes back, unless the person has begun a newer one for the same cup.
        self.desk.drafts.entry(Cup::of(&score)).or_insert_with(|| Filled::from(&score));
        self.note(now, format!("{} was not taken: {reason}", Cup::of(&score)));
        vec![Effect::Keep, Effect::Say(Happening::NotTaken { id: Some(id), reason })]
    }

    fn revealed(&mut self, teas: Vec<TeaCard>) -> Vec<Effect> {
        let Some(class) = &mut self.class else { return Vec::new() };
        for card in &teas {
            if let Some(known) = class.teas.iter_mut().find(|t| t.code == card.code) {
                *known = card.clone();
            }
        }
        vec![Effect::Say(Happening::Revealed(teas))]
    }
}
