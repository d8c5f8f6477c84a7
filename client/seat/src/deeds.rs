//! A cue in words: what to do, with how much water and how hot, from which kettle, and when. The same on every kind of seat.

use crate::words;
use protocol::say::kettle;
use protocol::time::clock_face;
use protocol::{Action, Cue, fit};

/// What is to be done: `pour 417`, `set the kettle to 95 °C`, `pour off the rinse of 417`. In a class that runs a kettle is
/// filled afresh: what is in it may be too hot or too little.
pub fn deed(cue: &Cue, kettles: &[String]) -> String {
    match (cue.action, cue.code) {
        (Action::Set, _) => match cue.temp_c {
            Some(temp_c) => format!("set {} to {temp_c} °C", kettle(cue.kettle, kettles)),
            None => format!("set {}", kettle(cue.kettle, kettles)),
        },
        (Action::Fill, _) => {
            let named = kettle(cue.kettle, kettles);
            let with = cue.water_ml.map_or("afresh".into(), |ml| format!("with {}", millilitres(ml)));
            let set = cue.temp_c.map(|temp_c| format!(", set {temp_c} °C")).unwrap_or_default();
            format!("empty {named} and fill it {with}{set}")
        }
        (action, _) if action.is_at_kettle() => format!("{action} {}", kettle(cue.kettle, kettles)),
        (Action::Warm, Some(code)) => format!("warm {code}, pour it off"),
        (Action::PourOff, Some(code)) => format!("pour off the rinse of {code}"),
        _ => cue.to_string(),
    }
}

/// Water in millilitres, into each of several vessels: `2 × 110 ml`.
fn water(cue: &Cue) -> Option<String> {
    let ml = millilitres(cue.water_ml?);
    Some(match cue.vessels {
        Some(vessels) if vessels > 1 => format!("{vessels} × {ml}"),
        _ => ml,
    })
}

/// `110 ml`, `92.5 ml`.
pub fn millilitres(ml: f64) -> String {
    format!("{} ml", (ml * 10.0).round() / 10.0)
}

/// Which kettle the water comes from, where there are several.
fn source(cue: &Cue, kettles: &[String]) -> Option<String> {
    let pours = !cue.action.is_at_kettle() && !cue.action.is_within();
    let named = kettle(Some(cue.kettle.filter(|_| pours && kettles.len() > 1)?), kettles);
    Some(format!("from {}", named.strip_prefix("kettle ").unwrap_or(&named)))
}

/// Which steep of the tea it is.
fn steep(cue: &Cue) -> Option<String> {
    let of_steep = cue.code.is_some() && !cue.action.is_at_kettle() && !cue.action.is_within();
    of_steep.then(|| words::steep(cue.steep, cue.round()))
}

/// Water and heat, where the deed itself does not say them.
fn water_and_heat(cue: &Cue) -> Vec<String> {
    let heat = cue.temp_c.filter(|_| cue.action != Action::Set).map(|temp_c| format!("{temp_c} °C"));
    let parts = water(cue).into_iter().chain(heat);
    if cue.action == Action::Fill { Vec::new() } else { parts.collect() }
}

/// How long it steeps, or for which tea a kettle is made ready.
fn purpose(cue: &Cue) -> Option<String> {
    match (cue.action, cue.steep_s, cue.code) {
        (Action::Pour, Some(0), _) => Some("flash steep: decant at once".into()),
        (Action::Pour, Some(steep_s), _) => Some(format!("steeps {steep_s} s")),
        (action, _, Some(code)) if action.is_at_kettle() => Some(format!("for {code}")),
        _ => None,
    }
}

/// A cue for the screen: `pour 417 · from steel · 2 × 110 ml · 95 °C · steep 2 · steeps 40 s`. What the hands need comes first,
/// for a narrow screen cuts the end.
pub fn with_dots(cue: &Cue, kettles: &[String]) -> String {
    let mut parts = vec![deed(cue, kettles)];
    parts.extend(source(cue, kettles));
    parts.extend(water_and_heat(cue));
    parts.extend(steep(cue));
    parts.extend(purpose(cue));
    parts.extend((cue.action == Action::Taste).then(|| format!("{} s", cue.length_s)));
    parts.join(" · ")
}

/// The same for a line of so many columns. How much water, how hot and for how long is never cut for the sake of a longer
/// wording; which steep it is goes first.
pub fn with_dots_in(room: usize, cue: &Cue, kettles: &[String]) -> String {
    let whole = with_dots(cue, kettles);
    if cue.action == Action::Fill && fit::columns(&deed(cue, kettles)) > room {
        let mut parts = vec![format!("fill {} afresh", kettle(cue.kettle, kettles))];
        parts.extend(water_and_heat(&Cue { action: Action::Pour, ..cue.clone() }));
        return fit::cut(&parts.join(" · "), room);
    }
    if fit::columns(&whole) <= room {
        return whole;
    }
    if cue.action != Action::Pour {
        let deed = deed(cue, kettles);
        return fit::cut(if fit::columns(&deed) <= room { &deed } else { &whole }, room);
    }
    let from = source(cue, kettles);
    let bare = from.as_deref().map(|from| from.trim_start_matches("from ").to_string());
    let seconds =
        cue.steep_s.map(|steep_s| if steep_s == 0 { "flash".into() } else { format!("{steep_s} s") });
    let worded = |(from, lasting): (Option<String>, Option<String>)| {
        let parts = [deed(cue, kettles)].into_iter().chain(from).chain(water_and_heat(cue)).chain(lasting);
        parts.collect::<Vec<_>>().join(" · ")
    };
    let ladder = [(from, purpose(cue)), (bare.clone(), purpose(cue)), (bare, seconds)].map(worded);
    let fits = ladder.iter().find(|words| fit::columns(words) <= room).or(ladder.last());
    fits.map_or(String::new(), |words| fit::cut(words, room))
}

