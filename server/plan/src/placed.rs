//! A round with its place in the class.

use super::rounds::RoundPlan;
use super::water::Span;
use serde::Serialize;

/// One round with its place in the class. Instants inside `cups` count from `begins_s`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RoundDocument {
    /// The schedule.
    #[serde(flatten)]
    pub plan: RoundPlan,
    /// When it begins, seconds from the first cue of the class.
    pub begins_s: u32,
    /// When its tasting begins.
    pub tastes_s: u32,
    /// When its sheet closes.
    pub closes_s: u32,
    /// How warm each cup is when its tasting begins, in the order of `cups`; `null` without a vessel.
    pub when_tasted: Vec<Option<Span>>,
    /// How long it waits for its kettles beyond the pause before it, seconds.
    pub waits_s: u32,
    /// Seconds of break or pause after it.
    pub pause_s: u32,
    /// Whether that is a break.
    pub is_break: bool,
}
