//! The decision on a tree: gates, ranks, strengths held, unknown values, questions, flips.
//!
//! The expectations are the meaning of the language as its page gives it, worked by hand for each case.

use super::case::{Case, case, tree, verdict};
use serde_json::json;

pub const BOOK: &str = r#"
scale bloom
  dormant      510
  first-open   611
  full-bloom   615 to 616
  pinhead      701
  marble       703

observe stage
  kind bloom
  of panicles
  lasts 4 d
observe open-flowers
  kind share
  of panicles
  lasts 4 d
observe fruit-set
  kind count
  of panicles
  range from 0 to 50
  lasts 7 d
observe severe
  kind yes-no

measure flowers-open = mean open-flowers of panicles
measure least-set    = lowest fruit-set of panicles
measure copper-age   = days since last copper

disease anthracnose

product copper
  group M01
  contains copper
  against anthracnose good
  strength reduced 600 ppm copper
  strength full 1200 ppm copper
  label interval at least 7 d
  cites own
product sulfur
  group M02
  strength reduced 2 g/L
  strength full 4 g/L
  cites own

gate copper-on-open-bloom
  shuts copper
  if flowers-open at least 20 %
  unless least-set at least 5
  cites own
gate gentle
  holds copper to reduced
  if some panicles with (stage from first-open to marble)
  cites own

choice shield
  against anthracnose
  advise copper at full
  or else sulfur at reduced
  if severe
  outranks rest
  recheck in 4 d
  cites own
choice rest
  advise hold
  cites own
"#;

fn grove(trees: &str) -> Case {
    case(BOOK, &format!("sprays: none yet\nseen: 2027-02-10\ntrees:\n{trees}"))
}

#[track_caller]
fn one(observations: &str) -> serde_json::Value {
    grove(&format!("  - {{ tree: A1, cultivar: Kent, {observations} }}\n")).advise()
}

#[test]
fn a_gate_shuts_and_the_next_alternative_is_taken() {
    let advice = one("stage: full-bloom, open-flowers: 80 %, fruit-set: 0, severe: yes");
    assert_eq!(verdict(&advice, "A1"), "spray sulfur at reduced");
    let tree = tree(&advice, "A1");
    assert_eq!(tree["shut"], json!([{ "product": "copper", "by": "copper-on-open-bloom" }]));
    assert_eq!(tree["held"], json!([{ "product": "copper", "to": "reduced", "by": "gentle" }]));
    assert_eq!(tree["choice"], "shield");
    assert_eq!(tree["recheck"], "2027-02-15");
    assert_eq!(tree["seen"], "2027-02-10");
}

#[test]
fn an_unless_opens_the_gate_and_another_gate_holds_the_strength() {
    let advice = one("stage: full-bloom, open-flowers: 80 %, fruit-set: 5, severe: yes");
    assert_eq!(verdict(&advice, "A1"), "spray copper at reduced");
    let advice = one("stage: dormant, open-flowers: 0 %, fruit-set: 0, severe: yes");
    assert_eq!(verdict(&advice, "A1"), "spray copper at full");
}

#[test]
fn thresholds_count_themselves_where_the_words_say_so() {
    // At least 20 % shuts; a little below does not.
    assert_eq!(
        verdict(&one("stage: dormant, open-flowers: 20 %, fruit-set: 0, severe: yes"), "A1"),
        "spray sulfur at reduced"
    );
    assert_eq!(
        verdict(&one("stage: dormant, open-flowers: 19.9 %, fruit-set: 0, severe: yes"), "A1"),
        "spray copper at full"
    );
}

#[test]
fn an_outranked_choice_gives_way_and_the_lower_one_stands_alone() {
    let advice = one("stage: dormant, open-flowers: 0 %, fruit-set: 0, severe: no");
    assert_eq!(verdict(&advice, "A1"), "hold");
    assert_eq!(tree(&advice, "A1")["because"], "advised");
    assert_eq!(tree(&advice, "A1")["choices"], json!(["rest"]));
}

