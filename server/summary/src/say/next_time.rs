//! What the class would change in a tea next time, by its strength votes: over its steeps, and steep by steep where these do not
//! agree. Only what is shown once all teas, or all cups, are looked at is advice; of other votes it is told which way they lean.

use crate::figures::Figures;
use crate::find::leaves::{Better, better_than};
use crate::find::strength::{Estimate, StrengthCup, StrengthFindings, StrengthTea, TeaHint};
use crate::say::capital;
use crate::say::strength::but_for;
use protocol::Code;
use protocol::say::{list, many, steeps};
use stats::penalty::Hint;
use stats::say::points;

/// What goes with every time that is worked out.
pub const ROUGH_GUESS: &str = "a rough guess, worked out from fine black leaf; taste before you trust it";
/// What goes with times that are changed by as much as is changed in one go.
pub const FIRST_STEP: &str = "it may take more than one class";
/// What goes with votes that lean to a side and show nothing.
const NOT_SURE: &str = "too few to be sure";
/// Of a tea whose times are right.
const LEAVE: &str = "Leave it";
/// A steep leans to a side that has so many votes more than the other, and twice as many: 9 votes to 7 do not. Our own rule.
const LEANS: usize = 2;
/// Counts are told of so many steeps at most, and of a tea of more steeps than [`LISTED`] no more of them are named.
const COUNTED: usize = 3;
/// Of so many steeps all are named.
const LISTED: usize = 5;

/// What is to be done with a tea next time, in whole sentences for its card: another way of its leaf that is liked more, then what the
/// votes come to. `called` names a tea. Nothing where there is neither.
pub fn for_card(found: &Figures, tea: Code, called: impl Fn(Code) -> String) -> Option<String> {
    let strength = found.strength.as_ref();
    let better = better_than(&found.leaves, tea).and_then(|better| better_way(found, &better, called));
    let votes = match better {
        None => strength.map(|strength| of_tea(strength, tea)),
        // A card has one instruction: what is liked less than another way is not to be changed, and not to be left, right as its
        // strength may be.
        Some(_) => strength
            .filter(|strength| !changes(strength, tea))
            .map(|strength| of_tea(strength, tea).replacen(LEAVE, "Its strength is right", 1)),
    };
    let said: Vec<String> = better.into_iter().chain(votes).collect();
    (!said.is_empty()).then(|| said.join(" "))
}

/// The times to try that stand on the card of a tea, under its steeps: none where another way of its leaf is shown to be liked more.
pub fn to_try_on_card(found: &Figures, tea: Code) -> Option<&Estimate> {
    let strength = found.strength.as_ref().filter(|_| better_than(&found.leaves, tea).is_none())?;
    strength.to_try(tea)
}

/// Whether the votes on a tea ask for a change, in all its steeps or in one.
fn changes(found: &StrengthFindings, tea: Code) -> bool {
    let shown = found.tea(tea).and_then(|of| of.hint.get()?.shown());
    matches!(shown, Some(Hint::Lengthen | Hint::Shorten)) || !found.otherwise(tea).is_empty()
}

/// What the votes on a tea come to, in whole sentences.
pub fn of_tea(found: &StrengthFindings, tea: Code) -> String {
    let of = found.tea(tea);
    let Some(hint) = of.and_then(|of| of.hint.get()) else { return "Nobody voted on its strength.".into() };
    let cups: Vec<&StrengthCup> =
        found.cups.iter().filter(|cup| cup.tea == tea && cup.votes().0 > 0).collect();
    let whole = over_steeps(hint, &but_for(found, tea));
    if hint.tasters < found.tasters_needed && hint.shown().is_none() {
        return too_few(of, hint, found.tasters_needed);
    }
    let otherwise = found.otherwise(tea);
    let others = of.into_iter().flat_map(|of| of.codes()).filter(|code| **code != tea);
    let others: Vec<String> = others.map(Code::to_string).collect();
    let together = (!others.is_empty())
        .then(|| format!("Its votes are counted with those on {}, the same tea.", list(&others)));
    let said: Vec<String> =
        whole.into_iter().chain(by_steep(&cups, hint, &otherwise)).chain(together).collect();
    said.join(" ")
}

