//! A seat's file: understood or refused in words, and what was understood is written as what is understood the same.
#![no_main]

use client::keep::{understood, written};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|file: &[u8]| {
    match understood(file) {
        Ok(kept) => assert_eq!(understood(&written(&kept).unwrap()), Ok(kept)),
        Err(words) => assert!(!words.is_empty()),
    }
});
