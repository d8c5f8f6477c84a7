//! What the teas are put in order by where there is room for one picture: the liking if the sheet asks it, else the weighted
//! total, else what the sheet asks first.

use crate::words::{LIKING, scale_words};
use protocol::Code;
use stats::Interval;
use summary::find::describe::Scale;
use summary::find::differences::Difference;
use summary::find::totals::{TOTAL, Totals};
use summary::{Summary, TeaLine};

/// The teas by one attribute or by the total, over the steeps.
pub(crate) struct Lead<'a> {
    /// What they are in order by.
    pub(crate) name: &'a str,
    /// The ends of its scale.
    pub(crate) ends: (f64, f64),
    /// What the ends mean: "1 (dislike extremely) to 9 (like extremely)".
    pub(crate) scale: String,
    /// Whether that says more than the two numbers.
    pub(crate) has_words: bool,
    /// Those that have a mean, the highest first.
    pub(crate) teas: Vec<LeadTea<'a>>,
    /// The others, and why.
    pub(crate) left_out: Vec<(&'a TeaLine, &'static str)>,
    /// What letters tell, or why there are none.
    pub(crate) apart: Apart,
    /// The means have missing scores allowed for, and no intervals.
    pub(crate) adjusted: bool,
}

/// One tea in it.
pub(crate) struct LeadTea<'a> {
    pub(crate) tea: &'a TeaLine,
    /// The mean over the tasters; where the test goes by means that have missing scores allowed for, this one.
    pub(crate) mean: f64,
    /// The plain mean's 95 % interval.
    pub(crate) interval: Option<Interval>,
    /// How many tasters.
    pub(crate) n: usize,
    /// Each of them: the mean of the steeps, or the total.
    pub(crate) tasters: Vec<f64>,
    /// Every score at every steep; of totals each taster's.
    pub(crate) scores: Vec<f64>,
    /// Teas with a letter in common are not shown to differ.
    pub(crate) letters: String,
}

impl<'a> Lead<'a> {
    /// `None` where the sheet asks no attribute.
    pub(crate) fn of(summary: &'a Summary) -> Option<Self> {
        let figures = &summary.findings.figures;
        let liking = figures.scales.iter().find(|scale| scale.attribute.eq_ignore_ascii_case(LIKING));
        match (liking, &figures.totals) {
            (Some(scale), _) => Some(Self::by_attribute(summary, scale)),
            (None, Some(totals)) => Some(Self::by_total(summary, totals)),
            (None, None) => figures.scales.first().map(|scale| Self::by_attribute(summary, scale)),
        }
    }

