//! `scouted`: adds what was seen, from short notes, and says what it understood.

use super::end::{CommandOutcome, End, Refusal};
use super::grove_files::{self, Which};
use super::groves::{self, Opened, Purpose};
use super::noted_breaks::{self, AsRead, AsStored};
use super::storing::{Stored, Storing, grove_and_rest, nothing_stored};
use super::terminal::Stream;
use super::{files, speech};
use crate::grove::{self, NewRow, Noted};
use crate::problems::{Problem, Problems};
use crate::report::GroveTrees;
use crate::report::note_words::words_page;
use crate::report::noted::{NoteSaid, doubt_words, noted_json, understood};
use crate::report::schemas;
use crate::source::Sources;
use crate::words::{Language, Words};
use std::path::{Path, PathBuf};

/// Adds what was seen to the scouting file, from short notes, and says what it understood
#[derive(clap::Args, Debug)]
#[command(
    override_usage = "bloomward scouted [OPTIONS] [GROVE] NOTE…\n       bloomward scouted [OPTIONS] [GROVE] --from FILE",
    after_help = "Write: [day], trees, what was seen, in the rulebook's names or short forms of them; the day may come \
                  last. One note a line, or several with `;` between them:\n\n  \
                  a1-15 full 80 set 0\n  c3-14 full 85 mildew 5/40\n  row f spreading\n  c12 60% full 70, 40% spreading\n  \
                  terrace/kent except a7 pea set 8-12\n  rain 1.3 in sat\n  d5 full note leaves curled\n\n\
                  A line that is only a day holds for those below it. Nothing is stored that was not understood; of several \
                  lines those that were can be stored while the others are asked about. `--words` lists what may be written."
)]
pub struct Scouted {
    /// The grove (a folder, or its grove.yaml; the current folder if left out), and the notes; `-` is standard input
    #[arg(value_name = "GROVE NOTE")]
    words: Vec<String>,
    /// Reads the notes from a file; `-` is standard input
    #[arg(long, value_name = "FILE")]
    from: Option<PathBuf>,
    /// Stores those lines that were understood, and names the others, which are to be written again
    #[arg(long)]
    understood_only: bool,
    /// Lists the words that notes of this grove may use, with what is short for them
    #[arg(long = "words")]
    words_to_use: bool,
    /// Who looked
    #[arg(long, value_name = "NAME")]
    who: Option<String>,
    #[command(flatten)]
    pub(super) storing: Storing,
}

impl Scouted {
    /// Runs the command.
    pub fn run(&self) -> CommandOutcome {
        if self.storing.schema {
            return Stream::Results.print(schemas::SCOUTED).map(|()| End::Done);
        }
        let language = self.storing.language()?;
        let (grove, words) = grove_and_rest(&self.words);
        if self.words_to_use {
            return self.tell_words(&grove, language);
        }
        let (name, text, input_is_used) = self.notes(words)?;
        let log = if self.storing.dry_run {
            None
        } else {
            grove_files::take(&grove, Which::Scouting, self.storing.fix)?
        };
        let mut read = match groves::open_for(&grove, &self.storing.asked, Purpose::Scouting) {
            Ok(read) => read,
            Err(unopened) => return unopened.end(self.storing.printing.lines.width),
        };
        // What the words of a scale say is read as the author wrote them.
        let of_author = read.plan.clone();
        read = read.in_language(language.code());
        read.told_without_weather(language, self.storing.printing.lines.width)?;
        let id = read.sources.add(name, text);
        let (noted, problems) = grove::notes(id, &read.grove, &read.plan, &read.sources);
        if !problems.is_empty() {
            self.in_the_way(&problems, &read.sources)?;
        }
        // Programs are given all or nothing: they cannot see that some of it is left.
        let some_are_left = !problems.is_empty();
        if some_are_left && (noted.is_empty() || !self.storing.is_text()) {
            nothing_stored(language)?;
            return Ok(End::Unreadable);
        }
        if noted.is_empty() {
            return Err(Refusal::new("there is no note").help("write what was seen: `a1-15 full 80 set 0`"));
        }
        let rows: Vec<NewRow> = noted.iter().map(|note| note.row(self.who.as_deref(), &read.plan)).collect();
        let usual = grove::scouting_columns(&read.plan);
        let stored = match &log {
            Some(log) => AsStored::of(log.shown.clone(), log.log.with(&usual, &rows)?),
            None => AsStored::read(&read, &grove, &usual, &rows)?,
        };
        let (after, remarks) =
            match noted_breaks::found(&read, (&grove, &self.storing.asked), &noted, stored)? {
                AsRead::Whole(after, remarks) => (after, remarks),
                AsRead::Broken(problems, sources) => {
                    self.in_the_way(&problems, &sources)?;
                    nothing_stored(language)?;
                    return Ok(End::Unreadable);
                }
            };
        let ground = GroveTrees { plan: &read.plan, grove: &read.grove };
        let words = Words { language, speech: speech(&read), plan: &read.plan };
        let mut doubts: Vec<String> = grove::doubts(&noted, (&read.grove, &after), &of_author)
            .iter()
            .map(|doubt| doubt_words(doubt, &ground, words))
            .collect();
        let may_store_some =
            self.understood_only || (self.storing.can_ask(input_is_used) && !self.storing.takes_proposals());
        if some_are_left && !self.understood_only {
            doubts.push(language.say("noted.some-left", &[]));
        }
        let said = NoteSaid { rows: &rows, remarks: &remarks, doubts: &doubts };
        self.echo(&noted, said, &read)?;
        if self.storing.dry_run {
            return self.told(said, None, &grove).map(|end| end.max(left(some_are_left)));
        }
        if some_are_left && !may_store_some {
            nothing_stored(language)?;
            return Ok(End::Unreadable);
        }
        if !self.storing.agreed(&doubts, input_is_used)? {
            return Ok(End::Unreadable);
        }
        let Some(log) = log else { return Err(Refusal::new("the grove has no scouting file")) };
        log.name(&usual)?;
        let line = log.log.add(&usual, &rows)?;
        let end = self.told(said, Some((&log.shown, line)), &grove)?;
        if some_are_left {
            self.told_left(&problems, &read, language)?;
        }
        Ok(end.max(left(some_are_left)))
    }

