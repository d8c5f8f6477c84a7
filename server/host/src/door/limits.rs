//! What the system allows this process.

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

/// Nothing to do here.
#[cfg(not(unix))]
pub fn allow_many_connections() {}
