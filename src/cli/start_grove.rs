//! Setting up a grove from a few answers: typed, from a file, or from an earlier run that was stopped.

use super::books::{self, Book};
use super::end::{CommandOutcome, End, Refusal};
use super::examples::{RULEBOOKS as COMPILED, rulebook};
use super::start::{RULEBOOKS, add_rulebook, told, write};
use super::start_weather::NewWeather;
use super::terminal::Stream;
use super::{files, groves};
use crate::check;
use crate::grove::setup::{self, AnswerExample, Answers, Question, Wrong};
use crate::grove::{self, DateOrder, Texts, UnknownNames};
use crate::phrase::said;
use crate::plan::Plan;
use crate::problems::{Problems, nearest};
use crate::report::filling::{filled, paragraph};
use crate::report::map;
use crate::source::Sources;
use crate::words::Language;
use crate::workspace::{MemoryStore, OpenRulebook, open_rulebook};
use chrono::{NaiveDate, Utc};
use chrono_tz::Tz;
use std::collections::BTreeMap;
use std::fs;
use std::io::{self, BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};

/// Where answers are kept inside the folder.
const KEPT: &str = "start.txt";
/// The file that makes a folder a grove.
const GROVE: &str = "grove.yaml";

/// Sets up a grove in a folder.
pub fn run(
    folder: &Path,
    from: Option<&Path>,
    typed: &[String],
    language: Language,
    width: usize,
) -> CommandOutcome {
    if folder.join(GROVE).exists() {
        return there(folder, language, width);
    }
    let kept = folder.join(KEPT);
    let before = if kept.exists() { whole_lines(&kept)? } else { String::new() };
    let given = match from {
        Some(path) => files::read(path, files::RULEBOOK_LIMIT)?,
        None => String::new(),
    };
    let typed = typed.join("\n");
    let mut guide = None;
    for text in [&before, &typed, &given] {
        guide = match guide {
            None => named_guide(text).map(Guide::of).transpose()?,
            known => known,
        };
    }
    let mut setting_up = SettingUp {
        folder,
        kept,
        answers: Answers::default(),
        guide,
        language,
        width,
        asks: typed.is_empty() && from.is_none(),
    };
    setting_up.take(&before, &setting_up.kept.display().to_string(), Keep::Not)?;
    setting_up.take(&typed, "--answer", Keep::Yes)?;
    setting_up.take(&given, &from.map_or_else(String::new, |path| path.display().to_string()), Keep::Yes)?;
    if !setting_up.ask_all()? {
        return setting_up.stopped();
    }
    setting_up.make()
}

/// Reads the kept answers; a last line that broke off while it was written is no answer, and is taken away.
fn whole_lines(kept: &Path) -> Result<String, Refusal> {
    let mut text = files::read(kept, files::RULEBOOK_LIMIT)?;
    let end = text.rfind('\n').map_or(0, |at| at + 1);
    if end < text.len() {
        text.truncate(end);
        files::replace(kept, &text)?;
    }
    Ok(text)
}

/// Tells what is there already; nothing is overwritten.
fn there(folder: &Path, language: Language, width: usize) -> CommandOutcome {
    let shown = folder.display().to_string();
    let asked = groves::Asked { by: None, library: None, as_of: None };
    let opened = match groves::open(folder, &asked) {
        Ok(opened) => opened,
        Err(unopened) => return unopened.end(u16::try_from(width).ok()),
    };
    let say = |key: &str| paragraph(&language.say(key, &[("folder", &shown)]), width);
    let text =
        say("start.there") + "\n" + &map(&opened.grove, language, width) + "\n" + &say("start.there.next");
    Stream::Results.print(&text).map(|()| End::Done)
}

/// Whether answers are written into the folder.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Keep {
    Yes,
    Not,
}

struct SettingUp<'a> {
    folder: &'a Path,
    kept: PathBuf,
    answers: Answers,
    guide: Option<Guide>,
    language: Language,
    width: usize,
    /// Whether whatever is open is asked; else what may be empty is left so.
    asks: bool,
}

