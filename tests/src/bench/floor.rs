//! What the machine itself allows: one thread waits for an instant and stamps, as often as there are seats.

use super::Fallible;
use super::child::Parent;
use super::instant::{now_ns, wait_until, wake_early};
use super::stamps::Stamps;
use serde::{Deserialize, Serialize};

/// How many stamps at each of these instants.
#[derive(Serialize, Deserialize)]
pub struct Order {
    /// For how many seats.
    pub seats: usize,
    /// The instants, in nanoseconds of the shared clock.
    pub cues_ns: Vec<i64>,
}

/// Waits and stamps.
pub async fn play(mut parent: Parent) -> Fallible<()> {
    let Order { seats, cues_ns } = parent.hear().await?;
    let work = std::thread::spawn(move || -> Stamps {
        wake_early();
        let stamp = |&at_ns: &i64| {
            let mut stamps = Vec::with_capacity(seats);
            wait_until(at_ns);
            (0..seats).for_each(|_| stamps.push(now_ns()));
            stamps
        };
        cues_ns.iter().map(stamp).collect()
    });
    let stamps = tokio::task::spawn_blocking(move || work.join()).await?;
    parent.tell(&stamps.map_err(|_| "the thread that stamps has ended badly")?)
}
