//! The link against a small scripted host, in memory and in paused time.

use crate::clock::{OwnClock, Ring};
use crate::drive::{self, Bell, Options, Seat};
use crate::fixture::{self, CLASS, timetable, welcome};
use crate::link::dial::Known;
use futures_util::{SinkExt, StreamExt};
use protocol::wire::{Hello, HostMessage, Join, PROTOCOL, RefusalCode, SeatMessage, Welcome, from_json};
use protocol::{Certificate, Challenge, HostTime, Nonce, Phase, Proved, Score, Token};
use seat::app::{End, Fill, Happened, Happening, SeatInput};
use std::sync::Arc;
use std::time::Duration;
use tokio::io::DuplexStream;
use tokio::sync::mpsc;
use tokio::task::JoinHandle;
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::Message;

/// A room in which the host's side of every connection waits to be taken.
struct Room {
    dialled: mpsc::UnboundedReceiver<DuplexStream>,
    clock: OwnClock,
    say: mpsc::Sender<SeatInput>,
    hear: mpsc::Receiver<Happened>,
    seat: JoinHandle<Result<End, crate::keep::KeepError>>,
}

struct Host {
    socket: WebSocketStream<DuplexStream>,
    clock: OwnClock,
    pace: f64,
    behind_us: i64,
    nonce: Nonce,
    /// What the seat has said, message by message.
    heard: Vec<String>,
}

fn room() -> Room {
    room_of(Options::new("Ann", "host:4177"))
}

fn room_of(options: Options) -> Room {
    let (to_host, dialled) = mpsc::unbounded_channel();
    let dialler = move || {
        let to_host = to_host.clone();
        async move {
            let (ours, theirs) = tokio::io::duplex(64 * 1024);
            to_host.send(theirs).map_err(|_| std::io::Error::other("nobody listens"))?;
            Ok(ours)
        }
    };
    let (say, inputs) = mpsc::channel(16);
    let (outputs, hear) = mpsc::channel(64);
    let seat = tokio::spawn(drive::run(dialler, options, inputs, outputs));
    Room { dialled, clock: OwnClock::start(), say, hear, seat }
}

impl Room {
    /// The host's side of the next connection, after its greeting.
    async fn host(&mut self) -> Host {
        let mut host = self.silent_host().await;
        host.greet().await;
        host
    }

    async fn silent_host(&mut self) -> Host {
        Host::over(self.dialled.recv().await.unwrap(), self.clock.clone()).await
    }

    /// The next happening that `pick` wants.
    async fn until<T>(&mut self, pick: impl Fn(&Happened) -> Option<T>) -> T {
        loop {
            let happened = self.hear.recv().await.expect("the seat is still there");
            if let Some(found) = pick(&happened) {
                return found;
            }
        }
    }

    /// The person waits for the first cup and scores it.
    async fn scores(&mut self) {
        self.until(|h| matches!(h.what, Happening::Ready(_)).then_some(())).await;
        self.say.send(seven()).await.unwrap();
    }

    async fn lost(&mut self) -> String {
        let reason = |h: &Happened| {
            if let Happening::NoLink { reason, .. } = &h.what { Some(reason.clone()) } else { None }
        };
        self.until(reason).await
    }
}

impl Host {
    async fn send(&mut self, message: HostMessage) {
        self.socket.send(Message::text(message.to_json())).await.unwrap();
    }

    async fn over(stream: DuplexStream, clock: OwnClock) -> Self {
        let socket = tokio_tungstenite::accept_async(stream).await.unwrap();
        let nonce = Nonce::drawn(&[7; 16], clock.now().0 as u64);
        Self { socket, clock, pace: 1.0, behind_us: 0, nonce, heard: Vec::new() }
    }

    async fn greet(&mut self) {
        self.send(HostMessage::greeting(self.nonce)).await;
    }

    async fn tell_class(&mut self) {
        self.send(HostMessage::Class { class_id: CLASS, title: "Two ways".into() }).await;
    }

    async fn read(&mut self) -> Option<SeatMessage> {
        match self.socket.next().await? {
            Ok(Message::Text(text)) => {
                self.heard.push(text.to_string());
                Some(from_json(text.as_str()).unwrap())
            }
            _ => None,
        }
    }

