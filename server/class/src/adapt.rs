//! Whether the votes on a tea's strength may change its later steeps.

use crate::{Class, Tea};
use serde::{Deserialize, Serialize};

/// What becomes of the votes on strength while the class is held.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Adapt {
    /// The host suggests another time for the next steep; the teacher decides.
    #[default]
    Suggest,
    /// What is suggested is done unless the teacher says no before the pour.
    Follow,
    /// Nothing.
    Off,
}

impl Adapt {
    /// All of them.
    pub const ALL: [Adapt; 3] = [Adapt::Suggest, Adapt::Follow, Adapt::Off];

    /// Its word in a class file.
    pub fn name(self) -> &'static str {
        match self {
            Adapt::Suggest => "suggest",
            Adapt::Follow => "follow",
            Adapt::Off => "off",
        }
    }

    /// Whether it is what holds without a word in the class file.
    pub(crate) fn is_usual(&self) -> bool {
        *self == Adapt::default()
    }
}

/// Whether another of some teas is of the same leaf. The ways of one leaf are compared as they were written down: changed by the
/// votes they would grow alike.
pub(crate) fn is_compared<'a>(tea: &Tea, teas: impl IntoIterator<Item = &'a Tea>) -> bool {
    let leaf = tea.leaf_key();
    teas.into_iter().filter(|other| other.leaf_key() == leaf).count() > 1
}

impl Class {
    /// What holds for a tea: nothing for ways of one leaf or where the strength is not asked, else the tea's own word or the class's.
    pub fn adapt(&self, tea: &Tea) -> Adapt {
        if self.stays_because(tea).is_some() { Adapt::Off } else { self.own_word(tea) }
    }

    /// Why the votes never change a tea's steeps, in words; nothing where they may.
    pub fn stays_because(&self, tea: &Tea) -> Option<&'static str> {
        if !self.sheet.strength {
            Some("the sheet does not ask for the strength; nothing says whether a steep is too thin")
        } else if is_compared(tea, &self.teas) {
            Some("two ways of one leaf are compared; they stay as written")
        } else if self.own_word(tea) == Adapt::Off {
            Some("the class file has adapt = \"off\" for it; it stays as written")
        } else {
            None
        }
    }

    fn own_word(&self, tea: &Tea) -> Adapt {
        tea.adapt.unwrap_or(self.adapt)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read;
    use crate::write::{Written, class_file};

    /// Two ways of one leaf, and a third tea.
    fn class(top: &str, sheet: &str) -> Class {
        let mut text = format!(
            "title = \"A\"\ndate = 2026-11-28\nseats = 8\npourers = \"each seat\"\npour_s = 8\ndecant_s = 6\n{top}\n{sheet}\n"
        );
        for (name, leaf, own) in [
            ("A", "Slope", ""),
            ("B", "slope", "adapt = \"off\""),
            ("C", "Pier", ""),
            ("D", "Gully", "adapt = \"suggest\""),
        ] {
            text += &format!(
                "[[tea]]\nname = \"{name}\"\nleaf = \"{leaf}\"\nleaf_g = 3\nwater_ml = 100\ntemp_c = 95\nsteep_s = [45]\n{own}\n"
            );
        }
        read::class(&text).unwrap()
    }

    #[test]
    fn a_teas_own_word_goes_before_the_classs_and_ways_of_one_leaf_stay_as_they_are() {
        use Adapt::{Follow, Off, Suggest};
        for (top, sheet, each) in [
            ("", "", [Off, Off, Suggest, Suggest]),
            ("adapt = \"follow\"", "", [Off, Off, Follow, Suggest]),
            ("adapt = \"off\"", "", [Off, Off, Off, Suggest]),
        ] {
            let class = class(top, sheet);
            let found: Vec<Adapt> = class.teas.iter().map(|tea| class.adapt(tea)).collect();
            assert_eq!(found, each, "{top}");
        }
    }

    #[test]
    fn without_votes_on_strength_nothing_is_changed() {
        let mut class = class("adapt = \"follow\"", "");
        class.sheet.strength = false;
        assert_eq!(class.adapt(&class.teas[2]), Adapt::Off);
    }

    /// A next class may serve the only way of a leaf beside a changed one: then neither asks for it any more.
    #[test]
    fn what_is_written_is_read_again_and_a_second_way_of_a_leaf_takes_back_what_the_first_asked_for() {
        let mut class = class("adapt = \"follow\"", "");
        class.teas.remove(0);
        let again = |class: &Class, teas: &[Tea]| {
            let teas: Vec<Written> =
                teas.iter().map(|t| Written { tea: t.clone(), why: "open".into() }).collect();
            read::class(&class_file(&[], class, &teas)).unwrap()
        };
        assert_eq!(again(&class, &class.teas), class);
        let second = Tea { name: "E".into(), steep_s: vec![60], ..class.teas[2].clone() };
        let two = again(&class, &[&class.teas[..], &[second]].concat());
        let asked: Vec<Option<Adapt>> = two.teas.iter().map(|tea| tea.adapt).collect();
        assert_eq!(asked, [Some(Adapt::Off), None, None, None]);
    }
}
