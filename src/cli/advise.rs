//! `advise`: the page for today.

use super::end::{CommandOutcome, End, Refusal};
use super::groves::Opened;
use super::morning::{Morning, MorningAsked, morning};
use super::papers::Papers;
use super::terminal::{Stream, read_on};
use crate::advice::{Advisor, keys_without_rows};
use crate::explain::Values;
use crate::grove::{UnitSystem, place_of};
use crate::measure::WeatherMeasures;
use crate::phrase::{Phrase, said};
use crate::problems::{Problems, nearest};
use crate::report::{Crew, GroveGround, GroveTrees, Heading, morning_paper, page, schemas, write_advice};
use crate::words::{Language, Scene, Speech, Words};
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use std::io::{self, Write};

/// Prints the page for today: groups of trees with one decision, each with its reasons
#[derive(clap::Args, Debug)]
pub struct Advise {
    #[command(flatten)]
    wanted: MorningAsked,
    /// Names the trees within reach of drift for which the product is not allowed
    #[arg(long, value_name = "LENGTH", default_value = "30 ft")]
    drift: String,
    /// Prints the long page: each group of trees with its reasons, sources and what would change it
    #[arg(long)]
    long: bool,
    /// Tells line by line what is wrong in the files of the grove
    #[arg(long)]
    data: bool,
    #[command(flatten)]
    pub(super) papers: Papers,
}

/// Which trees a page speaks of.
#[derive(clap::Args, Debug)]
pub struct Chosen {
    /// Only these trees: D05, A01-A15, "row a", a cultivar, as in notes
    #[arg(long, value_name = "TREES", value_delimiter = ',')]
    tree: Vec<String>,
    /// Only the trees of these blocks
    #[arg(long, value_name = "BLOCK", value_delimiter = ',')]
    block: Vec<String>,
}

impl Chosen {
    /// Returns the numbers of the chosen trees, in the grove's order.
    pub fn of(&self, read: &Opened) -> Result<Vec<usize>, Refusal> {
        let trees = &read.grove.trees;
        let named: Vec<Vec<usize>> =
            self.tree.iter().map(|name| trees_of(read, name)).collect::<Result<_, Refusal>>()?;
        for block in &self.block {
            if !read.grove.blocks.iter().any(|known| *known.name == **block) {
                let known = read.grove.blocks.iter().map(|block| &*block.name);
                let help = match nearest(block, known.clone()) {
                    Some(near) => said!("did you mean `{near}`?", near),
                    None => said!("there are {known}", known = known.collect::<Vec<_>>().join(", ")),
                };
                return Err(Refusal::new(said!("there is no block `{block}`", block)).help(help));
            }
        }
        let in_block = |tree: usize| {
            let block = read.grove.block_of(tree).map(|block| &*block.name);
            self.block.iter().any(|wanted| Some(&**wanted) == block)
        };
        let wanted = |tree: &usize| {
            (self.tree.is_empty() && self.block.is_empty())
                || named.iter().any(|those| those.contains(tree))
                || in_block(*tree)
        };
        Ok((0..trees.len()).filter(wanted).collect())
    }
}

/// Finds trees by words of notes.
fn trees_of(read: &Opened, words: &str) -> Result<Vec<usize>, Refusal> {
    if let Some(tree) = read.grove.trees.find(words) {
        return Ok(vec![tree]);
    }
    place_of(words, &read.grove).map(|place| place.trees).map_err(|why| no_tree(read, words, why))
}

/// Finds a tree by its name, or by words of notes that name one tree.
pub fn tree_of(read: &Opened, name: &str) -> Result<usize, Refusal> {
    match &trees_of(read, name)?[..] {
        [tree] => Ok(*tree),
        trees => {
            let first = trees.first().map_or("", |tree| read.grove.trees.name(*tree));
            let message =
                said!("`{name}` is {trees} trees, and this page is of one", name, trees = trees.len());
            Err(Refusal::new(message).help(said!("name one of them: `{first}`", first)))
        }
    }
}

fn no_tree(read: &Opened, name: &str, (message, help): (Phrase, Option<Phrase>)) -> Refusal {
    let trees = &read.grove.trees;
    match nearest(name, (0..trees.len().min(10_000)).map(|tree| trees.name(tree))) {
        Some(near) => {
            Refusal::new(said!("there is no tree `{name}` in {read}", name, read = read.grove.title))
                .help(said!("did you mean `{near}`?", near))
        }
        None => {
            Refusal::new(message).help(help.unwrap_or("the trees are those of `trees` in grove.yaml".into()))
        }
    }
}

impl Advise {
    /// Runs the command.
    pub fn run(&self) -> CommandOutcome {
        if self.papers.schema {
            return Stream::Results.print(schemas::ADVICE).map(|()| End::Done);
        }
        let language = self.papers.language.chosen()?;
        self.papers.possible()?;
        let is_json = self.papers.is_json();
        let read = match self.wanted.open(if is_json { Language::English } else { language }) {
            Ok(read) => read,
            Err(unopened) => return unopened.end(self.papers.lines.width),
        };
        let drift = length(&self.drift)?;
        let chosen = self.wanted.trees(&read)?;
        if is_json {
            let weather_measures = read.weather_measures();
            let advisor = read.advisor(&weather_measures).looking_ahead();
            return json(&read, &weather_measures, &advisor, &chosen, None);
        }
        if self.long && self.papers.is_text() {
            let width = Stream::Results.width(self.papers.lines.width);
            let text = morning(&read, (&chosen, language), drift, |morning| {
                let of = (&morning.day, morning.groups, &chosen[..]);
                page::page(morning.scene, morning.facts, morning.ground, morning.advice, of, width)
            });
            return Stream::Results.print(&text).map(|()| End::Done);
        }
        let made = morning(&read, (&chosen, language), drift, |morning| {
            let Morning { scene, facts, ground, advice, .. } = *morning;
            let crew = Crew { scene, facts, ground, advice, day: &morning.day, numbers: &[] };
            let paper = || vec![morning_paper(&crew, morning.groups, &chosen, self.data)];
            self.papers.made(paper, String::new, language, read.grove.units)
        });
        self.papers.print(&made).map(|()| End::Done)
    }
}

