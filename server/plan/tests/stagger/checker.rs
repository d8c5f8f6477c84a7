//! A checker that shares nothing with the solver but the types: it walks through the schedule second by second.

use plan::exact::{Kettle, Round, Solution};

/// Seconds of set-up, by the formulas of the problem; infinite if impossible.
fn set_up(round: &Round, kettle: &Kettle, from: Option<f64>, to: f64) -> f64 {
    let heat = kettle.heat;
    let Some(from) = from else { return 0.0 };
    if (to - from).abs() <= round.tol_c {
        0.0
    } else if to > from {
        (heat.fill_kg * 4186.0 * (to - from) / (heat.watts * heat.eta) - 1e-9).ceil()
    } else if to > round.room_c {
        (heat.tau_s * ((from - round.room_c) / (to - round.room_c)).ln() - 1e-9).ceil()
    } else {
        f64::INFINITY
    }
}

/// Spread and makespan of pour starts.
pub fn values(round: &Round, starts: &[u32]) -> (u32, u32) {
    let ends: Vec<u32> =
        round.teas.iter().zip(starts).map(|(t, s)| s + t.pour_s + t.steep_s + t.decant_s).collect();
    let last = ends.iter().copied().max().unwrap_or(0);
    (last - ends.iter().copied().min().unwrap_or(0), last)
}

/// Seconds for which hands are kept by each tea: the pour, and the decant.
type Works = Vec<[(u32, u32); 2]>;

/// Each tea's pour and decant as (from, to); `fill_s[i]` is the filling of the kettle that follows tea i, if one does.
fn works(round: &Round, starts: &[u32], fill_s: &[Option<u32>]) -> Works {
    let of = |((t, &s), fill_s): ((&plan::exact::TeaJob, &u32), &Option<u32>)| {
        let lid_on = s + t.pour_s;
        let decant = lid_on + t.steep_s;
        let (mut pour, mut last) = ((s, lid_on), (decant, decant + t.decant_s));
        match *fill_s {
            None | Some(0) => {}
            Some(fill_s) if fill_s + round.lid_s <= t.steep_s => pour.1 += round.lid_s + fill_s,
            Some(fill_s) => last.1 += fill_s,
        }
        [pour, last]
    };
    round.teas.iter().zip(starts).zip(fill_s).map(of).collect()
}

/// Whether there are hands for all this work, without a gap and whoever does it.
fn enough_hands(round: &Round, works: &Works) -> bool {
    let last = works.iter().flatten().map(|(_, to)| *to).max().unwrap_or(0);
    (0..last).all(|second| {
        let busy = works.iter().flatten().filter(|(from, to)| (*from..*to).contains(&second));
        busy.count() <= usize::from(round.hands)
    })
}

/// Goes through the pours of every kettle; gives the filling after each tea if these kettles can serve these pours.
fn kettles_ready(round: &Round, starts: &[u32], kettle_of: &[u8]) -> Option<Vec<Option<u32>>> {
    let mut fill_s = vec![None; starts.len()];
    for (k, kettle) in round.kettles.iter().enumerate() {
        let mut pours: Vec<usize> = (0..starts.len()).filter(|&i| usize::from(kettle_of[i]) == k).collect();
        pours.sort_by_key(|&i| starts[i]);
        let (mut free, mut temp, mut before) = (0.0, kettle.start_c, None);
        let mut left = kettle.water.map_or(f64::INFINITY, |w| w.usable_ml);
        for i in pours {
            let tea = &round.teas[i];
            let heats = |from| set_up(round, kettle, Some(from), tea.temp_c);
            let mut ready = free + set_up(round, kettle, temp, tea.temp_c);
            if before.is_some() && ready > free {
                // The lid comes first.
                ready += f64::from(round.lid_s);
            }
            let cooler = temp.is_some_and(|c| tea.temp_c < c);
            if let (Some(w), Some((last, c))) = (kettle.water, before) {
                let last: usize = last;
                let t = &round.teas[last];
                let after_lid = w.fill_s + round.lid_s <= t.steep_s;
                let done = t.pour_s + if after_lid { round.lid_s } else { t.steep_s + t.decant_s };
                let filled = f64::from(starts[last] + done + w.fill_s);
                let afresh = filled + heats(round.room_c);
                let short = tea.ml > left + 0.01;
                if short {
                    let fresh = w.usable_ml - left;
                    let mixed = (c * (w.full_ml - fresh) + round.room_c * fresh) / w.full_ml;
                    ready = afresh.min(filled + heats(mixed));
                }
                if short || cooler && afresh < ready {
                    ready = ready.min(afresh);
                    left = w.usable_ml;
                    fill_s[last] = Some(w.fill_s);
                }
            } else if let Some(w) = kettle.water
                && cooler
                && f64::from(w.fill_s) + heats(round.room_c) < ready
            {
                // Emptied and filled before second 0.
                ready = heats(round.room_c);
            }
            if tea.ml > left + 0.01 || ready > f64::from(starts[i]) {
                return None;
            }
            left -= tea.ml;
            free = f64::from(starts[i] + tea.pour_s);
            temp = Some(tea.temp_c);
            before = Some((i, tea.temp_c));
        }
    }
    Some(fill_s)
}

