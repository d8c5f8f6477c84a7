//! The seat's file, replaced as a whole and never half-written.

use seat::kept::{FORM, Kept};
use seat::words;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use thiserror::Error;
use uuid::Uuid;

/// Why the seat's file can't be used.
#[derive(Debug, Error)]
pub enum KeepError {
    /// The file can't be read, written or set aside.
    #[error("can't {act} the seat's file `{path}`: {}; give another place with --keep", words::fault(source))]
    File {
        /// What was tried.
        act: &'static str,
        /// Where.
        path: PathBuf,
        /// What the machine said.
        source: io::Error,
    },
    /// There is no place for it.
    #[error("can't tell where this machine keeps a program's files; give a place with --keep")]
    NoPlace,
}

/// The file itself.
#[derive(Clone, Debug)]
pub struct KeepFile {
    path: PathBuf,
}

impl KeepFile {
    /// Opens the file at `path` and reads it, or begins it with `fresh_secret`, on disk at once. A file that can't be understood is set aside, and the last value says so.
    ///
    /// # Errors
    /// When the file is there and can't be read, or can't be set aside.
    pub fn open(path: &Path, fresh_secret: Uuid) -> Result<(Self, Kept, Option<String>), KeepError> {
        let file = Self { path: path.to_path_buf() };
        let text = match fs::read(path) {
            Ok(text) => text,
            Err(e) if e.kind() == io::ErrorKind::NotFound => {
                let kept = Kept::new(fresh_secret);
                file.write(&kept)?;
                return Ok((file, kept, None));
            }
            Err(source) => return Err(file.error("read", source)),
        };
        let fault = match understood(&text) {
            Ok(kept) => return Ok((file, kept, None)),
            Err(fault) => fault,
        };
        let aside = file.aside();
        fs::rename(path, &aside).map_err(|source| file.error("set aside", source))?;
        let words = format!(
            "the seat's file `{}` can't be understood ({fault}); it is now `{}`, and the seat starts without it",
            path.display(),
            aside.display()
        );
        let kept = Kept::new(fresh_secret);
        file.write(&kept)?;
        Ok((file, kept, Some(words)))
    }

    /// Writes everything, as a whole or not at all.
    ///
    /// # Errors
    /// When the file can't be written; the earlier one is then still there.
    pub fn write(&self, kept: &Kept) -> Result<(), KeepError> {
        self.replace(kept).map_err(|source| self.error("write", source))
    }

    fn replace(&self, kept: &Kept) -> io::Result<()> {
        replace_file(&self.path, &written(kept)?)
    }

    /// A name that is not taken, so that no earlier broken file is lost either.
    fn aside(&self) -> PathBuf {
        let name = |n: u32| {
            let mut text = self.path.clone().into_os_string();
            text.push(if n == 1 { ".broken".into() } else { format!(".broken-{n}") });
            PathBuf::from(text)
        };
        (1..u32::MAX).map(name).find(|p| !p.exists()).unwrap_or_else(|| name(1))
    }

    fn error(&self, act: &'static str, source: io::Error) -> KeepError {
        KeepError::File { act, path: self.path.clone(), source }
    }
}

/// What the bytes of a seat's file say.
///
/// # Errors
/// Why they can't be understood.
pub fn understood(text: &[u8]) -> Result<Kept, String> {
    match serde_json::from_slice::<Kept>(text) {
        Ok(kept) => {
            let form = kept.form;
            kept.in_form().ok_or_else(|| format!("it has form {form}, and this program knows form {FORM}"))
        }
        Err(e) => Err(e.to_string()),
    }
}

/// The bytes of a seat's file.
///
/// # Errors
/// What can't be written as JSON.
pub fn written(kept: &Kept) -> io::Result<Vec<u8>> {
    let mut text = serde_json::to_vec_pretty(kept)?;
    text.push(b'\n');
    Ok(text)
}

/// Replaces a file as a whole: it is the earlier one or the new one, never half of it. Nobody else can read it.
///
/// # Errors
/// Whatever the machine says; the earlier file is then still there.
pub fn replace_file(path: &Path, content: &[u8]) -> io::Result<()> {
    let parent = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    fs::create_dir_all(parent)?;
    // Made in the same directory so that it can be renamed; readable by nobody else from the start.
    let mut file = tempfile::NamedTempFile::new_in(parent)?;
    file.write_all(content)?;
    file.as_file().sync_all()?;
    file.persist(path)?;
    // The rename itself reaches the disk with its directory; where that can't be asked for, the file's own
    // sync has to do.
    if let Ok(directory) = fs::File::open(parent) {
        directory.sync_all().ok();
    }
    Ok(())
}

/// Where the file of a person is kept unless told otherwise. It is one file for all classes, wherever they are held
/// and however their host is called: inside, each class has its own place under its id, and each its own token.
///
/// # Errors
/// When the machine has no such place.
pub fn usual_path(name: &str) -> Result<PathBuf, KeepError> {
    use etcetera::BaseStrategy;
    let base = etcetera::choose_base_strategy().map_err(|_| KeepError::NoPlace)?;
    let root = base.state_dir().unwrap_or_else(|| base.data_dir());
    Ok(root.join("kettlecall").join(file_name(name)))
}

