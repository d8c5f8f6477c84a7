//! Writes a class file with comments, from wishes and the table. Pure.

use super::choose::{self, Start};
use super::leaf::{Choice, Form, Leaf, Sitting};
use super::method::{Method, TeaClass};
use super::table::Table;
use super::wishes::{Basis, Wishes};
use crate::certainty::Certainty;
use crate::weights::standard::{FACTORS, SOURCE};
use crate::write::{File, quoted};
use crate::{Pourers, taste};
use protocol::Sheet;

/// The most water that is written for one vessel, millilitres. More than this is more than one vessel.
const MOST_WATER_ML: f64 = 1000.0;
/// Water boils about 1 °C lower for every so many metres (rule of thumb: near the saturation curve in the standard
/// atmosphere up to 5500 m).
const METRES_PER_DEGREE: f64 = 300.0;

const CAUTION: &str = "
Caution: hot water scalds; pour away from people and let a cup cool before you sip. Many small cups add up to
much caffeine: sip, drink water between, and ask a doctor if you are pregnant, nursing, have a heart condition
or take medicines.";

/// The class file.
pub fn class_file(table: &Table, wishes: &Wishes) -> String {
    let mut file = File::default();
    file.comment("Written by `kettlecall new`. Change what you like, then `kettlecall open` it.");
    match wishes.basis {
        Basis::Sitting(sitting) => {
            file.comment(&format!("For {}.", sitting_name(sitting)));
            file.comment(
                "Doses, times and temperatures are common practice, a place to start; taste and change.",
            );
        }
        Basis::Method(name) => {
            if let Some(method) = table.method(name) {
                file.comment(&format!(
                    "A standard's own method: {}. Each tea says how its values are known.",
                    method.what
                ));
                file.comment("Made for comparing, not for pleasure: the cups are strong.");
            }
        }
    }
    file.comment(CAUTION);
    top(&mut file, table, wishes);
    for kettle in &wishes.kettles {
        file.gap();
        file.section("[[kettle]]");
        file.set("name", quoted(&kettle.name), "");
        file.set("fill_ml", kettle.fill_ml, "what it is filled with");
        file.set("watts", kettle.watts, "heating power, on its label");
    }
    for tea in &wishes.teas {
        file.gap();
        match wishes.basis {
            Basis::Sitting(sitting) => {
                let start = choose::start(table, tea, sitting);
                let water_ml = water_ml(table, wishes, start.dose);
                by_start(&mut file, tea, &start, water_ml);
                few_cups(&mut file, table, wishes, water_ml, start.dose * water_ml / 100.0);
            }
            Basis::Method(name) => {
                if let Some(method) = table.method(name) {
                    by_method(&mut file, tea, method);
                    few_cups(&mut file, table, wishes, method.water_ml, method.leaf_g);
                }
            }
        }
    }
    file.finish()
}

fn sitting_name(sitting: Sitting) -> &'static str {
    match sitting {
        Sitting::Short => "a short sitting (little leaf, few long steeps)",
        Sitting::Middle => "the middle way between a short and a long sitting",
        Sitting::Long => "a long sitting (much leaf, many short steeps)",
    }
}

fn top(file: &mut File, table: &Table, wishes: &Wishes) {
    let run = &table.run;
    file.gap();
    file.set("title", quoted(&wishes.title), "");
    file.set("date", &wishes.date, "the day of the class");
    if let Some(start) = &wishes.start {
        file.set("start", start, "when the first cue falls");
    }
    file.set("seats", wishes.seats, "how many are expected; more may come");
    let (pour_s, decant_s) = match wishes.pourers {
        Pourers::EachSeat => {
            file.set("pourers", quoted("each seat"), "every seat brews its own set");
            (run.seat.pour_s, run.seat.decant_s)
        }
        Pourers::Table(hands) => {
            file.set("pourers", hands, "so many pour for everybody at one table");
            (run.table.pour_s, run.table.decant_s)
        }
    };
    file.set("pour_s", pour_s, "seconds of hands' work to pour one tea");
    file.set("decant_s", decant_s, "and to decant it");
    let taste_s = wishes.taste_s.unwrap_or_else(|| taste::taste_s(wishes.teas.len(), &Sheet::default()));
    file.set("taste_s", taste_s, "seconds to taste after a round's last cup");
    file.set("pause_s", run.pause_s, "seconds between rounds");
    file.set("gap_s", 2, "seconds that one pair of hands has at least between two teas");
    file.set("cup_ml", run.cup_ml, "one person's tasting cup");
    if wishes.shared_kettles {
        file.set("shared_kettles", true, "all seats draw from the kettles below");
    }
    file.set("altitude_m", wishes.altitude_m, "height above the sea");
    if wishes.altitude_m >= METRES_PER_DEGREE {
        let boils_c = (100.0 - wishes.altitude_m / METRES_PER_DEGREE).round();
        file.comment(&format!(
            "Up here water boils at about {boils_c} °C. Where a tea asks for more, steep longer or take more leaf."
        ));
    }
    file.comment("Without a section [sheet], aroma, taste, aftertaste and liking are scored from 1 to 9, with strength and a note.");
}

