//! Weighted totals and difference tests.

use crate::tables::attributes::pairs;
use crate::tables::build::{columns, ends, known, row, table, tea, yes};
use crate::tables::{Cell, Table, TableOf};
use summary::Summary;
use summary::find::totals::{TOTAL, Totals};

/// The totals of the teas, every two of them, those of the tasters, and the weights.
pub fn totals(summary: &Summary, totals: &Totals) -> [Table; 4] {
    let rows = totals.teas.iter().filter(|line| line.n > 0).map(|line| {
        row([
            &tea(summary, line.tea),
            &[line.n.into(), line.without.into(), Cell::number(line.mean, 1)],
            &known(&line.interval, |interval| ends(Some(*interval), 1)),
            &[Cell::number(line.sd, 1), totals.difference.letters(line.tea).into()],
        ])
    });
    let columns = columns![
        code "tea"; words "name"; number "tasters" "without a total"; points "mean" "from" "to" "SD";
        words "letters"
    ];
    let teas = table(TableOf::Totals, "totals", "Weighted totals out of 100 points", columns, rows.collect())
        .note(format!("Weights: {}.", totals.source))
        .note(
            "From and to: the 95 % interval of the mean. Teas that share a letter are not shown to differ.",
        );
    let rows = totals.tasters.iter().map(|line| {
        row([&[line.seat.as_str().into()], &tea(summary, line.tea), &[Cell::number(line.points, 1)]])
    });
    let columns = columns![seat "seat"; code "tea"; words "name"; points "total"];
    let title = "Each taster's weighted totals";
    let tasters = table(TableOf::Totals, "totals by taster", title, columns, rows.collect());
    let rows = totals.weights.iter().map(|weight| {
        let from = weight.stretched_from.map(|[min, max]| format!("{min} to {max}"));
        vec![weight.attribute.as_str().into(), Cell::number(weight.percent, 1), from.into()]
    });
    let columns = columns![attribute "attribute"; percent "weight"; words "stretched to 0 to 100 from"];
    let weights = table(TableOf::Totals, "weights", "The weights of the total", columns, rows.collect());
    [teas, pairs(summary, TOTAL, TOTAL, &[&totals.difference]), tasters, weights]
}

pub fn tests(summary: &Summary) -> Table {
    let rows = summary.findings.figures.tests.iter().map(|test| {
        let tea = |place: usize| -> [Cell; 2] {
            let tea = &test.teas[place];
            [tea.code.into(), tea.name.as_deref().unwrap_or("still blind").into()]
        };
        let outcome = known(&test.outcome, |outcome| {
            let found = outcome.discriminators;
            let percent = |share: Option<f64>| Cell::number(share.map(|share| share * 100.0), 0);
            [
                Cell::p(outcome.p),
                yes(test.shown()),
                percent(found.map(|d| d.share)),
                percent(found.map(|d| d.exact.low)),
                percent(found.map(|d| d.exact.high)),
            ]
        });
        let power = known(&test.power_sharing, |power| {
            [power.smallest_correct.into(), Cell::number(power.power * 100.0, 0)]
        });
        let found = test.outcome.get().and_then(|outcome| outcome.discriminators);
        let at_least = [Cell::number(found.map(|d| d.at_least * 100.0), 0)];
        row([
            &[test.number.into(), test.kind.to_string().into(), test.ask.as_deref().into()],
            &tea(0),
            &tea(1),
            &[test.steep.into(), yes(test.opened), test.seats.into(), test.n.into(), test.correct.into()],
            &outcome,
            &power,
            &at_least,
            &[Cell::p(test.p_holm)],
        ])
    });
    let columns = columns![
        number "test"; words "kind" "which is"; code "first"; words "first name"; code "second";
        words "second name"; number "steep"; words "opened"; number "seats" "answers" "right" "p";
        words "shown"; percent "truly tell them apart" "from" "to"; number "right answers that it takes";
        percent "power if half tell them apart" "truly tell them apart at least"; number "p Holm"
    ];
    table(TableOf::Tests, "tests", "Difference tests", columns, rows.collect()).note(
        "Exact binomial tests, level 5 %, shared by all tests of the class (Holm). Right: in a two-sided paired comparison the answers for the first tea. At \
         least: the exact bound on the side that the test asks for, 5 % below it, this test by itself. From and to: the exact 95 % interval, which \
         leaves out 2.5 % on either side.",
    )
}
