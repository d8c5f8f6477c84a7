//! The loop of the full screen, with keys and a screen in memory and in paused time.

use super::{Look, drive};
use crate::clock::OwnClock;
use crate::drive::{Bell, Options, Seat};
use crate::fixture::{CLASS, welcome};
use crossterm::event::{Event, KeyCode, KeyEvent, KeyModifiers};
use futures_util::{SinkExt, StreamExt, stream};
use protocol::wire::{Hello, HostMessage, SeatMessage, from_json};
use protocol::{Nonce, Phase};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use seat::app::End;
use seat::host_clock::OwnTime;
use std::future::pending;
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};
use tokio_tungstenite::accept_async;
use tokio_tungstenite::tungstenite::Message;
use writer::Writer;

/// A host that seats whoever comes and then only answers pings.
async fn host(stream: tokio::io::DuplexStream, clock: OwnClock) {
    let mut socket = accept_async(stream).await.unwrap();
    let greeting = HostMessage::greeting(Nonce([7; 16]));
    socket.send(Message::text(greeting.to_json())).await.unwrap();
    while let Some(Ok(Message::Text(text))) = socket.next().await {
        let answer = match from_json(text.as_str()) {
            Ok(SeatMessage::Ping { t1_us }) => {
                let t2_us = clock.now().0;
                HostMessage::Pong { t1_us, t2_us, t3_us: t2_us }
            }
            Ok(SeatMessage::Hello(Hello { join: None, .. })) => {
                HostMessage::Class { class_id: CLASS, title: "Two ways".into() }
            }
            Ok(SeatMessage::Hello(_)) => HostMessage::Welcome(Box::new(welcome(Phase::Running))),
            _ => continue,
        };
        socket.send(Message::text(answer.to_json())).await.unwrap();
    }
}

fn drawn(seat: &Seat) -> String {
    let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
    terminal.draw(|frame| crate::view::draw(frame, seat.app(), seat.now())).unwrap();
    terminal.backend().to_string()
}

#[tokio::test(start_paused = true)]
async fn the_bell_rings_at_each_own_cue_and_the_screen_follows_until_the_person_leaves() {
    let clock = OwnClock::start();
    let of_host = clock.clone();
    let dialler = move || {
        let (ours, theirs) = tokio::io::duplex(64 * 1024);
        tokio::spawn(host(theirs, of_host.clone()));
        async move { Ok(ours) }
    };
    let directory = tempfile::tempdir().unwrap();
    let keep = directory.path().join("seat.json");
    std::fs::write(&keep, "not a seat's file").unwrap();
    let rings = Arc::new(AtomicU32::new(0));
    let rung = rings.clone();
    let ring = Some(Bell(Arc::new(move |_| {
        rung.fetch_add(1, Ordering::SeqCst);
    })));
    let options = Options { keep: Some(keep), ring, ..Options::new("Ann", "host:4177") };
    let mut seat = Seat::open(dialler, options).unwrap();
    assert!(drawn(&seat).contains("WARNING"), "{}", drawn(&seat));
    let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
    let interrupt = || Ok(Event::Key(KeyEvent::new(KeyCode::Char('c'), KeyModifiers::CONTROL)));
    let typing = stream::once(async move {
        clock.wait_until(OwnTime(57_000_000)).await;
        interrupt()
    });
    let again = stream::once(async move { interrupt() });
    let keys = Box::pin(typing.chain(again).chain(stream::pending()));
    let out = Writer::onto(std::io::sink()).unwrap();
    let end = drive(&mut seat, Look::Seat, &mut terminal, &out, keys, pending()).await.unwrap();
    assert_eq!(end, End::Left);
    assert_eq!(rings.load(Ordering::SeqCst), 3, "warm at 15, pour at 35, pour at 55");
    let screen = terminal.backend().to_string();
    assert!(screen.contains("NOW   pour 238"), "{screen}");
    assert!(screen.contains("Ctrl-C again to leave"), "{screen}");
}
