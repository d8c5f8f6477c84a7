//! The page as a person sees it.

use crate::text::{seat_page, text, within};
use fixtures::evening;
use summary::summarise;

#[test]
fn a_revealed_class_reads_from_what_was_found_to_how() {
    let room = evening(&[0, 1, 2, 3]);
    let summary = summarise(&room, room.last_at);
    insta::assert_snapshot!("page-80", text(&summary));
    insta::assert_snapshot!("page-60", within(&summary, 60));
    insta::assert_snapshot!("seat-80", seat_page(&summary, &room, "Edda", 80).unwrap());
}
