//! Whether the teas differ: the test that counts, and the tests behind it.

use crate::tables::build::{columns, effect, known, row, steep, table, teas, yes};
use crate::tables::{Cell, Table, TableOf};
use crate::words::joined;
use stats::anova::Leftover;
use summary::Summary;
use summary::find::differences::{Difference, FriedmanFinding, LeftOut};
use summary::known::Known;

/// All comparisons: the attributes', then the total's.
fn all(summary: &Summary) -> impl Iterator<Item = &Difference> {
    let totals = summary.findings.figures.totals.iter().map(|totals| &*totals.difference);
    summary.findings.figures.differences.iter().chain(totals)
}

/// What every row begins with.
fn what(difference: &Difference) -> [Cell; 2] {
    [difference.attribute.as_str().into(), steep(difference.steep)]
}

pub fn differences(summary: &Summary) -> [Table; 4] {
    [main(summary), ranks(summary), rank_sums(summary), variance(summary)]
}

fn main(summary: &Summary) -> Table {
    let level = summary.findings.level;
    let rows = all(summary).map(|difference| {
        let test = known(&difference.test, |test| {
            let family = test.family.into();
            [
                test.name.to_string().into(),
                test.n.into(),
                Cell::p(test.p),
                Cell::p(test.p_holm),
                family,
                yes(test.p_holm <= level),
            ]
        });
        let w = difference.friedman.get().map(|friedman| friedman.kendall_w);
        row([
            &what(difference),
            &test,
            &[
                Cell::number(w, 2),
                difference.teas.len().into(),
                difference.tasters.into(),
                difference.complete.into(),
                Cell::number(difference.missing_share * 100.0, 0),
                joined(difference.left_out.iter().map(gaps), ", ").into(),
            ],
        ])
    });
    let columns = columns![
        attribute "attribute"; number "steep"; words "test"; number "tasters in it" "p" "p Holm"
        "tests Holm went over"; words "shown"; number "Kendall's W" "teas" "tasters" "complete tasters";
        percent "missing"; words "with gaps (teas)"
    ];
    table(TableOf::Differences, "differences", "Whether the teas differ", columns, rows.collect()).note(format!(
        "p Holm allows for the other tests: over the attributes for all steeps together, over attributes and steeps for \
         single steeps. Up to {level} counts as shown."
    ))
}

fn gaps(left_out: &LeftOut) -> String {
    format!("{} ({})", left_out.seat, joined(&left_out.missing, " "))
}

/// The tests by ranks in all their forms.
fn ranks(summary: &Summary) -> Table {
    let mut rows = Vec::new();
    for difference in all(summary) {
        let mut add = |test: &str, figures: [Cell; 5]| {
            rows.push(row([&what(difference), &[test.into()], &figures]));
        };
        match &difference.friedman {
            Known::Is(friedman) => forms(friedman, &mut add),
            not => add("Friedman", known(not, |_| std::array::from_fn(|_| Cell::Empty))),
        }
        if let Some(found) = &difference.skillings_mack {
            let figures = known(found, |s| {
                [Cell::number(s.chi_squared, 3), s.df.into(), Cell::Empty, Cell::p(s.p), s.tasters.into()]
            });
            add("Skillings–Mack", figures);
        }
    }
    let columns = columns![
        attribute "attribute"; number "steep"; words "test"; number "statistic" "df" "df below" "p"
        "tasters"
    ];
    table(TableOf::Differences, "rank tests", "Tests by ranks, in all their forms", columns, rows)
        .note("p by chi-squared is rough in small classes. Each p is that of the test by itself.")
}

fn forms(friedman: &FriedmanFinding, add: &mut impl FnMut(&str, [Cell; 5])) {
    let tasters = || Cell::from(friedman.tasters);
    let chi_squared = Cell::number(friedman.chi_squared, 3);
    add(
        "Friedman, chi-squared",
        [chi_squared, friedman.df.into(), Cell::Empty, Cell::p(friedman.p), tasters()],
    );
    if let Some(f) = friedman.iman_davenport {
        let statistic = Cell::number(f.f, 3);
        add("Friedman, F form", [statistic, f.df.into(), f.df_below.into(), Cell::p(f.p), tasters()]);
    }
    if let Some(p) = friedman.p_exact.or(friedman.p_all_alike) {
        add("Friedman, exact", [Cell::Empty, Cell::Empty, Cell::Empty, Cell::p(p), tasters()]);
    }
}

