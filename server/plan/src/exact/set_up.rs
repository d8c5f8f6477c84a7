//! What a kettle needs between two set points, in seconds of the search.

use super::round::{Kettle, MAX_TEAS, NEVER, Round};
use crate::filling::Filling;
use crate::heat::Heat;

/// A set-up of more seconds than this (eleven days) counts as impossible; it also keeps every sum small.
const LONGEST_SET_UP_S: u32 = 1_000_000;

/// Set-ups of one kettle.
#[derive(Clone, Debug)]
pub(super) struct KettleTable {
    /// From pour start to pour start when the second tea comes next and the kettle is not filled before it: pour and set-up.
    pub direct: [[i32; MAX_TEAS]; MAX_TEAS],
    /// The least by the shortest way over any other teas, with refills wherever they might help. Set-ups within the
    /// tolerance are free, so 80, 81, 82 may be quicker than 80, 82: only this way round holds for every pair of teas
    /// of one kettle, next to one another or not.
    pub any: [[i32; MAX_TEAS]; MAX_TEAS],
    /// From second 0 to the pour start of the first tea.
    pub first: [i32; MAX_TEAS],
    /// The same over any other teas.
    pub any_first: [i32; MAX_TEAS],
    /// Its water; none if it never has to be filled.
    pub water: Option<Water>,
}

/// The water of a kettle that may have to be filled in the round.
#[derive(Clone, Debug)]
pub(super) struct Water {
    filling: Filling,
    heat: Heat,
    room_c: f64,
    tol_c: f64,
    ml: [f64; MAX_TEAS],
    temp_c: [f64; MAX_TEAS],
    /// From a tea's pour start to the end of the filling, if the kettle is filled after it.
    filled: [i32; MAX_TEAS],
    /// From pour start to pour start with a refill between them, at least.
    refill: [[i32; MAX_TEAS]; MAX_TEAS],
    /// From pour start to pour start where the kettle is emptied between them because it would cool for longer;
    /// [`NEVER`] where it is not.
    emptied: [[i32; MAX_TEAS]; MAX_TEAS],
}

/// A pour as one of a kettle's order.
#[derive(Clone, Copy, Debug)]
pub(super) struct Draw {
    /// From the pour start of the tea before it; from second 0 if it is the first.
    pub after: i32,
    /// Whether the kettle is filled before it.
    pub refill: bool,
    /// What may be drawn after it, millilitres.
    pub left_ml: f64,
}

impl KettleTable {
    /// `ready_s`: seconds from second 0 until it is ready for each tea, where its start temperature does not say that.
    pub fn new(round: &Round, kettle: &Kettle, ready_s: Option<&[u32]>) -> Self {
        let mut direct = [[NEVER; MAX_TEAS]; MAX_TEAS];
        let mut first = [NEVER; MAX_TEAS];
        let n = round.teas.len();
        let water = Water::new(round, kettle);
        let too_much = |tea: usize| water.as_ref().is_some_and(|w| !w.fits_full(tea));
        for (b, to) in round.teas.iter().enumerate().filter(|&(b, _)| !too_much(b)) {
            first[b] = match ready_s.and_then(|ready_s| ready_s.get(b)) {
                Some(&ready_s) => set_up(ready_s),
                None => set_up_s(kettle, kettle.start_c, to.temp_c, round),
            };
            for (a, from) in round.teas.iter().enumerate().filter(|&(a, _)| a != b && !too_much(a)) {
                let needs_s = kettle.heat.set_up_s(from.temp_c, to.temp_c, round.room_c, round.tol_c);
                let lid_s = if needs_s > 0 { round.lid_s } else { 0 };
                direct[a][b] = NEVER.min(seconds(from.pour_s + lid_s) + set_up(needs_s));
            }
        }
        let (mut any, mut any_first) = (direct, first);
        if let Some(water) = &water {
            for (row, refill) in any.iter_mut().zip(&water.refill) {
                row.iter_mut().zip(refill).for_each(|(any, &refill)| *any = refill.min(*any));
            }
        }
        for k in 0..n {
            for a in 0..n {
                for b in 0..n {
                    any[a][b] = any[a][b].min(any[a][k] + any[k][b]);
                }
            }
        }
        for b in 0..n {
            for k in (0..n).filter(|&k| k != b) {
                any_first[b] = any_first[b].min(first[k] + any[k][b]);
            }
        }
        Self { direct, any, first, any_first, water }
    }

