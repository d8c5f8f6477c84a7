//! Each taster of each class with what they gave the ways that are compared, at the same steeps.

use crate::data::side_by_side;
use crate::several::class::Class;
use std::collections::BTreeSet;

/// A taster of one class.
pub struct Taster {
    /// The class, counted from 0.
    pub class: usize,
    /// The mean of each of the ways compared, in their order.
    pub means: Vec<Option<f64>>,
}

/// Ways side by side on one attribute.
pub struct Compared {
    /// The steeps that go in, from 1; empty where the classes have none in common, and each goes by its own.
    pub steeps: Vec<usize>,
    /// Those who scored at least one of the ways.
    pub tasters: Vec<Taster>,
}

/// The tasters of some ways (counted from 0), over the steeps at which all these ways were scored in every class that
/// compares two of them, as the review of one class has it.
pub fn compared(classes: &[Class<'_>], ways: &[usize], scale: usize) -> Compared {
    let parts: Vec<Part<'_>> = classes
        .iter()
        .enumerate()
        .filter_map(|(number, class)| Part::of(number, class, ways, scale))
        .collect();
    let comparing = parts.iter().filter(|part| part.distinct() > 1);
    let shared = comparing.map(|part| part.shared.clone()).reduce(|a, b| &a & &b).unwrap_or_default();
    let mut tasters = Vec::new();
    for part in &parts {
        let steeps = if shared.is_empty() { &part.shared } else { &shared };
        tasters.extend(part.tasters(steeps, ways.len()));
    }
    Compared { steeps: shared.into_iter().map(|steep| steep + 1).collect(), tasters }
}

/// For every taster (class by class) the ways that they scored at all.
pub fn scored(classes: &[Class<'_>], scale: usize) -> Vec<BTreeSet<usize>> {
    let mut all = Vec::new();
    for class in classes {
        let Some(own) = class.scales.iter().position(|&s| s == scale) else { continue };
        let of_seat = |teas: &Vec<Vec<Option<i32>>>| {
            let scored =
                teas.iter().zip(&class.ways).filter(|(steeps, _)| steeps.iter().any(Option::is_some));
            scored.map(|(_, &way)| way).collect()
        };
        all.extend(class.digest.points[own].iter().map(of_seat));
    }
    all
}

/// What one class has of the ways compared.
struct Part<'a> {
    class: usize,
    /// By seat, tea and steep.
    points: &'a [Vec<Vec<Option<i32>>>],
    /// The teas that are one of the ways and were scored, each with the place of its way.
    teas: Vec<(usize, usize)>,
    /// The steeps, from 0, at which all of them were scored.
    shared: BTreeSet<usize>,
}

impl<'a> Part<'a> {
    fn of(number: usize, class: &Class<'a>, ways: &[usize], scale: usize) -> Option<Self> {
        let own = class.scales.iter().position(|&s| s == scale)?;
        let digest: &'a crate::several::digest::Digest = class.digest;
        let (points, steeps) = (&digest.points[own], &digest.scored[own]);
        let place = |way: &usize| ways.iter().position(|other| other == way);
        let of_ways = class.ways.iter().enumerate().filter_map(|(tea, way)| Some((tea, place(way)?)));
        let teas: Vec<(usize, usize)> = of_ways.filter(|(tea, _)| !steeps[*tea].is_empty()).collect();
        let (&(first, _), others) = teas.split_first()?;
        let shared = others.iter().fold(steeps[first].clone(), |shared, (tea, _)| &shared & &steeps[*tea]);
        Some(Self { class: number, points, teas, shared })
    }

    /// How many of the ways it has.
    fn distinct(&self) -> usize {
        self.teas.iter().map(|(_, way)| way).collect::<BTreeSet<_>>().len()
    }

    fn tasters(&self, steeps: &BTreeSet<usize>, ways: usize) -> Vec<Taster> {
        if steeps.is_empty() {
            return Vec::new();
        }
        let row = |seat: &Vec<Vec<Option<i32>>>, tea: usize| -> Vec<Option<f64>> {
            steeps.iter().map(|&steep| seat[tea].get(steep).copied().flatten().map(f64::from)).collect()
        };
        // Most classes have no gaps, and then there is nothing to make up.
        let whole = |seat: &Vec<Vec<Option<i32>>>| -> Option<Vec<Option<f64>>> {
            let mean = |&(tea, _): &(usize, usize)| {
                let points =
                    steeps.iter().map(|&steep| seat[tea].get(steep).copied().flatten().map(f64::from));
                points.sum::<Option<f64>>().map(|sum| Some(sum / steeps.len() as f64))
            };
            self.teas.iter().map(mean).collect()
        };
        let means = self.points.iter().map(whole).collect::<Option<Vec<_>>>().map(|means| means.concat());
        let means = means.unwrap_or_else(|| {
            let of_seat = |seat| self.teas.iter().map(move |&(tea, _)| row(seat, tea));
            side_by_side(&self.points.iter().flat_map(of_seat).collect::<Vec<_>>())
        });
        let of_seat = |means: &[Option<f64>]| {
            let mut sums = vec![(0.0, 0.0); ways];
            for (mean, &(_, way)) in means.iter().zip(&self.teas) {
                if let Some(mean) = mean {
                    sums[way] = (sums[way].0 + mean, sums[way].1 + 1.0);
                }
            }
            let means: Vec<Option<f64>> =
                sums.into_iter().map(|(sum, n)| (n > 0.0).then(|| sum / n)).collect();
            Taster { class: self.class, means }
        };
        let scored = |taster: &Taster| taster.means.iter().any(Option::is_some);
        means.chunks(self.teas.len().max(1)).map(of_seat).filter(scored).collect()
    }
}
