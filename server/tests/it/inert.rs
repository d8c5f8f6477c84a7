//! What a person types or has in a file never acts on the terminal when a message quotes it.

use protocol::text::message;
use std::process::Command;

#[test]
fn no_message_about_what_was_typed_holds_a_character_that_acts() {
    let folder = tempfile::tempdir().unwrap();
    let odd = "a\u{9b}31m\u{1b}[2J\u{202e}\u{2028}b";
    let class = folder.path().join("class.toml");
    std::fs::write(&class, format!("title = \"{odd}\"\n{odd} = 1\n[[tea]]\nname = \"{odd}\"\n# {odd}\n"))
        .unwrap();
    let class = class.to_str().unwrap();
    let scores = folder.path().join("scores.csv");
    std::fs::write(&scores, format!("{odd}\n{odd}\n")).unwrap();
    for arguments in [
        &["plan", class][..],
        &["plan", odd],
        &["plan", class, "--seed", odd],
        &["open", class, "--pace", odd],
        &["review", odd],
        &["new", "-", "--tea", odd],
        &["new", "-", "--date", odd],
        &["enter", odd, scores.to_str().unwrap()],
        &[odd],
    ] {
        let run = Command::new(env!("CARGO_BIN_EXE_kettlecall")).args(arguments).output().unwrap();
        let said = String::from_utf8(run.stderr).unwrap();
        assert!(!run.status.success() && !said.is_empty(), "{arguments:?}");
        assert_eq!(*message(&said), *said, "{arguments:?}");
    }
}
