//! Answers kept beside the class file while it is asked for, so that Ctrl-C, a closed window or a lost machine loses none.

use super::NewError;
use super::ask::{Answer, AskError, Given, Notes, ask};
use crate::output::save;
use class::start::table::Table;
use class::start::wishes::Wishes;
use protocol::text::message;
use std::io::{BufRead, Write};
use std::path::{Path, PathBuf};

/// Where answers are kept.
pub struct Kept(Option<PathBuf>);

impl Kept {
    /// Beside a class file; nowhere without one.
    pub fn beside(file: Option<&PathBuf>) -> Self {
        Self(file.map(|file| {
            let mut name = file.as_os_str().to_owned();
            name.push(".answers");
            name.into()
        }))
    }

    /// Asks, going on from what is kept.
    pub fn ask(
        &self,
        given: &Given,
        table: &Table,
        answers: &mut dyn BufRead,
        questions: &mut dyn Write,
    ) -> Result<Wishes, NewError> {
        let earlier = self.0.as_deref().map(read).unwrap_or_default();
        if let (Some(file), false) = (&self.0, earlier.is_empty()) {
            let words = format!("Going on from the answers in {}.", file.display());
            let _ = writeln!(questions, "{}", message(&words));
        }
        let mut kept = !earlier.is_empty();
        let mut keep = |all: &[Answer]| {
            let text: String =
                all.iter().map(|(question, answer)| format!("{question}\t{answer}\n")).collect();
            // It is a help only: where nothing can be kept, the class file can't be written either, and that is said.
            kept = self.0.as_ref().is_some_and(|file| save(file, text.as_bytes(), true).is_ok())
                && !all.is_empty();
        };
        let asked = ask(given, table, Notes { earlier, keep: &mut keep }, answers, questions);
        asked.map_err(|error| match (error, &self.0) {
            (AskError::Ended, Some(file)) if kept => NewError::Kept(file.clone()),
            (error, _) => error.into(),
        })
    }

    /// Forgets them: the class file is there.
    pub fn forget(&self) {
        if let Some(file) = &self.0 {
            let _ = std::fs::remove_file(file);
        }
    }
}

/// The answers in a file; none where it can't be read.
fn read(file: &Path) -> Vec<Answer> {
    let text = std::fs::read_to_string(file).unwrap_or_default();
    text.lines().filter_map(|line| line.split_once('\t')).map(|(q, a)| (q.into(), a.into())).collect()
}
