//! The scores of a class as tables: attribute by attribute, tea × steep × seat.

use crate::recipe::as_served;
use crate::sheets::{Cup, served};
use class::Tea;
use class::steeping::{Steeping, Ways};
use protocol::{Code, HostTime, Score};
use room::Room;
use stats::additive::row_means;
use std::hash::Hash;

/// A taster's mean over several cups counts if this share of the cups served is scored.
pub(crate) const CUPS_SCORED: f64 = 0.5;

/// Where something is made up, means are whole numbers of this fraction of a point.
const FINEST: f64 = 1e9;

/// Everything scored.
pub struct Data<'a> {
    /// The class.
    pub room: &'a Room,
    /// The names of the seats that count, in the order in which they came.
    pub seats: Vec<&'a str>,
    /// The teas in the order of the summary.
    pub teas: Vec<ServedTea<'a>>,
    /// The attributes in the order of the sheet.
    pub attributes: Vec<Attribute>,
    /// The score that counts of each tea, steep (from 0) and seat.
    pub scores: Vec<Vec<Vec<Option<&'a Score>>>>,
}

/// A tea that may have been served.
pub struct ServedTea<'a> {
    /// Its code.
    pub code: Code,
    /// What it is, unless it is still blind.
    pub open: Option<&'a Tea>,
    /// The same with the seconds that its steeps were really given.
    run: Option<Tea>,
    /// The seconds of its recipe.
    steep_s: Vec<u32>,
    /// The steeps that were served, in order.
    pub steeps: Vec<u32>,
}

impl ServedTea<'_> {
    /// The seconds of its steeps as they stand in its recipe; nothing while it is blind.
    pub fn steep_s(&self) -> &[u32] {
        &self.steep_s
    }

    /// How it is called in a sentence: code and name, or the code alone while it is blind.
    pub fn label(&self) -> String {
        self.open.map_or_else(|| self.code.to_string(), |tea| format!("{} {}", self.code, tea.name))
    }
}

/// The values of one attribute (or of the weighted total).
pub struct Attribute {
    /// Its name.
    pub name: String,
    /// By tea, steep (from 0) and seat.
    cells: Vec<Vec<Vec<Option<f64>>>>,
    /// The steeps of each tea that were served.
    served: Vec<Vec<u32>>,
}

