//! Reads along on one direction of a connection: from the bytes of a WebSocket to its messages.

use std::collections::VecDeque;
use std::io::{self, Read, Write};
use tokio_tungstenite::tungstenite::protocol::{Role, WebSocket};
use tokio_tungstenite::tungstenite::{Bytes, Message};

/// One direction of a connection.
pub struct Tap {
    /// The head of the HTTP upgrade, until it is over.
    head: Option<Vec<u8>>,
    socket: WebSocket<Pipe>,
}

/// What has come and has not been read. What the socket would answer goes nowhere.
#[derive(Default)]
struct Pipe(VecDeque<u8>);

impl Read for Pipe {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        if self.0.is_empty() { Err(io::ErrorKind::WouldBlock.into()) } else { self.0.read(buffer) }
    }
}

impl Write for Pipe {
    fn write(&mut self, buffer: &[u8]) -> io::Result<usize> {
        Ok(buffer.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Tap {
    /// On what a seat sends.
    pub fn on_seat() -> Self {
        Self::reading_as(Role::Server)
    }

    /// On what a host sends.
    pub fn on_host() -> Self {
        Self::reading_as(Role::Client)
    }

    fn reading_as(role: Role) -> Self {
        Self { head: Some(Vec::new()), socket: WebSocket::from_raw_socket(Pipe::default(), role, None) }
    }

    /// The texts that are complete with these bytes.
    pub fn texts(&mut self, bytes: &Bytes) -> Vec<String> {
        match &mut self.head {
            None => self.socket.get_mut().0.extend(bytes),
            Some(head) => {
                head.extend_from_slice(bytes);
                let Some(end) = head.windows(4).position(|four| four == b"\r\n\r\n") else {
                    return Vec::new();
                };
                self.socket.get_mut().0.extend(&head[end + 4..]);
                self.head = None;
            }
        }
        let mut texts = Vec::new();
        while let Ok(message) = self.socket.read() {
            if let Message::Text(text) = message {
                texts.push(text.to_string());
            }
        }
        texts
    }
}
