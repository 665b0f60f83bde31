//! What is settled and what is not: the situation that shows a finding shows it whatever else is true, an example
//! that expects `look` has something to look at, and only choices that surely act are named by `undecided`.

use crate::case::case;
use crate::cli::{folder, ran, run};
use serde_json::Value;

const HEAD: &str = "rulebook \"Test\"\n  caution \"For tests only.\"\n\nsource own \"made for tests\"\n\n";

/// Returns the findings of a kind that a rulebook of these items has.
fn findings(name: &str, items: &str, kind: &str) -> Vec<Value> {
    let book = folder(name).join("test.rulebook");
    std::fs::write(&book, format!("{HEAD}{items}")).unwrap();
    let output = run(&["proofread", book.to_str().unwrap(), "--format", "json"]);
    let json: Value = serde_json::from_slice(&output.stdout).unwrap();
    let all = json["findings"].as_array().unwrap().clone();
    all.into_iter().filter(|finding| finding["rule"] == kind).collect()
}

/// Returns what a finding says of a name: its value, or that it says nothing.
fn told<'f>(finding: &'f Value, name: &str) -> Option<&'f Value> {
    finding["situation"].get(name).map(|it| &it["value"])
}

/// With `bees` alone it would not be broken: the mildew decides, too.
#[test]
fn a_situation_names_all_on_which_the_finding_hangs() {
    let found = findings(
        "settled_promise",
        "observe mildew\n  kind share\n\nobserve bees\n  kind yes-no\n\n\
         product copper\n  strength low 1 g/L\n  cites own\n\n\
         gate flies\n  shuts copper\n  if bees\n  cites own\n\n\
         choice fight\n  advise copper at low\n  if mildew at least 10 %\n  cites own\n\n\
         choice rest\n  advise hold\n  if mildew below 10 %\n  cites own\n\n\
         promise strike\n  whenever mildew at least 50 %\n  only copper\n",
        "promise-broken",
    );
    assert_eq!(found.len(), 1);
    assert_eq!(told(&found[0], "bees"), Some(&Value::from("yes")), "{}", found[0]);
    assert!(told(&found[0], "mildew").is_some(), "{}", found[0]);
}

/// `third` outranks both where it holds; without it named nobody could see the conflict.
#[test]
fn a_conflict_names_what_keeps_others_from_deciding() {
    let found = findings(
        "settled_conflict",
        "observe spots\n  kind yes-no\n\nobserve rot\n  kind yes-no\n\n\
         product copper\n  strength low 1 g/L\n  cites own\n\n\
         choice one\n  advise copper at low\n  if spots\n  cites own\n\n\
         choice other\n  advise hold\n  if spots\n  cites own\n\n\
         choice third\n  advise hold\n  if rot\n  outranks one, other\n  cites own\n",
        "conflict",
    );
    let those: Vec<&Value> = found.iter().filter(|it| told(it, "spots").is_some()).collect();
    assert_eq!(those.len(), 1);
    assert_eq!(told(those[0], "rot"), Some(&Value::from("no")), "{}", those[0]);
}

const EXAMPLES: &str = "observe mildew\n  kind share\n\nobserve flowers\n  kind share\n  of panicles\n\n\
    measure open = some panicles with flowers at least 20 %\n\
    measure doubled = mildew * 2 / spots\n\nobserve spots\n  kind number\n\n\
    product copper\n  strength low 1 g/L\n  cites own\n\n\
    choice fight\n  advise copper at low\n  if mildew at least 10 % and not open\n  unless doubled at least 1\n  cites own\n\n\
    choice rest\n  advise hold\n  if mildew below 10 % or open\n  unless doubled at least 1\n  cites own\n\n";

/// An unknown is one whichever way the rulebook asks for it: of panicles, by arithmetic, or as a range.
#[test]
fn what_a_worked_example_does_not_know_for_sure_is_looked_at() {
    for (at, takes) in [
        "mildew 20 %, spots 100, flowers unknown",
        "mildew 20 %, spots 100, flowers from 10 % to 30 %",
        "mildew from 5 % to 20 %, spots 100, flowers 10 %",
        "mildew 20 %, spots unknown, flowers 10 %",
    ]
    .into_iter()
    .enumerate()
    {
        let example = format!("{EXAMPLES}worked \"unsure\"\n  cites own\n  take {takes}\n  expect look\n");
        let found = findings(&format!("settled_look_{at}"), &example, "worked-failed");
        assert!(found.is_empty(), "{takes}: {found:?}");
    }
    for (at, takes) in [
        "mildew 20 %, spots 100, flowers 10 %",
        "mildew 20 %, spots 100, flowers from 10 % to 15 %",
        "mildew 5 %, spots 100, flowers unknown",
        "mildew 20 %, spots 100",
    ]
    .into_iter()
    .enumerate()
    {
        let example = format!("{EXAMPLES}worked \"sure\"\n  cites own\n  take {takes}\n  expect look\n");
        let found = findings(&format!("settled_sure_{at}"), &example, "worked-failed");
        assert_eq!(found.len(), 1, "{takes}");
    }
}

