//! The program in lines, seated at a small scripted host over a real socket.
#![expect(clippy::unwrap_used, reason = "a test may stop at the first surprise, also beside a test function")]

use futures_util::{SinkExt, StreamExt};
use protocol::wire::{HostMessage, PROTOCOL, RefusalCode, SeatMessage, Welcome, from_json};
use protocol::{Action, Code, Cue, HostTime, Phase, Score, SeatId, Sheet, TeaCard, Timetable};
use std::process::Stdio;
use std::time::Duration;
use tokio::io::{AsyncBufReadExt, AsyncWriteExt, BufReader, Lines};
use tokio::net::{TcpListener, TcpStream};
use tokio::process::{Child, ChildStdout, Command};
use tokio::time::timeout;
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::Message;
use uuid::Uuid;

/// Far longer than anything here takes; a test that waits this long has failed.
const PATIENCE: Duration = Duration::from_secs(30);

struct Program {
    child: Child,
    lines: Lines<BufReader<ChildStdout>>,
}

impl Program {
    fn start(address: &str, keep: &std::path::Path) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_kettleseat"));
        command.args([address, "--name", "Ann", "--plain", "--stamp", "--keep"]).arg(keep);
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null()).kill_on_drop(true);
        let mut child = command.spawn().unwrap();
        let lines = BufReader::new(child.stdout.take().unwrap()).lines();
        Self { child, lines }
    }

    async fn until(&mut self, words: &str) -> String {
        while let Some(line) = timeout(PATIENCE, self.lines.next_line()).await.expect(words).unwrap() {
            if line.contains(words) {
                return line;
            }
        }
        panic!("the program ended without saying `{words}`");
    }

    async fn type_line(&mut self, line: &str) {
        self.child.stdin.as_mut().unwrap().write_all(format!("{line}\n").as_bytes()).await.unwrap();
    }

    async fn ask(&mut self, question: &str, answer: &str) -> String {
        self.type_line(question).await;
        self.until(answer).await
    }

    async fn code(mut self) -> Option<i32> {
        self.child.wait().await.unwrap().code()
    }
}

struct Host(WebSocketStream<TcpStream>);

impl Host {
    async fn take(listener: &TcpListener) -> Self {
        let (stream, _) = listener.accept().await.unwrap();
        let mut host = Self(tokio_tungstenite::accept_async(stream).await.unwrap());
        let class_id = Uuid::from_u128(9);
        host.send(HostMessage::Greeting { protocol: PROTOCOL, class_id, title: "Two ways".into() }).await;
        host
    }

    async fn send(&mut self, message: HostMessage) {
        self.0.send(Message::text(message.to_json())).await.unwrap();
    }

    async fn read(&mut self) -> SeatMessage {
        match timeout(PATIENCE, self.0.next()).await.unwrap().unwrap().unwrap() {
            Message::Text(text) => from_json(text.as_str()).unwrap(),
            other => panic!("{other:?}"),
        }
    }

    /// The next score; pings are answered with a host time of 30 s plus the seat's own.
    async fn score(&mut self) -> Score {
        loop {
            match self.read().await {
                SeatMessage::Ping { t1_us } => {
                    let at_us = t1_us + 30_000_000;
                    self.send(HostMessage::Pong { t1_us, t2_us: at_us, t3_us: at_us }).await;
                }
                SeatMessage::Score(score) => return score,
                SeatMessage::Writing { .. } => {}
                other => panic!("{other:?}"),
            }
        }
    }
}

