//! Sentences on the strength vote: each tea over its steeps, a cup by itself where it says more, and what a wrong strength costs.

use crate::data::Data;
use crate::find::strength::{Estimate, PenaltySide, StrengthCup, StrengthFindings, StrengthTea, TeaHint};
use crate::say::compared::one_tea;
use crate::say::next_time::FIRST_STEP;
use crate::sentence::{About, Evidence, Sentence};
use protocol::Code;
use protocol::say::{list, many, steeps};
use stats::interval::SIGNIFICANCE;
use stats::penalty::Hint;
use stats::say::{p, p_of_family, points, range};

/// What to do with each tea, shown ones first; cups that are otherwise; what a wrong strength costs; and which teas are left open.
pub fn sentences(data: &Data<'_>, found: &StrengthFindings) -> Vec<Sentence> {
    let mut said: Vec<Sentence> = found.each().filter_map(|tea| of_tea(data, found, tea)).collect();
    said.sort_by_key(|sentence| !sentence.shown);
    let tests = found.tests_of_cups();
    let otherwise =
        found.each().flat_map(|tea| found.otherwise(tea.tea).into_iter().map(move |of| (tea, of)));
    said.extend(otherwise.filter_map(|(tea, (cup, hint))| by_itself(data, tea, (cup, hint), tests)));
    for cup in &found.cups {
        let Some(penalty) = cup.penalty.get() else { continue };
        let sides = [("too thin", &penalty.too_thin), ("too strong", &penalty.too_strong)];
        said.extend(sides.iter().filter_map(|(word, side)| {
            cost(data, cup, word, side.as_ref()?, (penalty.just_right, penalty.just_right_mean))
        }));
    }
    said.extend(open(data, found));
    said
}

/// What a hint comes to, as advice about a tea's times.
fn what_to_do(hint: Hint) -> Option<&'static str> {
    match hint {
        Hint::Lengthen => Some("steep it longer next time"),
        Hint::Shorten => Some("steep it shorter next time"),
        Hint::Leave => Some("leave its times as they are"),
        Hint::TooFewToTell => None,
    }
}

/// To which side votes lean that show nothing once all teas are looked at: told, but no advice.
fn leaning(hint: Hint) -> Option<&'static str> {
    match hint {
        Hint::Lengthen => Some("the votes lean to too thin"),
        Hint::Shorten => Some("the votes lean to too strong"),
        Hint::Leave => Some("the votes lean to just right"),
        Hint::TooFewToTell => None,
    }
}

/// ", but for steep 2": what the cups by themselves show otherwise.
pub(crate) fn but_for(found: &StrengthFindings, tea: Code) -> String {
    let cups: Vec<u32> = found.otherwise(tea).iter().map(|(cup, _)| cup.steep).collect();
    if cups.is_empty() { String::new() } else { format!(", but for {}", steeps(&cups)) }
}

fn of_tea(data: &Data<'_>, found: &StrengthFindings, tea: &StrengthTea) -> Option<Sentence> {
    let hint = tea.hint.get()?;
    let said = match hint.shown() {
        Some(shown) => format!("{}{}", what_to_do(shown)?, but_for(found, tea.tea)),
        None => {
            format!("{}, which is not shown once {} teas are looked at", leaning(hint.hint)?, hint.family)
        }
    };
    let (voted, [much_thin, thin, right, strong, much_strong]) = tea.votes();
    let (test, n, who, votes) = match hint.hint {
        Hint::Leave => {
            let who = format!(
                "{} of {} find it just right more often than not",
                hint.mostly_right,
                many(hint.tasters, "taster")
            );
            ("exact binomial test over the tasters", hint.tasters, who, format!("{right} just right"))
        }
        longer => {
            let (word, side, other, votes) = match longer {
                Hint::Shorten => ("strong", hint.too_strong, hint.too_thin, strong + much_strong),
                _ => ("thin", hint.too_thin, hint.too_strong, much_thin + thin),
            };
            let other = if other == 0 { "none".to_string() } else { other.to_string() };
            let who = format!(
                "{side} of {} find it rather too {word}, {other} the other way round",
                many(hint.tasters, "taster")
            );
            (
                "exact signed rank test over the tasters",
                hint.too_thin + hint.too_strong,
                who,
                format!("{votes} too {word}"),
            )
        }
    };
    let over = if tea.steeps.len() == 1 { "At" } else { "Over" };
    let text = format!(
        "{}: {said}. {over} {}, {who} (of {} {votes}; {test}, n {n}, {}).{}",
        one_tea(data, tea.codes()),
        steeps(&tea.steeps),
        many(voted, "vote"),
        p_of_family(hint.p(), hint.p_holm, hint.family),
        found.to_try(tea.tea).map_or(String::new(), |estimate| by_how_much(data, tea.tea, estimate))
    );
    let evidence = Evidence {
        teas: tea.codes().to_vec(),
        n,
        test: Some(test.into()),
        p: Some(hint.p()),
        p_adjusted: Some(hint.p_holm),
        ..Evidence::default()
    };
    Some(Sentence { text, about: About::Strength, shown: hint.shown().is_some(), evidence })
}

