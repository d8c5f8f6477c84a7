//! Writes a class file with comments, from wishes and the table. Pure.

use super::choose::{self, Start};
use super::leaf::{Leaf, Sitting};
use super::method::{Method, TeaClass};
use super::table::Table;
use super::wishes::{Way, Wishes};
use crate::Pourers;
use crate::certainty::Certainty;
use crate::weights::standard::{FACTORS, SOURCE};

/// Comments after a value begin at this column, so that they stand in line.
const COMMENT_COLUMN: usize = 28;
/// The most water that is written for one vessel, millilitres. More than this is more than one vessel.
const MOST_WATER_ML: f64 = 1000.0;
/// Water boils about 1 °C lower for every so many metres (rule of thumb: near the saturation curve in the standard
/// atmosphere up to 5500 m).
const METRES_PER_DEGREE: f64 = 300.0;

const CAUTION: &str = "\
# Caution: hot water scalds; pour away from people and let a cup cool before you sip. Many small cups add up to
# much caffeine: sip, drink water between, and ask a doctor if you are pregnant, nursing, have a heart condition
# or take medicines.
";

/// The class file.
pub fn class_file(table: &Table, wishes: &Wishes) -> String {
    let mut out =
        String::from("# Written by `kettlecall new`. Change what you like, then `kettlecall open` it.\n");
    out += &match wishes.way {
        Way::Sitting(sitting) => format!(
            "# For {}.\n# Doses, times and temperatures are common practice, a place to start; taste and change.\n",
            sitting_name(sitting)
        ),
        Way::Method(name) => table.method.iter().find(|m| m.name == name).map_or(String::new(), |method| {
            format!(
                "# A standard's own method: {}. Each tea says how its values are known.\n# Made for comparing, not for pleasure: the cups are strong.\n",
                method.what
            )
        }),
    };
    out += "#\n";
    out += CAUTION;
    top(&mut out, table, wishes);
    for kettle in &wishes.kettles {
        out += "\n[[kettle]]\n";
        line(&mut out, &format!("name = {}", quoted(&kettle.name)), "");
        line(&mut out, &format!("fill_ml = {}", kettle.fill_ml), "what it is filled with");
        line(&mut out, &format!("watts = {}", kettle.watts), "heating power, on its label");
    }
    for tea in &wishes.teas {
        out.push('\n');
        match wishes.way {
            Way::Sitting(sitting) => {
                let start = choose::start(table, tea, sitting);
                let water_ml = water_ml(table, wishes, start.dose);
                by_start(&mut out, tea, &start, water_ml);
                few_cups(&mut out, table, wishes, water_ml, start.dose * water_ml / 100.0);
            }
            Way::Method(name) => {
                if let Some(method) = table.method.iter().find(|m| m.name == name) {
                    by_method(&mut out, tea, method);
                    few_cups(&mut out, table, wishes, method.water_ml, method.leaf_g);
                }
            }
        }
    }
    out
}

fn sitting_name(sitting: Sitting) -> &'static str {
    match sitting {
        Sitting::Short => "a short sitting (little leaf, few long steeps)",
        Sitting::Middle => "the middle way between a short and a long sitting",
        Sitting::Long => "a long sitting (much leaf, many short steeps)",
    }
}

