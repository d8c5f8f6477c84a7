//! Where a seat's ids come from.

use uuid::{Builder, Uuid};

/// A source of ids: random for people, drawn from a seed where a run has to repeat itself to the letter.
#[derive(Clone, Debug, Default)]
pub enum Ids {
    /// Different every time.
    #[default]
    Random,
    /// The same for the same seed.
    Seeded {
        /// What they are drawn from.
        rng: fastrand::Rng,
        /// How many have been drawn in order; it stands for the time in them.
        ordered: u64,
    },
}

impl Ids {
    /// Ids that a seed decides.
    pub fn seeded(seed: u64) -> Self {
        Ids::Seeded { rng: fastrand::Rng::with_seed(seed), ordered: 0 }
    }

    /// An id that nobody can guess, a UUID of version 4 (RFC 9562 §5.4).
    #[expect(clippy::disallowed_methods, reason = "the seat's one draw of ids")]
    pub fn draw(&mut self) -> Uuid {
        match self {
            Ids::Random => Uuid::new_v4(),
            Ids::Seeded { rng, .. } => Builder::from_random_bytes(rng.u128(..).to_be_bytes()).into_uuid(),
        }
    }

    /// An id that sorts behind those drawn before, here and about the same time elsewhere: a UUID of version 7
    /// (RFC 9562 §5.7). A ledger's index grows at its end with such ids; random ones touch a page of it each. Nothing
    /// reads the time in it, so a wall clock that is wrong costs a little speed and nothing else.
    #[expect(clippy::disallowed_methods, reason = "the seat's one draw of ids")]
    pub fn draw_ordered(&mut self) -> Uuid {
        match self {
            Ids::Random => Uuid::now_v7(),
            Ids::Seeded { rng, ordered } => {
                *ordered += 1;
                let mut chance = [0; 10];
                rng.fill(&mut chance);
                Builder::from_unix_timestamp_millis(*ordered, &chance).into_uuid()
            }
        }
    }
}
