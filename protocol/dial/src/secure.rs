//! TLS with a host whose certificate is known by its pin.

use protocol::{Certificate, Pin};
use std::fmt;
use std::io;
use std::net::IpAddr;
use std::pin as memory;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::TcpStream;
use tokio::time::timeout;
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tokio_rustls::rustls::client::danger::{HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier};
use tokio_rustls::rustls::crypto::{CryptoProvider, ring, verify_tls12_signature, verify_tls13_signature};
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use tokio_rustls::rustls::version::TLS13;
use tokio_rustls::rustls::{CertificateError, ClientConfig, DigitallySignedStruct, Error, SignatureScheme};

/// How long a host may take over the handshake: less than a seat waits for a link as a whole.
const HANDSHAKE_LIMIT: Duration = Duration::from_secs(5);
/// What to do where no TLS comes about.
const PASTE: &str = "paste the whole line from the teacher's screen again";

/// Takes the certificate of one pin, and no other. That its key is at the other end is checked as ever: the handshake is signed.
#[derive(Debug)]
struct Pinned {
    pin: Pin,
    provider: Arc<CryptoProvider>,
}

impl ServerCertVerifier for Pinned {
    fn verify_server_cert(
        &self,
        certificate: &CertificateDer<'_>,
        _: &[CertificateDer<'_>],
        _: &ServerName<'_>,
        _: &[u8],
        _: UnixTime,
    ) -> Result<ServerCertVerified, Error> {
        if Pin::of(certificate) == self.pin {
            return Ok(ServerCertVerified::assertion());
        }
        Err(Error::InvalidCertificate(CertificateError::ApplicationVerificationFailure))
    }

    fn verify_tls12_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        let known = &self.provider.signature_verification_algorithms;
        verify_tls12_signature(message, certificate, signed, known)
    }

    fn verify_tls13_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        let known = &self.provider.signature_verification_algorithms;
        verify_tls13_signature(message, certificate, signed, known)
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        self.provider.signature_verification_algorithms.supported_schemes()
    }
}

/// Speaks TLS over a connection to `host:port`.
///
/// # Errors
/// In words: the certificate is another one, or the host speaks no TLS.
pub(super) async fn handshake(stream: TcpStream, address: &str, pin: Pin) -> io::Result<Line> {
    let provider = Arc::new(ring::default_provider());
    let verifier = Arc::new(Pinned { pin, provider: provider.clone() });
    let config = ClientConfig::builder_with_provider(provider)
        .with_protocol_versions(&[&TLS13])
        .map_err(io::Error::other)?
        .dangerous()
        .with_custom_certificate_verifier(verifier)
        .with_no_client_auth();
    let connector = TlsConnector::from(Arc::new(config));
    match timeout(HANDSHAKE_LIMIT, connector.connect(name(address), stream)).await {
        Ok(Ok(stream)) => Ok(Line::Secure(Box::new(stream))),
        Ok(Err(error)) => Err(unheard(&error, address)),
        Err(_) => Err(io::Error::other(format!(
            "the host there began no TLS within {} s; if that goes on, {PASTE}",
            HANDSHAKE_LIMIT.as_secs()
        ))),
    }
}

/// What the host is called in the handshake. Its certificate is known by its pin, so any name would do.
fn name(address: &str) -> ServerName<'static> {
    let host = address.rsplit_once(':').map_or(address, |(host, _)| host);
    let bare = host.strip_prefix('[').and_then(|inside| inside.strip_suffix(']')).unwrap_or(host);
    let unnamed = || ServerName::IpAddress(IpAddr::from([0, 0, 0, 0]).into());
    ServerName::try_from(bare.to_string()).unwrap_or_else(|_| unnamed())
}

/// Why no TLS came about, for a person.
fn unheard(error: &io::Error, address: &str) -> io::Error {
    let fault = error.get_ref().and_then(|inner| inner.downcast_ref::<Error>());
    io::Error::other(match fault {
        Some(Error::InvalidCertificate(_)) => {
            return NotTheHost::error(format!(
                "the host at {address} has not the certificate of the pin: it holds another class, or is somebody between; {PASTE}"
            ));
        }
        Some(Error::InvalidMessage(_)) => {
            return NotTheHost::error(format!("the host at {address} speaks no TLS, so it is not the one of the pin; {PASTE}"));
        }
        Some(Error::PeerIncompatible(_) | Error::AlertReceived(_)) => {
            "the host there speaks another TLS than this seat, which knows TLS 1.3 alone; update the host's program".into()
        }
        _ => format!("the host broke off before TLS began; if that goes on, {PASTE}"),
    })
}

