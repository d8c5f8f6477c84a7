//! Before anybody is a seat: requests for pages, names that are not this host's, TLS with a pin.

use std::io::{Read, Write};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::{Arc, Mutex};
use tests::program::{Running, path};

const CLASS: &str = include_str!("../../classes/four-by-three.toml");

/// A host with these flags beside, at any free port of this machine, and its address.
fn host(folder: &Path, more: &[&str]) -> (Running, String) {
    let class = folder.join("class.toml");
    std::fs::write(&class, CLASS).unwrap();
    let anywhere: &[&str] = if more.contains(&"--listen") { &[] } else { &["--listen", "127.0.0.1:0"] };
    let host = Running::start("kettlecall", &[&["open", class.to_str().unwrap()], anywhere, more].concat());
    let line = host.wait_for("listening: ");
    let address = line.trim_start_matches("listening: ").to_string();
    (host, address)
}

/// The line to join with as a host shows it, pasted by somebody of this name.
fn pasted(host: &Running, name: &str, folder: &Path) -> Running {
    let line = host.wait_for("join: ");
    joined(line.trim_start_matches("join: kettleseat "), name, folder)
}

fn joined(flags: &str, name: &str, folder: &Path) -> Running {
    let flags = flags.replace("YOUR-NAME", name);
    let keep = folder.join(format!("{name}.seat"));
    let mut args: Vec<&str> = flags.split_whitespace().collect();
    args.extend(["--plain", "--keep", keep.to_str().unwrap()]);
    Running::start("kettleseat", &args)
}

/// The exit code and the last words of a program that ends by itself.
fn ends(name: &str, flags: &str) -> (i32, String) {
    let flags: Vec<&str> = flags.split_whitespace().collect();
    let done = Command::new(path(name)).args(flags).stdin(Stdio::null()).output().unwrap();
    (done.status.code().unwrap(), String::from_utf8(done.stderr).unwrap())
}

/// What is answered to a request, to the end of the connection.
fn answer(address: &str, request: &str) -> String {
    let mut stream = TcpStream::connect(address).unwrap();
    stream.write_all(request.as_bytes()).unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    answer
}

/// A way to a host on which all is kept that passes, both directions in one; and its address.
fn overheard(to: String) -> (String, Arc<Mutex<Vec<u8>>>) {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let (address, heard) = (listener.local_addr().unwrap().to_string(), Arc::new(Mutex::new(Vec::new())));
    let kept = heard.clone();
    std::thread::spawn(move || {
        for near in listener.incoming() {
            let (near, far) = (near.unwrap(), TcpStream::connect(&to).unwrap());
            for (mut from, mut on) in [(near.try_clone().unwrap(), far.try_clone().unwrap()), (far, near)] {
                let kept = kept.clone();
                std::thread::spawn(move || {
                    let mut bytes = [0; 4096];
                    while let Ok(count @ 1..) = from.read(&mut bytes) {
                        kept.lock().unwrap().extend_from_slice(&bytes[..count]);
                        if on.write_all(&bytes[..count]).is_err() {
                            break;
                        }
                    }
                    let _ = on.shutdown(Shutdown::Both);
                });
            }
        }
    });
    (address, heard)
}

