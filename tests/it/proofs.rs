//! Proofs against brute force: made rulebooks are advised for every tree that their observations can describe, one tree
//! for each combination of values and of groups of panicles. What the proofs say of all situations must be what was
//! met, in both directions. The verdicts come the whole way through the program, not from the diagrams.

use crate::case::case;
use bloomward::check;
use bloomward::plan::Plan;
use bloomward::problems::{Finding, Problem};
use bloomward::prove;
use bloomward::source::Sources;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

/// Dice of a seed: the generator SplitMix64, with its published constants.
struct Dice(u64);

impl Dice {
    fn below(&mut self, count: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((mixed ^ (mixed >> 31)) >> 33) as usize % count
    }

    fn one_of<'w>(&mut self, words: &[&'w str]) -> &'w str {
        words[self.below(words.len())]
    }
}

const BASIS: &str = "scale bloom\n  closed\n  open\n  falling\n\
    observe stage\n  kind bloom\n\
    observe mildew\n  kind share\n\
    observe spots\n  kind count\n  range from 0 to 3\n\
    observe flowers\n  kind share\n  of panicles\n\
    observe age\n  kind bloom\n  of panicles\n\
    measure doubled = mildew * 2\n\
    measure lightest = lowest flowers of panicles\n\
    measure blooming = some panicles with (age is open and flowers at least 20 %)\n\
    measure faded = all panicles with (age is falling or flowers below 20 %)\n\
    measure together = spots + mildew * 10\n\
    product copper\n  strength low 1 g/L\n  strength high 2 g/L\n  cites own\n\
    product sulfur\n  strength low 1 g/L\n  strength high 2 g/L\n  cites own\n";

/// Values on, below and above every threshold that a made rulebook can have.
const MILDEW: [&str; 7] = ["0 %", "10 %", "15 %", "20 %", "25 %", "30 %", "50 %"];
const SPOTS: [&str; 4] = ["0", "1", "2", "3"];
const STAGES: [&str; 3] = ["closed", "open", "falling"];
/// One group or two, each as share of open flowers and age. With what made rulebooks ask of panicles two are enough.
fn groups() -> Vec<Vec<(&'static str, &'static str)>> {
    let shares = ["10 %", "20 %", "30 %", "50 %", "80 %"];
    let mut all: Vec<Vec<(&str, &str)>> =
        shares.iter().flat_map(|share| STAGES.iter().map(|age| vec![(*share, *age)])).collect();
    let some = [
        ("10 %", "closed"),
        ("20 %", "open"),
        ("30 %", "falling"),
        ("50 %", "open"),
        ("80 %", "closed"),
        ("20 %", "closed"),
    ];
    for (at, one) in some.iter().enumerate() {
        all.extend(some.iter().skip(at + 1).map(|other| vec![*one, *other]));
    }
    all
}

fn test(dice: &mut Dice) -> String {
    match dice.below(9) {
        0 => format!("stage is {}", dice.one_of(&STAGES)),
        1 => format!("stage from {} to falling", dice.one_of(&["closed", "open"])),
        2 => format!("mildew at least {}", dice.one_of(&["10 %", "20 %"])),
        3 => format!("mildew below {}", dice.one_of(&["20 %", "30 %"])),
        4 => format!("spots {} {}", dice.one_of(&["at least", "is", "below"]), dice.one_of(&["1", "2"])),
        5 => format!("doubled above {}", dice.one_of(&["20 %", "40 %"])),
        6 => format!("lightest at least {}", dice.one_of(&["20 %", "50 %"])),
        7 => dice.one_of(&["blooming", "faded", "not blooming"]).to_owned(),
        _ => format!("danger is {}", dice.one_of(&["low", "middle", "great"])),
    }
}

fn row_test(dice: &mut Dice) -> String {
    loop {
        let test = test(dice);
        if !test.contains("danger") {
            return test;
        }
    }
}

