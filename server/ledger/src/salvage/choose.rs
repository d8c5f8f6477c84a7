//! Of everything that was found in a damaged ledger, chooses what stood at each number.
//!
//! Links tell: what gives the link that is stored with it, or makes the entry behind it give its own, is what was written.
//! Links may be intact where entries are not, and the other way round.

use super::history;
use super::repair::{Budget, one_byte, one_byte_of_no_text};
use super::scan::Finds;
use super::{Meaning, Salvaged, Saved};
use crate::{Link, Record};
use protocol::HostTime;
use std::collections::{BTreeMap, BTreeSet};

/// How far a ledger is believed to go on behind the last entry that was found, if it says so itself.
const BELIEVED: u64 = 100_000;

/// Instant, kind and JSON.
pub type Content = (i64, String, String);

/// What may have stood at a number, and the links that may have stood behind it.
#[derive(Default)]
pub struct Place {
    pub contents: BTreeSet<Content>,
    /// Instant, kind and JSON of what is no text any more.
    no_texts: BTreeSet<(i64, String, Vec<u8>)>,
    pub links: BTreeSet<Link>,
}

impl Place {
    fn take(&mut self, at: i64, kind: String, json: Vec<u8>) {
        match String::from_utf8(json) {
            Ok(json) => drop(self.contents.insert((at, kind, json))),
            Err(error) => drop(self.no_texts.insert((at, kind, error.into_bytes()))),
        }
    }

    fn is_empty(&self) -> bool {
        self.contents.is_empty() && self.no_texts.is_empty()
    }

    /// What stands there as it reads, be it with a sign for what is no text.
    fn as_it_reads(&self, meaning: &dyn Meaning) -> Option<Content> {
        let no_texts = self
            .no_texts
            .iter()
            .map(|(at, kind, json)| (*at, kind.clone(), String::from_utf8_lossy(json).into_owned()));
        let mut all = self.contents.iter().cloned().chain(no_texts);
        all.find(|(_, kind, json)| meaning.kind(json).as_ref() == Some(kind))
    }
}

/// Everything that was found, by number.
pub struct Places<'m> {
    pub by_seq: BTreeMap<u64, Place>,
    /// The last number that the file says itself that it has.
    said_end: Option<u64>,
    meaning: &'m dyn Meaning,
    none: Place,
}

fn record(seq: u64, (at, kind, json): &Content) -> Record<'_> {
    Record { seq, at: HostTime(*at), kind: kind.into(), json: json.into(), once: None }
}

impl Places<'_> {
    fn at(&self, seq: u64) -> &Place {
        self.by_seq.get(&seq).unwrap_or(&self.none)
    }

    /// The links that may stand behind a number.
    pub fn behind(&self, seq: u64) -> Vec<Link> {
        if seq == 0 {
            return vec![Link::START];
        }
        self.at(seq).links.iter().copied().collect()
    }

    /// The link behind an entry, if a link that was found bears it out.
    pub fn proven(&self, seq: u64, before: &[Link], content: &Content) -> Option<Link> {
        let next = self.at(seq + 1);
        before.iter().map(|before| before.then(&record(seq, content))).find(|link| {
            let by_next = |content| next.links.contains(&link.then(&record(seq + 1, content)));
            self.at(seq).links.contains(link) || next.contents.iter().any(by_next)
        })
    }

    /// Whether an entry of a number belongs to this ledger, and not to one whose number was changed.
    fn belongs(&self, seq: u64) -> bool {
        let before = self.behind(seq - 1);
        let place = self.at(seq);
        place.contents.iter().any(|content| self.proven(seq, &before, content).is_some())
    }

    /// Up to which number the ledger went.
    fn last(&self, vouched: &[(u64, Link)]) -> u64 {
        let mut last = 0;
        let mut known: BTreeSet<Link> = BTreeSet::new();
        for (&seq, place) in &self.by_seq {
            // A link that stands behind an entry before shows that it is this number that was changed.
            let is_strayed = !place.links.is_empty() && place.links.is_subset(&known);
            known.extend(&place.links);
            let is_near = seq <= last + 1 || place.links.is_empty() && seq <= last + 64;
            let is_said = self.said_end.is_none_or(|end| seq <= end);
            if !place.is_empty() && (is_near && is_said && !is_strayed || self.belongs(seq)) {
                last = seq;
            }
        }
        for (seq, link) in vouched {
            let elsewhere = self.by_seq.iter().any(|(at, place)| *at <= last && place.links.contains(link));
            if !elsewhere && *seq > last && *seq - last <= BELIEVED {
                last = *seq;
            }
        }
        last
    }
}

