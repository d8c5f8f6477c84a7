//! Which teas of several classes are the same leaf under the same way of steeping, and which attributes are the same.

use protocol::Code;
use protocol::text::name_key;
use room::light::ClassScores;
use serde::Serialize;
use std::collections::HashMap;

/// A leaf under one way of steeping, or a tea that is still blind in its class.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Way {
    /// Its number here, from 1.
    pub way: usize,
    /// The leaf and how it is steeped; `null` while it is blind.
    pub known: Option<Known>,
    /// The class (its number here) and the code of a tea that is still blind.
    pub blind: Option<Blind>,
}

/// How a leaf is steeped. A rinse and the vessel make no other way.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Known {
    /// The leaf.
    pub leaf: String,
    /// What it is called in the classes.
    pub names: Vec<String>,
    /// Dry leaf, grams.
    pub leaf_g: f64,
    /// Water per steep, millilitres.
    pub water_ml: f64,
    /// Water of each steep, °C.
    pub temp_c: Vec<f64>,
    /// Each steep, seconds.
    pub steep_s: Vec<u32>,
}

/// A tea whose name is still kept from its class.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Blind {
    /// The class's number here, from 1.
    pub class: usize,
    /// Its code.
    pub code: Code,
}

impl Way {
    /// What to call it in a sentence.
    pub fn label(&self) -> String {
        match (&self.known, self.blind) {
            (Some(known), _) => format!("way {} ({})", self.way, known.leaf),
            (None, Some(Blind { class, code })) => format!("{code} (blind in class {class})"),
            (None, None) => format!("way {}", self.way),
        }
    }

    /// All its steeps, seconds; `None` while it is blind.
    pub fn steeps_in_all_s(&self) -> Option<u32> {
        self.known.as_ref().map(|known| known.steep_s.iter().sum())
    }

    /// Whether two are known to be the same leaf.
    pub fn same_leaf(&self, other: &Way) -> bool {
        let leaf = |way: &Way| way.known.as_ref().map(|known| name_key(&known.leaf));
        leaf(self).is_some() && leaf(self) == leaf(other)
    }
}

impl Known {
    /// The way in short: `3 g in 100 ml, 95 °C, 45 60 90 s`.
    pub fn rule(&self) -> String {
        let mut temps: Vec<String> = self.temp_c.iter().map(f64::to_string).collect();
        temps.dedup();
        let steeps: Vec<String> = self.steep_s.iter().map(u32::to_string).collect();
        format!("{} g in {} ml, {} °C, {} s", self.leaf_g, self.water_ml, temps.join(" "), steeps.join(" "))
    }
}

/// What makes two teas one way.
#[derive(PartialEq, Eq, Hash)]
enum Key {
    Known(String, u64, u64, Vec<u64>, Vec<u32>),
    Blind(usize, usize),
}

/// The ways of some classes, and for each class which way each of its teas is (counted from 0).
pub fn ways(records: &[&ClassScores]) -> (Vec<Way>, Vec<Vec<usize>>) {
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
            let (it, open) = (&record.class.teas[tea], record.is_open(tea));
            let key = if open {
                let temps = it.temp_c.iter().map(|t| t.to_bits()).collect();
                Key::Known(
                    name_key(&it.leaf),
                    it.leaf_g.to_bits(),
                    it.water_ml.to_bits(),
                    temps,
                    it.steep_s.clone(),
                )
            } else {
                Key::Blind(class, tea)
            };
            let place = *places.entry(key).or_insert(ways.len());
            if place == ways.len() {
                let known = open.then(|| Known {
                    leaf: it.leaf.clone(),
                    names: Vec::new(),
                    leaf_g: it.leaf_g,
                    water_ml: it.water_ml,
                    temp_c: it.temp_c.clone(),
                    steep_s: it.steep_s.clone(),
                });
                let blind = it.code.filter(|_| !open).map(|code| Blind { class: class + 1, code });
                ways.push(Way { way: place + 1, known, blind });
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
    (ways, of_class)
}

/// An attribute on its scale; the same name on another scale is another attribute.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
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