impl<'a> Data<'a> {
    /// The scores of a class as they stand at `now`.
    pub fn of(room: &'a Room, now: HostTime) -> Self {
        let served = served(room, now);
        let cards = room.class.cards(|code| room.revealed.contains_key(&code));
        let teas: Vec<ServedTea<'a>> = cards
            .iter()
            .map(|card| (card, room.class.tea(card.code).filter(|_| card.name.is_some())))
            .map(|(card, open)| {
                let steeps: Vec<u32> =
                    served.iter().filter(|c| c.code == card.code).map(|c| c.steep).collect();
                let recipe = as_served(room, card.code, &steeps);
                ServedTea {
                    code: card.code,
                    open,
                    run: open.map(|tea| room.course.as_run(tea)),
                    steep_s: recipe.map_or(Vec::new(), |recipe| recipe.steep_s),
                    steeps,
                }
            })
            .collect();
        let of_cup = |cup: Cup| -> Vec<Option<&'a Score>> {
            let of = |seat: &room::Seat| room.scores.of(seat.id, (cup.code, cup.steep));
            room.counted().map(|seat| of(seat).map(|kept| &kept.score)).collect()
        };
        let scores: Vec<Vec<Vec<Option<&'a Score>>>> = teas
            .iter()
            .map(|tea| {
                let last = tea.steeps.last().copied().unwrap_or(0);
                (1..=last).map(|steep| of_cup(Cup { code: tea.code, steep })).collect()
            })
            .collect();
        let mut data = Self {
            room,
            seats: room.counted().map(|s| s.name.as_str()).collect(),
            teas,
            attributes: Vec::new(),
            scores,
        };
        let names = room.class.sheet.attributes.iter().map(|a| a.name.as_str());
        data.attributes =
            names.map(|name| data.values(name, |score| score.values.get(name).map(|&v| v.into()))).collect();
        data
    }

    /// A value of every score that gives one.
    pub fn values(&self, name: &str, of: impl Fn(&Score) -> Option<f64>) -> Attribute {
        let of = &of;
        let cell = |seats: &Vec<Option<&Score>>| seats.iter().map(|score| of((*score)?)).collect();
        let cells = self.scores.iter().map(|steeps| steeps.iter().map(cell).collect());
        Attribute {
            name: name.into(),
            cells: cells.collect(),
            served: self.teas.iter().map(|t| t.steeps.clone()).collect(),
        }
    }

    /// The most steeps served of any tea.
    pub(crate) fn last_steep(&self) -> u32 {
        self.teas.iter().filter_map(|t| t.steeps.last().copied()).max().unwrap_or(0)
    }

    /// The order in which each seat meets the teas of a round; the class's own order for one that has no place in the design.
    pub fn orders(&self) -> Vec<Vec<Code>> {
        self.room.counted().map(|seat| self.room.order_of(seat.id)).collect()
    }

    /// The places of the seats with at least one score.
    pub fn tasters(&self) -> Vec<usize> {
        let scored = |seat: &usize| self.scores.iter().flatten().any(|seats: &Vec<_>| seats[*seat].is_some());
        (0..self.seats.len()).filter(scored).collect()
    }

    /// From the lowest point of an attribute's scale to the highest, points; `None` of what the sheet does not have.
    pub(crate) fn width(&self, attribute: &str) -> Option<f64> {
        let scale = self.room.class.sheet.attributes.iter().find(|a| a.name == attribute)?;
        Some(f64::from(scale.max) - f64::from(scale.min))
    }

    /// How the tea of a code is called in a sentence.
    pub fn label(&self, code: Code) -> String {
        self.teas.iter().find(|t| t.code == code).map_or_else(|| code.to_string(), ServedTea::label)
    }

    /// The revealed teas with their places.
    fn open(&self) -> impl Iterator<Item = (usize, &'a Tea)> {
        self.teas.iter().enumerate().filter_map(|(place, tea)| Some((place, tea.open?)))
    }

    /// The revealed teas of each leaf, in the order of the teas, leaves by their first tea.
    pub fn leaves(&self) -> Vec<Vec<usize>> {
        grouped(self.open().map(|(place, tea)| (place, tea.leaf_key())))
    }

    /// The ways of steeping of the revealed teas with the teas of each, in the same order. Teas are together only if `leaf`
    /// gives the same for them.
    pub fn ways<K: Eq + Hash>(&self, leaf: impl Fn(&Tea) -> K) -> Vec<(Steeping, Vec<usize>)> {
        let run = self.teas.iter().filter_map(|tea| tea.run.as_ref());
        let Ways { of, ways } = Ways::of(run.map(|tea| (leaf(tea), tea)));
        ways.into_iter().zip(grouped(self.open().map(|(place, _)| place).zip(of))).collect()
    }
}

/// Places with an equal key together, in the order of the places.
fn grouped<K: PartialEq>(keyed: impl Iterator<Item = (usize, K)>) -> Vec<Vec<usize>> {
    let mut groups: Vec<(K, Vec<usize>)> = Vec::new();
    for (place, key) in keyed {
        match groups.iter_mut().find(|(other, _)| *other == key) {
            Some((_, places)) => places.push(place),
            None => groups.push((key, vec![place])),
        }
    }
    groups.into_iter().map(|(_, places)| places).collect()
}

/// Teas as they are compared with one another: at the same steeps.
pub struct Compared {
    /// The steeps that go in.
    pub steeps: Vec<u32>,
    /// By tea (in the order asked for) and seat: the score at one steep, or the mean over the steeps; nothing where fewer
    /// than [`CUPS_SCORED`] of them are scored.
    pub columns: Vec<Vec<Option<f64>>>,
}

/// The mean of what is scored; nothing where that is less than [`CUPS_SCORED`].
pub(crate) fn most_of(values: &[Option<f64>]) -> Option<f64> {
    let scored: Vec<f64> = values.iter().copied().flatten().collect();
    let enough = !scored.is_empty() && scored.len() as f64 >= CUPS_SCORED * values.len() as f64;
    enough.then(|| scored.iter().sum::<f64>() / scored.len() as f64)
}

