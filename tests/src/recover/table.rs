//! What came out, row by row.

use super::hill::{Hill, steps};
use super::run::{Crowd, Held, habits};
use super::{Way, asked, classes};
use crate::calibrate::dice::Dice;
use summary::spot::Spots;
use summary::spot::answer::AnswerKind;
use summary::spot::fitted::{Assumed, USUAL};
use summary::spot::next::next;
use summary::spot::region::Alike;
use summary::spot::votes::WithLiking;

/// How many classes, ways in each, tasters.
pub const SIZE: (usize, usize, usize) = (5, 6, 8);

/// What came out of the runs of one kind.
#[derive(Clone, Debug, Default)]
pub struct Row {
    /// What was drawn.
    pub what: String,
    /// The points that the way named loses to the best, run by run.
    pub lost: Vec<f64>,
    /// The points that the way with the highest plain mean loses.
    pub served: Vec<f64>,
    /// Of how many the true best lies within what was tasted, and of how many of these the region holds it.
    pub covered: (usize, usize),
    /// How often a best inside was named.
    pub inside: usize,
    /// How often it was said to go on.
    pub go_on: usize,
    /// How often nothing was shown to change the liking.
    pub nothing: usize,
    /// How often with the right factor and direction.
    pub right_way: usize,
    /// How often two groups of tasters were seen.
    pub parted: usize,
    /// What each group's best loses in the middle of both groups, and what the way named for all loses to them, where two were seen.
    pub in_groups: Vec<(f64, f64)>,
    /// How often the votes on strength were joined with the liking, and how often they were told to ask for something else.
    pub joined: usize,
    pub against: usize,
    /// What was said of the first run.
    pub shown: Option<String>,
}

impl Row {
    /// The mean loss, points.
    pub fn mean(&self) -> f64 {
        self.lost.iter().sum::<f64>() / self.lost.len().max(1) as f64
    }

    /// The share of runs in which the region holds the best.
    pub fn coverage(&self) -> f64 {
        self.covered.1 as f64 / self.covered.0.max(1) as f64
    }

    /// One line of the table.
    pub fn line(&self) -> String {
        let mut lost = self.lost.clone();
        lost.sort_by(f64::total_cmp);
        let n = lost.len().max(1);
        let share = |n_of: usize| 100.0 * n_of as f64 / n as f64;
        let mean = |of: fn(&(f64, f64)) -> f64| {
            self.in_groups.iter().map(of).sum::<f64>() / self.in_groups.len() as f64
        };
        let groups = match self.in_groups.is_empty() {
            true => String::new(),
            false => {
                format!("  {:.2} in their groups, {:.2} together", mean(|pair| pair.0), mean(|pair| pair.1))
            }
        };
        let votes = match self.joined + self.against {
            0 => String::new(),
            _ => format!("  votes joined {:.0}, against {:.0}", share(self.joined), share(self.against)),
        };
        format!(
            "{:<44} {:>5.2} {:>5.2} {:>5.2} {:>6.2}  {:>5.1}  {:>5.0} {:>5.0} {:>5.0} {:>7.0} {:>6.1}{}{votes}",
            self.what,
            self.mean(),
            lost.get(n / 2).copied().unwrap_or(0.0),
            lost.get(n * 9 / 10).copied().unwrap_or(0.0),
            self.served.iter().sum::<f64>() / n as f64,
            100.0 * self.coverage(),
            share(self.inside),
            share(self.go_on),
            share(self.right_way),
            share(self.nothing),
            share(self.parted),
            groups,
        )
    }

