//! Two ways of one leaf.

use crate::tables::build::{columns, ends, known, row, steep, table, teas, yes};
use crate::tables::{Cell, Table, TableOf};
use summary::Summary;
use summary::find::ways::{Comparison, TwoWays};

pub fn ways(summary: &Summary) -> [Table; 2] {
    let all = &summary.findings.figures.ways;
    let pairs = all.iter().map(|ways| {
        row([
            &[ways.leaf.as_str().into()],
            &teas(summary, ways.first, ways.second),
            &[ways.first_way.as_str().into(), ways.second_way.as_str().into(), yes(ways.same_way)],
        ])
    });
    let columns = columns![
        words "leaf"; code "first"; words "first name"; code "second"; words "second name" "first way"
        "second way" "one and the same way"
    ];
    let pairs = table(TableOf::Ways, "ways", "Two ways of one leaf", columns, pairs.collect());
    let rows = all.iter().flat_map(|ways| ways.comparisons.iter().map(|c| comparison(ways, c)));
    let columns = columns![
        code "first" "second"; attribute "attribute"; number "steep" "tasters"; points "first less second"
        "from" "to"; number "t" "df" "p of t" "d_z" "d_z from" "d_z to" "p of signed ranks" "p Holm"
        "least p possible" "tasters who scored them differently" "rank sum for first" "rank sum for second"
        "rank-biserial correlation"
    ];
    let title = "Two ways of one leaf compared, taster by taster";
    let compared = table(TableOf::Ways, "ways compared", title, columns, rows.collect()).note(
        "Each two by themselves, as evidence: whether the ways of a leaf differ goes by one test over all of them. p Holm \
         allows for the attributes (all steeps) or attributes and steeps (single ones), and for no other pair. From and to: \
         95 % interval of the mean difference by the paired t test.",
    );
    [pairs, compared]
}

fn comparison(ways: &TwoWays, comparison: &Comparison) -> Vec<Cell> {
    let paired = known(&comparison.paired, |t| {
        let ([low, high], [d_low, d_high]) = (ends(Some(t.interval), 2), ends(Some(t.d_z_interval), 2));
        let (value, p, d_z) = (Cell::number(t.t, 2), Cell::p(t.p), Cell::number(t.d_z, 2));
        [low, high, value, t.df.into(), p, d_z, d_low, d_high]
    });
    let ranks = known(&comparison.wilcoxon, |w| {
        [
            Cell::p(w.p),
            Cell::p(comparison.p_holm),
            Cell::p(w.smallest_p),
            w.n.into(),
            Cell::number(w.ranks_for_first, 1),
            Cell::number(w.ranks_for_second, 1),
            Cell::number(w.rank_biserial, 2),
        ]
    });
    row([
        &[
            ways.first.into(),
            ways.second.into(),
            comparison.attribute.as_str().into(),
            steep(comparison.steep),
            comparison.n.into(),
            Cell::number(comparison.mean_difference, 2),
        ],
        &paired,
        &ranks,
    ])
}
