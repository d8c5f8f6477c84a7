//! A tea as its next class begins with it: the seconds that were wanted, without what went wrong.

use super::Course;
use crate::Tea;

/// A tea to go on from.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// The tea, with as many steeps as are written.
    pub tea: Tea,
    /// What of its course is left aside and why, a sentence for each steep.
    pub aside: Vec<String>,
}

impl Course {
    /// A tea with the seconds that its steeps were meant to have in the end. What the teacher made longer or shorter is meant
    /// so. A steep that was done again is as it was cued the last time that sheets count of, as `counts` says of a round. One
    /// that sat otherwise than it was cued, as was told afterwards, is a slip and no wish. What is left out keeps its own.
    pub fn wanted(&self, tea: &Tea, counts: impl Fn(u32) -> bool) -> Wanted {
        let mut wanted = Wanted { tea: tea.clone(), aside: Vec::new() };
        for (number, seconds) in (1..).zip(&mut wanted.tea.steep_s) {
            let Some(code) = tea.code else { continue };
            let mut served = self.of(code).filter(|&(round, steep)| {
                steep.steep == number && !steep.skipped && (round == number || counts(round))
            });
            let Some((round, last)) = served.next_back() else { continue };
            *seconds = last.steep_s;
            let before = served.map(|(_, steep)| format!("{} s", steep.really_s())).collect::<Vec<_>>();
            let slip = last.sat_s.filter(|sat_s| *sat_s != last.steep_s);
            if round != number {
                let not = if before.is_empty() {
                    String::new()
                } else {
                    format!("; {} before that, with the votes on it, left aside", before.join(" and "))
                };
                wanted.aside.push(format!(
                    "Steep {number} was done again: the last time stands here, {} s{not}.",
                    last.steep_s
                ));
            }
            if let Some(sat_s) = slip {
                wanted.aside.push(format!(
                    "Steep {number} sat {sat_s} s, as was told afterwards: a slip, left aside with the votes on it; the {} s it \
                     was cued for stand here.",
                    last.steep_s
                ));
            }
        }
        wanted
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Act, Timed};
    use super::*;
    use crate::read;

    #[test]
    fn a_slip_is_no_wish_and_a_steep_done_again_is_as_it_was_the_last_time() {
        let text = include_str!("../../../tests/classes/five-teas.toml");
        let class = read::class(text).unwrap().with_codes(1);
        let (code, tea) = class.coded().next().unwrap();
        let (steeps, first_s) = (tea.steeps(), tea.steep_s[0]);
        let timed = |round, steep_s| Act::Timed { steeps: vec![Timed { code, round, steep_s }] };
        let sat = |round, steep_s| Act::Sat { code, round, steep_s };
        let again = |round, steep_s| Act::Added { code, round, steep: 1, steep_s, temp_c: 90.0 };
        let slip = |sat_s, cued_s| {
            format!(
                "Steep 1 sat {sat_s} s, as was told afterwards: a slip, left aside with the votes on it; the {cued_s} s it was cued \
                 for stand here."
            )
        };
        let done_again = |last_s, before: &str| {
            format!(
                "Steep 1 was done again: the last time stands here, {last_s} s; {before} before that, with the votes on it, left aside."
            )
        };
        let (one, two) = (steeps + 1, steeps + 2);
        for (acts, scored, wanted_s, aside) in [
            (vec![], vec![], first_s, vec![]),
            (vec![timed(1, 77)], vec![], 77, vec![]),
            (vec![sat(1, 680)], vec![], first_s, vec![slip(680, first_s)]),
            (vec![timed(1, 77), sat(1, 680)], vec![], 77, vec![slip(680, 77)]),
            (vec![again(one, 50)], vec![], first_s, vec![]),
            (vec![sat(1, 680), again(one, 50)], vec![one], 50, vec![done_again(50, "680 s")]),
            (
                vec![sat(1, 680), again(one, 50), again(two, 44), sat(two, 90)],
                vec![one, two],
                44,
                vec![done_again(44, "680 s and 50 s"), slip(90, 44)],
            ),
            (
                vec![again(one, 50), again(two, 44)],
                vec![one],
                50,
                vec![done_again(50, &format!("{first_s} s"))],
            ),
            (
                vec![Act::Skipped { code, round: 1, reason: String::new() }, again(one, 50)],
                vec![one],
                50,
                vec!["Steep 1 was done again: the last time stands here, 50 s.".into()],
            ),
        ] {
            let course = acts.iter().fold(Course::written(&class), |course, act| course.after(&class, act));
            let wanted = course.wanted(tea, |round| scored.contains(&round));
            assert_eq!((wanted.tea.steep_s[0], &wanted.aside), (wanted_s, &aside), "{acts:?}");
            assert_eq!(wanted.tea.steep_s[1..], tea.steep_s[1..], "{acts:?}");
        }
    }
}
