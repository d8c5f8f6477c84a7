//! One tea as a ladder, a rung for each steep: its seconds as served, the strength votes, the liking.

use crate::home::Rung as Served;
use crate::page::axis::Axis;
use crate::page::canvas::{Drawing, Pen, Side, WIDTH, fitted, width_of};
use crate::page::facts::{Facts, Figure, Pictured, mean_words};
use crate::page::how::How;
use crate::page::look::Ink;
use crate::words::{capital, label};
use protocol::say::many;
use stats::Interval;
use stats::penalty::Hint;
use summary::TeaLine;
use summary::find::strength::StrengthCup;
use summary::recipe::Turn;

const ROW: f64 = 26.0;
const HEAD: f64 = 22.0;
const GAP: f64 = 14.0;
/// Room for what to do next time.
const NEXT: f64 = 60.0;
const NAMES: [&str; 5] = ["much too thin", "too thin", "just right", "too strong", "much too strong"];

/// What the ladders of all teas share, so that they can be compared.
pub struct Shared<'a> {
    /// The attribute at the right, and its scale.
    liking: Option<(&'a str, (f64, f64))>,
    /// Votes at most to the left and to the right of the middle of just right, if any were cast.
    votes: Option<(f64, f64)>,
    /// Room for the longest time.
    times: f64,
    /// Room for what to do next time, where that is told of any cup.
    next: f64,
}

impl<'a> Shared<'a> {
    pub fn of(facts: &Facts<'a>, liking: Option<(&'a str, (f64, f64))>) -> Self {
        let cups = facts.found().figures.strength.iter().flat_map(|strength| &strength.cups);
        let far = cups.filter(|cup| cup.n > 0).map(|cup| (to_left(cup), to_right(cup)));
        let votes = far.reduce(|a, b| (a.0.max(b.0), a.1.max(b.1)));
        let cups = facts.found().figures.strength.iter().flat_map(|strength| &strength.cups);
        let next = if cups.into_iter().any(|cup| next(cup).is_some()) { NEXT } else { 0.0 };
        let times = facts.teas().flat_map(|(_, tea)| times(tea)).map(|(_, time)| width_of(&time));
        let times = times.fold(0.0, f64::max);
        Self { liking, times, next, votes: votes.map(|(left, right)| (left.max(0.5), right.max(0.5))) }
    }
}

fn to_left(cup: &StrengthCup) -> f64 {
    (cup.counts[0] + cup.counts[1]) as f64 + cup.counts[2] as f64 / 2.0
}

fn to_right(cup: &StrengthCup) -> f64 {
    (cup.counts[3] + cup.counts[4]) as f64 + cup.counts[2] as f64 / 2.0
}

/// One steep.
struct Rung<'a> {
    /// Its number, in brackets where it was done again.
    number: String,
    called: String,
    time: String,
    votes: Option<&'a StrengthCup>,
    /// Whether the votes say no more than those on the tea.
    as_its_tea: bool,
    liking: Option<(f64, Option<Interval>)>,
}

pub fn ladder(facts: &Facts<'_>, shared: &Shared<'_>, tea: &TeaLine) -> Pictured {
    if tea.steeps.is_empty() {
        return Err("It was not served.".into());
    }
    let rungs: Vec<Rung<'_>> = tea.steeps.iter().map(|cup| rung(facts, shared, tea, cup.steep)).collect();
    if rungs.iter().all(|rung| rung.votes.is_none() && rung.liking.is_none()) {
        return Err("Nobody has scored it.".into());
    }
    Ok(Figure {
        title: format!("{}, steep by steep", label(tea)),
        described: described(shared, &rungs),
        caption: if rungs.iter().any(|rung| rung.number.starts_with('(')) {
            "In brackets: a steep that was done again.".into()
        } else {
            String::new()
        },
        evidence: String::new(),
        how: How::Ladder {
            liking: shared.liking.map(|(name, _)| name.into()),
            votes: shared.votes.is_some(),
        },
        drawing: drawn(shared, &rungs),
    })
}

