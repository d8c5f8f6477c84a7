//! What the class would change in a tea, by what its votes show over its steeps.

use protocol::Code;
use protocol::say::{list, many};
use stats::interval::SIGNIFICANCE;
use stats::penalty::Hint;
use summary::find::strength::{Estimate, StrengthFindings, TeaHint};

/// What the class would change, in words: what is shown, and a hint as a hint. `None` if strength was not asked.
pub(crate) fn change(strength: Option<&StrengthFindings>, tea: Code) -> Option<String> {
    let found = strength?;
    let Some(tea) = found.teas.iter().find(|of| of.tea == tea) else {
        return Some("Nobody voted on its strength.".into());
    };
    let Some(hint) = tea.hint.get() else { return Some("Nobody voted on its strength.".into()) };
    let shown = hint.p_holm <= SIGNIFICANCE;
    let tasters = many(hint.tasters, "taster");
    Some(match hint.hint {
        Hint::Leave if shown => {
            format!("Leave it: {} of {tasters} found it mostly just right.", hint.mostly_right)
        }
        Hint::Lengthen | Hint::Shorten => side(hint, shown, tea.estimate.as_ref()),
        Hint::Leave | Hint::TooFewToTell if hint.tasters < found.tasters_needed => {
            format!("Too few voted to say: {tasters}, and {} are needed.", found.tasters_needed)
        }
        Hint::Leave | Hint::TooFewToTell => format!(
            "Not clear, since {} of {tasters} found it rather too thin and {} rather too strong.",
            hint.too_thin, hint.too_strong
        ),
    })
}

/// `Longer: 8 of 9 tasters found it rather too thin. Try 66 s and 51 s (an estimate).`
fn side(hint: &TeaHint, shown: bool, estimate: Option<&Estimate>) -> String {
    let (how, votes, word) = match hint.hint {
        Hint::Shorten => ("shorter", hint.too_strong, "strong"),
        _ => ("longer", hint.too_thin, "thin"),
    };
    let maybe = if shown { how.to_string() } else { format!("perhaps {how}") };
    let not_shown = if shown { "" } else { ", too few to show it" };
    let tasters = many(hint.tasters, "taster");
    let seconds = estimate.map(|of| of.steep_s.iter().map(|s| format!("{s} s")).collect::<Vec<_>>());
    let to_try = seconds
        .filter(|seconds| !seconds.is_empty())
        .map_or(String::new(), |seconds| format!(" To try: {} (an estimate).", list(&seconds)));
    format!("{maybe}: {votes} of {tasters} found it rather too {word}{not_shown}.{to_try}")
}
