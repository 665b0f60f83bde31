//! Reading: every example reads, and what cannot be read is said well.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test stops where its own files are amiss")]

use bloomward::problems::Problems;
use bloomward::source::{SourceId, Sources};
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

/// Binds what all snapshots of this phase share.
fn in_snapshots(what: impl FnOnce()) {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../snapshots/syntax");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(what);
}

/// Returns a tree as text: a line for each item, and one for each of its clauses.
fn outline(path: &Path) -> String {
    let text = std::fs::read_to_string(path).unwrap();
    let (tree, _) = syntax::parse_text(&text, SourceId::default());
    let mut out = String::new();
    for item in &tree.items {
        let name = item.name.map_or_else(String::new, |name| format!(" {}", name.value));
        let label = item.label.as_ref().map_or_else(String::new, |label| format!(" {:?}", label.value));
        out += &format!("{:?} {:?}{name}{label}\n", item.verb, item.kind);
        for clause in &item.clauses {
            out += &format!("  {:?}\n", clause.value);
        }
    }
    let bare = [", span: ", ", At(", "At("].into_iter().fold(out, |out, before| without_places(&out, before));
    bare.replace("Quantity(Quantity {", "Quantity({")
}

/// Drops the places of a debug form, which are tested elsewhere.
fn without_places(debug: &str, before: &str) -> String {
    let mut parts = debug.split(before);
    let mut out = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let rest = part.trim_start_matches(|sign: char| sign.is_ascii_digit() || sign == '.');
        out += if before.ends_with('(') { rest.strip_prefix(')').unwrap_or(rest) } else { rest };
    }
    out
}

#[test]
fn the_tree_of_each_example() {
    in_snapshots(|| {
        insta::glob!("../fixtures/syntax", "*.rulebook", |path| insta::assert_snapshot!(outline(path)));
    });
}

#[test]
fn what_cannot_be_read_is_said_well() {
    in_snapshots(|| {
        insta::glob!("../fixtures/syntax/broken", "*.rulebook", |path| {
            let (text, problems, printed) = read(path);
            assert!(problems.any_error(), "{text}");
            insta::assert_snapshot!(format!("{text}\n{printed}"));
        });
    });
}
