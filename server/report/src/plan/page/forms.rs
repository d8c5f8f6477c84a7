//! A blank score form for every seat, in its serving order. A form is one sheet of paper if it fits on one, with lower
//! rows if need be; else several, each with whole rounds. None ever breaks over a page.

use class::Class;
use maud::{Markup, html};
use plan::document::Plan;
use plan::placed::RoundDocument;
use protocol::{Code, Sheet};
use std::ops::Range;

/// Their style. Lengths are of paper: what stands here is what [`sheets`] reckons with.
pub(super) const STYLE: &str = "\
.form{break-before:page;break-inside:avoid}.form p{margin:1mm 0}.form h2{margin:2mm 0 .5mm}.form table{margin:0}\
.form td{padding:0 1.5mm;vertical-align:middle}.r8 td{height:8mm}.r7 td{height:7mm}.r6 td{height:6mm}\
.many{font-size:.75rem}.many th{padding:.1rem}";

/// What fits on a sheet of A4 or Letter within the margins, millimetres.
const SHEET_MM: f64 = 246.0;
/// What the head of a form takes without its scales and words.
const HEAD_MM: f64 = 18.5;
/// A line of letters, and how many small ones it holds.
const LINE_MM: f64 = 5.3;
const LINE_CHARS: usize = 88;
/// The heads of a round: its own and those of the columns where they are one line.
const ROUND_MM: f64 = 16.0;
/// What a row takes besides its height.
const BORDER_MM: f64 = 0.4;
/// Heights of a row, from comfortable to just enough to write in.
const ROWS_MM: [u8; 3] = [8, 7, 6];
/// More columns than this have smaller heads.
const FEW_COLUMNS: usize = 6;

/// The forms of all seats.
pub(super) fn forms(plan: &Plan, class: &Class) -> Markup {
    let (scales, words) = (scales(&class.sheet), class.sheet.words.join(" · "));
    let lines = [&scales, &words].map(|text| text.chars().count().div_ceil(LINE_CHARS)).iter().sum::<usize>();
    let rows: Vec<usize> = plan.rounds.iter().map(|round| round.plan.cups.len()).collect();
    let round_mm = ROUND_MM + LINE_MM * (head_lines(&class.sheet) - 1) as f64;
    let (row_mm, sheets) = sheets(&rows, HEAD_MM + LINE_MM * lines as f64, round_mm);
    html! {
        @for (place, order) in plan.orders.iter().enumerate() {
            @for rounds in &sheets {
                section class=(format!("form r{row_mm}")) {
                    h1 {
                        "Seat " (place + 1)
                        @if sheets.len() > 1 { " · " (named(&plan.rounds[rounds.clone()])) }
                    }
                    p { (plan.title) " · " (plan.date) " · name: ____________________" }
                    p class="small" { (scales) }
                    @if !words.is_empty() { p class="small" { "words, all that fit: " (words) } }
                    @for round in &plan.rounds[rounds.clone()] { (table(&class.sheet, round, order)) }
                }
            }
        }
    }
}

/// How high a row is and which rounds each sheet has: as few sheets as there can be, with the highest rows that they allow.
fn sheets(rows: &[usize], head_mm: f64, round_mm: f64) -> (u8, Vec<Range<usize>>) {
    let height = |rows: &[usize], row_mm: u8| {
        let rounds = rows.iter().map(|n| round_mm + *n as f64 * (f64::from(row_mm) + BORDER_MM));
        head_mm + rounds.sum::<f64>()
    };
    let packed = |row_mm: u8| {
        let mut sheets: Vec<Range<usize>> = Vec::new();
        for round in 0..rows.len() {
            match sheets.last_mut() {
                Some(last) if height(&rows[last.start..=round], row_mm) <= SHEET_MM => last.end = round + 1,
                _ => sheets.push(round..round + 1),
            }
        }
        sheets
    };
    let all = ROWS_MM.map(|row_mm| (row_mm, packed(row_mm)));
    let fewest = all.iter().map(|(_, sheets)| sheets.len()).min();
    all.into_iter().find(|(_, sheets)| Some(sheets.len()) == fewest).unwrap_or_default()
}

/// How many lines the heads of the columns take at most: where there are many columns, a line for each word of a name.
fn head_lines(sheet: &Sheet) -> usize {
    let few = sheet.words.is_empty() && sheet.attributes.len() < 4;
    let words = sheet.attributes.iter().map(|a| a.name.split_whitespace().count()).max().unwrap_or(1);
    if few { 1 } else { words.max(1) }
}

/// `round 3`, `rounds 1–2`.
fn named(rounds: &[RoundDocument]) -> String {
    match rounds {
        [first, .., last] => format!("rounds {}–{}", first.plan.round, last.plan.round),
        [only] => format!("round {}", only.plan.round),
        [] => String::new(),
    }
}

fn scales(sheet: &Sheet) -> String {
    let of = |a: &protocol::Attribute| {
        let words = a.low.as_ref().zip(a.high.as_ref()).map(|(low, high)| format!(" {low} to {high}"));
        format!("{} {}–{}{}", a.name, a.min, a.max, words.unwrap_or_default())
    };
    let strength = sheet.strength.then(|| "strength −2 much too thin to 2 much too strong".to_string());
    sheet.attributes.iter().map(of).chain(strength).collect::<Vec<_>>().join(" · ")
}

fn table(sheet: &Sheet, round: &RoundDocument, order: &[Code]) -> Markup {
    let boxes = sheet.attributes.len() + usize::from(sheet.strength);
    let many = boxes > FEW_COLUMNS;
    html! {
        h2 { "Round " (round.plan.round) }
        div class="scroll" {
            table class=[many.then_some("many")] {
                tr {
                    th { "Code" }
                    @for attribute in &sheet.attributes { th { (attribute.name) } }
                    @if sheet.strength { th { "strength" } }
                    @if !sheet.words.is_empty() { th { "words" } }
                    @if sheet.note { th { "note" } }
                }
                @for code in order.iter().filter(|code| round.plan.cups.iter().any(|c| c.code == **code)) {
                    tr {
                        td { (code) }
                        @for _ in 0..boxes { td class="box" {} }
                        @if !sheet.words.is_empty() { td class="note" {} }
                        @if sheet.note { td class="note" {} }
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_class_that_fits_has_one_sheet_a_person() {
        let rounds = |rows: &[usize]| {
            let (row_mm, sheets) = sheets(rows, 30.0, ROUND_MM);
            (row_mm, sheets.iter().map(Range::len).collect::<Vec<_>>())
        };
        assert_eq!(rounds(&[5, 5, 5]), (8, vec![3]));
        assert_eq!(rounds(&[8, 8, 8]), (6, vec![3]), "lower rows before a second sheet");
        assert_eq!(rounds(&[8, 8, 8, 8]), (8, vec![2, 2]));
    }

    proptest! {
        #[test]
        fn every_round_is_on_one_sheet_in_order(rows in proptest::collection::vec(1usize..=12, 1..21), head in 25.0f64..80.0) {
            let (_, sheets) = sheets(&rows, head, ROUND_MM);
            let all: Vec<usize> = sheets.into_iter().flatten().collect();
            prop_assert_eq!(all, (0..rows.len()).collect::<Vec<_>>());
        }
    }
}
