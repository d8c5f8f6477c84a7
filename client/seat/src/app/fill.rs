//! From a filled sheet to a score on its way.

use super::{App, Class, Cup, Draw, Effect, Fill, Filled, Happening, LinkState};
use crate::host_clock::OwnTime;
use crate::words;
use protocol::text::NOTE_CHARS;
use protocol::time::clock_face;
use protocol::wire::{SeatMessage, has_cup};
use protocol::{Code, HostTime, Phase, Score, Sheet, text};
use uuid::Uuid;

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

impl App {
    /// A whole sheet at once. It starts from a blank one: what is left out is left out.
    pub(super) fn fill(&mut self, fill: &Fill, now: OwnTime, draw: Draw<'_>) -> Vec<Effect> {
        match self.read(fill, now) {
            Ok((cup, filled)) => self.send(cup, &filled, now, draw),
            Err(reason) => self.not_taken(reason, now),
        }
    }

    fn read(&self, fill: &Fill, now: OwnTime) -> Result<(Cup, Filled), String> {
        let class = self.class.as_ref().ok_or(words::NOT_SEATED)?;
        let cup = self.find_cup(class, fill.code, fill.steep, now)?;
        if fill.steep.is_none() {
            self.is_plain_which(cup, now)?;
        }
        let attributes = &class.sheet.attributes;
        if fill.values.len() > attributes.len() {
            let names: Vec<_> = attributes.iter().map(|a| a.name.as_str()).collect();
            let (given, asked) = (fill.values.len(), attributes.len());
            return Err(format!("{given} values for {asked} lines; the sheet asks {}", names.join(", ")));
        }
        let given = attributes.iter().zip(&fill.values);
        let values = given.filter_map(|(a, v)| v.map(|v| (a.name.clone(), v))).collect();
        let words = spelt_as_on(&class.sheet, &fill.words)?;
        let too_many = fill.note.trim().chars().count().saturating_sub(NOTE_CHARS);
        if too_many > 0 {
            let what = words::count(too_many, "character");
            return Err(format!("the note is {what} too long: {NOTE_CHARS} fit"));
        }
        let (strength, note) = (fill.strength, fill.note.clone());
        Ok((cup, Filled { values, strength, note, words }))
    }

    /// A line without a steep may have been begun for an earlier cup of the tea, before the last one was decanted.
    fn is_plain_which(&self, cup: Cup, now: OwnTime) -> Result<(), String> {
        let missing = self.host_now(now).map(|at| self.missing(at)).unwrap_or_default();
        match missing.iter().filter(|other| other.code == cup.code && other.steep < cup.steep).min() {
            Some(earlier) => Err(format!(
                "steep {} of {} has no score either; say which is meant: {}/{} or {}/{}",
                earlier.steep, cup.code, cup.code, earlier.steep, cup.code, cup.steep
            )),
            None => Ok(()),
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
        let poured = || class.timetable.clock(code, at).steep.max(1);
        let cup = Cup { code, steep: steep.or_else(last).unwrap_or_else(poured) };
        if !has_cup(&class.teas, code, cup.steep) {
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
        let Some(class) = &self.class else { return Vec::new() };
        let score = Score { id: draw(), ..score };
        let cup = Cup::of(&score);
        self.kept.put_in(class.id, score.clone());
        self.desk.drafts.remove(&cup);
        let linked = self.link == LinkState::Linked;
        let how = if linked { "is sent" } else { "is kept here and waits for the link" };
        self.note(now, format!("{cup} {how}"));
        let mut effects = vec![Effect::Keep, Effect::Say(Happening::Sent { score: score.clone(), linked })];
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
                self.go_on_from(cup, now);
                effects
            }
            Err(reason) => self.not_taken(reason, now),
        }
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
    Some(format!("{cup} is not in the cup yet; score it{when}"))
}
