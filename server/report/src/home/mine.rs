//! What one person liked and wished otherwise, for their own cup at home. Nothing of it is a finding of the class.

use super::Own;
use super::seat::title;
use protocol::{Code, say};
use stats::say::signed;
use summary::find::seats::SeatPage;
use summary::find::strength::LIKING;
use summary::{Summary, TeaLine};

/// Means no farther apart than this share of the scale, half a point from 1 to 9, are about the same: one person's cups are seldom
/// scored more finely. Our own rule.
const ABOUT_THE_SAME: f64 = 1.0 / 16.0;

/// Which teas the person liked best, and which were too thin, too strong or just right throughout; in sentences, none without scores.
pub fn liked_and_wished(summary: &Summary, found: &SeatPage, own: &[Own]) -> Vec<String> {
    let mut said = Vec::from_iter(liked(summary, found));
    let mut right = Vec::new();
    for tea in &summary.teas {
        let votes: Vec<i8> = own
            .iter()
            .filter(|cup| cup.tea == tea.code)
            .filter_map(|cup| Some(cup.strength?.number()))
            .collect();
        let steeps = match votes.len() {
            0 => continue,
            1 => String::new(),
            2 => " both times".into(),
            n => format!(" all {n} times"),
        };
        if votes.iter().all(|&vote| vote < 0) {
            said.push(format!(
                "{} was too thin for you{steeps}: for your own cup steep it longer, or take a little more leaf.",
                title(tea)
            ));
        } else if votes.iter().all(|&vote| vote > 0) {
            said.push(format!(
                "{} was too strong for you{steeps}: for your own cup steep it shorter, or take a little less leaf.",
                title(tea)
            ));
        } else if votes.iter().all(|&vote| vote == 0) {
            right.push(title(tea));
        }
    }
    if !right.is_empty() {
        said.push(format!("Just right for you as it was served: {}.", say::list(&right)));
    }
    said
}

fn liked(summary: &Summary, found: &SeatPage) -> Option<String> {
    let scale =
        summary.findings.figures.scales.iter().find(|scale| scale.attribute.eq_ignore_ascii_case(LIKING))?;
    let near = f64::from(scale.max - scale.min) * ABOUT_THE_SAME;
    let mean = |code: Code| {
        let scores: Vec<f64> = found
            .scores
            .iter()
            .filter(|score| score.tea == code && score.attribute.eq_ignore_ascii_case(LIKING))
            .map(|score| score.own)
            .collect();
        (!scores.is_empty()).then(|| scores.iter().sum::<f64>() / scores.len() as f64)
    };
    let liked: Vec<(&TeaLine, f64)> =
        summary.teas.iter().filter_map(|tea| Some((tea, mean(tea.code)?))).collect();
    let most = liked.iter().map(|(_, mean)| *mean).fold(f64::NEG_INFINITY, f64::max);
    let mut best: Vec<(&TeaLine, f64)> =
        liked.iter().copied().filter(|(_, mean)| most - mean <= near).collect();
    best.sort_by(|a, b| b.1.total_cmp(&a.1));
    let names: Vec<String> = best.iter().map(|(tea, _)| title(tea)).collect();
    let means: Vec<String> = best.iter().map(|(_, mean)| signed(*mean)).collect();
    let (names, means) = (say::list(&names), say::list(&means));
    match best.len() {
        _ if liked.len() < 2 => None,
        all if all == liked.len() => Some("You liked all the teas about the same.".into()),
        1 => Some(format!("You liked {names} best: {means} on average.")),
        _ => Some(format!("You liked {names} best, about the same ({means} on average).")),
    }
}
