//! `kettlecall open`.

use super::class_file::{Found, find};
use crate::console;
use crate::console::{About, address, words};
use crate::exit::Failure;
use host::door::limits::allow_many_connections;
use host::{Host, Opening};
use ledger::Sqlite;
use std::io::IsTerminal;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use tracing_subscriber::EnvFilter;

/// Holds a class until it is closed or stopped.
pub fn run(
    class: &Path,
    listen: SocketAddr,
    ledger: Option<PathBuf>,
    pace: f64,
    plain: bool,
    seed: Option<u64>,
) -> Result<(), Failure> {
    let on_terminal = !plain && std::io::stdout().is_terminal() && std::io::stdin().is_terminal();
    let Found { class, seed, ledger: path } = find(class, ledger, seed)?;
    log(on_terminal);
    allow_many_connections();
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build()?;
    let done = runtime.block_on(async {
        // The listener comes first: an address in use must not leave a ledger behind.
        let listener = tokio::net::TcpListener::bind(listen).await.map_err(|e| Failure {
            words: format!("can't listen at {listen}: {e}; choose another address or port with --listen"),
            code: 1,
        })?;
        let opened = host::open(Sqlite::open(&path)?, class, Opening::now(seed, pace))?;
        let (heading, mut notices) = (words::heading(&opened.room), opened.notices.clone());
        if pace != 1.0 {
            notices.push(format!("rehearsal: the class runs {pace} times as fast"));
        }
        let mut host = Host::start(opened);
        let listening = host.listen(listener)?;
        let join = format!("kettleseat {} --name YOUR-NAME", address::to_type(listening));
        let about = About { heading, join, listening: listening.to_string(), ledger: path, notices };
        console::run(host, about, on_terminal).await?;
        Ok(())
    });
    // A thread may still wait for standard input; the program does not wait for it.
    runtime.shutdown_background();
    done
}

/// Diagnostics go to standard error, and nowhere while the screen has the terminal, unless `RUST_LOG` asks for them.
fn log(on_terminal: bool) {
    if on_terminal && std::env::var_os("RUST_LOG").is_none() {
        return;
    }
    let filter = EnvFilter::builder()
        .with_default_directive(tracing::Level::WARN.into())
        .from_env_lossy()
        // These two report every poll.
        .add_directive("tungstenite=warn".parse().unwrap_or_else(|_| tracing::Level::WARN.into()))
        .add_directive("tokio_tungstenite=warn".parse().unwrap_or_else(|_| tracing::Level::WARN.into()));
    tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr).init();
}
