//! A seat's program on a way on which every message is kept, and where somebody else may answer.

use client::drive::{self, Options};
use futures_util::{SinkExt, StreamExt};
use host::door::Door;
use protocol::wire::{Hello, HostMessage, SeatMessage, from_json};
use protocol::{Nonce, Token};
use seat::app::{End, Happened, Happening, SeatInput};
use std::path::PathBuf;
use std::sync::{Arc, Mutex};
use std::time::Duration;
use tokio::io::{DuplexStream, duplex};
use tokio::sync::{mpsc, watch};
use tokio::task::JoinHandle;
use tokio::time::timeout;
use tokio_tungstenite::tungstenite::Message;
use tokio_tungstenite::{accept_async, client_async};

/// Longer than anything here takes, in the room's time.
const PATIENCE: Duration = Duration::from_secs(3_600);

/// Messages one after the other.
type Messages = Arc<Mutex<Vec<String>>>;

/// Who answers at the address of the class.
#[derive(Clone)]
pub enum There {
    /// The class's own host, over a way on which every message is kept.
    Host(Door),
    /// Somebody else, who answers the hellos one after the other with this.
    Pretender(Vec<HostMessage>),
    Nobody,
}

/// A seat's program, and all that it has said and heard, message by message.
pub struct Program {
    pub there: watch::Sender<There>,
    said: Messages,
    heard: Messages,
    pub say: mpsc::Sender<SeatInput>,
    happenings: mpsc::Receiver<Happened>,
    pub end: JoinHandle<End>,
}

impl Program {
    pub fn start(there: There, code: &str, keep: Option<PathBuf>) -> Self {
        let (there, answers) = watch::channel(there);
        let (said, heard) = <(Messages, Messages)>::default();
        let kept = (said.clone(), heard.clone());
        let dialler = move || {
            let (near, far) = duplex(64 * 1024);
            tokio::spawn(answer(far, answers.clone(), kept.clone()));
            async move { Ok(near) }
        };
        let options = Options { join_code: code.parse().ok(), keep, ..Options::new("Ann", "tea:4177") };
        let (say, inputs) = mpsc::channel(4);
        let (outputs, happenings) = mpsc::channel(64);
        let end = tokio::spawn(async { drive::run(dialler, options, inputs, outputs).await.unwrap() });
        Self { there, said, heard, say, happenings, end }
    }

    /// The first happening that is so.
    pub async fn until(&mut self, so: impl Fn(&Happening) -> bool) {
        let wait = async {
            loop {
                let happened = self.happenings.recv().await.unwrap();
                if so(&happened.what) {
                    return;
                }
            }
        };
        timeout(PATIENCE, wait).await.unwrap()
    }

    pub async fn seated(&mut self) {
        self.until(|what| matches!(what, Happening::Seated { .. })).await;
    }

    pub async fn linked_again(&mut self) {
        self.until(|what| matches!(what, Happening::LinkBack)).await;
    }

    pub async fn unlinked(&mut self) {
        self.there.send_replace(There::Nobody);
        self.until(|what| matches!(what, Happening::NoLink { .. })).await;
    }

    /// What it has said since it was asked last.
    pub fn said(&self) -> Vec<String> {
        std::mem::take(&mut self.said.lock().unwrap())
    }

    pub fn welcome(&self) -> HostMessage {
        let heard = self.heard.lock().unwrap();
        let mut all = heard.iter().rev().map(|text| from_json(text).unwrap());
        all.find(|message| matches!(message, HostMessage::Welcome(_))).unwrap()
    }
}

/// One connection of a seat's, until somebody else is there.
async fn answer(far: DuplexStream, mut there: watch::Receiver<There>, (said, heard): (Messages, Messages)) {
    let now = there.borrow_and_update().clone();
    let work = async {
        let mut seat = accept_async(far).await.ok()?;
        match now {
            There::Nobody => None,
            There::Pretender(answers) => {
                let greeting = HostMessage::greeting(Nonce(*host::clock::fresh_id().as_bytes()));
                seat.send(Message::text(greeting.to_json())).await.ok()?;
                for answer in answers {
                    let hello = seat.next().await?.ok()?;
                    said.lock().unwrap().push(hello.to_text().ok()?.to_string());
                    seat.send(Message::text(answer.to_json())).await.ok()?;
                }
                while let Some(Ok(more)) = seat.next().await {
                    said.lock().unwrap().push(more.to_text().ok()?.to_string());
                }
                None::<()>
            }
            There::Host(door) => {
                let (ours, theirs) = duplex(64 * 1024);
                tokio::spawn(door.serve(theirs, None));
                let (mut host, _) = client_async("ws://localhost/", ours).await.ok()?;
                loop {
                    tokio::select! {
                        message = seat.next() => {
                            let message = message?.ok()?;
                            said.lock().unwrap().push(message.to_text().ok()?.to_string());
                            host.send(message).await.ok()?;
                        }
                        message = host.next() => {
                            let message = message?.ok()?;
                            heard.lock().unwrap().push(message.to_text().ok()?.to_string());
                            seat.send(message).await.ok()?;
                        }
                    }
                }
            }
        }
    };
    tokio::select! { _ = work => {}, _ = there.changed() => {} }
}

/// The tokens that were said.
pub fn tokens(said: &[String]) -> Vec<Token> {
    let hellos = said.iter().filter_map(|text| match from_json(text) {
        Ok(SeatMessage::Hello(Hello { join, .. })) => join,
        _ => None,
    });
    hellos.filter_map(|join| join.token).collect()
}
