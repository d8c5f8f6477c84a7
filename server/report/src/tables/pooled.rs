//! Several classes together as tables.

use crate::tables::build::{columns, row, table, yes};
use crate::tables::{Cell, Table, TableOf, finish};
use crate::words::joined;
use stats::describe::Description;
use stats::penalty::Hint;
use summary::several::pairs::Difference;
use summary::several::{Pool, WayLine};

/// Every table of some classes, in the order in which they are read.
pub fn pooled(pool: &Pool) -> Vec<Table> {
    finish(vec![
        classes(pool),
        ways(pool),
        figures(pool),
        together(pool),
        means(pool),
        pairs(pool),
        pairs_by_class(pool),
        strength(pool),
        rules(pool),
    ])
}

fn one<const N: usize>(
    name: &str,
    title: &str,
    columns: [crate::tables::Column; N],
    rows: Vec<Vec<Cell>>,
) -> Table {
    table(TableOf::Pooled, name, title, columns, rows)
}

fn classes(pool: &Pool) -> Table {
    let rows = pool.classes.iter().map(|class| {
        vec![
            class.class.into(),
            class.title.as_str().into(),
            class.date.as_str().into(),
            class.phase.to_string().into(),
            class.seats.into(),
            class.sheets.into(),
            joined(&class.still_blind, ", ").into(),
            class.rehearsal.then_some("yes").into(),
            Some(joined(&class.left_out, ", ")).filter(|names| !names.is_empty()).into(),
            Some(class.voided).filter(|&voided| voided > 0).into(),
            Some(class.not_pooled.iter().map(|steep| steep.sheets).sum::<usize>())
                .filter(|&sheets| sheets > 0)
                .into(),
        ]
    });
    let columns = columns![
        number "class"; words "title" "date" "stands"; number "seats" "sheets"; words "still blind"
        "rehearsal" "left out"; number "cups voided" "sheets of steeps done again or once more, left out"
    ];
    one("classes", "The classes, in the order of their days", columns, rows.collect())
}

/// A way's number and what to call it.
fn way(pool: &Pool, number: usize) -> [Cell; 2] {
    let line = pool.ways.iter().find(|line| line.way.way == number);
    [number.into(), line.map(called).into()]
}

fn called(line: &WayLine) -> String {
    match (&line.way.known, line.way.blind) {
        (Some(known), _) => known.names.join(", "),
        (None, Some(tea)) => format!("{} of class {}, still blind", tea.code, tea.class),
        (None, None) => String::new(),
    }
}

fn ways(pool: &Pool) -> Table {
    let rows = pool.ways.iter().map(|line| {
        let known = line.way.known.as_ref();
        row([
            &way(pool, line.way.way),
            &[
                known.map(|known| known.leaf.as_str()).into(),
                Cell::number(known.map(|known| known.steeping.leaf_g), 1),
                Cell::number(known.map(|known| known.steeping.water_ml), 0),
                known.map(|known| joined(&known.steeping.temp_c, " ")).into(),
                known.map(|known| joined(&known.steeping.steep_s, " ")).into(),
                known.and_then(|known| known.steeping.rinse_s).into(),
                known
                    .and_then(|known| known.steeping.vessel)
                    .map(|v| format!("{}, {} g", v.material.name(), v.mass_g))
                    .into(),
            ],
        ])
    });
    let columns = columns![
        number "way"; words "called" "leaf"; grams "dry leaf"; millilitres "water";
        words "temperatures (°C)" "steeps (s)"; seconds "rinse"; words "vessel"
    ];
    one("ways", "The ways: one leaf, steeped in one way", columns, rows.collect())
}

fn of(figures: &Description) -> [Cell; 8] {
    let two = |value: f64| Cell::number(value, 2);
    [
        figures.n.into(),
        two(figures.mean),
        Cell::number(figures.sd, 2),
        two(figures.min),
        two(figures.lower_quartile),
        two(figures.median),
        two(figures.upper_quartile),
        two(figures.max),
    ]
}

