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
        let mut items: Vec<&str> = BOOK.split("\n\n").flat_map(|part| part.split_inclusive('\n').collect::<Vec<_>>().into_iter().fold(Vec::<String>::new(), |mut items, line| {
            match items.last_mut() {
                Some(item) if line.starts_with(' ') || line.trim().is_empty() => item.push_str(line),
                _ => items.push(line.to_string()),
            }
            items
        })).map(|item| -> &str { Box::leak(item.into_boxed_str()) }).filter(|item| !item.trim().is_empty()).collect();
        let mut state = seed | 1;
        for at in (1..items.len()).rev() {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            items.swap(at, (state % (at as u64 + 1)) as usize);
        }
        let moved: String = items.iter().map(|item| format!("{}\n\n", item.trim_end())).collect();
        let written: Vec<String> = observations.iter().filter_map(|(name, seen)| seen.written.as_ref().map(|value| format!(", {name}: {value}"))).collect();
        let keys = format!("sprays: none yet\nseen: 2027-02-10\ntrees:\n  - {{ tree: A1{} }}\n", written.concat());
        let (one, other) = (case(BOOK, &keys).advise(), case(&moved, &keys).advise());
        for key in ["verdict", "spray", "choice", "choices", "needs", "answers", "safe", "shut", "held", "tasks", "warnings", "close_calls"] {
            prop_assert_eq!(&tree(&one, "A1")[key], &tree(&other, "A1")[key], "{}", key);
        }
    }
}