/// Reads a length as growers speak it, in metres.
pub fn length(text: &str) -> Result<f64, Refusal> {
    let found = crate::grove::quantity_of(text, crate::units::Dimension::LENGTH);
    found
        .map(|millimetres| millimetres / 1000.0)
        .map_err(|message| Refusal::new(message).help("write `--drift 30 ft`"))
}

/// Returns what was found in the grower's files, and the sprays of the log that broke a label.
pub fn of_data(read: &Opened, language: Language) -> Problems {
    let words = Words { language, speech: Speech::AsWritten, plan: &read.plan };
    words.with_broken_labels(&read.of_data, &read.broken_labels)
}

/// Returns what was left out of the grower's files and what the rulebook's tables do not know of these trees, a
/// sentence each.
pub fn notes(read: &Opened, advisor: &Advisor<'_>, trees: &[usize], language: Language) -> Vec<String> {
    let of_data = of_data(read, language);
    let of_data = of_data
        .iter()
        .map(|note| format!("{}: {}", read.sources.locate(note.at), language.phrase(&note.message)));
    let words = Words { language, speech: Speech::AsWritten, plan: &read.plan };
    let keys = keys_without_rows(advisor, trees);
    let mut keys: Vec<String> =
        keys.iter().map(|key| words.without_row(key, |tree| read.grove.trees.name(tree))).collect();
    keys.sort();
    of_data.chain(keys).collect()
}

/// Returns the errors of meaning of the rulebook, a sentence each.
pub fn book_problems(read: &Opened) -> Vec<String> {
    let errors = read.of_book.iter().filter(|it| it.finding.level() == crate::problems::Level::Error);
    errors.map(|it| format!("{}: {}", read.sources.locate(it.at), it.message)).collect()
}

/// Returns what a page says beside the advice.
pub fn facts<'a>(read: &'a Opened, data: &'a [String], book: &'a [String], drift: f64) -> page::Facts<'a> {
    page::Facts {
        grove: &read.grove.title,
        now: read.now,
        weather_measured_to: local(read, read.weather.as_ref().and_then(|weather| weather.measured_to())),
        forecast_issued: local(read, read.weather.as_ref().and_then(|weather| weather.forecast_issued())),
        data_problems: data,
        rulebook_problems: book,
        drift,
    }
}

fn local(read: &Opened, moment: Option<DateTime<Utc>>) -> Option<DateTime<Tz>> {
    moment.map(|moment| moment.with_timezone(&read.as_of.timezone()))
}

/// Calls a function with all that statements are made from, to be said in a language.
pub fn with_scene<T>(
    read: &Opened,
    (weather_measures, advisor): (&WeatherMeasures<'_>, &Advisor<'_>),
    language: Language,
    f: impl FnOnce(&Scene<'_>, &GroveGround<'_>) -> T,
) -> T {
    let trees = GroveTrees { plan: &read.plan, grove: &read.grove };
    let ground = GroveGround { trees, weather_measures, advisor };
    let speech = match read.grove.units {
        UnitSystem::Us => Speech::Us,
        UnitSystem::Metric => Speech::Metric,
    };
    let scene = Scene {
        plan: &read.plan,
        rules: advisor.rules(),
        inputs: advisor.inputs(),
        sources: &read.sources,
        origins: &ground,
        language,
        speech,
        today: read.as_of.date_naive(),
    };
    f(&scene, &ground)
}

/// Writes the JSON form of the chosen trees, tree by tree.
pub fn json(
    read: &Opened,
    weather_measures: &WeatherMeasures<'_>,
    advisor: &Advisor<'_>,
    chosen: &[usize],
    single: Option<usize>,
) -> CommandOutcome {
    let mut out = io::BufWriter::with_capacity(1 << 16, io::stdout().lock());
    let notes = notes(read, advisor, chosen, Language::English);
    let values: Vec<_> = advisor.grove_values().map(|(name, reading)| (name, reading.clone())).collect();
    let written = with_scene(read, (weather_measures, advisor), Language::English, |scene, ground| {
        let today = read.as_of.date_naive();
        let heading = Heading {
            file: &read.book,
            in_force: read.plan.head.in_force.is_none_or(|(from, to)| from <= today && today <= to),
            grove: &read.grove.title,
            as_of: read.as_of,
            values: &values,
            weather_measured_to: local(read, read.weather.as_ref().and_then(|weather| weather.measured_to())),
            forecast_issued: local(read, read.weather.as_ref().and_then(|weather| weather.forecast_issued())),
            notes: &notes,
        };
        let own = single.map(|tree| Values::of_tree(tree, &advisor.gauge(tree)));
        write_advice(&mut out, (scene, ground), &heading, chosen, own.as_ref())
    });
    read_on(written.and_then(|()| out.flush())).map(|()| End::Done)
}
