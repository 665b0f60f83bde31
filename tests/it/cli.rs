//! The program itself: flags arrive, outputs go where they belong, the exit status says what happened.

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

pub fn top() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

pub fn run(arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bloomward"));
    command.args(arguments).current_dir(top()).env_remove("NO_COLOR").output().unwrap()
}

#[track_caller]
pub fn ran(arguments: &[&str], status: i32) -> (String, String) {
    let output = run(arguments);
    let (out, error) = (String::from_utf8(output.stdout).unwrap(), String::from_utf8(output.stderr).unwrap());
    assert_eq!(output.status.code(), Some(status), "{arguments:?}\n{out}\n{error}");
    (out, error)
}

/// An empty folder of this test, whose name is its own.
pub fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

#[test]
fn advise_prints_the_page_and_the_json_of_the_same_trees() {
    let (page, error) = ran(&["advise", "--long", "examples/mixed-grove", "--width", "60"], 0);
    assert_eq!(error, "");
    assert!(page.lines().all(|line| line.chars().count() <= 60));
    for words in
        ["SPRAY", "CHECK FIRST", "DO NOT SPRAY", "NOT TODAY", "The product label in force is the law"]
    {
        assert!(page.contains(words), "{words}");
    }
    let (json, _) = ran(&["advise", "examples/mixed-grove", "--format", "json"], 0);
    let json: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["format"], "bloomward.advice/1");
    assert_eq!(json["trees"].as_array().unwrap().len(), 120);
    let (one, _) = ran(&["advise", "examples/mixed-grove", "--tree", "C03", "--format", "json"], 0);
    let one: Value = serde_json::from_str(&one).unwrap();
    assert_eq!(one["trees"].as_array().unwrap().len(), 1);
    let same = json["trees"].as_array().unwrap().iter().find(|tree| tree["tree"] == "C03").unwrap();
    assert_eq!(one["trees"][0]["spray"], same["spray"]);
}

#[test]
fn a_grove_is_found_by_its_folder_or_its_file_and_else_said() {
    ran(&["advise", "--long", "examples/garden/grove.yaml"], 0);
    let (_, error) = ran(&["advise", "--long", "examples/gardn"], 2);
    assert!(error.contains("gardn"), "{error}");
    let (out, error) = ran(&["advise", "--long", "examples/broken"], 2);
    assert_eq!(out, "");
    // All that is wrong is said in one run, each with the words to write.
    for words in [
        "did you mean `full-bloom`",
        "did you mean `copper`",
        "given twice",
        "add up to 90 %",
        "is not a date",
    ] {
        assert!(error.contains(words), "{words}: {error}");
    }
}

#[test]
fn the_guide_contradicts_itself_and_says_so() {
    let (page, _) = ran(&["advise", "--long", "examples/broken/two-minds"], 0);
    assert!(page.contains("THE GUIDE CONTRADICTS ITSELF"), "{page}");
}

#[test]
fn another_moment_and_another_book() {
    let (page, _) = ran(&["advise", "--long", "examples/garden", "--as-of", "2027-03-02T17:00"], 0);
    assert!(page.contains("Tue, Mar 2, 2027, 5:00 pm"), "{page}");
    ran(&["advise", "--long", "examples/garden", "--by", "rulebooks/humid-lowland.rulebook"], 0);
    let (_, error) = ran(&["advise", "--long", "examples/garden", "--as-of", "soon"], 2);
    assert!(error.contains("soon"), "{error}");
}

#[test]
fn why_tells_all_of_one_tree_and_why_not_a_product() {
    let (page, _) = ran(&["why", "--all", "examples/mixed-grove", "C03"], 0);
    for words in ["choice ", "because", "What would change it"] {
        assert!(page.contains(words), "{words}");
    }
    let (not, _) = ran(&["why", "--all", "examples/mixed-grove", "C01", "--not", "copper"], 0);
    assert!(not.contains("copper"), "{not}");
    let (json, _) = ran(&["why", "examples/mixed-grove", "C03", "--format", "json"], 0);
    let json: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["situations"].as_object().unwrap().len(), 1);
    let (_, error) = ran(&["why", "--all", "examples/mixed-grove", "C033"], 2);
    assert!(error.contains("did you mean"), "{error}");
}

