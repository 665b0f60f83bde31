//! Small changes of made rulebooks against brute force: every change is written into the text, and every tree that can be
//! seen is advised under both texts by the whole program. What is called equal must be, and the worked example that is
//! printed for a change must notice it when it is pasted.

use crate::case::case;
use crate::proofs::plan;
use bloomward::prove::mutants::{Mutant, mutants};
use bloomward::prove::mutation::{Mutation, mutate};
use bloomward::prove::{BUDGET, worked};
use serde_json::Value;
use std::fmt::Write;

const BEFORE: &str = "rulebook \"Test\"\n  caution \"x\"\nsource own \"made\"\n";

const BASIS: &str = "scale bloom\n  closed\n  open\n  falling\n\
    observe stage\n  kind bloom\n\
    observe spots\n  kind count\n  range from 0 to 3\n\
    observe mildew\n  kind count\n  range from 0 to 3\n\
    observe clean\n  kind yes-no\n\
    product copper\n  strength low 1 g/L\n  strength high 2 g/L\n  cites own\n\
    product sulfur\n  strength low 1 g/L\n  strength high 2 g/L\n  cites own\n";

/// Dice of a seed: the generator SplitMix64, with its published constants.
struct Dice(u64);

impl Dice {
    fn one_of<'w>(&mut self, words: &[&'w str]) -> &'w str {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        words[((mixed ^ (mixed >> 31)) >> 33) as usize % words.len()]
    }

    fn test(&mut self) -> &'static str {
        self.one_of(&[
            "stage is open",
            "stage is falling",
            "spots at least 2",
            "spots below 1",
            "mildew above 1",
            "mildew at most 2",
            "mildew from 1 to 2",
            "clean",
        ])
    }

    /// One line; at most one `and` or `or`, at most one `unless`.
    fn when(&mut self, band: bool) -> String {
        let level = ["danger is great", "danger at least middle"];
        let one = if band && self.one_of(&["y", "n"]) == "y" { self.one_of(&level) } else { self.test() };
        match self.one_of(&["one", "and", "or", "unless"]) {
            "one" => format!("  if {one}\n"),
            "unless" => format!("  if {one}\n  unless {}\n", self.test()),
            joint => format!("  if {one} {joint} {}\n", self.test()),
        }
    }
}

fn made(seed: u64) -> String {
    let mut dice = Dice(seed);
    let mut text = BASIS.to_owned();
    let _ = write!(
        text,
        "band danger\n  because \"made\"\n  cites own\n  levels low, middle, great\n  middle if {} because \"a\"\n  great if {} and {} because \"b\"\n",
        dice.test(),
        dice.test(),
        dice.test()
    );
    for at in 0..4 {
        let does = dice.one_of(&["shuts copper", "shuts sulfur", "holds copper to low", "shuts spraying"]);
        let _ = write!(text, "gate g{at}\n  {does}\n{}  cites own\n", dice.when(true));
    }
    for at in 0..3 {
        let advise = dice.one_of(&[
            "copper at high\n  or else sulfur at low",
            "sulfur at high",
            "copper at low",
            "hold",
        ]);
        let lower = if at > 0 { format!("  outranks c{}\n", at - 1) } else { String::new() };
        let _ = write!(text, "choice c{at}\n  advise {advise}\n{}{lower}  cites own\n", dice.when(true));
    }
    text
}

/// Returns the verdict of every tree that can be seen.
fn every_tree(items: &str) -> Vec<(Value, Value)> {
    let mut trees = String::from("trees:\n");
    for stage in ["closed", "open", "falling"] {
        for spots in 0..=3 {
            for mildew in 0..=3 {
                for clean in ["yes", "no"] {
                    let _ = writeln!(
                        trees,
                        "  - {{ tree: T-{stage}-{spots}-{mildew}-{clean}, block: b, stage: {stage}, spots: {spots}, mildew: {mildew}, clean: {clean}, seen: 2027-02-11 }}"
                    );
                }
            }
        }
    }
    let advice = case(items, &format!("sprays: none yet\nblocks:\n  - {{ block: b }}\n{trees}")).advise();
    let trees = advice["trees"].as_array().unwrap();
    assert_eq!(trees.len(), 96);
    trees.iter().map(|tree| (tree["verdict"].clone(), tree["spray"].clone())).collect()
}