const BETWEEN: &str = "observe spots\n  kind yes-no\n\n\
    product copper\n  strength low 1 g/L\n  strength high 2 g/L\n  cites own\n\n\
    choice one\n  advise copper at low\n  cites own\n\n\
    choice two\n  advise copper at high\n  cites own\n\n\
    choice three\n  advise hold\n  if spots\n  cites own\n\n";

/// Of three choices two disagree for certain; the third hangs on what nobody saw.
#[test]
fn undecided_names_those_that_surely_disagree() {
    let tree = |seen: &str| {
        let keys = format!("sprays: none yet\ntrees:\n  - {{ tree: A, seen: 2027-02-10{seen} }}\n");
        case(BETWEEN, &keys).advise()["trees"][0].clone()
    };
    let unseen = tree("");
    assert_eq!(unseen["verdict"], "undecided");
    assert_eq!(unseen["between"], serde_json::json!(["one", "two"]));
    assert_eq!(unseen["choices"], serde_json::json!(["one", "two"]));
    assert_eq!(tree(", spots: yes")["between"], serde_json::json!(["one", "three", "two"]));
    assert_eq!(tree(", spots: no")["between"], serde_json::json!(["one", "two"]));
}

#[test]
fn an_example_is_not_decided_by_a_choice_that_may_not_hold() {
    let book = folder("settled_by").join("test.rulebook");
    std::fs::write(&book, format!("{HEAD}{BETWEEN}worked \"open\"\n  cites own\n  expect by three\n"))
        .unwrap();
    let (out, _) = ran(&["rehearse", book.to_str().unwrap()], 1);
    assert!(out.contains("spots"), "{out}");
}

const RATIO: &str = "observe wet\n  kind duration\n\nobserve need\n  kind duration\n\n\
    measure ratio = wet / need\nmeasure wet-again = wet\n\n\
    product copper\n  strength low 1 g/L\n  cites own\n\n\
    choice fight\n  advise copper at low\n  cites own\n\n";

/// Between 10 h and 12 h divided by as many the ratio is at most 1.2: a range without an end is no wider for it.
#[test]
fn a_computed_name_keeps_to_what_it_comes_from() {
    let promise = |ratio: &str| {
        let text = format!(
            "{RATIO}promise p\n  whenever wet from 10 h to 12 h and need from 10 h to 12 h and ratio {ratio}\n  only hold\n"
        );
        findings("settled_ratio", &text, "promise-broken").len()
    };
    assert_eq!((promise("at least 1.2"), promise("above 1.2")), (1, 0));
    assert_eq!((promise("at most 0.8334"), promise("below 0.8333")), (1, 0));
    assert_eq!((promise("above 50"), promise("below -50")), (0, 0));
}

#[test]
fn a_worked_example_computes_from_what_it_takes() {
    let text = format!(
        "{RATIO}observe rot\n  kind yes-no\n\nchoice one\n  advise hold\n  if rot\n  unless ratio above 2\n  outranks fight\n  cites own\n\n\
         choice two\n  advise hold\n  if not rot\n  unless ratio above 2\n  outranks fight\n  cites own\n\n\
         worked \"w\"\n  cites own\n  take wet 12 h, need 10 h\n  expect hold\n"
    );
    assert_eq!(findings("settled_taken", &text, "worked-failed"), Vec::<Value>::new());
}

