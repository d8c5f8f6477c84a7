//! How everything was computed, for those who want to know.

use crate::data::CUPS_SCORED;
use crate::figures::Figures;
use crate::find::differences::MANY_MISSING;

/// The lines that apply to these findings.
pub fn lines(found: &Figures) -> Vec<String> {
    let percent = |share: f64| (share * 100.0).round();
    let beside =
        found.differences.iter().any(|d| d.skillings_mack.as_ref().is_some_and(|s| s.get().is_some()));
    let mut lines = vec![
        format!(
            "Over the steeps each taster counts once for each tea: with the mean of the steeps scored, if those are {} % of \
             the steeps served at least. Teas are compared at the steeps that all of them were served at; where a taster \
             left one out, the mean is set to the level of all these steeps. Intervals are 95 % t intervals of such means.",
            percent(CUPS_SCORED)
        ),
        "Whether the teas differ is asked by Friedman's test over the tasters who scored every tea, corrected for ties, counted exactly \
         where that can be done, else in the F form of Iman and Davenport (by chi-squared with fewer than eight tasters); \
         with two teas by the exact signed rank test."
            .into(),
        format!(
            "Where more than {} % of the values are missing, or fewer than half of the tasters are complete, the F of the \
             additive model tea + taster, with adjusted means, takes their place; with fewer than twelve tasters its p is \
             counted over permutations of each taster's scores.{}",
            percent(MANY_MISSING),
            if beside { " Skillings–Mack is reported beside it." } else { "" }
        ),
        "Pairs of teas are compared by Tukey's honestly significant differences, after a two-way analysis of variance \
         tea × taster. Teas that share a letter are not shown to differ; all share one where the first test shows nothing. That holds for the teas of one attribute at one time, not over all \
         tables."
            .into(),
        "The least significant difference of two rank sums, which goes with the ranking test of ISO 8587, guards each comparison by itself only; the family-wise difference guards all of them \
         together."
            .into(),
        "Holm's adjustment goes over the attributes for tests over the steeps, over all attributes and steeps for tests at \
         single steeps. A p up to 0.05 after that counts as shown. On a seat's own page every attribute is looked at by itself."
            .into(),
    ];
    if !found.leaves.is_empty() {
        lines.push(
            "The ways of one leaf are compared by one test over all of them, after Holm over leaves and attributes, and only where \
             the teas differ at all; two of them by Tukey's comparison behind it."
                .into(),
        );
    }
    if found.differences.iter().any(|d| d.by_ways.is_some()) {
        lines.push(
            "A leaf steeped one way under several codes counts as one: each taster's mean over the codes, tested against how \
             differently the tasters see the ways (way × taster)."
                .into(),
        );
    }
    if found.strength.is_some() {
        lines.push(
            "Advice on a tea's strength goes by all its steeps, each taster counted once, since the votes of one person hang together: \
             an exact signed rank test of each taster's votes for too strong less those for too thin, as a share, and an exact binomial test that more than half find it mostly just right. It counts \
             as shown up to 5 % by Holm over the teas; other votes are told as the way they lean, which is no advice. A cup has a mark where its \
             votes show something by Holm over both tests of all cups, and is told by itself where that is something else. By how much is an estimate: half of how far \
             the votes lie to one side, and extraction of the first order with 0.46 a minute (fine black leaf). Penalties compare the liking of \
             those who find a cup too thin or too strong with those who find it just right, for groups of a fifth of the votes at \
             least (common practice, no source)."
                .into(),
        );
    }
    if found.serving.is_some() {
        lines.push(
            "Whether the first cup was scored otherwise is asked by least squares of tea, taster and first cup over the steeps, by Holm over \
             the attributes; in which order a seat was served follows from the class's seed and the seat's place."
                .into(),
        );
    }
    if !found.tests.is_empty() {
        lines.push(
            "Difference tests are exact binomial tests. Of several in a class the 5 % hold for all of them together (Holm); power \
             is the chance of a shown difference with what that leaves to each, if half of the tasters truly tell the two apart."
                .into(),
        );
    }
    if found.totals.is_some() {
        lines.push(
            "A total is the sum of the scores times their weights; scales other than 0 to 100 are stretched straight to \
             that. A sheet with a weighted attribute left blank has no total."
                .into(),
        );
    }
    lines.push("No difference shown is not the same as no difference.".into());
    lines
}
