//! Rounds that are taken up again while some of their teas are poured, against all schedules there are.

use plan::exact::{Begun, Fault, Kettle, NODE_BUDGET, Poured, Round, TeaJob, Wish, solve_begun};
use plan::heat::Heat;
use proptest::prelude::*;

/// Tea of one temperature for a kettle that never runs out.
fn a_tea() -> impl Strategy<Value = TeaJob> {
    (1u32..4, 0u32..14, 1u32..4).prop_map(|(pour_s, steep_s, decant_s)| TeaJob {
        pour_s,
        steep_s,
        decant_s,
        temp_c: 90.0,
        ml: 1.0,
    })
}

prop_compose! {
    /// One tea after the other, the last of them steeping or done; by one pair of hands or two.
    fn poured(hands: u8)(
        teas in prop::collection::vec((a_tea(), 0u8..hands, 0u8..hands), 1..3),
        last_ends in -20i32..16,
    ) -> Vec<Poured> {
        let mut end = last_ends;
        let one = |(tea, pours, decants): (TeaJob, u8, u8)| {
            let decant_at_s = end - tea.decant_s as i32;
            let pour_at_s = decant_at_s - (tea.steep_s + tea.pour_s) as i32;
            let poured = Poured { pour_at_s, pour_s: tea.pour_s, decant_at_s, ready_at_s: end, hands: (pours, decants) };
            // The pour before 0, the decant wherever it falls.
            end = (decant_at_s - 2).min(end - 4);
            poured
        };
        teas.into_iter().map(one).filter(|p| p.pour_at_s + p.pour_s as i32 <= 0).collect()
    }
}

/// When hands are kept by a tea, its gap counted in.
fn work(pour_at: i32, tea: (i32, i32, i32), gap: i32) -> Vec<(i32, i32)> {
    let (pour, steep, decant) = tea;
    let decant_at = pour_at + pour + steep;
    let all = (pour_at, decant_at + decant + gap);
    if steep < gap { vec![all] } else { vec![(pour_at, pour_at + pour + gap), (decant_at, all.1)] }
}

fn of(tea: &TeaJob) -> (i32, i32, i32) {
    (tea.pour_s as i32, tea.steep_s as i32, tea.decant_s as i32)
}

fn of_poured(tea: &Poured) -> (i32, i32, i32) {
    let lid_on = tea.pour_at_s + tea.pour_s as i32;
    (tea.pour_s as i32, tea.decant_at_s - lid_on, tea.ready_at_s - tea.decant_at_s)
}

/// Spread, last cup and starts, if one pair of hands can do this.
fn rank(round: &Round, poured: &[Poured], starts: &[u32]) -> Option<(i32, i32, Vec<u32>)> {
    let gap = round.gap_s as i32;
    let new: Vec<_> = round.teas.iter().zip(starts).map(|(t, &s)| work(s as i32, of(t), gap)).collect();
    let old = poured.iter().map(|p| work(p.pour_at_s, of_poured(p), gap));
    let others: Vec<Vec<_>> = old.chain(new.iter().cloned()).collect();
    let meet =
        |a: &[(i32, i32)], b: &[(i32, i32)]| a.iter().any(|x| b.iter().any(|y| x.0 < y.1 && y.0 < x.1));
    let own = |i: usize| poured.len() + i;
    if (0..new.len()).any(|i| (0..others.len()).any(|j| j != own(i) && meet(&new[i], &others[j]))) {
        return None;
    }
    let end = |(t, &s): (&TeaJob, &u32)| (s + t.pour_s + t.steep_s + t.decant_s) as i32;
    let ends = || round.teas.iter().zip(starts).map(end).chain(poured.iter().map(|p| p.ready_at_s));
    let last = ends().max()?;
    Some((last - ends().min()?, last, starts.to_vec()))
}

