//! Reading: every example reads, and what cannot be read is said well.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test stops where its own files are amiss")]

use bloomward::problems::Problems;
use bloomward::source::Sources;
use bloomward::syntax;
use std::path::Path;

/// Reads a fixture and returns what was found, as it is printed.
fn read(path: &Path) -> (String, Problems, String) {
    let text = std::fs::read_to_string(path).unwrap();
    let mut sources = Sources::default();
    let id = sources.add(path.file_name().unwrap().to_string_lossy(), text.as_str());
    let (_, problems) = syntax::parse(&sources, id);
    let printed = problems.plain(&sources);
    (text, problems, printed)
}

#[test]
fn every_example_of_the_language_reads() {
    insta::glob!("../fixtures/syntax", "*.rulebook", |path| {
        let (text, problems, printed) = read(path);
        assert!(problems.is_empty(), "{text}\n{printed}");
    });
}

#[test]
fn what_cannot_be_read_is_said_well() {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../snapshots/syntax");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| {
        insta::glob!("../fixtures/syntax/broken", "*.rulebook", |path| {
            let (text, problems, printed) = read(path);
            assert!(problems.any_error(), "{text}");
            insta::assert_snapshot!(format!("{text}\n{printed}"));
        });
    });
}
