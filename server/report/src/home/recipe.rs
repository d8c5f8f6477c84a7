//! How a tea was steeped, for doing it again: the course as it was served, in words.

use class::steeping::Steeping;
use plan::warnings::words_s;
use summary::TeaLine;
use summary::recipe::Turn;

/// Steeps from here on are told in minutes.
const IN_MINUTES_S: u32 = 120;

/// One steep as it was served.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Rung {
    /// From 1.
    pub(crate) steep: u32,
    /// From lid on to the start of the decant, seconds; 0 is a flash steep.
    pub(crate) steep_s: u32,
    /// Water, °C.
    pub(crate) temp_c: f64,
}

impl Rung {
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
    /// The steeps that were served; of a tea that was not served, all that were written.
    pub(crate) ladder: Vec<Rung>,
}

impl<'a> Recipe<'a> {
    /// The recipe of a tea whose name may be known, with the steeps that were in the cup.
    pub(crate) fn of(tea: &'a TeaLine) -> Option<Self> {
        let way = tea.recipe.as_ref()?;
        let served = |steep: &u32| tea.steeps.is_empty() || tea.steeps.iter().any(|cup| cup.steep == *steep);
        let rung =
            |turn: &Turn| Some(Rung { steep: turn.round, steep_s: turn.steep_s?, temp_c: turn.temp_c? });
        let rungs = tea.course.iter().filter(|turn| served(&turn.round));
        Some(Self { way, ladder: rungs.filter_map(rung).collect() })
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
        format!("{}{per_100_ml}{at}{besides}. Steeps: {}.", self.dose(), steeps.join(", "))
    }
}