impl SettingUp<'_> {
    fn plan(&self) -> Option<&Plan> {
        self.guide.as_ref().map(|guide| &guide.plan)
    }

    /// Takes answers of a text that no earlier one gives; all that is wrong is told in one run.
    fn take(&mut self, text: &str, name: &str, keep: Keep) -> Result<(), Refusal> {
        let (others, wrong) = Answers::read(text, self.plan());
        if let Some((_, first)) = wrong.first() {
            let told = wrong.iter().map(|(line, wrong)| said(wrong, &format!("{name}:{line}: "), self.width));
            Stream::Diagnostics.print(&told.collect::<String>())?;
            let count = wrong.len();
            let message = match count {
                1 => said!("an answer will not do: {first}", first = first.message),
                _ => said!("{count} answers will not do", count),
            };
            return Err(Refusal::new(message).help("change them, then run the command again"));
        }
        let before: Vec<String> = self.answers.lines().collect();
        self.answers.fill(&others);
        if keep == Keep::Yes {
            let new: String = self.answers.lines().skip(before.len()).collect();
            self.keep(&new)?;
        }
        Ok(())
    }

    /// Adds lines to the file of the answers, through to the disk.
    fn keep(&self, lines: &str) -> Result<(), Refusal> {
        if lines.is_empty() {
            return Ok(());
        }
        let unwritten = |error: io::Error| Refusal::unwritten(self.kept.display(), &error);
        fs::create_dir_all(self.folder).map_err(unwritten)?;
        let mut file =
            fs::OpenOptions::new().create(true).append(true).open(&self.kept).map_err(unwritten)?;
        file.write_all(lines.as_bytes()).and_then(|()| file.sync_all()).map_err(unwritten)
    }

    /// Asks until all is answered; false where the answers end before that.
    fn ask_all(&mut self) -> Result<bool, Refusal> {
        let terminal = io::stdin().is_terminal();
        let mut lines = io::stdin().lock();
        let mut begun = false;
        while let Some(question) = self.answers.next(self.plan()) {
            if !self.asks && question.may_be_empty {
                self.give(&question.key, "")?
                    .map_err(|wrong| Refusal::new(wrong.message).help(wrong.help))?;
                continue;
            }
            if !begun {
                self.tell(&self.say("start.begin", &[("file", &self.kept.display().to_string())]))?;
                begun = true;
            }
            self.tell(&self.asked(&question))?;
            if terminal {
                Stream::Diagnostics.print("> ")?;
            }
            let mut line = String::new();
            let read = lines.read_line(&mut line);
            let read =
                read.map_err(|error| Refusal::new(said!("the answer cannot be read: {error}", error)))?;
            if read == 0 {
                return Ok(false);
            }
            if line.trim() == "?" {
                self.tell(&self.explained(&question))?;
                continue;
            }
            if let Err(wrong) = self.give(&question.key, line.trim())? {
                Stream::Diagnostics.print(&said(&wrong, "", self.width))?;
            }
        }
        Ok(true)
    }

    /// Gives an answer, and keeps it where it will do.
    fn give(&mut self, key: &str, value: &str) -> Result<Result<(), Wrong>, Refusal> {
        if key == "guide" && !value.is_empty() {
            match Guide::of(value) {
                Ok(guide) => self.guide = Some(guide),
                Err(refusal) => {
                    let help = refusal.help.unwrap_or_default();
                    return Ok(Err(Wrong { message: refusal.message, help }));
                }
            }
        }
        let weather = self.weather();
        let file = self.answers.get("weather");
        let zone = weather.zone;
        let looked_at = match (key, value, file) {
            ("harvest", day, _) if !day.is_empty() => {
                let order = self.answers.get("units").map_or(DateOrder::MonthFirst, |units| match units {
                    "metric" => DateOrder::DayFirst,
                    _ => DateOrder::MonthFirst,
                });
                let today = Utc::now().with_timezone(&zone).date_naive();
                Ok(grove::day_to_come(day, today, order).map_or(day.to_string(), |date| date.to_string()))
            }
            ("weather", named, _) if !named.is_empty() => weather.named(named),
            ("forecast", "", Some(file)) => weather.has_no_forecast(file).map(|()| String::new()),
            _ => Ok(value.to_string()),
        };
        let value = &match looked_at {
            Ok(value) => value,
            Err(wrong) => return Ok(Err(wrong)),
        };
        let plan = self.guide.as_ref().map(|guide| &guide.plan);
        if let Err(wrong) = self.answers.give(key, value, plan) {
            self.answers.reconsider(key, value);
            return Ok(Err(wrong));
        }
        self.keep(&self.answers.last_line())?;
        Ok(Ok(()))
    }

    fn say(&self, key: &str, places: &[(&str, &str)]) -> String {
        self.language.say(key, places)
    }

    /// Returns a question in the language.
    fn asked(&self, question: &Question) -> String {
        let word = question.product.as_deref().unwrap_or_default();
        let plan = self.plan().map(|plan| plan.in_language(self.language.code()));
        let called = |word: &str| {
            let product = plan.as_ref().and_then(|plan| Some(&plan[plan.product(word)?]));
            product.map_or_else(|| word.to_owned(), |product| product.label.to_string())
        };
        let product = called(word);
        let ingredient = match &question.ingredient {
            Some(counted) => called(counted),
            None => self.say("start.jug.ingredient", &[]),
        };
        let mut said = self.say(question.asks, &[("product", &product), ("ingredient", &ingredient)]);
        let example = match question.example {
            AnswerExample::Typed(typed) => typed.to_owned(),
            AnswerExample::OfProduct(key) => self.say(key, &[("product", &product)]),
        };
        said += " ";
        said += &self.say("start.such", &[("example", &example)]);
        if question.key == "guide" {
            let names: Vec<&str> = guides().collect();
            said += " ";
            said += &self.say("start.guides", &[("names", &names.join(", "))]);
        }
        said
    }

    /// Returns what a question is about, and of the guides what each is for.
    fn explained(&self, question: &Question) -> String {
        let topic = question.key.rsplit(' ').next().filter(|_| question.product.is_some());
        let topic = match (&question.product, topic) {
            (Some(product), Some(topic)) if topic != product => topic,
            (Some(_), _) => "jug",
            (None, _) => &question.key,
        };
        let mut said = self.say(&format!("start.help.{topic}"), &[]);
        if question.key == "guide" {
            for name in guides() {
                let Ok(guide) = Guide::of(name) else { continue };
                let plan = guide.plan.in_language(self.language.code());
                let region = plan.head.region.as_deref().unwrap_or_default();
                said += &format!("\n{name}: {region}");
            }
        }
        said
    }

    fn weather(&self) -> NewWeather<'_> {
        let zone = self.answers.get("timezone").and_then(|zone| zone.parse().ok()).unwrap_or(Tz::UTC);
        NewWeather { folder: self.folder, zone }
    }

    fn tell(&self, text: &str) -> Result<(), Refusal> {
        Stream::Diagnostics.print(&paragraph(text, self.width))
    }

    /// Says how to go on.
    fn stopped(&self) -> CommandOutcome {
        let next = self.answers.next(self.plan()).map_or_else(String::new, |question| question.key);
        let language = match self.language {
            Language::English => String::new(),
            other => format!(" --language {other}", other = other.code()),
        };
        let command = format!("bloomward start {folder}{language}", folder = self.folder.display());
        let file = self.kept.display().to_string();
        let text = self.say("start.stopped", &[("next", &next), ("file", &file), ("command", &command)]);
        Stream::Results.print(&paragraph(&text, self.width)).map(|()| End::Found)
    }

    /// Makes the files, if a grove can be read from them.
    fn make(&self) -> CommandOutcome {
        let Some(guide) = &self.guide else { return self.stopped() };
        let zone = self.answers.get("timezone").and_then(|zone| zone.parse::<Tz>().ok());
        let today = Utc::now().with_timezone(&zone.unwrap_or(Tz::UTC)).date_naive();
        let mut answers = self.answers.clone();
        // One that came out of a file of answers was not looked at yet.
        if let Some(named) = self.answers.get("weather") {
            let found = self
                .weather()
                .named(named)
                .and_then(|found| answers.give("weather", &found, Some(&guide.plan)));
            found.map_err(|wrong| Refusal::new(wrong.message).help(wrong.help))?;
        }
        let files = setup::files(&answers, &guide.plan, &guide.named, today);
        let (problems, sources) = check_files(&files, &guide.plan, today);
        if problems.any_error() {
            let width = Stream::Diagnostics.width(u16::try_from(self.width).ok());
            Stream::Diagnostics.in_the_way(&problems, &sources, width)?;
            let message = said!(
                "no grove comes of these answers, which are kept in `{kept}`",
                kept = self.kept.display()
            );
            return Err(Refusal::new(message).help("change them there, then run the command again"));
        }
        let mut texts = guide.texts.clone();
        // Weather that somebody has put there already stays.
        let new =
            |file: &setup::NewFile| file.path != setup::WEATHER || !self.folder.join(file.path).exists();
        texts.extend(files.into_iter().filter(new).map(|file| (file.path.to_owned(), file.text)));
        // `grove.yaml` comes last: a folder that has it is whole, and one without it can be gone on with.
        let same = |path: &String, text: &String| {
            fs::read_to_string(self.folder.join(path)).is_ok_and(|found| found == *text)
        };
        let mut open: BTreeMap<String, String> = texts
            .iter()
            .filter(|(path, text)| !same(path, text))
            .map(|(p, t)| (p.clone(), t.clone()))
            .collect();
        let last: BTreeMap<String, String> = open.remove_entry(GROVE).into_iter().collect();
        write(self.folder, &open)?;
        write(self.folder, &last)?;
        let shown = self.folder.display().to_string();
        let next = self.say("start.next", &[("folder", &shown)]);
        let mut text = told(self.folder, &texts, &next, self.language, self.width);
        if self.answers.get("weather").is_none() {
            let missing = self.say("start.next.weather", &[("folder", &shown)]);
            text += &paragraph(&missing, self.width);
        }
        Stream::Results.print(&text).map(|()| End::Done)
    }
}

