//! Tidying: one canonical form, the same meaning, every comment kept.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test stops where its own files are amiss")]

use bloomward::source::Sources;
use bloomward::syntax;
use std::path::Path;

/// Tidies a text that can be read.
#[track_caller]
fn tidy(text: &str) -> String {
    let mut sources = Sources::default();
    let id = sources.add("a.rulebook", text);
    match syntax::tidy(&sources, id) {
        Ok(tidied) => tidied,
        Err(problems) => panic!("{text}\n{}", problems.plain(&sources)),
    }
}

fn fixture(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap()
}

/// Binds what all snapshots of this phase share.
fn in_snapshots(what: impl FnOnce()) {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../snapshots/syntax");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(what);
}

#[test]
fn the_canonical_form_of_each_example() {
    in_snapshots(|| {
        insta::glob!("../fixtures/syntax", "*.rulebook", |path| {
            let tidied = tidy(&fixture(path));
            assert_eq!(tidy(&tidied), tidied);
            insta::assert_snapshot!(tidied);
        });
    });
}

#[test]
fn the_canonical_form_of_what_is_written_freely() {
    in_snapshots(|| {
        insta::glob!("../fixtures/syntax/messy", "*.rulebook", |path| {
            let tidied = tidy(&fixture(path));
            assert_eq!(tidy(&tidied), tidied);
            insta::assert_snapshot!(tidied);
        });
    });
}

#[test]
fn odd_blanks_in_a_long_text_stay() {
    let words = "word ".repeat(17);
    for odd in ["\u{a0}", "\u{2003}", "\u{85}", "\u{b}", "\t", "  ", "\\n"] {
        let text = format!("gate a\n  because \"{words}{odd} {words}{odd}{words} {odd} {words}\"\n");
        let tidied = tidy(&text);
        assert_eq!(tidy(&tidied), tidied);
    }
}