fn rung<'a>(facts: &Facts<'a>, shared: &Shared<'_>, tea: &TeaLine, steep: u32) -> Rung<'a> {
    let figures = &facts.found().figures;
    let cups = figures.strength.iter().flat_map(|strength| &strength.cups);
    let curve = shared.liking.and_then(|(name, _)| {
        figures.curves.iter().find(|curve| curve.attribute == name && curve.tea == tea.code)
    });
    let point = curve.and_then(|curve| curve.steeps.iter().find(|point| point.steep == steep));
    let turn = tea.course.iter().find(|turn| turn.round == steep);
    let number = turn.map_or(steep, |turn| turn.steep).to_string();
    let again = turn.is_some_and(|turn| turn.again);
    let votes = cups.into_iter().find(|cup| cup.tea == tea.code && cup.steep == steep && cup.n > 0);
    let as_its_tea = votes.zip(figures.strength.as_ref()).is_some_and(|(cup, of)| of.goes_with_its_tea(cup));
    Rung {
        number: if again { format!("({number})") } else { number },
        called: turn.map_or(format!("steep {steep}"), Turn::called),
        time: times(tea).into_iter().find(|(of, _)| *of == steep).map_or(String::new(), |(_, time)| time),
        votes,
        as_its_tea,
        liking: point.and_then(|point| Some((point.mean?, point.interval.get().copied()))),
    }
}

/// The time of each cup by its round, "45 s", and the water where it is not the same for all of them.
fn times(tea: &TeaLine) -> Vec<(u32, String)> {
    let in_cup = |turn: &&Turn| tea.steeps.iter().any(|cup| cup.steep == turn.round);
    let cups = tea.course.iter().filter(in_cup);
    let cups: Vec<(u32, Served)> = cups.filter_map(|turn| Some((turn.round, Served::of(turn)?))).collect();
    let same = cups.windows(2).all(|two| two[0].1.temp_c == two[1].1.temp_c);
    let time =
        |rung: &Served| if same { rung.time() } else { format!("{}, {} °C", rung.time(), rung.temp_c) };
    cups.iter().map(|(round, rung)| (*round, time(rung))).collect()
}

fn drawn(shared: &Shared<'_>, rungs: &[Rung<'_>]) -> Drawing {
    let left = 20.0 + shared.times + GAP;
    let middle = if shared.votes.is_some() { left + (WIDTH - left) * 0.64 } else { left };
    let bottom = HEAD + rungs.len() as f64 * ROW;
    let height = bottom + if shared.liking.is_some() { 24.0 } else { 4.0 };
    let row = |i: usize| HEAD + (i as f64 + 0.5) * ROW;
    Drawing::of(height, |pen| {
        pen.text("steep", (2.0, 9.0), Side::Right, Ink::Grey);
        if let Some((name, ends)) = shared.liking {
            let right = if shared.votes.is_some() { WIDTH - 8.0 } else { WIDTH - 12.0 };
            let axis = Axis::new(ends, (middle + 6.0, right));
            axis.across(pen, HEAD - 4.0, bottom, if shared.votes.is_some() { 4 } else { 10 });
            pen.text(&fitted(name, right - middle), (right, 9.0), Side::Left, Ink::Grey);
            liked(pen, &axis, rungs, row);
        }
        if let Some((far_left, far_right)) = shared.votes {
            let axis = Axis::new((-far_left, far_right), (left, middle - shared.next - GAP));
            let zero = axis.place(0.0);
            pen.text("thin", (left, 9.0), Side::Right, Ink::Grey);
            pen.text("strong", (middle - shared.next - GAP, 9.0), Side::Left, Ink::Grey);
            pen.line(&[(zero, HEAD - 2.0), (zero, bottom)], Ink::Grey, 1.0);
            for (i, rung) in rungs.iter().enumerate() {
                rung.votes
                    .into_iter()
                    .for_each(|cup| bar(pen, cup, &axis, (middle - shared.next - GAP + 4.0, row(i))));
            }
        }
        for (i, rung) in rungs.iter().enumerate() {
            pen.bold(&rung.number, (2.0, row(i)), Side::Right, Ink::Black);
            pen.text(&rung.time, (20.0, row(i)), Side::Right, Ink::Black);
        }
    })
}

