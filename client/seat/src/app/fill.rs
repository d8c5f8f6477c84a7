//! From a filled sheet to a score on its way.

use super::{App, Class, Cleared, Cup, Draw, Effect, Fill, Filled, Happening, Line, LinkState, Served};
use crate::host_clock::OwnTime;
use crate::words;
use protocol::text::NOTE_CHARS;
use protocol::time::clock_face;
use protocol::wire::{SeatMessage, has_cup};
use protocol::{Action, Attribute, Code, HostTime, Phase, Score, Sheet, text};
use uuid::Uuid;

/// So long somebody may have been at a line, and for each character of a note so much longer, in microseconds of the room.
const LINE_US: i64 = 20_000_000;
const LETTER_US: i64 = 350_000;

/// How long ago a line may have been begun that ends now.
fn line_us(fill: &Fill) -> i64 {
    let letters = fill.note.chars().count().min(2 * NOTE_CHARS) as i64;
    LINE_US + letters * LETTER_US
}

/// Typed words as the sheet spells them, in its order.
fn spelt_as_on(sheet: &Sheet, typed: &[String]) -> Result<Vec<String>, String> {
    let same = |one: &str, other: &str| text::name_key(one) == text::name_key(other);
    if let Some(unknown) = typed.iter().find(|t| !sheet.words.iter().any(|w| same(w, t))) {
        return Err(match sheet.words.is_empty() {
            true => "this class's sheet does not ask for words".into(),
            false => format!(
                "the sheet has no word `{}`; it has {}",
                text::clean(unknown, 20),
                sheet.words.join(", ")
            ),
        });
    }
    let ticked = sheet.words.iter().filter(|w| typed.iter().any(|t| same(w, t)));
    Ok(ticked.cloned().collect())
}

/// Why values may be meant for the first lines alone or for the whole sheet: they end before those that were sent. One that
/// is not on its scale is told by itself.
fn falls_short(cup: Served, sheet: &Sheet, said: &Score, values: &[Option<i32>]) -> Option<String> {
    let (first, all) = (sheet.attributes.first()?, sheet.attributes.len());
    let value = values.first()?.map_or("-".into(), |value| value.to_string());
    let fits = |(a, value): (&Attribute, &Option<i32>)| value.is_none_or(|v| (a.min..=a.max).contains(&v));
    let drops = sheet.attributes.iter().skip(values.len()).any(|a| said.values.contains_key(&a.name));
    (drops && sheet.attributes.iter().zip(values).all(fits)).then(|| {
        let has = words::score_content(said, sheet);
        format!(
            "{cup} has {has}; type all {all} values to replace them, - for a blank, or `{} {} {value}` to change one",
            cup.short(),
            first.name
        )
    })
}

impl App {
    /// A whole sheet at once. What it does not name stays as it was sent before.
    pub(super) fn fill(&mut self, fill: &Fill, now: OwnTime, draw: Draw<'_>) -> Vec<Effect> {
        match self.read(fill, now) {
            Ok((cup, filled)) => self.send(cup, &filled, now, draw),
            Err(reason) => self.not_taken(reason, now),
        }
    }

    fn read(&self, fill: &Fill, now: OwnTime) -> Result<(Cup, Filled), String> {
        let class = self.class.as_ref().ok_or(words::NOT_SEATED)?;
        words::not_asked(class.role).map_or(Ok(()), Err)?;
        let cup = self.find_cup(class, fill.code, fill.steep, now)?;
        if fill.steep.is_none() {
            self.is_plain_which(class, cup, fill, now)?;
        }
        self.filled_by(class, cup, fill).map(|filled| (cup, filled))
    }