#[test]
fn whoever_asks_for_a_page_is_told_in_a_sentence_and_a_page_of_elsewhere_is_kept_out() {
    let folder = tempfile::tempdir().unwrap();
    let (mut host, address) = host(folder.path(), &["--name", "tasting.example"]);
    let handshake = "Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n";
    for (request, status, words) in [
        (format!("GET / HTTP/1.1\r\nHost: {address}\r\n\r\n"), "200", format!("kettleseat {address}")),
        (format!("GET /admin HTTP/1.1\r\nHost: {address}\r\n\r\n"), "404", "nothing is here".into()),
        (
            format!("POST / HTTP/1.1\r\nHost: {address}\r\nContent-Length: 2\r\n\r\nhi"),
            "405",
            "only GET".into(),
        ),
        (
            format!("GET / HTTP/1.1\r\nHost: evil.example\r\n{handshake}\r\n"),
            "421",
            "by the name evil.example".into(),
        ),
        (
            format!("GET / HTTP/1.1\r\nHost: {address}\r\nOrigin: https://evil.example\r\n{handshake}\r\n"),
            "403",
            "a page of another site".into(),
        ),
        (
            "GET / HTTP/1.1\r\nHost: tasting.example\r\n\r\n".into(),
            "200",
            "kettleseat tasting.example".into(),
        ),
        (
            format!("GET / HTTP/1.1\r\nHost: {address}\r\nX: {}\r\n\r\n", "x".repeat(20_000)),
            "431",
            "a request here may have 16 kB".into(),
        ),
        ("nonsense\r\n\r\n".into(), "400", "this is no request that this host can read".into()),
        ("GET / HTTP/7.7\r\n\r\n".into(), "400", "this is no request".into()),
        ("PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n".into(), "505", "no HTTP/2".into()),
        (
            format!("GET http://evil.example/ HTTP/1.1\r\nHost: {address}\r\n\r\n"),
            "421",
            "by the name evil.example".into(),
        ),
        (
            format!("GET http://{address}/ HTTP/1.1\r\nHost: {address}\r\n\r\n"),
            "200",
            format!("kettleseat {address}"),
        ),
    ] {
        let said = answer(&address, &request);
        assert!(said.starts_with(&format!("HTTP/1.1 {status} ")) && said.contains(&words), "{request}{said}");
        assert!(!said.contains("Four by three"), "{said}");
        let lower = said.to_ascii_lowercase();
        for header in ["content-security-policy: default-src 'none'", "x-content-type-options: nosniff"] {
            assert_eq!(lower.matches(header).count(), 1, "{request}{said}");
        }
        let answers = lower.lines().filter(|line| line.starts_with("http/1.1 "));
        assert_eq!(answers.count(), 1, "{said}");
    }
    host.type_in("stop");
    assert_eq!(host.end().0, 0);
}

#[test]
fn a_pasted_line_joins_over_tls_unread_and_under_another_pin_nobody_is_taken_for_the_class() {
    let folder = tempfile::tempdir().unwrap();
    let (mut host, address) = host(folder.path(), &["--tls=only"]);
    let line = host.wait_for("join: ");
    let (way, heard) = overheard(address.clone());
    let flags = line.trim_start_matches("join: kettleseat ").replace(&address, &way);
    let ann = joined(&flags, "Annabel", folder.path());
    ann.wait_for("Four by three");
    host.wait_for("Annabel");
    let heard = heard.lock().unwrap().clone();
    for words in ["Annabel", "Four by three", "welcome", "join_code"] {
        assert!(!heard.windows(words.len()).any(|part| part == words.as_bytes()), "{words}");
    }
    let pin = flags.split_whitespace().skip_while(|word| *word != "--pin").nth(1).unwrap();
    let wrong = joined(&flags.replace(pin, "AAAAA-AAAAA-AAAAA-AAAAA"), "Ben", folder.path());
    assert_eq!(wrong.end().0, 3);
    let keep = folder.path().join("Cy.seat");
    let without = flags.replace(&format!(" --pin {pin}"), "").replace("YOUR-NAME", "Cy");
    let (code, said) = ends("kettleseat", &format!("{without} --plain --keep {}", keep.display()));
    assert!(
        code == 3 && said.contains("this class is held over TLS alone; paste the whole line"),
        "{code} {said}"
    );
    host.type_in("stop");
    let (code, lines) = host.end();
    assert!(code == 0 && !lines.iter().any(|line| line.contains("Ben") || line.contains("Cy")), "{lines:#?}");
}

#[test]
fn a_certificate_is_made_once_kept_for_its_owner_alone_and_seats_may_come_without_it_too() {
    let folder = tempfile::tempdir().unwrap();
    let (mut first, _) = host(folder.path(), &["--tls"]);
    let pin = |host: &Running| {
        let line = host.wait_for("join: ");
        line.split_whitespace().skip_while(|word| *word != "--pin").nth(1).unwrap().to_string()
    };
    let made = pin(&first);
    let plain = {
        let line = first.wait_for("join: ");
        let flags = line.trim_start_matches("join: kettleseat ").replace(&format!(" --pin {made}"), "");
        joined(&flags, "Cy", folder.path())
    };
    plain.wait_for("Four by three");
    let ann = pasted(&first, "Ann", folder.path());
    ann.wait_for("Four by three");
    first.type_in("stop");
    assert_eq!(first.end().0, 0);
    let file = folder.path().join("class.ledger-tls.pem");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        assert_eq!(std::fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o600);
    }
    let (mut again, _) = host(folder.path(), &["--tls"]);
    assert_eq!(pin(&again), made);
    again.type_in("stop");
    assert_eq!(again.end().0, 0);
    let (cert, key) = (file.to_str().unwrap(), file.to_str().unwrap());
    let (mut own, _) = host(folder.path(), &["--cert", cert, "--key", key]);
    assert_eq!(pin(&own), made, "a certificate of the teacher's own is known by its pin as well");
    own.type_in("stop");
    assert_eq!(own.end().0, 0);
}

