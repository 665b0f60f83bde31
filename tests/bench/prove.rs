//! All proofs of a rulebook, and the comparison of two, by how many rules and names they have; and of the largest regional
//! rulebook of the project.
//!
//! The made rulebooks have as many gates as choices, each with three to six comparisons; the names have from two to five
//! cells, and each choice outranks the next. Most of their rules change nothing, which is the dear case: it must be
//! worked out, where an effect needs one situation only. Medians of one run on a machine with two cores, which the
//! proofs use both:
//!
//! | rules | names | all proofs | figure to reach | three edits compared | figure to reach |
//! |---|---|---|---|---|---|
//! | 100 | 12 | 2 ms | | | |
//! | 250 | 12 | 17 ms | | | |
//! | 500 | 12 | 73 ms | | | |
//! | 1 000 | 12 | 36 ms | 100 ms | 34 ms | 100 ms |
//! | 1 000 | 9 | 17 ms | | | |
//! | 5 000 | 9 | 89 ms | 2 s | 239 ms | 2 s |
//! | southern-subtropics, with its reading; one figure compared | 68 | 28 ms | 30 ms | 62 ms | |
//!
//! The machine was quiet. A comparison tells causes, items in meaning, and what is to be mended, which takes the new rulebook's
//! proofs once more.
//!
//! Cost grows with rules until the rules leave nothing undecided, then falls; it grows steeply with names, and with
//! thresholds of a name: 1 000 rules over 12 names with ten thresholds each do not fit the budget.

#![expect(clippy::expect_used, reason = "a benchmark may stop where its ground is missing")]

use bloomward::check;
use bloomward::plan::Plan;
use bloomward::prove;
use bloomward::prove::compare::{Regions, compare};
use bloomward::source::Sources;
use divan::{Bencher, black_box};
use mimalloc::MiMalloc;

#[path = "many_rules.rs"]
mod many_rules;

/// The one of the program.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

fn main() {
    divan::main();
}

/// Rules and names.
const SIZES: [(usize, usize); 6] = [(100, 12), (250, 12), (500, 12), (1_000, 12), (1_000, 9), (5_000, 9)];

fn read(path: &str) -> Result<String, String> {
    let path = format!("{}/rulebooks/{path}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(&path).map_err(|error| format!("{path}: {error}"))
}

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
    let text = read("southern-subtropics.rulebook").expect("a rulebook of the project");
    bencher.bench(|| {
        let mut sources = Sources::default();
        let id = sources.add("southern-subtropics.rulebook", text.as_str());
        let (plan, _) = check::load(id, &mut sources, None, &mut |path| read(path));
        black_box(prove::findings(&plan.expect("a sound rulebook")))
    });
}

/// Three thresholds moved: what a page of the comparison needs.
#[divan::bench(args = [(1_000, 12), (5_000, 9)], sample_count = 5, sample_size = 1)]
fn comparison_of_three_edits(bencher: Bencher<'_, '_>, (rules, names): (usize, usize)) {
    let [old, new] = [0, 3].map(|edits| plan(&many_rules::rulebook(rules, names, edits)));
    bencher.bench(|| {
        let comparison = compare(&old, &new, prove::BUDGET, Regions::Some);
        assert!(!comparison.spent && comparison.unconfirmed == 0);
        black_box(comparison)
    });
}

/// One figure of the largest regional rulebook moved.
#[divan::bench(sample_count = 10, sample_size = 1)]
fn comparison_of_a_regional_figure(bencher: Bencher<'_, '_>) {
    let text = read("southern-subtropics.rulebook").expect("a rulebook of the project");
    let base = read("base/mango.rulebook").expect("a rulebook of the project");
    assert!(base.contains("90 °F"));
    let [old, new] = [base.clone(), base.replace("90 °F", "86 °F")].map(|base| {
        let mut sources = Sources::default();
        let id = sources.add("southern-subtropics.rulebook", text.as_str());
        let (plan, _) = check::load(id, &mut sources, None, &mut |_| Ok(base.clone()));
        plan.expect("a sound rulebook")
    });
    bencher.bench(|| black_box(compare(&old, &new, prove::BUDGET, Regions::Some)));
}