fn condition(dice: &mut Dice, test: fn(&mut Dice) -> String) -> String {
    match dice.below(5) {
        0 => test(dice),
        1 => format!("{} and {}", test(dice), test(dice)),
        2 => format!("{} or {}", test(dice), test(dice)),
        3 => format!("{} and not ({} or {})", test(dice), test(dice), test(dice)),
        _ => format!("({} or {}) and {}", test(dice), test(dice), test(dice)),
    }
}

/// The items of a made rulebook: each by what it is called, its text apart.
fn made(seed: u64) -> Vec<(String, String)> {
    let mut dice = Dice(seed);
    let mut items = Vec::new();
    let mut band = "band danger\n  because \"made\"\n  cites own\n  levels low, middle, great\n".to_owned();
    for (at, level) in ["middle", "great", "at most middle"].into_iter().enumerate() {
        let condition = condition(&mut dice, row_test);
        let _ = writeln!(band, "  {level} if {condition} because \"row {at}\"");
    }
    items.push(("danger".to_owned(), band));
    for at in 0..2 + dice.below(3) {
        let does = dice.one_of(&[
            "shuts copper",
            "shuts sulfur",
            "shuts spraying",
            "holds copper to low",
            "shuts copper with sulfur",
        ]);
        let text = format!("gate g{at}\n  {does}\n  if {}\n  cites own\n", condition(&mut dice, test));
        items.push((format!("g{at}"), text));
    }
    for at in 0..3 + dice.below(3) {
        let mut text = format!("choice c{at}\n  advise ");
        let doses = ["copper at high", "sulfur at low", "copper at low with sulfur at low", "hold"];
        let first = dice.below(doses.len());
        for way in 0..1 + dice.below(2) {
            let dose = doses[(first + way) % doses.len()];
            text += &format!("{}{dose}\n", if way > 0 { "  or else " } else { "" });
        }
        if dice.below(5) > 0 {
            let _ = writeln!(text, "  if {}", condition(&mut dice, test));
        }
        let lower: Vec<String> = (0..at).filter(|_| dice.below(2) == 0).map(|it| format!("c{it}")).collect();
        if !lower.is_empty() {
            let _ = writeln!(text, "  outranks {}", lower.join(", "));
        }
        items.push((format!("c{at}"), text + "  cites own\n"));
    }
    for at in 0..3 {
        let whenever = condition(&mut dice, test);
        let never =
            dice.one_of(&["never copper", "never spraying", "never copper above low", "only sulfur, hold"]);
        items.push((
            format!("p{at}"),
            format!("promise p{at}\n  whenever {whenever}\n  {never}\n  cites own\n"),
        ));
        // The same condition as a task, so that the page says where it holds.
        items.push((format!("t{at}"), format!("task t{at}\n  do \"look\"\n  if {whenever}\n  cites own\n")));
    }
    items
}

fn text(items: &[(String, String)], without: Option<&str>) -> String {
    let kept = items.iter().filter(|(name, _)| Some(name.as_str()) != without);
    BASIS.to_owned() + &kept.map(|(_, text)| text.as_str()).collect::<String>()
}

pub fn plan(text: &str) -> Plan {
    plan_of(&format!("rulebook \"Test\"\n  caution \"x\"\nsource own \"made\"\n{text}"))
}

/// Reads a rulebook with its head.
pub fn plan_of(book: &str) -> Plan {
    let mut sources = Sources::default();
    let id = sources.add("test.rulebook", book);
    let (plan, problems) = check::load(id, &mut sources, None, &mut |_| Err("none".to_owned()));
    assert!(!problems.any_error(), "{}\n{book}", problems.plain(&sources));
    plan.unwrap()
}

fn proved(text: &str) -> Vec<Problem> {
    prove::findings(&plan(text)).iter().cloned().collect()
}

/// What a tree came to.
#[derive(Clone, PartialEq, Debug)]
struct Came {
    verdict: String,
    spray: Value,
    between: BTreeSet<String>,
    tasks: BTreeSet<String>,
}

fn words(value: &Value) -> BTreeSet<String> {
    let list = value.as_array().map_or(&[][..], |list| list);
    list.iter().filter_map(|it| it.as_str()).map(str::to_owned).collect()
}