#[test]
fn proofread_ends_with_one_where_there_are_errors_and_with_none_where_there_are_doubts() {
    ran(&["proofread", "rulebooks/base/mango.rulebook"], 0);
    let (out, _) = ran(&["proofread", "examples/broken/mistakes.rulebook"], 1);
    for code in ["unknown-name", "unit-mismatch", "circular", "table-overlap", "no-caution", "syntax"] {
        assert!(out.contains(code), "{code}: {out}");
    }
    let (json, _) = ran(&["proofread", "examples/broken/mistakes.rulebook", "--format", "json"], 1);
    let json: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["format"], "bloomward.findings/1");
    ran(&["proofread", "no-such.rulebook"], 2);
    let (explained, _) = ran(&["proofread", "--explain", "unit-mismatch"], 0);
    assert!(explained.contains("unit-mismatch"), "{explained}");
}

#[test]
fn tidy_tells_and_writes() {
    let folder = folder("tidy_tells_and_writes");
    let book = folder.join("a.rulebook");
    std::fs::write(&book, "rulebook   \"A\"\n   caution \"b\"   # kept\n").unwrap();
    let path = book.to_str().unwrap();
    ran(&["tidy", "--check", path], 1);
    ran(&["tidy", path], 0);
    let (out, _) = ran(&["tidy", "--check", path], 0);
    assert_eq!(out, "");
    assert!(std::fs::read_to_string(&book).unwrap().contains("# kept"));
    std::fs::write(&book, "rulebook \"A\"\n  caution \"b\"\n\ngate\n").unwrap();
    let (_, error) = ran(&["tidy", path], 2);
    assert!(error.contains("error[syntax]"), "{error}");
    assert_eq!(std::fs::read_to_string(&book).unwrap(), "rulebook \"A\"\n  caution \"b\"\n\ngate\n");
}

#[test]
fn an_empty_rulebook_is_not_tidy() {
    let folder = folder("an_empty_rulebook");
    for (name, text) in [("a.rulebook", ""), ("b.rulebook", " \n\n"), ("c.rulebook", "\u{feff}\n")] {
        let book = folder.join(name);
        std::fs::write(&book, text).unwrap();
        for arguments in [&["tidy", "--check", book.to_str().unwrap()][..], &["tidy", book.to_str().unwrap()]]
        {
            let (out, error) = ran(arguments, 2);
            assert_eq!(out, "");
            assert!(error.contains("is empty:"), "{error}");
        }
        assert_eq!(std::fs::read_to_string(&book).unwrap(), text);
    }
}

#[cfg(unix)]
#[test]
fn tidy_keeps_links_and_permissions_and_leaves_tidy_files_alone() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = folder("tidy_keeps_links");
    let (book, link) = (folder.join("a.rulebook"), folder.join("link.rulebook"));
    std::fs::write(&book, "rulebook \"A\"\n    caution \"b\"\n").unwrap();
    std::fs::set_permissions(&book, std::fs::Permissions::from_mode(0o640)).unwrap();
    symlink("a.rulebook", &link).unwrap();
    ran(&["tidy", link.to_str().unwrap()], 0);
    assert!(link.is_symlink());
    assert_eq!(std::fs::read_to_string(&book).unwrap(), "rulebook \"A\"\n  caution  \"b\"\n");
    assert_eq!(book.metadata().unwrap().permissions().mode() & 0o777, 0o640);
    let before = book.metadata().unwrap().modified().unwrap();
    ran(&["tidy", link.to_str().unwrap()], 0);
    assert_eq!(book.metadata().unwrap().modified().unwrap(), before);
    let left: Vec<_> = std::fs::read_dir(&folder).unwrap().map(|it| it.unwrap().file_name()).collect();
    assert_eq!(left.len(), 2, "{left:?}");
}

#[test]
fn start_makes_a_grove_that_works_and_overwrites_nothing() {
    let folder = folder("start_makes_a_grove");
    let grove = folder.join("mine");
    let path = grove.to_str().unwrap();
    let (out, _) = ran(&["start", path, "--example", "mixed-grove"], 0);
    assert!(out.contains("120 trees in 8 rows"), "{out}");
    ran(&["advise", "--long", path], 0);
    let (_, error) = ran(&["start", path, "--example", "mixed-grove"], 2);
    assert!(error.contains("nothing is overwritten"), "{error}");
    let (_, error) = ran(&["start", path, "--example", "mixed-grov"], 2);
    assert!(error.contains("did you mean `mixed-grove`"), "{error}");
    let (list, _) = ran(&["start", "--list"], 0);
    assert!(list.contains("garden"), "{list}");
}