    /// Hears hellos, tells which class this is, and gives what the seat joins with.
    async fn joined(&mut self) -> Join {
        loop {
            match self.read().await {
                Some(SeatMessage::Hello(Hello { join: Some(join), .. })) => return join,
                Some(SeatMessage::Hello(_)) => self.tell_class().await,
                other => panic!("a hello comes first: {other:?}"),
            }
        }
    }

    /// Seats whoever says hello with a new token, which is handed back.
    async fn seat(&mut self) -> Token {
        let join = self.joined().await;
        assert_eq!(join.proofs, []);
        self.welcome().await;
        join.token.unwrap()
    }

    /// Seats whoever proves these tokens in this order, and says none.
    async fn seat_again(&mut self, tokens: &[Token]) {
        let join = self.joined().await;
        assert_eq!((join.proofs, join.token), (self.proofs(tokens), None));
        self.welcome().await;
    }

    fn proofs(&self, tokens: &[Token]) -> Vec<Proved> {
        tokens.iter().map(|token| token.proved(Challenge::plain(self.nonce), CLASS)).collect()
    }

    async fn welcome(&mut self) {
        let welcome = Welcome { pace: self.pace, ..welcome(Phase::Running) };
        self.send(HostMessage::Welcome(Box::new(welcome))).await;
    }

    /// Answers pings until a score comes. Host time is the seat's own time at the class's pace.
    async fn score(&mut self) -> Option<Score> {
        let limit_s = self.clock.now().0 / 1_000_000 + 600;
        loop {
            assert!(self.clock.now().0 / 1_000_000 < limit_s, "no score within ten minutes");
            match self.read().await? {
                SeatMessage::Ping { t1_us } => {
                    let t2_us = self.clock.now().at_pace(self.pace) - self.behind_us;
                    self.send(HostMessage::Pong { t1_us, t2_us, t3_us: t2_us }).await;
                }
                SeatMessage::Score(score) => return Some(score),
                _ => {}
            }
        }
    }
}

fn seven() -> SeatInput {
    SeatInput::Fill(Fill { steep: Some(1), values: vec![Some(7)], ..Fill::of(fixture::code(417)) })
}

#[tokio::test(start_paused = true)]
async fn cues_are_fired_at_their_instant_even_after_the_link_is_gone() {
    let mut room = room();
    let mut host = room.host().await;
    host.seat().await;
    let clock = room.clock.clone();
    let answering = tokio::spawn(async move {
        tokio::select! {
            _ = host.score() => panic!("nobody scores"),
            // The link breaks at 50 s, between two pours.
            () = clock.wait_until(seat::host_clock::OwnTime(50_000_000)) => {}
        }
    });
    let cue = |h: &Happened| {
        if let Happening::Cue { cue, .. } = &h.what { Some((cue.clone(), h.at.unwrap())) } else { None }
    };
    for wanted in &timetable(1).cues {
        let (fired, at) = room.until(cue).await;
        assert_eq!(&fired, wanted);
        let late_us = at - wanted.at;
        assert!((0..=1_100).contains(&late_us), "{fired} {late_us} µs late by the host's clock");
        let room_late_us = HostTime(room.clock.now().0) - wanted.at;
        assert!((0..=1_100).contains(&room_late_us), "{fired} {room_late_us} µs late in the room");
    }
    answering.await.unwrap();
}

#[tokio::test(start_paused = true)]
async fn a_score_is_sent_again_after_the_link_broke_and_the_token_gives_the_place_back() {
    let mut room = room();
    let mut host = room.host().await;
    let token = host.seat().await;
    let (first, ()) = tokio::join!(host.score(), room.scores());
    let first = first.unwrap();
    drop(host);
    room.lost().await;
    let mut host = room.host().await;
    host.seat_again(&[token]).await;
    assert_eq!(host.score().await, Some(first.clone()));
    host.send(HostMessage::Accepted { seq: 20, id: first.id, link: String::new() }).await;
    let kept =
        |h: &Happened| if let Happening::Kept { score, .. } = &h.what { Some(score.clone()) } else { None };
    assert_eq!(room.until(kept).await, first);
    room.say.send(SeatInput::Leave).await.unwrap();
    assert_eq!(room.seat.await.unwrap().unwrap(), End::Left);
    assert_eq!(host.score().await, None, "the seat says goodbye");
}

