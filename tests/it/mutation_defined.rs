//! Small changes of what rules compare: of conditions inside measures, and rows of tables. As in `mutation`, every change is
//! written into the text, and trees of one and of two groups of panicles are advised under both texts by the whole program.

use crate::case::case;
use crate::mutation::{BEFORE, Dice, edited, rehearsed};
use crate::proofs::plan;
use bloomward::advice::{ExampleHours, take_hours};
use bloomward::check;
use bloomward::plan::Plan;
use bloomward::prove::mutate::mutants::{Mutant, mutants};
use bloomward::prove::mutate::{Mutation, mutate};
use bloomward::prove::{BUDGET, Book, examples};
use bloomward::report::mutation::{mutation_form, mutation_text};
use bloomward::source::Sources;
use serde_json::Value;
use std::fmt::Write;

const BASIS: &str = "scale bloom\n  closed\n  open\n  falling\n\
    observe stage\n  kind bloom\n  of panicles\n\
    observe opened\n  kind count\n  range from 0 to 3\n  of panicles\n\
    observe vigor\n  kind count\n  range from 0 to 2\n\
    observe clean\n  kind yes-no\n\
    product copper\n  strength low 1 g/L\n  strength high 2 g/L\n  cites own\n\
    product sulfur\n  strength low 1 g/L\n  cites own\n";

fn of_group(dice: &mut Dice) -> &'static str {
    dice.one_of(&[
        "stage is open",
        "stage is falling",
        "stage is closed",
        "opened at least 2",
        "opened below 1",
        "opened above 1",
        "opened at most 2",
    ])
}

/// Makes the items of a rulebook whose rules speak of measures and of a table.
fn made(seed: u64) -> String {
    let mut dice = Dice(seed);
    let mut text = BASIS.to_owned();
    for (name, asks) in [("fresh", "some panicles"), ("done", "all panicles"), ("part", "share of panicles")]
    {
        let (a, joint, b) = (of_group(&mut dice), dice.one_of(&["and", "or"]), of_group(&mut dice));
        let _ = writeln!(text, "measure {name} = {asks} with ({a} {joint} {b})");
    }
    let _ = writeln!(
        text,
        "measure worth = vigor\n  valid if {} {} clean",
        dice.one_of(&["fresh", "part at least 50 %", "vigor at least 1"]),
        dice.one_of(&["and", "or"]),
    );
    let _ = write!(text, "table rating\n  of count\n  gives count\n");
    for key in 0..3 {
        let _ = writeln!(text, "  {key} {}", dice.one_of(&["0", "1", "2"]));
    }
    let _ = writeln!(text, "  otherwise 1\n  because \"made\"\n  cites own\nmeasure rated = rating at vigor");
    for at in 0..3 {
        let does = dice.one_of(&["shuts copper", "shuts sulfur", "holds copper to low"]);
        let _ = write!(text, "gate g{at}\n  {does}\n  if {}\n  cites own\n", of_tree(&mut dice));
    }
    for at in 0..3 {
        let advise = dice.one_of(&[
            "copper at high\n  or else sulfur at low",
            "sulfur at low",
            "copper at low",
            "hold",
        ]);
        let lower = if at > 0 { format!("  outranks c{}\n", at - 1) } else { String::new() };
        let _ = write!(
            text,
            "choice c{at}\n  advise {advise}\n  if {}\n{lower}  cites own\n",
            if at == 1 { of_rating(&mut dice) } else { of_tree(&mut dice) }
        );
    }
    text
}

fn of_tree(dice: &mut Dice) -> String {
    let tests =
        ["fresh", "done", "part at least 50 %", "worth above 0", "rated at least 1", "clean", "not done"];
    format!("{} {} {}", dice.one_of(&tests), dice.one_of(&["and", "or"]), dice.one_of(&tests))
}

