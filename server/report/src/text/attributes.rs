//! Each attribute: dots, curves, figures, tests, pairs.

use crate::text::charts::{Scale, curves, letter};
use crate::text::table::Table;
use crate::text::{Page, figure};
use stats::Interval;
use stats::anova::Effect;
use stats::say::{self, fine, p};
use summary::find::describe::Described;
use summary::find::differences::Difference;
use summary::find::leaves::told;
use summary::known::Known;

/// "5.12 to 6.70", or a dash.
pub fn between(interval: Option<Interval>) -> String {
    interval.map_or("–".into(), |i| format!("{} to {}", fine(i.low), fine(i.high)))
}

/// Without its "p": the column's head says it.
pub fn bare_p(value: Option<f64>) -> String {
    value.map_or("–".into(), say::bare_p)
}

/// "teas F(3, 21) 5.30, p 0.007".
pub fn effect(name: &str, effect: &Effect, below: usize) -> String {
    format!("{name} F({}, {below}) {:.2}, {}", effect.df, effect.f, p(effect.p))
}

impl<'a> Page<'a> {
    /// A section for every attribute.
    pub(super) fn attributes(&mut self) {
        let names = self.summary.teas.first().map(|tea| tea.all_steeps.attributes.iter());
        let names: Vec<String> = names.into_iter().flatten().map(|a| a.name.clone()).collect();
        for name in &names {
            self.out.head(&name.to_uppercase());
            self.dots(name);
            self.curves(name);
            self.figures(name);
            self.leaves(name);
            let differences = self.summary.findings.figures.differences.iter();
            let differences: Vec<&Difference> = differences.filter(|d| d.attribute == *name).collect();
            self.tests(&differences);
            if let Some(over) = differences.iter().find(|d| d.steep.is_none()) {
                self.details(over);
            }
        }
    }

