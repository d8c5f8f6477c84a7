//! The file that a person takes home after a class.

use crate::keep::replace_file;
use seat::app::App;
use seat::{notes, words};
use std::path::{Path, PathBuf};

/// Where it goes, and what was written last.
#[derive(Debug, Default)]
pub struct Notes {
    wished: Option<PathBuf>,
    written: Option<(PathBuf, String)>,
}

impl Notes {
    /// To be written to this file when the class ends; without one only if the person asks for it then.
    pub fn new(wished: Option<PathBuf>) -> Self {
        Self { wished, written: None }
    }

    /// Writes it, if it is wished for or `asked` for and not written yet as it is now. A file that was there before is
    /// left as it is, and another name is taken. The place, or what went wrong in words.
    pub fn write(&mut self, app: &App, asked: bool) -> Option<Result<String, String>> {
        let wished = self.wished.clone().or_else(|| asked.then(|| PathBuf::from(notes::file_name(app))))?;
        let text = notes::text(app);
        if self.written.as_ref().is_some_and(|(_, known)| *known == text) {
            return None;
        }
        let path = match &self.written {
            Some((path, _)) => path.clone(),
            None => free(&wished),
        };
        let place = path.display().to_string();
        let result = replace_file(&path, text.as_bytes());
        // What can't be written is not tried again at every tick; a new text is.
        (self.wished, self.written) = (Some(wished), Some((path, text)));
        Some(match result {
            Ok(()) => Ok(place),
            Err(e) => Err(format!("can't keep your notes in `{place}`: {}", words::fault(e))),
        })
    }
}

/// The path itself, or one beside it that is not taken.
fn free(wished: &Path) -> PathBuf {
    let beside = |n: u32| {
        let stem = wished.file_stem().unwrap_or_default().to_string_lossy();
        let ending = wished.extension().map(|e| format!(".{}", e.to_string_lossy())).unwrap_or_default();
        wished.with_file_name(format!("{stem}-{n}{ending}"))
    };
    let all = std::iter::once(wished.to_path_buf()).chain((2..u32::MAX).map(beside));
    all.into_iter().find(|path| !path.exists()).unwrap_or_else(|| wished.to_path_buf())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{Desk, score, welcome};
    use protocol::Phase;
    use protocol::wire::Welcome;

    #[test]
    fn notes_are_written_again_when_they_change_and_never_over_what_was_there_before() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("evening.txt");
        std::fs::write(&path, "of another evening").unwrap();
        let mut desk = Desk::seated(welcome(Phase::Closed));
        let mut notes = Notes::new(Some(path.clone()));
        let place = notes.write(&desk.app, false).unwrap().unwrap();
        assert!(place.ends_with("evening-2.txt"), "{place}");
        assert_eq!(notes.write(&desk.app, false), None, "nothing has changed");
        desk.link_up(Welcome { scores: vec![score(3, 417, 1)], ..welcome(Phase::Closed) });
        assert_eq!(notes.write(&desk.app, false), Some(Ok(place.clone())));
        assert!(std::fs::read_to_string(place).unwrap().contains("steep 1: aroma 7, liking 8"));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "of another evening");
    }

    #[test]
    fn without_a_wish_nothing_is_written_and_what_can_t_be_is_said_once() {
        let desk = Desk::seated(welcome(Phase::Closed));
        assert_eq!(Notes::new(None).write(&desk.app, false), None);
        let dir = tempfile::tempdir().unwrap();
        std::fs::write(dir.path().join("a"), "").unwrap();
        let mut notes = Notes::new(Some(dir.path().join("a/notes.txt")));
        let words = notes.write(&desk.app, false).unwrap().unwrap_err();
        assert!(words.starts_with("can't keep your notes in") && !words.contains("os error"), "{words}");
        assert_eq!(notes.write(&desk.app, false), None);
    }
}
