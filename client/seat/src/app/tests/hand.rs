//! The sheet never changes under the fingers.

use super::*;
use crate::app::hand::{DEAF_AFTER_ENTER_US, IDLE_US};
use crate::host_clock::OwnTime;
use std::collections::BTreeMap;

fn hand(desk: &Desk) -> Option<String> {
    desk.app.cup_in_hand().map(|cup| cup.short())
}

fn offer(desk: &Desk) -> Option<String> {
    desk.app.offer_words(desk.now)
}

/// Whoever has sent a sheet looks at the next one.
fn look(desk: &mut Desk) {
    desk.now = OwnTime(desk.now.0 + DEAF_AFTER_ENTER_US);
}

/// Five teas that are decanted one after the other from 60 to 100 and tasted in the order of their codes.
fn five() -> Desk {
    use protocol::Action::{Decant, Pour, SheetCloses, Taste};
    let numbers = [101, 102, 103, 104, 105];
    let pours = numbers.iter().zip(1..).map(|(n, i)| fixture::cue(10 * i, Pour, Some(*n), 1, 10));
    let decants = numbers.iter().zip(6..).map(|(n, i)| fixture::cue(10 * i, Decant, Some(*n), 1, 10));
    let tasting = [fixture::cue(110, Taste, None, 1, 90), fixture::cue(200, SheetCloses, None, 1, 0)];
    let cues = pours.chain(decants).chain(tasting).collect();
    let card = welcome(Phase::Running).teas.remove(0);
    let teas = numbers.map(|n| TeaCard { code: fixture::code(n), ..card.clone() }).into();
    Desk::seated(Welcome { teas, timetable: Timetable::new(1, cues), ..welcome(Phase::Running) })
}

/// A seat that tastes 238 before 417.
fn other_way_round() -> Desk {
    let order = vec![fixture::code(238), fixture::code(417)];
    Desk::seated(Welcome { order, ..welcome(Phase::Running) })
}

#[test]
fn a_cup_is_there_from_the_end_of_its_decant() {
    let mut desk = running();
    desk.go_to(94);
    assert_eq!(hand(&desk), None);
    desk.key(Key::Tab);
    assert_eq!((hand(&desk), desk.app.notice(desk.now)), (None, Some("no cup is ready yet")));
    desk.go_to(95);
    assert_eq!(hand(&desk).as_deref(), Some("417/1"));
}

#[test]
fn a_cup_that_was_chosen_or_touched_stays_and_the_next_one_is_offered() {
    for key in [Key::Tab, Key::Char('7'), Key::Down] {
        let mut desk = other_way_round();
        desk.go_to(96);
        desk.key(key.clone());
        desk.go_to(174);
        assert_eq!(hand(&desk).as_deref(), Some("417/1"), "after {key:?}");
        assert_eq!(offer(&desk).as_deref(), Some("238 is ready: Tab"));
        desk.key(Key::Tab);
        assert_eq!(hand(&desk).as_deref(), Some("238/1"));
        let left = if key == Key::Char('7') { "417 is begun: Tab" } else { "417 is ready: Tab" };
        assert_eq!(offer(&desk).as_deref(), Some(left), "a look at it is no score");
        desk.key(Key::Tab);
        assert_eq!(hand(&desk).as_deref(), Some("417/1"), "and round again");
    }
}

#[test]
fn a_cup_that_is_not_scored_stays_in_hand_whatever_else_gets_ready_in_its_round() {
    let mut desk = other_way_round();
    for second in [96, 116, 160, 250, 259] {
        desk.go_to(second);
        assert_eq!(
            hand(&desk).as_deref(),
            Some("417/1"),
            "at {second}: whoever drinks from it looks up to score it"
        );
    }
    assert_eq!(offer(&desk).as_deref(), Some("238 is ready: Tab"));
}

#[test]
fn a_sheet_that_nobody_is_at_gives_way_to_the_next_round_and_what_was_meant_for_it_is_left_out() {
    let mut desk = running();
    desk.go_to(257);
    desk.key(Key::Enter);
    desk.go_to(261);
    assert_eq!(hand(&desk).as_deref(), Some("417/1"), "a key was pressed four seconds ago");
    desk.go_to(262);
    assert_eq!(hand(&desk).as_deref(), Some("417/2"));
    desk.keys("76");
    assert!(desk.app.desk.drafts.is_empty());
    let words = "what you typed was left out: the sheet is now 417 steep 2";
    assert_eq!(desk.app.notice(desk.now), Some(words));
    desk.now = OwnTime(desk.now.0 + 400_000);
    desk.keys("5");
    desk.now = OwnTime(desk.now.0 + 400_000);
    desk.keys("8");
    assert!(desk.app.desk.drafts.is_empty(), "whoever goes on writing has not looked");
    desk.now = OwnTime(desk.now.0 + 500_000);
    desk.keys("4");
    assert_eq!(desk.app.desk.drafts.len(), 1);
}

