//! The strength vote, what a wrong strength costs in liking, and the words ticked.

use crate::tables::build::{columns, in_unit, known, row, table, tea, words};
use crate::tables::{Cell, Column, Table, TableOf};
use protocol::Code;
use stats::penalty::Hint;
use stats::two_means::TTest;
use summary::Summary;
use summary::find::strength::{PenaltyFinding, PenaltySide, StrengthFindings};

/// The vote cup by cup and, if there is a liking, the penalties.
pub fn strength(summary: &Summary, strength: &StrengthFindings) -> [Table; 2] {
    [votes(summary, strength), penalties(summary, strength)]
}

fn votes(summary: &Summary, strength: &StrengthFindings) -> Table {
    let cups = strength.cups.iter().filter(|cup| cup.n > 0);
    let rows = cups.map(|cup| {
        let hint = known(&cup.hint, |hint| {
            [
                match hint.shown() {
                    None if strength.goes_with_its_tea(cup) => "as its tea".into(),
                    shown => shown.unwrap_or(Hint::TooFewToTell).to_string().into(),
                },
                Cell::p(hint.sign_p),
                Cell::p(hint.majority_p),
                Cell::p(hint.p_holm),
            ]
        });
        row([
            &tea(summary, cup.tea),
            &[cup.steep.into(), cup.steep_s.into(), cup.n.into()],
            &cup.counts.map(Cell::from),
            &hint,
        ])
    });
    let columns = columns![
        code "tea"; words "name"; number "steep"; seconds "steeped for"; number "votes" "much too thin"
        "too thin" "just right" "too strong" "much too strong"; words "next time";
        number "p thin against strong" "p most find it right" "p Holm"
    ];
    table(TableOf::Strength, "strength", "The strength votes, cup by cup", columns, rows.collect()).note(
        "Next time is said where an exact test of this cup reaches 5 % once both tests of all cups are allowed for (p Holm, of \
         the test that it goes by). As its tea: its votes go the way that those on the tea, over the steeps, are shown to go.",
    )
}

fn penalties(summary: &Summary, strength: &StrengthFindings) -> Table {
    let over = strength.over_steeps.iter().map(|line| (line.tea, None, &line.penalty));
    let cups = strength.cups.iter().map(|cup| (Some(cup.tea), Some(cup.steep), &cup.penalty));
    let mut rows = Vec::new();
    for (code, steep, penalty) in over.chain(cups) {
        let Some(found) = penalty.get() else { continue };
        for (name, side) in [("too thin", &found.too_thin), ("too strong", &found.too_strong)] {
            let Some(side) = side.as_ref().filter(|side| side.large_enough) else { continue };
            let steep = crate::tables::build::steep(steep);
            rows.push(row([&of(summary, code), &[steep], &counts(found, name, side), &test(side)]));
        }
    }
    let columns = columns![
        code "tea"; words "name"; number "steep"; words "found it"; number "votes"; percent "of all votes";
        points "their mean liking"; number "just right votes"; points "just right mean liking"
        "liking lost"; number "t" "df" "p" "p Holm"
    ];
    table(TableOf::Penalty, "penalty", "What a wrong strength costs in liking", columns, rows).note(
        "The liking of those who find a cup too thin or too strong beside those who find it just right. A group is looked \
         at if it has a fifth of the votes at least (common practice, no source), just right of three tasters at least, and tested only cup by cup: over the steeps the \
         same people voted several times. Welch's t; Holm's adjustment over all tested groups.",
    )
}

fn of(summary: &Summary, code: Option<Code>) -> [Cell; 2] {
    code.map_or_else(|| ["all".into(), "all teas".into()], |code| tea(summary, code))
}

fn counts(found: &PenaltyFinding, name: &str, side: &PenaltySide) -> [Cell; 7] {
    [
        name.into(),
        side.n.into(),
        Cell::number(side.share * 100.0, 0),
        Cell::number(side.mean, 2),
        found.just_right.into(),
        Cell::number(found.just_right_mean, 2),
        Cell::number(side.drop, 2),
    ]
}

fn test(side: &PenaltySide) -> [Cell; 4] {
    let figures =
        |t: &TTest| [Cell::number(t.t, 2), Cell::number(t.df, 1), Cell::p(t.p), Cell::p(side.p_holm)];
    match &side.test {
        Some(test) => known(test, figures),
        None => std::array::from_fn(|_| Cell::Empty),
    }
}

/// The words: a column for each tea.
pub fn ticked(summary: &Summary) -> Table {
    let found = &summary.findings.figures.words;
    let teas = found.first().map_or(&[][..], |word| &word.teas);
    let rows = found.iter().map(|word| {
        let counts: Vec<Cell> = word.teas.iter().map(|tea| tea.n.into()).collect();
        let test = known(&word.cochran, |q| {
            [
                Cell::number(q.q, 2),
                q.df.into(),
                Cell::p(q.p),
                Cell::p(q.p_holm),
                q.tasters.into(),
                q.mixed_tasters.into(),
            ]
        });
        row([&[word.word.as_str().into()], &counts, &test])
    });
    let of = |tea: &summary::find::ticks::WordCount| -> Column {
        in_unit(&tea.tea.to_string(), &format!("of {}", tea.of))
    };
    let test = columns![
        number "Cochran's Q" "df" "p" "p Holm" "tasters who scored every tea"
        "who ticked it for some teas only"
    ];
    let columns = [words("word")].into_iter().chain(teas.iter().map(of)).chain(test).collect();
    Table {
        name: "words".into(),
        title: "How many tasters ticked each word for each tea".into(),
        notes: vec![
            "A taster who ticked a word for a tea at any steep counts once, of the tasters who scored that tea. Only the \
             steeps that every tea was served at count. Cochran's Q asks whether the word tells the teas apart; p is counted \
             exactly where that can be done, else by chi-squared."
                .into(),
        ],
        columns,
        rows: rows.collect(),
        about: TableOf::Words,
    }
}
