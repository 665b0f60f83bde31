//! Reading and writing files: what is missing, too large or not UTF-8 is said with the words to write.

use super::end::{Refusal, plain};
use crate::phrase::said;
use crate::workspace::Store;
use std::fs;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// How large a rulebook may be, in bytes.
pub const RULEBOOK_LIMIT: u64 = 8 << 20;
/// How large a file of a grove may be, in bytes.
pub const GROVE_LIMIT: u64 = 1 << 30;

/// The disk.
#[derive(Clone, Copy, Debug)]
pub struct Disk;

impl Store for Disk {
    fn read(&self, path: &Path) -> Result<String, Refusal> {
        let is_book = path.extension().is_some_and(|extension| extension == "rulebook");
        read(path, if is_book { RULEBOOK_LIMIT } else { GROVE_LIMIT })
    }

    fn exists(&self, path: &Path) -> bool {
        path.exists()
    }

    fn real(&self, path: &Path) -> Option<PathBuf> {
        let path = if path.as_os_str().is_empty() { Path::new(".") } else { path };
        path.canonicalize().ok()
    }
}

/// Reads a text file of at most so many bytes, without the mark that some editors put before it.
pub fn read(path: &Path, limit: u64) -> Result<String, Refusal> {
    text(&path.display().to_string(), read_bytes(path, limit)?, limit)
}

/// Reads a file of at most so many bytes, and one byte of those that are too many.
pub fn read_bytes(path: &Path, limit: u64) -> Result<Vec<u8>, Refusal> {
    let shown = path.display();
    let file = fs::File::open(path).map_err(|error| unopened(path, &error))?;
    if file.metadata().is_ok_and(|about| about.is_dir()) {
        return Err(Refusal::new(said!("`{shown}` is a folder, and a file is expected", shown)));
    }
    let mut bytes = Vec::new();
    file.take(limit + 1).read_to_end(&mut bytes).map_err(|error| {
        Refusal::new(said!("`{shown}` cannot be read: {plain}", shown, plain = plain(&error)))
    })?;
    Ok(bytes)
}

/// Reads standard input, as the text of a rulebook.
pub fn read_input() -> Result<String, Refusal> {
    let mut bytes = Vec::new();
    let read = io::stdin().lock().take(RULEBOOK_LIMIT + 1).read_to_end(&mut bytes);
    read.map_err(|error| {
        Refusal::new(said!("standard input cannot be read: {plain}", plain = plain(&error)))
    })?;
    text("standard input", bytes, RULEBOOK_LIMIT)
}

/// Makes text of bytes, without the mark that some editors put before it.
pub fn text(name: &str, bytes: Vec<u8>, limit: u64) -> Result<String, Refusal> {
    whole(name, bytes, limit).map(without_mark)
}

/// Makes text of bytes, every one of them.
pub fn whole(name: &str, bytes: Vec<u8>, limit: u64) -> Result<String, Refusal> {
    if bytes.len() as u64 > limit {
        let message = said!("`{name}` is larger than {limit} MB", name, limit = limit >> 20);
        return Err(Refusal::new(message).help("is it the right file? Split it if it is"));
    }
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let before = error.as_bytes().get(..at).unwrap_or_default();
        let line = before.iter().filter(|byte| **byte == b'\n').count() + 1;
        if error.utf8_error().error_len().is_none() {
            let message = said!("`{name}` line {line} breaks off in the middle of a character", name, line);
            return Refusal::new(message).help("the line was not written whole: complete it, or delete it");
        }
        if limit != RULEBOOK_LIMIT {
            let message = said!("`{name}` line {line} has a character that is not UTF-8", name, line);
            return Refusal::new(message).help("save the file as UTF-8; a spreadsheet calls it CSV UTF-8");
        }
        let begin = before.iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
        let column = String::from_utf8_lossy(before.get(begin..).unwrap_or_default()).chars().count() + 1;
        let message =
            said!("`{name}` line {line}, column {column} has a character that is not UTF-8", name, line, column);
        Refusal::new(message).help(
            "save the rulebook again with the encoding UTF-8: editors have it under `Save as`; letters such as ñ and é then \
             stand as they were typed",
        )
    })
}

