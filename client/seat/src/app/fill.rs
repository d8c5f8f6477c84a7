//! From a filled sheet to a score on its way.

use super::{App, Class, Cup, Effect, Fill, Filled, Happening, LinkState};
use crate::host_clock::OwnTime;
use protocol::wire::{SeatMessage, has_cup};
use protocol::{Code, Score, Sheet, text};
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
    pub(super) fn fill(&mut self, fill: &Fill, now: OwnTime, id: Uuid) -> Vec<Effect> {
        match self.read(fill, now) {
            Ok((cup, filled)) => self.send(cup, &filled, now, id),
            Err(reason) => self.not_taken(reason, now),
        }
    }

    fn read(&self, fill: &Fill, now: OwnTime) -> Result<(Cup, Filled), String> {
        let class = self.class.as_ref().ok_or("not seated yet; wait for the host")?;
        let Fill { code, .. } = *fill;
        if !class.teas.iter().any(|t| t.code == code) {
            let codes: Vec<_> = class.teas.iter().map(|t| t.code.to_string()).collect();
            return Err(format!("no tea is served as {code}; there are {}", codes.join(", ")));
        }
        let steep = match fill.steep {
            Some(steep) => steep,
            None => self.last_decanted(class, code, now)?,
        };
        if !has_cup(&class.teas, code, steep) {
            return Err(format!("{code} has no steep {steep}"));
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
        let (strength, note) = (fill.strength, fill.note.clone());
        Ok((Cup { code, steep }, Filled { values, strength, note, words }))
    }

    /// The steep a sheet is meant for if it names none: what is in the cup, not what is in the vessel.
    fn last_decanted(&self, class: &Class, code: Code, now: OwnTime) -> Result<u32, String> {
        let Some(at) = self.host_now(now) else {
            return Err(format!("the host's clock is not known yet; name the steep, such as {code}/1"));
        };
        if let Some(cup) = class.decanted(at).into_iter().rfind(|cup| cup.code == code) {
            return Ok(cup.steep);
        }
        Err(match class.timetable.clock(code, at).steep {
            0 => format!("{code} has not been poured yet; score it once it is"),
            steep => {
                format!("{code} has not been decanted yet; write {code}/{steep} to score it all the same")
            }
        })
    }

    /// Sends a filled sheet, if it fits: first into the outbox and onto the disk, then on its way.
    pub(super) fn send(&mut self, cup: Cup, filled: &Filled, now: OwnTime, id: Uuid) -> Vec<Effect> {
        let Some(class) = &self.class else { return Vec::new() };
        if self.phase() == protocol::Phase::Closed {
            return self.not_taken("the class is closed; no score is taken any more".into(), now);
        }
        let score = Score {
            id,
            code: cup.code,
            steep: cup.steep,
            revision: self.next_revision(cup),
            values: filled.values.clone(),
            strength: filled.strength,
            note: filled.note.clone(),
            words: filled.words.clone(),
        }
        .inert();
        if let Err(fault) = score.check(&class.sheet) {
            return self.not_taken(fault.to_string(), now);
        }
        self.kept.put_in(class.id, score.clone());
        self.desk.drafts.remove(&cup);
        if self.desk.hand == Some(cup) {
            self.desk.hand = None;
        }
        self.desk.go_to_line(0);
        let linked = self.link == LinkState::Linked;
        let how = if linked { "is sent" } else { "is kept here and waits for the link" };
        self.note(now, format!("{cup} {how}"));
        let mut effects = vec![Effect::Keep, Effect::Say(Happening::Sent { score: score.clone(), linked })];
        if linked {
            effects.push(Effect::Send(SeatMessage::Score(score)));
        }
        effects
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
