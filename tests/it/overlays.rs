//! What `proofread` says of an overlay: which examples of its base come out otherwise and how they are left out, what it leaves
//! out of its base's head and promises, and that the rest is proved to only tighten.

use crate::cli::{folder, ran};
use crate::findings::unbroken;
use bloomward::syntax::tidy_text;

const BASE: &str = "rulebook \"Base\"\n  caution \"Follow the label.\"\n  caution \"Wear gloves.\"\nsource own \"made\"\n\
    observe mildew\n  kind share\n\
    product sulfur\n  strength low 1 g/L\n  cites own\n\
    choice fight\n  advise sulfur at low\n  or else hold\n  if mildew above 20 %\n  outranks rest\n  cites own\n\
    choice rest\n  advise hold\n  cites own\n\
    promise quiet\n  whenever mildew at most 20 %\n  only hold\n  because \"no need\"\n  cites own\n\
    worked \"much mildew on \\\"Haden\\\", and nothing else that anybody could see in the grove: sulfur\"\n  cites own\n\
    \x20 take mildew 60 %\n  expect sulfur at low\n\
    worked \"half\"\n  cites own\n  take mildew 50 %\n  expect sulfur at low\n";

const HEAD: &str = "rulebook \"House rules\"\n  builds-on \"base.rulebook\"\n  tightens\n";

/// Proofreads an overlay of the base: returns what is printed, and where the overlay lies.
fn proofread(name: &str, rules: &str, status: i32) -> (String, String) {
    let folder = folder(name);
    std::fs::write(folder.join("base.rulebook"), BASE).unwrap();
    let path = folder.join("house.rulebook");
    std::fs::write(&path, format!("{HEAD}{rules}")).unwrap();
    let path = path.to_str().unwrap().to_owned();
    (ran(&["proofread", &path, "--width", "200"], status).0, path)
}

const GATE: &str = "gate bees\n  shuts sulfur\n  if mildew above 55 %\n  because \"hives\"\n  cites own\n";

/// A gate makes an example of the base come out otherwise: the lines to paste are there, and when pasted all is well.
#[test]
fn the_lines_that_leave_examples_of_the_base_out_can_be_pasted() {
    let (out, path) = proofread("lines_that_leave_examples_out", GATE, 1);
    assert!(unbroken(&out).contains("only tightens its base. No decision is looser."), "{out}");
    assert!(out.contains("where the change is meant, leave its example out with a reason"), "{out}");
    let pasted: Vec<&str> = out
        .lines()
        .skip_while(|line| !line.starts_with("omit worked"))
        .take_while(|line| !line.is_empty())
        .collect();
    let pasted = pasted.join("\n") + "\n";
    assert_eq!(pasted.matches("omit worked").count(), 1, "`half` still comes out: {out}");
    tidy_text(&pasted, bloomward::source::SourceId(0)).expect("what is pasted can be read");
    let (again, _) = proofread("lines_that_leave_examples_out", &format!("{GATE}{pasted}"), 0);
    assert!(!again.contains("worked-failed") && again.contains("Proved: in every situation"), "{again}");
    // Programs get the line, too.
    std::fs::write(&path, format!("{HEAD}{GATE}")).unwrap();
    let (json, _) = ran(&["proofread", &path, "--format", "json"], 1);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let edits: Vec<&str> =
        json["findings"].as_array().unwrap().iter().filter_map(|it| it["edit"].as_str()).collect();
    assert!(
        matches!(edits[..], [one] if one.starts_with("omit worked \"much mildew on \\\"Haden\\\"")),
        "{edits:?}"
    );
}

/// An example of the base that knows nothing of what the overlay asks is put right by another in its place.
#[test]
fn an_example_of_the_base_that_leaves_open_what_the_overlay_asks_is_replaced() {
    let rules = "observe fog\n  kind yes-no\ngate damp\n  shuts sulfur\n  if fog\n  cites own\n";
    let (out, _) = proofread("leaves_open_what_the_overlay_asks", rules, 1);
    let out = unbroken(&out);
    assert!(out.contains("or `replace worked \"half\"` with one that takes also `fog`"), "{out}");
}

#[test]
fn a_promise_left_out_of_a_tightened_base_is_said() {
    let omit = "omit promise quiet because \"we see to it\"\n";
    let (out, _) = proofread("a_promise_left_out", omit, 0);
    assert!(unbroken(&out).contains("warning[promise-dropped]: it says that it only tightens its base, and leaves out its promise `quiet`"), "{out}");
    assert!(unbroken(&out).contains("No decision is looser."), "{out}");
    let free = HEAD.replace("  tightens\n", "");
    let path = folder("a_promise_left_out_freely").join("house.rulebook");
    std::fs::write(path.with_file_name("base.rulebook"), BASE).unwrap();
    std::fs::write(&path, format!("{free}{omit}")).unwrap();
    let (out, _) = ran(&["proofread", path.to_str().unwrap()], 0);
    assert!(!out.contains("promise-dropped"), "{out}");
}

#[test]
fn a_caution_left_out_of_a_tightened_base_is_one_error() {
    let (out, _) =
        proofread("a_caution_left_out_once", "omit caution \"Wear gloves.\" because \"we do\"\n", 1);
    assert_eq!(out.matches("error[loosens-base]").count(), 1, "{out}");
    assert!(out.contains(":4:6: error[loosens-base]") && !out.contains("Proved:"), "{out}");
}

/// What does not come out in the base alone is mended there.
#[test]
fn an_example_that_fails_in_the_base_too_is_mended_there() {
    let folder = folder("fails_in_the_base_too");
    std::fs::write(
        folder.join("base.rulebook"),
        BASE.replace("above 20 %\n  outranks", "above 55 %\n  outranks"),
    )
    .unwrap();
    let path = folder.join("house.rulebook");
    std::fs::write(&path, HEAD).unwrap();
    let (out, _) = ran(&["proofread", path.to_str().unwrap(), "--width", "200"], 1);
    assert!(out.contains("help: it does not come out in the base either: mend it there"), "{out}");
    assert!(!out.contains("omit worked"), "{out}");
}

/// A misspelled clause of the head is one error: what is laid over the base is not mistaken because of it.
#[test]
fn a_slip_in_the_head_does_not_hide_the_base() {
    let folder = folder("a_slip_in_the_head");
    std::fs::write(folder.join("base.rulebook"), BASE).unwrap();
    let path = folder.join("house.rulebook");
    let head = HEAD.replace("  tightens\n", "  recieves \"typo\"\n");
    std::fs::write(&path, format!("{head}{GATE}omit promise quiet because \"we see to it\"\n")).unwrap();
    let (out, _) = ran(&["proofread", path.to_str().unwrap(), "--width", "200"], 1);
    assert!(out.contains("recieves") && !out.contains("builds on nothing"), "{out}");
    assert_eq!(out.matches("error[").count(), 1, "{out}");
}
