//! Pages and JSON of advised groves.

use super::case::{Case, case};
use super::cli::ran;
use super::groves::{Shown, with_case, with_grove};
use super::schema::assert_holds;
use bloomward::report::page::{Facts, page};
use bloomward::report::{Heading, advise_in_groups, day_of_groups, schemas, why_page, write_advice};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// A rulebook under which each of the six ends comes about.
const BOOK: &str = r#"
disease powdery-mildew "powdery mildew"

scale bloom
  dormant     510
  full-bloom  615 to 616
  pinhead     701

observe stage
  kind bloom
  of panicles
  lasts 4 d
observe open-flowers "open flowers"
  kind share
  of panicles
  ask "Of all flowers on these panicles, how many in 100 are open today?"
  lasts 4 d
observe mildew "panicles with mildew"
  kind share
  ask "Of the panicles you looked at, how many carry a white bloom?"
  how "At least 20, on all sides"
  lasts 7 d

measure flowers-open "open flowers of the tree" = mean open-flowers of panicles
measure young-fruit "young fruit" = some panicles with stage is pinhead
measure copper-age "time since copper" = days since last copper

product copper
  active "copper hydroxide"
  contains copper
  strength reduced 600 ppm copper
  strength full 1200 ppm copper
  label interval at least 7 d
  label re-entry 48 h
  cites own
product sulfur
  strength reduced 2 g/L
  cites own

gate copper-on-open-bloom "copper on open bloom"
  shuts copper
  if flowers-open at least 20 %
  because "copper kills the pollen of an open flower"
  cites common-practice

choice shield "shield the panicles"
  advise copper at reduced
  if mildew at least 10 %
  recheck in 4 d
  because "a colony spreads from panicle to panicle"
  cites common-practice, own "page 3"
choice dust "dust the young fruit"
  advise sulfur at reduced
  if young-fruit
  because "young fruit is open to mildew"
  cites to-be-sourced
choice keep-watching "keep watching"
  advise hold
  if mildew at most 5 %
  recheck in 3 d
  because "so little mildew is watched"
  cites common-practice
"#;

const KEYS: &str = r#"
sprays: none yet
units: us
shed:
  copper:
    name: basic copper powder
    registration: demo-0001
    form: powder
    contains: { copper: 50 % }
    label-read: 2027-01-10
sprayer: { kind: backpack, tank: 4 gal, per-tree: 1.5 gal }
trees:
  - { tree: A01, seen: 2027-02-11, stage: full-bloom, open-flowers: 19.7 %, mildew: 4 of 20, at: [0, 0] }
  - { tree: A02, seen: 2027-02-11, stage: dormant, open-flowers: 0 %, mildew: 12 %, at: [5, 0] }
  - { tree: A03, seen: 2027-02-11, stage: dormant, open-flowers: 0 %, mildew: 12 %, at: [10, 0] }
  - { tree: A04, seen: 2027-02-10, stage: full-bloom, open-flowers: 60 %, mildew: 30 %, at: [15, 0] }
  - { tree: A05, seen: 2027-02-11, stage: full-bloom, open-flowers: 5 %, at: [40, 0] }
  - { tree: A06, seen: 2027-02-11, stage: pinhead, open-flowers: 0 %, mildew: 15 %, at: [60, 0] }
  - { tree: A07, seen: 2027-02-11, stage: dormant, open-flowers: 0 %, mildew: 7 %, at: [80, 0] }
  - { tree: A08, seen: 2027-02-11, stage: dormant, open-flowers: 0 %, mildew: 2 %, at: [100, 0] }
"#;

/// Weather is no part of it: what these choices ask is seen by people.
fn six_ends() -> Case {
    case(BOOK, KEYS)
}

const EXAMPLES: [&str; 3] = ["examples/garden", "examples/mixed-grove", "examples/southern"];

