//! Names that are nearly the same: a slip of the pen is answered with the name that was meant.

use crate::{Amendment, Room, Seat};
use protocol::text::name_key;

/// One slip in so many letters is one.
const LETTERS_A_SLIP: usize = 3;

/// How many slips lie between two names, if they are few enough to be slips: letters left out, added, changed or swapped
/// with their neighbour. A first name that stands alone is near to the whole name.
fn slips(one: &str, other: &str) -> Option<usize> {
    let (one, other) = (name_key(one), name_key(other));
    // A number tells two seats apart: Seat 1 is no slip for Seat 2.
    let digits = |name: &str| name.chars().filter(char::is_ascii_digit).collect::<String>();
    let (number, of_other) = (digits(&one), digits(&other));
    if !number.is_empty() && !of_other.is_empty() && number != of_other {
        return None;
    }
    // One in letters of two scripts was made to be taken for the other.
    if is_mixed(&one) != is_mixed(&other) {
        return None;
    }
    let begins = |long: &str, short: &str| long.strip_prefix(short).is_some_and(|rest| rest.starts_with(' '));
    if begins(&one, &other) || begins(&other, &one) {
        return Some(1);
    }
    let longest = one.chars().count().max(other.chars().count());
    let slips = strsim::osa_distance(&one, &other);
    (slips <= longest / LETTERS_A_SLIP).then_some(slips)
}

/// Whether Latin letters stand among others. (Simpler than the restriction levels of Unicode Technical Standard #39 §5.2.)
fn is_mixed(name: &str) -> bool {
    name.contains(|c: char| c.is_ascii_alphabetic())
        && name.contains(|c: char| c.is_alphabetic() && c > '\u{24f}')
}

/// The one of some names that was most likely meant; of equally likely ones the first.
pub fn nearest<'a>(name: &str, names: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let near = names.into_iter().filter_map(|known| Some((slips(name, known)?, known)));
    near.min_by_key(|(slips, _)| *slips).map(|(_, known)| known)
}

impl Room {
    /// Who was most likely meant by a name that no seat has or had; by a former name, what they are called now too.
    pub fn name_near(&self, name: &str) -> Option<String> {
        let (joined, persons): (Vec<&Seat>, Vec<&Seat>) =
            self.seats.iter().partition(|seat| seat.same_as.is_some());
        let names = persons.into_iter().chain(joined).map(|seat| seat.name.as_str());
        let near = nearest(name, names.chain(self.former_names()))?;
        let seat = self.seat_meant(near)?;
        Some(match name_key(near) == name_key(&seat.name) {
            true => seat.name.clone(),
            false => format!("{near}, who is called {} now", seat.name),
        })
    }

    /// The names that seats had before they were renamed.
    pub fn former_names(&self) -> impl Iterator<Item = &str> {
        self.amendments.iter().filter_map(|amendment| match amendment {
            Amendment::Renamed { from, .. } => Some(from.as_str()),
            _ => None,
        })
    }

    /// Says that no seat has a name, and which one may have been meant.
    pub fn no_such_seat(&self, name: &str) -> String {
        let shown = protocol::text::clean(name, protocol::text::NAME_CHARS);
        match self.name_near(name) {
            Some(near) => format!("no seat is named {shown}; did you mean {near}?"),
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
        for alike in ["An\u{3b7}", "\u{410}nn", "Ko\u{43d}stantin"] {
            assert_eq!(nearest(alike, ["Ann", "Konstantin"]), None, "{alike}: in letters of two scripts");
        }
        assert_eq!(nearest("Seat 2", ["Seat 1", "Seat 12"]), None, "a number tells two apart");
        assert_eq!(nearest("Saet 2", ["Seat 1", "Seat 2"]), Some("Seat 2"));
        for other in ["Eve", "Al", "Bartholomew", "", "王"] {
            assert_eq!(nearest(other, ["Ann", "Bob", "Li Wei", "Ed"]), None, "{other}");
        }
    }
}
