//! Why a figure can't be had, in words for the teacher.

use thiserror::Error;

/// Why a figure can't be computed. The words stand alone and fit after "not computed: ".
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum Cannot {
    /// Fewer tasters than the figure needs.
    #[error("needs {} at least", many(*.0, "taster"))]
    Tasters(usize),
    /// Fewer teas than the figure needs.
    #[error("needs {} at least", many(*.0, "tea"))]
    Teas(usize),
    /// Fewer scores than the figure needs.
    #[error("needs {} at least", many(*.0, "score"))]
    Scores(usize),
    /// Fewer servings of each tea to each taster than the figure needs.
    #[error("needs {} of every tea to every taster at least", many(*.0, "serving"))]
    Servings(usize),
    /// A table whose rows are not all of one length, or whose cells do not all hold as many servings.
    #[error("every taster needs as many scores for every tea")]
    Uneven,
    /// A score that is infinite, not a number, or beyond ± 1e100.
    #[error("a score is no number or too large to reckon with")]
    NotFinite,
    /// All scores are the same.
    #[error("all scores are equal, so nothing differs")]
    AllEqual,
    /// Each taster gave one and the same score to all teas.
    #[error("no taster scored one tea above another, so there is nothing to rank")]
    AllTied,
    /// No taster scored the two differently.
    #[error("no taster scored the two differently")]
    NoDifference,
    /// Every taster found exactly the same difference, or every score is the same.
    #[error("all are exactly the same, so there is no spread to measure against")]
    NoSpread,
    /// The model explains every score exactly.
    #[error(
        "nothing is left over once teas and tasters are told apart, so there is no spread to measure against"
    )]
    NothingLeft,
    /// As many unknowns as scores.
    #[error("too few scores are left over to measure the spread")]
    NoFreedom,
    /// A tea (counted from 0) that no taster scored.
    #[error("tea number {} has no score", .0 + 1)]
    UnscoredTea(usize),
    /// The table falls apart into groups of teas that no taster links.
    #[error("the teas fall into groups that no taster has scored across, so they can't be compared")]
    Disconnected,
    /// A trend was asked over an order that does not name every tea once.
    #[error("the expected order must name every tea once")]
    Order,
    /// An argument outside the range for which the figure is defined.
    #[error("a number lies outside the range for which this is defined")]
    OutOfRange,
}

/// "two tasters": small numbers in words.
fn many(count: usize, what: &str) -> String {
    match count {
        1 => format!("one {what}"),
        2 => format!("two {what}s"),
        3 => format!("three {what}s"),
        _ => format!("{count} {what}s"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_words_are_plain() {
        assert_eq!(Cannot::Tasters(2).to_string(), "needs two tasters at least");
        assert_eq!(Cannot::Scores(1).to_string(), "needs one score at least");
        assert_eq!(Cannot::UnscoredTea(0).to_string(), "tea number 1 has no score");
        assert_eq!(Cannot::AllEqual.to_string(), "all scores are equal, so nothing differs");
    }
}