fn facts<'a>(shown: &Shown<'a>) -> Facts<'a> {
    let zone = shown.advice.as_of.timezone();
    Facts {
        grove: &shown.grove.title,
        now: shown.advice.as_of,
        weather_measured_to: shown.weather.and_then(|it| it.measured_to()).map(|it| it.with_timezone(&zone)),
        forecast_issued: shown.weather.and_then(|it| it.forecast_issued()).map(|it| it.with_timezone(&zone)),
        data_problems: &[],
        rulebook_problems: &[],
        drift: 9.144,
    }
}

fn page_of(shown: &Shown<'_>, trees: &[&str], width: usize) -> String {
    let named = |name: &&str| shown.grove.trees.find(name).expect("the tree");
    let chosen: Vec<usize> = match trees {
        [] => (0..shown.advice.trees.len()).collect(),
        trees => trees.iter().map(named).collect(),
    };
    let (advice, groups) = advise_in_groups(shown.advisor, &chosen);
    let day = day_of_groups(&shown.ground, advice.as_of, &groups, |number| advice.cases.get(number));
    page(&shown.scene, &facts(shown), &shown.ground, &advice, (&day, &groups, &chosen), width)
}

fn json_of(shown: &Shown<'_>) -> Value {
    let heading = Heading {
        file: "book.rulebook",
        in_force: true,
        grove: &shown.grove.title,
        as_of: shown.advice.as_of,
        values: &shown.advice.grove_values,
        weather_measured_to: None,
        forecast_issued: None,
        notes: &[],
    };
    let (mut out, trees) = (Vec::new(), Vec::from_iter(0..shown.advice.trees.len()));
    write_advice(&mut out, (&shown.scene, &shown.ground), &heading, &trees, None).unwrap();
    serde_json::from_slice(&out).unwrap()
}

/// Compares a text with the one that was read and accepted.
#[track_caller]
fn assert_snapshot(text: &str, name: &str) {
    insta::with_settings!({
        snapshot_path => "../snapshots/report", prepend_module_to_snapshot => false, omit_expression => true
    }, {
        insta::assert_snapshot!(name, text);
    });
}

/// Fails where a line is longer than the width, counted in columns.
#[track_caller]
fn assert_fits(text: &str, width: usize) {
    for line in text.lines() {
        let columns = textwrap::core::display_width(line);
        assert!(columns <= width, "{columns} columns at width {width}: {line}");
    }
}

/// The words are those of the grower's page: five headings, two of which a hold can have.
#[test]
fn each_verdict_has_its_heading() {
    let page = with_case(&six_ends(), |shown| page_of(&shown, &[], 80));
    let headings = [
        "\nSPRAY copper (reduced rate)\n",
        "\nCHECK FIRST\n",
        "\nNOTHING ALLOWED TODAY\n",
        "\nTHE GUIDE CONTRADICTS ITSELF\n",
        "\nTHE GUIDE DOES NOT COVER THIS\n",
        "\nDO NOT SPRAY\n",
    ];
    let places: Vec<Option<usize>> = headings.iter().map(|heading| page.find(heading)).collect();
    assert!(places.iter().all(Option::is_some), "{places:?}\n{page}");
    assert!(places.is_sorted(), "{page}");
}

/// Where no one value opens a spray, no line of them is pointed to.
#[test]
fn until_points_to_lines_that_are_there() {
    let gates =
        "gate copper-off-b\n  shuts copper\n  if mildew at least 10 %\n  because \"x\"\n  cites own\n";
    let keys = "sprays: none yet\ntrees:\n  - { tree: A1, seen: 2027-02-11, stage: full-bloom, open-flowers: 60 %, mildew: 30 % }\n";
    let page = |book: &str| with_case(&case(book, keys), |shown| page_of(&shown, &[], 80));
    let one = page(BOOK);
    assert!(one.contains("NOTHING ALLOWED TODAY") && one.contains("listed under \"Would change\""), "{one}");
    assert!(one.contains("  Would change"), "{one}");
    let choice =
        "choice shield \"shield the panicles\"\n  advise copper at reduced\n  if mildew at least 10 %\n";
    let always = BOOK
        .replace(choice, &choice.replace("  if mildew at least 10 %\n", ""))
        .replace("  if mildew at most 5 %", "  if mildew at most 0 %");
    let both =
        page(&(always.replace("  if young-fruit\n", "  if young-fruit and mildew at most 0 %\n") + gates));
    assert!(both.contains("NOTHING ALLOWED TODAY"), "{both}");
    assert!(!both.contains("listed under \"Would change\""), "{both}");
    assert!(both.contains("Until         several things change"), "{both}");
}