#[tokio::test(start_paused = true)]
async fn a_host_that_goes_silent_is_left_after_twenty_seconds_and_dialled_again() {
    let mut room = room();
    let mut host = room.host().await;
    let token = host.seat().await;
    let began = room.clock.now();
    let reason = room.lost().await;
    assert_eq!(reason, "nothing heard from the host for 20 s");
    assert_eq!(room.clock.now().seconds_since(began), 20);
    room.host().await.seat_again(&[token]).await;
    room.until(|h| matches!(h.what, Happening::LinkBack).then_some(())).await;
}

#[tokio::test(start_paused = true)]
async fn waits_between_attempts_grow_to_eight_seconds() {
    let mut room = room();
    let mut waits_ms = Vec::new();
    for _ in 0..8 {
        let began = room.clock.now();
        drop(room.dialled.recv().await.unwrap());
        waits_ms.push((room.clock.now().0 - began.0) / 1_000);
    }
    for (wait, full) in waits_ms[1..].iter().zip([250, 500, 1_000, 2_000, 4_000, 8_000, 8_000]) {
        assert!((full * 3 / 4..=full + 1).contains(wait), "{waits_ms:?}");
    }
}

#[tokio::test(start_paused = true)]
async fn a_host_of_another_protocol_is_not_joined_and_the_words_say_whom_to_update() {
    for (protocol, nonce, older) in [(PROTOCOL + 1, Some(Nonce([1; 16])), "seat"), (3, None, "host")] {
        let mut room = room();
        let mut host = room.silent_host().await;
        host.send(HostMessage::Greeting { protocol, nonce, class_id: CLASS, title: "x".into() }).await;
        let Ok(End::Refused(reason)) = room.seat.await.unwrap() else { panic!("it is refused") };
        assert_eq!(reason, protocol::wire::version_words(protocol, PROTOCOL));
        assert!(reason.ends_with(&format!("update the {older}'s program")));
        assert_eq!(host.read().await, None, "nothing is said to it");
    }
}

#[tokio::test(start_paused = true)]
async fn a_lost_welcome_leads_back_to_the_same_place() {
    let mut room = room();
    let mut host = room.host().await;
    let token = host.joined().await.token.unwrap();
    drop(host);
    room.host().await.seat_again(&[token]).await;
}

#[tokio::test(start_paused = true)]
async fn a_refusal_that_may_be_tried_again_is_tried_again_and_another_ends_the_seat() {
    let mut room = room();
    let mut host = room.silent_host().await;
    host.send(HostMessage::refusal(RefusalCode::Busy, "too many at the door")).await;
    assert_eq!(room.lost().await, "too many at the door");
    let mut host = room.host().await;
    host.joined().await;
    host.send(HostMessage::refusal(RefusalCode::NameTaken, "another seat is named Ann")).await;
    assert_eq!(room.seat.await.unwrap().unwrap(), End::Refused("another seat is named Ann".into()));
}

#[tokio::test(start_paused = true)]
async fn the_seat_ends_when_the_class_is_closed_and_every_score_acknowledged() {
    let mut room = room();
    let mut host = room.host().await;
    host.seat().await;
    let (score, ()) = tokio::join!(host.score(), room.scores());
    let score = score.unwrap();
    host.send(HostMessage::Course { seq: 30, phase: Phase::Closed, timetable: timetable(2) }).await;
    room.until(|h| matches!(h.what, Happening::Phase(Phase::Closed)).then_some(())).await;
    assert!(!room.seat.is_finished(), "a score is still on its way");
    host.send(HostMessage::Accepted { seq: 29, id: score.id, link: String::new() }).await;
    assert_eq!(room.seat.await.unwrap().unwrap(), End::Closed);
}

#[tokio::test(start_paused = true)]
async fn a_host_that_never_greets_is_given_up_in_time() {
    let mut room = room();
    let _host = room.silent_host().await;
    assert_eq!(room.lost().await, "the host did not answer within 8 s");
    assert!(room.clock.now().plus(Duration::ZERO).seconds_since(Default::default()) <= 9);
}

