//! `sprayed`: adds a spray to the log, by the number of its sheet or by hand, and says what it means.

use super::end::{CommandOutcome, End, Refusal, sentence};
use super::grove_files::{self, GroveLog, Which};
use super::groves::{self, Asked, Opened, Purpose, Unopened};
use super::sheets;
use super::spray_checked::checked;
use super::spray_sheet::KeptSheet;
use super::spray_taken::Taken;
use super::spray_times::iso;
use super::spray_words::{SprayWords, TypedSpray, last_ahead};
use super::storing::{Stored, Storing, grove_and_rest, nothing_stored};
use super::terminal::Stream;
use crate::advice::{RuledOut, rained_on};
use crate::grove::{Counting, LOG_COLUMNS, NewRow, SprayPart, SprayRow, SprayVolume};
use crate::labels::{label_record, later_broken};
use crate::measure::{Truth, WeatherMeasures};
use crate::phrase::said;
use crate::plan::Class;
use crate::problems::{Level, Problem};
use crate::report::logged::{LoggedPage, struck_out, tank_words};
use crate::report::records::Season;
use crate::report::{GroveTrees, logged_json, ranges, schemas, struck_out_json};
use crate::units::Unit;
use crate::words::{Language, Words};
use rustc_hash::FxHashSet;
use std::path::Path;

/// Adds a spray to the log, by the number of its sheet or by hand, and says what it means
#[derive(clap::Args, Debug)]
#[command(
    after_help = "By its sheet: `bloomward sprayed my-grove --sheet 12 --except C07,C09`. By hand:\n  \
                  bloomward sprayed my-grove --product copper --strength reduced --on A01-A15 \
                  --start 05:30 --end 07:10 --volume '25 gal' --operator 'T. R.'\n\
                  A row that was wrong is corrected by a later one: `--corrects 12` with what was otherwise, or with \
                  `--product none` where nothing was sprayed."
)]
pub struct Sprayed {
    /// The grove: a folder, or its grove.yaml
    #[arg(value_name = "GROVE")]
    grove: Vec<String>,
    /// Says that a sheet was not sprayed, so that it is asked about no longer: `--sheet 3 --not-done`
    #[arg(long, requires = "sheet")]
    not_done: bool,
    #[command(flatten)]
    words: SprayWords,
    #[command(flatten)]
    pub(super) storing: Storing,
}

/// By so many times a volume may differ from what the sprayer is said to put out, before it is asked about.
const FAR: f64 = 2.5;

/// A spray on its way into the log.
struct Logging<'l> {
    log: &'l GroveLog,
    /// The grove without it, and with it.
    before: &'l Opened,
    read: &'l Opened,
    said: &'l TypedSpray,
    grove: &'l Path,
    language: Language,
}

