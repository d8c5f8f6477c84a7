//! What was found in sentences, the teas, which sheets are in, notes, and how it was computed.

use crate::tables::build::{codes, columns, ends, row, table, tea, words, yes};
use crate::tables::{Cell, Table, TableOf};
use crate::words::{about, came_later, capital, first, missing, stands};
use protocol::Role;
use summary::Summary;

/// What was found, one sentence a row.
pub fn found(summary: &Summary) -> Table {
    let rows = summary.findings.sentences.iter().map(|sentence| {
        let of = &sentence.evidence;
        let [low, high] = ends(of.interval, 2);
        vec![
            about(sentence.about).into(),
            sentence.text.as_str().into(),
            yes(sentence.shown),
            of.attribute.as_deref().into(),
            of.steep.into(),
            (!of.teas.is_empty()).then(|| codes(&of.teas)).into(),
            of.n.into(),
            of.test.as_deref().into(),
            Cell::p(of.p),
            Cell::p(of.p_adjusted),
            Cell::number(of.points, 2),
            low,
            high,
        ]
    });
    let columns = columns![
        words "about" "what was found" "shown"; attribute "attribute"; number "steep"; words "teas";
        number "n"; words "test"; number "p" "p adjusted"; points "effect" "from" "to"
    ];
    let title = format!("{}, {}: what was found", summary.title, summary.date);
    let (came, expected, sheets) = (summary.came, summary.seats_expected, summary.sheets);
    let table = table(TableOf::Sentences, "found", &title, columns, rows.collect());
    first(summary)
        .into_iter()
        .fold(table, |table, line| table.note(line))
        .note(format!(
            "{}: {came} of {expected} expected seats came, {} of {} sheets are in.",
            capital(&stands(summary.phase)),
            sheets.n,
            sheets.of
        ))
        .note(format!(
            "A finding counts as shown if its p is up to {}: the adjusted one where there is one. Difference tests go each \
             by itself, totals by themselves. Without a steep: over all steeps. From and to: the 95 % interval of the effect.",
            summary.findings.level
        ))
}

pub fn teas(summary: &Summary) -> Table {
    let rows = summary.teas.iter().map(|line| {
        let leaf = line.leaf.as_deref().into();
        let of = line.all_steeps.sheets;
        row([&tea(summary, line.code), &[leaf, line.steeps.len().into(), of.n.into(), of.of.into()]])
    });
    let columns = columns![
        code "tea"; words "name" "leaf"; number "steeps poured" "sheets in" "sheets due"
    ];
    table(TableOf::Teas, "teas", "The teas", columns, rows.collect())
}

/// Which sheets are in: cup by cup, then seat by seat.
pub fn sheets(summary: &Summary) -> [Table; 2] {
    let cups = summary.teas.iter().flat_map(|line| line.steeps.iter().map(move |cup| (line.code, cup)));
    let cups = cups.map(|(code, cup)| {
        let (of, missing, later) = (cup.figures.sheets, missing(&cup.missing), came_later(&cup.missing));
        row([
            &tea(summary, code),
            &[
                cup.steep.into(),
                of.n.into(),
                of.of.into(),
                missing.into(),
                Some(later).filter(|later| !later.is_empty()).into(),
            ],
        ])
    });
    let columns = columns![
        code "tea"; words "name"; number "steep" "sheets in" "sheets due"; words "missing" "came later"
    ];
    let cups = table(TableOf::Sheets, "sheets by cup", "Sheets of each cup", columns, cups.collect());
    let seats = summary.seats.iter().map(|seat| {
        let missing: Vec<String> = seat.missing.iter().map(|c| summary.cup(c.code, c.steep)).collect();
        vec![
            seat.name.as_str().into(),
            seat.sheets.n.into(),
            seat.sheets.of.into(),
            missing.join(", ").into(),
            match seat.role {
                Role::Scores => Cell::Empty,
                Role::PoursOnly => "pours only".into(),
                Role::Watches => "watches".into(),
            },
        ]
    });
    let columns =
        columns![seat "seat"; number "sheets in" "sheets due"; words "missing (tea/steep)" "came for"];
    [cups, table(TableOf::Sheets, "sheets by seat", "Sheets of each seat", columns, seats.collect())]
}

pub fn notes(summary: &Summary) -> Table {
    let cups = summary.teas.iter().flat_map(|line| line.steeps.iter().map(move |cup| (line.code, cup)));
    let rows = cups.flat_map(|(code, cup)| {
        cup.notes.iter().map(move |note| {
            let (seat, text) = (note.seat.as_str().into(), note.text.as_str().into());
            row([&tea(summary, code), &[cup.steep.into(), seat, text]])
        })
    });
    let columns = columns![code "tea"; words "name"; number "steep"; seat "seat"; words "note"];
    table(TableOf::Notes, "notes", "What was noted", columns, rows.collect())
}

pub fn scores(summary: &Summary) -> Table {
    let rows = summary.findings.figures.dots.iter().map(|dot| {
        let (attribute, seat) = (dot.attribute.as_str().into(), dot.seat.as_str().into());
        let value = Cell::number(dot.value, 0);
        row([&[attribute], &tea(summary, dot.tea), &[dot.steep.into(), seat, value]])
    });
    let columns = columns![
        attribute "attribute"; code "tea"; words "name"; number "steep"; seat "seat"; points "score"
    ];
    table(TableOf::Scores, "scores", "Every score", columns, rows.collect())
}

pub fn method(summary: &Summary) -> Table {
    let rows = summary.findings.method.iter().map(|line| vec![line.as_str().into()]);
    let (columns, title) = ([words("how it was computed")], "How all of it was computed");
    table(TableOf::Method, "method", title, columns, rows.collect())
}

pub fn scales(summary: &Summary) -> Table {
    let rows = summary.findings.figures.scales.iter().map(|scale| {
        vec![
            scale.attribute.as_str().into(),
            scale.min.into(),
            scale.low.as_deref().into(),
            scale.max.into(),
            scale.high.as_deref().into(),
        ]
    });
    let columns = columns![
        attribute "attribute"; number "lowest point"; words "lowest in words"; number "highest point";
        words "highest in words"
    ];
    table(TableOf::Method, "scales", "The scales of the sheet", columns, rows.collect())
}