#[tokio::test(start_paused = true)]
async fn a_reason_is_told_without_the_machines_number_for_it() {
    let dialler = || async { Err::<DuplexStream, _>(std::io::Error::from_raw_os_error(111)) };
    let (_say, inputs) = mpsc::channel(1);
    let (outputs, mut hear) = mpsc::channel(8);
    tokio::spawn(drive::run(dialler, Options::new("Ann", "host:4177"), inputs, outputs));
    let Happening::NoLink { reason, .. } = hear.recv().await.unwrap().what else {
        panic!("no link comes first")
    };
    assert!(reason.starts_with("can't reach the host: ") && !reason.contains("os error"), "{reason}");
}

#[tokio::test(start_paused = true)]
async fn text_from_the_host_is_inert() {
    let mut room = room();
    let mut host = room.host().await;
    host.send(HostMessage::refusal(RefusalCode::ClassFull, "full\u{1b}[2J\u{202e}")).await;
    assert_eq!(room.seat.await.unwrap().unwrap(), End::Refused("full [2J".into()));
}

#[tokio::test(start_paused = true)]
async fn in_a_rehearsal_the_cues_follow_the_hosts_quicker_clock() {
    let mut room = room();
    let mut host = Host { pace: 60.0, ..room.host().await };
    host.seat().await;
    tokio::spawn(async move { host.score().await });
    let cue = |h: &Happened| match &h.what {
        Happening::Cue { cue, .. } => Some((cue.at, h.at.unwrap())),
        _ => None,
    };
    for wanted in &timetable(1).cues {
        let (at, fired_at) = room.until(cue).await;
        assert_eq!(at, wanted.at);
        // A millisecond of the room is 60 of the class.
        assert!((0..=66_000).contains(&(fired_at - at)), "{} µs late", fired_at - at);
        let room_at_us = room.clock.now().0;
        assert!((room_at_us - at.0 / 60).abs() < 1_100, "{wanted} at {room_at_us} µs of the room");
    }
}

#[tokio::test(start_paused = true)]
async fn after_a_host_was_started_anew_its_new_clock_is_believed() {
    let mut room = room();
    let mut host = room.host().await;
    let token = host.seat().await;
    room.until(|h| matches!(h.what, Happening::Seated { .. }).then_some(())).await;
    tokio::spawn(async move { tokio::time::timeout(Duration::from_secs(3), host.score()).await });
    room.lost().await;
    // The new process's clock is 4 s behind, so the first cue comes 4 s later in the room.
    let mut host = room.host().await;
    host.behind_us = 4_000_000;
    host.seat_again(&[token]).await;
    tokio::spawn(async move { host.score().await });
    let cue = |h: &Happened| matches!(h.what, Happening::Cue { .. }).then_some(());
    room.until(cue).await;
    assert_eq!(room.clock.now().seconds_since(Default::default()), 15 + 4);
}

#[tokio::test]
async fn the_bell_rings_once_for_each_own_cue_from_the_alarm_thread() {
    let (to_host, mut dialled) = mpsc::unbounded_channel::<DuplexStream>();
    let dialler = move || {
        let to_host = to_host.clone();
        async move {
            let (ours, theirs) = tokio::io::duplex(64 * 1024);
            to_host.send(theirs).map_err(|_| std::io::Error::other("nobody listens"))?;
            Ok(ours)
        }
    };
    let clock = OwnClock::precise();
    let (rung, mut rings) = mpsc::unbounded_channel();
    let ring: Ring = Arc::new(move |at| rung.send(at).unwrap_or_default());
    let options =
        Options { clock: clock.clone(), ring: Some(Bell(ring)), ..Options::new("Ann", "host:4177") };
    let mut seat = Seat::open(dialler, options).unwrap();
    // A rehearsal, so that nobody waits: warm at 15, pours at 35 and 55 of the class's clock.
    let stream = dialled.recv().await;
    let host = tokio::spawn(async move {
        let mut host = Host { pace: 100.0, ..Host::over(stream.unwrap(), clock).await };
        host.greet().await;
        host.seat().await;
        // Answers until the seat is gone.
        host.score().await
    });
    let mut cues = 0;
    while cues < 3 {
        if let Some(Happened { what: Happening::Cue { mine: true, .. }, .. }) = seat.next().await {
            cues += 1;
        }
    }
    drop(seat);
    let _ = host.await;
    let mut at = Vec::new();
    while let Some(ring) = rings.recv().await {
        at.push(ring);
    }
    assert_eq!(at.len(), 3, "{at:?}");
    assert!(at.is_sorted());
}

