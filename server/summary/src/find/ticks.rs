//! Words ticked for the teas.

use crate::data::Data;
use crate::known::Known;
use protocol::{Code, Score};
use schemars::JsonSchema;
use serde::Serialize;
use stats::multiple::holm;
use stats::ticks::cochran_q;

/// One word. A taster ticked it for a tea if it was ticked at any of the steeps that every tea was served at.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WordFinding {
    /// The word.
    pub word: String,
    /// How many ticked it, tea by tea, of how many who scored the tea at one of those steeps.
    pub teas: Vec<WordCount>,
    /// Whether the word tells the teas apart, over the tasters who scored all of them.
    pub cochran: Known<Cochran>,
}

/// How often a word was ticked for a tea.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct WordCount {
    /// The tea.
    pub tea: Code,
    /// Tasters who ticked it.
    pub n: usize,
    /// Tasters who scored the tea.
    pub of: usize,
}

/// Cochran's Q test.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Cochran {
    /// Tasters who scored every tea.
    pub tasters: usize,
    /// Those of them who ticked the word for some teas and not for others; only they count.
    pub mixed_tasters: usize,
    /// The statistic.
    pub q: f64,
    /// Degrees of freedom, teas − 1.
    pub df: usize,
    /// p: counted exactly where that can be done, else by chi-squared.
    pub p: f64,
    /// Whether it is counted exactly.
    pub exact: bool,
    /// p by chi-squared; too small for few mixed tasters.
    pub p_chi_squared: f64,
    /// p by Holm, over the words.
    pub p_holm: f64,
}

/// The words of the class.
pub fn words(data: &Data<'_>) -> Vec<WordFinding> {
    let served = data.teas.iter().map(|tea| &tea.steeps).filter(|steeps| !steeps.is_empty());
    let shared = |steep: u32| served.clone().all(|steeps| steeps.contains(&steep));
    let cell = |tea: usize, seat: usize| -> Option<Vec<&String>> {
        let steeps = (1..).zip(&data.scores[tea]).filter(|(steep, _)| shared(*steep));
        let mut scores = steeps.filter_map(|(_, seats)| seats[seat]).peekable();
        scores.peek()?;
        Some(scores.flat_map(|score: &Score| &score.words).collect())
    };
    let table: Vec<Vec<Option<Vec<&String>>>> =
        (0..data.seats.len()).map(|seat| (0..data.teas.len()).map(|tea| cell(tea, seat)).collect()).collect();
    let teas: Vec<Code> = data.teas.iter().map(|tea| tea.code).collect();
    let ticks_of = |word: &String| {
        let row = |row: &Vec<Option<Vec<&String>>>| {
            row.iter().map(|cell| cell.as_ref().map(|ticks| ticks.contains(&word))).collect()
        };
        (word.clone(), table.iter().map(row).collect())
    };
    of_tables(&teas, data.room.class.sheet.words.iter().map(ticks_of).collect())
}

/// A word with its table: tasters × teas, whether it was ticked; `None` where the taster has not scored the tea.
type Ticks = (String, Vec<Vec<Option<bool>>>);

/// The findings of plain tables.
fn of_tables(teas: &[Code], tables: Vec<Ticks>) -> Vec<WordFinding> {
    let mut found: Vec<WordFinding> = tables.iter().map(|(word, rows)| of_table(teas, word, rows)).collect();
    let mut tested: Vec<&mut Cochran> = found.iter_mut().filter_map(|word| word.cochran.get_mut()).collect();
    let p: Vec<f64> = tested.iter().map(|test| test.p).collect();
    for (test, adjusted) in tested.iter_mut().zip(holm(&p).unwrap_or(p)) {
        test.p_holm = adjusted;
    }
    found
}

fn of_table(teas: &[Code], word: &str, rows: &[Vec<Option<bool>>]) -> WordFinding {
    let count = |(tea, &code): (usize, &Code)| {
        let scored = rows.iter().filter_map(|row| row[tea]);
        WordCount { tea: code, n: scored.clone().filter(|&ticked| ticked).count(), of: scored.count() }
    };
    let counts: Vec<WordCount> = teas.iter().enumerate().map(count).collect();
    // A tea that nobody has scored leaves no complete taster, so it does not take part.
    let places: Vec<usize> = (0..teas.len()).filter(|&tea| counts[tea].of > 0).collect();
    let full = |row: &Vec<Option<bool>>| places.iter().map(|&tea| row[tea]).collect::<Option<Vec<bool>>>();
    let full: Vec<Vec<bool>> = rows.iter().filter_map(full).collect();
    let cochran = cochran_q(&full).map(|q| Cochran {
        tasters: q.tasters,
        mixed_tasters: q.mixed_tasters,
        q: q.q,
        df: q.df,
        p: q.exact_p.unwrap_or(q.p),
        exact: q.exact_p.is_some(),
        p_chi_squared: q.p,
        p_holm: q.exact_p.unwrap_or(q.p),
    });
    WordFinding { word: word.into(), teas: counts, cochran: cochran.into() }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A published worked example of Cochran's Q (12 tasters, 3 teas; Q 6.75, p by chi-squared 0.0342181) beside a word that nobody
    /// distinguishes by: Holm goes over the one that can be tested.
    #[test]
    fn words_are_counted_tested_and_adjusted() {
        let table = ["010", "110", "111", "000", "100", "011", "000", "110", "010", "111", "010", "110"];
        let rows = |table: &[&str]| -> Vec<Vec<Option<bool>>> {
            table.iter().map(|row| row.chars().map(|c| (c != '-').then_some(c == '1')).collect()).collect()
        };
        let mut with_gap = table.to_vec();
        with_gap.push("1-1");
        let teas = [417, 238, 862].map(|n| Code::new(n).unwrap());
        let words =
            of_tables(&teas, vec![("floral".into(), rows(&with_gap)), ("wet".into(), rows(&["000"; 13]))]);
        let counts: Vec<_> = words[0].teas.iter().map(|t| (t.n, t.of)).collect();
        assert_eq!(counts, [(7, 13), (9, 12), (4, 13)]);
        let found = words[0].cochran.get().unwrap();
        assert!(
            (found.q - 6.75).abs() < 1e-12 && (found.p_chi_squared - 0.034_218_1).abs() < 5e-8,
            "{found:?}"
        );
        assert!(found.exact && found.p == found.p_holm && found.p > found.p_chi_squared, "{found:?}");
        assert_eq!((found.tasters, found.mixed_tasters), (12, 8), "who left a tea out does not count");
        assert_eq!(
            words[1].cochran,
            Known::not("no taster ticked the word for some teas and left it for others")
        );
    }

    #[test]
    fn a_word_pays_for_every_other_word_asked() {
        let teas = [417, 238].map(|n| Code::new(n).unwrap());
        let all_one_way: Vec<Vec<Option<bool>>> = vec![vec![Some(true), Some(false)]; 8];
        let tables = ["floral", "nutty", "wet"].map(|word| (word.to_string(), all_one_way.clone()));
        for word in of_tables(&teas, tables.to_vec()) {
            let found = word.cochran.get().copied().unwrap();
            assert!((found.p_holm - 3.0 * found.p).abs() < 1e-12);
        }
    }
}