/// One mean for each row (what one taster gave one tea) over its columns (the steeps at which teas are compared), what is
/// missing made up by [`row_means`]; none where fewer than [`CUPS_SCORED`] of them are scored.
pub(crate) fn side_by_side(rows: &[Vec<Option<f64>>]) -> Vec<Option<f64>> {
    let enough = |row: &Vec<Option<f64>>| {
        let scored = row.iter().flatten().count();
        scored > 0 && scored as f64 >= CUPS_SCORED * row.len() as f64
    };
    let means = row_means(rows).into_iter().zip(rows).map(|(mean, row)| mean.filter(|_| enough(row)));
    if rows.iter().flatten().all(Option::is_some) {
        return means.collect();
    }
    // What is made up ends in rounding, which must not rank one tea above another.
    means.map(|mean| mean.map(finest)).collect()
}

/// A mean without what rounding leaves behind its ninth decimal.
pub(crate) fn finest(mean: f64) -> f64 {
    (mean * FINEST).round() / FINEST
}

impl Attribute {
    /// Some teas side by side, at one steep, or over all steeps that every one of them was served at and somebody scored: a
    /// tea of six steeps beside one of three is compared at three, since later steeps are other cups.
    ///
    /// Where a taster left a steep out, the mean of the others is set to the level of all the steeps, by the additive model
    /// (tea of a taster) + steep: how the steeps differ is taken from those who scored them for the same tea, so that
    /// neither mild tasters nor good teas at a steep show in it. Without gaps that is the plain mean.
    pub fn compared(&self, teas: &[usize], steep: Option<u32>) -> Compared {
        let wanted = |s: &u32| steep.is_none_or(|wanted| *s == wanted);
        let shared = |s: &u32| teas.iter().all(|&tea| self.served[tea].contains(s));
        let scored = |&s: &u32| teas.iter().any(|&tea| self.at(tea, s).iter().any(Option::is_some));
        let first = teas.first().map_or(&[][..], |&tea| &self.served[tea]);
        let steeps: Vec<u32> =
            first.iter().copied().filter(|s| wanted(s) && shared(s) && scored(s)).collect();
        let seats = self.cells.iter().flatten().map(Vec::len).max().unwrap_or(0);
        let row = |tea: usize, seat: usize| -> Vec<Option<f64>> {
            steeps.iter().map(|&s| self.at(tea, s).get(seat).copied().flatten()).collect()
        };
        let rows = teas.iter().flat_map(|&tea| (0..seats).map(move |seat| row(tea, seat)));
        let mut means = side_by_side(&rows.collect::<Vec<_>>()).into_iter();
        let columns = teas.iter().map(|_| means.by_ref().take(seats).collect()).collect();
        Compared { steeps, columns }
    }

    /// The teas that anybody scored at a steep, or at any.
    pub fn scored(&self, steep: Option<u32>) -> Vec<usize> {
        let wanted = |s: u32| steep.is_none_or(|wanted| s == wanted);
        let scored = |tea: &usize| {
            self.served[*tea].iter().any(|&s| wanted(s) && self.at(*tea, s).iter().any(Option::is_some))
        };
        (0..self.cells.len()).filter(scored).collect()
    }

    /// Each seat's value of a tea at a steep (from 1); empty if it was not served.
    pub fn at(&self, tea: usize, steep: u32) -> &[Option<f64>] {
        let steeps = &self.cells[tea];
        (steep as usize).checked_sub(1).and_then(|i| steeps.get(i)).map_or(&[], Vec::as_slice)
    }

    /// Each seat's value of a tea: the score at one steep, or the mean over the steeps.
    pub fn of(&self, tea: usize, steep: Option<u32>) -> Vec<Option<f64>> {
        let seats = self.cells[tea].first().map_or(0, Vec::len);
        (0..seats).map(|seat| self.mean(&[tea], steep, seat).map(|(mean, _)| mean)).collect()
    }

