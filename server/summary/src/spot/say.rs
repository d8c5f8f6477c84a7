//! What was found, in words for a teacher who pours tea: what to do, how sure that is, what is open.

use super::Spot;
use super::answer::{Alone, Answer, AnswerKind, GoOn};
use super::coding::{Factor, What};
use super::fitted::Error;
use super::groups::{TasteGroup, TwoGroups};
use super::pour::Pour;
use super::region::{RegionFactor, RegionFound};
use super::votes::WithLiking;
use protocol::say::{list, many};
use stats::say::signed;
use stats::surface::Estimate;

/// A region that holds so much of what was tasted rules out next to nothing.
const NEARLY_ALL: f64 = 0.8;

/// What to do, how sure it is, what is open; a sentence or two for each.
pub fn words(spot: &Spot) -> Vec<String> {
    let answer = &spot.answer;
    let mut words = vec![format!("{}{}", first_guess(spot), what_to_do(spot))];
    words.extend(how_sure(spot));
    words.extend(by_votes(spot));
    words.extend(spot.groups.as_ref().map(groups));
    words.extend(answer.rests_on_prior.then(|| leans(spot)).filter(|_| answer.best.is_some()));
    words
}

/// "4.2 g in 100 ml at 88 °C, 50 65 95 s".
pub fn poured(pour: &Pour) -> String {
    let steeps: Vec<String> = pour.steep_s.iter().map(ToString::to_string).collect();
    let mut temps: Vec<String> = pour.temp_c.iter().map(|c| number(*c)).collect();
    temps.dedup();
    format!("{} g in {} ml at {} °C, {} s", pour.leaf_g, pour.water_ml, temps.join(" "), steeps.join(" "))
}

/// At most one decimal, and none where it says nothing.
fn number(value: f64) -> String {
    let shown = format!("{value:.1}");
    shown.strip_suffix(".0").map_or(shown.clone(), String::from)
}

/// A value of a factor: "4.2 g per 100 ml", "88 °C", "50 s".
fn value(what: What, value: f64) -> String {
    match what {
        What::Dose => format!("{} g per 100 ml", number(value)),
        What::Temperature => format!("{value:.0} °C"),
        What::Time => format!("{value:.0} s"),
    }
}

/// "3.1 to 5.2 g per 100 ml".
fn range(factor: &RegionFactor) -> String {
    let (low, high) = (value(factor.what, factor.low), value(factor.what, factor.high));
    if low == high {
        return high;
    }
    let bare = match factor.what {
        What::Dose => number(factor.low),
        What::Temperature | What::Time => format!("{:.0}", factor.low),
    };
    format!("{bare} to {high}")
}

pub(super) fn called(what: What) -> &'static str {
    match what {
        What::Dose => "the dose",
        What::Temperature => "the temperature",
        What::Time => "the time",
    }
}

/// A direction in words.
pub(super) fn towards(what: What, more: bool) -> &'static str {
    match (what, more) {
        (What::Dose, true) => "more leaf",
        (What::Dose, false) => "less leaf",
        (What::Temperature, true) => "hotter water",
        (What::Temperature, false) => "cooler water",
        (What::Time, true) => "a longer steep",
        (What::Time, false) => "a shorter steep",
    }
}

fn expected(answer: &Answer) -> String {
    let words = |found: Estimate| {
        format!("; {} expected, give or take {}", signed(found.value), signed(2.0 * found.standard_error))
    };
    answer.expected.map_or(String::new(), words)
}

/// One class is one day, one water and one set of people.
fn first_guess(spot: &Spot) -> &'static str {
    let named = matches!(spot.answer.kind, AnswerKind::Top | AnswerKind::Ridge | AnswerKind::GoOn);
    if named && spot.classes.len() == 1 { "A first guess, after one class. " } else { "" }
}

fn what_to_do(spot: &Spot) -> String {
    let answer = &spot.answer;
    let Some(best) = &answer.best else { return too_few(spot) };
    let best = format!("{}{}", poured(best), expected(answer));
    match answer.kind {
        AnswerKind::GoOn => {
            let ways: Vec<String> =
                answer.go_on.iter().map(|go: &GoOn| towards(go.what, go.more).to_string()).collect();
            let next = answer
                .next
                .as_ref()
                .map_or(String::new(), |next| format!(" Taste next, beside it: {}.", poured(next)));
            format!(
                "No best way inside what was tasted: the liking still rises with {}. Best of what was tasted: {best}.{next}",
                list(&ways)
            )
        }
        AnswerKind::Ridge => {
            format!("Many ways are about as good, as one thing makes up for another. One of them: {best}.")
        }
        AnswerKind::NothingChanges => {
            format!(
                "Nothing that was varied is shown to change the liking: the ways differ no more than by chance. A guess, and no more: {best}."
            )
        }
        AnswerKind::Top | AnswerKind::TooFew => format!("Best so far: {best}."),
    }
}

