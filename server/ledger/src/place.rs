//! Where a ledger lies, and whether it still lies there.

use crate::LedgerError;
use std::fs::{File, Metadata, OpenOptions, TryLockError};
use std::io;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// A file beside a ledger, named after it.
pub(crate) fn beside(ledger: &Path, ending: &str) -> PathBuf {
    let mut name = ledger.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

/// What a host that lost its ledger may call the one it saves the class to, in turn; `stem` is the ledger's name and place
/// without its ending.
pub(crate) fn rescues(stem: &Path) -> impl Iterator<Item = PathBuf> {
    const MOST: u32 = 1000;
    let names =
        (1..=MOST).map(|n| if n == 1 { ".rescued.ledger".into() } else { format!(".rescued-{n}.ledger") });
    names.map(|ending| beside(stem, &ending))
}

/// Which file it is, by whatever name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Identity(u64, u64);

#[cfg(test)]
impl Identity {
    /// Of no file.
    pub fn none() -> Self {
        Self(0, 0)
    }
}

#[cfg(unix)]
impl From<&Metadata> for Identity {
    fn from(found: &Metadata) -> Self {
        use std::os::unix::fs::MetadataExt;
        Self(found.dev(), found.ino())
    }
}

#[cfg(not(unix))]
impl From<&Metadata> for Identity {
    // There a file that is open can't be removed or replaced.
    fn from(_: &Metadata) -> Self {
        Self(0, 0)
    }
}

/// When a file was last written, and how long it is: it changes when somebody writes to it.
pub type Written = (Option<SystemTime>, u64);

/// Which file lies at a path, and when it was last written; nothing if there is none.
///
/// By its name alone: to open and close the file would let go of the locks that SQLite holds on it.
pub fn lies(path: &Path) -> Option<(Identity, Written)> {
    let found = std::fs::metadata(path).ok()?;
    Some((Identity::from(&found), (found.modified().ok(), found.len())))
}

/// A lock against other hosts, held as long as its file is open: it goes with the program, however that ends.
#[derive(Debug)]
pub struct Lock {
    file: File,
    /// Whether the file was not there before.
    pub is_new: bool,
    /// A file that is only there for the lock.
    tidy: Option<PathBuf>,
}

impl Drop for Lock {
    fn drop(&mut self) {
        // Closing would not do: a program that is being started holds the same open file until it runs.
        let _ = self.file.unlock();
        if let Some(path) = &self.tidy {
            let _ = std::fs::remove_file(path);
        }
    }
}

/// Locks a ledger, and makes the file if it is not there.
///
/// The ledger's own file is locked, so that it is one lock by whatever name it is opened. Where a lock keeps others
/// from reading, a file beside it is.
///
/// # Errors
/// Another host has it, or the disk says no.
pub fn lock(ledger: &Path) -> Result<Lock, LedgerError> {
    let refuse = |e: io::Error| LedgerError::Disk { path: ledger.into(), problem: e.to_string() };
    let is_new = !ledger.exists();
    let (path, tidy) = if cfg!(unix) {
        (ledger.to_path_buf(), None)
    } else {
        let path = beside(ledger, ".lock");
        (path.clone(), Some(path))
    };
    let file = own().create(true).truncate(false).read(true).open(&path);
    let file = file.map_err(refuse)?;
    match file.try_lock() {
        Ok(()) => Ok(Lock { file, is_new, tidy }),
        Err(TryLockError::WouldBlock) => Err(LedgerError::InUse(ledger.into())),
        Err(TryLockError::Error(e)) => Err(refuse(e)),
    }
}

/// How a file is made that has people's names in it: its owner's alone. One that is there keeps its rights. SQLite gives the
/// `-wal` and the `-shm` those of the ledger.
pub(crate) fn own() -> OpenOptions {
    let mut options = OpenOptions::new();
    options.write(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    options
}

/// Whether no host has this ledger by any name; one that is not there nobody has.
///
/// # Errors
/// A host has it, or the disk says no.
pub fn refuse_in_use(ledger: &Path) -> Result<(), LedgerError> {
    if ledger.exists() { lock(ledger).map(drop) } else { Ok(()) }
}

/// Sees to it that the name of a new file is on disk, too, and not only what is in it.
pub fn sync_folder(file: &Path) -> io::Result<()> {
    if cfg!(unix) {
        let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        File::open(folder)?.sync_all()?;
    }
    Ok(())
}

/// What a file system is called that keeps its files on another machine, by the number that Linux gives it
/// (linux/magic.h).
fn network(magic: u64) -> Option<&'static str> {
    match magic {
        0x6969 => Some("NFS"),
        0x517b | 0xfe53_4d42 | 0xff53_4d42 => Some("a shared Windows drive"),
        0x5346_414f | 0x6b41_4653 => Some("AFS"),
        0x00c3_6400 => Some("Ceph"),
        0x7375_7245 => Some("Coda"),
        _ => None,
    }
}

/// What kind of network drive a file lies on; nothing if it lies on none that is known.
pub fn network_drive(file: &Path) -> Option<&'static str> {
    #[cfg(target_os = "linux")]
    {
        network(rustix::fs::statfs(file).ok()?.f_type as u64)
    }
    #[cfg(not(target_os = "linux"))]
    {
        let _ = file;
        network(0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_file_is_one_file_by_whatever_name() {
        let folder = tempfile::tempdir().unwrap();
        let (a, b) = (folder.path().join("a"), folder.path().join("b"));
        std::fs::write(&a, "x").unwrap();
        std::fs::hard_link(&a, &b).unwrap();
        let file = |path: &Path| lies(path).map(|(file, _)| file);
        assert!(file(&a).is_some() && file(&a) == file(&b));
        std::fs::remove_file(&b).unwrap();
        assert_eq!(file(&b), None);
        std::fs::write(&b, "x").unwrap();
        assert_ne!(file(&a), file(&b));
    }

    #[test]
    fn a_network_drive_is_known_by_its_number_and_a_local_one_is_none() {
        assert_eq!((network(0x6969), network(0xef53), network(0x0102_1994)), (Some("NFS"), None, None));
    }
}
