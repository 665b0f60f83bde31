//! `scouted`: adds what was seen, from short notes, and says what it understood.

use super::append::Mend;
use super::confirm::Answers;
use super::end::{End, Outcome, Refusal};
use super::grove_files::{self, Which};
use super::groves::{self, Asked, Opened, Purpose};
use super::terminal::{Format, Printing, Stream};
use super::{files, speech};
use crate::grove::{self, NewRow, Noted};
use crate::report::noted::{doubt_words, noted_json, understood};
use crate::report::{GroveTrees, Lines};
use std::path::{Path, PathBuf};

/// Adds what was seen to the scouting file, from short notes, and says what it understood
#[derive(clap::Args, Debug)]
#[command(
    override_usage = "bloomward scouted [OPTIONS] [GROVE] NOTE…\n       bloomward scouted [OPTIONS] [GROVE] --from FILE",
    after_help = "A note is a day if it is not today, the trees, then what was seen, in the rulebook's names or what is \
                  short for them; the day may stand last. One note a line, or several with `;` between them:\n\n  \
                  a1-15 full 80 set 0\n  c3-14 full 85 mildew 5/40\n  c12 60% full 70, 40% spreading\n  \
                  terrace/kent except a7 pea set 8-12\n  rain 1.3 in sat\n  d5 full note leaves curled\n\n\
                  A line that is only a day holds for those below it. Nothing is stored that was not understood."
)]
pub struct Scouted {
    /// The grove (a folder, or its grove.yaml; the current folder if left out), and the notes; `-` is standard input
    #[arg(value_name = "GROVE NOTE")]
    words: Vec<String>,
    /// Reads the notes from a file; `-` is standard input
    #[arg(long, value_name = "FILE")]
    from: Option<PathBuf>,
    /// Who looked
    #[arg(long, value_name = "NAME")]
    who: Option<String>,
    /// Stores also what would be asked about
    #[arg(long)]
    yes: bool,
    /// Says what is understood, and stores nothing
    #[arg(long)]
    dry_run: bool,
    /// What to do with a last row that was cut off while it was written
    #[arg(long, value_name = "HOW", value_enum)]
    mend: Option<Mend>,
    #[command(flatten)]
    asked: Asked,
    #[command(flatten)]
    pub(super) printing: Printing,
}

impl Scouted {
    /// Runs the command.
    pub fn run(&self) -> Outcome {
        let (grove, words) = grove_and_rest(&self.words);
        let (name, text, input_is_used) = self.notes(words)?;
        let log = if self.dry_run { None } else { grove_files::take(&grove, Which::Scouting, self.mend)? };
        let mut read = match groves::open_for(&grove, &self.asked, Purpose::Scouting) {
            Ok(read) => read,
            Err(unopened) => return unopened.end(self.printing.lines.width),
        };
        let id = read.sources.add(name, text);
        let (noted, problems) = grove::notes(id, &read.grove, &read.plan, &read.sources);
        if !problems.is_empty() {
            let width = Stream::Diagnostics.width(self.printing.lines.width);
            Stream::Diagnostics.in_the_way(&problems, &read.sources, width)?;
            Stream::Diagnostics.print("Nothing was stored.\n")?;
            return Ok(End::Unreadable);
        }
        if noted.is_empty() {
            return Err(Refusal::new("there is no note").help("write what was seen: `a1-15 full 80 set 0`"));
        }
        let rows: Vec<NewRow> = noted.iter().map(|note| note.row(self.who.as_deref(), &read.plan)).collect();
        let ground = GroveTrees { plan: &read.plan, grove: &read.grove };
        let doubts: Vec<String> = grove::doubts(&noted, &read.grove, &read.plan)
            .iter()
            .map(|doubt| doubt_words(doubt, &ground, speech(&read)))
            .collect();
        self.echo(&noted, &doubts, &read)?;
        if self.dry_run {
            return self.told(&rows, &doubts, None, &grove);
        }
        let answers = Answers::of(self.yes, input_is_used);
        if !doubts.is_empty() && !answers.ask("Store it all the same?")? {
            Stream::Diagnostics.print("Nothing was stored.\n")?;
            return Ok(End::Unreadable);
        }
        let Some(log) = log else { return Err(Refusal::new("the grove has no scouting file")) };
        let usual = grove::scouting_columns(&read.plan);
        log.name(&usual)?;
        let line = log.log.add(&usual, &rows)?;
        self.told(&rows, &doubts, Some((&log.shown, line)), &grove)
    }

