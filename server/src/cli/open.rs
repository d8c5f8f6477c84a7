//! What `open` is asked.

use clap::{Args, ValueEnum};
use class::MAX_SEATS;
use host::door::names::given;
use protocol::wire::DEFAULT_PORT;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;

/// A class is to be opened.
#[derive(Debug, Args)]
pub struct Open {
    /// The class file, or the ledger of a class to continue
    pub class: PathBuf,
    /// Where seats join, as ADDRESS:PORT; port 0 takes any free one
    #[arg(long, value_name = "ADDRESS", value_parser = listening, default_value_t = SocketAddr::new(IpAddr::V4(Ipv4Addr::UNSPECIFIED), DEFAULT_PORT))]
    pub listen: SocketAddr,
    /// Another name under which this machine is asked for, beside its addresses and its own name; may be given again
    #[arg(long, value_name = "NAME", value_parser = given)]
    pub name: Vec<String>,
    /// TLS beside plain connections, or `--tls=only` instead of them, `--tls=off` to end it; the line to join with then has a pin. The certificate is
    /// made once and kept beside the ledger
    #[arg(long, value_name = "WHICH", num_args = 0..=1, require_equals = true, default_missing_value = "too")]
    pub tls: Option<Tls>,
    /// Your own certificate for TLS, as a PEM file
    #[arg(long, value_name = "FILE", requires = "key")]
    pub cert: Option<PathBuf>,
    /// The private key of your own certificate, as a PEM file
    #[arg(long, value_name = "FILE", requires = "cert")]
    pub key: Option<PathBuf>,
    /// The ledger; without this, the class file's name ending in `.ledger`, for rehearsals in `.rehearsal.ledger`
    #[arg(long, value_name = "FILE")]
    pub ledger: Option<PathBuf>,
    /// Draw the blind codes from this number; without it, from the title, the day and the teas
    #[arg(long, value_name = "N")]
    pub seed: Option<u64>,
    /// Rehearse the class N times as fast, in a ledger of its own
    #[arg(long, value_name = "N", default_value_t = 1.0, value_parser = pace)]
    pub pace: f64,
    /// Let whoever can reach this machine take a seat, without the join code
    #[arg(long)]
    pub open_door: bool,
    /// Let people in by name: who is new waits at the door until you type `admit` and the name; `--lobby=off` ends it
    #[arg(long, value_name = "WHETHER", num_args = 0..=1, require_equals = true, default_missing_value = "on")]
    pub lobby: Option<Switch>,
    /// How many seats may be taken; without it as many as before, and at first twice those that the class expects
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=i64::from(MAX_SEATS)))]
    pub places: Option<u32>,
    /// Print lines and read words from standard input even on a terminal
    #[arg(long)]
    pub plain: bool,
}

/// Who may join over TLS.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Tls {
    /// Whoever wants to
    Too,
    /// Everybody has to
    Only,
    /// Nobody can
    Off,
}

/// Whether something is to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Switch {
    /// From now on
    On,
    /// No longer
    Off,
}

fn pace(text: &str) -> Result<f64, String> {
    let pace: f64 = text.parse().map_err(|_| "give a number, for example 60".to_string())?;
    if (0.1..=1000.0).contains(&pace) { Ok(pace) } else { Err("give a number from 0.1 to 1000".into()) }
}

/// `ADDRESS:PORT`, an address alone, a port alone, or `localhost` with or without a port.
fn listening(text: &str) -> Result<SocketAddr, String> {
    let any = IpAddr::V4(Ipv4Addr::UNSPECIFIED);
    let text = text.replacen("localhost", "127.0.0.1", 1);
    let port = |text: &str| text.parse::<u16>().ok();
    let address = |text: &str| text.parse::<IpAddr>().ok();
    let whole = text.parse().ok();
    let alone = || port(&text).map(|port| SocketAddr::new(any, port));
    whole
        .or_else(alone)
        .or_else(|| address(&text).map(|ip| SocketAddr::new(ip, DEFAULT_PORT)))
        .ok_or_else(|| format!("write for example 0.0.0.0:{DEFAULT_PORT}, 127.0.0.1:0 or {DEFAULT_PORT}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pace_is_a_sensible_number() {
        assert_eq!(pace("60"), Ok(60.0));
        for bad in ["0", "-1", "NaN", "inf", "1001", "fast"] {
            assert!(pace(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn where_to_listen_can_be_said_in_short() {
        let read = |text| listening(text).map(|a| a.to_string());
        for (text, address) in [
            ("192.0.2.7:5000", "192.0.2.7:5000"),
            ("5000", "0.0.0.0:5000"),
            ("localhost", "127.0.0.1:4177"),
            ("localhost:0", "127.0.0.1:0"),
            ("[::1]:9", "[::1]:9"),
            ("::", "[::]:4177"),
        ] {
            assert_eq!(read(text).as_deref(), Ok(address));
        }
        assert!(read("here:x").unwrap_err().contains("for example"));
    }
}
