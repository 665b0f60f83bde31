//! How far worked examples reach: each item, each row of a band and of a table, and each single condition. What is expected
//! was worked out by hand from what the examples take.

use crate::cli::{folder, ran};
use crate::proofs::plan;
use bloomward::problems::Finding;
use bloomward::prove;
use serde_json::Value;
use std::collections::BTreeMap;

const BOOK: &str = "rulebook \"Reach\"
  caution \"The label is the law.\"
source own \"made\"
observe mildew
  kind share
observe wet
  kind yes-no
observe spots
  kind count
  range from 0 to 9
table points
  of    count
  gives count
  cites own
  0          1
  from 1 to 3  2
  at least 4 5
table needed
  of    share
  gives duration
  cites own
  10 %  20 h
  20 %  12 h
  30 %  10 h
  between linear
  beyond  ends
measure score = points at spots
measure need = needed at mildew
product sulfur
  strength weak 1 g/L
  cites own
band danger
  because \"x\"
  cites own
  levels low, great
  great if score at least 5 and need below 15 h
gate wet-leaves
  shuts sulfur
  if wet and mildew below 20 %
  unless danger is great
  because \"x\"
  cites own
choice spray-it
  advise sulfur at weak
  if mildew at least 10 %
  because \"x\"
  cites own
choice wait
  advise hold
  if mildew below 10 %
  because \"x\"
  cites own
";

/// Returns of each entry whether it is reached, and both ways.
fn reach(name: &str, examples: &str) -> BTreeMap<String, (bool, bool)> {
    let path = folder(name).join("reach.rulebook");
    std::fs::write(&path, format!("{BOOK}{examples}")).unwrap();
    let path = path.to_str().unwrap();
    let (out, _) = ran(&["rehearse", path, "--format", "json"], 0);
    for width in ["40", "80"] {
        let (page, _) = ran(&["rehearse", path, "--width", width], 0);
        let width: usize = width.parse().unwrap();
        assert!(
            page.lines().all(|line| line.chars().count() <= width || !line.trim().contains(' ')),
            "{page}"
        );
    }
    let json: Value = serde_json::from_str(&out).unwrap();
    let entry = |it: &Value| {
        let part = it["condition"].as_str().or(it["row"].as_str());
        let key =
            format!("{}{}", it["item"].as_str().unwrap(), part.map_or(String::new(), |it| format!(": {it}")));
        assert!(it["at"].as_str().unwrap().contains(".rulebook:"), "{it}");
        (key, (it["reached"].as_bool().unwrap(), it["both_ways"].as_bool().unwrap()))
    };
    let list = json["reach"].as_array().unwrap();
    let all: BTreeMap<_, _> = list.iter().map(entry).collect();
    assert_eq!(all.len(), list.len(), "each stands once");
    all
}

fn given<const N: usize>(list: [(&str, bool, bool); N]) -> BTreeMap<String, (bool, bool)> {
    list.into_iter().map(|(name, reached, both)| (name.to_owned(), (reached, both))).collect()
}

#[test]
fn each_condition_and_each_row_counts_for_itself() {
    let examples = "worked \"dry and clean\"\n  cites own\n  take mildew 5 %, wet no\n  expect hold\n\
                    worked \"wet, some mildew, few spots\"\n  cites own\n  take mildew 15 %, wet yes, spots 2\n  expect hold\n\
                    worked \"much of both\"\n  cites own\n  take mildew 30 %, spots 4\n  expect sulfur at weak\n";
    let expected = given([
        ("gate wet-leaves", true, true),
        ("gate wet-leaves: wet", true, true),
        ("gate wet-leaves: mildew below 20 %", true, true),
        // Few spots are no danger; in the third both are reached.
        ("gate wet-leaves: danger is great", true, true),
        ("choice spray-it", true, true),
        ("choice spray-it: mildew at least 10 %", true, true),
        ("choice wait", true, true),
        ("choice wait: mildew below 10 %", true, true),
        ("row great of danger", true, true),
        ("row great of danger: score at least 5", true, true),
        // At 5 % the nearest end, 20 h; at 15 % in the middle of 20 h and 12 h; at 30 % 10 h.
        ("row great of danger: need below 15 h", true, true),
        // In the first example the spots are open: that settles no row of them.
        ("table points: 0 1", false, false),
        ("table points: from 1 to 3 2", true, true),
        ("table points: at least 4 5", true, true),
        ("table needed: 10 % 20 h", true, true),
        ("table needed: 20 % 12 h", true, true),
        ("table needed: 30 % 10 h", true, true),
    ]);
    assert_eq!(reach("reach-each", examples), expected);
}

