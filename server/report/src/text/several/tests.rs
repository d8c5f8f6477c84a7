use crate::text::several::within;
use fixtures::several::{held, plain};
use room::light::ClassScores;
use room::{Entry, Room};
use summary::several::digest::Digest;
use summary::several::{Pool, pool};

/// Four classes, one of them without names and one in which hardly anybody scored.
pub(super) fn pooled() -> Pool {
    let alone = |n: u8, tea: u16, steep: u32| plain(n, tea, steep).filter(|_| n == 0 && tea < 2);
    of([
        held("2026-11-28", false, 100, 6, plain),
        held("2026-12-05", false, 300, 6, plain),
        held("2026-12-12", true, 500, 3, plain),
        held("2026-12-19", false, 700, 2, alone),
    ])
}

/// Ledgers pooled.
pub(super) fn of(ledgers: impl IntoIterator<Item = Vec<Entry>>) -> Pool {
    let read = |entries| {
        let record = ClassScores::of(&Room::replay(entries).unwrap());
        let digest = Digest::of(&record);
        (record, digest)
    };
    pool(&ledgers.into_iter().map(read).collect::<Vec<(ClassScores, Digest)>>())
}

#[test]
fn the_pooled_page_is_as_it_was_read_last() {
    insta::assert_snapshot!(within(&pooled(), 80));
}

#[test]
fn what_is_blind_in_its_ledger_is_named_nowhere_on_the_page() {
    let classes =
        [(false, 100), (true, 300)].map(|(blind, first)| held("2026-11-28", blind, first, 6, plain));
    let page = within(&of(classes), 80);
    assert!(page.contains("Slope, long 100") || page.contains("Lantern Slope"));
    assert!(!page.contains("long 300") && !page.contains("short 300"));
}
