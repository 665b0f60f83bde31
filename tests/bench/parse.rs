//! How long it takes to read a rulebook of 100 000 lines: the grammar's own pairs, and the whole way to the tree.
//!
//! The tree should cost no more than the pairs do, so that reading reaches at least half of their speed.

#![allow(
    missing_docs,
    clippy::expect_used,
    reason = "the derived reader has no documentation; a benchmark may stop"
)]

use bloomward::source::SourceId;
use bloomward::syntax;
use divan::counter::BytesCount;
use pest::Parser;

/// The reader of the grammar alone, without a tree.
#[derive(pest_derive::Parser)]
#[grammar = "grammar/rulebook.pest"]
struct Reader;

const EXAMPLES: [&str; 13] = [
    include_str!("../fixtures/syntax/scale.rulebook"),
    include_str!("../fixtures/syntax/observe.rulebook"),
    include_str!("../fixtures/syntax/hourly_and_daily.rulebook"),
    include_str!("../fixtures/syntax/measures.rulebook"),
    include_str!("../fixtures/syntax/tables.rulebook"),
    include_str!("../fixtures/syntax/tally.rulebook"),
    include_str!("../fixtures/syntax/band.rulebook"),
    include_str!("../fixtures/syntax/product.rulebook"),
    include_str!("../fixtures/syntax/gates_and_prefer.rulebook"),
    include_str!("../fixtures/syntax/choice.rulebook"),
    include_str!("../fixtures/syntax/promises.rulebook"),
    include_str!("../fixtures/syntax/worked_and_setting.rulebook"),
    include_str!("../fixtures/syntax/head.rulebook"),
];

fn main() {
    divan::main();
}

/// Returns the examples of the language, over and over, until they fill 100 000 lines.
fn long_rulebook() -> String {
    let (mut text, mut lines) = (String::new(), 0);
    for example in EXAMPLES.iter().cycle() {
        if lines >= 100_000 {
            break;
        }
        text += example;
        text.push('\n');
        lines += example.lines().count() + 1;
    }
    text
}

/// Cuts a rulebook into items and finds the rule of each by its first word.
fn items(text: &str) -> Vec<(Rule, &str)> {
    let mut items = Vec::new();
    let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1));
    let starts: Vec<usize> =
        starts.filter(|at| text[*at..].starts_with(|sign: char| sign.is_ascii_lowercase())).collect();
    for (at, start) in starts.iter().enumerate() {
        let item = &text[*start..starts.get(at + 1).copied().unwrap_or(text.len())];
        let word = item.split(' ').next().unwrap_or_default();
        let rule = Rule::all_rules().iter().find(|rule| format!("{rule:?}") == word);
        items.push((*rule.expect("every item has a rule of its name"), item));
    }
    items
}

#[divan::bench(sample_count = 20)]
fn pairs_alone(bencher: divan::Bencher<'_, '_>) {
    let text = long_rulebook();
    let items = items(&text);
    bencher.counter(BytesCount::of_str(&text)).bench(|| {
        let mut count = 0;
        for (rule, item) in &items {
            count += Reader::parse(*rule, item).expect("every example reads").count();
        }
        count
    });
}

#[divan::bench(sample_count = 20)]
fn to_the_tree(bencher: divan::Bencher<'_, '_>) {
    let text = long_rulebook();
    bencher.counter(BytesCount::of_str(&text)).bench(|| syntax::parse_text(&text, SourceId::default()));
}
