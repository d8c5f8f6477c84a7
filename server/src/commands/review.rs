//! `kettlecall review`.

pub mod home;
mod nameless;
pub mod read;

use super::whole;
use crate::cli::Format;
use crate::exit::Failure;
use crate::output::{Output, save, width};
use host::clock::today;
use protocol::text::message;
use report;
use report::tables;
use room::Room;
use std::io::Write;
use std::path::{Path, PathBuf};
use summary::aside::What;
use summary::spot::fitted::USUAL;
use summary::spot::spots;
use summary::{next, several, summarise};

/// What of a class is reviewed; by default all of it, for the teacher.
#[derive(Clone, Copy, Default)]
pub struct Part<'a> {
    /// Without the seats of these names.
    pub without: &'a [String],
    /// Of a damaged ledger what is whole.
    pub up_to_break: bool,
    /// Without the names of tasters, for everybody's eyes.
    pub for_class: bool,
    /// On a terminal all of it, not only what fits its screen.
    pub full: bool,
}

/// The class that a ledger holds, with some seats left out, by name.
fn room_without(path: &Path, part: Part<'_>) -> Result<Room, Failure> {
    let (entries, broken) = whole::entries(path, part.up_to_break)?;
    let again = part.for_class.then(|| entries.clone());
    let named = whole::replay(path, entries, broken.as_deref())?;
    let seat =
        |name: &String| named.seat_meant(name).map(|seat| seat.id).ok_or_else(|| no_such(name, &named, path));
    let aside = part.without.iter().map(seat).collect::<Result<Vec<_>, Failure>>()?;
    let mut room = match again {
        Some(mut entries) => {
            nameless::nameless(&mut entries);
            whole::replay(path, entries, broken.as_deref())?
        }
        None => named,
    };
    aside.into_iter().for_each(|seat| room.set_aside(seat));
    Ok(room)
}

/// A name that no seat of a class has.
fn no_such(name: &str, room: &Room, path: &Path) -> Failure {
    let persons = room.seats.iter().filter(|seat| seat.same_as.is_none());
    let names: Vec<&str> = persons.map(|seat| seat.name.as_str()).collect();
    let there = if names.is_empty() { "nobody".into() } else { names.join(", ") };
    let words = format!("{} (in {} sat {there})", room.no_such_seat(name), path.display());
    Failure { words, code: 2 }
}

/// The private page of one seat.
pub fn seat_page(
    path: &Path,
    name: &str,
    part: Part<'_>,
    format: Format,
    output: &Output,
) -> Result<(), Failure> {
    let room = room_without(path, part)?;
    let seat = room.seat_meant(name).ok_or_else(|| no_such(name, &room, path))?;
    if !room.is_counted(seat) {
        let words =
            format!("{} is left out, so that there is no page; see: kettlecall correct --help", seat.name);
        return Err(Failure { words, code: 2 });
    }
    let summary = summarise(&room, room.last_at);
    let page = summary.findings.figures.seat(&seat.name);
    let page = match format {
        Format::Text => report::text::seat_page(&summary, &room, &seat.name, width()).unwrap_or_default(),
        Format::Json => report::json(&page),
        Format::Html => report::home::seat::html(&summary, &room, &seat.name).unwrap_or_default(),
        _ => return Err(Failure { words: "a seat's page comes as text, html or json".into(), code: 2 }),
    };
    Ok(output.page(&page)?)
}

/// The review of one class; as text on a terminal only its first screen, unless all of it is asked for.
pub fn one(
    path: &Path,
    part: Part<'_>,
    format: Format,
    revisions: bool,
    output: &Output,
) -> Result<(), Failure> {
    let room = room_without(path, part)?;
    // The last event, not the wall clock: the same ledger always gives the same summary.
    let summary = || {
        let mut summary = summarise(&room, room.last_at);
        if part.for_class {
            // That somebody was given another name says nothing without names.
            summary.aside.retain(|aside| aside.what != What::Renamed);
        }
        summary
    };
    let tables = || tables::with_scores(tables::tables(&summary()), tables::ledger([&room], revisions));
    Ok(match format {
        Format::Csv => output.page(&report::csv::long_form([&room], revisions)),
        Format::Text => output.page(&match output.screen().filter(|_| !part.full) {
            Some(screen) => report::text::screen::screen(&summary(), screen, &typed(&[path], part)),
            None => report::text::within(&summary(), width()),
        }),
        Format::Json => output.page(&report::json(&summary())),
        Format::Html => output.page(&report::page::html(&summary())),
        Format::Xlsx => {
            let class = &room.class;
            output.binary(report::xlsx::workbook(&class.title, &class.date, &tables())?)
        }
        Format::Tables => output.folder(report::csv::files(&tables())),
    }?)
}

