//! What to steep otherwise next time, in one line: a leaf in the way that is liked more, a tea longer or shorter.

use super::{Line, Matter};
use crate::data::Data;
use crate::figures::Figures;
use crate::find::leaves::{Better, Leaf, better_than};
use crate::find::strength::{Estimate, StrengthFindings, StrengthTea, TeaHint};
use crate::say::compared::{one_tea, one_tea_briefly};
use crate::say::next_time::{ROUGH_GUESS, cant_be_shown, to_try};
use crate::say::strength::but_for;
use crate::say::{capital, longer_or_shorter};
use protocol::Code;
use protocol::say::{list, many};
use stats::penalty::Hint;
use stats::say::points;

/// So many changes are told at most.
const TOLD: usize = 4;
/// So many leaves are told of that are liked more in another way.
const LEAVES: usize = 2;

/// A change that is shown to be asked for.
struct Change<'a> {
    tea: Code,
    /// "259 Snow Gully", "591 Copper Pier, steep 3"; and where there is little room.
    whose: [String; 2],
    /// "longer", "longer, but for steep 2".
    how: String,
    /// So many of so many found it "too thin".
    votes: (usize, usize, &'static str),
    estimate: Option<&'a Estimate>,
}

/// The better way of each leaf, then what the votes show, all teas and cups being looked at; nothing if there is neither. "Leave" is said
/// only where it is shown that most found a tea just right.
pub fn line(data: &Data<'_>, found: &Figures) -> Option<Line> {
    let ways = better_ways(data, &found.leaves);
    let votes = found.strength.as_ref().and_then(|strength| by_votes(data, strength, &found.leaves));
    let (mut text, mut short) = ways.unwrap_or_default();
    if let Some((at_length, briefly)) = votes {
        let blank = if text.is_empty() { "" } else { " " };
        (text, short) = (format!("{text}{blank}{at_length}"), format!("{short}{blank}{briefly}"));
    }
    let line = |said: String| format!("Next time: {said}");
    (!text.is_empty()).then(|| Line { text: line(text), short: line(short), matter: Matter::NextTime })
}

/// "Oak leaf as 224 Oak long (3 g, 100 ml, 95 °C, 60 80 s), liked 1.2 points more than 211 Oak short."
fn better_ways(data: &Data<'_>, leaves: &[Leaf]) -> Option<(String, String)> {
    let better: Vec<Better<'_>> =
        leaves.iter().filter_map(|leaf| leaf.liked_more().first().copied()).collect();
    let names =
        |found: &Better<'_>| format!("{} as {}", found.leaf.leaf, one_tea_briefly(data, &found.better.teas));
    let more = better.len().saturating_sub(LEAVES);
    let more = (more > 0).then(|| many(more, "more leaf").replace("leafs", "leaves"));
    let briefly: Vec<String> = better.iter().take(LEAVES).map(names).chain(more.clone()).collect();
    let briefly = format!("{}: liked more.", list(&briefly));
    let told = || -> String {
        let each = better.iter().take(LEAVES).map(|found| {
            format!(
                "{} ({}), liked {} more than {}",
                names(found),
                found.better.way,
                points(found.points),
                one_tea_briefly(data, &found.than.teas)
            )
        });
        let each: Vec<String> = each.chain(more).collect();
        format!("{}.", each.join("; "))
    };
    (!better.is_empty()).then(|| (told(), briefly))
}

/// What the votes come to, at length and briefly, behind the better ways of `leaves`. Nothing if nobody voted.
fn by_votes(data: &Data<'_>, strength: &StrengthFindings, leaves: &[Leaf]) -> Option<(String, String)> {
    let voted: Vec<(&StrengthTea, &TeaHint)> =
        strength.each().filter_map(|tea| Some((tea, tea.hint.get()?))).collect();
    let tasters = voted.iter().map(|(_, hint)| hint.tasters).max()?;
    let changes = changes(data, strength);
    let beside = leaves.iter().any(|leaf| !leaf.liked_more().is_empty());
    if changes.is_empty() && tasters < strength.tasters_needed {
        let text = too_few(data, &voted, tasters, strength.tasters_needed);
        let text = if beside { capital(&text) } else { text };
        return Some((text.clone(), text));
    }
    let (mut text, mut short) = if changes.is_empty() { Default::default() } else { told(data, &changes) };
    let others: Vec<(&StrengthTea, &TeaHint)> =
        voted.iter().filter(|(tea, _)| changes.iter().all(|change| change.tea != tea.tea)).copied().collect();
    // What is liked less than another way is not to be left, right as its strength may be.
    let others: Vec<_> = others
        .into_iter()
        .filter(|(tea, hint)| hint.shown() != Some(Hint::Leave) || better_than(leaves, tea.tea).is_none())
        .collect();
    for said in rest(data, &others, changes.is_empty(), voted.len()) {
        let blank = if text.is_empty() { "" } else { " " };
        let said = if beside || !text.is_empty() { capital(&said) } else { said };
        (text, short) = (format!("{text}{blank}{said}"), format!("{short}{blank}{said}"));
    }
    (!text.is_empty()).then_some((text, short))
}

