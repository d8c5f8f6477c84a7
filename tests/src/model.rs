//! A seat written from `protocol/README.md` alone: it uses none of the project's types, only JSON, and folds every
//! message into plain state, so that tests assert on what a seat knows and not on the order of messages.

use futures_util::{SinkExt, StreamExt};
use hmac::{Hmac, KeyInit, Mac};
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::TcpStream;
use tokio::time::timeout;
use tokio_tungstenite::tungstenite::Message;
use tokio_tungstenite::{WebSocketStream, client_async};

/// Anything a WebSocket can run over.
pub trait Pipe: AsyncRead + AsyncWrite + Unpin + Send {}
impl<T: AsyncRead + AsyncWrite + Unpin + Send> Pipe for T {}

/// How long a test waits for something that should come at once.
const PATIENCE: Duration = Duration::from_secs(30);

/// What a seat knows.
pub struct ModelSeat {
    socket: WebSocketStream<Box<dyn Pipe>>,
    /// The join code it says, if it has one.
    pub code: Option<String>,
    /// The token it said hello with.
    pub token: String,
    /// The greeting, whole.
    pub greeting: Value,
    /// Which class it is, as it was told, whole.
    pub class: Value,
    /// How often it was told.
    told: usize,
    /// The welcome, whole; null before it came.
    pub welcome: Value,
    /// What a host told that was asked for what was missed, whole.
    pub back: Value,
    /// Where the class stands.
    pub phase: String,
    /// The cues of the newest timetable.
    pub cues: Vec<Value>,
    /// The newest timetable's revision.
    pub revision: u64,
    /// Acknowledged scores, with how often.
    pub accepted: BTreeMap<String, usize>,
    /// Declined scores: id to code.
    pub declined: BTreeMap<String, String>,
    /// Names of revealed teas by code.
    pub revealed: BTreeMap<String, String>,
    /// The open tests by number, each as it was asked.
    pub tests: BTreeMap<u64, Value>,
    /// Who has come, as it was told last, whole.
    pub here: Value,
    /// When the last call ends, in host microseconds, if it was told of one.
    pub last_call_us: Option<i64>,
    /// Which cups count, as it was told last, whole.
    pub cups: Value,
    /// The last word on which sheets are open again.
    pub reopened: Value,
    /// What the teacher said, each as it came.
    pub said: Vec<Value>,
    /// Answers to pings.
    pub pongs: Vec<Value>,
    /// The refusal that ended the connection: code and reason.
    pub refusal: Option<(String, String)>,
    /// The connection is over.
    pub ended: bool,
    /// The highest `seq` heard.
    pub seq: u64,
}

impl ModelSeat {
    /// Opens a WebSocket.
    pub async fn connect(pipe: impl Pipe + 'static) -> Self {
        let pipe: Box<dyn Pipe> = Box::new(pipe);
        let (socket, _) = timeout(PATIENCE, client_async("ws://localhost/", pipe)).await.unwrap().unwrap();
        Self {
            socket,
            code: None,
            token: String::new(),
            greeting: Value::Null,
            class: Value::Null,
            told: 0,
            welcome: Value::Null,
            back: Value::Null,
            phase: String::new(),
            cues: Vec::new(),
            revision: 0,
            accepted: BTreeMap::new(),
            declined: BTreeMap::new(),
            revealed: BTreeMap::new(),
            tests: BTreeMap::new(),
            here: Value::Null,
            last_call_us: None,
            cups: Value::Null,
            reopened: Value::Null,
            said: Vec::new(),
            pongs: Vec::new(),
            refusal: None,
            ended: false,
            seq: 0,
        }
    }

    /// The same seat with a join code.
    pub fn with(self, code: &str) -> Self {
        Self { code: Some(code.into()), ..self }
    }

    /// Dials a listening host.
    pub async fn dial(address: &str) -> Self {
        Self::connect(TcpStream::connect(address).await.unwrap()).await
    }

    /// Waits for the greeting, says the join code alone, and waits to hear which class this is, or the refusal.
    pub async fn knock(&mut self) {
        self.until(|s| !s.greeting.is_null() || s.ended).await;
        self.say(json!({"type": "hello", "protocol": 5, "join_code": self.code})).await;
        self.until(|s| s.told > 0 || s.ended).await;
    }