/// Advises every tree that the observations can describe.
fn every_tree(items: &str) -> Vec<Came> {
    let mut trees = String::from("trees:\n");
    let mut scouting = String::from("when,who,on,panicles,flowers,age\n");
    let (all, mut number) = (groups(), 0);
    for stage in STAGES {
        for mildew in MILDEW {
            for spots in SPOTS {
                for groups in &all {
                    number += 1;
                    let _ = writeln!(
                        trees,
                        "  - {{ tree: T{number:04}, block: b, stage: {stage}, mildew: {mildew}, spots: {spots}, seen: 2027-02-11 }}"
                    );
                    let share = if groups.len() == 1 { "" } else { "50 %" };
                    for (flowers, age) in groups {
                        let _ = writeln!(scouting, "2027-02-11,me,T{number:04},{share},{flowers},{age}");
                    }
                }
            }
        }
    }
    let keys = format!("sprays: none yet\nblocks:\n  - {{ block: b }}\n{trees}");
    let advice = case(items, &keys).scouting(scouting).advise();
    let trees = advice["trees"].as_array().unwrap();
    assert_eq!(trees.len(), number);
    let came = |tree: &Value| Came {
        verdict: tree["verdict"].as_str().unwrap().to_owned(),
        spray: tree["spray"].clone(),
        between: words(&tree["between"]),
        tasks: words(&tree["tasks"]),
    };
    trees.iter().map(came).collect()
}

fn breaks(never: &str, came: &Came) -> bool {
    let sprays = came.spray.as_array().map_or(&[][..], |list| list);
    let sprayed = |product: &str| sprays.iter().any(|it| it["product"] == product);
    match never {
        "never copper" => sprayed("copper"),
        "never spraying" => came.verdict == "spray",
        "never copper above low" => {
            sprays.iter().any(|it| it["product"] == "copper" && it["strength"] == "high")
        }
        _ => {
            !(came.verdict == "hold"
                || came.verdict == "spray" && sprays.iter().all(|it| it["product"] == "sulfur"))
        }
    }
}

/// Returns the findings of a kind by the item in backticks that their message names first.
fn named(found: &[Problem], kind: Finding) -> BTreeSet<String> {
    let of = found.iter().filter(|it| it.finding == kind);
    of.filter_map(|it| it.message.split('`').nth(1)).map(str::to_owned).collect()
}

