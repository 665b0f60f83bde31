//! What must hold of every decision: the order of items says nothing, and learning more turns no settled verdict.

use super::advice::BOOK;
use super::case::{case, tree, verdict};
use proptest::prelude::*;
use std::collections::BTreeSet;

/// What a grower wrote of an observation, and values that it can turn out to be.
#[derive(Clone, Debug)]
struct Seen {
    written: Option<String>,
    can_be: Vec<String>,
}

fn seen(
    name: &'static str,
    all: &'static [&'static str],
    intervals: &'static [(&'static str, &'static [&'static str])],
) -> impl Strategy<Value = (&'static str, Seen)> {
    let known = (0..all.len())
        .prop_map(move |at| Seen { written: Some(all[at].into()), can_be: vec![all[at].into()] });
    let unknown = Just(Seen { written: None, can_be: all.iter().map(|it| (*it).to_string()).collect() });
    let between = (0..intervals.len()).prop_map(move |at| Seen {
        written: Some(intervals[at].0.into()),
        can_be: intervals[at].1.iter().map(|it| (*it).to_string()).collect(),
    });
    prop_oneof![3 => known, 2 => unknown, 1 => between].prop_map(move |seen| (name, seen))
}

fn observations() -> impl Strategy<Value = Vec<(&'static str, Seen)>> {
    (
        seen(
            "stage",
            &["dormant", "first-open", "full-bloom", "pinhead", "marble"],
            &[("first-open to full-bloom", &["first-open", "full-bloom"])],
        ),
        seen(
            "open-flowers",
            &["0 %", "10 %", "20 %", "21 %", "80 %"],
            &[("10 to 30 %", &["10 %", "20 %", "30 %"]), ("40 to 60 %", &["40 %", "60 %"])],
        ),
        seen("fruit-set", &["0", "4", "5", "12"], &[("3 to 7", &["3", "4", "5", "7"])]),
        seen("severe", &["yes", "no"], &[("no", &["no"])]),
    )
        .prop_map(|(a, b, c, d)| vec![a, b, c, d])
}

fn decided(observations: &[(&str, Option<&str>)]) -> String {
    let written: Vec<String> = observations
        .iter()
        .filter_map(|(name, value)| value.map(|value| format!(", {name}: {value}")))
        .collect();
    let keys =
        format!("sprays: none yet\nseen: 2027-02-10\ntrees:\n  - {{ tree: A1{} }}\n", written.concat());
    verdict(&case(BOOK, &keys).advise(), "A1")
}

