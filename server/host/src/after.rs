//! What follows once a batch is on disk: answers, welcomes, and what every seat is to know.

use crate::ask::{AtDoor, Entered, Happening, LinkId, Outgoing};
use crate::clock::HostClock;
use crate::links::Links;
use ledger::Ledger;
use protocol::wire::{Back, HostMessage, Welcome};
use protocol::{HostTime, Phase, SeatId, Timetable};
use room::view::View;
use room::{Away, Entry, Event, Refusal, Room, Rounds, Said, Sees};
use std::sync::Arc;
use tokio::sync::{mpsc, oneshot};
use uuid::Uuid;

/// Up to so many seats, all who have come are told by name.
const NAMED: usize = 40;

/// One thing that follows.
pub(crate) enum After {
    /// A seat sits down or comes back.
    Welcome {
        seat: SeatId,
        link: LinkId,
        outlet: mpsc::Sender<Outgoing>,
        entered: oneshot::Sender<Entered>,
        /// Up to which number the seat has everything.
        since: Option<u64>,
    },
    /// Somebody who was let in hears which class this is.
    Tell {
        outlet: mpsc::Sender<Outgoing>,
        entered: oneshot::Sender<Entered>,
    },
    /// Something that concerns the console alone.
    Happen(Happening),
    Refuse {
        refusal: Refusal,
        outlet: mpsc::Sender<Outgoing>,
        entered: oneshot::Sender<Entered>,
    },
    Accept {
        seat: SeatId,
        link: LinkId,
        id: Uuid,
        seq: u64,
    },
    Decline {
        seat: SeatId,
        link: LinkId,
        id: Uuid,
        refusal: Refusal,
    },
    Answer(oneshot::Sender<Result<bool, Refusal>>, Result<bool, Refusal>),
    /// How people are let in, and who waits.
    AtDoor(AtDoor, oneshot::Sender<AtDoor>),
    /// The console hears what a change of course has moved.
    Follows(String),
    /// The next of the batch's entries goes to the seats and the console.
    Report,
    Writing {
        seat: SeatId,
        link: LinkId,
        sheets: u32,
    },
    Left {
        seat: SeatId,
        link: LinkId,
    },
    /// Seats that pour now, or no longer.
    Reseat(Vec<SeatId>),
    View(usize, oneshot::Sender<View>),
    Room(oneshot::Sender<(Arc<Room>, HostTime)>),
}

/// The room after a batch, and what it takes to let others know.
pub(crate) struct Following<'a> {
    pub(crate) room: &'a Arc<Room>,
    pub(crate) rounds: &'a Rounds,
    pub(crate) clock: &'a HostClock,
    pub(crate) ledger: &'a dyn Ledger,
    pub(crate) links: &'a mut Links,
}