#[test]
fn an_unknown_that_matters_is_asked_for_with_what_each_answer_leads_to() {
    let advice = one("stage: full-bloom, open-flowers: 80 %, severe: yes");
    assert_eq!(verdict(&advice, "A1"), "look");
    let tree = tree(&advice, "A1");
    assert_eq!(tree["needs"], json!(["fruit-set"]));
    assert_eq!(
        tree["answers"],
        json!([
            { "name": "fruit-set", "at": "below 5", "then": "spray sulfur at reduced" },
            { "name": "fruit-set", "at": "at least 5", "then": "spray copper at reduced" }
        ])
    );
    // Sulfur is no matter of fruit set: it is allowed whatever the answer is.
    assert_eq!(tree["safe"], json!([[{ "product": "sulfur", "strength": "reduced" }]]));
    assert_eq!(tree["choice"], serde_json::Value::Null);
}

#[test]
fn an_unknown_that_does_not_matter_is_not_asked_for() {
    // Nothing is open, so the gate does not ask for fruit.
    assert_eq!(verdict(&one("stage: dormant, open-flowers: 0 %, severe: yes"), "A1"), "spray copper at full");
    assert_eq!(verdict(&one("severe: no"), "A1"), "hold");
}

#[test]
fn an_interval_decides_where_all_of_it_leads_to_one_verdict() {
    let at = |open: &str| {
        verdict(&one(&format!("stage: full-bloom, open-flowers: {open}, fruit-set: 0, severe: yes")), "A1")
    };
    assert_eq!(at("40 to 60 %"), "spray sulfur at reduced");
    assert_eq!(at("10 to 60 %"), "look");
    assert_eq!(at("5 to 10 %"), "spray copper at reduced");
}

#[test]
fn what_is_too_old_is_unknown() {
    let old = grove("  - { tree: A1, seen: 2027-02-06, stage: full-bloom, open-flowers: 80 %, fruit-set: 0, severe: yes }\n").advise();
    // Open flowers and stage last four days, fruit set seven: five days are too old for two of them.
    assert_eq!(tree(&old, "A1")["needs"], json!(["open-flowers", "stage"]));
    let kept = grove("  - { tree: A1, seen: 2027-02-07, stage: full-bloom, open-flowers: 80 %, fruit-set: 0, severe: yes }\n").advise();
    assert_eq!(verdict(&kept, "A1"), "spray sulfur at reduced");
}

#[test]
fn the_least_set_of_questions_is_the_smallest_and_first() {
    // Whether it is severe decides between holding and spraying, and then everything else matters too.
    let advice = one("stage: dormant, fruit-set: 9");
    assert_eq!(tree(&advice, "A1")["needs"], json!(["severe"]));
    let advice = one("stage: dormant");
    let needs = &tree(&advice, "A1")["needs"];
    assert!(
        needs == &json!(["fruit-set", "open-flowers", "severe"])
            || needs == &json!(["open-flowers", "severe", "fruit-set"]),
        "{needs}"
    );
}

#[test]
fn flips_name_the_nearest_value_in_each_direction() {
    let advice = one("stage: full-bloom, open-flowers: 80 %, fruit-set: 0, severe: yes");
    let situation = tree(&advice, "A1")["situation"].as_str().unwrap().to_string();
    let flips = &advice["situations"][situation]["flips"];
    assert_eq!(
        flips,
        &json!([
            { "name": "flowers-open", "at": "below 20 %", "then": "spray copper at reduced" },
            { "name": "least-set", "at": "at least 5", "then": "spray copper at reduced" },
            { "name": "severe", "at": "no", "then": "hold" }
        ])
    );
}

#[test]
fn a_tree_with_two_blooms_is_judged_by_both() {
    let rows = "when,who,on,stage,open-flowers,fruit-set,panicles,severe\n\
        2027-02-10,A,A1,full-bloom,80 %,0,60 %,\n2027-02-10,A,A1,marble,0 %,9,40 %,\n2027-02-10,A,grove,,,,,yes\n";
    let advice = case(BOOK, "sprays: none yet\ntrees:\n  - { tree: A1 }\n").scouting(rows).advise();
    // The mean of open flowers is weighted by the shares: 0.6 x 80 % = 48 %; the least set is 0.
    let tree = tree(&advice, "A1");
    assert_eq!(tree["values"]["flowers-open"], json!({ "value": 48, "unit": "%" }));
    assert_eq!(tree["values"]["least-set"], json!({ "value": 0 }));
    assert_eq!(verdict(&advice, "A1"), "spray sulfur at reduced");
    assert_eq!(tree["panicles"].as_array().unwrap().len(), 2);
}

