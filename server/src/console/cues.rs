//! Cues in plain words, as the teacher reads them.

use protocol::say::kettle;
use protocol::{Action, Cue, HostTime};
use room::LEAD_S;

/// What comes first, and when.
pub(super) fn first_cue(cues: &[Cue], now: HostTime, kettles: &[String]) -> String {
    match cues.iter().find(|c| c.at > now) {
        Some(cue) => format!("{} in {} s", deed(cue, kettles), cue.at.seconds_until(now)),
        None => "nothing is left to be poured".into(),
    }
}

/// A pour that is this far off wants a reason even where hands have other work before it, seconds.
const UNEXPLAINED_S: i64 = 30;

/// Why the next pour of a resumed class is later than people expect; nothing if it is not.
pub(super) fn wait(cues: &[Cue], now: HostTime, kettles: &[String]) -> Option<String> {
    let before = || cues.iter().filter(|c| c.at > now).take_while(|c| c.action != Action::Pour);
    let pour = cues.iter().find(|c| c.at > now && c.action == Action::Pour)?;
    let wait_s = pour.at.seconds_until(now);
    // Where the line begins with something else, it has to say which pour this is about.
    let first = before().next().map_or(String::new(), |_| format!("{} in {wait_s} s: ", deed(pour, kettles)));
    let heating = || {
        let kettle = kettle(pour.kettle, kettles);
        // So short a wait may as well be for hands.
        if wait_s <= UNEXPLAINED_S && !before().any(|c| c.action.is_at_kettle()) {
            return format!("; {first}hands and {kettle} are ready then");
        }
        let hot = pour.temp_c.map_or(String::new(), |c| format!(" at {c} °C"));
        format!("; {first}{kettle} takes until then to be ready{hot}")
    };
    let tasted = before().find(|c| matches!(c.action, Action::Taste | Action::SheetCloses));
    let decants = before().any(|c| c.action == Action::Decant);
    if tasted.is_none() && !decants {
        let hands_s: i64 = before().map(|c| i64::from(c.length_s)).sum();
        return (wait_s > i64::from(LEAD_S) + hands_s).then(heating);
    }
    // Decants need the hands now and then only: it is the kettle if nothing was poured from it since it was seen to.
    let own = |c: &&Cue| c.at < pour.at && c.kettle.is_some() && c.kettle == pour.kettle;
    let heats = cues.iter().rfind(own).is_some_and(|c| c.action.is_at_kettle());
    (wait_s > UNEXPLAINED_S).then(|| match tasted {
        Some(cue) => format!("; {first}round {} is tasted before", cue.round()),
        None if heats => heating(),
        None => format!("; {first}what is steeping is decanted before"),
    })
}

/// A cue in plain words, without how much and how hot: `refill the kettle for 611`.
pub fn deed(cue: &Cue, kettles: &[String]) -> String {
    match (cue.action, cue.code) {
        (action, Some(code)) if action.is_at_kettle() => {
            format!("{action} {} for {code}", kettle(cue.kettle, kettles))
        }
        (Action::PourOff, Some(code)) => format!("pour off the rinse of {code}"),
        _ => cue.to_string(),
    }
}

/// A cue with all that the hands have to know: `pour 611, 110 ml at 95 °C from the kettle`.
pub fn with_water(cue: &Cue, kettles: &[String]) -> String {
    let hot = cue.temp_c.map(|c| format!("{c} °C"));
    let named = kettle(cue.kettle, kettles);
    let code = cue.code.map_or(String::new(), |code| format!(", for {code}"));
    match cue.action {
        Action::Fill => {
            let with = cue.water_ml.map_or(String::new(), |ml| format!(" with {ml:.0} ml"));
            let hot = hot.map_or(String::new(), |c| format!(", set {c}"));
            format!("empty {named} and fill it{with}{hot}{code}")
        }
        Action::Refill => {
            format!("refill {named} to the full{}{code}", hot.map_or(String::new(), |c| format!(", set {c}")))
        }
        Action::Set => format!("set {named}{}{code}", hot.map_or(String::new(), |c| format!(" to {c}"))),
        _ => {
            let vessels = cue.vessels.filter(|n| *n > 1).map_or(String::new(), |n| format!("{n} × "));
            let water = cue.water_ml.map(|ml| format!("{vessels}{ml:.0} ml"));
            let from = cue.kettle.map(|_| format!("from {named}"));
            let hot = hot.map(|c| if water.is_some() { format!("at {c}") } else { c });
            let what: Vec<String> = [water, hot, from].into_iter().flatten().collect();
            let what = if what.is_empty() { String::new() } else { format!(", {}", what.join(" ")) };
            deed(cue, kettles) + &what
        }
    }
}

