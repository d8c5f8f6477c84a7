//! The name of a person in a class: told apart from every other at a glance, and no word of the teacher's.

use crate::text::{self, is_joiner, is_mark, name_key};
use unicode_normalization::UnicodeNormalization;
use unicode_script::{Script, UnicodeScript};
use unicode_security::confusable_detection::skeleton;

/// What two names are told apart by at a glance: letters that look the same are one, of whatever script (the skeleton of
/// Unicode Technical Standard #39 §4), as are capitals; what stands between letters and digits is left out.
pub fn looks(name: &str) -> String {
    let plain: String = name.nfkc().filter(|c| !is_joiner(*c)).collect();
    let small = skeleton(&plain).collect::<String>().to_lowercase();
    let same: String = skeleton(&small).collect();
    let letters: String = same.chars().filter(|c| c.is_alphanumeric() || is_mark(*c)).collect();
    if letters.is_empty() { same } else { letters }
}

/// What has a meaning in what a teacher types.
const SIGNS: [char; 4] = ['*', ':', ',', '`'];

/// A new person's name, as [`text::name`] takes it, that can stand in what a teacher types and whose words are each of one alphabet.
///
/// # Errors
/// A sentence saying what is wrong.
pub fn name(raw: &str) -> Result<String, String> {
    let name = text::name(raw)?;
    if let Some(sign) = name.chars().find(|c| SIGNS.contains(c)) {
        return Err(format!(
            "it holds the sign “{sign}”, which means something in what the teacher types; leave it out"
        ));
    }
    let key = name_key(&name);
    if key == "all" || key.starts_with("all since ") {
        return Err("`all` means everybody in what the teacher types; choose another name".into());
    }
    if key.contains("(away") || key.ends_with("without scores") {
        return Err(
            "it reads like what is said of somebody who was sent away; leave that part of it out".into()
        );
    }
    if key.split(|c: char| !c.is_alphanumeric()).any(mixes_alphabets) {
        return Err("it mixes letters of two alphabets in one word; write each word in one of them".into());
    }
    Ok(name)
}

/// Whether a word has letters of two of the alphabets that share shapes with one another. Other scripts stand beside Latin in words of
/// good names, as those of level 4 of Unicode Technical Standard #39 §5.2 (Moderately Restrictive) do.
fn mixes_alphabets(word: &str) -> bool {
    const SHARE_SHAPES: [Script; 5] =
        [Script::Latin, Script::Greek, Script::Cyrillic, Script::Armenian, Script::Cherokee];
    let has = |script: &&Script| word.chars().any(|c| c.script() == **script);
    SHARE_SHAPES.iter().filter(has).count() > 1
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The letters of the first four are in the table of confusables of UTS #39: Cyrillic А and е, Greek ο, digit one and small L.
    #[test]
    fn names_that_read_the_same_in_other_letters_look_alike_and_others_do_not() {
        for (one, other) in [
            ("Ann", "Аnn"),
            ("Zoe", "Zοе"),
            ("Seat 1", "Seat l"),
            ("Li", "L\u{131}"),
            ("Ann", "A n n"),
            ("Ann", "A.n.n"),
            ("Ann", "аNN"),
            ("Li Wei", "LiWei"),
            ("O'Brien", "O’Brien"),
        ] {
            assert_eq!(looks(one), looks(other), "{one} {other}");
        }
        for (one, other) in [
            ("Ann", "Anne"),
            ("Zoe", "Zoë"),
            ("Seat 1", "Seat 2"),
            ("Seat 1", "Seat 11"),
            ("明月", "明日"),
            ("म", "मा"),
        ] {
            assert_ne!(looks(one), looks(other), "{one} {other}");
        }
    }

    #[test]
    fn a_persons_name_is_of_any_script_and_no_word_of_the_teachers() {
        for taken in [
            "Ann",
            "Li Wei",
            "Seat 1",
            "7",
            "O'Brien-Ødegård",
            "Ann (Berlin)",
            "阿May",
            "Иван Smith",
            "Ελένη",
            "Alla",
            "All Saints",
            "Ann-Sophie",
            "دانيال",
            "Jean & Jo",
        ] {
            assert_eq!(name(taken).as_deref(), Ok(taken));
        }
        for (refused, why) in [
            ("all", "everybody"),
            ("ALL", "everybody"),
            ("All since 19:05", "the sign “:”,"),
            ("all since noon", "everybody"),
            ("stranger-*", "the sign “*”,"),
            ("Ann: hello", "the sign “:”,"),
            ("Ann, Bob", "the sign “,”,"),
            ("`Ann`", "the sign “`”,"),
            ("Ann (away)", "sent away"),
            ("Ann (Away 2)", "sent away"),
            ("Ann without scores", "sent away"),
            ("Anη", "two alphabets"),
            ("Аnn", "two alphabets"),
            ("...", "letter or digit"),
        ] {
            assert!(name(refused).unwrap_err().contains(why), "{refused}: {:?}", name(refused));
        }
    }
}
