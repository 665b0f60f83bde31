//! `sprayed`: adds a spray to the log, by the number of its sheet or by hand, and says what it means.

use super::append::Mend;
use super::confirm::Answers;
use super::end::{End, Outcome, Refusal};
use super::grove_files::{self, GroveLog, Which};
use super::groves::{self, Asked, Opened, Purpose};
use super::scouted::grove_and_rest;
use super::spray_words::SprayWords;
use super::terminal::{Format, Printing, Stream};
use crate::advice::{LabelRecord, label_record, later_broken};
use crate::grove::{LOG_COLUMNS, NewRow, SprayRow};
use crate::measure::Truth;
use crate::report::logged::{LoggedPage, logged_json};
use crate::report::{GroveTrees, Lines};
use std::path::{Path, PathBuf};

/// Adds a spray to the log, by the number of its sheet or by hand, and says what it means
#[derive(clap::Args, Debug)]
#[command(
    after_help = "By its sheet: `bloomward sprayed my-grove --sheet 12 --except C07,C09`. By hand:\n  \
                  bloomward sprayed my-grove --product copper --strength reduced --on A01-A15 \
                  --start 05:30 --end 07:10 --volume '25 gal' --operator 'T. R.'\n\
                  A row that was wrong is corrected by a later one: `--corrects 12` with all that is right, or with \
                  `--product none` where nothing was sprayed."
)]
pub struct Sprayed {
    /// The grove: a folder, or its grove.yaml
    #[arg(value_name = "GROVE")]
    grove: Vec<String>,
    #[command(flatten)]
    words: SprayWords,
    /// Stores also what would be asked about
    #[arg(long)]
    yes: bool,
    /// Says what it would mean, and stores nothing
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

/// What a spray means, for itself and for later ones.
struct Logged {
    record: LabelRecord,
    later: Vec<(SprayRow, LabelRecord)>,
}

impl Sprayed {
    /// Runs the command.
    pub fn run(&self) -> Outcome {
        let (grove, rest) = grove_and_rest(&self.grove);
        if let Some(word) = rest.first() {
            let refusal = Refusal::new(format!("there is no grove at `{word}`"));
            return Err(
                refusal.help("what was sprayed is said with `--product`, `--on` and so on; see `--help`")
            );
        }
        let log = grove_files::take(&grove, Which::Sprays, self.mend)?;
        let before = match groves::open(&grove, &self.asked) {
            Ok(read) => read,
            Err(unopened) => return unopened.end(self.printing.lines.width),
        };
        let Some(log) = log else { return Err(Refusal::new("the grove has no spray log")) };
        let (row, remarks) = self.words.row(&before, &grove)?;
        let (text, line) = log.log.with(LOG_COLUMNS, std::slice::from_ref(&row))?;
        let as_of = self.words.as_of(&row, &before, self.asked.as_of.is_some())?;
        let asked = Asked { as_of: Some(as_of), ..self.asked.clone() };
        let read = match groves::open_for(&grove, &asked, Purpose::Sprays(log.shown.clone(), text.clone())) {
            Ok(read) => read,
            Err(unopened) => {
                let end = unopened.end(self.printing.lines.width);
                Stream::Diagnostics.print("Nothing was stored.\n")?;
                return end;
            }
        };
        let at = read.grove.log.rows().iter().find(|row| read.sources.place(row.at).line == line);
        let Some(spray) = at else { return self.struck_out(&log, &row, &grove) };
        self.logged(&log, (&before, &read), spray, &row, &remarks, &grove)
    }

