//! A small class for the tests: two teas, two steeps each, one pair of hands.

use proptest::prelude::*;
use protocol::clock::Exchange;
use protocol::wire::{HostMessage, Welcome};
use protocol::{
    Action, Attribute, Code, Cue, HostTime, Phase, Score, SeatId, Sheet, TeaCard, TestCard, TestKind,
    Timetable,
};
use seat::app::{App, Effect, Event, Happening, Key, LinkEvent};
use seat::host_clock::OwnTime;
use seat::kept::Kept;
use uuid::Uuid;

pub const CLASS: Uuid = Uuid::from_u128(9);

pub fn code(number: u16) -> Code {
    Code::new(number).unwrap()
}

pub fn score(id: u128, number: u16, steep: u32) -> Score {
    Score {
        id: Uuid::from_u128(id),
        code: code(number),
        steep,
        revision: 1,
        values: [("aroma".to_string(), 7), ("liking".to_string(), 8)].into(),
        strength: None,
        note: String::new(),
        words: Vec::new(),
    }
}

pub fn cue(at_s: i64, action: Action, number: Option<u16>, steep: u32, length_s: u32) -> Cue {
    let (hands, pour) = (u8::from(number.is_some()), action == Action::Pour);
    Cue {
        at: HostTime(at_s * 1_000_000),
        action,
        code: number.map(code),
        steep,
        hands,
        length_s,
        steep_s: pour.then_some(40),
        temp_c: pour.then_some(95.0),
        ..Cue::new(HostTime(at_s * 1_000_000), action, None, steep, hands, length_s)
    }
}

/// 417 is poured at 35, 238 at 55; the second round begins at 200.
pub fn timetable(revision: u32) -> Timetable {
    use Action::*;
    Timetable::new(
        revision,
        vec![
            cue(15, Warm, Some(417), 1, 10),
            cue(35, Pour, Some(417), 1, 10),
            cue(55, Pour, Some(238), 1, 10),
            cue(85, Decant, Some(417), 1, 10),
            cue(105, Decant, Some(238), 1, 10),
            cue(115, Taste, None, 1, 60),
            cue(175, SheetCloses, None, 1, 0),
            cue(200, Pour, Some(417), 2, 10),
            cue(220, Pour, Some(238), 2, 10),
            cue(250, Decant, Some(417), 2, 10),
            cue(270, Decant, Some(238), 2, 10),
        ],
    )
}

/// The same class, in which the teacher has the second steep of 417 done again: it is in round 3.
pub fn again(phase: Phase) -> Welcome {
    use Action::*;
    let mut cues = timetable(1).cues;
    cues.extend([cue(285, Taste, None, 2, 40), cue(325, SheetCloses, None, 2, 0)]);
    let third =
        [cue(350, Pour, Some(417), 2, 10), cue(400, Decant, Some(417), 2, 10), cue(415, Taste, None, 3, 60)];
    cues.extend(third.map(|cue| cue.in_round(3)));
    Welcome { timetable: Timetable::new(2, cues), ..welcome(phase) }
}

pub fn welcome(phase: Phase) -> Welcome {
    let tea = |number| TeaCard { code: code(number), steeps: 2, name: None, leaf: None, recipe: None };
    Welcome {
        class_id: CLASS,
        title: "Two ways".into(),
        seat: SeatId(Uuid::from_u128(1)),
        name: "Ann".into(),
        seq: 12,
        link: String::new(),
        pace: 1.0,
        clock: Some(2),
        phase,
        sheet: Sheet::default(),
        teas: vec![tea(417), tea(238)],
        pourers: Some(1),
        hands: Some(1),
        role: protocol::Role::Scores,
        owes_from_us: protocol::HostTime(0),
        order: Vec::new(),
        kettles: Vec::new(),
        before_start: None,
        last_call_us: None,
        timetable: if phase == Phase::Lobby { Timetable::default() } else { timetable(1) },
        scores: Vec::new(),
        tests: Vec::new(),
        answers: Vec::new(),
        voided: Vec::new(),
        reopened: Vec::new(),
        said: Vec::new(),
    }
}

fn test_card(test: u32, kind: TestKind, question: &str, reference: Option<u16>, codes: &[u16]) -> TestCard {
    let codes = codes.iter().copied().map(code).collect();
    TestCard { test, kind, question: question.into(), reference: reference.map(code), codes }
}

pub fn triangle() -> TestCard {
    let question = "Two of these three are the same tea. Which is the odd one?";
    test_card(1, TestKind::Triangle, question, None, &[384, 512, 617])
}

pub fn duo_trio() -> TestCard {
    let question = "Taste 705 first. Which of the other two is the same tea?";
    test_card(2, TestKind::DuoTrio, question, Some(705), &[384, 512])
}

