//! The command line of `kettlecall`.

mod lead;
mod open;

pub use lead::Lead;
pub use open::{Open, Switch, Tls};

use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use clap::{ArgGroup, Args, Parser, Subcommand, ValueEnum};
use class::Pourers;
use class::start::leaf::{Leaf, Sitting};
use class::start::method::MethodName;
use class::start::spec;
use class::start::wishes::Kettle;
use protocol::Code;
use std::path::{Path, PathBuf};

/// The exit codes, shown by `--help`.
pub const EXIT_CODES: &str = "\
Exit codes:
  0  done
  1  the disk, the network or the terminal failed
  2  the command line was not understood
  3  the class file has faults, or can't be planned; the file of scores or of ways has faults
  4  the ledger or record can't be used, or is damaged";

/// Hosts comparative tea tasting classes: one steep clock for all teas, cues to every seat, scores kept.
#[derive(Debug, Parser)]
#[command(name = "kettlecall", version, after_help = EXIT_CODES, max_term_width = 100)]
pub struct Cli {
    /// What to do
    #[command(subcommand)]
    pub command: Command,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Write a class file with a place to start for each tea
    ///
    /// Without --tea, what the flags leave open is asked: one question a line, on a terminal or from standard input;
    /// Enter takes the default, `back` goes a question back. Ctrl-C or the end of the answers keeps them beside FILE: the same
    /// command goes on from there. With --tea or --from nothing is asked. Doses, times and temperatures are common practice, a place
    /// to start; taste and change.
    New(Box<New>),
    /// Set people's ways of steeping a leaf side by side: where they agree, who stands apart, the middle
    ///
    /// The file has a section [[way]] for each person: who, form, oxidation, roasted, age_years, dose_g_per_100_ml or leaf_g with
    /// water_ml, temp_c, steep_s, rinse_s, remarks. Ways for different kinds of leaf are compared each kind by itself. How strong
    /// a cup gets beside the middle way's is a rough guess.
    Ways {
        /// The file of ways, for example demo/ways.toml
        file: PathBuf,
        /// As text for the terminal, JSON, or a page with a picture [default: what the ending of --output says, else text]
        #[arg(long, value_enum)]
        format: Option<PlanFormat>,
        /// Where to write it; without this, or with `-`, standard output
        #[arg(long, short, value_name = "FILE")]
        output: Option<PathBuf>,
        /// Overwrite what `--output` names if it is there
        #[arg(long, requires = "output")]
        force: bool,
    },
    /// Open a class: seat people, keep the clock, take the scores
    ///
    /// On a terminal the class is shown and led with typed words; without one, what happens is printed as lines and the
    /// same words are read from standard input. `help` lists them.
    Open(Box<Open>),
    /// Lead a class that is open on another machine, or look on, with a key of it
    ///
    /// What happens is printed as lines, and the words that are typed on the host's own terminal are read from standard input, but
    /// for `stop`. The host keeps its class's keys beside the ledger (`evening.ledger-keys`): take that file along, or a file
    /// with one of its lines.
    #[command(after_help = lead::EXIT_CODES)]
    Lead(Box<Lead>),
    /// Plan a class: who pours what when, kettles, lists, score forms
    ///
    /// On a terminal one screen is shown: whether the class can be done, when, what to weigh out, the warnings, the first round.
    /// --full shows the rest; a pipe and a file always get all of it.
    Plan {
        /// The class file, or the ledger of a class
        class: PathBuf,
        /// As text for the terminal, JSON, or a page to print [default: what the ending of --output says, else text]
        #[arg(long, value_enum)]
        format: Option<PlanFormat>,
        /// On a terminal too, show all of the text
        #[arg(long)]
        full: bool,
        /// Where to write it; without this, or with `-`, standard output
        #[arg(long, short, value_name = "FILE")]
        output: Option<PathBuf>,
        /// Overwrite what `--output` names if it is there
        #[arg(long, requires = "output")]
        force: bool,
        /// Draw blind codes and serving orders from this number, as `open --seed` does
        #[arg(long, value_name = "N")]
        seed: Option<u64>,
    },
    /// Enter scores that were taken on paper
    ///
    /// The file is a spreadsheet or CSV, as the printed form is: one row for each cup, with the columns seat, code, steep and
    /// one for each line of the sheet. --template writes it ready to fill in. The long form that `review --format csv` writes is
    /// taken too: one row for each answer, with the columns seat, code, steep, attribute and value; text holds notes. Either
    /// all of it is entered or, if a cell has a fault, nothing. Entering a file twice adds nothing. No host may have the
    /// ledger open meanwhile.
    Enter {
        /// The ledger of the class, also of one that is closed
        ledger: PathBuf,
        /// The scores, as .xlsx or CSV
        #[arg(required_unless_present = "template")]
        scores: Option<PathBuf>,
        /// Instead write the file to fill in: a row for each seat and cup in serving order, what is there already filled in
        #[arg(long, conflicts_with_all = ["scores", "check", "new_seat"])]
        template: bool,
        /// With --template: where to write it, as .xlsx or .csv; without this, or with `-`, CSV on standard output
        #[arg(long, short, value_name = "FILE", requires = "template")]
        output: Option<PathBuf>,
        /// Overwrite what `--output` names if it is there
        #[arg(long, requires = "output")]
        force: bool,
        /// Only say what is in the file and what is wrong with it
        #[arg(long)]
        check: bool,
        /// Somebody who scored on paper and has no seat yet; repeated for each. Other names that no seat has are faults
        #[arg(long, value_name = "NAME")]
        new_seat: Vec<String>,
    },
    /// Put right what went wrong in a class: a name, a seat, a cup
    ///
    /// Nothing is erased: what is put right is written behind the rest, and every review says it, with its reason. No host
    /// may have the ledger open meanwhile.
    Correct {
        /// The ledger of the class, also of one that is closed
        ledger: PathBuf,
        /// Only say what would be put right
        #[arg(long, global = true)]
        check: bool,
        /// What to put right
        #[command(subcommand)]
        what: Correct,
    },
    /// Read what a class found from its ledger, also while it runs; several ledgers are pooled
    ///
    /// Of several classes, teas that are the same leaf steeped the same way are taken together, whatever their codes: leaf,
    /// grams, water, temperatures and seconds. Teas that are still blind in their ledger stay coded.
    Review(Box<Review>),
    /// Find the way of steeping that most will like, from the ways that were tasted in one class or several
    ///
    /// For each leaf: which way is best as far as these scores tell, which ways can't be told from it, where to go on if the best lies
    /// at the edge of what was tasted, and how many points each way that was tasted loses. Teas that are still blind are left out.
    Spot(Spot),
    /// Write one page to hand out: for each kind of leaf how to begin, and how sure that is
    ///
    /// What the classes tasted goes first: of each leaf the way that was shown to be liked better, or else the middle of what was
    /// liked. The rest is common practice, and says so. Teas that are still blind in their ledger are not in it.
    Guide {
        /// The ledgers of the classes
        #[arg(required = true, value_name = "LEDGER")]
        ledgers: Vec<PathBuf>,
        /// What a leaf of the classes is like, repeated for each: "NAME, kind=KIND, form=FORM, oxidation=OXIDATION, roasted,
        /// age=YEARS", as for `new --tea`. Leaf that is not described stands there by its name
        #[arg(long, value_name = "LEAF", value_parser = spec::tea)]
        leaf: Vec<Leaf>,
        /// Where to write it, as HTML; without this, or with `-`, standard output
        #[arg(long, short, value_name = "FILE")]
        output: Option<PathBuf>,
        /// Overwrite what `--output` names if it is there
        #[arg(long, requires = "output")]
        force: bool,
    },
    /// Keep a class in one file of text that needs no other file, also while it runs
    ///
    /// A record holds every entry of the ledger, chained, so that a change anywhere is noticed. `review` and `check` read
    /// it as they read a ledger; `restore` makes the ledger of it again.
    Record {
        /// The ledger of the class
        ledger: PathBuf,
        /// Where to write it; without this, or with `-`, standard output
        #[arg(long, short, value_name = "FILE")]
        output: Option<PathBuf>,
        /// Overwrite what `--output` names if it is there
        #[arg(long, requires = "output")]
        force: bool,
    },
    /// Say whether a ledger or a record is whole, and what is in it
    ///
    /// The file is left as it is. Exit code 4 says that it is damaged.
    Check {
        /// The ledger or the record
        file: PathBuf,
        /// Write whatever can be saved into this new ledger, and say what is lost
        #[arg(long, value_name = "FILE")]
        salvage: Option<PathBuf>,
    },
    /// Make a ledger of a record, equal to the one that the record was made of
    Restore {
        /// The record
        record: PathBuf,
        /// The ledger to make; nothing of that name may be there yet
        #[arg(long, short, value_name = "FILE", required = true)]
        output: PathBuf,
    },
}