/// Of what is drawn, what hands can have done: none of it at the same time as another.
fn carried_out(poured: Vec<Poured>, gap: i32) -> Vec<Poured> {
    let mut done: Vec<Poured> = Vec::new();
    let all = |p: &Poured| work(p.pour_at_s, of_poured(p), gap);
    for mut tea in poured {
        if of_poured(&tea).1 < gap {
            // There is no time to hand it over.
            tea.hands.1 = tea.hands.0;
        }
        let meets =
            |other: &Poured| all(&tea).iter().any(|x| all(other).iter().any(|y| x.0 < y.1 && y.0 < x.1));
        if !done.iter().any(meets) {
            done.push(tea);
        }
    }
    done
}

fn a_round(hands: u8) -> impl Strategy<Value = (Round, Vec<Poured>, u32)> {
    let teas = prop::collection::vec(a_tea(), 1..4);
    (teas, poured(hands), 0u32..3, 0u32..20).prop_map(move |(teas, poured, gap_s, ready_s)| {
        let poured = carried_out(poured, gap_s as i32);
        let heat = Heat { fill_kg: 1.0, watts: 2000.0, eta: 0.9, tau_s: 2400.0 };
        let kettles = vec![Kettle { heat, start_c: None, water: None }];
        let round = Round {
            teas,
            hands,
            by: Vec::new(),
            kettles,
            room_c: 20.0,
            tol_c: 0.0,
            order_fixed: false,
            gap_s,
            lid_s: 0,
        };
        (round, poured, ready_s)
    })
}

fn begun(round: &Round, poured: Vec<Poured>, ready_s: u32) -> Begun {
    let count = round.teas.len();
    Begun { ready_s: vec![vec![ready_s; count]], planned: vec![(0, 0); count], poured }
}

proptest! {
    #[test]
    fn what_is_poured_counts_for_the_spread_and_keeps_its_hands((round, poured, ready_s) in a_round(1)) {
        let begun = begun(&round, poured.clone(), ready_s);
        let found = solve_begun(&round, Wish::StrictSpread, NODE_BUDGET, Some(&begun)).unwrap();
        let mine = rank(&round, &poured, &found.starts_s).map(|(spread, last, _)| (spread, last));
        prop_assert_eq!(mine, Some((found.spread_s as i32, found.makespan_s as i32)));
        prop_assert!(found.proof.starts);
        let horizon = found.starts_s.iter().max().unwrap().max(&found.makespan_s) + 1;
        let count = round.teas.len() as u32;
        let all = (0..horizon.pow(count))
            .map(|code| (0..count).map(|i| code / horizon.pow(i) % horizon).collect::<Vec<u32>>())
            .filter(|starts| starts.iter().all(|&s| s >= ready_s));
        let best = all.filter_map(|starts| rank(&round, &poured, &starts)).min();
        prop_assert_eq!(best.map(|(_, _, starts)| starts), Some(found.starts_s));
    }

    #[test]
    fn two_pairs_of_hands_never_do_two_things_with_what_is_poured((round, poured, ready_s) in a_round(2)) {
        let begun = begun(&round, poured.clone(), ready_s);
        let found = match solve_begun(&round, Wish::StrictSpread, NODE_BUDGET, Some(&begun)) {
            Err(Fault::Steeping) => return Ok(()),
            found => found.unwrap(),
        };
        let tasks = |pour_at: i32, (pour, steep, decant): (i32, i32, i32), (pours, decants): (u8, u8)| {
            let decant_at = pour_at + pour + steep;
            [(pours, pour_at, pour_at + pour), (decants, decant_at, decant_at + decant)]
        };
        let old = poured.iter().flat_map(|p| tasks(p.pour_at_s, of_poured(p), p.hands)).filter(|t| t.2 > 0);
        let old: Vec<_> = old.collect();
        let hands = found.pour_hands.iter().copied().zip(found.decant_hands.iter().copied());
        let starts = round.teas.iter().zip(&found.starts_s);
        let new: Vec<_> = starts.zip(hands).flat_map(|((t, &s), h)| tasks(s as i32, of(t), h)).collect();
        for (i, a) in new.iter().enumerate() {
            for b in new[i + 1..].iter().chain(&old) {
                prop_assert!(a.0 != b.0 || a.1 >= b.2 || b.1 >= a.2, "{:?} and {:?}", a, b);
            }
        }
    }
}
