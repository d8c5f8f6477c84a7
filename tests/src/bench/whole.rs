//! A whole program, timed from its start to its end.

use std::path::PathBuf;
use std::process::Command;
use std::time::Instant;

/// How many seconds a command takes; it has to succeed.
#[expect(clippy::disallowed_methods, reason = "a benchmark reads the clock")]
pub fn time(command: &mut Command) -> f64 {
    let begin = Instant::now();
    let status = command.status().unwrap();
    let seconds = begin.elapsed().as_secs_f64();
    assert!(status.success(), "{command:?}");
    seconds
}

/// The teacher's program as it is released, built if it is not.
pub fn kettlecall() -> PathBuf {
    let status = Command::new(env!("CARGO"))
        .args(["build", "--release", "--locked", "--package", "server", "--bin", "kettlecall"])
        .status()
        .unwrap();
    assert!(status.success(), "kettlecall is not built");
    crate::program::path("kettlecall")
}
