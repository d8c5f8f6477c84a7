//! Whatever comes while somebody types, no value lands on a cup that was not shown.

use super::hand::other_way_round;
use super::*;
use crate::app::hand::{DEAF_AFTER_ENTER_US, IDLE_US};
use crate::host_clock::OwnTime;
use std::collections::BTreeMap;

/// Something that may come while somebody types.
#[derive(Clone, Debug)]
enum Step {
    Key(Key),
    /// A sheet is sent with a digit too many.
    Slip,
    Wait(i64),
    Moved(i64),
    Held(bool),
    LoseLink,
    LinkBack,
    Test,
    LastCall(i64),
    Taken,
    Sleep(i64),
}

fn any_step() -> impl Strategy<Value = Step> {
    prop_oneof![
        12 => any_key().prop_map(Step::Key),
        8 => "[1-9]".prop_map(|s| Step::Key(Key::Char(s.chars().next().unwrap()))),
        3 => Just(Step::Key(Key::GoTo)),
        4 => Just(Step::Slip),
        8 => prop_oneof![Just(100_000i64), 0..12_000_000i64].prop_map(Step::Wait),
        2 => (-20i64..20).prop_map(Step::Moved),
        1 => any::<bool>().prop_map(Step::Held),
        1 => Just(Step::LoseLink),
        1 => Just(Step::LinkBack),
        1 => Just(Step::Test),
        1 => (1i64..60).prop_map(Step::LastCall),
        2 => Just(Step::Taken),
        1 => (0i64..30_000_000).prop_map(Step::Sleep),
    ]
}

struct Watched {
    desk: Desk,
    revision: u32,
    /// When a key was last pressed, or the sheet last changed.
    quiet_since: OwnTime,
    touched: bool,
    /// Until when digits land nowhere, as Enter has just moved the sheet.
    deaf_until: OwnTime,
}

impl Watched {
    /// Passes on one event and holds it against what was drawn before it.
    fn event(&mut self, event: Event) -> Result<(), TestCaseError> {
        let key = if let Event::Key(key) = &event { Some(key.clone()) } else { None };
        let (shown, drafts) = (self.desk.app.cup_in_hand(), self.desk.app.desk.drafts.clone());
        let picks = self.desk.app.desk.picks.clone();
        let test = self.desk.app.test_in_hand().map(|card| card.test);
        let free = !self.desk.app.help
            && !self.desk.app.reading
            && self.desk.app.desk.going.is_none()
            && test.is_none();
        self.desk.take();
        self.desk.event(event.clone());
        let app = &self.desk.app;
        let sent = self.desk.effects.iter().filter_map(|effect| match effect {
            Effect::Say(Happening::Sent { score, .. }) => Some(Cup::of(score)),
            _ => None,
        });
        let sent: Vec<Cup> = sent.collect();
        // What changed otherwise than by being sent is the shown cup's.
        let changed = |one: &BTreeMap<Cup, Filled>, other: &BTreeMap<Cup, Filled>| {
            one.iter()
                .filter(|(cup, filled)| other.get(cup) != Some(filled))
                .map(|(cup, _)| *cup)
                .collect::<Vec<_>>()
        };
        let mut all = changed(&app.desk.drafts, &drafts);
        all.extend(changed(&drafts, &app.desk.drafts));
        for cup in all {
            let written = Some(cup) == shown && test.is_none() && key.is_some();
            prop_assert!(written || sent.contains(&cup), "{event:?}: {cup:?} while {shown:?} was shown");
        }
        if let Some(number) = app.desk.picks.keys().find(|n| app.desk.picks.get(n) != picks.get(n)) {
            prop_assert_eq!(test, Some(*number));
        }
        let now = self.desk.now;
        if app.cup_in_hand() != shown && key.is_none() {
            let idle = now.0 - self.quiet_since.0 >= IDLE_US && !self.touched;
            prop_assert!(shown.is_none() || idle, "{event:?}: the sheet of {shown:?} was taken away");
            let to = app.cup_in_hand();
            let unsent = shown.filter(|cup| app.is_unsent(*cup));
            let newer = unsent.is_none_or(|cup| to.is_some_and(|to| to.steep > cup.steep));
            prop_assert!(newer, "{event:?}: {shown:?} was not scored and gave way to {to:?}");
        }
        match &key {
            Some(Key::Tab | Key::BackTab | Key::GoTo | Key::Char('/')) => self.deaf_until = OwnTime(0),
            Some(Key::Enter) if free && app.cup_in_hand() != shown && !sent.is_empty() => {
                self.deaf_until = OwnTime(now.0 + DEAF_AFTER_ENTER_US);
            }
            Some(Key::Char('0'..='9')) if now < self.deaf_until => {
                prop_assert!(app.desk.drafts.keys().all(|cup| drafts.get(cup) == app.desk.drafts.get(cup)));
            }
            _ => {}
        }
        if app.cup_in_hand() != shown {
            (self.quiet_since, self.touched) = (now, false);
        }
        if sent.iter().any(|cup| Some(*cup) == app.cup_in_hand()) {
            (self.quiet_since, self.touched) = (now, false);
        }
        if let Some(key) = key {
            self.quiet_since = now;
            let wrote = app.desk.drafts != drafts && shown.is_some_and(|cup| !sent.contains(&cup));
            // Tab chooses where the sheet has the keys, also when it leads round to the same cup.
            let tabbed = matches!(key, Key::Tab | Key::BackTab) && app.test_in_hand().is_none();
            self.touched |= wrote || tabbed && free && shown == app.cup_in_hand();
        }
        Ok(())
    }

