//! The demo: the real host and eight scripted seats over real loopback sockets, one class from lobby to summary. With `story`, from
//! five people's ways over three classes to the sweet spot of a leaf.

mod seats;
mod story;

use class::read;
use host::clock::fresh_id;
use host::{Host, HostHandle, Opening, open};
use ledger::Sqlite;
use protocol::time::clock_face;
use protocol::{Action, Cue, HostTime};
use room::Teacher;
use seats::Heard;
use server::console::words;
use std::collections::BTreeMap;
use std::error::Error;
use std::io::Write;
use std::path::PathBuf;
use summary::summarise;
use tokio::net::TcpListener;
use tokio::sync::mpsc;

/// Host seconds per second: the class of eight minutes and a half takes half a minute.
const PACE: f64 = 18.0;

/// Prints a line. The class goes on though nobody reads any more.
macro_rules! say {
    ($($said:tt)*) => {
        drop(writeln!(std::io::stdout(), $($said)*))
    };
}

#[tokio::main(flavor = "multi_thread", worker_threads = 2)]
async fn main() -> Result<(), Box<dyn Error>> {
    let asked: Vec<String> = std::env::args().skip(1).collect();
    match asked.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        [] => evening().await,
        ["story"] => tell_story().await,
        _ => Err("say nothing for the class of one evening, or `story` for three classes".into()),
    }
}

/// Three classes in a folder of their own.
async fn tell_story() -> Result<(), Box<dyn Error>> {
    let folder = free("story", "")?;
    std::fs::create_dir(&folder)?;
    let found = story::tell(&folder, &|line| say!("{line}")).await?;
    say!("\n{}\n", story::verdict(&found));
    say!("All pages are in {}: ways, spot, review and guide.", folder.display());
    match found.holds_the_truth() {
        true => Ok(()),
        false => Err("what the tasters like lies outside what was found".into()),
    }
}

/// One class from lobby to summary.
async fn evening() -> Result<(), Box<dyn Error>> {
    let class = read::class(include_str!("../evening.toml"))
        .map_err(|f| f.render("evening.toml", "", "the demo was not begun"))?;
    let path = free("demo", ".ledger")?;
    let opened = open(Sqlite::open(&path)?, class, Opening::now(fresh_id().as_u64_pair().1, PACE))?;
    say!("{}", words::heading(&opened.room));
    say!("Invented teas and scripted tasters, {PACE} times as fast as a real class.\n");
    say!("{}\n", words::key(&opened.room));
    let mut host = Host::start(opened);
    let address = host.listen(TcpListener::bind("127.0.0.1:0").await?)?;
    let (hear, mut heard) = mpsc::unbounded_channel();
    let room = host.handle.room().await?;
    let running = seats::seat_all(&address.to_string(), &room, host.clock, &hear);
    drop(hear);
    until_seated(&mut host, running.len()).await?;
    let code = room.join_code.map_or(String::new(), |code| code.to_string());
    say!("{} seats came in with the join code {code} and are linked over {address}\n", running.len());
    if let Err(refusal) = host.handle.teacher(Teacher::Start { anyway: false }).await? {
        return Err(refusal.reason.into());
    }
    let start = host.handle.view(1).await?.coming.first().map_or(HostTime(0), |c| c.at);
    say!(" class   cue                                  seats   last one cued (room's time)");
    watch(&host.handle, &mut heard, running.len(), start).await?;
    // Every score has been acknowledged when the last seat says so.
    for wish in [Teacher::Close { last_call_s: 0 }, Teacher::Reveal(None)] {
        if let Err(refusal) = host.handle.teacher(wish).await? {
            return Err(refusal.reason.into());
        }
    }
    for seat in running {
        seat.await?;
    }
    let (room, now) = host.handle.room_now().await?;
    say!("\n{}", report::text::text(&summarise(&room, now)));
    host.stop().await?;
    let path = path.display();
    say!("The ledger is {path}\n");
    for rest in ["", " -o class.html", " -o class.xlsx", " --cards cards.html --seats pages"] {
        say!("  cargo run --release -p server -- review {path}{rest}");
    }
    Ok(())
}

/// A ledger or folder that is not there yet.
fn free(what: &str, ending: &str) -> Result<PathBuf, Box<dyn Error>> {
    let folder = std::env::temp_dir();
    let path = |n| folder.join(format!("kettlecall-{what}-{n}{ending}"));
    let free = (1..10_000).map(path).find(|path| !path.exists());
    free.ok_or_else(|| format!("{} is full of {what} files; remove some", folder.display()).into())
}

async fn until_seated(host: &mut Host, seats: usize) -> Result<(), Box<dyn Error>> {
    while host.handle.view(0).await?.seats.iter().filter(|s| s.linked).count() < seats {
        host.happenings.recv().await.ok_or("the host ended")?;
    }
    Ok(())
}

/// Shows every cue once all seats have heard it, until all seats have filled their sheets.
async fn watch(
    host: &HostHandle,
    heard: &mut mpsc::UnboundedReceiver<Heard>,
    seats: usize,
    start: HostTime,
) -> Result<(), Box<dyn Error>> {
    let mut waiting: BTreeMap<(i64, String), (usize, i64)> = BTreeMap::new();
    let mut done = 0;
    while done < seats {
        match heard.recv().await.ok_or("a seat ended too early")? {
            Heard::Done => done += 1,
            Heard::Said(line) => say!("         {line}"),
            Heard::Cue { cue, late_us } => {
                let key = (cue.at.0, cue.to_string());
                let (count, latest_us) = waiting.entry(key.clone()).or_insert((0, i64::MIN));
                (*count, *latest_us) = (*count + 1, (*latest_us).max(late_us));
                if *count == seats {
                    show(&cue, seats, *latest_us, start);
                    waiting.remove(&key);
                    if cue.action == Action::SheetCloses && cue.round() == 1 {
                        if let Err(refusal) = host.teacher(Teacher::Test(1)).await? {
                            return Err(refusal.reason.into());
                        }
                        say!("         test 1 is open: the two ways of Lantern Slope, a triangle");
                    }
                    if cue.action == Action::SheetCloses {
                        let sheets = host.view(0).await?.class_in;
                        say!("         {} of {} sheets are in", sheets.present, sheets.due);
                    }
                }
            }
        }
    }
    Ok(())
}

fn show(cue: &Cue, seats: usize, latest_us: i64, start: HostTime) {
    let at = clock_face((cue.at - start) / protocol::time::SECOND_US);
    let steep_s = cue.steep_s.map_or(String::new(), |s| format!(", {s} s"));
    let steep = if cue.code.is_some() { format!(" (steep {}{steep_s})", cue.steep) } else { String::new() };
    let words = format!("{cue}{steep}");
    say!("{at:>6}   {words:<36} {seats:>3}     {:>+6.1} ms", latest_us as f64 / 1000.0);
}
