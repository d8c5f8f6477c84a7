//! What the strength votes on a way come to, in words: over all its steeps and classes.

use crate::find::strength::LIKING;
use crate::say::next_time::{ROUGH_GUESS, to_try};
use crate::say::{capital, longer_or_shorter};
use crate::several::Pool;
use crate::several::pairs::Pair;
use crate::several::say::{in_classes, these};
use crate::several::strength::WayVotes;
use crate::several::votes::Rule;
use crate::several::ways::Way;
use protocol::say::{list, many};
use protocol::text::name_key;
use stats::interval::SIGNIFICANCE;
use stats::penalty::Hint;
use stats::say::{p as chance, p_of_family, points};

/// So many leaves are told of that are liked more in another way.
const LEAVES: usize = 2;
/// So many changes are told in short at most.
const TOLD: usize = 3;
/// The same where there is little room.
const TOLD_BRIEFLY: usize = 2;

/// Too thin, just right and too strong.
fn three(votes: &WayVotes) -> (usize, usize, usize) {
    let [much_thin, thin, right, strong, much_strong] = votes.counts;
    (much_thin + thin, right, strong + much_strong)
}

/// " in all 3 steeps", " in both steeps", " in 2 of 3 steeps"; nothing of one.
fn in_steeps(votes: &WayVotes) -> String {
    match (votes.alike.len(), votes.steeps.len()) {
        (_, 1) => String::new(),
        (2, 2) => " in both steeps".into(),
        (some, all) if some == all => format!(" in all {all} steeps"),
        (some, all) => format!(" in {some} of {all} steeps"),
    }
}

/// "too thin in both steeps, 26 of 31 votes"; of a way to be left "just right …".
fn found(votes: &WayVotes) -> String {
    let (thin, right, strong) = three(votes);
    let (word, count) = match votes.hint.hint {
        Hint::Lengthen => ("too thin", thin),
        Hint::Shorten => ("too strong", strong),
        Hint::Leave | Hint::TooFewToTell => ("just right", right),
    };
    format!("{word}{}, {count} of {}", in_steeps(votes), many(votes.n, "vote"))
}

/// One way: what is shown is advice, of other votes it is told which way they lean. `ways` is over how many Holm went, `needed` how many tasters have to agree for anything to be shown.
pub(in crate::several) fn words(votes: &WayVotes, way: &Way, ways: usize, needed: usize) -> String {
    let hint = &votes.hint;
    let (thin, right, strong) = three(votes);
    let of = in_classes(hint.tasters, votes.classes.len());
    let split = if votes.divided() {
        let each: Vec<String> = votes
            .classes
            .iter()
            .map(|class| format!("class {} {}", class.class, split(&class.counts)))
            .collect();
        let f = votes
            .moves
            .map_or(String::new(), |moves| format!(" (F {:.2}, {})", moves.statistic, chance(moves.p)));
        format!(". But the classes do not vote alike{f}: {}", each.join("; "))
    } else {
        String::new()
    };
    if hint.hint == Hint::TooFewToTell {
        let why = if hint.tasters < needed {
            format!("no votes of so few could have shown anything: {needed} tasters who all agree are needed")
        } else {
            "too few or too divided to tell".into()
        };
        return format!("{}: {why} ({thin} thin, {right} right, {strong} strong; {of}){split}", way.called);
    }
    let (advice, test, n, who) = match hint.hint {
        Hint::Leave => (
            "leave it".to_string(),
            "exact binomial test",
            hint.tasters,
            format!("mostly so for {} of {of}", hint.mostly_right),
        ),
        longer => {
            let (word, side, other) = match longer {
                Hint::Shorten => ("strong", hint.too_strong, hint.too_thin),
                _ => ("thin", hint.too_thin, hint.too_strong),
            };
            let other = if other == 0 { "none".to_string() } else { other.to_string() };
            (
                format!("steep it {}", longer_or_shorter(longer).unwrap_or_default()),
                "exact signed rank test",
                hint.too_thin + hint.too_strong,
                format!("{side} of {of} find it rather too {word}, {other} the other way round"),
            )
        }
    };
    let p = p_of_family(hint.p(), hint.p_holm, ways);
    let (called, found) = (&way.called, found(votes));
    if !votes.shown {
        return format!(
            "{called}: the votes lean to {found}, which is not shown ({who}; {test}, n {n}, {p}){split}"
        );
    }
    let whose = these(votes.classes.len());
    let tried = tried(votes, way).map_or(String::new(), |tried| format!(". {tried}"));
    format!("{called}: {advice}. It is {found}: shown{whose} ({who}; {test}, n {n}, {p}){split}{tried}")
}