/// The work under way: a tasting with the time left to taste, if anybody knows it.
pub fn under_way(room: usize, cue: &Cue, kettles: &[String], taste_left_s: Option<i64>) -> String {
    match (cue.action, taste_left_s) {
        (Action::Taste, Some(..=0)) => deed(cue, kettles),
        (Action::Taste, Some(left_s)) => format!("{} · {} left", deed(cue, kettles), clock_face(left_s)),
        (Action::Taste, None) => format!("{} · no end is set while the class holds", deed(cue, kettles)),
        _ => with_dots_in(room, cue, kettles),
    }
}

/// A cue for a line: `pour 417 (steep 2, 110 ml, 95 °C, steeps 40 s)`.
pub fn with_brackets(cue: &Cue, kettles: &[String]) -> String {
    let mut parts: Vec<String> = steep(cue).into_iter().collect();
    parts.extend(water_and_heat(cue));
    parts.extend(source(cue, kettles));
    parts.extend(purpose(cue));
    parts.extend((cue.action == Action::Taste).then(|| format!("{} s", cue.length_s)));
    let deed = deed(cue, kettles);
    if parts.is_empty() { deed } else { format!("{deed} ({})", parts.join(", ")) }
}

/// A cue that the seat could not know of in time: `decant 417 now, 6 s late: the link was away`.
pub fn late(cue: &Cue, kettles: &[String], late_s: i64) -> String {
    format!("{} now, {late_s} s late: the link was away", deed(cue, kettles))
}

/// A deed in a few capitals, for letters that are read across a table, the longest wording first: `POUR 417`,
/// `SET KETTLE STEEL 95 °C`, `SET STEEL 95 °C` down to `SET KETTLE`, `TASTE`.
pub fn headlines(cue: &Cue, kettles: &[String]) -> Vec<String> {
    let deeds = match cue.action {
        Action::Taste => vec!["taste".into()],
        action if action.is_at_kettle() => {
            let named = kettle(cue.kettle, kettles);
            let named = named.strip_prefix("the ").unwrap_or(&named);
            let short = named.strip_prefix("kettle ").unwrap_or(named);
            let mut deeds: Vec<String> =
                [named, short, "kettle"].iter().map(|named| format!("{action} {named}")).collect();
            deeds.dedup();
            if let Some(temp_c) = cue.temp_c.filter(|_| action == Action::Set) {
                let hot = deeds
                    .iter()
                    .flat_map(|deed| [format!("{deed} {temp_c} °C"), format!("{deed} {temp_c}°")]);
                deeds = hot.chain(deeds.iter().cloned()).collect();
            }
            deeds
        }
        _ => vec![cue.to_string()],
    };
    deeds.iter().map(|deed| deed.to_uppercase()).collect()
}