#[test]
fn a_label_interval_counts_calendar_days_and_allows_the_seventh() {
    let sprayed = |day: &str| {
        case(BOOK, "seen: 2027-02-10\ntrees:\n  - { tree: A1, stage: dormant, open-flowers: 0 %, fruit-set: 0, severe: yes }\n")
            .sprays(format!("start,end,on,product,strength\n{day}T06:00,{day}T07:00,grove,copper,reduced\n"))
            .advise()
    };
    assert_eq!(verdict(&sprayed("2027-02-04"), "A1"), "spray copper at full");
    let early = sprayed("2027-02-05");
    assert_eq!(verdict(&early, "A1"), "spray sulfur at reduced");
    assert_eq!(tree(&early, "A1")["shut"][0], json!({ "product": "copper", "by": "copper label interval" }));
}

#[test]
fn a_log_that_is_not_given_is_unknown_and_asked_for() {
    let advice = case(BOOK, "seen: 2027-02-10\ntrees:\n  - { tree: A1, stage: dormant, open-flowers: 0 %, fruit-set: 0, severe: yes }\n").advise();
    assert_eq!(verdict(&advice, "A1"), "look");
    assert_eq!(tree(&advice, "A1")["needs"], json!(["sprays"]));
    assert_eq!(tree(&advice, "A1")["safe"], json!([[{ "product": "sulfur", "strength": "reduced" }]]));
}

#[test]
fn trees_in_one_situation_share_it() {
    let advice = grove(
        "  - { tree: A1, stage: full-bloom, open-flowers: 80 %, fruit-set: 0, severe: yes }\n  - { tree: A2, stage: full-bloom, open-flowers: 60 %, fruit-set: 1, severe: yes }\n  - { tree: A3, stage: full-bloom, open-flowers: 10 %, fruit-set: 1, severe: yes }\n",
    )
    .advise();
    assert_eq!(tree(&advice, "A1")["situation"], tree(&advice, "A2")["situation"]);
    assert_ne!(tree(&advice, "A1")["situation"], tree(&advice, "A3")["situation"]);
}

const CONFLICT: &str = r#"
observe a
  kind yes-no
observe b
  kind yes-no
product copper
  group M01
  strength low 1 g/L
  cites own
product sulfur
  group M02
  strength low 1 g/L
  cites own
gate no-copper
  shuts copper
  if b
  cites own
choice one
  advise copper at low
  if a
  cites own
choice two
  advise sulfur at low
  if a
  cites own
"#;

#[test]
fn choices_that_disagree_are_undecided_and_named() {
    let trees = "sprays: none yet\nseen: 2027-02-10\ntrees:\n  - { tree: A1, a: yes, b: no }\n  - { tree: A2, a: yes, b: yes }\n  - { tree: A3, a: no, b: yes }\n  - { tree: A4, a: yes }\n";
    let advice = case(CONFLICT, trees).advise();
    assert_eq!(verdict(&advice, "A1"), "undecided");
    assert_eq!(tree(&advice, "A1")["between"], json!(["one", "two"]));
    // A choice without an allowed alternative steps aside, and no longer disagrees.
    assert_eq!(verdict(&advice, "A2"), "spray sulfur at low");
    assert_eq!(verdict(&advice, "A3"), "uncovered");
    assert_eq!(verdict(&advice, "A4"), "look");
    assert_eq!(tree(&advice, "A4")["needs"], json!(["b"]));
}

#[test]
fn every_alternative_shut_is_a_hold_of_another_kind() {
    let book = "observe a\n  kind yes-no\nproduct copper\n  strength low 1 g/L\n  cites own\ngate all\n  shuts spraying\n  if a\n  cites own\nchoice one\n  advise copper at low\n  cites own\n";
    let advice =
        case(book, "sprays: none yet\nseen: 2027-02-10\ntrees:\n  - { tree: A1, a: yes }\n").advise();
    assert_eq!(verdict(&advice, "A1"), "hold");
    assert_eq!(tree(&advice, "A1")["because"], "all-shut");
    assert_eq!(tree(&advice, "A1")["shut"], json!([{ "product": "copper", "by": "all" }]));
}

