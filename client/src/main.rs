//! `kettleseat`: a seat at a tea class. Exit codes are in [`client::cli`] and in `--help`.

use clap::Parser;
use client::cli::{Cli, EXIT_MACHINE, EXIT_OK, EXIT_REFUSED, EXIT_USAGE};
use client::clock::{Ids, OwnClock};
use client::link::{backoff, dial::Tcp};
use client::{drive, keep, plain, screen};
use protocol::text::message;
use seat::app::End;
use seat::words;
use std::error::Error;
use std::io::IsTerminal;
use std::process::ExitCode;
use tokio::io::BufReader;

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
    let code = match start(&cli, full_screen) {
        Ok(End::Closed) => EXIT_OK,
        Ok(End::Left) => EXIT_OK,
        Ok(End::Refused(reason)) => {
            eprintln!("kettleseat: the host refused the seat: {}", message(&reason));
            EXIT_REFUSED
        }
        Err(error) => {
            eprintln!("kettleseat: {}", message(&error.to_string()));
            EXIT_MACHINE
        }
    };
    ExitCode::from(code)
}

fn start(cli: &Cli, full_screen: bool) -> Result<End, Box<dyn Error>> {
    if let Some(path) = &cli.log {
        let file = std::fs::File::create(path)
            .map_err(|e| format!("can't write `{}`: {}", path.display(), words::fault(e)))?;
        let writer = std::sync::Mutex::new(file);
        tracing_subscriber::fmt().with_ansi(false).with_writer(writer).init();
    }
    let keep = match &cli.keep {
        Some(path) => path.clone(),
        None => keep::usual_path(&cli.name)?,
    };
    let options = drive::Options {
        name: cli.name.clone(),
        address: cli.address.clone(),
        pourer: cli.pourer,
        role: cli.role(),
        keep: Some(keep),
        seed: backoff::seed_of(&cli.name),
        clock: OwnClock::precise(),
        ids: Ids::Random,
        ring: None,
    };
    let dialler = Tcp::new(&cli.address);
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    let end = runtime.block_on(async {
        if full_screen {
            screen::run(dialler, options, screen::told_to_stop()).await.map_err(Box::<dyn Error>::from)
        } else {
            let typing = BufReader::new(tokio::io::stdin());
            let stop = screen::told_to_stop();
            let manner =
                plain::Manner { stamp: cli.stamp, bell: std::io::stdout().is_terminal(), quiet: cli.quiet };
            let ended = plain::run(dialler, options, manner, typing, std::io::stdout(), stop).await;
            ended.map_err(Box::<dyn Error>::from)
        }
    });
    // A read from the keyboard may still be under way; it must not hold up the end.
    runtime.shutdown_background();
    end
}
