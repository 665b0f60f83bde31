//! `compare`: every decision that differs between two rulebooks.

use super::books::{self, Book};
use super::end::{End, Outcome, Refusal};
use super::groves::{self, Asked, Unopened};
use super::terminal::{LineLength, Stream};
use crate::advice::Advisor;
use crate::check;
use crate::measure::Sky;
use crate::plan::Plan;
use crate::problems::{Finding, Problems};
use crate::prove::BUDGET;
use crate::prove::differences::{self, Regions};
use crate::report::comparison::{Compared, TreeChange};
use crate::source::Sources;
use chrono::Utc;
use std::path::{Path, PathBuf};

/// Shows every decision that differs between two rulebooks, proved
#[derive(clap::Args, Debug)]
#[command(arg_required_else_help = true)]
pub struct Compare {
    /// The old rulebook: PATH or REV:PATH
    #[arg(value_name = "OLD")]
    old: String,
    /// The new rulebook: PATH, REV:PATH, or - for standard input
    #[arg(value_name = "NEW")]
    new: String,
    /// Also shows the trees of this grove whose verdict differs
    #[arg(long, value_name = "GROVE")]
    on: Vec<PathBuf>,
    /// The moment for groves, local to them or with an offset [default: now]
    #[arg(long, value_name = "TIME")]
    as_of: Option<String>,
    /// The folder in which overlays may reach for their bases [default: the rulebook's own]
    #[arg(long, value_name = "FOLDER")]
    library: Option<PathBuf>,
    /// What is printed
    #[arg(long, value_name = "FORM", value_enum, default_value_t = Form::Text)]
    format: Form,
    #[command(flatten)]
    pub(super) lines: LineLength,
}

/// The form of a comparison.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
enum Form {
    /// For people.
    Text,
    /// For programs: all regions.
    Json,
    /// For a review comment.
    Markdown,
}

impl Compare {
    /// Runs the command.
    pub fn run(&self) -> Outcome {
        let mut sources = Sources::default();
        let mut in_the_way = Problems::default();
        let mut plans: Vec<Plan> = Vec::new();
        for (side, argument) in [("old", &self.old), ("new", &self.new)] {
            let book = Book::of(argument)?;
            let loaded = books::load(&book, self.library.as_deref(), &mut sources);
            let (plan, problems) = loaded.map_err(|refusal| Refusal {
                message: format!("the {side} rulebook: {}", refusal.message),
                ..refusal
            })?;
            let mut found = problems;
            found.retain(|it| {
                check::is_of_text(it.finding)
                    || matches!(it.finding, Finding::TableOverlap | Finding::RankCircle)
            });
            if found.any_error() || plan.is_none() {
                let width = Stream::Diagnostics.width(self.lines.width);
                let words = format!("the {side} rulebook cannot be read:\n");
                Stream::Diagnostics.print(&words)?;
                Stream::Diagnostics.in_the_way(&found, &sources, width)?;
                in_the_way.extend(found);
            }
            plans.extend(plan);
        }
        let ([old, new], false) = (&plans[..], in_the_way.any_error()) else { return Ok(End::Unreadable) };
        let regions = if self.format == Form::Json { Regions::All } else { Regions::Some };
        let comparison = differences::compare(old, new, BUDGET, regions);
        let (mut groves, mut trees) = (Vec::new(), Vec::new());
        for grove in &self.on {
            match self.on_grove(grove) {
                Ok((title, count, changes)) => {
                    groves.push((title, count));
                    trees.extend(changes);
                }
                Err(unopened) => return unopened.end(self.lines.width),
            }
        }
        let compared = Compared {
            comparison: &comparison,
            plans: [old, new],
            names: [&self.old, &self.new],
            sources: &sources,
            groves: &groves,
            trees: &trees,
        };
        let text = match self.format {
            Form::Text => compared.text(Stream::Results.width(self.lines.width)),
            Form::Json => format!("{:#}\n", compared.json()),
            Form::Markdown => compared.markdown(),
        };
        let differs = !comparison.same || comparison.items.iter().any(|it| it.in_meaning());
        Stream::Results.print(&text).map(|()| if differs { End::Found } else { End::Done })
    }

    /// Advises a grove under both rulebooks: returns its name, how many trees it has, and those that differ.
    fn on_grove(&self, grove: &Path) -> Result<(String, usize, Vec<TreeChange>), Unopened> {
        let (title, was) = self.verdicts(grove, &self.old)?;
        let (_, now) = self.verdicts(grove, &self.new)?;
        let count = was.len();
        let changes = was.into_iter().zip(now).filter(|((_, was), (_, now))| was != now);
        let changes =
            changes.map(|((tree, was), (_, now))| TreeChange { grove: title.clone(), tree, was, now });
        Ok((title.clone(), count, changes.collect()))
    }

    fn verdicts(&self, grove: &Path, by: &str) -> Result<(String, Vec<(String, String)>), Unopened> {
        let asked =
            Asked { by: Some(by.to_owned()), library: self.library.clone(), as_of: self.as_of.clone() };
        let read = groves::open(grove, &asked)?;
        let sky = Sky::new(&read.plan, read.weather.as_ref(), &read.site, read.as_of.with_timezone(&Utc));
        let advisor = Advisor::new(&read.plan, &read.grove, &sky, read.as_of);
        let trees = &read.grove.trees;
        let words = |tree: usize| {
            let advice = advisor.tree(tree);
            let case = advisor.case_of(&advice);
            case.map_or_else(String::new, |case| case.decision.verdict.words(&read.plan))
        };
        let all = (0..trees.len()).map(|tree| (trees.name(tree).to_owned(), words(tree))).collect();
        Ok((read.grove.title.to_string(), all))
    }
}
