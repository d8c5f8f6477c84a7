//! Where a review goes: standard output, a file, or a folder of files.

mod save;

pub(crate) use save::{is_there, replace_secret, save, save_secret};

use clap::ValueEnum;
use protocol::text::{file as inert, message};
use std::io::{ErrorKind, IsTerminal, Write};
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Where to.
#[derive(Debug, Default)]
pub struct Output {
    /// A file or a folder; nothing and `-` are standard output.
    to: Option<PathBuf>,
    /// Whether what is there may be overwritten.
    force: bool,
    /// What is never overwritten.
    keep: Vec<PathBuf>,
}

/// Why something is not written.
#[derive(Debug, Error)]
pub enum NotWritten {
    /// A spreadsheet for a terminal.
    #[error("a spreadsheet is not for a terminal; name a file, for example `--output evening.xlsx`")]
    Terminal,
    /// Text for a terminal on which it would act.
    #[error("it holds characters that would act on the terminal; name a file with --output")]
    Acts,
    /// Files without a folder.
    #[error("name a folder for the tables, for example `--output evening-tables`")]
    NoFolder,
    /// A file whose ending is that of another form.
    #[error("{} ends in .{ending}, which is not written here; the ending gives the form: {known}", path.display())]
    Ending {
        /// What.
        path: PathBuf,
        /// Its ending.
        ending: String,
        /// The endings there are.
        known: String,
    },
    /// Something is there.
    #[error("{} is there already; name another, or overwrite it with --force", .0.display())]
    There(PathBuf),
    /// The ledger itself.
    #[error("{} is read here and never overwritten; name another file", .0.display())]
    Ledger(PathBuf),
    /// The disk.
    #[error("{} can't be written: {why}", path.display())]
    Disk {
        /// What.
        path: PathBuf,
        /// Why.
        why: std::io::Error,
    },
    /// Standard output.
    #[error("standard output can't be written: {0}")]
    Standard(std::io::Error),
}

impl NotWritten {
    /// The exit code.
    pub fn code(&self) -> u8 {
        match self {
            NotWritten::Terminal | NotWritten::Acts | NotWritten::NoFolder | NotWritten::Ending { .. } => 2,
            NotWritten::There(_)
            | NotWritten::Ledger(_)
            | NotWritten::Disk { .. }
            | NotWritten::Standard(_) => 1,
        }
    }
}

impl Output {
    /// To this file or folder, but never over the ledgers that are read.
    pub fn new(to: Option<PathBuf>, force: bool, ledgers: &[PathBuf]) -> Self {
        Self { to: to.filter(|path| path.as_os_str() != "-"), force, keep: ledgers.to_vec() }
    }

    /// The form that the ending of the file asks for; `None` for a file without an ending.
    pub fn form<F: ValueEnum>(&self) -> Result<Option<F>, NotWritten> {
        let named = self.to.as_ref().and_then(|path| Some((path, path.extension()?)));
        // What is read here is refused for that.
        let Some((path, ending)) = named.filter(|(path, _)| !self.keeps(path)) else { return Ok(None) };
        let ending = ending.to_string_lossy().into_owned();
        F::from_str(&ending, true).map(Some).map_err(|_| {
            let forms = F::value_variants().iter().filter_map(F::to_possible_value);
            let endings = forms.filter_map(|form| match form.get_name() {
                "text" => Some(".txt".into()),
                // A folder.
                "tables" => None,
                name => Some(format!(".{name}")),
            });
            let known = endings.collect::<Vec<String>>().join(", ");
            NotWritten::Ending { path: path.clone(), ending, known }
        })
    }

    /// Whether this is read here.
    fn keeps(&self, path: &Path) -> bool {
        let same = |a: &Path, b: &Path| {
            std::fs::canonicalize(a).is_ok_and(|a| std::fs::canonicalize(b).is_ok_and(|b| a == b))
        };
        self.keep.iter().any(|keep| same(path, keep))
    }

    /// How many columns and rows a page has that is read where it is printed; `None` if it goes to a file or a pipe.
    pub fn screen(&self) -> Option<(usize, usize)> {
        let on_screen = self.to.is_none() && std::io::stdout().is_terminal();
        let (columns, rows) = crossterm::terminal::size().ok().filter(|_| on_screen)?;
        Some((columns.into(), rows.into()))
    }

    /// A page of text.
    pub fn page(&self, page: &str) -> Result<(), NotWritten> {
        match &self.to {
            None => standard(inert(page).as_bytes()),
            Some(file) => self.files(vec![(file.clone(), inert(page).as_bytes().to_vec())], file),
        }
    }

    /// Text that has to stay as it is to the byte. On a terminal it would act if it holds what does.
    pub fn exact(&self, text: &str) -> Result<(), NotWritten> {
        match &self.to {
            None if std::io::stdout().is_terminal() && *inert(text) != *text => Err(NotWritten::Acts),
            None => standard(text.as_bytes()),
            Some(file) => self.files(vec![(file.clone(), text.as_bytes().to_vec())], file),
        }
    }

    /// What is no text.
    pub fn binary(&self, bytes: Vec<u8>) -> Result<(), NotWritten> {
        match &self.to {
            None if std::io::stdout().is_terminal() => Err(NotWritten::Terminal),
            None => standard(&bytes),
            Some(file) => self.files(vec![(file.clone(), bytes)], file),
        }
    }

    /// Files in a folder, which is made if it is not there.
    pub fn folder(&self, files: impl IntoIterator<Item = (String, String)>) -> Result<(), NotWritten> {
        let folder = self.to.as_ref().ok_or(NotWritten::NoFolder)?;
        std::fs::create_dir_all(folder).map_err(|why| NotWritten::Disk { path: folder.clone(), why })?;
        let files =
            files.into_iter().map(|(name, text)| (folder.join(name), inert(&text).as_bytes().to_vec()));
        self.files(files.collect(), folder)
    }

    /// Writes all files, or none if one of them is there and must stay.
    fn files(&self, files: Vec<(PathBuf, Vec<u8>)>, shown: &Path) -> Result<(), NotWritten> {
        if let Some((there, _)) = files.iter().find(|(path, _)| !self.force && is_there(path)) {
            return Err(NotWritten::There(there.clone()));
        }
        if let Some((ledger, _)) = files.iter().find(|(path, _)| self.keeps(path)) {
            return Err(NotWritten::Ledger(ledger.clone()));
        }
        for (path, bytes) in files {
            save(&path, &bytes, self.force).map_err(|why| match why.kind() {
                ErrorKind::AlreadyExists if !self.force => NotWritten::There(path),
                _ => NotWritten::Disk { path, why },
            })?;
        }
        // Standard output may be somebody's data.
        let _ = writeln!(std::io::stderr(), "{}", message(&format!("written: {}", shown.display())));
        Ok(())
    }
}

fn standard(bytes: &[u8]) -> Result<(), NotWritten> {
    let mut out = std::io::stdout();
    match out.write_all(bytes).and_then(|()| out.flush()) {
        // Whoever reads has read enough.
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
        other => other.map_err(NotWritten::Standard),
    }
}

/// How wide a page of text may be: as the terminal is, or 80 columns where there is none.
pub fn width() -> usize {
    let columns = crossterm::terminal::size().map_or(80, |(columns, _)| usize::from(columns));
    if std::io::stdout().is_terminal() { columns } else { 80 }
}

/// Puts a page on standard output.
pub fn print(page: &str) -> Result<(), NotWritten> {
    Output::default().page(page)
}