/// Enough of them to need several rows.
pub const WORDS: [&str; 18] = [
    "floral",
    "fruity",
    "nutty",
    "grassy",
    "smoky",
    "sweet",
    "warm bread",
    "wet stone",
    "orchid",
    "honey",
    "toasted grain",
    "seaweed",
    "old books",
    "camphor",
    "plum",
    "cream",
    "pine",
    "malt",
];

/// The same class with words on its sheet.
pub fn with_words(phase: Phase) -> Welcome {
    let mut welcome = welcome(phase);
    welcome.sheet.words = WORDS.map(String::from).into();
    welcome
}

/// An app and its time; ids count up from 1000.
pub struct Desk {
    pub app: App,
    pub now: OwnTime,
    ids: u128,
    pub effects: Vec<Effect>,
}

impl Desk {
    /// A seat that has not found its host yet.
    pub fn new() -> Self {
        Self {
            app: App::new("Ann", Kept::new(Uuid::from_u128(77))),
            now: OwnTime(0),
            ids: 1000,
            effects: Vec::new(),
        }
    }

    /// A seat that was welcomed at the class's very beginning; its own clock is the host's.
    pub fn seated(welcome: Welcome) -> Self {
        let mut desk = Self::new();
        desk.link_up(welcome);
        desk.effects.clear();
        desk
    }

    pub fn link_up(&mut self, welcome: Welcome) {
        self.link(LinkEvent::Host(HostMessage::Welcome(Box::new(welcome))));
        let t = self.now.0;
        let exchange = Exchange { t1_us: t, t2_us: t, t3_us: t, t4_us: t };
        self.link(LinkEvent::Exchange { exchange, slept_us: 0 });
    }

    pub fn event(&mut self, event: Event) {
        let ids = &mut self.ids;
        let mut draw = || {
            *ids += 1;
            Uuid::from_u128(*ids)
        };
        let effects = self.app.update(event, self.now, &mut draw);
        self.effects.extend(effects);
    }

    pub fn link(&mut self, event: LinkEvent) {
        self.event(Event::Link(event));
    }

    pub fn host(&mut self, message: HostMessage) {
        self.link(LinkEvent::Host(message));
    }

    pub fn lose_link(&mut self) {
        let again_at = OwnTime(self.now.0 + 3_000_000);
        self.link(LinkEvent::Lost { reason: "the host closed the link".into(), again_at });
    }

    pub fn key(&mut self, key: Key) {
        self.event(Event::Key(key));
    }

    pub fn keys(&mut self, keys: &str) {
        keys.chars().for_each(|c| self.key(Key::Char(c)));
    }

    /// Goes to this second, waking wherever the app wants to be woken.
    pub fn go_to(&mut self, second: i64) {
        let to = OwnTime(second * 1_000_000);
        while let Some(wake) = self.app.next_wake(self.now).filter(|w| *w <= to) {
            self.now = wake;
            self.event(Event::Tick);
        }
        self.now = to;
        self.event(Event::Tick);
    }

    pub fn take(&mut self) -> Vec<Effect> {
        std::mem::take(&mut self.effects)
    }

    /// What has been said since the last look.
    pub fn said(&mut self) -> Vec<Happening> {
        let said = |e| if let Effect::Say(what) = e { Some(what) } else { None };
        self.take().into_iter().filter_map(said).collect()
    }
}

/// Whatever somebody may press.
pub fn any_key() -> impl Strategy<Value = Key> {
    prop_oneof![
        4 => "[0-9q?! é\u{1b}-]".prop_map(|s| Key::Char(s.chars().next().unwrap())),
        1 => any::<String>().prop_map(Key::Paste),
        8 => prop::sample::select(vec![
            Key::Up, Key::Down, Key::Left, Key::Right, Key::Tab, Key::BackTab, Key::Backspace, Key::Enter,
            Key::Esc, Key::Help, Key::Said, Key::Interrupt,
        ]),
    ]
}

/// Whatever may be asked.
pub fn any_sheet() -> impl Strategy<Value = Sheet> {
    let scale = (prop_oneof![Just(0), Just(1), -20..20i32], prop_oneof![Just(9), Just(10), 0..200i32]);
    let words = prop::sample::subsequence(vec!["floral", "nutty", "a note", "\u{660e}\u{6708}"], 0..4);
    let asked = (any::<bool>(), any::<bool>(), words);
    (prop::collection::vec(scale, 0..5), asked).prop_map(|(scales, (strength, note, words))| {
        let attributes = scales.into_iter().enumerate().map(|(i, (min, size))| Attribute {
            name: format!("a{i}"),
            min,
            max: min.saturating_add(size),
            low: None,
            high: None,
        });
        let words = words.into_iter().map(String::from).collect();
        Sheet { attributes: attributes.collect(), strength, note, words }
    })
}
