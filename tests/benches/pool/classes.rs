//! A hundred classes of our own invention, drawn from a seed and written as ledgers.

use class::course::Course;
use class::{Class, read};
use host::stored;
use ledger::Sqlite;
use plan::{Rest, plan, plan_rounds};
use protocol::time::SECOND_US;
use protocol::{HostTime, Score, SeatId, Strength, Timetable, Token};
use room::{Entry, Event, Room};
use std::fmt::Write;
use std::path::{Path, PathBuf};
use uuid::Uuid;

/// How many classes.
pub const CLASSES: usize = 100;
/// Seats of each.
pub const SEATS: usize = 20;
/// What is scored.
pub const ATTRIBUTES: [&str; 6] = ["aroma", "body", "sweetness", "bitterness", "aftertaste", "liking"];
const LEAVES: [&str; 4] = ["Lantern Slope", "Copper Pier", "Snow Gully", "Old Ferry"];
const STEEPS: usize = 8;
/// How many points are in all the ledgers together.
pub const VALUES: usize = CLASSES * SEATS * LEAVES.len() * 2 * STEEPS * ATTRIBUTES.len();
/// A change of what is drawn gets a new number, so that nothing old is measured.
const FORM: u32 = 1;

/// Draws numbers below a bound (the 64-bit generator of Marsaglia, Xorshift RNGs, 2003, with a multiplier behind).
struct Draw(u64);

impl Draw {
    fn below(&mut self, bound: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 33) % bound
    }

    fn id(&mut self) -> Uuid {
        let half = |draw: &mut Self| {
            draw.below(1);
            draw.0
        };
        Uuid::from_u64_pair(half(self), half(self))
    }
}

fn class(number: usize) -> Class {
    let mut text = format!(
        "title = \"Class {number}\"\ndate = {}-{:02}-{:02}\nseats = {SEATS}\npourers = \"each seat\"\npour_s = 5\ndecant_s = 4\ntaste_s = 60\nblind = false\n[sheet]\nattributes = {ATTRIBUTES:?}\n",
        2024 + number / 48,
        1 + number % 48 / 4,
        1 + number % 4 * 7
    );
    for leaf in LEAVES {
        for (way, leaf_g, steep_s, add_s) in [("short", 6, 15, 5), ("long", 3, 45, 15)] {
            // Writing to a String can't fail.
            let _ = write!(
                text,
                "[[tea]]\nname = \"{leaf}, {way}\"\nleaf = \"{leaf}\"\nleaf_g = {leaf_g}\nwater_ml = 100\ntemp_c = 95\nsteep_s = [{steep_s}]\nthen_add_s = {add_s}\nsteeps = {STEEPS}\n"
            );
        }
    }
    read::class(&text).unwrap().with_codes(number as u64)
}

/// The ledgers, and one table of the same points as comma-separated text; written once for a seed and kept.
pub fn made(folder: &Path, seed: u64) -> (Vec<PathBuf>, PathBuf) {
    let folder = folder.join(format!("pool-{FORM}-{seed}"));
    let ledgers: Vec<PathBuf> = (0..CLASSES).map(|n| folder.join(format!("class-{n:03}.ledger"))).collect();
    let (table, done) = (folder.join("scores.csv"), folder.join("done"));
    if !done.is_file() {
        let _ = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(&folder).unwrap();
        let mut draw = Draw(seed | 1);
        let mut text = String::from("class,way,steep,attribute,value\n");
        // Every class has the same timetable but for its codes; it is planned once.
        let rounds = plan_rounds(&class(0)).unwrap();
        let cues =
            plan(&class(0), &Course::written(&class(0)), &rounds, Rest::default(), HostTime(SECOND_US))
                .unwrap();
        for (number, path) in ledgers.iter().enumerate() {
            let class = class(number);
            let mut cues = cues.clone();
            for cue in &mut cues {
                let first = self::class(0);
                let place = cue.code.and_then(|code| first.teas.iter().position(|t| t.code == Some(code)));
                cue.code = place.and_then(|place| class.teas[place].code);
            }
            let entries = entries(number, class, Timetable::new(1, cues), &mut draw, &mut text);
            stored::append(&mut Sqlite::open(path).unwrap(), &entries).unwrap();
        }
        std::fs::write(&table, text).unwrap();
        std::fs::write(&done, "").unwrap();
    }
    (ledgers, table)
}

fn entries(
    number: usize,
    class: Class,
    timetable: Timetable,
    draw: &mut Draw,
    table: &mut String,
) -> Vec<Entry> {
    let end_s = timetable.cues.last().map_or(0, |c| c.end().0 / SECOND_US);
    let seats: Vec<SeatId> = (0..SEATS).map(|_| SeatId(draw.id())).collect();
    let seated = |(n, &seat): (usize, &SeatId)| {
        let token = Token(seat.0);
        Event::Seated { seat, name: format!("Taster {n}"), token, pourer: None, role: protocol::Role::Scores }
    };
    let first = Event::Class { class_id: draw.id(), seed: number as u64, class: Box::new(class.clone()) };
    let mut events =
        vec![first, Event::Opened { unix_us: 0, pace: 1.0, boot: None, door: Default::default() }];
    events.extend(seats.iter().enumerate().map(seated));
    events.push(Event::Started { timetable });
    for steep in 1..=STEEPS as u32 {
        for (place, tea) in class.teas.iter().enumerate() {
            for &seat in &seats {
                let values = ATTRIBUTES.map(|name| (name.to_string(), points(place, steep, draw)));
                for (name, points) in &values {
                    let _ = writeln!(table, "{},\"{}\",{steep},{name},{points}", number + 1, tea.name);
                }
                let strength = Strength::ALL[(draw.below(3) + draw.below(3)) as usize];
                let score = Score {
                    id: draw.id(),
                    code: tea.code.unwrap(),
                    steep,
                    revision: 1,
                    values: values.into(),
                    strength: Some(strength),
                    note: if draw.below(10) == 0 { "sweet, a little smoke".into() } else { String::new() },
                    words: Vec::new(),
                };
                events.push(Event::Scored { seat, score, on_paper: false });
            }
        }
    }
    events.push(Event::Closed);
    let at = |seq: u64| HostTime(if seq <= 23 { 0 } else { end_s * SECOND_US });
    events.into_iter().zip(1..).map(|(event, seq)| Entry::new(seq, at(seq), event)).collect()
}

/// Writes a ledger of one such class that has all its scores and is not closed yet.
pub fn running(path: &Path, seed: u64) -> Room {
    let class = class(0);
    let rounds = plan_rounds(&class).unwrap();
    let cues = plan(&class, &Course::written(&class), &rounds, Rest::default(), HostTime(SECOND_US)).unwrap();
    let mut entries = entries(0, class, Timetable::new(1, cues), &mut Draw(seed | 1), &mut String::new());
    entries.pop();
    stored::append(&mut Sqlite::open(path).unwrap(), &entries).unwrap();
    Room::replay(entries).unwrap()
}

/// Points from 1 to 9 about a level of each tea, falling a little from steep to steep.
fn points(tea: usize, steep: u32, draw: &mut Draw) -> i32 {
    let level = 4 + (tea % 3) as i32 - (steep / 4) as i32;
    (level + draw.below(3) as i32 + draw.below(3) as i32 - 1).clamp(1, 9)
}
