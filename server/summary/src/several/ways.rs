//! Which teas of several classes are the same leaf under the same way of steeping, and which attributes are the same.

use class::Tea;
use class::steeping::{Steeping, Ways};
use protocol::Code;
use protocol::text::name_key;
use room::light::ClassScores;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::HashMap;

/// A leaf under one way of steeping, or a tea that is still blind in its class.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Way {
    /// Its number here, from 1.
    pub way: usize,
    /// The leaf and how it is steeped; `null` while it is blind.
    pub known: Option<Steeped>,
    /// The class (its number here) and the code of a tea that is still blind.
    pub blind: Option<Blind>,
    /// What to call it in a sentence: by its tea's name where the classes agree on one, else by its leaf; with its number where
    /// another way would be called the same.
    pub called: String,
}

/// A leaf and how it is steeped.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(rename = "KnownWay")]
pub struct Steeped {
    /// The leaf.
    pub leaf: String,
    /// What it is called in the classes.
    pub names: Vec<String>,
    /// How it is steeped.
    #[serde(flatten)]
    pub steeping: Steeping,
}

/// A tea whose name is still kept from its class.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[schemars(rename = "BlindTea")]
pub struct Blind {
    /// The class's number here, from 1.
    pub class: usize,
    /// Its code.
    pub code: Code,
}

impl Way {
    /// What to call it beside the name of its leaf: "way 1" where its name would say no more than that, "long" of a "Lantern Slope,
    /// long".
    pub fn called_of_leaf(&self) -> String {
        let numbered = numbered(self.way);
        if self.called.ends_with(&format!(" ({numbered})")) {
            return numbered;
        }
        let behind = |(head, behind): (&str, &str)| {
            let leaf = &self.known.as_ref()?.leaf;
            (name_key(head) == name_key(leaf) && !behind.trim().is_empty()).then(|| behind.trim().to_string())
        };
        self.called.split_once(',').and_then(behind).unwrap_or_else(|| self.called.clone())
    }

    /// All its steeps, seconds; `None` while it is blind.
    pub fn steeps_in_all_s(&self) -> Option<u32> {
        self.known.as_ref().map(|known| known.steeping.steep_s.iter().sum())
    }

    /// Whether two are known to be the same leaf.
    pub fn same_leaf(&self, other: &Way) -> bool {
        let leaf = |way: &Way| way.known.as_ref().map(|known| name_key(&known.leaf));
        leaf(self).is_some() && leaf(self) == leaf(other)
    }
}

impl Steeped {
    /// The way in short: `3 g in 100 ml, 95 °C, 45 60 90 s`.
    pub fn rule(&self) -> String {
        let Steeping { leaf_g, water_ml, .. } = self.steeping;
        format!("{leaf_g} g in {water_ml} ml, {}", self.steeping.course())
    }
}

fn numbered(way: usize) -> String {
    format!("way {way}")
}

/// Gives every way what it is called.
fn call(ways: &mut [Way]) {
    let name = |way: &Way| -> Option<(String, bool)> {
        let known = way.known.as_ref()?;
        let (first, others) = known.names.split_first()?;
        let agreed = others.iter().all(|name| name_key(name) == name_key(first));
        Some(if agreed { (first.clone(), false) } else { (known.leaf.clone(), true) })
    };
    let names: Vec<Option<(String, bool)>> = ways.iter().map(name).collect();
    let mut times: HashMap<String, usize> = HashMap::new();
    names.iter().flatten().for_each(|(name, _)| *times.entry(name_key(name)).or_default() += 1);
    let other_of_leaf: Vec<bool> = ways
        .iter()
        .map(|way| ways.iter().any(|other| other.way != way.way && way.same_leaf(other)))
        .collect();
    for ((way, name), other_of_leaf) in ways.iter_mut().zip(names).zip(other_of_leaf) {
        way.called = match (name, way.blind) {
            (Some((name, by_leaf)), _) if times[&name_key(&name)] > 1 || (by_leaf && other_of_leaf) => {
                format!("{name} ({})", numbered(way.way))
            }
            (Some((name, _)), _) => name,
            (None, Some(Blind { class, code })) => format!("{code} (blind in class {class})"),
            (None, None) => numbered(way.way),
        };
    }
}

/// What makes two teas one way.
#[derive(PartialEq, Eq, Hash)]
enum Key {
    Open(usize),
    Blind(usize, usize),
}