/// What is reviewed, and what is written of it.
#[derive(Debug, Args)]
#[command(group(ArgGroup::new("written").args(["output", "cards", "seats"]).multiple(true)))]
pub struct Review {
    /// The ledger, or the ledgers of several classes
    #[arg(required = true, value_name = "LEDGER")]
    pub ledgers: Vec<PathBuf>,
    /// As text for people, or in which other form [default: what the ending of --output says, else text]
    #[arg(long, value_enum)]
    pub format: Option<Format>,
    /// On a terminal: everything as text, not only the first screen. A file or a pipe always gets everything
    #[arg(long, conflicts_with = "seat")]
    pub full: bool,
    /// Where to write it, a file or for `tables` a folder; without this, or with `-`, standard output
    #[arg(long, short, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Overwrite what `--output`, `--cards` and `--seats` name if it is there
    #[arg(long, requires = "written")]
    pub force: bool,
    /// With csv, xlsx and tables: every score ever sent, also those that a later one replaced (column `counts`)
    #[arg(long)]
    pub revisions: bool,
    /// The private page of one seat instead: that person beside the class. As text, HTML or JSON, for that person only
    #[arg(long, value_name = "NAME", conflicts_with_all = ["revisions", "next"])]
    pub seat: Option<String>,
    /// Whose review it is: the teacher's, or everybody's, without the names of tasters [default: teacher]
    #[arg(long = "for", value_name = "WHO", value_enum, conflicts_with_all = ["seat", "seats"])]
    pub reader: Option<Reader>,
    /// Leave a seat out of this review, by its name; repeated for each
    #[arg(long, value_name = "NAME")]
    pub without: Vec<String>,
    /// Write a page of cards instead, one for each tea, to cut out for its tin: recipe as served, what the class would change
    #[arg(long, value_name = "FILE")]
    pub cards: Option<PathBuf>,
    /// Write every seat's own page into this folder instead, as HTML and as text
    #[arg(long, value_name = "FOLDER")]
    pub seats: Option<PathBuf>,
    /// Also write a class file for a next class that compares what is still open; the file must not be there yet
    #[arg(long, value_name = "FILE")]
    pub next: Option<PathBuf>,
    /// Of a damaged ledger or record: read what is whole, and say what is missing
    #[arg(long)]
    pub up_to_break: bool,
}

