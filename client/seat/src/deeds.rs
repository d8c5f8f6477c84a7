//! A cue in words: what to do, with how much water and how hot, from which kettle, and when. The same on every kind of seat.

use protocol::say::kettle;
use protocol::time::clock_face;
use protocol::{Action, Cue, HostTime};

/// What is to be done: `pour 417`, `set the kettle to 95 °C`, `pour off the rinse of 417`.
pub fn deed(cue: &Cue, kettles: &[String]) -> String {
    match (cue.action, cue.code) {
        (Action::Set, _) => match cue.temp_c {
            Some(temp_c) => format!("set {} to {temp_c} °C", kettle(cue.kettle, kettles)),
            None => format!("set {}", kettle(cue.kettle, kettles)),
        },
        (action, _) if action.is_at_kettle() => format!("{action} {}", kettle(cue.kettle, kettles)),
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

/// What goes with a deed: `["steep 2", "2 × 110 ml", "95 °C", "steeps 40 s"]`.
fn particulars(cue: &Cue, kettles: &[String]) -> Vec<String> {
    let mut parts = Vec::new();
    let at_kettle = cue.action.is_at_kettle();
    if cue.code.is_some() && !at_kettle && !cue.action.is_within() {
        parts.push(format!("steep {}", cue.steep));
    }
    parts.extend(water(cue));
    parts.extend(cue.temp_c.filter(|_| cue.action != Action::Set).map(|temp_c| format!("{temp_c} °C")));
    if cue.kettle.is_some() && !at_kettle && !cue.action.is_within() && kettles.len() > 1 {
        let named = kettle(cue.kettle, kettles);
        parts.push(format!("from {}", named.strip_prefix("kettle ").unwrap_or(&named)));
    }
    match (cue.action, cue.steep_s) {
        (Action::Pour, Some(0)) => parts.push("flash steep: decant at once".into()),
        (Action::Pour, Some(steep_s)) => parts.push(format!("steeps {steep_s} s")),
        _ => {}
    }
    parts.extend(cue.code.filter(|_| at_kettle).map(|code| format!("for {code}")));
    parts
}

/// A cue for the screen: `pour 417 · steep 2 · 2 × 110 ml · 95 °C · steeps 40 s`.
pub fn with_dots(cue: &Cue, kettles: &[String]) -> String {
    let mut parts = vec![deed(cue, kettles)];
    parts.extend(particulars(cue, kettles));
    parts.extend((cue.action == Action::Taste).then(|| format!("{} s", cue.length_s)));
    parts.join(" · ")
}

/// The work under way: a tasting with the time left until it ends.
pub fn under_way(cue: &Cue, kettles: &[String], ends: HostTime, at: HostTime) -> String {
    match cue.action {
        Action::Taste => format!("{} · {} left", deed(cue, kettles), clock_face(ends.seconds_until(at))),
        _ => with_dots(cue, kettles),
    }
}

/// A cue for a line: `pour 417 (steep 2, 110 ml, 95 °C, steeps 40 s)`.
pub fn with_brackets(cue: &Cue, kettles: &[String]) -> String {
    let mut parts = particulars(cue, kettles);
    parts.extend((cue.action == Action::Taste).then(|| format!("{} s", cue.length_s)));
    let deed = deed(cue, kettles);
    if parts.is_empty() { deed } else { format!("{deed} ({})", parts.join(", ")) }
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
    use protocol::Code;

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
            (&pour, &one[..], "pour 611 · steep 1 · 2 × 110 ml · 95 °C · steeps 40 s"),
            (&pour, &two, "pour 611 · steep 1 · 2 × 110 ml · 95 °C · from blue kettle · steeps 40 s"),
            (&single, &[], "pour 611 · steep 1 · 92.5 ml · 95 °C · steeps 40 s"),
            (&fill, &one, "fill the kettle · 900 ml · 92.5 °C · for 611"),
            (&fill, &two, "fill blue kettle · 900 ml · 92.5 °C · for 611"),
            (&set, &two, "set kettle steel to 80 °C · for 611"),
            (&cue(Action::Refill), &two[..1], "refill the kettle · for 611"),
            (&cue(Action::Lid), &two, "lid on 611"),
            (&cue(Action::PourOff), &two, "pour off the rinse of 611"),
            (&Cue { kettle: None, ..cue(Action::Taste) }, &two, "taste round 1 · 10 s"),
        ] {
            assert_eq!(with_dots(cue, kettles), words);
        }
        assert_eq!(with_brackets(&set, &one), "set the kettle to 80 °C (for 611)");
        assert_eq!(with_brackets(&cue(Action::Lid), &one), "lid on 611");
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
    fn a_tasting_says_how_much_time_is_left() {
        let (ends, at) = (HostTime(12_000_000), HostTime(4_500_000));
        assert_eq!(under_way(&cue(Action::Taste), &[], ends, at), "taste round 1 · 0:08 left");
    }
}