    /// The cup's sheet as the line leaves it.
    fn filled_by(&self, class: &Class, cup: Cup, fill: &Fill) -> Result<Filled, String> {
        let attributes = &class.sheet.attributes;
        let names = || attributes.iter().map(|a| a.name.as_str()).collect::<Vec<_>>().join(", ");
        if fill.values.len() > attributes.len() {
            let (given, asked) = (fill.values.len(), attributes.len());
            return Err(format!("{given} values for {asked} lines; the sheet asks {}", names()));
        }
        let said = self.said(cup).filter(|_| !fill.says_nothing());
        let mut filled = said.map(Filled::from).unwrap_or_default();
        let mut put = |attribute: &Attribute, value| filled.set_points(&Line::Attribute(attribute), value);
        attributes.iter().zip(&fill.values).for_each(|(attribute, value)| put(attribute, *value));
        for (name, value) in &fill.named {
            let called = |a: &&Attribute| text::name_key(&a.name) == text::name_key(name);
            let attribute = attributes.iter().find(called).ok_or_else(|| {
                format!("the sheet has no line `{}`; it has {}", text::clean(name, 20), names())
            })?;
            put(attribute, *value);
        }
        let falls_short = |score| falls_short(class.served(cup), &class.sheet, score, &fill.values);
        if let Some(reason) = said.and_then(falls_short) {
            return Err(reason);
        }
        let words = spelt_as_on(&class.sheet, &fill.words)?;
        let too_many = fill.note.trim().chars().count().saturating_sub(NOTE_CHARS);
        if too_many > 0 {
            let what = words::count(too_many, "character");
            return Err(format!("the note is {what} too long: {NOTE_CHARS} fit"));
        }
        let clears = |what| fill.cleared.contains(&what);
        if fill.strength.is_some() || clears(Cleared::Strength) {
            filled.strength = fill.strength;
        }
        if !words.is_empty() || clears(Cleared::Words) {
            filled.words = words;
        }
        if !fill.note.is_empty() || clears(Cleared::Note) {
            filled.note = fill.note.clone();
        }
        Ok(filled)
    }

    /// A line without a steep is for the newest cup of the tea, unless it may be meant for the one before: that has no score
    /// yet, or it was the last that was done for this tea and its sheet is still open, or the newest came into being while the
    /// line may have been typed. Then it is asked which is meant; whoever has scored the newest cup has seen it.
    fn is_plain_which(&self, class: &Class, cup: Cup, fill: &Fill, now: OwnTime) -> Result<(), String> {
        let Some(at) = self.host_now(now) else { return Ok(()) };
        let (code, missing) = (cup.code, self.missing(at));
        let ask = |steep, why| Err(format!("{why}; say which is meant: {code}/{steep} or {}", cup.short()));
        if let Some(earlier) = missing.iter().filter(|of| of.code == code && of.steep < cup.steep).min() {
            return ask(earlier.steep, format!("{} has no score either", class.served(*earlier)));
        }
        let before = cup.steep.saturating_sub(1);
        let in_round = |steep| class.served(Cup { code, steep });
        if before == 0 || self.said(cup).is_some() {
            return Ok(());
        }
        if class.timetable.find(Action::SheetCloses, None, before).is_some_and(|closes| closes.at > at) {
            return ask(before, format!("the sheet of {} is still open", in_round(before)));
        }
        match class.cup_from(cup).map(|from| self.clock.in_room_us(at - from)) {
            Some(for_us) if for_us < line_us(fill) => {
                let ago = for_us / 1_000_000;
                ask(
                    before,
                    format!("{} was decanted {ago} s ago, perhaps while you typed", class.served(cup)),
                )
            }
            _ => Ok(()),
        }
    }

    /// The cup of a code and a steep; without a steep the one last decanted: what is in the cup, not what is in the
    /// vessel.
    pub(super) fn find_cup(
        &self,
        class: &Class,
        code: Code,
        steep: Option<u32>,
        now: OwnTime,
    ) -> Result<Cup, String> {
        let Some(tea) = class.teas.iter().find(|tea| tea.code == code) else {
            let codes: Vec<_> = class.teas.iter().map(|t| t.code.to_string()).collect();
            return Err(format!("no tea is served as {code}; there are {}", codes.join(", ")));
        };
        let at = self.host_now(now).ok_or("the host's clock is not known yet; try again in a moment")?;
        let last = || class.decanted(at).into_iter().rfind(|cup| cup.code == code).map(|cup| cup.steep);
        let poured = || class.timetable.clock(code, at).round.max(1);
        let cup = Cup { code, steep: steep.or_else(last).unwrap_or_else(poured) };
        if !has_cup(&class.teas, code, cup.steep) && class.cup_from(cup).is_none() {
            return Err(format!("{code} has no steep {}; it has {}", cup.steep, tea.steeps));
        }
        not_yet(class, cup, at).map_or(Ok(cup), Err)
    }

