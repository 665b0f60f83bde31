//! What `proofread` says of a rulebook: each finding's own example, the forms, overlays, revisions.

use crate::cli::{folder, ran, run, top};
use bloomward::check;
use bloomward::problems::Finding;
use bloomward::report::findings_drawn::{Colour, drawn};
use bloomward::report::findings_explained::{explanation, text};
use bloomward::source::Sources;
use bloomward::words::Language;
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::Path;
use std::process::{Command, Stdio};

/// What no small example has: a rulebook too large to be proved.
const TOO_LARGE_TO_SHOW: &[Finding] = &[Finding::NotDecided];

/// Returns the items of a rulebook, comments before the first left out.
fn items(text: &str) -> Vec<String> {
    let mut items: Vec<String> = Vec::new();
    for line in text.lines() {
        let begins = line.starts_with(|sign: char| sign.is_ascii_lowercase());
        if begins {
            items.push(String::new());
        }
        if let Some(item) = items.last_mut() {
            *item += line;
            item.push('\n');
        }
    }
    items
}

/// Returns what an item is called: its first two words; of a head its first.
fn called(item: &str) -> String {
    let words = if item.starts_with("rulebook") { 1 } else { 2 };
    item.split_whitespace().take(words).collect::<Vec<_>>().join(" ")
}

/// Puts an example into the small sound guide: what it defines stands in place of the guide's own.
fn in_guide(example: &str) -> String {
    let guide = std::fs::read_to_string(top().join("examples/broken/plain.rulebook")).unwrap();
    let new = items(example);
    // What is about a head alone, or about a base, stands by itself.
    if example.contains("builds-on") || new.iter().all(|item| item.starts_with("rulebook")) {
        return example.to_owned();
    }
    let own: BTreeSet<String> = new.iter().map(|item| called(item)).collect();
    let head = new.iter().filter(|item| item.starts_with("rulebook"));
    let kept: Vec<String> = items(&guide).into_iter().filter(|item| !own.contains(&called(item))).collect();
    let rest = new.iter().filter(|item| !item.starts_with("rulebook"));
    head.chain(&kept).chain(rest).cloned().collect()
}

/// Returns the findings of a rulebook's text that lies beside the small sound guide.
fn found(folder: &Path, text: &str) -> BTreeSet<String> {
    std::fs::copy(top().join("examples/broken/plain.rulebook"), folder.join("plain.rulebook")).unwrap();
    let book = folder.join("example.rulebook");
    std::fs::write(&book, text).unwrap();
    let output = run(&["proofread", book.to_str().unwrap(), "--format", "json"]);
    let json: Value = serde_json::from_slice(&output.stdout).unwrap();
    let findings = json["findings"].as_array().unwrap();
    findings.iter().map(|finding| finding["rule"].as_str().unwrap().to_owned()).collect()
}

