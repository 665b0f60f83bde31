//! `weather`: takes in what stations, spreadsheets and weather services write, or a forecast in words.

use super::end::{CommandOutcome, End, Refusal};
use super::groves::{self, Purpose};
use super::storing::{Storing, nothing_stored};
use super::terminal::Stream;
use super::weather_file::{GroveWeather, usable};
use super::weather_flags::FormFlags;
use super::weather_input::Input;
use crate::grove::KnownForm;
use crate::intake::{FormAnswers, HourBounds, Intake, IntakePlace, Topic};
use crate::report::taken::{TakenFile, TakenWords};
use crate::report::{Lines, TakenIn, schemas, taken_json};
use crate::weather::{AddedWeather, Clash, Column, NewHour};
use crate::words::Words;
use chrono::{DateTime, Duration, DurationRound, Utc};
use std::path::{Path, PathBuf};

/// Takes in weather from the file of a station, spreadsheet or weather service, or a forecast in words
#[derive(clap::Args, Debug)]
#[command(
    override_usage = "bloomward weather [OPTIONS] [GROVE] FILE…\n       bloomward weather [OPTIONS] [GROVE] WORDS",
    after_help = "FILE is what a station, a logger, a spreadsheet (as CSV) or a weather service wrote: hourly and raw grid \
                  forecasts and observations of the US National Weather Service, METAR, ISD-Lite, Global Hourly, and others. \
                  Nothing is fetched; fetch with what your system has, then take it in:\n\n  \
                  curl -o fetched.json https://…\n  bloomward weather my-grove fetched.json\n\n\
                  WORDS is a forecast as it is said; what it does not say stays unknown:\n\n  \
                  bloomward weather my-grove \"tonight 61 calm dry; wed 80 rain 2pm-6pm 0.6 in; thu low 63\"\n\n\
                  What only you can know is asked once and kept in grove.yaml; a flag answers it too. What was measured is \
                  never overwritten, hours that an old forecast told are never taken for measured."
)]
pub struct TakeWeather {
    /// The grove (a folder, or its grove.yaml; the current folder if left out), and files or words; `-` is standard input
    #[arg(value_name = "GROVE FILE")]
    words: Vec<String>,
    #[command(flatten)]
    flags: FormFlags,
    /// Takes measured values that differ from those in the file in their place
    #[arg(long)]
    replace: bool,
    #[command(flatten)]
    pub(super) storing: Storing,
}

/// A file with what was understood of it.
struct UnderstoodFile {
    name: String,
    intake: Intake,
    answers: FormAnswers,
}

