//! `kettlecall open`.

mod terms;
mod tls;

use super::class_file::{Found, find};
use super::put::end_unknown;
use super::whole;
use crate::cli::Open;
use crate::console;
use crate::console::{About, AtClose, address, keys, words};
use crate::exit::Failure;
use host::consoles::Consoles;
use host::door::limits::{allow_many_connections, machine_name};
use host::door::names::Names;
use host::door::terms::Terms;
use host::tls::Tls;
use host::{Host, Opening, stored};
use ledger::{Ending, Ledger, LedgerError, Sqlite, refuse_in_use};
use protocol::text::Messages;
use std::io::IsTerminal;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tracing::Level;
use tracing_subscriber::filter::Targets;
use tracing_subscriber::layer::SubscriberExt;
use tracing_subscriber::util::SubscriberInitExt;

/// Gives a class until it is closed or stopped.
pub fn run(asked: Open) -> Result<(), Failure> {
    let Open { listen, pace, plain, seed, open_door, .. } = asked;
    let (class, ledger) = (asked.class.as_path(), asked.ledger.clone());
    let on_terminal = !plain && std::io::stdout().is_terminal() && std::io::stdin().is_terminal();
    let (named, explicit) = (class, ledger.is_some());
    // Read by another name than its host's, a ledger lacks its newest entries and would look damaged.
    let is_ledger = class.extension().is_some_and(|e| e == "ledger");
    ledger.as_deref().or(is_ledger.then_some(class)).map_or(Ok(()), refuse_in_use)?;
    let Found { class, seed, ledger: found } = find(class, ledger, seed, "the class was not opened")?;
    // What is asked for by name is taken as it is, or refused.
    let Own { path, notice } = if explicit { Own::asked(found) } else { Own::of(found, named, pace)? };
    whole::refuse_left_behind(&path)?;
    let before = stored::door(&path)?;
    let tls = tls::of(&asked, before.tls, &path)?;
    let door = terms::of(&asked, before, tls.as_ref());
    log(on_terminal)?;
    allow_many_connections();
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build()?;
    let done = runtime.block_on(async {
        // The listener comes first: an address in use must not leave a ledger behind.
        let listener = tokio::net::TcpListener::bind(listen).await.map_err(|e| Failure {
            words: format!("can't listen at {listen}: {e}; choose another address or port with --listen"),
            code: 1,
        })?;
        let ledger = Sqlite::open_noting(&path, &end_unknown)?;
        let state = state(&ledger);
        let opening = Opening { open_door, door, ..Opening::now(seed, pace) };
        let opened = host::open(ledger, class, opening)?;
        let (heading, mut notices) = (words::heading(&opened.room), opened.notices.clone());
        notices.extend(notice);
        notices.extend(state);
        if pace != 1.0 {
            notices.push(format!("rehearsal: the class runs {pace} times as fast"));
        }
        notices.extend(terms::notices(&asked, before, door));
        notices.extend(tls::notice(listen, tls.as_ref()));
        // Last, so that it is what is read last.
        notices.extend(opened.before_start());
        let pin = tls.as_ref().map(Tls::pin);
        let names = Names::of(machine_name().as_deref(), &asked.name);
        let (consoles, come) = Consoles::new();
        let (keys, drawn) = keys::open(&path, opened.room.keys, consoles.clone()).map_err(|e| Failure {
            words: format!("the class's keys can't be kept in {}: {e}", keys::beside(&path).display()),
            code: 1,
        })?;
        let mut host = Host::start(opened).on(Terms { names, tls, consoles, ..Terms::default() });
        if let Some(drawn) = drawn {
            // It is never refused.
            let _ = host.handle.teacher(drawn).await?;
        }
        let listening = host.listen(listener)?;
        let (address, listening) = (address::to_type(listening).to_string(), listening.to_string());
        let about = About {
            heading,
            address,
            pin,
            open_door,
            listening,
            ledger: path,
            notices,
            keys: Some(Arc::new(keys)),
            at_close: AtClose::default(),
        };
        console::run(host, about, come, on_terminal).await?;
        Ok(())
    });
    // A thread may still wait for standard input; the program does not wait for it.
    runtime.shutdown_background();
    done
}