/// Returns a text without its line breaks.
pub fn unbroken(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn each_finding_is_explained_by_an_example_that_has_it_and_one_that_has_not() {
    let folder = folder("each_finding_is_explained");
    let guide = std::fs::read_to_string(top().join("examples/broken/plain.rulebook")).unwrap();
    let sound = found(&folder, &guide);
    for finding in Finding::ALL.iter().copied() {
        if matches!(finding, Finding::Input | Finding::InputNote | Finding::NotTranslated) {
            continue; // Of a grove's files and of translations, not of rulebooks.
        }
        let explained = explanation(finding);
        let (wrong, right) =
            (found(&folder, &in_guide(explained.wrong)), found(&folder, &in_guide(explained.right)));
        let code = finding.code();
        let proved = !TOO_LARGE_TO_SHOW.contains(&finding);
        assert_eq!(wrong.contains(code), proved, "{code}: the wrong example has {wrong:?}");
        // The guide itself owes the sources of its figures.
        let is_own = sound.contains(code);
        assert!(is_own || !right.contains(code), "{code}: the right example has {right:?}");
        let errors = |codes: &BTreeSet<String>| {
            let error = |code: &&String| {
                // What decisions come to is the guide's: an example that changes one item of it may break its worked examples.
                Finding::ALL.iter().any(|it| it.code() == **code && check::is_of_text(*it))
            };
            codes.iter().filter(error).cloned().collect::<Vec<_>>()
        };
        assert_eq!(errors(&right), Vec::<String>::new(), "{code}: the right example has errors");
    }
}

#[test]
fn an_explanation_keeps_to_its_width() {
    for finding in Finding::ALL.iter().copied() {
        for width in [20, 40, 80] {
            let text = text(finding, width);
            assert!(text.lines().all(|line| line.chars().count() <= width), "{width}\n{text}");
        }
        let (printed, _) = ran(&["proofread", "--explain", finding.code(), "--width", "80"], 0);
        assert_eq!(printed, text(finding, 80));
    }
    let (_, error) = ran(&["proofread", "--explain", "unit-mismach"], 2);
    assert!(error.contains("did you mean `unit-mismatch`?"), "{error}");
}

#[test]
fn a_finding_is_printed_with_its_line_its_mark_and_its_help() {
    let (out, _) = ran(&["proofread", "examples/broken/mistakes.rulebook", "--width", "72"], 1);
    let expected = "\
examples/broken/mistakes.rulebook:27:27: error[unit-mismatch]: expected
  a length, but `10 mph` is a speed
  27 |   if       rain-48h above 10 mph
     |                           ^^^^^^
  help: use one of these units: `mm`, `cm`, `m`, `km`, `in` and `ft`
";
    assert!(out.contains(expected), "{out}");
    assert!(out.ends_with("shows an example.\n"), "{out}");
    assert!(!out.contains('\u{1b}'), "no colour beside a terminal");
}

#[test]
fn findings_keep_to_their_width() {
    for width in ["20", "21", "37", "60", "80", "200"] {
        let (out, _) = ran(&["proofread", "examples/broken/mistakes.rulebook", "--width", width], 1);
        let limit: usize = width.parse().unwrap();
        for line in out.lines() {
            assert!(line.chars().count() <= limit, "{width}: {line}");
        }
    }
    ran(&["proofread", "examples/broken/mistakes.rulebook", "--width", "19"], 2);
    ran(&["proofread", "examples/broken/mistakes.rulebook", "--width", "201"], 2);
}

#[test]
fn a_drawing_keeps_to_its_width_too() {
    let mut sources = Sources::default();
    let text = std::fs::read_to_string(top().join("examples/broken/mistakes.rulebook")).unwrap();
    let id = sources.add("mistakes.rulebook", text);
    let (_, problems) = check::load(id, &mut sources, None, &mut |_| Err("there is none".to_owned()));
    let mut drawn_somewhere = false;
    for width in [20, 30, 50, 72, 80, 200] {
        let plain = drawn(&problems, &sources, width, (Colour::Plain, Language::English));
        assert!(plain.lines().all(|line| line.chars().count() <= width), "{width}\n{plain}");
        assert!(!plain.contains('\u{1b}'), "without colour");
        assert!(
            drawn(&problems, &sources, width, (Colour::Coloured, Language::English)).contains('\u{1b}')
                || width < 50
        );
        drawn_somewhere |= plain.contains("┌─[mistakes.rulebook:27:27]");
        // Whatever the form, each message is there.
        let words = unbroken(&plain).replace("│ ", "");
        for problem in problems.iter() {
            assert!(
                width < 50 || words.contains(&unbroken(&problem.message)),
                "{width}: {}",
                problem.message
            );
        }
    }
    assert!(drawn_somewhere);
}

/// A long line is cut around its mark; the place that is named stays that of the file, and the level is said in words.
#[test]
fn a_drawing_of_a_cut_line_names_the_column_of_the_file() {
    let mut sources = Sources::default();
    let pad = "hoppers at least 3 and ".repeat(6);
    let text = format!(
        "rulebook \"Test\"\n  caution \"x\"\n\nobserve hoppers\n  kind count\n\n\
         gate crowded\n  shuts spraying\n  if {pad}hoppers at least 5 mm\n"
    );
    let line = text.lines().nth(8).unwrap();
    let column = line.chars().count() - "5 mm".len() + 1;
    let id = sources.add("long.rulebook", text.clone());
    let (_, problems) = check::load(id, &mut sources, None, &mut |_| Err("there is none".to_owned()));
    let plain = drawn(&problems, &sources, 80, (Colour::Plain, Language::English));
    assert!(plain.contains(&format!("[long.rulebook:9:{column}]")), "{column}\n{plain}");
    assert!(plain.contains("  error[unit-mismatch]: ") && plain.contains("…"), "{plain}");
}

#[test]
fn a_base_of_two_rulebooks_is_proofread_once() {
    let of_base = |books: &[&str]| {
        let arguments = [&["proofread"], books, &["--format", "json"]].concat();
        let json: Value = serde_json::from_str(&ran(&arguments, 0).0).unwrap();
        let findings = json["findings"].as_array().unwrap().clone();
        let at = |finding: &Value| finding["at"].as_str().unwrap().contains("base/mango");
        let said = |finding: &Value| format!("{} {} {}", finding["at"], finding["rule"], finding["message"]);
        findings.iter().filter(|finding| at(finding)).map(said).collect::<Vec<String>>()
    };
    let (dry, humid) = ("rulebooks/dry-hills.rulebook", "rulebooks/humid-lowland.rulebook");
    let (one, other, both) = (of_base(&[dry]), of_base(&[humid]), of_base(&[dry, humid]));
    let all: BTreeSet<&String> = one.iter().chain(&other).collect();
    assert!(all.len() < one.len() + other.len(), "they share findings of the base");
    assert_eq!(both.iter().collect::<BTreeSet<_>>(), all);
    assert_eq!(both.len(), all.len(), "nothing is said twice");
}

#[test]
fn one_that_cannot_be_read_does_not_hide_the_others() {
    let (out, error) = ran(&["proofread", "no-such.rulebook", "examples/broken/mistakes.rulebook"], 2);
    assert!(error.contains("there is no file `no-such.rulebook`"), "{error}");
    assert!(out.contains("circular"), "{out}");
}

#[test]
fn overlays_reach_no_further_than_their_folder_or_the_library() {
    let folder = folder("overlays_reach_no_further");
    std::fs::create_dir_all(folder.join("county")).unwrap();
    std::fs::copy(top().join("examples/broken/plain.rulebook"), folder.join("plain.rulebook")).unwrap();
    let overlay =
        "rulebook \"A county\"\n  builds-on \"../plain.rulebook\"\n  edition \"1\"\n  caution \"x\"\n";
    let county = folder.join("county/a.rulebook");
    std::fs::write(&county, overlay).unwrap();
    let path = county.to_str().unwrap();
    let (out, _) = ran(&["proofread", path], 1);
    assert!(unbroken(&out).contains("leads out of the rulebook's folder"), "{out}");
    ran(&["proofread", path, "--library", folder.to_str().unwrap()], 0);
    let (_, error) = ran(&["proofread", path, "--library", "no-such-folder"], 2);
    assert!(error.contains("`--library no-such-folder` is no folder"), "{error}");
    // From a folder between the two, by paths that climb.
    let mut command = Command::new(env!("CARGO_BIN_EXE_bloomward"));
    command.current_dir(folder.join("county")).args(["proofread", "a.rulebook", "--library", ".."]);
    assert!(command.status().unwrap().success());
}

#[cfg(unix)]
#[test]
fn a_link_does_not_lead_where_a_path_may_not() {
    let folder = folder("a_link_does_not_lead");
    std::fs::create_dir_all(folder.join("county")).unwrap();
    std::fs::copy(top().join("examples/broken/plain.rulebook"), folder.join("plain.rulebook")).unwrap();
    std::os::unix::fs::symlink("../plain.rulebook", folder.join("county/base.rulebook")).unwrap();
    let overlay = "rulebook \"A county\"\n  builds-on \"base.rulebook\"\n  edition \"1\"\n  caution \"x\"\n";
    let county = folder.join("county/a.rulebook");
    std::fs::write(&county, overlay).unwrap();
    let path = county.to_str().unwrap();
    let (out, _) = ran(&["proofread", path], 1);
    assert!(unbroken(&out).contains("leads out of the rulebook's folder"), "{out}");
    ran(&["proofread", path, "--library", folder.to_str().unwrap()], 0);
}

#[test]
fn a_rulebook_as_it_stood_at_a_revision() {
    let folder = folder("a_rulebook_as_it_stood");
    let git = |arguments: &[&str]| {
        let mut command = Command::new("git");
        command.current_dir(&folder).args(["-c", "user.name=a", "-c", "user.email=a@example.org"]);
        assert!(command.args(arguments).stdout(Stdio::null()).status().unwrap().success(), "{arguments:?}");
    };
    let overlay =
        "rulebook \"A county\"\n  builds-on \"base/plain.rulebook\"\n  edition \"1\"\n  caution \"x\"\n";
    std::fs::create_dir_all(folder.join("books/base")).unwrap();
    let base = std::fs::read_to_string(top().join("examples/broken/plain.rulebook")).unwrap();
    std::fs::write(folder.join("books/base/plain.rulebook"), &base).unwrap();
    std::fs::write(folder.join("books/county.rulebook"), overlay).unwrap();
    git(&["init", "--quiet", "--initial-branch", "trunk"]);
    git(&["add", "."]);
    git(&["commit", "--quiet", "--no-gpg-sign", "--message", "first"]);
    // Today the base is broken; at the revision both are as they were.
    std::fs::write(folder.join("books/base/plain.rulebook"), base.replace("mildew below", "mildw below"))
        .unwrap();
    let proofread = |inside: &str, book: &str, status: i32| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_bloomward"));
        let output = command.current_dir(folder.join(inside)).args(["proofread", book]).output().unwrap();
        let text = [output.stdout, output.stderr].concat();
        let text = String::from_utf8(text).unwrap();
        assert_eq!(output.status.code(), Some(status), "{book}\n{text}");
        text
    };
    proofread("", "books/county.rulebook", 1);
    let text = proofread("", "trunk:books/county.rulebook", 0);
    assert!(text.contains("trunk:books/base/plain.rulebook"), "{text}");
    proofread("books", "HEAD:./county.rulebook", 0);
    proofread("books", "HEAD:books/county.rulebook", 0);
    let text = proofread("", "trunk:books/country.rulebook", 2);
    assert!(text.contains("no file `books/country.rulebook` at the revision `trunk`"), "{text}");
    let text = proofread("", "trunc:books/county.rulebook", 2);
    assert!(text.contains("`trunc` is no revision"), "{text}");
    proofread("", "trunk:books", 2);
    let tidy = |arguments: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_bloomward"));
        command.current_dir(&folder).arg("tidy").args(arguments).output().unwrap().status.code()
    };
    assert_eq!(tidy(&["--check", "trunk:books/county.rulebook"]), Some(1), "its columns are not tidy");
    assert_eq!(tidy(&["trunk:books/county.rulebook"]), Some(2), "the past is not written");
}