/// What another way of its leaf is shown to have more, for the card of a tea: "Better as 224 Oak long (3 g, 100 ml, 95 °C, 60 80 s),
/// with 66 and 90 s: liked 1.2 points more", with times where that way's own votes are shown to ask for others. `called` names a tea.
fn better_way(found: &Figures, better: &Better<'_>, called: impl Fn(Code) -> String) -> Option<String> {
    let first = *better.better.teas.first()?;
    let estimate = found.strength.as_ref().and_then(|strength| strength.to_try(first));
    let times = estimate.map(|estimate| &estimate.steep_s).filter(|times| !times.is_empty());
    let times = times.map_or(String::new(), |times| {
        format!(", with {} s", list(&times.iter().map(u32::to_string).collect::<Vec<_>>()))
    });
    let points = points(better.points);
    Some(format!("Better as {} ({}){times}: liked {points} more.", called(first), better.better.way))
}

/// Said of votes of one mind that are too few to show anything.
pub(crate) fn cant_be_shown(tasters: usize, needed: usize) -> String {
    format!("With {} that can't be shown: ask {needed}.", many(tasters, "taster"))
}

/// Of votes that are too few to show anything whatever they are.
fn too_few(of: Option<&StrengthTea>, hint: &TeaHint, needed: usize) -> String {
    let tasters = hint.tasters;
    let (n, [much_thin, thin, _, strong, much_strong]) = of.map_or((0, [0; 5]), StrengthTea::votes);
    let (word, votes) = match (hint.too_thin == tasters, hint.too_strong == tasters) {
        (true, _) if tasters > 1 => ("thin", much_thin + thin),
        (_, true) if tasters > 1 => ("strong", strong + much_strong),
        _ => return format!("Too few voted to say: {}, and {needed} are needed.", many(tasters, "taster")),
    };
    format!("All {tasters} found it too {word} ({votes} of {n} votes). {}", cant_be_shown(tasters, needed))
}

/// What all steeps together say of a tea, if they do: "Longer, but for steep 2: 8 of 8 … .", "It leaned thin: 6 of 8 …; too few to
/// be sure."
fn over_steeps(hint: &TeaHint, but_for: &str) -> Option<String> {
    let tasters = many(hint.tasters, "taster");
    let (how, leans, votes) = match hint.hint {
        Hint::TooFewToTell => return None,
        Hint::Leave => (
            LEAVE,
            "It leaned to just right",
            format!("{} of {tasters} found it mostly just right", hint.mostly_right),
        ),
        Hint::Lengthen => {
            ("Longer", "It leaned thin", format!("{} of {tasters} found it rather too thin", hint.too_thin))
        }
        Hint::Shorten => (
            "Shorter",
            "It leaned strong",
            format!("{} of {tasters} found it rather too strong", hint.too_strong),
        ),
    };
    Some(match hint.shown() {
        Some(_) => format!("{how}{but_for}: {votes}."),
        None => format!("{leans}: {votes}; {NOT_SURE}."),
    })
}

/// Votes for too thin and for too strong.
fn sides(cup: &StrengthCup) -> (usize, usize) {
    let (_, [much_thin, thin, _, strong, much_strong]) = cup.votes();
    (much_thin + thin, strong + much_strong)
}

/// What is told of a steep that shows nothing by itself.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Told {
    Right,
    Thin,
    Strong,
    Divided,
}

impl Told {
    fn of(cup: &StrengthCup) -> Self {
        let (thin, strong) = sides(cup);
        let leans = |side: usize, other: usize| side >= other + LEANS && side >= 2 * other;
        let (n, counts) = cup.votes();
        match counts[2] {
            right if 2 * right > n => Told::Right,
            _ if leans(thin, strong) => Told::Thin,
            _ if leans(strong, thin) => Told::Strong,
            _ => Told::Divided,
        }
    }

