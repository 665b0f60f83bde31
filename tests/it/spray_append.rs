//! The spray log loses nothing: a writer that is killed, a full disk, writers at once, a row that was cut off.

use crate::cli::{folder, ran, run};
use crate::log_append::{Instants, kill, whole_and_torn};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Instant;

const BOOK: &str = "rulebook \"Small\"\n  caution \"The product label in force is the law.\"\n\n\
    observe mildew \"panicles with mildew\"\n  kind share\n\n\
    product sulfur\n  strength weak 2 g/L\n\n\
    choice wait\n  advise hold\n";

const HEADER: &str = "start,end,on,product,jug,registration,strength,rate,volume,area,stage,target,wind,temperature,\
                      humidity,operator,certificate,sheet,note,trees-sprayed,land-sprayed,jug-held,blocks-sprayed,\
                      product-used,in-spray,on-land,keep-out-until,pick-not-before,corrects\n";
const FIRST: &str = "2027-02-01T05:00,2027-02-01T06:00,A01,sulfur,,,weak,,,,,,,,,,,,,\n";

/// A small grove in which nothing was sprayed yet.
fn grove(name: &str) -> PathBuf {
    let folder = folder(name);
    fs::write(folder.join("book.rulebook"), BOOK).unwrap();
    fs::write(folder.join("grove.yaml"), yaml("none yet")).unwrap();
    folder
}

fn yaml(sprays: &str) -> String {
    format!(
        "grove: Small\nrulebook: book.rulebook\nas-of: 2027-02-09T05:00\n\
         place: {{ latitude: 18.2, longitude: -66.3, timezone: America/Puerto_Rico }}\n\
         sprays: {sprays}\ntrees:\n  - {{ tree: A01 }}\n  - {{ tree: A02 }}\n  - {{ tree: A03 }}\n"
    )
}

/// A grove that has a log with one row.
fn with_log(name: &str) -> PathBuf {
    let grove = grove(name);
    fs::write(grove.join("grove.yaml"), yaml("sprays.csv")).unwrap();
    fs::write(grove.join("sprays.csv"), format!("{HEADER}{FIRST}")).unwrap();
    grove
}

/// What is typed of a spray of A02 in the hour of a round, and the row that it comes to.
fn typed(round: usize, note: &str) -> (Vec<String>, String) {
    let (day, hour) = (1 + round / 20 % 8, 1 + round % 20);
    let (start, end) = (format!("2027-02-{day:02}T{hour:02}:00"), format!("2027-02-{day:02}T{hour:02}:40"));
    let words = ["--on", "A02", "--product", "sulfur", "--strength", "weak", "--yes"];
    let more = ["--start", &start, "--end", &end, "--note", note];
    let words = words.iter().chain(&more).map(|word| word.to_string()).collect();
    (words, format!("{start},{end},A02,sulfur,,,weak,2 g/L,,,,,,,,,,,{note},A02,,,grove: A02,,,,,,"))
}

fn sprayed(grove: &Path, words: &[String]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bloomward"));
    command.arg("sprayed").arg(grove).args(words).stdin(Stdio::null());
    command.stdout(Stdio::null()).stderr(Stdio::null());
    command
}

fn text(grove: &Path) -> String {
    fs::read_to_string(grove.join("sprays.csv")).unwrap()
}

/// Holds the log against what a killed writer may leave: the rows that were there, and the new one whole, cut off or not
/// at all. One that was cut off is told by those who read and by those who write, and nothing is written behind it.
#[track_caller]
fn holds(grove: &Path, before: &str, wanted: &str) -> bool {
    let now = text(grove);
    let (lines, torn) = whole_and_torn(&now);
    let known: Vec<&str> = before.lines().collect();
    assert_eq!(&lines[..known.len()], &known[..], "a row that was there is there");
    assert!(lines[known.len()..].iter().all(|line| *line == wanted) && lines.len() <= known.len() + 1);
    if torn.is_empty() {
        return false;
    }
    assert!(wanted.starts_with(torn), "`{torn}` is the beginning of `{wanted}`");
    let path = grove.to_string_lossy();
    for command in ["advise", "records"] {
        let (said, error) = ran(&[command, &path], 2);
        assert!(error.contains("sprays.csv") && said.is_empty(), "{error}");
    }
    let (other, _) = typed(0, "other");
    let output = sprayed(grove, &other).stderr(Stdio::piped()).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("--fix cut"));
    assert_eq!(text(grove), now, "nothing is written behind a torn row");
    true
}

