//! TLS for a class that is opened: whose certificate, and where it is kept.

use crate::cli::{self, Open};
use crate::exit::Failure;
use crate::output::save_secret;
use host::tls::{Tls, fresh_certificate};
use room::TlsTerms;
use std::ffi::OsString;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};

/// What a ledger's own certificate ends in, behind the ledger's name.
const BESIDE: &str = "-tls.pem";

/// The TLS that was asked for, or else that the class had before: with the teacher's certificate, or with the one beside the ledger, which is made if it is not
/// there.
///
/// # Errors
/// A file can't be read or written, or is no certificate.
pub(super) fn of(asked: &Open, before: Option<TlsTerms>, ledger: &Path) -> Result<Option<Tls>, Failure> {
    let goes_on = before.map(|tls| if tls.only { cli::Tls::Only } else { cli::Tls::Too });
    let wanted = asked.tls.or(goes_on);
    let only = wanted == Some(cli::Tls::Only);
    if wanted == Some(cli::Tls::Off) {
        return Ok(None);
    }
    if let (Some(cert), Some(key)) = (&asked.cert, &asked.key) {
        let (certificate, secret) = (read(cert)?, read(key)?);
        let tls = Tls::of(&certificate, &secret, only);
        return tls.map(Some).map_err(|e| unused(&format!("{} and {}", cert.display(), key.display()), &e));
    }
    if wanted.is_none() {
        return Ok(None);
    }
    let path = beside(ledger);
    if !path.exists() {
        let made = fresh_certificate().map_err(|e| Failure { words: e.to_string(), code: 1 })?;
        save_secret(&path, made.as_bytes()).map_err(|e| Failure {
            words: format!("the certificate can't be kept in {}: {e}", path.display()),
            code: 1,
        })?;
    }
    let both = read(&path)?;
    Tls::of(&both, &both, only)
        .map(Some)
        .map_err(|e| unused(&format!("{} (take it away for a new one to be made)", path.display()), &e))
}

/// Where the certificate of a ledger lies.
fn beside(ledger: &Path) -> PathBuf {
    let mut name: OsString = ledger.as_os_str().into();
    name.push(BESIDE);
    name.into()
}

fn read(path: &Path) -> Result<Vec<u8>, Failure> {
    std::fs::read(path)
        .map_err(|e| Failure { words: format!("{} can't be read: {e}", path.display()), code: 1 })
}

fn unused(what: &str, why: &impl std::fmt::Display) -> Failure {
    Failure { words: format!("{what}: {why}"), code: 1 }
}

/// What is to be said of connections that others can read.
pub(super) fn notice(listen: SocketAddr, tls: Option<&Tls>) -> Option<String> {
    match tls {
        _ if listen.ip().is_loopback() => None,
        None => Some(
            "what seats say and hear can be read by others on this network; --tls lets them join unread".into(),
        ),
        Some(tls) if !tls.is_only() => Some(
            "seats that join without the pin can be read by others on this network; --tls=only keeps them out".into(),
        ),
        Some(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_network_that_others_can_read_is_said_once_and_a_machine_alone_is_not() {
        let text = fresh_certificate().unwrap();
        let tls = |only| Tls::of(text.as_bytes(), text.as_bytes(), only).unwrap();
        let (far, near) = (SocketAddr::from(([0, 0, 0, 0], 1)), SocketAddr::from(([127, 0, 0, 1], 1)));
        assert!(notice(far, None).is_some_and(|said| said.contains("--tls lets them join unread")));
        assert!(notice(far, Some(&tls(false))).is_some_and(|said| said.contains("--tls=only")));
        assert_eq!([notice(far, Some(&tls(true))), notice(near, None)], [None, None]);
    }
}
