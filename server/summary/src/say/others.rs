//! Sentences on agreement, words and totals.

use crate::data::Data;
use crate::find::agreement::{Agreement, AgreementSize};
use crate::find::leaves::Leaf;
use crate::find::ticks::WordFinding;
use crate::find::totals::Totals;
use crate::say::differences;
use crate::sentence::{About, Evidence, Sentence};
use protocol::say::{list, many};
use stats::interval::SIGNIFICANCE;
use stats::say::p_of_family;

/// How far the tasters agree, for attributes with three teas at least.
pub fn agreement(all: &[Agreement]) -> Vec<Sentence> {
    let of = |found: &Agreement| {
        if found.teas > 2 && found.too_few() {
            return Some(too_few(found));
        }
        let kendall = found.kendall.get().filter(|_| found.teas > 2)?;
        let test = found.test.get()?;
        let p_order = test.p_holm;
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
            n: found.tasters,
            test: Some(test.name.to_string()),
            p: Some(test.p),
            p_adjusted: Some(p_order),
            ..Evidence::default()
        };
        Some(Sentence { text, about: About::Agreement, shown, evidence })
    };
    all.iter().filter_map(of).collect()
}

/// That too few scored every tea.
fn too_few(found: &Agreement) -> Sentence {
    let who = match found.tasters {
        0 => "nobody".to_string(),
        n => format!("only {n} of {}", found.scored),
    };
    let text = format!("{}: {who} scored every tea: too few to say whether they agree.", found.attribute);
    let evidence =
        Evidence { attribute: Some(found.attribute.clone()), n: found.tasters, ..Evidence::default() };
    Sentence { text, about: About::Agreement, shown: false, evidence }
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
