//! Sentences on agreement, the strength vote, words and totals.

use crate::data::Data;
use crate::find::agreement::{Agreement, AgreementSize};
use crate::find::differences::Difference;
use crate::find::leaves::Leaf;
use crate::find::strength::{PenaltySide, StrengthCup, StrengthFindings};
use crate::find::ticks::WordFinding;
use crate::find::totals::Totals;
use crate::say::differences;
use crate::sentence::{About, Evidence, Sentence};
use protocol::say::{list, many};
use stats::interval::SIGNIFICANCE;
use stats::penalty::Hint;
use stats::say::{p, p_of_family, points, range};

/// How far the tasters agree, for attributes with three teas at least.
pub fn agreement(all: &[Agreement], differences: &[Difference]) -> Vec<Sentence> {
    let of = |found: &Agreement| {
        let kendall = found.kendall.get().filter(|_| found.teas > 2)?;
        let difference = differences.iter().find(|d| d.steep.is_none() && d.attribute == found.attribute)?;
        let p_order = difference.test.get()?.p_holm;
        // Even a tiny W is beyond chance where many taste: by p it is asked whether there is an order, by size whether it
        // deserves the name.
        let shown = p_order <= SIGNIFICANCE && kendall.size > AgreementSize::None;
        let order = match (p_order <= SIGNIFICANCE, kendall.size) {
            (false, _) => "no common order of the teas is shown",
            (true, AgreementSize::None) => "the tasters have no common order of the teas to speak of",
            (true, AgreementSize::Little) => "the tasters agree a little on the order of the teas",
            (true, AgreementSize::InPart) => "the tasters agree in part on the order of the teas",
            (true, AgreementSize::Much) => "the tasters put the teas in much the same order",
            (true, AgreementSize::Nearly) => "the tasters put the teas in nearly one order",
        };
        let text = format!(
            "{}: {order} (Kendall's W {:.2} of 1; {}, {}).",
            found.attribute,
            kendall.w,
            many(found.tasters, "taster"),
            many(found.teas, "tea")
        );
        let evidence = Evidence {
            attribute: Some(found.attribute.clone()),
            n: difference.test.get().map_or(found.tasters, |test| test.n),
            test: difference.test.get().map(|test| test.name.to_string()),
            p: difference.test.get().map(|test| test.p),
            p_adjusted: Some(p_order),
            ..Evidence::default()
        };
        Some(Sentence { text, about: About::Agreement, shown, evidence })
    };
    all.iter().filter_map(of).collect()
}

/// What to do with each steep where the votes carry it; what a wrong strength costs; and how many cups are left open.
pub fn strength(data: &Data<'_>, found: &StrengthFindings) -> Vec<Sentence> {
    let tests = 2 * found.cups.iter().filter(|cup| cup.hint.get().is_some()).count();
    let mut said: Vec<Sentence> = found.cups.iter().filter_map(|cup| advice(data, cup, tests)).collect();
    said.sort_by_key(|sentence| !sentence.shown);
    let voted = found.cups.iter().filter(|cup| cup.n > 0).count();
    let open = voted - said.len();
    for cup in &found.cups {
        let Some(penalty) = cup.penalty.get() else { continue };
        let sides = [("too thin", &penalty.too_thin), ("too strong", &penalty.too_strong)];
        said.extend(sides.iter().filter_map(|(word, side)| {
            cost(data, cup, word, side.as_ref()?, (penalty.just_right, penalty.just_right_mean))
        }));
    }
    if open > 0 {
        let which = if open == voted { "every cup" } else { "the other cups" };
        let n = found.cups.iter().map(|cup| cup.n).max().unwrap_or(0);
        let text = format!(
            "strength: for {which} ({open} of {voted}) the votes are too few or too divided to tell whether to steep \
             longer or shorter. Six votes on one side and none on the other are the least that would."
        );
        said.push(Sentence::plain(text, About::Strength, n));
    }
    said
}

