//! The logs of a grove as `grove.yaml` names them, and naming them there.

use super::append::{FIX, Fix, Log};
use super::end::Refusal;
use super::files;
use super::terminal::Stream;
use crate::grove::{self, Outline, Sprays};
use crate::phrase::said;
use crate::report::filling::paragraph;
use crate::source::Sources;
use std::path::{Path, PathBuf};

/// Which log.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Which {
    /// What was seen.
    Scouting,
    /// What was sprayed.
    Sprays,
}

/// A log of a grove, taken for writing.
pub struct GroveLog {
    /// The log.
    pub log: Log,
    /// The name of its file as messages print it.
    pub shown: String,
    /// `grove.yaml`, where it still has to name the file.
    unnamed: Option<PathBuf>,
    which: Which,
}

impl Which {
    fn key(self) -> &'static str {
        match self {
            Which::Scouting => "scouting",
            Which::Sprays => "sprays",
        }
    }

    fn usual_file(self) -> &'static str {
        match self {
            Which::Scouting => "scouting.csv",
            Which::Sprays => "sprays.csv",
        }
    }
}

/// Takes a log of a grove for writing, and mends it where that is asked for. Nothing where `grove.yaml` cannot be read:
/// opening the grove says why.
pub fn take(grove: &Path, which: Which, fix: Option<Fix>) -> Result<Option<GroveLog>, Refusal> {
    let yaml = if grove.is_dir() { grove.join("grove.yaml") } else { grove.to_owned() };
    let Some(outline) = yaml.exists().then(|| outline(&yaml)).transpose()?.flatten() else { return Ok(None) };
    let named = match (which, &outline.scouting, &outline.sprays) {
        (Which::Scouting, Some(file), _) => Some(file.path.clone()),
        (Which::Sprays, _, Sprays::File(file)) => Some(file.path.clone()),
        (Which::Sprays, _, Sprays::Unknown) => {
            let refusal =
                Refusal::new(said!("`{yaml}` does not say what was sprayed before", yaml = yaml.display()));
            return Err(refusal.help(
                "write `sprays: none yet` into it if nothing was sprayed this season, or `sprays: sprays.csv` and \
                 that file with what was",
            ));
        }
        (Which::Scouting, None, _) | (Which::Sprays, _, Sprays::NoneYet) => None,
    };
    let folder = yaml.parent().unwrap_or(Path::new(""));
    let path = folder.join(named.as_deref().unwrap_or(which.usual_file()));
    if which == Which::Sprays && named.is_some() && !path.exists() {
        // Opening the grove says that the history is missing.
        return Ok(None);
    }
    let log = Log::take(&path)?;
    match fix {
        Some(fix) => {
            if let Some(done) = log.fix(fix)? {
                Stream::Diagnostics.print(&paragraph(
                    &super::reader::language().phrase(&done),
                    Stream::Diagnostics.width(None),
                ))?;
            }
        }
        None if log.is_torn()? => {
            let message =
                said!("the last row of `{path}` is not ended by a line break", path = path.display());
            return Err(Refusal::new(message).help(FIX));
        }
        None => {}
    }
    let unnamed = named.is_none().then_some(yaml);
    Ok(Some(GroveLog { log, shown: path.display().to_string(), unnamed, which }))
}

impl GroveLog {
    /// Makes the log with its header and names it in `grove.yaml`, where that is still to be done. The file is there
    /// before it is named, and named before it has a row, so that no row is ever overlooked.
    pub fn name(&self, usual: &[&str]) -> Result<(), Refusal> {
        let Some(yaml) = &self.unnamed else { return Ok(()) };
        self.log.add(usual, &[])?;
        let text = files::read(yaml, files::GROVE_LIMIT)?;
        let (key, file) = (self.which.key(), self.which.usual_file());
        let named = with_key(&text, key, file);
        let refusal = || {
            let message = said!("`{yaml}` does not name the file `{file}`", file, yaml = yaml.display());
            Refusal::new(message).help(said!("write the line `{key}: {file}` into it", key, file))
        };
        let again = outline_of(&named).ok_or_else(refusal)?;
        let names = match self.which {
            Which::Scouting => again.scouting.is_some_and(|named| &*named.path == file),
            Which::Sprays => matches!(again.sprays, Sprays::File(named) if &*named.path == file),
        };
        if !names {
            return Err(refusal());
        }
        files::replace(yaml, &named)
    }
}

/// Puts a key into the text of a `grove.yaml`: in the place of its line, else before the first long list, else last.
fn with_key(text: &str, key: &str, value: &str) -> String {
    let line = format!("{key}: {value}");
    let lead = format!("{key}:");
    let mut lines: Vec<&str> = text.lines().collect();
    let own = lines.iter().position(|line| line.starts_with(&lead));
    let lists = ["shed:", "sprayer:", "blocks:", "trees:", "cultivars:"];
    let first = lines.iter().position(|line| lists.iter().any(|list| line.starts_with(list)));
    let whole;
    match own.and_then(|at| lines.get_mut(at)) {
        Some(old) => {
            let comment = old.find(" #").and_then(|at| old.get(at..)).unwrap_or_default();
            whole = format!("{line}{comment}");
            *old = &whole;
        }
        None => lines.insert(first.unwrap_or(lines.len()), &line),
    }
    lines.join("\n") + "\n"
}

fn outline(yaml: &Path) -> Result<Option<Outline>, Refusal> {
    files::read(yaml, files::GROVE_LIMIT).map(|text| outline_of(&text))
}

fn outline_of(text: &str) -> Option<Outline> {
    let mut sources = Sources::default();
    let id = sources.add("grove.yaml", text);
    let (outline, problems) = grove::outline(id, &sources);
    outline.filter(|_| !problems.any_error())
}