#[test]
fn a_pin_for_a_host_that_speaks_no_tls_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let (mut host, address) = host(folder.path(), &[]);
    let (code, words) =
        ends("kettleseat", &format!("{address} --pin AAAAA-AAAAA-AAAAA-AAAAA --name Dot --plain"));
    let said =
        format!("the host at {address} speaks no TLS, so it is not the one of the pin; paste the whole line");
    assert!(code == 3 && words.contains(&said), "{words}");
    host.type_in("stop");
    assert_eq!(host.end().0, 0);
}

#[test]
fn a_pin_that_was_given_once_is_kept_and_no_other_certificate_is_taken_there_until_the_person_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let (mut first, address) = host(folder.path(), &["--tls=only"]);
    let leaves = |mut seat: Running| {
        seat.wait_for("seated as Ann");
        seat.type_in("leave");
        assert_eq!(seat.end().0, 0);
    };
    leaves(pasted(&first, "Ann", folder.path()));
    // Without a pin only a seat that keeps it can have come: plain connections are turned away.
    leaves(joined(&format!("{address} --name Ann"), "Ann", folder.path()));
    first.type_in("stop");
    assert_eq!(first.end().0, 0);
    // Another certificate at that address.
    std::fs::remove_file(folder.path().join("class.ledger-tls.pem")).unwrap();
    let (mut second, _) = host(folder.path(), &["--tls=only", "--listen", &address]);
    let plain = joined(&format!("{address} --name Ann"), "Ann", folder.path());
    assert_eq!(plain.end().0, 3);
    leaves(pasted(&second, "Ann", folder.path()));
    leaves(joined(&format!("{address} --name Ann"), "Ann", folder.path()));
    second.type_in("stop");
    assert_eq!(second.end().0, 0);
    let (mut third, _) = host(folder.path(), &["--tls=off", "--listen", &address]);
    let kept = joined(&format!("{address} --name Ann"), "Ann", folder.path());
    assert_eq!(kept.end().0, 3);
    // The same class without its certificate: who asks for no pin gives it nothing, unless the code is typed as well.
    assert_eq!(joined(&format!("{address} --name Ann --pin none"), "Ann", folder.path()).end().0, 3);
    let line = third.wait_for("join: ").replace("join: kettleseat ", "").replace("YOUR-NAME", "Ann");
    leaves(joined(&format!("{line} --pin none"), "Ann", folder.path()));
    third.type_in("stop");
    assert_eq!(third.end().0, 0);
}

/// Both who send nothing and who begin as a seat does and then are silent.
#[cfg(unix)]
#[test]
fn under_a_low_limit_of_open_files_hundreds_who_say_nothing_keep_nobody_out() {
    let folder = tempfile::tempdir().unwrap();
    let class = folder.path().join("class.toml");
    std::fs::write(&class, CLASS).unwrap();
    let args = ["open", class.to_str().unwrap(), "--listen", "127.0.0.1:0"];
    let mut host = Running::start_with_files(256, "kettlecall", &args);
    let line = host.wait_for("listening: ");
    let address = line.trim_start_matches("listening: ");
    let knock = format!(
        "GET / HTTP/1.1\r\nHost: {address}\r\nConnection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n"
    );
    let silent: Vec<TcpStream> = (0..400)
        .map(|n| {
            let mut stream = TcpStream::connect(address).unwrap();
            // One that had to go already may have gone before it is heard.
            if n % 2 == 1 {
                let _ = stream.write_all(knock.as_bytes());
            }
            stream
        })
        .collect();
    pasted(&host, "Ann", folder.path()).wait_for("Four by three");
    drop(silent);
    host.type_in("stop");
    let (code, lines) = host.end();
    let short = lines.iter().find(|line| line.contains("no more connections") || line.contains("open files"));
    assert_eq!((code, short), (0, None), "{lines:#?}");
}
