//! The order of items means nothing to a plan, and no text, however torn, makes checking panic.

use super::check_plan::plan;
use bloomward::check;
use bloomward::plan::{Condition, Kind, NameId, Origin, Plan, Shut, Subject};
use bloomward::source::Sources;
use proptest::prelude::*;
use std::collections::BTreeSet;

fn whole_language() -> String {
    std::fs::read_to_string("tests/fixtures/check/the_whole_language.rulebook").unwrap()
}

/// Returns a text without its head.
fn body(text: &str) -> &str {
    text.split_once("\n\n").map_or("", |(_, body)| body)
}

/// Cuts a text into its items.
fn items(text: &str) -> Vec<String> {
    let mut items: Vec<String> = Vec::new();
    for line in text.lines() {
        if line.starts_with(char::is_alphabetic) {
            items.push(String::new());
        }
        if let Some(item) = items.last_mut() {
            item.push_str(line);
            item.push('\n');
        }
    }
    items
}

#[test]
fn every_name_stands_after_those_it_is_made_from() {
    let plan = plan(body(&whole_language()));
    assert_eq!(plan.order.len(), plan.names.len());
    let at = |word: &str| {
        let id = plan.name(word).unwrap();
        plan.order.iter().position(|it| *it == id).unwrap()
    };
    for (made, from) in [
        ("ratio", "need"),
        ("need", "spell-warmth"),
        ("anthracnose-weather", "ratio"),
        ("grove-open", "in-bloom"),
        ("in-bloom", "stage"),
        ("points", "starting"),
        ("rain-since", "pruned-on"),
        ("open-flowers", "stage"),
    ] {
        assert!(at(made) > at(from), "{made} stands before {from}");
    }
}

/// Returns a plan in words that no numbering touches: every id is written as the name it stands for.
fn in_words(plan: &Plan) -> BTreeSet<String> {
    let word = |id: NameId| plan[id].word.to_string();
    let mut words = BTreeSet::new();
    for name in &plan.names {
        let kind = match name.kind {
            Kind::Words(list) => {
                plan[list].words.iter().map(|it| it.name.to_string()).collect::<Vec<_>>().join(" ")
            }
            kind => format!("{kind:?}"),
        };
        let origin = origin_in_words(plan, &name.origin);
        words.insert(format!("{} {kind} {:?} {} {origin}", name.word, name.scope, name.hidden));
    }
    for gate in &plan.gates {
        let shuts: Vec<String> = gate.shuts.iter().map(|shut| shut_in_words(plan, shut)).collect();
        let holds: Vec<String> =
            gate.holds.iter().map(|(product, place)| format!("{} {place}", plan[*product].name)).collect();
        let when: Vec<String> = [&gate.hours, &gate.condition, &gate.unless]
            .into_iter()
            .map(|it| it.as_ref().map_or(String::new(), |it| condition_in_words(plan, it)))
            .collect();
        let fits = gate.fits.map(|(_, name)| word(name));
        words.insert(format!("gate {} {shuts:?} {holds:?} {fits:?} {when:?}", gate.name));
    }
    for choice in &plan.choices {
        let outranks: BTreeSet<String> =
            choice.outranks.iter().map(|id| plan[*id].name.to_string()).collect();
        let when = choice.condition.as_ref().map_or(String::new(), |it| condition_in_words(plan, it));
        words.insert(format!("choice {} {} {outranks:?} {when}", choice.name, choice.ways.len()));
    }
    for worked in &plan.worked {
        let takes: BTreeSet<String> = worked.takes.iter().map(|take| word(take.name)).collect();
        words.insert(format!("worked {} {takes:?} {}", worked.title, worked.expects.len()));
    }
    for table in &plan.tables {
        words.insert(format!("table {} {} {:?}", table.name, table.rows.len(), table.between));
    }
    words
}

fn condition_in_words(plan: &Plan, condition: &Condition) -> String {
    let mut tests = Vec::new();
    condition.each_test(&mut |test| {
        let subject = match test.subject {
            Subject::Name(id) => plan[id].word.to_string(),
            Subject::Series(series) => series.word().to_string(),
            Subject::Hourly(id) => plan[id].name.to_string(),
            Subject::Daily(id) => plan[id].name.to_string(),
        };
        tests.push(format!("{subject}: {}", test.written));
    });
    tests.join("; ")
}

fn origin_in_words(plan: &Plan, origin: &Origin) -> String {
    match origin {
        Origin::Observed(seen) => format!("seen {:?}", seen.range),
        Origin::Measure(measure) => {
            format!(
                "measure {}",
                measure.valid_if.as_ref().map_or(String::new(), |it| condition_in_words(plan, it))
            )
        }
        Origin::Tally(tally) => {
            let uses: BTreeSet<String> = tally.uses.iter().map(|id| plan[*id].word.to_string()).collect();
            format!("tally {uses:?} {} {:?}", tally.starts, tally.kept)
        }
        Origin::Band(band) => {
            let rows: BTreeSet<String> = band
                .rows
                .iter()
                .map(|row| format!("{} {} {}", row.caps, row.level, condition_in_words(plan, &row.condition)))
                .collect();
            format!("band {rows:?}")
        }
        Origin::Cultivar | Origin::Block | Origin::Date => format!("{origin:?}"),
    }
}

fn shut_in_words(plan: &Plan, shut: &Shut) -> String {
    match shut {
        Shut::Spraying => "spraying".to_string(),
        Shut::Group(code) => code.to_string(),
        Shut::Product(id) => plan[*id].name.to_string(),
        Shut::Mix(one, other) => format!("{} with {}", plan[*one].name, plan[*other].name),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn the_order_of_items_means_nothing(seed in any::<u64>()) {
        let text = whole_language();
        let mut shuffled = items(body(&text));
        let mut state = seed | 1;
        for at in (1..shuffled.len()).rev() {
            state = state.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
            shuffled.swap(at, (state >> 33) as usize % (at + 1));
        }
        prop_assert_eq!(in_words(&plan(body(&text))), in_words(&plan(&shuffled.concat())));
    }

    #[test]
    fn no_text_makes_checking_panic(cuts in proptest::collection::vec(any::<(u16, u16)>(), 1..12)) {
        // Some words of a sound text in the places of others: much of it reads, and little of it means anything.
        let text = whole_language();
        let words: Vec<&str> = text.split_inclusive([' ', '\n']).collect();
        let mut torn = words.clone();
        for (from, to) in cuts {
            torn[usize::from(from) % words.len()] = words[usize::from(to) % words.len()];
        }
        let mut sources = Sources::default();
        let id = sources.add("torn.rulebook", torn.concat());
        let (plan, problems) = check::load(id, &mut sources, None, &mut |_| Err("none".to_string()));
        let unsound = problems.iter().any(|problem| check::is_of_text(problem.finding));
        prop_assert_eq!(plan.is_some(), !unsound);
    }
}
