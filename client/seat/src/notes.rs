//! What a person takes home: their own scores and notes, and how the teas were steeped as far as that was revealed.

use crate::app::{App, Class, Cup};
use crate::deeds::millilitres;
use crate::words;
use protocol::{Phase, Recipe, TeaCard, fit};

/// How wide the text is, in columns: as a letter.
const WIDTH: usize = 80;

/// The whole text; empty before the seat has its place.
pub fn text(app: &App) -> String {
    let Some(class) = &app.class else { return String::new() };
    let mut lines = vec![format!("{} · {}", class.title, app.name)];
    for card in &class.teas {
        let blind = if card.name.is_none() { " · not revealed" } else { "" };
        lines.extend([String::new(), format!("{}{blind}", words::tea(card))]);
        let poured = |steep| is_poured(app, class, Cup { code: card.code, steep });
        let recipe = card.recipe.iter().flat_map(|card| recipe(card, poured));
        lines.extend(recipe.flat_map(|line| fit::wrap(&line, WIDTH)));
        lines.extend(scores(app, class, card));
    }
    if !class.answered.is_empty() {
        lines.push(String::new());
        lines.extend(class.answered.values().map(words::answer));
    }
    lines.join("\n") + "\n"
}

/// Whether a steep was poured by the timetable; after the end of a class nothing is.
fn is_poured(app: &App, class: &Class, cup: Cup) -> bool {
    let at = class.closed_at.or(app.last_host_time());
    at.is_none_or(|at| class.timetable.poured(cup.code, cup.steep, at))
}

/// A line for each steep that was poured.
fn scores(app: &App, class: &Class, card: &TeaCard) -> Vec<String> {
    let poured = |steep| is_poured(app, class, Cup { code: card.code, steep });
    let over = class.phase == Phase::Closed;
    let last = class.last_round(card.code).max(card.steeps);
    let each = (1..=last).map(|steep| {
        let cup = Cup { code: card.code, steep };
        let which = class.served(cup).which();
        let waiting = app.outbox().iter().filter(|score| Cup::of(score) == cup).max_by_key(|s| s.revision);
        let said = waiting.or_else(|| class.taken.get(&cup));
        let late = if waiting.is_some() { " (the host has not got it yet)" } else { "" };
        let content = said.map(|score| words::score_content(score, &class.sheet) + late);
        let filled = app.desk.drafts.get(&cup).filter(|filled| over && !filled.is_blank());
        let not_sent = filled.map(|filled| words::content(filled, &class.sheet));
        let content = content.or_else(|| (not_sent.is_none() && poured(steep)).then(|| "no score".into()));
        let content = content.map(|content| format!("  {which}: {content}"));
        let not_sent = not_sent.map(|content| format!("  {which}, not sent: {content}"));
        content.into_iter().chain(not_sent).flat_map(|line| fit::wrap(&line, WIDTH)).collect::<Vec<_>>()
    });
    let lines: Vec<_> = each.flatten().collect();
    if lines.is_empty() { vec!["  not poured".into()] } else { lines }
}

/// How a tea was steeped, a line each; of its steeps those that were poured.
fn recipe(recipe: &Recipe, poured: impl Fn(u32) -> bool) -> Vec<String> {
    let Recipe { leaf_g, water_ml, temp_c, steep_s, rinse_s } = recipe;
    let rinse = rinse_s.map(|s| format!(", rinsed {s} s")).unwrap_or_default();
    let steeps = steep_s.iter().enumerate().map(|(i, seconds)| {
        let heat = temp_c.get(i).or(temp_c.last()).map(|c| format!(" at {c} °C")).unwrap_or_default();
        format!("{seconds} s{heat}")
    });
    let steeps: Vec<_> =
        steeps.zip(1..).filter(|(_, steep)| poured(*steep)).map(|(words, _)| words).collect();
    let mut lines = vec![format!("  {leaf_g} g of leaf, {} of water{rinse}", millilitres(*water_ml))];
    lines.extend((!steeps.is_empty()).then(|| format!("  steeped {}", steeps.join(", "))));
    lines
}

/// A name for the file that says what it is of, of characters that every machine takes.
pub fn file_name(app: &App) -> String {
    let whole = format!("{} {}", app.title().unwrap_or("tea class"), app.name);
    let plain = |c: char| if c.is_alphanumeric() { c } else { ' ' };
    let spaced: String = whole.chars().map(plain).collect();
    let words: Vec<_> = spaced.split_whitespace().collect();
    let short: String = words.join(" ").chars().take(40).collect();
    format!("{}.txt", short.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{Desk, code, score, welcome};
    use protocol::wire::{HostMessage, Welcome};
    use protocol::{Phase, Strength};

    fn closed() -> Desk {
        let mut second = score(4, 417, 2);
        (second.strength, second.note) = (Some(Strength::TooThin), "warm bread, ".repeat(9));
        let scores = vec![score(3, 417, 1), second];
        let mut desk = Desk::seated(Welcome { scores, ..welcome(Phase::Closed) });
        let recipe = Recipe {
            leaf_g: 5.0,
            water_ml: 110.0,
            temp_c: vec![95.0, 92.5],
            steep_s: vec![40, 60],
            rinse_s: Some(5),
        };
        let name = Some("Lantern Slope".to_string());
        let card = TeaCard { code: code(417), steeps: 2, name, leaf: None, recipe: Some(recipe) };
        // The class was closed before steep 2 of 238.
        desk.go_to(210);
        desk.host(HostMessage::Revealed { seq: 40, teas: vec![card] });
        desk
    }

    #[test]
    fn what_is_taken_home_can_be_read_by_anybody() {
        let wanted = "\
Two ways · Ann

417 Lantern Slope
  5 g of leaf, 110 ml of water, rinsed 5 s
  steeped 40 s at 95 °C, 60 s at 92.5 °C
  steep 1: aroma 7, liking 8
  steep 2: aroma 7, liking 8, too thin, “warm bread, warm bread, warm bread,
  warm bread, warm bread, warm bread, warm bread, warm bread, warm bread, ”

238 · not revealed
  steep 1: no score
";
        assert_eq!(text(&closed().app), wanted);
    }

    #[test]
    fn of_a_class_that_was_closed_early_only_the_steeps_that_were_poured_are_told() {
        let mut desk = Desk::seated(welcome(Phase::Running));
        desk.go_to(190);
        let timetable = crate::fixture::timetable(2);
        desk.host(HostMessage::Course { seq: 30, phase: Phase::Closed, timetable });
        desk.go_to(500);
        let steep_s = vec![40, 60];
        let recipe = Recipe { leaf_g: 5.0, water_ml: 110.0, temp_c: vec![95.0], steep_s, rinse_s: None };
        let card = TeaCard { code: code(417), steeps: 2, name: None, leaf: None, recipe: Some(recipe) };
        desk.host(HostMessage::Revealed { seq: 40, teas: vec![card] });
        let text = text(&desk.app);
        assert!(text.contains("  steeped 40 s at 95 °C\n  steep 1: no score\n\n"), "{text}");
        assert!(!text.contains("steep 2"), "{text}");
    }

    #[test]
    fn a_file_s_name_leads_nowhere_else() {
        let mut app = closed().app;
        assert_eq!(file_name(&app), "Two ways Ann.txt");
        app.name = "../Zoë \u{1b}[2J/é".into();
        assert_eq!(file_name(&app), "Two ways Zoë 2J é.txt");
    }
}
