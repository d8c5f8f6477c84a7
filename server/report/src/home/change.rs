//! What the class would change in a tea, by what its votes show.

use protocol::Code;
use stats::interval::SIGNIFICANCE;
use stats::penalty::Hint;
use summary::find::strength::{StrengthCup, StrengthFindings};

/// What the class would change, in words: what is shown, and nothing beyond. `None` if strength was not asked.
pub(crate) fn change(strength: Option<&StrengthFindings>, tea: Code) -> Option<String> {
    let found = strength?;
    let cups: Vec<&StrengthCup> = found.cups.iter().filter(|cup| cup.tea == tea).collect();
    let changes: Vec<String> = cups.iter().filter_map(|cup| changed(cup)).collect();
    Some(match changes.as_slice() {
        [] if cups.iter().any(|cup| could_show(found, cup)) => "The class would leave it.".into(),
        [] => "Too few voted to say.".into(),
        all => format!("{}.", all.join("; ")),
    })
}

/// `steep 2 shorter (7 of 8 found it too strong)`; nothing that is not shown.
fn changed(cup: &StrengthCup) -> Option<String> {
    let hint = cup.hint.get().filter(|hint| hint.p_holm <= SIGNIFICANCE)?;
    let [much_thin, thin, _, strong, much_strong] = cup.counts;
    let (how, votes, found) = match hint.hint {
        Hint::Lengthen => ("longer", much_thin + thin, "too thin"),
        Hint::Shorten => ("shorter", strong + much_strong, "too strong"),
        Hint::Leave | Hint::TooFewToTell => return None,
    };
    Some(format!("steep {} {how} ({votes} of {} found it {found})", cup.steep, cup.n))
}

/// Whether so many votes could have shown anything, had all been on one side: 2 · ½ⁿ by the sign test, with Holm's first step
/// over both tests of all cups.
fn could_show(found: &StrengthFindings, cup: &StrengthCup) -> bool {
    let tests = 2 * found.cups.iter().filter(|cup| cup.hint.get().is_some()).count();
    2.0 * 0.5_f64.powi(i32::try_from(cup.n).unwrap_or(i32::MAX)) * tests as f64 <= SIGNIFICANCE
}
