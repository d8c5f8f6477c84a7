//! Tables in which scores are missing: who scored everything, and what hangs together.

use super::cannot::Cannot;
use super::sums::finite;

/// The part of a table without gaps.
#[derive(Clone, Debug, PartialEq)]
pub struct Complete {
    /// The scores of those who scored every tea.
    pub rows: Vec<Vec<f64>>,
    /// Their places in the table, counted from 0.
    pub kept: Vec<usize>,
    /// The places of the tasters who are left out.
    pub left_out: Vec<usize>,
}

/// Those tasters of a table who scored every tea; may be none.
pub fn complete(rows: &[Vec<Option<f64>>]) -> Complete {
    let mut found = Complete { rows: Vec::new(), kept: Vec::new(), left_out: Vec::new() };
    for (taster, row) in rows.iter().enumerate() {
        match row.iter().copied().collect::<Option<Vec<f64>>>() {
            Some(scores) => {
                found.rows.push(scores);
                found.kept.push(taster);
            }
            None => found.left_out.push(taster),
        }
    }
    found
}

/// What a taster scored: the teas and their scores.
pub(super) struct Scored {
    pub(super) teas: Vec<usize>,
    pub(super) scores: Vec<f64>,
}

/// What those tasters scored who scored at least `least` teas, and how many teas there are.
///
/// Two teas and two tasters at least; every tea must have a score, and any two teas be linked through tasters.
pub(super) fn linked(rows: &[Vec<Option<f64>>], least: usize) -> Result<(Vec<Scored>, usize), Cannot> {
    let teas = rows.first().map_or(0, Vec::len);
    if rows.iter().any(|row| row.len() != teas) {
        return Err(Cannot::Uneven);
    }
    finite(rows.iter().flatten().flatten())?;
    let scored = |row: &Vec<Option<f64>>| {
        let (teas, scores) = row.iter().enumerate().filter_map(|(tea, score)| Some((tea, (*score)?))).unzip();
        Scored { teas, scores }
    };
    let tasters: Vec<Scored> = rows.iter().map(scored).filter(|s| s.teas.len() >= least).collect();
    if rows.len() < 2 || tasters.len() < 2 {
        return Err(Cannot::Tasters(2));
    }
    if teas < 2 {
        return Err(Cannot::Teas(2));
    }
    if let Some(tea) = (0..teas).find(|&tea| rows.iter().all(|row| row[tea].is_none())) {
        return Err(Cannot::UnscoredTea(tea));
    }
    if groups(tasters.iter().map(|t| t.teas.iter().copied()), teas).len() > 1 {
        Err(Cannot::Disconnected)
    } else {
        Ok((tasters, teas))
    }
}

/// The groups of columns (below `columns`) that hang together through rows that hold two of them: each group in order, the
/// group of the first column first. `rows` has the columns of each row, in order.
pub fn groups(
    rows: impl IntoIterator<Item = impl IntoIterator<Item = usize>>,
    columns: usize,
) -> Vec<Vec<usize>> {
    let mut group: Vec<usize> = (0..columns).collect();
    for row in rows {
        let mut row = row.into_iter();
        let Some(mut before) = row.next() else { continue };
        for column in row {
            let (kept, gone) = (group[before], group[column]);
            group.iter_mut().filter(|g| **g == gone).for_each(|g| *g = kept);
            before = column;
        }
    }
    let of = |head: usize| -> Vec<usize> { (0..columns).filter(|&column| group[column] == head).collect() };
    (0..columns).map(of).filter(|group| !group.is_empty()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_those_who_scored_everything_are_kept() {
        let rows = [vec![Some(1.0), Some(2.0)], vec![None, Some(3.0)], vec![Some(4.0), Some(5.0)]];
        let found = complete(&rows);
        assert_eq!(found.rows, [[1.0, 2.0], [4.0, 5.0]]);
        assert_eq!((found.kept, found.left_out), (vec![0, 2], vec![1]));
    }

    fn why(rows: &[&str], least: usize) -> Option<Cannot> {
        linked(&crate::examples::table(rows), least).err()
    }

    #[test]
    fn teas_that_no_chain_of_tasters_links_are_said() {
        assert_eq!(why(&["12--", "--34", "21--"], 1), Some(Cannot::Disconnected));
        assert_eq!(why(&["12--", "--34", "-21-"], 1), None);
        assert_eq!(why(&["1--2", "-34-", "2--1", "5-1-"], 1), None);
        assert_eq!(why(&["12-", "21-"], 1), Some(Cannot::UnscoredTea(2)));
        assert_eq!(why(&["1-", "-2", "1-"], 1), Some(Cannot::Disconnected));
        assert_eq!(why(&["1-", "12"], 2), Some(Cannot::Tasters(2)));
        assert_eq!(why(&["1", "2"], 1), Some(Cannot::Teas(2)));
        assert_eq!(why(&["12", "123"], 1), Some(Cannot::Uneven));
        assert_eq!(why(&[], 1), Some(Cannot::Tasters(2)));
    }
}