/// What is said of teas that nothing is to be changed in: that most found them just right where that is shown, else that no change is
/// shown, with those whose votes lean to a side.
fn rest(data: &Data<'_>, others: &[(&StrengthTea, &TeaHint)], alone: bool, voted: usize) -> Vec<String> {
    let names = |of: &[(&StrengthTea, &TeaHint)]| -> String {
        let names: Vec<String> = of.iter().map(|(tea, _)| one_tea_briefly(data, tea.codes())).collect();
        if names.len() > TOLD { many(names.len(), "tea") } else { list(&names) }
    };
    let (right, open): (Vec<_>, Vec<_>) =
        others.iter().copied().partition(|(_, hint)| hint.shown() == Some(Hint::Leave));
    let mut said = Vec::new();
    if !right.is_empty() {
        let whom = match right.len() {
            1 if voted > 1 => names(&right),
            n if n == voted && n > 1 => "the teas".into(),
            n if n == others.len() && n > 1 => "the others".into(),
            _ => names(&right),
        };
        said.push(format!(
            "leave {whom} as {}: most found that just right.",
            if right.len() == 1 { "it is" } else { "they are" }
        ));
    }
    if open.is_empty() {
        return said;
    }
    let leaning: Vec<String> =
        open.iter().filter_map(|(tea, hint)| leaning(data, tea, hint)).take(TOLD).collect();
    let again = match leaning.len() {
        0 => String::new(),
        _ => format!(" {}: worth asking again.", list(&leaning)),
    };
    let whom = match (alone && right.is_empty(), open.len()) {
        (true, _) => "",
        (false, 1) => "for the other ",
        (false, _) => "for the others ",
    };
    said.push(format!("{whom}the strength votes are not clear enough for a change.{again}"));
    said
}

/// "451 leaned thin (17 of 24 tasters)", of votes that would show something by themselves; counted as on its card.
fn leaning(data: &Data<'_>, tea: &StrengthTea, hint: &TeaHint) -> Option<String> {
    Some(format!("{} {}", one_tea_briefly(data, tea.codes()), hint.leaned()?))
}

/// That so few can't show anything, with what all of them found.
fn too_few(data: &Data<'_>, voted: &[(&StrengthTea, &TeaHint)], tasters: usize, needed: usize) -> String {
    for (word, side) in [("thin", true), ("strong", false)] {
        let all: Vec<&(&StrengthTea, &TeaHint)> = voted
            .iter()
            .filter(|(_, hint)| hint.tasters == tasters && tasters > 1)
            .filter(|(_, hint)| if side { hint.too_thin } else { hint.too_strong } == tasters)
            .collect();
        if all.is_empty() {
            continue;
        }
        let counts = all.iter().map(|(tea, _)| {
            let (n, [much_thin, thin, _, strong, much_strong]) = tea.votes();
            (if side { much_thin + thin } else { strong + much_strong }, n)
        });
        let (votes, n) = counts.fold((0, 0), |sum, of| (sum.0 + of.0, sum.1 + of.1));
        let which = match all.len() {
            1 => one_tea_briefly(data, all[0].0.codes()),
            n if n == voted.len() => format!("all {n} teas"),
            n if n > TOLD => many(n, "tea"),
            _ => list(&all.iter().map(|(tea, _)| one_tea_briefly(data, tea.codes())).collect::<Vec<_>>()),
        };
        return format!(
            "all {tasters} found {which} too {word} ({votes} of {n} votes). {}",
            cant_be_shown(tasters, needed)
        );
    }
    format!(
        "too few voted to say what to steep longer or shorter: {}, and {needed} are needed.",
        many(tasters, "taster")
    )
}

