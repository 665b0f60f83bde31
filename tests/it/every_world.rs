//! What holds in every state of the world holds, though its parts are not known: gates, holds, tasks, and why nothing is
//! sprayed.

use super::case::{case, tree};
use super::cli::{folder, ran};
use serde_json::{Value, json};

const NAMES: &str = r#"
observe bees
  kind yes-no
observe count
  kind count
  range from 0 to 9
band danger
  levels low, middling, high
  middling if bees
  high     if not bees
  high     if count above 3
  cites own
product copper
  strength low 1 g/L
  strength high 2 g/L
  cites own
product sulfur
  strength low 1 g/L
  cites own
"#;

#[track_caller]
fn one(items: &str, seen: &str) -> Value {
    let keys = format!("sprays: none yet\nseen: 2027-02-10\ntrees:\n  - {{ tree: A1{seen} }}\n");
    let advice = case(&format!("{NAMES}{items}"), &keys).advise();
    tree(&advice, "A1").clone()
}

#[test]
fn a_gate_that_shuts_in_every_world_shuts() {
    let gates = "gate twice\n  shuts copper\n  if bees or not bees\n  cites own\ngate graded\n  shuts sulfur\n  if danger \
                 at least middling\n  cites own\ngate perhaps\n  shuts sulfur\n  if bees\n  cites own\ngate weak\n  holds copper to low\n  if \
                 not (bees and not bees)\n  cites own\ntask walk\n  do \"Look\"\n  of tree\n  if danger at least middling\n  because \"it is\"\n  cites own\n\
                 warning minded\n  says \"Mind\"\n  of tree\n  if bees or not bees\n  because \"it is\"\n  cites own\n";
    let found = one(
        &format!("{gates}choice one\n  advise copper at high\n  or else sulfur at low\n  cites own\n"),
        "",
    );
    assert_eq!(
        found["shut"],
        json!([{ "product": "copper", "by": "twice" }, { "product": "sulfur", "by": "graded" }])
    );
    assert_eq!(found["held"], json!([{ "product": "copper", "to": "low", "by": "weak" }]));
    assert_eq!((&found["tasks"], &found["warnings"]), (&json!(["walk"]), &json!(["minded"])));
    assert_eq!((&found["verdict"], &found["because"]), (&json!("hold"), &json!("all-shut")));
}

#[test]
fn all_shut_in_every_world_is_all_shut_also_where_something_is_open() {
    // One gate or the other shuts copper; which is not known, so that they are said to do it between them.
    let book = "gate at-bees\n  shuts copper\n  if bees\n  cites own\ngate without\n  shuts copper\n  if not bees\n  cites own\n\
                choice one\n  advise copper at high\n  cites own\nchoice two\n  advise copper at low\n  if bees\n  cites own\n";
    let found = one(book, "");
    assert_eq!((&found["verdict"], &found["because"]), (&json!("hold"), &json!("all-shut")));
    assert_eq!(found["shut"], json!([]));
    assert_eq!(found["shut_between"], json!([{ "product": "copper", "by": ["at-bees", "without"] }]));
    assert_eq!(found["choices"], json!(["one"]));
    let keys = "sprays: none yet\nseen: 2027-02-10\ntrees:\n  - { tree: A1 }\n";
    let words = page("shut_between", &format!("{NAMES}{book}"), keys);
    let said = "Not allowed copper: whatever is found, one of these rules it out: at bees, without";
    assert!(words.contains(said), "{words}");
}

#[test]
fn a_hold_that_is_advised_or_all_shut_says_so_and_gives_no_reason_to_spray() {
    let book = "gate closed\n  shuts copper\n  cites own\nchoice fight\n  advise copper at high\n  if bees\n  because \"it must be fought\"\n  \
                cites own\nchoice rest\n  advise hold\n  if not bees\n  because \"there is nothing\"\n  cites own\n";
    let found = one(book, "");
    assert_eq!((&found["verdict"], &found["because"]), (&json!("hold"), &json!("advised-or-all-shut")));
    assert_eq!(found["choices"], json!(["rest"]));
    assert_eq!(one(book, ", bees: no")["because"], "advised");
    assert_eq!(one(book, ", bees: yes")["because"], "all-shut");
}

#[test]
fn a_verdict_that_rests_on_what_nobody_saw_says_so() {
    let book = "observe open\n  kind share\n  assume 0 %\nobserve calm\n  kind yes-no\n  assume yes\nchoice one\n  advise copper at low\n  \
                if open below 20 %\n  cites own\nchoice two\n  advise hold\n  if open at least 20 % or (calm and open at least 50 %)\n  cites own\n";
    let found = one(book, "");
    assert_eq!((&found["verdict"], &found["rests_on"]), (&json!("spray"), &json!(["open"])));
    assert_eq!(found["values"]["open"]["assumed"], true);
    assert_eq!(one(book, ", open: 0 %")["rests_on"], json!([]));
}

