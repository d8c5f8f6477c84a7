//! `kettlecall`: the teacher's program.

mod output;

use clap::Parser;
use class::{Class, read};
use host::clock::{fresh_id, today};
use host::stored;
use host::{self, Host, HostError, Opening};
use ledger::{LedgerError, Sqlite};
use output::{NotWritten, Output};
use plan::document::document;
use room::{Event, Room};
use server::cli::{Cli, Command, Format, PlanFormat, ledger_beside};
use server::commands::new::{self, NewError};
use server::console::{About, ConsoleError, address, words};
use server::enter;
use server::pool::{self, shell::PoolError};
use server::report::xlsx::NoSpreadsheet;
use server::report::{self, tables};
use server::summary::summarise;
use std::io::{IsTerminal, Write};
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use tracing_subscriber::EnvFilter;

/// Why the program ends badly: the words for the person and the exit code for the script.
struct Failure {
    words: String,
    code: u8,
}

impl From<LedgerError> for Failure {
    fn from(error: LedgerError) -> Self {
        Self { words: error.to_string(), code: 4 }
    }
}

impl From<HostError> for Failure {
    fn from(error: HostError) -> Self {
        let code = match error {
            HostError::Stopped => 1,
            HostError::Unplannable(_) => 3,
            HostError::Ledger(_) | HostError::Replay(..) => 4,
        };
        Self { words: error.to_string(), code }
    }
}

impl From<PoolError> for Failure {
    fn from(error: PoolError) -> Self {
        match error {
            PoolError::Ledger(error) => error.into(),
            PoolError::Twice(..) => Self { words: error.to_string(), code: 4 },
        }
    }
}

impl From<std::io::Error> for Failure {
    fn from(error: std::io::Error) -> Self {
        Self { words: error.to_string(), code: 1 }
    }
}

impl From<NotWritten> for Failure {
    fn from(error: NotWritten) -> Self {
        Self { words: error.to_string(), code: error.code() }
    }
}

impl From<NoSpreadsheet> for Failure {
    fn from(error: NoSpreadsheet) -> Self {
        Self { words: error.to_string(), code: 1 }
    }
}

impl From<ConsoleError> for Failure {
    fn from(error: ConsoleError) -> Self {
        match error {
            ConsoleError::Host(error) => error.into(),
            ConsoleError::Io(error) => error.into(),
        }
    }
}

impl From<NewError> for Failure {
    fn from(error: NewError) -> Self {
        Self { words: error.to_string(), code: error.code() }
    }
}

fn main() -> ExitCode {
    let done = match Cli::parse().command {
        Command::Review { ledgers, format, revisions, seat, next, output, force } => {
            let output = Output::new(output, force, &ledgers);
            let done = match (&ledgers[..], seat) {
                ([ledger], Some(seat)) => seat_page(ledger, &seat, format, &output),
                (_, Some(_)) => Err(Failure {
                    words: "a seat's page is of one class; name one ledger with --seat".into(),
                    code: 2,
                }),
                ([ledger], None) => review(ledger, format, revisions, &output),
                (ledgers, None) => pooled(ledgers, format, revisions, &output),
            };
            done.and_then(|()| next.map_or(Ok(()), |file| write_next(&ledgers, &file)))
        }
        Command::Enter { ledger, scores, check } => enter(&ledger, &scores, check),
        Command::New(wishes) => {
            new::run(&wishes, &today(), &mut std::io::stdin().lock(), &mut std::io::stderr())
                .map_err(Into::into)
        }
        Command::Plan { class, format, seed } => plan(&class, format, seed),
        Command::Open { class, listen, ledger, pace, plain, seed } => {
            open(&class, listen, ledger, pace, plain, seed)
        }
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            // Standard error may be closed; there is nobody left to tell then.
            let _ = writeln!(std::io::stderr(), "{}", failure.words);
            ExitCode::from(failure.code)
        }
    }
}

