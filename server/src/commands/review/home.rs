//! What is taken home: the cards of the teas, the pages of the seats.

use super::{Part, room_without};
use crate::exit::Failure;
use crate::output::Output;
use report::home::{cards, seat};
use std::path::Path;
use summary::summarise;

/// How wide a seat's page of text is.
const PAPER_WIDTH: usize = 80;

/// A card for each tea, on one page to print.
pub fn write_cards(path: &Path, part: Part<'_>, output: &Output) -> Result<(), Failure> {
    let room = room_without(path, part)?;
    Ok(output.page(&cards::html(&summarise(&room, room.last_at)))?)
}

/// The page of every seat, as HTML and as text: all of them, or none if one is there and must stay.
pub fn write_seats(path: &Path, part: Part<'_>, output: &Output) -> Result<(), Failure> {
    let room = room_without(path, part)?;
    let summary = summarise(&room, room.last_at);
    let seats: Vec<&str> = summary.seats.iter().map(|seat| seat.name.as_str()).collect();
    let pages = seats.iter().zip(seat::file_names(&seats)).flat_map(|(name, file)| {
        let html = seat::html(&summary, &room, name).unwrap_or_default();
        let text = report::text::seat_page(&summary, &room, name, PAPER_WIDTH).unwrap_or_default();
        [(format!("{file}.html"), html), (format!("{file}.txt"), text)]
    });
    Ok(output.folder(pages)?)
}
