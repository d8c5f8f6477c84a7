//! The exact chance of rank sums as uneven as these, if every taster had ordered the same ranks blindly.

use crate::ranks::Ranks;

/// The most steps that counting may take; more tasters or teas go by the F form.
const STEPS: usize = 3_000_000;
/// The most sets of sums that are kept apart.
const SUMS: usize = 200_000;

/// The share of all orders of every taster's ranks (ties kept) whose rank sums have a sum of squares as large as the one
/// seen; `None` where counting would take too long. The first taster's order is left as it is: naming the teas otherwise
/// changes no sum of squares.
pub(super) fn exact_p(ranked: &[Ranks]) -> Option<f64> {
    // Midranks are halves, so twice a rank is whole.
    let rows: Vec<Vec<usize>> = ranked
        .iter()
        .map(|row| row.ranks.iter().map(|rank| (2.0 * rank).round() as usize).collect())
        .collect();
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
    let sums: Vec<usize> = (0..first.len()).map(|tea| rows.iter().map(|row| row[tea]).sum()).collect();
    let seen = uneven(place(&sums));
    let reached = chances.iter().enumerate().filter(|(at, chance)| **chance > 0.0 && uneven(*at) >= seen);
    Some(reached.map(|(_, chance)| chance).sum::<f64>().min(1.0))
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
