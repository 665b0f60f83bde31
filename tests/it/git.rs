//! Rulebooks under version control, in a real repository: what git shows, what it stores, and the script for a change request.

use crate::cli::{folder, ran};
use std::path::Path;
use std::process::{Command, Output};

const BASE: &str = "rulebook \"Base\"\n  edition \"1\"\n  caution \"The label is the law.\"\n\nsource own \"made for tests\"\n\n\
    observe heat\n  kind temperature\n\nobserve spots\n  kind count\n\n\
    product sulfur\n  strength low 1 g/L\n  cites own\n\n\
    figure hot = 30 °C\n  cites own\n\n\
    gate sulfur-heat\n  shuts sulfur\n  if heat at least hot\n  because \"it burns\"\n  cites own\n\n\
    choice spray-spots\n  advise sulfur at low\n  if spots at least 3\n  outranks rest\n  because \"they spread\"\n  cites own\n\n\
    choice rest\n  advise hold\n  because \"nothing calls for a spray\"\n  cites own\n\n\
    worked \"a hot day\"\n  cites own\n  take heat 35 °C, spots 5\n  expect hold\n\n\
    worked \"spots on a cool day\"\n  cites own\n  take heat 20 °C, spots 5\n  expect sulfur at low\n";

const COUNTY: &str = "rulebook \"County\"\n  builds-on \"base.rulebook\"\n  edition \"1\"\n  caution \"The label is the law.\"\n\n\
    task walk\n  do \"walk the rows\"\n  if spots at least 1\n  because \"they are seen late\"\n  cites own\n\n\
    worked \"one spot\"\n  cites own\n  take spots 1\n  expect task walk\n";

/// Runs a program in a folder, without the settings of whoever runs the tests.
fn run(folder: &Path, program: &str, arguments: &[&str]) -> Output {
    let path = format!(
        "{}:{}",
        Path::new(env!("CARGO_BIN_EXE_bloomward")).parent().unwrap().display(),
        std::env::var("PATH").unwrap_or_default()
    );
    Command::new(program)
        .args(arguments)
        .current_dir(folder)
        .env("PATH", path)
        .env("HOME", folder)
        .env("GIT_CONFIG_NOSYSTEM", "1")
        .env("GIT_PAGER", "cat")
        .output()
        .unwrap_or_else(|error| panic!("these tests need {program}: {error}"))
}

#[track_caller]
fn git(folder: &Path, arguments: &[&str]) -> String {
    let output = run(folder, "git", arguments);
    let (out, error) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert!(output.status.success(), "{arguments:?}\n{out}\n{error}");
    out.into_owned()
}

