//! What happens, in words.

use host::Happening;
use protocol::{Cue, HostTime};
use room::view::View;
use room::{Event, Room};

/// What a happening is called on a console; nothing for what concerns nobody.
pub fn happening(happening: &Happening, seat_name: impl Fn(protocol::SeatId) -> String) -> Option<String> {
    let entry = match happening {
        Happening::Linked(name) => return Some(format!("linked: {name}")),
        Happening::Unlinked(name) => return Some(format!("link lost: {name}")),
        Happening::Entry(entry) => entry,
    };
    Some(match &entry.event {
        Event::Class { .. } | Event::Opened { .. } => return None,
        Event::Seated { name, pourer: Some(pourer), .. } => format!("seated: {name}, pourer {pourer}"),
        Event::Seated { name, .. } => format!("seated: {name}"),
        Event::Released { seat } => {
            format!("released: the seat of {} waits for a new link of that name", seat_name(*seat))
        }
        Event::Started { timetable } => format!("started: {}", first_cue(&timetable.cues, entry.at)),
        Event::Held { .. } => "held: nothing dry is started; what is wet ends on time".into(),
        Event::Resumed { timetable } => format!("resumed: {}", first_cue(&timetable.cues, entry.at)),
        Event::Scored { seat, score, .. } => {
            let again = if score.revision > 1 { ", revised" } else { "" };
            // Not which ones: the class may see this, too.
            let words = match score.words.len() {
                0 => String::new(),
                1 => ", 1 word".into(),
                n => format!(", {n} words"),
            };
            format!("scored: {} steep {} by {}{again}{words}", score.code, score.steep, seat_name(*seat))
        }
        Event::Revealed { codes } => {
            let codes: Vec<String> = codes.iter().map(ToString::to_string).collect();
            format!("revealed: {}", codes.join(", "))
        }
        Event::TestOpened { test } => format!("test {test} is open to the seats"),
        Event::Answered { seat, answer } => {
            let again = if answer.revision > 1 { ", revised" } else { "" };
            format!("answered: test {} by {}{again}", answer.test, seat_name(*seat))
        }
        Event::LastCall { until } => {
            format!(
                "last call: the class closes in {} s; scores are taken until then",
                until.seconds_until(entry.at)
            )
        }
        Event::SeatCounts { seat, counts: true } => format!("the scores of {} count", seat_name(*seat)),
        Event::SeatCounts { seat, counts: false } => {
            format!("left out: the scores of {} do not count", seat_name(*seat))
        }
        // A host has the ledger to itself while it runs: these are made when none does.
        Event::Renamed { .. } | Event::SeatsJoined { .. } | Event::Voided { .. } => return None,
        Event::Closed => "closed: no score is taken any more".into(),
    })
}

fn first_cue(cues: &[Cue], now: HostTime) -> String {
    match cues.iter().find(|c| c.at > now) {
        Some(cue) => format!("{cue} in {} s", cue.at.seconds_until(now)),
        None => "nothing is left to be poured".into(),
    }
}

/// A cue as it falls.
pub fn cue(cue: &Cue, pourers: u8) -> String {
    use protocol::Action;
    let hands = if pourers > 1 && cue.hands > 0 { format!(", pourer {}", cue.hands) } else { String::new() };
    match (cue.action, cue.steep_s) {
        (Action::Pour, Some(steep_s)) => format!("cue: {cue} (steep {}, {steep_s} s{hands})", cue.steep),
        (Action::Decant, _) => format!("cue: {cue} (steep {}{hands})", cue.steep),
        (Action::Warm | Action::Rinse, _) if !hands.is_empty() => format!("cue: {cue} ({})", &hands[2..]),
        _ => format!("cue: {cue}"),
    }
}

/// Who is seated.
pub fn who(view: &View) -> String {
    let mut out = format!("{} of {} expected seats", view.seats.len(), view.expected);
    for seat in &view.seats {
        let pourer = seat.pourer.map_or(String::new(), |p| format!(", pourer {p}"));
        let link = if seat.linked { "linked" } else { "no link" };
        out += &format!(
            "\n  {}{pourer}: {link}, {} of {} sheets",
            seat.name, seat.sheets.present, seat.sheets.due
        );
    }
    for test in &view.tests {
        out += &format!("\ntest {}, {}: ", test.number, test.kind);
        out += &match (test.open, test.missing.as_slice()) {
            (false, _) => "not open".to_string(),
            (true, []) => format!("all {} have answered", test.answered.due),
            (true, missing) => format!(
                "{} of {} have answered, not {}",
                test.answered.present,
                test.answered.due,
                missing.join(", ")
            ),
        };
    }
    out
}

/// One line about a class.
pub fn heading(room: &Room) -> String {
    let class = &room.class;
    format!(
        "{} · {} · {} teas, {} rounds, {} seats expected",
        class.title,
        class.date,
        class.teas.len(),
        class.rounds(),
        class.seats
    )
}

/// Which tea is under which code, for the teacher alone.
pub fn key(room: &Room) -> String {
    let lines = room.class.coded().map(|(code, tea)| {
        let (coolest, hottest) =
            tea.temp_c.iter().fold((f64::MAX, f64::MIN), |(a, b), &t| (a.min(t), b.max(t)));
        let temp = if coolest == hottest { format!("{hottest}") } else { format!("{coolest}–{hottest}") };
        format!(
            "{code}  {} · {} g in {} ml ({:.1} g per 100 ml) at {temp} °C · {} steep{}",
            tea.name,
            tea.leaf_g,
            tea.water_ml,
            tea.dose_g_per_100_ml(),
            tea.steeps(),
            if tea.steeps() == 1 { "" } else { "s" }
        )
    });
    let lines: Vec<String> = lines.collect();
    lines.join("\n")
}