    /// Whether it says something else than the whole tea.
    fn adds(self, whole: Hint) -> bool {
        match whole {
            Hint::TooFewToTell => true,
            Hint::Lengthen => self == Told::Strong,
            Hint::Shorten => self == Told::Thin,
            Hint::Leave => matches!(self, Told::Thin | Told::Strong),
        }
    }
}

/// The steeps by themselves, each once, as far as they say something else than the whole tea, or all there is where that says nothing.
/// `otherwise` are those whose own votes show it.
fn by_steep(cups: &[&StrengthCup], whole: &TeaHint, otherwise: &[(&StrengthCup, Hint)]) -> Vec<String> {
    let open = whole.hint == Hint::TooFewToTell;
    // That most find a steep just right is counted below where the whole tea says nothing.
    let counted_below =
        |cup: &StrengthCup, hint: Hint| open && hint == Hint::Leave && Told::of(cup) == Told::Right;
    let told = otherwise.iter().filter(|(cup, hint)| !counted_below(cup, *hint));
    let mut said: Vec<String> = told.filter_map(|(cup, hint)| alone(cup, *hint)).collect();
    let left = |cup: &StrengthCup| cup.shown().is_none_or(|hint| counted_below(cup, hint));
    let pick = |wanted: Told| -> Vec<&StrengthCup> {
        let of = |cup: &&&StrengthCup| left(cup) && Told::of(cup) == wanted && wanted.adds(whole.hint);
        cups.iter().filter(of).copied().collect()
    };
    let [right, thin, strong, divided] = [Told::Right, Told::Thin, Told::Strong, Told::Divided].map(pick);
    let (shown, open): (Vec<&StrengthCup>, Vec<&StrengthCup>) =
        right.into_iter().partition(|cup| cup.shown().is_some());
    let counts = |cups: &[&StrengthCup]| {
        counted(cups, |cup| {
            let (n, votes) = cup.votes();
            format!("{} of {n}", votes[2])
        })
    };
    if !shown.is_empty() {
        said.push(format!("Most found {} just right{}.", called(&shown, cups.len()), counts(&shown)));
    }
    if !open.is_empty() {
        let leaned = format!("{} leaned to just right{}", called(&open, cups.len()), counts(&open));
        said.push(format!("{}: {NOT_SURE}.", capital(&leaned)));
    }
    said.extend(leanings(thin, strong, cups.len()));
    if !divided.is_empty() {
        said.push(format!("The votes on {} are divided.", called(&divided, cups.len())));
    }
    said
}

/// A steep whose own votes show what to do with it.
fn alone(cup: &StrengthCup, shown: Hint) -> Option<String> {
    let (thin, strong) = sides(cup);
    let (n, counts) = cup.votes();
    let (how, votes, found) = match shown {
        Hint::Lengthen => ("longer", thin, "too thin"),
        Hint::Shorten => ("shorter", strong, "too strong"),
        Hint::Leave => ("as it is", counts[2], "just right"),
        Hint::TooFewToTell => return None,
    };
    let called = cup.called.replacen('s', "S", 1);
    // Under several codes one taster has several votes.
    Some(match cup.together {
        Some(_) => format!("{called} {how}: {votes} of {} found it {found}.", many(n, "vote")),
        None => format!("{called} {how}: {votes} of {} found it {found}.", many(n, "taster")),
    })
}

