//! Charts in characters that read without colour: dots over a scale, means from steep to steep, votes on the strength.

use stats::Interval;

/// A scale laid out over some columns.
pub struct Scale {
    min: f64,
    max: f64,
    columns: usize,
    /// Columns per point if every point has a column of its own.
    per_point: Option<usize>,
}

impl Scale {
    /// The scale from `min` to `max` over at most `width` columns.
    pub fn new(min: f64, max: f64, width: usize) -> Self {
        let points = (max - min).clamp(1.0, 1e6) as usize;
        let per_point = (width.max(2) - 1) / points;
        let whole = (min.fract() == 0.0 && per_point > 0).then_some(per_point.min(5));
        let columns = whole.map_or(width.max(2), |per_point| points * per_point + 1);
        Self { min, max: min + (max - min).max(1.0), columns, per_point: whole }
    }

    /// How many columns it takes.
    pub fn columns(&self) -> usize {
        self.columns
    }

    /// The column of a value; values beyond the scale come to its ends.
    fn place(&self, value: f64) -> usize {
        let share = ((value - self.min) / (self.max - self.min)).clamp(0.0, 1.0);
        (share * (self.columns - 1) as f64).round() as usize
    }

    /// The points' numbers above their columns, as many as fit.
    pub fn axis(&self) -> String {
        let mut line = String::new();
        let points = (self.max - self.min) as usize;
        let step = if self.per_point.is_some() { 1 } else { (points / 4).max(1) };
        for point in (0..=points).step_by(step) {
            let value = self.min + point as f64;
            let label = format!("{value:.0}");
            let column = self.place(value);
            if line.is_empty() || column > line.chars().count() {
                line = format!("{line:<column$}{label}");
            }
        }
        line
    }

    /// How many values fall on each column: `o` for one, a digit for several, `+` for more than nine.
    pub fn dots(&self, values: &[f64]) -> String {
        let mut counts = vec![0usize; self.columns];
        values.iter().for_each(|&value| counts[self.place(value)] += 1);
        let mark = |(column, &count): (usize, &usize)| match count {
            0 if self.per_point.is_some_and(|p| column % p == 0) => '·',
            0 => ' ',
            1 => 'o',
            2..=9 => char::from(b'0' + count as u8),
            _ => '+',
        };
        counts.iter().enumerate().map(mark).collect()
    }

    /// The same with a mean as `|`: on the nearest column without a dot if one is beside it, else over the dot.
    pub fn dots_and_mean(&self, values: &[f64], mean: f64) -> String {
        let mut line: Vec<char> = self.dots(values).chars().collect();
        let share = (mean - self.min) / (self.max - self.min);
        let exactly = share.clamp(0.0, 1.0) * (self.columns - 1) as f64;
        let off = |column: usize| (column as f64 - exactly).abs();
        let free = (0..self.columns).filter(|&c| matches!(line[c], ' ' | '·') && off(c) < 2.0);
        let at = free.min_by(|&a, &b| off(a).total_cmp(&off(b))).unwrap_or_else(|| self.place(mean));
        line[at] = '|';
        line.into_iter().collect()
    }

    /// A mean `|` in its interval `(---|---)`; an end beyond the scale shows as `<` or `>`.
    pub fn interval(&self, mean: f64, interval: Option<Interval>) -> String {
        let mut line = vec![' '; self.columns];
        if let Some(Interval { low, high, .. }) = interval {
            let (from, to) = (self.place(low), self.place(high));
            line[from..=to].fill('-');
            line[from] = if low < self.min { '<' } else { '(' };
            line[to] = if high > self.max { '>' } else { ')' };
        }
        line[self.place(mean)] = '|';
        line.into_iter().collect()
    }
}

/// The letter of the `place`th tea in a picture, from 0.
pub fn letter(place: usize) -> char {
    char::from(b'A' + (place % 26) as u8)
}

/// Means from steep to steep: points upwards, steeps to the right, a letter for each tea; teas that fall together stand
/// side by side. `curves` holds for each tea its (steep, mean). Split where it is too wide.
pub fn curves(curves: &[Vec<(u32, f64)>], width: usize) -> Vec<String> {
    let points: Vec<(u32, f64)> = curves.iter().flatten().copied().collect();
    let (Some(last), Some(lowest), Some(highest)) = (
        points.iter().map(|p| p.0).max(),
        points.iter().map(|p| p.1).min_by(f64::total_cmp),
        points.iter().map(|p| p.1).max_by(f64::total_cmp),
    ) else {
        return Vec::new();
    };
    let step = row_step(highest - lowest);
    let row = |mean: f64| (mean / step).round() as i64;
    let label = |level: i64| format!("{:.1}", level as f64 * step);
    let labels = (row(lowest)..=row(highest)).map(|level| label(level).len()).max().unwrap_or(0).max(5);
    let column = curves.len().max(3) + 2;
    let per_block = (width.saturating_sub(labels + 5) / column).max(1) as u32;
    let mut lines = Vec::new();
    for from in (1..=last).step_by(per_block as usize) {
        let steeps = from..=last.min(from.saturating_add(per_block - 1));
        if from > 1 {
            lines.push(String::new());
        }
        for level in (row(lowest)..=row(highest)).rev() {
            let cell = |steep: u32| -> String {
                let here = |curve: &Vec<(u32, f64)>| curve.iter().any(|p| p.0 == steep && row(p.1) == level);
                let letters = curves.iter().enumerate().filter(|(_, c)| here(c)).map(|(i, _)| letter(i));
                format!("{:column$}", letters.collect::<String>())
            };
            let cells: String = steeps.clone().map(cell).collect();
            lines.push(format!("  {:>labels$} ┤ {cells}", label(level)).trim_end().to_string());
        }
        let feet: String = steeps.clone().map(|steep| format!("{steep:<column$}")).collect();
        lines.push(format!("  {:<labels$}   {feet}", "steep").trim_end().to_string());
    }
    lines
}

