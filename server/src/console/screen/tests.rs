//! Whole screens at 80×24, 60×20 and 100×30, and what the keys lead to.

mod crowd;

use super::*;
use crate::console::AtClose;
use class::read;
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use protocol::time::SECOND_US;
use protocol::wire::Join;
use protocol::{Action, HostTime, Phase, Score, SeatId, Token};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use room::last_call::LAST_CALL_S;
use room::view::View;
use room::{Comer, Command, Entry, Event, Letting, Room, Rounds, Steering, Teacher};
use uuid::Uuid;

fn about() -> About {
    About {
        heading: String::new(),
        address: "192.0.2.7:4177".into(),
        pin: None,
        open_door: false,
        listening: "192.0.2.7:4177".into(),
        ledger: "evening.ledger".into(),
        notices: vec![],
        keys: None,
        at_close: AtClose::default(),
    }
}

/// A class driven by commands as the owner does.
struct Class {
    room: Room,
    rounds: Rounds,
    now: HostTime,
    screen: Screen,
    ids: u128,
}

impl Class {
    fn new() -> Self {
        Self::of(include_str!("../../../tests/classes/two-ways.toml"))
    }

    fn of(text: &str) -> Self {
        Self::with(text, &["Ann", "Bob", "Li Wei"])
    }

    fn with(text: &str, names: &[&str]) -> Self {
        let class = Box::new(read::class(text).unwrap().with_codes(7));
        let first = Event::Class { class_id: Uuid::from_u128(1), seed: 7, class };
        let room = Room::replay([Entry::new(1, HostTime(0), first)]).unwrap();
        let rounds = plan::plan_rounds(&room.class);
        let mut all = Self { room, rounds, now: HostTime(0), screen: Screen::new(about()), ids: 100 };
        all.tell(&Command::Teacher(Teacher::JoinCode("KX7M-QR4T".parse().unwrap())));
        for name in names.iter().copied() {
            let token = Token(all.fresh());
            let join = Join::new(all.room.class_id, name, token);
            let fresh_seat = SeatId(all.fresh());
            all.tell(&Command::Join {
                join,
                comer: Comer::Says(token),
                fresh_seat,
                letting: Letting::default(),
            });
            all.screen.say(format!("seated: {name}"));
        }
        all
    }

    fn fresh(&mut self) -> Uuid {
        self.ids += 1;
        Uuid::from_u128(self.ids)
    }

    fn tell(&mut self, command: &Command) {
        for event in self.room.decide(command.clone(), self.now, &self.rounds).unwrap() {
            self.room.fold(self.room.seq + 1, self.now, event);
        }
    }

    fn at_pour(mut self, code: u16, steep: u32, plus_s: i64) -> Self {
        self.tell(&Command::Teacher(Teacher::Start { anyway: true }));
        let pour = self.room.timetable.find(Action::Pour, protocol::Code::new(code), steep).unwrap().at;
        self.now = pour + plus_s * SECOND_US;
        self
    }

    fn score(&mut self, seat: usize, code: u16) {
        let values = [("liking".to_string(), 7)].into();
        let code = protocol::Code::new(code).unwrap();
        let score = Score {
            id: self.fresh(),
            code,
            steep: 1,
            revision: 1,
            values,
            strength: None,
            note: String::new(),
            words: Vec::new(),
        };
        let seat = self.room.seats[seat].id;
        self.tell(&Command::Score { seat, score });
    }

    fn view(&self) -> View {
        let mut view = self.room.view(self.now, 6);
        view.seats.iter_mut().for_each(|s| s.linked = s.name != "Bob");
        view
    }

    fn picture(&self, width: u16, height: u16) -> String {
        self.picture_of(&self.view(), width, height)
    }

    fn picture_of(&self, view: &View, width: u16, height: u16) -> String {
        let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
        terminal.draw(|frame| self.screen.draw(frame, view)).unwrap();
        terminal.backend().to_string()
    }
}