    /// One seat's mean over all cups of some teas, at one steep or at all, and how many scores it is of; nothing if too
    /// few of them are scored.
    pub fn mean(&self, teas: &[usize], steep: Option<u32>, seat: usize) -> Option<(f64, usize)> {
        let (mut sum, mut scored, mut served) = (0.0, 0usize, 0usize);
        for &tea in teas {
            let served_steeps = self.served[tea].iter().filter(|&&s| steep.is_none_or(|wanted| s == wanted));
            for &steep in served_steeps {
                served += 1;
                if let Some(value) = self.at(tea, steep).get(seat).copied().flatten() {
                    (sum, scored) = (sum + value, scored + 1);
                }
            }
        }
        let enough = scored > 0 && scored as f64 >= CUPS_SCORED * served as f64;
        enough.then(|| (sum / scored as f64, scored))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `cells` by tea, steep and seat; every tea was served at as many steeps as it has cells.
    fn attribute(cells: Vec<Vec<Vec<Option<f64>>>>) -> Attribute {
        let served = cells.iter().map(|steeps| (1..=steeps.len() as u32).collect()).collect();
        Attribute { name: "liking".into(), cells, served }
    }

    fn one_seat(scores: &[Option<f64>]) -> Vec<Vec<Option<f64>>> {
        scores.iter().map(|score| vec![*score]).collect()
    }

    #[test]
    fn a_tea_of_many_steeps_is_compared_at_the_steeps_of_the_other() {
        let (long, short) = ([8.0, 7.0, 6.0, 5.0, 4.0, 3.0].map(Some), [8.0, 7.0, 6.0].map(Some));
        let both = attribute(vec![one_seat(&long), one_seat(&short)]);
        let found = both.compared(&[0, 1], None);
        assert_eq!((found.steeps, found.columns), (vec![1, 2, 3], vec![vec![Some(7.0)], vec![Some(7.0)]]));
        assert_eq!(both.compared(&[0], None).columns, [[Some(5.5)]], "alone it has all its steeps");
        assert_eq!(both.compared(&[0, 1], Some(3)).columns, [[Some(6.0)], [Some(6.0)]]);
        assert!(both.compared(&[0, 1], Some(4)).steeps.is_empty());
    }

    /// Both teas fall by two points a steep; who leaves the high first steep of one tea out has not found it worse.
    #[test]
    fn a_steep_left_out_makes_no_difference() {
        let steeps =
            |first: Option<f64>| vec![vec![Some(9.0), first], vec![Some(7.0); 2], vec![Some(5.0); 2]];
        let found = attribute(vec![steeps(None), steeps(Some(9.0))]).compared(&[0, 1], None);
        assert_eq!(found.columns, [[Some(7.0); 2], [Some(7.0); 2]]);
    }

    /// Nobody finds the two apart, a third tea is disliked, and all but one leave the second steep of the first out: its
    /// steep's level must not be taken from the other teas.
    #[test]
    fn who_leaves_a_steep_out_tells_nothing_of_the_teas() {
        let seats = 8;
        let tea = |low: f64, second: &dyn Fn(usize) -> bool| -> Vec<Vec<Option<f64>>> {
            let steep = |there: &dyn Fn(usize) -> bool| {
                (0..seats).map(|seat| there(seat).then_some(7.0 - low + (seat % 3) as f64)).collect()
            };
            vec![steep(&|_| true), steep(second)]
        };
        let all = attribute(vec![tea(0.0, &|seat| seat == 0), tea(0.0, &|_| true), tea(4.0, &|_| true)]);
        let found = all.compared(&[0, 1, 2], None);
        for (first, second) in found.columns[0].iter().zip(&found.columns[1]) {
            assert!((first.unwrap() - second.unwrap()).abs() < 1e-12, "{:?}", found.columns);
        }
    }

    #[test]
    fn fewer_than_half_of_the_steeps_are_no_mean_and_a_steep_that_nobody_scored_is_none() {
        let cells = one_seat(&[Some(5.0), None, None, None]);
        let whole = one_seat(&[Some(5.0); 4]);
        let found = attribute(vec![cells.clone(), whole]).compared(&[0, 1], None);
        assert_eq!(found.columns, [[None], [Some(5.0)]]);
        assert_eq!(attribute(vec![cells.clone(), cells]).compared(&[0, 1], None).steeps, [1]);
    }
}
