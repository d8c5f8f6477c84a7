//! What `lead` is asked.

use clap::Args;
use dial::{Known, host_address};
use protocol::text;
use std::path::PathBuf;

/// The exit codes of `lead`, shown by its `--help`.
pub const EXIT_CODES: &str = "\
Exit codes:
  0  the class is over, or you left
  1  the host does not let you in, or is not the one of the pin; the network or the terminal failed
  2  the command line was not understood, or there is no key in the file";

/// A class is to be led from elsewhere.
#[derive(Debug, Args)]
pub struct Lead {
    /// The host's address, from its screen
    #[arg(value_name = "ADDR", value_parser = host_address)]
    pub address: String,
    /// The file with the key: the teacher's leads, the observer's looks on
    #[arg(long, value_name = "FILE")]
    pub key: PathBuf,
    /// The pin of the host's certificate, from its screen: the link is TLS, and no other host is taken for this one. `none` is as
    /// if it were left out
    #[arg(long, value_name = "PIN", value_parser = str::parse::<Known>)]
    pub pin: Option<Known>,
    /// What this console is called, beside what is done at it [default: your name on this machine]
    #[arg(long, value_name = "NAME", value_parser = text::name)]
    pub name: Option<String>,
}