macro_rules! pictures {
    ($name:literal, $class:expr) => {
        let class = $class;
        insta::assert_snapshot!(concat!($name, "-80x24"), class.picture(80, 24));
        insta::assert_snapshot!(concat!($name, "-60x20"), class.picture(60, 20));
    };
}

mod suggested;

#[test]
fn the_lobby_shows_how_to_join_who_is_seated_and_the_cautions() {
    pictures!("lobby", Class::new());
}

#[test]
fn what_is_to_be_done_before_the_start_stays_in_sight_however_many_sit_down() {
    let mut class = Class::new();
    let words = "before you start: fill the kettle, switch it on, set 95 °C";
    class.screen.about.notices.push(words.into());
    (0..9).for_each(|n| class.screen.say(format!("seated: seat {n}")));
    for (width, height) in [(80, 24), (60, 20)] {
        let picture = class.picture(width, height).replace("\"\n\"", " ");
        let squeezed = picture.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(squeezed.contains(words), "{picture}");
        assert!(squeezed.contains("seated: seat 8"), "{picture}");
    }
}

#[test]
fn nothing_nasty_acts_on_the_screen_wherever_it_is_shown() {
    for (tries, text) in fixtures::nasty::nasty() {
        let mut class = Class::new();
        class.screen.about.notices.push(text.clone());
        class.screen.say(text.clone());
        class.screen.answer(text.clone());
        let over = |class: &Class| {
            let picture = class.picture(80, 24);
            assert!(!picture.chars().any(|c| c != '\n' && protocol::text::acts(c)), "{tries}: {picture}");
            assert!(!picture.contains(&"\u{301}\u{316}".repeat(3)), "{tries}: {picture}");
        };
        over(&class);
        class.screen.show(text);
        over(&class);
    }
}

#[test]
fn while_teas_steep_every_tea_has_its_clock() {
    let class = Class::new().at_pour(417, 1, 40);
    pictures!("steeping", class);
}

#[test]
fn before_the_first_cue_no_round_is_counted_as_nought() {
    let mut class = Class::new();
    class.tell(&Command::Teacher(Teacher::Start { anyway: false }));
    let picture = class.picture(80, 24);
    assert!(picture.contains("running · before round 1 of 3"), "{picture}");
}

#[test]
fn a_held_class_says_so_and_what_is_wet_still_counts_down() {
    let mut class = Class::new().at_pour(417, 1, 12);
    class.tell(&Command::Teacher(Teacher::Hold));
    class.screen.say("held: nothing dry is started; what is wet ends on time".into());
    pictures!("held", class);
}

#[test]
fn the_summary_can_be_read_over_the_running_class() {
    let mut class = Class::new().at_pour(417, 1, 100);
    class.score(0, 417);
    class.score(2, 417);
    let summary = summary::summarise(&class.room, class.now);
    class.screen.show(report::text::text(&summary));
    pictures!("summary", class);
}

fn key(code: KeyCode) -> KeyEvent {
    KeyEvent::new(code, KeyModifiers::NONE)
}

fn view(phase: Phase) -> View {
    let class = Class::new();
    View { phase, ..class.room.view(class.now, 6) }
}

fn type_in(screen: &mut Screen, text: &str, phase: Phase) -> Deed {
    for c in text.chars() {
        screen.key(key(KeyCode::Char(c)), &view(phase));
    }
    screen.key(key(KeyCode::Enter), &view(phase))
}

#[test]
fn space_holds_on_an_empty_line_and_never_sets_the_class_going() {
    let mut screen = Screen::new(about());
    let space = key(KeyCode::Char(' '));
    for phase in [Phase::Lobby, Phase::Held, Phase::Closed] {
        assert_eq!(screen.key(space, &view(phase)), Deed::None);
    }
    assert_eq!(screen.key(space, &view(Phase::Running)), Deed::Do(Typed::Teacher(Teacher::Hold)));
    let deed = type_in(&mut screen, "release Li Wei", Phase::Running);
    assert_eq!(deed, Deed::Do(Typed::Teacher(Teacher::Release("Li Wei".into()))));
}