impl Sprayed {
    /// Runs the command.
    pub fn run(&self) -> CommandOutcome {
        if self.storing.schema {
            return Stream::Results.print(schemas::SPRAYED).map(|()| End::Done);
        }
        let width = self.storing.printing.lines.width;
        let language = self.storing.language()?;
        let (grove, rest) = grove_and_rest(&self.grove);
        if let Some(word) = rest.first() {
            let refusal = Refusal::new(said!("there is no grove at `{word}`", word));
            return Err(
                refusal.help("what was sprayed is said with `--product`, `--on` and so on; see `--help`")
            );
        }
        if let Some(number) = self.words.number().filter(|_| self.not_done) {
            // That there is such a sheet is said by whoever reads it.
            KeptSheet::of(number, &grove)?;
            sheets::not_done(&grove, number)?;
            return Stream::Results
                .print(&(language.say("logged.not-done", &[("sheet", number)]) + "\n"))
                .map(|()| End::Done);
        }
        let log = grove_files::take(&grove, Which::Sprays, self.storing.fix)?;
        let today = match groves::open_for(&grove, &self.storing.asked, Purpose::Logs) {
            Ok(read) => read.in_language(language.code()),
            Err(unopened) => return unopened.end(width),
        };
        let Some(log) = log else { return Err(Refusal::new("the grove has no spray log")) };
        today.told_without_weather(language, width)?;
        // A row whose year is mistyped lies ahead, and can be corrected like any other.
        let ahead = last_ahead(&today).filter(|_| self.words.corrected().is_some());
        let with_ahead = match ahead.map(|end| Asked { as_of: Some(iso(&end)), ..self.storing.asked.clone() })
        {
            Some(asked) => groves::open_for(&grove, &asked, Purpose::Logs).ok(),
            None => None,
        };
        let taken = self
            .words
            .corrected()
            .and_then(|named| Taken::named(named, with_ahead.as_ref().unwrap_or(&today)));
        let said = self.words.said(&today, taken, &grove, language)?;
        let (text, line) = log.log.with(LOG_COLUMNS, std::slice::from_ref(&said.row))?;
        // Where a grove fixes its moment, sprays may lie ahead of it: to the log they count all the same.
        let as_of = self.words.as_of(&said.row, &today, self.storing.asked.as_of.is_some())?;
        let asked = Asked { as_of: Some(as_of), ..self.storing.asked.clone() };
        let before = match groves::open_for(&grove, &asked, Purpose::Logs) {
            Ok(read) => read.in_language(language.code()),
            Err(unopened) => return unopened.end(width),
        };
        let read = match groves::open_for(&grove, &asked, Purpose::Sprays(log.shown.clone(), text.clone())) {
            Ok(read) => read.in_language(language.code()),
            Err(unopened) => {
                let end = slips(only_errors(unopened), &log.shown, line)?.end(width);
                nothing_stored(language)?;
                return end;
            }
        };
        let logging =
            Logging { log: &log, before: &before, read: &read, said: &said, grove: &grove, language };
        let line_of = |row: &&SprayRow| read.sources.place(row.at).line == line;
        match read.grove.log.rows().iter().find(line_of) {
            Some(spray) => {
                let checked = checked(&grove, &asked, (log.shown.clone(), text), spray);
                let checked = checked.map(|(found, then)| (found, then.in_language(language.code())));
                self.logged(&logging, (spray, line), &today, checked)
            }
            None => self.struck_out(&logging),
        }
    }

    /// Says what a spray means, and stores it.
    fn logged(
        &self,
        logging: &Logging<'_>,
        (spray, line): (&SprayRow, usize),
        today: &Opened,
        checked: Option<(Vec<RuledOut>, Opened)>,
    ) -> CommandOutcome {
        let Logging { log, before, read, said, grove, language } = *logging;
        let record = label_record(&read.book_plan, &read.grove, spray);
        let later = later_broken(&read.book_plan, (&before.grove, &read.grove), spray);
        let gone = logging.gone();
        let mut remarks = said.remarks.clone();
        let of_row = read.of_data.iter().filter(|problem| {
            problem.at.source == spray.at.source && read.sources.place(problem.at).line == line
        });
        remarks.extend(of_row.map(|problem| sentence(&language.phrase(&problem.message))));
        remarks.extend(rain_on(spray, (before, today), logging.words()));
        let row = kept_with(&said.row, spray, read);
        let mut doubts = said.doubts.clone();
        doubts.extend(logging.twice(spray));
        doubts.extend(logging.uncertified(spray));
        doubts.extend(logging.much_spray(spray));
        doubts.extend(logging.too_strong(spray));
        // Without them no record is whole; amounts on the land come of the volume.
        let asked_for = ["registration", "volume", "operator"];
        let lacking: Vec<&str> =
            asked_for.into_iter().filter(|column| !spray.fields.contains_key(column)).collect();
        if !lacking.is_empty() {
            let flags: Vec<String> = lacking.iter().map(|column| format!("`--{column}`")).collect();
            remarks.push(language.say("logged.lacking", &[("flags", &flags.join(", "))]));
        }
        if let (Some(row), true) = (self.words.corrected(), logging.corrects_none()) {
            doubts.push(language.say("logged.corrects-none", &[("row", row)]));
        }
        let ground = GroveTrees { plan: &record.plan, grove: &read.grove };
        let page = LoggedPage {
            row: spray,
            record: &record,
            later: &later,
            ruled_out: checked.as_ref().map_or((&[], &read.plan), |(found, then)| (&found[..], &then.plan)),
            instead_of: &gone,
            ground: &ground,
            words: Words { language, speech: super::speech(read), plan: &record.plan },
            remarks: &remarks,
            doubts: &doubts,
        };
        if self.storing.is_text() {
            let mut lines = self.storing.page();
            page.write(&mut lines);
            Stream::Results.print(&(lines.finish() + "\n"))?;
        }
        if !self.storing.dry_run {
            if !self.storing.agreed(&doubts, false)? {
                return Ok(End::Unreadable);
            }
            log.name(LOG_COLUMNS)?;
            log.log.add(LOG_COLUMNS, std::slice::from_ref(&row))?;
        }
        let broken = record.lines.iter().any(|line| line.broken == Truth::Yes) || !later.is_empty();
        let stored = (!self.storing.dry_run).then_some((log.shown.as_str(), line));
        if self.storing.is_text() {
            let line = line.to_string();
            let shown = grove.display().to_string();
            let next = if broken {
                language.say("logged.then.broken", &[("grove", &shown), ("line", &line)])
            } else {
                let ahead = (spray.start > today.as_of)
                    .then(|| format!(" --as-of {}", spray.end.format("%Y-%m-%dT%H:%M")));
                let shown = shown + &ahead.unwrap_or_default();
                language.say("logged.then", &[("grove", &shown), ("line", &line)])
            };
            self.storing.told(stored.map(|(file, line)| Stored { file, line, rows: 1 }), &next)?;
        } else {
            Stream::Results.print(&logged_json(&page, &row, stored))?;
        }
        Ok(if broken { End::Found } else { End::Done })
    }

