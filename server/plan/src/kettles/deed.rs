//! What there is to do at a kettle: for a plan to list, and for a seat to be cued.

use protocol::time::SECOND_US;
use protocol::{Action, Code, Cue, HostTime};
use serde::Serialize;

/// One thing to do at a kettle.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct KettleStep {
    /// Which kettle, by its place in the class file from 1.
    pub kettle: usize,
    /// In which round.
    pub round: u32,
    /// Seconds from the first cue of the class; before it when less than nought.
    pub at_s: i64,
    /// Whose hands, from 1; none before the class.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hands: Option<u8>,
    /// What to do.
    #[serde(flatten)]
    pub deed: Deed,
}

/// What there is to do at a kettle.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "do", rename_all = "snake_case")]
pub enum Deed {
    /// Fill it and switch it on.
    SwitchOn {
        /// What it holds, millilitres.
        ml: f64,
        /// To what set point, °C.
        set_c: f64,
        /// How long it heats from the room's temperature, seconds.
        takes_s: u32,
    },
    /// Empty it, fill it with fresh water and set it.
    Afresh {
        /// What it holds, millilitres.
        ml: f64,
        /// To what set point, °C.
        set_c: f64,
        /// How long it heats from the room's temperature, seconds.
        takes_s: u32,
    },
    /// Fill it up with fresh water and set it.
    Refill {
        /// How much, millilitres.
        ml: f64,
        /// To what set point, °C.
        set_c: f64,
        /// How long it heats from what the water has become, seconds.
        takes_s: u32,
    },
    /// Change the set point.
    Set {
        /// From what, °C.
        from_c: f64,
        /// To what, °C.
        set_c: f64,
        /// How long that takes, seconds.
        takes_s: u32,
    },
    /// Pour from it.
    Draw {
        /// For which tea.
        code: Code,
        /// How much, millilitres.
        ml: f64,
    },
}

impl Deed {
    /// How long until the kettle is ready after it and after the work of hands for it, seconds.
    pub fn takes_s(&self) -> u32 {
        match *self {
            Deed::SwitchOn { takes_s, .. }
            | Deed::Afresh { takes_s, .. }
            | Deed::Refill { takes_s, .. }
            | Deed::Set { takes_s, .. } => takes_s,
            Deed::Draw { .. } => 0,
        }
    }

    fn set_c(&self) -> Option<f64> {
        match *self {
            Deed::SwitchOn { set_c, .. }
            | Deed::Afresh { set_c, .. }
            | Deed::Refill { set_c, .. }
            | Deed::Set { set_c, .. } => Some(set_c),
            Deed::Draw { .. } => None,
        }
    }

    pub(super) fn fills(&self) -> bool {
        matches!(self, Deed::SwitchOn { .. } | Deed::Afresh { .. } | Deed::Refill { .. })
    }
}

/// A deed with its place in the class.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Act {
    /// Which kettle, by its place in the class file from 1.
    pub kettle: usize,
    pub round: u32,
    pub at: HostTime,
    /// Whose hands; 0 before the class.
    pub hands: u8,
    /// How long it keeps them, seconds.
    pub length_s: u32,
    /// The tea whose draw it comes before.
    pub code: Code,
    pub deed: Deed,
}

impl Act {
    /// The act as a plan shows it, counted from the first cue of the class.
    pub fn step(self) -> KettleStep {
        let Self { kettle, round, at, hands, deed, .. } = self;
        // What is done for warming and rinsing belongs to the first round.
        let round = round.max(1);
        let hands = (hands > 0).then_some(hands);
        KettleStep { kettle, round, at_s: at.0.div_euclid(SECOND_US), hands, deed }
    }

    /// The act as a cue, if it needs one: a pour has its own, and before the class nobody is cued.
    pub fn cue(&self) -> Option<Cue> {
        let (action, water_ml) = match self.deed {
            _ if self.hands == 0 => return None,
            Deed::SwitchOn { .. } | Deed::Draw { .. } => return None,
            Deed::Afresh { ml, .. } => (Action::Fill, Some(ml)),
            Deed::Refill { ml, .. } => (Action::Refill, Some(ml)),
            Deed::Set { .. } => (Action::Set, None),
        };
        let cue = Cue::new(self.at, action, Some(self.code), self.round, self.hands, self.length_s);
        Some(Cue { temp_c: self.deed.set_c(), kettle: kettle_number(self.kettle), water_ml, ..cue })
    }
}

/// A kettle's place as a cue has it.
pub(crate) fn kettle_number(kettle: usize) -> Option<u8> {
    u8::try_from(kettle).ok()
}
