//! Why a figure can't be computed.

use thiserror::Error;

/// Why a figure can't be computed, in plain words: lower-case fragments that follow a colon.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum Undefined {
    /// Fewer tasters than the figure needs.
    #[error("needs {} at least", many(*.0, "taster"))]
    NeedsTasters(usize),
    /// Fewer teas than the figure needs.
    #[error("needs {} at least", many(*.0, "tea"))]
    NeedsTeas(usize),
    /// Fewer votes or answers than the figure needs.
    #[error("needs {} at least", many(*.0, "answer"))]
    NeedsAnswers(usize),
    /// Fewer votes in each of two groups than the figure needs.
    #[error("needs {} in each group at least", many(*.0, "vote"))]
    NeedsVotesInEachGroup(usize),
    /// No tea has been scored twice by the same taster.
    #[error("needs a tea that the taster has scored twice")]
    NeedsRepeats,
    /// The rows of a table differ in length.
    #[error("the tasters' rows are not equally long")]
    Ragged,
    /// A score is NaN, infinite or too large to calculate with.
    #[error("a score is not a number that can be calculated with")]
    NotANumber,
    /// All scores are the same.
    #[error("all scores are equal, so nothing differs")]
    AllEqual,
    /// Every taster gives all teas the same score.
    #[error("every taster gives all teas the same score, so there is no order to agree on")]
    NoOrder,
    /// After the means are taken off, nothing is left.
    #[error("the scores fit without any remainder, so there is no spread to compare with")]
    NoSpread,
    /// A taster gives the same score each time the same tea comes.
    #[error("every repeated score is the same, so there is no spread to compare with")]
    ExactRepeats,
    /// The teas' means are equal, or nearer to each other than chance alone would have them.
    #[error("the teas' means differ too little for a reliability to be worked out")]
    NoReliability,
    /// Scores that don't vary have no correlation.
    #[error("one of the two sides gives all teas the same score, so there is no correlation")]
    NoCorrelation,
    /// Nobody voted for just right.
    #[error("nobody voted for just right, so there is nothing to compare with")]
    NoJustRight,
    /// No taster ticked a word for some teas only.
    #[error("no taster ticked the word for some teas and left it for others")]
    NothingMixed,
    /// More answers are called correct than were given.
    #[error("{correct} correct out of {n} is not possible")]
    MoreThanAll {
        /// How many are called correct.
        correct: usize,
        /// How many were given.
        n: usize,
    },
    /// An argument outside its range.
    #[error("{0} must lie between 0 and 1")]
    NotAShare(&'static str),
    /// Even if everybody answers correctly, chance can't be ruled out.
    #[error("with {} even an all-correct result is not significant", many(*.0, "answer"))]
    NeverSignificant(usize),
    /// A search was given up.
    #[error("even {0} answers are not enough")]
    MoreThan(usize),
}

/// "two tasters": small numbers in words, as in running text.
fn many(n: usize, what: &str) -> String {
    const WORDS: [&str; 5] = ["no", "one", "two", "three", "four"];
    let number = WORDS.get(n).map_or_else(|| n.to_string(), |word| (*word).to_string());
    if n == 1 { format!("{number} {what}") } else { format!("{number} {what}s") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reasons_read_as_plain_words() {
        for (reason, words) in [
            (Undefined::NeedsTasters(2), "needs two tasters at least"),
            (Undefined::NeedsTeas(3), "needs three teas at least"),
            (Undefined::NeedsAnswers(1), "needs one answer at least"),
            (Undefined::NeverSignificant(5), "with 5 answers even an all-correct result is not significant"),
            (Undefined::MoreThanAll { correct: 7, n: 6 }, "7 correct out of 6 is not possible"),
            (Undefined::NotAShare("the level"), "the level must lie between 0 and 1"),
        ] {
            assert_eq!(reason.to_string(), words);
        }
    }
}