/// Of what the sweet spot is looked for.
#[derive(Debug, Args)]
pub struct Spot {
    /// The ledger, or the ledgers of several classes
    #[arg(required = true, value_name = "LEDGER")]
    pub ledgers: Vec<PathBuf>,
    /// Only this leaf
    #[arg(long, value_name = "NAME")]
    pub leaf: Option<String>,
    /// As text for people, as a page with pictures, or as JSON [default: what the ending of --output says, else text]
    #[arg(long, value_enum)]
    pub format: Option<SpotFormat>,
    /// All ways and all figures as text
    #[arg(long)]
    pub full: bool,
    /// Assume nothing: least squares alone. Else it is assumed that the best lies not far outside what was tasted
    #[arg(long)]
    pub no_prior: bool,
    /// Where to write it; without this, or with `-`, standard output
    #[arg(long, short, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Overwrite what `--output` names if it is there
    #[arg(long, requires = "output")]
    pub force: bool,
    /// Leave a seat out, by its name; repeated for each
    #[arg(long, value_name = "NAME")]
    pub without: Vec<String>,
    /// Also write a class file with the ways that would tell most of the best one, of the leaf with the most ways or of --leaf; the file
    /// must not be there yet
    #[arg(long, value_name = "FILE")]
    pub next: Option<PathBuf>,
    /// With --next: how many teas [default: 6, or as many as hands and kettles can serve]
    #[arg(long, value_name = "N", requires = "next", value_parser = clap::value_parser!(u8).range(2..=8))]
    pub teas: Option<u8>,
    /// Of a damaged ledger or record: read what is whole, and say what is missing
    #[arg(long)]
    pub up_to_break: bool,
}

/// The form of a sweet spot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum SpotFormat {
    /// For people
    #[value(alias = "txt")]
    Text,
    /// For a browser: with pictures, to print
    Html,
    /// For programs
    Json,
}

/// Whose a review is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Reader {
    /// The teacher's: with the names of the tasters
    Teacher,
    /// Everybody's: every taster has a number instead
    Class,
}