    fn logged(
        &self,
        log: &GroveLog,
        (before, read): (&Opened, &Opened),
        spray: &SprayRow,
        row: &NewRow,
        remarks: &[String],
        grove: &Path,
    ) -> Outcome {
        let logged = Logged {
            record: label_record(&read.book_plan, &read.grove, &read.site, spray),
            later: later_broken(&read.book_plan, (&before.grove, &read.grove), &read.site, spray),
        };
        let width = Stream::Results.width(self.printing.lines.width);
        let doubts = doubts(before, spray);
        let ground = GroveTrees { plan: &logged.record.plan, grove: &read.grove };
        let page = LoggedPage {
            row: spray,
            record: &logged.record,
            later: &logged.later,
            ground: &ground,
            speech: super::speech(read),
            remarks,
            doubts: &doubts,
        };
        if self.printing.format == Format::Text {
            let mut lines = Lines::new(width);
            page.write(&mut lines);
            Stream::Results.print(&(lines.finish() + "\n"))?;
        }
        if !self.dry_run {
            let answers = Answers::of(self.yes, false);
            if !doubts.is_empty() && !answers.ask("Store it all the same?")? {
                Stream::Diagnostics.print("Nothing was stored.\n")?;
                return Ok(End::Unreadable);
            }
            log.name(LOG_COLUMNS)?;
            log.log.add(LOG_COLUMNS, std::slice::from_ref(row))?;
        }
        let line = read.sources.place(spray.at).line;
        let stored = (!self.dry_run).then_some((log.shown.as_str(), line));
        let broken =
            logged.record.lines.iter().any(|line| line.broken == Truth::Yes) || !logged.later.is_empty();
        match self.printing.format {
            Format::Json => Stream::Results.print(&logged_json(&page, row, stored))?,
            Format::Text => self.told(stored, broken, grove)?,
        }
        Ok(if broken { End::Found } else { End::Done })
    }

    /// Stores a row that only strikes out another.
    fn struck_out(&self, log: &GroveLog, row: &NewRow, grove: &Path) -> Outcome {
        if self.words.product.as_deref() != Some("none") {
            let refusal = Refusal::new("the spray lies ahead of the moment of the advice");
            return Err(refusal.help("write it down when it is done; `--as-of` fixes another moment"));
        }
        if self.dry_run {
            return self.told(None, false, grove).map(|()| End::Done);
        }
        let line = log.log.add(LOG_COLUMNS, std::slice::from_ref(row))?;
        self.told(Some((&log.shown, line)), false, grove).map(|()| End::Done)
    }

    fn told(&self, stored: Option<(&str, usize)>, broken: bool, grove: &Path) -> Result<(), Refusal> {
        let mut lines = Lines::new(Stream::Results.width(self.printing.lines.width));
        let grove = grove.display();
        match stored {
            Some((file, line)) => {
                lines.text(0, &format!("Stored in `{file}`, line {line}."));
                lines.text(0, &if broken {
                    format!("A broken label is recorded all the same. Next: ask whom the label or your office names; if the \
                             row is wrong, `bloomward sprayed {grove} --corrects {line} …`.")
                } else {
                    format!("Next: `bloomward records {grove}` shows the season. A row that is wrong is corrected by \
                             `--corrects {line}`.")
                });
            }
            None => lines.text(0, "Nothing was stored: `--dry-run`. Leave it out to store this."),
        }
        Stream::Results.print(&lines.finish())
    }
}

/// Returns what should be looked at twice: a spray that the log has already.
fn doubts(before: &Opened, spray: &SprayRow) -> Vec<String> {
    let trees = spray.trees(&before.grove.trees);
    let products: Vec<&str> = spray.parts.iter().map(|part| &*part.word).collect();
    let same = before.grove.log.rows().iter().filter(|row| row.is_one_with(spray)).filter(|row| {
        let shared = row.trees(&before.grove.trees).iter().any(|tree| trees.binary_search(tree).is_ok());
        shared && row.parts.iter().any(|part| products.contains(&&*part.word))
    });
    // A row that is corrected is left out of the log by the one that corrects it.
    if spray.fields.contains_key("corrects") {
        return Vec::new();
    }
    same.map(|row| {
        let line = before.sources.place(row.at).line;
        format!(
            "Line {line} of the log has this product on some of these trees at the same time already; both would count. \
             If it was wrong, correct it: `--corrects {line}`."
        )
    })
    .collect()
}

/// Returns the path of a kept sheet.
pub fn sheet_file(grove: &Path, number: &str) -> PathBuf {
    let folder = if grove.is_dir() { grove } else { grove.parent().unwrap_or(Path::new("")) };
    folder.join("sheets").join(format!("{number}.yaml"))
}
