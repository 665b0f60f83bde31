//! Opens a rulebook: its text, its bases, and the hours of its worked examples.

use super::{Store, translations};
use crate::advice::{ExampleHours, take_hours};
use crate::check;
use crate::plan::Plan;
use crate::problems::{Finding, Problem, Problems, Refusal};
use crate::source::Sources;
use std::path::{Path, PathBuf};

/// A rulebook that was read.
#[derive(Clone, Debug)]
pub struct OpenRulebook {
    /// The checked rulebook, nothing where errors at the text stand in the way.
    pub plan: Option<Plan>,
    /// What was found in it and in its bases.
    pub problems: Problems,
}

/// Reads a rulebook with all that it builds on and the translations beside them, adds their texts to the sources, and checks them. `library` is the
/// folder in which bases may lie, if it is not the rulebook's own.
///
/// # Errors
/// The rulebook itself cannot be read. A base that cannot be is a finding.
pub fn open_rulebook(
    store: &dyn Store,
    name: &str,
    library: Option<&str>,
    sources: &mut Sources,
) -> Result<OpenRulebook, Refusal> {
    let top = sources.add(name, store.read(Path::new(name))?);
    let folder = Path::new(name).parent().unwrap_or(Path::new(""));
    let roots: Vec<PathBuf> =
        std::iter::once(folder).chain(library.map(Path::new)).filter_map(|it| store.real(it)).collect();
    let mut read = |path: &str| {
        let path = Path::new(path);
        // A link must not lead where a path may not.
        let outside = store.real(path).is_some_and(|path| !roots.iter().any(|root| path.starts_with(root)));
        if outside && !roots.is_empty() {
            return Err("it leads out of the rulebook's folder and of the library".to_owned());
        }
        store.read(path).map_err(|refusal| refusal.message.into())
    };
    let (mut plan, mut problems) = check::load(top, sources, library, &mut read);
    if let Some(plan) = &mut plan {
        let books =
            sources.iter().skip(usize::from(top.0)).map(|source| source.name.to_string()).collect::<Vec<_>>();
        if let Err(problem) = translations::read(store, &books, plan, sources) {
            problems.push(*problem);
        }
    }
    Ok(OpenRulebook { plan, problems })
}

/// Reads the hours of worked examples, and takes in each of them what its weather measures. Of one whose hours cannot be
/// read it is told why, and it stays one that is not run.
pub fn take_example_hours(
    store: &dyn Store,
    plan: &mut Plan,
    sources: &mut Sources,
) -> (Vec<ExampleHours>, Problems) {
    let (mut read, mut problems) = (Vec::new(), Problems::default());
    for at in 0..plan.worked.len() {
        let Some((file, span)) = plan.worked.get(at).and_then(|it| it.hours_from.clone()) else { continue };
        let mut wrong = |message: String, help: &'static str| {
            problems.push(Problem::new(Finding::WorkedFailed, span, message).help(help));
        };
        let leads_out = Path::new(&*file).components().any(|it| it.as_os_str() == "..");
        if leads_out || Path::new(&*file).is_absolute() {
            wrong(format!("`{file}` does not lie beside the rulebook"), "put it there");
            continue;
        }
        let of = sources.get(span.source).map(|source| source.name.to_string()).unwrap_or_default();
        let path = Path::new(&of).parent().unwrap_or(Path::new("")).join(&*file);
        match store.read(&path) {
            Ok(text) => {
                let hours = sources.add(path.to_string_lossy().into_owned(), text.as_str());
                let (taken, found) = take_hours(plan, at, &text, hours);
                read.extend(taken);
                problems.extend(found);
            }
            Err(refusal) => wrong(
                format!("the hours of a worked example cannot be read: {}", refusal.message),
                "the file is looked for beside the rulebook that has the example",
            ),
        }
    }
    (read, problems)
}
