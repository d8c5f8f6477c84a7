//! Writes class files: values with remarks beside them, comments above, and a whole class with the reason above each tea.

use crate::adapt::{Adapt, is_compared};
use crate::setting::Setting;
use crate::start::leaf::Choice;
use crate::{Class, Pourers, Tea};
use protocol::Attribute;
use std::fmt::Display;

/// Remarks beside a value begin at this column, so that they stand in line.
const REMARK_COLUMN: usize = 28;

/// A class file being written from top to bottom. Whoever asks for one has it read again before it is given out.
#[derive(Default)]
pub(crate) struct File(String);

impl File {
    fn line(&mut self, line: &str) {
        self.0 += line.trim_end();
        self.0.push('\n');
    }

    /// A comment, line by line.
    pub(crate) fn comment(&mut self, lines: &str) {
        lines.lines().for_each(|line| self.line(&format!("# {line}")));
    }

    /// Opens a section, headed for example `[[tea]]`.
    pub(crate) fn section(&mut self, head: &str) {
        self.line(head);
    }

    /// An empty line.
    pub(crate) fn gap(&mut self) {
        self.line("");
    }

    /// `key = value`, with a remark beside it unless that is empty.
    pub(crate) fn set(&mut self, key: &str, value: impl Display, remark: &str) {
        let set = format!("{key} = {value}");
        let room = REMARK_COLUMN.saturating_sub(set.chars().count()).max(2);
        let remark = if remark.is_empty() { String::new() } else { format!("{:room$}# {remark}", "") };
        self.line(&(set + &remark));
    }

    /// The same where there is a value.
    fn set_given(&mut self, key: &str, value: Option<impl Display>) {
        value.into_iter().for_each(|value| self.set(key, value, ""));
    }

    /// The whole text.
    pub(crate) fn finish(self) -> String {
        self.0
    }
}

/// A text in quotes. Names and titles hold no control characters, so that only these two need care.
pub(crate) fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

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
    let mut file = File::default();
    heading.iter().for_each(|line| file.comment(line));
    file.comment("\nCaution: hot water scalds; let a cup cool before you sip. Many small cups add up to much caffeine.");
    file.gap();
    file.set("title", quoted(&class.title), "");
    file.set("date", &class.date, "");
    file.set("seats", class.seats, "");
    match class.pourers {
        Pourers::EachSeat => file.set("pourers", quoted("each seat"), ""),
        Pourers::Table(hands) => file.set("pourers", hands, ""),
    }
    for (key, seconds) in [
        ("warm_s", class.warm_s),
        ("pour_s", class.pour_s),
        ("decant_s", class.decant_s),
        ("taste_s", class.taste_s),
        ("pause_s", class.pause_s),
    ] {
        file.set(key, seconds, "");
    }
    file.set("blind", class.blind, "");
    file.set_given("adapt", Some(class.adapt).filter(|adapt| !adapt.is_usual()).map(word));
    setting(&mut file, &class.setting);
    sheet(&mut file, class);
    for Written { tea: written, why } in teas {
        file.gap();
        file.comment(why);
        // What a leaf's only way may ask for, two ways of it may not.
        let compared = is_compared(written, teas.iter().map(|written| &written.tea));
        tea(&mut file, written, written.adapt.filter(|adapt| !compared || *adapt == Adapt::Off));
    }
    file.finish()
}

fn setting(file: &mut File, setting: &Setting) {
    let start = setting.start_s.map(|s| format!("{:02}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60));
    file.set_given("start", start);
    file.set("altitude_m", setting.altitude_m, "");
    file.set_given("pressure_hpa", setting.pressure_hpa);
    file.set("room_c", setting.room_c, "");
    file.set("tolerance_c", setting.tolerance_c, "");
    file.set("gap_s", setting.gap_s, "");
    file.set_given("ready_within_s", setting.ready_within_s);
    file.set("ready_give_s", setting.ready_give_s, "");
    file.set("in_order", setting.in_order, "");
    file.set("cup_ml", setting.cup_ml, "");
    file.set("spare_percent", setting.spare_percent, "");
    file.set("shared_kettles", setting.shared_kettles, "");
    for kettle in &setting.kettles {
        file.gap();
        file.section("[[kettle]]");
        file.set("name", quoted(&kettle.name), "");
        file.set("fill_ml", kettle.fill_ml, "");
        file.set("watts", kettle.watts, "");
        file.set("efficiency", kettle.efficiency, "");
        file.set("cooling_s", kettle.cooling_s, "");
        file.set_given("starts_c", kettle.starts_c);
        file.set("fill_s", kettle.fill_s, "");
    }
    for pause in &setting.breaks {
        file.gap();
        file.section("[[break]]");
        file.set("after_round", pause.after_round, "");
        file.set("length_s", pause.length_s, "");
    }
}

fn sheet(file: &mut File, class: &Class) {
    let sheet = &class.sheet;
    file.gap();
    file.section("[sheet]");
    let attributes: String = sheet.attributes.iter().map(|a| format!("  {},\n", attribute(a))).collect();
    file.set("attributes", format!("[\n{attributes}]"), "");
    file.set("strength", sheet.strength, "");
    file.set("note", sheet.note, "");
    if !sheet.words.is_empty() {
        let words: Vec<String> = sheet.words.iter().map(|word| quoted(word)).collect();
        file.set("words", format!("[{}]", words.join(", ")), "");
    }
    if let Some(weights) = &class.weights {
        let each = weights.attributes.iter().map(|w| format!("{} = {:?}", quoted(&w.attribute), w.percent));
        let own = || format!("{{ {} }}", each.collect::<Vec<_>>().join(", "));
        file.set("weights", weights.row.as_deref().map_or_else(own, quoted), "");
    }
    if !class.tests.is_empty() {
        file.comment("The difference tests of the last class are left out; they were about its own teas.");
    }
}

fn attribute(a: &Attribute) -> String {
    let ends = [("low", &a.low), ("high", &a.high)];
    let ends = ends.map(|(key, words)| {
        words.as_ref().map_or(String::new(), |words| format!(", {key} = {}", quoted(words)))
    });
    format!("{{ name = {}, min = {}, max = {}{} }}", quoted(&a.name), a.min, a.max, ends.concat())
}

fn word(adapt: Adapt) -> String {
    quoted(adapt.name())
}

fn tea(file: &mut File, tea: &Tea, adapt: Option<Adapt>) {
    file.section("[[tea]]");
    file.set("name", quoted(&tea.name), "");
    file.set("leaf", quoted(&tea.leaf), "");
    file.set("leaf_g", tea.leaf_g, "");
    file.set("water_ml", tea.water_ml, "");
    file.set("temp_c", format!("{:?}", tea.temp_c), "");
    file.set_given("rinse_s", tea.rinse_s);
    file.set_given("pour_s", tea.pour_s);
    file.set_given("decant_s", tea.decant_s);
    file.set_given("vessel", tea.vessel.map(|vessel| quoted(vessel.material.name())));
    file.set_given("vessel_g", tea.vessel.map(|vessel| vessel.mass_g));
    file.set_given("adapt", adapt.map(word));
    file.set_given("form", tea.form.map(|form| quoted(form.word())));
    file.set("steep_s", format!("{:?}", tea.steep_s), "");
}