fn of_rating(dice: &mut Dice) -> String {
    format!(
        "{} {} {}",
        dice.one_of(&["rated at least 1", "rated at least 2"]),
        dice.one_of(&["and", "or"]),
        "clean"
    )
}

/// Returns the verdict of trees with every single group of panicles, and of all pairs of them.
fn every_tree(items: &str) -> Vec<(Value, Value)> {
    let mut groups = Vec::new();
    for stage in ["closed", "open", "falling"] {
        for opened in 0..=3 {
            groups.push(format!("stage: {stage}, opened: {opened}"));
        }
    }
    let mut trees = String::from("trees:\n");
    let mut count = 0;
    let mut add = |panicles: String, vigor: u8, clean: &str| {
        let _ = writeln!(
            trees,
            "  - {{ tree: T-{count}, block: b, {panicles}, vigor: {vigor}, clean: {clean}, seen: 2027-02-11 }}"
        );
        count += 1;
    };
    for vigor in 0..=2 {
        for clean in ["yes", "no"] {
            for (at, one) in groups.iter().enumerate() {
                add(one.clone(), vigor, clean);
                for other in groups.iter().skip(at + 1).filter(|_| clean == "no") {
                    for share in [40, 60] {
                        let both = format!(
                            "panicles: [ {{ share: {share} %, {one} }}, {{ share: {} %, {other} }} ]",
                            100 - share
                        );
                        add(both, vigor, clean);
                    }
                }
            }
        }
    }
    let advice = case(items, &format!("sprays: none yet\nblocks:\n  - {{ block: b }}\n{trees}")).advise();
    let trees = advice["trees"].as_array().unwrap();
    assert_eq!(trees.len(), 468);
    trees.iter().map(|tree| (tree["verdict"].clone(), tree["spray"].clone())).collect()
}

fn is_definition(mutant: &Mutant) -> bool {
    mutant.item.starts_with("measure ") || mutant.item.ends_with(" of rating")
}

fn survives(mutation: &Mutation, mutant: &Mutant) -> bool {
    let key = |it: &Mutant| (it.item.clone(), it.at, it.change.clone());
    mutation.survived.iter().any(|it| key(&it.mutant) == key(mutant))
}

#[test]
fn a_change_of_a_definition_is_equal_or_its_example_notices() {
    let (mut equal, mut turned, mut rows) = (0, 0, 0);
    for seed in 1..=3 {
        let items = made(seed);
        let before = every_tree(&items);
        let mutation = rehearsed(&items);
        assert!(!mutation.spent && mutation.by_examples == 0);
        let all: Vec<Mutant> = mutants(&plan(&items)).into_iter().filter(is_definition).collect();
        assert!(all.len() > 10, "{items}");
        for mutant in &all {
            // A count outside its range cannot be compared with.
            if mutant.change.starts_with("`-1`") || mutant.change.starts_with("`4`") {
                continue;
            }
            let differs = every_tree(&edited(&items, mutant)) != before;
            let words = format!("{seed}: {} {}\n{items}", mutant.item, mutant.change);
            assert_eq!(survives(&mutation, mutant), differs, "{words}");
            *(if differs { &mut turned } else { &mut equal }) += 1;
            rows += usize::from(differs && mutant.item.starts_with("row "));
        }
        let of_definitions = mutation.survived.iter().filter(|it| is_definition(&it.mutant));
        for survivor in of_definitions {
            let words = format!("{seed}: {} {}\n{items}", survivor.mutant.item, survivor.mutant.change);
            let printed = survivor.worked.as_ref().unwrap_or_else(|| panic!("no example: {words}"));
            let pasted = format!("{items}{printed}");
            let book = plan(&pasted);
            let rules = bloomward::decide::Rules::new(&book, bloomward::decide::Certified::No);
            let outcomes = examples::run(Book { plan: &book, rules: &rules }, BUDGET);
            assert!(outcomes.iter().all(|it| it.failures.is_empty()), "{words}\n{printed}");
            // The example alone notices the change that it was printed for.
            assert!(!survives(&rehearsed(&pasted), &survivor.mutant), "{words}\n{printed}");
        }
    }
    assert!(equal > 20 && turned > 15 && rows > 1, "{equal} {turned} {rows}");
}

