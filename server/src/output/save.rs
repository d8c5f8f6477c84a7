//! Writes a file whole or not at all: beside its place first, then there in one step.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::Path;
use tempfile::{Builder, NamedTempFile};

/// Whether something has this name already, be it only a link that leads nowhere.
pub(crate) fn is_there(path: &Path) -> bool {
    fs::symlink_metadata(path).is_ok()
}

/// Writes a file. What is there is replaced only if `over` says so, and stays as it was if the writing fails. A link stays a
/// link then, and what it leads to is replaced; a device or a pipe is simply written to.
///
/// # Errors
/// What the system says; `AlreadyExists` if something is there that must stay.
pub(crate) fn save(path: &Path, bytes: &[u8], over: bool) -> io::Result<()> {
    fill(path, over, |file| file.write_all(bytes))
}

/// Writes a file that nobody but its owner may read, where there is none yet.
///
/// # Errors
/// What the system says; `AlreadyExists` if something is there.
pub(crate) fn save_secret(path: &Path, bytes: &[u8]) -> io::Result<()> {
    secret_part(path, bytes)?.persist_noclobber(path)?;
    Ok(())
}

/// The same in place of what is there.
///
/// # Errors
/// What the system says; what was there stays.
pub(crate) fn replace_secret(path: &Path, bytes: &[u8]) -> io::Result<()> {
    secret_part(path, bytes)?.persist(path)?;
    Ok(())
}

/// The file that is to be put there: its owner's alone from the first byte on.
fn secret_part(path: &Path, bytes: &[u8]) -> io::Result<NamedTempFile> {
    let mut part = Builder::new().prefix(".kettlecall-").tempfile_in(folder_of(path))?;
    part.write_all(bytes)?;
    part.as_file().sync_all()?;
    Ok(part)
}

/// The folder in which a file lies.
fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

fn fill(path: &Path, over: bool, write: impl Fn(&mut File) -> io::Result<()>) -> io::Result<()> {
    let behind = if over { fs::canonicalize(path) } else { Ok(path.into()) };
    let place = behind.unwrap_or_else(|_| path.into());
    let old = fs::metadata(&place).ok().filter(|_| over);
    if over && is_there(&place) && !old.as_ref().is_some_and(fs::Metadata::is_file) {
        return write(&mut File::create(&place)?);
    }
    let folder = folder_of(&place);
    // Made as any new file is, with the rights that the user gives to new files.
    let new = |part: &Path| OpenOptions::new().write(true).create_new(true).open(part);
    let mut part = Builder::new().prefix(".kettlecall-").make_in(folder, new)?;
    write(part.as_file_mut())?;
    if let Some(old) = old {
        part.as_file().set_permissions(old.permissions())?;
    }
    part.as_file().sync_all()?;
    let done = if over { part.persist(&place) } else { part.persist_noclobber(&place) };
    done?;
    // The name too is to outlast a loss of power; not every system lets a folder be synchronised.
    let _ = File::open(folder).and_then(|folder| folder.sync_all());
    Ok(())
}

#[cfg(test)]
#[cfg(unix)]
mod tests {
    use super::*;
    use std::io::ErrorKind;
    use std::os::unix::fs::{PermissionsExt, symlink};

    #[test]
    fn a_secret_is_its_owners_alone_and_never_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("key.pem");
        save_secret(&path, b"one").unwrap();
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
        assert_eq!(save_secret(&path, b"two").unwrap_err().kind(), ErrorKind::AlreadyExists);
        assert_eq!(
            (fs::read(&path).unwrap(), names(folder.path())),
            (b"one".to_vec(), vec!["key.pem".into()])
        );
    }

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn an_old_file_stays_whole_when_the_writing_fails_half_way() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("evening.toml");
        let half = |file: &mut File| {
            file.write_all(b"hal")?;
            Err(io::Error::from(ErrorKind::StorageFull))
        };
        for over in [false, true] {
            assert_eq!(fill(&file, over, half).unwrap_err().kind(), ErrorKind::StorageFull);
            assert_eq!(names(folder.path()), Vec::<String>::new(), "no half file either");
        }
        fs::write(&file, "old").unwrap();
        assert_eq!(fill(&file, true, half).unwrap_err().kind(), ErrorKind::StorageFull);
        assert_eq!((fs::read_to_string(&file).unwrap().as_str(), names(folder.path()).len()), ("old", 1));
    }

    #[test]
    fn what_is_there_is_replaced_only_when_that_is_said_and_keeps_its_rights() {
        let folder = tempfile::tempdir().unwrap();
        let (file, usual) = (folder.path().join("a"), folder.path().join("usual"));
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode();
        File::create(&usual).unwrap();
        save(&file, b"first", false).unwrap();
        assert_eq!(mode(&file), mode(&usual), "as any new file");
        assert_eq!(save(&file, b"second", false).unwrap_err().kind(), ErrorKind::AlreadyExists);
        assert_eq!(fs::read(&file).unwrap(), b"first");
        fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).unwrap();
        save(&file, b"second", true).unwrap();
        assert_eq!((fs::read(&file).unwrap(), mode(&file) & 0o777), (b"second".to_vec(), 0o640));
        assert_eq!(names(folder.path()), ["a", "usual"], "nothing else is left behind");
    }

    #[test]
    fn a_link_stays_a_link_and_what_it_leads_to_is_replaced() {
        let folder = tempfile::tempdir().unwrap();
        let [target, link, nowhere] = ["target", "link", "nowhere"].map(|name| folder.path().join(name));
        fs::write(&target, "old").unwrap();
        symlink("target", &link).unwrap();
        symlink("later", &nowhere).unwrap();
        for link in [&link, &nowhere] {
            assert!(is_there(link));
            assert_eq!(save(link, b"new", false).unwrap_err().kind(), ErrorKind::AlreadyExists);
            save(link, b"new", true).unwrap();
            assert!(fs::symlink_metadata(link).unwrap().is_symlink());
            assert_eq!(fs::read(link).unwrap(), b"new");
        }
        assert_eq!(fs::read(&target).unwrap(), b"new");
    }

    #[test]
    fn a_device_is_written_to_and_a_folder_refused() {
        let folder = tempfile::tempdir().unwrap();
        save(Path::new("/dev/null"), b"gone", true).unwrap();
        assert!(!fs::metadata("/dev/null").unwrap().is_file());
        assert_eq!(save(folder.path(), b"new", true).unwrap_err().kind(), ErrorKind::IsADirectory);
        assert_eq!(save(&folder.path().join("no/a"), b"new", true).unwrap_err().kind(), ErrorKind::NotFound);
    }
}