fn too_few(spot: &Spot) -> String {
    let tasted = spot.ways.iter().filter(|way| way.cups > 0).count();
    let names =
        |factors: &[Factor]| list(&factors.iter().map(|f| called(f.what).to_string()).collect::<Vec<_>>());
    if spot.factors.is_empty() {
        let one = if spot.ways.len() < 2 { "one way" } else { "ways that hardly differ" };
        return format!("Only {one} of it was tasted: nothing can be said of a better one.");
    }
    if let Some(why) = spot.no_fit.as_ref().filter(|_| tasted > spot.factors.len() && tasted > 2) {
        return format!("No best way can be named: {why}.");
    }
    let alone = |alone: &Alone| match alone.levels {
        2 => format!("{} can be answered by itself, but only whether more or less of it", called(alone.what)),
        _ => format!("{} can be answered by itself", called(alone.what)),
    };
    let answerable: Vec<String> = spot.answer.alone.iter().map(alone).collect();
    let answerable = match answerable.is_empty() {
        true => "; they differ in everything at once, so that nothing can be answered by itself".to_string(),
        false => format!("; {}", list(&answerable)),
    };
    let were = if tasted == 1 { "was" } else { "were" };
    format!(
        "Too few ways to tell {} apart: {} {were} tasted, and {} would answer it{answerable}.",
        names(&spot.factors),
        many(tasted, "way"),
        many(spot.answer.ways_needed, "way"),
    )
}

fn how_sure(spot: &Spot) -> Option<String> {
    let region: &RegionFound = spot.answer.region.as_ref()?;
    let speaks = match spot.fit.as_ref()?.error {
        Error::WaysInClasses => " in classes like these",
        Error::Cups if spot.classes.len() == 1 => " in this class",
        Error::Cups => " in these classes",
    };
    if region.share >= NEARLY_ALL {
        return Some(format!(
            "How sure: not at all yet. Hardly any way that was tasted is ruled out as the best{speaks}; take it as a place to start."
        ));
    }
    let (told, open): (Vec<&RegionFactor>, Vec<&RegionFactor>) =
        region.factors.iter().partition(|factor| !(factor.open_below && factor.open_above));
    let ranges: Vec<String> = told.iter().map(|factor| range(factor)).collect();
    let beyond: Vec<String> = told
        .iter()
        .filter(|f| f.open_below || f.open_above)
        .map(|f| towards(f.what, f.open_above).to_string())
        .collect();
    let beyond = match beyond.is_empty() {
        true => String::new(),
        false => format!(", and perhaps further out, with {}", list(&beyond).replace(" and ", " or ")),
    };
    let open: Vec<String> = open.iter().map(|factor| called(factor.what).to_string()).collect();
    let may = match ranges.is_empty() {
        true => format!("the best may lie anywhere that was tasted{speaks}, though not in every combination"),
        false => format!("the best may lie anywhere from {}{speaks}{beyond}", list(&ranges)),
    };
    let open = match open.is_empty() || ranges.is_empty() {
        true => String::new(),
        false => format!("; of {} any that was tasted would do", list(&open)),
    };
    Some(format!("How sure: {may}{open}."))
}

/// What the votes on strength say: of one factor where they balance, if that lies within what was tasted; and what they do beside the liking.
fn by_votes(spot: &Spot) -> Option<String> {
    let votes = spot.votes.as_ref()?;
    let inside = match &votes.balanced[..] {
        [one] if spot.factors.len() == 1 && one.inside => Some(format!(
            "By the votes on strength as many find it too thin as too strong at {}.",
            value(one.what, one.value)
        )),
        _ => None,
    };
    let beside = match votes.with_liking {
        WithLiking::Apart => None,
        WithLiking::Joined => {
            Some("The votes on strength agree with the liking and count in the best way.".into())
        }
        WithLiking::Stronger => Some(against("stronger", "lighter")),
        WithLiking::Lighter => Some(against("lighter", "stronger")),
    };
    let said: Vec<String> = inside.into_iter().chain(beside).collect();
    (!said.is_empty()).then(|| said.join(" "))
}

fn against(votes: &str, liking: &str) -> String {
    format!(
        "The votes on strength ask for it {votes}, the liking for it {liking}: the best way goes by the liking alone."
    )
}

/// Who likes it how, and what one way for all costs either group.
fn groups(found: &TwoGroups) -> String {
    let [first, second] = &found.groups;
    let like = |group: &TasteGroup| {
        let more: Vec<String> =
            group.than_others.iter().map(|to| towards(to.what, to.more).to_string()).collect();
        format!("{} like it best with {} (about {})", group.tasters, list(&more), poured(&group.best))
    };
    format!(
        "Not all like the same: {}, {}. The best way named above is for both together and costs the first about {}, the others about {}. \
         Who belongs where is sure of {} of {}; pour both ways side by side and see.",
        like(first),
        like(second),
        points(first.loses.value),
        points(second.loses.value),
        first.surely + second.surely,
        many(first.tasters + second.tasters, "taster"),
    )
}

/// "0.4 points".
fn points(value: f64) -> String {
    format!("{} points", signed(value))
}

fn leans(spot: &Spot) -> String {
    let tasted = spot.ways.iter().filter(|way| way.cups > 0).count();
    format!(
        "Open: {} were tasted, and {} would show a best by themselves. Until then the answer leans on the assumption that it lies not far from \
         what was tasted.",
        many(tasted, "way"),
        many(spot.answer.ways_needed, "way"),
    )
}