    /// Returns the notes with the name that messages give them, and whether standard input was read for them.
    fn notes(&self, words: &[String]) -> Result<(String, String, bool), Refusal> {
        let from = match (&self.from, words) {
            (Some(_), [_, ..]) => {
                return Err(Refusal::new("notes are given twice")
                    .help("write them behind the grove, or name their file with `--from`"));
            }
            (Some(file), []) => Some(file.clone()),
            (None, [dash]) if dash == "-" => Some(PathBuf::from("-")),
            (None, _) => None,
        };
        match from {
            Some(file) if file == Path::new("-") => Ok(("notes".into(), files::read_input()?, true)),
            Some(file) => {
                let text = files::read(&file, files::RULEBOOK_LIMIT)?;
                Ok((file.display().to_string(), text, false))
            }
            None if words.is_empty() => Err(Refusal::new("there is no note")
                .help("write what was seen: `bloomward scouted a1-15 full 80 set 0`")),
            None => Ok(("notes".into(), lines_of(words), false)),
        }
    }

    fn echo(&self, noted: &[Noted], doubts: &[String], read: &Opened) -> Result<(), Refusal> {
        if self.printing.format == Format::Json {
            return Ok(());
        }
        let ground = GroveTrees { plan: &read.plan, grove: &read.grove };
        let mut lines = Lines::new(Stream::Results.width(self.printing.lines.width));
        understood(&mut lines, noted, self.who.as_deref(), &ground);
        if !doubts.is_empty() {
            lines.blank();
            lines.text(0, "Look twice:");
            doubts.iter().for_each(|doubt| lines.text(2, doubt));
        }
        lines.blank();
        Stream::Results.print(&lines.finish())
    }

    fn told(
        &self,
        rows: &[NewRow],
        doubts: &[String],
        stored: Option<(&str, usize)>,
        grove: &Path,
    ) -> Outcome {
        if self.printing.format == Format::Json {
            return Stream::Results.print(&noted_json(rows, doubts, stored)).map(|()| End::Done);
        }
        let mut lines = Lines::new(Stream::Results.width(self.printing.lines.width));
        match stored {
            Some((file, line)) => {
                let last = line + rows.len().max(1) - 1;
                let where_to =
                    if last == line { format!("line {line}") } else { format!("lines {line} to {last}") };
                lines.text(0, &format!("Stored in `{file}`, {where_to}."));
                let grove = grove.display();
                lines.text(
                    0,
                    &format!("Next: `bloomward advise {grove}`. What is wrong is corrected by a later note."),
                );
            }
            None => lines.text(0, "Nothing was stored: `--dry-run`. Leave it out to store this."),
        }
        Stream::Results.print(&lines.finish()).map(|()| End::Done)
    }
}

/// Takes the grove from the words of a command: the first one, where a grove is there.
pub fn grove_and_rest(words: &[String]) -> (PathBuf, &[String]) {
    if let Some((first, rest)) = words.split_first() {
        let path = Path::new(first);
        let is_grove = path.join("grove.yaml").is_file() || (path.is_file() && first.ends_with(".yaml"));
        let looks_like_one = first.contains(['/', '\\']) && !first.contains(' ') && path.exists();
        if is_grove || looks_like_one {
            return (path.to_owned(), rest);
        }
    }
    (PathBuf::from("."), words)
}

/// Joins words typed one by one into one note; a word that holds a blank is a note of its own.
fn lines_of(words: &[String]) -> String {
    let mut text = String::new();
    for word in words {
        let own = word.trim().contains(char::is_whitespace);
        let before_own = text.ends_with('\n');
        if own && !text.is_empty() && !before_own {
            text.push('\n');
        }
        if !own && !text.is_empty() && !before_own {
            text.push(' ');
        }
        text.push_str(word);
        if own {
            text.push('\n');
        }
    }
    text
}
