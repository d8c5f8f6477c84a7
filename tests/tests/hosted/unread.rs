//! Programs whose output nobody reads any more and nobody closes either: a pipe that is full, a terminal that is stopped.
//! What is typed, Ctrl-C and a request to end do their work all the same.

use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::fd::AsFd;
use rustix::process::{Pid, Signal, kill_process};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{Winsize, tcsetwinsize};
use std::fs::{File, OpenOptions};
use std::io::{BufRead, BufReader, PipeReader, PipeWriter, Write, pipe};
use std::path::PathBuf;
use std::process::{Child, ChildStdin, Command, ExitStatus, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::Duration;
use tests::program::{Running, path};

/// How often what should end a program is tried before the test gives up, and how long each time.
const TRIES: usize = 200;
const EACH: Duration = Duration::from_millis(100);

/// A folder with a class in it, and where its ledger is to lie.
fn place() -> (tempfile::TempDir, PathBuf, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let (class, ledger) = (folder.path().join("class.toml"), folder.path().join("class.ledger"));
    std::fs::write(&class, include_str!("../../classes/four-by-three.toml")).unwrap();
    (folder, class, ledger)
}

fn host(folder: &tempfile::TempDir) -> Command {
    let mut command = Command::new(path("kettlecall"));
    command.current_dir(folder).args(["open", "class.toml", "--listen", "127.0.0.1:0"]);
    command
}

fn phase(ledger: &std::path::Path) -> protocol::Phase {
    room::Room::replay(host::stored::read(ledger).unwrap()).unwrap().phase
}

/// Whether something can be written now or within a tenth of a second: the machine itself carries on what was written last.
fn takes_more(end: impl AsFd) -> bool {
    let patience = Timespec { tv_sec: 0, tv_nsec: 100_000_000 };
    poll(&mut [PollFd::new(&end, PollFlags::OUT)], Some(&patience)).unwrap() > 0
}

/// A program on the way to its end; it is killed if the test is not content.
struct Ending {
    pid: Pid,
    ended: Receiver<ExitStatus>,
}

impl Ending {
    fn of(mut child: Child) -> Self {
        let pid = Pid::from_child(&child);
        let (tell, ended) = channel();
        std::thread::spawn(move || tell.send(child.wait().unwrap()));
        Self { pid, ended }
    }

    /// A program that has ended meanwhile hears no signal any more.
    fn signal(&self, signal: Signal) {
        match kill_process(self.pid, signal) {
            Ok(()) | Err(rustix::io::Errno::SRCH) => {}
            Err(fault) => panic!("{signal:?}: {fault}"),
        }
    }

    /// Does something again and again until the program ends; gives its exit code, or nothing if it never does.
    fn after(self, mut doing: impl FnMut(&Self)) -> Option<i32> {
        for _ in 0..TRIES {
            doing(&self);
            match self.ended.recv_timeout(EACH) {
                Ok(status) => return status.code(),
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => return None,
            }
        }
        self.signal(Signal::KILL);
        None
    }
}

/// A program whose pipe is full.
struct Full {
    ending: Ending,
    typed: ChildStdin,
    read: PipeReader,
    /// Kept open, so that it can be asked whether there is room.
    write: PipeWriter,
}

impl Full {
    /// Types for long pages until nothing more goes into the pipe; far more is asked for than the program keeps.
    fn of(command: &mut Command) -> Self {
        let (read, write) = pipe().unwrap();
        let mut child = command
            .stdin(Stdio::piped())
            .stdout(write.try_clone().unwrap())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut typed = child.stdin.take().unwrap();
        typed.write_all("help\n".repeat(2_000).as_bytes()).unwrap();
        while takes_more(&write) {
            assert!(child.try_wait().unwrap().is_none(), "the program has ended");
            std::thread::yield_now();
        }
        Self { ending: Ending::of(child), typed, read, write }
    }
}

#[test]
fn a_class_whose_output_nobody_reads_is_closed_by_what_is_typed() {
    let (folder, _, ledger) = place();
    let mut full = Full::of(&mut host(&folder));
    let typed = &mut full.typed;
    let code = full.ending.after(|_| drop(typed.write_all(b"close now\n")));
    assert_eq!((code, phase(&ledger)), (Some(0), protocol::Phase::Closed));
}

#[test]
fn a_host_whose_output_nobody_reads_ends_when_it_is_asked_to() {
    let (folder, _, ledger) = place();
    for signal in [Signal::TERM, Signal::HUP] {
        let full = Full::of(&mut host(&folder));
        full.ending.signal(signal);
        assert_eq!(full.ending.after(|_| {}), Some(0), "{signal:?}");
        assert_eq!(phase(&ledger), protocol::Phase::Lobby);
    }
}

#[test]
fn a_host_whose_output_nobody_reads_ends_when_ctrl_c_is_pressed_again() {
    let (folder, ..) = place();
    let full = Full::of(&mut host(&folder));
    assert_eq!(full.ending.after(|host| host.signal(Signal::INT)), Some(0));
}

#[test]
fn a_reader_that_wakes_up_is_told_what_is_left_out_and_reads_on() {
    let (folder, _, ledger) = place();
    let Full { ending, mut typed, read, write } = Full::of(&mut host(&folder));
    // Nothing is read before all the pages have been asked for, which what is typed behind them shows in the ledger.
    typed.write_all(b"start anyway\nsing\n").unwrap();
    while phase(&ledger) != protocol::Phase::Running {
        std::thread::yield_now();
    }
    drop(write);
    let mut lines = BufReader::new(read).lines().map(Result::unwrap);
    assert!(lines.any(|line| line.contains("lines are left out here: nobody was reading")));
    assert!(lines.any(|line| line.contains("`sing` is not understood")), "the newest is there");
    typed.write_all(b"stop\n").unwrap();
    assert!(lines.any(|line| line.contains("the host has stopped")), "the last words are waited for");
    assert_eq!(ending.after(|_| {}), Some(0));
}

#[test]
fn a_seat_whose_output_nobody_reads_goes_on_and_ends_when_it_is_asked_to() {
    let (folder, class, ledger) = place();
    let (host, address) = Running::host(&class, &ledger, "127.0.0.1:0", 1);
    let mut seat = Command::new(path("kettleseat"));
    seat.current_dir(&folder).args([
        &address,
        "--code",
        &host.code(),
        "--name",
        "Ann",
        "--plain",
        "--keep",
        "ann.json",
    ]);
    let mut full = Full::of(&mut seat);
    host.wait_for("linked: Ann");
    full.typed.write_all(b"leave\n").unwrap();
    host.wait_for("link lost: Ann");
    assert_eq!(full.ending.after(|_| {}), Some(0));
    let full = Full::of(&mut seat);
    full.ending.signal(Signal::TERM);
    assert_eq!(full.ending.after(|_| {}), Some(0));
}

/// A program in a terminal that is stopped.
struct Stopped {
    ending: Ending,
    keys: File,
    /// Kept open, so that it can be asked whether there is room.
    theirs: File,
}

impl Stopped {
    /// Presses keys in windows of changing size, so that all is drawn anew, until the terminal takes nothing more.
    fn of(command: &mut Command) -> Self {
        let ours = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
        grantpt(&ours).unwrap();
        unlockpt(&ours).unwrap();
        let size = |end: &rustix::fd::BorrowedFd<'_>, ws_col| {
            tcsetwinsize(end, Winsize { ws_row: 40, ws_col, ws_xpixel: 0, ws_ypixel: 0 })
        };
        size(&ours.as_fd(), 120).unwrap();
        rustix::io::ioctl_fionbio(&ours, true).unwrap();
        let name = ptsname(&ours, Vec::new()).unwrap().into_string().unwrap();
        let theirs = OpenOptions::new().read(true).write(true).open(name).unwrap();
        let end = || Stdio::from(theirs.try_clone().unwrap());
        let mut child =
            command.env("TERM", "xterm").stdin(end()).stdout(end()).stderr(end()).spawn().unwrap();
        let mut keys = File::from(ours);
        // Keys are for a program that has begun to draw.
        poll(&mut [PollFd::new(&keys, PollFlags::IN)], None).unwrap();
        let mut columns = 100;
        while takes_more(&theirs) {
            assert!(child.try_wait().unwrap().is_none(), "the program has ended");
            columns = 220 - columns;
            size(&keys.as_fd(), columns).unwrap();
            // Whatever does not fit in is not pressed.
            let _ = keys.write(b"\r");
            std::thread::yield_now();
        }
        Self { ending: Ending::of(child), keys, theirs }
    }
}