    /// Stores a row that only strikes out others.
    fn struck_out(&self, logging: &Logging<'_>) -> CommandOutcome {
        let Logging { log, said, grove, language, .. } = *logging;
        if !self.words.strikes_out() {
            let refusal = Refusal::new("the spray lies ahead of the moment of the advice");
            return Err(refusal.help("write it down when it is done; `--as-of` fixes another moment"));
        }
        let gone = logging.gone();
        if logging.corrects_none() {
            let row = self.words.corrected().unwrap_or_default();
            let refusal = Refusal::new(said!(
                "row `{row}` counts no longer: it was corrected or struck out before",
                row
            ));
            return Err(refusal.help("name the row that stands in for it, by its line in the log"));
        }
        if self.storing.is_text() {
            let mut lines = self.storing.page();
            struck_out(&mut lines, &gone, logging.words());
            Stream::Results.print(&(lines.finish() + "\n"))?;
        }
        let added = |row: &NewRow| log.log.add(LOG_COLUMNS, std::slice::from_ref(row));
        let line = if self.storing.dry_run { None } else { Some(added(&said.row)?) };
        let stored = line.map(|line| (log.shown.as_str(), line));
        if self.storing.is_text() {
            let next = language.say("logged.then.struck", &[("grove", &grove.display().to_string())]);
            self.storing.told(stored.map(|(file, line)| Stored { file, line, rows: 1 }), &next)?;
        } else {
            Stream::Results.print(&struck_out_json(&said.row, &gone, stored))?;
        }
        Ok(End::Done)
    }
}

