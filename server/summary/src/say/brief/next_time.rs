//! What to steep longer or shorter next time, in one line.

use super::{Line, Matter};
use crate::data::Data;
use crate::figures::Figures;
use crate::find::strength::{Estimate, StrengthFindings, StrengthTea, TeaHint};
use crate::say::compared::{one_tea, one_tea_briefly};
use crate::say::longer_or_shorter;
use crate::say::next_time::{ROUGH_GUESS, to_try};
use crate::say::strength::but_for;
use protocol::Code;
use protocol::say::{list, many};
use stats::penalty::Hint;

/// So many changes are told at most.
const TOLD: usize = 4;

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

/// What the votes show, all teas and cups being looked at, then that the others are left; nothing if nobody voted. What shows nothing
/// is no advice: which way such votes lean stands on the tea's card.
pub fn line(data: &Data<'_>, found: &Figures) -> Option<Line> {
    let strength = found.strength.as_ref()?;
    let voted: Vec<(&StrengthTea, &TeaHint)> =
        strength.each().filter_map(|tea| Some((tea, tea.hint.get()?))).collect();
    let tasters = voted.iter().map(|(_, hint)| hint.tasters).max()?;
    let changes = changes(data, strength);
    let (text, short) = if !changes.is_empty() {
        let others: Vec<_> =
            voted.into_iter().filter(|(tea, _)| changes.iter().all(|change| change.tea != tea.tea)).collect();
        let (told, briefly) = told(data, &changes);
        match others.len() {
            0 => (told, briefly),
            n => {
                let whom = if n == 1 { "the other" } else { "the others" };
                (
                    format!("{told} Leave {whom}: {}.", why_left(&others)),
                    format!("{briefly} Leave {whom} for now."),
                )
            }
        }
    } else if tasters < strength.tasters_needed {
        let (tasters, needed) = (many(tasters, "taster"), strength.tasters_needed);
        let text = format!(
            "too few voted to say what to steep longer or shorter: {tasters}, and {needed} are needed."
        );
        (text.clone(), text)
    } else {
        let whom = match &voted[..] {
            [(tea, _)] => format!("leave {} as it is", one_tea(data, tea.codes())),
            _ => "leave the teas as they are".into(),
        };
        // Without its reason it would read like the finding that the times should stay.
        let text = format!("{whom}: {}.", why_left(&voted));
        (text.clone(), text)
    };
    let line = |said| format!("Next time: {said}");
    Some(Line { text: line(text), short: line(short), matter: Matter::NextTime })
}

/// Why teas are left as they are.
fn why_left(teas: &[(&StrengthTea, &TeaHint)]) -> &'static str {
    let right = |(_, hint): &&(&StrengthTea, &TeaHint)| hint.shown() == Some(Hint::Leave);
    match teas.iter().filter(right).count() {
        0 => "the votes are not clear enough for a change",
        right if right == teas.len() => "most found that just right",
        _ => "most found that just right, or the votes are not clear enough for a change",
    }
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

/// All changes at length and briefly, in whole sentences.
fn told(data: &Data<'_>, changes: &[Change<'_>]) -> (String, String) {
    let tried = changes.iter().take(TOLD).any(|change| change.times().is_some());
    let more = changes.len().saturating_sub(TOLD);
    let more = (more > 0).then(|| format!("{more} more, with the rest"));
    let each = |little_room: bool| {
        let each = changes.iter().take(TOLD).map(|change| change.briefly(little_room));
        each.chain(more.clone()).collect::<Vec<_>>().join("; ")
    };
    let short = format!("{}{}.", each(true), if tried { ", a rough guess" } else { "" });
    let times = if tried { format!(" The times are {ROUGH_GUESS}.") } else { String::new() };
    match changes {
        [one] => (one.at_length(data), short),
        _ => (format!("{}.{times}", each(false)), short),
    }
}