    /// What may be drawn at second 0; without a meaning if the kettle never has to be filled.
    pub fn full_ml(&self) -> f64 {
        self.water.as_ref().map_or(0.0, |water| water.filling.usable_ml)
    }

    /// Seconds of hands' work to fill it up.
    pub fn fill(&self) -> i32 {
        self.water.as_ref().map_or(0, |water| seconds(water.filling.fill_s))
    }

    /// The pour of `tea` after that of `before`, with `left_ml` left.
    pub fn draw(&self, before: Option<usize>, left_ml: f64, tea: usize) -> Draw {
        let after = before.map_or(self.first[tea], |before| self.direct[before][tea]);
        match (&self.water, before) {
            (None, _) => Draw { after, refill: false, left_ml },
            (Some(water), Some(before)) if !Filling::holds(left_ml, water.ml[tea]) => {
                water.full_before(tea, water.refilled(before, left_ml, tea))
            }
            (Some(water), Some(before)) if water.emptied[before][tea] < NEVER => {
                water.full_before(tea, water.emptied[before][tea])
            }
            (Some(water), _) => Draw { after, refill: false, left_ml: left_ml - water.ml[tea] },
        }
    }
}

impl Water {
    /// `None` if all teas of the round together fit into one filling and none is poured sooner from a kettle that was
    /// emptied.
    fn new(round: &Round, kettle: &Kettle) -> Option<Self> {
        let filling = kettle.water?;
        let of = |value: fn(&super::round::TeaJob) -> f64| {
            let mut all = [0.0; MAX_TEAS];
            all.iter_mut().zip(&round.teas).for_each(|(one, tea)| *one = value(tea));
            all
        };
        let (ml, temp_c) = (of(|tea| tea.ml), of(|tea| tea.temp_c));
        let emptied = emptied(round, kettle, &filling);
        let never_emptied = emptied.iter().flatten().all(|&seconds| seconds == NEVER);
        if never_emptied && Filling::holds(filling.usable_ml, ml.iter().sum()) {
            return None;
        }
        let fill = seconds(filling.fill_s);
        let mut filled = [0; MAX_TEAS];
        for (at, tea) in filled.iter_mut().zip(&round.teas) {
            *at =
                fill + seconds(tea.pour_s) + seconds(filling.busy_s(tea.steep_s, tea.decant_s, round.lid_s));
        }
        let refill = [[NEVER; MAX_TEAS]; MAX_TEAS];
        let (heat, room_c, tol_c) = (kettle.heat, round.room_c, round.tol_c);
        let mut water = Self { filling, heat, room_c, tol_c, ml, temp_c, filled, refill, emptied };
        let fits: Vec<usize> = (0..round.teas.len()).filter(|&tea| water.fits_full(tea)).collect();
        for (&a, &b) in fits.iter().flat_map(|a| fits.iter().map(move |b| (a, b))).filter(|(a, b)| a != b) {
            water.refill[a][b] = water.least_refilled(a, b);
        }
        Some(water)
    }

    /// How often the kettle has to be filled up at least so that it gives all these teas when `left_ml` is left.
    pub fn refills(&self, teas: impl Iterator<Item = usize>, left_ml: f64) -> usize {
        let ml: f64 = teas.map(|tea| self.ml[tea]).sum();
        // The cast keeps to nought where enough is left.
        if Filling::holds(left_ml, ml) {
            0
        } else {
            ((ml - left_ml) / self.filling.usable_ml - 1e-6).ceil() as usize
        }
    }