#[test]
fn a_rulebook_from_standard_input() {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bloomward"));
    command.current_dir(top()).args(["proofread", "-"]).stdout(Stdio::piped());
    let book = std::fs::File::open(top().join("examples/broken/mistakes.rulebook")).unwrap();
    let output = command.stdin(book).output().unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8(output.stdout).unwrap().contains("standard input:4:1: error[no-caution]"));
}

/// Writes a book on the common base beside copies of it, and returns what proofreading says of it.
#[track_caller]
fn on_the_base(name: &str, text: &str, status: i32) -> String {
    let folder = folder(name);
    let base = concat!(env!("CARGO_MANIFEST_DIR"), "/rulebooks/base");
    std::fs::create_dir_all(folder.join("base/hours")).unwrap();
    std::fs::copy(format!("{base}/mango.rulebook"), folder.join("base/mango.rulebook")).unwrap();
    for file in std::fs::read_dir(format!("{base}/hours")).unwrap() {
        let file = file.unwrap();
        std::fs::copy(file.path(), folder.join("base/hours").join(file.file_name())).unwrap();
    }
    let path = folder.join("county.rulebook");
    std::fs::write(&path, text).unwrap();
    ran(&["proofread", path.to_str().unwrap(), "--width", "80"], status).0
}

const ON_THE_BASE: &str = "rulebook \"County\"\n  builds-on \"base/mango.rulebook\"\n  edition \"1\"\n\
     \x20 in-force from 2026-10-01 to 2027-09-30\n  caution \"Follow the label.\"\n";