impl Following<'_> {
    /// Does what follows; `written` are the batch's entries that have not been reported yet.
    pub(crate) fn follow(&mut self, next: After, written: &mut impl Iterator<Item = Entry>) {
        match next {
            After::Report => written.by_ref().take(1).for_each(|entry| self.report(entry)),
            After::Welcome { seat, link, outlet, entered, since } => {
                self.welcome(seat, link, outlet, entered, since)
            }
            After::Tell { outlet, entered } => {
                let (class_id, title) = (self.room.class_id, self.room.class.title.clone());
                let class = HostMessage::Class { class_id, title };
                // A connection that has gone meanwhile misses nothing.
                let _ = outlet.try_send(Outgoing::say(&class));
                let _ = entered.send(Entered::Told);
            }
            After::Happen(happening) => self.links.happen(happening),
            After::Refuse { refusal, outlet, entered } => {
                // A connection that has gone meanwhile misses nothing.
                let _ = outlet.try_send(Outgoing::bye(refusal.code, &refusal.reason));
                let _ = entered.send(Entered::Refused);
            }
            After::Accept { seat, link, id, seq } => {
                self.send(seat, link, &HostMessage::Accepted { seq, id, link: self.link(seq) });
            }
            After::Decline { seat, link, id, refusal } => {
                let Refusal { code, reason } = refusal;
                self.send(seat, link, &HostMessage::Declined { id, code, reason });
            }
            After::Answer(answer, result) => drop(answer.send(result)),
            After::AtDoor(door, answer) => drop(answer.send(door)),
            After::Reseat(seats) => self.links.reseat(&seats),
            After::Follows(words) => self.links.happen(Happening::Follows(words)),
            After::Writing { seat, link, sheets } => self.links.writing(seat, link, sheets > 0),
            After::Left { seat, link } => self.links.left(self.room, seat, link),
            After::View(coming, answer) => {
                let mut view = self.room.view(self.now(), coming);
                let open = view.phase != Phase::Closed;
                for seat in &mut view.seats {
                    seat.linked = self.links.has(seat.id);
                    seat.writing = open && self.links.is_writing(seat.id);
                }
                drop(answer.send(view));
            }
            After::Room(answer) => drop(answer.send((Arc::clone(self.room), self.now()))),
        }
    }

    /// The beginning of the link of an entry.
    fn link(&self, seq: u64) -> String {
        self.ledger.link(seq).map_or(String::new(), |link| link.short())
    }

    fn now(&self) -> HostTime {
        self.clock.now_after(self.room.last_at)
    }

    fn send(&mut self, seat: SeatId, link: LinkId, message: &HostMessage) {
        self.links.send(self.room, seat, link, Outgoing::say(message));
    }

    /// Snapshot and subscription are one step: every later message of this class reaches the outlet behind it.
    fn welcome(
        &mut self,
        id: SeatId,
        link: LinkId,
        outlet: mpsc::Sender<Outgoing>,
        entered: oneshot::Sender<Entered>,
        since: Option<u64>,
    ) {
        let Some(seat) = self.room.seat_of(id) else { return };
        // A number that this ledger has not come to is of another one.
        let message = match since.filter(|&since| since <= self.room.seq) {
            Some(since) => {
                let link = self.link(self.room.seq);
                HostMessage::Back(Box::new(Back { link, ..self.room.missed(seat, since, self.clock.pace()) }))
            }
            None => {
                let link = self.link(self.room.seq);
                let welcome = self.room.welcome(seat, self.rounds, self.clock.pace());
                HostMessage::Welcome(Box::new(Welcome { link, ..welcome }))
            }
        };
        if entered.send(Entered::Seat(id)).is_err() {
            return;
        }
        // The outlet is new and empty.
        let _ = outlet.try_send(Outgoing::say(&message));
        self.links.link(self.room, id, link, outlet);
        if self.room.phase == Phase::Lobby {
            self.here(id, link);
        }
    }

    /// While people come, the others hear of who is new; who was there already hears it alone.
    fn here(&mut self, id: SeatId, link: LinkId) {
        let seats = self.room.persons();
        let named = if seats <= NAMED { &self.room.seats[..] } else { &[] };
        let names = named
            .iter()
            .filter(|seat| seat.same_as.is_none() && seat.away.is_none())
            .map(|seat| seat.name.clone())
            .collect();
        let here = Outgoing::say(&HostMessage::Here { names, seats: seats as u32 });
        // Of many not at every one: all together would be told as many times as there are seats, squared.
        let is_news = self.links.told_of != seats && (seats <= NAMED + 1 || seats.is_power_of_two());
        if is_news {
            self.links.told_of = seats;
            self.links.broadcast(self.room, |_| Some(here.clone()));
        } else {
            self.links.send(self.room, id, link, here);
        }
    }

    /// An entry is in the ledger: the seats get what concerns them, the console all of it.
    fn report(&mut self, entry: Entry) {
        let (room, seq) = (self.room, entry.seq);
        match &entry.event {
            Event::Started { timetable } | Event::Resumed { timetable } => {
                self.course(seq, Phase::Running, timetable)
            }
            Event::Held { timetable, .. } => self.course(seq, Phase::Held, timetable),
            Event::Steered { timetable: Some(timetable), .. } => self.course(seq, room.phase, timetable),
            Event::LastCall { until } => {
                let message = Outgoing::say(&HostMessage::LastCall { seq, until: *until });
                self.links.broadcast(room, |_| Some(message.clone()));
            }
            // Another seat may have the kettles of all to fill now.
            Event::Seated { .. } | Event::Released { .. }
                if room.share_kettles() && !room.timetable.cues.is_empty() =>
            {
                self.course(seq, room.phase, &room.timetable)
            }
            Event::SentAway { seats, reason, .. } => {
                self.links.send_away(room, seats, &Away::words(reason));
                if room.share_kettles() && !room.timetable.cues.is_empty() {
                    self.course(seq, room.phase, &room.timetable);
                }
            }
            Event::Closed => self.course(seq, Phase::Closed, &room.timetable),
            Event::Revealed { codes } => {
                let teas = room.class.cards(|code| room.revealed.contains_key(&code));
                let teas = teas.into_iter().filter(|t| codes.contains(&t.code)).collect();
                let message = Outgoing::say(&HostMessage::Revealed { seq, teas });
                self.links.broadcast(room, |_| Some(message.clone()));
            }
            Event::Voided { seat: whose, .. } | Event::Restored { seat: whose, .. } => {
                self.links.broadcast(room, |seat| {
                    let concerns = whose.is_none_or(|id| room.seat_of(id).is_some_and(|of| of.id == seat));
                    let seat = room.seat_of(seat).filter(|_| concerns)?;
                    let scores = room.scores.of_seat(seat.id).map(|kept| kept.score.clone()).collect();
                    Some(Outgoing::say(&HostMessage::Cups { seq, voided: room.voided_for(seat), scores }))
                });
            }
            Event::SheetsReopened { seats, .. } | Event::SheetsShut { seats, .. } => {
                let concerned: Vec<SeatId> =
                    seats.iter().filter_map(|&id| Some(room.seat_of(id)?.id)).collect();
                self.links.broadcast(room, |seat| {
                    let seat = room.seat_of(seat).filter(|seat| concerned.contains(&seat.id))?;
                    Some(Outgoing::say(&HostMessage::Reopened { seq, reopened: room.open_sheets(seat) }))
                });
            }
            Event::Said { seat, words } => {
                let said = Said { seq, at: entry.at, seat: *seat, words: words.clone() };
                self.links.broadcast(room, |seat| {
                    room.saying(&said, seat).map(|saying| Outgoing::say(&HostMessage::Said(saying)))
                });
            }
            Event::TestOpened { test } => {
                // Every seat has cups of its own.
                let card = |seat| room.test_card(*test, seat);
                self.links.broadcast(room, |seat| {
                    card(seat).map(|card| Outgoing::say(&HostMessage::Test { seq, card }))
                });
            }
            // Between the host and one seat, or of no concern to seats.
            Event::Class { .. }
            | Event::Opened { .. }
            | Event::JoinCodeDrawn { .. }
            | Event::Admitted { .. }
            | Event::AdmittedNoMore { .. }
            | Event::DoorSet { .. }
            | Event::KeysDrawn { .. }
            | Event::Seated { .. }
            | Event::Released { .. }
            | Event::SeatCounts { .. }
            | Event::LetBack { .. }
            | Event::FellShort { .. }
            | Event::Renamed { .. }
            | Event::SeatsJoined { .. }
            | Event::SeatsParted { .. }
            | Event::Steered { .. }
            | Event::Lost { .. }
            | Event::Scored { .. }
            | Event::Answered { .. } => {}
        }
        self.links.happen(Happening::Entry(entry));
    }

    fn course(&mut self, seq: u64, phase: Phase, timetable: &Timetable) {
        // Written once for all who see the same; every connection gets the same bytes.
        let course =
            |sees: Sees| Outgoing::say(&HostMessage::Course { seq, phase, timetable: sees.of(timetable) });
        let (all, tasters) = (course(Sees::All), course(Sees::Tasting));
        let room = self.room;
        let no_kettles = if room.share_kettles() { course(Sees::NoKettles) } else { all.clone() };
        self.links.broadcast(room, |seat| {
            Some(match room.seat_of(seat).map_or(Sees::All, |seat| room.sees(seat)) {
                Sees::All => all.clone(),
                Sees::NoKettles => no_kettles.clone(),
                Sees::Tasting => tasters.clone(),
            })
        });
    }
}
