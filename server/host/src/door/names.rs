//! Under which names a host may be asked for.
//!
//! A page from anywhere can have its own name point at this machine's address (rebinding) and so speak to the class as if it
//! were of the same site. Such a request bears that page's name as `Host`, which is none of ours.

use std::net::IpAddr;

/// The names of this machine, beside its addresses and `localhost`.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Names(Vec<String>);

impl Names {
    /// The machine's own name, as its system has it, and those that the teacher gave.
    pub fn of(machine: Option<&str>, given: &[String]) -> Self {
        let machine = machine.map(plain).filter(|name| !name.is_empty());
        let first = machine.as_deref().and_then(|name| name.split('.').next()).map(str::to_string);
        let local = first.as_ref().map(|first| format!("{first}.local"));
        let given = given.iter().map(|name| plain(name));
        let mut names: Vec<String> = machine.into_iter().chain(first).chain(local).chain(given).collect();
        names.sort();
        names.dedup();
        Self(names)
    }

    /// Whether a `Host` header is one of this machine's: an address, `localhost` or a known name, with a port or without.
    pub(super) fn have(&self, host: &str) -> bool {
        let name = plain(without_port(host));
        let address = name.strip_prefix('[').and_then(|inside| inside.strip_suffix(']')).unwrap_or(&name);
        address.parse::<IpAddr>().is_ok() || name == "localhost" || self.0.contains(&name)
    }
}

/// A name that the teacher gives the machine, if it can be one: letters, digits, `-`, `_` and dots, or an address.
///
/// # Errors
/// What is wrong with it, in words.
pub fn given(text: &str) -> Result<String, String> {
    let name = text.trim();
    let bare = name.strip_prefix('[').and_then(|inside| inside.strip_suffix(']')).unwrap_or(name);
    if bare.parse::<IpAddr>().is_ok() {
        return Ok(name.into());
    }
    let remedy = "give the name alone, for example tasting.example, without http:// and without a port";
    if name.contains("//") || name.contains('/') {
        return Err(format!("that is the address of a page; {remedy}"));
    }
    if name.contains(':') {
        return Err(format!("a name has no port; {remedy}"));
    }
    let is_label = |label: &str| {
        !label.is_empty()
            && label.len() <= 63
            && label.bytes().all(|b| b.is_ascii_alphanumeric() || b"-_".contains(&b))
    };
    // As long as names can be (RFC 1035 §2.3.4).
    let whole = name.strip_suffix('.').unwrap_or(name);
    match whole.len() <= 253 && whole.split('.').all(is_label) {
        true => Ok(name.into()),
        false => {
            Err(format!("a machine's name has letters, digits, dashes and dots, and nothing else; {remedy}"))
        }
    }
}

/// A name as it is compared: of any case, with a dot at the end or without (RFC 1034 §3.1).
fn plain(name: &str) -> String {
    let name = name.trim();
    name.strip_suffix('.').unwrap_or(name).to_ascii_lowercase()
}

/// `name:port` without its port; the colons of an address in brackets are its own (RFC 3986 §3.2.2).
pub(super) fn without_port(host: &str) -> &str {
    match host.rsplit_once(':') {
        Some((name, port)) if port.bytes().all(|b| b.is_ascii_digit()) && !name.ends_with(':') => name,
        _ => host,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_host_goes_by_its_addresses_its_names_and_no_other() {
        let names = Names::of(Some("Teapot.school.example"), &["tasting.example".into()]);
        for host in [
            "192.0.2.7:4177",
            "192.0.2.7",
            "[2001:db8::7]:4177",
            "[::1]",
            "localhost:4177",
            "LOCALHOST",
            "teapot",
            "teapot.local:4177",
            "teapot.local.",
            "Teapot.School.example",
            "tasting.example:80",
        ] {
            assert!(names.have(host), "{host}");
        }
        for host in [
            "",
            ":4177",
            "evil.example",
            "evil.example:4177",
            "localhost.evil.example",
            "teapot.evil.example",
            "192.0.2.7.evil.example",
            "x@192.0.2.7",
            "teapot:4177:4177",
            "[::1]x",
        ] {
            assert!(!names.have(host), "{host}");
        }
    }

    #[test]
    fn a_name_that_is_given_is_a_name_alone() {
        for name in [
            "tasting.example",
            "teapot",
            "Tea-pot.local.",
            "tea_1",
            "192.0.2.7",
            "[2001:db8::7]",
            "2001:db8::7",
        ] {
            assert_eq!(given(name).as_deref(), Ok(name));
        }
        for (name, why) in [
            ("https://x", "that is the address of a page"),
            ("x/y", "that is the address of a page"),
            ("host:80", "a name has no port"),
            ("a b", "a machine's name has"),
            ("", "a machine's name has"),
            ("a..b", "a machine's name has"),
            ("caf\u{e9}", "a machine's name has"),
        ] {
            let said = given(name).unwrap_err();
            assert!(said.starts_with(why) && said.contains("for example tasting.example"), "{name}: {said}");
        }
    }

    #[test]
    fn a_machine_without_a_name_has_its_addresses() {
        for names in [Names::of(None, &[]), Names::of(Some(""), &[])] {
            assert!(names.have("192.0.2.7:4177") && names.have("localhost") && !names.have(".local"));
        }
    }
}