/// What would make a tea as strong as its votes ask for.
fn by_how_much(data: &Data<'_>, tea: Code, estimate: &Estimate) -> String {
    let head = format!(" An estimate: {:.1} times as strong", estimate.stronger_by);
    let served = data.teas.iter().find(|served| served.code == tea);
    let open = served.and_then(|served| Some((served.open?, served.steep_s())));
    let (Some((open, was)), Some(leaf_g)) = (open, estimate.leaf_g) else { return format!("{head}.") };
    let leaf = format!("{leaf_g:.1} g of leaf in place of {} g", open.leaf_g);
    let seconds = |all: &[u32]| list(&all.iter().map(u32::to_string).collect::<Vec<_>>());
    let times = match estimate.steep_s.len() {
        0 => return format!("{head}, by {leaf}; the leaf has not enough for longer steeps."),
        n => format!("{} s in place of {} s", seconds(&estimate.steep_s), seconds(&was[..n])),
    };
    let spent = match estimate.steep_s.len() < was.len() {
        true => ", after which the leaf would be spent",
        false => "",
    };
    let first = if estimate.first_step { format!(", a first step ({FIRST_STEP})") } else { String::new() };
    format!(
        "{head}, by {times}{first}{spent}, or by {leaf}. It goes by how fast fine black leaf gives: taste before you trust it."
    )
}

/// A cup whose own votes show what those of its tea, over the steeps, do not.
fn by_itself(
    data: &Data<'_>,
    tea: &StrengthTea,
    (cup, shown): (&StrengthCup, Hint),
    tests: usize,
) -> Option<Sentence> {
    let hint = cup.hint.get()?;
    let (voted, [much_thin, thin, right, strong, much_strong]) = cup.votes();
    let (thin, strong) = (much_thin + thin, strong + much_strong);
    let (advice, test, n) = match shown {
        Hint::TooFewToTell => return None,
        Hint::Leave => ("leave the time as it is", "exact binomial test", voted),
        Hint::Lengthen => ("steep longer next time", "exact sign test", thin + strong),
        Hint::Shorten => ("steep shorter next time", "exact sign test", thin + strong),
    };
    let (label, steep, p_shown) =
        (one_tea(data, tea.codes()), &cup.called, p_of_family(hint.p(), hint.p_holm, tests));
    let was = cup.steep_s.map_or(String::new(), |s| format!(" (it was {s} s)"));
    let text = format!(
        "{label}, {steep}: {advice}{was}. Of {} {thin} find it too thin, {right} just right, {strong} too strong \
         ({test}, n {n}, {p_shown}).",
        many(voted, "vote")
    );
    let evidence = Evidence {
        steep: Some(cup.steep),
        teas: tea.codes().to_vec(),
        n,
        test: Some(test.into()),
        p: Some(hint.p()),
        p_adjusted: Some(hint.p_holm),
        ..Evidence::default()
    };
    Some(Sentence { text, about: About::Strength, shown: true, evidence })
}

/// The teas whose votes don't say what to do, and whether any votes could have.
fn open(data: &Data<'_>, found: &StrengthFindings) -> Option<Sentence> {
    let voted: Vec<(&StrengthTea, &TeaHint)> =
        found.each().filter_map(|tea| Some((tea, tea.hint.get()?))).collect();
    let tasters = voted.iter().map(|(_, hint)| hint.tasters).max()?;
    let open: Vec<String> = voted
        .iter()
        .filter(|(_, hint)| hint.hint == Hint::TooFewToTell)
        .map(|(tea, _)| one_tea(data, tea.codes()))
        .collect();
    let mut said = Vec::new();
    if !open.is_empty() {
        let which =
            if open.len() == voted.len() && open.len() > 1 { "every tea".into() } else { list(&open) };
        said.push(format!(
            "for {which} the votes are too few or too divided to tell whether to steep longer or shorter."
        ));
    }
    if tasters < found.tasters_needed {
        let allowing = if voted.len() > 1 { format!(" on {} teas", voted.len()) } else { String::new() };
        let with = if said.is_empty() { "with" } else { "With" };
        said.push(format!(
            "{with} {} who voted{allowing} no votes could have shown that a tea is too thin or too strong, even if all had agreed: {} \
             tasters are needed.",
            many(tasters, "taster"),
            found.tasters_needed
        ));
    }
    let text = format!("strength: {}", said.join(" "));
    (!said.is_empty()).then(|| Sentence::plain(text, About::Strength, tasters))
}

/// A wrong strength that is shown to cost liking.
fn cost(
    data: &Data<'_>,
    cup: &StrengthCup,
    word: &str,
    side: &PenaltySide,
    (right, right_mean): (usize, f64),
) -> Option<Sentence> {
    let p_holm = side.p_holm.filter(|p| *p <= SIGNIFICANCE && side.drop > 0.0)?;
    let test = side.test.as_ref()?.get()?;
    let (label, steep, n) = (data.label(cup.tea), cup.steep, side.n);
    let text = format!(
        "{label}, {}: those who find it {word} like it less by {} ({}) than those who find it just right \
         ({n} against {right}, mean {:.1} against {right_mean:.1}; Welch's t, {} after Holm).",
        cup.called,
        points(side.drop),
        range(test.interval),
        side.mean,
        p(p_holm)
    );
    let evidence = Evidence {
        attribute: Some("liking".into()),
        steep: Some(steep),
        teas: vec![cup.tea],
        n: n + right,
        test: Some("Welch's t".into()),
        p: Some(test.p),
        p_adjusted: Some(p_holm),
        points: Some(side.drop),
        interval: Some(test.interval),
    };
    Some(Sentence { text, about: About::Strength, shown: true, evidence })
}