const SCAB: &str = "disease scab \"mango scab\"\n\
     observe scab-spots \"leaves with scab\"\n  kind share\n  lasts 7 d\n\
     choice fight-scab\n  against scab\n  advise copper at full\n  if scab-spots at least 5 %\n\
     \x20 within 72 h\n  recheck in 5 d\n  because \"it spreads in rain\"\n  cites common-practice\n";

/// A new disease with one choice disagrees with many: that is one finding with what to write, and all that hangs on it is one.
#[test]
fn one_choice_that_disagrees_with_many_is_one_finding() {
    let text = on_the_base("one_choice_disagrees", &format!("{ON_THE_BASE}{SCAB}"), 1);
    assert!(text.lines().count() <= 60, "{} lines\n{text}", text.lines().count());
    let plain = unbroken(&text);
    for words in [
        "error[conflict]: `fight-scab` disagrees with 8 choices of the base: `both-troubles`, `treat-anthracnose-anew`, ",
        "write `outranks both-troubles, treat-anthracnose-anew, ",
        "worked examples of the base do not come out, ",
        "because of `fight-scab`: choices contradict each other there",
        "warnings of the base (to-be-sourced ",
    ] {
        assert!(plain.contains(words), "{words}\n{text}");
    }
    assert_eq!(
        (plain.matches("error[conflict]").count(), plain.matches("error[worked-failed]").count()),
        (1, 1),
        "{text}"
    );
    // That nothing is decided breaks promises, too, and goes with the conflict.
    assert!(!plain.contains("promise-broken"), "{text}");
    // The own file first, its errors first.
    let places: Vec<usize> = ["error[conflict]", "warning[untested]", "error[worked-failed]"]
        .map(|it| text.find(it).unwrap())
        .into();
    assert!(places.is_sorted(), "{text}");
}

