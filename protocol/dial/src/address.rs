//! The address of a host as a person types it.

use protocol::text;
use protocol::wire::DEFAULT_PORT;

/// `host`, `host:port`, `ip:port`, `[v6]:port` or a bare v6, with or without `ws://`, as `host:port`.
///
/// # Errors
/// A sentence saying what an address looks like.
pub fn host_address(raw: &str) -> Result<String, String> {
    let bare = match raw.trim().split_once("://") {
        Some((scheme, rest)) if scheme.eq_ignore_ascii_case("ws") => rest,
        Some((scheme, _)) if scheme.eq_ignore_ascii_case("wss") => {
            return Err(
                "leave out wss://; for TLS paste the line from the teacher's screen, with its --pin".into()
            );
        }
        Some((scheme, _)) => {
            let scheme = text::clean(scheme, 20);
            return Err(format!("a class is not reached by {scheme}://; leave that out: {}", how()));
        }
        None => raw.trim(),
    };
    let bare = bare.strip_suffix('/').unwrap_or(bare);
    let (host, port) = split(bare)?;
    let port = match port {
        None => DEFAULT_PORT,
        Some(port) => match port.parse::<u16>() {
            Ok(port) if port > 0 => port,
            _ => return Err(format!("`{port}` is no port; a port is a number from 1 to 65535")),
        },
    };
    Ok(format!("{host}:{port}"))
}

fn split(bare: &str) -> Result<(String, Option<&str>), String> {
    if bare.parse::<std::net::Ipv6Addr>().is_ok() {
        return Ok((format!("[{bare}]"), None));
    }
    if let Some((inside, after)) = bare.strip_prefix('[').and_then(|rest| rest.split_once(']')) {
        let port = if after.is_empty() { None } else { after.strip_prefix(':') };
        let known = inside.parse::<std::net::Ipv6Addr>().is_ok() && (after.is_empty() || port.is_some());
        return if known { Ok((format!("[{inside}]"), port)) } else { Err(how()) };
    }
    let (host, port) = match bare.split_once(':') {
        Some((host, port)) => (host, Some(port)),
        None => (bare, None),
    };
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_');
    if host.is_empty() || !host.chars().all(plain) {
        return Err(how());
    }
    Ok((host.to_string(), port))
}

fn how() -> String {
    "an address is a host's name or number, such as `192.168.1.20`, `tea.local:4177` or `[fe80::1]:4177`"
        .into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_is_taken_in_every_usual_form() {
        for (raw, taken) in [
            ("tea.local", "tea.local:4177"),
            ("tea.local:99", "tea.local:99"),
            ("10.0.0.7:5000", "10.0.0.7:5000"),
            ("[::1]:5000", "[::1]:5000"),
            ("[::1]", "[::1]:4177"),
            ("fe80::1", "[fe80::1]:4177"),
            ("ws://10.0.0.7", "10.0.0.7:4177"),
            ("WS://10.0.0.7", "10.0.0.7:4177"),
            ("ws://tea.local:99/", "tea.local:99"),
        ] {
            assert_eq!(host_address(raw).as_deref(), Ok(taken), "{raw}");
        }
    }

    #[test]
    fn an_address_that_is_none_says_what_one_looks_like() {
        for raw in ["", "a b", "[::1", "[::1]x", "host/path", "http://x", "a:b:c"] {
            assert!(host_address(raw).is_err(), "{raw}");
        }
        assert!(host_address("h:0").unwrap_err().contains("1 to 65535"));
        assert!(host_address("h:70000").unwrap_err().contains("1 to 65535"));
        assert!(host_address("wss://h").unwrap_err().contains("TLS"));
        for scheme in ["http", "HTTPS", "tcp"] {
            let words = host_address(&format!("{scheme}://h/")).unwrap_err();
            assert!(words.contains("an address is a host's name or number, such as"), "{words}");
        }
        let words = host_address("http://h").unwrap_err();
        assert!(
            words.starts_with("a class is not reached by http://; leave that out: an address is"),
            "{words}"
        );
    }
}
