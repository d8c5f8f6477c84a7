//! How to read each kind of picture. Written out once a page, under the first of its kind.

use std::fmt;

/// A kind of picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum How {
    Overview,
    /// With the name of the liking, if one was asked, and with votes on the strength or without.
    Ladder {
        liking: Option<String>,
        votes: bool,
    },
    /// All teas in one picture, or each in its own.
    Curves {
        together: bool,
    },
    Scores,
    Totals,
    /// The means allow for missing scores, or not.
    Pairs {
        adjusted: bool,
    },
    Letters {
        adjusted: bool,
    },
    /// Each tea has a sign of its own, or not.
    Tasters {
        signs: bool,
    },
    Ways,
    Pooled,
    /// With the name of the liking.
    Penalty(String),
    Words,
}

const CURVES: &str = "the class's mean at each steep, upright strokes its 95 % interval. The strokes also hold that some \
                      people score all teas higher than others do; the comparison of the teas takes that out, so how far \
                      strokes overlap does not tell whether teas differ.";

impl fmt::Display for How {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let fill = |adjusted| if adjusted { ", with the scores that are missing made up for" } else { "" };
        match self {
            How::Overview => f.write_str(
                "The teas from the highest mean to the lowest, each with its recipe as served. Dots: every score at every steep, \
                 equal ones beside each other. For the mean each taster counts once, with the mean of the steeps; its line is the \
                 95 % interval. Letters go by the comparison of the teas further down.",
            ),
            How::Ladder { liking, votes } => ladder(f, liking.as_deref(), *votes),
            How::Curves { together: true } => write!(f, "Each line is a tea: {CURVES}"),
            How::Curves { together: false } => {
                write!(f, "Each tea has its own picture, the others behind it: {CURVES}")
            }
            How::Scores => f.write_str(
                "Dots: every score at every steep, equal ones beside each other. Below them each taster counts once, with the mean \
                 of the steeps: diamond and thin line are the mean in its 95 % interval, the tall stroke is the median, the band goes \
                 from quartile to quartile.",
            ),
            How::Totals => f.write_str(
                "Dots: each taster's total of the tea, out of 100. Diamond and thin line are the mean in its 95 % interval, \
                 the tall stroke is the median, the band goes from quartile to quartile.",
            ),
            How::Pairs { adjusted } => write!(
                f,
                "Each line is a pair of teas: how far the first lies above the second (right of 0) or below it (left), in an \
                 interval that holds for all pairs together. Bold, with a full dot: shown to differ, since the interval leaves \
                 out 0 and the test over all teas shows that they differ. A ring: not shown (Tukey's honestly significant \
                 differences{}).",
                fill(*adjusted)
            ),
            How::Letters { adjusted } => write!(
                f,
                "Teas from the highest mean to the lowest; teas joined by an upright line under the same letter are not shown to \
                 differ (Tukey's honestly significant differences{}).",
                fill(*adjusted)
            ),
            How::Tasters { signs } => {
                let (sign, apart) = if *signs {
                    ("sign", "Where one tea's signs lie apart, people see that tea differently.")
                } else {
                    ("dot", "Which tea is which stands in the table.")
                };
                write!(
                    f,
                    "Each {sign} is a tea: how far this taster's mean of it lies above the class's (right of 0) or below (left). \
                     The tall stroke is their middle: scoring high or low is a way of using the scale, neither right nor wrong, and \
                     the comparison of teas takes it out. {apart} Tasters go by letters here, from the highest middle to the \
                     lowest, lettered afresh for each attribute; the teacher knows who is who."
                )
            }
            How::Ways => f.write_str(
                "Each thin line is one taster, from the mean of the one's steeps to that of the other's; the thick one is the \
                 class. Where nearly all lines go the same way, the way of steeping may make a difference; the test tells.",
            ),
            How::Pooled => f.write_str(
                "The ways from the highest mean to the lowest, each with how it is steeped. The means are those that there would be if every \
                 taster had scored every way, each taster's own level taken out; the line goes one standard error to each side.",
            ),
            How::Penalty(liking) => write!(
                f,
                "Mean {liking} of those who voted too thin (square), just right (ring) and too strong (triangle), with how many \
                 votes they are, over all steeps. How far square and triangle lie left of the ring is the liking lost. Few votes \
                 say little, and one person has a vote at every steep."
            ),
            How::Words => f.write_str(
                "How many tasters ticked the word for the tea, at any steep that all teas were served at; a full box would be \
                 everybody who scored it. A word in bold letters tells the teas apart (Cochran's Q, allowing for all words asked).",
            ),
        }
    }
}

fn ladder(f: &mut fmt::Formatter<'_>, liking: Option<&str>, votes: bool) -> fmt::Result {
    f.write_str("A rung for each steep, with its time as served.")?;
    if votes {
        f.write_str(
            " Bars: how many found it too thin (left of the line), just right (pale, in the middle) and too strong (right), darker \
             where much so; the numbers are votes. Beside them what to do next time, where an exact test of that cup \
             reaches 5 % with all cups looked at.",
        )?;
    }
    match liking {
        Some(liking) => {
            write!(f, " At the right the class's mean {liking} as a diamond, in its 95 % interval.")
        }
        None => Ok(()),
    }
}