fn rank_sums(summary: &Summary) -> Table {
    let mut rows = Vec::new();
    for difference in all(summary) {
        let (Some(friedman), Some(ranks)) = (difference.friedman.get(), difference.rank_sums.get()) else {
            continue;
        };
        let sum = |tea| {
            let place = difference.teas.iter().position(|&other| other == tea);
            Cell::number(place.and_then(|place| friedman.rank_sums.get(place).copied()), 1)
        };
        rows.extend(ranks.pairs.iter().map(|pair| {
            row([
                &what(difference),
                &teas(summary, pair.first, pair.second),
                &[
                    sum(pair.first),
                    sum(pair.second),
                    Cell::number(pair.difference, 1),
                    Cell::number(ranks.least_significant_difference, 2),
                    Cell::p(pair.p_alone),
                    Cell::number(ranks.family_difference, 2),
                    Cell::p(pair.p_family),
                ],
            ])
        }));
    }
    let columns = columns![
        attribute "attribute"; number "steep"; code "first"; words "first name"; code "second";
        words "second name"; number "rank sum of first" "rank sum of second" "first less second"
        "least significant difference" "p of this pair by itself" "family-wise difference"
        "p over all pairs"
    ];
    table(TableOf::Differences, "rank sums", "Every two teas by their rank sums", columns, rows).note(
        "The least significant difference, which goes with the ranking test of ISO 8587, guards each comparison by itself \
         only; the family-wise difference guards all of them together. Each taster ranks the lowest score 1.",
    )
}

fn variance(summary: &Summary) -> Table {
    let mut rows = Vec::new();
    for difference in all(summary) {
        let mut add = |model: &str, source: &str, figures: [Cell; 6]| {
            rows.push(row([&what(difference), &[model.into(), source.into()], &figures]));
        };
        let not = |why: &str| {
            std::array::from_fn(|place| if place == 0 { Cell::Not(why.into()) } else { Cell::Empty })
        };
        let model = "tea + taster, complete tasters";
        match &difference.anova {
            Known::Is(anova) => {
                add(model, "teas", effect(&anova.teas));
                add(model, "tasters", effect(&anova.tasters));
                add(model, "left over", left_over(&anova.residual));
            }
            Known::Not { why } => add(model, "teas", not(why)),
        }
        let model = "tea + taster, all tasters (additive)";
        match &difference.additive {
            Some(Known::Is(additive)) => {
                add(model, "teas, tasters taken out", effect(&additive.tea_given_taster));
                add(model, "left over", left_over(&additive.residual));
            }
            Some(Known::Not { why }) => add(model, "teas, tasters taken out", not(why)),
            None => {}
        }
        let model = "tea × taster, teas served twice";
        match &difference.repeated {
            Some(Known::Is(repeated)) => {
                add(model, "teas, to these tasters", effect(&repeated.teas));
                if let Some(others) = &repeated.teas_for_other_tasters {
                    add(model, "teas, to tasters like these", effect(others));
                }
                add(model, "tasters", effect(&repeated.tasters_effect));
                add(model, "tea × taster", effect(&repeated.interaction));
                add(model, "left over", left_over(&repeated.error));
            }
            Some(Known::Not { why }) => add(model, "teas", not(why)),
            None => {}
        }
    }
    let columns = columns![
        attribute "attribute"; number "steep"; words "model" "source"; number "sum of squares" "df"
        "mean square" "F" "p" "partial eta squared"
    ];
    table(TableOf::Differences, "analysis of variance", "Analyses of variance", columns, rows)
}

fn left_over(left: &Leftover) -> [Cell; 6] {
    let (squares, mean_square) = (Cell::number(left.squares, 3), Cell::number(left.mean_square, 3));
    [squares, left.df.into(), mean_square, Cell::Empty, Cell::Empty, Cell::Empty]
}
