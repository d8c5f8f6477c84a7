//! The console without a terminal: happenings as lines on standard output, commands as lines on standard input.

use super::elsewhere::Elsewhere;
use super::line::{LineConsole, May, Reply};
use super::{About, ConsoleError, Ended};
use host::Happening;
use host::Host;
use protocol::text::message;
use room::Event;
use std::io::{BufRead, Write};
use tokio::sync::mpsc;
use writer::{LAST_WORDS, Lines, Writer};

/// Lines of standard input, read by a thread of their own: a pending read must not keep the program from ending.
pub fn typed_lines() -> mpsc::UnboundedReceiver<String> {
    let (send, lines) = mpsc::unbounded_channel();
    std::thread::spawn(move || {
        for line in std::io::stdin().lock().split(b'\n') {
            let Ok(line) = line else { return };
            if send.send(String::from_utf8_lossy(&line).into_owned()).is_err() {
                return;
            }
        }
    });
    lines
}

/// Prints a text. An output that is gone must not end a class that runs: it is logged once and the class goes on.
pub fn print(out: &mut Lines, text: &str) {
    static GONE: std::sync::Once = std::sync::Once::new();
    if let Err(error) = writeln!(out, "{}", message(text)) {
        GONE.call_once(|| tracing::warn!(%error, "nobody reads the output any more; the class goes on"));
    }
}

fn print_all(out: &mut Lines, texts: &[String]) {
    texts.iter().for_each(|text| print(out, text));
}

/// Runs until the class is closed or the host is stopped. The end of standard input changes nothing: the class goes on.
///
/// # Errors
/// The host failed.
pub async fn run(host: Host, mut about: About, elsewhere: Elsewhere) -> Result<Ended, ConsoleError> {
    let out = Writer::stdout()?;
    let ended = hold(host, &mut about, elsewhere, &mut out.lines()).await;
    // Nobody may be reading; the end does not wait for that.
    out.finish(LAST_WORDS);
    ended
}

async fn hold(
    mut host: Host,
    about: &mut About,
    elsewhere: Elsewhere,
    out: &mut Lines,
) -> Result<Ended, ConsoleError> {
    let mut console = LineConsole::new(host.handle.clone(), host.clock, about.clone(), May::All).await?;
    print_all(out, &console.heading().await?);
    let mut typed = typed_lines();
    let mut signals = super::terminal::Signals::new()?;
    let mut asked_to_stop = false;
    let mut tells_names = false;
    let ended = loop {
        tokio::select! {
            biased;
            happening = host.happenings.recv() => {
                let Some(happening) = happening else { return Err(host.failed().await.into()) };
                elsewhere.tell(&happening);
                if let Happening::Moved(ledger) = &happening {
                    about.ledger = ledger.clone();
                }
                print_all(out, &console.happened(&happening, host.happenings.is_empty()).await);
                match &happening {
                    Happening::Entry(entry) if entry.event == Event::Closed => {
                        tells_names = about.at_close.closed().await?;
                        if !tells_names {
                            break Ended::Closed;
                        }
                    }
                    Happening::Entry(entry) if tells_names && matches!(entry.event, Event::Revealed { .. }) => {
                        break Ended::Closed;
                    }
                    _ => {}
                }
            }
            () = console.until_cue() => print_all(out, &console.due().await),
            // Before what was typed: a heap of lines does not make two presses of Ctrl-C one.
            hard = signals.recv() => {
                if hard || asked_to_stop {
                    break Ended::Stopped;
                }
                asked_to_stop = true;
                print(out, "stop the host? Ctrl-C again stops it; the class can be continued from its ledger");
            }
            Some(line) = typed.recv() => match console.typed(&line).await? {
                Reply::Shown(shown) => print_all(out, &shown),
                Reply::Stop => break Ended::Stopped,
            }
        }
    };
    let closed = host.handle.view(0).await.is_ok_and(|view| view.phase == protocol::Phase::Closed);
    match console.last_page().await {
        Ok(page) => print_all(out, &page),
        Err(error) if ended == Ended::Closed => return Err(error.into()),
        Err(_) => {}
    }
    elsewhere.end().await;
    if let Some(words) = about.left(host.stop().await?) {
        print(out, &words);
    }
    let ended = if closed { Ended::Closed } else { ended };
    print(out, &super::terminal::last_words(ended, about));
    Ok(ended)
}
