//! The ways compared over all classes at once, each taster against their own level.
//!
//! Each taster of each class is a block of its own, so that the class they sat in is taken out with them: what is
//! compared is how one person in one class scored one way above another. Two seats of one name in two classes count as
//! two tasters.

use super::Class;
use super::ways::{Scale, Way};
use crate::stats::additive::additive;
use crate::stats::interval::SIGNIFICANCE;
use crate::stats::letters::letters;
use crate::stats::multiple::holm;
use crate::stats::skillings_mack::skillings_mack;
use crate::summary::findings::sentences::say::{many, p as chance};
use serde::Serialize;

/// Ways that tasters have scored against one another, on one attribute.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Together {
    /// The attribute.
    pub attribute: Scale,
    /// The numbers of the ways.
    pub ways: Vec<usize>,
    /// How many classes they were scored in.
    pub classes: usize,
    /// How many tasters.
    pub tasters: usize,
    /// Each way's mean, best first; empty when there are too few scores.
    pub means: Vec<Mean>,
    /// Whether the ways differ at all, each taster's level taken out (additive model, F test); `null` when there are too
    /// few scores.
    pub by_points: Option<Test>,
    /// The p of that with all comparisons looked at (Holm).
    pub p_of_all: Option<f64>,
    /// The same by ranks (Skillings–Mack).
    pub by_ranks: Option<Test>,
    /// What was found, in words.
    pub words: String,
}

/// One way's mean.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Mean {
    /// The way's number.
    pub way: usize,
    /// How many tasters scored it.
    pub n: usize,
    /// The plain mean of the tasters' means.
    pub mean: f64,
    /// What the mean would be if all had scored it.
    pub adjusted_mean: f64,
    /// The standard error of that.
    pub standard_error: f64,
    /// Ways that share a letter are not shown to differ (Tukey–Kramer, 5 % for all pairs); all share one where the
    /// comparison as a whole, adjusted, shows nothing.
    pub letters: String,
}

/// A test.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Test {
    /// F or chi-squared.
    pub statistic: f64,
    /// Its degrees of freedom.
    pub df: usize,
    /// Those beneath, for F.
    pub df_below: Option<usize>,
    /// p.
    pub p: f64,
}