/// The ways of some classes, and for each class which way each of its teas is (counted from 0).
pub fn ways(records: &[&ClassScores]) -> (Vec<Way>, Vec<Vec<usize>>) {
    let open = |(class, record): (usize, &&ClassScores)| {
        let teas = (0..record.class.teas.len()).filter(|&tea| record.is_open(tea));
        teas.map(|tea| (class, tea)).collect::<Vec<_>>()
    };
    let open: Vec<(usize, usize)> = records.iter().enumerate().flat_map(open).collect();
    let run = |&(class, tea): &(usize, usize)| records[class].course.as_run(&records[class].class.teas[tea]);
    let teas: Vec<Tea> = open.iter().map(run).collect();
    let steeped = Ways::of(teas.iter().map(|tea| (tea.leaf_key(), tea)));
    let way_of: HashMap<(usize, usize), usize> = open.into_iter().zip(steeped.of).collect();
    let mut ways: Vec<Way> = Vec::new();
    let mut places: HashMap<Key, usize> = HashMap::new();
    let mut of_class = Vec::new();
    for (class, record) in records.iter().enumerate() {
        let mut of_teas = vec![0; record.class.teas.len()];
        // Blind teas by their codes: the order of the class file could tell which two are one leaf.
        let mut order: Vec<usize> = (0..of_teas.len()).collect();
        order.sort_by_key(|&tea| {
            let blind = !record.is_open(tea);
            (blind, blind.then(|| record.class.teas[tea].code))
        });
        for tea in order {
            let (it, way) = (&record.class.teas[tea], way_of.get(&(class, tea)));
            let key = way.map_or(Key::Blind(class, tea), |&way| Key::Open(way));
            let place = *places.entry(key).or_insert(ways.len());
            if place == ways.len() {
                let known = way.map(|&way| Steeped {
                    leaf: it.leaf.clone(),
                    names: Vec::new(),
                    steeping: steeped.ways[way].clone(),
                });
                let blind = it.code.filter(|_| known.is_none()).map(|code| Blind { class: class + 1, code });
                ways.push(Way { way: place + 1, known, blind, called: String::new() });
            }
            if let Some(known) = &mut ways[place].known
                && !known.names.contains(&it.name)
            {
                known.names.push(it.name.clone());
            }
            of_teas[tea] = place;
        }
        of_class.push(of_teas);
    }
    call(&mut ways);
    (ways, of_class)
}

/// An attribute on its scale; the same name on another scale is another attribute.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[schemars(rename = "PooledScale")]
pub struct Scale {
    /// Its name.
    pub name: String,
    /// The lowest point.
    pub min: i32,
    /// The highest point.
    pub max: i32,
}

/// The attributes of some classes, and for each class which of them each of its own is (counted from 0).
pub fn scales(records: &[&ClassScores]) -> (Vec<Scale>, Vec<Vec<usize>>) {
    let mut scales: Vec<Scale> = Vec::new();
    let mut of_class = Vec::new();
    for record in records {
        let own = record.class.sheet.attributes.iter().map(|a| {
            let same = |s: &Scale| (name_key(&s.name), s.min, s.max) == (name_key(&a.name), a.min, a.max);
            scales.iter().position(same).unwrap_or_else(|| {
                scales.push(Scale { name: a.name.clone(), min: a.min, max: a.max });
                scales.len() - 1
            })
        });
        of_class.push(own.collect());
    }
    (scales, of_class)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn beside_its_leaf_a_way_is_called_by_what_its_name_says_more() {
        let fixture = fixtures::several::class("2026-11-28", false, 100);
        let tea = &fixture.teas[0];
        let steeping = Ways::of([(tea.leaf_key(), tea)]).ways[0].clone();
        let beside = |called: &str| {
            let known =
                Steeped { leaf: "Lantern Slope".into(), names: Vec::new(), steeping: steeping.clone() };
            Way { way: 3, known: Some(known), blind: None, called: called.into() }.called_of_leaf()
        };
        for (called, said) in [
            ("Lantern Slope, long", "long"),
            ("lantern slope,  short", "short"),
            ("Lantern Slope (way 3)", "way 3"),
            ("Lantern Slope, ", "Lantern Slope, "),
            ("Slope, long", "Slope, long"),
        ] {
            assert_eq!(beside(called), said, "{called}");
        }
    }
}
