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

/// Each tea's pour and decant as (from, to).
fn works(round: &Round, starts: &[u32]) -> Vec<[(u32, u32); 2]> {
    let of = |(t, &s): (&plan::exact::TeaJob, &u32)| {
        let lid_on = s + t.pour_s;
        let decant = lid_on + t.steep_s;
        [(s, lid_on), (decant, decant + t.decant_s)]
    };
    round.teas.iter().zip(starts).map(of).collect()
}

/// Whether there are hands for everything, without a gap and whoever does it.
pub fn enough_hands(round: &Round, starts: &[u32]) -> bool {
    let works = works(round, starts);
    let (_, last) = values(round, starts);
    (0..last).all(|second| {
        let busy = works.iter().flatten().filter(|(from, to)| (*from..*to).contains(&second));
        busy.count() <= usize::from(round.hands)
    })
}

/// Whether these kettles can serve these pours.
pub fn kettles_ready(round: &Round, starts: &[u32], kettle_of: &[u8]) -> bool {
    round.kettles.iter().enumerate().all(|(k, kettle)| {
        let mut pours: Vec<usize> = (0..starts.len()).filter(|&i| usize::from(kettle_of[i]) == k).collect();
        pours.sort_by_key(|&i| starts[i]);
        let (mut free, mut temp) = (0.0, kettle.start_c);
        pours.into_iter().all(|i| {
            let tea = &round.teas[i];
            let ready = free + set_up(round, kettle, temp, tea.temp_c);
            free = f64::from(starts[i] + tea.pour_s);
            temp = Some(tea.temp_c);
            ready <= f64::from(starts[i])
        })
    })
}

/// Whether pours begin in file order, if they have to.
pub fn in_order(round: &Round, starts: &[u32]) -> bool {
    !round.order_fixed || starts.is_sorted()
}

/// What is wrong with a solution, if anything.
pub fn fault(round: &Round, found: &Solution) -> Option<String> {
    let n = round.teas.len();
    if [found.starts_s.len(), found.pour_hands.len(), found.decant_hands.len()] != [n; 3] {
        return Some("not one entry for each tea".into());
    }
    if (found.spread_s, found.makespan_s) != values(round, &found.starts_s) {
        return Some("spread or makespan are not those of the starts".into());
    }
    if !in_order(round, &found.starts_s) {
        return Some("not in file order".into());
    }
    if !enough_hands(round, &found.starts_s) {
        return Some("too few hands".into());
    }
    if found.pour_hands.iter().chain(&found.decant_hands).any(|&h| h >= round.hands) {
        return Some("hands that are not there".into());
    }
    let works = works(round, &found.starts_s);
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
    if round.kettles.is_empty() {
        return (!found.kettle.is_empty()).then(|| "a kettle where there is none".into());
    }
    if found.kettle.len() != n || found.kettle.iter().any(|&k| usize::from(k) >= round.kettles.len()) {
        return Some("not a kettle for each tea".into());
    }
    (!kettles_ready(round, &found.starts_s, &found.kettle)).then(|| "a kettle is not ready".into())
}

/// Whether any choice of kettles can serve these pours.
pub fn some_kettles_ready(round: &Round, starts: &[u32]) -> bool {
    let (n, count) = (starts.len(), round.kettles.len());
    if count == 0 {
        return true;
    }
    (0..count.pow(n as u32)).any(|choice| {
        let kettle_of: Vec<u8> = (0..n).map(|i| (choice / count.pow(i as u32) % count) as u8).collect();
        kettles_ready(round, starts, &kettle_of)
    })
}