/// "Steep 1 leaned thin (4 votes to 1), steep 3 strong (2 votes to 0): too few to be sure."
fn leanings(thin: Vec<&StrengthCup>, strong: Vec<&StrengthCup>, served: usize) -> Option<String> {
    let counts = |of: &[&StrengthCup]| {
        counted(of, |cup| {
            let (thin, strong) = sides(cup);
            format!("{} votes to {}", thin.max(strong), thin.min(strong))
        })
    };
    let said = [(thin, "thin"), (strong, "strong")].into_iter().filter(|(of, _)| !of.is_empty());
    let said: Vec<String> =
        said.map(|(of, word)| format!("{} leaned {word}{}", called(&of, served), counts(&of))).collect();
    let (first, rest) = said.split_first()?;
    let rest: String = rest.iter().map(|said| format!(", {}", said.replacen(" leaned ", " ", 1))).collect();
    let first = first.strip_prefix('s').map_or(first.clone(), |steeps| format!("S{steeps}"));
    Some(format!("{first}{rest}: {NOT_SURE}."))
}

/// "steeps 2 and 3", or each by what it is called where one was done again; of a tea of many steeps, where they are many and not one
/// after the other, how many they are: "5 of the 8 steeps".
fn called(cups: &[&StrengthCup], served: usize) -> String {
    let numbers: Vec<u32> = cups.iter().map(|cup| cup.steep).collect();
    let in_a_row = numbers.windows(2).all(|two| two[1] == two[0] + 1);
    if numbers.len() > COUNTED && served > LISTED && !in_a_row {
        return format!("{} of the {served} steeps", numbers.len());
    }
    if cups.iter().any(|cup| cup.called != format!("steep {}", cup.steep)) {
        return list(&cups.iter().map(|cup| cup.called.clone()).collect::<Vec<_>>());
    }
    steeps(&numbers)
}

/// " (6 of 7 and 6 of 8)", once where all are alike; nothing of many steeps.
fn counted(cups: &[&StrengthCup], count: impl Fn(&StrengthCup) -> String) -> String {
    let counts: Vec<String> = cups.iter().map(|cup| count(cup)).collect();
    match &counts[..] {
        [one] => format!(" ({one})"),
        [one, rest @ ..] if rest.iter().all(|other| other == one) => format!(" ({one} each)"),
        some if some.len() <= COUNTED => format!(" ({})", list(some)),
        _ => String::new(),
    }
}

