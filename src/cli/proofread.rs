//! `proofread`: everything that is wrong or doubtful at the text of rulebooks.

use super::books::{self, Book};
use super::end::{CommandOutcome, End, Refusal};
use super::terminal::{LineLength, Stream, refusal_text};
use crate::check;
use crate::decide::{Certified, Rules};
use crate::plan::Plan;
use crate::problems::{Finding, Level, Problem, Problems, nearest};
use crate::prove;
use crate::prove::examples;
use crate::prove::tightens::tightens;
use crate::report::filling::{filled, paragraph};
use crate::report::sarif::sarif;
use crate::report::{findings, findings_explained, findings_json, schemas, tightening};
use crate::source::Sources;
use crate::workspace::{OpenRulebook, take_example_hours, translation_findings};
use std::collections::BTreeSet;
use std::path::PathBuf;

/// Finds what is wrong or doubtful in a rulebook, all in one run
#[derive(clap::Args, Debug)]
#[command(arg_required_else_help = true)]
pub struct Proofread {
    /// The rulebooks: PATH, REV:PATH, or - for standard input
    #[arg(value_name = "BOOK", required_unless_present_any = ["explain", "schema"])]
    books: Vec<String>,
    /// The folder in which overlays may reach for their bases [default: the rulebook's own]
    #[arg(long, value_name = "FOLDER")]
    library: Option<PathBuf>,
    /// Says what a kind of finding means, with an example
    #[arg(long, value_name = "FINDING", conflicts_with = "books")]
    explain: Option<String>,
    /// Prints the JSON Schema of the JSON form
    #[arg(long, conflicts_with_all = ["books", "explain"])]
    schema: bool,
    /// What is printed: text for people, JSON for programs, SARIF for tools that review code
    #[arg(long, value_name = "FORM", value_enum, default_value_t = FindingsForm::Text)]
    format: FindingsForm,
    #[command(flatten)]
    pub(super) lines: LineLength,
}

/// The form of findings.
#[derive(clap::ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
enum FindingsForm {
    /// For people.
    Text,
    /// For programs.
    Json,
    /// SARIF 2.1.0.
    Sarif,
}

impl Proofread {
    /// Runs the command.
    pub fn run(&self) -> CommandOutcome {
        if self.schema {
            return Stream::Results.print(schemas::FINDINGS).map(|()| End::Done);
        }
        let width = Stream::Results.width(self.lines.width);
        if let Some(code) = &self.explain {
            let text = findings_explained::text(finding(code)?, width);
            return Stream::Results.print(&text).map(|()| End::Done);
        }
        self.proofread(width)
    }

    fn proofread(&self, width: usize) -> CommandOutcome {
        let mut end = End::Done;
        let mut found: Vec<(Problems, Sources)> = Vec::new();
        let mut said = BTreeSet::new();
        let mut proved: Vec<&str> = Vec::new();
        for argument in &self.books {
            let mut sources = Sources::default();
            let library = self.library.as_deref();
            let loaded = Book::of(argument)
                .and_then(|book| books::load(&book, library, &mut sources).map(|loaded| (book, loaded)));
            match loaded {
                Ok((book, OpenRulebook { plan, mut problems })) => {
                    if let Some(mut plan) = plan {
                        problems.extend(take_example_hours(&book, &mut plan, &mut sources).1);
                        problems.extend(prove::findings(&plan));
                        problems.extend(translation_findings(&plan, &sources));
                        problems.extend(check::left_out(&plan));
                        let is_asked = plan.head.tightens || problems.iter().any(|it| it.edit.is_some());
                        let base = if is_asked { self.base(&plan, argument)? } else { None };
                        if let Some(base) = &base {
                            problems = examples::together(&plan, &blame_the_base(problems, base));
                        }
                        if let Some(base) = base.filter(|_| plan.head.tightens) {
                            let tightening = tightens(&base, &plan, prove::BUDGET);
                            proved.extend(tightening.is_kept().then_some(argument.as_str()));
                            problems.extend(tightening::findings(&plan, &tightening));
                        }
                        problems.sort();
                    }
                    // A base of several rulebooks is proofread once.
                    problems
                        .retain(|it| said.insert((sources.locate(it.at), it.finding, it.message.clone())));
                    if problems.any_error() {
                        end = end.max(End::Found);
                    }
                    found.push((problems, sources));
                }
                Err(refusal) => {
                    let width = Stream::Diagnostics.width(self.lines.width);
                    Stream::Diagnostics.print(&refusal_text(&refusal, width))?;
                    end = End::Unreadable;
                }
            }
        }
        let text = match self.format {
            FindingsForm::Json => findings_json(&found),
            FindingsForm::Sarif => sarif(&found),
            FindingsForm::Text => text(&found, &proved, width),
        };
        Stream::Results.print(&text).map(|()| end)
    }
}

