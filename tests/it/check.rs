//! Checking: a plan from every sound text, and every error of a text that is not, in its place and with its help.

use bloomward::check;
use bloomward::plan::Plan;
use bloomward::problems::{Finding, Level, Problems};
use bloomward::source::Sources;
use std::path::Path;

/// Checks a text.
fn checked(text: &str) -> (Option<Plan>, Problems, Sources) {
    let mut sources = Sources::default();
    let id = sources.add("book.rulebook", text);
    let (plan, problems) =
        check::load(id, &mut sources, None, &mut |path| Err(format!("{path} is not there")));
    (plan, problems, sources)
}

/// Checks a file; its bases are found beside it.
fn checked_file(path: &Path) -> (Option<Plan>, Problems, Sources) {
    let folder = path.parent().unwrap();
    let mut sources = Sources::default();
    let text = std::fs::read_to_string(path).unwrap();
    let id = sources.add(path.file_name().unwrap().to_string_lossy(), text);
    let mut read =
        |base: &str| std::fs::read_to_string(folder.join(base)).map_err(|error| error.kind().to_string());
    let (plan, problems) = check::load(id, &mut sources, None, &mut read);
    (plan, problems, sources)
}

fn errors(problems: &Problems, sources: &Sources) -> String {
    let mut errors = problems.clone();
    errors.retain(|problem| problem.finding.level() == Level::Error);
    errors.plain(sources)
}

#[test]
fn the_whole_language_makes_a_plan() {
    let (plan, problems, sources) =
        checked_file(Path::new("tests/fixtures/check/the_whole_language.rulebook"));
    assert_eq!(errors(&problems, &sources), "");
    assert!(plan.is_some());
}
