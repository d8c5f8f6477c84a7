//! Draws hills, lets classes taste on them, and prints how near the sweet spot that is named comes.

use clap::Parser;
use summary::spot::fitted::{Assumed, USUAL};
use tests::recover::run::Crowd;
use tests::recover::table::{self, Row, SIZE};

/// Draws true likings over dose, temperature and time, lets classes taste ways of a leaf, and prints how many points the way that `spot`
/// names loses to the best; the seed decides everything
#[derive(Debug, Parser)]
#[command(name = "recover")]
struct Cli {
    /// How many runs for each row
    #[arg(default_value_t = 200)]
    runs: u64,
    /// What decides them
    #[arg(default_value_t = 1)]
    seed: u64,
    /// Another assumption than the usual one: points lost a step from the top
    #[arg(long, default_value_t = USUAL.loss)]
    loss: f64,
    /// And within how many steps of the middle the top lies
    #[arg(long, default_value_t = USUAL.reach)]
    reach: f64,
    /// Only classes chosen one after another
    #[arg(long)]
    sequences: bool,
    /// Only tasters of two minds, or of one
    #[arg(long)]
    crowds: bool,
    /// Only tasters who vote on strength, beside the same ones who do not
    #[arg(long)]
    votes: bool,
    /// Instead print what `spot` says in the first run of each row
    #[arg(long)]
    show: bool,
}

fn main() {
    let Cli { runs, seed, loss, reach, sequences, crowds, votes, show } = Cli::parse();
    let hill = Some(Assumed { loss, reach });
    let runs = if show { 1 } else { runs };
    let print = |row: Row| match show {
        true => row.shown.iter().for_each(|text| println!("{}\n\n{text}", row.what)),
        false => println!("{}", row.line()),
    };
    println!("{runs} runs a row, seed {seed}: noise 1.5 points, scores 1 to 9, {} tasters a class", SIZE.2);
    println!("{}", table::head());
    if votes {
        let of = Crowd::of(SIZE.2);
        let voting = [
            ("no votes", None),
            ("votes about the best", Some(0.0)),
            ("votes half a step off", Some(0.5)),
            ("votes a step off", Some(1.0)),
        ];
        for size in [SIZE, (3, 6, 8), (1, 6, 12)] {
            for (what, votes) in voting {
                print(table::crowd(what, size, Crowd { votes, ..Crowd::of(size.2) }, runs, seed));
            }
        }
        for (what, votes) in voting {
            let row = table::sequence(3, None, hill, Crowd { votes, ..of }, runs, seed);
            print(Row { what: format!("{what}, 3 chosen one by one"), ..row });
        }
        return;
    }
    if !sequences && !crowds {
        print(table::habit(SIZE, hill, runs, seed));
        print(table::habit(SIZE, None, runs, seed));
        print(table::habit((3, 6, 8), hill, runs, seed));
        print(table::outside(SIZE, 1.0, hill, runs, seed));
        print(table::outside(SIZE, 0.5, hill, runs, seed));
        for size in [(1, 6, 12), (3, 6, 8), SIZE] {
            print(table::flat(size, 0.0, runs, seed));
        }
        print(table::flat(SIZE, 0.5, runs, seed));
    }
    if !sequences {
        let of = Crowd::of(SIZE.2);
        let crowds = [
            ("one taste", of),
            ("one taste, half of them score wide", Crowd { wider: 1.8, ..of }),
            ("one taste, wayward classes", Crowd { wayward: 0.5, ..of }),
            ("two tastes 1 step apart", Crowd { apart: 1.0, ..of }),
            ("two tastes 1.5 steps apart", Crowd { apart: 1.5, ..of }),
            ("two tastes 2 steps apart", Crowd { apart: 2.0, ..of }),
        ];
        for (what, crowd) in crowds {
            print(table::crowd(what, SIZE, crowd, runs, seed));
        }
        print(table::crowd("one taste", (1, 6, 12), Crowd::of(12), runs, seed));
        print(table::crowd(
            "two tastes 2 steps apart",
            (1, 6, 12),
            Crowd { apart: 2.0, ..Crowd::of(12) },
            runs,
            seed,
        ));
        print(table::crowd(
            "one taste, wayward classes",
            (3, 6, 8),
            Crowd { wayward: 0.5, ..of },
            runs,
            seed,
        ));
    }
    if crowds {
        return;
    }
    let one = Crowd::of(SIZE.2);
    for classes in [3, 5] {
        print(table::sequence(classes, None, hill, one, runs, seed));
        print(table::sequence(classes, None, hill, Crowd { wayward: 0.5, ..one }, runs, seed));
    }
    let off_centre = [6.0_f64.ln(), 85.0, 79.0_f64.ln()];
    for classes in [3, 5] {
        print(table::sequence(classes, Some(off_centre), hill, one, runs, seed));
    }
}