impl Logging<'_> {
    /// Returns whether the row stands in for none that counts. One that lies far ahead is not seen, and may be meant.
    fn corrects_none(&self) -> bool {
        self.gone().is_empty() && self.before.grove.log.ahead().is_empty()
    }

    /// Returns the sprays of the log that count no longer once the row is there, each with its line.
    fn gone(&self) -> Vec<(usize, &SprayRow)> {
        let lines = |read: &Opened, row: &SprayRow| read.sources.place(row.at).line;
        let left: FxHashSet<usize> =
            self.read.grove.log.rows().iter().map(|row| lines(self.read, row)).collect();
        let before = self.before.grove.log.rows().iter().map(|row| (lines(self.before, row), row));
        let mut gone: Vec<_> = before.filter(|(line, _)| !left.contains(line)).collect();
        gone.sort_by_key(|(line, _)| *line);
        gone
    }

    /// Returns the words in which the spray is told.
    fn words(&self) -> Words<'_> {
        Words { language: self.language, speech: super::speech(self.read), plan: &self.before.plan }
    }

    /// Says that much more or much less spray went out than the sprayer puts on these trees.
    fn much_spray(&self, spray: &SprayRow) -> Option<String> {
        let grove = &self.read.grove;
        let sprayer = grove.sprayer.as_ref()?;
        let trees = spray.trees(&grove.trees);
        let usual: Option<f64> =
            trees.iter().map(|tree| sprayer.volume_per_tree(grove.block_of(*tree)?)).sum();
        let usual = usual.filter(|usual| *usual > 0.0)?;
        let SprayVolume::Total(volume) = spray.volume? else { return None };
        let times = volume / usual;
        if (1.0 / FAR..=FAR).contains(&times) {
            return None;
        }
        let said = spray.fields.get("volume")?.to_string();
        let usual = self.words().volume(usual);
        Some(self.language.say("logged.much-spray", &[("volume", &said), ("usual", &usual)]))
    }

    /// Says which products were put on stronger than the guide's strongest mix, as far as both can be counted.
    fn too_strong(&self, spray: &SprayRow) -> Vec<String> {
        let (plan, grove) = (&self.read.book_plan, &self.read.grove);
        let Some(tree) = spray.trees(&grove.trees).first().copied() else { return Vec::new() };
        let words = spray.parts.iter().filter_map(|part| {
            let product = &plan[part.product?];
            let strongest = product.strengths.last()?;
            let what = match &product.contains {
                Some(ingredient) => Counting::Ingredient(ingredient),
                None => Counting::Product(part.product?),
            };
            let place = u8::try_from(product.strengths.len() - 1).ok()?;
            let most = SprayPart { strength: Some(place), rate: None, ..part.clone() };
            let put = grove.amount_in(spray, part, tree, what, plan)?;
            let most = grove.amount_in(spray, &most, tree, what, plan)?;
            let keeps = Unit::none().threshold_of_amount(most).is_kept_by(put, true);
            let name = product.label.to_string();
            let limit = strongest.amount.written.to_string();
            (!keeps).then(|| self.language.say("logged.too-strong", &[("product", &name), ("limit", &limit)]))
        });
        words.collect()
    }

    /// Returns which products are not classed for a grove that is certified.
    fn uncertified(&self, spray: &SprayRow) -> Vec<String> {
        let plan = &self.read.book_plan;
        let is_organic = self.read.grove.certified == Some(Class::Organic);
        let ids = spray.parts.iter().filter_map(|part| part.product).filter(|_| is_organic);
        let strange = ids.map(|id| &plan[id]).filter(|product| product.class != Some(Class::Organic));
        let words =
            strange.map(|product| self.language.say("logged.uncertified", &[("product", &product.label)]));
        words.collect()
    }

    /// Returns what should be looked at twice: the same product on the same trees, by the same sheet or at the same time.
    fn twice(&self, spray: &SprayRow) -> Vec<String> {
        let trees = spray.trees(&self.before.grove.trees);
        let products: Vec<&str> = spray.parts.iter().map(|part| &*part.word).collect();
        let gone: Vec<usize> = self.gone().into_iter().map(|(line, _)| line).collect();
        let ground = GroveTrees { plan: &self.before.plan, grove: &self.before.grove };
        let mut doubts = Vec::new();
        for row in self.before.grove.log.rows() {
            let line = self.before.sources.place(row.at).line;
            let at_once = row.is_one_with(spray) || (row.start < spray.end && spray.start < row.end);
            let sheet = spray.fields.get("sheet").filter(|sheet| row.fields.get("sheet") == Some(*sheet));
            let same = row.parts.iter().any(|part| products.contains(&&*part.word));
            if gone.contains(&line) || !same || !(at_once || sheet.is_some()) {
                continue;
            }
            let shared = row.trees(&ground.grove.trees);
            let shared: Vec<usize> =
                shared.into_iter().filter(|tree| trees.binary_search(tree).is_ok()).collect();
            if !shared.is_empty() {
                let what = tank_words(row, self.words());
                let (line, shared) = (line.to_string(), ranges(&ground, &shared));
                let words = [("line", &*line), ("what", &what), ("trees", &shared)];
                doubts.push(match sheet {
                    Some(sheet) => {
                        let words = [&words[..], &[("sheet", &**sheet)]].concat();
                        self.language.say("logged.again.sheet", &words)
                    }
                    None => self.language.say("logged.again.time", &words),
                });
            }
        }
        doubts
    }
}