/// The means of the class, one for each rung that somebody scored, joined from rung to rung.
fn liked(pen: &mut Pen, axis: &Axis, rungs: &[Rung<'_>], row: impl Fn(usize) -> f64) {
    let scored: Vec<(usize, f64, Option<Interval>)> = rungs
        .iter()
        .enumerate()
        .filter_map(|(i, rung)| rung.liking.map(|(mean, around)| (i, mean, around)))
        .collect();
    for pair in scored.windows(2).filter(|pair| pair[0].0 + 1 == pair[1].0) {
        let ends: Vec<(f64, f64)> = pair.iter().map(|(i, mean, _)| (axis.place(*mean), row(*i))).collect();
        pen.line(&ends, Ink::Grey, 1.2);
    }
    for (i, mean, around) in scored {
        let (x, y) = (axis.place(mean), row(i));
        around.into_iter().for_each(|interval| axis.interval_across(pen, interval, y, Ink::Black));
        pen.area(&[(x, y - 5.0), (x + 5.0, y), (x, y + 5.0), (x - 5.0, y)], Ink::Black);
    }
}

/// The votes on one cup, set around the middle of just right, and what to do next time.
fn bar(pen: &mut Pen, cup: &StrengthCup, axis: &Axis, (x, y): (f64, f64)) {
    let mut from = -to_left(cup);
    for (vote, &count) in cup.counts.iter().enumerate().filter(|(_, count)| **count > 0) {
        let to = from + count as f64;
        let (left, right) = (axis.place(from), axis.place(to));
        pen.bar((left, y - 8.5), (right, y + 8.5), Ink::Vote(vote));
        pen.frame((left, y - 8.5), (right, y + 8.5), Ink::Paper);
        if right - left > width_of(&count.to_string()) + 2.0 {
            let ink = if vote == 0 || vote == 4 { Ink::Paper } else { Ink::Black };
            pen.text(&count.to_string(), ((left + right) / 2.0, y), Side::Middle, ink);
        }
        from = to;
    }
    if cup.counts[2] > 0 {
        let half = cup.counts[2] as f64 / 2.0;
        pen.frame((axis.place(-half), y - 8.5), (axis.place(half), y + 8.5), Ink::Grey);
    }
    if let Some(word) = next(cup) {
        pen.bold(word, (x, y), Side::Right, Ink::Black);
    }
}

/// What to do next time, where the votes on a cup show it once all cups are looked at.
fn next(cup: &StrengthCup) -> Option<&'static str> {
    match cup.shown()? {
        Hint::Lengthen => Some("longer"),
        Hint::Shorten => Some("shorter"),
        Hint::Leave => Some("as it is"),
        Hint::TooFewToTell => None,
    }
}

fn described(shared: &Shared<'_>, rungs: &[Rung<'_>]) -> String {
    let one = |rung: &Rung<'_>| {
        let time = if rung.time.is_empty() { String::new() } else { format!(" ({})", rung.time) };
        let liking = shared.liking.zip(rung.liking);
        let liking =
            liking.map(|((name, _), (mean, around))| format!("{name} {}", mean_words(mean, around.as_ref())));
        let votes = rung.votes.map(|cup| {
            let votes = cup.counts.iter().zip(NAMES).filter(|(n, _)| **n > 0);
            let votes: Vec<String> = votes.map(|(n, name)| format!("{n} {name}")).collect();
            let next = match next(cup) {
                Some(word) => format!("next time {word}"),
                None if rung.as_its_tea => "next time as its tea".into(),
                None => "can't tell what to do next time".into(),
            };
            format!("of {} {}; {next}", many(cup.n, "vote"), votes.join(", "))
        });
        let said: Vec<String> = liking.into_iter().chain(votes).collect();
        let said = if said.is_empty() { "nobody has scored it".into() } else { said.join("; ") };
        format!("{}{time}: {said}.", capital(&rung.called))
    };
    rungs.iter().map(one).collect::<Vec<_>>().join(" ")
}
