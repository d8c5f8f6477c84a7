//! Where connections over TCP come in: no more of them than the system gives this process files for.

use super::{Door, Line, limits, waiting::Place};
use protocol::wire::HELLO_LIMIT;
use std::net::IpAddr;
use std::sync::Arc;
use std::time::Duration;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::{sleep, timeout};
use tracing::{debug, warn};

/// How long to wait when the system gives no more connections.
const ACCEPT_PAUSE: Duration = Duration::from_millis(100);
/// So many files are left for the ledger, the terminal, and what is written while a class is open.
const KEPT_FREE: usize = 32;
/// The first byte of a connection that speaks TLS: a record of a handshake (RFC 8446 §5.1).
const TLS_HANDSHAKE: u8 = 22;

/// How many connections there may be at once; `None` where the system does not say.
#[derive(Clone)]
struct Files(Option<Arc<Semaphore>>);

impl Files {
    fn allowed(open_files: Option<usize>) -> Self {
        let left = |files: usize| files.saturating_sub(KEPT_FREE).clamp(1, Semaphore::MAX_PERMITS);
        Self(open_files.map(|files| Arc::new(Semaphore::new(left(files)))))
    }
}

impl Door {
    /// Lets connections in until the task is dropped.
    pub async fn listen(self, listener: TcpListener) {
        let files = Files::allowed(limits::open_files());
        loop {
            match listener.accept().await {
                Ok((stream, peer)) => {
                    debug!(%peer, "connection");
                    let Ok(file) = self.file(&files).await else {
                        warn!(
                            "a connection was ended: this system allows no more open files, and everybody there has a seat"
                        );
                        continue;
                    };
                    // Small messages are to leave at once; a system that can't do that still works.
                    let _ = stream.set_nodelay(true);
                    let (door, from) = (self.clone(), peer.ip());
                    // Here, so that whoever comes next finds it among those who wait.
                    let place = self.waiting.enter(Some(from));
                    match self.terms.tls {
                        // A task is as large as all that it may come to; seats over TLS are the larger.
                        Some(_) => tokio::spawn(async move {
                            let _file = file;
                            door.receive_tcp(stream, from, place).await;
                        }),
                        None => tokio::spawn(async move {
                            let _file = file;
                            let line = Line { certificate: None, fit: true };
                            door.serve_as(stream, Some(from), line, place).await;
                        }),
                    };
                }
                Err(error) => {
                    warn!(%error, "no more connections for the moment");
                    sleep(ACCEPT_PAUSE).await;
                }
            }
        }
    }

    /// One of the files that connections may have: if all are taken, that of whoever has been silent longest.
    async fn file(&self, Files(files): &Files) -> Result<Option<OwnedSemaphorePermit>, ()> {
        let Some(files) = files else { return Ok(None) };
        if let Ok(free) = files.clone().try_acquire_owned() {
            return Ok(Some(free));
        }
        self.waiting.end_longest_silent();
        let freed = timeout(ACCEPT_PAUSE, files.clone().acquire_owned()).await;
        freed.ok().and_then(Result::ok).map(Some).ok_or(())
    }

    /// Serves a connection over TCP; its first byte says whether it speaks TLS.
    async fn receive_tcp(self, stream: TcpStream, from: IpAddr, mut place: Place) {
        let Some(tls) = self.terms.tls.clone() else { return };
        let mut first = [0];
        let peeked = timeout(HELLO_LIMIT, stream.peek(&mut first));
        let peeked = tokio::select! { peeked = peeked => peeked, () = place.lost() => return };
        match peeked {
            Ok(Ok(1)) if first[0] == TLS_HANDSHAKE => {
                let secured = Box::pin(timeout(HELLO_LIMIT, tls.acceptor.accept(stream)));
                let secured = tokio::select! { secured = secured => secured, () = place.lost() => return };
                if let Ok(Ok(stream)) = secured {
                    let over = Line { certificate: Some(tls.certificate()), fit: true };
                    Box::pin(self.serve_as(stream, Some(from), over, place)).await;
                }
            }
            Ok(Ok(1)) => {
                self.serve_as(stream, Some(from), Line { certificate: None, fit: !tls.only }, place).await
            }
            _ => {}
        }
    }
}
