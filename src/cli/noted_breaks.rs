//! Notes that cannot be true as the rulebook has it: the grove is read as it would stand with them before they are stored.

use super::append::with_rows;
use super::end::{Refusal, sentence};
use super::files;
use super::groves::{self, Asked, Opened, Purpose, Unopened};
use crate::grove::{Grove, NewRow, Noted, NotedValue, SeenValue};
use crate::phrase::{Phrase, said};
use crate::plan::{Kind, NameId, Place};
use crate::problems::{Level, Problem, Problems};
use crate::source::{Sources, Span};
use std::path::Path;

/// The scouting file as it would stand.
pub struct AsStored {
    name: String,
    text: String,
    /// The line of the first new row, counted from 1.
    line: usize,
}

impl AsStored {
    /// Takes the text of a log with its new rows, and the line of the first.
    pub fn of(name: String, (text, line): (String, usize)) -> Self {
        Self { name, text, line }
    }

    /// Reads the scouting file without taking it for writing. What stands behind its last line break is no row.
    pub fn read(read: &Opened, grove: &Path, usual: &[&str], rows: &[NewRow]) -> Result<Self, Refusal> {
        let folder = if grove.is_dir() { grove } else { grove.parent().unwrap_or(Path::new("")) };
        let named = read.outline.scouting.as_ref().map_or("scouting.csv", |file| &*file.path);
        let path = folder.join(named);
        let is_read = read.outline.scouting.is_some() && path.exists();
        let text = if is_read { files::read(&path, files::GROVE_LIMIT)? } else { String::new() };
        let whole = text.rfind('\n').and_then(|at| text.get(..=at)).unwrap_or_default();
        Ok(Self::of(path.display().to_string(), with_rows(whole, usual, rows)))
    }
}

/// What is found of notes when the grove is read as it would stand with them.
pub enum AsRead {
    /// It can be read; the grove, and what is said of the notes.
    Whole(Box<Grove>, Vec<String>),
    /// What is wrong with it, each at the note that makes it so, and the texts that are spoken of.
    Broken(Problems, Box<Sources>),
}

/// Reads the grove as it would stand.
pub fn found(
    read: &Opened,
    (grove, asked): (&Path, &Asked),
    noted: &[Noted],
    stored: AsStored,
) -> Result<AsRead, Refusal> {
    let AsStored { name, text, line } = stored;
    let purpose = Purpose::Scouted(name.clone(), text.clone());
    let (problems, mut sources) = match groves::open_for(grove, asked, purpose) {
        Ok(whole) => {
            let of_note = |problem: &&Problem| {
                let is_log = whole.sources.get(problem.at.source).is_some_and(|of| *of.name == *name);
                is_log && whole.sources.place(problem.at).line >= line
            };
            let told = whole
                .of_data
                .iter()
                .filter(of_note)
                .map(|it| sentence(&super::reader::language().phrase(&it.message)))
                .collect();
            return Ok(AsRead::Whole(Box::new(whole.grove), told));
        }
        Err(Unopened::Refusal(refusal)) => return Err(refusal),
        Err(Unopened::Findings(problems, sources)) => (problems, sources),
    };
    let notes = noted.first().and_then(|first| read.sources.get(first.at.source));
    let notes = notes.map(|of| sources.add(of.name.clone(), of.text.clone()));
    // The note whose row a place is in.
    let note_at = |sources: &Sources, at: Span| {
        let of = sources.get(at.source)?;
        let is_log = *of.name == *name && *of.text == *text;
        let row = sources.place(at).line.checked_sub(line)?;
        noted.get(row).filter(|_| is_log)
    };
    let mut told: Vec<Problem> = Vec::new();
    // One note may be of many trees: of what it breaks the first is told, and how many more there are.
    let mut folded: Vec<(Span, Span, usize)> = Vec::new();
    for problem in problems.iter().filter(|it| it.finding.level() == Level::Error) {
        let mut problem = problem.clone();
        let own = note_at(&sources, problem.at);
        let mut by = own;
        let mut related = Vec::new();
        for (at, label) in std::mem::take(&mut problem.related) {
            match note_at(&sources, at) {
                Some(note) => by = by.or(Some(note)),
                None => related.push((at, label)),
            }
        }
        if let (Some(note), Some(id)) = (by, notes) {
            if own.is_none() {
                let broken = related.last().map_or(problem.at, |(at, _)| *at);
                if let Some((_, _, more)) = folded.iter_mut().find(|it| (it.0, it.1) == (note.at, broken)) {
                    *more += 1;
                    continue;
                }
                folded.push((note.at, broken, 0));
                helped(
                    &mut problem,
                    "if what was seen before is over, write in the note also what is so now",
                );
                related.push((problem.at, "the tree is here".into()));
                if let Some(words) = of_groups(note, read) {
                    let more = said!(
                        "if each is true of other panicles, write them with their shares: `{words}`",
                        words
                    );
                    helped(&mut problem, more);
                }
            }
            problem.at = Span { source: id, ..note.at };
            problem.related = related;
        }
        told.push(problem);
    }
    let mut all = Problems::default();
    for mut problem in told {
        let more = folded.iter().find(|(note, broken, _)| {
            problem.at == Span { source: problem.at.source, ..*note }
                && problem.related.iter().any(|(at, _)| at == broken)
        });
        let message = std::mem::take(&mut problem.message);
        problem.message = match more {
            Some((_, _, 1)) => said!("{message}, and so does 1 more tree of this note", message),
            Some((_, _, more)) if *more > 1 => {
                said!("{message}, and so do {more} more trees of this note", message, more)
            }
            _ => message,
        };
        all.push(problem);
    }
    all.sort();
    Ok(AsRead::Broken(all, sources))
}

/// Says what else may be written.
fn helped(problem: &mut Problem, more: impl Into<Phrase>) {
    let more = more.into();
    problem.help = Some(match problem.help.take() {
        Some(help) => said!("{help}; {more}", help, more),
        None => more,
    });
}

/// Returns how a note is written of two groups of panicles: those of which the words of scales are true, and those of which
/// the rest is. Nothing where it speaks of a group already, or not of panicles.
fn of_groups(note: &Noted, read: &Opened) -> Option<String> {
    let plan = &read.plan;
    let is_scale = |name: NameId| matches!(plan[name].kind, Kind::Words(_));
    let of_panicles = |it: &&NotedValue| plan[it.name].scope == Place::Panicles;
    let said = |it: &NotedValue| format!("{} {}", plan[it.name].word, it.written);
    let rest: Vec<String> =
        note.values.iter().filter(of_panicles).filter(|it| !is_scale(it.name)).map(said).collect();
    if note.share.is_some() || rest.is_empty() {
        return None;
    }
    let tree = *note.place.trees.first()?;
    let scales = plan
        .observations()
        .filter(|(id, name, _)| name.scope == Place::Panicles && is_scale(*id) && !name.hidden);
    let (mut whole, mut open) = (Vec::new(), Vec::new());
    for (id, name, _) in scales {
        let noted = note.values.iter().find(|it| it.name == id).map(said);
        let seen = || {
            let word = match read.grove.seen(tree, id)?.value {
                SeenValue::Word(at) => plan.word_of(id, at),
                _ => "…".to_owned(),
            };
            Some(format!("{} {word}", name.word))
        };
        let Some(words) = noted.or_else(seen) else { continue };
        whole.push(words);
        open.push(format!("{} …", name.word));
    }
    if whole.is_empty() {
        return None;
    }
    Some(format!("{} 60% {}, 40% {} {}", note.place.on, whole.join(" "), open.join(" "), rest.join(" ")))
}