#[test]
fn one_unknown_behind_two_names_is_judged_together() {
    // Whatever the share is, one of the two choices holds, and both advise the same.
    let book = "observe open\n  kind share\nmeasure half = open / 2\nproduct copper\n  strength low 1 g/L\n  cites own\nchoice one\n  advise copper at low\n  if open below 40 %\n  cites own\nchoice two\n  advise copper at low\n  if half at least 20 %\n  cites own\n";
    let advice = case(book, "sprays: none yet\ntrees:\n  - { tree: A1 }\n").advise();
    assert_eq!(verdict(&advice, "A1"), "spray copper at low");
}

#[test]
fn a_measure_that_rises_with_an_unknown_is_cut_exactly() {
    let book = "observe open\n  kind share\nmeasure half = open / 2\nproduct copper\n  strength low 1 g/L\n  cites own\nchoice one\n  advise copper at low\n  if half at least 20 %\n  cites own\nchoice two\n  advise hold\n  if half below 20 %\n  cites own\n";
    let advice = case(book, "sprays: none yet\ntrees:\n  - { tree: A1 }\n").advise();
    assert_eq!(verdict(&advice, "A1"), "look");
    assert_eq!(tree(&advice, "A1")["needs"], json!(["open"]));
    assert_eq!(tree(&advice, "A1")["answers"].as_array().unwrap().len(), 2);
}

#[test]
fn a_certified_grove_shuts_what_is_not_of_its_class() {
    let book = "product copper\n  class organic\n  strength low 1 g/L\n  cites own\nproduct other\n  strength low 1 g/L\n  cites own\nchoice one\n  advise other at low\n  or else copper at low\n  cites own\n";
    let advice = case(book, "certified: organic\nsprays: none yet\ntrees:\n  - { tree: A1 }\n").advise();
    assert_eq!(verdict(&advice, "A1"), "spray copper at low");
    assert_eq!(tree(&advice, "A1")["shut"], json!([{ "product": "other", "by": "certified organic" }]));
}

#[test]
fn an_assumed_value_is_taken_where_its_condition_holds_only() {
    let book = "observe calm\n  kind yes-no\nobserve open\n  kind share\n  assume 0 % if calm\nproduct copper\n  strength low 1 g/L\n  cites own\nchoice one\n  advise copper at low\n  if open below 20 %\n  cites own\nchoice two\n  advise hold\n  if open at least 20 %\n  cites own\n";
    let advice = case(book, "sprays: none yet\nseen: 2027-02-10\ntrees:\n  - { tree: A1, calm: yes }\n  - { tree: A2, calm: no }\n  - { tree: A3 }\n").advise();
    assert_eq!(verdict(&advice, "A1"), "spray copper at low");
    assert_eq!(verdict(&advice, "A2"), "look");
    assert_eq!(tree(&advice, "A2")["needs"], json!(["open"]));
    assert_eq!(verdict(&advice, "A3"), "look");
}

#[test]
fn the_share_of_trees_counts_the_tree_itself_and_asks_for_another() {
    let book = "observe open\n  kind yes-no\nmeasure part = share of trees in grove with open\nproduct copper\n  strength low 1 g/L\n  cites own\nchoice one\n  advise copper at low\n  if part at least 50 %\n  cites own\nchoice two\n  advise hold\n  if part below 50 %\n  cites own\n";
    let advice = case(book, "sprays: none yet\nseen: 2027-02-10\ntrees:\n  - { tree: A1, open: yes }\n  - { tree: A2, open: no }\n  - { tree: A3 }\n").advise();
    // One of three is open, one is not, and the third decides.
    assert_eq!(verdict(&advice, "A1"), "look");
    assert_eq!(tree(&advice, "A1")["needs"], json!(["open of A3"]));
    assert_eq!(tree(&advice, "A3")["needs"], json!(["open"]));
    assert_eq!(
        tree(&advice, "A3")["answers"],
        json!([{ "name": "open", "at": "no", "then": "hold" }, { "name": "open", "at": "yes", "then": "spray copper at low" }])
    );
}

