//! The order in which the cups were served: how balanced it was, and whether it mattered which cup came first.

use crate::data::{Attribute, Compared, Data};
use crate::known::Known;
use protocol::Code;
use schemars::JsonSchema;
use serde::Serialize;
use stats::anova::{Effect, Leftover};
use stats::covariate::with_covariate;
use stats::multiple::holm;
use stats::{Cannot, Interval};

/// The order of serving. It is dealt by the class's design: each seat has one order, the same in every round.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Serving {
    /// Each seat that scored, in the order in which they came.
    pub orders: Vec<SeatOrder>,
    /// For each tea at how many of these seats it stood at each place.
    pub places: Vec<TeaPlaces>,
    /// Whether every tea came first equally often.
    pub balanced: bool,
    /// Whether the first cup was scored otherwise, attribute by attribute.
    pub first_cup: Vec<FirstCup>,
}

/// In which order a seat was served.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct SeatOrder {
    /// The seat's name.
    pub seat: String,
    /// The teas, the first cup first.
    pub teas: Vec<Code>,
}

/// Where a tea stood.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct TeaPlaces {
    /// The tea.
    pub tea: Code,
    /// At how many seats it came first, second and so on.
    pub seats: Vec<usize>,
}

/// The first cup on one attribute, over the steeps.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FirstCup {
    /// The attribute.
    pub attribute: String,
    /// What the first cup has more than it would have had later.
    pub effect: Known<FirstEffect>,
}

/// What coming first does to a score: least squares of tea, taster and whether the cup came first.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FirstEffect {
    /// How many points the first cup has more; below 0 it has fewer.
    pub points: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// Its 95 % t interval.
    pub interval: Interval,
    /// Tasters with a score.
    pub tasters: usize,
    /// Two-sided p of the t test.
    pub p: f64,
    /// The same by Holm, over the attributes.
    pub p_holm: f64,
    /// How many attributes Holm went over.
    pub family: usize,
    /// Each tea's mean as if every taster had scored it and every tea had come first equally often.
    pub teas: Vec<WithoutOrder>,
    /// Between teas, tasters and the first cup taken out.
    pub tea_given_order: Effect,
    /// What is left over.
    pub residual: Leftover,
}

/// One tea without what its places in the orders did to it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WithoutOrder {
    /// The tea.
    pub tea: Code,
    /// Its adjusted mean, points.
    pub adjusted_mean: f64,
}

/// The order of serving, where two teas at least were scored.
pub fn serving(data: &Data<'_>) -> Option<Serving> {
    let scored: Vec<usize> = (0..data.teas.len()).filter(|&tea| !data.teas[tea].steeps.is_empty()).collect();
    let tasters = data.tasters();
    if scored.len() < 2 || tasters.is_empty() {
        return None;
    }
    let codes: Vec<Code> = scored.iter().map(|&tea| data.teas[tea].code).collect();
    let all = data.orders();
    let orders: Vec<SeatOrder> = tasters
        .iter()
        .map(|&seat| {
            let teas = all[seat].iter().copied().filter(|code| codes.contains(code)).collect();
            SeatOrder { seat: data.seats[seat].into(), teas }
        })
        .collect();
    let at =
        |tea: &Code, place: usize| orders.iter().filter(|order| order.teas.get(place) == Some(tea)).count();
    let places: Vec<TeaPlaces> = codes
        .iter()
        .map(|tea| TeaPlaces { tea: *tea, seats: (0..codes.len()).map(|place| at(tea, place)).collect() })
        .collect();
    let balanced = places.iter().all(|tea| tea.seats[0] == places[0].seats[0]);
    let mut first_cup: Vec<FirstCup> = data
        .attributes
        .iter()
        .map(|attribute| {
            let effect = first_cup(data, attribute, &all).into();
            FirstCup { attribute: attribute.name.clone(), effect }
        })
        .collect();
    let mut tested: Vec<&mut FirstEffect> =
        first_cup.iter_mut().filter_map(|cup| cup.effect.get_mut()).collect();
    let p: Vec<f64> = tested.iter().map(|effect| effect.p).collect();
    // Without an adjustment p stands as it is; chances never lie outside 0 to 1.
    for (effect, p_holm) in tested.iter_mut().zip(holm(&p).unwrap_or_else(|_| p.clone())) {
        (effect.p_holm, effect.family) = (p_holm, p.len());
    }
    Some(Serving { orders, places, balanced, first_cup })
}