    /// Takes what `spot` said of a hill.
    pub fn take(&mut self, hill: &Hill, spots: &Spots) {
        let Some(spot) = spots.leaves.first() else { return };
        self.shown.get_or_insert_with(|| report::text::spot::within(spots, 100, true));
        if let Some(best) = &spot.answer.best {
            self.lost.push(hill.lost(&best.place()));
        }
        let mean = |way: &&summary::spot::rows::Tasted| way.mean.unwrap_or(f64::NEG_INFINITY);
        let highest = spot.ways.iter().max_by(|a, b| mean(a).total_cmp(&mean(b)));
        self.served.extend(highest.map(|way| hill.lost(&way.place)));
        self.parted += usize::from(spot.groups.is_some());
        let with = spot.votes.as_ref().map(|votes| votes.with_liking);
        self.joined += usize::from(with == Some(WithLiking::Joined));
        self.against += usize::from(matches!(with, Some(WithLiking::Stronger | WithLiking::Lighter)));
        self.inside += usize::from(matches!(spot.answer.kind, AnswerKind::Top | AnswerKind::Ridge));
        self.go_on += usize::from(spot.answer.kind == AnswerKind::GoOn);
        self.nothing += usize::from(spot.answer.kind == AnswerKind::NothingChanges);
        let Some(fitted) = &spot.behind.fitted else { return };
        let top = spot.behind.coding.code(&hill.top);
        if fitted.tried.holds(&top) {
            let best = spot.answer.at.clone().unwrap_or_default();
            let holds = Alike::about(fitted, &best, fitted.at_edge()).is_ok_and(|alike| alike.holds(&top));
            self.covered = (self.covered.0 + 1, self.covered.1 + usize::from(holds));
        } else {
            let right = |go: &summary::spot::answer::GoOn| {
                let at = spot.behind.coding.factors.iter().position(|factor| factor.what == go.what);
                at.is_some_and(|at| {
                    if go.more { top[at] > fitted.tried.high[at] } else { top[at] < fitted.tried.low[at] }
                })
            };
            self.right_way += usize::from(spot.answer.go_on.iter().any(right));
        }
    }
}

/// The head of the table.
pub fn head() -> String {
    format!(
        "{:<44} {:>5} {:>5} {:>5} {:>6}  {:>5}  {:>5} {:>5} {:>5} {:>7} {:>6}",
        "points lost at the way named",
        "mean",
        "half",
        "9/10",
        "served",
        "cover",
        "top",
        "go on",
        "right",
        "nothing",
        "groups"
    )
}

/// Five classes of people's habits and such tasters.
pub fn crowd(what: &str, size: (usize, usize, usize), crowd: Crowd, runs: u64, seed: u64) -> Row {
    let mut row = Row { what: format!("{what}, {} classes", size.0), ..Row::default() };
    for run in 0..runs {
        let mut dice = Dice::new(seed + run);
        let hill = Hill::drawn(usual_top(&mut dice), &mut dice);
        let ways = by_habit(size, &mut dice);
        let found = asked(&classes(&hill, &ways, crowd, &mut dice), Some(USUAL));
        row.take(&hill, &found);
        let Some(spot) = found.leaves.first() else { continue };
        if let (Some(parted), Some(best)) = (&spot.groups, &spot.answer.best) {
            let hills = hill.apart(crowd.apart);
            let own = |turned: usize| -> f64 {
                let lost = |n: usize| hills[(n + turned) % 2].lost(&parted.groups[n].best.place());
                (lost(0) + lost(1)) / 2.0
            };
            let together = (hills[0].lost(&best.place()) + hills[1].lost(&best.place())) / 2.0;
            row.in_groups.push((own(0).min(own(1)), together));
        }
    }
    row
}

/// People's own habits, all of which are liked the same: whatever is named best is a guess, and a direction is a false one.
pub fn flat(size: (usize, usize, usize), wayward: f64, runs: u64, seed: u64) -> Row {
    let moved = if wayward > 0.0 { ", wayward" } else { "" };
    let mut row = Row {
        what: format!("all liked the same{moved}, {} classes of {} ways", size.0, size.1),
        ..Row::default()
    };
    for run in 0..runs {
        let mut dice = Dice::new(seed + run);
        let crowd = Crowd { wayward, ..Crowd::of(size.2) };
        let held = classes(&Hill::flat(), &by_habit(size, &mut dice), crowd, &mut dice);
        row.take(&Hill::flat(), &asked(&held, Some(USUAL)));
    }
    row
}

/// A best way as people's habits surround it.
fn usual_top(dice: &mut Dice) -> [f64; 3] {
    [4.0_f64.ln() + dice.normal(0.25), dice.between(78.0, 92.0), 60.0_f64.ln() + dice.normal(0.25)]
}