#[test]
fn a_sheet_that_gives_way_says_so_and_a_score_taken_just_then_does_not_hide_it() {
    let mut desk = other_way_round();
    desk.go_to(96);
    desk.keys("7");
    desk.key(Key::Enter);
    let id = desk.app.outbox()[0].id;
    desk.go_to(115);
    assert_eq!(hand(&desk).as_deref(), Some("238/1"));
    assert_eq!(desk.app.notice(desk.now), Some("the sheet is now 238 steep 1"));
    desk.host(HostMessage::Accepted { seq: 20, id, link: String::new() });
    let words = "the sheet is now 238 steep 1 · 417 steep 1 is kept";
    assert_eq!(desk.app.notice(desk.now), Some(words));
}

#[test]
fn a_tab_pressed_as_the_sheet_gives_way_leads_where_the_screen_led_before() {
    let mut desk = other_way_round();
    desk.go_to(96);
    desk.keys("7");
    desk.key(Key::Enter);
    desk.go_to(112);
    desk.key(Key::Up);
    desk.go_to(116);
    assert_eq!(offer(&desk).as_deref(), Some("238 is ready: Tab"));
    desk.go_to(117);
    assert_eq!(hand(&desk).as_deref(), Some("238/1"), "the sheet of 417 was sent");
    desk.now = OwnTime(desk.now.0 + 1_900_000);
    desk.key(Key::Tab);
    assert_eq!(hand(&desk).as_deref(), Some("238/1"));
    assert_eq!(desk.app.notice(desk.now), Some("the sheet is now 238 steep 1 already"));
    desk.keys("7");
    assert_eq!(desk.app.desk.drafts.keys().map(Cup::short).collect::<Vec<_>>(), ["238/1"]);
}

#[test]
fn a_sent_sheet_opens_only_by_an_enter_of_its_own_and_shuts_again_when_nothing_is_changed() {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("7");
    desk.key(Key::Enter);
    let cup = desk.app.cup_in_hand().unwrap();
    desk.now = OwnTime(desk.now.0 + 350_000);
    desk.key(Key::Enter);
    assert!(!desk.app.is_opened(cup), "pressed twice by a slip");
    assert_eq!(desk.app.notice(desk.now), Some("417 steep 1 is sent: Enter opens it for a change"));
    look(&mut desk);
    desk.key(Key::Enter);
    assert!(desk.app.is_opened(cup));
    desk.now = OwnTime(desk.now.0 + 9_900_000);
    desk.event(Event::Tick);
    assert!(desk.app.is_opened(cup));
    desk.now = OwnTime(desk.now.0 + 100_000);
    desk.event(Event::Tick);
    assert!(!desk.app.is_opened(cup) && desk.app.is_shut(cup));
    desk.keys("3");
    assert!(desk.app.desk.drafts.is_empty(), "whoever has looked away types for another cup");
    desk.key(Key::Enter);
    desk.keys("3");
    desk.go_to(113);
    assert!(desk.app.is_opened(cup), "what is changed stays open");
    assert_eq!(desk.app.shown(cup).values["aroma"], 3);
}

#[test]
fn an_opened_sheet_stays_in_hand_and_shut_again_takes_nothing_that_was_meant_for_another_cup() {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("7");
    desk.key(Key::Enter);
    desk.go_to(109);
    desk.key(Key::Enter);
    desk.go_to(125);
    assert_eq!((hand(&desk).as_deref(), offer(&desk).as_deref()), (Some("417/1"), Some("238 is ready: Tab")));
    desk.keys("345");
    assert!(desk.app.desk.drafts.is_empty());
    assert_eq!(desk.app.notice(desk.now), Some("417 steep 1 is sent: Enter opens it for a change"));
}

#[test]
fn a_tab_meant_for_another_cup_than_the_sheet_went_to_still_leads_there() {
    let mut desk = five();
    desk.go_to(112);
    for _ in 0..3 {
        desk.key(Key::Tab);
    }
    desk.keys("7");
    desk.key(Key::Enter);
    assert_eq!(hand(&desk).as_deref(), Some("101/1"));
    desk.key(Key::GoTo);
    desk.keys("104");
    desk.key(Key::Enter);
    // Its sheet was sent as it stood, so that it may give way.
    desk.app.let_idle(desk.app.cup_in_hand().unwrap(), desk.now);
    assert_eq!(offer(&desk).as_deref(), Some("105 and 3 more are ready: Tab"));
    desk.go_to(118);
    assert_eq!(hand(&desk).as_deref(), Some("101/1"));
    desk.key(Key::Tab);
    assert_eq!(hand(&desk).as_deref(), Some("105/1"));
    assert_eq!(desk.app.notice(desk.now), None, "no sentence names the cup that was left");
}