/// Makes a repository with the settings that the guide for authors tells, and two rulebooks.
fn repository(name: &str) -> std::path::PathBuf {
    let folder = folder(name);
    git(&folder, &["init", "-q", "-b", "main"]);
    for (key, value) in [("user.name", "A Tester"), ("user.email", "tester@example.org")] {
        git(&folder, &["config", key, value]);
    }
    let guide =
        std::fs::read_to_string(format!("{}/rulebooks/README.md", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let settings: Vec<&str> = guide.lines().filter(|line| line.starts_with("git config ")).collect();
    assert_eq!(settings.len(), 4);
    for setting in settings {
        assert!(run(&folder, "sh", &["-c", setting]).status.success(), "{setting}");
    }
    let attributes = guide.lines().find(|line| line.starts_with("*.rulebook ")).unwrap();
    std::fs::write(folder.join(".gitattributes"), format!("{attributes}\n")).unwrap();
    write(&folder, "base.rulebook", BASE);
    write(&folder, "county.rulebook", COUNTY);
    git(&folder, &["add", "."]);
    git(&folder, &["commit", "-q", "-m", "guidance"]);
    folder
}

fn write(folder: &Path, name: &str, text: &str) {
    std::fs::write(folder.join(name), text).unwrap();
}

#[test]
fn git_shows_the_decisions_that_differ_and_its_log_the_text() {
    let folder = repository("git_shows_decisions");
    write(&folder, "base.rulebook", &BASE.replace("hot = 30 °C", "hot = 28 °C"));
    let shown = git(&folder, &["diff"]);
    for words in [
        "Stricter (1 change of verdict)",
        "figure hot: 30 °C becomes 28 °C",
        "heat from 28 °C to below 30 °C",
    ] {
        assert!(shown.contains(words), "{words}\n{shown}");
    }
    // The overlay's text is the same, and so git shows nothing of it.
    assert!(!shown.contains("county.rulebook"), "{shown}");
    let text = git(&folder, &["diff", "--no-ext-diff"]);
    assert!(text.contains("+figure hot = 28 °C"), "{text}");
    write(&folder, "base.rulebook", &BASE.replace("if spots at least 3", "if spots at least 4"));
    git(&folder, &["commit", "-q", "-am", "later"]);
    let log = git(&folder, &["log", "-p", "-1", "-U1"]);
    assert!(log.contains("@@ choice spray-spots"), "the item stands above its piece\n{log}");
    // A new, a deleted and an unreadable rulebook are told, and git goes on.
    write(&folder, "new.rulebook", BASE);
    git(&folder, &["add", "-N", "new.rulebook"]);
    write(&folder, "base.rulebook", &BASE.replace("shuts sulfur", "shuts sulphur"));
    std::fs::remove_file(folder.join("county.rulebook")).unwrap();
    let shown = git(&folder, &["diff"]);
    for words in [
        "the new rulebook cannot be read",
        "did you mean `sulfur`",
        "county.rulebook is deleted",
        "new.rulebook is new",
    ] {
        assert!(shown.contains(words), "{words}\n{shown}");
    }
}

/// An overlay that git copies elsewhere finds its base at its own place.
#[test]
fn an_overlay_is_shown_with_its_base() {
    let folder = repository("git_shows_overlays");
    write(&folder, "county.rulebook", &format!("{COUNTY}\nreplace figure hot = 26 °C\n  cites own\n"));
    let shown = git(&folder, &["diff"]);
    assert!(shown.contains("heat from 26 °C to below 30 °C"), "{shown}");
    // What an edition of the base changes for the county.
    git(&folder, &["checkout", "-q", "county.rulebook"]);
    write(&folder, "base.rulebook", &BASE.replace("at least 3", "at least 2"));
    git(&folder, &["commit", "-q", "-am", "edition"]);
    let compared = run(&folder, "bloomward", &["compare", "HEAD~1:county.rulebook", "HEAD:county.rulebook"]);
    let out = String::from_utf8_lossy(&compared.stdout);
    assert_eq!(compared.status.code(), Some(1), "{out}");
    assert!(out.contains("spots 2") && out.contains("choice spray-spots"), "{out}");
}

#[test]
fn layout_never_shows_as_a_change_and_nothing_is_lost() {
    let folder = repository("git_tidies");
    let stored = git(&folder, &["show", "HEAD:base.rulebook"]);
    write(&folder, "tidy.rulebook", BASE);
    ran(&["tidy", folder.join("tidy.rulebook").to_str().unwrap()], 0);
    assert_eq!(
        stored,
        std::fs::read_to_string(folder.join("tidy.rulebook")).unwrap(),
        "what is stored is tidy"
    );
    write(
        &folder,
        "base.rulebook",
        &BASE.replace("  if heat at least hot", "      if   heat\n  at least hot"),
    );
    assert_eq!(git(&folder, &["diff", "--no-ext-diff", "--stat"]), "");
    // What cannot be read is stored as it is.
    let broken = format!("{BASE}\ngate\n  nonsense here\n");
    write(&folder, "base.rulebook", &broken);
    git(&folder, &["commit", "-q", "-am", "unfinished"]);
    assert_eq!(git(&folder, &["show", "HEAD:base.rulebook"]), broken);
}

/// Two sides whose texts merge by themselves, and whose rules together contradict each other.
#[test]
fn a_merge_is_checked_by_proofreading_and_comparing() {
    let folder = repository("git_merges");
    git(&folder, &["checkout", "-q", "-b", "side"]);
    let more = "choice spray-late\n  advise sulfur at low\n  if spots at least 1\n  outranks rest\n  because \"x\"\n  cites own\n\n";
    write(
        &folder,
        "base.rulebook",
        &BASE.replace("choice spray-spots", &format!("{more}choice spray-spots")),
    );
    git(&folder, &["commit", "-q", "-am", "one side"]);
    git(&folder, &["checkout", "-q", "main"]);
    let wait = "\nchoice wait-in-heat\n  advise hold\n  if heat at least 20 °C\n  outranks spray-spots, rest\n  because \"x\"\n  cites own\n";
    write(
        &folder,
        "base.rulebook",
        &format!("{BASE}{wait}").replace("heat 20 °C, spots", "heat 19 °C, spots"),
    );
    git(&folder, &["commit", "-q", "-am", "the other"]);
    git(&folder, &["merge", "-q", "-m", "merged", "side"]);
    let proofread = run(&folder, "bloomward", &["proofread", "base.rulebook"]);
    let out = String::from_utf8_lossy(&proofread.stdout);
    assert!(out.contains("error[conflict]") && proofread.status.code() == Some(1), "{out}");
    for parent in ["HEAD^1:base.rulebook", "HEAD^2:base.rulebook"] {
        let compared = run(&folder, "bloomward", &["compare", parent, "base.rulebook"]);
        let out = String::from_utf8_lossy(&compared.stdout);
        assert!(out.contains("undecided"), "{parent}\n{out}");
    }
}

#[test]
fn the_script_reviews_a_change_and_what_builds_on_it() {
    let folder = repository("git_reviews");
    let script = format!("{}/rulebooks/review/review.sh", env!("CARGO_MANIFEST_DIR"));
    let review = |status: i32| {
        let output = run(&folder, "sh", &[&script, "HEAD"]);
        let error = String::from_utf8_lossy(&output.stderr).into_owned();
        let text = std::fs::read_to_string(folder.join("review.md")).unwrap_or_default();
        assert_eq!(output.status.code(), Some(status), "{error}\n{text}");
        text
    };
    assert_eq!(review(0), "No rulebook differs.\n");
    write(&folder, "base.rulebook", &BASE.replace("hot = 30 °C", "hot = 28 °C"));
    let text = review(0);
    for words in ["# base.rulebook", "# county.rulebook", "Stricter (1 change of verdict)"] {
        assert!(text.contains(words), "{words}\n{text}");
    }
    // A worked example that fails now, and a text that cannot be read.
    write(&folder, "base.rulebook", &BASE.replace("hot = 30 °C", "hot = 18 °C"));
    assert!(review(1).contains("spots on a cool day"));
    write(&folder, "base.rulebook", &BASE.replace("shuts sulfur", "shuts sulphur"));
    assert!(review(1).contains("cannot be read"));
    let output = run(&folder, "sh", &[&script, "no-such-revision"]);
    assert_eq!(output.status.code(), Some(2));
}

/// Names that git quotes, weather that examples name, a base in another folder, and a change that mends what was broken.
#[test]
fn the_script_misses_no_rulebook_whatever_it_is_called_and_built_on() {
    let folder = repository("git_reviews_names");
    let script = format!("{}/rulebooks/review/review.sh", env!("CARGO_MANIFEST_DIR"));
    let review = |arguments: &[&str], status: i32| {
        let output = run(&folder, "sh", &[&[&*script][..], arguments].concat());
        let error = String::from_utf8_lossy(&output.stderr).into_owned();
        let text = std::fs::read_to_string(folder.join("review.md")).unwrap_or_default();
        assert_eq!(output.status.code(), Some(status), "{error}\n{text}");
        text
    };
    let names = ["peñón.rulebook", "black rot.rulebook", "the \"good\" one.rulebook", "-dash.rulebook"];
    for name in names {
        write(&folder, name, BASE);
    }
    // An overlay whose base lies in another folder, and a rulebook whose examples have weather of their own.
    for at in ["counties", "hours"] {
        std::fs::create_dir_all(folder.join(at)).unwrap();
    }
    write(&folder, "counties/north.rulebook", &COUNTY.replace("\"base.rulebook\"", "\"../base.rulebook\""));
    let warm = "measure warmth = highest temperature over last 3 h\n\n\
        worked \"warm hours\"\n  cites own\n  hours from \"hours/warm.csv\"\n  as-of 2027-02-11T06:00\n  expect warmth is 25 °C\n";
    write(&folder, "weather.rulebook", &format!("{BASE}\n{warm}"));
    let hours = |warmest: &str| {
        let rows: String = (0..6)
            .map(|hour| {
                format!("2027-02-11T0{hour}:00-04:00,{},80,0,0\n", if hour == 4 { warmest } else { "20" })
            })
            .collect();
        write(&folder, "hours/warm.csv", &format!("time,temperature °C,humidity %,rain mm,wind m/s\n{rows}"));
    };
    hours("25");
    git(&folder, &["add", "."]);
    git(&folder, &["commit", "-q", "-m", "more"]);
    assert_eq!(review(&["HEAD"], 0), "No rulebook differs.\n");

    // Each name is compared, and its failing example ends with 1.
    for name in names {
        write(&folder, name, &BASE.replace("hot = 30 °C", "hot = 18 °C"));
        let text = review(&["HEAD"], 1);
        assert!(
            text.contains(&format!("# {name}\n")) && text.contains("spots on a cool day"),
            "{name}\n{text}"
        );
        assert!(text.contains("| 1 | `figure hot` | 30 °C | **18 °C** |"), "{name}\n{text}");
        write(&folder, name, BASE);
    }
    // Weather alone breaks an example.
    hours("29");
    let text = review(&["HEAD"], 1);
    assert!(text.contains("# weather.rulebook") && text.contains("warm hours"), "{text}");
    hours("25");
    // A base outside the folder.
    write(&folder, "base.rulebook", &BASE.replace("hot = 30 °C", "hot = 18 °C"));
    let text = review(&["HEAD", "counties"], 1);
    assert!(text.contains("# counties/north.rulebook") && !text.contains("# base.rulebook"), "{text}");
    assert!(text.contains("| 1 | `figure hot` | 30 °C | **18 °C** |"), "{text}");
    // What could not be read is mended: that passes.
    write(&folder, "base.rulebook", &BASE.replace("shuts sulfur", "shuts sulphur"));
    git(&folder, &["commit", "-q", "-am", "broken"]);
    write(&folder, "base.rulebook", BASE);
    let text = review(&["HEAD"], 0);
    assert!(text.contains("# base.rulebook") && text.contains("the old rulebook cannot be read"), "{text}");
    // New and gone.
    git(&folder, &["commit", "-q", "-am", "mended"]);
    write(&folder, "ñu.rulebook", BASE);
    std::fs::remove_file(folder.join("peñón.rulebook")).unwrap();
    let text = review(&["HEAD"], 0);
    assert!(text.contains("# ñu.rulebook\n\nThis rulebook is new."), "{text}");
    assert!(text.contains("# peñón.rulebook\n\nThis rulebook is gone."), "{text}");
}

/// A clone without its history has no revision to compare with: that is said; what it has is reviewed.
#[test]
fn the_script_says_what_a_shallow_clone_lacks() {
    let folder = repository("git_reviews_shallow");
    let first = git(&folder, &["rev-parse", "HEAD"]);
    write(&folder, "base.rulebook", &BASE.replace("hot = 30 °C", "hot = 29 °C"));
    git(&folder, &["commit", "-q", "-am", "warmer"]);
    let clone = folder.join("a shallow clone");
    let from = format!("file://{}", folder.display());
    git(&folder, &["clone", "-q", "--depth", "1", &from, clone.to_str().unwrap()]);
    let script = format!("{}/rulebooks/review/review.sh", env!("CARGO_MANIFEST_DIR"));
    let output = run(&clone, "sh", &[&script, first.trim()]);
    let error = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2));
    assert!(error.contains("fetch the history first"), "{error}");
    write(&clone, "base.rulebook", &BASE.replace("hot = 30 °C", "hot = 28 °C"));
    assert_eq!(run(&clone, "sh", &[&script, "HEAD"]).status.code(), Some(0));
    let text = std::fs::read_to_string(clone.join("review.md")).unwrap();
    assert!(text.contains("| 1 | `figure hot` | 29 °C | **28 °C** | stricter |"), "{text}");
}

