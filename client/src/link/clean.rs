//! Text from a person is inert, and numbers are such as a class can have: everything a host sends is cleaned as it
//! comes in.

#[cfg(test)]
mod tests;

use protocol::text::{NAME_CHARS, TITLE_CHARS, clean};
use protocol::wire::{Back, HostMessage, OpenSheet, Saying, VoidCup, Welcome};
use protocol::{Code, HostTime, Recipe, Score, Sheet, TeaCard, TestCard, Timetable};
use seat::host_clock::sound_pace;
use std::collections::HashSet;
use std::ops::RangeInclusive;

/// The longest reason shown, in characters.
const SENTENCE_CHARS: usize = 400;
/// No class goes on for so long (3,000 years), and no arithmetic with instants up to here overflows, in microseconds.
const LONGEST_US: i64 = 100_000_000_000_000_000;
/// No test has more cups to choose from: one digit has to do for each.
const CUPS: usize = 9;
/// No water here is hotter or colder, in °C.
const WATER_C: RangeInclusive<f64> = -100.0..=200.0;
/// No kettle or vessel here holds more, in millilitres.
const WATER_ML: f64 = 1e6;
/// How many names are shown of those who have come.
const NAMES: usize = 40;
/// How many digits a seat is told of a link.
const LINK_DIGITS: usize = 16;

/// A reason made inert.
pub fn sentence(text: &str) -> String {
    clean(text, SENTENCE_CHARS)
}

/// A whole message made inert.
pub fn message(message: HostMessage) -> HostMessage {
    match message {
        HostMessage::Greeting { protocol, nonce, class_id, title } => {
            HostMessage::Greeting { protocol, nonce, class_id, title: clean(&title, TITLE_CHARS) }
        }
        HostMessage::Class { class_id, title } => {
            HostMessage::Class { class_id, title: clean(&title, TITLE_CHARS) }
        }
        HostMessage::Welcome(welcome) => HostMessage::Welcome(Box::new(clean_welcome(*welcome))),
        HostMessage::Back(back) => HostMessage::Back(Box::new(clean_back(*back))),
        HostMessage::Course { seq, phase, timetable: all } => {
            HostMessage::Course { seq, phase, timetable: timetable(all) }
        }
        HostMessage::Here { names, seats } => HostMessage::Here {
            names: names.iter().take(NAMES).map(|name| clean(name, NAME_CHARS)).collect(),
            seats,
        },
        HostMessage::LastCall { until, .. } if !can_be(until.0) => HostMessage::Unknown,
        // A time that can't be is no answer.
        HostMessage::Pong { t1_us, t2_us, t3_us } if ![t1_us, t2_us, t3_us].into_iter().all(can_be) => {
            tracing::warn!(t1_us, t2_us, t3_us, "left out: a pong at an instant that can't be");
            HostMessage::Unknown
        }
        HostMessage::Declined { id, code, reason } => {
            HostMessage::Declined { id, code, reason: sentence(&reason) }
        }
        HostMessage::Revealed { seq, teas } => {
            HostMessage::Revealed { seq, teas: teas.into_iter().map(card).collect() }
        }
        HostMessage::Test { seq, card } => match test(card) {
            Some(card) => HostMessage::Test { seq, card },
            None => HostMessage::Unknown,
        },
        HostMessage::Refusal { code, reason } => HostMessage::Refusal { code, reason: sentence(&reason) },
        HostMessage::Cups { seq, voided, scores } => HostMessage::Cups {
            seq,
            voided: voided.into_iter().map(void).collect(),
            scores: scores.into_iter().map(Score::inert).collect(),
        },
        HostMessage::Said(said) => HostMessage::Said(saying(said)),
        HostMessage::Notice { words } => HostMessage::Notice { words: sentence(&words) },
        HostMessage::Accepted { seq, id, link: beginning } => {
            HostMessage::Accepted { seq, id, link: link(beginning) }
        }
        // By name, so that a new message does not compile until it is said what is made inert in it.
        HostMessage::Reopened { seq, reopened } => HostMessage::Reopened { seq, reopened: open(reopened) },
        // For consoles that lead.
        HostMessage::Led { .. } | HostMessage::Line { .. } => HostMessage::Unknown,
        harmless @ (HostMessage::LastCall { .. } | HostMessage::Pong { .. } | HostMessage::Unknown) => {
            harmless
        }
    }
}

/// The beginning of a link as it can be; none if it is none.
fn link(text: String) -> String {
    let is_one = text.len() == LINK_DIGITS && text.bytes().all(|byte| byte.is_ascii_hexdigit());
    if is_one { text } else { String::new() }
}

fn clean_back(mut back: Back) -> Back {
    back.link = link(back.link);
    back.pace = sound_pace(back.pace);
    back.last_call_us = back.last_call_us.filter(|until| can_be(until.0));
    back.teas = back.teas.into_iter().map(card).collect();
    back.timetable = back.timetable.map(timetable);
    back.tests = back.tests.into_iter().filter_map(test).collect();
    back.scores = back.scores.into_iter().map(Score::inert).collect();
    back.owes_from_us = back.owes_from_us.filter(|from| can_be(from.0));
    back.reopened = back.reopened.map(open);
    back.said = back.said.into_iter().map(saying).collect();
    back
}