/// Whichever of the teas compared a seat met before the others was its first cup.
fn first_cup(data: &Data<'_>, attribute: &Attribute, orders: &[Vec<Code>]) -> Result<FirstEffect, Cannot> {
    let places = attribute.scored(None);
    let Compared { columns, .. } = attribute.compared(&places, None);
    let teas: Vec<Code> = places.iter().map(|&tea| data.teas[tea].code).collect();
    let (mut rows, mut first) = (Vec::new(), Vec::new());
    for (seat, order) in orders.iter().enumerate() {
        let row: Vec<Option<f64>> = columns.iter().map(|column| column[seat]).collect();
        if row.iter().any(Option::is_some) {
            let came = order.iter().find(|code| teas.contains(code));
            first.push(teas.iter().map(|tea| f64::from(u8::from(came == Some(tea)))).collect());
            rows.push(row);
        }
    }
    let found = with_covariate(&rows, &first)?;
    let teas = teas.into_iter().zip(&found.adjusted_means);
    Ok(FirstEffect {
        points: found.slope,
        standard_error: found.standard_error,
        interval: found.interval,
        tasters: rows.len(),
        p: found.p,
        p_holm: found.p,
        family: 1,
        teas: teas.map(|(tea, &adjusted_mean)| WithoutOrder { tea, adjusted_mean }).collect(),
        tea_given_order: found.tea_given_rest,
        residual: found.residual,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::find;
    use crate::say::brief::Matter;
    use crate::sentence::{About, Sentence};
    use fixtures::{At, Filled, class_file, room};
    use room::Room;

    /// Four teas that are alike; whichever a seat meets first has `less` points less.
    fn held(seats: usize, less: i32) -> Room {
        let text = class_file(4, 1, "[sheet]\nattributes = [\"liking\"]");
        let empty = room(&text, seats, &[], |_| None);
        let first: Vec<Code> = empty.seats.iter().map(|seat| empty.order_of(seat.id)[0]).collect();
        let codes: Vec<Code> = empty.class.coded().map(|(code, _)| code).collect();
        room(&text, seats, &[0, 1, 2, 3], |At { seat, tea, .. }| {
            let scattered = (((seat * 41 + tea * 97 + 13) * 2_654_435_761) >> 16) % 3;
            let lost = if first[seat] == codes[tea] { less } else { 0 };
            Some(Filled { values: vec![Some(6 + scattered as i32 - lost)], ..Filled::default() })
        })
    }

    fn found(room: &Room) -> (Serving, Sentence) {
        let found = find(room, room.last_at);
        let sentence = found.sentences.into_iter().find(|s| s.about == About::Serving).unwrap();
        (found.figures.serving.unwrap(), sentence)
    }

    #[test]
    fn a_first_cup_that_is_scored_lower_is_told_and_taken_out() {
        let (serving, sentence) = found(&held(8, 3));
        let effect = serving.first_cup[0].effect.get().unwrap();
        assert!(effect.points < -2.0 && effect.p_holm < 0.01, "{effect:?}");
        assert!(serving.balanced && serving.places.iter().all(|tea| tea.seats == [2; 4]), "{serving:?}");
        assert!(
            sentence.shown && sentence.text.contains("Every tea came first equally often"),
            "{}",
            sentence.text
        );
        assert!(sentence.text.contains("Means without it, liking: "), "{}", sentence.text);
        let room = held(8, 3);
        let short = find(&room, room.last_at).brief;
        let line = short.iter().find(|line| line.matter == Matter::FirstCup).unwrap();
        assert!(line.text.contains("liking by ") && line.text.contains("points lower"), "{}", line.text);
        assert!(line.text.ends_with("so none gained or lost by it."), "{}", line.text);
    }

    #[test]
    fn where_nothing_is_shown_of_it_the_most_is_told_and_how_uneven_the_orders_were() {
        let (serving, sentence) = found(&held(6, 0));
        assert!(!serving.balanced && !sentence.shown, "{sentence:?}");
        let room = held(6, 0);
        assert!(find(&room, room.last_at).brief.iter().all(|line| line.matter != Matter::FirstCup));
        assert!(sentence.text.contains("is not shown; the most in liking"), "{}", sentence.text);
        assert!(
            sentence.text.contains("Not every tea came first equally often: 211 Tea 1 for "),
            "{}",
            sentence.text
        );
    }

    #[test]
    fn one_tea_has_no_order() {
        let one = room(&class_file(1, 1, "[sheet]\nattributes = [\"liking\"]"), 4, &[0], |_| {
            Some(Filled { values: vec![Some(5)], ..Filled::default() })
        });
        assert!(find(&one, one.last_at).figures.serving.is_none());
    }
}
