//! What trees share is told of each as of a tree that stands alone: unknown counts, some reckoned with what is known, and sprays
//! on different days.

use super::case::{Case, case, tree, verdict};
use serde_json::Value;

const NAMES: &str = "observe a\n  kind count\n  range from 0 to 9\nobserve b\n  kind count\n  range from 0 to 9\nobserve c\n  \
                     kind yes-no\nmeasure age = days since last copper\nmeasure both = a + b\nmeasure strained = age * b\nproduct \
                     copper\n  strength low 1 g/L\n  strength high 2 g/L\n  cites own\nproduct sulfur\n  strength low 1 \
                     g/L\n  cites own\n";

/// Conditions of which the last but one reckons with the days since a spray, and the last with two counts.
const CONDITIONS: [&str; 7] = [
    "a at least 4",
    "b at least 3",
    "c",
    "age at least 9 d",
    "age below 20 d and a below 7",
    "strained at least 40 d",
    "both at least 8",
];

/// Numbers that look like chance and are always the same.
struct Dice(u64);

impl Dice {
    fn below(&mut self, bound: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % bound as u64) as usize
    }

    fn condition(&mut self) -> &'static str {
        CONDITIONS[self.below(CONDITIONS.len())]
    }
}

fn book(dice: &mut Dice) -> String {
    let mut gate = |what: &str| format!("{what}\n  if {}\n  cites own\n", dice.condition());
    let gates = gate("gate no-copper\n  shuts copper") + &gate("gate weak\n  holds copper to low");
    let first = gate("choice one\n  advise copper at high\n  or else sulfur at low\n  outranks two");
    format!("{NAMES}{gates}{first}choice two\n  advise hold\n  if not ({})\n  cites own\n", dice.condition())
}

/// A tree: what was seen of it, and the day of February on which copper was sprayed.
struct Tree {
    seen: String,
    sprayed: usize,
}

fn grove(book: &str, trees: &[(usize, &Tree)]) -> Case {
    let row = |(at, tree): &(usize, &Tree)| format!("  - {{ tree: T{at:02}{} }}\n", tree.seen);
    let rows: String = trees.iter().map(row).collect();
    let spray = |(at, tree): &(usize, &Tree)| {
        let day = format!("2027-01-{:02}", tree.sprayed);
        format!("{day}T06:00,{day}T07:00,T{at:02},copper,low\n")
    };
    let sprays: String = trees.iter().map(spray).collect();
    case(book, &format!("seen: 2027-02-10\ntrees:\n{rows}"))
        .sprays(format!("start,end,on,product,strength\n{sprays}"))
}

/// Returns all that is told of a tree, beside the number of its situation.
fn told(advice: &Value, name: &str) -> Value {
    let mut told = tree(advice, name).clone();
    told["situation"] = advice["situations"][told["situation"].as_str().unwrap()].clone();
    told
}

#[test]
fn a_tree_among_others_is_told_what_it_is_told_alone() {
    let mut dice = Dice(0x9E37_79B9_7F4A_7C15);
    let (mut looks, mut answered) = (0, 0);
    for round in 0..12 {
        let book = book(&mut dice);
        let mut seen = |name: &str, values: usize| match dice.below(3) {
            0 => format!(", {name}: {}", dice.below(values)),
            _ => String::new(),
        };
        let mut trees: Vec<Tree> = Vec::new();
        for _ in 0..16 {
            trees.push(Tree { seen: seen("a", 10) + &seen("b", 10), sprayed: 0 });
        }
        trees.iter_mut().for_each(|tree| tree.sprayed = 1 + dice.below(31));
        let numbered: Vec<(usize, &Tree)> = trees.iter().enumerate().collect();
        let together = grove(&book, &numbered).advise();
        for one in numbered {
            let name = format!("T{:02}", one.0);
            let alone = grove(&book, &[one]).advise();
            assert_eq!(told(&together, &name), told(&alone, &name), "{name}, round {round}\n{book}");
            looks += usize::from(verdict(&alone, &name) == "look");
            answered += usize::from(told(&alone, &name)["answers"].as_array().is_some_and(|it| it.len() > 1));
        }
    }
    // It is no test where little is open, or nothing is answered.
    assert!(looks > 50 && answered > 50, "{looks} {answered}");
}

/// The days since a spray lie on one side of each threshold in both trees, but one counts with them.
#[test]
fn what_is_reckoned_with_is_each_tree_s_own_while_something_is_open() {
    let book = format!(
        "{NAMES}choice one\n  advise copper at low\n  if strained at least 40 d\n  cites own\nchoice two\n  advise hold\n  \
         if strained below 40 d\n  cites own\n"
    );
    let tree = |sprayed: usize| Tree { seen: String::new(), sprayed };
    let (ten, twenty) = (tree(31), tree(22));
    let advice = grove(&book, &[(0, &ten), (1, &twenty)]).advise();
    let at = |name: &str| told(&advice, name)["answers"].to_string();
    assert!(
        at("T00").contains("at least 4\"") && at("T01").contains("at least 2\""),
        "{} {}",
        at("T00"),
        at("T01")
    );
}

/// Of another cultivar no count makes blooms of what is seen.
#[test]
fn a_cultivar_that_only_a_measure_tells_apart_is_each_tree_s_own() {
    let book = "observe x\n  kind count\n  of panicles\nmeasure many = some panicles with (x above 2 and cultivar is \
                \"Kent\")\nproduct copper\n  strength low 1 g/L\n  cites own\nchoice one\n  advise copper at low\n  if \
                many\n  cites own\nchoice two\n  advise hold\n  if not many\n  cites own\n";
    let trees = "  - { tree: T1, x: 1, cultivar: Kent }\n  - { tree: T2, x: 1, cultivar: Haden }\n";
    let advice = case(book, &format!("sprays: none yet\nseen: 2027-02-10\ntrees:\n{trees}")).advise();
    let flips = |name: &str| {
        let flips = told(&advice, name)["situation"]["flips"].clone();
        flips.as_array().unwrap().iter().any(|flip| flip["name"] == "x")
    };
    assert_eq!((flips("T1"), flips("T2")), (true, false));
}