fn figures(pool: &Pool) -> Table {
    let mut rows = Vec::new();
    for line in &pool.ways {
        for attribute in &line.attributes {
            let begin = row([&way(pool, line.way.way), &[attribute.scale.name.as_str().into()]]);
            let mut add = |steep: Cell, class: Cell, figures: &Description| {
                rows.push(row([&begin, &[steep, class], &of(figures)]));
            };
            add("all".into(), "all".into(), &attribute.all_steeps);
            for steep in &attribute.steeps {
                add(steep.steep.into(), "all".into(), &steep.figures);
                for class in &steep.classes {
                    add(steep.steep.into(), class.class.into(), &class.figures);
                }
            }
        }
    }
    let columns = columns![
        number "way"; words "called"; attribute "attribute"; number "steep" "class" "scores"; points "mean"
        "SD" "lowest" "lower quartile" "median" "upper quartile" "highest"
    ];
    one("figures", "The scores of each way, together and class by class", columns, rows)
}

fn together(pool: &Pool) -> Table {
    let rows = pool.together.iter().map(|found| {
        let (f, ranks) = (found.by_points, found.by_ranks);
        vec![
            found.attribute.name.as_str().into(),
            joined(&found.ways, " ").into(),
            found.classes.into(),
            found.tasters.into(),
            Cell::number(f.map(|f| f.statistic), 2),
            f.map(|f| f.df).into(),
            f.and_then(|f| f.df_below).into(),
            Cell::p(f.map(|f| f.p)),
            Cell::p(found.p_of_all),
            Cell::number(ranks.map(|s| s.statistic), 2),
            ranks.map(|s| s.df).into(),
            Cell::p(ranks.map(|s| s.p)),
            found.words.as_str().into(),
        ]
    });
    let columns = columns![
        attribute "attribute"; words "ways"; number "classes" "tasters" "F" "df" "df below" "p" "p Holm"
        "Skillings–Mack" "its df" "its p"; words "what was found"
    ];
    one("differences", "Whether the ways differ", columns, rows.collect())
        .note("Every taster's level, and the class with it, is taken out (additive model way + taster).")
}

fn means(pool: &Pool) -> Table {
    let rows = pool.together.iter().flat_map(|found| {
        found.means.iter().map(|mean| {
            row([
                &[found.attribute.name.as_str().into()],
                &way(pool, mean.way),
                &[
                    mean.n.into(),
                    Cell::number(mean.mean, 2),
                    Cell::number(mean.adjusted_mean, 2),
                    Cell::number(mean.standard_error, 2),
                    mean.letters.as_str().into(),
                ],
            ])
        })
    });
    let columns = columns![
        attribute "attribute"; number "way"; words "called"; number "tasters"; points "plain mean"
        "adjusted mean" "its standard error"; words "letters"
    ];
    one("means", "The ways' means, adjusted for who scored which", columns, rows.collect())
        .note("Ways that share a letter are not shown to differ (Tukey–Kramer).")
}

fn difference(of: &Difference) -> [Cell; 4] {
    [of.n.into(), Cell::number(of.mean, 2), Cell::number(of.low, 2), Cell::number(of.high, 2)]
}

fn pairs(pool: &Pool) -> Table {
    let rows = pool.pairs.iter().map(|pair| {
        let (means, all_ways) = (pair.by_class_means, pair.all_ways.as_ref());
        row([
            &[pair.attribute.name.as_str().into()],
            &way(pool, pair.first),
            &way(pool, pair.second),
            &[yes(pair.same_leaf)],
            &difference(&pair.all),
            &[
                Cell::p(pair.p),
                Cell::p(pair.p_of_all),
                Cell::p(pair.moves.map(|moves| moves.p)),
                Cell::number(means.map(|m| m.mean), 2),
                Cell::number(means.map(|m| m.low), 2),
                Cell::number(means.map(|m| m.high), 2),
                Cell::p(means.map(|m| m.p)),
                Cell::p(means.map(|m| m.p_of_all)),
                pair.words.as_str().into(),
                yes(pair.shown()),
                Cell::p(pair.decision.map(|decision| decision.p_of_all)),
                Cell::number(all_ways.map(|all| all.mean), 2),
                Cell::number(all_ways.and_then(|all| all.low), 2),
                Cell::number(all_ways.and_then(|all| all.high), 2),
            ],
        ])
    });
    let columns = columns![
        attribute "attribute"; number "first"; words "first called"; number "second"; words "second called"
        "one leaf"; number "tasters"; points "first less second" "from" "to"; number "p" "p Holm"
        "p that it moves from class to class"; points "each class once" "each class once from"
        "each class once to"; number "each class once p" "each class once p Holm"; words "what was found" "shown"; number "p all ways";
        points "all ways" "all ways from" "all ways to"
    ];
    one("pairs", "Every two ways that the same tasters scored", columns, rows.collect())
        .note("What is shown goes by \"all ways\": Tukey–Kramer, behind the test of all ways, with an interval that is good for all pairs at once. \
               The other figures are of each pair alone: p and interval take each class as a block and speak for these classes; \"each class \
               once\" takes the classes' means as values.")
}