#[test]
fn a_likely_range_is_for_gates_of_harm_and_a_plain_ratio_is_a_close_call() {
    let book = "observe mildew\n  kind share\nmeasure mildew-range = likely range of mildew\nproduct copper\n  strength low 1 g/L\n  cites own\nchoice one\n  advise copper at low\n  if mildew at least 5 %\n  cites own\nchoice two\n  advise hold\n  if mildew below 5 %\n  cites own\n";
    let advice = case(book, "sprays: none yet\nseen: 2027-02-10\ntrees:\n  - { tree: A1, mildew: 3 of 25 }\n  - { tree: A2, mildew: 20 of 25 }\n").advise();
    assert_eq!(verdict(&advice, "A1"), "spray copper at low");
    assert_eq!(
        tree(&advice, "A1")["values"]["mildew"],
        json!({ "value": 12, "unit": "%", "sample": { "found": 3, "of": 25 } })
    );
    assert_eq!(tree(&advice, "A1")["close_calls"], json!(["mildew"]));
    assert_eq!(tree(&advice, "A2")["close_calls"], json!([]));
    // Wilson's interval for 3 of 25 at 90 %, by his formula with z = 1.6449: 4.9 % to 26.3 %.
    let range = &tree(&advice, "A1")["values"]["mildew-range"];
    assert!((range["from"].as_f64().unwrap() - 4.92).abs() < 0.06, "{range}");
    assert!((range["to"].as_f64().unwrap() - 26.4).abs() < 0.3, "{range}");
}

const LABELS: &str = r#"
product copper
  contains copper
  strength reduced 600 ppm copper
  strength full 1200 ppm copper
  label interval at least 7 d
  label season at most 2 sprays
  label single at most 1 lb / ac copper
  label before-harvest at least 3 d
  label re-entry 24 h
  cites own
product oil
  strength thin 1 g/L
  label apart from copper at least 14 d
  cites own
choice one
  advise copper at full
  cites own
"#;

const LAND: &str =
    "blocks:\n  - { block: one, spacing: 24 ft x 20 ft }\nsprayer: { tank: 25 gal, per-tree: 1 gal }\n";

#[test]
fn what_a_label_needs_and_is_not_given_is_asked_for() {
    let trees = "trees:\n  - { tree: A1, block: one }\n";
    let needs = |keys: &str| tree(&case(LABELS, &format!("{keys}{trees}")).advise(), "A1")["needs"].clone();
    assert_eq!(needs(&format!("harvest: 2027-06-01\nsprays: none yet\n{LAND}")), json!([]));
    assert_eq!(needs(&format!("sprays: none yet\n{LAND}")), json!(["harvest"]));
    assert_eq!(needs(&format!("harvest: 2027-06-01\n{LAND}")), json!(["sprays"]));
    assert_eq!(
        needs("harvest: 2027-06-01\nsprays: none yet\nblocks:\n  - { block: one }\n"),
        json!(["sprayer"])
    );
}

#[test]
fn a_cap_on_one_spray_holds_to_the_strongest_that_fits() {
    // 90.75 trees an acre at 1 gal: 1200 ppm are 0.909 lb, above 0.5 lb; 600 ppm are 0.454 lb, below (1 lb in 100 gal
    // is 1198 mg/L, NIST SP 811).
    let keys =
        format!("harvest: 2027-06-01\nsprays: none yet\n{LAND}trees:\n  - {{ tree: A1, block: one }}\n");
    let with = |cap: &str| case(&LABELS.replace("1 lb / ac copper", cap), &keys).advise();
    assert_eq!(verdict(&with("1 lb / ac copper"), "A1"), "spray copper at full");
    let held = with("0.5 lb / ac copper");
    assert_eq!(verdict(&held, "A1"), "spray copper at reduced");
    assert_eq!(
        tree(&held, "A1")["held"],
        json!([{ "product": "copper", "to": "reduced", "by": "copper label single" }])
    );
    let shut = with("0.4 lb / ac copper");
    assert_eq!(tree(&shut, "A1")["because"], "all-shut");
    assert_eq!(tree(&shut, "A1")["shut"][0], json!({ "product": "copper", "by": "copper label single" }));
}