    fn by_attribute(summary: &'a Summary, scale: &'a Scale) -> Self {
        let (figures, name) = (&summary.findings.figures, scale.attribute.as_str());
        let difference = figures.differences.iter().find(|d| d.attribute == name && d.steep.is_none());
        let tea = |tea: &'a TeaLine| {
            let mut described = figures.described.iter().filter(|d| d.attribute == name && d.steep.is_none());
            let found = described.find(|d| d.tea == Some(tea.code))?;
            let tasters = figures.means.iter().filter(|m| m.attribute == name && m.tea == tea.code);
            let scores = figures.dots.iter().filter(|d| d.attribute == name && d.tea == tea.code);
            let adjusted = difference.and_then(|d| d.adjusted(tea.code)).map(|of| of.adjusted_mean);
            Some(LeadTea {
                tea,
                mean: adjusted.or(found.mean)?,
                interval: found.interval.get().copied().filter(|_| adjusted.is_none()),
                n: found.n,
                tasters: tasters.map(|m| m.value).collect(),
                scores: scores.map(|dot| dot.value).collect(),
                letters: letters(difference, tea.code),
            })
        };
        let ends = (f64::from(scale.min), f64::from(scale.max));
        let has_words = scale.low.is_some() || scale.high.is_some();
        Self::ordered(summary, name, (ends, scale_words(scale), has_words), difference, tea)
    }

    fn by_total(summary: &'a Summary, totals: &'a Totals) -> Self {
        let tea = |tea: &'a TeaLine| {
            let found = totals.teas.iter().find(|total| total.tea == tea.code)?;
            let tasters = totals.tasters.iter().filter(|total| total.tea == tea.code);
            let tasters: Vec<f64> = tasters.map(|total| total.points).collect();
            let adjusted = totals.difference.adjusted(tea.code).map(|of| of.adjusted_mean);
            Some(LeadTea {
                tea,
                mean: adjusted.or(found.mean)?,
                interval: found.interval.get().copied().filter(|_| adjusted.is_none()),
                n: found.n,
                scores: tasters.clone(),
                tasters,
                letters: letters(Some(&totals.difference), tea.code),
            })
        };
        let scale = format!("0 to 100, by {}", totals.source);
        Self::ordered(summary, TOTAL, ((0.0, 100.0), scale, true), Some(&totals.difference), tea)
    }

    fn ordered(
        summary: &'a Summary,
        name: &'a str,
        (ends, scale, has_words): ((f64, f64), String, bool),
        difference: Option<&Difference>,
        of: impl Fn(&'a TeaLine) -> Option<LeadTea<'a>>,
    ) -> Self {
        let (mut teas, mut left_out) = (Vec::new(), Vec::new());
        for tea in &summary.teas {
            match of(tea) {
                Some(found) => teas.push(found),
                None => left_out.push((tea, why_not(tea, name))),
            }
        }
        teas.sort_by(|a, b| b.mean.total_cmp(&a.mean));
        let adjusted = difference.is_some_and(|d| d.teas.iter().any(|&tea| d.adjusted(tea).is_some()));
        Self { name, ends, scale, has_words, teas, left_out, apart: Apart::of(difference), adjusted }
    }
}

/// How far several teas that are compared are told apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Apart {
    /// Nothing is known of pairs.
    Unknown,
    /// Teas with a letter in common are not shown to differ.
    ByLetters,
    /// All have a letter in common, and no difference is shown.
    NotShown,
    /// All have a letter in common, though it is shown that there is a difference.
    NotWhich,
}

impl Apart {
    pub(crate) fn of(difference: Option<&Difference>) -> Self {
        let Some(d) = difference.filter(|d| d.teas.len() > 1 && d.pairs().get().is_some()) else {
            return Apart::Unknown;
        };
        let all: Vec<String> = d.teas.iter().filter_map(|&tea| d.letters(tea)).collect();
        let (first, rest) = all.split_first().map_or(("", &[][..]), |(first, rest)| (first.as_str(), rest));
        match (first.chars().any(|letter| rest.iter().all(|other| other.contains(letter))), d.shown()) {
            (false, _) => Apart::ByLetters,
            (true, false) => Apart::NotShown,
            (true, true) => Apart::NotWhich,
        }
    }

    /// The same for a caption, in a sentence with a space behind it; nothing where nothing is known.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Apart::Unknown => "",
            Apart::ByLetters => "Teas with a letter in common are not shown to differ. ",
            Apart::NotShown => "Too close to call: no difference is shown. ",
            Apart::NotWhich => "That the teas differ is shown, but not which of them. ",
        }
    }
}

/// The letters of a tea among several that are compared; none where they would tell nothing.
pub(crate) fn letters(difference: Option<&Difference>, tea: Code) -> String {
    let told = difference.filter(|_| Apart::of(difference) == Apart::ByLetters);
    told.and_then(|d| d.letters(tea)).unwrap_or_default()
}

/// Why a tea has no mean in an attribute or the total.
pub(crate) fn why_not(tea: &TeaLine, attribute: &str) -> &'static str {
    let scored = tea.all_steeps.attributes.iter().any(|line| line.n > 0 && line.name == attribute);
    match (tea.steeps.is_empty(), attribute == TOTAL && tea.all_steeps.sheets.n > 0, scored) {
        (true, ..) => "it was not served",
        (false, true, _) => "nobody has scored all that the total is of",
        (false, false, true) => "nobody has scored half of its steeps",
        (false, false, false) => "nobody has scored it",
    }
}
