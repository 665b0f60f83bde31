//! The rulebooks that come with the project: read, checked, tidy, and with nothing doubtful but figures whose source is
//! still to be found. Every rule is reached by a worked example, every example comes out and every promise is kept.

use super::case::OverProject;
use bloomward::advice::ExampleHours;
use bloomward::check;
use bloomward::plan::Plan;
use bloomward::problems::{Finding, Problem};
use bloomward::prove::mutate::mutate;
use bloomward::prove::{self, BUDGET};
use bloomward::source::Sources;
use bloomward::syntax;
use bloomward::workspace::{MemoryStore, open_rulebook, take_example_hours};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

fn books(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            books(&path, found);
        } else if path.extension().is_some_and(|end| end == "rulebook") {
            found.push(path);
        }
    }
}

fn all() -> Vec<PathBuf> {
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found = Vec::new();
    books(&top.join("rulebooks"), &mut found);
    found.sort();
    assert!(found.len() >= 9, "{found:?}");
    found
}

#[test]
fn every_rulebook_is_sound_and_owes_no_more_than_sources() {
    for path in all() {
        let mut sources = Sources::default();
        let id = sources.add(path.display().to_string(), std::fs::read_to_string(&path).unwrap());
        let mut base = |base: &str| std::fs::read_to_string(base).map_err(|error| error.to_string());
        let (plan, mut problems) = check::load(id, &mut sources, None, &mut base);
        problems.retain(|problem| problem.finding != Finding::ToBeSourced);
        assert!(problems.is_empty(), "{}", problems.plain(&sources));
        assert!(plan.is_some(), "{}", path.display());
    }
}

/// Loads a rulebook, with some lines of text more, and the hours of its worked examples.
fn loaded(path: &Path, more: &str) -> Plan {
    with_hours(path, more).0
}

/// The same, with the hours that were taken in.
fn with_hours(path: &Path, more: &str) -> (Plan, Vec<ExampleHours>) {
    let text = std::fs::read_to_string(path).unwrap() + more;
    let store = OverProject { files: MemoryStore::default().with(path, text), below: "" };
    let mut sources = Sources::default();
    let opened = open_rulebook(&store, &path.display().to_string(), None, &mut sources).unwrap();
    let mut plan = opened.plan.unwrap();
    let (taken, problems) = take_example_hours(&store, &mut plan, &mut sources);
    assert!(problems.is_empty(), "{}", problems.plain(&sources));
    (plan, taken)
}

/// Returns what is proved of a rulebook.
fn proved(plan: &Plan) -> Vec<Problem> {
    prove::findings(plan).iter().cloned().collect()
}

#[test]
fn every_rule_of_every_rulebook_has_an_example_and_every_promise_is_kept() {
    for path in all() {
        let found = proved(&loaded(&path, ""));
        let words: Vec<&str> = found.iter().map(|it| &*it.message).collect();
        assert!(found.is_empty(), "{}: {words:#?}", path.display());
    }
}

#[test]
fn a_new_rule_without_an_example_is_found() {
    let base = Path::new(env!("CARGO_MANIFEST_DIR")).join("rulebooks/base/mango.rulebook");
    let rule = "\nwarning new \"new\"\n  says \"Look\"\n  of grove\n  if rain-ahead at least 40 mm\n  \
                because \"made\"\n  cites common-practice\n";
    let found = proved(&loaded(&base, rule));
    let words: Vec<_> = found.iter().map(|it| (it.finding, &*it.message)).collect();
    assert_eq!(words, [(Finding::Untested, "no worked example reaches the warning `new`")]);
    let example =
        "\nworked \"much rain\"\n  cites common-practice\n  take rain-ahead 50 mm\n  expect warning new\n";
    assert!(proved(&loaded(&base, &format!("{rule}{example}"))).is_empty());
}

#[test]
fn every_rulebook_is_tidy() {
    for path in all() {
        let text = std::fs::read_to_string(&path).unwrap();
        let mut sources = Sources::default();
        let id = sources.add(path.display().to_string(), text.as_str());
        let tidied =
            syntax::tidy(&sources, id).unwrap_or_else(|problems| panic!("{}", problems.plain(&sources)));
        assert!(tidied == text, "{} is not tidy", path.display());
    }
}

/// The regional books and the base have twenty-five items of their own or more, each with reasons.
#[test]
fn the_mango_books_are_whole() {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("rulebooks");
    for book in ["base/mango", "humid-lowland", "dry-hills", "southern-subtropics"] {
        let text = std::fs::read_to_string(top.join(format!("{book}.rulebook"))).unwrap();
        let mut sources = Sources::default();
        let id = sources.add(book, text.as_str());
        let (tree, problems) = syntax::parse(&sources, id);
        assert!(problems.is_empty());
        let mut kinds: BTreeMap<&str, usize> = BTreeMap::new();
        tree.items.iter().for_each(|item| *kinds.entry(item.kind.word()).or_default() += 1);
        assert!(tree.items.len() >= 25, "{book} has {}", tree.items.len());
        assert!(kinds["promise"] >= 1 && kinds["worked"] >= 6 && kinds["rulebook"] == 1, "{book}: {kinds:?}");
    }
}

/// What a spray does for how long, how soon it is due and when to look again come from no published source, nor do the
/// hours and depths of the weather bands: each says so, in every mango book.
#[test]
fn figures_without_a_source_are_marked() {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("rulebooks");
    let mut marked = 0;
    for book in ["base/mango", "humid-lowland", "dry-hills", "southern-subtropics"] {
        let text = std::fs::read_to_string(top.join(format!("{book}.rulebook"))).unwrap();
        for item in text.split("\n\n") {
            let first = item.lines().find(|line| !line.starts_with('#')).unwrap_or_default();
            let first = first.strip_prefix("replace ").unwrap_or(first);
            let graded = ["-weather ", "-cover ", "-treated ", "-need "];
            let owes = first.starts_with("choice ")
                || first.starts_with("product ")
                || first.starts_with("band ") && graded.iter().any(|word| first.contains(word));
            if owes {
                assert!(item.contains("to-be-sourced"), "{book}: {first}");
                marked += 1;
            }
        }
    }
    assert!(marked > 35, "{marked}");
}

/// Changes that nothing can notice, though it is not proved: `rulebooks/README.md` says why of each.
const EXPLAINED: [&str; 3] = [
    "measure response: `6 °C` for `7 °C`",
    "measure in-bloom: with `spreading`",
    "measure in-bloom: with `pea`",
];

/// Every threshold, `and`, `or` and row of the base and of the models has an example or a promise that holds it in its
/// place. That of the regional books is seen by `bloomward rehearse --mutate`, which takes longer.
#[test]
fn no_small_change_of_the_base_or_of_a_model_goes_unnoticed() {
    let mut tried = 0;
    for path in all().iter().filter(|path| path.parent().is_some_and(|it| !it.ends_with("rulebooks"))) {
        let (plan, hours) = with_hours(path, "");
        let mutation = mutate(&plan, &hours, BUDGET, &mut |_, _| {});
        let unnoticed: Vec<String> = mutation
            .survived
            .iter()
            .map(|it| format!("{}: {}", it.mutant.item, it.mutant.change))
            .filter(|it| !EXPLAINED.contains(&it.as_str()))
            .collect();
        assert!(!mutation.spent && unnoticed.is_empty(), "{}: {unnoticed:#?}", path.display());
        tried += mutation.tried;
    }
    assert!(tried > 400, "only {tried} changes");
}