#[test]
fn a_writer_of_sprays_killed_at_any_instant_leaves_whole_rows_and_at_most_one_torn_one() {
    let grove = with_log("a_writer_of_sprays_killed");
    let began = Instant::now();
    assert!(sprayed(&grove, &typed(0, "first").0).status().unwrap().code().is_some_and(|code| code < 2));
    let usual = began.elapsed().as_micros() as u64;
    let (mut instants, mut outcomes) = (Instants::new(17), [0usize; 2]);
    for round in 1..=300 {
        // From time to time the season begins anew, so that its rows stay few.
        if round % 60 == 0 {
            fs::write(grove.join("sprays.csv"), format!("{HEADER}{FIRST}")).unwrap();
        }
        let before = text(&grove);
        let (words, wanted) = typed(round, &format!("round {round}"));
        let child = sprayed(&grove, &words).spawn().unwrap();
        std::thread::sleep(std::time::Duration::from_micros(instants.below(usual * 5 / 4)));
        kill(child);
        if holds(&grove, &before, &wanted) {
            ran(
                &[
                    "sprayed",
                    &grove.to_string_lossy(),
                    "--fix",
                    "cut",
                    "--product",
                    "none",
                    "--corrects",
                    "2",
                ],
                0,
            );
        }
        outcomes[usize::from(text(&grove).len() > before.len())] += 1;
    }
    // How many wrote first hangs on the machine; one that is let be always does.
    println!("{} of 300 were killed before they wrote", outcomes[0]);
    let (words, wanted) = typed(301, "let be");
    assert!(sprayed(&grove, &words).status().unwrap().code().is_some_and(|code| code < 2));
    assert!(text(&grove).ends_with(&format!("{wanted}\n")));
    ran(&["records", &grove.to_string_lossy()], 0);
}

/// Kills as soon as the file grows, while the kernel still copies a long note: here a row is really cut off.
#[test]
fn a_long_row_of_sprays_that_is_cut_off_is_told_and_put_aside() {
    let grove = with_log("a_long_row_of_sprays");
    let before = text(&grove);
    let long = "the wind turned at the last row ".repeat(3500);
    let (words, wanted) = typed(3, long.trim());
    let (mut torn_rows, mut instants) = (0, Instants::new(19));
    let file = grove.join("sprays.csv");
    for _ in 0..60 {
        fs::write(&file, &before).unwrap();
        let mut child = sprayed(&grove, &words).spawn().unwrap();
        while fs::metadata(&file).unwrap().len() == before.len() as u64 && child.try_wait().unwrap().is_none()
        {
            std::hint::spin_loop();
        }
        for _ in 0..instants.below(500) {
            std::hint::spin_loop();
        }
        kill(child);
        torn_rows += usize::from(holds(&grove, &before, &wanted));
    }
    // Where the machine always finishes the copy first this shows less; then the row is cut by hand.
    println!("{torn_rows} of 60 were cut off within the row");
    fs::write(&file, format!("{before}{}", &wanted[..5000])).unwrap();
    assert!(holds(&grove, &before, &wanted));
    let path = grove.to_string_lossy().into_owned();
    ran(&["sprayed", &path, "--fix", "cut", "--product", "none", "--corrects", "2"], 0);
    let aside = fs::read_to_string(grove.join("sprays.csv.torn")).unwrap();
    assert!(aside.ends_with(&format!("{}\n", &wanted[..5000])));
    let strike = "none,,,,,,,,,,,,,,,,,,,,,,,,,2\n";
    assert!(text(&grove).starts_with(&before) && text(&grove).ends_with(strike), "{}", text(&grove));
}

/// The first spray of a season makes the log and names it. Whenever that is killed, no row is overlooked: a log that has one
/// is named, and every state that is left can be read and gone on from.
#[test]
fn a_first_spray_killed_at_any_instant_is_stored_or_was_never_there() {
    let grove = grove("a_first_spray_killed");
    let path = grove.to_string_lossy().into_owned();
    let (words, wanted) = typed(5, "first of the season");
    let began = Instant::now();
    assert!(sprayed(&grove, &words).status().unwrap().success());
    let usual = began.elapsed().as_micros() as u64;
    let named = fs::read_to_string(grove.join("grove.yaml")).unwrap();
    assert_eq!(named, yaml("sprays.csv"));
    let (mut instants, mut states) = (Instants::new(23), [0usize; 3]);
    for _ in 0..200 {
        fs::write(grove.join("grove.yaml"), yaml("none yet")).unwrap();
        let _ = fs::remove_file(grove.join("sprays.csv"));
        let child = sprayed(&grove, &words).spawn().unwrap();
        std::thread::sleep(std::time::Duration::from_micros(usual / 2 + instants.below(usual * 3 / 4)));
        kill(child);
        let is_named = fs::read_to_string(grove.join("grove.yaml")).unwrap() == named;
        let log = fs::read_to_string(grove.join("sprays.csv")).unwrap_or_default();
        let state = match (is_named, log.as_str()) {
            (false, "") | (false, HEADER) => 0,
            (true, HEADER) => 1,
            (true, other) => {
                assert_eq!(other, format!("{HEADER}{wanted}\n"));
                2
            }
            (false, other) => panic!("a row in a log that is not named: {other}"),
        };
        states[state] += 1;
        if state < 2 {
            ran(&["records", &path], 0);
        }
    }
    println!("before the log was named, between, and after: {states:?}");
    fs::write(grove.join("grove.yaml"), yaml("none yet")).unwrap();
    fs::write(grove.join("sprays.csv"), HEADER).unwrap();
    assert!(sprayed(&grove, &words).status().unwrap().success());
    assert_eq!(text(&grove), format!("{HEADER}{wanted}\n"));
}

