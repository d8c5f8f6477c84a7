//! Why a figure can't be had, in words for the teacher.

use thiserror::Error;

/// Why a figure can't be computed. The words stand alone and fit after "not computed: ".
#[derive(Clone, Copy, Debug, PartialEq, Error)]
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
    /// Fewer votes or answers than the figure needs.
    #[error("needs {} at least", many(*.0, "answer"))]
    Answers(usize),
    /// Fewer votes in each of two groups than the figure needs.
    #[error("needs {} in each group at least", many(*.0, "vote"))]
    VotesInEachGroup(usize),
    /// Fewer servings of each tea to each taster than the figure needs.
    #[error("needs {} of every tea to every taster at least", many(*.0, "serving"))]
    Servings(usize),
    /// Fewer ways of steeping than a surface has coefficients.
    #[error("needs {} that differ at least", many(*.0, "way"))]
    Ways(usize),
    /// Ways enough, but they lie so that coefficients of a surface can't be told apart.
    #[error("the ways that were tasted vary too much together for what each changes to be told apart")]
    WaysTooAlike,
    /// A surface that does not bend in some direction has no single level point.
    #[error("along some direction the score does not bend, so that there is no single best way")]
    FlatBend,
    /// The bend of a curve is not told from none, so that its top may be anywhere.
    #[error("the scores bend too little, so where the best lies can't be told")]
    NotLocated,
    /// Nobody gave the first, or the last, kind of vote.
    #[error("nobody found it too thin, or nobody too strong, so where the two balance can't be worked out")]
    OneSidedVotes,
    /// The votes change all at once between two ways, or the ways hardly differ.
    #[error(
        "the votes change all at once, or the ways hardly differ, so where the votes balance can't be worked out"
    )]
    VotesPart,
    /// No tea has been scored twice by the same taster.
    #[error("needs a tea that the taster has scored twice")]
    Repeats,
    /// A table whose rows are not all of one length, or whose cells do not all hold as many servings.
    #[error("every taster needs as many scores for every tea")]
    Uneven,
    /// A score that is infinite, not a number, or beyond ± 1e50.
    #[error("a score is no number or too large to compute with")]
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
    #[error("nothing varies here, so there is no spread to measure against")]
    NoSpread,
    /// The model explains every score exactly.
    #[error(
        "nothing is left over once teas and tasters are told apart, so there is no spread to measure against"
    )]
    NothingLeft,
    /// A taster gives the same score each time the same tea comes.
    #[error("every repeated score is the same, so there is no spread to measure against")]
    ExactRepeats,
    /// As many unknowns as scores.
    #[error("too few scores are left over to measure the spread")]
    NoFreedom,
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
    /// A tea (counted from 0) that no taster scored.
    #[error("tea number {} has no score", .0 + 1)]
    UnscoredTea(usize),
    /// The table falls apart into groups of teas that no taster links.
    #[error("the teas fall into groups that no taster has scored across, so they can't be compared")]
    Disconnected,
    /// Something besides the teas that goes along with them, or with the tasters.
    #[error("it goes along with the teas or the tasters, so that it can't be told apart from them")]
    NotApart,
    /// A trend was asked over an order that does not name every tea once.
    #[error("the expected order must name every tea once")]
    Order,
    /// More answers are called correct than were given.
    #[error("{correct} correct out of {n} is not possible")]
    MoreThanAll {
        /// How many are called correct.
        correct: usize,
        /// How many were given.
        n: usize,
    },
    /// A share or a level that is none.
    #[error("{0} must lie between 0 and 1")]
    NotAShare(&'static str),
    /// Even if everybody answers correctly, chance can't be ruled out.
    #[error("with {} even an all-correct result is not significant", many(*.0, "answer"))]
    NeverSignificant(usize),
    /// A search was given up.
    #[error("even {0} answers are not enough")]
    MoreThan(usize),
    /// An argument outside the range for which the figure is defined.
    #[error("a number lies outside the range for which this is defined")]
    OutOfRange,
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
    fn the_words_are_plain() {
        for (reason, words) in [
            (Cannot::Tasters(2), "needs two tasters at least"),
            (Cannot::Scores(1), "needs one score at least"),
            (Cannot::UnscoredTea(0), "tea number 1 has no score"),
            (Cannot::AllEqual, "all scores are equal, so nothing differs"),
            (Cannot::NeverSignificant(5), "with 5 answers even an all-correct result is not significant"),
            (Cannot::MoreThanAll { correct: 7, n: 6 }, "7 correct out of 6 is not possible"),
            (Cannot::NotAShare("the level"), "the level must lie between 0 and 1"),
        ] {
            assert_eq!(reason.to_string(), words);
        }
    }
}