fn welcome() -> Welcome {
    let code = Code::new(417).unwrap();
    let cue = |at_s: i64, action, length_s| Cue {
        at: HostTime(at_s * 1_000_000),
        action,
        code: Some(code),
        steep: 1,
        hands: 1,
        length_s,
        steep_s: (action == Action::Pour).then_some(1),
        temp_c: None,
        kettle: None,
        water_ml: None,
        vessels: None,
    };
    Welcome {
        seat: SeatId(Uuid::from_u128(1)),
        name: "Ann".into(),
        seq: 3,
        pace: 1.0,
        clock: None,
        phase: Phase::Running,
        sheet: Sheet::default(),
        teas: vec![TeaCard { code, steeps: 1, name: None, leaf: None, recipe: None }],
        pourers: None,
        hands: Some(1),
        role: protocol::Role::Scores,
        owes_from_us: protocol::HostTime(0),
        order: Vec::new(),
        kettles: Vec::new(),
        last_call_us: None,
        timetable: Timetable::new(1, vec![cue(10, Action::Pour, 5), cue(32, Action::Decant, 1)]),
        scores: Vec::new(),
        tests: Vec::new(),
        answers: Vec::new(),
    }
}

#[tokio::test]
async fn a_person_is_cued_scores_by_typing_and_keeps_the_score_across_a_restart() {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap().to_string();
    let directory = tempfile::tempdir().unwrap();
    let keep = directory.path().join("seat.json");

    let mut program = Program::start(&address, &keep);
    let mut host = Host::take(&listener).await;
    let SeatMessage::Hello(first) = host.read().await else { panic!("the first message is a hello") };
    host.send(HostMessage::Welcome(Box::new(welcome()))).await;
    program.until("seated as Ann at \"Two ways\"").await;
    let (score, host) = {
        let answering = tokio::spawn(async move { (host.score().await, host) });
        program.until("now: decant 417").await;
        program.type_line("417/1 6").await;
        program.until("not taken: 417 steep 1 is not in the cup yet; score it in 0:01").await;
        program.until("ready: 417 steep 1").await;
        program.type_line("417/1 7 - 5 8 strength -1 note warm bread").await;
        answering.await.unwrap()
    };
    assert_eq!((score.steep, score.values.len(), score.note.as_str()), (1, 3, "warm bread"));
    let kept = std::fs::read_to_string(&keep).unwrap();
    assert!(kept.contains(&score.id.to_string()), "it is on disk before it is sent");
    drop(host);
    program.child.kill().await.unwrap();

    let mut program = Program::start(&address, &keep);
    let mut host = Host::take(&listener).await;
    assert!(
        matches!(host.read().await, SeatMessage::Hello(again) if again == first),
        "the same token after a restart"
    );
    host.send(HostMessage::Welcome(Box::new(welcome()))).await;
    assert_eq!(host.score().await, score, "after a restart the very same score is sent again");
    host.send(HostMessage::Accepted { seq: 4, id: score.id }).await;
    program.until("kept: 417 steep 1 (aroma 7, aftertaste 5, liking 8, too thin, “warm bread”)").await;
    let answering = tokio::spawn(async move {
        let second = host.score().await;
        (host, second)
    });
    let line = program.until("now: decant 417").await;
    let at_s: f64 = line.trim_start_matches('[').split(']').next().unwrap().trim().parse().unwrap();
    assert!((32.0..33.0).contains(&at_s), "{line}");
    // There is no line for the instant at which a scored cup is there: the seat is asked.
    while !program.ask("teas", "417: steep 1").await.contains("resting") {}
    program.type_line("417 6").await;
    let (mut host, second) = answering.await.unwrap();
    assert_eq!((second.steep, second.revision), (1, 2));
    host.send(HostMessage::Accepted { seq: 5, id: second.id }).await;
    let timetable = welcome().timetable;
    host.send(HostMessage::Course { seq: 6, phase: Phase::Closed, timetable }).await;
    program.until("the class is closed").await;
    assert_eq!(program.code().await, Some(0));
}

#[tokio::test]
async fn a_refusal_for_good_ends_with_3() {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap().to_string();
    let directory = tempfile::tempdir().unwrap();
    let mut program = Program::start(&address, &directory.path().join("seat.json"));
    let mut host = Host::take(&listener).await;
    host.read().await;
    host.send(HostMessage::refusal(RefusalCode::NameTaken, "another seat is named Ann")).await;
    program.until("refused: another seat is named Ann").await;
    assert_eq!(program.code().await, Some(3));
}