/// A cue as it falls.
pub fn cue(cue: &Cue, pourers: u8, kettles: &[String]) -> String {
    let mut about = Vec::new();
    if matches!(cue.action, Action::Pour | Action::Decant) {
        about.push(match cue.other_round {
            Some(round) => format!("steep {} in round {round}", cue.steep),
            None => format!("steep {}", cue.steep),
        });
    }
    if let (Action::Pour, Some(steep_s)) = (cue.action, cue.steep_s) {
        about.push(format!("{steep_s} s"));
    }
    if pourers > 1 && cue.hands > 0 {
        about.push(format!("pourer {}", cue.hands));
    }
    let about = if about.is_empty() { String::new() } else { format!(" ({})", about.join(", ")) };
    format!("cue: {}{about}", with_water(cue, kettles))
}

#[cfg(test)]
mod tests {
    use super::*;
    use protocol::Code;

    fn cue(action: Action, at_s: i64) -> Cue {
        let (at, code) = (HostTime(at_s * 1_000_000), Code::new(611));
        Cue { kettle: Some(1), temp_c: Some(95.0), ..Cue::new(at, action, code, 1, 1, 8) }
    }

    fn kettles() -> Vec<String> {
        vec!["big kettle".into(), "small kettle".into()]
    }

    #[test]
    fn every_cue_says_what_hands_need_to_know() {
        let pour = Cue { water_ml: Some(110.0), ..cue(Action::Pour, 0) };
        let plain = |action| Cue { kettle: None, temp_c: None, ..cue(action, 0) };
        for (cue, words) in [
            (cue(Action::Fill, 0), "empty big kettle and fill it, set 95 °C, for 611"),
            (
                Cue { water_ml: Some(1200.0), ..cue(Action::Fill, 0) },
                "empty big kettle and fill it with 1200 ml, set 95 °C, for 611",
            ),
            (cue(Action::Refill, 0), "refill big kettle to the full, set 95 °C, for 611"),
            (cue(Action::Set, 0), "set big kettle to 95 °C, for 611"),
            (pour.clone(), "pour 611, 110 ml at 95 °C from big kettle"),
            (Cue { vessels: Some(2), ..pour }, "pour 611, 2 × 110 ml at 95 °C from big kettle"),
            (Cue { kettle: None, ..cue(Action::Pour, 0) }, "pour 611, 95 °C"),
            (plain(Action::Lid), "lid on 611"),
            (plain(Action::PourOff), "pour off the rinse of 611"),
            (plain(Action::Decant), "decant 611"),
        ] {
            assert_eq!(with_water(&cue, &kettles()), words);
        }
    }

    #[test]
    fn a_class_that_has_to_wait_for_a_kettle_says_why() {
        let wait = |cues: &[Cue]| wait(cues, HostTime(0), &kettles());
        assert_eq!(wait(&[cue(Action::Pour, 10)]), None, "nobody waits");
        let soon = Some("; hands and big kettle are ready then".to_string());
        assert_eq!(wait(&[cue(Action::Pour, 13)]), soon, "which of them it is for is not known");
        let late = cue(Action::Pour, 95);
        let why = Some("; big kettle takes until then to be ready at 95 °C".to_string());
        assert_eq!(wait(std::slice::from_ref(&late)), why);
        let set = cue(Action::Set, 10);
        let why = "; pour 611 in 95 s: big kettle takes until then to be ready at 95 °C";
        assert_eq!(wait(&[set.clone(), late.clone()]).as_deref(), Some(why));
        let decant = Cue { kettle: None, ..cue(Action::Decant, 12) };
        assert_eq!(wait(&[set, decant.clone(), late.clone()]).as_deref(), Some(why));
        let why = "; pour 611 in 95 s: what is steeping is decanted before";
        assert_eq!(wait(&[decant.clone(), late.clone()]).as_deref(), Some(why));
        let why = "; pour 611 in 95 s: round 1 is tasted before";
        assert_eq!(wait(&[cue(Action::SheetCloses, 60), late]).as_deref(), Some(why));
        assert_eq!(wait(&[decant, cue(Action::Pour, 29)]), None, "nobody asks why");
    }
}