/// Reads a grove out of new files, before they are written.
fn check_files(files: &[setup::NewFile], plan: &Plan, today: NaiveDate) -> (Problems, Sources) {
    let mut sources = Sources::default();
    let mut add = |path: &str| {
        let text = files.iter().find(|file| file.path == path).map_or("", |file| &file.text);
        sources.add(path, text)
    };
    let (yaml, scouting, sprays) = (add("grove.yaml"), add("scouting.csv"), add("sprays.csv"));
    let (outline, mut problems) = grove::outline(yaml, &sources);
    let Some(outline) = outline else { return (problems, sources) };
    let noon = today.and_hms_opt(12, 0, 0).unwrap_or_default().and_utc().with_timezone(&outline.place.zone);
    let known = matches!(outline.sprays, grove::Sprays::File(_));
    let texts = Texts { trees: None, scouting: Some(scouting), sprays: known.then_some(sprays), bloom: None };
    let (_, found) = grove::read(&outline, texts, plan, noon, UnknownNames::Refuse, &sources);
    problems.extend(found);
    (problems, sources)
}

/// A guide that a grove follows.
struct Guide {
    /// The path that `grove.yaml` names.
    named: String,
    /// The files that come along.
    texts: BTreeMap<String, String>,
    plan: Plan,
}