/// So many ways by habit in each of so many classes.
fn by_habit((classes, ways, _): (usize, usize, usize), dice: &mut Dice) -> Vec<Vec<Way>> {
    (0..classes).map(|_| habits(ways, dice)).collect()
}

/// People's own habits, whatever class they sit in.
pub fn habit(size: (usize, usize, usize), assumed: Option<Assumed>, runs: u64, seed: u64) -> Row {
    let plain = if assumed.is_some() { "" } else { ", nothing assumed" };
    let mut row =
        Row { what: format!("habits, {} classes of {} ways{plain}", size.0, size.1), ..Row::default() };
    for run in 0..runs {
        let mut dice = Dice::new(seed + run);
        let hill = Hill::drawn(usual_top(&mut dice), &mut dice);
        let held: Vec<Held> = classes(&hill, &by_habit(size, &mut dice), Crowd::of(size.2), &mut dice);
        row.take(&hill, &asked(&held, assumed));
    }
    row
}

/// A first class about 4 g, 85 °C and a minute: the middle, four of the corners a step off, and a longer steep.
fn first_class() -> Vec<Way> {
    let corners = [[0, 0, 0], [1, 1, 1], [1, -1, -1], [-1, 1, -1], [-1, -1, 1], [0, 0, 1]];
    let way = |corner: [i32; 3]| {
        let [dose, temp_c, time] = corner.map(f64::from);
        (4.0 * 1.5_f64.powf(dose), 85.0 + 10.0 * temp_c, (60.0 * 1.5_f64.powf(time)).round() as u32)
    };
    corners.map(way).to_vec()
}

/// Classes of which each is what `spot --next` makes of those before; the best where `top` has it, else as habits surround it.
pub fn sequence(
    classes: usize,
    top: Option<[f64; 3]>,
    assumed: Option<Assumed>,
    crowd: Crowd,
    runs: u64,
    seed: u64,
) -> Row {
    let off = if top.is_some() { ", off the centre" } else { "" };
    let moved = if crowd.wayward > 0.0 { ", wayward" } else { "" };
    let mut row =
        Row { what: format!("{classes} classes, each chosen by the last{off}{moved}"), ..Row::default() };
    for run in 0..runs {
        let mut dice = Dice::new(seed + run);
        let top = top.unwrap_or_else(|| usual_top(&mut dice));
        let hill = Hill::drawn(top, &mut dice);
        let mut held: Vec<Held> = Vec::new();
        let mut ways = first_class();
        loop {
            held.push(super::run::held(&hill, held.len(), &ways, crowd, &mut dice));
            let found = asked(&held, assumed);
            if held.len() == classes {
                row.take(&hill, &found);
                break;
            }
            let last = &held[held.len() - 1].0.class;
            let next = next(&found.leaves[0], found.scale(), last, Some(SIZE.1))
                .unwrap_or_else(|why| panic!("{why}"));
            ways = next.class.teas.iter().map(|tea| (tea.leaf_g, tea.temp_c[0], tea.steep_s[0])).collect();
        }
    }
    row
}

/// The same where the best lies so many steps outside what was tasted, in one factor.
pub fn outside(
    size: (usize, usize, usize),
    beyond: f64,
    assumed: Option<Assumed>,
    runs: u64,
    seed: u64,
) -> Row {
    let mut row = Row { what: format!("habits, the best {beyond} steps outside"), ..Row::default() };
    for run in 0..runs {
        let mut dice = Dice::new(seed + run);
        let ways = by_habit(size, &mut dice);
        let mut top = usual_top(&mut dice);
        // Water gets no hotter than it boils: only cooler lies outside.
        let factor = dice.one_of(3);
        let more = factor != 1 && dice.yes(0.5);
        let values = ways.iter().flatten().map(|way| super::hill::place(*way)[factor]);
        let edge = if more {
            values.fold(f64::NEG_INFINITY, f64::max)
        } else {
            values.fold(f64::INFINITY, f64::min)
        };
        top[factor] = edge + if more { beyond } else { -beyond } * steps()[factor];
        let hill = Hill::drawn(top, &mut dice);
        let held: Vec<Held> = classes(&hill, &ways, Crowd::of(size.2), &mut dice);
        row.take(&hill, &asked(&held, assumed));
    }
    row
}
