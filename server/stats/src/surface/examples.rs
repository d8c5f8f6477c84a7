//! Published data that surfaces are checked on.

use super::Run;

/// Yield of a reaction by time and temperature in two blocks, coded (time − 85)/5 and (temperature − 175)/5. Myers, Montgomery &
/// Anderson-Cook, Response Surface Methodology, 2009, table 7.6, as in Lenth, Journal of Statistical Software 32(7), 2009.
pub(super) fn reaction() -> Vec<Run> {
    let first = [
        (80.0, 170.0, 80.5),
        (80.0, 180.0, 81.5),
        (90.0, 170.0, 82.0),
        (90.0, 180.0, 83.5),
        (85.0, 175.0, 83.9),
        (85.0, 175.0, 84.3),
        (85.0, 175.0, 84.0),
    ];
    let second = [
        (85.0, 175.0, 79.7),
        (85.0, 175.0, 79.8),
        (85.0, 175.0, 79.5),
        (92.07, 175.0, 78.4),
        (77.93, 175.0, 75.6),
        (85.0, 182.07, 78.5),
        (85.0, 167.93, 77.0),
    ];
    let run = |block: usize| {
        move |(time, temperature, score): (f64, f64, f64)| Run {
            at: vec![(time - 85.0) / 5.0, (temperature - 175.0) / 5.0],
            blocks: vec![block],
            score,
        }
    };
    first.into_iter().map(run(0)).chain(second.into_iter().map(run(1))).collect()
}

/// Carbon monoxide by two factors at three levels, two runs each: Box, Hunter & Hunter, Statistics for Experimenters, 2005, table
/// 10.17, as in Lenth 2009.
pub(super) fn rising_ridge() -> Vec<Run> {
    let scores = [
        [61.9, 65.6, 80.9, 78.0, 89.7, 93.8],
        [72.1, 67.3, 80.1, 81.4, 77.8, 74.8],
        [66.4, 68.2, 68.9, 66.0, 60.2, 57.9],
    ];
    let at = |row: usize, column: usize| vec![(column / 2) as f64 - 1.0, row as f64 - 1.0];
    (0..3)
        .flat_map(|row| (0..6).map(move |column| (row, column)))
        .map(|(row, column)| Run { at: at(row, column), blocks: vec![], score: scores[row][column] })
        .collect()
}

/// Flight times of paper helicopters by four factors in two blocks: Box, Hunter & Hunter 2005, table 12.5, as in Lenth 2009.
pub(super) fn helicopters() -> Vec<Run> {
    let cube = [367, 369, 374, 370, 372, 355, 397, 377, 350, 373, 358, 363, 344, 355, 370, 362];
    let star = [361, 364, 355, 373, 361, 360, 380, 360];
    let run = |at: Vec<f64>, block, score: i32| Run { at, blocks: vec![block], score: f64::from(score) };
    let corner = |(n, &score): (usize, &i32)| {
        run((0..4).map(|i| if n >> i & 1 == 1 { 1.0 } else { -1.0 }).collect(), 0, score)
    };
    let point = |(n, &score): (usize, &i32)| {
        let mut at = vec![0.0; 4];
        at[n / 2] = if n % 2 == 0 { -2.0 } else { 2.0 };
        run(at, 1, score)
    };
    let centre = |(block, score)| run(vec![0.0; 4], block, score);
    let centres = [(0, 377), (0, 375), (1, 370), (1, 368), (1, 369), (1, 366)];
    let mut runs: Vec<Run> = cube.iter().enumerate().map(corner).collect();
    runs.extend(star.iter().enumerate().map(point));
    runs.extend(centres.map(centre));
    runs
}
