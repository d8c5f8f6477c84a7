//! Classes that stand for many, and the first cup, against a general reference library: 500 random tables each. The golden files
//! name the library and its version; `tests/reference/over_classes.py` and `serving.py` rewrite them.

use super::golden::{Check, Figure, chance, list, rows, sets, sum};
use serde_json::Value;
use stats::Cannot;
use stats::covariate::{Covariate, with_covariate};
use stats::over_classes::over_classes;

const CLASSES: &str = include_str!("../../reference/over_classes.json");
const SERVING: &str = include_str!("../../reference/serving.json");

fn wholes(value: &Value) -> Vec<usize> {
    list(value).iter().map(|whole| whole.as_u64().unwrap() as usize).collect()
}

#[test]
fn ways_against_way_and_class_agree() {
    let mut check = Check::default();
    for set in sets(CLASSES, "sets") {
        let found = over_classes(&rows(&set["rows"]), &wholes(&set["classes"]), 0.95).unwrap();
        check.hold(&set["rows"], found, &set["over"], |model| {
            let test = model.tea_given_taster;
            vec![sum(test.f), chance(test.p), sum(test.df as f64), sum(model.residual.df as f64)]
        });
    }
    check.covers(495, 1980);
}

#[test]
fn the_first_cup_and_what_is_left_of_the_teas_agree() {
    let mut check = Check::default();
    for set in sets(SERVING, "sets") {
        let (rows, first) = (rows(&set["rows"]), wholes(&set["first"]));
        let came = |&first: &usize| (0..rows[0].len()).map(|tea| f64::from(u8::from(tea == first))).collect();
        let x: Vec<Vec<f64>> = first.iter().map(came).collect();
        let figures = |model: &Covariate| -> Vec<Figure> {
            let tests = [
                sum(model.slope),
                sum(model.standard_error),
                Figure { value: Some(model.p), absolute: 1e-12 },
                sum(model.tea_given_rest.f),
                chance(model.tea_given_rest.p),
            ];
            tests.into_iter().chain(model.adjusted_means.iter().map(|&mean| sum(mean))).collect()
        };
        check.hold::<_, Cannot>(&set["rows"], with_covariate(&rows, &x), &set["model"], figures);
    }
    check.covers(450, 3000);
}