/// What to try, without the full stop.
fn tried(votes: &WayVotes, way: &Way) -> Option<String> {
    let steeping = &way.known.as_ref()?.steeping;
    let tried = to_try(votes.estimate.as_ref()?, (steeping.leaf_g, &steeping.steep_s))?;
    Some(tried.trim_end_matches('.').to_string())
}

fn split(counts: &[usize; 5]) -> String {
    format!("{} thin, {} right, {} strong", counts[0] + counts[1], counts[2], counts[3] + counts[4])
}

/// The way of each leaf that is shown to be liked more than another, at length and briefly; `None` of none.
fn better_ways(pool: &Pool) -> Option<(String, String)> {
    let way = |number: usize| pool.ways.iter().map(|line| &line.way).find(|way| way.way == number);
    let liked =
        |pair: &&Pair| pair.same_leaf && pair.shown() && pair.attribute.name.eq_ignore_ascii_case(LIKING);
    let mut told: Vec<(String, &Pair)> = Vec::new();
    let mut pairs: Vec<&Pair> = pool.pairs.iter().filter(liked).collect();
    pairs.sort_by(|a, b| b.points().abs().total_cmp(&a.points().abs()));
    for pair in pairs {
        let Some(known) = way(pair.first).and_then(|way| way.known.as_ref()) else { continue };
        if told.iter().all(|(leaf, _)| name_key(leaf) != name_key(&known.leaf)) {
            told.push((known.leaf.clone(), pair));
        }
    }
    let one = |(leaf, pair): &(String, &Pair), brief: bool| {
        let (better, than) =
            if pair.points() > 0.0 { (pair.first, pair.second) } else { (pair.second, pair.first) };
        // How it is steeped stands with what was liked best.
        let named = name_key(pool.called(better)).starts_with(&name_key(leaf));
        let head = if named { String::new() } else { format!("{leaf} as ") };
        let whose = if pair.for_others() || brief { "" } else { these(pair.classes.len()) };
        format!(
            "{head}{}, liked {} more than {}{whose}",
            pool.called(better),
            points(pair.points().abs()),
            pool.called(than)
        )
    };
    let all = |brief: bool| -> String {
        let more = told.len().saturating_sub(LEAVES);
        let more = (more > 0).then(|| format!("{more} more of other leaves"));
        let each: Vec<String> = told.iter().take(LEAVES).map(|of| one(of, brief)).chain(more).collect();
        format!("{}.", each.join("; "))
    };
    (!told.is_empty()).then(|| (all(false), all(true)))
}

/// Whether another way of its leaf is shown to be liked more than a way: then it is not to be left, right as its strength may be.
fn is_liked_less(pool: &Pool, way: usize) -> bool {
    pool.pairs.iter().any(|pair| {
        let than = if pair.points() > 0.0 { pair.second } else { pair.first };
        pair.same_leaf && pair.shown() && pair.attribute.name.eq_ignore_ascii_case(LIKING) && than == way
    })
}

/// What to do next time at length and briefly, in whole sentences: the better way of each leaf, then what the votes ask for; `None`
/// where there is neither.
pub(super) fn next_time(pool: &Pool) -> Option<(String, String)> {
    let said: Vec<(String, String)> = better_ways(pool).into_iter().collect();
    let votes = by_votes(pool).map(|(text, short)| match said.is_empty() {
        true => (text, short),
        false => (capital(&text), capital(&short)),
    });
    let (text, short): (Vec<String>, Vec<String>) = said.into_iter().chain(votes).unzip();
    (!text.is_empty())
        .then(|| (format!("Next time: {}", text.join(" ")), format!("Next time: {}", short.join(" "))))
}

