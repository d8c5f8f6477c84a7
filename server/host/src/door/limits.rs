//! What the system allows this process, and what it calls this machine.

/// How much a peer may send before its first request is over, in bytes.
pub(super) const HEAD_BYTES: usize = 16 * 1024;

/// What this machine is called, if it has a name.
#[cfg(unix)]
pub fn machine_name() -> Option<String> {
    rustix::system::uname().nodename().to_str().ok().map(str::to_string)
}

/// Nothing to go by here.
#[cfg(not(unix))]
pub fn machine_name() -> Option<String> {
    None
}

/// Raises the number of files this process may have open as far as it may itself: every seat is one, and the usual
/// 1,024 are soon gone when somebody knocks a thousand times.
#[cfg(unix)]
pub fn allow_many_connections() {
    use rustix::process::{Resource, Rlimit, getrlimit, setrlimit};
    let limit = getrlimit(Resource::Nofile);
    let wanted = Rlimit { current: limit.maximum, maximum: limit.maximum };
    if let Err(error) = setrlimit(Resource::Nofile, wanted) {
        tracing::warn!(%error, "the number of connections stays limited");
    }
}

/// How many files this process may have open, if the system sets a limit.
#[cfg(unix)]
pub(super) fn open_files() -> Option<usize> {
    use rustix::process::{Resource, getrlimit};
    getrlimit(Resource::Nofile).current.and_then(|files| usize::try_from(files).ok())
}

/// Nothing to go by here.
#[cfg(not(unix))]
pub(super) fn open_files() -> Option<usize> {
    None
}

/// Lets every other thread go before this one: for work that nobody waits for to the millisecond.
#[cfg(any(target_os = "linux", target_os = "android"))]
pub fn step_back() {
    // Here niceness is a thread's own. A system that does not allow it computes as it would have.
    let _ = rustix::process::nice(15);
}

/// Nothing to do here: elsewhere it would hold back the whole process.
#[cfg(not(any(target_os = "linux", target_os = "android")))]
pub fn step_back() {}

/// Nothing to do here.
#[cfg(not(unix))]
pub fn allow_many_connections() {}