    /// The score of a filled sheet, if it can be sent; its id is drawn when it is.
    pub(super) fn score_of(&self, cup: Cup, filled: &Filled, now: OwnTime) -> Result<Score, String> {
        let class = self.class.as_ref().ok_or(words::NOT_SEATED)?;
        if class.phase == Phase::Closed {
            return Err("the class is closed; no score is taken any more".into());
        }
        if let Some(reason) = self.host_now(now).and_then(|at| not_yet(class, cup, at)) {
            return Err(reason);
        }
        if let Some(reason) = self.void(cup) {
            return Err(format!("{} does not count: {reason}; nothing has to be done", class.served(cup)));
        }
        let score = Score {
            id: Uuid::nil(),
            code: cup.code,
            steep: cup.steep,
            revision: self.next_revision(cup),
            values: filled.values.clone(),
            strength: filled.strength,
            note: filled.note.clone(),
            words: filled.words.clone(),
        }
        .inert();
        score.check(&class.sheet).map_err(|fault| fault.to_string())?;
        Ok(score)
    }

    /// First into the outbox and onto the disk, then on its way. The draft is none any more.
    pub(super) fn put_on_its_way(&mut self, score: Score, now: OwnTime, draw: Draw<'_>) -> Vec<Effect> {
        let Some(class) = &mut self.class else { return Vec::new() };
        let score = Score { id: draw(), ..score };
        let cup = Cup::of(&score);
        class.reopened.remove(&cup);
        self.kept.put_in(class.id, score.clone());
        self.desk.drafts.remove(&cup);
        let linked = self.link == LinkState::Linked;
        self.note(now, self.on_its_way(cup));
        let sent = Happening::Sent { score: score.clone(), cup: self.served(cup), linked };
        let mut effects = vec![Effect::Keep, Effect::Say(sent)];
        if linked {
            effects.push(Effect::Send(SeatMessage::Score(score)));
        }
        effects
    }

    /// The person sends a sheet, if it fits.
    pub(super) fn send(&mut self, cup: Cup, filled: &Filled, now: OwnTime, draw: Draw<'_>) -> Vec<Effect> {
        match self.score_of(cup, filled, now) {
            Ok(score) => {
                let effects = self.put_on_its_way(score, now, draw);
                self.go_on_from(cup, &self.on_its_way(cup), now);
                effects
            }
            Err(reason) => self.not_taken(reason, now),
        }
    }

    fn on_its_way(&self, cup: Cup) -> String {
        let linked = self.link == LinkState::Linked;
        format!(
            "{} {}",
            self.served(cup),
            if linked { "is sent" } else { "is kept here and waits for the link" }
        )
    }

    fn next_revision(&self, cup: Cup) -> u32 {
        let waiting = self.outbox().iter().filter(|s| Cup::of(s) == cup).map(|s| s.revision).max();
        let taken = self.class.as_ref().and_then(|c| c.taken.get(&cup)).map(|s| s.revision);
        waiting.max(taken).unwrap_or(0).saturating_add(1)
    }

    pub(super) fn not_taken(&mut self, reason: String, now: OwnTime) -> Vec<Effect> {
        self.note(now, reason.clone());
        vec![Effect::Say(Happening::NotTaken { id: None, reason })]
    }
}

/// Why a cup can't be scored yet, and when it can be.
fn not_yet(class: &Class, cup: Cup, at: HostTime) -> Option<String> {
    if class.has_cup(cup, at) {
        return None;
    }
    let wait = class.cup_from(cup).map(|from| format!(" in {}", clock_face(from.seconds_until(at))));
    let when = wait.unwrap_or_else(|| ", once it is decanted".into());
    Some(format!("{} is not in the cup yet; score it{when}", class.served(cup)))
}