/// A file name for a person, in whatever capitals: plain characters as they are, others by number, so that no two
/// people share a file.
fn file_name(name: &str) -> String {
    let folded = name.to_lowercase();
    let each = folded.chars().map(|c| {
        let plain = c.is_ascii_lowercase() || c.is_ascii_digit() || c == '.';
        if plain { c.to_string() } else { format!("_{:x}_", c as u32) }
    });
    // File names end at 255 bytes; forty characters outside ASCII would not fit, so a long one ends in its own sum.
    let whole = format!("seat-{}", each.collect::<String>());
    if whole.len() <= 200 {
        return format!("{whole}.json");
    }
    format!("{}-{:016x}.json", &whole[..180], crate::link::backoff::seed_of(&whole))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;
    use proptest::prelude::*;
    use protocol::SeatId;
    use seat::app::{Cup, Filled};

    const SECRET: Uuid = Uuid::from_u128(77);

    fn filled() -> Kept {
        let mut kept = Kept::new(SECRET);
        kept.seated(Uuid::from_u128(9), SeatId(Uuid::from_u128(1)), "Ann");
        kept.put_in(Uuid::from_u128(9), fixture::score(3, 417, 1));
        let begun = fixture::score(4, 417, 2);
        kept.draft(Uuid::from_u128(9), vec![(Cup::of(&begun), Filled::from(&begun))]);
        kept
    }

    #[test]
    fn what_is_written_is_read_again() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("deep/seat.json");
        let (file, kept, warning) = KeepFile::open(&path, SECRET).unwrap();
        assert_eq!((kept, warning), (Kept::new(SECRET), None));
        let again = KeepFile::open(&path, Uuid::from_u128(1)).unwrap().1;
        assert_eq!(again, Kept::new(SECRET), "the secret is on disk before anything is said");
        file.write(&filled()).unwrap();
        assert_eq!(KeepFile::open(&path, SECRET).unwrap().1, filled());
        let others = fs::read_dir(path.parent().unwrap()).unwrap().count();
        assert_eq!(others, 1, "no half-written file stays behind");
    }

    #[cfg(unix)]
    #[test]
    fn nobody_else_reads_the_file() {
        use std::os::unix::fs::PermissionsExt;
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("seat.json");
        KeepFile::open(&path, SECRET).unwrap().0.write(&filled()).unwrap();
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
    }

    #[test]
    fn a_broken_file_is_set_aside_and_never_overwritten() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("seat.json");
        for (text, aside) in
            [("{\"form\":1,", "seat.json.broken"), ("{\"form\":7,\"classes\":[]}", "seat.json.broken-2")]
        {
            fs::write(&path, text).unwrap();
            let (_, kept, warning) = KeepFile::open(&path, SECRET).unwrap();
            assert_eq!(kept, Kept::new(SECRET));
            assert!(warning.unwrap().contains(aside));
            assert_eq!(fs::read_to_string(dir.path().join(aside)).unwrap(), text);
            fs::remove_file(&path).unwrap();
        }
    }

    #[test]
    fn capitals_do_not_make_another_person() {
        assert_eq!(file_name("ÉMILE Ann"), file_name("émile ann"));
        let paths = ["Ann", "ANN"].map(|name| usual_path(name).unwrap());
        assert_eq!(paths[0], paths[1]);
        assert!(paths[0].ends_with("kettlecall/seat-ann.json"));
    }

    #[test]
    fn no_name_leads_out_of_the_directory_or_into_another_persons_file() {
        assert_eq!(file_name("../ann b"), "seat-.._2f_ann_20_b.json");
        let names = ["a b", "a_b", "a_20_b", "ab", "é", "e"];
        let mut files: Vec<_> = names.iter().map(|n| file_name(n)).collect();
        files.push(file_name(&"明".repeat(40)));
        files.push(file_name(&format!("{}月", "明".repeat(39))));
        files.sort();
        files.dedup();
        assert_eq!(files.len(), names.len() + 2);
        assert!(files.iter().all(|f| f.len() < 255));
    }

    proptest! {
        #[test]
        fn no_damage_to_the_file_makes_its_reader_panic_and_what_is_understood_is_written_the_same(
            at: prop::sample::Index, cut in 0usize..20, put in prop::collection::vec(any::<u8>(), 0..6),
        ) {
            let good = written(&filled()).unwrap();
            let at = at.index(good.len());
            let damaged = [&good[..at], &put, &good[(at + cut).min(good.len())..]].concat();
            match understood(&damaged) {
                Ok(kept) => prop_assert_eq!(understood(&written(&kept).unwrap()), Ok(kept)),
                Err(words) => prop_assert!(!words.is_empty()),
            }
        }
    }
}
