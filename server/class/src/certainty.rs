//! How sure it is that a value is what a standard says.

use serde::Deserialize;

/// How a standard's value was seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Certainty {
    /// On a public page about the standard.
    Found,
    /// On a page that quotes the standard.
    SecondHand,
    /// Only as commonly quoted: never to be shown as a citation.
    Unchecked,
}

impl Certainty {
    /// The mark beside a value in a class file. What is unchecked never names the standard.
    pub(crate) fn mark(self, source: &str) -> String {
        match self {
            Certainty::Found => format!("found on a public page about {source}"),
            Certainty::SecondHand => format!("quoted second hand from {source}"),
            Certainty::Unchecked => "commonly quoted, not checked against the standard".into(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_unchecked_never_names_the_standard() {
        assert!(!Certainty::Unchecked.mark("GB/T 23776-2018").contains("23776"));
        assert!(Certainty::SecondHand.mark("GB/T 23776-2018").contains("23776"));
    }
}