    fn described(&self, attribute: &str) -> Vec<&'a Described> {
        let all = self.summary.findings.figures.described.iter();
        all.filter(|line| line.attribute == attribute && line.tea.is_some()).collect()
    }

    /// Each tea over the steeps: every taster's mean as a dot, the class's mean in its interval.
    fn dots(&mut self, attribute: &str) {
        let found = &self.summary.findings;
        let own: Vec<_> = found.figures.dots.iter().filter(|dot| dot.attribute == attribute).collect();
        if own.is_empty() {
            return self.out.line("  nobody has scored it");
        }
        let scale = found.figures.scales.iter().find(|scale| scale.attribute == attribute);
        let Some(scale) = scale else { return };
        let words = |word: &Option<String>| word.as_deref().map_or(String::new(), |word| format!(" {word}"));
        let (low, high) = (words(&scale.low), words(&scale.high));
        let steeps =
            if found.figures.curves.iter().any(|c| c.steeps.len() > 1) { ", mean of the steeps" } else { "" };
        let text = format!(
            "{}{low} – {}{high}; one mark for each taster{steeps}; (--|--) the mean in its 95 % interval",
            scale.min, scale.max
        );
        self.out.text("  ", &text);
        let axis = Scale::new(scale.min.into(), scale.max.into(), self.out.width.min(80) - 33);
        self.out.line(&format!("        {}", axis.axis()));
        let letters =
            found.figures.differences.iter().find(|d| d.attribute == attribute && d.steep.is_none());
        for line in self.described(attribute).into_iter().filter(|line| line.steep.is_none()) {
            let Some((tea, mean)) = line.tea.zip(line.mean) else { continue };
            let values = found.figures.means.iter().filter(|m| m.attribute == attribute && m.tea == tea);
            let values: Vec<f64> = values.map(|m| m.value).collect();
            let place = letter(self.place(tea));
            let groups = letters.and_then(|d| d.letters(tea)).unwrap_or_default();
            let (dots, columns) = (axis.dots(&values), axis.columns());
            self.out.line(&format!("  {place} {tea} {dots:columns$}  {} {groups}", fine(mean)));
            let interval = line.interval.get().copied();
            let drawn = axis.interval(mean, interval);
            self.out.line(&format!("        {drawn:columns$}  {}", between(interval)));
        }
        if letters.is_some_and(|d| d.teas.len() > 1) {
            let adjusted = letters.is_some_and(|d| d.teas.iter().any(|&tea| d.adjusted(tea).is_some()));
            let by = if adjusted {
                "means with missing scores allowed for"
            } else if letters.is_some_and(|d| d.test.get().is_some_and(|test| test.name.is_of_model())) {
                "each taster's mean of a way"
            } else {
                "the tasters who scored every tea"
            };
            self.out.text(
                "  ",
                &format!(
                    "Teas that share a letter are not shown to differ. Letters and pairs go by {by}, at the steeps that all were served \
                     at; means and intervals here by everybody and all steeps."
                ),
            );
        }
    }

    fn curves(&mut self, attribute: &str) {
        let found = &self.summary.findings;
        let mut all = vec![Vec::new(); self.summary.teas.len()];
        for curve in found.figures.curves.iter().filter(|c| c.attribute == attribute) {
            let curve = self.summary.drawn(curve);
            let points = curve.steeps.iter().filter_map(|point| Some((point.steep, point.mean?)));
            all[self.place(curve.tea)] = points.collect();
        }
        if all.iter().all(|curve: &Vec<(u32, f64)>| curve.len() < 2) {
            return;
        }
        self.out.line("");
        self.out.line("  Means from steep to steep");
        self.out.lines(&curves(&all, self.out.width));
        if let Some(words) = self.summary.not_drawn(attribute) {
            self.out.text("  ", &words);
        }
    }

    /// The figures of every tea and steep.
    fn figures(&mut self, attribute: &str) {
        let lines = self.described(attribute);
        let steep = |line: &Described| {
            let tea = line.tea.map_or(String::new(), |tea| tea.to_string());
            match (line.tea, line.steep) {
                (Some(tea), Some(steep)) => self.summary.cup(tea, steep),
                (_, Some(steep)) => format!("{tea}/{steep}"),
                (_, None) => format!("{tea} all"),
            }
        };
        self.out.line("");
        self.out.table(2, &described("tea/steep", &lines, steep));
    }

    /// The figures of leaves and ways that hold more than one tea.
    fn leaves(&mut self, attribute: &str) {
        let found = self.summary.findings.figures.described.iter();
        let lines = found.filter(|l| l.attribute == attribute && l.tea.is_none() && l.steep.is_none());
        let of = |line: &Described| line.leaf.clone().or(line.way.clone()).unwrap_or_default();
        let lines: Vec<&Described> = lines.collect();
        // Where every leaf and every way is one tea only, the table above says it all.
        if lines.len() == 2 * self.summary.teas.len() || lines.is_empty() {
            return;
        }
        self.out.line("");
        self.out.table(2, &described("leaf or way, all steeps", &lines, of));
    }

    /// One line for each test of one attribute.
    fn tests(&mut self, differences: &[&Difference]) {
        let test = |d: &Difference| d.test.get().cloned();
        let table = Table::of(differences)
            .words("do teas differ", |d| d.steep.map_or("all steeps".into(), |s| format!("steep {s}")))
            .numbers("tasters", |d| test(d).map_or(d.complete, |t| t.n).to_string())
            .numbers("p", |d| bare_p(test(d).map(|t| t.p)))
            .numbers("p Holm", |d| bare_p(test(d).map(|t| t.p_holm)))
            .numbers("W", |d| figure(d.friedman.get().map(|f| f.kendall_w)))
            .numbers("p ANOVA", |d| bare_p(d.anova.get().map(|a| a.teas.p)))
            .words("test", |d| test(d).map_or("–".into(), |test| test.name.to_string()));
        self.out.line("");
        self.out.table(2, &table);
        let mut reasons: Vec<&str> = differences
            .iter()
            .filter_map(|d| match &d.test {
                Known::Not { why } => Some(why.as_str()),
                Known::Is(_) => None,
            })
            .collect();
        reasons.sort_unstable();
        reasons.dedup();
        for why in reasons {
            self.out.text("  – ", &format!("not tested: {why}"));
        }
    }

    /// What stands behind the comparison over the steeps: rank sums, analysis of variance, pairs.
    fn details(&mut self, d: &Difference) {
        self.out.line("");
        if let (Some(friedman), Some(ranks)) = (d.friedman.get(), d.rank_sums.get()) {
            let sums = d.teas.iter().zip(&friedman.rank_sums).map(|(tea, sum)| format!("{tea} {sum}"));
            let text = format!(
                "Rank sums: {}. Two are told apart from {:.2} on, each comparison by itself (least significant \
                 difference, as with the ranking test of ISO 8587); from {:.2} on with all pairs looked at.",
                sums.collect::<Vec<_>>().join(", "),
                ranks.least_significant_difference,
                ranks.family_difference
            );
            self.out.text("  ", &text);
        }
        if let Some(anova) = d.anova.get() {
            let below = anova.residual.df;
            let text = format!(
                "Two-way analysis of variance: {}; {}; standard deviation left over {:.2}.",
                effect("teas", &anova.teas, below),
                effect("tasters", &anova.tasters, below),
                anova.residual.mean_square.sqrt()
            );
            self.out.text("  ", &text);
        }
        if let Some(repeated) = d.repeated.as_ref().and_then(Known::get) {
            let below = repeated.error.df;
            let text = format!(
                "Teas served twice, {} tasters: {}; tea × taster {}; one taster's scores of one tea lie {:.2} apart (SD).",
                repeated.tasters,
                effect("teas", &repeated.teas, below),
                effect("", &repeated.interaction, below).trim_start(),
                repeated.error.mean_square.sqrt()
            );
            self.out.text("  ", &text);
        }
        if let Some(additive) = d.additive.as_ref().and_then(Known::get) {
            let adjusted = d.teas.iter().zip(&additive.teas);
            let adjusted: Vec<String> = adjusted
                .map(|(tea, a)| {
                    format!("{tea} {} ± {:.2} (n {})", fine(a.adjusted_mean), a.standard_error, a.n)
                })
                .collect();
            self.out.text(
                "  ",
                &format!("Means adjusted for missing scores, ± standard error: {}.", adjusted.join(", ")),
            );
        }
        self.pairs(d);
    }

    pub(super) fn pairs(&mut self, d: &Difference) {
        let Known::Is(told) = told(d, &self.summary.findings.figures.leaves) else { return };
        let table = Table::of(&told)
            .words("pair", |pair| format!("{} − {}", pair.first, pair.second))
            .numbers("difference", |pair| fine(pair.difference))
            .numbers("interval", |pair| between(pair.interval))
            .numbers("p", |pair| bare_p(pair.p))
            .words("", |pair| if pair.differs { "+" } else { "" }.into());
        self.out.line("");
        self.out.table(2, &table);
        if told.iter().any(|pair| pair.interval.is_none()) {
            self.out.text(
                "  ",
                "–: the pair by itself looks otherwise than the test that decides, and is not gone by.",
            );
        }
    }
}

fn described<'a>(
    head: &str,
    lines: &'a [&'a Described],
    name: impl Fn(&Described) -> String,
) -> Table<'a, &'a Described> {
    let pair = |a: Option<f64>, b: Option<f64>| match a.zip(b) {
        Some((a, b)) => format!("{} to {}", short(a), short(b)),
        None => "–".into(),
    };
    Table::of(lines)
        .words(head, |l| name(l))
        .numbers("n", |l| l.n.to_string())
        .numbers("mean", |l| figure(l.mean))
        .numbers("95 % interval", |l| between(l.interval.get().copied()))
        .numbers("median", |l| figure(l.median))
        .numbers("SD", |l| figure(l.sd))
        .numbers("quartiles", |l| pair(l.lower_quartile, l.upper_quartile))
        .numbers("low to high", |l| pair(l.min, l.max))
}

/// A value with as many decimals as it needs, two at most.
fn short(value: f64) -> String {
    let whole = value.round();
    if (value - whole).abs() >= 0.005 {
        return fine(value);
    }
    format!("{}{}", if whole < 0.0 { "−" } else { "" }, whole.abs())
}