/// What to try in place of a leaf in g and steeps in s, "Try 66, 51 and 102 s in place of 50, 30 and 45 s (or 4.2 g in place of
/// 3 g): …", as a rough guess; `None` while the tea is blind.
pub fn to_try(estimate: &Estimate, (leaf_g, steep_s): (f64, &[u32])) -> Option<String> {
    let leaf = format!("{:.1} g in place of {leaf_g} g", estimate.leaf_g?);
    let seconds = |all: &[u32]| list(&all.iter().map(u32::to_string).collect::<Vec<_>>());
    let n = estimate.steep_s.len().min(steep_s.len());
    let first = if estimate.first_step { "A first step: try" } else { "Try" };
    let what = match n {
        0 => leaf,
        n => format!(
            "{} s in place of {} s (or {leaf})",
            seconds(&estimate.steep_s[..n]),
            seconds(&steep_s[..n])
        ),
    };
    let more = if estimate.first_step { format!(", and {FIRST_STEP}") } else { String::new() };
    Some(format!("{first} {what}: {ROUGH_GUESS}{more}."))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data::Data;
    use crate::find::strength::strength;
    use fixtures::{At, Filled, class_file, room};

    /// What is said of one tea whose tasters vote so at each steep: a row a taster, a letter a steep (T, t, r, s, S).
    fn said(rows: &[&str]) -> String {
        let steeps = rows[0].len() as u32;
        let room = room(
            &class_file(1, steeps, "[sheet]\nattributes = [\"liking\"]"),
            rows.len(),
            &[0],
            |At { seat, steep, .. }| {
                let vote = "TtrsS".find(char::from(rows[seat].as_bytes()[steep as usize - 1]))?;
                let strength = Some([-2, -1, 0, 1, 2][vote]);
                Some(Filled { values: vec![Some(5)], strength, ..Filled::default() })
            },
        );
        let found = strength(&Data::of(&room, room.last_at)).unwrap();
        of_tea(&found, found.teas[0].tea)
    }

    #[test]
    fn steeps_that_do_not_agree_are_told_one_by_one() {
        for (rows, wanted) in [
            // As in the class that a teacher could not read: just right but for the first steep and the last.
            (
                &["trr", "trr", "trr", "trr", "rrr", "rrr", "rss", "s-s"][..],
                "Steeps 2 and 3 leaned to just right (6 of 7 and 6 of 8): too few to be sure. Steep 1 leaned thin (4 votes to 1): too few to \
                 be sure.",
            ),
            (
                &["t-s", "trs", "trs", "trr", "r-r", "rrr", "rt-", "st-"],
                "steep 3 strong (3 votes to 0): too few",
            ),
            (
                &["tr", "tr", "tr", "ts", "rr", "rs", "rr", "sr"],
                "Steep 2 leaned to just right (6 of 8): too few to be sure. Steep 1 leaned thin (4 votes to 1): too few to be sure.",
            ),
            (&["tr", "tr", "tt", "sr", "sr", "ss", "rr", "rs"], "The votes on steep 1 are divided."),
            (
                &["tS", "tS", "rs", "rs", "rs", "rs", "rs", "ts"],
                "Steep 2 shorter: 8 of 8 tasters found it too strong.",
            ),
            (
                &["tt"; 3],
                "All 3 found it too thin (6 of 6 votes). With 3 tasters that can't be shown: ask 6.",
            ),
            (&["tr", "rs", "tt"], "Too few voted to say: 3 tasters, and 6 are needed."),
            (&["tt"; 8], "Longer: 8 of 8 tasters found it rather too thin."),
            (
                &["tts"; 8],
                "Longer, but for steep 3: 8 of 8 tasters found it rather too thin. Steep 3 shorter: 8 of 8 tasters found it too \
                 strong.",
            ),
            (&["rr"; 8], "Leave it: 8 of 8 tasters found it mostly just right."),
        ] {
            let said = said(rows);
            assert!(said.contains(wanted), "{rows:?}: {said}");
        }
    }

    /// What is told of one steep of many tasters, so many of whom found it thin, just right and strong.
    fn told(thin: usize, right: usize, strong: usize) -> String {
        let votes = [("t", thin), ("r", right), ("s", strong)];
        let rows: Vec<&str> = votes.iter().flat_map(|&(vote, n)| std::iter::repeat_n(vote, n)).collect();
        said(&rows)
    }

    #[test]
    fn a_steep_leans_only_to_a_side_with_twice_the_votes_and_never_where_most_find_it_right() {
        for (votes, wanted) in [
            ((9, 4, 7), "The votes on steep 1 are divided."),
            ((11, 0, 9), "The votes on steep 1 are divided."),
            ((2, 10, 8), "Steep 1 leaned strong (8 votes to 2): too few to be sure."),
            ((2, 6, 0), "Steep 1 leaned to just right (6 of 8): too few to be sure."),
            ((2, 3, 1), "The votes on steep 1 are divided."),
        ] {
            assert_eq!(told(votes.0, votes.1, votes.2), wanted, "{votes:?}");
        }
    }

    #[test]
    fn of_a_tea_of_many_steeps_no_row_of_numbers_is_told() {
        let rows =
            ["trtrtrts", "trsrtrsr", "trtrsrtr", "rrsrrrrr", "rtrtrtrr", "rsrsrsrt", "srrrrrtr", "rrrrrrsr"];
        assert_eq!(
            said(&rows),
            "5 of the 8 steeps leaned to just right: too few to be sure. Steep 1 leaned thin (3 votes to 1): too few to be sure. The votes on steeps 3 and \
             7 are divided."
        );
    }

    #[test]
    fn nothing_is_advised_that_no_test_backs() {
        let said = said(&["tr", "tr", "tr", "ts", "rr", "rs", "rr", "sr"]);
        for advice in ["onger", "horter", "eave"] {
            assert!(!said.contains(advice), "{said}");
        }
        assert!(said.ends_with("too few to be sure."), "{said}");
    }
}