#[test]
fn an_agent_changes_a_threshold_and_mistypes_a_name() {
    let folder = folder("an_agent_changes_a_threshold");
    let book = |text: &str| {
        let path = folder.join("county.rulebook");
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_string()
    };
    let base = std::fs::read_to_string(top().join("rulebooks/base/mango.rulebook")).unwrap();
    assert!(base.contains("figure hot = 90 °F"));
    // What the guide promises is proved: sulfur below 90 °F is promised where there is mildew.
    let (out, _) = ran(&["proofread", &book(&base.replace("figure hot = 90 °F", "figure hot = 86 °F"))], 1);
    assert!(out.contains("promise-broken") && out.contains("mildew-gets-sulfur"), "{out}");
    let (out, _) =
        ran(&["proofread", &book(&base.replace("heat-ahead at least hot\n", "heat-ahed at least hot\n"))], 1);
    assert!(out.contains("did you mean `heat-ahead`"), "{out}");
    let (out, _) = ran(&["proofread", &book(&base.replace("figure hot = 90 °F", "figure hot = 90"))], 1);
    assert!(out.contains("expected a temperature"), "{out}");
}

#[test]
fn hostile_files_end_with_two_and_a_message() {
    let folder = folder("hostile_files");
    let with = |file: &str, bytes: &[u8]| {
        for entry in std::fs::read_dir(top().join("examples/garden")).unwrap() {
            let path = entry.unwrap().path();
            std::fs::copy(&path, folder.join(path.file_name().unwrap())).unwrap();
        }
        let rulebook = top().join("rulebooks/dry-hills.rulebook");
        let yaml = std::fs::read_to_string(folder.join("grove.yaml")).unwrap();
        let yaml = yaml.replace("../../rulebooks/dry-hills.rulebook", rulebook.to_str().unwrap());
        std::fs::write(folder.join("grove.yaml"), yaml).unwrap();
        let mut text = std::fs::read(folder.join(file)).unwrap();
        text.extend_from_slice(bytes);
        std::fs::write(folder.join(file), text).unwrap();
        ran(&["advise", "--long", folder.to_str().unwrap()], 2).1
    };
    assert!(with("grove.yaml", b"\0").contains("NUL"));
    assert!(with("sprays.csv", b"\xff\xfe").contains("UTF-8"));
    assert!(with("sprays.csv", b"2027-02-20T05:00,2027-02").contains("breaks off"));
    assert!(with("grove.yaml", b"grove: again\n").contains("twice"));
    let bomb = "a: &a [x,x,x,x,x,x,x,x,x]\nb: &b [*a,*a,*a,*a,*a,*a,*a,*a,*a]\nc: &c [*b,*b,*b,*b,*b,*b,*b,*b]\nd: &d [*c,*c,*c,*c,*c,*c,*c,*c]\ne: [*d,*d,*d,*d,*d,*d,*d,*d]\n";
    assert!(with("grove.yaml", bomb.as_bytes()).contains("alias"));
}

#[test]
fn a_chain_of_names_as_long_as_a_rulebook_is_followed_to_its_end() {
    let folder = folder("long-chain");
    let mut book = String::from(
        "rulebook \"Chain\"\n  caution \"Read the label.\"\nobserve m0\n  kind number\n  range from 0 to 10\n",
    );
    for link in 1..=3000 {
        book += &format!("measure m{link} = m{} + 1\n", link - 1);
    }
    book += "choice stop\n  advise hold\n  if m3000 above 3002\n  cites common-practice\n";
    std::fs::write(folder.join("chain.rulebook"), book).unwrap();
    std::fs::write(
        folder.join("grove.yaml"),
        "grove: Chain\nrulebook: chain.rulebook\nunits: us\nas-of: 2027-02-11T05:30\nsprays: none yet\n\
         place: { latitude: 18, longitude: -66, elevation: 100 m, timezone: America/Puerto_Rico }\n\
         blocks:\n  - { block: b }\ntrees:\n  - { tree: T1, block: b, cultivar: Kent, m0: 3, seen: 2027-02-11 }\n",
    )
    .unwrap();
    let (page, _) = ran(&["advise", "--long", folder.to_str().unwrap()], 0);
    assert!(page.contains("DO NOT SPRAY") && page.contains("m3000"), "{page}");
}

