//! Values that nobody saw and that the rulebook takes for granted: only where nothing at all was seen, and marked.

use super::case::{Case, case, tree, verdict};
use serde_json::{Value, json};

const BOOK: &str = r#"
scale bloom
  dormant     510
  first-open  611
  full-bloom  615 to 616

observe stage
  kind   bloom
  of     panicles
  assume dormant if early
observe open-flowers
  kind   share
  of     panicles
  lasts  4 d
  assume 0 % if stage is dormant
observe early
  kind   yes-no

measure flowers-open = mean open-flowers of panicles
measure late-stage   = highest stage of panicles

product copper
  strength full 2 g/L
  cites own
gate open-bloom
  shuts copper
  if flowers-open at least 20 %
  cites own
choice shield
  advise copper at full
  or else hold
  if late-stage at most first-open
  cites own
choice rest
  advise hold
  if late-stage is full-bloom
  cites own
"#;

fn grove(tree: &str) -> Case {
    case(BOOK, &format!("sprays: none yet\nseen: 2027-02-10\ntrees:\n  - {{ tree: A1{tree} }}\n"))
}

fn value<'v>(advice: &'v Value, name: &str) -> &'v Value {
    &tree(advice, "A1")["values"][name]
}

#[test]
fn what_was_seen_is_never_assumed() {
    // Between two values, and as one number: seen.
    let between = grove(", stage: dormant, open-flowers: 30 to 60 %").advise();
    assert_eq!(verdict(&between, "A1"), "hold");
    assert_eq!(value(&between, "open-flowers"), &json!({ "from": 30, "to": 60, "unit": "%" }));
    let wide = grove(", stage: dormant, open-flowers: 0 to 100 %").advise();
    assert_eq!(verdict(&wide, "A1"), "look");
    let sample = grove(", stage: dormant, open-flowers: 5 of 20").advise();
    assert_eq!(verdict(&sample, "A1"), "hold");
    // A range of stages is seen, too.
    let stages = grove(", early: yes, stage: first-open to full-bloom, open-flowers: 0 %").advise();
    assert_eq!(value(&stages, "stage"), &json!({ "from": "first-open", "to": "full-bloom" }));
    assert_eq!(verdict(&stages, "A1"), "look");
}

#[test]
fn an_assumed_value_is_marked_with_all_that_comes_of_it() {
    let advice = grove(", stage: dormant").advise();
    assert_eq!(verdict(&advice, "A1"), "spray copper at full");
    for name in ["open-flowers", "flowers-open"] {
        assert_eq!(value(&advice, name), &json!({ "value": 0, "unit": "%", "assumed": true }), "{name}");
    }
    assert_eq!(value(&advice, "stage"), &json!({ "value": "dormant" }));
    let seen = grove(", stage: dormant, open-flowers: 0 %").advise();
    assert_eq!(value(&seen, "open-flowers"), &json!({ "value": 0, "unit": "%" }));
}

#[test]
fn one_assumption_may_rest_on_another_but_never_on_what_is_not_known() {
    let advice = grove(", early: yes").advise();
    assert_eq!(value(&advice, "stage"), &json!({ "value": "dormant", "assumed": true }));
    assert_eq!(value(&advice, "open-flowers"), &json!({ "value": 0, "unit": "%", "assumed": true }));
    assert_eq!(verdict(&advice, "A1"), "spray copper at full");
    // Whether it is early is not known, nor then the stage, nor the flowers.
    let advice = grove("").advise();
    assert_eq!(value(&advice, "stage")["unknown"], "nobody looked");
    assert_eq!(value(&advice, "open-flowers")["unknown"], "nobody looked");
    assert_eq!(verdict(&advice, "A1"), "look");
}
