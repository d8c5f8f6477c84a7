//! Words ticked: a bar for each word and tea.

use crate::page::canvas::{Drawing, Side, WIDTH, fitted};
use crate::page::facts::{Facts, Figure, Pictured, not_in};
use crate::page::how::How;
use crate::page::key::Key;
use crate::page::look::Ink;
use crate::words::label;
use protocol::Code;
use protocol::say::list;
use stats::say::p;
use summary::find::ticks::WordFinding;

/// So many teas stand beside each other; more go on below.
const ACROSS: usize = 5;
const LEFT: f64 = 96.0;
const ROW: f64 = 24.0;

pub fn words(facts: &Facts<'_>, words: &[WordFinding]) -> Pictured {
    let ticked = words.iter().flat_map(|w| &w.teas).any(|count| count.n > 0);
    let Some(first) = words.first().filter(|_| ticked) else {
        return Err("Nobody has ticked a word.".into());
    };
    let teas: Vec<Code> = first.teas.iter().filter(|count| count.of > 0).map(|count| count.tea).collect();
    let unscored = facts.teas().filter(|(_, tea)| !teas.contains(&tea.code));
    let out = unscored.map(|(_, tea)| (label(tea), "nobody has scored it".to_string()));
    Ok(Figure {
        title: "Words ticked".into(),
        described: described(facts, words),
        caption: format!(
            "How many tasters ticked it. A word in bold letters tells the teas apart.{}",
            not_in(out)
        ),
        evidence: String::new(),
        how: How::Words,
        drawing: drawn(facts, words, &teas, facts.found().level),
    })
}

fn drawn(facts: &Facts<'_>, words: &[WordFinding], teas: &[Code], level: f64) -> Drawing {
    let block = |teas: &[Code]| if teas.is_empty() { 0.0 } else { 26.0 + words.len() as f64 * ROW + 8.0 };
    let height = teas.chunks(ACROSS).map(block).sum::<f64>().max(1.0);
    let column = (WIDTH - LEFT) / teas.len().clamp(1, ACROSS) as f64;
    let key = Key::of(facts, teas, false);
    Drawing::of(height + key.height(), |pen| {
        key.draw(pen, height);
        let mut top = 0.0;
        for teas in teas.chunks(ACROSS) {
            for (i, tea) in teas.iter().enumerate() {
                pen.bold(&tea.to_string(), (LEFT + i as f64 * column, top + 12.0), Side::Right, Ink::Black);
            }
            for (row, word) in words.iter().enumerate() {
                let y = top + 26.0 + (row as f64 + 0.5) * ROW;
                let shown = word.cochran.get().is_some_and(|test| test.p_holm <= level);
                let label = fitted(&word.word, LEFT - 12.0);
                pen.shown(shown, &label, (LEFT - 8.0, y), Side::Left, Ink::Black);
                for (i, tea) in teas.iter().enumerate() {
                    let Some(count) = word.teas.iter().find(|count| count.tea == *tea) else { continue };
                    let left = LEFT + i as f64 * column;
                    let share = if count.of > 0 { count.n as f64 / count.of as f64 } else { 0.0 };
                    let whole = column - 28.0;
                    pen.frame((left, y - 7.0), (left + whole, y + 7.0), Ink::Faint);
                    pen.bar((left, y - 7.0), (left + whole * share, y + 7.0), Ink::Tea(2));
                    pen.text(&count.n.to_string(), (left + whole + 4.0, y), Side::Right, Ink::Black);
                }
            }
            top += block(teas);
        }
    })
}

fn described(facts: &Facts<'_>, words: &[WordFinding]) -> String {
    let one = |word: &WordFinding| {
        let teas = word.teas.iter().filter(|count| count.of > 0);
        let teas: Vec<String> =
            teas.map(|count| format!("{} of {} for {}", count.n, count.of, facts.label(count.tea))).collect();
        let test = word
            .cochran
            .get()
            .map_or(String::new(), |test| format!(" ({} allowing for all words)", p(test.p_holm)));
        format!("{}: {}{test}.", word.word, list(&teas))
    };
    words.iter().map(one).collect::<Vec<_>>().join(" ")
}
