//! Child processes: the same program started again in a role. Lines of JSON go in and out over its standard streams.
//! A child ends when its parent does; a parent that fails ends its children.

use super::{Fallible, bare, fanout_roles, floor, host, ingest_roles, seats, siege_roles};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;
use tokio::runtime::Builder;
use tokio::sync::mpsc;

/// What the first argument of a child begins with.
pub const ROLE: &str = "--role=";
/// How long anything that a child is asked for may take.
const PATIENCE: Duration = Duration::from_secs(120);

/// A child process, from its parent's side. Dropped, it is ended.
pub struct Player {
    role: &'static str,
    child: Child,
    input: ChildStdin,
    lines: Receiver<String>,
}

impl Player {
    /// Starts a child in a role.
    pub fn start(role: &'static str) -> Fallible<Self> {
        let mut command = Command::new(std::env::current_exe()?);
        command.arg(format!("{ROLE}{role}")).stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut child = command.spawn()?;
        let (Some(input), Some(output)) = (child.stdin.take(), child.stdout.take()) else {
            return Err("a child has no standard streams".into());
        };
        let (said, lines) = channel();
        std::thread::spawn(move || {
            let lines = BufReader::new(output).lines().map_while(Result::ok);
            lines.take_while(|line| said.send(line.clone()).is_ok()).count()
        });
        Ok(Self { role, child, input, lines })
    }

    /// Starts a child in a role, gives it its first order and waits for the answer.
    pub fn with<T: DeserializeOwned>(role: &'static str, order: &impl Serialize) -> Fallible<(Self, T)> {
        let mut player = Self::start(role)?;
        let answer = player.ask(order)?;
        Ok((player, answer))
    }

    /// Says something to the child.
    pub fn tell(&mut self, order: &impl Serialize) -> Fallible<()> {
        writeln!(self.input, "{}", serde_json::to_string(order)?)?;
        Ok(self.input.flush()?)
    }

    /// Waits for what the child says next.
    pub fn hear<T: DeserializeOwned>(&mut self) -> Fallible<T> {
        let line = self.lines.recv_timeout(PATIENCE);
        let line = line.map_err(|e| format!("nothing more comes from the {}: {e}", self.role))?;
        Ok(serde_json::from_str(&line)?)
    }

    /// Says something and waits for the answer.
    pub fn ask<T: DeserializeOwned>(&mut self, order: &impl Serialize) -> Fallible<T> {
        self.tell(order)?;
        self.hear()
    }
}

impl Drop for Player {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The parent, from a child's side.
pub struct Parent(mpsc::UnboundedReceiver<String>);

impl Parent {
    /// Waits for the next order.
    pub async fn hear<T: DeserializeOwned>(&mut self) -> Fallible<T> {
        let line = self.0.recv().await.ok_or("the parent is gone")?;
        Ok(serde_json::from_str(&line)?)
    }

    /// Says something to the parent.
    pub fn tell(&self, what: &impl Serialize) -> Fallible<()> {
        let mut out = std::io::stdout().lock();
        writeln!(out, "{}", serde_json::to_string(what)?)?;
        Ok(out.flush()?)
    }
}

/// Plays a role until it is over or the parent is gone. Hosts have the threads that the teacher's program has, rooms
/// of seats the one that a seat's program has.
pub fn play(role: &str) -> Fallible<()> {
    let is_host = role.ends_with("host");
    let mut builder = if is_host { Builder::new_multi_thread() } else { Builder::new_current_thread() };
    let runtime = builder.worker_threads(2).enable_all().build()?;
    let (say, orders) = mpsc::unbounded_channel();
    let (gone, parent_gone) = tokio::sync::oneshot::channel::<()>();
    std::thread::spawn(move || {
        let lines = std::io::stdin().lock().lines().map_while(Result::ok);
        lines.take_while(|line| say.send(line.clone()).is_ok()).count();
        drop(gone);
    });
    let parent = Parent(orders);
    let done = runtime.block_on(async {
        let part = async {
            match role {
                "host" => host::play(parent).await,
                "seats" => seats::play(parent).await,
                "bare host" => bare::host(parent).await,
                "bare seats" => bare::seats(parent).await,
                "floor" => floor::play(parent).await,
                "readers" => fanout_roles::readers(parent).await,
                "broadcast host" => fanout_roles::host(parent).await,
                "scorers" => ingest_roles::scorers(parent).await,
                "strangers" => siege_roles::strangers(parent).await,
                "late" => siege_roles::late(parent).await,
                "commit host" => ingest_roles::host(parent).await,
                _ => Err("no such role".into()),
            }
        };
        tokio::select! {
            done = part => done,
            _ = parent_gone => Ok(()),
        }
    });
    runtime.shutdown_background();
    done
}