/// A seat at whose machine somebody is, or nobody, and what it is told by a host that wants a code.
fn asked(asks: bool, join_code: Option<&str>) -> Room {
    let join_code = join_code.map(|code| code.parse().unwrap());
    room_of(Options { asks, join_code, ..Options::new("Ann", "host:4177") })
}

async fn wants_a_code(host: &mut Host) -> Option<protocol::JoinCode> {
    let Some(SeatMessage::Hello(hello)) = host.read().await else { panic!("a hello comes first") };
    assert_eq!(hello.join, None, "the class is not known yet");
    host.send(HostMessage::refusal(RefusalCode::JoinCodeWrong, "not that one")).await;
    hello.join_code
}

#[tokio::test(start_paused = true)]
async fn a_seat_asks_for_the_join_code_until_it_is_right_and_keeps_it() {
    let mut room = asked(true, None);
    let codes = ["KX7M-QR4T", "9999-2222"].map(|code| code.parse::<protocol::JoinCode>().unwrap());
    let mut host = room.host().await;
    assert_eq!(wants_a_code(&mut host).await, None);
    for (code, is_right) in codes.into_iter().zip([false, true]) {
        room.until(|h| {
            matches!(&h.what, Happening::CodeAsked { reason } if reason == "not that one").then_some(())
        })
        .await;
        room.say.send(SeatInput::JoinCode(code)).await.unwrap();
        let mut host = room.host().await;
        if is_right {
            host.seat().await;
            room.until(|h| matches!(h.what, Happening::Seated { .. }).then_some(())).await;
        } else {
            assert_eq!(wants_a_code(&mut host).await, Some(code));
        }
    }
}

#[tokio::test(start_paused = true)]
async fn a_class_of_before_is_named_with_the_proof_alone_and_then_the_code_is_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let keep = Some(folder.path().join("seat.json"));
    let options = || Options { keep: keep.clone(), asks: true, ..Options::new("Ann", "host:4177") };
    let code: protocol::JoinCode = "KX7M-QR4T".parse().unwrap();
    let mut first = room_of(Options { join_code: Some(code), ..options() });
    let token = first.host().await.seat().await;
    first.until(|h| matches!(h.what, Happening::Seated { .. }).then_some(())).await;
    first.say.send(SeatInput::Leave).await.unwrap();
    first.seat.await.unwrap().unwrap();
    let mut again = room_of(options());
    let mut host = again.host().await;
    let Some(SeatMessage::Hello(hello)) = host.read().await else { panic!("a hello comes first") };
    let join = hello.join.unwrap();
    assert_eq!((hello.join_code, join.token, join.proofs), (None, None, host.proofs(&[token])));
    host.send(HostMessage::refusal(RefusalCode::JoinCodeWanted, "a code is needed")).await;
    let mut host = again.host().await;
    assert_eq!(wants_a_code(&mut host).await, None, "the kept one may be another class's");
    again.until(|h| matches!(h.what, Happening::CodeAsked { .. }).then_some(())).await;
}

/// A way on which the seat sees a certificate, or none.
struct Seen {
    to_host: mpsc::UnboundedSender<DuplexStream>,
    certificate: Option<Certificate>,
}

impl super::dial::Dialler for Seen {
    type Stream = DuplexStream;

    async fn dial(&mut self) -> std::io::Result<DuplexStream> {
        let (ours, theirs) = tokio::io::duplex(64 * 1024);
        self.to_host.send(theirs).map_err(|_| std::io::Error::other("nobody listens"))?;
        Ok(ours)
    }

    fn certificate(&self, _: &DuplexStream) -> Option<Certificate> {
        self.certificate
    }
}

fn room_with(certificate: Option<Certificate>, options: Options) -> Room {
    let (to_host, dialled) = mpsc::unbounded_channel();
    let (say, inputs) = mpsc::channel(16);
    let (outputs, hear) = mpsc::channel(64);
    let seat = tokio::spawn(drive::run(Seen { to_host, certificate }, options, inputs, outputs));
    Room { dialled, clock: OwnClock::start(), say, hear, seat }
}

