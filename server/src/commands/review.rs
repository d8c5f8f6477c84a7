//! `kettlecall review`.

pub mod read;

use crate::cli::Format;
use crate::exit::Failure;
use crate::output::{Output, save, width};
use host::clock::today;
use host::{HostError, stored};
use report;
use report::tables;
use room::Room;
use std::io::Write;
use std::path::{Path, PathBuf};
use summary::{next, several, summarise};

/// The class that a ledger holds.
fn room_of(path: &Path) -> Result<Room, Failure> {
    let entries = stored::read(path)?;
    Ok(Room::replay(entries).map_err(|problem| HostError::Replay(path.into(), problem))?)
}

/// The private page of one seat.
pub fn seat_page(path: &Path, name: &str, format: Format, output: &Output) -> Result<(), Failure> {
    let room = room_of(path)?;
    let Some(seat) = room.seat_named(name) else {
        let names: Vec<&str> = room.seats.iter().map(|seat| seat.name.as_str()).collect();
        let words = format!("no seat is named `{name}` in {}; it has {}", path.display(), names.join(", "));
        return Err(Failure { words, code: 2 });
    };
    let summary = summarise(&room, room.last_at);
    let page = summary.findings.figures.seats.iter().find(|page| page.seat == seat.name);
    let page = match format {
        Format::Text => report::text::seat_page(&summary, &seat.name, width()).unwrap_or_default(),
        Format::Json => report::json(&page),
        _ => return Err(Failure { words: "a seat's page comes as text or json".into(), code: 2 }),
    };
    Ok(output.page(&page)?)
}

/// The review of one class.
pub fn one(path: &Path, format: Format, revisions: bool, output: &Output) -> Result<(), Failure> {
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
pub fn pooled(paths: &[PathBuf], format: Format, revisions: bool, output: &Output) -> Result<(), Failure> {
    let classes = || Ok::<_, Failure>(several::pool(&read::read(paths)?));
    let rooms = || paths.iter().map(|path| room_of(path)).collect::<Result<Vec<Room>, _>>();
    let tables = || {
        let (pool, rooms) = (classes()?, rooms()?);
        let day = pool.classes.last().map_or(String::new(), |last| last.date.clone());
        Ok::<_, Failure>((day, tables::with_scores(tables::pooled(&pool), tables::ledger(&rooms, revisions))))
    };
    Ok(match format {
        Format::Csv => output.page(&report::csv::long_form(&rooms()?, revisions)),
        Format::Text => output.page(&report::text::several::within(&classes()?, width())),
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
pub fn write_next(paths: &[PathBuf], file: &Path) -> Result<(), Failure> {
    let classes = read::read(paths)?;
    let records: Vec<_> = classes.iter().map(|(record, _)| record).collect();
    let shown = file.display();
    let text = match next::next(&several::pool(&classes), &records, &today()) {
        Ok(text) => text,
        Err(why) => return Err(Failure { words: format!("{shown} is not written: {why}"), code: 3 }),
    };
    save(file, text.as_bytes(), false).map_err(|e| Failure {
        words: format!("{shown} can't be written: {e}; name another file"),
        code: 1,
    })?;
    // Standard output may be somebody's JSON.
    let _ = writeln!(std::io::stderr(), "written: {shown}");
    Ok(())
}
