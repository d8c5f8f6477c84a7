//! What comes over the wire, either way: read or refused in words, and what was read is written as what reads the same.
#![no_main]

use libfuzzer_sys::fuzz_target;
use protocol::wire::{HostMessage, SeatMessage, from_json};

fuzz_target!(|text: &str| {
    match from_json::<SeatMessage>(text) {
        Ok(message) => assert_eq!(from_json(&message.to_json()), Ok(message)),
        Err(words) => assert!(!words.is_empty()),
    }
    match from_json::<HostMessage>(text) {
        Ok(message) => assert_eq!(from_json(&message.to_json()), Ok(message)),
        Err(words) => assert!(!words.is_empty()),
    }
});