fn pairs_by_class(pool: &Pool) -> Table {
    let rows = pool.pairs.iter().flat_map(|pair| {
        pair.classes.iter().map(|class| {
            let numbers = [pair.first.into(), pair.second.into(), class.class.into()];
            row([&numbers, &difference(&class.here), &difference(&class.so_far)])
        })
    });
    let columns = columns![
        number "first" "second" "class" "tasters"; points "first less second" "from" "to";
        number "tasters so far"; points "so far" "so far from" "so far to"
    ];
    one("pairs by class", "How the difference of each pair has moved", columns, rows.collect())
}

fn strength(pool: &Pool) -> Table {
    let rows = pool.strength.iter().map(|votes| {
        // Only what is shown is advice.
        let (hint, estimate) = (&votes.hint, votes.estimate.as_ref().filter(|_| votes.shown));
        row([
            &way(pool, votes.way),
            &[
                joined(&votes.steeps, " ").into(),
                votes.classes.len().into(),
                hint.tasters.into(),
                votes.n.into(),
            ],
            &votes.counts.map(Cell::from),
            &[
                hint.too_thin.into(),
                hint.mostly_right.into(),
                hint.too_strong.into(),
                if votes.shown { hint.hint } else { Hint::TooFewToTell }.to_string().into(),
                Cell::p(Some(hint.p())),
                Cell::p(Some(hint.p_holm)),
                Cell::p(votes.moves.map(|moves| moves.p)),
                yes(votes.shown),
                Cell::number(estimate.map(|estimate| estimate.stronger_by), 2),
                estimate.map(|estimate| joined(&estimate.steep_s, " ")).into(),
                Cell::number(estimate.and_then(|estimate| estimate.leaf_g), 1),
                votes.words.as_str().into(),
            ],
        ])
    });
    let columns = columns![
        number "way"; words "called" "steeps"; number "classes" "tasters" "votes" "much too thin" "too thin" "just right"
        "too strong" "much too strong" "tasters too thin" "tasters just right" "tasters too strong"; words "next time";
        number "p" "p Holm" "p that the classes vote differently"; words "shown"; number "times as strong";
        words "steeps instead (s)"; grams "leaf instead"; words "what was found"
    ];
    one("strength over steeps", "The strength votes on each way over its steeps", columns, rows.collect()).note(
        "Each taster of each class is counted once; what is shown speaks for these classes. Steeps or leaf instead are an estimate: taste \
         before you trust it.",
    )
}

fn rules(pool: &Pool) -> Table {
    let rows = pool.rules.iter().map(|rule| {
        row([
            &way(pool, rule.way),
            &[rule.steep.into(), rule.steep_s.into(), rule.n.into()],
            &rule.counts.map(Cell::from),
            &[
                Cell::number(rule.too_thin_costs, 2),
                Cell::number(rule.too_strong_costs, 2),
                Cell::p(rule.p),
                Cell::p(rule.p_of_all),
                Cell::p(rule.moves.map(|moves| moves.p)),
                rule.words.as_str().into(),
            ],
        ])
    });
    let columns = columns![
        number "way"; words "called"; number "steep"; seconds "steeped for"; number "votes" "much too thin"
        "too thin" "just right" "too strong" "much too strong"; points "too thin costs" "too strong costs";
        number "p" "p Holm" "p that the classes vote differently"; words "next time"
    ];
    one("strength", "The strength votes, way by way and steep by steep", columns, rows.collect())
}
