//! Opening a ledger: a new class begins, an old one goes on where it stands.

use crate::clock::{HostClock, Ids, fresh_id, world};
use crate::error::HostError;
use crate::stored;
use class::Class;
use ledger::Ledger;
use plan::plan_rounds;
use protocol::{HostTime, JoinCode, Phase, Timetable};
use room::{Anchor, Console, DoorTerms, Entry, Event, Room, Rounds, World};
use std::collections::BTreeMap;

/// The wall clock is said to have been set when it moved by this against the machine's own, in microseconds.
const WALL_STEP_US: i64 = 500_000;

/// A class with its ledger, ready to be hosted.
pub struct Opened {
    /// The class as the ledger has it.
    pub room: Room,
    /// What the teacher should know about the opening.
    pub notices: Vec<String>,
    pub(crate) open_door: bool,
    pub(crate) rounds: Rounds,
    pub(crate) ledger: Box<dyn Ledger>,
    pub(crate) ids: Ids,
    pub(crate) clock: HostClock,
    /// At which console the teacher did what, by the number of the entry.
    pub(crate) done_at: BTreeMap<u64, Console>,
}

impl Opened {
    /// What is to be done at the kettles before the class begins; `None` once it has.
    pub fn before_start(&self) -> Option<String> {
        self.room.before_start(&self.rounds)
    }
}

/// What an opening takes from outside.
pub struct Opening {
    /// What a new class's codes are drawn from.
    pub seed: u64,
    /// What the machine's clocks show when the opening begins, which may be seconds before it is done.
    pub world: World,
    /// The host's clock, which began at the same instant.
    pub clock: HostClock,
    /// Where the ids of a new class, of new seats and the join code come from.
    pub ids: Ids,
    /// Whether whoever reaches the door may take a seat, without the join code.
    pub open_door: bool,
    /// On which terms people come: without a number of places there are twice the seats that the class expects.
    pub door: DoorTerms,
}

impl Opening {
    /// Now, on this machine.
    pub fn now(seed: u64, pace: f64) -> Self {
        let world = world();
        Self {
            seed,
            world,
            clock: HostClock::starting_at(&world, pace),
            ids: Box::new(fresh_id),
            open_door: false,
            door: DoorTerms::default(),
        }
    }
}

/// Opens a ledger for hosting: a new one begins with `class`, its codes drawn from the opening's seed, an old one goes on
/// where it stands. Host time goes on too: each opening ties it to the machine's clocks, so that after a crash the
/// steeps that are wet end when they would have ended.
///
/// # Errors
/// The ledger can't be used; the words say why and what to do.
pub fn open(ledger: impl Ledger + 'static, class: Class, opening: Opening) -> Result<Opened, HostError> {
    let mut ledger: Box<dyn Ledger> = Box::new(ledger);
    let Opening { seed, world, clock, mut ids, open_door, door } = opening;
    let pace = clock.pace();
    let mut entries = stored::entries(&*ledger)?;
    let mut new = Vec::new();
    let mut notices = Vec::new();
    if entries.is_empty() {
        let class = Box::new(class.with_codes(seed));
        let event = Event::Class { class_id: ids(), seed, class };
        new.push(Entry::new(1, HostTime(0), event));
    } else if let Some(Event::Class { class: kept, seed, .. }) = entries.first().map(|e| &e.event)
        && class.with_codes(*seed) != **kept
    {
        let words = "the class file has changed since this ledger was begun; the ledger's class goes on. For the changed one, name a new file with --ledger";
        notices.push(words.to_string());
    }
    entries.extend(new.iter().cloned());
    let replay = |entries: &[Entry]| {
        Room::replay(entries.iter().cloned())
            .map_err(|problem| HostError::Replay(ledger.path().into(), problem))
    };
    let mut room = replay(&entries)?;
    let done_at = entries.iter().filter_map(|entry| Some((entry.seq, entry.by.clone()?))).collect();
    match (room.anchor, room.rehearsal(), pace == 1.0) {
        (Some(_), Some(_), true) => return Err(HostError::Rehearsal(ledger.path().into())),
        (Some(_), None, false) => return Err(HostError::NoRehearsal(ledger.path().into())),
        _ => {}
    }
    let now = room.anchor.map_or(HostTime(0), |a| a.host_time(&world)).max(room.last_at);
    let event = Event::Opened { unix_us: world.unix_us, pace, boot: world.boot, door };
    let opened = Entry::new(room.seq + 1, now, event);
    if let Some(anchor) = &room.anchor {
        notices.push(went_on(anchor, &world, room.last_at));
        notices.extend(missed(&room.timetable, room.last_at, now, room.phase));
    }
    // Now, so that nobody waits for it at the start, and nobody sits down to a class that can't begin.
    let rounds = plan_rounds(&room.class);
    if let (Err(fault), Phase::Lobby) = (&rounds, room.phase) {
        return Err(HostError::Unplannable(fault.clone()));
    }
    if room.phase == Phase::Closed {
        notices.push(match room.rehearsal() {
            Some(_) => "this rehearsal is closed and can only be read; to rehearse again, name a new file with --ledger, or take this one away".into(),
            None => "this class is closed and can only be read and revealed; to give it again, name a new file with --ledger".into(),
        });
    }
    room.fold(opened.seq, opened.at, opened.event.clone());
    new.push(opened);
    // Behind an open door, too: it may be shut at the next opening.
    if room.join_code.is_none() {
        let event = Event::JoinCodeDrawn { join_code: JoinCode::drawn(ids()) };
        let drawn = Entry::new(room.seq + 1, now, event);
        room.fold(drawn.seq, drawn.at, drawn.event.clone());
        new.push(drawn);
    }
    if open_door {
        notices.push(
            "the door is open: whoever can reach this machine may take a seat, without a join code".into(),
        );
    }
    if door.by_name {
        notices.push("people are let in by name: who is new waits at the door until you type admit and the name, or admit all".into());
    }
    if room.closes_at().is_some() {
        notices.push("the last call was on when this ledger was last open: what the seats still have is taken for some seconds, then the class closes".into());
    }
    stored::append(&mut *ledger, &new)?;
    Ok(Opened { room, open_door, rounds, notices, ledger, ids, clock: clock.from(now), done_at })
}