impl TakeWeather {
    /// Runs the command.
    pub fn run(&self) -> CommandOutcome {
        if self.storing.schema {
            return Stream::Results.print(schemas::WEATHER).map(|()| End::Done);
        }
        let language = self.storing.language()?;
        let (path, words) = self.grove();
        let mut grove = match GroveWeather::open(&path, self.storing.asked.as_of.as_deref(), self.storing.fix)
        {
            Ok(grove) => grove,
            Err(unopened) => return unopened.end(self.storing.printing.lines.width),
        };
        let inputs = Input::all(words)?;
        if inputs.is_empty() {
            let help = "name one: `bloomward weather my-grove station.csv`, or say the forecast: `bloomward weather my-grove \
                        \"tonight 61 calm dry\"`";
            return Err(Refusal::new("there is no file and no forecast").help(help));
        }
        let plan = crate::plan::Plan::default();
        let shown = path.display().to_string();
        let words = Words { language, speech: grove.speech(), plan: &plan };
        let page_words = TakenWords { words, zone: grove.zone(), grove: &shown };
        let input_is_used = inputs.iter().any(Input::is_standard);
        let mut understood = Vec::new();
        for input in &inputs {
            let given = self.flags.answers()?;
            match self.understand(input, given, &mut grove, (&page_words, input_is_used))? {
                Some(one) => understood.push(one),
                None => return Ok(End::Unreadable),
            }
        }
        let files: Vec<TakenFile<'_>> =
            understood.iter().map(|one| TakenFile { name: &one.name, intake: &one.intake }).collect();
        let open = files.iter().any(|file| file.intake.is_open());
        let mut lines = self.storing.page();
        for file in &files {
            lines.blank();
            page_words.file(&mut lines, *file);
            page_words.questions(&mut lines, *file);
        }
        let taken = TakenIn { files: &files, added: None, stored: None, guide: None, zone: grove.zone() };
        let is_empty = files.iter().all(|file| file.intake.hours.is_empty());
        if open || is_empty {
            self.print(lines, &taken)?;
            nothing_stored(language)?;
            return Ok(if open { End::Unreadable } else { End::Done });
        }
        let mut all: Option<AddedWeather> = None;
        // A table that reaches ahead comes last: what another file measured does not give way to its first hours.
        let reaches_ahead = |one: &&UnderstoodFile| one.intake.issued.is_some() && one.intake.has_measured();
        let (ahead, others): (Vec<_>, Vec<_>) = understood.iter().partition(reaches_ahead);
        for one in others.into_iter().chain(ahead) {
            let added = self.add(one, &mut grove)?;
            match &mut all {
                Some(before) => before.then(added),
                None => all = Some(added),
            }
        }
        let Some(added) = all else { return Ok(End::Done) };
        page_words.added(&mut lines, grove.shown(), &added, grove.reach());
        let key = if self.replace { "into.clash.replaced" } else { "into.clash.words" };
        page_words.clashes(&mut lines, &added, key);
        let taken = TakenIn { added: Some(&added), ..taken };
        if self.storing.dry_run {
            lines.text(0, &words.say("into.dry-run", &[]));
            self.print(lines, &taken)?;
            return Ok(End::Done);
        }
        grove.store(&added, &kept(&understood, grove.forms()))?;
        let read = groves::open_for(&path, &self.storing.asked, Purpose::Reading);
        let guide = read.as_ref().ok().map(|read| usable(&read.plan, read.weather.as_ref()));
        match &guide {
            Some((uses, lacks)) => page_guide(&mut lines, &page_words, uses, lacks),
            None => {
                let text = words.say("into.guide.unread", &[("grove", &shown)]);
                lines.field(&words.say("into.guide", &[]), &text);
            }
        }
        lines.text(0, &words.say("into.stored", &[("file", grove.shown())]));
        lines.text(0, &words.say("into.then", &[("grove", &shown)]));
        let guide = guide.as_ref().map(|(uses, lacks)| (&uses[..], &lacks[..]));
        self.print(lines, &TakenIn { stored: Some(grove.shown()), guide, ..taken })?;
        Ok(End::Done)
    }

    /// Takes the grove from the words: the first one, where it is a folder or a `grove.yaml`.
    fn grove(&self) -> (PathBuf, &[String]) {
        match self.words.split_first() {
            Some((first, rest)) if Path::new(first).is_dir() || first.ends_with(".yaml") => {
                (first.into(), rest)
            }
            _ => (PathBuf::from("."), &self.words),
        }
    }