/// Trees of which one is `high` and the other `moderate or high` are together `moderate or high`.
#[test]
fn words_of_several_trees_are_said_once() {
    let book = "scale proneness\n  low\n  moderate\n  high\nobserve prone\n  kind proneness\n\
        choice rest\n  advise hold\n  if prone at least moderate\n  cites own\n";
    let keys = "sprays: none yet\nseen: 2027-02-11\ntrees:\n  - { tree: A1, prone: moderate to high }\n  - { tree: A2, prone: high }\n";
    let page = with_case(&case(book, keys), |shown| page_of(&shown, &[], 80));
    assert!(page.contains("prone moderate or high (rule: moderate or higher)"), "{page}");
}

#[test]
fn page_of_sprays() {
    let page = with_case(&six_ends(), |shown| page_of(&shown, &["A01", "A02", "A03", "A04"], 80));
    assert_snapshot(&page, "page_of_sprays");
}

#[test]
fn page_of_open_ends() {
    let page = with_case(&six_ends(), |shown| page_of(&shown, &["A05", "A06", "A07", "A08"], 80));
    assert_snapshot(&page, "page_of_open_ends");
}

#[test]
fn page_of_sprays_on_a_narrow_screen() {
    let page = with_case(&six_ends(), |shown| page_of(&shown, &["A01", "A02", "A03", "A04"], 40));
    assert_snapshot(&page, "page_of_sprays_on_a_narrow_screen");
}

#[test]
fn page_of_one_tree() {
    let text = with_case(&six_ends(), |shown| {
        why_page::page(&shown.scene, &facts(&shown), &shown.ground, shown.advice, 0, 80)
    });
    assert_snapshot(&text, "page_of_one_tree");
}

#[test]
fn why_not_a_product() {
    let text = with_case(&six_ends(), |shown| {
        let sulfur = shown.scene.plan.product("sulfur").unwrap();
        why_page::not_page(&shown.scene, &facts(&shown), &shown.ground, shown.advice, (0, sulfur), 80)
    });
    assert_snapshot(&text, "why_not_a_product");
}

/// 19.7 % and 20 % would both print as 20 %.
#[test]
fn a_value_and_its_threshold_never_print_alike() {
    let page = with_case(&six_ends(), |shown| {
        why_page::page(&shown.scene, &facts(&shown), &shown.ground, shown.advice, 0, 200)
    });
    assert!(page.contains("open flowers of the tree 19.7 % (rule: 20 % or more)"), "{page}");
}

#[test]
fn advice_for_another_day_says_so() {
    let page = with_case(&six_ends(), |shown| {
        let mut facts = facts(&shown);
        facts.now += chrono::Duration::days(1);
        let (advice, groups) = advise_in_groups(shown.advisor, &[0]);
        let day = day_of_groups(&shown.ground, advice.as_of, &groups, |number| advice.cases.get(number));
        page(&shown.scene, &facts, &shown.ground, &advice, (&day, &groups, &[0]), 80)
    });
    assert!(page.contains("NOT TODAY: this is advice for Thu, Feb 11, 2027, 5:30 am"), "{page}");
}