#[tokio::test(start_paused = true)]
async fn a_class_that_was_joined_with_a_pin_hears_nothing_of_a_seat_over_another_certificate_or_none() {
    let folder = tempfile::tempdir().unwrap();
    let [hosts, relays] = [&b"the host's"[..], b"the relay's"].map(Certificate::of);
    let keep = Some(folder.path().join("seat.json"));
    let code = "KX7M-QR4T".parse().ok();
    let at = |address: &str, known| Options { keep: keep.clone(), known, ..Options::new("Ann", address) };
    let by = |certificate: Certificate| Some(Known::ByPin(certificate.pin()));
    let mut first = room_with(Some(hosts), Options { join_code: code, ..at("host:4177", by(hosts)) });
    let token = first.host().await.seat().await;
    first.until(|h| matches!(h.what, Happening::Seated { .. }).then_some(())).await;
    first.say.send(SeatInput::Leave).await.unwrap();
    first.seat.await.unwrap().unwrap();
    for (address, certificate, known, case) in [
        ("host:4177", None, Some(Known::ByNothing), "at its address without TLS"),
        ("other:4177", None, None, "at another address without TLS"),
        ("other:4177", Some(relays), None, "at another address with a certificate of its own"),
    ] {
        let mut room = room_with(certificate, at(address, known));
        let mut host = room.host().await;
        assert!(
            matches!(host.read().await, Some(SeatMessage::Hello(Hello { join: None, join_code: None, .. }))),
            "{case}"
        );
        host.tell_class().await;
        assert_eq!(host.read().await, None, "{case}");
        let End::NotTheHost(words) = room.seat.await.unwrap().unwrap() else { panic!("{case}") };
        let begins = format!(
            "this class was joined with a pin, and the host at {address} has not that certificate; paste the whole line"
        );
        assert!(words.starts_with(&begins), "{case}: {words}");
        assert!(words.contains(&format!("kettleseat {address} --pin none --code CODE")), "{case}: {words}");
        assert!(!host.heard.concat().contains("Ann"), "{case}");
    }
    // The code itself tells that it is this class: to whoever has another certificate, or none, it is not said either.
    for (certificate, known) in [(None, None), (Some(relays), None), (Some(relays), Some(Known::ByNothing))] {
        let mut room = room_with(certificate, Options { join_code: code, ..at("other:4177", known) });
        assert_eq!(room.host().await.read().await, None);
        assert!(matches!(room.seat.await.unwrap().unwrap(), End::NotTheHost(_)));
    }
    // Who types that there is no pin, and the code, goes back to a class without TLS: the token stays unsaid, and the proof is bound to no
    // certificate.
    let mut room = room_with(None, Options { join_code: code, ..at("host:4177", Some(Known::ByNothing)) });
    let mut host = room.host().await;
    let over = Challenge { nonce: host.nonce, certificate: None };
    let join = host.joined().await;
    assert_eq!((join.token, join.proofs), (None, vec![token.proved(over, CLASS)]));
    drop(room);
    // Its own host is known by the pin at another address, too, and hears a proof that is bound to the certificate.
    let mut room = room_with(Some(hosts), at("other:4177", by(hosts)));
    let mut host = room.host().await;
    let over = Challenge { nonce: host.nonce, certificate: Some(hosts) };
    assert_eq!(host.joined().await.proofs, [token.proved(over, CLASS)]);
}

