//! The program itself, from the outside.
#![expect(clippy::unwrap_used, reason = "a test may stop at the first surprise, also beside a test function")]

use std::io::{BufRead, BufReader, Write};
use std::net::TcpListener;
use std::process::{Child, Command, Output, Stdio};

fn kettleseat(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_kettleseat"));
    command.args(arguments).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    command
}

fn run(arguments: &[&str]) -> (i32, String, String) {
    let Output { status, stdout, stderr } = kettleseat(arguments).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (status.code().unwrap(), text(stdout), text(stderr))
}

/// An address of this machine where nobody listens.
fn nobody() -> String {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    listener.local_addr().unwrap().to_string()
}

fn wait_for_line(child: &mut Child, words: &str) -> BufReader<std::process::ChildStdout> {
    let mut lines = BufReader::new(child.stdout.take().unwrap());
    let mut line = String::new();
    while lines.read_line(&mut line).unwrap() > 0 {
        if line.contains(words) {
            return lines;
        }
        line.clear();
    }
    panic!("the program ended without saying `{words}`");
}

#[test]
fn help_tells_the_exit_codes() {
    let (code, stdout, _) = run(&["--help"]);
    assert_eq!(code, 0);
    assert!(stdout.contains("the host refused the seat for good"));
}

#[test]
fn a_wrong_command_line_ends_with_2_and_says_what_is_wrong() {
    for (arguments, words) in [
        (&["tea.local"][..], "--name"),
        (&["not an address", "--name", "Ann"], "an address is a host's name or number"),
        (&["tea.local", "--name", "  "], "at least one letter or digit"),
        (&["tea.local", "--name", "Ann", "--pourer", "0"], "0 is not in 1.."),
        (&["tea.local:1\u{9b}31m\u{202e}", "--name", "Ann"], "is no port"),
    ] {
        let (code, _, stderr) = run(arguments);
        assert_eq!(protocol::text::message(&stderr), stderr, "what was typed never acts");
        assert_eq!(code, 2, "{arguments:?}");
        assert!(stderr.contains(words), "{arguments:?}: {stderr}");
    }
}

#[test]
fn a_seat_whose_file_cannot_be_used_ends_with_1() {
    let directory = tempfile::tempdir().unwrap();
    let keep = directory.path().to_str().unwrap();
    let (code, _, stderr) = run(&[&nobody(), "--name", "Ann", "--plain", "--keep", keep]);
    assert_eq!(code, 1);
    assert!(stderr.contains("give another place with --keep"), "{stderr}");
    assert!(!stderr.contains("os error"), "{stderr}");
}

#[test]
fn with_nobody_listening_it_keeps_trying_and_says_so_until_it_is_left() {
    let directory = tempfile::tempdir().unwrap();
    let keep = directory.path().join("seat.json");
    let keep = keep.to_str().unwrap();
    let mut child = kettleseat(&[&nobody(), "--name", "Ann", "--plain", "--keep", keep]).spawn().unwrap();
    let _lines = wait_for_line(&mut child, "no link: can't reach the host");
    child.stdin.as_mut().unwrap().write_all(b"dance\nleave\n").unwrap();
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

#[test]
fn without_arguments_it_asks_for_the_address_and_the_name() {
    let directory = tempfile::tempdir().unwrap();
    let keep = directory.path().join("seat.json");
    let mut child = kettleseat(&["--plain", "--keep", keep.to_str().unwrap()]).spawn().unwrap();
    let typed = format!("http://tea.local\n{}\n  \nAnn\nleave\n", nobody());
    child.stdin.as_mut().unwrap().write_all(typed.as_bytes()).unwrap();
    let Output { status, stdout, .. } = child.wait_with_output().unwrap();
    let said = String::from_utf8(stdout).unwrap();
    assert_eq!(status.code(), Some(0), "{said}");
    assert!(
        said.starts_with("The address on the teacher's screen: a class is not reached by http://"),
        "{said}"
    );
    assert_eq!(said.matches("Your name: ").count(), 2, "a blank name is asked for again: {said}");
}

#[test]
fn an_address_at_which_no_class_is_open_is_told_once_with_what_to_do() {
    let directory = tempfile::tempdir().unwrap();
    let keep = directory.path().join("seat.json");
    let address = nobody();
    let arguments = [&address, "--name", "Ann", "--plain", "--keep", keep.to_str().unwrap()];
    let mut child = kettleseat(&arguments).spawn().unwrap();
    let mut lines =
        wait_for_line(&mut child, &format!("no link: can't reach the host: no class is open at {address}"));
    let mut next = String::new();
    lines.read_line(&mut next).unwrap();
    assert!(next.starts_with("  compare the address with the one on the teacher's screen"), "{next}");
    child.stdin.as_mut().unwrap().write_all(b"leave\n").unwrap();
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

#[cfg(unix)]
#[test]
fn an_interrupt_leaves_at_once_even_while_nothing_is_typed() {
    let directory = tempfile::tempdir().unwrap();
    let keep = directory.path().join("seat.json");
    let keep = keep.to_str().unwrap();
    let mut child = kettleseat(&[&nobody(), "--name", "Ann", "--plain", "--keep", keep]).spawn().unwrap();
    let _lines = wait_for_line(&mut child, "no link");
    let killed = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(killed.success());
    assert_eq!(child.wait().unwrap().code(), Some(0));
}