fn clean_welcome(mut welcome: Welcome) -> Welcome {
    welcome.name = clean(&welcome.name, NAME_CHARS);
    welcome.title = clean(&welcome.title, TITLE_CHARS);
    welcome.link = link(welcome.link);
    welcome.sheet = sheet(welcome.sheet);
    welcome.pace = sound_pace(welcome.pace);
    // A code stands for one tea; a second card of the same code could not be told from the first.
    let mut codes = HashSet::<Code>::new();
    let cards = welcome.teas.into_iter().filter(|card| codes.insert(card.code));
    welcome.teas = cards.map(card).collect();
    welcome.timetable = timetable(welcome.timetable);
    welcome.last_call_us = welcome.last_call_us.filter(|until| can_be(until.0));
    welcome.owes_from_us = HostTime(welcome.owes_from_us.0.clamp(-LONGEST_US, LONGEST_US));
    welcome.kettles = welcome.kettles.iter().map(|name| clean(name, NAME_CHARS)).collect();
    welcome.before_start = welcome.before_start.as_deref().map(sentence);
    welcome.tests = welcome.tests.into_iter().filter_map(test).collect();
    welcome.scores = welcome.scores.into_iter().map(Score::inert).collect();
    welcome.voided = welcome.voided.into_iter().map(void).collect();
    welcome.reopened = open(welcome.reopened);
    welcome.said = welcome.said.into_iter().map(saying).collect();
    welcome
}

fn void(void: VoidCup) -> VoidCup {
    VoidCup { reason: sentence(&void.reason), ..void }
}

fn open(mut sheets: Vec<OpenSheet>) -> Vec<OpenSheet> {
    sheets.retain(|sheet| can_be(sheet.until_us.0));
    sheets
}

fn saying(said: Saying) -> Saying {
    Saying { words: sentence(&said.words), ..said }
}

/// A test with as many cups as a person can have in front of them; without two of them there is nothing to choose.
fn test(mut card: TestCard) -> Option<TestCard> {
    card.question = sentence(&card.question);
    let mut codes: HashSet<Code> = card.reference.into_iter().collect();
    card.codes.retain(|code| codes.insert(*code));
    card.codes.truncate(CUPS);
    if card.codes.len() < 2 {
        tracing::warn!(card.test, "left out: a test without a choice");
    }
    (card.codes.len() >= 2).then_some(card)
}

fn sheet(mut sheet: Sheet) -> Sheet {
    for attribute in &mut sheet.attributes {
        attribute.name = clean(&attribute.name, NAME_CHARS);
        attribute.low = attribute.low.as_deref().map(|word| clean(word, NAME_CHARS));
        attribute.high = attribute.high.as_deref().map(|word| clean(word, NAME_CHARS));
    }
    // A scale the wrong way round has no point on it, and a second one of the same name could not be told from the
    // first; without them the other lines can still be filled.
    let mut names = HashSet::<String>::new();
    sheet.attributes.retain(|a| {
        let sound = a.min <= a.max && names.insert(a.name.clone());
        if !sound {
            tracing::warn!(name = a.name, a.min, a.max, "left out: a line of the sheet that can't be");
        }
        sound
    });
    let mut words = HashSet::<String>::new();
    sheet.words = sheet.words.iter().map(|word| clean(word, NAME_CHARS)).collect();
    sheet.words.retain(|word| !word.is_empty() && words.insert(word.clone()));
    sheet.words.truncate(Sheet::MAX_WORDS);
    sheet
}

fn can_be(us: i64) -> bool {
    (-LONGEST_US..=LONGEST_US).contains(&us)
}

/// A cue at an instant that can't be is left out: nothing could be done at it.
fn timetable(mut timetable: Timetable) -> Timetable {
    timetable.cues.retain_mut(|cue| {
        cue.temp_c = cue.temp_c.filter(|temp_c| WATER_C.contains(temp_c));
        cue.water_ml = cue.water_ml.filter(|ml| (0.0..=WATER_ML).contains(ml));
        let HostTime(at_us) = cue.at;
        if !can_be(at_us) {
            tracing::warn!(%cue, at_us, "left out: a cue at an instant that can't be");
        }
        can_be(at_us)
    });
    timetable
}

fn card(card: TeaCard) -> TeaCard {
    let inert = |text: Option<String>| text.map(|t| clean(&t, NAME_CHARS));
    TeaCard { name: inert(card.name), leaf: inert(card.leaf), recipe: card.recipe.filter(sound), ..card }
}

/// A recipe of numbers that can be shown.
fn sound(recipe: &Recipe) -> bool {
    let amounts = [recipe.leaf_g, recipe.water_ml];
    amounts.iter().all(|a| a.is_finite() && *a >= 0.0) && recipe.temp_c.iter().all(|c| WATER_C.contains(c))
}