    /// Reads one file, and asks what must be asked, if somebody can answer; nothing where it cannot be read, which is said.
    fn understand(
        &self,
        input: &Input,
        given: FormAnswers,
        grove: &mut GroveWeather,
        (words, input_is_used): (&TakenWords<'_>, bool),
    ) -> Result<Option<UnderstoodFile>, Refusal> {
        let (id, text) = grove.add_source(input)?;
        let mut answers = FormAnswers::default();
        let read = |answers: &FormAnswers| {
            let place = IntakePlace { site: &grove.site, as_of: grove.as_of(), answers };
            if input.is_words() {
                return crate::intake::told(id, &text, &place, &grove.told_units());
            }
            let mut intake = crate::intake::read(id, &text, &place)?;
            intake.settle_issue(&place);
            Ok(intake)
        };
        if !input.is_words()
            && let Ok(Some(kind)) = crate::intake::kind_of_file(id, &text)
        {
            answers = known(&kind, grove.forms());
        }
        for (topic, answer) in given.iter() {
            answers.give(topic, answer);
        }
        let mut intake = read(&answers);
        if self.storing.takes_proposals()
            && let Ok(first) = &intake
        {
            let proposed = first.questions.iter().filter(|question| question.is_needed);
            for (topic, answer) in proposed.filter_map(|question| Some((question.topic, question.proposed?)))
            {
                answers.give(topic, answer);
            }
            intake = read(&answers);
        }
        let can_ask = self.storing.can_ask(input_is_used);
        while let Ok(open) = &intake
            && can_ask
            && open.is_open()
        {
            let Some((topic, answer)) = super::weather_flags::asked_at_terminal(open, words)? else { break };
            answers.give(topic, &answer);
            intake = read(&answers);
        }
        match intake {
            Ok(intake) => Ok(Some(UnderstoodFile { name: input.name(), intake, answers })),
            Err(problem) => {
                let width = Stream::Diagnostics.width(self.storing.printing.lines.width);
                let problems = crate::problems::Problems::of(*problem);
                Stream::Diagnostics.in_the_way(&problems, &grove.sources, width)?;
                nothing_stored(self.storing.language()?)?;
                Ok(None)
            }
        }
    }

    fn add(&self, one: &UnderstoodFile, grove: &mut GroveWeather) -> Result<AddedWeather, Refusal> {
        // grove.yaml tells moments to the minute: the same forecast again is the same.
        let issued = one.intake.issued.and_then(|at| at.duration_trunc(Duration::minutes(1)).ok());
        let is_measured =
            |begins: DateTime<Utc>| issued.is_none_or(|issued| one.intake.has_measured() && begins < issued);
        let hours = one.intake.hours.iter().map(|hour| {
            let of = |column: Column| hour.value(column).map(|value| (column, value.from, value.to));
            let values = Column::ALL.iter().filter_map(|(column, _)| of(*column)).collect();
            let total = one.intake.totals.iter().find(|total| total.from == hour.begins);
            let total = total
                .filter(|total| hour.value(Column::Rain) == Some(HourBounds::between(0.0, total.amount.to)));
            let rain_over = total
                .filter(|total| total.amount.one().is_some())
                .map(|total| (total.to - total.from).num_hours());
            NewHour { begins: hour.begins, values, rain_over }
        });
        let (measured, ahead): (Vec<NewHour>, Vec<NewHour>) =
            hours.partition(|hour| is_measured(hour.begins));
        let replaces = self.replace && issued.is_none();
        let clash = if replaces { Clash::Replace } else { Clash::Keep };
        grove.add(&measured, issued.map(|issued| (issued, &ahead[..])), clash)
    }

    fn print(&self, lines: Lines, taken: &TakenIn<'_>) -> Result<(), Refusal> {
        let text = if self.storing.is_text() { lines.finish() } else { taken_json(taken) };
        Stream::Results.print(&text)
    }
}

/// Returns what was answered for an earlier file of the kind.
fn known(kind: &str, forms: &[KnownForm]) -> FormAnswers {
    let mut answers = FormAnswers::default();
    let form = forms.iter().find(|form| form.titles == kind);
    for (word, answer) in form.into_iter().flat_map(|form| &form.answers) {
        if let Some(topic) = Topic::of_word(word) {
            answers.give(topic, answer);
        }
    }
    answers
}

/// Returns how files of a kind are read from now on: what was answered is kept with what was known before.
fn kept(understood: &[UnderstoodFile], before: &[KnownForm]) -> Vec<KnownForm> {
    let mut forms = before.to_vec();
    for one in understood {
        let Some(titles) = one.intake.kind.clone() else { continue };
        let answers: Vec<(String, String)> = one
            .answers
            .iter()
            .filter(|(topic, _)| topic.is_kept())
            .map(|(topic, answer)| (topic.word().to_string(), answer.to_string()))
            .collect();
        if answers.is_empty() {
            continue;
        }
        match forms.iter_mut().find(|form| form.titles == titles) {
            Some(form) => form.answers = answers,
            None => forms.push(KnownForm { titles, answers }),
        }
    }
    forms
}

fn page_guide(lines: &mut Lines, words: &TakenWords<'_>, uses: &[&str], lacks: &[&str]) {
    let say = |key: &str, places: &[(&str, &str)]| words.words.say(key, places);
    let listed = |series: &[&str]| {
        let named: Vec<String> = series.iter().map(|series| say(&format!("series.{series}"), &[])).collect();
        words.words.language.listed("list.and", &named)
    };
    let mut said = Vec::new();
    for (key, series) in [("into.guide.has", uses), ("into.guide.lacks", lacks)] {
        if !series.is_empty() {
            said.push(say(key, &[("list", &listed(series))]));
        }
    }
    if said.is_empty() {
        said.push(say("into.guide.nothing", &[]));
    }
    lines.fields(&say("into.guide", &[]), said.iter().map(String::as_str));
}
