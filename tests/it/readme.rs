//! What the README shows is what happens: its commands run, its files are read, its output is printed.

use crate::cli::{folder, ran, top};
use crate::start;
use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

fn readme() -> String {
    fs::read_to_string(top().join("README.md")).unwrap()
}

/// Returns the fenced blocks of the README, each with the word behind its fence.
fn blocks(readme: &str) -> Vec<(String, String)> {
    let parts = readme.split("\n```").skip(1).step_by(2);
    parts
        .map(|part| part.split_once('\n').unwrap())
        .map(|(word, text)| (word.to_owned(), format!("{text}\n")))
        .collect()
}

/// Runs a command line of the program in a folder.
#[track_caller]
fn runs_in(folder: &Path, line: &str) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bloomward"));
    command.args(&words_of(line)[1..]).current_dir(folder);
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    // Only `start` asks; that no other command reads on is no error.
    let _ = child.stdin.take().unwrap().write_all(start::ANSWERS.as_bytes());
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "{line}\n{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// Parts a command line at blanks, but not in quotes.
fn words_of(line: &str) -> Vec<String> {
    let parts = line.split('"').enumerate().flat_map(|(at, part)| match at % 2 {
        0 => part.split_whitespace().map(str::to_owned).collect(),
        _ => vec![part.to_owned()],
    });
    parts.collect()
}

#[test]
fn the_two_commands_are_the_ones_that_run() {
    let readme = readme();
    let (_, block) = blocks(&readme).into_iter().find(|(word, _)| word == "sh").unwrap();
    let lines: Vec<&str> = block.lines().map(|line| line.split('#').next().unwrap().trim()).collect();
    let [run, test] = lines[..] else { panic!("two commands, and not {lines:?}") };
    let arguments: Vec<&str> = run.strip_prefix("cargo run --release -- ").unwrap().split(' ').collect();
    assert!(ran(&arguments, 0).0.contains("THE MIXES"));
    let checks = fs::read_to_string(top().join(".ci/run")).unwrap();
    assert!(checks.lines().any(|line| line == format!("step {test}")), "`{test}` is what .ci/run runs");
}

#[test]
fn the_small_rulebook_says_what_is_shown() {
    let (readme, folder) = (readme(), folder("the_small_rulebook"));
    let mut shown = 0;
    for (_, block) in blocks(&readme) {
        let (first, rest) = block.split_once('\n').unwrap();
        if let Some(file) = first.strip_prefix("# ") {
            fs::write(folder.join(file), block).unwrap();
        } else if let Some(line) = first.strip_prefix("$ ") {
            let printed = runs_in(&folder, line);
            let mut left = printed.as_str();
            for part in rest.split("…\n").filter(|part| !part.is_empty()) {
                let at = left.find(part);
                assert!(at.is_some(), "not printed, or not in this order:\n{part}\nbut\n{printed}");
                left = &left[at.unwrap() + part.len()..];
            }
            shown += 1;
        }
    }
    assert_eq!(shown, 1);
}

#[test]
fn every_command_of_the_table_runs() {
    let (readme, folder) = (readme(), folder("every_command_of_the_table"));
    let (help, _) = ran(&["--help"], 0);
    let lines = readme.lines().filter_map(|line| line.strip_prefix("| `bloomward ")?.split('`').next());
    let lines: Vec<&str> = lines.collect();
    for line in &lines {
        let printed = runs_in(
            &folder,
            &format!("bloomward {}", line.replace("BOOK", "my-grove/rulebooks/dry-hills.rulebook")),
        );
        assert!(!printed.is_empty() || line.starts_with("tidy"), "{line}");
    }
    let commands =
        help.lines().skip_while(|line| *line != "Commands:").skip(1).take_while(|line| !line.is_empty());
    let names =
        commands.filter_map(|line| line.strip_prefix("  ")?.split(' ').next()).filter(|it| !it.is_empty());
    for command in names.filter(|it| *it != "help") {
        assert!(lines.iter().any(|line| line.starts_with(command)), "{command} is not in the README");
    }
}
