//! A host: a ledger, an owner and a door put together. `main` and the tests start it the same way.

mod after;
mod ask;
pub mod clock;
pub mod consoles;
pub mod door;
mod error;
mod flapping;
mod handle;
mod links;
mod lobby;
mod opening;
mod owner;
mod running;
pub mod stored;
pub mod tls;

pub use ask::{AtDoor, Happening};
pub use error::HostError;
pub use handle::HostHandle;
pub use opening::{Opened, Opening, open};
pub use running::Host;
