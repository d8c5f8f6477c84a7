//! Replaying a ledger gives the live state, and what is sent again counts once.

use super::*;
use crate::last_call::LAST_CALL_S;
use proptest::prelude::*;
use protocol::Role;

#[derive(Clone, Debug)]
enum Step {
    Join(u8, Option<u8>, Role),
    Score { seat: u8, tea: u8, steep: u32, revision: u32, liking: i32, again: bool },
    Answer { seat: u8, test: u32, cup: usize, revision: u32, again: bool },
    Wish(Teacher),
    Correct(Correction),
    Opened(bool),
    TimeUp,
    Stop,
}

fn a_correction() -> impl Strategy<Value = Correction> {
    let name = || (0u8..6).prop_map(|n| format!("seat {n}"));
    let cup = || (0u8..5, 1u32..4);
    prop_oneof![
        (name(), name()).prop_map(|(seat, name)| Correction::Rename { seat, name }),
        (name(), name()).prop_map(|(from, into)| Correction::Join { from, into }),
        name().prop_map(|seat| Correction::Part { seat }),
        (cup(), prop::option::of(name())).prop_map(|((tea, steep), seat)| {
            let code = Code::new(TEAS[tea as usize]).unwrap();
            Correction::Void { code, steep, seat, reason: "spilled".into() }
        }),
        (cup(), prop::option::of(name())).prop_map(|((tea, steep), seat)| {
            let code = Code::new(TEAS[tea as usize]).unwrap();
            Correction::Restore { code, steep, seat, reason: "a slip".into() }
        }),
        (name(), any::<bool>()).prop_map(|(name, counts)| Correction::Count { name, counts }),
    ]
}

const TEAS: [u16; 5] = [417, 238, 862, 305, 999];

fn a_role() -> impl Strategy<Value = Role> {
    prop_oneof![4 => Just(Role::Scores), 1 => Just(Role::PoursOnly), 1 => Just(Role::Watches)]
}

