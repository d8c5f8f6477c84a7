//! How a connection is made: over TCP for the program, over anything that carries bytes for a test.

mod address;
pub mod backoff;
mod secure;
mod socket;

pub use address::host_address;
pub use secure::Line;
pub use socket::{Unopened, open};

use protocol::{Certificate, Pin};
use secure::handshake;
use std::future::Future;
use std::io;
use std::str::FromStr;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::TcpStream;

/// Makes connections to one host.
pub trait Dialler: Send + 'static {
    /// What carries the bytes.
    type Stream: AsyncRead + AsyncWrite + Unpin + Send + 'static;

    /// Makes one connection.
    ///
    /// # Errors
    /// Whatever the machine says.
    fn dial(&mut self) -> impl Future<Output = io::Result<Self::Stream>> + Send;

    /// Takes only the host of this pin from now on, or any. Where no certificates are there is nothing to know a host by.
    fn known_by(&mut self, _pin: Option<Pin>) {}

    /// The certificate of the host at the other end, if what is said there can't be read on the way.
    fn certificate(&self, _stream: &Self::Stream) -> Option<Certificate> {
        None
    }
}

/// By what a person says that a host is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Known {
    /// By the pin of its certificate.
    ByPin(Pin),
    /// By nothing, whatever pin is kept.
    ByNothing,
}

impl Known {
    /// The pin, if it is one.
    pub fn pin(self) -> Option<Pin> {
        match self {
            Known::ByPin(pin) => Some(pin),
            Known::ByNothing => None,
        }
    }
}

/// What is typed for no pin.
pub const NO_PIN: &str = "none";

impl FromStr for Known {
    type Err = String;
    fn from_str(typed: &str) -> Result<Self, String> {
        if typed.trim().eq_ignore_ascii_case(NO_PIN) {
            Ok(Known::ByNothing)
        } else {
            typed.parse().map(Known::ByPin)
        }
    }
}

impl<F, C, S> Dialler for F
where
    F: FnMut() -> C + Send + 'static,
    C: Future<Output = io::Result<S>> + Send,
    S: AsyncRead + AsyncWrite + Unpin + Send + 'static,
{
    type Stream = S;

    fn dial(&mut self) -> impl Future<Output = io::Result<S>> + Send {
        self()
    }
}

/// Why nobody is reached at an address, for a person.
pub fn unreached(address: &str, error: &io::Error) -> String {
    let said = error.to_string();
    // The systems' resolvers have no kind of error of their own.
    let unknown = said.contains("lookup address") || said.contains("No such host");
    match error.kind() {
        _ if unknown => {
            let host = address.rsplit_once(':').map_or(address, |(host, _)| host);
            format!("no machine is called {host} here")
        }
        io::ErrorKind::ConnectionRefused => format!("no class is open at {address}"),
        io::ErrorKind::TimedOut | io::ErrorKind::HostUnreachable | io::ErrorKind::NetworkUnreachable => {
            format!("nothing answers at {address}")
        }
        io::ErrorKind::ConnectionReset | io::ErrorKind::ConnectionAborted | io::ErrorKind::BrokenPipe => {
            format!("whoever answers at {address} broke the link off")
        }
        _ => said,
    }
}

/// Dials a host over TCP, asking for its addresses again each time; with a pin, over TLS.
#[derive(Clone, Debug)]
pub struct Tcp {
    address: String,
    pin: Option<Pin>,
}

impl Tcp {
    /// For `host:port` or `[address]:port`.
    pub fn new(address: impl Into<String>) -> Self {
        Self { address: address.into(), pin: None }
    }
}

impl Dialler for Tcp {
    type Stream = Line;

    async fn dial(&mut self) -> io::Result<Line> {
        let stream = TcpStream::connect(&self.address).await?;
        // Cues and pings are small and can't wait to be gathered.
        stream.set_nodelay(true)?;
        match self.pin {
            Some(pin) => handshake(stream, &self.address, pin).await,
            None => Ok(Line::Plain(stream)),
        }
    }

    fn known_by(&mut self, pin: Option<Pin>) {
        self.pin = pin;
    }

    fn certificate(&self, stream: &Line) -> Option<Certificate> {
        stream.certificate()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wrong_address_is_told_in_words() {
        let lookup = io::Error::other("failed to lookup address information: Name or service not known");
        for (error, words) in [
            (lookup, "no machine is called tea.loca here"),
            (io::ErrorKind::ConnectionRefused.into(), "no class is open at tea.loca:4177"),
            (io::ErrorKind::ConnectionReset.into(), "whoever answers at tea.loca:4177 broke the link off"),
            (io::ErrorKind::HostUnreachable.into(), "nothing answers at tea.loca:4177"),
            (io::Error::other("out of sockets"), "out of sockets"),
        ] {
            assert_eq!(unreached("tea.loca:4177", &error), words);
        }
    }
}