/// Returns every way in which what is not known can turn out.
fn completions(observations: &[(&'static str, Seen)]) -> Vec<Vec<(&'static str, String)>> {
    let mut all = vec![Vec::new()];
    for (name, seen) in observations {
        all = all
            .iter()
            .flat_map(|before: &Vec<(&'static str, String)>| {
                seen.can_be.iter().map(move |value| {
                    let mut next = before.clone();
                    next.push((*name, value.clone()));
                    next
                })
            })
            .collect();
    }
    all
}

/// What an advice says of a tree that no place of an item may change.
const TOLD: [&str; 12] = [
    "verdict",
    "spray",
    "choice",
    "choices",
    "needs",
    "answers",
    "safe",
    "shut",
    "held",
    "tasks",
    "warnings",
    "close_calls",
];

/// Returns a number below a bound, and makes the next ready.
fn next(state: &mut u64, bound: usize) -> usize {
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    (*state % bound.max(1) as u64) as usize
}

/// Returns the items of a rulebook in another order. Comments in the first column are left out.
fn shuffled(book: &str, seed: u64) -> String {
    let mut items: Vec<String> = Vec::new();
    for line in book.lines().filter(|line| !line.starts_with('#') && !line.trim().is_empty()) {
        match items.last_mut() {
            Some(item) if line.starts_with(' ') => *item += &format!("{line}\n"),
            _ => items.push(format!("{line}\n")),
        }
    }
    // The head stands first in any order.
    let first = usize::from(items.first().is_some_and(|item| item.starts_with("rulebook")));
    let mut state = seed | 1;
    for at in (first + 1..items.len()).rev() {
        items.swap(at, first + next(&mut state, at + 1 - first));
    }
    items.join("\n")
}

/// What is asked of a tree of which little is known is asked whatever the order of a large rulebook's items is: the
/// worlds that are looked at are the same ones.
#[test]
fn the_order_of_a_large_rulebook_changes_no_question() {
    let book = std::fs::read_to_string("rulebooks/base/mango.rulebook").unwrap();
    let keys = "sprays: none yet\nseen: 2027-02-10\nharvest: 2027-06-20\ntrees:\n  - { tree: A1, cultivar: Kent }\n  \
                - { tree: A2, cultivar: Haden, stage: full-bloom, mildew: 2 of 20 }\n  \
                - { tree: A3, cultivar: Kent, stage: pinhead to pea, blight: 0 of 25 }\n";
    let mut grove = case("", keys);
    grove.book = book.clone();
    let one = grove.advise();
    assert!(tree(&one, "A1")["needs"].as_array().unwrap().len() > 1, "{}", tree(&one, "A1"));
    for seed in 1..6u64 {
        let mut moved = case("", keys);
        moved.book = shuffled(&book, seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
        assert_ne!(moved.book, book);
        let other = moved.advise();
        for (name, key) in ["A1", "A2", "A3"].iter().flat_map(|name| TOLD.map(|key| (name, key))) {
            assert_eq!(tree(&one, name)[key], tree(&other, name)[key], "{name} {key}, seed {seed}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// A settled verdict is that of every completion; and `look` is said only where completions differ.
    #[test]
    fn a_verdict_is_what_every_possible_value_leads_to(observations in observations()) {
        let written: Vec<(&str, Option<&str>)> =
            observations.iter().map(|(name, seen)| (*name, seen.written.as_deref())).collect();
        let found = decided(&written);
        let outcomes: BTreeSet<String> = completions(&observations)
            .into_iter()
            .map(|all| {
                let all: Vec<(&str, Option<&str>)> = all.iter().map(|(name, value)| (*name, Some(value.as_str()))).collect();
                decided(&all)
            })
            .collect();
        if found == "look" {
            prop_assert!(outcomes.len() > 1, "look, but all lead to {outcomes:?}");
        } else {
            prop_assert_eq!(outcomes, BTreeSet::from([found]));
        }
    }

    /// Moving items changes no decision.
    #[test]
    fn the_order_of_items_says_nothing(observations in observations(), seed in any::<u64>()) {
        let moved = shuffled(BOOK, seed);
        let written: Vec<String> = observations.iter().filter_map(|(name, seen)| seen.written.as_ref().map(|value| format!(", {name}: {value}"))).collect();
        let keys = format!("sprays: none yet\nseen: 2027-02-10\ntrees:\n  - {{ tree: A1{} }}\n", written.concat());
        let (one, other) = (case(BOOK, &keys).advise(), case(&moved, &keys).advise());
        for key in TOLD {
            prop_assert_eq!(&tree(&one, "A1")[key], &tree(&other, "A1")[key], "{}", key);
        }
    }
}

/// Changes a text a little: lines and words are taken out, doubled or put elsewhere.
fn damaged(text: &str, seed: u64) -> String {
    let mut state = seed | 1;
    let mut next = |bound: usize| next(&mut state, bound);
    let mut lines: Vec<String> = text.lines().map(str::to_string).collect();
    for _ in 0..1 + next(4) {
        let at = next(lines.len());
        let other = next(lines.len());
        match next(5) {
            0 => drop(lines.remove(at)),
            1 => lines.insert(other, lines[at].clone()),
            2 => lines.swap(at, other),
            3 => {
                let words: Vec<&str> = lines[at].split(' ').collect();
                let gone = next(words.len());
                let kept: Vec<&str> = words
                    .iter()
                    .enumerate()
                    .filter(|(place, _)| *place != gone)
                    .map(|(_, word)| *word)
                    .collect();
                lines[at] = kept.join(" ");
            }
            _ => {
                let words: Vec<String> = lines[other].split_whitespace().map(str::to_string).collect();
                if !words.is_empty() {
                    let word = words[next(words.len())].clone();
                    lines[at].push(' ');
                    lines[at].push_str(&word);
                }
            }
        }
    }
    lines.join("\n")
}

/// A damaged rulebook is checked without a panic; where it still makes a plan, a grove is advised by it.
#[test]
fn damaged_rulebooks_end_in_findings_or_in_advice() {
    let whole = std::fs::read_to_string("tests/fixtures/check/the_whole_language.rulebook").unwrap();
    let mut advised = 0;
    for seed in 1..400u64 {
        let mut damaged_case = case("", "sprays: none yet\nharvest: 2027-06-01\ntrees:\n  - { tree: A1 }\n");
        damaged_case.book = damaged(&whole, seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
        match damaged_case.try_advise() {
            Ok(advice) => {
                advised += 1;
                assert!(advice["trees"][0]["verdict"].is_string());
            }
            Err(problems) => assert!(!problems.trim().is_empty(), "seed {seed} says nothing"),
        }
    }
    assert!(advised > 20, "only {advised} were still sound");
}
