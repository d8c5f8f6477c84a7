//! Eight scripted tasters. Their names, tastes and habits are invented.

use class::{Class, Tea};
use client::drive::{self, Options};
use client::link::dial::Tcp;
use host::clock::HostClock;
use protocol::{Action, Code, Cue, Strength, TestCard};
use room::Room;
use seat::app::{Fill, Happening, SeatInput};
use tokio::sync::mpsc;
use tokio::task::JoinHandle;

/// What a scripted seat lets the demo know.
pub enum Heard {
    /// It was cued, this many microseconds of the room's time after the instant (less than nought: before).
    Cue { cue: Cue, late_us: i64 },
    /// Something else worth a line.
    Said(String),
    /// Its last score has been acknowledged.
    Done,
}

/// Name; liking for dark and thick teas (negative: for light ones); how high the taster scores; unsteadiness in points.
const TASTERS: [(&str, f64, f64, f64); 8] = [
    ("Ada", 1.0, 0.5, 0.6),
    ("Bram", -0.5, -0.5, 0.8),
    ("Chen", 0.3, 0.0, 0.4),
    ("Dilip", 1.2, 0.8, 1.0),
    ("Esi", -1.0, 0.2, 0.7),
    ("Femke", 0.2, -1.0, 0.9),
    ("Goran", 0.8, 0.0, 1.2),
    ("Hana", -0.3, 0.3, 0.5),
];

/// The share of tasters who tell the two ways of one leaf apart.
const TELLS_APART: f64 = 0.7;

/// Seats all tasters over real sockets.
pub fn seat_all(
    address: &str,
    room: &Room,
    clock: HostClock,
    hear: &mpsc::UnboundedSender<Heard>,
) -> Vec<JoinHandle<()>> {
    let each = (0..TASTERS.len())
        .map(|n| tokio::spawn(sit(n, options(n, address, room), room.class.clone(), clock, hear.clone())));
    each.collect()
}

/// Each says the join code that the host shows.
fn options(n: usize, address: &str, room: &Room) -> Options {
    Options { join_code: room.join_code, ..Options::new(TASTERS[n].0, address) }
}

async fn sit(n: usize, options: Options, class: Class, clock: HostClock, hear: mpsc::UnboundedSender<Heard>) {
    let (name, ..) = TASTERS[n];
    let (say, inputs) = mpsc::channel(64);
    let (outputs, mut happenings) = mpsc::channel(64);
    let dialler = Tcp::new(&options.address);
    let running = tokio::spawn(drive::run(dialler, options, inputs, outputs));
    let mut rng = fastrand::Rng::with_seed(n as u64);
    let (mut open, mut over, mut told) = (0_usize, false, false);
    while let Some(happened) = happenings.recv().await {
        match happened.what {
            Happening::Cue { cue, .. } => {
                let late_us = ((clock.now() - cue.at) as f64 / clock.pace()) as i64;
                let _ = hear.send(Heard::Cue { cue: cue.clone(), late_us });
                over |= cue.action == Action::SheetCloses && cue.round() == class.rounds();
                if cue.action == Action::Taste {
                    for fill in fills(n, &class, cue.round(), &mut rng) {
                        open += 1;
                        let _ = say.send(SeatInput::Fill(fill)).await;
                    }
                }
            }
            Happening::TestOpened(card) => {
                open += 1;
                let pick = pick(&class, &card, &mut rng);
                let _ = say.send(SeatInput::Answer { test: card.test, pick }).await;
            }
            Happening::Kept { .. } | Happening::AnswerKept(_) => open = open.saturating_sub(1),
            Happening::NotTaken { .. } | Happening::Warning(_) => {
                let _ = hear.send(Heard::Said(format!("{name}: {:?}", happened.what)));
                open = open.saturating_sub(1);
            }
            _ => {}
        }
        if over && open == 0 && !told {
            let _ = hear.send(Heard::Done);
            told = true;
        }
    }
    let _ = running.await;
}