    /// What shows a host that the seat knows its token.
    pub fn proofs(&self, class_id: &str, token: &str) -> Value {
        let bytes = |id: &str| uuid::Uuid::parse_str(id).unwrap().into_bytes();
        let hex = |bytes: &[u8]| bytes.iter().map(|byte| format!("{byte:02x}")).collect::<String>();
        let key = Sha256::digest([&b"seat\0"[..], &bytes(token)].concat());
        let mut proof = Hmac::<Sha256>::new_from_slice(&bytes(token)).unwrap();
        proof.update(&[&b"seat\0"[..], &bytes(self.greeting["nonce"].as_str().unwrap())].concat());
        proof.update(&bytes(class_id));
        json!([{"key": hex(&key[..8]), "proof": hex(&proof.finalize().into_bytes()[..16])}])
    }

    /// Asks for a place, with a token of before proved or a new one said, and waits for the welcome or the refusal. A host that does
    /// not know the one of before is told a new one.
    pub async fn join(self, name: &str, token: Option<&str>) -> Self {
        self.join_as(name, token, json!({})).await
    }

    /// The same with more to say: a role, a pourer's number.
    pub async fn join_as(mut self, name: &str, token: Option<&str>, more: Value) -> Self {
        if self.told == 0 {
            self.knock().await;
        }
        if let Some(token) = token {
            self.ask_for_place(name, Some(token), more.clone()).await;
        }
        if self.welcome.is_null() && self.back.is_null() && !self.ended {
            self.ask_for_place(name, None, more).await;
        }
        self
    }

    /// Says hello with a place, and waits for what comes of it.
    async fn ask_for_place(&mut self, name: &str, known: Option<&str>, more: Value) {
        let class_id = self.class["class_id"].as_str().unwrap_or_default().to_string();
        let mut join = json!({"class_id": class_id, "name": name});
        match known {
            Some(token) if !self.ended => {
                self.token = token.into();
                join["proofs"] = self.proofs(&class_id, token);
            }
            _ => {
                self.token = host::clock::fresh_id().to_string();
                join["token"] = json!(self.token);
            }
        }
        join.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        let told = self.told;
        self.say(json!({"type": "hello", "protocol": 5, "join_code": self.code, "join": join})).await;
        self.until(|s| !s.welcome.is_null() || !s.back.is_null() || s.told > told || s.ended).await;
    }

    /// Comes back with its token over a new connection, having everything up to `since`.
    pub async fn join_since(self, name: &str, token: &str, since: u64) -> Self {
        self.join_as(name, Some(token), json!({"since": since})).await
    }

    /// Sends one message.
    pub async fn say(&mut self, message: Value) {
        self.send(Message::text(message.to_string())).await;
    }

    /// Sends anything at all; a connection that is over swallows it.
    pub async fn send(&mut self, message: Message) {
        let _ = self.socket.send(message).await;
    }

    /// Sends a score for a cup with one attribute filled, and gives its id.
    pub async fn score(
        &mut self,
        code: &str,
        steep: u32,
        revision: u32,
        attribute: &str,
        value: i32,
    ) -> String {
        let id = uuid::Uuid::from_u128(rand_like(&self.token, code, steep, revision)).to_string();
        let score = json!({"type": "score", "id": id, "code": code, "steep": steep, "revision": revision,
            "values": {attribute: value}});
        self.say(score).await;
        id
    }

    /// Sends a score that has only words, and gives its id.
    pub async fn tick(&mut self, code: &str, steep: u32, revision: u32, words: &[&str]) -> String {
        let id = uuid::Uuid::from_u128(rand_like(&self.token, code, steep, revision)).to_string();
        let score = json!({"type": "score", "id": id, "code": code, "steep": steep, "revision": revision,
            "values": {}, "words": words});
        self.say(score).await;
        id
    }

    /// The codes of this seat's cups in an open test.
    pub fn cups(&self, test: u64) -> Vec<String> {
        let codes = self.tests[&test]["codes"].as_array().unwrap().iter();
        codes.map(|code| code.as_str().unwrap().to_string()).collect()
    }

    /// Answers a test, and gives the answer's id.
    pub async fn answer(&mut self, test: u64, pick: &str, revision: u32) -> String {
        let id = uuid::Uuid::from_u128(rand_like(&self.token, pick, test as u32, revision)).to_string();
        let answer = json!({"type": "answer", "id": id, "test": test, "pick": pick, "revision": revision});
        self.say(answer).await;
        id
    }

