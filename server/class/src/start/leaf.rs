//! What a leaf is like, as far as it decides how to begin with it.

use serde::{Deserialize, Serialize};

/// A choice among a few words.
pub trait Choice: Copy + PartialEq + Sized + 'static {
    /// What is chosen, for example `leaf form`.
    const WHAT: &'static str;
    /// Every choice with the words for it; the first word is the one that is written.
    const ALL: &'static [(Self, &'static [&'static str])];

    /// The word for it.
    fn word(self) -> &'static str {
        Self::ALL
            .iter()
            .find(|(one, _)| *one == self)
            .and_then(|(_, words)| words.first())
            .copied()
            .unwrap_or("")
    }

    /// All first words, with a comma between.
    fn words() -> String {
        Self::ALL.iter().filter_map(|(_, words)| words.first().copied()).collect::<Vec<_>>().join(", ")
    }

    /// Understands a word, the beginning of one that leaves no doubt, or the choice's number in the list.
    ///
    /// # Errors
    /// A sentence with the words that would be right.
    fn understand(text: &str) -> Result<Self, String> {
        let typed = text.trim().to_lowercase().replace([' ', '_'], "-");
        if let Ok(number) = typed.parse::<usize>()
            && let Some((one, _)) = number.checked_sub(1).and_then(|i| Self::ALL.get(i))
        {
            return Ok(*one);
        }
        let fits = |test: &dyn Fn(&str) -> bool| {
            let fitting: Vec<Self> = Self::ALL
                .iter()
                .filter(|(_, words)| words.iter().any(|w| test(w)))
                .map(|(one, _)| *one)
                .collect();
            (fitting.len() == 1).then(|| fitting[0])
        };
        let begun = || if typed.is_empty() { None } else { fits(&|word| word.starts_with(&typed)) };
        fits(&|word| word == typed).or_else(begun).ok_or_else(|| {
            let shown = protocol::text::clean(text, 20);
            format!("`{shown}` is not a {}; say one of {}", Self::WHAT, Self::words())
        })
    }
}

/// The form of the leaf.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Form {
    /// Rolled tightly into balls.
    BallRolled,
    /// Twisted, or in strips.
    Twisted,
    /// Open, whole leaf.
    Open,
    /// Broken, or small.
    Broken,
    /// Pressed into a cake, a brick or the like.
    Compressed,
}

impl Choice for Form {
    const WHAT: &'static str = "leaf form";
    const ALL: &'static [(Self, &'static [&'static str])] = &[
        (Form::BallRolled, &["ball-rolled", "rolled"]),
        (Form::Twisted, &["twisted", "strip"]),
        (Form::Open, &["open", "leafy"]),
        (Form::Broken, &["broken", "small"]),
        (Form::Compressed, &["compressed", "pressed"]),
    ];
}

/// How far the leaf is oxidised.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Oxidation {
    /// Not at all.
    Green,
    /// Lightly.
    Lightly,
    /// About half.
    Half,
    /// Highly.
    Highly,
    /// Fully.
    Fully,
    /// Fermented after it was made.
    PostFermented,
}

impl Oxidation {
    /// As it is said of a leaf: `half oxidised`.
    pub fn said(self) -> &'static str {
        match self {
            Oxidation::Green => "green",
            Oxidation::Lightly => "lightly oxidised",
            Oxidation::Half => "half oxidised",
            Oxidation::Highly => "highly oxidised",
            Oxidation::Fully => "fully oxidised",
            Oxidation::PostFermented => "post-fermented",
        }
    }
}

impl Choice for Oxidation {
    const WHAT: &'static str = "degree of oxidation";
    const ALL: &'static [(Self, &'static [&'static str])] = &[
        (Oxidation::Green, &["green", "unoxidised"]),
        (Oxidation::Lightly, &["lightly", "lightly-oxidised"]),
        (Oxidation::Half, &["half", "half-oxidised"]),
        (Oxidation::Highly, &["highly", "highly-oxidised"]),
        (Oxidation::Fully, &["fully", "fully-oxidised", "black"]),
        (Oxidation::PostFermented, &["post-fermented", "dark"]),
    ];
}

/// The kind of tea, as people name it: says of what form and oxidation it usually is. Common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Green tea.
    Green,
    /// White tea.
    White,
    /// Between green and black.
    Oolong,
    /// Black tea.
    Black,
    /// Fermented after it was made.
    Dark,
}

impl Kind {
    /// Its usual form and oxidation.
    pub fn usual(self) -> (Form, Oxidation) {
        match self {
            Kind::Green => (Form::Open, Oxidation::Green),
            Kind::White => (Form::Open, Oxidation::Lightly),
            Kind::Oolong => (Form::Twisted, Oxidation::Half),
            Kind::Black => (Form::Twisted, Oxidation::Fully),
            Kind::Dark => (Form::Compressed, Oxidation::PostFermented),
        }
    }
}

