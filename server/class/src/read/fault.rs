//! What is wrong with a class file: where, what, and what would be right. All faults of a file are shown at once.

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use std::ops::Range;

/// One fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Where in the text, in bytes.
    pub span: Range<usize>,
    /// The field, as a path: `tea 2: temp_c`.
    pub field: String,
    /// What is wrong.
    pub problem: String,
    /// What would be right.
    pub remedy: String,
}

/// The faults of one file, in the order of the text. Never empty when returned as an error.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Faults(pub Vec<Fault>);

impl Faults {
    /// Adds one.
    pub fn add(
        &mut self,
        span: Range<usize>,
        field: &str,
        problem: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        self.0.push(Fault { span, field: field.into(), problem: problem.into(), remedy: remedy.into() });
    }

    /// The faults drawn at their lines, with a closing line that counts them.
    pub fn render(&self, file: &str, source: &str, colour: bool) -> String {
        let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
        let mut out = String::new();
        for fault in &self.0 {
            let span = fault.span.start.min(source.len())..fault.span.end.min(source.len());
            let snippet = Snippet::source(source).path(file).annotation(AnnotationKind::Primary.span(span));
            let title = format!("{}: {}", fault.field, fault.problem);
            let group = Group::with_title(Level::ERROR.primary_title(&title))
                .element(snippet)
                .element(Level::HELP.message(&fault.remedy));
            out += &renderer.render(&[group]);
            out += "\n\n";
        }
        let n = self.0.len();
        out + &format!("{file}: {n} fault{}; the class was not opened", if n == 1 { "" } else { "s" })
    }
}