#[test]
fn no_line_is_longer_than_the_width() {
    with_case(&six_ends(), |shown| {
        for width in 20..=200 {
            assert_fits(&page_of(&shown, &[], width), width);
            for tree in 0..shown.advice.trees.len() {
                let why =
                    why_page::page(&shown.scene, &facts(&shown), &shown.ground, shown.advice, tree, width);
                assert_fits(&why, width);
            }
        }
    });
    for example in EXAMPLES {
        with_grove(example, |shown| {
            for width in [20, 27, 40, 59, 60, 80, 200] {
                assert_fits(&page_of(&shown, &[], width), width);
            }
        });
    }
}

/// Wrapping neither loses nor adds a word: wide and narrow pages say the same.
#[test]
fn a_page_says_the_same_at_every_width() {
    let words = |text: &str| -> BTreeSet<String> {
        let letters = |word: &str| word.chars().filter(|it| it.is_alphanumeric()).collect::<String>();
        text.split_whitespace().map(letters).collect()
    };
    with_case(&six_ends(), |shown| {
        let wide = words(&page_of(&shown, &[], 200));
        for width in [40, 59, 60, 80, 120] {
            assert_eq!(words(&page_of(&shown, &[], width)), wide, "at width {width}");
        }
    });
}

#[test]
fn the_json_of_every_example_keeps_its_schema() {
    for example in EXAMPLES {
        let json = with_grove(example, |shown| json_of(&shown));
        assert_holds(schemas::ADVICE, &json);
        let trees = json["trees"].as_array().unwrap();
        let names =
            |key: &str| -> BTreeSet<&str> { trees.iter().map(|tree| tree[key].as_str().unwrap()).collect() };
        let situations: BTreeSet<&str> =
            json["situations"].as_object().unwrap().keys().map(String::as_str).collect();
        assert_eq!(names("situation"), situations, "{example}: each situation is told, and no other");
        let mut grouped: BTreeMap<&str, usize> = BTreeMap::new();
        for group in json["groups"].as_array().unwrap() {
            for tree in group["trees"].as_array().unwrap() {
                *grouped.entry(tree.as_str().unwrap()).or_default() += 1;
            }
        }
        assert!(grouped.values().all(|times| *times == 1), "{example}: a tree is in one group");
        assert_eq!(grouped.keys().copied().collect::<BTreeSet<_>>(), names("tree"), "{example}");
    }
}

#[test]
fn values_of_the_json_are_exact_and_have_their_units() {
    let json = with_case(&six_ends(), |shown| json_of(&shown));
    let tree = &json["trees"][0];
    assert_eq!(tree["tree"], "A01");
    assert_eq!(tree["values"]["open-flowers"], serde_json::json!({ "value": 19.7, "unit": "%" }));
    let mildew = serde_json::json!({ "value": 20, "unit": "%", "sample": { "found": 4, "of": 20 } });
    assert_eq!(tree["values"]["mildew"], mildew);
    assert_eq!(tree["values"]["copper-age"], serde_json::json!({ "value": "longer than any" }));
    assert_eq!(json["trees"][4]["values"]["mildew"], serde_json::json!({ "unknown": "nobody looked" }));
}

/// 600 ppm of copper from a powder of 50 % is 1.2 g in a litre; 4.5 gal are 17.034 L, so 20.4 g: by the definition of
/// ppm in spray (mg in a litre) and the exact gallon of NIST SP 811.
#[test]
fn the_mix_of_a_group_is_for_its_trees() {
    let json = with_case(&six_ends(), |shown| json_of(&shown));
    let group = &json["groups"][0];
    assert_eq!(group["trees"], serde_json::json!(["A01", "A02", "A03"]));
    let job = &group["mix"][0];
    assert_eq!(job["full_loads"], 1);
    assert_eq!(job["last_load"], serde_json::json!({ "value": 0.5, "unit": "gal" }));
    let grams = |load: &str| job["products"][0][load]["value"].as_f64().unwrap();
    assert!((grams("full_load") + grams("last_load") - 1.2 * 4.5 * 3.785_411_784).abs() < 1e-6);
    assert_eq!(job["products"][0]["jug"], "basic copper powder");
}