const OF_HOURS: &str = "hourly damp = humidity at least 90 % and temperature at least 10 °C\n\
    measure damp-hours = hours with damp over last 24 h\n\
    measure idle = hours with humidity at least 70 % over last 24 h\n\
    tally warm-days\n  over last 2 days\n  starts 0\n  add 1 if peak at least 30 °C\n\
    daily peak = highest temperature over that day\n\
    table need\n  of count\n  gives count\n  from 0 to 1  5\n  2 7\n  3 9\n  because \"made\"\n  cites own\n\
    product copper\n  strength low 1 g/L\n  label season at most 3 sprays\n  cites own\n\
    hourly windy = wind above 4 m/s\n\
    gate by-day\n  shuts spraying\n  in hours when windy and rain above 0 mm\n  because \"made\"\n  cites own\n\
    choice act\n  advise copper at low\n  if damp-hours at least 3 h or warm-days at least 1\n  cites own\n\
    choice watch\n  advise hold\n  if damp-hours below 3 h and warm-days below 1\n  cites own\n";

/// Three hours at exactly 90 % and 10 °C, one at 89 %, one at 9 °C; 29 °C at noon, and 30 °C the day before.
fn hours() -> String {
    let mut text = "time,temperature [°C],humidity [%]\n".to_owned();
    for day in 8..=10 {
        for hour in 0..24 {
            let (warmth, humid) = match (day, hour) {
                (10, 1..=3) => (10, 90),
                (10, 4) => (12, 89),
                (10, 5) => (9, 95),
                (9, 12) => (30, 50),
                (10, 12) => (29, 50),
                _ => (20, 50),
            };
            let _ = writeln!(text, "2027-02-{day:02}T{hour:02}:00,{warmth},{humid}");
        }
    }
    text
}

fn with_hours(items: &str) -> (Plan, Vec<ExampleHours>) {
    let mut sources = Sources::default();
    let id = sources.add("test.rulebook", format!("{BEFORE}{items}"));
    let (plan, problems) = check::load(id, &mut sources, None, &mut |_| Err("none".to_owned()));
    assert!(!problems.any_error(), "{}", problems.plain(&sources));
    let (mut plan, mut taken) = (plan.unwrap(), Vec::new());
    let text = hours();
    let id = sources.add("hours.csv", text.as_str());
    for at in 0..plan.worked.len() {
        let (hours, problems) = take_hours(&mut plan, at, &text, id);
        assert!(problems.is_empty(), "{}", problems.plain(&sources));
        taken.extend(hours);
    }
    (plan, taken)
}