/// The numbers of a situation are those of one grove: what is computed is computed from them, and a second name of the
/// same says the same.
#[test]
fn the_numbers_of_a_situation_go_together() {
    for whenever in [
        "ratio above 3",
        "ratio from 0.1 to 0.2",
        "ratio above 1 and wet below 1 h and wet-again above 0 min",
    ] {
        let text = format!("{RATIO}promise p\n  whenever {whenever} and need above 0 h\n  only hold\n");
        let found = findings("settled_numbers", &text, "promise-broken");
        assert_eq!(found.len(), 1, "{whenever}");
        let number = |name: &str| {
            let value = &found[0]["situation"][name];
            let unit = match value["unit"].as_str() {
                Some("min") => 1.0 / 60.0,
                Some("d") => 24.0,
                _ => 1.0,
            };
            value["value"].as_f64().map(|number| number * unit)
        };
        let (wet, need, ratio) = (number("wet"), number("need"), number("ratio"));
        let (Some(wet), Some(need), Some(ratio)) = (wet, need, ratio) else { panic!("{}", found[0]) };
        assert!((wet / need - ratio).abs() < 1e-9 * ratio, "{}", found[0]);
        if let Some(again) = number("wet-again") {
            assert!((again - wet).abs() < 1e-9, "{}", found[0]);
        }
        assert_eq!(found[0]["certainty"], "seen");
    }
}

const SHARES: &str = "observe p\n  kind share\n  of panicles\n\n\
    measure few = share of panicles with p below 20 %\n\
    measure some-p = share of panicles with p from 20 % to below 50 %\n\
    measure many = share of panicles with p at least 50 %\n\
    measure middle = mean p of panicles\n\n\
    product copper\n  strength low 1 g/L\n  cites own\n\n\
    choice fight\n  advise copper at low\n  cites own\n\n";

/// A set of panicle groups makes a situation, or it is none: three shares add up to all panicles at most, and a mean is
/// no lower than what the shares of its values make of it. At the edges groups exist: 50, 30 and 20 of a hundred; ten of a
/// hundred at 50 %, the others at none, have a mean of 5 %.
#[test]
fn shares_and_means_of_panicles_go_together() {
    for (whenever, can_be) in [
        ("few at least 50 % and some-p at least 30 % and many at least 20 %", true),
        ("few at least 50 % and some-p at least 40 % and many at least 20 %", false),
        ("few at least 50 % and some-p at least 30 % and many above 20 %", false),
        ("few below 50 % and some-p below 30 % and many below 20 %", false),
        ("middle at most 5 % and many at least 10 %", true),
        ("middle below 5 % and many at least 10 %", false),
        ("middle above 60 % and few at least 50 %", false),
        ("middle above 59 % and few at least 50 %", true),
    ] {
        let text = format!("{SHARES}promise p\n  whenever {whenever}\n  only hold\n");
        let broken = findings("settled_shares", &text, "promise-broken").len();
        assert_eq!(broken, usize::from(can_be), "{whenever}");
    }
}

/// Where a region ends is what the author wrote: 5 mm, not as many inches.
#[test]
fn a_region_ends_at_the_threshold_as_it_is_written() {
    let book = |most: &str| {
        format!(
            "{HEAD}observe rain-seen\n  kind depth\n\nchoice a\n  advise hold\n  if rain-seen below 1 in\n  unless rain-seen {most}\n  \
             cites own\n"
        )
    };
    let folder = folder("settled_region");
    let (old, new) = (folder.join("old.rulebook"), folder.join("new.rulebook"));
    std::fs::write(&old, book("at most 5 mm")).unwrap();
    std::fs::write(&new, book("at most 10 mm")).unwrap();
    let (out, _) = ran(&["compare", old.to_str().unwrap(), new.to_str().unwrap(), "--format", "json"], 1);
    let json: Value = serde_json::from_str(&out).unwrap();
    let place = &json["regions"][0]["where"][0];
    assert_eq!((&place["above"], &place["to"]), (&Value::from("5 mm"), &Value::from("10 mm")), "{json}");
}

/// A cultivar that only one of the rulebooks knows is called by its name, in the region and in its situation.
#[test]
fn a_region_names_the_texts_of_both_rulebooks() {
    let book = |text: &str| {
        format!(
            "{HEAD}choice a\n  advise hold\n  if cultivar is {text}\n  cites own\n\ntask b\n  do \"look\"\n  of tree\n  \
             if cultivar is \"Kent\"\n  cites own\n"
        )
    };
    let folder = folder("settled_texts");
    let (old, new) = (folder.join("old.rulebook"), folder.join("new.rulebook"));
    std::fs::write(&old, book("\"Haden\"")).unwrap();
    std::fs::write(&new, book("\"Irwin\"")).unwrap();
    let (out, _) = ran(&["compare", old.to_str().unwrap(), new.to_str().unwrap(), "--format", "json"], 1);
    let json: Value = serde_json::from_str(&out).unwrap();
    let regions = json["regions"].as_array().unwrap();
    let texts = |it: &Value| (it["where"][0]["is"].clone(), it["situation"]["cultivar"]["value"].clone());
    let mut found: Vec<_> = regions.iter().map(texts).collect();
    found.sort_by_key(|it| it.0.to_string());
    let both = |text: &str| (Value::from(text), Value::from(text));
    assert_eq!(found, [both("Haden"), both("Irwin")], "{json}");
}