#[test]
fn what_is_proved_of_made_rulebooks_is_what_every_tree_comes_to() {
    let (mut conflicts, mut gaps, mut idle, mut broken, mut never) = (0, 0, 0, 0, 0);
    for seed in 1..=5 {
        let items = made(seed);
        let book = text(&items, None);
        let found = proved(&book);
        let trees = every_tree(&book);
        assert!(trees.iter().all(|tree| tree.verdict != "look"), "{seed}: every tree is fully seen\n{book}");
        // Conflicts: every pair that is reported disagrees on some tree, and every tree's disagreement is reported.
        let pairs: BTreeSet<(String, String)> = found
            .iter()
            .filter(|it| it.finding == Finding::Conflict)
            .flat_map(|it| {
                // A choice is told with all that it disagrees with.
                let names: Vec<&str> = it.message.split('`').skip(1).step_by(2).collect();
                let pairs = names[1..].iter().map(|other| (names[0].to_owned(), (*other).to_owned()));
                pairs.collect::<Vec<_>>()
            })
            .collect();
        for tree in trees.iter().filter(|tree| tree.verdict == "undecided") {
            let said = pairs.iter().any(|(a, b)| tree.between.contains(a) && tree.between.contains(b));
            assert!(said, "{seed}: {:?} is not reported\n{book}", tree.between);
        }
        for (a, b) in &pairs {
            let met = trees.iter().any(|tree| tree.between.contains(a) && tree.between.contains(b));
            assert!(met, "{seed}: {a} and {b} never disagree\n{book}");
        }
        conflicts += pairs.len();
        let gap = found.iter().any(|it| it.finding == Finding::Gap);
        assert_eq!(gap, trees.iter().any(|tree| tree.verdict == "uncovered"), "{seed}\n{book}");
        gaps += usize::from(gap);
        // Promises and items that never hold: a task with the same condition says where it holds.
        let (broken_here, never_here) =
            (named(&found, Finding::PromiseBroken), named(&found, Finding::NeverHolds));
        for at in 0..3 {
            let (promise, task) = (format!("p{at}"), format!("t{at}"));
            let words = &items.iter().find(|(name, _)| *name == promise).unwrap().1;
            let ruled_out = words.lines().nth(2).unwrap().trim();
            let holds: Vec<&Came> = trees.iter().filter(|tree| tree.tasks.contains(&task)).collect();
            // Where choices contradict each other, what comes of that is no finding of its own.
            let is_broken = holds.iter().any(|tree| tree.verdict != "undecided" && breaks(ruled_out, tree));
            assert_eq!(broken_here.contains(&promise), is_broken, "{seed}: {promise}\n{book}");
            assert_eq!(never_here.contains(&task), holds.is_empty(), "{seed}: {task}\n{book}");
            broken += usize::from(is_broken);
            never += usize::from(holds.is_empty());
        }
        // Items that change nothing: without them every tree comes to the same.
        let idle_here = named(&found, Finding::NoEffect);
        for (name, _) in items.iter().filter(|(name, _)| name.starts_with(['g', 'c'])) {
            // A choice that others outrank cannot be left out of the text.
            let text: String = text(&items, Some(name))
                .lines()
                .filter_map(|line| match line.trim().strip_prefix("outranks ") {
                    Some(lower) => {
                        let rest: Vec<&str> = lower.split(", ").filter(|it| it != name).collect();
                        (!rest.is_empty()).then(|| format!("  outranks {}\n", rest.join(", ")))
                    }
                    None => Some(format!("{line}\n")),
                })
                .collect();
            // Ranks pass through a choice that is gone, too: where it stands between two others it is left alone.
            let between =
                items.iter().any(|(_, text)| text.contains("outranks") && text.contains(name.as_str()));
            if between && name.starts_with('c') {
                continue;
            }
            let same = every_tree(&text)
                .iter()
                .zip(&trees)
                .all(|(now, was)| (&now.verdict, &now.spray) == (&was.verdict, &was.spray));
            let said = idle_here.contains(name) || never_here.contains(name);
            assert_eq!(said, same, "{seed}: {name}\n{book}");
            idle += usize::from(same);
        }
    }
    // The rulebooks were such that all of it occurred.
    let all = [conflicts, gaps, idle, broken, never];
    assert!(all.iter().all(|count| *count > 0), "{all:?}");
}

/// Every finding about decisions shows a situation; a tree that is in it comes to what the finding says.
#[test]
fn a_situation_that_shows_a_finding_is_one() {
    let mut shown = 0;
    for seed in 11..=40 {
        let items = made(seed);
        let book = text(&items, None);
        for problem in proved(&book) {
            if !matches!(problem.finding, Finding::Conflict | Finding::Gap) {
                continue;
            }
            // Situations that speak of panicles by their answers are not typed into a grove.
            let plain = ["stage", "mildew", "spots"];
            if problem
                .situation
                .keys()
                .any(|name| !plain.contains(&name.as_str()) && name != "danger" && name != "doubled")
            {
                continue;
            }
            let value = |name: &str, other: &str| match problem.situation.get(name) {
                Some(found) => {
                    let unit = found
                        .get("unit")
                        .and_then(Value::as_str)
                        .map_or(String::new(), |it| format!(" {it}"));
                    format!("{}{unit}", found["value"].to_string().replace('"', ""))
                }
                None => other.to_owned(),
            };
            // Names that do not matter may have any value.
            for (stage, spots, flowers) in
                [("closed", "0", "50 %"), ("falling", "3", "10 %"), ("open", "2", "20 %")]
            {
                let keys = format!(
                    "sprays: none yet\nblocks:\n  - {{ block: b }}\ntrees:\n  - {{ tree: T1, block: b, stage: {}, \
                     mildew: {}, spots: {}, flowers: {flowers}, age: open, seen: 2027-02-11 }}\n",
                    value("stage", stage),
                    value("mildew", "15 %"),
                    value("spots", spots)
                );
                let advice = case(&book, &keys).advise();
                let verdict = advice["trees"][0]["verdict"].as_str().unwrap().to_owned();
                if problem.finding == Finding::Gap {
                    assert_eq!(verdict, "uncovered", "{seed} {keys}\n{book}");
                    shown += 1;
                }
            }
        }
    }
    assert!(shown > 0);
}

