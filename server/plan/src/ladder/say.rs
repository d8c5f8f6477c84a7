//! A suggestion in words.

use super::{Answer, Side, Suggestion};
use std::fmt;

/// Columns of a narrow terminal.
const COLUMNS: usize = 80;

/// `417: 7 of 8 voted · too thin (5 thin, 2 right) · planned 25 s → 34 s`: never wider than 80 columns.
impl fmt::Display for Suggestion {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.line(COLUMNS))
    }
}

impl Suggestion {
    /// The suggestion in a line of so many columns, with as much of the votes as they have room for.
    pub fn line(&self, columns: usize) -> String {
        let seconds = match self.answer {
            Answer::Stays => format!("planned {} s stays", self.planned_s),
            Answer::Takes(seconds) => format!("planned {} s → {seconds} s", self.planned_s),
            Answer::Spent => format!("planned {} s, leaf is spent", self.planned_s),
        };
        let voted = format!("{} of {} voted", self.votes.all(), self.could_vote);
        let found = match self.votes.side() {
            Side::NoVotes => return format!("{}: {voted} · {seconds}", self.tea),
            Side::TooThin => "too thin",
            Side::TooStrong => "too strong",
            Side::Right => "about right",
            Side::Mixed => "mixed",
        };
        let each =
            [(self.votes.thin(), "thin"), (self.votes.right(), "right"), (self.votes.strong(), "strong")];
        let each: Vec<String> =
            each.iter().filter(|(n, _)| *n > 0).map(|(n, what)| format!("{n} {what}")).collect();
        let tea = self.tea;
        // How many voted can be seen from the votes, too.
        let lines = [
            format!("{tea}: {voted} · {found} ({}) · {seconds}", each.join(", ")),
            format!("{tea}: {found} ({}) · {seconds}", each.join(", ")),
            format!("{tea}: {voted} · {found} · {seconds}"),
            format!("{tea}: {found} · {seconds}"),
        ];
        let [.., shortest] = &lines;
        lines.iter().find(|line| line.chars().count() <= columns).unwrap_or(shortest).clone()
    }

    /// Why, in a few sentences for the teacher.
    pub fn why(&self) -> String {
        let Self { votes, steep, planned_s, .. } = self;
        let (before, all) = (steep - 1, votes.all());
        let other = |n: usize, what: &str| match n {
            0 => format!("nobody {what}"),
            n => format!("{n} {what}"),
        };
        let side = |n: usize, what: &str, others: usize, opposite: &str| {
            format!("{n} of {all} found steep {before} {what}, {}.", other(others, opposite))
        };
        let found = match votes.side() {
            Side::NoVotes => format!("Nobody voted on steep {before}."),
            Side::TooThin => side(votes.thin(), "too thin", votes.strong(), "too strong"),
            Side::TooStrong => side(votes.strong(), "too strong", votes.thin(), "too thin"),
            Side::Right => format!("{} of {all} found steep {before} just right.", votes.right()),
            Side::Mixed => format!(
                "Of {all} votes on steep {before}, {} say too thin and {} too strong: not enough to lean to a side.",
                votes.thin(),
                votes.strong()
            ),
        };
        let moved = matches!(votes.side(), Side::TooThin | Side::TooStrong);
        let percent = ((self.stronger_by - 1.0) * 100.0).round();
        let beside = match percent {
            0.0 => "as strong as planned".to_string(),
            more if more > 0.0 => format!("{more} % stronger than planned"),
            less => format!("{} % thinner than planned", -less),
        };
        let aim = if moved {
            format!("So steep {steep} should be {beside}.")
        } else {
            format!("So steep {steep} should be {beside}, as steep {before} was.")
        };
        let given = format!("the leaf has given about {:.0} % of what it had", self.given * 100.0);
        let so = match self.answer {
            Answer::Stays if !moved && percent == 0.0 => {
                return format!("{found} So steep {steep} stays as planned, {planned_s} s.");
            }
            Answer::Stays if percent == 0.0 => {
                let beside = if votes.side() == Side::TooThin { "weaker" } else { "stronger" };
                return format!(
                    "{found} It was served {beside} than planned, so steep {steep} stays as planned, {planned_s} s."
                );
            }
            Answer::Stays => format!("Its planned {planned_s} s are as near to that as a clock can be set."),
            Answer::Takes(seconds) if self.cut_short => format!(
                "{seconds} s instead of {planned_s} s bring it nearer: from steep to steep no more than half is added, or a third taken away."
            ),
            Answer::Takes(seconds) => {
                format!("That takes {seconds} s instead of {planned_s} s, as far as can be told: {given}.")
            }
            Answer::Spent => format!(
                "It can't be, however long it steeps: {given}, as far as can be told. Leave it as planned, or end this tea here."
            ),
        };
        format!("{found} {aim} {so}")
    }
}
