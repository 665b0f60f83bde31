//! Sixty rules as a rulebook and as compiled Rust: both say the same of every tree. The benchmark of decisions measures them.

use super::case::open_at;
use bloomward::trace::Verdict;
use bloomward::workspace::MemoryStore;

#[path = "../bench/sixty_rules_compiled.rs"]
mod compiled;
#[path = "../bench/sixty_rules.rs"]
mod rules;

#[test]
fn what_is_compiled_is_what_the_rules_say() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/bench/sixty_rules_compiled.rs");
    if std::env::var_os("BLOOMWARD_WRITE").is_some() {
        std::fs::write(path, rules::straight_line()).unwrap();
    }
    assert_eq!(
        std::fs::read_to_string(path).unwrap(),
        rules::straight_line(),
        "run it with BLOOMWARD_WRITE=1"
    );
}

#[test]
fn advice_and_compiled_rules_agree_on_every_tree() {
    let trees = rules::trees(2_000, 0);
    let (yaml, csv) = rules::grove(&trees);
    let store = MemoryStore::default()
        .with("grove.yaml", yaml)
        .with("trees.csv", csv)
        .with("sixty.rulebook", rules::rulebook());
    let Ok(opened) = open_at(&store, "grove.yaml") else { panic!("the grove cannot be opened") };
    let weather_measures = opened.weather_measures();
    let advice = opened.advisor(&weather_measures).advise();
    let mut met = [0; rules::VERDICTS.len()];
    for (tree, advised) in advice.trees.iter().enumerate() {
        let fields = std::array::from_fn(|field| trees[field][tree]);
        let compiled = usize::from(compiled::verdict(&fields));
        let said = match &advice.case_of(advised).unwrap().decision.verdict {
            Verdict::Hold => "hold".to_owned(),
            Verdict::Spray(doses) => {
                let (product, strength) = doses[0];
                let product = &opened.plan.products[product.index()];
                format!("spray {} at {}", product.name, product.strengths[usize::from(strength)].name)
            }
            other => format!("{other:?}"),
        };
        assert_eq!(said, rules::VERDICTS[compiled], "{fields:?}");
        met[compiled] += 1;
    }
    assert!(met.iter().all(|count| *count > 20), "{met:?}");
}
