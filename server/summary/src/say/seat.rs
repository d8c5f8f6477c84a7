//! Kind sentences for one seat's own page.

use crate::find::seats::{FEW_OTHERS, SeatAttribute};
use crate::find::strength::LIKING;
use crate::say::capital;
use crate::sentence::{About, Evidence, Sentence};
use protocol::say::many;
use stats::interval::SIGNIFICANCE;
use stats::say::points;

/// What can be said of each attribute to the person at the seat.
pub(crate) fn about_seat(attributes: &[SeatAttribute]) -> Vec<Sentence> {
    let mut said: Vec<Sentence> =
        attributes.iter().flat_map(|a| [level(a), with_others(a), repeats(a)]).flatten().collect();
    let compared = |a: &SeatAttribute| a.bias.get().is_some_and(|bias| bias.test.get().is_some());
    let leans = |a: &SeatAttribute| a.bias.get().is_some_and(|bias| bias.leans != "not shown");
    if !attributes.iter().any(leans) {
        let few = attributes.iter().filter(|a| a.bias.get().is_none()).any(SeatAttribute::has_few_others);
        let text = if attributes.iter().any(compared) {
            "Your scores go neither clearly above nor clearly below the class's. With so few teas most people's can't be \
             told apart from it."
                .to_string()
        } else if few {
            format!("{}.", capital(FEW_OTHERS))
        } else {
            "There are too few teas that you and somebody else have both scored to set you beside the class."
                .into()
        };
        said.insert(0, Sentence::plain(text, About::Seat, 0));
    }
    said
}

/// In words; the figures stand in the table of habits. That somebody likes teas more or less is no way of using a scale.
fn level(a: &SeatAttribute) -> Option<Sentence> {
    let bias = a.bias.get()?;
    let test = bias.test.get()?;
    let shown = bias.leans != "not shown";
    let liking = a.attribute.eq_ignore_ascii_case(LIKING);
    let side = if bias.points < 0.0 { "less" } else { "more" };
    let (head, as_the_class) = match liking {
        true => ("You liked the teas".to_string(), "You liked the teas as the class did".to_string()),
        false => {
            (format!("You gave {}", a.attribute), format!("You scored {} as the class did", a.attribute))
        }
    };
    let said = match (about(bias.points), shown) {
        (None, _) => as_the_class,
        (Some(by), false) => format!("{head} {by} {side} than the class, which may be chance"),
        (Some(by), true) if liking => {
            format!("{head} {by} {side} than the class: perhaps such teas are {side} to your taste")
        }
        (Some(by), true) => format!(
            "{head} {by} {side} than the class: your way of using the scale, neither right nor wrong, and comparing the teas allows \
             for it"
        ),
    };
    let text = format!("{said} ({} compared).", many(bias.teas, "tea"));
    let evidence = Evidence {
        attribute: Some(a.attribute.clone()),
        n: bias.teas,
        test: Some("paired t".into()),
        p: Some(test.p),
        points: Some(bias.points),
        interval: Some(test.interval),
        ..Evidence::default()
    };
    // Reported, not shown: a page looks at several attributes, each by itself.
    Some(Sentence { text, about: About::Seat, shown: false, evidence })
}

/// How many points, to the nearest half, in words; `None` where it is nothing to speak of.
fn about(points: f64) -> Option<String> {
    let halves = (2.0 * points.abs()).round() as usize;
    match halves {
        _ if points.abs() < NOTHING => None,
        0 => Some("a little".into()),
        1 => Some("about half a point".into()),
        2 => Some("about one point".into()),
        n if n % 2 == 0 => Some(format!("about {} points", n / 2)),
        n => Some(format!("about {}.5 points", n / 2)),
    }
}

/// Of fewer teas even the very same order, or its reverse, comes by chance in more than one of twenty cases (2 of 4! orders).
pub const LEAST_TEAS: usize = 5;
/// Whoever scores by less than this above or below the class, points, scores as the class.
const NOTHING: f64 = 0.1;

/// Only where it says something: with a handful of teas a correlation says little.
fn with_others(a: &SeatAttribute) -> Option<Sentence> {
    let found = a.with_others.get().filter(|found| found.p <= SIGNIFICANCE && found.teas >= LEAST_TEAS)?;
    let words = if found.r > 0.0 {
        "your scores go up and down with the others'"
    } else {
        "where the others score high you score low: a view of your own, worth telling the class"
    };
    let text = format!("{}: {words} ({} compared).", a.attribute, many(found.teas, "tea"));
    let evidence = Evidence {
        attribute: Some(a.attribute.clone()),
        n: found.teas,
        test: Some("correlation".into()),
        p: Some(found.p),
        ..Evidence::default()
    };
    Some(Sentence { text, about: About::Seat, shown: false, evidence })
}

fn repeats(a: &SeatAttribute) -> Option<Sentence> {
    let found = a.repeatability.as_ref()?.get()?;
    let verdict = a.verdict.as_ref().map_or(String::new(), |verdict| format!(": {verdict}"));
    // Two scores of one tea differ by √2 times the standard deviation of a single one (root mean square).
    let apart = found.residual_sd * std::f64::consts::SQRT_2;
    let text = format!(
        "{}: the same tea under two codes got scores that lie about {} apart ({}){verdict}.",
        a.attribute,
        points(apart),
        many(found.df, "repeat")
    );
    let evidence = Evidence {
        attribute: Some(a.attribute.clone()),
        n: found.df,
        points: Some(apart),
        ..Evidence::default()
    };
    Some(Sentence { text, about: About::Seat, shown: false, evidence })
}