#[test]
fn completions_and_the_manual_know_every_command() {
    let (help, _) = ran(&["--help"], 0);
    let commands: Vec<&str> =
        help.lines().filter_map(|line| line.strip_prefix("  ")?.split(' ').next()).collect();
    let commands: Vec<&str> =
        commands.into_iter().filter(|it| !it.is_empty() && !it.starts_with('-')).collect();
    assert!(commands.len() >= 6, "{commands:?}");
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let (script, _) = ran(&["completions", shell], 0);
        assert!(commands.iter().all(|command| script.contains(command)), "{shell}");
    }
    let (manual, _) = ran(&["man"], 0);
    assert!(commands.iter().all(|command| manual.contains(command)), "{manual}");
    let (page, _) = ran(&["man", "advise"], 0);
    assert!(page.contains("as\\-of"), "{page}");
    let (_, error) = ran(&["man", "advice"], 2);
    assert!(error.contains("there is no command `advice`"), "{error}");
}

#[test]
fn a_reader_that_has_seen_enough_is_no_error() {
    for arguments in [
        &["advise", "--long", "examples/mixed-grove"][..],
        &["advise", "examples/mixed-grove", "--format", "json"],
        &["proofread", "rulebooks/humid-lowland.rulebook"],
        &["man"],
    ] {
        let mut command = Command::new(env!("CARGO_BIN_EXE_bloomward"));
        command.args(arguments).current_dir(top()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        drop(child.stdout.take());
        let output = child.wait_with_output().unwrap();
        assert_eq!(output.status.code(), Some(0), "{arguments:?}");
        assert_eq!(String::from_utf8(output.stderr).unwrap(), "", "{arguments:?}");
    }
}

#[test]
fn what_is_refused_keeps_to_its_width() {
    for arguments in [
        &["advise", "--long", "examples/nowhere-to-be-found"][..],
        &["advise", "--long", "examples/broken"],
        &["why", "--all", "examples/garden", "T99"],
        &["why", "--all", "examples/garden", "T01", "--not", "coper"],
        &["proofread", "examples/no-such-file.rulebook"],
        &["tidy", "examples/broken/mistakes.rulebook"],
        &["start", "--example", "no-such-example"],
    ] {
        let (out, error) = ran(&[arguments, &["--width", "30"]].concat(), 2);
        assert_eq!(out, "", "{arguments:?}");
        assert!(!error.is_empty() && error.lines().all(|line| line.chars().count() <= 30), "{error}");
    }
}

#[test]
fn a_rulebook_with_errors_at_its_text_is_no_ground_for_advice() {
    let folder = folder("a_rulebook_with_errors");
    let grove = folder.join("grove");
    ran(&["start", grove.to_str().unwrap(), "--example", "garden"], 0);
    let book = grove.join("rulebooks/dry-hills.rulebook");
    let text = std::fs::read_to_string(&book).unwrap();
    let with = |more: &str| {
        std::fs::write(&book, format!("{text}\n{more}")).unwrap();
        ran(&["advise", "--long", grove.to_str().unwrap()], 2).1
    };
    let gate =
        "gate new\n  shuts sulfur\n  if heat-ahed above 90 °F\n  because \"x\"\n  cites common-practice\n";
    assert!(with(gate).contains("error[unknown-name]"));
    let table = "table t\n  cites common-practice\n  of temperature\n  gives number\n  \
                 from 1 °C to 3 °C 1\n  from 2 °C to 4 °C 2\n";
    assert!(with(table).contains("error[table-overlap]"));
    let choice = |name: &str, other: &str| {
        format!(
            "choice {name}\n  advise hold\n  outranks {other}\n  because \"x\"\n  cites common-practice\n\n"
        )
    };
    assert!(with(&(choice("one", "two") + &choice("two", "one"))).contains("error[rank-circle]"));
    // What is merely doubtful does not keep anybody from advice.
    std::fs::write(&book, format!("{text}\nfigure idle = 3 d\n")).unwrap();
    let (page, error) = ran(&["advise", "--long", grove.to_str().unwrap()], 0);
    assert!(page.contains("SPRAY") && error.is_empty(), "{error}");
}

#[test]
fn files_that_a_grove_names_and_has_not_are_all_said_in_one_run() {
    let folder = folder("files_that_a_grove_names");
    let grove = folder.join("grove");
    ran(&["start", grove.to_str().unwrap(), "--example", "southern"], 0);
    for file in ["trees.csv", "weather.csv", "sprays.csv"] {
        std::fs::remove_file(grove.join(file)).unwrap();
    }
    let (_, error) = ran(&["advise", "--long", grove.to_str().unwrap()], 2);
    for file in ["trees.csv", "weather.csv", "sprays.csv"] {
        assert!(error.contains(&format!("grove/{file}`")), "{file}: {error}");
    }
    assert!(error.contains("grove.yaml:"), "{error}");
}

/// Where more is open than can be told, the page says so; the JSON has the answers of one question and says that more are
/// left out.
#[test]
fn questions_without_answers_are_said_to_be_the_first_ones() {
    let said = "Too much is still unknown to list every outcome. Check these first, then run `bloomward advise` again.";
    let one_line = |page: &str| page.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    for command in [
        ["advise", "--long", "examples/garden", "--tree", "T11"].as_slice(),
        &["why", "--all", "examples/garden", "T11"],
    ] {
        let (page, _) = ran(command, 0);
        assert!(one_line(&page).contains(&said.to_lowercase()), "{page}");
        let (json, _) = ran(&[command, &["--format", "json"]].concat(), 0);
        let json: Value = serde_json::from_str(&json).unwrap();
        let tree = &json["trees"][0];
        assert!(tree["answers_left_out"].is_string(), "{tree}");
        let of_one: Vec<&Value> = tree["answers"].as_array().unwrap().iter().map(|it| &it["name"]).collect();
        assert!(!of_one.is_empty() && of_one.iter().all(|name| *name == of_one[0]), "{tree}");
        assert!(tree["needs"].as_array().unwrap().len() > 1, "{tree}");
    }
    // Where each answer is told, it is not said.
    let (page, _) = ran(&["advise", "--long", "examples/mixed-grove", "--tree", "C12"], 0);
    assert!(page.contains("CHECK FIRST") && !one_line(&page).contains("too much is still"), "{page}");
}

/// The range over which a verdict stays the same ends where a tree of the next value comes to another.
#[test]
fn why_says_how_far_a_verdict_holds() {
    let folder = folder("why_says_how_far");
    let book = "rulebook \"Test\"\n  caution \"x\"\nsource own \"made\"\n\
        observe spots\n  kind count\nobserve mildew\n  kind share\n\
        product copper\n  strength low 1 g/L\n  cites own\n\
        choice spray-spots\n  advise copper at low\n  if spots from 2 to 5 and mildew below 10 %\n  outranks rest\n  cites own\n\
        choice rest\n  advise hold\n  cites own\n";
    std::fs::write(folder.join("test.rulebook"), book).unwrap();
    let grove = |spots: u32, mildew: &str| {
        let text = format!(
            "grove: Test\nrulebook: test.rulebook\nsprays: none yet\nas-of: 2027-02-11T05:30\n\
             place: {{ latitude: 18.05, longitude: -66.50, elevation: 120 m, timezone: America/Puerto_Rico }}\n\
             blocks:\n  - {{ block: b }}\ntrees:\n  - {{ tree: T1, block: b, spots: {spots}, mildew: {mildew}, seen: 2027-02-11 }}\n"
        );
        std::fs::write(folder.join("grove.yaml"), text).unwrap();
        ran(&["why", "--all", folder.to_str().unwrap(), "T1"], 0).0
    };
    let page = grove(3, "9.9 %");
    assert!(page.contains("SPRAY"), "{page}");
    for words in ["The advice stays the same", "spots from 2 to 5\n", "mildew below 10 %\n"] {
        assert!(page.contains(words), "{words}\n{page}");
    }
    for (spots, mildew, sprays) in
        [(2, "0 %", true), (5, "0 %", true), (1, "0 %", false), (6, "0 %", false), (3, "10 %", false)]
    {
        assert_eq!(grove(spots, mildew).contains("\nSPRAY copper"), sprays, "{spots} {mildew}");
    }
}