fn without_mark(mut text: String) -> String {
    if text.starts_with('\u{feff}') {
        text.drain(..'\u{feff}'.len_utf8());
    }
    text
}

fn unopened(path: &Path, error: &io::Error) -> Refusal {
    let shown = path.display();
    match error.kind() {
        io::ErrorKind::NotFound => {
            let refusal = Refusal::new(said!("there is no file `{shown}`", shown));
            match neighbour(path) {
                Some(near) => refusal.help(said!("did you mean `{near}`?", near = near.display())),
                None => refusal,
            }
        }
        _ => Refusal::new(said!("`{shown}` cannot be opened: {plain}", shown, plain = plain(error))),
    }
}

/// Returns the file of the same folder whose name is nearest.
fn neighbour(path: &Path) -> Option<PathBuf> {
    let name = path.file_name()?.to_str()?;
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    let entries = fs::read_dir(folder.unwrap_or(Path::new("."))).ok()?;
    let mut names: Vec<String> =
        entries.filter_map(|entry| entry.ok()?.file_name().into_string().ok()).take(10_000).collect();
    names.sort();
    let near = crate::problems::nearest(name, names.iter().map(String::as_str))?;
    Some(folder.map_or_else(|| PathBuf::from(near), |folder| folder.join(near)))
}

/// Writes a file whole or not at all: beside it first, then in its place.
pub fn replace(path: &Path, text: &str) -> Result<(), Refusal> {
    let unwritten = |error: io::Error| Refusal::unwritten(path.display(), &error);
    // What a link points to is replaced, not the link.
    let target = fs::canonicalize(path).map_err(unwritten)?;
    let folder = target.parent().unwrap_or(Path::new("."));
    let name = target.file_name().unwrap_or_default().to_string_lossy();
    let beside = folder.join(format!(".{name}.{std}.new", std = std::process::id()));
    let written = fs::File::create(&beside)
        .and_then(|mut file| file.write_all(text.as_bytes()).and_then(|()| file.sync_all()))
        .and_then(|()| fs::set_permissions(&beside, fs::metadata(&target)?.permissions()))
        .and_then(|()| fs::rename(&beside, &target));
    written.map_err(|error| {
        let _ = fs::remove_file(&beside);
        unwritten(error)
    })
}

/// Writes a file whole or not at all, in the place of one that may be there.
pub fn put(path: &Path, bytes: &[u8]) -> Result<(), Refusal> {
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let name = target.file_name().unwrap_or_default().to_string_lossy();
    let beside = target.with_file_name(format!(".{name}.{std}.new", std = std::process::id()));
    let written = fs::File::create(&beside)
        .and_then(|mut file| file.write_all(bytes).and_then(|()| file.sync_all()))
        .and_then(|()| fs::rename(&beside, &target));
    written.map_err(|error| {
        let _ = fs::remove_file(&beside);
        Refusal::unwritten(path.display(), &error)
    })
}

/// Writes a file that is not there yet, whole or not at all: beside it first, then under its name.
pub fn write_new(path: &Path, text: &str) -> io::Result<()> {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let beside = path.with_file_name(format!(".{name}.{std}.new", std = std::process::id()));
    let written = fs::File::create(&beside)
        .and_then(|mut file| file.write_all(text.as_bytes()).and_then(|()| file.sync_all()))
        // A second name is given only where there is none: no file is ever overwritten.
        .and_then(|()| match fs::hard_link(&beside, path) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Err(error),
            // Some disks know no second names.
            Err(_) => fs::File::create_new(path)
                .and_then(|mut file| file.write_all(text.as_bytes()).and_then(|()| file.sync_all())),
            Ok(()) => Ok(()),
        });
    // What is left of it says nothing to anybody.
    let _ = fs::remove_file(&beside);
    written
}
