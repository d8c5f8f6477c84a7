//! A round's work as a picture: hands, teas and kettles as lanes over the clock. What a shape is, its form says; what it is
//! for, the code or the words above it.

use crate::page::canvas::{Drawing, Pen, Side, TEXT, WIDTH, fitted, width_of};
use crate::page::look::{Dash, Ink};
use crate::plan::text::clock;
use crate::plan::text::round::at_kettles;
use class::setting::Kettle;
use maud::{Markup, html};
use plan::document::Plan;
use plan::kettles::{Deed, KettleStep};
use plan::placed::RoundDocument;

/// Where the names of the lanes end and the time begins.
const LEFT: f64 = 80.0;
const RIGHT: f64 = WIDTH - 4.0;
/// The height of a shape.
const SHAPE: f64 = 10.0;
const GAP: f64 = 8.0;
/// How many words may stand above one another.
const LEVELS: usize = 3;
/// Seconds between two marks of the clock.
const STEPS_S: [u32; 9] = [5, 10, 15, 30, 60, 120, 300, 600, 1800];

/// What is drawn from one instant to another, counted in seconds from the first cue of the class.
struct Block {
    from_s: f64,
    to_s: f64,
    shape: Shape,
    words: String,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Shape {
    /// Black.
    Pour,
    /// A frame.
    Decant,
    /// A line.
    Steep,
    /// A frame with a cross in it.
    Fill,
    /// A broken line.
    Heat,
}

/// Blocks of one kind of hands, tea or kettle.
struct Lane {
    name: String,
    blocks: Vec<Block>,
}

/// The picture with its caption.
pub(super) fn figure(plan: &Plan, round: &RoundDocument, kettles: &[Kettle]) -> Markup {
    let lanes = lanes(plan, round, kettles);
    let drawing = draw(plan, round, &lanes);
    let number = round.plan.round;
    let title = format!("Whose hands do what in round {number}");
    // The picture begins with the round.
    let in_it = |step: &&KettleStep| step.at_s >= i64::from(round.begins_s);
    let fills = at_kettles(plan, round).filter(in_it).any(|step| filled(step, kettles).is_some());
    let before = at_kettles(plan, round).any(|step| !in_it(&step));
    html! {
        figure {
            svg viewBox=(drawing.view_box()) role="img" aria-label=(title) { "\n" (drawing.body) }
            figcaption class="small" {
                "Black: pour. Line: steep, from lid on. Frame: decant."
                @if fills { " Crossed frame: a kettle is filled." }
                @if !kettles.is_empty() { " Dashes: a kettle heats or cools." }
                " The table has every instant"
                @if before { ", also of what is done at the kettles before the round" }
                "."
            }
        }
    }
}

fn lanes(plan: &Plan, round: &RoundDocument, kettles: &[Kettle]) -> Vec<Lane> {
    let begins = f64::from(round.begins_s);
    let block = |from: u32, length: u32, shape, words: String| {
        let from_s = begins + f64::from(from);
        Block { from_s, to_s: from_s + f64::from(length), shape, words }
    };
    let cups = &round.plan.cups;
    let most = cups.iter().map(|c| c.pour_hands.max(c.decant_hands)).max().unwrap_or(1);
    let hands = (1..=most).map(|hand| {
        let pours = cups.iter().filter(|c| c.pour_hands == hand);
        let pours = pours.map(|c| block(c.pour_at_s, c.pour_s, Shape::Pour, c.code.to_string()));
        let decants = cups.iter().filter(|c| c.decant_hands == hand);
        let decants = decants.map(|c| block(c.decant_at_s, c.decant_s, Shape::Decant, c.code.to_string()));
        let fills = at_kettles(plan, round).filter(|step| step.hands == Some(hand));
        let fills = fills.filter_map(|step| filled(step, kettles));
        Lane { name: format!("hands {hand}"), blocks: pours.chain(decants).chain(fills).collect() }
    });
    let teas = cups.iter().map(|c| {
        let lid = c.pour_at_s + c.pour_s;
        let blocks = vec![
            block(c.pour_at_s, c.pour_s, Shape::Pour, String::new()),
            block(lid, c.steep_s, Shape::Steep, format!("{} s", c.steep_s)),
            block(c.decant_at_s, c.decant_s, Shape::Decant, String::new()),
        ];
        Lane { name: c.code.to_string(), blocks }
    });
    let at_kettles = kettles.iter().enumerate().map(|(k, kettle)| {
        let steps = plan.kettles.iter().filter(|s| s.kettle == k + 1 && s.round == round.plan.round);
        Lane { name: kettle.name.clone(), blocks: steps.flat_map(|s| of_kettle(s, round, kettles)).collect() }
    });
    let all = hands.chain(teas).chain(at_kettles);
    all.filter(|lane| !lane.blocks.is_empty()).collect()
}

/// The hands' work of filling a kettle; `None` for other deeds.
fn filled(step: &KettleStep, kettles: &[Kettle]) -> Option<Block> {
    let words = match step.deed {
        Deed::SwitchOn { .. } | Deed::Afresh { .. } => "fill".to_string(),
        Deed::Refill { ml, .. } => format!("fill {ml:.0} ml"),
        Deed::Set { .. } | Deed::Draw { .. } => return None,
    };
    let fill_s = kettles.get(step.kettle - 1).map_or(0, |kettle| kettle.fill_s);
    let from_s = step.at_s as f64;
    Some(Block { from_s, to_s: from_s + f64::from(fill_s.max(1)), shape: Shape::Fill, words })
}

fn of_kettle(step: &KettleStep, round: &RoundDocument, kettles: &[Kettle]) -> Vec<Block> {
    let (from_s, fill) = (step.at_s as f64, filled(step, kettles));
    match step.deed {
        Deed::Draw { code, .. } => {
            let pour = round.plan.cups.iter().find(|c| c.code == code);
            let to_s = from_s + f64::from(pour.map_or(1, |c| c.pour_s));
            vec![Block { from_s, to_s, shape: Shape::Pour, words: code.to_string() }]
        }
        Deed::Set { set_c, takes_s, .. }
        | Deed::SwitchOn { set_c, takes_s, .. }
        | Deed::Afresh { set_c, takes_s, .. }
        | Deed::Refill { set_c, takes_s, .. } => {
            let from_s = fill.as_ref().map_or(from_s, |fill| fill.to_s);
            let (to_s, words) = (from_s + f64::from(takes_s), format!("{set_c} °C"));
            fill.into_iter().chain([Block { from_s, to_s, shape: Shape::Heat, words }]).collect()
        }
    }
}

fn draw(plan: &Plan, round: &RoundDocument, lanes: &[Lane]) -> Drawing {
    let (from_s, to_s) = (f64::from(round.begins_s), f64::from(round.tastes_s.max(round.begins_s + 1)));
    let x = |s: f64| LEFT + (RIGHT - LEFT) * ((s - from_s) / (to_s - from_s)).clamp(0.0, 1.0);
    // What lies before the round is in the list of the kettles.
    let seen = |block: &&Block| block.to_s > from_s && block.from_s < to_s;
    let heights: Vec<f64> = lanes.iter().map(|lane| height(lane, x)).collect();
    let axis = heights.iter().sum::<f64>() + 4.0;
    Drawing::of(axis + TEXT + 6.0, |pen| {
        // The first mark begins at its place, the others have theirs in the middle.
        let widest = width_of(&clock(plan, to_s as i64)) * 1.5 + 8.0;
        let step = STEPS_S.into_iter().find(|s| x(from_s + f64::from(*s)) - LEFT >= widest).unwrap_or(3600);
        for tick in (0..).map(|i| i * step).take_while(|s| f64::from(*s) <= to_s - from_s) {
            let (at, instant) = (x(from_s + f64::from(tick)), i64::from(round.begins_s + tick));
            pen.line(&[(at, 0.0), (at, axis)], Ink::Faint, 1.0);
            let side = if tick == 0 { Side::Right } else { Side::Middle };
            let words = clock(plan, instant);
            if at + width_of(&words) / 2.0 <= WIDTH {
                pen.text(&words, (at, axis + TEXT / 2.0 + 3.0), side, Ink::Grey);
            }
        }
        let mut top = 0.0;
        for (lane, height) in lanes.iter().zip(&heights) {
            let middle = top + height - GAP / 2.0 - SHAPE / 2.0;
            pen.text(&fitted(&lane.name, LEFT - 8.0), (LEFT - 6.0, middle), Side::Left, Ink::Black);
            for block in lane.blocks.iter().filter(seen) {
                shape(pen, block.shape, (x(block.from_s), x(block.to_s)), middle);
            }
            for (words, at, level) in words(lane, x) {
                let y = middle - SHAPE / 2.0 - TEXT / 2.0 - 1.0 - level as f64 * TEXT;
                pen.text(&words, (at, y), Side::Middle, Ink::Black);
            }
            top += height;
        }
    })
}

fn shape(pen: &mut Pen, shape: Shape, (left, right): (f64, f64), middle: f64) {
    let (top, bottom) = (middle - SHAPE / 2.0, middle + SHAPE / 2.0);
    let right = right.max(left + 2.0);
    match shape {
        // A hair of paper parts one from the next.
        Shape::Pour => pen.bar((left, top), (right - 0.8, bottom), Ink::Black),
        Shape::Steep => pen.line(&[(left, middle), (right, middle)], Ink::Black, 2.0),
        Shape::Heat => pen.dashed(&[(left, middle), (right, middle)], Ink::Black, 1.5, Dash::of(2)),
        Shape::Decant | Shape::Fill => {
            pen.bar((left, top), (right, bottom), Ink::Paper);
            pen.frame((left, top), (right, bottom), Ink::Black);
            if shape == Shape::Fill {
                pen.line(&[(left, top), (right, bottom)], Ink::Black, 1.0);
                pen.line(&[(left, bottom), (right, top)], Ink::Black, 1.0);
            }
        }
    }
}

/// A lane's words, where their middle stands and how far up; words without room are left out.
fn words(lane: &Lane, x: impl Fn(f64) -> f64) -> Vec<(String, f64, usize)> {
    let mut blocks: Vec<&Block> = lane.blocks.iter().filter(|block| !block.words.is_empty()).collect();
    blocks.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
    let mut ends = [f64::MIN; LEVELS];
    let mut placed = Vec::new();
    for block in blocks {
        let half = width_of(&block.words) / 2.0;
        let (from, to) = (x(block.from_s), x(block.to_s));
        if to <= LEFT || from >= RIGHT {
            continue;
        }
        let at = ((from + to) / 2.0).clamp(LEFT + half, RIGHT - half);
        if let Some(level) = (0..LEVELS).find(|level| ends[*level] + 3.0 <= at - half) {
            ends[level] = at + half;
            placed.push((block.words.clone(), at, level));
        }
    }
    placed
}

/// How high a lane is with its words.
fn height(lane: &Lane, x: impl Fn(f64) -> f64) -> f64 {
    let levels = words(lane, x).iter().map(|(_, _, level)| level + 1).max().unwrap_or(0);
    SHAPE + GAP + levels as f64 * TEXT
}
