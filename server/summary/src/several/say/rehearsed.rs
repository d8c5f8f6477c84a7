//! Which classes were only rehearsed, in one sentence.

use crate::several::Pool;
use protocol::say::list;

/// That rehearsals are left out; or, where every class is one, that nothing means anything. `None` without any.
pub fn sentence(pool: &Pool) -> Option<String> {
    let rehearsed: Vec<String> =
        pool.classes.iter().filter(|class| class.rehearsal).map(|class| class.class.to_string()).collect();
    match rehearsed.len() {
        0 => None,
        all if all == pool.classes.len() => {
            Some("Every class was a rehearsal: what is said of the teas means nothing.".into())
        }
        1 => Some(format!("Class {} was a rehearsal and is left out of all figures.", list(&rehearsed))),
        _ => Some(format!("Classes {} were rehearsals and are left out of all figures.", list(&rehearsed))),
    }
}