    /// The least from the pour start of any of `from` to that of `tea`: without a refill between them, or at all, and with one.
    pub fn step(
        &self,
        any: &[[i32; MAX_TEAS]; MAX_TEAS],
        from: impl Iterator<Item = usize>,
        tea: usize,
    ) -> (i32, i32) {
        from.filter(|&a| a != tea).fold((NEVER, NEVER), |(least, refill), a| {
            (least.min(any[a][tea]), refill.min(self.refill[a][tea]))
        })
    }

    /// A pour from the kettle after it was filled.
    fn full_before(&self, tea: usize, after: i32) -> Draw {
        Draw { after, refill: true, left_ml: self.filling.usable_ml - self.ml[tea] }
    }

    fn fits_full(&self, tea: usize) -> bool {
        Filling::holds(self.filling.usable_ml, self.ml[tea])
    }

    /// From pour start to pour start with a refill between them.
    fn refilled(&self, before: usize, left_ml: f64, tea: usize) -> i32 {
        if !self.fits_full(tea) {
            return NEVER;
        }
        let (from_c, to_c) = (self.temp_c[before], self.temp_c[tea]);
        let refill = self.filling.refill(&self.heat, left_ml, from_c, to_c, self.room_c, self.tol_c);
        NEVER.min(self.filled[before] + set_up(refill.takes_s))
    }

    /// The least of that, whatever may be left: a refill stands only before a tea for which there is too little. A kettle
    /// that is emptied to cool is ready no sooner: emptying counts here, too.
    fn least_refilled(&self, before: usize, tea: usize) -> i32 {
        let most_ml = self.ml[tea].min(self.filling.usable_ml - self.ml[before]).max(0.0);
        let (from_c, to_c) = (self.temp_c[before], self.temp_c[tea]);
        let least_s = self.filling.quickest_s(&self.heat, most_ml, from_c, to_c, self.room_c, self.tol_c);
        NEVER.min(self.filled[before] + set_up(least_s))
    }
}

/// [`Water::emptied`] of a kettle.
fn emptied(round: &Round, kettle: &Kettle, filling: &Filling) -> [[i32; MAX_TEAS]; MAX_TEAS] {
    let mut emptied = [[NEVER; MAX_TEAS]; MAX_TEAS];
    let fits = |ml: f64| Filling::holds(filling.usable_ml, ml);
    for (a, from) in round.teas.iter().enumerate().filter(|(_, tea)| fits(tea.ml)) {
        let busy_s = filling.busy_s(from.steep_s, from.decant_s, round.lid_s);
        for (b, to) in round.teas.iter().enumerate().filter(|(_, tea)| fits(tea.ml)) {
            let (from_c, to_c) = (from.temp_c, to.temp_c);
            let after = (round.lid_s, busy_s);
            if let Some(heats_s) =
                filling.emptied_s(&kettle.heat, from_c, to_c, round.room_c, round.tol_c, after)
            {
                let all_s = from.pour_s.saturating_add(busy_s).saturating_add(filling.fill_s);
                emptied[a][b] = NEVER.min(seconds(all_s) + set_up(heats_s));
            }
        }
    }
    emptied
}

/// Whole seconds from second 0 until a kettle is ready for its first tea; [`NEVER`] if it never is. One that is emptied
/// and filled afresh because it would cool for longer is filled before second 0.
fn set_up_s(kettle: &Kettle, from_c: Option<f64>, to_c: f64, round: &Round) -> i32 {
    let Some(from_c) = from_c else { return 0 };
    let (heat, room_c, tol_c) = (&kettle.heat, round.room_c, round.tol_c);
    let emptied_s = kettle.water.and_then(|water| water.emptied_s(heat, from_c, to_c, room_c, tol_c, (0, 0)));
    set_up(emptied_s.unwrap_or_else(|| heat.set_up_s(from_c, to_c, room_c, tol_c)))
}

fn set_up(needs_s: u32) -> i32 {
    if needs_s > LONGEST_SET_UP_S { NEVER } else { seconds(needs_s) }
}

/// Seconds in the type of the search.
pub(super) fn seconds(value: u32) -> i32 {
    i32::try_from(value).unwrap_or(NEVER)
}
