//! The host on its simulated machine, and the teacher at its console.

use super::Shared;
use super::trace::{What, now_us, until_us};
use super::world::{HOST, PORT};
use client::clock::Ids;
use host::clock::HostClock;
use host::door::names::Names;
use host::door::terms::Terms;
use host::{Host, Opening, open, stored};
use ledger::Sqlite;
use protocol::Phase;
use room::last_call::LAST_CALL_S;
use room::{Boot, Room, Teacher, World as Clocks};
use std::sync::Arc;
use summary::summarise;
use tokio::task::JoinSet;
use turmoil::net::TcpListener;

/// How often the ledger is read back and compared with the live room, in microseconds.
const REPLAY_EVERY_US: i64 = 4_000_000;
/// How often the teacher looks whether the class is over, in microseconds.
const LOOK_EVERY_US: i64 = 500_000;

/// One run of the host's program, until it is killed.
pub async fn host(shared: Arc<Shared>, run: u32) -> turmoil::Result {
    let ledger = Sqlite::open(&shared.ledger())?;
    let machine = shared.machine();
    let boot = Some(Boot { id: machine.boot, up_us: now_us() - machine.booted_us });
    let world = Clocks { unix_us: now_us() + machine.wall_us, boot };
    let mut ids = Ids::seeded(shared.world.seed.wrapping_add(u64::from(run) << 32));
    let opening = Opening {
        seed: shared.world.seed,
        world,
        ids: Box::new(move || ids.draw()),
        clock: HostClock::simulated(1.0),
        open_door: false,
        door: room::DoorTerms { places: None, ..Default::default() },
    };
    let opened = open(ledger, shared.world.class.clone(), opening)?;
    let clock = opened.room.anchor.map_or(0, |anchor| anchor.clock);
    let (at, notices) = (opened.room.last_at, opened.notices.clone());
    shared.trace.note(HOST, run, What::Opened { at, clock, notices });
    shared.show(opened.room.join_code);
    let host = Host::start(opened).on(Terms { names: Names::of(Some(HOST), &[]), ..Terms::default() });
    let listener = TcpListener::bind(("0.0.0.0", PORT)).await?;
    let mut doors = JoinSet::new();
    let (mut replay_us, mut look_us) = (now_us() + REPLAY_EVERY_US, now_us());
    loop {
        let script_us = shared.next_act_us();
        tokio::select! {
            biased;
            accepted = listener.accept() => {
                // Local tasks end in one order when the program is killed.
                let (stream, peer) = accepted?;
                doors.spawn_local(host.door.clone().serve(stream, Some(peer.ip())));
            }
            Some(served) = doors.join_next() => {
                if served.is_err() {
                    shared.trace.note(HOST, run, What::Panicked);
                }
            }
            () = until_us(script_us.unwrap_or(i64::MAX)), if script_us.is_some() => {
                let wish = shared.act();
                teach(&shared, &host, run, wish).await?;
                // Only now: a teacher whose host dies in between asks again.
                shared.acted();
            }
            () = until_us(look_us), if script_us.is_none() && !shared.is_closed() => {
                look_us = now_us() + LOOK_EVERY_US;
                close_when_done(&shared, &host, run).await?;
            }
            () = until_us(replay_us) => {
                replay_us = now_us() + REPLAY_EVERY_US;
                replay(&shared, &host, run).await?;
            }
        }
    }
}

async fn teach(shared: &Shared, host: &Host, run: u32, wish: Teacher) -> turmoil::Result {
    let answer = host.handle.teacher(wish.clone()).await?;
    shared.trace.note(HOST, run, What::Teacher(format!("{wish:?}: {answer:?}")));
    Ok(())
}

/// The teacher closes the class some while after its last cue, and lifts the blind when it has closed by itself.
async fn close_when_done(shared: &Shared, host: &Host, run: u32) -> turmoil::Result {
    let view = host.handle.view(0).await?;
    if view.phase == Phase::Closed {
        teach(shared, host, run, Teacher::Reveal(None)).await?;
        replay_found(shared, host, run).await?;
        shared.close();
    } else if !view.all_done {
        shared.done_since(None);
    } else if view.last_call.is_none() && shared.done_since(Some(now_us())) {
        replay(shared, host, run).await?;
        teach(shared, host, run, Teacher::Close { last_call_s: LAST_CALL_S }).await?;
    }
    Ok(())
}

/// Reads the ledger back while the host is at work: the same room?
async fn replay(shared: &Shared, host: &Host, run: u32) -> turmoil::Result<(Arc<Room>, Room)> {
    let live = host.handle.room().await?;
    let entries = stored::read(&shared.ledger())?;
    let read = Room::replay(entries.into_iter().filter(|entry| entry.seq <= live.seq))?;
    let differs = (read != *live).then(|| format!("the room: {live:?} is {read:?} when read back"));
    shared.trace.note(HOST, run, What::Replayed { seq: live.seq, differs });
    Ok((live, read))
}

/// The same when the class is over, and whether what it found is the same too.
async fn replay_found(shared: &Shared, host: &Host, run: u32) -> turmoil::Result {
    let (live, read) = replay(shared, host, run).await?;
    let differs =
        (summarise(&read, read.last_at) != summarise(&live, live.last_at)).then(|| "the summary".to_string());
    shared.trace.note(HOST, run, What::Replayed { seq: live.seq, differs });
    Ok(())
}
