//! Text from a person is inert: everything a host sends is cleaned as it comes in.

use protocol::text::{NAME_CHARS, NOTE_CHARS, clean};
use protocol::wire::{HostMessage, Welcome};
use protocol::{Sheet, TeaCard};

/// The longest title or reason shown, in characters.
const SENTENCE_CHARS: usize = 400;

/// A title or a reason made inert.
pub fn sentence(text: &str) -> String {
    clean(text, SENTENCE_CHARS)
}

/// A whole message made inert.
pub fn message(message: HostMessage) -> HostMessage {
    match message {
        HostMessage::Greeting { protocol, class_id, title } => {
            HostMessage::Greeting { protocol, class_id, title: clean(&title, NAME_CHARS * 3) }
        }
        HostMessage::Welcome(welcome) => HostMessage::Welcome(Box::new(clean_welcome(*welcome))),
        HostMessage::Declined { id, code, reason } => {
            HostMessage::Declined { id, code, reason: sentence(&reason) }
        }
        HostMessage::Revealed { seq, teas } => {
            HostMessage::Revealed { seq, teas: teas.into_iter().map(card).collect() }
        }
        HostMessage::Refusal { code, reason } => HostMessage::Refusal { code, reason: sentence(&reason) },
        other => other,
    }
}

fn clean_welcome(mut welcome: Welcome) -> Welcome {
    welcome.name = clean(&welcome.name, NAME_CHARS);
    welcome.sheet = sheet(welcome.sheet);
    welcome.teas = welcome.teas.into_iter().map(card).collect();
    for score in &mut welcome.scores {
        score.note = clean(&score.note, NOTE_CHARS);
    }
    welcome
}

fn sheet(mut sheet: Sheet) -> Sheet {
    for attribute in &mut sheet.attributes {
        attribute.name = clean(&attribute.name, NAME_CHARS);
        attribute.low = attribute.low.as_deref().map(|word| clean(word, NAME_CHARS));
        attribute.high = attribute.high.as_deref().map(|word| clean(word, NAME_CHARS));
    }
    // A scale the wrong way round has no point on it; without it the other lines can still be filled.
    sheet.attributes.retain(|a| a.min <= a.max);
    sheet
}

fn card(card: TeaCard) -> TeaCard {
    let inert = |text: Option<String>| text.map(|t| clean(&t, NAME_CHARS));
    TeaCard { name: inert(card.name), leaf: inert(card.leaf), ..card }
}
