//! A class file: a class that a ledger gives back as it was, or faults with their places, told without a character that a
//! terminal would act on.
#![no_main]

use class::{Class, read};
use libfuzzer_sys::fuzz_target;
use protocol::text::message;

fuzz_target!(|text: &str| {
    match read::class(text) {
        Ok(class) => {
            let class = class.with_codes(1);
            assert!(!class.teas.is_empty() && class.coded().count() == class.teas.len());
            let stored = serde_json::to_string(&class).unwrap();
            assert_eq!(serde_json::from_str::<Class>(&stored).unwrap(), class);
        }
        Err(faults) => {
            assert!(!faults.0.is_empty());
            for place in faults.0.iter().filter_map(|fault| fault.place.clone()) {
                assert!(text.get(place.clone()).is_some(), "{place:?} is no place in it");
            }
            let drawn = faults.render("class.toml", text, "the class was not opened");
            assert_eq!(message(&drawn), drawn);
        }
    }
});
