//! Small changes of what rules compare: of conditions inside measures, and rows of tables. As in `mutation`, every change is
//! written into the text, and trees of one and of two groups of panicles are advised under both texts by the whole program.

use crate::case::case;
use crate::mutation::{Dice, edited, rehearsed};
use crate::proofs::plan;
use bloomward::prove::mutants::{Mutant, mutants};
use bloomward::prove::mutation::Mutation;
use bloomward::prove::{BUDGET, Book, worked};
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
            let outcomes = worked::run(Book { plan: &book, rules: &rules }, BUDGET);
            assert!(outcomes.iter().all(|it| it.failures.is_empty()), "{words}\n{printed}");
            // The example alone notices the change that it was printed for.
            assert!(!survives(&rehearsed(&pasted), &survivor.mutant), "{words}\n{printed}");
        }
    }
    assert!(equal > 20 && turned > 15 && rows > 1, "{equal} {turned} {rows}");
}
