//! Advising many trees, as the program does it, against the same sixty rules as compiled Rust.
//!
//! `advise` opens a grove by the front door before the clock runs, and then advises every tree: its values, its
//! situation, its verdict with the chain, questions and tipping points of each distinct case. `straight_line` is what a
//! programmer would compile for these rules alone: sixty rules of 3 to 6 comparisons over ten fields, a verdict for each
//! tree and nothing else. Quote the ratio of the medians of one run, for 500 situations, for 5 000, and for values at random.

#![expect(clippy::expect_used, reason = "a benchmark may stop where its ground is missing")]

use bloomward::workspace::{GroveRequest, MemoryStore, OpenGrove, Purpose, open_grove};
use divan::{Bencher, black_box};
use std::path::Path;

#[path = "sixty_rules.rs"]
#[expect(dead_code, reason = "the test of these rules uses the rest")]
mod sixty_rules;
#[path = "sixty_rules_compiled.rs"]
mod sixty_rules_compiled;

use sixty_rules::{FIELDS, grove, rulebook, trees};

fn main() {
    divan::main();
}

const TREES: usize = 100_000;

#[divan::bench(args = [500, 5_000, 0], sample_count = 5, sample_size = 1)]
fn straight_line(bencher: Bencher<'_, '_>, situations: usize) {
    let trees = trees(TREES, situations);
    bencher.bench(|| {
        let of =
            |tree: usize| sixty_rules_compiled::verdict(&std::array::from_fn(|field| trees[field][tree]));
        black_box((0..TREES).map(of).collect::<Vec<u8>>())
    });
}

#[divan::bench(args = [500, 5_000, 0], sample_count = 5, sample_size = 1)]
fn advise(bencher: Bencher<'_, '_>, situations: usize) {
    let opened = opened(&trees(TREES, situations));
    let weather_measures = opened.weather_measures();
    bencher.bench(|| black_box(opened.advisor(&weather_measures).advise()));
}

fn opened(trees: &[Vec<f64>; FIELDS]) -> OpenGrove {
    let (yaml, csv) = grove(trees);
    let store = MemoryStore::default()
        .with("grove.yaml", yaml)
        .with("trees.csv", csv)
        .with("sixty.rulebook", rulebook());
    let request = GroveRequest {
        store: &store,
        grove: Path::new("grove.yaml"),
        by: None,
        library: None,
        as_of: None,
        now: chrono::DateTime::UNIX_EPOCH,
        purpose: Purpose::Reading,
    };
    open_grove(&request).ok().expect("a grove without errors")
}
