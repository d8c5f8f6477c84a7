//! Puts right one changed byte of an entry, where the link that is stored with it tells what was there.
//!
//! The link is a hash, so that nothing but what was written gives it: what is found here is no guess.

use crate::{Link, Record};
use protocol::HostTime;
use std::borrow::Cow;
use std::cell::Cell;

/// How many bytes are hashed at most for one entry, and for all.
const FOR_ONE: u64 = 200_000_000;
const FOR_ALL: u64 = 800_000_000;

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
    tried.at = record.at;
    let json = record.json.as_bytes();
    let length = json.len() as u64;
    // What is no text any more was one byte of ASCII.
    if let Some((head, tail)) = record.json.split_once('\u{fffd}') {
        if !budget.pays(128, length) {
            return None;
        }
        return (0..128).map(char::from).find_map(|was| {
            tried.json = Cow::Owned(format!("{head}{was}{tail}"));
            gives(&tried).map(|link| (tried.clone(), link))
        });
    }
    let any: Vec<u8> = (1..=255).collect();
    let bits: Vec<u8> = (0..8).map(|bit| 1 << bit).collect();
    let masks = [any, bits].into_iter().find(|masks| budget.pays(masks.len() as u64 * length, length))?;
    let mut bytes = json.to_vec();
    for at in 0..bytes.len() {
        for mask in &masks {
            bytes[at] ^= mask;
            if let Ok(text) = str::from_utf8(&bytes) {
                tried.json = Cow::Owned(text.into());
                if let Some(link) = gives(&tried) {
                    return Some((tried, link));
                }
            }
            bytes[at] ^= mask;
        }
    }
    None
}