/// `tests` is how many tests of all cups Holm went over.
fn advice(data: &Data<'_>, cup: &StrengthCup, tests: usize) -> Option<Sentence> {
    let hint = cup.hint.get()?;
    let [much_thin, thin, right, strong, much_strong] = cup.counts;
    let (thin, strong) = (much_thin + thin, strong + much_strong);
    let (advice, test, n) = match hint.hint {
        Hint::TooFewToTell => return None,
        Hint::Leave => ("leave the time as it is", "exact binomial test", cup.n),
        Hint::Lengthen => ("steep longer next time", "exact sign test", thin + strong),
        Hint::Shorten => ("steep shorter next time", "exact sign test", thin + strong),
    };
    let shown = hint.p_holm <= SIGNIFICANCE;
    let advice = if shown { advice.to_string() } else { format!("a hint to {advice}") };
    let by_itself = if shown { "" } else { ", so by this cup alone" };
    let (label, steep, p_shown) = (data.label(cup.tea), cup.steep, p_of_family(hint.p(), hint.p_holm, tests));
    let was = cup.steep_s.map_or(String::new(), |s| format!(" (it was {s} s)"));
    let text = format!(
        "{label}, steep {steep}: {advice}{was}. Of {} {thin} find it too thin, {right} just right, {strong} too strong \
         ({test}, n {n}, {p_shown}{by_itself}).",
        many(cup.n, "vote")
    );
    let evidence = Evidence {
        steep: Some(steep),
        teas: vec![cup.tea],
        n,
        test: Some(test.into()),
        p: Some(hint.p()),
        p_adjusted: Some(hint.p_holm),
        ..Evidence::default()
    };
    Some(Sentence { text, about: About::Strength, shown, evidence })
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
        "{label}, steep {steep}: those who find it {word} like it less by {} ({}) than those who find it just right \
         ({n} against {right}, mean {:.1} against {right_mean:.1}; Welch's t, {} after Holm).",
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

/// Words that tell the teas apart, and one sentence for the others.
pub fn words(data: &Data<'_>, all: &[WordFinding]) -> Vec<Sentence> {
    let family = all.iter().filter(|word| word.cochran.get().is_some()).count();
    let one = |word: &WordFinding| {
        let found = word.cochran.get().filter(|found| found.p_holm <= SIGNIFICANCE)?;
        let counts: Vec<String> =
            word.teas.iter().map(|t| format!("{} {} of {}", data.label(t.tea), t.n, t.of)).collect();
        let text = format!(
            "\"{}\" is ticked for some teas more than for others: {} ({}, {} of them for some teas only; Cochran's Q{}, {}).",
            word.word,
            list(&counts),
            many(found.tasters, "taster"),
            found.mixed_tasters,
            if found.exact { ", exact" } else { "" },
            p_of_family(found.p, found.p_holm, family)
        );
        let evidence = Evidence {
            teas: word.teas.iter().map(|t| t.tea).collect(),
            n: found.tasters,
            test: Some("Cochran's Q".into()),
            p: Some(found.p),
            p_adjusted: Some(found.p_holm),
            ..Evidence::default()
        };
        Some(Sentence { text, about: About::Words, shown: true, evidence })
    };
    let mut said: Vec<Sentence> = all.iter().filter_map(one).collect();
    let rest = all.len() - said.len();
    if rest > 0 {
        let other = if said.is_empty() { "" } else { "other " };
        let n = all.iter().flat_map(|word| &word.teas).map(|count| count.of).max().unwrap_or(0);
        let are = if rest == 1 { "is" } else { "are" };
        let text = format!(
            "words: the {other}{} {are} not shown to be ticked more for one tea than for another.",
            many(rest, "word")
        );
        said.push(Sentence::plain(text, About::Words, n));
    }
    said
}

/// What the totals come to, and whether they differ.
pub fn totals(data: &Data<'_>, found: &Totals, leaves: &[Leaf]) -> Vec<Sentence> {
    let scored = found.teas.iter().filter_map(|tea| Some((tea, tea.mean?)));
    let mut scored: Vec<_> = scored.collect();
    scored.sort_by(|(_, a), (_, b)| b.total_cmp(a));
    let named: Vec<String> =
        scored.iter().map(|(tea, mean)| format!("{} with {mean:.1}", data.label(tea.tea))).collect();
    if named.is_empty() {
        let text = "total: nobody has scored all weighted attributes of a cup, so there is no total.";
        return vec![Sentence::plain(text, About::Totals, 0)];
    }
    let n = found.teas.iter().map(|tea| tea.n).max().unwrap_or(0);
    let stretched = if found.weights.iter().any(|w| w.stretched_from.is_some()) {
        ", scales stretched straight to 0 to 100"
    } else {
        ""
    };
    let text =
        format!("total out of 100 ({}{stretched}; {}): {}.", found.source, many(n, "taster"), list(&named));
    let evidence =
        Evidence { teas: scored.iter().map(|(tea, _)| tea.tea).collect(), n, ..Evidence::default() };
    let means = Sentence { text, about: About::Totals, shown: false, evidence };
    let whole = differences::whole(leaves);
    vec![means, differences::one(data, &found.difference, About::Totals, whole)]
}