/// Tables and bands are opened up, hours and counts lie in their ranges, and what is always so is left out.
#[test]
fn what_cannot_be_is_no_finding() {
    let kinds = |items: &str| -> BTreeMap<&'static str, usize> {
        let mut kinds = BTreeMap::new();
        let book = format!("product copper\n  strength low 1 g/L\n  cites own\n{items}");
        for problem in proved(&book) {
            *kinds.entry(problem.finding.code()).or_default() += 1;
        }
        kinds
    };
    let two = "choice spray-it\n  advise copper at low\n  if FIRST\n  cites own\n\
               choice leave-it\n  advise hold\n  if SECOND\n  cites own\n\
               choice else-it\n  advise hold\n  unless (FIRST) or (SECOND)\n  cites own\n";
    let with = |defs: &str, first: &str, second: &str| {
        let items = two.replace("FIRST", first).replace("SECOND", second);
        kinds(&format!("{defs}{items}")).contains_key("conflict")
    };
    // One point only.
    let day = "observe heat\n  kind temperature\n";
    assert!(with(day, "heat at least 90 °F", "heat at most 90 °F"));
    assert!(!with(day, "heat above 90 °F", "heat at most 90 °F"));
    // The same threshold in another unit.
    assert!(!with(day, "heat above 86 °F", "heat at most 30 °C"));
    assert!(!with(
        "measure wet = hours with rain above 0 mm over last 24 h\n",
        "wet above 24 h",
        "wet at least 1 h"
    ));
    let nested = "measure damp = hours with humidity at least 85 % over last 24 h\n\
                  measure soaked = hours with humidity at least 95 % over last 24 h\n";
    assert!(!with(nested, "soaked at least 6 h", "damp below 6 h"));
    assert!(with(nested, "soaked at least 5 h", "damp below 6 h"));
    let span = "measure low = lowest temperature over last 3 days\nmeasure high = highest temperature over last 3 days\n";
    assert!(!with(span, "low above 20 °C", "high below 20 °C"));
    let log = "measure age = days since last copper\nmeasure number = sprays of copper this season\n";
    assert!(
        with(log, "age above 400 d", "number at least 1"),
        "a season may be long, and years are not counted"
    );
    // Days are calendar days.
    assert!(!with(log, "age above 7 d", "age below 8 d"));
    assert!(with(log, "age above 7 d", "age below 9 d"));
    // Two names that are computed from a third meet on its threshold, whether they stay there or not.
    let after = "measure age = days since last copper\nmeasure soon = total rain over the 2 h after the last copper\n\
                 measure within-day = total rain over the 24 h after the last copper\n\
                 measure since-then = total rain since last copper\n\
                 measure other = total rain over the 24 h after the last spray\n\
                 measure wet-warmth = mean temperature while rain above 0 mm over the 2 h after the last copper\n";
    assert!(!with(after, "soon above 5 mm", "within-day below 5 mm"), "two hours lie within a day");
    assert!(with(after, "soon at least 5 mm", "within-day at most 5 mm"));
    assert!(with(after, "soon above 5 mm", "since-then below 5 mm"), "of the two hours some may lie ahead");
    assert!(with(after, "soon above 5 mm", "other below 5 mm"), "the last spray may be another");
    assert!(with(after, "not (soon at least 0 mm)", "age above 7 d"), "never sprayed: there is no such rain");
    assert!(!with(after, "not (soon at least 0 mm)", "age below 7 d"), "rain is counted after every spray");
    assert!(
        with(after, "not (wet-warmth at least -90 °C or wet-warmth below -90 °C)", "age below 7 d"),
        "of no wet hours there is no warmth"
    );
    let third = "observe part\n  kind share\nmeasure rest = 100 % - part\nmeasure twice = part * 2\n\
                 measure most = lesser of part and 20 %\n";
    assert!(!with(third, "twice above 20 %", "rest above 90 %"));
    assert!(with(third, "twice at least 20 %", "rest at least 90 %"));
    assert!(!with(third, "most below 20 %", "rest at most 80 %"));
    assert!(with(third, "most at least 20 %", "rest at least 80 %"));
    let row = "measure age = days since last spray\nmeasure own = days since last copper\n";
    assert!(!with(row, "age above 10 d", "own below 10 d"));
    let table = "observe heat\n  kind temperature\n  range from 0 °C to 50 °C\n\
                 table need\n  of temperature\n  gives duration\n  10 °C 20 h\n  30 °C 10 h\n  between linear\n  beyond ends\n  cites own\n\
                 measure needed = need at heat\n";
    assert!(!with(table, "needed below 10 h", "heat above 0 °C"));
    assert!(with(table, "needed at most 15 h", "heat at least 20 °C"));
    assert!(!with(table, "needed below 15 h", "heat at most 20 °C"));
    assert!(!with(table, "needed above 15 h", "heat at least 20 °C"));
    let always = "observe low\n  kind share\nobserve high\n  kind share\nalways ordered\n  low at most high\n  because \"so it is\"\n  cites own\n";
    assert!(!with(always, "low above 50 %", "high below 50 %"));
    assert!(with(always, "low at least 50 %", "high at most 50 %"));
    let never = "observe a\n  kind share\nobserve b\n  kind share\nalways apart\n  not (a above 20 % and b above 20 %)\n  because \"so it is\"\n  cites own\n";
    assert!(!with(never, "a above 30 %", "b above 25 %"));
    assert!(with(never, "a above 10 %", "b above 25 %"));
    let missing =
        "observe seen\n  kind count\n  range from 0 to 5\nmeasure root-of = square root of (3 - seen)\n";
    assert!(!with(missing, "root-of at least 0", "seen at least 4"));
}

