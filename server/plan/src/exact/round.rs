//! What is asked: a round's teas, hands and kettles, and what a plan of it is to be good at.

use crate::filling::Filling;
use crate::heat::Heat;

/// The most teas a round may have.
pub(super) const MAX_TEAS: usize = 12;
/// More seconds than any schedule has.
pub(super) const NEVER: i32 = 1 << 28;
/// The most kettles a round may have.
pub(super) const MAX_KETTLES: usize = 8;
/// The longest pour, steep, decant or gap that is accepted: a day.
const LONGEST_S: u32 = 86_400;

/// One tea's work in a round.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TeaJob {
    /// Seconds of hands and kettle to pour, at least 1.
    pub pour_s: u32,
    /// Seconds from lid on to the start of the decant, 0 for a flash steep.
    pub steep_s: u32,
    /// Seconds of hands to decant, at least 1.
    pub decant_s: u32,
    /// Water temperature, °C.
    pub temp_c: f64,
    /// What its pour takes from a kettle, millilitres.
    pub ml: f64,
}

/// A kettle that the pours of a round share.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kettle {
    /// How it heats and cools.
    pub heat: Heat,
    /// Its temperature at second 0, °C; `None`: preset for its first tea.
    pub start_c: Option<f64>,
    /// Its filling, full at second 0; `None`: it never runs out.
    pub water: Option<Filling>,
}

/// One round to be planned.
#[derive(Clone, Debug, PartialEq)]
pub struct Round {
    /// The teas in file order.
    pub teas: Vec<TeaJob>,
    /// Pairs of hands.
    pub hands: u8,
    /// Who may pour and decant each tea, a bit for each pair of hands from the first; empty where all may do all.
    pub by: Vec<u8>,
    /// The kettles; none: kettles are not modelled.
    pub kettles: Vec<Kettle>,
    /// Room temperature, °C.
    pub room_c: f64,
    /// Set points that differ by no more than this need no set-up, °C.
    pub tol_c: f64,
    /// Pours must begin in file order.
    pub order_fixed: bool,
    /// Least seconds between the work of the same hands for two different teas; 0: none. A steep shorter than this
    /// is decanted by the hands that poured it, which do nothing else meanwhile.
    pub gap_s: u32,
    /// From the end of a pour until the hands that poured set or fill its kettle, seconds. Where the kettle needs neither it
    /// may be poured from at once.
    pub lid_s: u32,
}

/// What the plan is to be good at, first things first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wish {
    /// Spread, then makespan, then the smallest vector of pour starts.
    StrictSpread,
    /// Excess of the spread over `s`, then makespan, then spread, then the smallest vector of pour starts.
    ReadyWithin {
        /// Seconds between the first and the last cup that do no harm.
        s: u32,
    },
}

/// Why a round cannot be planned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// No teas, or too many.
    #[error("a round has 1 to 12 teas, not {0}")]
    TeaCount(usize),
    /// Nobody to pour.
    #[error("a round needs at least one pair of hands")]
    NoHands,
    /// Too many kettles.
    #[error("a round has at most 8 kettles, not {0}")]
    KettleCount(usize),
    /// Numbers of a tea out of range (place from 0).
    #[error("tea {}: pour and decant take 1 s to a day, a steep at most a day, and its temperature and water are numbers", .0 + 1)]
    Tea(usize),
    /// Numbers of a kettle out of range (place from 0).
    #[error("kettle {}: filling, power, efficiency and time constant are above 0, and its temperature is a number", .0 + 1)]
    Kettle(usize),
    /// A tea's pour (place from 0) takes more than any kettle gives in one filling.
    #[error("tea {}: its pour takes more water than any kettle gives in one filling", .0 + 1)]
    Draw(usize),
    /// Room temperature, tolerance, gap or time for the lid out of range.
    #[error(
        "room temperature and tolerance are numbers, the tolerance at least 0, the gap and the time for the lid at most a day"
    )]
    Setting,
    /// No kettle can be brought to what the teas need, in any order that is allowed.
    #[error("no kettle can serve these teas in any allowed order: water does not cool below the room")]
    Kettles,
    /// What is steeping needs the hands it has, and they leave no pair of hands free for the whole of another task.
    #[error("what is steeping needs the hands first")]
    Steeping,
}

/// Whether a round's numbers make sense.
pub(super) fn check(round: &Round) -> Result<(), Fault> {
    let n = round.teas.len();
    if n == 0 || n > MAX_TEAS {
        return Err(Fault::TeaCount(n));
    }
    let all = u8::MAX >> 8u8.saturating_sub(round.hands).min(7);
    if round.hands == 0 || round.by.iter().any(|by| by & all == 0) {
        return Err(Fault::NoHands);
    }
    if round.kettles.len() > MAX_KETTLES {
        return Err(Fault::KettleCount(round.kettles.len()));
    }
    for (i, tea) in round.teas.iter().enumerate() {
        let lengths = [tea.pour_s, tea.steep_s, tea.decant_s];
        if tea.pour_s == 0
            || tea.decant_s == 0
            || lengths.iter().any(|&s| s > LONGEST_S)
            || !tea.temp_c.is_finite()
            || !(tea.ml.is_finite() && tea.ml >= 0.0)
        {
            return Err(Fault::Tea(i));
        }
    }
    if round.gap_s.max(round.lid_s) > LONGEST_S
        || !round.room_c.is_finite()
        || !(round.tol_c.is_finite() && round.tol_c >= 0.0)
    {
        return Err(Fault::Setting);
    }
    let sound = |value: f64| value.is_finite() && value > 0.0;
    for (k, kettle) in round.kettles.iter().enumerate() {
        let Heat { fill_kg, watts, eta, tau_s } = kettle.heat;
        let physical = [fill_kg, watts, eta, tau_s].into_iter().all(sound);
        let fills = |w: &Filling| {
            sound(w.usable_ml) && sound(w.full_ml) && w.usable_ml <= w.full_ml && w.fill_s <= LONGEST_S
        };
        if !physical
            || kettle.start_c.is_some_and(|c| !c.is_finite())
            || !kettle.water.as_ref().is_none_or(fills)
        {
            return Err(Fault::Kettle(k));
        }
    }
    let gives = |ml| {
        let enough = |k: &Kettle| k.water.is_none_or(|w| Filling::holds(w.usable_ml, ml));
        round.kettles.is_empty() || round.kettles.iter().any(enough)
    };
    if let Some(tea) = round.teas.iter().position(|tea| !gives(tea.ml)) {
        return Err(Fault::Draw(tea));
    }
    Ok(())
}
