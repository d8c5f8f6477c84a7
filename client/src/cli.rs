//! The command line of `kettleseat`.

use crate::link::dial::Known;
use clap::Parser;
use dial::host_address;
use protocol::{JoinCode, Role, person};
use std::path::PathBuf;

/// The class was closed, or the person left.
pub const EXIT_OK: u8 = 0;
/// Something went wrong on this machine: the terminal, a file.
pub const EXIT_MACHINE: u8 = 1;
/// The command line can't be understood (clap's own code).
pub const EXIT_USAGE: u8 = 2;
/// The host refused the seat for good.
pub const EXIT_REFUSED: u8 = 3;

const AFTER_HELP: &str = "\
Exit codes:
  0  the class was closed, or you left
  1  something went wrong on this machine (terminal, file)
  2  the command line can't be understood
  3  the host refused the seat for good, or wants a join code and nobody can be asked; the reason is printed

Your place and every score that the host has not acknowledged yet are kept in a file; start again under the same name \
to have them back, also if the host's address has changed.";

/// Take a seat at a tea class: cues on time, and the sheet for every cup
#[derive(Clone, Debug, Parser)]
#[command(name = "kettleseat", version, after_help = AFTER_HELP, term_width = 100)]
pub struct Cli {
    /// The host: a name or an address, with :PORT if it is not 4177; asked for if left out
    #[arg(value_name = "ADDR", value_parser = host_address)]
    pub address: Option<String>,
    /// The join code on the teacher's screen, for your first time in a class; asked for if it is needed
    #[arg(long, value_name = "CODE", value_parser = str::parse::<JoinCode>)]
    pub code: Option<JoinCode>,
    /// The pin of the host's certificate, from the teacher's screen: the link is TLS, and no other host is taken for this one.
    /// Given once, it is kept with the class, which is then joined with it alone, at every address. `--pin none` is for another
    /// class at the same address, and with --code for the same class where the teacher has given up TLS: all that is said there can
    /// be read and changed on the way
    #[arg(long, value_name = "PIN", value_parser = str::parse::<Known>)]
    pub pin: Option<Known>,
    /// Your name, as the teacher will see it; asked for if left out
    #[arg(long, value_name = "NAME", value_parser = person::name)]
    pub name: Option<String>,
    /// Which pourer you are at a table of several hands, from 1
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..))]
    pub pourer: Option<u8>,
    /// Pour and score nothing: no sheet is asked of you
    #[arg(long, conflicts_with = "watch")]
    pub pours_only: bool,
    /// Look on: no sheet is asked of you, and your hands are not needed
    #[arg(long, conflicts_with = "pourer")]
    pub watch: bool,
    /// A board for the whole room, as for a projector: the next cue and every tea's clock in large letters. It asks nothing of
    /// anybody and takes nobody's place; `q` ends it
    #[arg(long, conflicts_with_all = ["pourer", "pours_only", "watch", "plain", "quiet", "stamp", "keep_notes"])]
    pub board: bool,
    /// Lines instead of a full screen; also chosen when the output is not a terminal
    #[arg(long)]
    pub plain: bool,
    /// Only what is for you: your own cues and cups, as with a screen reader (lines only)
    #[arg(long)]
    pub quiet: bool,
    /// Put the host time in seconds before every line, for logs (lines only)
    #[arg(long)]
    pub stamp: bool,
    /// The file your place and unsent scores are kept in; if left out, one for your name on this machine,
    /// whatever the host's address
    #[arg(long, value_name = "FILE")]
    pub keep: Option<PathBuf>,
    /// When the class ends, keep your own scores and notes, and the recipes as far as revealed, in this file
    #[arg(long, value_name = "FILE")]
    pub keep_notes: Option<PathBuf>,
    /// Write what the link does to this file
    #[arg(long, value_name = "FILE")]
    pub log: Option<PathBuf>,
}

impl Cli {
    /// What the person has come for.
    pub fn role(&self) -> Role {
        match (self.watch || self.board, self.pours_only) {
            (true, _) => Role::Watches,
            (false, true) => Role::PoursOnly,
            (false, false) => Role::Scores,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_command_line_is_sound() {
        Cli::command().debug_assert();
    }

    #[test]
    fn the_help_tells_every_option_and_the_exit_codes() {
        insta::assert_snapshot!(Cli::command().render_long_help());
    }

    #[test]
    fn a_name_that_would_be_refused_is_refused_before_dialling() {
        let parsed = Cli::try_parse_from(["kettleseat", "h", "--name", "\u{1b}[2J"]);
        assert!(parsed.unwrap_err().to_string().contains("U+001B"));
    }
}