/// What can be put right.
#[derive(Debug, Subcommand)]
pub enum Correct {
    /// Give a seat its right name
    Rename {
        /// The seat
        seat: String,
        /// Its right name
        name: String,
    },
    /// Make two seats of one person one: what the first has scored is the second's; of two scores of a cup the later counts
    Join {
        /// The seat whose scores go over
        seat: String,
        /// The seat that stays
        into: String,
    },
    /// Make two seats two persons again that were joined by mistake: each has what was sent from it
    Part {
        /// The seat that was joined to another one, by its own name
        seat: String,
    },
    /// Let a cup not count, for everybody or for one seat: it was spilled, or mixed up with another one
    Void(OneCup),
    /// Let a cup count again that was voided by mistake
    Restore(OneCup),
    /// Let a seat's scores not count any more
    LeaveOut {
        /// The seat
        seat: String,
    },
    /// Let a seat's scores count again
    Count {
        /// The seat
        seat: String,
    },
}

/// A cup, and why it is spoken of.
#[derive(Debug, Args)]
pub struct OneCup {
    /// The cup as code and steep, for example 417/1
    #[arg(value_parser = cup)]
    pub cup: (Code, u32),
    /// Why; it stands in the review
    #[arg(long, value_name = "TEXT")]
    pub reason: String,
    /// Only what this seat has scored of it by now
    #[arg(long, value_name = "NAME")]
    pub seat: Option<String>,
}

/// What `new` is told.
#[derive(Debug, Args)]
pub struct New {
    /// Where to write it; `-` is standard output
    #[arg(value_name = "FILE", default_value = "class.toml")]
    pub file: PathBuf,
    /// What the class is called
    #[arg(long, value_name = "TEXT", value_parser = spec::title)]
    pub title: Option<String>,
    /// The day of the class; without this, today
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = spec::date)]
    pub date: Option<String>,
    /// When the first cue falls; without this, whenever the class is started
    #[arg(long, value_name = "HH:MM", value_parser = spec::start)]
    pub start: Option<String>,
    /// How many seats are expected [default: 8]
    #[arg(long, value_name = "N", value_parser = spec::seats)]
    pub seats: Option<u32>,
    /// Who pours: `each-seat` its own set, or the number of pourers at one table [default: each-seat]
    #[arg(long, value_name = "each-seat|N", value_parser = spec::pourers)]
    pub pourers: Option<Pourers>,
    /// How long people sit: decides leaf, times and number of steeps [default: middle]
    #[arg(long, value_parser = sittings(), conflicts_with = "method")]
    pub sitting: Option<Sitting>,
    /// A standard's own method instead, each value with its mark of certainty
    #[arg(long, value_parser = methods())]
    pub method: Option<MethodName>,
    /// A tea, repeated for each: "NAME, kind=KIND, form=FORM, oxidation=OXIDATION, roasted, dry, age=YEARS, dose=G, ..."
    ///
    /// Only the name is needed. KIND is green, white, oolong, black or dark, and says the usual form and oxidation; FORM is ball-rolled, twisted, open, broken or compressed; OXIDATION is green, lightly,
    /// half, highly, fully or post-fermented; what is left out is twisted, half oxidised, not roasted, of this year.
    /// `dry` says that the leaf is very dry; dose (grams per 100 ml),
    /// water (°C) and first (seconds of the first steep) ask for others than the sitting's. Another way of a leaf that is there
    /// already: leaf=NAME, with the same description.
    #[arg(long, value_name = "TEA", value_parser = spec::tea)]
    pub tea: Vec<Leaf>,
    /// Taste people's ways of one leaf instead of teas: from this file of ways, with their middle as the centre
    ///
    /// Unless --who names them, those ways are taken that tell most about what is liked: far from the middle on every side. A way
    /// that the planner can't serve with the hands and kettles given makes room for another one, or is left out; that is said.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["tea", "method", "sitting"])]
    pub from: Option<PathBuf>,
    /// With --from: whose way is tasted, repeated for each; the middle way is always there
    #[arg(long, value_name = "NAME", requires = "from", conflicts_with = "teas")]
    pub who: Vec<String>,
    /// With --from: how many teas, the middle way among them, 2 to 8 [default: 6 at most]
    #[arg(long, value_name = "N", requires = "from", value_parser = clap::value_parser!(u8).range(2..=8).map(usize::from))]
    pub teas: Option<usize>,
    /// A kettle, repeated for each: "NAME, 1200 ml, 1800 W"
    #[arg(long, value_name = "KETTLE", value_parser = spec::kettle)]
    pub kettle: Vec<Kettle>,
    /// All seats draw from the kettles given; without this every seat has such kettles of its own
    #[arg(long)]
    pub shared_kettles: bool,
    /// Seconds to taste after a round's last cup; without this, what the cups need
    #[arg(long, value_name = "S", value_parser = spec::taste_s)]
    pub taste_s: Option<u32>,
    /// Height above the sea, metres [default: 0]
    #[arg(long, value_name = "M", value_parser = spec::altitude_m, allow_negative_numbers = true)]
    pub altitude_m: Option<f64>,
    /// Water per steep, millilitres; without this, 100 for each seat, or what everybody's cups need
    #[arg(long, value_name = "ML", value_parser = spec::water_ml, conflicts_with = "method")]
    pub water_ml: Option<f64>,
    /// Overwrite the file if it is there
    #[arg(long)]
    pub force: bool,
}

