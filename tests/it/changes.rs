//! What would change a verdict, and which readings are close: held against trying every value, on small rulebooks made at
//! random, and against the order in which trees are listed.

use super::case::{Case, case, tree, verdict};
use serde_json::{Value, json};

/// What is told of a tree in an advice, beside what its name and place make of it.
fn told(advice: &Value, name: &str) -> Value {
    let tree = tree(advice, name);
    let situation = &advice["situations"][tree["situation"].as_str().unwrap()];
    let mut told: serde_json::Map<String, Value> = [
        "verdict",
        "because",
        "spray",
        "choices",
        "shut",
        "held",
        "needs",
        "answers",
        "rests_on",
        "between",
        "safe",
        "tasks",
        "warnings",
        "covered_until",
        "close_calls",
        "values",
    ]
    .iter()
    .map(|key| ((*key).to_string(), tree[*key].clone()))
    .collect();
    told.insert("flips".to_string(), situation["flips"].clone());
    Value::Object(told)
}

fn flips(advice: &Value, name: &str) -> Value {
    told(advice, name)["flips"].clone()
}

fn trees(book: &str, rows: &[String]) -> Case {
    case(book, &format!("sprays: none yet\nseen: 2027-02-10\ntrees:\n{}", rows.concat()))
}

fn row(name: &str, seen: &str) -> String {
    format!("  - {{ tree: {name}{seen} }}\n")
}

/// Numbers that look like chance and are always the same.
struct Dice(u64);

impl Dice {
    fn below(&mut self, bound: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % bound.max(1) as u64) as usize
    }

    fn one_of<'w>(&mut self, words: &[&'w str]) -> &'w str {
        words[self.below(words.len())]
    }
}

const NAMES: &str = r#"
scale size
  small
  middling
  large
observe a
  kind count
  range from 0 to 6
observe b
  kind count
  range from 0 to 6
observe c
  kind yes-no
observe part
  kind size
  assume small if c
measure both  = a + b
measure twice = a * 2
band danger
  levels low, high
  high if c
  high if a at least 5
  at most low if part is large
  cites own
product copper
  strength low 1 g/L
  strength high 2 g/L
  cites own
product sulfur
  strength low 1 g/L
  cites own
"#;

fn condition(dice: &mut Dice) -> String {
    let mut atom = || {
        let count = 1 + dice.below(6);
        let name = dice.one_of(&["a", "b", "both", "twice", "c", "part", "danger"]);
        let order = dice.one_of(&["at least", "below", "at most", "above"]);
        let not = dice.one_of(&["", "", "not "]);
        match name {
            "c" => format!("{not}c"),
            "part" => format!(
                "{not}(part {} {})",
                dice.one_of(&["is", "at least", "at most"]),
                dice.one_of(&["small", "middling", "large"])
            ),
            "danger" => format!("{not}(danger is high)"),
            _ => format!("{name} {order} {count}"),
        }
    };
    let (one, two, three) = (atom(), atom(), atom());
    match dice.below(4) {
        0 => one,
        1 => format!("{one} and {two}"),
        2 => format!("{one} or {two}"),
        _ => format!("({one} or {two}) and {three}"),
    }
}

fn book(dice: &mut Dice) -> String {
    let mut book = NAMES.to_string();
    for product in ["copper", "sulfur"] {
        book += &format!("gate no-{product}\n  shuts {product}\n  if {}\n  cites own\n", condition(dice));
    }
    book += &format!("gate weak\n  holds copper to low\n  if {}\n  cites own\n", condition(dice));
    let advises =
        ["copper at high", "sulfur at low\n  or else hold", "copper at low\n  or else sulfur at low", "hold"];
    for (at, below) in [("one", "two"), ("two", "three"), ("three", "")] {
        let outranks = if below.is_empty() { String::new() } else { format!("  outranks {below}\n") };
        let (advise, when) = (dice.one_of(&advises), condition(dice));
        book += &format!("choice {at}\n  advise {advise}\n  if {when}\n{outranks}  cites own\n");
    }
    book + "choice rest\n  advise hold\n  cites own\n"
        .replace("cites", "if c and a above 3\n  cites")
        .as_str()
}

/// What was written of a name: its value where it is one, and the first and last that it can be.
#[derive(Clone)]
struct Seen {
    name: &'static str,
    written: Option<String>,
    can_be: Option<(usize, usize)>,
}

const SIZES: [&str; 3] = ["small", "middling", "large"];

