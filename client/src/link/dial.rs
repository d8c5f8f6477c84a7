//! How a connection is made: over TCP for the program, over anything that carries bytes for a test.

use std::future::Future;
use std::io;
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

/// Dials a host over TCP, asking for its addresses again each time.
#[derive(Clone, Debug)]
pub struct Tcp {
    address: String,
}

impl Tcp {
    /// For `host:port` or `[address]:port`.
    pub fn new(address: impl Into<String>) -> Self {
        Self { address: address.into() }
    }
}

impl Dialler for Tcp {
    type Stream = TcpStream;

    async fn dial(&mut self) -> io::Result<TcpStream> {
        let stream = TcpStream::connect(&self.address).await?;
        // Cues and pings are small and can't wait to be gathered.
        stream.set_nodelay(true)?;
        Ok(stream)
    }
}
