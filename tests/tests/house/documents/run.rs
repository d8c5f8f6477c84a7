//! Runs the console blocks of one page in one folder: what is typed, what must come, and how the programs end.

use super::page::Block;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::Duration;
use tests::program::path;

/// How long a line that has to come may take.
const PATIENCE: Duration = Duration::from_secs(60);
/// The host's address in the documents when all sit at one machine; the test lets the host take any free port instead.
const DOCUMENTED: &str = "127.0.0.1:4177";
/// The same when they do not (RFC 5737 keeps it for documents).
const ELSEWHERE: &str = "192.0.2.7:4177";

/// The join code in the documents; each class draws its own.
const DOCUMENTED_CODE: &str = "KX7M-QR4T";

/// A program at work and how far its output has been read.
struct Terminal {
    child: Child,
    lines: Receiver<String>,
    /// Whether it goes on until somebody ends it.
    stays: bool,
}

impl Drop for Terminal {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The terminals of one page.
pub struct Session<'a> {
    folder: &'a Path,
    /// The host's address as it really is.
    address: String,
    /// The join code as it really is.
    code: String,
    terminals: BTreeMap<String, Terminal>,
}

impl<'a> Session<'a> {
    pub fn new(folder: &'a Path) -> Self {
        let (address, code) = (DOCUMENTED.into(), DOCUMENTED_CODE.into());
        Self { folder, address, code, terminals: BTreeMap::new() }
    }

    /// Runs one block: `$` starts a program, `>` is typed into it, `...` is any number of lines, `…` any text in a line,
    /// and every other line has to come.
    pub fn run(&mut self, block: &Block) {
        let place = &block.place;
        let (mut name, mut code) = ("", 0);
        for word in &block.info[1..] {
            match word.strip_prefix("exit=") {
                Some(number) => {
                    code = number.parse().unwrap_or_else(|_| panic!("{place}: `{word}` is no exit code"))
                }
                None => name = word,
            }
        }
        let mut lines = block.lines.iter().peekable();
        let mut skip = false;
        while let Some(line) = lines.next() {
            if let Some(command) = line.strip_prefix("$ ") {
                self.end(name, place, code, skip);
                skip = false;
                let mut command = command.to_string();
                while let Some(begun) = command.strip_suffix('\\') {
                    command = format!("{begun}{}", lines.next().map_or("", |line| line.trim()));
                }
                let terminal = self.start(&command, place);
                self.terminals.insert(name.into(), terminal);
            } else if let Some(words) = line.strip_prefix("> ") {
                let terminal = self.terminal(name, place);
                let typed = writeln!(terminal.child.stdin.as_mut().unwrap(), "{words}");
                typed.unwrap_or_else(|e| panic!("{place}: `{words}` can't be typed: {e}"));
            } else if line.trim() == "..." {
                skip = true;
            } else {
                self.expect(name, line, skip, place);
                skip = false;
            }
        }
        if !self.terminal(name, place).stays || block.info.iter().any(|word| word.starts_with("exit=")) {
            self.end(name, place, code, skip);
        }
    }

    fn terminal(&mut self, name: &str, place: &str) -> &mut Terminal {
        self.terminals
            .get_mut(name)
            .unwrap_or_else(|| panic!("{place}: no program was started in this terminal"))
    }

    fn start(&mut self, command: &str, place: &str) -> Terminal {
        let mut words = words(command);
        for (cargo, program) in [("server", "kettlecall"), ("client", "kettleseat")] {
            if words.starts_with(&["cargo", "run", "--release", "-p", cargo, "--"].map(String::from)) {
                words.splice(..6, [program.to_string()]);
            }
        }
        let program = words.remove(0);
        assert!(
            ["kettlecall", "kettleseat"].contains(&program.as_str()),
            "{place}: `{program}` is not run here; put `<!-- not run: REASON -->` above the block"
        );
        let hosts = words.first().is_some_and(|word| word == "open");
        for word in &mut words {
            *word = word.replace(DOCUMENTED, if hosts { "127.0.0.1:0" } else { &self.address });
            *word = word.replace(ELSEWHERE, &self.address);
            *word = word.replace(DOCUMENTED_CODE, &self.code);
        }
        if hosts && !words.iter().any(|word| word == "--listen") {
            words.extend(["--listen", "127.0.0.1:0"].map(String::from));
        }
        let into = words.iter().position(|word| word == ">").map(|at| words.split_off(at).remove(1));
        let mut child = Command::new(path(&program))
            .args(&words)
            .current_dir(self.folder)
            // A seat's file must not lie in the home of whoever runs the tests.
            .env("HOME", self.folder)
            .env("XDG_DATA_HOME", self.folder)
            .env("XDG_STATE_HOME", self.folder)
            .stdin(Stdio::piped())
            .stdout(
                into.map_or_else(Stdio::piped, |name| File::create(self.folder.join(name)).unwrap().into()),
            )
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let (send, lines) = channel();
        let (out, err) = (child.stdout.take(), child.stderr.take());
        let stays = hosts || program == "kettleseat";
        // What a command says comes before its errors; a program that stays logs to standard error, which is let go.
        std::thread::spawn(move || {
            out.into_iter().for_each(|out| forward(out, &send));
            err.into_iter().filter(|_| !stays).for_each(|err| forward(err, &send));
        });
        Terminal { child, lines, stays }
    }