    /// Hears messages until something is so. Panics when it does not become so.
    pub async fn until(&mut self, so: impl Fn(&Self) -> bool) {
        let wait = async {
            while !so(self) {
                assert!(!self.ended, "the connection ended first: {:?}", self.refusal);
                self.hear().await;
            }
        };
        if timeout(PATIENCE, wait).await.is_err() {
            panic!(
                "waited in vain; phase {}, accepted {:?}, declined {:?}",
                self.phase, self.accepted, self.declined
            );
        }
    }

    /// Hears messages until the connection is over.
    pub async fn until_ended(&mut self) {
        self.until(|s| s.ended).await;
    }

    async fn hear(&mut self) {
        match self.socket.next().await {
            Some(Ok(Message::Text(text))) => self.fold(serde_json::from_str(&text).unwrap()),
            Some(Ok(Message::Close(_)) | Err(_)) | None => self.ended = true,
            Some(Ok(_)) => {}
        }
    }

    fn fold(&mut self, message: Value) {
        let text = |value: &Value| value.as_str().unwrap().to_string();
        if let Some(seq) = message["seq"].as_u64().filter(|_| message["type"] != "accepted") {
            assert!(seq >= self.seq, "seq went back from {} to {seq}", self.seq);
            self.seq = seq;
        }
        match message["type"].as_str().unwrap() {
            "greeting" => self.greeting = message,
            "class" => {
                self.told += 1;
                self.class = message;
            }
            "here" => self.here = message,
            "last_call" => self.last_call_us = message["until_us"].as_i64(),
            "welcome" => {
                self.last_call_us = message["last_call_us"].as_i64();
                self.course(&message);
                self.reveal(&message["teas"]);
                self.open(&message["tests"]);
                self.welcome = message;
            }
            "back" => {
                self.phase = text(&message["phase"]);
                if !message["timetable"].is_null() {
                    self.course(&message);
                }
                if !message["teas"].is_null() {
                    self.reveal(&message["teas"]);
                }
                self.open(&message["tests"]);
                self.last_call_us = message["last_call_us"].as_i64();
                self.back = message;
            }
            "test" => self.open(&json!([message])),
            "course" => self.course(&message),
            "accepted" => *self.accepted.entry(text(&message["id"])).or_default() += 1,
            "declined" => drop(self.declined.insert(text(&message["id"]), text(&message["code"]))),
            "revealed" => self.reveal(&message["teas"]),
            "cups" => self.cups = message,
            "reopened" => self.reopened = message,
            "said" => self.said.push(message),
            "pong" => self.pongs.push(message),
            "refusal" => self.refusal = Some((text(&message["code"]), text(&message["reason"]))),
            other => panic!("the document knows no `{other}`"),
        }
    }

    fn course(&mut self, message: &Value) {
        self.phase = message["phase"].as_str().unwrap().to_string();
        let timetable = &message["timetable"];
        let revision = timetable["revision"].as_u64().unwrap();
        if revision >= self.revision {
            self.revision = revision;
            self.cues = timetable["cues"].as_array().unwrap().clone();
        }
        let keys: BTreeSet<String> = self
            .cues
            .iter()
            .map(|c| format!("{} {} {}", c["action"], c["code"], c.get("round").unwrap_or(&c["steep"])))
            .collect();
        assert_eq!(keys.len(), self.cues.len(), "a cue stands twice in the timetable");
        assert!(self.cues.is_sorted_by_key(|c| c["at_us"].as_i64()), "the timetable is not in order");
    }

    fn open(&mut self, tests: &Value) {
        for test in tests.as_array().into_iter().flatten() {
            let codes: BTreeSet<&str> =
                test["codes"].as_array().unwrap().iter().filter_map(Value::as_str).collect();
            assert!(codes.len() >= 2 && test["question"].is_string(), "{test}");
            self.tests.insert(test["test"].as_u64().unwrap(), test.clone());
        }
    }

    fn reveal(&mut self, teas: &Value) {
        for tea in teas.as_array().unwrap() {
            if let (Some(code), Some(name)) = (tea["code"].as_str(), tea["name"].as_str()) {
                self.revealed.insert(code.into(), name.into());
            }
        }
    }
}

/// An id that is the same for the same cup and revision of the same seat, and no other.
fn rand_like(token: &str, code: &str, steep: u32, revision: u32) -> u128 {
    use std::hash::{DefaultHasher, Hash, Hasher};
    let half = |salt: u8| {
        let mut hasher = DefaultHasher::new();
        (salt, token, code, steep, revision).hash(&mut hasher);
        u128::from(hasher.finish())
    };
    half(0) << 64 | half(1)
}