/// How many points one row stands for, so that a picture has about a dozen rows at most.
fn row_step(span: f64) -> f64 {
    [0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 25.0].into_iter().find(|step| span / step <= 12.0).unwrap_or(50.0)
}

/// The votes on some cups, one line each, lined up at what is just right: `«` much too thin, `‹` too thin, `=` just
/// right, `›` too strong, `»` much too strong; and how many votes one mark stands for.
pub fn votes(cups: &[[usize; 5]], width: usize) -> (Vec<String>, usize) {
    let thin = |c: &[usize; 5]| c[0] + c[1];
    let left = cups.iter().map(thin).max().unwrap_or(0);
    let right = cups.iter().map(|c| c[2] + c[3] + c[4]).max().unwrap_or(0);
    let per_mark = (left + right).div_ceil(width.max(1)).max(1);
    let marks = |count: usize| count.div_ceil(per_mark);
    // Rounding up each kind by itself may take a mark more.
    let left = cups.iter().map(|c| marks(c[0]) + marks(c[1])).max().unwrap_or(0);
    let line = |c: &[usize; 5]| {
        let drawn: String = ['«', '‹', '=', '›', '»']
            .iter()
            .zip(c)
            .map(|(mark, &n)| mark.to_string().repeat(marks(n)))
            .collect();
        format!("{}{drawn}", " ".repeat(left - marks(c[0]) - marks(c[1])))
    };
    (cups.iter().map(line).collect(), per_mark)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dots_stand_over_their_points() {
        let scale = Scale::new(1.0, 9.0, 30);
        assert_eq!(scale.axis(), "1  2  3  4  5  6  7  8  9");
        assert_eq!(scale.dots(&[1.0, 5.0, 5.0, 6.33, 9.0]), "o  ·  ·  ·  2  ·o ·  ·  o");
        let interval = |low, high| Some(Interval { low, high, confidence: 0.95 });
        assert_eq!(scale.interval(5.0, interval(4.0, 6.0)), "         (--|--)         ");
        assert_eq!(scale.interval(8.0, interval(-1.0, 12.0)), "<--------------------|-->");
        assert_eq!(scale.interval(5.0, None).trim(), "|");
    }

    #[test]
    fn a_mean_stands_beside_a_dot_and_only_where_there_is_no_room_over_it() {
        let scale = Scale::new(1.0, 9.0, 30);
        assert_eq!(scale.dots_and_mean(&[5.0, 5.0, 9.0], 6.33), "·  ·  ·  ·  2  ·| ·  ·  o");
        assert_eq!(scale.dots_and_mean(&[5.0, 5.0], 5.0), "·  ·  ·  · |2  ·  ·  ·  ·");
        assert_eq!(scale.dots_and_mean(&[5.0, 5.33], 5.1).matches('|').count(), 1);
        let full: Vec<f64> = (0..=10).map(f64::from).collect();
        assert_eq!(Scale::new(0.0, 10.0, 11).dots_and_mean(&full, 5.0), "ooooo|ooooo");
    }

    #[test]
    fn a_long_scale_is_drawn_together() {
        let scale = Scale::new(0.0, 100.0, 31);
        assert_eq!(scale.axis(), "0       25     50      75     100");
        assert_eq!(scale.dots(&[0.0, 100.0, 50.0]).chars().filter(|&c| c == 'o').count(), 3);
        assert_eq!(Scale::new(4.0, 4.0, 10).dots(&[4.0, 4.0]).trim_end(), "2    ·");
    }

    #[test]
    fn curves_rise_and_fall_with_their_letters() {
        let found = curves(&[vec![(1, 5.0), (2, 6.0), (3, 7.1)], vec![(1, 7.0), (2, 6.0)]], 60);
        assert_eq!(found.first().unwrap(), "    7.0 ┤ B         A", "{found:#?}");
        assert_eq!(found.last().unwrap(), "  steep   1    2    3");
        assert!(found.iter().any(|line| line.ends_with("AB")), "teas that fall together: {found:#?}");
        assert_eq!(
            curves(&[vec![(1, 5.0), (20, 6.0)]], 40).iter().filter(|l| l.contains("steep")).count(),
            4
        );
        assert!(curves(&[], 60).is_empty());
    }

    #[test]
    fn votes_line_up_at_what_is_just_right() {
        let (lines, per_mark) = votes(&[[1, 2, 3, 0, 0], [0, 0, 4, 2, 1]], 30);
        assert_eq!((lines, per_mark), (vec!["«‹‹===".into(), "   ====››»".into()], 1));
        let (lines, per_mark) = votes(&[[0, 60, 30, 10, 0]], 20);
        assert!(per_mark == 5 && lines[0].chars().count() == 20, "{lines:?}");
    }
}