/// The form of a plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum PlanFormat {
    /// For people
    #[value(alias = "txt")]
    Text,
    /// For programs
    Json,
    /// One page to print
    Html,
}

/// The form of a file to fill in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum PaperFormat {
    /// Comma-separated
    Csv,
    /// A spreadsheet
    Xlsx,
}

/// The form of a review.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people
    #[value(alias = "txt")]
    Text,
    /// One score a row (RFC 4180)
    Csv,
    /// For programs
    Json,
    /// One page with pictures, for a telephone, for print, to mail
    Html,
    /// A spreadsheet: what was found, every score, every table
    Xlsx,
    /// A folder of comma-separated files, one for each table of the spreadsheet
    Tables,
}

/// `417/1`: code and steep.
fn cup(text: &str) -> Result<(Code, u32), String> {
    let example = "write code and steep, for example 417/1";
    let (code, steep) = text.split_once('/').ok_or(example)?;
    let code = code.trim().parse().map_err(|problem: &str| format!("{problem}; {example}"))?;
    Ok((code, steep.trim().parse().map_err(|_| example)?))
}

/// One of some words, each with what it stands for and a line of help.
fn one_of<T: Clone + Send + Sync + 'static>(
    words: &'static [(&'static str, T, &'static str)],
) -> impl TypedValueParser<Value = T> {
    PossibleValuesParser::new(words.iter().map(|(word, _, help)| PossibleValue::new(*word).help(*help)))
        .try_map(|said| {
            words
                .iter()
                .find(|(word, ..)| *word == said)
                .map(|(_, value, _)| value.clone())
                .ok_or("no such word")
        })
}

fn sittings() -> impl TypedValueParser<Value = Sitting> {
    one_of(&[
        ("short", Sitting::Short, "Little leaf, few long steeps"),
        ("middle", Sitting::Middle, "Between the two"),
        ("long", Sitting::Long, "Much leaf, many short steeps"),
    ])
}

fn methods() -> impl TypedValueParser<Value = MethodName> {
    one_of(&[
        ("iso-3103", MethodName::Iso3103, "ISO 3103: 2 g to 100 ml, boiling, one long steep"),
        (
            "covered-bowl",
            MethodName::CoveredBowl,
            "The covered bowl for oolong: 5 g to 110 ml, boiling, 2, 3 and 5 min",
        ),
        ("one-to-fifty", MethodName::OneToFifty, "1:50: 3 g to 150 ml, boiling, by class of tea"),
    ])
}

/// The ledger that goes with a class file: beside it, under the same name.
pub fn ledger_beside(class: &Path) -> PathBuf {
    class.with_extension("ledger")
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_command_line_is_well_formed() {
        Cli::command().debug_assert();
    }

    #[test]
    fn the_help_is_as_it_was_read_last() {
        let mut cli = Cli::command().term_width(100);
        insta::assert_snapshot!("help", cli.render_long_help());
        for name in [
            "new", "ways", "guide", "plan", "open", "lead", "enter", "correct", "review", "spot", "record",
            "restore", "check",
        ] {
            let sub = cli.find_subcommand_mut(name).unwrap().clone().term_width(100);
            insta::assert_snapshot!(
                format!("help-{name}"),
                sub.clone().bin_name(format!("kettlecall {name}")).render_long_help()
            );
        }
    }

    #[test]
    fn the_ledger_lies_beside_the_class_file() {
        assert_eq!(ledger_beside(Path::new("a/evening.toml")), PathBuf::from("a/evening.ledger"));
    }
}
