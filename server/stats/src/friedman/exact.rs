//! The exact chance of rank sums as uneven as these, if every taster had ordered the same ranks blindly.

use crate::ranks::Ranks;

/// The most steps that counting may take; more tasters or teas go by the F form.
const STEPS: usize = 3_000_000;
/// The most sets of sums that are kept apart.
const SUMS: usize = 200_000;

/// The share of all orders of every taster's ranks (ties kept) whose rank sums have a sum of squares as large as the one
/// seen; `None` where counting would take too long.
pub(super) fn exact_p(ranked: &[Ranks]) -> Option<f64> {
    // Midranks are halves, so twice a rank is whole.
    let rows: Vec<Vec<usize>> = ranked
        .iter()
        .map(|row| row.ranks.iter().map(|rank| (2.0 * rank).round() as usize).collect())
        .collect();
    let teas = rows.first()?.len();
    let squares = |tea: usize| rows.iter().map(|row| row[tea]).sum::<usize>().pow(2);
    let seen: usize = (0..teas).map(squares).sum();
    let reached = counted(&rows)?.into_iter().filter(|(squares, _)| *squares >= seen);
    Some(reached.map(|(_, chance)| chance).sum::<f64>().min(1.0))
}

/// The largest statistic that is not large enough for the exact p to be `level` where nobody scores two teas alike; `None`
/// where counting would take too long, infinite where none is large enough.
pub(crate) fn critical(tasters: usize, teas: usize, level: f64) -> Option<f64> {
    let rows = vec![(1..=teas).map(|rank| 2 * rank).collect::<Vec<usize>>(); tasters];
    let mut all = counted(&rows)?;
    all.sort_by_key(|(squares, _)| std::cmp::Reverse(*squares));
    let (n, k) = (tasters as f64, teas as f64);
    let statistic = |squares: usize| {
        12.0 * (squares as f64 / 4.0 - n * n * k * (k + 1.0).powi(2) / 4.0) / (n * k * (k + 1.0))
    };
    let (mut tail, mut least) = (0.0, f64::INFINITY);
    for same in all.chunk_by(|(a, _), (b, _)| a == b) {
        tail += same.iter().map(|(_, chance)| chance).sum::<f64>();
        let here = statistic(same[0].0);
        if tail > level {
            return Some(if least.is_finite() { here } else { least });
        }
        least = here;
    }
    Some(least)
}

/// Every set of rank sums with its sum of squares and its chance, if each taster had ordered these (doubled) ranks blindly;
/// `None` where counting would take too long. The first taster's order is left as it is: naming the teas otherwise changes
/// no sum of squares.
fn counted(rows: &[Vec<usize>]) -> Option<Vec<(usize, f64)>> {
    let (first, others) = rows.split_first()?;
    let greatest = 2 * first.len() * rows.len() + 1;
    // The last sum follows from the others.
    let free = first.len() - 1;
    let size = greatest.checked_pow(u32::try_from(free).ok()?).filter(|&size| size <= SUMS)?;
    let place = |sums: &[usize]| sums[..free].iter().fold(0, |place, sum| place * greatest + sum);
    let mut chances = vec![0.0; size];
    chances[place(first)] = 1.0;
    let mut steps = 0;
    for row in others {
        let orders = orders(row)?;
        steps += orders.len() * size;
        if steps > STEPS {
            return None;
        }
        let shifts: Vec<usize> = orders.iter().map(|order| place(order)).collect();
        let mut next = vec![0.0; size];
        for (at, chance) in chances.iter().enumerate().filter(|(_, chance)| **chance > 0.0) {
            shifts.iter().for_each(|shift| next[at + shift] += chance / shifts.len() as f64);
        }
        chances = next;
    }
    let total: usize = rows.iter().flatten().sum();
    let uneven = |mut place: usize| {
        let mut left = total;
        let mut squares = 0;
        for _ in 0..free {
            let sum = place % greatest;
            (place, left, squares) = (place / greatest, left - sum, squares + sum * sum);
        }
        squares + left * left
    };
    let there = chances.into_iter().enumerate().filter(|(_, chance)| *chance > 0.0);
    Some(there.map(|(at, chance)| (uneven(at), chance)).collect())
}

/// Every order of these ranks, equal ones once for each way to come by them; `None` if there are too many.
fn orders(row: &[usize]) -> Option<Vec<Vec<usize>>> {
    let count = (1..=row.len()).try_fold(1usize, usize::checked_mul).filter(|&count| count <= 5_040)?;
    let mut all = Vec::with_capacity(count);
    let mut order = row.to_vec();
    permute(&mut order, 0, &mut all);
    Some(all)
}

fn permute(order: &mut Vec<usize>, from: usize, all: &mut Vec<Vec<usize>>) {
    if from == order.len() {
        all.push(order.clone());
        return;
    }
    for other in from..order.len() {
        order.swap(from, other);
        permute(order, from + 1, all);
        order.swap(from, other);
    }
}