impl Proofread {
    /// Returns the base that a rulebook builds on, as its file names it.
    fn base(&self, plan: &Plan, argument: &str) -> Result<Option<Plan>, Refusal> {
        let Some((base, _)) = &plan.head.builds_on else { return Ok(None) };
        let library = self.library.as_ref().map(|folder| folder.to_string_lossy().into_owned());
        let Ok(path) = check::resolve(argument, base, library.as_deref()) else { return Ok(None) };
        let mut sources = Sources::default();
        Ok(books::load(&Book::of(&path)?, self.library.as_deref(), &mut sources)?.plan)
    }
}

/// Says of worked examples that do not come out in their base either nothing of leaving them out.
fn blame_the_base(problems: Problems, base: &Plan) -> Problems {
    let rules = Rules::new(base, Certified::No);
    let outcomes = examples::run(prove::Book { plan: base, rules: &rules }, prove::BUDGET);
    let mut own = examples::findings(base, &outcomes);
    if problems.iter().any(|it| it.finding == Finding::PromiseBroken && it.edit.is_some()) {
        own.extend(prove::Prover::new(prove::Book { plan: base, rules: &rules }, prove::BUDGET).wrong());
    }
    let is_own = |it: &Problem| own.iter().any(|own| own.message == it.message);
    let mut blamed = Problems::default();
    for mut problem in problems.iter().cloned() {
        if problem.edit.is_some() && is_own(&problem) {
            problem.edit = None;
            problem.help = Some("it does not come out in the base either: mend it there".into());
        }
        blamed.push(problem);
    }
    blamed
}

/// Returns a kind of finding by its name.
fn finding(code: &str) -> Result<Finding, Refusal> {
    let known = || Finding::ALL.iter().copied();
    known().find(|finding| finding.code() == code).ok_or_else(|| {
        let refusal = Refusal::new(format!("there is no finding `{code}`"));
        match nearest(code, known().map(Finding::code)) {
            Some(near) => refusal.help(format!("did you mean `{near}`?")),
            None => {
                let codes: Vec<&str> = known().map(Finding::code).collect();
                refusal.help(format!("there are {}", codes.join(", ")))
            }
        }
    })
}

fn text(found: &[(Problems, Sources)], proved: &[&str], width: usize) -> String {
    let mut text = String::new();
    let mut all = Problems::default();
    for (problems, sources) in found.iter().filter(|(problems, _)| !problems.is_empty()) {
        let (told, counted) = findings::told(problems, sources);
        if !told.is_empty() {
            text += &Stream::Results.findings(&told, sources, width);
            text.push('\n');
        }
        counted.iter().for_each(|words| text += &paragraph(words, width));
        text += if counted.is_empty() { "" } else { "\n" };
        all.extend(problems.clone());
    }
    if found.is_empty() {
        return text;
    }
    for book in proved {
        let words = format!(
            "Proved: in every situation `{book}` only tightens its base. No decision is looser. The labels are those of \
             the books: a jug's own label in a shed is not part of it."
        );
        text += &format!("{}\n", paragraph(&words, width));
    }
    text + &paste(&all, width) + &paragraph(&next(&all), width)
}

/// Returns the items to write into rulebooks where what was found is meant, each once.
fn paste(all: &Problems, width: usize) -> String {
    let edits: BTreeSet<&str> = all.iter().filter_map(|it| it.edit.as_deref()).collect();
    if edits.is_empty() {
        return String::new();
    }
    let says = "Examples or promises of the base do not hold here. Where that is meant, paste these lines into the rulebook that builds on it, and write the reasons:";
    let edits = edits.iter().flat_map(|edit| edit.lines());
    let lines: Vec<String> = edits.flat_map(|edit| filled(edit, "", "  ", width)).collect();
    format!("{}{}\n\n", paragraph(says, width), lines.join("\n"))
}

/// Returns the one line that says what to do next.
fn next(all: &Problems) -> String {
    let first = |level: Level| all.iter().find(|problem| problem.finding.level() == level);
    let explain = |problem: &Problem| {
        format!("`bloomward proofread --explain {}` shows an example", problem.finding.code())
    };
    let count = findings::count(all, super::reader::language());
    match (first(Level::Error), first(Level::Warning)) {
        (Some(error), _) => format!("Found {count}. Fix the errors first: {}.", explain(error)),
        (None, Some(warning)) => format!("Found {count}, and no error. {}.", capital(&explain(warning))),
        (None, None) => "No problems found. Try it: `bloomward advise GROVE --by BOOK`.".to_owned(),
    }
}

fn capital(text: &str) -> String {
    let mut signs = text.chars();
    signs.next().map_or(String::new(), |first| first.to_uppercase().chain(signs).collect())
}