#[test]
fn a_spray_cut_off_at_any_byte_is_never_read_and_never_written_behind() {
    let grove = with_log("a_spray_cut_off_at_any_byte");
    let path = grove.to_string_lossy().into_owned();
    let row = "2027-02-03T05:00,2027-02-03T06:00,\"A01; A03\",sulfur,,,weak,,4 gal,,,,,68 °F,,T. R.,,,\"left, late\",\n";
    let (other, _) = typed(1, "other");
    for at in (1..row.len()).filter(|at| row.is_char_boundary(*at) || at % 2 == 0) {
        let bytes = [HEADER.as_bytes(), FIRST.as_bytes(), &row.as_bytes()[..at]].concat();
        fs::write(grove.join("sprays.csv"), &bytes).unwrap();
        for command in ["advise", "records"] {
            assert_eq!(run(&[command, &path]).status.code(), Some(2), "{command}, cut at byte {at}");
        }
        assert_eq!(sprayed(&grove, &other).status().unwrap().code(), Some(2), "cut at byte {at}");
        assert_eq!(fs::read(grove.join("sprays.csv")).unwrap(), bytes);
    }
    // The row is whole but for its line break: the grower may keep it.
    fs::write(grove.join("sprays.csv"), format!("{HEADER}{FIRST}{}", row.trim_end())).unwrap();
    let (mut words, wanted) = typed(1, "other");
    words.extend(["--fix".to_string(), "keep".to_string()]);
    assert!(sprayed(&grove, &words).status().unwrap().success());
    assert_eq!(text(&grove), format!("{HEADER}{FIRST}{row}{wanted}\n"));
}

/// A full disk, by the limit of the shell on the size of a file: the write stops midway, and is taken back.
#[cfg(unix)]
#[test]
fn a_full_disk_leaves_the_spray_log_as_it_was_and_is_said() {
    let grove = with_log("a_full_disk_for_sprays");
    let (words, wanted) = typed(7, "a remark that finds no room");
    // 512-byte blocks in `sh`: the file is filled up to a few bytes below the limit of 8 of them.
    let filling = 8 * 512 - 20 - HEADER.len() - FIRST.len();
    let row = "2027-02-02T05:00,2027-02-02T06:00,A01,sulfur,,,weak,,,,,,,,,,,,,\n";
    let row = row.replace(",,\n", &format!(",{},\n", "x".repeat(filling - row.len())));
    let short = "start,end,on,product,strength,note\n";
    let old = format!("{short}2027-02-02T05:00,2027-02-02T06:00,A01,sulfur,weak,{}\n", "x".repeat(3980));
    for before in [format!("{HEADER}{FIRST}{row}"), old] {
        fs::write(grove.join("sprays.csv"), &before).unwrap();
        let mut words = words.clone();
        if before.starts_with(short) {
            // The header lacks this column, so that the file is written anew.
            words.extend(["--operator".to_string(), "T. R.".to_string()]);
        }
        let output = Command::new("sh")
            .args([
                "-c",
                "trap '' XFSZ; ulimit -f 8; exec \"$0\" sprayed \"$@\"",
                env!("CARGO_BIN_EXE_bloomward"),
            ])
            .arg(&grove)
            .args(&words)
            .stdin(Stdio::null())
            .output()
            .unwrap();
        let error = String::from_utf8_lossy(&output.stderr);
        let error = error.split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(output.status.code(), Some(2), "{error}");
        assert!(error.contains("cannot be written") && error.contains("nothing was stored"), "{error}");
        assert_eq!(text(&grove), before);
        let left: Vec<_> = fs::read_dir(&grove).unwrap().map(|it| it.unwrap().file_name()).collect();
        assert!(!left.iter().any(|name| name.to_string_lossy().ends_with(".new")), "{left:?}");
        // With room again the same spray is stored.
        assert!(sprayed(&grove, &words).status().unwrap().success());
        let stored = text(&grove);
        assert!(
            stored.ends_with(&format!("{wanted}\n"))
                || stored.ends_with(",a remark that finds no room,2 g/L,T. R.,A02,grove: A02\n")
        );
    }
}

#[test]
fn many_writers_of_sprays_at_once_lose_nothing() {
    let grove = with_log("many_writers_of_sprays");
    let rows: Vec<(Vec<String>, String)> = (0..40).map(|at| typed(at, &format!("writer {at}"))).collect();
    let writers: Vec<Child> = rows.iter().map(|(words, _)| sprayed(&grove, words).spawn().unwrap()).collect();
    for writer in writers {
        assert!(writer.wait_with_output().unwrap().status.success());
    }
    let text = text(&grove);
    let mut found: Vec<&str> = text.strip_prefix(&format!("{HEADER}{FIRST}")).unwrap().lines().collect();
    found.sort_unstable();
    let mut wanted: Vec<&str> = rows.iter().map(|(_, row)| row.as_str()).collect();
    wanted.sort_unstable();
    assert_eq!(found, wanted);
}