/// What the votes come to.
fn by_votes(pool: &Pool) -> Option<(String, String)> {
    let most = pool.strength.iter().map(|votes| votes.hint.tasters).max()?;
    let way = |number: usize| pool.ways.iter().map(|line| &line.way).find(|way| way.way == number);
    let changes: Vec<(&WayVotes, &Way)> = pool
        .strength
        .iter()
        .filter(|votes| votes.shown && votes.hint.hint != Hint::Leave)
        .filter_map(|votes| Some((votes, way(votes.way)?)))
        .collect();
    let mut said: Vec<String> = Vec::new();
    let mut short: Vec<String> = Vec::new();
    match &changes[..] {
        [] => {}
        [(votes, way)] => {
            let tried = tried(votes, way).map_or(String::new(), |tried| format!(" {tried}."));
            said.push(format!("{}.{tried}", changed(votes, way, false)));
            let guess = times(votes).map_or(String::new(), |times| format!(": try {times}, a rough guess"));
            short.push(format!("{}{guess}.", changed(votes, way, true)));
        }
        _ => {
            let each = |told: usize, brief: bool| {
                let more = changes.len().saturating_sub(told);
                let more = (more > 0).then(|| format!("{more} more, with the rest"));
                let each = changes.iter().take(told).map(|(votes, way)| {
                    let times = times(votes).map_or(String::new(), |times| format!(": try {times}"));
                    format!("{}{times}", changed(votes, way, brief))
                });
                each.chain(more).collect::<Vec<_>>().join("; ")
            };
            said.push(format!("{}. The times are {ROUGH_GUESS}.", each(TOLD, false)));
            short.push(format!("{}. The times are rough guesses.", each(TOLD_BRIEFLY, true)));
        }
    }
    let steeps: Vec<String> = pool.rules.iter().filter_map(|rule| otherwise(pool, rule)).collect();
    if !steeps.is_empty() {
        let head = if said.is_empty() { "" } else { "And " };
        said.push(format!("{head}{}.", list(&steeps)));
        short.push(format!("{head}{}.", list(&steeps)));
    }
    let right: Vec<String> = pool
        .strength
        .iter()
        .filter(|votes| votes.shown && votes.hint.hint == Hint::Leave && !is_liked_less(pool, votes.way))
        .map(|votes| pool.called(votes.way).to_string())
        .collect();
    if !right.is_empty() {
        let names = if right.len() > TOLD { format!("{} ways", right.len()) } else { list(&right) };
        let leave = if said.is_empty() { "leave" } else { "Leave" };
        said.push(format!("{leave} {names}: most found that just right."));
        short.push(format!("{leave} {names}."));
    }
    if said.is_empty() {
        let why = if most < pool.tasters_needed {
            let (tasters, needed) = (many(most, "taster"), pool.tasters_needed);
            format!(
                "too few voted to say what to steep longer or shorter: {tasters}, and {needed} are needed."
            )
        } else {
            let leaning: Vec<String> =
                pool.strength.iter().filter_map(|votes| leaning(pool, votes)).take(TOLD).collect();
            let again = match leaning.len() {
                0 => String::new(),
                _ => format!(" {}: worth asking again.", list(&leaning)),
            };
            format!("the strength votes are not clear enough for a change.{again}")
        };
        said.push(why.clone());
        short.push(why);
    }
    Some((said.join(" "), short.join(" ")))
}

/// "Oak long leaned thin (17 of 24 tasters)", of votes that would show something by themselves.
fn leaning(pool: &Pool, votes: &WayVotes) -> Option<String> {
    Some(format!("{} {}", pool.called(votes.way), votes.hint.leaned()?))
}

/// "Snow Gully shorter (too strong in both steeps, 26 of 26 votes in 3 classes)".
fn changed(votes: &WayVotes, way: &Way, brief: bool) -> String {
    let classes = match votes.classes.len() {
        _ if brief => String::new(),
        1 => " in 1 class".into(),
        several => format!(" in {several} classes"),
    };
    let how = longer_or_shorter(votes.hint.hint).unwrap_or_default();
    format!("{} {how} ({}{classes})", way.called, found(votes))
}

/// "66, 51 and 102 s", if they can be worked out.
fn times(votes: &WayVotes) -> Option<String> {
    let times = &votes.estimate.as_ref()?.steep_s;
    let seconds: Vec<String> = times.iter().map(u32::to_string).collect();
    (!times.is_empty()).then(|| format!("{} s", list(&seconds)))
}

/// A steep whose own votes show a change that those on its way, over the steeps, do not.
fn otherwise(pool: &Pool, rule: &Rule) -> Option<String> {
    let how = longer_or_shorter(rule.favours).filter(|_| rule.p_of_all <= SIGNIFICANCE)?;
    let whole = pool.strength.iter().find(|votes| votes.way == rule.way && votes.steeps.len() > 1)?;
    if whole.shown && whole.hint.hint == rule.favours {
        return None;
    }
    let [much_thin, thin, _, strong, much_strong] = rule.counts;
    let (word, votes) = match rule.favours {
        Hint::Lengthen => ("thin", much_thin + thin),
        _ => ("strong", strong + much_strong),
    };
    let divided = rule.moves.is_some_and(|moves| moves.p <= SIGNIFICANCE);
    let but = if divided { "; the classes do not vote alike" } else { "" };
    let (votes, called) = (format!("{votes} of {}", many(rule.n, "vote")), pool.called(rule.way));
    Some(format!("steep {} of {called} {how} (too {word}, {votes}{but})", rule.steep))
}