/// Says what rain fell since a spray that is written down later, and what of it before the spray can have dried.
fn rain_on(spray: &SprayRow, (logged, today): (&Opened, &Opened), words: Words<'_>) -> Vec<String> {
    let as_of = logged.as_of.max(today.as_of).to_utc();
    let weather_measures = WeatherMeasures::new(&logged.plan, logged.weather.as_ref(), &logged.site, as_of);
    let rained = rained_on(&logged.plan, &weather_measures, spray);
    let mut said = Vec::new();
    let soon = rained.soon.filter(|(_, (_, most), _)| *most > 0.0);
    if let Some((hours, (least, most), forecast)) = soon {
        let key = if forecast { "logged.rain.soon.forecast" } else { "logged.rain.soon" };
        said.push(words.say(key, &[("rain", &words.depth(least, most)), ("hours", &hours.to_string())]));
    }
    // What fell soon after the spray is told once.
    let told = soon.map_or(0.0, |(_, (_, most), _)| most);
    if let Some((least, most)) = rained.since.filter(|(_, most)| *most > told) {
        said.push(words.say("logged.rain", &[("rain", &words.depth(least, most))]));
    }
    said
}

/// Returns a row with what was used, as the grove says it now: a jug or a tree may leave the grove later.
fn kept_with(row: &NewRow, spray: &SprayRow, read: &Opened) -> NewRow {
    let days = (spray.day(), spray.day());
    let weather = read.weather.as_ref();
    let season = Season { plan: &read.plan, grove: &read.grove, weather, site: &read.site, days };
    row.iter().cloned().chain(season.kept(spray)).collect()
}

/// Leaves of what stands in the way what must be mended: the grove could be opened before, so that it is of the new row.
fn only_errors(unopened: Unopened) -> Unopened {
    match unopened {
        Unopened::Refusal(refusal) => Unopened::Refusal(refusal),
        Unopened::Findings(mut problems, sources) => {
            problems.retain(|problem| problem.finding.level() == Level::Error);
            Unopened::Findings(problems, sources)
        }
    }
}

/// Says what is wrong with a new row as a slip in what was typed, by the flag of its column: the row is in no file yet.
fn slips(unopened: Unopened, log: &str, line: usize) -> Result<Unopened, Refusal> {
    let Unopened::Findings(problems, sources) = unopened else { return Ok(unopened) };
    let slip = |problem: &Problem| {
        let source = sources.get(problem.at.source)?;
        let is_new = *source.name == *log && sources.place(problem.at).line == line;
        let flag = is_new.then(|| column_at(&source.text, problem.at.start as usize))??;
        Some(Refusal::of(said!("--{flag}: {message}", flag, message = problem.message), problem.help.clone()))
    };
    let typed: Vec<Refusal> = problems.iter().filter_map(slip).collect();
    match Refusal::all(typed) {
        Some(refusal) if refusal.also.len() + 1 == problems.iter().count() => Err(refusal),
        Some(_) | None => Ok(Unopened::Findings(problems, sources)),
    }
}

/// Returns the column of a table in which a place stands.
fn column_at(text: &str, at: usize) -> Option<String> {
    let cells = |line: &str| {
        let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(line.as_bytes());
        reader.records().next().and_then(Result::ok)
    };
    let before = text.get(..at)?;
    let row = before.get(before.rfind('\n')? + 1..)?;
    let place = cells(row).map_or(0, |cells| cells.len().saturating_sub(1));
    Some(cells(text.lines().next()?)?.get(place)?.trim().to_string()).filter(|name| !name.is_empty())
}
