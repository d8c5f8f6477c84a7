//! How host time is tied to the world's, so that it goes on when the host is opened again.

use super::Boot;
use protocol::HostTime;

/// What a machine's clocks show at one instant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct World {
    /// Microseconds since 1970 on the wall clock.
    pub unix_us: i64,
    /// How long the machine has been up, where it can say.
    pub boot: Option<Boot>,
}

/// At `at` of host time the world's clocks showed `world`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Anchor {
    /// Host time of the anchor.
    pub at: HostTime,
    /// What the world's clocks showed.
    pub world: World,
    /// Host seconds per second.
    pub pace: f64,
    /// The number of the host's clock: that of the event since which host time has run without a break.
    pub clock: u64,
}

impl Anchor {
    /// Whether host time can go on by the machine's own clock, which a step of the wall clock does not touch: the
    /// machine has not been restarted since the anchor.
    pub(crate) fn goes_on(&self, now: &World) -> bool {
        self.up_us(now).is_some()
    }

    fn up_us(&self, now: &World) -> Option<i64> {
        let (then, now) = self.world.boot.zip(now.boot)?;
        (then.id == now.id && now.up_us >= then.up_us).then(|| now.up_us - then.up_us)
    }

    /// By how many microseconds the wall clock was set since the anchor; `None` when nobody can say.
    pub fn wall_stepped_us(&self, now: &World) -> Option<i64> {
        Some(now.unix_us - self.world.unix_us - self.up_us(now)?)
    }

    /// Host time now, never before the anchor: by the machine's own clock if that has run on, else by the wall clock.
    pub fn host_time(&self, now: &World) -> HostTime {
        let passed_us = self.up_us(now).unwrap_or((now.unix_us - self.world.unix_us).max(0));
        self.at + (passed_us as f64 * self.pace) as i64
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    fn world(unix_s: i64, boot: Option<(u128, i64)>) -> World {
        let boot = boot.map(|(id, up_s)| Boot { id: Uuid::from_u128(id), up_us: up_s * 1_000_000 });
        World { unix_us: unix_s * 1_000_000, boot }
    }

    #[test]
    fn a_step_of_the_wall_clock_moves_nothing_while_the_machine_is_up() {
        let anchor =
            Anchor { at: HostTime(5_000_000), world: world(1_000, Some((1, 50))), pace: 1.0, clock: 2 };
        for (unix_s, stepped_s) in [(1_030, 0), (4_630, 3_600), (530, -500)] {
            let now = world(unix_s, Some((1, 80)));
            assert_eq!(anchor.host_time(&now), HostTime(35_000_000), "{unix_s}");
            assert_eq!(anchor.wall_stepped_us(&now), Some(stepped_s * 1_000_000));
        }
    }

    #[test]
    fn after_a_start_of_the_machine_the_wall_clock_has_to_do() {
        let anchor =
            Anchor { at: HostTime(5_000_000), world: world(1_000, Some((1, 50))), pace: 2.0, clock: 2 };
        for boot in [Some((2, 80)), Some((1, 20)), None] {
            let now = world(1_030, boot);
            assert_eq!(anchor.host_time(&now), HostTime(65_000_000), "{boot:?}");
            assert_eq!(anchor.wall_stepped_us(&now), None);
            assert_eq!(anchor.host_time(&world(900, boot)), HostTime(5_000_000), "never before the anchor");
        }
    }
}