#[test]
fn every_open_cup_of_the_round_is_counted_and_tab_leads_to_each_and_to_none_that_was_sent() {
    let mut desk = five();
    desk.go_to(130);
    assert_eq!(hand(&desk).as_deref(), Some("101/1"));
    assert_eq!(offer(&desk).as_deref(), Some("102 and 3 more are ready: Tab"));
    desk.key(Key::Tab);
    desk.keys("7");
    desk.key(Key::Enter);
    assert_eq!(hand(&desk).as_deref(), Some("101/1"), "the first that is open");
    assert_eq!(offer(&desk).as_deref(), Some("103 and 2 more are ready: Tab"));
    let mut been = Vec::new();
    for _ in 0..4 {
        desk.key(Key::Tab);
        been.extend(hand(&desk));
    }
    assert_eq!(been, ["103/1", "104/1", "105/1", "101/1"]);
}

#[test]
fn no_sheet_gives_way_while_the_keys_are_being_explained() {
    let mut desk = other_way_round();
    desk.go_to(110);
    desk.key(Key::Help);
    desk.go_to(160);
    desk.keys("x7");
    assert_eq!(desk.app.desk.drafts.keys().map(Cup::short).collect::<Vec<_>>(), ["417/1"]);
}

#[test]
fn a_sent_sheet_leads_to_the_next_one_at_once_and_what_is_typed_just_then_lands_nowhere() {
    let mut desk = running();
    desk.go_to(116);
    desk.keys("7");
    desk.key(Key::Enter);
    assert_eq!(hand(&desk).as_deref(), Some("238/1"));
    assert_eq!(desk.app.notice(desk.now), Some("417 steep 1 is sent · now 238 steep 1"));
    let id = desk.app.outbox()[0].id;
    desk.now = OwnTime(desk.now.0 + 50_000);
    desk.keys("9");
    let left_out = "what you typed was left out: the sheet is now 238 steep 1";
    assert_eq!((desk.app.desk.drafts.len(), desk.app.notice(desk.now)), (0, Some(left_out)));
    desk.host(HostMessage::Accepted { seq: 20, id, link: String::new() });
    let words = format!("{left_out} · 417 steep 1 is kept");
    assert_eq!(desk.app.notice(desk.now), Some(words.as_str()));
    look(&mut desk);
    desk.keys("6");
    assert_eq!(desk.app.desk.drafts.keys().map(Cup::short).collect::<Vec<_>>(), ["238/1"]);
    desk.key(Key::Enter);
    assert_eq!(hand(&desk).as_deref(), Some("238/1"), "there is no other yet");
    desk.go_to(259);
    assert_eq!(hand(&desk).as_deref(), Some("238/1"));
    desk.go_to(260);
    assert_eq!(hand(&desk).as_deref(), Some("417/2"));
}

#[test]
fn what_is_typed_after_the_last_sheet_was_sent_changes_nothing_until_enter_opens_it() {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("218");
    desk.key(Key::Enter);
    assert_eq!(hand(&desk).as_deref(), Some("417/1"), "there is no other cup yet");
    let cup = desk.app.cup_in_hand().unwrap();
    let before = desk.app.shown(cup);
    for key in [Key::Char('1'), Key::Char('a'), Key::Left, Key::Backspace, Key::Paste("x".into())] {
        desk.key(key);
        let words = "417 steep 1 is sent: Enter opens it for a change";
        assert_eq!((desk.app.notice(desk.now), desk.app.shown(cup)), (Some(words), before.clone()));
    }
    desk.take();
    look(&mut desk);
    desk.key(Key::Enter);
    assert!(sent(&desk.take()).is_empty());
    let words = "417 steep 1 is open for a change: Enter sends it again";
    assert_eq!(desk.app.notice(desk.now), Some(words));
    desk.keys("5");
    desk.key(Key::Enter);
    let again = sent(&desk.take()).remove(0);
    assert_eq!((again.revision, again.values["aroma"]), (2, 5));
    desk.keys("6");
    assert!(desk.app.is_shut(cup), "it is sent again");
}

#[test]
fn a_key_at_a_sent_sheet_does_not_keep_it_from_giving_way() {
    let mut desk = running();
    desk.go_to(96);
    desk.keys("7");
    desk.key(Key::Enter);
    desk.keys("3");
    desk.go_to(115);
    assert_eq!(hand(&desk).as_deref(), Some("238/1"));
}