fn observed(dice: &mut Dice) -> Vec<Seen> {
    let mut seen = |name: &'static str, most: usize, word: &dyn Fn(usize) -> String| {
        let (first, other) = (dice.below(most + 1), dice.below(most + 1));
        match dice.below(5) {
            0 => Seen { name, written: None, can_be: None },
            1 if name != "c" && first < other => {
                let written = Some(format!("{} to {}", word(first), word(other)));
                Seen { name, written, can_be: Some((first, other)) }
            }
            _ => Seen { name, written: Some(word(first)), can_be: Some((first, first)) },
        }
    };
    let count = |at: usize| at.to_string();
    vec![
        seen("a", 6, &count),
        seen("b", 6, &count),
        seen("c", 1, &|at| if at == 1 { "yes".into() } else { "no".into() }),
        seen("part", 2, &|at| SIZES[at].into()),
    ]
}

fn said(all: &[Seen], other: Option<(&str, &str)>) -> String {
    let one = |seen: &Seen| match other {
        Some((name, value)) if name == seen.name => format!(", {name}: {value}"),
        _ => seen.written.as_ref().map_or_else(String::new, |it| format!(", {}: {it}", seen.name)),
    };
    all.iter().map(one).collect()
}

fn words(name: &str, at: usize, up: bool) -> String {
    match name {
        "c" => ["no", "yes"][at].to_string(),
        "part" => SIZES[at].to_string(),
        _ if up => format!("at least {at}"),
        _ => format!("at most {at}"),
    }
}

fn plain(name: &str, at: usize) -> String {
    match name {
        "a" | "b" => at.to_string(),
        _ => words(name, at, true),
    }
}

/// Each change is the nearest value in its direction at which the advice itself becomes another, and none is left out:
/// intervals, unknown and assumed values among the rest.
#[test]
fn changes_are_those_that_trying_every_value_finds() {
    let mut dice = Dice(0x9E37_79B9_7F4A_7C15);
    let (mut changes, mut to_look, mut unknown) = (0, 0, 0);
    for round in 0..120 {
        let (book, seen) = (book(&mut dice), observed(&mut dice));
        let mut rows = vec![row("T", &said(&seen, None))];
        let names = [("a", 6), ("b", 6), ("c", 1), ("part", 2)];
        for (name, most) in names {
            rows.extend(
                (0..=most)
                    .map(|at| row(&format!("{name}{at}"), &said(&seen, Some((name, &plain(name, at)))))),
            );
        }
        let advice = trees(&book, &rows).advise();
        let now = verdict(&advice, "T");
        let mut expected: Vec<Value> = Vec::new();
        for (name, most) in names {
            let own = seen.iter().find(|it| it.name == name).unwrap();
            // An assumed value is what the rulebook takes: here the smallest.
            let assumed = tree(&advice, "T")["values"][name]["assumed"] == json!(true);
            let Some((low, high)) = own.can_be.or(assumed.then_some((0, 0))) else { continue };
            // Only names that a condition compares are told of; the others always meet one.
            let items = &book[NAMES.len()..];
            let compared = name != "b" || items.contains(" b ") || items.contains("(b ");
            if now == "look" || !compared {
                continue;
            }
            let then = |at: usize| verdict(&advice, &format!("{name}{at}"));
            let down = (0..low).rev().find(|at| then(*at) != now).map(|at| (at, false));
            let up = (high + 1..=most).find(|at| then(*at) != now).map(|at| (at, true));
            for (at, up) in down.into_iter().chain(up) {
                expected.push(json!({ "name": name, "at": words(name, at, up), "then": then(at) }));
                to_look += usize::from(then(at) == "look");
            }
        }
        let found: Vec<Value> = flips(&advice, "T")
            .as_array()
            .unwrap()
            .iter()
            .filter(|flip| flip["name"] != "both" && flip["name"] != "twice")
            .cloned()
            .collect();
        assert_eq!(found, expected, "round {round}, {now}\n{book}\n{}", rows[0]);
        changes += expected.len();
        unknown += usize::from(now != "look" && seen.iter().any(|it| it.can_be.is_none_or(|(a, b)| a != b)));
    }
    // It is no test where nothing was found, or nothing was unknown.
    assert!(changes > 60 && to_look > 10 && unknown > 20, "{changes} {to_look} {unknown}");
}