    fn wait(&mut self, us: i64) -> Result<(), TestCaseError> {
        let to = OwnTime(self.desk.now.0 + us);
        while let Some(wake) = self.desk.app.next_wake(self.desk.now).filter(|wake| *wake <= to) {
            self.desk.now = wake.max(self.desk.now);
            self.event(Event::Tick)?;
        }
        self.desk.now = to;
        self.event(Event::Tick)
    }

    fn host(&mut self, message: HostMessage) -> Result<(), TestCaseError> {
        self.event(Event::Link(LinkEvent::Host(message)))
    }

    fn step(&mut self, step: Step) -> Result<(), TestCaseError> {
        let seq = 100 + u64::from(self.revision);
        self.revision += 1;
        let moved = |by_s: i64| {
            let cues =
                timetable(1).cues.into_iter().map(|c| protocol::Cue { at: c.at + by_s * 1_000_000, ..c });
            Timetable::new(self.revision, cues.collect())
        };
        match step {
            Step::Key(Key::Interrupt) => Ok(()),
            Step::Key(key) => self.event(Event::Key(key)),
            Step::Slip => {
                self.event(Event::Key(Key::Char('6')))?;
                self.event(Event::Key(Key::Enter))?;
                self.event(Event::Key(Key::Char('9')))
            }
            Step::Wait(us) => self.wait(us),
            Step::Moved(by_s) => {
                let timetable = moved(by_s);
                self.host(HostMessage::Course { seq, phase: Phase::Running, timetable })
            }
            Step::Held(held) => {
                let (phase, timetable) = (if held { Phase::Held } else { Phase::Running }, moved(0));
                self.host(HostMessage::Course { seq, phase, timetable })
            }
            Step::LoseLink => {
                let again_at = OwnTime(self.desk.now.0 + 3_000_000);
                self.event(Event::Link(LinkEvent::Lost { reason: "gone".into(), again_at }))
            }
            Step::LinkBack => {
                let last_call_us = self.desk.app.class.as_ref().and_then(|class| class.last_call);
                self.host(HostMessage::Welcome(Box::new(Welcome { last_call_us, ..welcome(Phase::Running) })))
            }
            Step::Test => self.host(HostMessage::Test { seq, card: crate::fixture::triangle() }),
            Step::LastCall(in_s) => {
                let until = HostTime(self.desk.now.0 + in_s * 1_000_000);
                self.host(HostMessage::LastCall { seq, until })
            }
            Step::Taken => match self.desk.app.outbox().first().map(|score| score.id) {
                Some(id) => self.host(HostMessage::Accepted { seq, id, link: String::new() }),
                None => Ok(()),
            },
            // The machine slept, and only the next key or message shows it.
            Step::Sleep(us) => {
                self.desk.now = OwnTime(self.desk.now.0 + us);
                self.event(Event::Slept(self.desk.now.0))
            }
        }
    }
}

proptest! {
    #[test]
    fn nothing_typed_while_a_cup_is_shown_lands_on_another(
        steps in prop::collection::vec(any_step(), 1..150),
        turned in any::<bool>(),
    ) {
        let desk = if turned { other_way_round() } else { running() };
        let mut watched = Watched { desk, revision: 1, quiet_since: OwnTime(0), touched: false, deaf_until: OwnTime(0) };
        watched.wait(90_000_000)?;
        for step in steps {
            watched.step(step)?;
        }
    }
}
