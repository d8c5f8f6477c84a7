//! On which terms people come to a class that is opened: as asked, and else as before.

use crate::cli::{Open, Switch};
use host::tls::Tls;
use room::{DoorTerms, TlsTerms};

/// The terms from now on.
pub(super) fn of(asked: &Open, before: DoorTerms, tls: Option<&Tls>) -> DoorTerms {
    DoorTerms {
        by_name: asked.lobby.map_or(before.by_name, |lobby| lobby == Switch::On),
        places: asked.places.or(before.places),
        tls: tls.map(|tls| TlsTerms { only: tls.is_only(), pin: tls.pin() }),
    }
}

/// What is to be said of terms that go on without having been asked for, and of a certificate that is not the one of before.
pub(super) fn notices(asked: &Open, before: DoorTerms, now: DoorTerms) -> Vec<String> {
    let mut kept = Vec::new();
    if asked.lobby.is_none() && now.by_name {
        kept.push("people are let in by name (--lobby=off ends that)".to_string());
    }
    if let Some(places) = now.places.filter(|_| asked.places.is_none()) {
        kept.push(format!("{places} seats may be taken (--places N changes that)"));
    }
    if asked.tls.is_none() && now.tls.is_some() && before.tls.is_some() {
        kept.push("seats join over TLS (--tls=off ends that)".into());
    }
    let goes_on = (!kept.is_empty()).then(|| format!("as before: {}", kept.join("; ")));
    let is_other = before.tls.zip(now.tls).is_some_and(|(before, now)| before.pin != now.pin);
    let other = is_other.then(|| {
        "the certificate is not the one that this class had before: seats with the earlier pin can't come back. Open it with the --cert and --key of before, or give people the new line to join with".into()
    });
    let ended = (before.tls.is_some() && now.tls.is_none()).then(|| {
        "seats joined over TLS before, and no more: those that have the pin take no host without it; open it with --tls again, or tell people to type kettleseat ADDR --pin none --code CODE".into()
    });
    goes_on.into_iter().chain(other).chain(ended).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cli::{Cli, Command};
    use clap::Parser;
    use host::tls::fresh_certificate;

    fn asked(args: &[&str]) -> Open {
        let args = ["kettlecall", "open", "class.toml"].iter().chain(args);
        match Cli::parse_from(args).command {
            Command::Open(open) => *open,
            _ => unreachable!("`open` was typed"),
        }
    }

    fn tls(only: bool) -> Tls {
        let text = fresh_certificate().unwrap();
        Tls::of(text.as_bytes(), text.as_bytes(), only).unwrap()
    }

    #[test]
    fn what_is_not_asked_for_goes_on_and_is_said_in_a_line_and_what_is_asked_for_holds() {
        let before = DoorTerms { by_name: true, places: Some(12), tls: None };
        for (args, by_name, places, said) in [
            (
                &[][..],
                true,
                12,
                "as before: people are let in by name (--lobby=off ends that); 12 seats may be taken (--places N changes that)",
            ),
            (&["--lobby", "--places", "12"], true, 12, ""),
            (&["--lobby=off"], false, 12, "as before: 12 seats may be taken (--places N changes that)"),
            (&["--places=3"], true, 3, "as before: people are let in by name (--lobby=off ends that)"),
        ] {
            let now = of(&asked(args), before, None);
            assert_eq!((now.by_name, now.places), (by_name, Some(places)), "{args:?}");
            assert_eq!(notices(&asked(args), before, now).join(" | "), said, "{args:?}");
        }
        let fresh = of(&asked(&[]), DoorTerms::default(), None);
        assert_eq!((fresh, notices(&asked(&[]), fresh, fresh)), (DoorTerms::default(), vec![]));
    }

    #[test]
    fn tls_that_goes_on_ends_or_has_another_certificate_is_said() {
        let (one, other) = (tls(true), tls(true));
        let said = |args: &[&str], tls: Option<&Tls>| {
            let before = of(&asked(&[]), DoorTerms::default(), Some(&one));
            notices(&asked(args), before, of(&asked(args), before, tls)).join(" | ")
        };
        assert_eq!(said(&[], Some(&one)), "as before: seats join over TLS (--tls=off ends that)");
        assert_eq!(said(&["--tls=only"], Some(&one)), "");
        assert!(said(&["--tls=only"], Some(&other)).starts_with("the certificate is not the one"));
        assert!(said(&["--tls=off"], None).starts_with("seats joined over TLS before, and no more"));
    }
}