/// What changes only by the rulebook that it builds on is told on that one's page, whatever it is called; a base may lie in a library.
#[test]
fn one_page_tells_of_all_that_is_built_on_a_change() {
    let folder = repository("git_reviews_built_on");
    let script = format!("{}/rulebooks/review/review.sh", env!("CARGO_MANIFEST_DIR"));
    std::fs::create_dir_all(folder.join("the counties")).unwrap();
    let north = COUNTY.replace("\"base.rulebook\"", "\"../base.rulebook\"");
    write(&folder, "the counties/ñuble north.rulebook", &north);
    let own = "gate rank\n  shuts sulfur\n  if spots at least 9\n  because \"too late\"\n  cites own\n";
    write(&folder, "south.rulebook", &format!("{COUNTY}\n{own}"));
    git(&folder, &["add", "."]);
    git(&folder, &["commit", "-q", "-m", "counties"]);
    write(&folder, "base.rulebook", &BASE.replace("hot = 30 °C", "hot = 28 °C"));
    assert_eq!(run(&folder, "sh", &[&script, "HEAD"]).status.code(), Some(0));
    let text = std::fs::read_to_string(folder.join("review.md")).unwrap();
    assert!(text.contains("* Changes by it alike: "), "{text}");
    for name in ["./county.rulebook", "./south.rulebook", "./the counties/ñuble north.rulebook"] {
        assert!(
            text.lines().any(|line| line.starts_with("* Changes by it alike: ") && line.contains(name)),
            "{name}\n{text}"
        );
    }
    assert_eq!(text.matches("### `").count(), 1, "{text}");
    assert_eq!(text.matches("It builds on base.rulebook, and is told there.").count(), 3, "{text}");
    // Without a revision the base as it was is read in the place of the new one.
    write(&folder, "old.rulebook", BASE);
    let (out, _) =
        ran_in(&folder, &["compare", "old.rulebook", "base.rulebook", "--also", "county.rulebook"]);
    assert!(out.contains("Changes by it alike: county.rulebook."), "{out}");
}

fn ran_in(folder: &Path, arguments: &[&str]) -> (String, Option<i32>) {
    let output = run(folder, "bloomward", arguments);
    let all = [output.stdout, output.stderr].concat();
    (String::from_utf8_lossy(&all).into_owned(), output.status.code())
}