/// Writes a change into the text of the items.
fn edited(items: &str, mutant: &Mutant) -> String {
    let (from, to) = (mutant.at.start as usize - BEFORE.len(), mutant.at.end as usize - BEFORE.len());
    let words: Vec<&str> = mutant.change.split('`').collect();
    let here = &items[from..to];
    let new = match (words[0], words.get(2).copied().unwrap_or_default()) {
        ("dropped", _) => String::new(),
        ("with ", _) => {
            let (name, value) =
                here.split_once(" is ").unwrap_or_else(|| here.split_once(" at least ").unwrap());
            let low = if here.contains("at least") { "middle, great" } else { value };
            format!("{name} is one of {low}, {}", words[1])
        }
        ("without ", _) => {
            let rest = if words[1] == "great" { "middle" } else { "great" };
            format!("{} is {rest}", here.split_once(" at least ").unwrap().0)
        }
        (_, " for ") if words[3] == "unless" => here.replace("\n  unless ", " and "),
        (_, " for ") if ["and", "or"].contains(&words[1]) => {
            let (turned, of) = (format!(" {} ", words[1]), format!(" {} ", words[3]));
            assert_eq!(here.matches(&of).count(), 1, "{here}");
            here.replace(&of, &turned)
        }
        (_, " for ") => {
            assert_eq!(here, words[3]);
            words[1].to_owned()
        }
        _ => panic!("{}", mutant.change),
    };
    format!("{}{new}{}", &items[..from], &items[to..])
}

fn rehearsed(items: &str) -> Mutation {
    mutate(&plan_of(items), BUDGET, &mut |_, _| {})
}

fn plan_of(items: &str) -> bloomward::plan::Plan {
    plan(items)
}

#[test]
fn what_is_called_equal_is_and_what_is_printed_notices() {
    let (mut equal, mut noticed) = (0, 0);
    for seed in 1..=6 {
        let items = made(seed);
        let plan = plan_of(&items);
        let before = every_tree(&items);
        let mutation = rehearsed(&items);
        assert!(!mutation.spent && mutation.by_examples == 0 && mutation.by_promises == 0);
        let survives = |mutant: &Mutant| {
            let same =
                |it: &&Mutant| (&it.item, it.at, &it.change) == (&mutant.item, mutant.at, &mutant.change);
            mutation.survived.iter().map(|it| &it.mutant).any(|it| same(&it))
        };
        let all = mutants(&plan);
        assert_eq!(all.len(), mutation.tried);
        for mutant in &all {
            let text = edited(&items, mutant);
            // A count below its range cannot be compared with.
            if mutant.change.starts_with("`-1`") || mutant.change.starts_with("`4`") {
                continue;
            }
            let differs = every_tree(&text) != before;
            assert_eq!(survives(mutant), differs, "{seed}: {} {}\n{items}", mutant.item, mutant.change);
            equal += usize::from(!differs);
        }
        // What is printed is pasted: it comes out, and every change is noticed now.
        let printed: Vec<&String> = mutation.survived.iter().filter_map(|it| it.worked.as_ref()).collect();
        assert_eq!(printed.len(), mutation.survived.len(), "{seed}: each has an example\n{items}");
        let pasted: String = printed.iter().map(|it| it.as_str()).collect();
        let pasted = items.clone() + &pasted;
        let book = plan_of(&pasted);
        let rules = bloomward::decide::Rules::new(&book, bloomward::decide::Certified::No);
        let outcomes = worked::run(bloomward::prove::Book { plan: &book, rules: &rules }, BUDGET);
        assert!(outcomes.iter().all(|it| it.failures.is_empty()), "{seed}\n{pasted}");
        let again = rehearsed(&pasted);
        assert_eq!(again.survived.len(), 0, "{seed}: {:?}\n{pasted}", again.survived);
        assert_eq!(again.by_examples, mutation.survived.len());
        noticed += again.by_examples;
    }
    assert!(equal > 10 && noticed > 20, "{equal} {noticed}");
}
