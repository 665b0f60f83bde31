//! `start`: sets up a grove folder, from a few questions or from an example, with the rulebook that it needs.

use super::end::{CommandOutcome, End, Refusal};
use super::examples::{EXAMPLES, Example, rulebook};
use super::terminal::{LineLength, Stream};
use super::{files, groves, papers, start_grove};
use crate::phrase::said;
use crate::problems;
use crate::report::filling::{filled, paragraph};
use crate::report::map;
use crate::source::Sources;
use crate::syntax::{self, tree::Clause};
use crate::words::Language;
use crate::workspace::{TRANSLATED, translation_path};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Sets up a grove folder: a few questions, or a copy of an example
///
/// The answers are kept in the folder as they are given: stop whenever you like, and go on with the same command.
#[derive(clap::Args, Debug)]
#[command(arg_required_else_help = true)]
pub struct Start {
    /// The folder to make [default: the example's name]
    #[arg(value_name = "FOLDER", required_unless_present_any = ["example", "list"])]
    folder: Option<PathBuf>,
    /// Which example grove to copy, with its rulebook
    #[arg(long, value_name = "NAME")]
    example: Option<String>,
    /// A text file with answers, one `key: answer` a line; what it does not answer is asked
    #[arg(long, value_name = "FILE", conflicts_with = "example")]
    from: Option<PathBuf>,
    /// An answer, `row: A 15 Kent`; may be given many times
    #[arg(long, value_name = "KEY: ANSWER", conflicts_with = "example")]
    answer: Vec<String>,
    /// The language of the questions: en, es
    #[arg(long, value_name = "CODE", default_value = "en")]
    pub(super) language: String,
    /// Lists the examples
    #[arg(long, conflicts_with_all = ["example", "folder"])]
    list: bool,
    #[command(flatten)]
    pub(super) lines: LineLength,
}

/// The rulebooks as the example groves name them.
const FROM_EXAMPLE: &str = "../../rulebooks/";
/// The folder of a new grove into which its rulebooks go.
pub(super) const RULEBOOKS: &str = "rulebooks/";

impl Start {
    /// Runs the command.
    pub fn run(&self) -> CommandOutcome {
        let width = Stream::Results.width(self.lines.width);
        let language = papers::language(&self.language)?;
        let Some(name) = &self.example else {
            return match &self.folder {
                Some(folder) if !self.list => {
                    start_grove::run(folder, self.from.as_deref(), &self.answer, language, width)
                }
                _ => Stream::Results.print(&listed(width)).map(|()| End::Done),
            };
        };
        let Some(example) = EXAMPLES.iter().find(|example| example.name == name) else {
            let near = problems::nearest(name, EXAMPLES.iter().map(|example| example.name));
            let help = near.map_or_else(
                || "`bloomward start --list` lists them".into(),
                |near| said!("did you mean `{near}`?", near),
            );
            return Err(Refusal::new(said!("there is no example `{name}`", name)).help(help));
        };
        let folder = self.folder.clone().unwrap_or_else(|| PathBuf::from(example.name));
        let texts = contents(example);
        write(&folder, &texts)?;
        let next = language.say("start.next.example", &[("folder", &folder.display().to_string())]);
        Stream::Results.print(&told(&folder, &texts, &next, language, width)).map(|()| End::Done)
    }
}

fn listed(width: usize) -> String {
    let mut text = String::new();
    for Example { name, about, .. } in EXAMPLES {
        text += &paragraph(&format!("{name}: {about}"), width);
    }
    text + "\n" + &paragraph("Copy one: `bloomward start --example mixed-grove`", width)
}

/// Returns the files of a new grove: those of the example, and the rulebooks that it needs.
fn contents(example: &Example) -> BTreeMap<String, String> {
    let mut texts = BTreeMap::new();
    for (path, text) in example.files {
        let named = text.match_indices(FROM_EXAMPLE).filter_map(|(at, _)| {
            let rest = text.get(at + FROM_EXAMPLE.len()..)?;
            rest.split_whitespace().next()
        });
        named.for_each(|book| add_rulebook(book, &mut texts));
        texts.insert((*path).to_owned(), text.replace(FROM_EXAMPLE, RULEBOOKS));
    }
    texts
}

/// Adds a rulebook, the hours of its worked examples, and all that it builds on.
pub(super) fn add_rulebook(path: &str, texts: &mut BTreeMap<String, String>) {
    let Some(text) = rulebook(path) else { return };
    if texts.insert(format!("{RULEBOOKS}{path}"), text.to_owned()).is_some() {
        return;
    }
    for language in TRANSLATED {
        let path = translation_path(path, language).to_string_lossy().into_owned();
        if let Some(text) = rulebook(&path) {
            texts.insert(format!("{RULEBOOKS}{path}"), text.to_owned());
        }
    }
    let mut sources = Sources::default();
    let id = sources.add(path, text);
    let (tree, _) = syntax::parse(&sources, id);
    let clauses = tree.items.iter().flat_map(|item| &item.clauses);
    let folder = path.rsplit_once('/').map_or(String::new(), |(folder, _)| format!("{folder}/"));
    for clause in clauses {
        match &clause.value {
            Clause::BuildsOn(base, _) => add_rulebook(&format!("{folder}{}", base.value), texts),
            Clause::HoursFrom(file) => {
                let path = format!("{folder}{}", file.value);
                if let Some(hours) = rulebook(&path) {
                    texts.insert(format!("{RULEBOOKS}{path}"), hours.to_owned());
                }
            }
            _ => {}
        }
    }
}

/// Writes all files, or none where one of them is there already.
pub(super) fn write(folder: &Path, texts: &BTreeMap<String, String>) -> Result<(), Refusal> {
    let there: Vec<&String> =
        texts.keys().filter(|path| folder.join(path).symlink_metadata().is_ok()).collect();
    if let Some(first) = there.first() {
        let message = said!(
            "`{folder}` is there already, and nothing is overwritten",
            folder = folder.join(first).display()
        );
        return Err(Refusal::new(message).help("name a new folder"));
    }
    for (path, text) in texts {
        let file = folder.join(path);
        let made =
            file.parent().map_or(Ok(()), fs::create_dir_all).and_then(|()| files::write_new(&file, text));
        made.map_err(|error| Refusal::unwritten(file.display(), &error))?;
    }
    Ok(())
}

/// Says what was made, which rows it has, and what to do next.
pub(super) fn told(
    folder: &Path,
    texts: &BTreeMap<String, String>,
    next: &str,
    language: Language,
    width: usize,
) -> String {
    let shown = folder.display().to_string();
    let mut text = paragraph(&language.say("start.made", &[("folder", &shown)]), width);
    for path in texts.keys() {
        text += &filled(path, "  ", "    ", width).join("\n");
        text.push('\n');
    }
    // The broken example is there to be read: it has no map.
    let asked = groves::Asked { by: None, library: None, as_of: None };
    if let Ok(opened) = groves::open(folder, &asked) {
        text += "\n";
        text += &map(&opened.grove, language, width);
    }
    text + "\n" + &paragraph(next, width)
}