impl Choice for Kind {
    const WHAT: &'static str = "kind of tea";
    const ALL: &'static [(Self, &'static [&'static str])] = &[
        (Kind::Green, &["green"]),
        (Kind::White, &["white"]),
        (Kind::Oolong, &["oolong"]),
        (Kind::Black, &["black", "red"]),
        (Kind::Dark, &["dark", "post-fermented"]),
    ];
}

/// How long people sit together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sitting {
    /// Little leaf, few long steeps.
    Short,
    /// Between the two.
    Middle,
    /// Much leaf, many short steeps.
    Long,
}

impl Choice for Sitting {
    const WHAT: &'static str = "length of sitting";
    const ALL: &'static [(Self, &'static [&'static str])] =
        &[(Sitting::Short, &["short"]), (Sitting::Middle, &["middle"]), (Sitting::Long, &["long"])];
}

/// The most years a leaf can have.
pub(crate) const MAX_YEARS: u32 = 150;

/// A tea somebody wants to steep.
#[derive(Clone, Debug, PartialEq)]
pub struct Leaf {
    /// Its name, unique in the class.
    pub name: String,
    /// Its form.
    pub form: Form,
    /// How far it is oxidised.
    pub oxidation: Oxidation,
    /// Whether it was roasted.
    pub roasted: bool,
    /// Whether it is very dry.
    pub dry: bool,
    /// Its age, years.
    pub age_years: u32,
    /// The dose wished for, grams per 100 ml; `None` takes the table's.
    pub dose: Option<f64>,
    /// The water of the first steep wished for, °C; `None` takes the table's.
    pub temp_c: Option<f64>,
    /// The first steep wished for, seconds, all others with it; `None` takes the table's.
    pub first_s: Option<u32>,
    /// What the leaf is called, if this is one of several ways of it; `None` is called as the tea.
    pub leaf: Option<String>,
}

impl Leaf {
    /// A leaf of which nothing but the name is known: twisted, half oxidised, not roasted, young.
    pub fn named(name: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            form: Form::Twisted,
            oxidation: Oxidation::Half,
            roasted: false,
            dry: false,
            age_years: 0,
            dose: None,
            temp_c: None,
            first_s: None,
            leaf: None,
        }
    }

    /// What the leaf is called.
    pub fn leaf_name(&self) -> &str {
        self.leaf.as_ref().unwrap_or(&self.name)
    }

    /// What it is like, as a line for people.
    pub fn described(&self) -> String {
        let mut parts = vec![format!("{} leaf", self.form.word()), self.oxidation.said().to_string()];
        parts.push(if self.roasted { "roasted" } else { "not roasted" }.into());
        if self.dry {
            parts.push("very dry".into());
        }
        parts.push(match self.age_years {
            0 => "of this year".into(),
            1 => "1 year old".into(),
            years => format!("{years} years old"),
        });
        parts.join(", ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_its_beginning_or_its_number_is_understood() {
        for (text, form) in [
            ("ball-rolled", Form::BallRolled),
            ("Ball rolled", Form::BallRolled),
            ("ball", Form::BallRolled),
            ("strip", Form::Twisted),
            ("3", Form::Open),
            ("small", Form::Broken),
            (" c ", Form::Compressed),
        ] {
            assert_eq!(Form::understand(text), Ok(form), "{text}");
        }
        assert_eq!(Oxidation::understand("dark"), Ok(Oxidation::PostFermented));
        assert_eq!(Oxidation::understand("unoxidised"), Ok(Oxidation::Green));
    }

    #[test]
    fn what_is_not_understood_is_answered_with_what_would_be_right() {
        for text in ["", "0", "6", "-1", "flat", "\u{1b}[2J"] {
            let answer = Form::understand(text).unwrap_err();
            assert!(
                answer.contains("say one of ball-rolled, twisted, open") && !answer.contains('\u{1b}'),
                "{text}"
            );
        }
        assert!(Oxidation::understand("f").is_ok());
        assert!(Oxidation::understand("h").is_err(), "half or highly");
    }

    #[test]
    fn every_choice_has_a_word_that_is_understood() {
        for (form, _) in Form::ALL {
            assert_eq!(Form::understand(form.word()), Ok(*form));
        }
        for (oxidation, _) in Oxidation::ALL {
            assert_eq!(Oxidation::understand(oxidation.word()), Ok(*oxidation));
        }
        for (kind, _) in Kind::ALL {
            assert_eq!(Kind::understand(kind.word()), Ok(*kind));
        }
        for (sitting, _) in Sitting::ALL {
            assert_eq!(Sitting::understand(sitting.word()), Ok(*sitting));
        }
    }
}
