//! The real programs as processes. Every wait is for a line that has to come, never for a time.

use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Condvar, Mutex};
use std::time::Duration;

/// How long a test waits for a line that has to come.
const PATIENCE: Duration = Duration::from_secs(60);

/// A program of this workspace, built by the same `cargo test --workspace` that runs this.
pub fn path(name: &str) -> PathBuf {
    let here = std::env::current_exe().unwrap();
    // target/PROFILE/deps/TEST or target/PROFILE/BIN → target/PROFILE/NAME
    let folder = here.parent().unwrap();
    let folder = if folder.ends_with("deps") { folder.parent().unwrap() } else { folder };
    let path = folder.join(format!("{name}{}", std::env::consts::EXE_SUFFIX));
    assert!(path.is_file(), "{} is not built; run: cargo test --workspace", path.display());
    path
}

#[derive(Default)]
struct Output {
    lines: Mutex<(Vec<String>, bool)>,
    grown: Condvar,
}

/// A running program whose standard output is kept line by line.
pub struct Running {
    name: String,
    child: Child,
    out: Arc<Output>,
}

impl Running {
    /// Starts a program.
    pub fn start(name: &str, args: &[&str]) -> Self {
        Self::run(Command::new(path(name)).args(args), format!("{name} {}", args.join(" ")))
    }

    /// Starts a program that may have only so many files open; what it says on standard error is among its lines.
    #[cfg(unix)]
    pub fn start_with_files(files: u32, name: &str, args: &[&str]) -> Self {
        let line = format!("ulimit -n {files}; exec \"$0\" \"$@\" 2>&1");
        let mut command = Command::new("sh");
        command.args(["-c", &line]).arg(path(name)).args(args);
        Self::run(&mut command, format!("{name} {}", args.join(" ")))
    }

    fn run(command: &mut Command, name: String) -> Self {
        command.stdin(Stdio::piped()).stdout(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let out = Arc::new(Output::default());
        let (pipe, shared) = (child.stdout.take().unwrap(), out.clone());
        std::thread::spawn(move || {
            for line in BufReader::new(pipe).lines() {
                let Ok(line) = line else { break };
                shared.lines.lock().unwrap().0.push(line);
                shared.grown.notify_all();
            }
            shared.lines.lock().unwrap().1 = true;
            shared.grown.notify_all();
        });
        Self { name, child, out }
    }

    /// A host of a class file on a ledger, at any free port of this machine; the second half is its address.
    pub fn host(class: &Path, ledger: &Path, listen: &str, pace: u32) -> (Self, String) {
        let (class, ledger, pace) = (class.to_str().unwrap(), ledger.to_str().unwrap(), pace.to_string());
        let host = Self::start(
            "kettlecall",
            &["open", class, "--ledger", ledger, "--listen", listen, "--pace", &pace],
        );
        let line = host.wait_for("listening: ");
        let address = line.trim_start_matches("listening: ").to_string();
        (host, address)
    }

    /// The join code that a host shows.
    pub fn code(&self) -> String {
        let join = self.wait_for("join: ");
        let code = join.split_whitespace().skip_while(|word| *word != "--code").nth(1);
        code.unwrap_or_else(|| panic!("no code: {join}")).to_string()
    }

    /// Types a line.
    pub fn type_in(&mut self, line: &str) {
        writeln!(self.child.stdin.as_mut().unwrap(), "{line}").unwrap();
    }

    /// All lines so far.
    pub fn lines(&self) -> Vec<String> {
        self.out.lines.lock().unwrap().0.clone()
    }

    /// Waits for the first line that holds `words`, and gives it.
    pub fn wait_for(&self, words: &str) -> String {
        self.wait_until(|lines| lines.iter().find(|l| l.contains(words)).cloned())
            .unwrap_or_else(|| panic!("{}: no line with `{words}` in {:#?}", self.name, self.lines()))
    }

    /// Waits for the first line that begins with `head` and holds `words`, and gives it.
    pub fn wait_for_begun(&self, head: &str, words: &str) -> String {
        let is = |line: &&String| line.starts_with(head) && line.contains(words);
        self.wait_until(|lines| lines.iter().find(is).cloned())
            .unwrap_or_else(|| panic!("{}: no line `{head}…{words}` in {:#?}", self.name, self.lines()))
    }

    /// Waits until at least `count` lines hold `words`.
    pub fn wait_for_count(&self, words: &str, count: usize) {
        let enough =
            |lines: &[String]| (lines.iter().filter(|l| l.contains(words)).count() >= count).then_some(());
        self.wait_until(enough).unwrap_or_else(|| {
            panic!("{}: fewer than {count} lines with `{words}` in {:#?}", self.name, self.lines())
        });
    }

    fn wait_until<T>(&self, found: impl Fn(&[String]) -> Option<T>) -> Option<T> {
        let mut lines = self.out.lines.lock().unwrap();
        loop {
            if let Some(found) = found(&lines.0) {
                return Some(found);
            }
            if lines.1 {
                return None;
            }
            let (next, waited) = self.out.grown.wait_timeout(lines, PATIENCE).unwrap();
            lines = next;
            if waited.timed_out() {
                return None;
            }
        }
    }

    /// Kills the program as a power cut would: no goodbye, no tidying up.
    pub fn kill(mut self) -> Vec<String> {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
        self.lines()
    }

    /// Waits for the program's own end; gives its exit code and all its lines.
    pub fn end(mut self) -> (i32, Vec<String>) {
        let code = self.child.wait().unwrap().code().unwrap_or(-1);
        // The reader sees the end of the pipe right after.
        self.wait_until(|_| None::<()>);
        (code, self.lines())
    }

    /// Sends a signal by number (2 is Ctrl-C, 15 asks to end).
    #[cfg(unix)]
    pub fn signal(&self, signal: rustix::process::Signal) {
        let pid = rustix::process::Pid::from_child(&self.child);
        rustix::process::kill_process(pid, signal).unwrap();
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        // A test that failed half-way leaves nothing running.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
