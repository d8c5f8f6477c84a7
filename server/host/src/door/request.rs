//! What is asked for before a connection is a seat's: a WebSocket, or a page in a browser.

use super::names::Names;
use http_body_util::Full;
use hyper::body::Bytes;
use hyper::header::{self, HeaderMap, HeaderName, HeaderValue};
use hyper::{Method, Request, Response, StatusCode, Version};
use protocol::text;
use tokio_tungstenite::tungstenite::handshake::server::create_response;

/// What goes with every answer: nothing of it may be shown by another page, run anything, or tell where it was.
const EVERY_ANSWER: [(HeaderName, &str); 4] = [
    (
        header::CONTENT_SECURITY_POLICY,
        "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    ),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::REFERRER_POLICY, "no-referrer"),
    (header::CACHE_CONTROL, "no-store"),
];

/// The answer to a request; 101 if it is a WebSocket from now on. `fit` says whether a seat may come over this connection.
pub(super) fn answer<B>(request: &Request<B>, names: &Names, fit: bool) -> Response<Full<Bytes>> {
    let mut response = match taken(request, names, fit) {
        Ok(()) => switching(request),
        Err((status, words)) => said(status, &words),
    };
    if response.status() == StatusCode::METHOD_NOT_ALLOWED {
        response.headers_mut().insert(header::ALLOW, HeaderValue::from_static("GET"));
    }
    dress(&mut response);
    response
}

fn dress(response: &mut Response<Full<Bytes>>) {
    for (name, value) in EVERY_ANSWER {
        response.headers_mut().insert(name, HeaderValue::from_static(value));
    }
}

/// What whoever sent no request is told, byte by byte; nothing where they have gone, or were only slow.
pub(super) fn unread(error: &hyper::Error) -> Option<Vec<u8>> {
    if !error.is_parse() {
        return None;
    }
    let (status, words) = if error.is_parse_version_h2() {
        (
            StatusCode::HTTP_VERSION_NOT_SUPPORTED,
            "this host speaks HTTP/1.1 and no HTTP/2; join it with kettleseat",
        )
    } else if error.is_parse_too_large() {
        let status = StatusCode::REQUEST_HEADER_FIELDS_TOO_LARGE;
        (status, "a request here may have 16 kB, and this one has more; join with kettleseat")
    } else {
        (StatusCode::BAD_REQUEST, "this is no request that this host can read; join it with kettleseat")
    };
    Some(plain(status, words))
}

/// A whole answer as it goes over the wire.
fn plain(status: StatusCode, words: &str) -> Vec<u8> {
    let mut response = said(status, words);
    dress(&mut response);
    let mut head = format!("HTTP/1.1 {status}\r\ncontent-length: {}\r\n", words.len() + 1).into_bytes();
    for (name, value) in response.headers() {
        head.extend([name.as_str().as_bytes(), b": ", value.as_bytes(), b"\r\n"].concat());
    }
    head.extend(format!("\r\n{words}\n").into_bytes());
    head
}

/// Whether a request may become a seat's connection; else what it is told.
fn taken<B>(request: &Request<B>, names: &Names, fit: bool) -> Result<(), (StatusCode, String)> {
    let headers = request.headers();
    let named = one(headers, header::HOST).unwrap_or_default();
    // `GET http://NAME/`: the name in it is the one asked for (RFC 9112 §3.2.2), and neither may be another's.
    let host = request.uri().authority().map_or(named, |authority| authority.as_str());
    if let Some(foreign) = [named, host].into_iter().find(|name| !names.have(name)) {
        return Err((StatusCode::MISDIRECTED_REQUEST, not_ours(foreign)));
    }
    if headers.contains_key(header::ORIGIN)
        && !one(headers, header::ORIGIN).is_some_and(|origin| is_of(origin, host))
    {
        let words = "a page of another site may not speak to this host";
        return Err((StatusCode::FORBIDDEN, words.into()));
    }
    if request.method() != Method::GET {
        return Err((StatusCode::METHOD_NOT_ALLOWED, "only GET is answered here".into()));
    }
    if request.uri().path() != "/" {
        return Err((StatusCode::NOT_FOUND, format!("nothing is here; {}", how_to_join(host))));
    }
    if !fit {
        let words = "this class is held over TLS alone; paste the whole line that the teacher's screen shows, with its --pin";
        return Err((StatusCode::UPGRADE_REQUIRED, words.into()));
    }
    let upgrades = request.version() >= Version::HTTP_11 && headers.contains_key(header::UPGRADE);
    if upgrades { Ok(()) } else { Err((StatusCode::OK, how_to_join(host))) }
}

/// A header that is there once and can be read.
fn one(headers: &HeaderMap, name: HeaderName) -> Option<&str> {
    let mut all = headers.get_all(name).iter();
    let first = all.next()?.to_str().ok()?;
    all.next().is_none().then_some(first)
}

/// Whether an origin (RFC 6454) is that of the host asked for.
fn is_of(origin: &str, host: &str) -> bool {
    let site = ["http://", "https://"].iter().find_map(|scheme| origin.strip_prefix(scheme));
    site.is_some_and(|site| site.eq_ignore_ascii_case(host))
}

fn how_to_join(host: &str) -> String {
    format!(
        "this is the host of a tea tasting; a seat joins it from a terminal, with the join code that the teacher shows: kettleseat {host}"
    )
}

fn not_ours(host: &str) -> String {
    let name = text::clean(super::names::without_port(host), 60);
    let remedy = "ask for it by its address, as the teacher's screen shows it";
    if name.is_empty() {
        return format!("no host was named; {remedy}");
    }
    format!(
        "this host does not go by the name {name}; {remedy}, or have the class opened with: --name {name}"
    )
}

/// The handshake of RFC 6455, or what is wrong with it.
fn switching<B>(request: &Request<B>) -> Response<Full<Bytes>> {
    let mut asked = Request::new(());
    *asked.method_mut() = request.method().clone();
    *asked.version_mut() = request.version();
    *asked.uri_mut() = request.uri().clone();
    *asked.headers_mut() = request.headers().clone();
    match create_response(&asked) {
        Ok(response) => response.map(|()| Full::default()),
        Err(error) => {
            let what = text::clean(&error.to_string(), 200);
            said(StatusCode::BAD_REQUEST, &format!("this is no handshake of a WebSocket: {what}"))
        }
    }
}

fn said(status: StatusCode, words: &str) -> Response<Full<Bytes>> {
    let mut response = Response::new(Full::from(format!("{words}\n")));
    *response.status_mut() = status;
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static("text/plain; charset=utf-8"));
    // No connection lives on that is no seat's.
    headers.insert(header::CONNECTION, HeaderValue::from_static("close"));
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    const HANDSHAKE: [(&str, &str); 5] = [
        ("host", "192.0.2.7:4177"),
        ("connection", "Upgrade"),
        ("upgrade", "websocket"),
        ("sec-websocket-version", "13"),
        ("sec-websocket-key", "dGhlIHNhbXBsZSBub25jZQ=="),
    ];

    fn asked(method: Method, path: &str, headers: &[(&str, &str)]) -> Request<()> {
        let mut request = Request::builder().method(method).uri(path);
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        request.body(()).unwrap()
    }

    /// The status and what a person reads.
    fn told(request: &Request<()>, fit: bool) -> (u16, String) {
        let response = answer(request, &Names::default(), fit);
        for (name, value) in EVERY_ANSWER {
            assert_eq!(response.headers()[name], value);
        }
        (response.status().as_u16(), format!("{:?}", response.body()))
    }

    fn with(more: &[(&str, &str)]) -> Request<()> {
        let kept = HANDSHAKE.iter().filter(|(name, _)| more.iter().all(|(other, _)| other != name));
        let headers: Vec<(&str, &str)> = kept.chain(more).copied().collect();
        asked(Method::GET, "/", &headers)
    }

    /// Key and answer are the example of RFC 6455 §1.3.
    #[test]
    fn a_handshake_of_a_websocket_is_answered_as_its_standard_says() {
        let response = answer(&with(&[]), &Names::default(), true);
        assert_eq!(response.status(), StatusCode::SWITCHING_PROTOCOLS);
        assert_eq!(response.headers()["sec-websocket-accept"], "s3pPLMBiTxaQ9kYGzzhZRbK+xOo=");
    }

    #[test]
    fn a_page_of_another_site_is_kept_out_and_one_of_this_host_and_a_program_are_not() {
        for origin in ["http://192.0.2.7:4177", "https://192.0.2.7:4177", "HTTP://192.0.2.7:4177"] {
            let status = told(&with(&[("origin", origin)]), true).0;
            assert_eq!(status, if origin.starts_with("HTTP") { 403 } else { 101 }, "{origin}");
        }
        for origin in
            ["https://evil.example", "null", "http://192.0.2.7", "http://192.0.2.7:4177.evil.example"]
        {
            assert_eq!(told(&with(&[("origin", origin)]), true).0, 403, "{origin}");
        }
        let twice = with(&[("origin", "http://192.0.2.7:4177"), ("origin", "https://evil.example")]);
        assert_eq!(told(&twice, true).0, 403);
    }

    #[test]
    fn a_host_asked_for_by_a_name_that_is_not_its_own_says_by_which_it_can_be() {
        let (status, said) = told(&with(&[("host", "evil.example:4177")]), true);
        assert_eq!(status, 421);
        assert!(said.contains("does not go by the name evil.example; ask for it by its address"), "{said}");
        assert!(said.contains("--name evil.example"), "{said}");
        assert_eq!(told(&with(&[("host", "")]), true).0, 421);
        assert_eq!(
            told(&with(&[("host", "192.0.2.7"), ("host", "evil.example")]), true).0,
            421,
            "two of them"
        );
    }

    #[test]
    fn a_name_in_the_request_itself_is_held_to_the_same_rule() {
        for (uri, host, status) in [
            ("http://192.0.2.7:4177/", "192.0.2.7:4177", 200),
            ("http://evil.example/", "192.0.2.7:4177", 421),
            ("http://192.0.2.7@evil.example/", "192.0.2.7:4177", 421),
            ("http://x@192.0.2.7/", "192.0.2.7:4177", 421),
            ("http://192.0.2.7:4177/", "evil.example", 421),
            ("http://192.0.2.7:4177/admin", "192.0.2.7:4177", 404),
        ] {
            assert_eq!(told(&asked(Method::GET, uri, &[("host", host)]), true).0, status, "{uri} {host}");
        }
    }

    #[test]
    fn whoever_asks_for_a_page_hears_how_to_join_and_nothing_of_the_class() {
        let host = [("host", "localhost:4177")];
        let (status, said) = told(&asked(Method::GET, "/", &host), true);
        assert_eq!(status, 200);
        assert!(said.contains("kettleseat localhost:4177"), "{said}");
        assert_eq!(told(&asked(Method::GET, "/admin", &host), true).0, 404);
        assert_eq!(told(&asked(Method::GET, "/../../etc/passwd", &host), true).0, 404);
        for method in [Method::POST, Method::PUT, Method::DELETE, Method::OPTIONS, Method::HEAD] {
            let response = answer(&asked(method, "/", &host), &Names::default(), true);
            assert_eq!(
                (response.status().as_u16(), &response.headers()["allow"]),
                (405, &"GET".parse().unwrap())
            );
        }
    }

    #[test]
    fn a_class_over_tls_alone_says_so_to_whoever_comes_without() {
        let (status, said) = told(&with(&[]), false);
        assert_eq!(status, 426);
        assert!(
            said.contains("paste the whole line that the teacher's screen shows, with its --pin"),
            "{said}"
        );
    }

    #[test]
    fn a_broken_handshake_is_told_what_is_wrong() {
        let (status, said) = told(&with(&[("sec-websocket-version", "8")]), true);
        assert_eq!(status, 400);
        assert!(said.contains("this is no handshake of a WebSocket"), "{said}");
    }
}