#[test]
fn what_is_open_or_taken_settles_nothing() {
    // The band is taken, and cut off from its rows; the mildew lies on both sides of every threshold but one.
    let examples = "worked \"danger, as it is\"\n  cites own\n  take danger great, mildew from 12 % to 25 %\n  \
                    expect sulfur at weak\n";
    let found = reach("reach-open", examples);
    let expected = given([
        ("gate wet-leaves", false, false),
        ("gate wet-leaves: wet", false, false),
        ("gate wet-leaves: mildew below 20 %", false, false),
        ("gate wet-leaves: danger is great", true, false),
        ("choice spray-it", true, false),
        ("choice spray-it: mildew at least 10 %", true, false),
        ("choice wait", false, false),
        ("choice wait: mildew below 10 %", false, false),
        ("row great of danger", false, false),
        ("row great of danger: score at least 5", false, false),
        ("row great of danger: need below 15 h", false, false),
        ("table points: 0 1", false, false),
        ("table points: from 1 to 3 2", false, false),
        ("table points: at least 4 5", false, false),
        ("table needed: 10 % 20 h", false, false),
        // Between 12 % and 25 % every line that is drawn begins or ends at 20 %.
        ("table needed: 20 % 12 h", true, false),
        ("table needed: 30 % 10 h", false, false),
    ]);
    assert_eq!(found, expected);
}

#[test]
fn what_is_expected_of_a_table_draws_upon_its_rows() {
    let examples = "worked \"the table\"\n  cites own\n  expect points at 0 is 1\n  expect points at 9 is 5\n  \
                    expect needed at 40 % is 10 h\n";
    let found = reach("reach-table", examples);
    let rows: Vec<(&str, bool)> = found
        .iter()
        .filter(|(name, _)| name.starts_with("table"))
        .map(|(name, it)| (&**name, it.0))
        .collect();
    let expected = [
        ("table needed: 10 % 20 h", false),
        ("table needed: 20 % 12 h", false),
        ("table needed: 30 % 10 h", true),
        ("table points: 0 1", true),
        ("table points: at least 4 5", true),
        ("table points: from 1 to 3 2", false),
    ];
    assert_eq!(rows, expected);
}

/// A row whose key is outside what its name can be is found, and no other.
#[test]
fn a_row_that_no_situation_reaches_never_holds() {
    let never = |range: &str, rows: &str| -> Vec<String> {
        let text = format!(
            "observe spots\n  kind count\n  range {range}\n\
             table points\n  of count\n  gives count\n{rows}  otherwise 0\n  cites own\n\
             measure score = points at (spots + 1)\n\
             task walk\n  do \"look\"\n  if score at least 2\n  cites own\n"
        );
        let plan = plan(&text);
        let lines = |at: bloomward::source::Span| {
            let row = plan.tables[0].rows.iter().position(|row| row.span == at);
            row.map_or_else(String::new, |row| format!("row {row}"))
        };
        let found = prove::findings(&plan);
        found.iter().filter(|it| it.finding == Finding::NeverHolds).map(|it| lines(it.at)).collect()
    };
    let rows = "  0 9\n  from 1 to 3 2\n  from 4 to below 6 3\n  at least 6 4\n";
    // From 0 to 4 spots the key is from 1 to 5.
    assert_eq!(never("from 0 to 4", rows), ["row 0", "row 3"]);
    assert_eq!(never("from 0 to 5", rows), ["row 0"]);
    assert_eq!(never("from 3 to 4", rows), ["row 0", "row 1", "row 3"]);
}
