//! Tasters of several classes against least squares of a general reference library: 500 random tables with gaps and constant
//! columns. The golden file names the library and its version; `tests/reference/classes.py` rewrites it.

use super::golden::{Check, Figure, chance, full, list, rows, sets, sum};
use serde_json::{Value, json};
use stats::Cannot;
use stats::additive::{Additive, in_classes, row_means};
use stats::anova::Effect;

const GOLDEN: &str = include_str!("../../reference/classes.json");
/// Chances of the studentized range stand in the file with nine places.
const PLACES: f64 = 1e-8;

fn classes(set: &Value) -> Vec<usize> {
    list(&set["classes"]).iter().map(|class| class.as_u64().unwrap() as usize).collect()
}

#[test]
fn teas_against_what_is_left_over_within_the_classes_agree() {
    let (mut ways, mut moves) = (Check::default(), Check::default());
    for set in sets(GOLDEN, "sets") {
        let found = in_classes(&rows(&set["rows"]), &classes(&set), 0.95);
        let of_ways = |(model, _): &(Additive, Option<Effect>)| {
            let test = model.tea_given_taster;
            let pair = Figure { value: Some(model.pairs.pairs[0].p), absolute: PLACES };
            vec![sum(test.f), chance(test.p), sum(model.residual.df as f64), pair]
        };
        let of_moves = |effect: &Effect| vec![sum(effect.f), chance(effect.p)];
        let movement = found
            .clone()
            .map_err(|why| why.to_string())
            .and_then(|(_, moves)| moves.ok_or_else(|| "no class leaves anything over".to_string()));
        ways.hold::<_, Cannot>(&set["rows"], found, &set["ways"], of_ways);
        moves.hold(&set["rows"], movement, &set["moves"], of_moves);
    }
    ways.covers(380, 1520);
    moves.covers(230, 460);
}

#[test]
fn rows_without_gaps_have_their_plain_means() {
    let plain = |row: &Vec<f64>| row.iter().sum::<f64>() / row.len() as f64;
    for set in sets(GOLDEN, "sets") {
        let rows = full(&set["rows"]);
        let gapless: Vec<Vec<Option<f64>>> =
            rows.iter().map(|row| row.iter().copied().map(Some).collect()).collect();
        for (mean, row) in row_means(&gapless).iter().zip(&rows) {
            assert!((mean.unwrap() - plain(row)).abs() < 1e-12, "{set}");
        }
    }
}

#[test]
fn row_means_with_their_gaps_made_up_agree() {
    let mut check = Check::default();
    for set in sets(GOLDEN, "sets") {
        let means = row_means(&rows(&set["rows"]));
        let theirs: Vec<Value> = list(&set["means"]).iter().filter(|mean| !mean.is_null()).cloned().collect();
        let ours: Vec<f64> = means.iter().copied().flatten().collect();
        let gaps = means.iter().map(Option::is_none).eq(list(&set["means"]).iter().map(Value::is_null));
        assert!(gaps, "{set}");
        let figures =
            |ours: &Vec<f64>| ours.iter().map(|mean| Figure { value: Some(*mean), absolute: 1e-9 }).collect();
        check.hold::<_, Cannot>(&set["rows"], Ok(ours), &json!(theirs), figures);
    }
    check.covers(500, 3000);
}
