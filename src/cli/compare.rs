//! `compare`: every decision that differs between two rulebooks.

use super::books::{self, Book, OnOtherBase};
use super::end::{CommandOutcome, End, Refusal};
use super::groves::{self, Asked, Unopened};
use super::terminal::{LineLength, Stream, refusal_text};
use crate::check;
use crate::measure::{Extent, Gauged, Reading};
use crate::plan::{Place, Plan};
use crate::problems::{Finding, Problems};
use crate::prove::BUDGET;
use crate::prove::compare::direction::{Figures, InFigures};
use crate::prove::compare::{self, Comparison, Region, Regions};
use crate::report::comparison::{BuiltOn, Compared, TreeChange, TreeDifference};
use crate::source::Sources;
use crate::workspace::OpenRulebook;
use std::path::{Path, PathBuf};

/// Shows every decision that differs between two rulebooks, proved
#[derive(clap::Args, Debug)]
#[command(arg_required_else_help = true)]
pub struct Compare {
    /// The old rulebook: PATH or REV:PATH
    #[arg(value_name = "OLD", required_unless_present = "git")]
    old: Option<String>,
    /// The new rulebook: PATH, REV:PATH, or - for standard input
    #[arg(value_name = "NEW", required_unless_present = "git")]
    new: Option<String>,
    /// What git gives to an external diff driver: the path, and the old and the new copy, each with its hash and mode
    #[arg(long, num_args = 7.., value_names = ["PATH", "OLD", "HASH", "MODE", "NEW", "HASH", "MODE"],
        allow_hyphen_values = true, conflicts_with_all = ["old", "new", "on", "as_of"])]
    git: Vec<String>,
    /// Also shows the trees of this grove whose verdict differs
    #[arg(long, value_name = "GROVE")]
    on: Vec<PathBuf>,
    /// The moment for groves, local to them or with an offset [default: now]
    #[arg(long, value_name = "TIME")]
    as_of: Option<String>,
    /// A rulebook that builds on it and changes with it: told in the same page
    #[arg(long, value_name = "BOOK", conflicts_with = "git")]
    also: Vec<String>,
    /// The folder in which overlays may reach for their bases [default: the rulebook's own]
    #[arg(long, value_name = "FOLDER")]
    library: Option<PathBuf>,
    /// What is printed
    #[arg(long, value_name = "FORM", value_enum, default_value_t = ComparisonForm::Text)]
    format: ComparisonForm,
    #[command(flatten)]
    pub(super) lines: LineLength,
}

/// Open hours of a tree's spray, as instants.
type OpenHours = Vec<(i64, i64)>;

/// The form of a comparison.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
enum ComparisonForm {
    /// For people.
    Text,
    /// For programs: all regions.
    Json,
    /// For a review comment.
    Markdown,
}

impl Compare {
    /// Runs the command.
    pub fn run(&self) -> CommandOutcome {
        if let [path, old, _, _, new, ..] = &self.git[..] {
            return self.run_by_git(path, old, new);
        }
        let names = [self.old.as_deref().unwrap_or_default(), self.new.as_deref().unwrap_or_default()];
        let books = [Book::of(names[0])?, Book::of(names[1])?];
        self.compare(names, &books)
    }

    /// Compares two copies as git asks for: whatever comes out, git is told that all went well, and goes on.
    fn run_by_git(&self, path: &str, old: &str, new: &str) -> CommandOutcome {
        const NOTHING: &str = "/dev/null";
        if old == NOTHING || new == NOTHING {
            let words = if old == NOTHING { "is new" } else { "is deleted" };
            return Stream::Results.print(&format!("{path} {words}.\n")).map(|()| End::Done);
        }
        let copy = |copy: &str| Book::Copy { path: path.to_owned(), copy: PathBuf::from(copy) };
        match self.compare([&format!("{path} as it was"), path], &[copy(old), copy(new)]) {
            Ok(_) => {}
            Err(refusal) => {
                let width = Stream::Results.width(self.lines.width);
                Stream::Results.print(&refusal_text(&refusal, width))?;
            }
        }
        Stream::Results.print("\n").map(|()| End::Done)
    }