/// Writes a grove into a folder of its own, and returns its page.
fn page(name: &str, items: &str, keys: &str) -> String {
    let folder = folder(name);
    let case = case(items, keys);
    std::fs::write(folder.join("test.rulebook"), &case.book).unwrap();
    std::fs::write(folder.join("grove.yaml"), &case.grove).unwrap();
    let (page, _) = ran(&["advise", "--long", folder.to_str().unwrap(), "--width", "80"], 0);
    page.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn what_is_allowed_whatever_is_found_is_no_advice_against_the_answers() {
    let keys = "sprays: none yet\nseen: 2027-02-10\ntrees:\n  - { tree: A1 }\n";
    let mixed = format!(
        "{NAMES}choice one\n  advise copper at low\n  if bees\n  cites own\nchoice two\n  advise hold\n  if not bees\n  cites own\n"
    );
    let mixed = page("safe_mixed", &mixed, keys);
    assert!(
        mixed.contains(
            "copper (low rate) is allowed, whatever you find; whether to spray at all is still open"
        ),
        "{mixed}"
    );
    assert!(!mixed.contains("Either way"), "{mixed}");
    let both = format!(
        "{NAMES}gate bee\n  shuts copper\n  if bees\n  cites own\nchoice one\n  advise copper at low\n  or else sulfur at low\n  cites own\n"
    );
    let both = page("safe_both", &both, keys);
    assert!(both.contains("Either way sulfur (low rate) is allowed, whatever you find"), "{both}");
    // Copper or sulfur, the contradiction is there or nothing is sprayed: what is allowed is of no use.
    let none = format!(
        "{NAMES}choice one\n  advise copper at low\n  if bees\n  cites own\nchoice two\n  advise sulfur at low\n  if bees\n  cites own\n\
         choice three\n  advise hold\n  if not bees\n  cites own\n"
    );
    let none = page("safe_none", &none, keys);
    assert!(!none.contains("whatever you find"), "{none}");
}

#[test]
fn people_keep_out_from_the_end_of_a_spray_that_begins_as_its_hours_open() {
    let items = "product copper\n  strength low 1 g/L\n  label re-entry 24 h\n  cites own\ngate people\n  shuts spraying\n  in hours when \
                 clock from 06:00 to 17:00\n  cites own\nchoice one\n  advise copper at low\n  within 48 h\n  cites own\n";
    let keys = |sprayer: &str| {
        format!(
            "sprays: none yet\nseen: 2027-02-10\n{sprayer}trees:\n  - {{ tree: A1 }}\n  - {{ tree: A2 }}\n"
        )
    };
    // Half an hour is open before 06:00, in which two trees at 4 an hour are done; the next hours open at 18:00.
    let paced = "sprayer: { kind: handgun, tank: 100 gal, per-tree: 2 gal, pace: 8 gal / h }\n";
    let known = case(items, &keys(paced)).advise();
    assert_eq!(tree(&known, "A1")["keep_out_until"], "2027-02-12T05:45:00-04:00");
    let words = page("keep_out_paced", items, &keys(paced));
    assert!(
        words.contains(
            "until Fri, Feb 12, 2027, 6:00 am (REI), if you start Thu, Feb 11, 2027, 5:30 am and are done 6:00 am"
        ),
        "{words}"
    );
    // At half the pace a load of both does not fit into it, one tree alone does.
    let slow = "sprayer: { kind: handgun, tank: 100 gal, per-tree: 2 gal, pace: 4 gal / h }\n";
    assert_eq!(tree(&case(items, &keys(slow)).advise(), "A1")["keep_out_until"], "2027-02-12T06:00:00-04:00");
    let words = page("keep_out_slow", items, &keys(slow));
    assert!(
        words.contains(
            "until Fri, Feb 12, 2027, 7:00 pm (REI), if you start Thu, Feb 11, 2027, 6:00 pm and are done 7:00 pm"
        ),
        "{words}"
    );
    let open = case(items, &keys("")).advise();
    assert_eq!(tree(&open, "A1")["keep_out_until"], "2027-02-12T18:00:00-04:00");
    let words = page("keep_out_open", items, &keys(""));
    assert!(
        words.contains(
            "at least until Fri, Feb 12, 2027, 6:00 pm (REI): 24 h after the end of a spray that starts Thu, Feb 11, 2027, 6:00 pm"
        ),
        "{words}"
    );
}
