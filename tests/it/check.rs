//! Checking: a plan from every sound text, and every error of a text that is not, in its place and with its help.

use bloomward::check;
use bloomward::plan::Plan;
use bloomward::problems::{Finding, Level, Problems};
use bloomward::source::Sources;
use std::path::Path;

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

#[test]
fn each_error_is_said_in_its_place() {
    insta::glob!("../fixtures/check", "*.rulebook", |path| {
        let (plan, problems, sources) = checked_file(path);
        let sound = !problems.iter().any(|problem| check::is_of_text(problem.finding));
        assert_eq!(plan.is_some(), sound, "a plan is there where the text has no error");
        insta::with_settings!({
            snapshot_path => "../snapshots/check",
            prepend_module_to_snapshot => false,
            snapshot_suffix => path.file_stem().unwrap().to_string_lossy().into_owned(),
        }, { insta::assert_snapshot!("errors", problems.plain(&sources)) });
    });
}

/// Fails where a file has other findings than so many of what cannot be read.
#[track_caller]
fn assert_only_unreadable(path: &str, count: usize) {
    let (plan, problems, sources) = checked_file(Path::new(path));
    assert!(plan.is_none());
    let unreadable = problems.iter().filter(|problem| problem.finding == Finding::Syntax).count();
    assert_eq!((unreadable, problems.len()), (count, count), "{}", problems.plain(&sources));
}

#[test]
fn an_item_that_cannot_be_read_starts_no_cascade() {
    assert_only_unreadable("tests/fixtures/check/broken/no_cascade.rulebook", 4);
    assert_only_unreadable("tests/fixtures/check/broken/base/top.rulebook", 1);
}

#[test]
fn overlays_say_what_is_wrong_with_them() {
    insta::glob!("../fixtures/check/overlays", "*/top.rulebook", |path| {
        let (plan, problems, sources) = checked_file(path);
        let sound = !problems.iter().any(|problem| check::is_of_text(problem.finding));
        assert_eq!(plan.is_some(), sound, "a plan is there where the text has no error");
        let case = path.parent().and_then(Path::file_name).unwrap().to_string_lossy().into_owned();
        insta::with_settings!({
            snapshot_path => "../snapshots/check",
            prepend_module_to_snapshot => false,
            snapshot_suffix => case,
        }, { insta::assert_snapshot!("overlay", problems.plain(&sources)) });
    });
}

#[test]
fn a_base_is_found_inside_the_folder_or_the_library() {
    let found = |book, base, library| check::resolve(book, base, library).ok();
    assert_eq!(found("a.rulebook", "x/../b.rulebook", None).as_deref(), Some("b.rulebook"));
    assert_eq!(
        found("books/a.rulebook", "./base//b.rulebook", None).as_deref(),
        Some("books/base/b.rulebook")
    );
    assert_eq!(found("../books/a.rulebook", "b.rulebook", None).as_deref(), Some("../books/b.rulebook"));
    assert_eq!(found("/srv/books/a.rulebook", "b.rulebook", None).as_deref(), Some("/srv/books/b.rulebook"));
    assert_eq!(
        found("HEAD~1:books/a.rulebook", "b.rulebook", None).as_deref(),
        Some("HEAD~1:books/b.rulebook")
    );
    assert_eq!(found("HEAD:a.rulebook", "b.rulebook", None).as_deref(), Some("HEAD:b.rulebook"));
    let library = Some("books");
    assert_eq!(
        found("books/county/a.rulebook", "../b.rulebook", library).as_deref(),
        Some("books/b.rulebook")
    );
}

#[test]
fn a_base_is_not_found_outside() {
    let refused = |book, base, library| check::resolve(book, base, library).is_err();
    assert!(refused("a.rulebook", "../b.rulebook", None));
    assert!(refused("books/a.rulebook", "../b.rulebook", None));
    assert!(refused("../books/a.rulebook", "../b.rulebook", None));
    assert!(refused("books/county/a.rulebook", "../../library/b.rulebook", Some("lib")));
    assert!(refused("books/a.rulebook", "../../etc/passwd", Some("books")));
    for absolute in
        ["/etc/passwd", "~/b.rulebook", "C:/b.rulebook", "HEAD:b.rulebook", "..\\b.rulebook", "", " "]
    {
        assert!(refused("a.rulebook", absolute, None), "{absolute}");
    }
}

#[test]
fn every_finding_at_the_text_has_a_fixture() {
    let mut found = std::collections::BTreeSet::new();
    insta::glob!("../fixtures/check", "**/*.rulebook", |path| {
        let (_, problems, _) = checked_file(path);
        found.extend(problems.iter().map(|problem| problem.finding.code()));
    });
    // What is left is for proofs to find, or is about a grower's files.
    let of_proofs = [
        Finding::Conflict,
        Finding::PromiseBroken,
        Finding::WorkedFailed,
        Finding::LoosensBase,
        Finding::Gap,
        Finding::NeverHolds,
        Finding::NoEffect,
        Finding::Untested,
        Finding::NotDecided,
        Finding::AlwaysHolds,
        Finding::InputNote,
        // What an author left out is told of a whole book: `findings` holds its explanations.
        Finding::NeverAdvised,
        Finding::LabelMissing,
        Finding::NoLasts,
        Finding::Empty,
        Finding::NoSuchWeather,
        // A translation is read by the front door: `translations` holds it.
        Finding::NotTranslated,
    ];
    let missing: Vec<&str> = Finding::ALL
        .iter()
        .filter(|finding| !of_proofs.contains(finding))
        .map(|finding| finding.code())
        .filter(|code| !found.contains(code))
        .collect();
    assert_eq!(missing, Vec::<&str>::new());
}
