//! All proofs of a rulebook, by how many rules and names it has, and of the largest regional rulebook of the project.
//!
//! The made rulebooks have as many gates as choices, each with three to six comparisons; the names have from two to five
//! cells, and each choice outranks the next. Most of their rules change nothing, which is the dear case: it must be
//! worked out, where an effect needs one situation only. Medians of one run on a machine with two cores, partly busy:
//!
//! | rules | names | all proofs | figure to reach |
//! |---|---|---|---|
//! | 100 | 12 | 10 ms | |
//! | 250 | 12 | 82 ms | |
//! | 500 | 12 | 360 ms | |
//! | 1 000 | 12 | 225 ms | 100 ms |
//! | 1 000 | 9 | 71 ms | |
//! | 5 000 | 9 | 202 ms | 2 s |
//! | southern-subtropics, with its reading | 66 | 69 ms | 20 ms |
//!
//! Cost grows with rules until the rules leave nothing undecided, then falls; it grows steeply with names, and with
//! thresholds of a name: 1 000 rules over 12 names with ten thresholds each do not fit the budget.

#![expect(clippy::expect_used, reason = "a benchmark may stop where its ground is missing")]

use bloomward::check;
use bloomward::plan::Plan;
use bloomward::prove;
use bloomward::source::Sources;
use divan::{Bencher, black_box};

#[path = "many_rules.rs"]
mod many_rules;

fn main() {
    divan::main();
}

/// Rules and names.
const SIZES: [(usize, usize); 6] = [(100, 12), (250, 12), (500, 12), (1_000, 12), (1_000, 9), (5_000, 9)];

fn plan(text: &str) -> Plan {
    let mut sources = Sources::default();
    let id = sources.add("many.rulebook", text);
    let (plan, problems) = check::load(id, &mut sources, None, &mut |_| Err("no base".to_string()));
    assert!(!problems.any_error(), "{}", problems.plain(&sources));
    plan.expect("a sound rulebook")
}

#[divan::bench(args = SIZES, sample_count = 5, sample_size = 1)]
fn proofs(bencher: Bencher<'_, '_>, (rules, names): (usize, usize)) {
    let plan = plan(&many_rules::rulebook(rules, names, 0));
    bencher.bench(|| black_box(prove::findings(&plan)));
}

/// From the text of the rulebook and its base, as an editor does at every pause.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn regional_from_its_text(bencher: Bencher<'_, '_>) {
    let read = |path: &str| {
        let path = format!("{}/rulebooks/{path}", env!("CARGO_MANIFEST_DIR"));
        std::fs::read_to_string(&path).map_err(|error| format!("{path}: {error}"))
    };
    let text = read("southern-subtropics.rulebook").expect("a rulebook of the project");
    bencher.bench(|| {
        let mut sources = Sources::default();
        let id = sources.add("southern-subtropics.rulebook", text.as_str());
        let (plan, _) = check::load(id, &mut sources, None, &mut |path| read(path));
        black_box(prove::findings(&plan.expect("a sound rulebook")))
    });
}
