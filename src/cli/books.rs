//! Rulebooks as arguments name them: a file, a file as it stood at a git revision, or standard input.

use super::end::Refusal;
use super::files;
use std::path::{Path, PathBuf};
use std::process::Command;

/// A rulebook as an argument names it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Book {
    /// A file.
    File(PathBuf),
    /// A file as it stood at a revision.
    AtRevision {
        /// The revision as typed.
        revision: String,
        /// The commit that it names.
        commit: String,
        /// The file, from the top of the repository.
        path: String,
    },
    /// Standard input.
    Input,
}

impl Book {
    /// Reads an argument: `PATH`, `REV:PATH` or `-`.
    pub fn of(argument: &str) -> Result<Self, Refusal> {
        if argument == "-" {
            return Ok(Self::Input);
        }
        match revision_and_path(argument) {
            Some((revision, path)) if !Path::new(argument).exists() => Self::at(revision, path),
            _ => Ok(Self::File(PathBuf::from(argument))),
        }
    }

    fn at(revision: &str, path: &str) -> Result<Self, Refusal> {
        let named = format!("{revision}^{{commit}}");
        let found = git(&["rev-parse", "--verify", "--quiet", "--end-of-options", &named])?;
        let Some(commit) = found.map(|bytes| String::from_utf8_lossy(&bytes).trim().to_owned()) else {
            let message = format!("`{revision}` is no revision of a git repository here");
            return Err(Refusal::new(message).help("a rulebook is `PATH`, or `REV:PATH` for one of earlier"));
        };
        // A path with a dot before it is written from the folder that we are in.
        let path = match path.starts_with("./") || path.starts_with("../") {
            true => {
                let prefix = git(&["rev-parse", "--show-prefix"])?.unwrap_or_default();
                folded(&Path::new(String::from_utf8_lossy(&prefix).trim()).join(path))
            }
            false => folded(Path::new(path)),
        };
        Ok(Self::AtRevision { revision: revision.to_owned(), commit, path })
    }

    /// Returns the path by which messages call it.
    pub fn shown(&self) -> PathBuf {
        match self {
            Book::File(path) => path.clone(),
            Book::AtRevision { revision, path, .. } => PathBuf::from(format!("{revision}:{path}")),
            Book::Input => PathBuf::from("standard input"),
        }
    }

    /// Returns a path as messages call it, for a folder or a file beside it.
    pub fn beside(&self, path: &Path) -> PathBuf {
        match self {
            Book::AtRevision { revision, .. } => PathBuf::from(format!("{revision}:{}", folded(path))),
            Book::File(_) | Book::Input => path.to_owned(),
        }
    }

    /// Reads a file by the path that messages call it: this rulebook, or one that it builds on.
    pub fn read(&self, path: &Path) -> Result<String, Refusal> {
        match self {
            Book::Input if path == self.shown() => files::read_input(),
            Book::Input | Book::File(_) => files::read(path, files::RULEBOOK_LIMIT),
            Book::AtRevision { revision, commit, .. } => {
                let shown = path.to_string_lossy();
                let inside = shown.strip_prefix(&format!("{revision}:")).unwrap_or(&shown);
                let inside = folded(Path::new(inside));
                match git(&["cat-file", "blob", "--end-of-options", &format!("{commit}:{inside}")])? {
                    Some(bytes) => files::text(&shown, bytes, files::RULEBOOK_LIMIT),
                    None => {
                        let message = format!("there is no file `{inside}` at the revision `{revision}`");
                        let help = "write the path from the top of the repository, or with `./` before it";
                        Err(Refusal::new(message).help(help))
                    }
                }
            }
        }
    }
}

/// Parts `REV:PATH`; a single letter before the colon is a drive.
fn revision_and_path(argument: &str) -> Option<(&str, &str)> {
    let (revision, path) = argument.split_once(':')?;
    let is_revision =
        revision.chars().count() > 1 && !path.is_empty() && !revision.starts_with(['-', '.', '/']);
    is_revision.then_some((revision, path))
}

/// Takes `.` and `..` out of a path inside a repository, and writes it with slashes.
fn folded(path: &Path) -> String {
    let text = path.to_string_lossy().replace('\\', "/");
    let mut parts: Vec<&str> = Vec::new();
    for part in text.split('/') {
        match part {
            "" | "." => {}
            ".." if parts.last().is_some_and(|last| *last != "..") => {
                parts.pop();
            }
            _ => parts.push(part),
        }
    }
    parts.join("/")
}

/// Runs git in the current folder; nothing, where it says no.
fn git(arguments: &[&str]) -> Result<Option<Vec<u8>>, Refusal> {
    let run = Command::new("git").args(arguments).output();
    let output = run.map_err(|_| {
        Refusal::new("`git` cannot be run, and `REV:PATH` needs it").help("install git, or name a file")
    })?;
    Ok(output.status.success().then_some(output.stdout))
}

#[cfg(test)]
mod tests {
    use super::{folded, revision_and_path};
    use std::path::Path;

    #[test]
    fn a_drive_is_no_revision() {
        assert_eq!(revision_and_path(r"C:\books\hills.rulebook"), None);
        assert_eq!(revision_and_path("C:/books/hills.rulebook"), None);
        assert_eq!(revision_and_path("hills.rulebook"), None);
        assert_eq!(revision_and_path("./a:b.rulebook"), None);
        assert_eq!(revision_and_path("--output=x:y"), None);
        assert_eq!(
            revision_and_path("HEAD~2:books/hills.rulebook"),
            Some(("HEAD~2", "books/hills.rulebook"))
        );
    }

    #[test]
    fn dots_are_taken_out_of_paths() {
        assert_eq!(folded(Path::new("books/./base/../hills.rulebook")), "books/hills.rulebook");
        assert_eq!(folded(Path::new("../up.rulebook")), "../up.rulebook");
    }
}