/// A row of a table and a condition that begin at the same number begin at the same: between them there is no time for
/// which the table says one thing and the condition the other, however far the table's other rows reach.
#[test]
fn a_row_of_a_table_begins_where_a_condition_with_the_same_number_does() {
    for (from, verdict) in [("2 d", "spray"), ("49 h", "spray"), ("47 h", "look")] {
        let items = format!(
            "scale stages\n  low\n  high\n\nobserve wet\n  kind duration\n\n\
             table graded\n  cites own\n  of duration\n  gives stages\n  from {from} to 5 d  high\n  otherwise low\n\n\
             measure grade = graded at wet\n\n\
             product copper\n  strength low 1 g/L\n  cites own\n\n\
             choice one\n  advise hold\n  if grade is high and wet below 48 h\n  cites own\n\n\
             choice two\n  advise copper at low\n  if grade is low or wet at least 48 h\n  cites own\n"
        );
        let advice = case(&items, "sprays: none yet\ntrees:\n  - { tree: A }\n").advise();
        assert_eq!(advice["trees"][0]["verdict"], verdict, "{from}: {}", advice["trees"][0]);
    }
}

/// The situation that a headline shows lies where the headline says that the decision changes.
#[test]
fn a_headline_is_shown_by_a_situation_of_its_place() {
    let book = |days: u16| {
        format!(
            "{HEAD}observe mildew\n  kind share\n\nobserve bees\n  kind yes-no\n\n\
             product copper\n  strength low 1 g/L\n  cites own\n\nmeasure age = days since last copper\n\n\
             choice a\n  advise copper at low\n  if (mildew at least 20 % and bees and age at least {days} d) or (mildew below 5 % and not bees and age at least {days} d)\n  outranks b\n  cites own\n\n\
             choice b\n  advise hold\n  cites own\n"
        )
    };
    let folder = folder("settled_headline");
    let (old, new) = (folder.join("old.rulebook"), folder.join("new.rulebook"));
    std::fs::write(&old, book(7)).unwrap();
    std::fs::write(&new, book(14)).unwrap();
    let (out, _) = ran(&["compare", old.to_str().unwrap(), new.to_str().unwrap()], 1);
    let part = |from: &str, to: &str| out.split(from).nth(1).unwrap().split(to).next().unwrap().to_owned();
    // Of the place that is told first.
    let (place, shown) = (part("where", "; or"), part("such a tree:", "→"));
    let says = |text: &str, word: &str| text.contains(word);
    assert_eq!(says(&place, "bees yes"), says(&shown, "bees yes"), "{out}");
    assert_eq!(says(&place, "bees no"), says(&shown, "bees no"), "{out}");
    assert!(says(&place, "bees yes") || says(&place, "bees no"), "{out}");
}

/// A time without an end is shown by one that a person would say, not by a spray of fifty years ago.
#[test]
fn a_long_time_since_a_spray_is_one_that_a_person_would_say() {
    let found = findings(
        "settled_long_ago",
        "measure age = days since last copper\n\nproduct copper\n  strength low 1 g/L\n  cites own\n\n\
         choice a\n  advise copper at low\n  cites own\n\npromise p\n  whenever age above 30 d\n  only hold\n",
        "promise-broken",
    );
    let age = &found[0]["situation"]["age"];
    let days = age["value"].as_f64();
    assert!(days.is_none_or(|days| days > 30.0 && days < 100.0), "{age}");
    assert!(days.is_some() || age["value"] == "longer than any", "{age}");
    // No other number is taken for a time: a wind is shown within its range.
    let found = findings(
        "settled_wind",
        "observe breeze\n  kind speed\n\nchoice a\n  advise hold\n  cites own\n\n\
         promise p\n  whenever breeze from 15 km/h to below 16 km/h\n  only look\n",
        "promise-broken",
    );
    let breeze = found[0]["situation"]["breeze"]["value"].as_f64().unwrap();
    assert!((15.0..16.0).contains(&breeze), "{}", found[0]);
}
