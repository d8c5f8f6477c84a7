//! How far the tasters agree, and each taster's means beside the class's. What a seat's private page says (who scores
//! high or low, who repeats) is not told here.

use crate::tables::build::{columns, ends, known, row, table, tea};
use crate::tables::{Cell, Table, TableOf};
use summary::Summary;
use summary::find::agreement::IccFinding;
use summary::known::Known;

pub fn agreement(summary: &Summary) -> Table {
    let mut rows = Vec::new();
    for of in &summary.findings.figures.agreement {
        let mut add = |measure: &str, figures: [Cell; 7]| {
            let begin = [of.attribute.as_str().into(), of.tasters.into(), of.teas.into(), measure.into()];
            rows.push(row([&begin, &figures]));
        };
        let alone = |value: Cell| {
            let mut value = Some(value);
            std::array::from_fn(|_| value.take().unwrap_or(Cell::Empty))
        };
        add("Kendall's W", known(&of.kendall, |kendall| alone(Cell::number(kendall.w, 2))));
        if let Some(kendall) = of.kendall.get() {
            if let Some(spearman) = kendall.spearman {
                add("mean rank correlation", alone(Cell::number(spearman.mean, 2)));
            }
            add("tasters who scored all teas alike", alone(kendall.flat_tasters.into()));
        }
        for (measure, icc) in
            [("ICC(2,1)", &of.icc_2_1), ("ICC(3,1)", &of.icc_3_1), ("ICC(3,k)", &of.icc_3_k)]
        {
            add(measure, correlation(icc));
        }
    }
    let columns = columns![
        attribute "attribute"; number "tasters" "teas"; words "measure"; number "value" "from" "to" "F" "df"
        "df below" "p"
    ];
    table(TableOf::Agreement, "agreement", "How far the tasters agree", columns, rows).note(
        "Over the steeps, tasters who scored every tea. W is 0 without a common order of the teas and 1 if all have the \
         same. ICC(2,1): how well one taster's score stands for another's, level included; ICC(3,1): level not counted; \
         ICC(3,k): how well the mean of this class would repeat. From and to: 95 % interval.",
    )
}

fn correlation(icc: &Known<IccFinding>) -> [Cell; 7] {
    known(icc, |icc| {
        let [low, high] = ends(icc.interval, 2);
        let (above, below) = icc.df;
        [
            Cell::number(icc.value, 2),
            low,
            high,
            Cell::number(icc.f, 2),
            above.into(),
            below.into(),
            Cell::p(icc.p),
        ]
    })
}

/// Each taster's mean of each tea beside the class's.
pub fn means(summary: &Summary) -> Table {
    let found = &summary.findings;
    let rows = found.figures.means.iter().map(|mean| {
        let of_tea = found.figures.described.iter().find(|line| {
            line.steep.is_none() && line.tea == Some(mean.tea) && line.attribute == mean.attribute
        });
        let class = of_tea.and_then(|line| line.mean);
        row([
            &[mean.attribute.as_str().into(), mean.seat.as_str().into()],
            &tea(summary, mean.tea),
            &[
                Cell::number(mean.value, 2),
                Cell::number(class, 2),
                Cell::number(class.map(|class| mean.value - class), 2),
            ],
        ])
    });
    let columns = columns![
        attribute "attribute"; seat "seat"; code "tea"; words "name"; points "taster's mean" "class's mean"
        "taster less class"
    ];
    table(TableOf::Panel, "panel", "Each taster's means beside the class's", columns, rows.collect()).note(
        "Means over the steeps. A taster who sees a tea otherwise is not wrong: that is what a class is for.",
    )
}
