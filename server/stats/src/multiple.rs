//! Several tests at once.

use super::cannot::Cannot;

/// Holm's adjusted p values, in the order given: each at or below a level is significant with the chance of even one
/// false alarm held at that level (Holm, Scandinavian Journal of Statistics 6, 1979).
pub fn holm(p: &[f64]) -> Result<Vec<f64>, Cannot> {
    if !p.iter().all(|p| (0.0..=1.0).contains(p)) {
        return Err(Cannot::OutOfRange);
    }
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|&a, &b| p[a].total_cmp(&p[b]));
    let (mut adjusted, mut reached) = (vec![0.0; p.len()], 0.0f64);
    for (place, &i) in order.iter().enumerate() {
        reached = reached.max(p[i] * (p.len() - place) as f64).min(1.0);
        adjusted[i] = reached;
    }
    Ok(adjusted)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Computed with statsmodels 0.15.0: `multipletests([.01, .04, .03, .005], method='holm')`; no published example is at
    /// hand. Held to statsmodels on 500 sets more (`tests/reference/pairs.py`).
    #[test]
    fn the_smallest_pays_for_all_and_order_is_kept() {
        let adjusted = holm(&[0.01, 0.04, 0.03, 0.005]).unwrap();
        for (ours, known) in adjusted.iter().zip([0.03, 0.06, 0.06, 0.02]) {
            assert!((ours - known).abs() < 1e-12, "{adjusted:?}");
        }
        assert_eq!(holm(&[0.7, 0.6]).unwrap(), [1.0, 1.0]);
        assert_eq!(holm(&[]).unwrap(), Vec::<f64>::new());
    }

    #[test]
    fn what_is_no_chance_is_refused() {
        assert_eq!(holm(&[0.5, 1.5]), Err(Cannot::OutOfRange));
        assert_eq!(holm(&[f64::NAN]), Err(Cannot::OutOfRange));
    }
}
