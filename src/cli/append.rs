//! Logs, to which rows are only ever added: one writer at a time, written through to the disk, whole or not at all.
//!
//! An added row is written in one piece behind the others. If the disk is full, the file is cut back to what it was, and
//! that is said; if the program is killed, the file ends in a row without its line break, which every reader reports and
//! no writer writes behind. A new file, or one that gets a further column, is written beside the old one and then put in
//! its place; the rows that are there keep every byte.

use super::end::{Refusal, plain};
use super::files;
use crate::grove::{Addition, Header, NewRow, addition};
use crate::phrase::{Phrase, said};
use std::fs::{self, File, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// So long one waits for another writer.
const PATIENCE: Duration = Duration::from_secs(10);

/// How to go on where a last row is not ended.
pub const FIX: &str = "it may have been cut off while it was written, and nothing is written behind it: add `--fix cut` \
                        to put it aside, or `--fix keep` if you see that it is whole";

/// What is done with a last row that is not ended.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum Fix {
    /// It is half written: it goes to a file of its own, NAME.torn, and out of the log
    Cut,
    /// It is whole: it gets its line break
    Keep,
}

/// A log that no other writer may write to.
pub struct Log {
    path: PathBuf,
    /// Held until the log is let go; the lock ends with the file.
    _lock: File,
}

/// A log as it stands.
struct Standing {
    /// The rows that are ended.
    text: String,
    /// What stands behind the last line break: a row that was cut off while it was written.
    torn: Vec<u8>,
}

impl Standing {
    fn bytes(&self) -> usize {
        self.text.len() + self.torn.len()
    }

    /// Returns the line of what is torn, counted from 1.
    fn line(&self) -> usize {
        self.text.matches('\n').count() + 1
    }
}

impl Log {
    /// Takes a log for writing; waits a while for another writer.
    pub fn take(path: &Path) -> Result<Self, Refusal> {
        // What a link points to is written, not the link.
        let path = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        let beside = beside(&path, "lock");
        let file = File::options().create(true).append(true).open(&beside);
        let lock = file.map_err(|error| Refusal::unwritten(beside.display(), &error))?;
        let began = Instant::now();
        loop {
            match lock.try_lock() {
                Ok(()) => return Ok(Self { path, _lock: lock }),
                Err(TryLockError::WouldBlock) if began.elapsed() < PATIENCE => {
                    sleep(Duration::from_millis(10));
                }
                Err(TryLockError::WouldBlock) => {
                    let message = said!("another `bloomward` is writing to `{path}`", path = path.display());
                    return Err(
                        Refusal::new(message).help("end it, or wait for it, then run the command again")
                    );
                }
                Err(TryLockError::Error(error)) => {
                    return Err(Refusal::unwritten(beside.display(), &error));
                }
            }
        }
    }

    /// Returns whether the last row is not ended.
    pub fn is_torn(&self) -> Result<bool, Refusal> {
        self.standing().map(|standing| !standing.torn.is_empty())
    }

    /// Fixes a last row that is not ended; says what was done, if anything had to be.
    pub fn fix(&self, how: Fix) -> Result<Option<Phrase>, Refusal> {
        let standing = self.standing()?;
        let shown = self.path.display().to_string();
        if standing.torn.is_empty() {
            return Ok(None);
        }
        let line = standing.line();
        match how {
            Fix::Keep => {
                self.put_behind("\n", standing.bytes())?;
                Ok(Some(said!("Line {line} of `{shown}` was kept as a whole row.", line, shown)))
            }
            Fix::Cut => {
                let name = format!(
                    "{path}.torn",
                    path = self.path.file_name().unwrap_or_default().to_string_lossy()
                );
                let aside = self.path.with_file_name(name);
                let written = File::options().create(true).append(true).open(&aside).and_then(|mut file| {
                    file.write_all(&standing.torn)?;
                    file.write_all(b"\n")?;
                    file.sync_all()?;
                    sync_folder(&aside)
                });
                // Only what lies safe elsewhere is cut.
                written.map_err(|error| Refusal::unwritten(aside.display(), &error))?;
                let cut = File::options().write(true).open(&self.path).and_then(|file| {
                    file.set_len(standing.text.len() as u64)?;
                    file.sync_all()
                });
                cut.map_err(|error| Refusal::unwritten(&shown, &error))?;
                let aside = aside.display();
                Ok(Some(said!(
                    "Line {line} of `{shown}` was half written; it now lies in `{aside}`.",
                    line,
                    shown,
                    aside
                )))
            }
        }
    }

