//! Small changes of made rulebooks against brute force: every change is written into the text, and every tree that can be
//! seen is advised under both texts by the whole program. What is called equal must be, and the worked example that is
//! printed for a change must notice it when it is pasted.

use crate::case::case;
use crate::proofs::plan;
use bloomward::prove::compare::{Region, Regions, compare};
use bloomward::prove::mutate::mutants::{Mutant, mutants};
use bloomward::prove::mutate::{Mutation, mutate};
use bloomward::prove::{BUDGET, examples};
use bloomward::source::Sources;
use serde_json::Value;
use std::fmt::Write;

pub const BEFORE: &str = "rulebook \"Test\"\n  caution \"x\"\nsource own \"made\"\n";

const BASIS: &str = "scale bloom\n  closed\n  open\n  falling\n\
    observe stage\n  kind bloom\n\
    observe spots\n  kind count\n  range from 0 to 3\n\
    observe mildew\n  kind count\n  range from 0 to 3\n\
    observe clean\n  kind yes-no\n\
    product copper\n  strength low 1 g/L\n  strength high 2 g/L\n  cites own\n\
    product sulfur\n  strength low 1 g/L\n  strength high 2 g/L\n  cites own\n";

/// Dice of a seed: the generator SplitMix64, with its published constants.
pub struct Dice(pub u64);

impl Dice {
    pub fn one_of<'w>(&mut self, words: &[&'w str]) -> &'w str {
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