/// Whoever answers has not the certificate of the pin, in words for a person.
#[derive(Debug)]
pub(super) struct NotTheHost(String);

impl NotTheHost {
    fn error(words: String) -> io::Error {
        io::Error::other(Self(words))
    }

    /// Whether that is why nobody was reached.
    pub(super) fn is_why(error: &io::Error) -> bool {
        error.get_ref().is_some_and(|inner| inner.is::<Self>())
    }
}

impl fmt::Display for NotTheHost {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for NotTheHost {}

/// What carries the bytes: TCP alone, or TLS over it.
#[derive(Debug)]
pub enum Line {
    /// Readable on the way.
    Plain(TcpStream),
    /// Not readable on the way.
    Secure(Box<TlsStream<TcpStream>>),
}

impl Line {
    /// The host's certificate, over TLS.
    pub(super) fn certificate(&self) -> Option<Certificate> {
        let Line::Secure(stream) = self else { return None };
        stream.get_ref().1.peer_certificates()?.first().map(|first| Certificate::of(first))
    }
}

impl AsyncRead for Line {
    fn poll_read(
        self: memory::Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Line::Plain(stream) => memory::Pin::new(stream).poll_read(context, buffer),
            Line::Secure(stream) => memory::Pin::new(stream).poll_read(context, buffer),
        }
    }
}

impl AsyncWrite for Line {
    fn poll_write(
        self: memory::Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        match self.get_mut() {
            Line::Plain(stream) => memory::Pin::new(stream).poll_write(context, bytes),
            Line::Secure(stream) => memory::Pin::new(stream).poll_write(context, bytes),
        }
    }

    fn poll_flush(self: memory::Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Line::Plain(stream) => memory::Pin::new(stream).poll_flush(context),
            Line::Secure(stream) => memory::Pin::new(stream).poll_flush(context),
        }
    }

    fn poll_shutdown(self: memory::Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Line::Plain(stream) => memory::Pin::new(stream).poll_shutdown(context),
            Line::Secure(stream) => memory::Pin::new(stream).poll_shutdown(context),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tokio::io::{AsyncReadExt, AsyncWriteExt};
    use tokio::net::TcpListener;

    /// What is told of a host that answers the beginning of a handshake like this, or not at all.
    async fn told(answer: Option<&[u8]>) -> String {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        let stream = TcpStream::connect(address).await.unwrap();
        let (mut host, _) = listener.accept().await.unwrap();
        let answering = async {
            let mut heard = [0; 64];
            host.read_exact(&mut heard).await.unwrap();
            match answer {
                Some(answer) => host.write_all(answer).await.unwrap(),
                None => std::future::pending().await,
            }
            drop(host);
        };
        let pin = Pin::of(b"abc");
        let handshake = handshake(stream, "tea:4177", pin);
        tokio::pin!(handshake);
        let error = tokio::select! {
            biased;
            () = answering => handshake.await.unwrap_err(),
            done = &mut handshake => done.unwrap_err(),
        };
        error.to_string()
    }

    #[tokio::test(start_paused = true)]
    async fn each_way_in_which_tls_does_not_come_about_has_its_sentence() {
        for (answer, words) in [
            (
                Some(&b"HTTP/1.1 400 Bad Request\r\n\r\n"[..]),
                "the host at tea:4177 speaks no TLS, so it is not the one of the pin; paste the whole line from the teacher's screen again",
            ),
            (
                Some(&[]),
                "the host broke off before TLS began; if that goes on, paste the whole line from the teacher's screen again",
            ),
            // A fatal alert: protocol version (RFC 8446 §6).
            (
                Some(&[21, 3, 3, 0, 2, 2, 70]),
                "the host there speaks another TLS than this seat, which knows TLS 1.3 alone; update the host's program",
            ),
            (
                None,
                "the host there began no TLS within 5 s; if that goes on, paste the whole line from the teacher's screen again",
            ),
        ] {
            assert_eq!(told(answer).await, words);
        }
    }
}
