//! Puts right one changed byte of an entry, where the link that is stored with it tells what was there.
//!
//! The link is a hash, so that nothing but what was written gives it: what is found here is no guess.

use crate::{Link, Record};
use protocol::HostTime;
use std::borrow::Cow;
use std::cell::Cell;
use std::ops::Range;

/// How many bytes are hashed at most for one entry, and for all.
const FOR_ONE: u64 = 200_000_000;
const FOR_ALL: u64 = 800_000_000;

/// How far before the place where JSON stops being some the byte that was changed is looked for.
const NEAR: usize = 64;

/// What may still be spent.
pub struct Budget(Cell<u64>);

impl Budget {
    pub fn new() -> Self {
        Self(Cell::new(FOR_ALL))
    }

    /// Whether so many tries at an entry of a length can be made; they are paid for then.
    fn pays(&self, tries: u64, length: u64) -> bool {
        let price = tries * length;
        let can = price <= FOR_ONE && price <= self.0.get();
        if can {
            self.0.set(self.0.get() - price);
        }
        can
    }
}

/// The entry that gives one of some links and differs from this one in one byte, or in one bit if it is long.
pub fn one_byte(
    record: &Record<'_>,
    before: &[Link],
    links: &dyn Fn(&Link) -> bool,
    budget: &Budget,
) -> Option<(Record<'static>, Link)> {
    let gives =
        |record: &Record<'_>| before.iter().map(|before| before.then(record)).find(|link| links(link));
    let mut tried = Record { once: None, ..record.clone().into_owned() };
    for bit in 0..64 {
        tried.at = HostTime(record.at.0 ^ 1 << bit);
        if let Some(link) = gives(&tried) {
            return Some((tried, link));
        }
    }
    // One digit, as a record writes it.
    for place in (0..=18).map(|digits| 10_i64.pow(digits)) {
        let digit = record.at.0 / place % 10;
        for other in -9..=9 {
            let changed = (other - digit).checked_mul(place).and_then(|more| record.at.0.checked_add(more));
            tried.at = changed.map_or(record.at, HostTime);
            if let Some(link) = gives(&tried) {
                return Some((tried, link));
            }
        }
    }
    tried.at = record.at;
    let json = record.json.as_bytes();
    let length = json.len() as u64;
    let any: Vec<u8> = (1..=255).collect();
    let bits: Vec<u8> = (0..8).map(|bit| 1 << bit).collect();
    let mut bytes = json.to_vec();
    let mut among = |places: Range<usize>, masks: &[u8]| {
        for at in places {
            for mask in masks {
                bytes[at] ^= mask;
                if let Ok(text) = str::from_utf8(&bytes) {
                    tried.json = Cow::Owned(text.into());
                    if let Some(link) = gives(&tried) {
                        return Some((tried.clone(), link));
                    }
                }
                bytes[at] ^= mask;
            }
        }
        None
    };
    // What is no JSON any more was changed a little before the place where it stops being some.
    let stops = stops(json);
    let near = stops.saturating_sub(NEAR)..stops;
    if budget.pays((any.len() * near.len()) as u64, length) {
        let found = among(near, &any);
        if found.is_some() {
            return found;
        }
    }
    let masks = [any, bits].into_iter().find(|masks| budget.pays(masks.len() as u64 * length, length))?;
    among(0..json.len(), &masks)
}

/// How many bytes of JSON are JSON, up to the one that can't follow them; none if all of it is.
fn stops(json: &[u8]) -> usize {
    let fault = serde_json::from_slice::<serde::de::IgnoredAny>(json).err();
    fault.filter(|fault| fault.line() == 1).map_or(0, |fault| fault.column().min(json.len()))
}

/// The same of an entry whose JSON is no text any more: the byte that was changed lies where it stops being one, or within the
/// character before or behind, which has four bytes at most.
pub fn one_byte_of_no_text(
    (seq, at, kind, json): (u64, i64, &str, &[u8]),
    before: &[Link],
    links: &dyn Fn(&Link) -> bool,
) -> Option<(Record<'static>, Link)> {
    let stops = str::from_utf8(json).err()?.valid_up_to();
    let mut bytes = json.to_vec();
    for place in stops.saturating_sub(3)..json.len().min(stops + 4) {
        for other in 0..=255 {
            bytes[place] = other;
            let Ok(text) = str::from_utf8(&bytes) else { continue };
            let tried = Record { seq, at: HostTime(at), kind: kind.into(), json: text.into(), once: None };
            if let Some(link) = before.iter().map(|before| before.then(&tried)).find(|link| links(link)) {
                return Some((tried.into_owned(), link));
            }
        }
        bytes[place] = json[place];
    }
    None
}
