use super::*;
use std::io::Read;
use std::sync::mpsc::{Receiver, Sender, channel};

/// What a test waits for something that has to come.
const PATIENCE: Duration = Duration::from_secs(60);

/// Says that it is about to take something, and takes it when it may.
struct Stopped {
    go_on: Receiver<()>,
    taking: Sender<()>,
    taken: Sender<Vec<u8>>,
}

impl Write for Stopped {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let _ = self.taking.send(());
        // Whoever says nothing any more is as a reader that has woken up.
        let _ = self.go_on.recv();
        let _ = self.taken.send(bytes.to_vec());
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

struct Reader {
    go_on: Option<Sender<()>>,
    taking: Receiver<()>,
    taken: Receiver<Vec<u8>>,
}

impl Reader {
    /// Waits until the thread is at its first piece and nobody takes it.
    fn stops(&self) {
        self.taking.recv_timeout(PATIENCE).unwrap();
    }

    fn wakes_up(&mut self) {
        self.go_on = None;
    }

    fn all(&self) -> String {
        String::from_utf8(self.taken.try_iter().flatten().collect()).unwrap()
    }
}

fn stopped() -> (Writer, Reader) {
    let ((go_on, wait), (taking, begun), (taken, read)) = (channel(), channel(), channel());
    let out = Writer::onto(Stopped { go_on: wait, taking, taken }).unwrap();
    (out, Reader { go_on: Some(go_on), taking: begun, taken: read })
}

#[test]
fn lines_never_wait_for_a_reader_and_all_that_fit_are_read_when_it_wakes_up() {
    let (out, mut reader) = stopped();
    let mut lines = out.lines();
    writeln!(lines, "first").unwrap();
    reader.stops();
    writeln!(lines, "second\nthird").unwrap();
    write!(lines, "a part").unwrap();
    lines.flush().unwrap();
    assert!(!out.is_idle() && !out.finish(Duration::from_millis(1)), "nobody reads");
    reader.wakes_up();
    assert!(out.finish(PATIENCE) && out.is_idle());
    assert_eq!(reader.all(), "first\nsecond\nthird\na part");
}

#[test]
fn of_too_many_lines_the_newest_wait_and_it_is_said_how_many_are_left_out() {
    let (out, mut reader) = stopped();
    let mut lines = out.lines();
    writeln!(lines, "{:8}", "first").unwrap();
    reader.stops();
    // Each of 1,024 bytes, a hundred more than may wait.
    let most = KEPT_BYTES / 1024;
    for number in 1..=most + 100 {
        writeln!(lines, "{number:1023}").unwrap();
    }
    reader.wakes_up();
    assert!(out.finish(PATIENCE));
    let read = reader.all();
    let read: Vec<&str> = read.lines().map(str::trim).collect();
    assert_eq!(read[..3], ["first", "(100 lines are left out here: nobody was reading)", "101"]);
    assert_eq!(read.len(), 2 + most);
    assert_eq!(read.last(), Some(&(most + 100).to_string().as_str()));
}

#[test]
fn one_line_longer_than_all_that_may_wait_is_kept_whole() {
    let (out, mut reader) = stopped();
    let mut lines = out.lines();
    writeln!(lines, "first").unwrap();
    reader.stops();
    let long = "x".repeat(KEPT_BYTES + 1);
    writeln!(lines, "second\n{long}").unwrap();
    reader.wakes_up();
    assert!(out.finish(PATIENCE));
    assert_eq!(reader.all(), format!("first\n(1 line is left out here: nobody was reading)\n{long}\n"));
}

#[test]
fn a_drawing_goes_whole_a_bell_goes_before_it_and_neither_is_ever_left_out_for_lines() {
    let (out, mut reader) = stopped();
    let mut drawing = out.whole();
    drawing.write_all(b"one").unwrap();
    assert!(out.is_idle(), "it goes with the flush");
    drawing.flush().unwrap();
    reader.stops();
    drawing.write_all(b"two").unwrap();
    drawing.flush().unwrap();
    out.bell();
    out.bell();
    for _ in 0..3 {
        writeln!(out.lines(), "{}", "x".repeat(KEPT_BYTES - 1)).unwrap();
    }
    reader.wakes_up();
    assert!(out.finish(PATIENCE));
    let read = reader.all();
    assert!(
        read.starts_with("one\u{7}two(2 lines are left out here: nobody was reading)\nx"),
        "{:?}",
        &read[..60]
    );
}

#[tokio::test]
async fn whoever_draws_is_told_when_the_terminal_takes_something_again() {
    let (out, mut reader) = stopped();
    out.idle().await;
    out.whole().write_all(b"nothing without a flush").unwrap();
    out.idle().await;
    writeln!(out.lines(), "a line").unwrap();
    reader.stops();
    let mut idle = std::pin::pin!(out.idle());
    let once = std::future::poll_fn(|context| std::task::Poll::Ready(idle.as_mut().poll(context)));
    assert!(once.await.is_pending());
    reader.wakes_up();
    idle.await;
    assert_eq!(reader.all(), "a line\n");
}

#[test]
fn a_pipe_that_is_closed_is_told_to_whoever_writes_next_and_nobody_waits_for_it() {
    let (mut read, write) = io::pipe().unwrap();
    let out = Writer::onto(write).unwrap();
    writeln!(out.lines(), "read").unwrap();
    let mut bytes = [0; 5];
    read.read_exact(&mut bytes).unwrap();
    assert_eq!(&bytes, b"read\n");
    drop(read);
    writeln!(out.lines(), "for nobody").unwrap();
    assert!(out.finish(PATIENCE), "what nobody will read is not waited for");
    let error = writeln!(out.lines(), "more").unwrap_err();
    assert_eq!(error.kind(), io::ErrorKind::BrokenPipe);
    assert!(error.to_string().to_lowercase().contains("broken pipe"), "{error}");
    assert!(out.whole().flush().is_err() && out.is_idle());
}