/// The order of the trees says nothing of any of them.
#[test]
fn the_order_of_the_trees_changes_nothing_that_is_told() {
    let mut dice = Dice(0x2545_F491_4F6C_DD1D);
    for round in 0..12 {
        let book = book(&mut dice);
        let rows: Vec<String> =
            (0..14).map(|at| row(&format!("T{at:02}"), &said(&observed(&mut dice), None))).collect();
        let one = trees(&book, &rows).advise();
        for turn in [5, 9] {
            let mut moved = rows.clone();
            moved.rotate_left(turn);
            moved.swap(0, 3);
            let other = trees(&book, &moved).advise();
            for at in 0..14 {
                let name = format!("T{at:02}");
                assert_eq!(
                    told(&one, &name),
                    told(&other, &name),
                    "{name}, round {round}\n{book}\n{}",
                    rows.concat()
                );
            }
        }
    }
}

const RATIO: &str = "observe a\n  kind count\nobserve b\n  kind count\nmeasure ratio = a / b\nproduct copper\n  \
                     strength low 1 g/L\n  cites own\nchoice one\n  advise copper at low\n  if ratio at least 2 and a \
                     above 0\n  cites own\nchoice two\n  advise hold\n  if ratio below 2 or a is 0\n  cites own\n";

#[test]
fn trees_in_one_situation_are_each_told_their_own_change() {
    let rows = [row("T1", ", a: 1, b: 4"), row("T2", ", a: 1, b: 40")];
    let advice = trees(RATIO, &rows).advise();
    let change = |least: &str| {
        json!([
            { "name": "a", "at": format!("at least {least}"), "then": "spray copper at low" },
            { "name": "ratio", "at": "at least 2", "then": "spray copper at low" }
        ])
    };
    assert_eq!(flips(&advice, "T1"), change("8"));
    assert_eq!(flips(&advice, "T2"), change("80"));
}

/// Whatever the bees do, sulfur it is: many hoppers change nothing.
#[test]
fn what_does_not_matter_makes_no_change_and_no_close_call() {
    let book = "observe hoppers\n  kind count\nobserve mildew\n  kind share\nobserve bees\n  kind yes-no\nproduct sulfur\n  \
                strength full 2 g/L\n  cites own\nchoice few\n  advise sulfur at full\n  if hoppers below 5\n  cites own\n\
                choice quiet\n  advise sulfur at full\n  if not bees and (hoppers at least 5 or mildew at least 10 %)\n  \
                cites own\nchoice loud\n  advise sulfur at full\n  if bees and (hoppers at least 5 or mildew at least 10 %)\n  \
                cites own\n";
    let advice = trees(book, &[row("T", ", hoppers: 2, mildew: 3 of 25")]).advise();
    assert_eq!(verdict(&advice, "T"), "spray sulfur at full");
    assert_eq!((flips(&advice, "T"), &tree(&advice, "T")["close_calls"]), (json!([]), &json!([])));
    let advice = trees(book, &[row("T", ", hoppers: 12, mildew: 3 of 25")]).advise();
    assert_eq!(verdict(&advice, "T"), "spray sulfur at full");
    assert_eq!((flips(&advice, "T"), &tree(&advice, "T")["close_calls"]), (json!([]), &json!([])));
}

const BLOOMS: &str = "observe open\n  kind share\n  of panicles\nmeasure flowers = mean open of panicles\nproduct copper\n  \
                      strength low 1 g/L\n  cites own\nchoice one\n  advise copper at low\n  if flowers below 20 % and \
                      all panicles with (open below 90 %)\n  cites own\nchoice two\n  advise hold\n  if flowers at least 20 % or some \
                      panicles with (open at least 90 %)\n  cites own\n";

#[test]
fn of_several_groups_the_change_is_that_of_each() {
    let mut grove = trees(BLOOMS, &[row("T", "")]);
    grove = grove.scouting("when,on,panicles,open\n2027-02-10,T,25 %,40 %\n2027-02-10,T,75 %,0 %\n");
    let advice = grove.advise();
    assert_eq!(verdict(&advice, "T"), "spray copper at low");
    let found: Vec<Value> = flips(&advice, "T")
        .as_array()
        .unwrap()
        .iter()
        .filter(|flip| flip["name"] == "open")
        .cloned()
        .collect();
    assert_eq!(
        found,
        [
            // A quarter of the panicles at 80 % makes 20 % of all; three quarters add 13.333 % to the 10 %.
            json!({ "name": "open", "group": 1, "at": "at least 80 %", "then": "hold" }),
            json!({ "name": "open", "group": 2, "at": "above 13.3333 %", "then": "hold" }),
        ]
    );
}