#[test]
fn a_host_in_a_terminal_that_is_stopped_obeys_keys() {
    let (folder, _, ledger) = place();
    let Stopped { ending, mut keys, theirs } = Stopped::of(&mut host(&folder));
    // A page may be open: the first key goes back from it.
    let code = ending.after(|_| drop(keys.write(b"\r\rclose now\rstop\ry")));
    assert!(!takes_more(&theirs), "nobody has read anything meanwhile");
    assert_eq!(phase(&ledger), protocol::Phase::Closed, "{code:?}");
    assert_eq!(code, Some(0));
}

#[test]
fn programs_in_a_terminal_that_is_stopped_end_when_they_are_asked_to() {
    let (folder, class, ledger) = place();
    let stopped = Stopped::of(&mut host(&folder));
    stopped.ending.signal(Signal::TERM);
    assert_eq!(stopped.ending.after(|_| {}), Some(0));
    let (host, address) = Running::host(&class, &ledger, "127.0.0.1:0", 1);
    let mut seat = Command::new(path("kettleseat"));
    seat.current_dir(&folder).args([&address, "--code", &host.code(), "--name", "Ann", "--keep", "ann.json"]);
    let stopped = Stopped::of(&mut seat);
    stopped.ending.signal(Signal::TERM);
    assert_eq!(stopped.ending.after(|_| {}), Some(0));
}