/// By which clock host time has gone on since the ledger was last open.
fn went_on(anchor: &Anchor, now: &World, last: HostTime) -> String {
    match anchor.wall_stepped_us(now) {
        Some(stepped_us) if stepped_us.abs() >= WALL_STEP_US => {
            let seconds = stepped_us as f64 / 1e6;
            format!(
                "the wall clock was set by {seconds:+.1} s since this ledger was last open; host time went on by the machine's own clock, so nothing has moved"
            )
        }
        Some(_) => "host time went on by the machine's own clock; nothing has moved".into(),
        None if anchor.host_time(now) < last => {
            "the wall clock is behind the ledger's last entry; host time goes on from that entry, and cues come later by what is missing".into()
        }
        None if anchor.world.boot.is_none() || now.boot.is_none() => "this machine can't tell how long it has been up; host time went on by the wall clock, and the seats say by how much it moved".into(),
        None => "this machine was restarted since, or is another one; host time went on by the wall clock, and the seats say by how much it moved".into(),
    }
}

/// What the seats were cued to while no host was there, in words.
fn missed(timetable: &Timetable, last: HostTime, now: HostTime, phase: Phase) -> Option<String> {
    let cues: Vec<String> = timetable.due(last, now).iter().map(ToString::to_string).collect();
    let more = cues.len().saturating_sub(8);
    let mut shown = cues.iter().take(8).cloned().collect::<Vec<_>>().join(", ");
    if more > 0 {
        shown += &format!(" and {more} more");
    }
    (phase == Phase::Running && !cues.is_empty()).then(|| {
        format!(
            "since the last entry in the ledger these cues fell, at the seats by their own clocks: {shown}. Type hold to wait"
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use room::Boot;
    use uuid::Uuid;

    #[test]
    fn a_teacher_hears_by_which_clock_host_time_went_on() {
        let boot = |id, up_us| Some(Boot { id: Uuid::from_u128(id), up_us });
        let then = World { unix_us: 1_000_000_000, boot: boot(1, 50_000_000) };
        let anchor = Anchor { at: HostTime(0), world: then, pace: 1.0, clock: 2 };
        let said = |unix_us, boot| went_on(&anchor, &World { unix_us, boot }, HostTime(10_000_000));
        assert!(said(1_030_000_000, boot(1, 80_000_000)).ends_with("own clock; nothing has moved"));
        assert!(said(1_630_000_000, boot(1, 80_000_000)).starts_with("the wall clock was set by +600.0 s"));
        assert!(said(1_030_000_000, boot(2, 80_000_000)).contains("restarted since, or is another one"));
        assert!(said(1_030_000_000, None).starts_with("this machine can't tell how long it has been up"));
        assert!(said(1_001_000_000, boot(2, 80_000_000)).contains("behind the ledger's last entry"));
    }
}
