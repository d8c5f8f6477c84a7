//! A real process in a terminal of its own, with its keys and its screen. The tests that join both programs use it too.
#![expect(clippy::unwrap_used, reason = "a test may stop at the first surprise, also beside a test function")]

use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{Winsize, tcsetwinsize};
use std::fs::{File, OpenOptions};
use std::io::{Read, Write};
use std::num::NonZero;
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};
use std::time::Duration;
use tokio::sync::watch;
use tokio::time::timeout;

const PATIENCE: Duration = Duration::from_secs(30);
const ROWS: NonZero<u16> = NonZero::new(24).unwrap();
const COLUMNS: NonZero<u16> = NonZero::new(80).unwrap();

/// What stands in the terminal, row by row, before the program starts.
pub const BEFORE: &str = "of the shell, before";

/// A program in a terminal of 24 rows and 80 columns.
pub struct Terminal {
    pub child: Child,
    keys: File,
    screen: Arc<Mutex<vt100::Parser>>,
    drawn: watch::Receiver<u64>,
}

impl Terminal {
    pub fn start(command: &mut Command) -> Self {
        let ours = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
        grantpt(&ours).unwrap();
        unlockpt(&ours).unwrap();
        tcsetwinsize(
            &ours,
            Winsize { ws_row: ROWS.get(), ws_col: COLUMNS.get(), ws_xpixel: 0, ws_ypixel: 0 },
        )
        .unwrap();
        let name = ptsname(&ours, Vec::new()).unwrap().into_string().unwrap();
        let theirs = OpenOptions::new().read(true).write(true).open(name).unwrap();
        let end = || Stdio::from(theirs.try_clone().unwrap());
        let child = command.stdin(end()).stdout(end()).stderr(end()).spawn().unwrap();
        let keys = File::from(ours);
        let mut output = keys.try_clone().unwrap();
        let mut parser = vt100::Parser::new(ROWS, COLUMNS, 0);
        (1..ROWS.get()).for_each(|_| parser.process(format!("{BEFORE:>80}\r\n").as_bytes()));
        let screen = Arc::new(Mutex::new(parser));
        let (draw, drawn) = watch::channel(0);
        let of_reader = screen.clone();
        std::thread::spawn(move || {
            let mut bytes = [0; 4096];
            // A terminal whose program has ended gives an error, which is its end.
            while let Ok(count @ 1..) = output.read(&mut bytes) {
                of_reader.lock().unwrap().process(&bytes[..count]);
                draw.send_modify(|drawings| *drawings += 1);
            }
        });
        Self { child, keys, screen, drawn }
    }

    pub fn shown(&self) -> String {
        self.screen.lock().unwrap().screen().contents()
    }

    /// Waits until the screen has these words.
    pub async fn until(&mut self, words: &str) {
        self.until_so(words, |shown| shown.contains(words)).await;
    }

    /// Waits until something is so of the screen; `what` says what, should it never come.
    pub async fn until_so(&mut self, what: &str, so: impl Fn(&str) -> bool) {
        let waiting = async {
            while !so(&self.shown()) {
                self.drawn.changed().await.unwrap();
            }
        };
        if timeout(PATIENCE, waiting).await.is_err() {
            panic!("`{what}` is not on the screen:\n{}", self.shown());
        }
    }

    pub fn press(&mut self, keys: &str) {
        self.keys.write_all(keys.as_bytes()).unwrap();
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