/// One comparison for each attribute and each set of ways that tasters link.
pub fn together(classes: &[Class<'_>], ways: &[Way], scales: &[Scale]) -> Vec<Together> {
    let mut all = Vec::new();
    for (at, scale) in scales.iter().enumerate() {
        let tasters = tasters(classes, ways.len(), at);
        for group in linked(&tasters, ways.len()) {
            all.push(compare(scale, &group, &tasters));
        }
    }
    let p: Vec<f64> = all.iter().filter_map(|(found, _)| Some(found.by_points?.p)).collect();
    let mut of_all = holm(&p).unwrap_or_default().into_iter();
    let tell = |(mut found, why): (Together, Option<String>)| {
        found.p_of_all = found.by_points.and_then(|_| of_all.next());
        if found.p_of_all.is_none_or(|p| p > SIGNIFICANCE) {
            found.means.iter_mut().for_each(|mean| mean.letters = "a".into());
        }
        found.words = words(&found, p.len(), why);
        found
    };
    all.into_iter().map(tell).collect()
}

fn words(found: &Together, looked_at: usize, why: Option<String>) -> String {
    let (name, classes) = (&found.attribute.name, found.classes);
    let in_classes = if classes == 1 { "1 class".into() } else { format!("{classes} classes") };
    let of = format!("{} in {in_classes}", many(found.tasters, "taster"));
    let (Some(test), Some(of_all), Some(highest), Some(lowest)) =
        (found.by_points, found.p_of_all, found.means.first(), found.means.last())
    else {
        return format!(
            "{name}: too few to tell ({of}){}",
            why.map_or(String::new(), |why| format!(": {why}"))
        );
    };
    let shown =
        if of_all <= SIGNIFICANCE { "the ways differ" } else { "no difference between the ways is shown" };
    let looked = if looked_at > 1 {
        format!("; {} allowing for {looked_at} tests", chance(of_all))
    } else {
        String::new()
    };
    format!(
        "{name}: {shown}; highest and lowest lie {:.2} points apart ({of}; F {:.2} on {} and {}, {}{looked})",
        highest.adjusted_mean - lowest.adjusted_mean,
        test.statistic,
        test.df,
        test.df_below.unwrap_or(0),
        chance(test.p)
    )
}

/// A taster: the class's number, and the mean of every way that was scored.
pub struct Taster {
    /// The class, counted from 0.
    pub class: usize,
    /// By way.
    pub means: Vec<Option<f64>>,
}

/// Everybody who scored an attribute.
pub fn tasters(classes: &[Class<'_>], ways: usize, scale: usize) -> Vec<Taster> {
    let mut all = Vec::new();
    for (number, class) in classes.iter().enumerate() {
        let Some(own) = class.scales.iter().position(|&s| s == scale) else { continue };
        for teas in &class.digest.means[own] {
            let mut sums = vec![(0.0, 0.0); ways];
            for (&way, mean) in class.ways.iter().zip(teas) {
                if let Some(mean) = mean {
                    sums[way] = (sums[way].0 + mean, sums[way].1 + 1.0);
                }
            }
            if sums.iter().any(|s| s.1 > 0.0) {
                let means = sums.into_iter().map(|(sum, n)| (n > 0.0).then(|| sum / n)).collect();
                all.push(Taster { class: number, means });
            }
        }
    }
    all
}

/// The sets of two ways or more that hang together through tasters who scored both.
fn linked(tasters: &[Taster], ways: usize) -> Vec<Vec<usize>> {
    let mut set: Vec<usize> = (0..ways).collect();
    for taster in tasters {
        let scored: Vec<usize> = (0..ways).filter(|&w| taster.means[w].is_some()).collect();
        for pair in scored.windows(2) {
            let (kept, gone) = (set[pair[0]], set[pair[1]]);
            if kept != gone {
                set.iter_mut().filter(|s| **s == gone).for_each(|s| *s = kept);
            }
        }
    }
    let group = |head: usize| -> Vec<usize> { (0..ways).filter(|&w| set[w] == head).collect() };
    (0..ways).map(group).filter(|g| g.len() > 1).collect()
}

/// A comparison without its words, and why it has no test.
fn compare(scale: &Scale, group: &[usize], tasters: &[Taster]) -> (Together, Option<String>) {
    let of_group = |t: &Taster| -> Vec<Option<f64>> { group.iter().map(|&w| t.means[w]).collect() };
    let taking_part: Vec<&Taster> =
        tasters.iter().filter(|t| of_group(t).iter().any(Option::is_some)).collect();
    let rows: Vec<Vec<Option<f64>>> = taking_part.iter().map(|t| of_group(t)).collect();
    let mut classes: Vec<usize> = taking_part.iter().map(|t| t.class).collect();
    classes.dedup();
    let ranks = skillings_mack(&rows).ok();
    let by_ranks = ranks.map(|r| Test { statistic: r.chi_squared, df: r.df, df_below: None, p: r.p });
    let mut found = Together {
        attribute: scale.clone(),
        ways: group.iter().map(|w| w + 1).collect(),
        classes: classes.len(),
        tasters: rows.len(),
        means: Vec::new(),
        by_points: None,
        p_of_all: None,
        by_ranks,
        words: String::new(),
    };
    match additive(&rows, 1.0 - SIGNIFICANCE) {
        Err(why) => return (found, Some(why.to_string())),
        Ok(model) => {
            let test = model.tea_given_taster;
            let differs = |i: usize, j: usize| {
                model.pairs.pairs.iter().any(|p| (p.first, p.second) == (i.min(j), i.max(j)) && p.differs)
            };
            let values: Vec<f64> = model.teas.iter().map(|t| t.adjusted_mean).collect();
            let letters = letters(&values, differs);
            found.means = group
                .iter()
                .zip(&model.teas)
                .zip(letters)
                .map(|((way, tea), letters)| Mean {
                    way: way + 1,
                    n: tea.n,
                    mean: tea.plain_mean,
                    adjusted_mean: tea.adjusted_mean,
                    standard_error: tea.standard_error,
                    letters,
                })
                .collect();
            found.means.sort_by(|a, b| b.adjusted_mean.total_cmp(&a.adjusted_mean));
            found.by_points =
                Some(Test { statistic: test.f, df: test.df, df_below: Some(model.residual.df), p: test.p });
        }
    }
    (found, None)
}