/// A worked example whose hours nobody read is not run, and that is said.
#[test]
fn a_worked_example_that_is_not_run_is_said_to_be_so() {
    let book = "observe spots\n  kind count\nchoice rest\n  advise hold\n  cites own\n\
                worked \"a night\"\n  cites own\n  hours from \"night.csv\"\n  as-of 2027-02-11T05:30\n  expect hold\n";
    let found = proved(book);
    assert!(
        found.iter().any(|it| it.finding == Finding::NotDecided && it.message.contains("a night")),
        "{found:?}"
    );
}

/// A worked example with hours of its own: counted by hand, of twelve hours six are damp and the last three of them without
/// a break.
#[test]
fn a_worked_example_takes_what_its_hours_measure() {
    use crate::cli::{folder, ran};
    let folder = folder("worked_hours");
    let book = "rulebook \"Test\"\n  caution \"x\"\nsource own \"made\"\n\
        product sulfur\n  strength low 1 g/L\n  cites own\n\
        observe spots\n  kind count\n\
        measure damp = hours with humidity at least 90 % over last 12 h\n  because \"x\"\n  cites own\n\
        measure warmest = highest temperature over last 12 h\n  because \"x\"\n  cites own\n\
        choice fight\n  advise sulfur at low\n  if damp at least 6 h and spots at least 1\n  outranks rest\n  because \"x\"\n  cites own\n\
        choice rest\n  advise hold\n  because \"x\"\n  cites own\n\
        worked \"a damp night\"\n  cites own\n  hours from \"night.csv\"\n  as-of 2027-02-11T06:00-04:00\n  take spots 2\n  \
        expect sulfur at low\n  expect damp is 6 h\n  expect warmest is 25 °C\n";
    let rows: String = (0..12)
        .map(|hour| {
            let (day, clock) = if hour < 6 { (10, 18 + hour) } else { (11, hour - 6) };
            let damp = [1, 2, 5, 9, 10, 11].contains(&hour);
            format!(
                "2027-02-{day}T{clock:02}:00,{},{}\n",
                if hour == 3 { 25 } else { 20 },
                if damp { 92 } else { 80 }
            )
        })
        .collect();
    let path = folder.join("test.rulebook");
    std::fs::write(&path, book).unwrap();
    let path = path.to_str().unwrap();
    let (out, error) = ran(&["rehearse", path], 1);
    // Where lines break depends on how long the path of this checkout is.
    assert!(
        in_one_line(&out).contains("NOT RUN \"a damp night\"") && error.contains("night.csv"),
        "{out}{error}"
    );
    std::fs::write(folder.join("night.csv"), format!("time,temperature [°C],humidity [%]\n{rows}")).unwrap();
    let (out, error) = ran(&["rehearse", path], 0);
    assert!(in_one_line(&out).contains("Worked examples: 1 of 1 pass.") && error.is_empty(), "{out}{error}");
    // One damp hour less, and it fails as a taken value does.
    let drier = format!("time,temperature [°C],humidity [%]\n{}", rows.replacen("92", "80", 1));
    std::fs::write(folder.join("night.csv"), drier).unwrap();
    let (out, _) = ran(&["rehearse", path], 1);
    let said = in_one_line(&out);
    assert!(said.contains("FAILED \"a damp night\": it is hold") && said.contains("it is 5 h"), "{out}");
    let (out, _) = ran(&["proofread", path], 1);
    assert!(out.contains("error[worked-failed]"), "{out}");
}

