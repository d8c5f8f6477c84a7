//! How a tea was steeped, for doing it again: the course as it was served, in words.

use crate::words::capital;
use class::steeping::Steeping;
use plan::warnings::words_s;
use summary::TeaLine;
use summary::recipe::{Turn, done_again};

/// Steeps from here on are told in minutes.
const IN_MINUTES_S: u32 = 120;

/// One steep as it was served.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Rung {
    /// Which steep of the tea it is, from 1; never the number of its round.
    pub(crate) steep: u32,
    /// From lid on to the start of the decant, seconds; 0 is a flash steep.
    pub(crate) steep_s: u32,
    /// Water, °C.
    pub(crate) temp_c: f64,
}

impl Rung {
    /// A tea's turn in a round; nothing while its seconds are kept from the class.
    pub(crate) fn of(turn: &Turn) -> Option<Self> {
        Some(Self { steep: turn.steep, steep_s: turn.steep_s?, temp_c: turn.temp_c? })
    }

    /// `45 s`, `90 s`, `2 min 30 s`, `flash`.
    pub(crate) fn time(&self) -> String {
        match self.steep_s {
            0 => "flash".into(),
            s if s < IN_MINUTES_S => format!("{s} s"),
            s => words_s(s),
        }
    }
}

/// How a revealed tea is steeped.
pub(crate) struct Recipe<'a> {
    way: &'a Steeping,
    /// Each steep once, in order; of a tea that was not served, all that were written.
    pub(crate) ladder: Vec<Rung>,
    /// Which of them were done again, a sentence each without its end.
    pub(crate) done_again: Vec<String>,
}

impl<'a> Recipe<'a> {
    /// The recipe of a tea whose name may be known, with the steeps that were in the cup.
    pub(crate) fn of(tea: &'a TeaLine) -> Option<Self> {
        let way = tea.recipe.as_ref()?;
        let mut ladder: Vec<Rung> =
            tea.course.iter().filter(|turn| turn.in_recipe).filter_map(Rung::of).collect();
        ladder.sort_by_key(|rung| rung.steep);
        Some(Self { way, ladder, done_again: done_again(&tea.course) })
    }

    /// `3.5 g leaf in 120 ml water`.
    pub(crate) fn dose(&self) -> String {
        format!("{} g leaf in {} ml water", self.way.leaf_g, self.way.water_ml)
    }

    /// `2.9 g per 100 ml`; nothing where the dose says so already.
    pub(crate) fn per_100_ml(&self) -> Option<String> {
        let grams = (self.way.leaf_g * 1000.0 / self.way.water_ml).round() / 10.0;
        (self.way.water_ml != 100.0).then(|| format!("({grams} g per 100 ml)"))
    }

    /// The water of all steeps, if it is the same.
    pub(crate) fn water(&self) -> Option<String> {
        let first = self.ladder.first()?.temp_c;
        self.ladder.iter().all(|rung| rung.temp_c == first).then(|| format!("{first} °C"))
    }

    /// What is done before the first steep, and in what.
    pub(crate) fn besides(&self) -> Vec<String> {
        let rinse = self.way.rinse_s.map(|s| format!("rinse {s} s and pour it off"));
        let vessel = self.way.vessel.map(|v| format!("{} of {} g", v.material.name(), v.mass_g));
        rinse.into_iter().chain(vessel).collect()
    }

    /// All of it in one sentence.
    pub(crate) fn words(&self) -> String {
        let steeps: Vec<String> = self
            .ladder
            .iter()
            .map(|rung| match self.water() {
                Some(_) => rung.time(),
                None => format!("{} at {} °C", rung.time(), rung.temp_c),
            })
            .collect();
        let at = self.water().map_or(String::new(), |water| format!(" at {water}"));
        let besides: String = self.besides().iter().map(|part| format!("; {part}")).collect();
        let per_100_ml = self.per_100_ml().map_or(String::new(), |words| format!(" {words}"));
        let again: String = self.done_again.iter().map(|words| format!(" {}.", capital(words))).collect();
        format!("{}{per_100_ml}{at}{besides}. Steeps: {}.{again}", self.dose(), steeps.join(", "))
    }
}
