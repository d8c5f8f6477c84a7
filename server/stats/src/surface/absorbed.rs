//! Sums of squares and products about the means of many blocks, without a column for each of them.

use std::collections::BTreeMap;

/// One score with what stands in its columns, by their numbers; what is not named is zero.
pub(super) struct Line {
    pub(super) block: usize,
    pub(super) columns: Vec<(usize, f64)>,
    pub(super) score: f64,
}

/// The means of a block.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Level {
    /// How many scores.
    pub(super) count: f64,
    /// Their mean.
    pub(super) score: f64,
    columns: Vec<(usize, f64)>,
}

impl Level {
    /// The mean of every column.
    pub(super) fn means(&self, columns: usize) -> Vec<f64> {
        let mut means = vec![0.0; columns];
        for &(column, mean) in &self.columns {
            means[column] = mean;
        }
        means
    }
}

/// What least squares need, once each block's means have been taken out of scores and columns (the theorem of Frisch & Waugh and Lovell).
pub(super) struct Absorbed {
    pub(super) gram: Vec<Vec<f64>>,
    pub(super) totals: Vec<f64>,
    /// The sum of squares of the scores about their block's mean.
    pub(super) squares: f64,
    pub(super) levels: Vec<Option<Level>>,
}

impl Absorbed {
    pub(super) fn of(lines: &[Line]) -> Self {
        let columns = lines.iter().flat_map(|line| &line.columns).map(|(i, _)| i + 1).max().unwrap_or(0);
        let levels = levels(lines);
        let mut found = Self {
            gram: vec![vec![0.0; columns]; columns],
            totals: vec![0.0; columns],
            squares: 0.0,
            levels: Vec::new(),
        };
        for line in lines {
            let mean = levels[line.block].as_ref().map_or(0.0, |level| level.score);
            found.add(1.0, &line.columns, line.score - mean);
        }
        // Scores are about their block's mean already, the columns' products are now.
        for level in levels.iter().flatten() {
            found.add(-level.count, &level.columns, 0.0);
        }
        for i in 0..columns {
            for j in 0..i {
                found.gram[j][i] = found.gram[i][j];
            }
        }
        found.levels = levels;
        found
    }

    fn add(&mut self, weight: f64, columns: &[(usize, f64)], score: f64) {
        for (k, &(i, value)) in columns.iter().enumerate() {
            for &(j, other) in &columns[..=k] {
                self.gram[i][j] += weight * value * other;
            }
            self.totals[i] += weight * value * score;
        }
        self.squares += weight * score * score;
    }

    /// How many blocks have scores.
    pub(super) fn blocks(&self) -> usize {
        self.levels.iter().flatten().count()
    }

    /// The means over all scores of the columns from one on.
    pub(super) fn means(&self, from: usize) -> Vec<f64> {
        let mut sums = vec![0.0; self.totals.len() - from];
        for level in self.levels.iter().flatten() {
            for &(i, mean) in level.columns.iter().filter(|(i, _)| *i >= from) {
                sums[i - from] += level.count * mean;
            }
        }
        let scores: f64 = self.levels.iter().flatten().map(|level| level.count).sum();
        sums.iter().map(|sum| sum / scores).collect()
    }

    /// The squares that a solution leaves.
    pub(super) fn left(&self, lines: &[Line], solution: &[f64]) -> f64 {
        let told =
            |columns: &[(usize, f64)]| columns.iter().map(|&(i, value)| value * solution[i]).sum::<f64>();
        let own: Vec<f64> = self
            .levels
            .iter()
            .map(|level| level.as_ref().map_or(0.0, |level| level.score - told(&level.columns)))
            .collect();
        lines.iter().map(|line| (line.score - own[line.block] - told(&line.columns)).powi(2)).sum()
    }
}

fn levels(lines: &[Line]) -> Vec<Option<Level>> {
    let blocks = lines.iter().map(|line| line.block + 1).max().unwrap_or(0);
    let mut sums: Vec<(f64, f64, BTreeMap<usize, f64>)> = vec![(0.0, 0.0, BTreeMap::new()); blocks];
    for line in lines {
        let (count, score, columns) = &mut sums[line.block];
        *count += 1.0;
        *score += line.score;
        for &(i, value) in &line.columns {
            *columns.entry(i).or_default() += value;
        }
    }
    let level = |(count, score, columns): (f64, f64, BTreeMap<usize, f64>)| {
        let columns = columns.into_iter().map(|(i, sum)| (i, sum / count)).collect();
        (count > 0.0).then(|| Level { count, score: score / count, columns })
    };
    sums.into_iter().map(level).collect()
}
