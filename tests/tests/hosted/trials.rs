//! Some hosts die and some disks fail while scores come in; the program `trials` holds many more.

use tests::trials::{End, Trials};

#[tokio::test(flavor = "multi_thread")]
async fn no_acknowledged_score_is_lost_by_a_host_that_is_killed_while_scores_come_in() {
    let trials = Trials::new().await;
    let mut dice = fastrand::Rng::with_seed(13);
    let mut acknowledged = 0;
    for _ in 0..20 {
        let end = End::Kill { after: dice.u32(0..40), then_us: dice.u64(0..2000) };
        acknowledged += trials.hold(end).await.unwrap().acknowledged;
    }
    assert!(acknowledged > 100, "{acknowledged}");
}

#[cfg(unix)]
#[tokio::test(flavor = "multi_thread")]
async fn a_write_that_fails_ends_the_host_with_a_sentence_and_loses_nothing_that_was_acknowledged() {
    let trials = Trials::new().await;
    let mut said = 0;
    for blocks in [1, 40, 66, 80, 110, 160] {
        let seen = trials.hold(End::Write(blocks)).await.unwrap();
        if seen.code.is_some() {
            said += 1;
            assert_eq!(seen.code, Some(4), "{seen:?}");
            assert!(seen.said.contains("tried.ledger"), "{seen:?}");
        }
    }
    assert!(said > 2, "{said}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_host_that_is_killed_while_it_is_opened_can_be_opened_again() {
    let trials = Trials::new().await;
    for (after_us, earlier) in
        [(0, false), (2_000, true), (5_000, false), (8_000, true), (12_000, false), (20_000, true)]
    {
        trials.start_up(after_us, earlier).unwrap();
    }
}