/// A moment without an offset stands in that of the hours: of a file in India's time the day ends at midnight there, and its
/// night runs from about 18:00 to 6:00 there (on the equator, at 82.5° east). A tally runs from a day that is taken, and of
/// sprays that are not taken there are none. Counted by hand: each day has 24 warm hours but the second, which has none.
#[test]
fn hours_are_read_in_their_own_offset_and_tallies_run_from_what_is_taken() {
    use crate::cli::{folder, ran};
    let folder = folder("worked_offset");
    let book = "rulebook \"Test\"\n  caution \"x\"\nsource own \"made\"\n\
        product sulfur\n  strength low 1 g/L\n  cites own\n\
        observe bud-break\n  kind date\n  of grove\n\
        daily warm = hours with temperature at least 20 °C over that day\n\
        daily sprays-today = sprays of sulfur that day\n\
        tally points\n  because \"x\"\n  cites own\n  over since bud-break\n  starts 0\n  add 1 if warm at least 24 h\n  \
        reset if sprays-today at least 1\n\
        measure night-rain = total rain over last 1 nights\n  because \"x\"\n  cites own\n\
        choice rest\n  advise hold\n  because \"x\"\n  cites own\n\
        worked \"four days\"\n  cites own\n  take bud-break 2027-02-02\n  hours from \"hours.csv\"\n  \
        as-of 2027-02-06T12:00\n  expect points is 3\n  expect night-rain is 10 mm\n\
        worked \"three days\"\n  cites own\n  take bud-break 2027-02-03\n  hours from \"hours.csv\"\n  \
        as-of 2027-02-06T00:00\n  expect points is 2\n";
    let rows: String = (0..24 * 8)
        .map(|hour| {
            let (day, clock) = (1 + hour / 24, hour % 24);
            // It rains a millimetre in each of ten hours of the dark, and much at noon.
            let rain = if (5..19).contains(&clock) { 50 * i32::from(clock == 12) } else { 1 };
            format!("2027-02-{day:02}T{clock:02}:00+05:30,{},{rain}\n", if day == 3 { 10 } else { 25 })
        })
        .collect();
    let path = folder.join("test.rulebook");
    std::fs::write(&path, book).unwrap();
    std::fs::write(folder.join("hours.csv"), format!("time,temperature [°C],rain [mm]\n{rows}")).unwrap();
    let (out, error) = ran(&["rehearse", path.to_str().unwrap()], 0);
    assert!(in_one_line(&out).contains("Worked examples: 2 of 2 pass.") && error.is_empty(), "{out}{error}");
}

/// Returns a page with its lines joined.
fn in_one_line(page: &str) -> String {
    page.split_whitespace().collect::<Vec<_>>().join(" ")
}