/// Where the change is ranked and meant, the examples and promises of the base that it breaks have lines to paste.
#[test]
fn what_the_base_loses_is_one_finding_with_lines_to_paste() {
    let replaced = "replace figure hot = 95 °F\n  because \"our sulfur bears it\"\n  cites common-practice\n";
    let text = on_the_base("what_the_base_loses", &format!("{ON_THE_BASE}{replaced}"), 1);
    let plain = unbroken(&text);
    assert!(plain.contains("examples of the base no longer come out"), "{text}");
    assert_eq!(plain.matches("error[worked-failed]").count(), 1, "{text}");
    assert!(
        plain.contains("the base promises this: close the situation with a gate, or leave its promise out"),
        "{text}"
    );
    for line in [
        "omit promise no-sulfur-in-heat because \"…\"",
        "omit worked \"full bloom and heat: bicarbonate kills the colonies\" because \"…\"",
    ] {
        assert!(plain.contains(line), "{line}\n{text}");
    }
    assert!(text.matches("omit worked").count() >= 4, "{text}");
}

#[test]
fn a_figure_without_its_unit_is_told_the_unit_of_the_base() {
    let text = on_the_base("figure_without_unit", &format!("{ON_THE_BASE}replace figure wash-off = 30\n"), 1);
    let plain = unbroken(&text);
    assert!(plain.contains("figure `wash-off` is 25 mm in the base, and has no unit here"), "{text}");
    assert!(plain.contains("help: write its unit too: `30 mm`"), "{text}");
    assert_eq!(plain.matches("error[").count(), 1, "{text}");
}

/// What is misspelt in a head stands before its base, between, and behind: the base is read all the same.
#[test]
fn a_slip_in_the_head_does_not_hide_the_base() {
    let slips = ["  editon \"2\"\n", "  regon \"x\"\n  editon \"y\"\n"]
        .map(|slip| ("  builds-on", format!("{slip}  builds-on")));
    for (from, to) in slips {
        let text = on_the_base(
            "slip_in_the_head",
            &format!("{}replace figure hot = 91 °F\n", ON_THE_BASE.replace(from, &to)),
            1,
        );
        assert!(!text.contains("builds on nothing"), "{text}");
        assert!(unbroken(&text).contains("did you mean"), "{text}");
    }
    let omit =
        on_the_base("omit_in_the_head", &format!("{ON_THE_BASE}  omit caution \"x\" because \"y\"\n"), 1);
    assert!(
        unbroken(&omit).contains("write it in the first column, below the head: `omit caution"),
        "{omit}"
    );
}

#[test]
fn a_rulebook_of_another_encoding_is_told_in_the_words_of_an_editor() {
    let path = folder("another_encoding").join("jalisco.rulebook");
    std::fs::write(&path, b"rulebook \"Mango\"\n  caution \"Siga la etiqueta.\"\n  contact \"Jos\xe9\"\n")
        .unwrap();
    let (_, error) = ran(&["proofread", path.to_str().unwrap(), "--width", "80"], 2);
    let plain = unbroken(&error);
    assert!(plain.contains("line 3, column 15 has a character that is not UTF-8"), "{error}");
    assert!(
        plain.contains("save the rulebook again with the encoding UTF-8") && !plain.contains("CSV"),
        "{error}"
    );
}

/// An explanation's example stands as it can be pasted: what is broken keeps the indent of its clause.
#[test]
fn an_explained_example_can_be_pasted() {
    let (text, _) = ran(&["proofread", "--explain", "loosens-base", "--width", "80"], 0);
    let lines: Vec<&str> = text
        .lines()
        .skip_while(|line| !line.starts_with("  rulebook"))
        .take_while(|line| !line.is_empty())
        .collect();
    let items = lines.iter().filter(|line| line.starts_with("  ") && !line.starts_with("   ")).count();
    assert_eq!(items, 2, "{text}");
}