/// Whether pours begin in file order, if they have to.
fn in_order(round: &Round, starts: &[u32]) -> bool {
    !round.order_fixed || starts.is_sorted()
}

/// What is wrong with a solution, if anything.
pub fn fault(round: &Round, found: &Solution) -> Option<String> {
    let n = round.teas.len();
    if [found.starts_s.len(), found.pour_hands.len(), found.decant_hands.len(), found.refill_after.len()]
        != [n; 4]
    {
        return Some("not one entry for each tea".into());
    }
    if (found.spread_s, found.makespan_s) != values(round, &found.starts_s) {
        return Some("spread or makespan are not those of the starts".into());
    }
    if !in_order(round, &found.starts_s) {
        return Some("not in file order".into());
    }
    if found.pour_hands.iter().chain(&found.decant_hands).any(|&h| h >= round.hands) {
        return Some("hands that are not there".into());
    }
    let mut fill_s = vec![None; n];
    if round.kettles.is_empty() {
        if !found.kettle.is_empty() {
            return Some("a kettle where there is none".into());
        }
    } else {
        if found.kettle.len() != n || found.kettle.iter().any(|&k| usize::from(k) >= round.kettles.len()) {
            return Some("not a kettle for each tea".into());
        }
        match kettles_ready(round, &found.starts_s, &found.kettle) {
            None => return Some("a kettle is not ready, or too empty".into()),
            Some(fills) => fill_s = fills,
        }
    }
    if found.refill_after != fill_s.iter().map(Option::is_some).collect::<Vec<_>>() {
        return Some(format!("refills after {:?}, not {:?}", found.refill_after, fill_s));
    }
    let works = works(round, &found.starts_s, &fill_s);
    if !enough_hands(round, &works) {
        return Some("too few hands".into());
    }
    let tasks: Vec<(u8, usize, (u32, u32))> = (0..n)
        .flat_map(|i| [(found.pour_hands[i], i, works[i][0]), (found.decant_hands[i], i, works[i][1])])
        .collect();
    for (at, a) in tasks.iter().enumerate() {
        for b in &tasks[at + 1..] {
            let gap = if a.1 == b.1 { 0 } else { round.gap_s };
            if a.0 == b.0 && a.2.0 < b.2.1 + gap && b.2.0 < a.2.1 + gap {
                return Some(format!("hands {} do {a:?} and {b:?}", a.0));
            }
        }
    }
    None
}

/// Whether any choice of kettles makes these starts feasible, without a gap.
pub fn feasible(round: &Round, starts: &[u32]) -> bool {
    let (n, count) = (starts.len(), round.kettles.len());
    let none = vec![None; n];
    if !in_order(round, starts) || !enough_hands(round, &works(round, starts, &none)) {
        return false;
    }
    (count == 0)
        || (0..count.pow(n as u32)).any(|choice| {
            let kettle_of: Vec<u8> = (0..n).map(|i| (choice / count.pow(i as u32) % count) as u8).collect();
            kettles_ready(round, starts, &kettle_of)
                .is_some_and(|fill_s| enough_hands(round, &works(round, starts, &fill_s)))
        })
}