#[test]
fn closing_and_stopping_are_asked_once_and_any_other_key_keeps_the_class() {
    let running = view(Phase::Running);
    let control = |c| KeyEvent::new(KeyCode::Char(c), KeyModifiers::CONTROL);
    let mut screen = Screen::new(about());
    assert_eq!(type_in(&mut screen, "close", Phase::Running), Deed::None);
    assert_eq!(screen.key(key(KeyCode::Char('n')), &running), Deed::None);
    assert_eq!(type_in(&mut screen, "close", Phase::Running), Deed::None);
    let who = type_in(&mut screen, "who", Phase::Running);
    assert_eq!(who, Deed::Do(Typed::Who), "a word that follows is read whole");
    assert_eq!(type_in(&mut screen, "close", Phase::Running), Deed::None);
    assert_eq!(
        screen.key(key(KeyCode::Enter), &running),
        Deed::Do(Typed::Teacher(Teacher::Close { last_call_s: LAST_CALL_S }))
    );
    assert_eq!(screen.key(control('c'), &running), Deed::None);
    assert_eq!(screen.key(key(KeyCode::Esc), &running), Deed::None);
    assert_eq!(screen.key(control('c'), &running), Deed::None);
    assert_eq!(screen.key(control('c'), &running), Deed::Do(Typed::Stop));
    screen.key(control('w'), &running);
    assert_eq!(
        type_in(&mut screen, "who", Phase::Running),
        Deed::Do(Typed::Who),
        "other controls type nothing"
    );
}

#[test]
fn to_close_now_is_asked_while_somebody_writes_and_done_at_once_when_nobody_does() {
    let (mut view, mut screen) = (view(Phase::Running), Screen::new(about()));
    let now = Deed::Do(Typed::Teacher(Teacher::Close { last_call_s: 0 }));
    let mut press = |view: &View, keys: &str| {
        let press = |c| screen.key(key(if c == '\n' { KeyCode::Enter } else { KeyCode::Char(c) }), view);
        keys.chars().map(press).last().unwrap()
    };
    assert_eq!(press(&view, "close now\n"), now);
    view.seats[0].writing = true;
    assert_eq!(press(&view, "close now\n"), Deed::None);
    assert_eq!(press(&view, "n"), Deed::None);
    assert_eq!(press(&view, "close now\n"), Deed::None);
    assert_eq!(press(&view, "y"), now);
}

#[test]
fn names_are_told_at_once_when_no_sheet_is_missing_and_else_after_one_question() {
    let mut screen = Screen::new(about());
    let reveal = Deed::Do(Typed::Teacher(Teacher::Reveal(None)));
    assert_eq!(type_in(&mut screen, "reveal", Phase::Closed), reveal);
    assert_eq!(type_in(&mut screen, "reveal", Phase::Running), Deed::None, "cups are still to come");
    screen.key(key(KeyCode::Esc), &view(Phase::Running));
    let class = Class::new().at_pour(417, 1, 200);
    let (view, mut screen) = (class.view(), class.screen);
    let mut press = |keys: &str| {
        let press = |c| screen.key(key(if c == '\n' { KeyCode::Enter } else { KeyCode::Char(c) }), &view);
        keys.chars().map(press).last().unwrap()
    };
    assert_eq!(press("reveal\n"), Deed::None);
    assert_eq!(press("y"), reveal);
    assert_eq!(press("reveal 417\n"), Deed::None);
    assert_eq!(press("\n"), Deed::Do(Typed::Teacher(Teacher::Reveal(protocol::Code::new(417)))));
    assert_eq!(press("reveal\n"), Deed::None);
    assert_eq!(press("n"), Deed::None);
    assert_eq!(press("\n"), Deed::None, "any other key was a no");
}

#[test]
fn what_is_not_understood_is_answered_above_the_line_even_in_a_full_lobby() {
    let mut class = Class::new();
    type_in(&mut class.screen, "blah", Phase::Lobby);
    assert!(class.picture(60, 20).contains("`blah` is not understood"));
}