fn a_step() -> impl Strategy<Value = Step> {
    let wish = prop_oneof![
        Just(Teacher::Start { anyway: false }),
        Just(Teacher::Hold),
        Just(Teacher::Resume),
        Just(Teacher::Reveal(None)),
        Just(Teacher::Reveal(Code::new(238))),
        (0u8..6).prop_map(|n| Teacher::Release(format!("seat {n}"))),
        (0u32..7).prop_map(Teacher::Test),
        (0u8..6, any::<bool>()).prop_map(|(n, counts)| Teacher::Count { name: format!("seat {n}"), counts }),
        prop_oneof![Just(0), Just(LAST_CALL_S), 1..60u32]
            .prop_map(|last_call_s| Teacher::Close { last_call_s }),
    ];
    prop_oneof![
        3 => (0u8..6, prop::option::of(0u8..6), a_role()).prop_map(|(n, token, role)| Step::Join(n, token, role)),
        3 => a_correction().prop_map(Step::Correct),
        1 => any::<bool>().prop_map(Step::Opened),
        1 => Just(Step::TimeUp),
        8 => (0u8..6, 0u8..5, 0u32..5, 0u32..4, -1i32..11, any::<bool>())
            .prop_map(|(seat, tea, steep, revision, liking, again)| Step::Score { seat, tea, steep, revision, liking, again }),
        4 => (0u8..6, 0u32..7, 0usize..4, 0u32..4, any::<bool>())
            .prop_map(|(seat, test, cup, revision, again)| Step::Answer { seat, test, cup, revision, again }),
        4 => wish.prop_map(Step::Wish),
        1 => Just(Step::Stop),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]
    #[test]
    fn replaying_the_ledger_gives_the_live_state_whatever_happened(steps in prop::collection::vec((a_step(), 0i64..120), 0..80)) {
        let mut led = Led::new(include_str!("../../../tests/classes/five-tests.toml"));
        led.join("Pia", None, Some(1)).unwrap();
        let (mut now_s, mut last, mut last_answer) = (0, None, None);
        for (step, passed_s) in steps {
            now_s += passed_s;
            // A refusal is an answer too; what matters is that it leaves no trace.
            let before = led.room.clone();
            let outcome = match step {
                Step::Join(n, token, role) => {
                    let token = token.map(|t| led.room.seats.get(t as usize).map_or(Token(Uuid::nil()), |s| s.token));
                    led.join_as(&format!("seat {n}"), token, None, role, now_s)
                }
                Step::Correct(wish) => led.correct(wish),
                Step::Opened(fast) => {
                    let pace = if fast { 60.0 } else { 1.0 };
                    led.happens(HostTime(now_s * SECOND_US).max(led.room.last_at), Event::Opened { unix_us: 0, pace, boot: None, door: Default::default() });
                    Ok(1)
                }
                Step::TimeUp => led.command(&Command::TimeUp, now_s),
                Step::Score { seat, tea, steep, revision, liking, again } => {
                    let Some(seat) = led.room.seats.get(seat as usize).map(|s| s.id) else { continue };
                    let id = led.fresh();
                    let new = score(id, TEAS[tea as usize], steep, revision, liking);
                    let score = if again { last.clone().unwrap_or(new) } else { new };
                    last = Some(score.clone());
                    led.command(&Command::Score { seat, score }, now_s)
                }
                Step::Answer { seat, test, cup, revision, again } => {
                    let Some(seat) = led.room.seats.get(seat as usize).map(|s| s.id) else { continue };
                    let own = led.room.test_card(test, seat).and_then(|card| card.codes.get(cup).copied());
                    let new = answer(led.fresh(), test, own.unwrap_or(Code::new(999).unwrap()), revision);
                    let answer = if again { last_answer.unwrap_or(new) } else { new };
                    last_answer = Some(answer);
                    led.command(&Command::Answer { seat, answer }, now_s)
                }
                Step::Wish(wish) => led.teacher(wish, now_s),
                Step::Stop => led.command(&Command::Stop, now_s),
            };
            if outcome.is_err() {
                prop_assert_eq!(&before, &led.room);
            }
            let view = led.room.view(HostTime(now_s * SECOND_US), 0);
            let of_seats = view.seats.iter().fold((0, 0), |(n, of), s| (n + s.sheets.present, of + s.sheets.due));
            prop_assert_eq!(of_seats, (view.class_in.present, view.class_in.due));
            prop_assert!(view.class_in.present <= view.class_in.due);
        }
        // Through text and back, as the ledger stores it.
        let stored = led.ledger.iter().map(|entry| {
            let event = serde_json::from_str(&serde_json::to_string(&entry.event).unwrap()).unwrap();
            Entry { event, ..entry.clone() }
        });
        prop_assert_eq!(Room::replay(stored).unwrap(), led.room);
    }

    #[test]
    fn scores_sent_one_to_five_times_in_any_order_count_once(
        (order, count) in (1usize..8).prop_flat_map(|n| {
            let sends: Vec<usize> = (0..n).flat_map(|i| vec![i; 1 + i % 5]).collect();
            (Just(sends).prop_shuffle(), Just(n))
        }),
    ) {
        let mut led = Led::two_ways();
        led.join("Ann", None, None).unwrap();
        led.teacher(Teacher::Start { anyway: false }, 0).unwrap();
        let seat = led.room.seats[0].id;
        for i in order {
            let score = score(Uuid::from_u128(i as u128), 417, 1, i as u32 + 1, 1 + i as i32);
            led.command(&Command::Score { seat, score }, 3000).unwrap();
        }
        prop_assert_eq!(led.room.scores.all().len(), count, "all are kept, each once");
        let counting: Vec<u32> = led.room.scores.counting().map(|k| k.score.revision).collect();
        prop_assert_eq!(counting, vec![count as u32], "the last revision counts, whatever came last");
    }
}