/// The class that a ledger holds.
fn room_of(path: &Path) -> Result<Room, Failure> {
    let entries = stored::read(path)?;
    Ok(Room::replay(entries).map_err(|problem| HostError::Replay(path.into(), problem))?)
}

/// The private page of one seat.
fn seat_page(path: &Path, name: &str, format: Format, output: &Output) -> Result<(), Failure> {
    let room = room_of(path)?;
    let Some(seat) = room.seat_named(name) else {
        let names: Vec<&str> = room.seats.iter().map(|seat| seat.name.as_str()).collect();
        let words = format!("no seat is named `{name}` in {}; it has {}", path.display(), names.join(", "));
        return Err(Failure { words, code: 2 });
    };
    let summary = summarise(&room, room.last_at);
    let page = summary.findings.seats.iter().find(|page| page.seat == seat.name);
    let page = match format {
        Format::Text => report::text::seat_page(&summary, &seat.name, width()).unwrap_or_default(),
        Format::Json => report::json(&page),
        _ => return Err(Failure { words: "a seat's page comes as text or json".into(), code: 2 }),
    };
    Ok(output.page(&page)?)
}

fn review(path: &Path, format: Format, revisions: bool, output: &Output) -> Result<(), Failure> {
    let room = room_of(path)?;
    // The last event, not the wall clock: the same ledger always gives the same summary.
    let summary = || summarise(&room, room.last_at);
    let tables = || tables::with_scores(tables::tables(&summary()), tables::ledger([&room], revisions));
    Ok(match format {
        Format::Csv => output.page(&report::csv::long_form([&room], revisions)),
        Format::Text => output.page(&report::text::within(&summary(), width())),
        Format::Json => output.page(&report::json(&summary())),
        Format::Html => output.page(&report::page::html(&summary())),
        Format::Xlsx => {
            let class = &room.class;
            output.binary(report::xlsx::workbook(&class.title, &class.date, &tables())?)
        }
        Format::Tables => output.folder(report::csv::files(&tables())),
    }?)
}

/// Reviews several classes together.
fn pooled(paths: &[PathBuf], format: Format, revisions: bool, output: &Output) -> Result<(), Failure> {
    let classes = || Ok::<_, Failure>(pool::pool(&pool::shell::read(paths)?));
    let rooms = || paths.iter().map(|path| room_of(path)).collect::<Result<Vec<Room>, _>>();
    let tables = || {
        let (pool, rooms) = (classes()?, rooms()?);
        let day = pool.classes.last().map_or(String::new(), |last| last.date.clone());
        Ok::<_, Failure>((day, tables::with_scores(tables::pooled(&pool), tables::ledger(&rooms, revisions))))
    };
    Ok(match format {
        Format::Csv => output.page(&report::csv::long_form(&rooms()?, revisions)),
        Format::Text => output.page(&pool::text::within(&classes()?, width())),
        Format::Json => output.page(&report::json(&classes()?)),
        Format::Html => {
            let words = "a page is of one class: name one ledger, or take another format for several".into();
            return Err(Failure { words, code: 2 });
        }
        Format::Xlsx => {
            let (day, tables) = tables()?;
            output.binary(report::xlsx::workbook("Several classes", &day, &tables)?)
        }
        Format::Tables => output.folder(report::csv::files(&tables()?.1)),
    }?)
}

/// Writes a class file for what some classes have left open.
fn write_next(paths: &[PathBuf], file: &Path) -> Result<(), Failure> {
    let classes = pool::shell::read(paths)?;
    let records: Vec<_> = classes.iter().map(|(record, _)| record).collect();
    let shown = file.display();
    let text = match pool::next::next(&pool::pool(&classes), &records, &today()) {
        Ok(text) => text,
        Err(why) => return Err(Failure { words: format!("{shown} is not written: {why}"), code: 3 }),
    };
    let written = std::fs::File::create_new(file).and_then(|mut f| f.write_all(text.as_bytes()));
    written.map_err(|e| Failure {
        words: format!("{shown} can't be written: {e}; name another file"),
        code: 1,
    })?;
    // Standard output may be somebody's JSON.
    let _ = writeln!(std::io::stderr(), "written: {shown}");
    Ok(())
}