impl Guide {
    /// Finds a guide: one that comes with the program, or a file.
    fn of(said: &str) -> Result<Self, Refusal> {
        let file = format!("{said}.rulebook", said = said.trim_end_matches(".rulebook"));
        if rulebook(&file).is_some() {
            return Self::compiled(&file);
        }
        let path = Path::new(said);
        if path.is_file() {
            let mut sources = Sources::default();
            let OpenRulebook { plan, problems } = books::load(&Book::of(said)?, None, &mut sources)?;
            let whole = path.canonicalize().unwrap_or_else(|_| path.to_owned());
            let named = whole.to_string_lossy().into_owned();
            return Self::checked(said, named, BTreeMap::new(), plan, &problems);
        }
        let refusal = Refusal::new(said!("there is no guide `{guide}`", guide = said));
        Err(match nearest(said, guides()) {
            Some(near) => refusal.help(said!("did you mean `{near}`?", near)),
            None => refusal.help(said!(
                "there are {guides}; or name a file",
                guides = guides().collect::<Vec<_>>().join(", ")
            )),
        })
    }

    fn compiled(file: &str) -> Result<Self, Refusal> {
        let mut texts = BTreeMap::new();
        add_rulebook(file, &mut texts);
        let store =
            COMPILED.iter().fold(MemoryStore::default(), |store, (path, text)| store.with(path, *text));
        let OpenRulebook { plan, problems } = open_rulebook(&store, file, None, &mut Sources::default())?;
        Self::checked(file, format!("{RULEBOOKS}{file}"), texts, plan, &problems)
    }

    fn checked(
        said: &str,
        named: String,
        texts: BTreeMap<String, String>,
        plan: Option<Plan>,
        problems: &Problems,
    ) -> Result<Self, Refusal> {
        let sound = plan.filter(|_| !problems.iter().any(|problem| check::is_of_text(problem.finding)));
        match sound {
            Some(plan) => Ok(Self { named, texts, plan }),
            None => Err(Refusal::new(said!("the guide `{guide}` has errors at its text", guide = said))
                .help(said!("`bloomward proofread {guide}` tells them", guide = said))),
        }
    }
}

/// Returns the names of the guides that come with the program.
fn guides() -> impl Iterator<Item = &'static str> {
    let books = COMPILED.iter().filter(|(path, _)| !path.contains('/'));
    books.filter_map(|(path, _)| path.strip_suffix(".rulebook"))
}

/// Returns the guide that answers name.
fn named_guide(text: &str) -> Option<&str> {
    let mut guides = text.lines().filter_map(|line| line.trim().strip_prefix("guide:")).map(str::trim);
    guides.rfind(|guide| !guide.is_empty())
}

/// Returns what is wrong with an answer as text.
fn said(wrong: &Wrong, place: &str, width: usize) -> String {
    let language = super::reader::language();
    let mut lines = filled(&format!("{place}{}", language.phrase(&wrong.message)), "", "  ", width);
    if !wrong.help.is_empty() {
        lines.extend(filled(
            &language.say("refusal.help", &[("help", &language.phrase(&wrong.help))]),
            "  ",
            "    ",
            width,
        ));
    }
    lines.join("\n") + "\n"
}
