//! Chooses where to begin with a leaf: the base of the sitting, then every rule that fits. Pure.

use super::leaf::{Form, Leaf, Sitting};
use super::table::{Rule, Table};
use crate::read::steeps::expand;

/// A place to start, as a class file says it. Common practice, no source.
#[derive(Clone, Debug, PartialEq)]
pub struct Start {
    /// Dry leaf, grams per 100 ml.
    pub dose: f64,
    /// Water of the first steeps, °C.
    pub temp_c: f64,
    /// Water of the last steep, °C; the same or hotter.
    pub last_c: f64,
    /// A rinse, seconds.
    pub rinse_s: Option<u32>,
    /// The first steeps, seconds from lid on to the start of the decant.
    pub steep_s: Vec<u32>,
    /// How much longer each later steep is, seconds.
    pub then_add_s: u32,
    /// How many steeps in all.
    pub steeps: u32,
    /// Why it is not as for any leaf.
    pub because: Vec<String>,
}

impl Start {
    /// The seconds of every steep.
    pub fn all_s(&self) -> Vec<u32> {
        expand(&self.steep_s, self.then_add_s, self.steeps)
    }

    /// Whether a leaf is steeped the same by both, whatever the reasons.
    pub fn is_steeped_as(&self, other: &Self) -> bool {
        let of = |start: &Self| (start.dose, start.temp_c, start.last_c, start.rinse_s, start.all_s());
        of(self) == of(other)
    }

    /// The steep from which on the water gets hotter: past the first half.
    pub(crate) fn ramp_from(&self) -> u32 {
        (self.steeps / 2).max(1)
    }
}

/// The last rule's word on each thing that rules change.
#[derive(Default)]
struct Because<'t> {
    temp: Option<&'t str>,
    times: Option<&'t str>,
    rinse: Option<&'t str>,
}

/// Where to begin with this leaf in a sitting of this length.
pub fn start(table: &Table, leaf: &Leaf, sitting: Sitting) -> Start {
    let base = table.base(sitting);
    let mut start = Start {
        dose: leaf.dose.unwrap_or(base.dose),
        temp_c: base.temp_c,
        last_c: base.temp_c,
        rinse_s: None,
        steep_s: base.steep_s.clone(),
        then_add_s: base.then_add_s,
        steeps: base.steeps,
        because: Vec::new(),
    };
    let mut because = Because::default();
    for rule in table.rule.iter().filter(|rule| rule.fits(leaf, sitting)) {
        apply(rule, &mut start, &mut because);
    }
    let flash = &table.flash;
    if start.dose >= flash.from_dose {
        start.steep_s.clone_from(&flash.steep_s);
        start.then_add_s = flash.then_add_s;
        start.steeps = base.steeps.max(flash.steep_s.len() as u32);
        if let (Form::BallRolled, Some(first)) = (leaf.form, start.steep_s.first_mut()) {
            *first = flash.opening_s;
        }
        because.times = Some(&flash.because);
    } else if start.dose != base.dose {
        let factor = base.dose / start.dose;
        scale(&mut start, factor);
        start
            .because
            .push(format!("times changed for {} g instead of {} g to 100 ml", start.dose, base.dose));
    }
    wished(leaf, &mut start, &mut because);
    start.last_c = (start.temp_c + base.raise_c).min(100.0);
    for words in [because.rinse, because.temp, because.times].into_iter().flatten() {
        if !start.because.iter().any(|b| b == words) {
            start.because.push(words.into());
        }
    }
    start
}

fn apply<'t>(rule: &'t Rule, start: &mut Start, because: &mut Because<'t>) {
    let words = Some(rule.because.as_str());
    let temp_c = rule.temp_c.unwrap_or(start.temp_c).max(rule.at_least_c.unwrap_or(0.0));
    if temp_c != start.temp_c {
        (start.temp_c, because.temp) = (temp_c, words);
    }
    if let Some(steep_s) = &rule.steep_s {
        (start.steep_s, because.times) = (steep_s.clone(), words);
    }
    if let Some(first_s) = rule.first_s {
        // The second steep stays what it was, so that only the first is longer.
        start.steep_s = expand(&start.steep_s, start.then_add_s, 2.max(start.steep_s.len() as u32));
        if let Some(first) = start.steep_s.first_mut() {
            *first = first_s;
        }
        because.times = words;
    }
    if let Some(front_s) = rule.front_s {
        start.steep_s.insert(0, front_s);
        start.steeps += 1;
        because.times = words;
    }
    if let Some(percent) = rule.percent {
        scale(start, f64::from(percent) / 100.0);
        because.times = words;
    }
    if let Some(rinse_s) = rule.rinse_s
        && start.rinse_s.is_none_or(|now_s| now_s < rinse_s)
    {
        (start.rinse_s, because.rinse) = (Some(rinse_s), words);
    }
}

/// What somebody wishes for this way of the leaf has the last word.
fn wished(leaf: &Leaf, start: &mut Start, because: &mut Because<'_>) {
    if let Some(temp_c) = leaf.temp_c.filter(|c| *c != start.temp_c) {
        (start.temp_c, because.temp) = (temp_c, Some("water as it was wished"));
    }
    if let (Some(wished_s), Some(first_s)) = (leaf.first_s, start.steep_s.first().copied())
        && wished_s != first_s
    {
        // A flash steep has no fold: then only the first one changes.
        if wished_s > 0 && first_s > 0 {
            scale(start, f64::from(wished_s) / f64::from(first_s));
        }
        if let Some(first) = start.steep_s.first_mut() {
            *first = wished_s;
        }
        because.times = Some("times as they were wished");
    }
}

/// Makes all times so many times as long.
fn scale(start: &mut Start, factor: f64) {
    for s in &mut start.steep_s {
        *s = neat(f64::from(*s) * factor);
    }
    start.then_add_s = (f64::from(start.then_add_s) * factor).round().max(1.0) as u32;
}

/// Seconds as people say them: whole below half a minute, in fives above.
fn neat(s: f64) -> u32 {
    if s < 30.0 { s.round() as u32 } else { (s / 5.0).round() as u32 * 5 }
}

#[cfg(test)]
mod tests;
