//! Which cues have been fired, and which are next: every cue once, in order, whatever revisions come.

use protocol::{Action, Code, Cue, HostTime, Timetable};
use std::collections::HashSet;

/// A cue is announced this long before, in microseconds of host time.
const ANNOUNCE_US: i64 = 10_000_000;
/// An announcement later than this is left out: it would not be true any more.
const ANNOUNCE_SLACK_US: i64 = 1_000_000;
/// A cue fired this long after its work should have been done counts as missed.
pub const MISSED_US: i64 = 2_000_000;

/// What a cue is, whenever it falls: round, action and tea.
pub type CueKey = (u32, Action, Option<Code>);

/// The seat's alarm.
#[derive(Clone, Debug, Default)]
pub struct Alarm {
    /// Host time when the seat first knew it; earlier cues are not for it.
    joined: Option<HostTime>,
    /// Up to where cues have been fired. It follows host time when that steps back, too: what was fired is known by
    /// its key, and what was not has its instant still to come.
    watermark: HostTime,
    fired: HashSet<CueKey>,
    announced: HashSet<CueKey>,
}

impl Alarm {
    /// The cues to fire now. A cue that a late message moved into the past is fired while its work still lasts.
    pub fn fire(&mut self, timetable: &Timetable, now: HostTime) -> Vec<Cue> {
        let Some(joined) = self.joined else {
            self.joined = Some(now);
            self.watermark = now;
            return Vec::new();
        };
        // What is still under water because the teacher's word came too late is never left there.
        let late = timetable.due(joined, self.watermark.min(now)).iter();
        let late = late.filter(|c| now < c.end() || c.moved_in.is_some());
        let due = timetable.due(self.watermark, now).iter();
        let cues: Vec<Cue> = late.chain(due).filter(|c| !self.fired.contains(&c.key())).cloned().collect();
        self.fired.extend(cues.iter().map(Cue::key));
        self.watermark = now;
        cues
    }

    /// Up to where cues have been fired; nothing before the seat knew the time.
    pub fn looked(&self) -> Option<HostTime> {
        self.joined.map(|_| self.watermark)
    }

    /// By a better answer host time is only at `now`: what comes after that is for this seat, also if its first idea of
    /// host time was ahead of it.
    pub fn join_by(&mut self, now: HostTime) {
        self.joined = self.joined.map(|joined| joined.min(now));
    }

    /// The cues to announce now, for these hands. At a pace above 1 there is no time to announce anything.
    pub fn announce(
        &mut self,
        timetable: &Timetable,
        now: HostTime,
        pace: f64,
        hands: Option<u8>,
    ) -> Vec<Cue> {
        if pace > 1.0 {
            return Vec::new();
        }
        let from = now + (ANNOUNCE_US - ANNOUNCE_SLACK_US);
        let near = timetable.due(from, now + ANNOUNCE_US).iter();
        // What falls within work that is under way is not announced: the work was.
        let worth = |c: &&Cue| c.action != Action::SheetCloses && !c.action.is_within();
        let wanted = near.filter(worth).filter(|c| c.is_for(hands));
        let cues: Vec<Cue> = wanted.filter(|c| !self.announced.contains(&c.key())).cloned().collect();
        self.announced.extend(cues.iter().map(Cue::key));
        cues
    }

    /// Whether a cue has still to be fired.
    pub fn is_ahead(&self, cue: &Cue) -> bool {
        !self.fired.contains(&cue.key())
    }