fn top(out: &mut String, table: &Table, wishes: &Wishes) {
    let run = &table.run;
    out.push('\n');
    line(out, &format!("title = {}", quoted(&wishes.title)), "");
    line(out, &format!("date = {}", wishes.date), "the day of the class");
    line(out, &format!("seats = {}", wishes.seats), "how many are expected; more may come");
    let (pourers, who, pour_s, decant_s) = match wishes.pourers {
        Pourers::EachSeat => {
            ("\"each seat\"".into(), "every seat brews its own set", run.seat.pour_s, run.seat.decant_s)
        }
        Pourers::Table(hands) => (
            hands.to_string(),
            "so many pour for everybody at one table",
            run.table.pour_s,
            run.table.decant_s,
        ),
    };
    line(out, &format!("pourers = {pourers}"), who);
    line(out, &format!("pour_s = {pour_s}"), "seconds of hands' work to pour one tea");
    line(out, &format!("decant_s = {decant_s}"), "and to decant it");
    line(out, &format!("taste_s = {}", run.taste_s), "seconds to taste after a round's last cup");
    line(out, &format!("pause_s = {}", run.pause_s), "seconds between rounds");
    line(out, "gap_s = 2", "seconds that one pair of hands has at least between two teas");
    line(out, &format!("cup_ml = {}", run.cup_ml), "one person's tasting cup");
    line(out, &format!("altitude_m = {}", wishes.altitude_m), "height above the sea");
    if wishes.altitude_m >= METRES_PER_DEGREE {
        let boils_c = (100.0 - wishes.altitude_m / METRES_PER_DEGREE).round();
        *out += &format!(
            "# Up here water boils at about {boils_c} °C. Where a tea asks for more, steep longer or take more leaf.\n"
        );
    }
    *out += "# Without a section [sheet], aroma, taste, aftertaste and liking are scored from 1 to 9, with strength and a note.\n";
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
fn few_cups(out: &mut String, table: &Table, wishes: &Wishes, water_ml: f64, leaf_g: f64) {
    let run = &table.run;
    let liquor_ml = water_ml - run.leaf_keeps_ml_per_g * leaf_g;
    if matches!(wishes.pourers, Pourers::Table(_)) && liquor_ml < f64::from(wishes.seats) * run.cup_ml {
        *out += &format!(
            "# This does not fill {} cups of {} ml: steep in several such vessels at once, or taste from spoons.\n",
            wishes.seats, run.cup_ml
        );
    }
}

fn by_start(out: &mut String, tea: &Leaf, start: &Start, water_ml: f64) {
    *out += &format!("# {}\n", tea.described());
    for why in &start.because {
        *out += &format!("# · {why}\n");
    }
    head(out, tea);
    let grams = (start.dose * water_ml).round() / 100.0;
    line(out, &format!("dose_g_per_100_ml = {}", start.dose), &format!("{grams} g to {water_ml} ml"));
    line(out, &format!("water_ml = {water_ml}"), "per steep");
    if start.last_c > start.temp_c {
        let ramp = format!(
            "temp_c = {{ from = {}, to = {}, from_steep = {} }}",
            start.temp_c,
            start.last_c,
            start.ramp_from()
        );
        line(out, &ramp, "hotter towards the end");
    } else {
        line(out, &format!("temp_c = {}", start.temp_c), "");
    }
    if let Some(rinse_s) = start.rinse_s {
        line(out, &format!("rinse_s = {rinse_s}"), "poured away");
    }
    let flash = if start.steep_s.contains(&0) {
        "0 is a flash steep"
    } else {
        "from lid on to the start of the decant"
    };
    line(out, &format!("steep_s = {:?}", start.steep_s), flash);
    if start.steeps as usize > start.steep_s.len() {
        line(out, &format!("then_add_s = {}", start.then_add_s), "each later steep is so much longer");
        let all: Vec<String> = start.all_s().iter().map(u32::to_string).collect();
        line(out, &format!("steeps = {}", start.steeps), &format!("{} s", all.join(", ")));
    }
}

fn by_method(out: &mut String, tea: &Leaf, method: &Method) {
    let class = TeaClass::of(tea);
    let Some((time, meant)) = method.time(class) else { return };
    *out += &format!("# {}, taken as {}\n", tea.described(), class.name());
    let values = format!("{}; {}", method.amount, minutes(&time.steep_s));
    if meant {
        *out += &format!("# {values}:\n#   {}\n", time.certainty.mark(&method.source));
    } else {
        *out += &format!(
            "# {values}:\n#   the method is for {}; for this leaf it is only a loan\n",
            method.scope
        );
    }
    if let (Some(note), true) = (&time.note, meant) {
        *out += &format!("#   {note}\n");
    }
    if let Some(weights) = class.weights().filter(|row| row.certainty != Certainty::Unchecked) {
        let each: Vec<String> = FACTORS
            .iter()
            .zip(weights.percent)
            .map(|(factor, percent)| format!("{factor} {percent}"))
            .collect();
        *out +=
            &format!("# Factor weights: {} %:\n#   {}\n", each.join(", "), weights.certainty.mark(SOURCE));
    }
    head(out, tea);
    line(out, &format!("leaf_g = {:.1}", method.leaf_g), "");
    line(out, &format!("water_ml = {}", method.water_ml), "");
    line(out, &format!("temp_c = {}", method.temp_c), "boiling");
    line(out, &format!("steep_s = {:?}", time.steep_s), &minutes(&time.steep_s));
}

fn head(out: &mut String, tea: &Leaf) {
    *out += "[[tea]]\n";
    line(out, &format!("name = {}", quoted(&tea.name)), "");
}

/// Steeps in minutes, for people: `2, 3 and 5 min`.
fn minutes(steep_s: &[u32]) -> String {
    let all: Vec<String> = steep_s.iter().map(|s| (f64::from(*s) / 60.0).to_string()).collect();
    match &all[..] {
        [first @ .., last] if !first.is_empty() => format!("{} and {last} min", first.join(", ")),
        _ => format!("{} min", all.join("")),
    }
}

fn line(out: &mut String, value: &str, comment: &str) {
    *out += value;
    if !comment.is_empty() {
        let room = COMMENT_COLUMN.saturating_sub(value.chars().count()).max(2);
        *out += &format!("{}# {comment}", " ".repeat(room));
    }
    out.push('\n');
}

/// A text in quotes. Names and titles hold no control characters, so that only these two need care.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}
