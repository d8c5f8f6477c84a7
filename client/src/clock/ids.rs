//! Where a seat's ids come from.

use uuid::{Builder, Uuid};

/// A source of ids: random for people, drawn from a seed where a run has to repeat itself to the letter.
#[derive(Clone, Debug, Default)]
pub enum Ids {
    /// Different every time.
    #[default]
    Random,
    /// The same for the same seed.
    Seeded(fastrand::Rng),
}

impl Ids {
    /// Ids that a seed decides.
    pub fn seeded(seed: u64) -> Self {
        Ids::Seeded(fastrand::Rng::with_seed(seed))
    }

    /// The next id, a UUID of version 4 (RFC 9562 §5.4).
    #[expect(clippy::disallowed_methods, reason = "the seat's one draw of ids")]
    pub fn draw(&mut self) -> Uuid {
        match self {
            Ids::Random => Uuid::new_v4(),
            Ids::Seeded(rng) => Builder::from_random_bytes(rng.u128(..).to_be_bytes()).into_uuid(),
        }
    }
}
