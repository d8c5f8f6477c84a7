//! Writes a class as a class file, with the reason above each tea.

use crate::setting::Setting;
use crate::{Class, Pourers, Tea};
use std::fmt::Write;

/// A tea to be written, and why it is there.
#[derive(Clone, Debug, PartialEq)]
pub struct Written {
    /// The tea.
    pub tea: Tea,
    /// The lines above it.
    pub why: String,
}

/// The class file of `class` with the teas `teas` in place of its own, `heading` on top.
pub fn class_file(heading: &[&str], class: &Class, teas: &[Written]) -> String {
    let mut out = String::new();
    // Writing to a String can't fail.
    let _ = write(&mut out, heading, class, teas);
    out
}

fn write(out: &mut String, heading: &[&str], class: &Class, teas: &[Written]) -> std::fmt::Result {
    heading.iter().try_for_each(|line| writeln!(out, "# {line}"))?;
    writeln!(
        out,
        "#\n# Caution: hot water scalds; let a cup cool before you sip. Many small cups add up to much caffeine.\n"
    )?;
    writeln!(out, "title = {}", quoted(&class.title))?;
    writeln!(out, "date = {}", class.date)?;
    writeln!(out, "seats = {}", class.seats)?;
    match class.pourers {
        Pourers::EachSeat => writeln!(out, "pourers = \"each seat\"")?,
        Pourers::Table(hands) => writeln!(out, "pourers = {hands}")?,
    }
    for (key, seconds) in [
        ("warm_s", class.warm_s),
        ("pour_s", class.pour_s),
        ("decant_s", class.decant_s),
        ("taste_s", class.taste_s),
        ("pause_s", class.pause_s),
    ] {
        writeln!(out, "{key} = {seconds}")?;
    }
    writeln!(out, "blind = {}", class.blind)?;
    setting(out, &class.setting)?;
    sheet(out, class)?;
    for Written { tea: written, why } in teas {
        writeln!(out)?;
        why.lines().try_for_each(|line| writeln!(out, "# {line}"))?;
        tea(out, written)?;
    }
    Ok(())
}

fn setting(out: &mut String, setting: &Setting) -> std::fmt::Result {
    if let Some(s) = setting.start_s {
        writeln!(out, "start = {:02}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60)?;
    }
    writeln!(out, "altitude_m = {}", setting.altitude_m)?;
    if let Some(pressure_hpa) = setting.pressure_hpa {
        writeln!(out, "pressure_hpa = {pressure_hpa}")?;
    }
    writeln!(out, "room_c = {}", setting.room_c)?;
    writeln!(out, "tolerance_c = {}", setting.tolerance_c)?;
    writeln!(out, "gap_s = {}", setting.gap_s)?;
    if let Some(ready_within_s) = setting.ready_within_s {
        writeln!(out, "ready_within_s = {ready_within_s}")?;
    }
    writeln!(out, "in_order = {}", setting.in_order)?;
    writeln!(out, "cup_ml = {}", setting.cup_ml)?;
    writeln!(out, "spare_percent = {}", setting.spare_percent)?;
    for kettle in &setting.kettles {
        writeln!(out, "\n[[kettle]]\nname = {}", quoted(&kettle.name))?;
        writeln!(out, "fill_ml = {}\nwatts = {}", kettle.fill_ml, kettle.watts)?;
        writeln!(out, "efficiency = {}\ncooling_s = {}", kettle.efficiency, kettle.cooling_s)?;
        if let Some(starts_c) = kettle.starts_c {
            writeln!(out, "starts_c = {starts_c}")?;
        }
    }
    for pause in &setting.breaks {
        writeln!(out, "\n[[break]]\nafter_round = {}\nlength_s = {}", pause.after_round, pause.length_s)?;
    }
    Ok(())
}

fn sheet(out: &mut String, class: &Class) -> std::fmt::Result {
    writeln!(out, "\n[sheet]\nattributes = [")?;
    for a in &class.sheet.attributes {
        write!(out, "  {{ name = {}, min = {}, max = {}", quoted(&a.name), a.min, a.max)?;
        for (key, words) in [("low", &a.low), ("high", &a.high)] {
            if let Some(words) = words {
                write!(out, ", {key} = {}", quoted(words))?;
            }
        }
        writeln!(out, " }},")?;
    }
    writeln!(out, "]\nstrength = {}\nnote = {}", class.sheet.strength, class.sheet.note)?;
    if !class.sheet.words.is_empty() {
        let words: Vec<String> = class.sheet.words.iter().map(|word| quoted(word)).collect();
        writeln!(out, "words = [{}]", words.join(", "))?;
    }
    if let Some(weights) = &class.weights {
        let own = || {
            let each =
                weights.attributes.iter().map(|w| format!("{} = {:?}", quoted(&w.attribute), w.percent));
            format!("{{ {} }}", each.collect::<Vec<_>>().join(", "))
        };
        writeln!(out, "weights = {}", weights.row.as_deref().map_or_else(own, quoted))?;
    }
    if !class.tests.is_empty() {
        writeln!(
            out,
            "# The difference tests of the last class are left out; they were about its own teas."
        )?;
    }
    Ok(())
}

fn tea(out: &mut String, tea: &Tea) -> std::fmt::Result {
    writeln!(out, "[[tea]]\nname = {}\nleaf = {}", quoted(&tea.name), quoted(&tea.leaf))?;
    writeln!(out, "leaf_g = {}\nwater_ml = {}\ntemp_c = {:?}", tea.leaf_g, tea.water_ml, tea.temp_c)?;
    for (key, seconds) in [("rinse_s", tea.rinse_s), ("pour_s", tea.pour_s), ("decant_s", tea.decant_s)] {
        if let Some(seconds) = seconds {
            writeln!(out, "{key} = {seconds}")?;
        }
    }
    if let Some(vessel) = tea.vessel {
        writeln!(out, "vessel = {}\nvessel_g = {}", quoted(vessel.material.name()), vessel.mass_g)?;
    }
    writeln!(out, "steep_s = {:?}", tea.steep_s)
}

/// A text in quotes. Names and titles hold no control characters, so that only these two need care.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}