    /// The next line with the documented address and join code in it.
    fn next(&mut self, name: &str, place: &str, wanted: &str) -> Option<String> {
        match self.terminal(name, place).lines.recv_timeout(PATIENCE) {
            Ok(line) => {
                if let Some(address) = line.strip_prefix("listening: ") {
                    self.address = address.into();
                }
                if let Some((_, code)) =
                    line.strip_prefix("join: ").and_then(|join| join.split_once("--code "))
                {
                    self.code = code.split(' ').next().unwrap_or_default().into();
                }
                Some(line.replace(&self.address, DOCUMENTED).replace(&self.code, DOCUMENTED_CODE))
            }
            Err(RecvTimeoutError::Disconnected) => None,
            Err(RecvTimeoutError::Timeout) => {
                panic!("{place}: nothing more came while waiting for: {wanted}")
            }
        }
    }

    fn expect(&mut self, name: &str, line: &str, skip: bool, place: &str) {
        let mut passed = Vec::new();
        while let Some(came) = self.next(name, place, line) {
            if fits(line, &came) {
                return;
            }
            passed.push(came);
            if !skip {
                break;
            }
        }
        panic!("{place}: this line did not come:\n  {line}\nbut:\n  {}", passed.join("\n  "));
    }

    /// Waits for the end of the program in a terminal, if there is one, and looks at how it ended.
    fn end(&mut self, name: &str, place: &str, code: i32, skip: bool) {
        if !self.terminals.contains_key(name) {
            return;
        }
        while let Some(more) = self.next(name, place, "the program's end") {
            assert!(skip, "{place}: the program says more than is shown (... would pass over it):\n  {more}");
        }
        let mut ended = self.terminals.remove(name).unwrap();
        assert_eq!(ended.child.wait().unwrap().code(), Some(code), "{place}: how the program ended");
    }
}

fn forward(from: impl Read, to: &Sender<String>) {
    for line in BufReader::new(from).lines().map_while(Result::ok) {
        if to.send(line).is_err() {
            return;
        }
    }
}

/// A command line in words; quotes hold words together.
fn words(command: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quote = None;
    for c in command.chars() {
        match (c, quote) {
            ('"' | '\'', None) => quote = Some(c),
            (c, Some(q)) if c == q => quote = None,
            (' ', None) => words.push(String::new()),
            _ => words.last_mut().unwrap().push(c),
        }
    }
    words.retain(|word| !word.is_empty());
    words
}

/// Whether a line is as documented, where `…` stands for any text.
fn fits(documented: &str, came: &str) -> bool {
    let mut rest = came.trim_end();
    let mut parts = documented.trim_end().split('…');
    let Some(after) = rest.strip_prefix(parts.next().unwrap()) else { return false };
    rest = after;
    let parts: Vec<&str> = parts.collect();
    let Some((last, middle)) = parts.split_last() else { return rest.is_empty() };
    for part in middle {
        let Some(at) = rest.find(part) else { return false };
        rest = &rest[at + part.len()..];
    }
    rest.ends_with(last)
}

#[test]
fn a_documented_line_fits_what_came_but_for_its_gaps() {
    for (documented, came) in
        [("a b", "a b"), ("a … c", "a b c"), ("…", ""), ("… x …", "1 x 2"), ("a…", "a b")]
    {
        assert!(fits(documented, came), "{documented} / {came}");
    }
    for (documented, came) in [("a b", "a b c"), ("a … c", "a b d"), ("… x", "y"), ("a", ""), ("a…a", "a")]
    {
        assert!(!fits(documented, came), "{documented} / {came}");
    }
    assert_eq!(words("new - --tea \"A, b=c\" 'd e'"), ["new", "-", "--tea", "A, b=c", "d e"]);
}
