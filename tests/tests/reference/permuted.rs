//! The F of tea + taster among all orders of each taster's scores, against NumPy and statsmodels: 500 random tables, many of
//! them with gaps or broken in some way. `tests/reference/permuted.py` rewrites the golden file.

use super::golden::{Check, chance, rows, sets, sum};
use stats::additive::permuted::{Permuted, permuted};

const PERMUTED: &str = include_str!("../../reference/permuted.json");

#[test]
fn the_share_of_orders_with_so_large_an_f_agrees() {
    let mut check = Check::default();
    for set in sets(PERMUTED, "sets") {
        check.hold(&set["rows"], permuted(&rows(&set["rows"]), 0), &set["permuted"], |ours: &Permuted| {
            assert!(ours.exact, "{ours:?}");
            vec![sum(ours.orders as f64), chance(ours.p)]
        });
    }
    check.covers(400, 800);
}
