//! What is taken home: a card for each tea, and a page for each seat.

pub mod cards;
mod mine;
mod own;
mod recipe;
pub mod seat;

use stats::say::{range, signed};
use summary::find::seats::SeatAttribute;
use summary::say::seat::LEAST_TEAS;

pub(crate) use mine::liked_and_wished;
pub use own::Own;
pub(crate) use recipe::{Recipe, Rung};

/// What stands above one person's scores.
pub(crate) const YOURS: &str = "This page is yours alone. It sets your scores beside the others'. Where they differ, nobody is right or \
                                wrong: it is your cup and your tongue.";

/// What is said where a mean of few others is left out: it would tell what each of them gave.
pub(crate) const FEW_OTHERS: &str = "Where fewer than three others scored a cup, their mean is left out: it would tell what each of them gave.";

/// What the figures say of how somebody uses the scale.
pub(crate) const HABITS: &str = "Over the steeps: how far your scores lie above the class's, and in \
                                 brackets between what that may well be; how widely you spread yours and the others \
                                 theirs (standard deviation over the teas, points); and whether yours go up and down with theirs \
                                 (correlation: 1 just as theirs, 0 not at all, −1 the other way round).";

/// What is done with every steep.
pub(crate) const POUR_OFF: &str = "Pour each steep off completely.";

/// A smaller spread, points, is rounding.
const NO_SPREAD: f64 = 1e-6;

/// The usual cautions for whoever brews at home.
pub(crate) const CAUTIONS: &str = "Hot water scalds. Caffeine: small sips; ask a doctor if pregnant or unwell. Allergies: ask \
                                   what is in it before the first cup.";

/// How far a seat scores above the class, with the interval that this may well lie in.
pub(crate) fn above_class(of: &SeatAttribute) -> String {
    let Some(bias) = of.bias.get() else { return "–".into() };
    let interval = bias.test.get().map_or(String::new(), |test| format!(" ({})", range(test.interval)));
    format!("{}{interval}", signed(bias.points))
}

/// How a taster's scores go along with the others', where there is something to go by.
pub(crate) fn correlation(of: &SeatAttribute) -> String {
    let spread = of.spread.get().map_or(0.0, |spread| spread.sd.min(spread.others_mean_sd.unwrap_or(0.0)));
    match of.with_others.get() {
        Some(found) if found.teas < LEAST_TEAS => "too few teas to say".into(),
        Some(found) if spread > NO_SPREAD => stats::say::fine(found.r),
        _ => "–".into(),
    }
}