/// The entries of a ledger from 1 on, and what has become of each.
pub fn choose(finds: &Finds, vouched: &[(u64, Link)], meaning: &dyn Meaning) -> Option<Saved> {
    let mut places = Places { by_seq: BTreeMap::new(), said_end: None, meaning, none: Place::default() };
    let (marked, mut vouched) = (vouched, vouched.to_vec());
    vouched.extend(finds.own.iter().filter_map(|own| Some((own.seq, own.link?))));
    // A record's line may give any number.
    for cell in finds.cells.iter().filter(|cell| (1..1 << 53).contains(&cell.seq)) {
        let place = places.by_seq.entry(cell.seq).or_default();
        place.take(cell.at, cell.kind.clone(), cell.json.clone());
        place.links.extend(cell.link);
    }
    // A number before the entry of which the link is that of the end was changed.
    let is_end = |place: &Place| place.links.iter().any(|link| finds.closed_with.contains(link));
    places.said_end =
        finds.said_end().filter(|end| !places.by_seq.range(end + 1..).any(|(_, place)| is_end(place)));
    let first = places.by_seq.entry(1).or_default();
    let mut instants: Vec<i64> = first.contents.iter().map(|(at, ..)| *at).collect();
    instants.push(0);
    for json in finds.own.iter().filter_map(|own| own.first.clone()) {
        let kind = meaning.kind(&String::from_utf8_lossy(&json)).unwrap_or_default();
        instants.iter().for_each(|at| first.take(*at, kind.clone(), json.clone()));
    }
    // What kind it is stands in the entry once more.
    for place in places.by_seq.values_mut() {
        let named =
            place.contents.iter().filter_map(|(at, _, json)| Some((*at, meaning.kind(json)?, json.clone())));
        let named: Vec<_> = named.collect();
        place.contents.extend(named);
    }
    let mut last = places.last(&vouched);
    for &(seq, link) in vouched.iter().filter(|(seq, _)| *seq <= last) {
        let mut others = places.by_seq.iter().filter(|(other, _)| **other != seq);
        if others.any(|(_, place)| place.links.contains(&link)) {
            continue;
        }
        places.by_seq.entry(seq).or_default().links.insert(link);
    }
    let others = history::part(&mut places, marked);
    if !others.is_empty() {
        vouched.retain(|key| !others.contains(key));
        last = places.last(&vouched);
    }
    let mut saved = walk(&places, last)?;
    saved.done.others = others.into_iter().map(|(seq, _)| seq).collect();
    saved.done.others.dedup();
    Some(saved)
}

fn walk(places: &Places<'_>, last: u64) -> Option<Saved> {
    let chained_from = places.by_seq.iter().find(|(_, place)| !place.links.is_empty()).map(|(seq, _)| *seq);
    let mut done = Salvaged { entries: last, ..Salvaged::default() };
    let mut records: Vec<Record<'static>> = Vec::new();
    let mut links = Vec::new();
    // The link behind the entry before, if it is known; entries before the chain are proven by its first link.
    let mut known = Some(Link::START);
    let mut unchained = Vec::new();
    let budget = Budget::new();
    for seq in 1..=last {
        if seq > 1 {
            links.push(known);
        }
        let place = places.at(seq);
        let before = known.map_or_else(|| places.behind(seq - 1), |link| vec![link]);
        let by = |before: &[Link]| {
            place.contents.iter().find_map(|c| Some((c.clone(), places.proven(seq, before, c)?)))
        };
        let proven = by(&before).or_else(|| {
            // It goes on from another entry than the one before, to which somebody gave a link of its own.
            let proven = by(&places.behind(seq - 1)).filter(|_| known.is_some())?;
            done.changed.push(seq - 1);
            Some(proven)
        });
        // An entry whose own number was changed is where another one is.
        let strayed = || {
            let links: BTreeSet<&Link> = places.by_seq.values().flat_map(|place| &place.links).collect();
            places.by_seq.values().flat_map(|place| &place.contents).find_map(|content| {
                let mut link = before.iter().map(|before| before.then(&record(seq, content)));
                Some((content.clone(), link.find(|link| links.contains(link))?))
            })
        };
        let is_unchained = place.links.is_empty() && chained_from.is_none_or(|from| seq < from);
        if let Some((content, link)) = proven.or_else(|| if is_unchained { None } else { strayed() }) {
            if chained_from == Some(seq) {
                unchained.clear();
            }
            records.push(record(seq, &content).into_owned());
            known = Some(link);
            continue;
        }
        let mended = || {
            let gives = |link: &Link| place.links.contains(link);
            let mut no_texts = place.no_texts.iter();
            let no_text = no_texts
                .find_map(|(at, kind, json)| one_byte_of_no_text((seq, *at, kind, json), &before, &gives));
            let text = |content| one_byte(&record(seq, content), &before, &gives, &budget);
            no_text.or_else(|| place.contents.iter().find_map(text))
        };
        if let Some((record, link)) = if place.links.is_empty() { None } else { mended() } {
            records.push(record);
            done.mended.push(seq);
            known = Some(link);
            continue;
        }
        match place.as_it_reads(places.meaning) {
            Some(content) => {
                let record = record(seq, &content).into_owned();
                known = known.filter(|_| is_unchained).map(|link| link.then(&record));
                if is_unchained {
                    unchained.push(seq);
                } else if before.is_empty() {
                    done.unproven.push(seq);
                } else {
                    done.changed.push(seq);
                }
                records.push(record);
            }
            // Without the first no other can be understood.
            None if seq == 1 => return None,
            None => {
                let (kind, json) = places.meaning.lost();
                let at = records.last().map_or(HostTime(0), |record| record.at);
                records.push(Record { seq, at, kind: kind.into(), json: json.into(), once: None });
                done.lost.push(seq);
                known = None;
            }
        }
    }
    done.unproven.extend(unchained);
    done.unproven.sort_unstable();
    links.push(known);
    (last > 0).then(|| Saved { records: in_order(records, &done), done, links })
}

/// What can't be proven is set between the instants of what is.
fn in_order(mut records: Vec<Record<'static>>, done: &Salvaged) -> Vec<Record<'static>> {
    let loose: BTreeSet<u64> =
        [&done.changed, &done.unproven, &done.lost].into_iter().flatten().copied().collect();
    let mut ceiling = HostTime(i64::MAX);
    for record in records.iter_mut().rev() {
        if loose.contains(&record.seq) {
            record.at = record.at.min(ceiling);
        } else {
            ceiling = record.at;
        }
    }
    let mut floor = HostTime(i64::MIN);
    for record in &mut records {
        if loose.contains(&record.seq) {
            record.at = record.at.max(floor);
        }
        floor = record.at;
    }
    records
}