    /// The next instant at which something is to be fired or announced. It lies in the past when a cue's instant came after
    /// the seat last looked: nobody else would wake it for that.
    pub fn next(&self, timetable: &Timetable, now: HostTime, pace: f64) -> Option<HostTime> {
        let looked = self.joined.map_or(now, |_| self.watermark.min(now));
        let cue = timetable.coming(looked).iter().find(|c| !self.fired.contains(&c.key())).map(|c| c.at);
        let announcement = timetable.coming(now + ANNOUNCE_US).first().map(|c| c.at + -ANNOUNCE_US);
        [cue, announcement.filter(|_| pace <= 1.0)].into_iter().flatten().min()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn table(revision: u32, ats_s: &[i64]) -> Timetable {
        let cues = ats_s.iter().enumerate().map(|(i, at_s)| Cue {
            at: HostTime(at_s * 1_000_000),
            action: Action::Pour,
            code: Code::new(100 + i as u16),
            steep: 1,
            other_round: None,
            hands: 1,
            length_s: 10,
            steep_s: Some(30),
            temp_c: None,
            kettle: None,
            water_ml: None,
            vessels: None,
            moved_in: None,
        });
        Timetable::new(revision, cues.collect())
    }

    #[test]
    fn cues_from_before_the_seat_knew_the_time_are_not_fired() {
        let mut alarm = Alarm::default();
        let table = table(1, &[5, 15]);
        assert!(alarm.fire(&table, HostTime(8_000_000)).is_empty());
        let fired = alarm.fire(&table, HostTime(15_000_000));
        assert_eq!(fired, table.cues[1..]);
    }

    #[test]
    fn a_cue_whose_instant_came_since_the_last_look_still_wakes_the_seat() {
        let mut alarm = Alarm::default();
        let table = table(1, &[5, 15]);
        alarm.fire(&table, HostTime(4_999_990));
        assert_eq!(alarm.next(&table, HostTime(5_000_010), 2.0), Some(HostTime(5_000_000)));
        assert_eq!(alarm.fire(&table, HostTime(5_000_020)).len(), 1);
        assert_eq!(alarm.next(&table, HostTime(5_000_030), 2.0), Some(HostTime(15_000_000)));
    }

    #[test]
    fn a_cue_that_comes_late_is_fired_while_its_work_lasts() {
        let mut alarm = Alarm::default();
        alarm.fire(&Timetable::default(), HostTime(0));
        alarm.fire(&Timetable::default(), HostTime(20_000_000));
        let fired = alarm.fire(&table(1, &[5, 15]), HostTime(20_000_000));
        assert_eq!(fired.iter().map(|c| c.at.0).collect::<Vec<_>>(), [15_000_000]);
    }

    #[test]
    fn an_announcement_comes_ten_seconds_before_and_not_in_a_rehearsal() {
        let table = table(1, &[30]);
        for (pace, count) in [(1.0, 1), (60.0, 0)] {
            let mut alarm = Alarm::default();
            alarm.fire(&table, HostTime(0));
            let next = alarm.next(&table, HostTime(0), pace);
            assert_eq!(next, Some(HostTime(if count == 1 { 20_000_000 } else { 30_000_000 })));
            assert_eq!(alarm.announce(&table, HostTime(20_000_000), pace, Some(1)).len(), count);
            assert!(alarm.announce(&table, HostTime(20_500_000), pace, Some(1)).is_empty());
        }
    }

    #[test]
    fn after_host_time_stepped_back_a_cue_waits_for_its_instant() {
        let mut alarm = Alarm::default();
        alarm.fire(&Timetable::default(), HostTime(0));
        alarm.fire(&Timetable::default(), HostTime(300_000_000));
        // The host was restarted, and its time stands where its ledger ended.
        let mut table = table(1, &[200, 240]);
        table.cues[1].length_s = 0;
        let back = HostTime(100_000_000);
        assert!(alarm.fire(&table, back).is_empty());
        for cue in &table.cues {
            assert_eq!(alarm.next(&table, cue.at + -1, 60.0), Some(cue.at), "it is woken for it");
            assert!(alarm.fire(&table, cue.at + -1).is_empty());
            assert_eq!(alarm.fire(&table, cue.at), std::slice::from_ref(cue));
        }
        alarm.fire(&table, back);
        assert!(alarm.fire(&table, HostTime(300_000_000)).is_empty(), "what was fired stays fired");
    }

    /// Host time mostly goes on; its estimate may step back a little, and a restarted host a lot.
    fn step_s() -> impl Strategy<Value = i64> {
        prop_oneof![8 => -5i64..35, 1 => -100i64..0]
    }

    proptest! {
        #[test]
        fn every_cue_is_fired_at_most_once_and_in_order(
            looks in prop::collection::vec((step_s(), prop::collection::vec(0i64..120, 0..6)), 1..30)
        ) {
            let (mut alarm, mut now, mut fired) = (Alarm::default(), HostTime(0), Vec::new());
            for (revision, (step_s, ats)) in looks.iter().enumerate() {
                now = now + step_s * 1_000_000;
                let cues = alarm.fire(&table(revision as u32, ats), now);
                prop_assert!(cues.is_sorted_by_key(|c| c.at));
                prop_assert!(cues.iter().all(|c| c.at <= now), "no cue before its instant");
                fired.extend(cues.iter().map(Cue::key));
            }
            let all = fired.len();
            fired.sort();
            fired.dedup();
            prop_assert_eq!(fired.len(), all);
        }
    }
}
