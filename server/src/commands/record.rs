//! `kettlecall record` and `kettlecall restore`.

use super::salvage;
use crate::exit::Failure;
use crate::output::Output;
use host::HostError;
use ledger::record::{self, About};
use ledger::{Ending, Found, Record, inspect};
use protocol::text::message;
use room::Event;
use std::io::Write;
use std::path::Path;

/// Every entry of a ledger or a record that is whole, as it is stored. Where nothing vouches for its end, one more says so: what
/// is made of it is one file that says itself how far it goes, and would vouch for an end that nobody knows.
fn stored(path: &Path) -> Result<(Vec<Record<'static>>, Found), Failure> {
    let mut records = Vec::new();
    let found = inspect(path, |record| {
        records.push(record.into_owned());
        Ok(())
    })?;
    let found = found.whole(path)?;
    if let (Ending::Unmarked, Some(last)) = (found.ending, records.last()) {
        let why = "its -mark was not beside it when it was copied".into();
        let (kind, json) = salvage::stored(&Event::Lost { why, at_end: true });
        let (seq, at) = (last.seq + 1, last.at);
        records.push(Record { seq, at, kind: kind.into(), json: json.into(), once: None });
    }
    Ok((records, found))
}

/// Writes a record.
pub fn write(ledger: &Path, output: &Output) -> Result<(), Failure> {
    let (records, found) = stored(ledger)?;
    let first = records.first().map(|first| Event::read(&first.kind, &first.json));
    let Some(Ok(Event::Class { class_id, class, .. })) = first else {
        let problem = "it does not begin with a class, so that there is nothing to keep";
        return Err(HostError::Replay(ledger.into(), problem.into()).into());
    };
    let about = About { class_id, title: class.title };
    Ok(output.exact(&record::text(&about, &records, &found))?)
}

/// Makes a ledger of a record.
pub fn restore(from: &Path, to: &Path) -> Result<(), Failure> {
    let (records, found) = stored(from)?;
    record::restore(to, &records, found.chained_from)?;
    let words = format!("written: {} ({} entries)", to.display(), records.len());
    let _ = writeln!(std::io::stderr(), "{}", message(&words));
    Ok(())
}