#[test]
fn the_stricter_of_the_book_and_the_jug_counts() {
    let log = "start,end,on,product,strength\n2027-02-02T06:00,2027-02-02T07:00,grove,copper,reduced\n";
    let with = |jug: &str| {
        let shed =
            format!("shed:\n  copper: {{ name: powder, form: powder, contains: {{ copper: 50 % }}{jug} }}\n");
        let keys = format!("harvest: 2027-02-20\n{shed}{LAND}trees:\n  - {{ tree: A1, block: one }}\n");
        case(LABELS, &keys).sprays(log).advise()
    };
    let shut = |jug: &str| tree(&with(jug), "A1")["shut"].clone();
    let oil = json!({ "product": "oil", "by": "oil label apart from copper" });
    let mix = json!({ "product": "oil with copper", "by": "oil label apart from copper" });
    let of = |by: &str| json!([{ "product": "copper", "by": by }, oil, mix]);
    assert_eq!(shut(""), json!([oil, mix]));
    assert_eq!(shut(", interval: 10 d"), of("copper label interval"));
    assert_eq!(shut(", interval: 5 d"), json!([oil, mix]));
    assert_eq!(shut(", before-harvest: 14 d"), of("copper label before-harvest"));
    assert_eq!(verdict(&with(""), "A1"), "spray copper at full");
    // Re-entry dates what people are asked to do: a day after the end of the first hours, by the book or the jug.
    let until = |jug: &str| tree(&with(jug), "A1")["keep_out_until"].as_str().unwrap().to_string();
    assert!(until(", re-entry: 48 h") > until(""));
}

#[test]
fn the_sixth_spray_is_allowed_where_six_are() {
    let log = |count: usize| {
        let rows = (0..count).map(|at| {
            format!("2027-01-{:02}T06:00,2027-01-{:02}T07:00,grove,copper,reduced\n", 2 + 8 * at, 2 + 8 * at)
        });
        format!("start,end,on,product,strength\n{}", rows.collect::<String>())
    };
    let keys = format!("harvest: 2027-06-01\n{LAND}trees:\n  - {{ tree: A1, block: one }}\n");
    assert_eq!(verdict(&case(LABELS, &keys).sprays(log(1)).advise(), "A1"), "spray copper at full");
    let full = case(LABELS, &keys).sprays(log(2)).advise();
    assert_eq!(tree(&full, "A1")["shut"][0], json!({ "product": "copper", "by": "copper label season" }));
}

#[test]
fn ranks_reach_through_a_choice_that_does_not_hold() {
    let book = "observe a\n  kind yes-no\nproduct copper\n  strength low 1 g/L\n  cites own\nproduct sulfur\n  strength low 1 g/L\n  cites own\nchoice top\n  advise copper at low\n  outranks middle\n  cites own\nchoice middle\n  advise hold\n  if a\n  outranks bottom\n  cites own\nchoice bottom\n  advise sulfur at low\n  cites own\n";
    let advice = case(book, "sprays: none yet\nseen: 2027-02-10\ntrees:\n  - { tree: A1, a: no }\n").advise();
    assert_eq!(verdict(&advice, "A1"), "spray copper at low");
}

#[test]
fn a_stage_may_be_given_by_its_code_and_a_reading_meets_a_threshold_in_another_unit() {
    let advice = one("stage: 615, open-flowers: 80 %, fruit-set: 0, severe: yes");
    assert_eq!(tree(&advice, "A1")["values"]["stage"], json!({ "value": "full-bloom" }));
    let book = "observe warm\n  kind temperature\nproduct copper\n  strength low 1 g/L\n  cites own\nchoice one\n  advise copper at low\n  if warm at least 90 °F\n  cites own\nchoice two\n  advise hold\n  if warm below 90 °F\n  cites own\n";
    let at = |warm: &str| {
        verdict(
            &case(book, &format!("sprays: none yet\ntrees:\n  - {{ tree: A1, warm: {warm} }}\n")).advise(),
            "A1",
        )
    };
    // 90 °F are 32.2222… °C exactly.
    assert_eq!(at("32.2222222222222 °C"), "spray copper at low");
    assert_eq!(at("32.2 °C"), "hold");
}
