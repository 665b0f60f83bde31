//! Reads the files of worked examples with hours of their own.

use super::books::Book;
use crate::advice::{ExampleHours, take_hours};
use crate::plan::Plan;
use crate::problems::{Finding, Problem, Problems};
use crate::source::Sources;
use std::path::Path;

/// Reads the hours of worked examples, and takes in each of them what its weather measures. Of one whose hours cannot be read
/// it is told why, and it stays one that is not run.
pub fn taken(plan: &mut Plan, book: &Book, sources: &mut Sources) -> (Vec<ExampleHours>, Problems) {
    let (mut read, mut problems) = (Vec::new(), Problems::default());
    for at in 0..plan.worked.len() {
        let Some((file, span)) = plan.worked.get(at).and_then(|it| it.hours_from.clone()) else { continue };
        let mut wrong = |message: String, help: &str| {
            problems.push(Problem::new(Finding::WorkedFailed, span, message).help(help));
        };
        let leads_out = Path::new(&*file).components().any(|it| it.as_os_str() == "..");
        if leads_out || Path::new(&*file).is_absolute() {
            wrong(format!("`{file}` does not lie beside the rulebook"), "put it there");
            continue;
        }
        let of = sources.get(span.source).map(|source| source.name.to_string()).unwrap_or_default();
        let folder = Path::new(&of).parent().unwrap_or(Path::new(""));
        let path = folder.join(&*file).to_string_lossy().into_owned();
        match book.read(&path) {
            Ok(text) => {
                let hours = sources.add(path, text.as_str());
                let (taken, found) = take_hours(plan, at, &text, hours, sources);
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
