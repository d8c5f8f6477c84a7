//! Which words tell the teas apart, in one line.

use crate::data::Data;
use crate::figures::Figures;
use crate::find::ticks::{WordCount, WordFinding};
use protocol::Code;
use protocol::say::{list, many};
use stats::interval::SIGNIFICANCE;

/// So many words are told of a tea at most, those ticked by most.
const TOLD: usize = 5;

/// The words shown to be ticked more for some teas than for others, each with the teas for which more than half ticked it (else
/// with those for which most did); teas with the same words together.
pub fn line(data: &Data<'_>, found: &Figures) -> Option<String> {
    let shown: Vec<&WordFinding> =
        found.words.iter().filter(|w| w.cochran.get().is_some_and(|q| q.p_holm <= SIGNIFICANCE)).collect();
    let mut said: Vec<(Vec<usize>, Vec<&str>)> = Vec::new();
    for (place, tea) in data.teas.iter().enumerate() {
        let mut own: Vec<&WordFinding> =
            shown.iter().copied().filter(|word| belongs(word, tea.code)).collect();
        own.sort_by_key(|word| std::cmp::Reverse(count(word, tea.code).map_or(0, |count| count.n)));
        let words: Vec<&str> = own.iter().map(|word| word.word.as_str()).collect();
        let same =
            |other: &[&str]| other.len() == words.len() && words.iter().all(|word| other.contains(word));
        match said.iter_mut().find(|(_, other)| same(other)) {
            _ if words.is_empty() => {}
            Some((teas, _)) => teas.push(place),
            None => said.push((vec![place], words)),
        }
    }
    let one = |(teas, words): &(Vec<usize>, Vec<&str>)| {
        let more = words.len().saturating_sub(TOLD);
        let told = words.iter().take(TOLD).map(|word| (*word).to_string());
        let told: Vec<String> = told.chain((more > 0).then(|| many(more, "more word"))).collect();
        format!("{}: {}", named(data, teas), told.join(", "))
    };
    let said: Vec<String> = said.iter().map(one).collect();
    (!said.is_empty()).then(|| format!("Words that tell the teas apart: {}.", said.join(" · ")))
}

fn count(word: &WordFinding, tea: Code) -> Option<&WordCount> {
    word.teas.iter().find(|count| count.tea == tea)
}

/// Whether more than half ticked a word for a tea, or as many as for any if that is nowhere so.
fn belongs(word: &WordFinding, tea: Code) -> bool {
    let share = |count: &WordCount| count.n as f64 / count.of.max(1) as f64;
    let most = word.teas.iter().map(share).fold(0.0, f64::max);
    count(word, tea).map(share).is_some_and(|own| own > 0.5 || (most <= 0.5 && own > 0.0 && own >= most))
}

/// Some teas by name, or by their leaf where they are all that there is of it.
fn named(data: &Data<'_>, teas: &[usize]) -> String {
    let leaves = data.leaves();
    let leaf = leaves.iter().find(|leaf| leaf.len() > 1 && leaf[..] == *teas);
    match leaf.and_then(|leaf| data.teas[leaf[0]].open) {
        Some(tea) => tea.leaf.clone(),
        None => list(&teas.iter().map(|&tea| data.teas[tea].label()).collect::<Vec<_>>()),
    }
}
