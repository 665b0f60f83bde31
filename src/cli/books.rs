//! Rulebooks as arguments name them: a file, a file as it stood at a git revision, or standard input.

use super::end::Refusal;
use super::files::{self, Disk};
use crate::source::Sources;
use crate::workspace::{OpenRulebook, Store, open_rulebook};
use std::path::{Path, PathBuf};
use std::process::Command;

/// Reads a rulebook with all that it builds on, adds their texts to the sources, and checks them.
pub fn load(book: &Book, library: Option<&Path>, sources: &mut Sources) -> Result<OpenRulebook, Refusal> {
    if let (Book::File(_) | Book::Input, Some(folder)) = (book, library)
        && !folder.is_dir()
    {
        let refusal = Refusal::new(format!("`--library {}` is no folder", folder.display()));
        return Err(refusal.help("name the folder in which bases of overlays are looked for"));
    }
    let (name, library) = book.names(library);
    open_rulebook(book, &name, library.as_deref(), sources)
}

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
    /// A copy that git made of a file, read as if it stood at the file's place.
    Copy {
        /// The file's place, from the top of the repository.
        path: String,
        /// The copy.
        copy: PathBuf,
    },
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

    /// Returns another rulebook as it stood where this one is read from.
    pub fn beside(&self, path: &str) -> Result<Self, Refusal> {
        Ok(match self {
            Book::AtRevision { revision, commit, .. } => {
                Self::AtRevision { revision: revision.clone(), commit: commit.clone(), path: from_top(path)? }
            }
            Book::File(_) | Book::Input | Book::Copy { .. } => Self::File(PathBuf::from(path)),
        })
    }

    fn at(revision: &str, path: &str) -> Result<Self, Refusal> {
        let named = format!("{revision}^{{commit}}");
        let found = git(&["rev-parse", "--verify", "--quiet", "--end-of-options", &named])?;
        let Some(commit) = found.map(|bytes| String::from_utf8_lossy(&bytes).trim().to_owned()) else {
            let message = format!("`{revision}` is no revision of a git repository here");
            return Err(Refusal::new(message).help("a rulebook is `PATH`, or `REV:PATH` for one of earlier"));
        };
        Ok(Self::AtRevision { revision: revision.to_owned(), commit, path: from_top(path)? })
    }

    /// Returns the name by which messages call it.
    pub fn name(&self) -> String {
        self.names(None).0
    }

    /// Returns the name by which messages call it, and the library, so that one can be found in the other.
    pub fn names(&self, library: Option<&Path>) -> (String, Option<String>) {
        match self {
            Book::AtRevision { revision, path, .. } => {
                let library = library.map(|folder| from_top(&slashed(folder)).unwrap_or_default());
                (format!("{revision}:{path}"), library)
            }
            Book::Input => (INPUT.to_owned(), library.map(slashed)),
            Book::Copy { path, .. } => (path.clone(), library.map(slashed)),
            Book::File(path) => {
                let climbs = |path: &Path| path.is_absolute() || path.starts_with("..");
                let whole = |path: &Path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
                match library {
                    Some(folder) if climbs(folder) || climbs(path) => {
                        (slashed(&whole(path)), Some(slashed(&whole(folder))))
                    }
                    _ => (slashed(path), library.map(slashed)),
                }
            }
        }
    }
}

impl Store for Book {
    /// Reads a file by the name that messages give it: this rulebook, or one that it builds on.
    fn read(&self, path: &Path) -> Result<String, Refusal> {
        let name = path.to_string_lossy();
        match self {
            Book::Input if name == INPUT => files::read_input(),
            Book::Copy { path, copy } if name == path.as_str() => files::read(copy, files::RULEBOOK_LIMIT),
            Book::Input | Book::File(_) | Book::Copy { .. } => files::read(path, files::RULEBOOK_LIMIT),
            Book::AtRevision { revision, commit, .. } => {
                let inside = name.strip_prefix(&format!("{revision}:")).unwrap_or(&name);
                match git(&["cat-file", "blob", &format!("{commit}:{inside}")])? {
                    Some(bytes) => files::text(&name, bytes, files::RULEBOOK_LIMIT),
                    None => {
                        let message = format!("there is no file `{inside}` at the revision `{revision}`");
                        let help = "write the path from the top of the repository, or with `./` before it";
                        Err(Refusal::new(message).help(help))
                    }
                }
            }
        }
    }

    fn exists(&self, path: &Path) -> bool {
        match self {
            Book::File(_) | Book::Input | Book::Copy { .. } => path.exists(),
            Book::AtRevision { .. } => self.read(path).is_ok(),
        }
    }

    fn real(&self, path: &Path) -> Option<PathBuf> {
        match self {
            Book::File(_) | Book::Input | Book::Copy { .. } => Disk.real(path),
            Book::AtRevision { .. } => None,
        }
    }
}

/// A rulebook that is read on another base: in the place of one file stands another.
pub struct OnOtherBase<'b> {
    /// The rulebook.
    pub book: &'b Book,
    /// The base that it names.
    pub named: &'b Path,
    /// What is read for it.
    pub instead: &'b Path,
}

impl OnOtherBase<'_> {
    /// Reads it with all that it builds on, as [`load`] does.
    pub fn load(&self, library: Option<&Path>, sources: &mut Sources) -> Result<OpenRulebook, Refusal> {
        let (name, library) = self.book.names(library);
        open_rulebook(self, &name, library.as_deref(), sources)
    }
}

impl Store for OnOtherBase<'_> {
    fn read(&self, path: &Path) -> Result<String, Refusal> {
        let is_named = self.real(path).is_some_and(|it| Some(it) == self.real(self.named));
        self.book.read(if is_named { self.instead } else { path })
    }

    fn exists(&self, path: &Path) -> bool {
        self.book.exists(path)
    }

    fn real(&self, path: &Path) -> Option<PathBuf> {
        self.book.real(path)
    }
}

/// What messages call a rulebook that comes from standard input.
const INPUT: &str = "standard input";

/// Returns a path as messages and rulebooks write it, with slashes.
fn slashed(path: &Path) -> String {
    let text = path.to_string_lossy();
    if cfg!(windows) { text.replace('\\', "/") } else { text.into_owned() }
}

/// Returns a path inside the repository; one that begins with a dot is written from the current folder.
fn from_top(path: &str) -> Result<String, Refusal> {
    if path.starts_with("./") || path.starts_with("../") || path == "." {
        let prefix = git(&["rev-parse", "--show-prefix"])?.unwrap_or_default();
        return Ok(folded(&format!("{}{path}", String::from_utf8_lossy(&prefix).trim())));
    }
    Ok(folded(path))
}

/// Parts `REV:PATH`; a single letter before the colon is a drive.
fn revision_and_path(argument: &str) -> Option<(&str, &str)> {
    let (revision, path) = argument.split_once(':')?;
    let is_revision =
        revision.chars().count() > 1 && !path.is_empty() && !revision.starts_with(['-', '.', '/']);
    is_revision.then_some((revision, path))
}

/// Takes `.` and `..` out of a path inside a repository.
fn folded(path: &str) -> String {
    let mut parts: Vec<&str> = Vec::new();
    for part in path.split('/') {
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
        assert_eq!(folded("books/./base/../hills.rulebook"), "books/hills.rulebook");
        assert_eq!(folded("../up.rulebook"), "../up.rulebook");
    }
}