/// Enters scores from paper, or with `check` only says what would be entered.
fn enter(ledger: &Path, scores: &Path, check: bool) -> Result<(), Failure> {
    let shown = scores.display().to_string();
    let file = std::fs::read(scores)
        .map_err(|e| Failure { words: format!("the scores {shown} can't be read: {e}"), code: 3 })?;
    let mut open = if check { None } else { Some(Sqlite::reopen(ledger)?) };
    let entries = match &open {
        Some(ledger) => stored::entries(ledger)?,
        None => stored::read(ledger)?,
    };
    let room = Room::replay(entries).map_err(|problem| HostError::Replay(ledger.into(), problem))?;
    let entering = enter::enter(&room, &file, &mut fresh_id)
        .map_err(|faults| Failure { words: enter::fault::render(&shown, &faults), code: 3 })?;
    let done = match &mut open {
        Some(ledger) => {
            stored::append(ledger, &entering.entries)?;
            "entered"
        }
        None => "checked, nothing entered",
    };
    print(&format!("{done}: {entering}\n"))
}

/// A class as a file or a ledger gives it, the seed for what is drawn, and the ledger it goes with.
struct Found {
    class: Class,
    seed: u64,
    ledger: PathBuf,
}

/// Finds the class to open or to plan. A ledger can be named by itself, without its class file.
fn find(class: &Path, ledger: Option<PathBuf>, seed: Option<u64>) -> Result<Found, Failure> {
    if class.extension().is_some_and(|e| e == "ledger") && ledger.as_deref().is_none_or(|l| l == class) {
        let first = stored::read(class)?.into_iter().next();
        return match first.map(|entry| entry.event) {
            Some(Event::Class { class: kept, seed, .. }) => {
                Ok(Found { class: *kept, seed, ledger: class.into() })
            }
            _ => Err(HostError::Replay(class.into(), "the ledger does not begin with a class".into()).into()),
        };
    }
    let shown = class.display();
    let text = std::fs::read(class)
        .map_err(|e| Failure { words: format!("the class file {shown} can't be read: {e}"), code: 3 })?;
    let text = String::from_utf8(text).map_err(|_| Failure {
        words: format!("the class file {shown} is not UTF-8 text; save it as UTF-8"),
        code: 3,
    })?;
    let colour = std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty());
    let parsed = read::class(&text)
        .map_err(|faults| Failure { words: faults.render(&shown.to_string(), &text, colour), code: 3 })?;
    let seed = seed.unwrap_or_else(|| parsed.own_seed());
    Ok(Found { class: parsed, seed, ledger: ledger.unwrap_or_else(|| ledger_beside(class)) })
}

fn plan(class: &Path, format: PlanFormat, seed: Option<u64>) -> Result<(), Failure> {
    let Found { class, seed, .. } = find(class, None, seed)?;
    let class = class.with_codes(seed);
    let plan = document(&class, seed)
        .map_err(|fault| Failure { words: format!("the class can't be planned: {fault}"), code: 3 })?;
    let names: Vec<String> = class.setting.kettles.iter().map(|k| k.name.clone()).collect();
    print(&match format {
        PlanFormat::Text => report::plan_text::text(&plan, &names, width()),
        PlanFormat::Json => report::json(&plan),
        PlanFormat::Html => report::plan_html::html(&plan, &class),
    })
}

/// How wide a page of text may be: as the terminal is, or 80 columns where there is none.
fn width() -> usize {
    let columns = crossterm::terminal::size().map_or(80, |(columns, _)| usize::from(columns));
    if std::io::stdout().is_terminal() { columns } else { 80 }
}

/// Puts a page on standard output.
fn print(page: &str) -> Result<(), Failure> {
    Ok(Output::default().page(page)?)
}

fn open(
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
    host::door::limits::allow_many_connections();
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
        server::console::run(host, about, on_terminal).await?;
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