/// A tree with blooms of two ages has its groups beside it, and the page says of each what was seen.
#[test]
fn groups_of_panicles_stand_each_with_its_share() {
    let scouting = "when,who,on,panicles,stage,open-flowers,mildew\n\
                    2027-02-11,ana,A01,60 %,full-bloom,10 %,\n\
                    2027-02-11,ana,A01,40 %,pinhead,0 %,\n\
                    2027-02-11,ana,A01,,,,30 %\n";
    let keys = "sprays: none yet\ntrees:\n  - { tree: A01 }\n";
    let (json, page) = with_case(&case(BOOK, keys).scouting(scouting), |shown| {
        let why = why_page::page(&shown.scene, &facts(&shown), &shown.ground, shown.advice, 0, 200);
        (json_of(&shown), why)
    });
    let groups = json["trees"][0]["panicles"].as_array().unwrap();
    let shares: Vec<&Value> = groups.iter().map(|group| &group["share"]["value"]).collect();
    assert_eq!(shares, [60, 40]);
    assert_eq!(groups[1]["values"]["stage"]["value"], "pinhead");
    assert_eq!(json["trees"][0]["values"].get("stage"), None);
    let seen = "young fruit (60 % of panicles: stage full bloom; 40 % of panicles: stage pinhead)";
    assert!(page.contains(seen), "{page}");
}

/// 5 cm are 1.97 in, by the exact inch of NIST SP 811; what would change a decision is said as the grower speaks.
#[test]
fn a_grower_reads_in_the_units_of_the_grove() {
    let book = BOOK.to_string()
        + "observe panicle-length \"panicle length\"\n  kind length\n  lasts 9 d\n\
           choice short \"short panicles\"\n  advise sulfur at reduced\n  if panicle-length below 5 cm\n  cites own\n";
    let keys = "units: us\ntrees:\n  - { tree: A01, seen: 2027-02-11, panicle-length: 4 cm, mildew: 7 %, stage: dormant }\n";
    let page = with_case(&case(&book, keys), |shown| page_of(&shown, &[], 200));
    assert!(page.contains("panicle length 1.57 in (rule: below 1.97 in)"), "{page}");
    assert!(page.contains("panicle length 1.97 in or more: the guide does not cover it"), "{page}");
}

/// A page ends in one line that says what to do next.
#[test]
fn the_last_line_says_what_to_do_next() {
    for tree in ["A01", "A04", "A05", "A06", "A07", "A08"] {
        with_case(&six_ends(), |shown| {
            let number = shown.grove.trees.find(tree).unwrap();
            let why = why_page::page(&shown.scene, &facts(&shown), &shown.ground, shown.advice, number, 80);
            for text in [page_of(&shown, &[tree], 80), why] {
                assert!(text.lines().last().unwrap().starts_with("Next: "), "{text}");
            }
        });
    }
}

/// The chain of a group has at most six lines at 80 columns (design: six short lines); `why` tells all of it.
#[test]
fn the_chain_of_a_group_is_short() {
    let chain = ["Why", "Not allowed", "Weaker", "Source", "Not settled", "Nearest"];
    let mut groups = 0;
    for example in ["mixed-grove", "garden", "southern"] {
        let (page, _) = ran(&["advise", "--long", &format!("examples/{example}"), "--width", "80"], 0);
        let mut of_chain = false;
        for group in page.split("\n\n").filter(|part| part.contains("\n  Trees    ")) {
            let mut lines = 0;
            for line in group.lines().skip_while(|line| !line.starts_with("  Trees    ")).skip(1) {
                let label = line.get(2..16).unwrap_or_default().trim();
                if !label.is_empty() {
                    of_chain = chain.contains(&label);
                }
                lines += usize::from(of_chain);
            }
            assert!((1..=6).contains(&lines), "{example}: {lines} lines\n{group}");
            groups += 1;
        }
    }
    assert!(groups > 20, "{groups}");
}
