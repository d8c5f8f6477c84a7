//! What a review would have its reader change in a tea, in whatever words and wherever they stand: in short, among the findings,
//! on the tea's card, as the mark beside each cup, and in the class file for next time.

use protocol::Code;
use report::tables::{Cell, TableOf, tables};
use room::Room;
use room::light::ClassScores;
use summary::next::next;
use summary::say::brief::Matter;
use summary::say::next_time::of_tea;
use summary::sentence::{About, Sentence};
use summary::several::digest::Digest;
use summary::several::pool;
use summary::spot::{Spots, spots};
use summary::{Summary, TeaLine};

/// What a teacher is told to do with a steep.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Do {
    Longer,
    Shorter,
    Leave,
}

impl Do {
    /// Of words that tell one thing.
    fn said(text: &str) -> Option<Self> {
        let text = text.to_lowercase();
        let has = |words: [&str; 2]| words.iter().any(|word| text.contains(word));
        match (has(["longer", "lengthen"]), has(["shorter", "shorten"])) {
            (true, _) => Some(Do::Longer),
            (_, true) => Some(Do::Shorter),
            _ => text.contains("leave").then_some(Do::Leave),
        }
    }
}

/// Whether a text would have something changed. That it can't be told which way is none.
fn changes(text: &str) -> bool {
    matches!(Do::said(&text.replace("longer or shorter", "")), Some(Do::Longer | Do::Shorter))
}

/// The mark beside each cup.
fn marks(summary: &Summary) -> Vec<(Code, i64, Do)> {
    let tables = tables(summary);
    let Some(table) = tables.iter().find(|table| table.about == TableOf::Strength) else { return Vec::new() };
    let column = |name: &str| table.columns.iter().position(|column| column.name == name);
    let (Some(tea), Some(steep), Some(next)) = (column("tea"), column("steep"), column("next time")) else {
        return Vec::new();
    };
    let whole = |cell: &Cell| if let Cell::Whole(number) = cell { Some(*number) } else { None };
    let mark = |row: &Vec<Cell>| {
        let code = u16::try_from(whole(&row[tea])?).ok().and_then(Code::new)?;
        Some((code, whole(&row[steep])?, Do::said(&row[next].to_string())?))
    };
    table.rows.iter().filter_map(mark).collect()
}

/// The findings on the strength of a tea over its steeps.
fn over_steeps(summary: &Summary) -> impl Iterator<Item = (Code, &Sentence)> {
    let of_strength = summary.findings.sentences.iter().filter(|s| s.about == About::Strength);
    of_strength.filter_map(|said| match said.evidence.teas[..] {
        [tea, ..] if said.evidence.steep.is_none() => Some((tea, said)),
        _ => None,
    })
}

/// Whether two codes of one way of steeping a leaf are to be treated otherwise: on their cards, by the times to try, by the marks beside
/// their cups, or by what is found of them.
pub fn is_two_for_one_tea(summary: &Summary) -> bool {
    let Some(strength) = &summary.findings.figures.strength else { return false };
    let marks = marks(summary);
    // What a wrong strength costs in liking is no advice.
    let advice = |said: &&Sentence| said.about == About::Strength && said.evidence.attribute.is_none();
    let of_strength = || summary.findings.sentences.iter().filter(advice);
    let told = |code: Code| -> Vec<&Sentence> {
        of_strength().filter(|said| said.shown && said.evidence.teas.contains(&code)).collect()
    };
    let otherwise = |a: Code, b: Code| {
        let mark = |code: Code| -> Vec<(i64, Do)> {
            marks.iter().filter(|(of, ..)| *of == code).map(|(_, steep, mark)| (*steep, *mark)).collect()
        };
        let card = |code: Code| Do::said(&of_tea(strength, code));
        let times = |code: Code| strength.to_try(code).map(|tried| &tried.steep_s);
        mark(a) != mark(b) || card(a) != card(b) || times(a) != times(b) || told(a) != told(b)
    };
    summary.teas.iter().enumerate().any(|(place, tea)| {
        let same = |other: &&TeaLine| {
            other.recipe.is_some() && (&other.leaf, &other.recipe) == (&tea.leaf, &tea.recipe)
        };
        summary.teas[..place].iter().filter(same).any(|other| otherwise(tea.code, other.code))
    })
}

