//! `kettlecall lead`: a console of a class that another machine holds.

mod attempt;

use crate::cli::Lead;
use crate::console::lines::{print, typed_lines};
use crate::exit::Failure;
use attempt::{Asked, Ending};
use dial::backoff::{Backoff, seed_of};
use dial::{Dialler, Known, Tcp};
use protocol::{ConsoleKey, text};
use std::io;
use std::net::IpAddr;
use std::path::Path;
use tokio::sync::mpsc;
use tokio::time::sleep;
use writer::{LAST_WORDS, Lines, Writer};

/// What a console is called whose machine does not say who uses it.
const NAMELESS: &str = "teacher";

/// Leads until the class is over, or the host lets nobody in with that key.
pub fn run(asked: Lead) -> Result<(), Failure> {
    let key = key(&asked.key)?;
    let name = asked.name.or_else(own_name).unwrap_or_else(|| NAMELESS.into());
    let out = Writer::stdout()?;
    let mut lines = out.lines();
    let pin = asked.pin.and_then(Known::pin);
    if pin.is_none() && !is_this_machine(&asked.address) {
        print(
            &mut lines,
            "notice: others on this network can read what is said here; with --tls at the host and --pin here they can't",
        );
    }
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    let mut dialler = Tcp::new(&asked.address);
    dialler.known_by(pin);
    let asked = Asked { address: asked.address, name, key };
    let done = runtime.block_on(lead(dialler, &asked, typed_lines(), &mut lines));
    // A thread may still wait for standard input; the program does not wait for it.
    runtime.shutdown_background();
    out.finish(LAST_WORDS);
    done
}

async fn lead(
    mut dialler: Tcp,
    asked: &Asked,
    mut typed: mpsc::UnboundedReceiver<String>,
    out: &mut Lines,
) -> Result<(), Failure> {
    let mut backoff = Backoff::new(seed_of(&asked.name));
    loop {
        let mut linked_s = None;
        let reason = match attempt::attempt(&mut dialler, asked, &mut typed, out, &mut linked_s).await {
            Ending::Over(words) => {
                print(out, &words);
                return Ok(());
            }
            Ending::Refused(words) | Ending::NotTheHost(words) => return Err(Failure { words, code: 1 }),
            Ending::Lost(reason) => reason,
        };
        let wait = backoff.next(linked_s.unwrap_or(0));
        // Once for every link that was lost, and while there is none now and then.
        if linked_s.is_some() || backoff.attempt().is_power_of_two() {
            print(
                out,
                &format!("no link: {reason}; the class goes on, and this console dials again by itself"),
            );
        }
        let again = sleep(wait);
        tokio::pin!(again);
        loop {
            tokio::select! {
                biased;
                () = &mut again => break,
                // What was meant for a moment is not to be done at another one.
                Some(line) = typed.recv() => {
                    if !line.trim().is_empty() {
                        print(out, "not sent: there is no link just now; type it again when there is");
                    }
                }
            }
        }
    }
}

fn key(path: &Path) -> Result<ConsoleKey, Failure> {
    let failed = |why: String| Failure { words: format!("{}: {why}", path.display()), code: 2 };
    let bytes = std::fs::read(path).map_err(|e| failed(unread(&e)))?;
    ConsoleKey::of_text(&String::from_utf8_lossy(&bytes)).map_err(failed)
}

/// Why a key's file can't be read, and what to do.
fn unread(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => {
            "no such file; the keys lie beside the ledger on the host's machine, whose console says where: copy one of them here".into()
        }
        io::ErrorKind::PermissionDenied => "it belongs to somebody else on this machine; ask them for it".into(),
        _ => format!("it can't be read: {error}"),
    }
}

/// What the user of this machine is called, if that is a name.
fn own_name() -> Option<String> {
    let named = std::env::var("USER").or_else(|_| std::env::var("USERNAME")).ok()?;
    text::name(&named).ok()
}

/// Whether what is said there stays on this machine.
fn is_this_machine(address: &str) -> bool {
    let host = address.rsplit_once(':').map_or(address, |(host, _)| host);
    let bare = host.trim_start_matches('[').trim_end_matches(']');
    bare.eq_ignore_ascii_case("localhost") || bare.parse::<IpAddr>().is_ok_and(|ip| ip.is_loopback())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_stays_on_this_machine_is_unread_without_a_pin() {
        let here = ["127.0.0.1:4177", "127.9.9.9:1", "localhost:4177", "[::1]:4177"];
        let there = ["192.0.2.7:4177", "tea.local:4177", "[fe80::1]:4177", "localhost.example:4177"];
        assert_eq!(here.map(is_this_machine), [true; 4]);
        assert_eq!(there.map(is_this_machine), [false; 4]);
    }
}
