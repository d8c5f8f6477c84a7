//! That whichever tea came first was scored otherwise for that alone, in one line where it is shown.

use super::{Line, Matter};
use crate::figures::Figures;
use protocol::say::list;
use stats::interval::SIGNIFICANCE;
use stats::say::points;

/// In what, by how much, and whether some teas gained or lost by it; nothing where it is not shown.
pub fn line(found: &Figures) -> Option<Line> {
    let serving = found.serving.as_ref()?;
    let shown = serving.first_cup.iter().filter_map(|cup| {
        let effect = cup.effect.get().filter(|effect| effect.p_holm <= SIGNIFICANCE)?;
        let side = if effect.points < 0.0 { "lower" } else { "higher" };
        Some(format!("{} by {} {side}", cup.attribute, points(effect.points)))
    });
    let shown: Vec<String> = shown.collect();
    if shown.is_empty() {
        return None;
    }
    let short = format!("Whichever tea came first was scored otherwise for that alone: {}.", list(&shown));
    let fair = match serving.balanced {
        true => "Each came first equally often, so none gained or lost by it.",
        false => "Not each came first equally often: the means without it stand with the rest.",
    };
    Some(Line { text: format!("{short} {fair}"), short, matter: Matter::FirstCup })
}