    /// Adds rows behind the others, and returns the line of the first, counted from 1; `usual` are the columns of a new file.
    pub fn add(&self, usual: &[&str], rows: &[NewRow]) -> Result<usize, Refusal> {
        let standing = self.standing()?;
        if !standing.torn.is_empty() {
            let (line, shown) = (standing.line(), self.path.display());
            let message = said!("line {line} of `{shown}` is not ended by a line break", line, shown);
            return Err(Refusal::new(message).help(FIX));
        }
        let Addition { header, rows, line } = addition(&standing.text, usual, rows);
        match header {
            Some(header) => self.put_whole(&standing.text, &header, &rows)?,
            None => self.put_behind(&rows, standing.bytes())?,
        }
        Ok(line)
    }

    /// Returns the file as it would stand with rows added, and the line of the first of them; writes nothing.
    pub fn with(&self, usual: &[&str], rows: &[NewRow]) -> Result<(String, usize), Refusal> {
        Ok(with_rows(&self.standing()?.text, usual, rows))
    }

    /// Returns the file as it stands, every byte of it; a file that is not there is empty.
    fn standing(&self) -> Result<Standing, Refusal> {
        let bytes = match fs::symlink_metadata(&self.path) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => Vec::new(),
            Ok(_) | Err(_) => files::read_bytes(&self.path, files::GROVE_LIMIT)?,
        };
        let whole = bytes.iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
        let (rows, torn) = bytes.split_at(whole);
        let text = files::whole(&self.path.display().to_string(), rows.to_vec(), files::GROVE_LIMIT)?;
        let torn = if torn == "\u{feff}".as_bytes() { Vec::new() } else { torn.to_vec() };
        Ok(Standing { text, torn })
    }

    /// Writes behind what is there, or leaves the file as it was.
    fn put_behind(&self, more: &str, before: usize) -> Result<(), Refusal> {
        let unwritten = |error: &io::Error| Refusal::unwritten(self.path.display(), error);
        let mut file = File::options().append(true).open(&self.path).map_err(|error| unwritten(&error))?;
        let length = file.metadata().map_err(|error| unwritten(&error))?.len();
        if length != before as u64 {
            let message =
                said!("`{path}` was changed by another program just now", path = self.path.display());
            return Err(Refusal::new(message).help("nothing was stored; run the command again"));
        }
        let written = file.write_all(more.as_bytes()).and_then(|()| file.sync_all());
        written.map_err(|error| match file.set_len(length).and_then(|()| file.sync_all()) {
            Ok(()) => unwritten(&error).help("nothing was stored: the file is as it was before"),
            Err(again) => unwritten(&error).help(said!("it could not be cut back either ({plain}): look at its last line before you write to it again", plain = plain(&again))),
        })
    }

    /// Writes the file anew beside the old one, and puts it in its place.
    fn put_whole(&self, text: &str, header: &Header, rows: &str) -> Result<(), Refusal> {
        let beside = beside(&self.path, "new");
        let body = text.get(header.instead_of..).unwrap_or_default();
        let written = File::create(&beside).and_then(|mut file| {
            for part in [&header.text, body, rows] {
                file.write_all(part.as_bytes())?;
            }
            if let Ok(old) = fs::metadata(&self.path) {
                file.set_permissions(old.permissions())?;
            }
            file.sync_all()?;
            fs::rename(&beside, &self.path)?;
            sync_folder(&self.path)
        });
        written.map_err(|error| {
            let _ = fs::remove_file(&beside);
            let refusal = Refusal::unwritten(self.path.display(), &error);
            refusal.help("nothing was stored: the file is as it was before")
        })
    }
}

/// Returns the text of a log as it would stand with rows added, and the line of the first of them.
pub fn with_rows(text: &str, usual: &[&str], rows: &[NewRow]) -> (String, usize) {
    let Addition { header, rows, line } = addition(text, usual, rows);
    let (first, rest) = match &header {
        Some(header) => (header.text.as_str(), text.get(header.instead_of..).unwrap_or_default()),
        None => ("", text),
    };
    (format!("{first}{rest}{rows}"), line)
}

/// Returns the hidden file beside a log, for its lock or for its next edition.
fn beside(path: &Path, what: &str) -> PathBuf {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    path.with_file_name(format!(".{name}.{what}"))
}

/// Writes through that a file is in its folder.
fn sync_folder(path: &Path) -> io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    // Other systems write folders through by themselves, and cannot open one as a file.
    if cfg!(unix) { File::open(folder)?.sync_all() } else { Ok(()) }
}