/// Each end of what is counted over hours: noticed by the example whose hours stand on it, by no other, and of what nothing hangs
/// on it is proved that nothing changes.
#[test]
fn what_is_counted_over_hours_is_noticed_by_examples_with_hours_alone() {
    let rules = "worked \"damp\"\n  take damp-hours 3 h, warm-days 0\n  expect copper at low\n\
         worked \"dry\"\n  take damp-hours 2 h, warm-days 0\n  expect hold\n\
         worked \"warm\"\n  take damp-hours 0 h, warm-days 1\n  expect copper at low\n";
    let told = |more: &str| {
        let (plan, hours) = with_hours(&format!("{OF_HOURS}{rules}{more}"));
        mutate(&plan, &hours, BUDGET, &mut |_, _| {})
    };
    let named = |mutation: &Mutation| -> Vec<String> {
        mutation.survived.iter().map(|it| format!("{}: {}", it.mutant.item, it.mutant.change)).collect()
    };
    let damp = [
        "hourly damp: `91 %` for `90 %`",
        "hourly damp: `89 %` for `90 %`",
        "hourly damp: `11 °C` for `10 °C`",
        "hourly damp: `9 °C` for `10 °C`",
        "hourly damp: `or` for `and`",
    ];
    let warm = ["tally warm-days: `31 °C` for `30 °C`", "tally warm-days: `29 °C` for `30 °C`"];
    let without = told("");
    assert_eq!(named(&without), [&warm[..], &damp[..]].concat());
    assert!(without.survived.iter().all(|it| it.worked.is_none() && it.mutant.of_hours));
    // The measure and the table that nothing speaks of: two thresholds, three rows.
    assert_eq!(without.equal, 5);
    let of_damp = "worked \"hours\"\n  hours from \"hours.csv\"\n  as-of 2027-02-11T00:00\n  \
                   expect damp-hours is 3 h\n";
    assert_eq!(named(&told(of_damp)), warm);
    let of_warm =
        of_damp.replace("damp-hours is 3 h", "warm-days is 1").replace("\"hours\"", "\"warm days\"");
    assert_eq!(named(&told(&of_warm)), damp);
    let both = told(&format!("{of_damp}{of_warm}"));
    assert_eq!(named(&both), [""; 0]);
    assert_eq!(both.by_examples, without.by_examples + 7);
    // Wind and rain of the gate's hours, up and down, and its `and`; and the label's count of sprays.
    assert_eq!((both.of_hours, both.of_log), (5, 2));

    let text = mutation_text(&without, &Sources::default(), 80);
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains("only an example with `hours from` can notice it: hours in which humidity is between 89 % and 90 %, or on one of them"),
        "{text}"
    );
    assert!(
        words.contains("Not tried: 5 of the hours of gates and preferences, 2 of label lines and the log"),
        "{text}"
    );
    let sources = Sources::default();
    let json = serde_json::to_value(mutation_form(&without, &sources)).unwrap();
    assert_eq!(json["not_tried"], serde_json::json!({ "hours": 5, "log": 2 }));
    assert!(json["survived"][2]["hours"].as_str().unwrap().contains("90 %"));
}

/// A row on the line between its neighbours can go; one off the line cannot, and what the table gives there notices it.
#[test]
fn a_row_of_a_table_is_idle_or_its_value_is_printed() {
    let items = "observe warmth\n  kind temperature\n\
        table need\n  of temperature\n  gives duration\n  10 °C 20 h\n  20 °C 10 h\n  25 °C 5 h\n  30 °C 12 h\n  \
        between linear\n  beyond empty\n  because \"made\"\n  cites own\n\
        measure needed = need at warmth\n\
        product copper\n  strength low 1 g/L\n  cites own\n\
        choice act\n  advise copper at low\n  if needed below 8 h\n  cites own\n\
        choice watch\n  advise hold\n  if not needed below 8 h\n  cites own\n\
        worked \"at 25 °C\"\n  take needed 7.9 h\n  expect copper at low\n\
        worked \"eight hours\"\n  take needed 8 h\n  expect hold\n";
    let mutation = rehearsed(items);
    let printed: Vec<(&str, &str)> = mutation
        .survived
        .iter()
        .filter(|it| it.mutant.item.starts_with("row "))
        .map(|it| (it.mutant.item.as_str(), it.worked.as_deref().unwrap_or_default()))
        .collect();
    let expected = |warmth: &str, needed: &str| {
        format!(
            "worked \"need at {warmth}: {needed}\"\n  cites    own\n  expect   need at {warmth} is {needed}\n"
        )
    };
    assert_eq!(
        printed,
        [
            ("row 25 °C of need", expected("25 °C", "5 h").as_str()),
            ("row 30 °C of need", expected("30 °C", "12 h").as_str()),
        ]
    );
    let pasted: String = printed.iter().map(|(_, worked)| *worked).collect();
    let again = rehearsed(&format!("{items}{pasted}"));
    assert!(again.survived.iter().all(|it| !it.mutant.item.starts_with("row ")), "{:?}", again.survived);
}
