//! The page of results: the middle of several runs of every benchmark, with how far the runs lie apart.

use super::report::{Baseline, Figure, Goal, Report, round};
use super::stamps::median;
use std::fmt::Write;

/// A figure whose runs lie further apart than this, as a part of their middle, is called noisy.
const NOISY: f64 = 0.5;

/// Several runs of one figure.
struct Runs<'a>(Vec<&'a Figure>);

impl Runs<'_> {
    /// The figure of medians: values, baselines and ratios each for themselves.
    fn middle(&self) -> Option<Figure> {
        let first = *self.0.first()?;
        let baseline = |(i, b): (usize, &Baseline)| {
            let each = || self.0.iter().filter_map(move |figure| figure.baselines.get(i));
            let value = median(each().map(|b| b.value))?;
            Some(Baseline { name: b.name.clone(), value, ratio: median(each().filter_map(|b| b.ratio)) })
        };
        let baselines = first.baselines.iter().enumerate().filter_map(baseline).collect();
        Some(Figure { ours: median(self.values())?, baselines, ..first.clone() })
    }

    fn values(&self) -> impl Iterator<Item = f64> {
        self.0.iter().map(|figure| figure.ours)
    }

    fn least_and_most(&self) -> (f64, f64) {
        (self.values().fold(f64::INFINITY, f64::min), self.values().fold(f64::NEG_INFINITY, f64::max))
    }

    fn is_noisy(&self) -> bool {
        let (least, most) = self.least_and_most();
        self.middle().is_some_and(|middle| most - least > NOISY * middle.ours)
    }
}

/// The results of one benchmark, run several times.
pub fn section(runs: &[Report]) -> String {
    let Some(first) = runs.first() else { return String::new() };
    let mut page = format!("## {}\n\n", first.bench);
    let loads: Vec<String> = runs.iter().map(|run| format!("{:.1}", run.machine.load_before)).collect();
    let _ = writeln!(page, "Load before each run: {}.\n", loads.join(", "));
    let _ = writeln!(page, "| at | figure | ours | runs | beside (ours as a multiple) | goals |");
    let _ = writeln!(page, "|---|---|---|---|---|---|");
    let mut noisy = Vec::new();
    for figure in &first.figures {
        let same = |run: &&Figure| (&run.at, &run.name) == (&figure.at, &figure.name);
        let same = Runs(runs.iter().filter_map(|run| run.figures.iter().find(same)).collect());
        let Some(middle) = same.middle() else { continue };
        let (least, most) = same.least_and_most();
        let beside = middle.baselines.iter().map(|b| {
            let ratio = b.ratio.map_or(String::new(), |ratio| format!(" ({}×)", round(ratio)));
            format!("{} {}{ratio}", b.name, round(b.value))
        });
        let beside = beside.collect::<Vec<_>>().join("<br>");
        let goals = goals(&middle.goals, &middle);
        let (at, name, unit) = (&middle.at, &middle.name, &middle.unit);
        let (ours, least, most) = (round(middle.ours), round(least), round(most));
        let _ = writeln!(page, "| {at} | {name} | {ours} {unit} | {least} to {most} | {beside} | {goals} |");
        if same.is_noisy() {
            noisy.push(format!("{at}: {name}"));
        }
    }
    let noisy = if noisy.is_empty() { "nothing".into() } else { noisy.join("; ") };
    let _ = writeln!(page, "\nNoisy (the runs lie further apart than half their middle): {noisy}.");
    page
}

fn goals(goals: &[Goal], figure: &Figure) -> String {
    let each = goals.iter().map(|goal| match goal.is_met(figure) {
        Some(false) => format!("**{}: missed**", goal.words()),
        Some(true) => format!("{}: met", goal.words()),
        None => format!("{}: not measured", goal.words()),
    });
    each.collect::<Vec<_>>().join("<br>")
}

/// What ran, in which versions: the lock file's own words for the crates that matter here.
pub fn versions(lock: &str, names: &[&str]) -> String {
    let mut found = Vec::new();
    for package in lock.split("[[package]]") {
        let value = |key: &str| {
            let line = package.lines().find_map(|line| line.strip_prefix(key)?.strip_prefix(" = "))?;
            Some(line.trim_matches('"'))
        };
        if let (Some(name), Some(version)) = (value("name"), value("version"))
            && names.contains(&name)
        {
            found.push(format!("{name} {version}"));
        }
    }
    found.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_shows_medians_ranges_goals_and_noise() {
        let run = |ours: f64, bare: f64| {
            let figure = Figure::new("10 seats", "ring, p99", "ms", ours).beside("bare", bare);
            let steady = Figure::new("10 seats", "memory", "kB", 40.0).at_most(39.0);
            let figures = vec![figure.at_most(2.0).at_most_times(2.0, "bare"), steady];
            let mut report = Report::new("cue");
            report.machine.load_before = 0.5;
            Report { figures, ..report }
        };
        let page = section(&[run(1.0, 1.0), run(3.0, 1.0), run(1.5, 0.5)]);
        assert_eq!(
            page,
            "## cue

Load before each run: 0.5, 0.5, 0.5.

| at | figure | ours | runs | beside (ours as a multiple) | goals |
|---|---|---|---|---|---|
| 10 seats | ring, p99 | 1.50 ms | 1.00 to 3.00 | bare 1.00 (3.00×) | ≤ 2.00: met<br>**≤ 2.00× bare: missed** |
| 10 seats | memory | 40.0 kB | 40.0 to 40.0 |  | **≤ 39.0: missed** |

Noisy (the runs lie further apart than half their middle): 10 seats: ring, p99.
"
        );
    }

    #[test]
    fn versions_come_from_the_lock_file() {
        let lock = "[[package]]\nname = \"tokio\"\nversion = \"1.2.3\"\n\n[[package]]\nname = \"toml\"\nversion = \"1.0.0\"\n";
        assert_eq!(versions(lock, &["tokio"]), "tokio 1.2.3");
    }
}