/// The command that reviews the same again; for everybody's eyes without the names in it.
fn typed<P: AsRef<Path>>(paths: &[P], part: Part<'_>) -> String {
    let name = |name: &String| if part.for_class { "…".into() } else { format!("\"{name}\"") };
    let without: String = part.without.iter().map(|left| format!(" --without {}", name(left))).collect();
    let reader = if part.for_class { " --for class" } else { "" };
    let whole = if part.up_to_break { " --up-to-break" } else { "" };
    let paths: Vec<String> = paths.iter().map(|path| path.as_ref().display().to_string()).collect();
    format!("kettlecall review {}{reader}{without}{whole}", paths.join(" "))
}

/// Reviews several classes together.
pub fn pooled(
    paths: &[PathBuf],
    part: Part<'_>,
    format: Format,
    revisions: bool,
    output: &Output,
) -> Result<(), Failure> {
    if part.for_class {
        let words = "a review for the class is of one class; name one ledger with --for class".into();
        return Err(Failure { words, code: 2 });
    }
    let classes = || Ok::<_, Failure>(several::pool(&read::read(paths, part)?));
    let rooms = || -> Result<Vec<Room>, Failure> {
        let mut rooms =
            paths.iter().map(|path| whole::room(path, part.up_to_break)).collect::<Result<Vec<Room>, _>>()?;
        let names = |room: &'_ Room| {
            let seats = room.seats.iter().map(|seat| seat.name.clone());
            seats.chain(room.former_names().map(String::from)).collect::<Vec<String>>()
        };
        read::known(part.without, &rooms.iter().flat_map(names).collect::<Vec<_>>())?;
        for room in &mut rooms {
            let seats = part.without.iter().filter_map(|name| Some(room.seat_meant(name)?.id));
            seats.collect::<Vec<_>>().into_iter().for_each(|seat| room.set_aside(seat));
        }
        Ok(rooms)
    };
    let tables = || {
        let (pool, rooms) = (classes()?, rooms()?);
        let day = pool.classes.last().map_or(String::new(), |last| last.date.clone());
        Ok::<_, Failure>((day, tables::with_scores(tables::pooled(&pool), tables::ledger(&rooms, revisions))))
    };
    Ok(match format {
        Format::Csv => output.page(&report::csv::long_form(&rooms()?, revisions)),
        Format::Text => output.page(&match output.screen().filter(|_| !part.full) {
            Some(screen) => report::text::several::screen::screen(&classes()?, screen, &typed(paths, part)),
            None => report::text::several::within(&classes()?, width()),
        }),
        Format::Json => output.page(&report::json(&classes()?)),
        Format::Html => output.page(&report::page::several::html(&classes()?)),
        Format::Xlsx => {
            let (day, tables) = tables()?;
            output.binary(report::xlsx::workbook("Several classes", &day, &tables)?)
        }
        Format::Tables => output.folder(report::csv::files(&tables()?.1)),
    }?)
}

/// Writes a class file for what some classes have left open.
pub fn write_next(paths: &[PathBuf], part: Part<'_>, file: &Path) -> Result<(), Failure> {
    let classes = read::read(paths, part)?;
    let records: Vec<_> = classes.iter().map(|(record, _)| record).collect();
    // Of one class, what its own review says of two ways decides.
    let alone = match paths {
        [path] => Some(room_without(path, part).map(|room| summarise(&room, room.last_at))?),
        _ => None,
    };
    let alone = alone.as_ref().map(|summary| &summary.findings.figures);
    match next::next(&several::pool(&classes), &spots(&classes, Some(USUAL)), &records, &today(), alone) {
        Err(why) => put_next(file, Err(why)),
        Ok(next) => {
            put_next(file, Ok(next.text))?;
            if !next.no_room.is_empty() {
                let _ = writeln!(std::io::stderr(), "{}", message(&next::no_room_for(&next.no_room)));
            }
            Ok(())
        }
    }
}

/// Puts the file of a next class where nothing is yet, or says why there is none.
pub fn put_next(file: &Path, text: Result<String, String>) -> Result<(), Failure> {
    let shown = file.display();
    let text = text.map_err(|why| Failure { words: format!("{shown} is not written: {why}"), code: 3 })?;
    save(file, text.as_bytes(), false).map_err(|e| Failure {
        words: format!("{shown} can't be written: {e}; name another file"),
        code: 1,
    })?;
    // Standard output may be somebody's JSON.
    let _ = writeln!(std::io::stderr(), "{}", message(&format!("written: {shown}")));
    Ok(())
}