#[test]
fn a_page_never_scrolls_past_its_end_and_loses_nothing_at_the_right() {
    let mut class = Class::new().at_pour(417, 1, 40);
    class.screen.show(format!("first\n{}\nlast words", "many words in a very long line ".repeat(20)));
    class.picture(60, 20);
    for _ in 0..9 {
        class.screen.key(key(KeyCode::PageDown), &view(Phase::Running));
    }
    let end = class.picture(60, 20);
    assert!(end.contains("last words") && end.contains("very long"), "{end}");
    assert!(end.contains("next   "), "what comes next stays in sight");
}

#[test]
fn at_a_table_whose_hands_come_next_is_said() {
    let text = include_str!("../../../tests/classes/two-ways.toml").replace("\"each seat\"", "2");
    let class = read::class(&text).unwrap();
    let first = Event::Class { class_id: Uuid::from_u128(1), seed: 7, class: Box::new(class) };
    let mut all = Class::new();
    all.room = Room::replay([Entry::new(1, HostTime(0), first)]).unwrap();
    all.rounds = plan::plan_rounds(&all.room.class);
    all.tell(&Command::Teacher(Teacher::Start { anyway: true }));
    assert!(all.picture(80, 24).contains("(pourer 1)"));
}

#[test]
fn no_size_of_screen_is_too_small_to_draw() {
    let class = Class::new().at_pour(417, 1, 12);
    for (width, height) in [(1, 1), (10, 3), (20, 5), (40, 12), (200, 60)] {
        assert!(!class.picture(width, height).is_empty());
    }
}

#[test]
fn names_of_wide_characters_keep_the_columns_in_line() {
    let text = include_str!("../../../tests/classes/two-ways.toml");
    assert!(text.contains("Lantern Slope"), "the class has a name to put another one in place of");
    let class = Class::of(&text.replacen("Lantern Slope", "鐵觀音鐵觀音鐵觀音鐵觀音鐵觀音", 1));
    let shown = class.picture(80, 24);
    let steeps: Vec<usize> = shown
        .lines()
        .filter_map(|line| Some(protocol::fit::columns(&line[..line.find(" of 3 ")?])))
        .collect();
    assert!(steeps.len() > 1 && steeps.windows(2).all(|pair| pair[0] == pair[1]), "{steeps:?}\n{shown}");
}

#[test]
fn a_class_that_closes_blind_asks_once_whether_to_reveal_and_enter_is_no_answer() {
    let closed = view(Phase::Closed);
    let mut screen = Screen::new(about());
    assert!(closed.teas.iter().all(|tea| tea.name.is_none()), "all are blind");
    screen.closed(&closed);
    assert_eq!(
        screen.key(key(KeyCode::Enter), &closed),
        Deed::None,
        "whoever was about to enter a word has not revealed"
    );
    screen.closed(&closed);
    assert_eq!(screen.key(key(KeyCode::Char('y')), &closed), Deed::Do(Typed::Teacher(Teacher::Reveal(None))));
    let mut open = closed.clone();
    open.teas.iter_mut().for_each(|tea| tea.name = Some("Tea".into()));
    screen.closed(&open);
    assert_eq!(
        screen.key(key(KeyCode::Char('y')), &open),
        Deed::None,
        "nothing is asked where nothing is blind"
    );
}

#[test]
fn what_is_dropped_or_left_out_is_said_beside_its_tea() {
    let mut class = Class::new();
    class.tell(&Command::Teacher(Teacher::Start { anyway: true }));
    let codes: Vec<_> = class.room.class.coded().map(|(code, _)| code).collect();
    class.tell(&Command::Teacher(Teacher::Steer(Steering::Drop { code: codes[0], reason: String::new() })));
    class.tell(&Command::Teacher(Teacher::Steer(Steering::Skip {
        code: codes[1],
        round: Some(1),
        reason: String::new(),
    })));
    let drawn = class.picture(80, 24);
    let line = |code: &protocol::Code| {
        drawn.lines().find(|line| line.starts_with(&format!("\" {code} "))).unwrap().to_string()
    };
    assert!(line(&codes[0]).contains("dropped"), "{drawn}");
    assert!(line(&codes[1]).contains("skips 1"), "{drawn}");
}
