//! A hundred classes of our own invention, drawn from a seed and written as ledgers.

use class::course::Course;
use class::{Class, Tea, read};
use host::stored;
use ledger::Sqlite;
use plan::{Rest, plan, plan_rounds};
use protocol::time::SECOND_US;
use protocol::{Cue, HostTime, Score, SeatId, Strength, Timetable, Token};
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
const FORM: u32 = 2;

/// How each leaf is steeped from class to class.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ways {
    /// In the same two ways.
    Same,
    /// In two of twenty-seven: three doses, temperatures and times, with a hill of liking over them.
    Many,
}

/// One way of a leaf in a class: what it is called, leaf in grams, °C, the first steep and what each later one adds in seconds.
struct Way {
    called: String,
    leaf_g: f64,
    temp_c: f64,
    steep_s: u32,
    add_s: u32,
}

impl Ways {
    fn of(self, number: usize, leaf: usize) -> [Way; 2] {
        [0, 1].map(|n| match self {
            Self::Same => {
                let (called, leaf_g, steep_s, add_s) = [("short", 6.0, 15, 5), ("long", 3.0, 45, 15)][n];
                Way { called: called.into(), leaf_g, temp_c: 95.0, steep_s, add_s }
            }
            Self::Many => {
                let place = number / 3 + 4 * n + 2 * leaf;
                let (leaf_g, temp_c) = ([3.0, 4.5, 6.5][place % 3], [80.0, 88.0, 95.0][place / 3 % 3]);
                let steep_s = [[15, 45], [25, 45], [15, 25]][number % 3][n];
                Way {
                    called: format!("{leaf_g} g at {temp_c} °C"),
                    leaf_g,
                    temp_c,
                    steep_s,
                    add_s: steep_s / 3,
                }
            }
        })
    }
}

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

fn class(number: usize, ways: Ways) -> Class {
    let mut text = format!(
        "title = \"Class {number}\"\ndate = {}-{:02}-{:02}\nseats = {SEATS}\npourers = \"each seat\"\npour_s = 5\ndecant_s = 4\ntaste_s = 60\nblind = false\n[sheet]\nattributes = {ATTRIBUTES:?}\n",
        2024 + number / 48,
        1 + number % 48 / 4,
        1 + number % 4 * 7
    );
    for (n, leaf) in LEAVES.into_iter().enumerate() {
        for Way { called, leaf_g, temp_c, steep_s, add_s } in ways.of(number, n) {
            // Writing to a String can't fail.
            let _ = write!(
                text,
                "[[tea]]\nname = \"{leaf}, {called}\"\nleaf = \"{leaf}\"\nleaf_g = {leaf_g}\nwater_ml = 100\ntemp_c = {temp_c}\nsteep_s = [{steep_s}]\nthen_add_s = {add_s}\nsteeps = {STEEPS}\n"
            );
        }
    }
    read::class(&text).unwrap().with_codes(number as u64)
}

/// The ledgers, and one table of the same points as comma-separated text; written once for a seed and kept. Beside the table stands
/// `ways.csv`, how each way of each class is steeped.
pub fn made(folder: &Path, seed: u64, ways: Ways) -> (Vec<PathBuf>, PathBuf) {
    let folder = folder.join(format!("pool-{FORM}-{ways:?}-{seed}"));
    let ledgers: Vec<PathBuf> = (0..CLASSES).map(|n| folder.join(format!("class-{n:03}.ledger"))).collect();
    let (table, done) = (folder.join("scores.csv"), folder.join("done"));
    if !done.is_file() {
        let _ = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(&folder).unwrap();
        let mut draw = Draw(seed | 1);
        let mut text = String::from("class,way,steep,attribute,value\n");
        let mut table_of_ways = String::from("class,way,leaf,leaf_g,temp_c,steep_s\n");
        // Classes of the same ways have the same timetable but for its codes; it is planned once.
        let mut planned: Option<(Class, Vec<Cue>)> = None;
        for (number, path) in ledgers.iter().enumerate() {
            let class = class(number, ways);
            let (first, cues) = match planned.take().filter(|_| ways == Ways::Same) {
                Some(planned) => planned,
                None => {
                    let rounds = plan_rounds(&class).unwrap();
                    let course = Course::written(&class);
                    let cues = plan(&class, &course, &rounds, Rest::default(), HostTime(SECOND_US)).unwrap();
                    (class.clone(), cues)
                }
            };
            let mut own = cues.clone();
            for cue in &mut own {
                let place = cue.code.and_then(|code| first.teas.iter().position(|t| t.code == Some(code)));
                cue.code = place.and_then(|place| class.teas[place].code);
            }
            planned = Some((first, cues));
            for (tea, leaf) in class.teas.iter().zip((0..LEAVES.len()).flat_map(|leaf| [leaf, leaf])) {
                let (temp_c, steep_s) = (tea.temp_c[0], tea.steep_s[0]);
                let _ = writeln!(
                    table_of_ways,
                    "{},\"{}\",\"{}\",{},{temp_c},{steep_s}",
                    number + 1,
                    tea.name,
                    LEAVES[leaf],
                    tea.leaf_g
                );
            }
            let entries = entries(number, class, ways, Timetable::new(1, own), &mut draw, &mut text);
            stored::append(&mut Sqlite::open(path).unwrap(), &entries).unwrap();
        }
        std::fs::write(folder.join("ways.csv"), table_of_ways).unwrap();
        std::fs::write(&table, text).unwrap();
        std::fs::write(&done, "").unwrap();
    }
    (ledgers, table)
}

fn entries(
    number: usize,
    class: Class,
    ways: Ways,
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
                let values = ATTRIBUTES.map(|name| (name.to_string(), points(place, tea, ways, steep, draw)));
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
    let class = class(0, Ways::Same);
    let rounds = plan_rounds(&class).unwrap();
    let cues = plan(&class, &Course::written(&class), &rounds, Rest::default(), HostTime(SECOND_US)).unwrap();
    let mut entries =
        entries(0, class, Ways::Same, Timetable::new(1, cues), &mut Draw(seed | 1), &mut String::new());
    entries.pop();
    stored::append(&mut Sqlite::open(path).unwrap(), &entries).unwrap();
    Room::replay(entries).unwrap()
}

/// Points from 1 to 9 about a level of each tea, falling a little from steep to steep. Where a leaf has many ways they lie on a hill about
/// 4.5 g, 88 °C and 25 s instead.
fn points(place: usize, tea: &Tea, ways: Ways, steep: u32, draw: &mut Draw) -> i32 {
    let level = match ways {
        Ways::Same => 4 + (place % 3) as i32,
        Ways::Many => {
            let dose = (tea.leaf_g / 4.5).ln() / 1.5_f64.ln();
            let hotter = (tea.temp_c[0] - 88.0) / 10.0;
            let longer = (f64::from(tea.steep_s[0]) / 25.0).ln() / 1.5_f64.ln();
            (6.5 - 0.5 * (dose * dose + hotter * hotter + longer * longer)).round() as i32
        }
    };
    let level = level - (steep / 4) as i32;
    (level + draw.below(3) as i32 + draw.below(3) as i32 - 1).clamp(1, 9)
}
