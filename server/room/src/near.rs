//! Names that are nearly the same: a slip of the pen is answered with the name that was meant.

use crate::{Room, Seat};
use protocol::text::name_key;

/// One slip in so many letters is one.
const LETTERS_A_SLIP: usize = 3;

/// How many slips lie between two names, if they are few enough to be slips: letters left out, added, changed or swapped
/// with their neighbour. A first name that stands alone is near to the whole name.
fn slips(one: &str, other: &str) -> Option<usize> {
    let (one, other) = (name_key(one), name_key(other));
    let begins = |long: &str, short: &str| long.strip_prefix(short).is_some_and(|rest| rest.starts_with(' '));
    if begins(&one, &other) || begins(&other, &one) {
        return Some(1);
    }
    let longest = one.chars().count().max(other.chars().count());
    let slips = strsim::osa_distance(&one, &other);
    (slips <= longest / LETTERS_A_SLIP).then_some(slips)
}

/// The one of some names that was most likely meant; of equally likely ones the first.
pub fn nearest<'a>(name: &str, names: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let near = names.into_iter().filter_map(|known| Some((slips(name, known)?, known)));
    near.min_by_key(|(slips, _)| *slips).map(|(_, known)| known)
}

impl Room {
    /// The seat whose name was most likely meant by one that no seat has.
    pub fn seat_near(&self, name: &str) -> Option<&Seat> {
        let names = self.seats.iter().filter(|seat| seat.same_as.is_none());
        nearest(name, names.map(|seat| seat.name.as_str())).and_then(|name| self.seat_named(name))
    }

    /// Says that no seat has a name, and which one may have been meant.
    pub fn no_such_seat(&self, name: &str) -> String {
        let shown = protocol::text::clean(name, protocol::text::NAME_CHARS);
        match self.seat_near(name) {
            Some(near) => format!("no seat is named {shown}; did you mean {}?", near.name),
            None => format!("no seat is named {shown}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_is_near_and_another_name_is_not() {
        for (typed, meant) in [
            ("Bop", "Bob"),
            ("Bobb", "Bob"),
            ("bbo", "Bob"),
            ("Zoe", "Zoë"),
            ("Margret", "Margaret"),
            ("Li", "Li Wei"),
            ("Li Wie", "Li Wei"),
        ] {
            assert_eq!(nearest(typed, ["Ann", meant, "Konstantin"]), Some(meant), "{typed}");
        }
        for other in ["Eve", "Al", "Bartholomew", "", "王"] {
            assert_eq!(nearest(other, ["Ann", "Bob", "Li Wei", "Ed"]), None, "{other}");
        }
    }
}