#[test]
fn a_cup_of_any_round_is_reached_by_its_code_and_steep() {
    let mut desk = running();
    desk.go_to(265);
    desk.key(Key::Char('/'));
    desk.keys("238/1");
    assert_eq!(hand(&desk).as_deref(), Some("417/2"), "not before Enter");
    assert!(desk.app.desk.drafts.is_empty(), "digits of a code are no points");
    desk.key(Key::Enter);
    assert_eq!(hand(&desk).as_deref(), Some("238/1"));
    desk.keys("7a/");
    assert_eq!(desk.app.shown(desk.app.cup_in_hand().unwrap()).note, "a/", "in the note it is a stroke");
    for (typed, words) in [
        ("555", "no tea is served as 555; there are 417, 238"),
        ("238 2", "238 steep 2 is not in the cup yet; score it in 0:15"),
        ("417/9", "417 has no steep 9; it has 2"),
        ("12", "a code is three digits from 100 to 999"),
        ("", "type a code and a steep, such as 417/2"),
    ] {
        desk.key(Key::GoTo);
        desk.keys(typed);
        desk.key(Key::Enter);
        assert_eq!(desk.app.notice(desk.now), Some(words));
        assert_eq!(desk.app.desk.going.as_deref(), Some(typed), "to be corrected");
        desk.key(Key::Esc);
    }
    desk.key(Key::GoTo);
    desk.keys("417");
    desk.key(Key::Enter);
    assert_eq!(hand(&desk).as_deref(), Some("417/2"), "without a steep the last one");
}

#[test]
fn a_key_pressed_as_the_class_closes_does_not_leave_it() {
    let mut desk = running();
    desk.go_to(96);
    desk.host(HostMessage::Course { seq: 13, phase: Phase::Closed, timetable: timetable(2) });
    desk.take();
    desk.keys("7quiet");
    desk.key(Key::Enter);
    assert!(!desk.take().iter().any(|e| matches!(e, Effect::Quit(_))));
    desk.now = OwnTime(desk.now.0 + 500_000);
    desk.keys("q");
    assert!(desk.take().contains(&Effect::Quit(End::Closed)));
}

#[test]
fn who_scored_nothing_in_a_round_is_not_led_to_score_the_next_one_into_it() {
    let mut desk = running();
    desk.go_to(116);
    assert_eq!(hand(&desk).as_deref(), Some("417/1"), "nobody touches it");
    desk.go_to(300);
    assert_eq!(hand(&desk).as_deref(), Some("417/2"), "two of round 1 are open, and round 2 is in the cups");
    for next in ["238/2", "238/2"] {
        look(&mut desk);
        desk.keys("7");
        desk.key(Key::Enter);
        assert_eq!(hand(&desk).as_deref(), Some(next), "never back to round 1 by itself");
    }
    assert!(desk.app.class.as_ref().is_some_and(|class| class.taken.is_empty()));
    assert_eq!(desk.app.outbox().iter().map(|score| score.steep).collect::<Vec<_>>(), [2, 2]);
}

#[test]
fn a_sheet_that_moves_on_by_itself_to_a_new_round_says_so() {
    let mut desk = running();
    desk.go_to(116);
    for _ in 0..2 {
        desk.keys("7");
        desk.key(Key::Enter);
        look(&mut desk);
    }
    desk.go_to(259);
    assert_eq!((hand(&desk).as_deref(), desk.app.notice(desk.now)), (Some("238/1"), None));
    desk.go_to(260);
    assert_eq!(hand(&desk).as_deref(), Some("417/2"));
    assert_eq!(desk.app.notice(desk.now), Some("round 2: the sheet is now 417 steep 2"));
}

#[test]
fn what_has_no_room_in_the_note_is_counted_however_it_comes() {
    let mut desk = running();
    desk.go_to(96);
    desk.key(Key::Paste("a".repeat(403)));
    assert_eq!(desk.app.notice(desk.now), Some("3 characters no longer fit: the note holds 400"));
    desk.keys("bc");
    assert_eq!(desk.app.notice(desk.now), Some("5 characters no longer fit: the note holds 400"));
    desk.key(Key::Backspace);
    desk.keys("de");
    assert_eq!(desk.app.notice(desk.now), Some("1 character no longer fits: the note holds 400"));
}

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
        let free = !self.desk.app.help && self.desk.app.desk.going.is_none() && test.is_none();
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
            prop_assert!(written || sent.contains(&cup), "{event:?}: {cup} while {shown:?} was shown");
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
                self.event(Event::Link(LinkEvent::Greeted {
                    class_id: fixture::CLASS,
                    title: "Two ways".into(),
                }))?;
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
