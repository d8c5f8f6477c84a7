//! The program in lines, seated at a small scripted host over a real socket.
#![expect(clippy::unwrap_used, reason = "a test may stop at the first surprise, also beside a test function")]

use crate::host::{CLASS, Host, NONCE, PATIENCE, welcome};
use protocol::wire::{HostMessage, Join, RefusalCode, Welcome};
use protocol::{Action, Challenge, Code, Cue, HostTime, Phase, TeaCard, Timetable};
use std::process::Stdio;
use tokio::io::{AsyncBufReadExt, AsyncWriteExt, BufReader, Lines};
use tokio::net::TcpListener;
use tokio::process::{Child, ChildStdout, Command};
use tokio::time::timeout;

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

fn one_tea() -> Welcome {
    let code = Code::new(417).unwrap();
    let cue = |at_s: i64, action, length_s| {
        Cue::new(HostTime(at_s * 1_000_000), action, Some(code), 1, 1, length_s)
    };
    let cues = vec![cue(10, Action::Pour, 5), cue(32, Action::Decant, 1)];
    let card = TeaCard { code, steeps: 1, name: None, leaf: None, recipe: None };
    welcome(vec![card], Timetable::new(1, cues))
}

#[tokio::test]
async fn a_person_is_cued_scores_by_typing_and_keeps_the_score_across_a_restart() {
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap().to_string();
    let directory = tempfile::tempdir().unwrap();
    let keep = directory.path().join("seat.json");

    let mut program = Program::start(&address, &keep);
    let mut host = Host::take(&listener).await;
    let first = host.joined().await;
    host.send(HostMessage::Welcome(Box::new(one_tea()))).await;
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
    let again = host.joined().await;
    let proofs = vec![first.token.unwrap().proved(Challenge::plain(NONCE), CLASS)];
    assert_eq!(again, Join { proofs, token: None, ..first }, "the same token after a restart, proved");
    host.send(HostMessage::Welcome(Box::new(one_tea()))).await;
    assert_eq!(host.score().await, score, "after a restart the very same score is sent again");
    host.send(HostMessage::Accepted { seq: 4, id: score.id, link: String::new() }).await;
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
    program.type_line("417 aroma 6").await;
    let (mut host, second) = answering.await.unwrap();
    assert_eq!((second.steep, second.revision), (1, 2));
    host.send(HostMessage::Accepted { seq: 5, id: second.id, link: String::new() }).await;
    let timetable = one_tea().timetable;
    host.send(HostMessage::Course { seq: 6, phase: Phase::Closed, timetable }).await;
    program.until("the class is closed").await;
    program.until("stay for the reveal, or type leave").await;
    let card = TeaCard { name: Some("Lantern Slope".into()), ..one_tea().teas[0].clone() };
    host.send(HostMessage::Revealed { seq: 7, teas: vec![card] }).await;
    program.until("revealed: 417 Lantern Slope").await;
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