    fn in_the_way(&self, problems: &Problems, sources: &Sources) -> Result<(), Refusal> {
        let width = Stream::Diagnostics.width(self.storing.printing.lines.width);
        Stream::Diagnostics.in_the_way(problems, sources, width)
    }

    /// Repeats the lines of which nothing was stored, so that they can be written again.
    fn told_left(&self, problems: &Problems, read: &Opened, language: Language) -> Result<(), Refusal> {
        let line = |problem: &Problem| {
            let source = read.sources.get(problem.at.source)?;
            Some(source.line(source.place(problem.at.start as usize).line).trim().to_string())
        };
        let mut lines: Vec<String> = problems.iter().filter_map(line).collect();
        lines.dedup();
        let text = language.say("noted.left", &[])
            + "\n"
            + &lines.iter().map(|line| format!("  {line}\n")).collect::<String>();
        Stream::Diagnostics.print(&text)
    }

    /// Lists what notes may say.
    fn tell_words(&self, grove: &Path, language: Language) -> CommandOutcome {
        let read = match groves::open_for(grove, &self.storing.asked, Purpose::Logs) {
            Ok(read) => read.in_language(language.code()),
            Err(unopened) => return unopened.end(self.storing.printing.lines.width),
        };
        let words = Words { language, speech: speech(&read), plan: &read.plan };
        let mut lines = self.storing.page();
        words_page(&mut lines, &grove::note_words(&read.plan), words);
        Stream::Results.print(&lines.finish()).map(|()| End::Done)
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

    fn echo(&self, noted: &[Noted], said: NoteSaid<'_>, read: &Opened) -> Result<(), Refusal> {
        if !self.storing.is_text() {
            return Ok(());
        }
        let words = Words { language: self.storing.language()?, speech: speech(read), plan: &read.plan };
        let ground = GroveTrees { plan: &read.plan, grove: &read.grove };
        let mut lines = self.storing.page();
        understood(&mut lines, (noted, said), self.who.as_deref(), &ground, words);
        Stream::Results.print(&(lines.finish() + "\n"))
    }

    fn told(&self, said: NoteSaid<'_>, stored: Option<(&str, usize)>, grove: &Path) -> CommandOutcome {
        if self.storing.is_text() {
            let stored = stored.map(|(file, line)| Stored { file, line, rows: said.rows.len() });
            let grove = grove.display().to_string();
            let next = self.storing.language()?.say("noted.then", &[("grove", &grove)]);
            self.storing.told(stored, &next)?;
        } else {
            Stream::Results.print(&noted_json(said, stored))?;
        }
        Ok(End::Done)
    }
}

/// Returns how it ends where some notes are left.
fn left(some_are_left: bool) -> End {
    if some_are_left { End::Unreadable } else { End::Done }
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
