//! `kettleseat`: a seat at a tea class. Exit codes are in [`client::cli`] and in `--help`.

use clap::Parser;
use client::cli::{Cli, EXIT_MACHINE, EXIT_OK, EXIT_REFUSED, EXIT_USAGE};
use client::clock::{Ids, OwnClock};
use client::link::{backoff, dial::Tcp};
use client::screen::Look;
use client::{ask, drive, keep, plain, screen};
use protocol::text::{Messages, message};
use seat::app::End;
use seat::words;
use std::error::Error;
use std::io::IsTerminal;
use std::process::ExitCode;
use tokio::io::BufReader;
use writer::{LAST_WORDS, Writer};

/// What a board is called on the teacher's screen.
const BOARD: &str = "board";

fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(asked) if !asked.use_stderr() => {
            // Nobody may be reading.
            let _ = asked.print();
            return ExitCode::from(EXIT_OK);
        }
        Err(error) => {
            eprintln!("{}", message(error.to_string().trim_end()));
            return ExitCode::from(EXIT_USAGE);
        }
    };
    let full_screen = !cli.plain && std::io::stdout().is_terminal() && std::io::stdin().is_terminal();
    let who = match who(&cli) {
        Ok(Some(who)) => who,
        Ok(None) => {
            eprintln!("kettleseat: it needs the host's address and your name: kettleseat ADDR --name NAME");
            return ExitCode::from(EXIT_USAGE);
        }
        Err(error) => {
            eprintln!("kettleseat: {}", message(&words::fault(error)));
            return ExitCode::from(EXIT_MACHINE);
        }
    };
    let code = match start(&cli, who, full_screen) {
        Ok(End::Closed) => EXIT_OK,
        Ok(End::Left) => EXIT_OK,
        Ok(End::NotTheHost(reason)) => {
            writer::last_words(&format!("kettleseat: {}", message(&reason)));
            EXIT_REFUSED
        }
        Ok(End::Refused(reason)) => {
            writer::last_words(&format!("kettleseat: the host refused the seat: {}", message(&reason)));
            EXIT_REFUSED
        }
        Err(error) => {
            writer::last_words(&format!("kettleseat: {}", message(&error.to_string())));
            EXIT_MACHINE
        }
    };
    ExitCode::from(code)
}

/// The host's address and the person's name, asked for where the command line has left them out.
fn who(cli: &Cli) -> std::io::Result<Option<(String, String)>> {
    let (mut typing, mut print) = (std::io::stdin().lock(), std::io::stdout());
    let address = match &cli.address {
        Some(address) => Some(address.clone()),
        None => ask::address(&mut typing, &mut print)?,
    };
    let Some(address) = address else { return Ok(None) };
    let name = match &cli.name {
        Some(name) => Some(name.clone()),
        None if cli.board => Some(BOARD.into()),
        None => ask::name(&mut typing, &mut print)?,
    };
    Ok(name.map(|name| (address, name)))
}

fn start(cli: &Cli, (address, name): (String, String), full_screen: bool) -> Result<End, Box<dyn Error>> {
    if let Some(path) = &cli.log {
        let file = std::fs::File::create(path)
            .map_err(|e| format!("can't write `{}`: {}", path.display(), words::fault(e)))?;
        let writer = std::sync::Mutex::new(Messages(file));
        tracing_subscriber::fmt().with_ansi(false).with_writer(writer).init();
    }
    let keep = match &cli.keep {
        Some(path) => path.clone(),
        None => keep::usual_path(&name)?,
    };
    let options = drive::Options {
        address: address.clone(),
        pourer: cli.pourer,
        role: cli.role(),
        join_code: cli.code,
        known: cli.pin,
        asks: std::io::stdout().is_terminal() && std::io::stdin().is_terminal(),
        keep: Some(keep),
        seed: backoff::seed_of(&name),
        clock: OwnClock::precise(),
        ids: Ids::Random,
        ring: None,
        notes: cli.keep_notes.clone(),
        stays: true,
        name,
    };
    let dialler = Tcp::new(&address);
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    let end = runtime.block_on(async {
        if cli.board && !full_screen {
            Err("a board needs a terminal; without one use --watch --plain".into())
        } else if full_screen {
            let look = if cli.board { Look::Board } else { Look::Seat };
            screen::run(dialler, options, look, screen::told_to_stop()).await.map_err(Box::<dyn Error>::from)
        } else {
            let typing = BufReader::new(tokio::io::stdin());
            let stop = screen::told_to_stop();
            let manner =
                plain::Manner { stamp: cli.stamp, bell: std::io::stdout().is_terminal(), quiet: cli.quiet };
            let out = Writer::stdout()?;
            let ended = plain::run(dialler, options, manner, typing, out.lines(), stop).await;
            out.finish(LAST_WORDS);
            ended.map_err(Box::<dyn Error>::from)
        }
    });
    // A read from the keyboard may still be under way; it must not hold up the end.
    runtime.shutdown_background();
    end
}