/// What is to be said of a ledger that was opened.
fn state(ledger: &Sqlite) -> Option<String> {
    let Some(found) = ledger.found().filter(|found| found.entries > 0) else {
        return Some(format!("a new ledger begins: {}", ledger.path().display()));
    };
    match found.ending {
        Ending::Unmarked => Some(
            "the ledger's -mark was not beside it: nothing looks damaged, but whether the last entries are there can't be told".into(),
        ),
        Ending::Unknown => Some(format!(
            "the ledger is from an earlier program, and not chained before entry {}: what was changed in entries 1 to {} until now can't be seen; what is changed from here on is noticed",
            found.entries + 1, found.entries
        )),
        Ending::Closed | Ending::Open => None,
    }
}

/// Which ledger an opening writes: a rehearsal and the class itself have each their own.
struct Own {
    path: PathBuf,
    notice: Option<String>,
}

impl Own {
    fn asked(path: PathBuf) -> Self {
        Self { path, notice: None }
    }

    /// The one that goes with what was named, a class file or a ledger.
    fn of(found: PathBuf, named: &Path, pace: f64) -> Result<Self, LedgerError> {
        let ledger_named = found == named;
        if pace != 1.0 {
            return Ok(Self::asked(if ledger_named { found } else { found.with_extension(REHEARSAL) }));
        }
        let mut path = found.clone();
        while stored::first_pace(&path)?.is_some_and(|pace| pace != 1.0) {
            path = of_the_class(&path);
        }
        let notice = (path != found).then(|| {
            let goes = if path.exists() { "goes on" } else { "begins" };
            format!("{} is a rehearsal's; the class itself {goes} in {}", found.display(), path.display())
        });
        Ok(Self { path, notice })
    }
}

/// What the ledger of a rehearsal ends in.
const REHEARSAL: &str = "rehearsal.ledger";

/// The ledger of the class itself beside that of a rehearsal.
fn of_the_class(rehearsal: &Path) -> PathBuf {
    let name = rehearsal.file_name().unwrap_or_default().to_string_lossy();
    match name.strip_suffix(&format!(".{REHEARSAL}")) {
        Some(name) => rehearsal.with_file_name(format!("{name}.ledger")),
        // From a time when rehearsals lay where classes do.
        None => rehearsal.with_extension("class.ledger"),
    }
}

/// Diagnostics go to standard error, and nowhere while the screen has the terminal, unless `RUST_LOG` asks for them. Where
/// nobody reads them, they hold up nobody.
fn log(on_terminal: bool) -> std::io::Result<()> {
    if on_terminal && std::env::var_os("RUST_LOG").is_none() {
        return Ok(());
    }
    let asked = std::env::var("RUST_LOG").ok().and_then(|asked| asked.parse::<Targets>().ok());
    let filter = asked.unwrap_or_else(|| Targets::new().with_default(Level::WARN));
    // These two report every poll.
    let filter = filter.with_target("tungstenite", Level::WARN).with_target("tokio_tungstenite", Level::WARN);
    let out = writer::Writer::stderr()?;
    let said = tracing_subscriber::fmt::layer().with_writer(move || Messages(out.lines()));
    tracing_subscriber::registry().with(said).with(filter).init();
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rehearsal_and_the_class_have_ledgers_of_their_own() {
        let of = |found: &str, named: &str, pace| Own::of(found.into(), Path::new(named), pace).unwrap().path;
        assert_eq!(of("a/b.ledger", "a/b.toml", 60.0), Path::new("a/b.rehearsal.ledger"));
        assert_eq!(of("a/b.ledger", "a/b.toml", 1.0), Path::new("a/b.ledger"));
        assert_eq!(
            of("a/b.rehearsal.ledger", "a/b.rehearsal.ledger", 60.0),
            Path::new("a/b.rehearsal.ledger")
        );
        assert_eq!(of_the_class(Path::new("a/b.rehearsal.ledger")), Path::new("a/b.ledger"));
        assert_eq!(of_the_class(Path::new("a/b.ledger")), Path::new("a/b.class.ledger"));
    }
}