#[tokio::test(start_paused = true)]
async fn a_remembered_code_is_not_said_at_another_address() {
    let folder = tempfile::tempdir().unwrap();
    let keep = Some(folder.path().join("seat.json"));
    let at = |address: &str| Options { keep: keep.clone(), ..Options::new("Ann", address) };
    let mut first = room_of(Options { join_code: "KX7M-QR4T".parse().ok(), ..at("host:4177") });
    first.host().await.seat().await;
    first.until(|h| matches!(h.what, Happening::Seated { .. }).then_some(())).await;
    first.say.send(SeatInput::Leave).await.unwrap();
    first.seat.await.unwrap().unwrap();
    let mut again = room_of(at("other:4177"));
    let mut host = again.host().await;
    host.read().await;
    host.send(HostMessage::refusal(RefusalCode::JoinCodeWanted, "a code is needed")).await;
    assert_eq!(
        again.seat.await.unwrap().unwrap(),
        End::Refused("a code is needed; give it with --code".into())
    );
    assert_eq!(host.heard, [r#"{"type":"hello","protocol":5}"#]);
}

#[tokio::test(start_paused = true)]
async fn a_seat_where_nobody_can_be_asked_ends_and_says_how_to_give_the_code() {
    let mut room = asked(false, Some("KX7M-QR4T"));
    let mut host = room.host().await;
    assert_eq!(wants_a_code(&mut host).await, "KX7M-QR4T".parse().ok());
    let end = End::Refused("not that one; give it with --code".into());
    assert_eq!(room.seat.await.unwrap().unwrap(), end);
}

#[tokio::test(start_paused = true)]
async fn a_host_that_heard_nothing_in_time_is_dialled_again() {
    let mut room = room();
    let mut host = room.host().await;
    host.read().await;
    host.send(HostMessage::refusal(RefusalCode::HelloLate, "no hello within 5 s")).await;
    assert_eq!(room.lost().await, "no hello within 5 s");
    room.host().await.seat().await;
}

#[tokio::test(start_paused = true)]
async fn a_seat_that_was_seated_waits_for_its_class_where_another_one_is_held_and_says_its_code_there_once() {
    let mut room = asked(true, Some("KX7M-QR4T"));
    let token = room.host().await.seat().await;
    let mut codes = Vec::new();
    for _ in 0..3 {
        let mut host = room.host().await;
        let hello = host.read().await;
        let Some(SeatMessage::Hello(Hello { join_code, join: Some(join), .. })) = hello else {
            panic!("{hello:?}")
        };
        assert_eq!((join.class_id, join.token, join.proofs), (CLASS, None, host.proofs(&[token])));
        codes.push(join_code.is_some());
        host.send(HostMessage::refusal(RefusalCode::JoinCodeWrong, "not that one")).await;
    }
    assert_eq!(codes, [true, false, false]);
    assert_eq!(room.lost().await, "the link broke");
    assert_eq!(room.lost().await, "not that one; to sit down there, leave and start again");
    // Its class is there again.
    room.host().await.seat_again(&[token]).await;
    room.until(|h| matches!(h.what, Happening::LinkBack).then_some(())).await;
}

#[tokio::test(start_paused = true)]
async fn a_token_is_said_once_in_its_life_and_where_it_is_not_known_a_new_one_is_made() {
    let mut room = asked(true, Some("KX7M-QR4T"));
    let mut host = room.host().await;
    let first = host.seat().await;
    let mut heard = host.heard.concat();
    drop(host);
    for _ in 0..3 {
        let mut host = room.host().await;
        host.seat_again(&[first]).await;
        heard += &host.heard.concat();
        drop(host);
    }
    // The first hello was lost, or this is only somebody who says that they are the class.
    let mut host = room.host().await;
    assert_eq!(host.joined().await.proofs, host.proofs(&[first]));
    host.tell_class().await;
    let second = host.joined().await.token.unwrap();
    heard += &host.heard.concat();
    drop(host);
    // Its welcome was lost, too: what was said is proved from now on, after what was welcomed before.
    let mut host = room.host().await;
    assert_eq!(host.joined().await.proofs, host.proofs(&[first, second]));
    host.tell_class().await;
    let third = host.seat().await;
    heard += &host.heard.concat();
    drop(host);
    let mut host = room.host().await;
    host.seat_again(&[first, third]).await;
    heard += &host.heard.concat();
    for token in [first, second, third] {
        let said = |text: String| heard.matches(&text).count();
        assert_eq!((said(token.0.to_string()), said(token.0.simple().to_string())), (1, 0));
    }
}

#[tokio::test(start_paused = true)]
async fn a_host_that_names_its_class_without_end_gets_one_new_token_and_is_left() {
    let mut room = room();
    let mut host = room.host().await;
    let mut tokens = Vec::new();
    while let Some(SeatMessage::Hello(hello)) = host.read().await {
        tokens.extend(hello.join.and_then(|join| join.token));
        host.tell_class().await;
    }
    assert_eq!(tokens.len(), 1);
    assert_eq!(room.lost().await, "the host did not answer with a welcome");
}
