//! What is not in order in the grower's files and is taken all the same: it is said, on the page and in the JSON.

use super::case::{case, tree};
use serde_json::Value;

/// Returns the notes of an advice.
#[track_caller]
fn notes(advice: &Value) -> Vec<&str> {
    advice["notes"].as_array().expect("notes").iter().map(|note| note.as_str().expect("a text")).collect()
}

const BOOK: &str = "
observe low-spot
  kind yes-no
observe dark
  kind yes-no
observe windy
  kind yes-no
  of block
observe mildew
  kind count
  lasts 4 d
choice rest
  advise hold
  because \"x\"
  cites own
";

#[test]
fn what_bears_no_day_counts_as_seen_today_and_is_named_once() {
    let keys = "sprays: none yet\nblocks:\n  - { block: hill, windy: yes }\ntrees:\n  - { tree: A1, low-spot: yes, dark: no }\n  \
                - { tree: A2, low-spot: no }\n  - { tree: A3, seen: 2027-02-01, low-spot: no, mildew: 2 }\n  - { tree: A4 }\n";
    let advice = case(BOOK, keys).advise();
    let notes = notes(&advice);
    assert_eq!(
        notes,
        [
            "grove.yaml:9:17: `low-spot`, `dark`, `windy` of A1, A2, hill bears no day and counts as seen on the day of the \
             advice, 2027-02-11: write `seen: DATE` beside it, or the day in a column `seen`"
        ]
    );
    // Nothing else changes: it counts as seen on the day of the advice.
    assert_eq!(tree(&advice, "A1")["values"]["low-spot"]["value"], "yes");
    assert_eq!(tree(&advice, "A2")["seen"], "2027-02-11");
}

#[test]
fn what_bears_its_day_is_not_named() {
    for keys in [
        "sprays: none yet\nseen: 2027-02-01\ntrees:\n  - { tree: A1, low-spot: yes }\n",
        "sprays: none yet\ntrees:\n  - { tree: A1, seen: 2027-02-01, low-spot: yes }\n  - { tree: A2 }\n",
        "sprays: none yet\nblocks:\n  - { block: hill, seen: 2027-02-01, windy: yes }\ntrees:\n  - { tree: A1 }\n",
    ] {
        assert_eq!(notes(&case(BOOK, keys).advise()), [""; 0], "{keys}");
    }
}

const PRONE: &str = "
scale proneness
  low
  high
table rating
  of text
  gives proneness
  cites own
  \"Kent\" low
  \"Haden\" high
  otherwise low
measure prone = rating at cultivar
product copper
  group M01
  strength full 1 g/L
  cites own
choice treat
  advise copper at full
  if prone is high
  because \"x\"
  cites own
choice rest
  advise hold
  if prone is low
  because \"x\"
  cites own
task see
  do \"look\"
  of tree
  if cultivar is \"Kent\"
  because \"x\"
  cites own
";

/// Unknown is not false, and no cultivar is not another cultivar: it is asked where it matters.
#[test]
fn a_tree_without_a_cultivar_is_asked_where_it_matters() {
    let keys = "sprays: none yet\ntrees:\n  - { tree: A1 }\n  - { tree: A2, cultivar: Haden }\n  - { tree: A3, cultivar: Linda }\n";
    let advice = case(PRONE, keys).advise();
    let verdict = |name: &str| tree(&advice, name)["verdict"].clone();
    assert_eq!((verdict("A1"), verdict("A2"), verdict("A3")), ("look".into(), "spray".into(), "hold".into()));
    assert_eq!(tree(&advice, "A1")["needs"], serde_json::json!(["cultivar"]));
    assert_eq!(
        tree(&advice, "A1")["values"]["cultivar"]["unknown"],
        "no cultivar is written down for this tree"
    );
    let book = PRONE
        .replace("if prone is high", "if cultivar is \"Haden\"")
        .replace("if prone is low", "unless cultivar is \"Haden\"");
    let advice = case(&book, keys).advise();
    let answers = serde_json::json!([
        { "name": "cultivar", "at": "Haden", "then": "spray copper at full" },
        { "name": "cultivar", "at": "Kent, any other", "then": "hold" },
    ]);
    assert_eq!(tree(&advice, "A1")["answers"], answers);
    // Where it does not matter nothing is asked.
    let book = PRONE
        .replace("if prone is high", "if prone is one of low, high")
        .replace("if prone is low", "unless prone is one of low, high");
    assert_eq!(tree(&case(&book, keys).advise(), "A1")["verdict"], "spray");
}

/// A key that no row of a table matches is unknown, and reported (fine print, Values): once for each table and key.
#[test]
fn a_key_without_a_row_is_named_once_with_its_trees() {
    let book = format!(
        "{}
observe dose
  kind count
table by-dose
  of count
  gives count
  cites own
  1 10
  2 20
measure effect = by-dose at dose
table closed
  of count
  gives count
  cites own
  1 10
  otherwise unknown
measure unsaid = closed at dose
warning strong
  says \"x\"
  of tree
  if effect above 15 or unsaid above 5
  because \"x\"
  cites own
",
        PRONE.replace("  otherwise low\n", "")
    );
    let keys = "sprays: none yet\nseen: 2027-02-10\ntrees:\n  - { tree: A1, cultivar: Linda, dose: 1 }\n  - { tree: A2, cultivar: Linda, dose: 3 }\n  \
                - { tree: A3, cultivar: Haden, dose: 1 to 3 }\n  - { tree: A4, cultivar: Linda }\n  - { tree: A5, cultivar: Palmer }\n  \
                - { tree: A6 }\n";
    let advice = case(&book, keys).advise();
    assert_eq!(
        notes(&advice),
        [
            "`by-dose` has no row for 3 in the rulebook: effect of A2 is not known",
            "`rating` has no row for \"Linda\" in the rulebook: prone of A1, A2, A4 is not known",
            "`rating` has no row for \"Palmer\" in the rulebook: prone of A5 is not known",
        ]
    );
    assert_eq!(tree(&advice, "A1")["verdict"], "look");
    assert_eq!(tree(&advice, "A2")["values"]["effect"]["unknown"], "`by-dose` has no row for 3");
}