/// The odd cup, if the taster can tell; somebody else guesses.
fn pick(class: &Class, card: &TestCard, rng: &mut fastrand::Rng) -> Code {
    let test = class.test(card.test);
    let set = test.and_then(|test| test.sets.iter().find(|set| set.tea(card.codes[0]).is_some()));
    let right = test.zip(set).and_then(|(test, set)| {
        let right = test.right(set)?;
        set.cups.iter().find(|cup| cup.tea == right).map(|cup| cup.code)
    });
    let guess = card.codes[rng.usize(..card.codes.len())];
    right.filter(|_| rng.f64() < TELLS_APART).unwrap_or(guess)
}

/// A taster's sheets for one round. Goran forgets a cup.
fn fills(n: usize, class: &Class, round: u32, rng: &mut fastrand::Rng) -> Vec<Fill> {
    let name = TASTERS[n].0;
    let served = class.coded().filter(|(_, tea)| tea.steeps() >= round);
    let tasted = served.enumerate().filter(|(i, _)| name != "Goran" || round != 2 || *i != 1);
    tasted.map(|(_, (code, tea))| fill(n, code, tea, round, rng)).collect()
}

fn fill(n: usize, code: Code, tea: &Tea, round: u32, rng: &mut fastrand::Rng) -> Fill {
    let (name, dark, high, unsteady) = TASTERS[n];
    // Strength as a rough product of dose and time on a scale of its own: 0 is thin, 1 is right, 2 is strong.
    let seconds = f64::from(tea.steep_s[round as usize - 1]);
    let strength = tea.dose_g_per_100_ml() * (seconds + 20.0) / 220.0;
    let darkness = if tea.leaf.contains("black") {
        1.0
    } else if tea.leaf.contains("green") {
        -1.0
    } else {
        0.0
    };
    let mut score = |centre: f64| {
        let noise = (rng.f64() + rng.f64() + rng.f64() - 1.5) * 2.0 * unsteady;
        Some((centre + high + noise).round().clamp(1.0, 9.0) as i32)
    };
    let aroma = score(6.0 - 0.4 * f64::from(round) + 0.5 * strength);
    let body = score(3.0 + 2.0 * strength + darkness);
    let liking = score(6.5 + dark * darkness - 1.5 * (strength - 1.0).abs());
    // Who likes dark teas finds the same cup thinner.
    let felt = (strength - 1.0) * 2.0 - 0.6 * dark + rng.f64() - 0.5;
    let vote = Strength::try_from(felt.round().clamp(-2.0, 2.0) as i8).ok();
    let note = match (name, round, liking) {
        ("Esi", 1, Some(..=5)) => "a little heavy for me".into(),
        ("Ada", _, Some(8..)) => "again, please".into(),
        _ => String::new(),
    };
    let (values, words) = (vec![aroma, body, liking], words(tea, round, strength, rng));
    Fill { steep: Some(round), values, strength: vote, words, note, ..Fill::of(code) }
}

/// What a taster ticks: what the leaf brings, more of it from a stronger cup, and now and then something else.
fn words(tea: &Tea, round: u32, strength: f64, rng: &mut fastrand::Rng) -> Vec<String> {
    let likely: &[(&str, f64)] = if tea.leaf.contains("black") {
        &[("roasted", 0.6), ("sweet", 0.5), ("warm bread", 0.5), ("fruity", 0.2)]
    } else if tea.leaf.contains("green") {
        &[("grassy", 0.8), ("nutty", 0.4), ("sweet", 0.2), ("wet stone", 0.2)]
    } else {
        &[("floral", 0.7), ("fruity", 0.4), ("roasted", 0.2), ("wet stone", 0.1 * f64::from(round))]
    };
    let ticked = likely.iter().filter(|(_, chance)| rng.f64() < chance * strength.clamp(0.5, 1.3));
    ticked.map(|(word, _)| word.to_string()).collect()
}
