//! Deciding a million trees whose measures are computed, against a hand-written native loop.
//!
//! The yardstick evaluates the same 60 rules of 3 to 6 comparisons over ten fields, written as a plain loop over
//! comparisons with early exit, and keeps a bit set of the rules that held. Quote the ratio of the medians of one
//! run: `decide` over `native`, for 500 situations, for 50 000, and for values at random.

#![expect(clippy::expect_used, reason = "a benchmark may stop where its ground is missing")]

use bloomward::decide::{Certified, Column, Memo, Rules};
use bloomward::plan::{NameId, Plan};
use divan::{Bencher, black_box};

#[path = "sixty_rules.rs"]
mod sixty_rules;

use sixty_rules::{FIELDS, Rule, rulebook, rules, trees};

fn main() {
    divan::main();
}

const TREES: usize = 1_000_000;

#[divan::bench(args = [500, 50_000, 0], sample_count = 5, sample_size = 1)]
fn native(bencher: Bencher<'_, '_>, situations: usize) {
    let (rules, trees) = (rules(), trees(TREES, situations));
    bencher.bench(|| {
        let mut held = Vec::with_capacity(TREES);
        for tree in 0..TREES {
            let mut bits = 0u64;
            for (at, rule) in rules.iter().enumerate() {
                if holds(rule, &trees, tree) {
                    bits |= 1 << at;
                }
            }
            held.push(bits);
        }
        black_box(held)
    });
}

fn holds(rule: &Rule, trees: &[Vec<f64>; FIELDS], tree: usize) -> bool {
    rule.iter().all(|comparison| {
        let value = trees[comparison.field][tree];
        if comparison.at_least { value >= comparison.threshold } else { value < comparison.threshold }
    })
}

#[divan::bench(args = [500, 50_000, 0], sample_count = 5, sample_size = 1)]
fn decide(bencher: Bencher<'_, '_>, situations: usize) {
    let plan = plan();
    let ready = Rules::new(&plan, Certified::No);
    let trees = trees(TREES, situations);
    let names: Vec<NameId> = (0..FIELDS)
        .map(|field| plan.name(&format!("field-{field}")).expect("every field is a name"))
        .collect();
    bencher.bench(|| {
        let mut memo = Memo::new(&plan, &ready).expect("ten names have a key");
        let columns: Vec<Column<'_>> =
            names.iter().zip(&trees).map(|(name, values)| Column { name: *name, values }).collect();
        let numbers = memo.decide_all(&columns);
        black_box((numbers, memo.len()))
    });
}

fn plan() -> Plan {
    let mut sources = bloomward::source::Sources::default();
    let book = sources.add("sixty.rulebook", rulebook());
    let (plan, problems) =
        bloomward::check::load(book, &mut sources, None, &mut |_| Err("no base".to_string()));
    assert!(!problems.any_error(), "{}", problems.plain(&sources));
    plan.expect("a rulebook without errors")
}