    fn compare(&self, names: [&str; 2], books: &[Book; 2]) -> CommandOutcome {
        let mut sources = Sources::default();
        let mut in_the_way = Problems::default();
        let mut plans: Vec<Plan> = Vec::new();
        for (side, book) in ["old", "new"].into_iter().zip(books) {
            let loaded = books::load(book, self.library.as_deref(), &mut sources);
            let OpenRulebook { plan, problems } = loaded.map_err(|refusal| Refusal {
                message: format!("the {side} rulebook: {}", refusal.message).into(),
                ..refusal
            })?;
            let mut found = problems;
            found.retain(|it| {
                check::is_of_text(it.finding)
                    || matches!(it.finding, Finding::TableOverlap | Finding::RankCircle)
            });
            if found.any_error() || plan.is_none() {
                // Among what git prints it stands where the decisions would.
                let stream = if self.git.is_empty() { Stream::Diagnostics } else { Stream::Results };
                let width = stream.width(self.lines.width);
                stream.print(&format!("the {side} rulebook cannot be read:\n"))?;
                stream.in_the_way(&found, &sources, width)?;
                in_the_way.extend(found);
            }
            plans.extend(plan);
        }
        let ([old, new], false) = (&plans[..], in_the_way.any_error()) else { return Ok(End::Unreadable) };
        let regions = if self.format == ComparisonForm::Json { Regions::All } else { Regions::Some };
        let comparison = compare::compare(old, new, BUDGET, regions);
        let built = self.built(books)?;
        let (mut groves, mut trees) = (Vec::new(), Vec::new());
        for grove in &self.on {
            match self.on_grove(grove, names, &comparison) {
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
            names,
            sources: &sources,
            built: &built,
            groves: &groves,
            trees: &trees,
        };
        let text = match self.format {
            ComparisonForm::Text => compared.text(Stream::Results.width(self.lines.width)),
            ComparisonForm::Json => compared.json(),
            ComparisonForm::Markdown => compared.markdown(),
        };
        Stream::Results.print(&text).map(|()| if comparison.same { End::Done } else { End::Found })
    }

    /// Compares each rulebook that builds on the new one with itself on the old one.
    fn built(&self, books: &[Book; 2]) -> Result<Vec<BuiltOn>, Refusal> {
        let library = self.library.as_deref();
        let one = |name: &String| {
            let sides = [books[0].beside(name)?, books[1].beside(name)?];
            let mut sources = Sources::default();
            let was = match books {
                [Book::File(instead), Book::File(named)] => {
                    OnOtherBase { book: &sides[0], named, instead }.load(library, &mut sources)?
                }
                _ => books::load(&sides[0], library, &mut sources)?,
            };
            let now = books::load(&sides[1], library, &mut sources)?;
            let (Some(old), Some(new)) = (&was.plan, &now.plan) else {
                let message = format!("`{name}` cannot be read on both");
                return Err(
                    Refusal::new(message).help(format!("proofread it alone: bloomward proofread {name}"))
                );
            };
            let comparison = compare::compare(old, new, BUDGET, Regions::Some);
            Ok(BuiltOn { name: name.clone(), comparison })
        };
        self.also.iter().map(one).collect()
    }

    /// Advises a grove under both rulebooks: returns its name, how many trees it has, and those that differ.
    fn on_grove(
        &self,
        grove: &Path,
        names: [&str; 2],
        comparison: &Comparison,
    ) -> Result<(String, usize, Vec<TreeChange>), Unopened> {
        let opened = |by: &str| {
            let asked =
                Asked { by: Some(by.to_owned()), library: self.library.clone(), as_of: self.as_of.clone() };
            groves::open(grove, &asked)
        };
        let read = [opened(names[0])?, opened(names[1])?];
        let [was, now] = &read;
        let skies = [was.weather_measures(), now.weather_measures()];
        let advisors = [was.advisor(&skies[0]), now.advisor(&skies[1])];
        // A strength is what it amounts to: the same name may stand for more, and another for the same.
        let figures = Figures::of([&was.plan, &now.plan]);
        let said = |book: usize, tree: usize| -> Option<(InFigures, OpenHours)> {
            let advice = advisors[book].tree(tree);
            let case = advisors[book].case_of(&advice)?;
            let open =
                advice.hours.windows.iter().map(|it| (it.from.timestamp(), it.to.timestamp())).collect();
            Some((figures.in_figures(book, &read[book].plan, &case.decision.verdict), open))
        };
        let count = was.grove.trees.len().min(now.grove.trees.len());
        let title = was.grove.title.to_string();
        let mut changes = Vec::new();
        for tree in 0..count {
            let (Some((was_said, was_open)), Some((now_says, open))) = (said(0, tree), said(1, tree)) else {
                continue;
            };
            let difference = match was_said.is_same(&now_says) {
                true if was_open == open => continue,
                true => TreeDifference::Hours,
                false if now_says.must_look() => TreeDifference::MustLook,
                false => TreeDifference::Verdict,
            };
            let gauged = advisors.each_ref().map(|advisor| advisor.gauge(tree));
            let can_be = |book: usize, name: &str| readings(&read[book].plan, &gauged[book], name);
            let in_it = |(at, region): (usize, &Region)| region.has(&can_be).then_some(at);
            changes.push(TreeChange {
                grove: title.clone(),
                tree: was.grove.trees.name(tree).to_owned(),
                difference,
                was: was_said.words,
                now: now_says.words,
                regions: comparison.regions.iter().enumerate().filter_map(in_it).collect(),
            });
        }
        Ok((title, count, changes))
    }
}

/// Returns what a name can be: once, or once for each group of panicles.
fn readings(plan: &Plan, gauged: &Gauged, name: &str) -> Vec<Extent> {
    let Some((id, of)) = plan.named().find(|(_, of)| *of.word == *name) else { return Vec::new() };
    let extent = |names: &[Reading]| names.get(id.index()).map(|reading| reading.extent);
    if of.scope == Place::Panicles {
        return gauged.groups.iter().filter_map(|group| extent(&group.names)).collect();
    }
    extent(&gauged.names).into_iter().collect()
}