/// Water per steep: a seat's own vessel, or what everybody's cups need after the leaf has kept its share.
fn water_ml(table: &Table, wishes: &Wishes, dose: f64) -> f64 {
    let run = &table.run;
    wishes.water_ml.unwrap_or_else(|| match wishes.pourers {
        Pourers::EachSeat => run.seat.water_ml,
        Pourers::Table(_) => {
            let cups_ml = f64::from(wishes.seats) * run.cup_ml;
            let poured_ml = cups_ml / (1.0 - run.leaf_keeps_ml_per_g * dose / 100.0);
            ((poured_ml / 10.0).ceil() * 10.0).clamp(100.0, MOST_WATER_ML)
        }
    })
}

/// Says so if one vessel does not fill everybody's cups.
fn few_cups(file: &mut File, table: &Table, wishes: &Wishes, water_ml: f64, leaf_g: f64) {
    let run = &table.run;
    let liquor_ml = water_ml - run.leaf_keeps_ml_per_g * leaf_g;
    if matches!(wishes.pourers, Pourers::Table(_)) && liquor_ml < f64::from(wishes.seats) * run.cup_ml {
        file.comment(&format!(
            "This does not fill {} cups of {} ml: steep in several such vessels at once, or taste from spoons.",
            wishes.seats, run.cup_ml
        ));
    }
}

fn by_start(file: &mut File, tea: &Leaf, start: &Start, water_ml: f64) {
    file.comment(&tea.described());
    start.because.iter().for_each(|why| file.comment(&format!("· {why}")));
    file.section("[[tea]]");
    file.set("name", quoted(&tea.name), "");
    of_leaf(file, tea);
    let grams = (start.dose * water_ml).round() / 100.0;
    file.set("dose_g_per_100_ml", start.dose, &format!("{grams} g to {water_ml} ml"));
    file.set("water_ml", water_ml, "per steep");
    rolled(file, tea);
    if start.last_c > start.temp_c {
        let Start { temp_c, last_c, .. } = start;
        let ramp = format!("{{ from = {temp_c}, to = {last_c}, from_steep = {} }}", start.ramp_from());
        file.set("temp_c", ramp, "hotter towards the end");
    } else {
        file.set("temp_c", start.temp_c, "");
    }
    if let Some(rinse_s) = start.rinse_s {
        file.set("rinse_s", rinse_s, "poured away");
    }
    let flash = if start.steep_s.contains(&0) {
        "0 is a flash steep"
    } else {
        "from lid on to the start of the decant"
    };
    file.set("steep_s", format!("{:?}", start.steep_s), flash);
    if start.steeps as usize > start.steep_s.len() {
        file.set("then_add_s", start.then_add_s, "each later steep is so much longer");
        let all: Vec<String> = start.all_s().iter().map(u32::to_string).collect();
        file.set("steeps", start.steeps, &format!("{} s", all.join(", ")));
    }
}

/// What the leaf is called, where that is not as the tea.
fn of_leaf(file: &mut File, tea: &Leaf) {
    if let Some(leaf) = tea.leaf.as_ref().filter(|leaf| **leaf != tea.name) {
        file.set("leaf", quoted(leaf), "another way of the same leaf");
    }
}

/// How the leaf is rolled, where it is not as most are.
fn rolled(file: &mut File, tea: &Leaf) {
    if tea.form != Form::Twisted {
        file.set("form", quoted(tea.form.word()), "how quickly it gives is first guessed by this");
    }
}

fn by_method(file: &mut File, tea: &Leaf, method: &Method) {
    let class = TeaClass::of(tea);
    let Some((time, meant)) = method.time(class) else { return };
    file.comment(&format!("{}, taken as {}", tea.described(), class.name()));
    file.comment(&format!("{}; {}:", method.amount, minutes(&time.steep_s)));
    if meant {
        file.comment(&format!("  {}", time.certainty.mark(&method.source)));
        time.note.iter().for_each(|note| file.comment(&format!("  {note}")));
    } else {
        let scope = &method.scope;
        file.comment(&format!("  the method is for {scope}; for this leaf it is only a loan"));
    }
    if let Some(weights) = class.weights().filter(|row| row.certainty != Certainty::Unchecked) {
        let each = FACTORS.iter().zip(weights.percent).map(|(factor, percent)| format!("{factor} {percent}"));
        file.comment(&format!("Factor weights: {} %:", each.collect::<Vec<_>>().join(", ")));
        file.comment(&format!("  {}", weights.certainty.mark(SOURCE)));
    }
    file.section("[[tea]]");
    file.set("name", quoted(&tea.name), "");
    of_leaf(file, tea);
    file.set("leaf_g", format!("{:.1}", method.leaf_g), "");
    file.set("water_ml", method.water_ml, "");
    rolled(file, tea);
    file.set("temp_c", method.temp_c, "boiling");
    file.set("steep_s", format!("{:?}", time.steep_s), &minutes(&time.steep_s));
}

/// Steeps in minutes, for people: `2, 3 and 5 min`.
fn minutes(steep_s: &[u32]) -> String {
    let all: Vec<String> = steep_s.iter().map(|s| (f64::from(*s) / 60.0).to_string()).collect();
    match &all[..] {
        [first @ .., last] if !first.is_empty() => format!("{} and {last} min", first.join(", ")),
        _ => format!("{} min", all.join("")),
    }
}