/// Whether the next class, as `review --next` writes it, has a tea steeped otherwise.
pub fn is_in_the_next_class(room: &Room) -> bool {
    let record = ClassScores::of(room);
    let classes = [(record.clone(), Digest::of(&record))];
    // Further ways are none that the votes ask for.
    let spots = Spots { leaves: Vec::new(), ..spots(&classes, None) };
    let Ok(next) = next(&pool(&classes), &spots, &[&record], "2026-12-05", None) else { return false };
    [", longer", ", shorter", ", changed"].iter().any(|change| next.text.contains(change))
}

/// Whether any tea is advised to be steeped otherwise.
pub fn is_given(summary: &Summary) -> bool {
    let found = &summary.findings;
    let cards = found.figures.strength.iter().flat_map(|s| s.teas.iter().map(|tea| of_tea(s, tea.tea)));
    let sentences = found.sentences.iter().filter(|said| said.about == About::Strength);
    found.brief.iter().any(|line| changes(&line.text))
        || cards.into_iter().any(|card| changes(&card))
        || sentences.into_iter().any(|said| changes(&said.text))
        || report::home::cards::html(summary).contains("To try")
        || marks(summary).iter().any(|(_, _, mark)| *mark != Do::Leave)
}

/// Whether a cup is marked otherwise than what is said of its tea: of a tea that is to be left as it is, or one of whose other steeps
/// are to be changed, and of which the cup is not named as an exception.
pub fn is_at_odds(summary: &Summary) -> bool {
    let marks = marks(summary);
    let against = |(tea, said): (Code, &Sentence)| {
        // Which way votes lean is no advice.
        let told = Do::said(&said.text);
        let of_tea =
            marks.iter().filter(|(of, _, mark)| *of == tea && told.is_some_and(|told| *mark != told));
        of_tea.into_iter().any(|(_, steep, _)| !excepts(&said.text, *steep))
    };
    let in_short = summary.findings.brief.iter().find(|line| line.matter == Matter::NextTime);
    let left = in_short.filter(|line| !line.text.contains(" more, with the rest"));
    let changed = |(tea, _, mark): &(Code, i64, Do)| {
        *mark != Do::Leave && left.is_some_and(|line| !line.text.contains(&tea.to_string()))
    };
    over_steeps(summary).any(against) || marks.iter().any(changed)
}

/// Whether what is said of a tea leaves out this steep: "…, but for steeps 1 and 3".
fn excepts(text: &str, steep: i64) -> bool {
    let (_, behind) = text.split_once("but for steep").unwrap_or_default();
    let named = behind.split(['.', ':', '(']).next().unwrap_or_default();
    named.split(|c: char| !c.is_ascii_digit()).any(|number| number == steep.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_advice_is_not_taken_for_it() {
        for text in [
            "The votes are too few to say what to steep longer or shorter.",
            "Leave the others: the votes are not clear enough for a change.",
            "Steep 1 leaned thin (4 votes to 1): too few to be sure.",
        ] {
            assert!(!changes(text), "{text}");
        }
        for text in ["Perhaps longer: 6 of 8.", "211: steep it shorter next time.", "lengthen?"] {
            assert!(changes(text), "{text}");
        }
    }

    #[test]
    fn a_steep_that_is_named_as_an_exception_is_one() {
        let text = "211: steep it longer next time, but for steeps 1 and 13. Over steeps 1 to 14, 8 of 9 …";
        assert_eq!([1, 13, 3, 14].map(|steep| excepts(text, steep)), [true, true, false, false]);
    }
}