/// Makes the items of a rulebook; a band is there, and spoken of if it shall be.
fn made(seed: u64, band: bool) -> String {
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
        let _ = write!(text, "gate g{at}\n  {does}\n{}  cites own\n", dice.when(band));
    }
    for at in 0..3 {
        let advise = dice.one_of(&[
            "copper at high\n  or else sulfur at low",
            "sulfur at high",
            "copper at low",
            "hold",
        ]);
        let lower = if at > 0 { format!("  outranks c{}\n", at - 1) } else { String::new() };
        let _ = write!(text, "choice c{at}\n  advise {advise}\n{}{lower}  cites own\n", dice.when(band));
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
pub fn edited(items: &str, mutant: &Mutant) -> String {
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

/// The trees of [`every_tree`] in its order, as the places of their words and their numbers.
fn described() -> Vec<[(&'static str, f64); 4]> {
    let mut all = Vec::new();
    for stage in 0..3 {
        for spots in 0..=3 {
            for mildew in 0..=3 {
                for clean in [1, 0] {
                    let numbers = [stage, spots, mildew, clean].map(f64::from);
                    all.push([
                        ("stage", numbers[0]),
                        ("spots", numbers[1]),
                        ("mildew", numbers[2]),
                        ("clean", numbers[3]),
                    ]);
                }
            }
        }
    }
    all
}

/// Returns a value as it is written as a number: words by their places.
fn number(words: &str) -> f64 {
    let place = ["closed", "open", "falling"].iter().position(|it| *it == words);
    let answer = ["no", "yes"].iter().position(|it| *it == words);
    place.or(answer).map_or_else(|| words.parse().unwrap(), |at| at as f64)
}

/// Returns whether a tree lies in a region.
fn lies_in(tree: &[(&str, f64); 4], region: &Region) -> bool {
    region.place.iter().all(|side| {
        let (_, value) = tree.iter().find(|(name, _)| *name == side.name).unwrap();
        side.runs.iter().any(|run| {
            let above = run
                .from
                .as_ref()
                .is_none_or(|(from, counts)| *value > number(from) || (*counts && *value == number(from)));
            let below = run
                .to
                .as_ref()
                .is_none_or(|(to, counts)| *value < number(to) || (*counts && *value == number(to)));
            above && below && run.is.as_ref().is_none_or(|is| *value == number(is))
        })
    })
}

/// Compares two rulebooks: every tree whose verdict differs lies in exactly one region, and every tree of a region differs as
/// the region says. Returns whether they are the same.
fn differs_in_its_regions(old: &str, new: &str, before: &[(Value, Value)], words: &str) -> bool {
    let after = every_tree(new);
    let comparison = compare(&plan_of(old), &plan_of(new), BUDGET, Regions::All);
    assert!(!comparison.spent && comparison.cut.is_empty() && comparison.unconfirmed == 0, "{words}");
    for (tree, (was, now)) in described().iter().zip(before.iter().zip(&after)) {
        let regions: Vec<&Region> =
            comparison.regions.iter().filter(|region| lies_in(tree, region)).collect();
        assert_eq!(regions.len(), usize::from(was != now), "{words} at {tree:?}\n{old}\n{new}");
        for region in regions {
            let said = |verdict: &Value, words: &str| match verdict.as_str().unwrap() {
                "spray" => words.starts_with("spray"),
                verdict => words.starts_with(verdict),
            };
            assert!(said(&was.0, &region.was.verdict), "{words} at {tree:?}: {region:?}");
            assert!(said(&now.0, &region.now.verdict), "{words} at {tree:?}: {region:?}");
        }
    }
    assert_eq!(comparison.same_verdicts, before == after, "{words}");
    assert!(!comparison.same || comparison.same_verdicts, "{words}");
    comparison.same_verdicts
}

#[test]
fn edits_of_made_rulebooks_differ_in_their_regions_and_nowhere_else() {
    let (mut differing, mut same) = (0, 0);
    for seed in 21..=23 {
        // Without the band, so that regions speak of what is seen only.
        let items = made(seed, false);
        let before = every_tree(&items);
        for mutant in mutants(&plan_of(&items)) {
            let text = edited(&items, &mutant);
            if mutant.change.starts_with("`-1`") || mutant.change.starts_with("`4`") {
                continue;
            }
            let words = format!("{seed}: {} {}", mutant.item, mutant.change);
            let is_same = differs_in_its_regions(&items, &text, &before, &words);
            *(if is_same { &mut same } else { &mut differing }) += 1;
        }
    }
    assert!(same > 5 && differing > 15, "{same} {differing}");
}

/// Choices that are renamed, left out, ranked otherwise or advise something else, and gates that do something else.
#[test]
fn rulebooks_with_other_items_differ_in_their_regions_and_nowhere_else() {
    let turns: [(&str, &str); 8] = [
        ("  outranks c0\n", ""),
        ("  outranks c1\n", "  outranks c0\n"),
        ("  outranks c1\n", "  outranks c1, c0\n"),
        ("choice c2", "choice d2"),
        ("shuts copper", "shuts copper, sulfur"),
        ("holds copper to low", "shuts copper with sulfur"),
        ("advise copper at high\n  or else sulfur at low", "advise sulfur at low\n  or else copper at high"),
        ("sulfur at high", "copper at low with sulfur at high"),
    ];
    let mut differing = 0;
    for seed in 31..=38 {
        let items = made(seed, false);
        let before = every_tree(&items);
        for (from, to) in turns {
            let text = items.replace(from, to);
            differing +=
                usize::from(!differs_in_its_regions(&items, &text, &before, &format!("{seed}: {to}")));
        }
        let first = items.find("choice c0").unwrap();
        let second = items.find("choice c1").unwrap();
        let without = (items[..first].to_owned() + &items[second..]).replace("  outranks c0\n", "");
        assert!(!differs_in_its_regions(&items, &made(seed + 100, false), &before, "all others"));
        differs_in_its_regions(&items, &without, &before, "without c0");
        differs_in_its_regions(&without, &items, &every_tree(&without), "with c0");
    }
    assert!(differing > 12, "{differing}");
}

pub fn rehearsed(items: &str) -> Mutation {
    mutate(&plan_of(items), &[], BUDGET, &mut |_, _| {})
}

fn plan_of(items: &str) -> bloomward::plan::Plan {
    plan(items)
}

#[test]
fn what_is_called_equal_is_and_what_is_printed_notices() {
    let (mut equal, mut noticed) = (0, 0);
    for seed in 1..=6 {
        let items = made(seed, true);
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
        let outcomes = examples::run(bloomward::prove::Book { plan: &book, rules: &rules }, BUDGET);
        assert!(outcomes.iter().all(|it| it.failures.is_empty()), "{seed}\n{pasted}");
        let again = rehearsed(&pasted);
        assert_eq!(again.survived.len(), 0, "{seed}: {:?}\n{pasted}", again.survived);
        // An example of a grade notices changes of the grade that turn no verdict, too.
        assert!(again.by_examples >= mutation.survived.len());
        assert_eq!(again.by_examples + again.equal, mutation.survived.len() + mutation.equal);
        noticed += again.by_examples;
    }
    assert!(equal > 10 && noticed > 20, "{equal} {noticed}");
}

/// A rulebook in which every range has two sides, and copper may be shut by a count of the log that no example can take.
const EDGES: &str = "observe wet\n  kind yes-no\nobserve spots\n  kind count\n  range from 0 to 3\n\
    observe part \"leaves with spots\"\n  kind share\n\
    product copper\n  strength low 1 g/L\n  label season at most 2 sprays\n  cites own\n\
    product sulfur\n  strength low 1 g/L\n  cites own\n\
    band danger\n  because \"made\"\n  cites own\n  levels low, great\n  great if part above 0 %\n\
    gate on-wet\n  shuts copper\n  if wet\n  because \"made\"\n  cites own\n\
    gate on-spots\n  shuts sulfur\n  if spots at least 2\n  because \"made\"\n  cites own, to-be-sourced\n\
    choice act\n  advise copper at low\n  or else sulfur at low\n  if danger is great\n  because \"made\"\n  cites own\n\
    choice watch\n  advise hold\n  if danger is low\n  because \"made\"\n  cites own\n";

/// Its name says what it is about; with the rule's sources, tidy, as few takes as there can be, and at the edge.
#[test]
fn an_example_is_printed_as_an_author_writes_it() {
    let mutation = rehearsed(EDGES);
    let printed: Vec<(&str, &str)> = mutation
        .survived
        .iter()
        .map(|it| (it.mutant.change.as_str(), it.worked.as_deref().unwrap_or_default()))
        .collect();
    let great = "worked \"leaves with spots 1 %: danger is great\"\n  cites    own\n  take     part 1 %\n  \
                 expect   danger is great\n";
    let expected = [
        (
            "`3` for `2`",
            "worked \"spots 2: sulfur is shut\"\n  cites    own\n  take     spots 2\n  \
             expect   sulfur shut by on-spots\n",
        ),
        (
            "`1` for `2`",
            "worked \"spots 1: sulfur at low\"\n  cites    own\n  take     wet yes, spots 1, danger great\n  \
             expect   sulfur at low\n",
        ),
        ("`1 %` for `0 %`", great),
        (
            "`-1 %` for `0 %`",
            "worked \"leaves with spots 0 %: danger is low\"\n  cites    own\n  take     part 0 %\n  \
             expect   danger is low\n",
        ),
        ("dropped", great),
    ];
    assert_eq!(printed, expected);
    let text = bloomward::report::mutation::mutation_text(&mutation, &Sources::default(), 80);
    assert_eq!(text.matches("worked \"").count(), 4, "{text}");
    assert!(text.contains("the worked example printed for row great of danger: `1 %` for `0 %`"), "{text}");
}
