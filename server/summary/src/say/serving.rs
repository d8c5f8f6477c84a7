//! Whether it mattered which cup came first, in one sentence.

use crate::data::Data;
use crate::find::serving::{FirstCup, FirstEffect, Serving};
use crate::sentence::{About, Evidence, Sentence};
use protocol::say::{list, many};
use stats::interval::SIGNIFICANCE;
use stats::say::{p_of_family, points, range};

/// The one sentence; none where nothing could be tested.
pub fn sentence(data: &Data<'_>, serving: &Serving) -> Option<Sentence> {
    let mut tested: Vec<(&FirstCup, &FirstEffect)> =
        serving.first_cup.iter().filter_map(|cup| Some((cup, cup.effect.get()?))).collect();
    tested.sort_by(|(_, a), (_, b)| a.p.total_cmp(&b.p));
    let &(cup, effect) = tested.first()?;
    let shown: Vec<&(&FirstCup, &FirstEffect)> =
        tested.iter().filter(|(_, effect)| effect.p_holm <= SIGNIFICANCE).collect();
    let size = |effect: &FirstEffect| {
        let side = if effect.points < 0.0 { "lower" } else { "higher" };
        let test = p_of_family(effect.p, effect.p_holm, effect.family);
        format!(
            "{} {side} ({}; {}, {test})",
            points(effect.points),
            range(effect.interval),
            many(effect.tasters, "taster")
        )
    };
    let counts: Vec<String> =
        serving.places.iter().map(|tea| format!("{} for {}", data.label(tea.tea), tea.seats[0])).collect();
    let balance = match serving.balanced {
        true => "Every tea came first equally often, so that none gained by it.".to_string(),
        false => format!("Not every tea came first equally often: {}.", list(&counts)),
    };
    let text = if shown.is_empty() {
        format!(
            "order of serving: that the first cup was scored otherwise than it would have been later is not shown; the most \
             in {}, {}. {balance}",
            cup.attribute,
            size(effect)
        )
    } else {
        let said: Vec<String> =
            shown.iter().map(|(cup, effect)| format!("{} by {}", cup.attribute, size(effect))).collect();
        format!(
            "order of serving: whichever tea came first was scored otherwise for that alone: {}. {balance}{}",
            list(&said),
            without(data, &shown)
        )
    };
    let evidence = Evidence {
        attribute: Some(cup.attribute.clone()),
        teas: effect.teas.iter().map(|tea| tea.tea).collect(),
        n: effect.tasters,
        test: Some("t of the first cup".into()),
        p: Some(effect.p),
        p_adjusted: Some(effect.p_holm),
        points: Some(effect.points),
        interval: Some(effect.interval),
        ..Evidence::default()
    };
    Some(Sentence { text, about: About::Serving, shown: !shown.is_empty(), evidence })
}

/// The teas' means without it.
fn without(data: &Data<'_>, shown: &[&(&FirstCup, &FirstEffect)]) -> String {
    let means = |effect: &FirstEffect| {
        let mut teas = effect.teas.clone();
        teas.sort_by(|a, b| b.adjusted_mean.total_cmp(&a.adjusted_mean));
        let each: Vec<String> =
            teas.iter().map(|tea| format!("{} {:.1}", data.label(tea.tea), tea.adjusted_mean)).collect();
        list(&each)
    };
    let each: Vec<String> =
        shown.iter().map(|(cup, effect)| format!("{}: {}", cup.attribute, means(effect))).collect();
    format!(" Means without it, {}.", each.join("; "))
}