/// Teas by all their steeps, and cups whose own votes show what those of their tea do not.
fn changes<'a>(data: &Data<'_>, strength: &'a StrengthFindings) -> Vec<Change<'a>> {
    let called = |tea: &StrengthTea| [one_tea(data, tea.codes()), one_tea_briefly(data, tea.codes())];
    let of_teas = strength.each().filter_map(|tea| {
        let hint = tea.hint.get()?;
        Some(Change {
            tea: tea.tea,
            whose: called(tea),
            how: format!("{}{}", longer_or_shorter(hint.shown()?)?, but_for(strength, tea.tea)),
            votes: match hint.hint {
                Hint::Shorten => (hint.too_strong, hint.tasters, "too strong"),
                _ => (hint.too_thin, hint.tasters, "too thin"),
            },
            estimate: strength.to_try(tea.tea),
        })
    });
    let otherwise =
        strength.each().flat_map(|tea| strength.otherwise(tea.tea).into_iter().map(move |of| (tea, of)));
    let of_cups = otherwise.filter_map(|(tea, (cup, hint))| {
        let (voted, [much_thin, thin, _, strong, much_strong]) = cup.votes();
        Some(Change {
            tea: cup.tea,
            whose: called(tea).map(|whose| format!("{whose}, {}", cup.called)),
            how: longer_or_shorter(hint)?.into(),
            votes: match hint {
                Hint::Shorten => (strong + much_strong, voted, "too strong"),
                _ => (much_thin + thin, voted, "too thin"),
            },
            estimate: None,
        })
    });
    of_teas.chain(of_cups).collect()
}

impl Change<'_> {
    /// "66, 51 and 102 s", if they can be worked out.
    fn times(&self) -> Option<String> {
        let times = &self.estimate?.steep_s;
        let seconds: Vec<String> = times.iter().map(u32::to_string).collect();
        (!times.is_empty()).then(|| format!("{} s", list(&seconds)))
    }

    fn how_tried(&self) -> &'static str {
        if self.estimate.is_some_and(|estimate| estimate.first_step) { "a first step, try" } else { "try" }
    }

    /// "259 Snow Gully longer (8 of 8: too thin): try 66, 51 and 102 s".
    fn briefly(&self, little_room: bool) -> String {
        let place = usize::from(little_room);
        let (votes, of, word) = self.votes;
        let times = self.times().map_or(String::new(), |times| format!(": {} {times}", self.how_tried()));
        format!("{} {} ({votes} of {of}: {word}){times}", self.whose[place], self.how)
    }

    /// "259 Snow Gully longer: 8 of 8 found it rather too thin. Try …"
    fn at_length(&self, data: &Data<'_>) -> String {
        let (votes, of, word) = self.votes;
        let served = data.teas.iter().find(|served| served.code == self.tea);
        let tried = self
            .estimate
            .zip(served)
            .and_then(|(estimate, served)| to_try(estimate, (served.open?.leaf_g, served.steep_s())));
        let tried = tried.map_or(String::new(), |tried| format!(" {tried}"));
        format!("{} {}: {votes} of {of} found it rather {word}.{tried}", self.whose[0], self.how)
    }
}

/// Changes that come to the same times together.
fn alike<'a, 'b>(changes: &'b [Change<'a>]) -> Vec<Vec<&'b Change<'a>>> {
    let mut groups: Vec<Vec<&Change<'_>>> = Vec::new();
    for change in changes {
        let same = |other: &&Change<'_>| {
            let of = |of: &Change<'_>| (of.how.clone(), of.times(), of.how_tried(), of.votes.1, of.votes.2);
            change.times().is_some() && of(other) == of(change)
        };
        match groups.iter_mut().find(|group| group.iter().all(same)) {
            Some(group) => group.push(change),
            None => groups.push(vec![change]),
        }
    }
    groups
}

/// "211 Oak, 224 Elm and 237 Ash longer (8 to 10 of 10: too thin): try 39, 60 and 75 s".
fn together(group: &[&Change<'_>]) -> String {
    let first = group[0];
    let names: Vec<String> = group.iter().map(|change| change.whose[1].clone()).collect();
    let votes = || group.iter().map(|change| change.votes.0);
    let (least, most) = (votes().min().unwrap_or(0), votes().max().unwrap_or(0));
    let votes = if least == most { format!("{most}") } else { format!("{least} to {most}") };
    let (_, of, word) = first.votes;
    let times = first.times().unwrap_or_default();
    format!("{} {} ({votes} of {of}: {word}): {} {times}", list(&names), first.how, first.how_tried())
}

/// All changes at length and briefly, in whole sentences.
fn told(data: &Data<'_>, changes: &[Change<'_>]) -> (String, String) {
    let tried = changes.iter().take(TOLD).any(|change| change.times().is_some());
    let more = changes.len().saturating_sub(TOLD);
    let more = (more > 0).then(|| format!("{more} more, with the rest"));
    let each = |little_room: bool| {
        let each = alike(&changes[..changes.len().min(TOLD)]);
        let each = each.iter().map(|group| match group[..] {
            [one] => one.briefly(little_room),
            _ => together(group),
        });
        each.chain(more.clone()).collect::<Vec<_>>().join("; ")
    };
    let short = format!("{}{}.", each(true), if tried { ", a rough guess" } else { "" });
    let times = if tried { format!(" The times are {ROUGH_GUESS}.") } else { String::new() };
    match changes {
        [one] => (one.at_length(data), short),
        _ => (format!("{}.{times}", each(false)), short),
    }
}