/// The last seconds before a cue, the longest wording first: `IN 5 · POUR 417`, `5 · POUR 417`. What is to be done is never
/// left out.
pub fn countdown(cue: &Cue, kettles: &[String], left_s: i64) -> Vec<String> {
    let mut wordings = headlines(cue, kettles);
    // At ten seconds a kettle to refill is too wide for sixty columns.
    wordings.extend(cue.action.is_at_kettle().then(|| cue.action.to_string().to_uppercase()));
    wordings
        .iter()
        .flat_map(|words| [format!("IN {left_s} · {words}"), format!("{left_s} · {words}")])
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use protocol::{Code, HostTime};

    fn cue(action: Action) -> Cue {
        let code = Code::new(611).filter(|_| action != Action::Taste);
        Cue { kettle: Some(2), ..Cue::new(HostTime(0), action, code, 1, 1, 10) }
    }

    #[test]
    fn what_hands_must_do_is_said_with_water_heat_and_kettle() {
        let one = ["kettle".to_string()];
        let two = ["steel".to_string(), "blue kettle".to_string()];
        let pour = Cue {
            water_ml: Some(110.0),
            vessels: Some(2),
            temp_c: Some(95.0),
            steep_s: Some(40),
            ..cue(Action::Pour)
        };
        let fill = Cue { water_ml: Some(900.0), temp_c: Some(92.5), ..cue(Action::Fill) };
        let set = Cue { temp_c: Some(80.0), kettle: Some(1), ..cue(Action::Set) };
        let single = Cue { vessels: None, water_ml: Some(92.54), ..pour.clone() };
        for (cue, kettles, words) in [
            (&pour, &one[..], "pour 611 · 2 × 110 ml · 95 °C · steep 1 · steeps 40 s"),
            (&pour, &two, "pour 611 · from blue kettle · 2 × 110 ml · 95 °C · steep 1 · steeps 40 s"),
            (&single, &[], "pour 611 · 92.5 ml · 95 °C · steep 1 · steeps 40 s"),
            (&fill, &one, "empty the kettle and fill it with 900 ml, set 92.5 °C · for 611"),
            (&fill, &two, "empty blue kettle and fill it with 900 ml, set 92.5 °C · for 611"),
            (&set, &two, "set kettle steel to 80 °C · for 611"),
            (&cue(Action::Fill), &one, "empty the kettle and fill it afresh · for 611"),
            (&cue(Action::Refill), &two[..1], "refill the kettle · for 611"),
            (&cue(Action::Lid), &two, "lid on 611"),
            (&cue(Action::Warm), &one, "warm 611, pour it off · steep 1"),
            (&cue(Action::PourOff), &two, "pour off the rinse of 611"),
            (&Cue { kettle: None, ..cue(Action::Taste) }, &two, "taste round 1 · 10 s"),
        ] {
            assert_eq!(with_dots(cue, kettles), words);
        }
        let narrow = with_dots_in(44, &fill, &two);
        assert_eq!(narrow, "fill blue kettle afresh · 900 ml · 92.5 °C");
        assert_eq!(with_dots_in(56, &fill, &one), "empty the kettle and fill it with 900 ml, set 92.5 °C");
        let flash = Cue { steep_s: Some(0), ..single.clone() };
        for (cue, kettles, room, words) in [
            (&single, &one[..], 53, "pour 611 · 92.5 ml · 95 °C · steep 1 · steeps 40 s"),
            (&single, &one, 44, "pour 611 · 92.5 ml · 95 °C · steeps 40 s"),
            (&pour, &two, 59, "pour 611 · blue kettle · 2 × 110 ml · 95 °C · steeps 40 s"),
            (&pour, &two, 52, "pour 611 · blue kettle · 2 × 110 ml · 95 °C · 40 s"),
            (&flash, &one, 44, "pour 611 · 92.5 ml · 95 °C · flash"),
        ] {
            let narrow = with_dots_in(room, cue, kettles);
            assert!(fit::columns(&narrow) <= room, "{narrow}");
            assert_eq!(narrow, words);
        }
        assert_eq!(with_brackets(&set, &one), "set the kettle to 80 °C (for 611)");
        assert_eq!(with_brackets(&cue(Action::Lid), &one), "lid on 611");
        let words = "pour 611 (steep 1, 2 × 110 ml, 95 °C, from blue kettle, steeps 40 s)";
        assert_eq!(with_brackets(&pour, &two), words);
    }

    #[test]
    fn before_a_cue_the_large_line_says_in_how_many_seconds_and_always_what() {
        let two = ["A".to_string(), "the old copper kettle".to_string()];
        for (cue, words) in [
            (cue(Action::Pour), &["IN 5 · POUR 611", "5 · POUR 611"][..]),
            (cue(Action::Taste), &["IN 5 · TASTE", "5 · TASTE"]),
            (cue(Action::PourOff), &["IN 5 · POUR OFF 611", "5 · POUR OFF 611"]),
            (
                Cue { kettle: Some(1), ..cue(Action::Fill) },
                &[
                    "IN 5 · FILL KETTLE A",
                    "5 · FILL KETTLE A",
                    "IN 5 · FILL A",
                    "5 · FILL A",
                    "IN 5 · FILL KETTLE",
                    "5 · FILL KETTLE",
                    "IN 5 · FILL",
                    "5 · FILL",
                ],
            ),
        ] {
            assert_eq!(countdown(&cue, &two, 5), words);
        }
    }

    #[test]
    fn a_kettle_to_set_says_how_hot_in_its_headline() {
        let cue = Cue { temp_c: Some(85.0), ..cue(Action::Set) };
        let one = ["SET KETTLE 85 °C", "SET KETTLE 85°", "SET KETTLE"];
        assert_eq!(headlines(&cue, &[]), one);
        let two = ["A".to_string(), "steel".to_string()];
        let named = ["SET KETTLE STEEL", "SET STEEL", "SET KETTLE"];
        let hot = named.iter().flat_map(|deed| [format!("{deed} 85 °C"), format!("{deed} 85°")]);
        let all: Vec<String> = hot.chain(named.map(String::from)).collect();
        assert_eq!(headlines(&cue, &two), all);
    }

    #[test]
    fn a_tasting_says_how_much_time_is_left_if_anybody_knows() {
        let taste = cue(Action::Taste);
        assert_eq!(under_way(80, &taste, &[], Some(8)), "taste round 1 · 0:08 left");
        assert_eq!(under_way(80, &taste, &[], None), "taste round 1 · no end is set while the class holds");
    }
}
