//! The proofs against a general solver of propositional formulas (batsat, a descendant of MiniSat). Whether a conflict, a
//! gap, a broken promise, an item that never holds or one that changes nothing exists in a made rulebook must be answered
//! alike, in both directions.

use super::oracle_book::{Book, Rules};
use super::oracle_clauses::{Oracle, Without};
use super::oracle_maker::book;
use super::proofs::plan;
use batsat::Lit;
use bloomward::problems::Finding;
use bloomward::prove;
use std::collections::{BTreeMap, BTreeSet};

/// What there is to find in a rulebook: each by its kind and whom it concerns.
type Found = BTreeMap<(Finding, String), bool>;

/// Asks the solver for everything that can be found.
fn expected(book: &Book) -> Found {
    let mut oracle = Oracle::of(book);
    let is = oracle.verdicts(Without::Nothing);
    let mut found = Found::new();
    for (one, ways) in is.leads.iter().enumerate() {
        for (other, others) in is.leads.iter().enumerate().skip(one + 1) {
            let pairs = ways.iter().flat_map(|a| others.iter().map(move |b| (a, b)));
            let pairs: Vec<_> =
                pairs.filter(|((a, _), (b, _))| a != b).map(|((_, a), (_, b))| (*a, *b)).collect();
            let disagree = pairs.into_iter().any(|(a, b)| oracle.circuit.can_be(&[a, b]));
            found.insert((Finding::Conflict, format!("c{one} c{other}")), disagree);
        }
    }
    let gap = oracle.circuit.can_be(&[is.uncovered]);
    found.insert((Finding::Gap, String::new()), gap);
    let grades = oracle.grades(Without::Nothing);
    let mut items: Vec<(String, Lit, Option<Without>)> = Vec::new();
    for (at, gate) in book.gates.iter().enumerate() {
        let speaks = oracle.speaks(gate.when.as_ref(), gate.unless.as_ref(), &grades);
        items.push((format!("g{at}"), speaks, Some(Without::Gate(at))));
    }
    for (at, choice) in book.choices.iter().enumerate() {
        let speaks = oracle.speaks(choice.when.as_ref(), None, &grades);
        items.push((format!("c{at}"), speaks, Some(Without::Choice(at))));
    }
    for (band, rows) in book.bands.iter().enumerate() {
        for (at, row) in rows.iter().enumerate() {
            let holds = oracle.holds(&row.when, &grades);
            items.push((format!("row {band} {at}"), holds, Some(Without::Row(band, at))));
        }
    }
    for (at, task) in is.tasks.iter().enumerate() {
        items.push((format!("t{at}"), *task, None));
    }
    // Where choices contradict each other, what comes of that is no finding of its own.
    let contradicts = found.iter().any(|((finding, _), is)| *finding == Finding::Conflict && *is);
    for (at, promise) in book.promises.iter().enumerate() {
        let whenever = oracle.holds(&promise.whenever, &grades);
        items.push((format!("p{at}"), whenever, None));
        let rules = match promise.rules {
            Rules::OnlyOr { product, hold, uncovered, undecided } => {
                Rules::OnlyOr { product, hold, uncovered, undecided: undecided || contradicts }
            }
            others => others,
        };
        let breaks = oracle.breaks(rules, &is);
        let broken = oracle.circuit.can_be(&[whenever, breaks]);
        found.insert((Finding::PromiseBroken, format!("p{at}")), broken);
    }
    for (name, holds, without) in items {
        let can = oracle.circuit.can_be(&[holds]);
        found.insert((Finding::NeverHolds, name.clone()), !can);
        let asks = match without {
            Some(Without::Gate(at)) => book.gates[at].when.is_some(),
            Some(Without::Choice(at)) => book.choices[at].when.is_some(),
            _ => false,
        };
        if asks {
            let not = oracle.circuit.can_be(&[!holds]);
            found.insert((Finding::AlwaysHolds, name.clone()), !not);
        }
        let Some(without) = without else { continue };
        let other = oracle.verdicts(without);
        let mut apart = vec![oracle.apart(&is, &other)];
        // A row also matters for the work that is asked for.
        if matches!(without, Without::Row(..)) {
            let pairs = is.tasks.iter().zip(&other.tasks);
            apart.extend(pairs.map(|(a, b)| oracle.circuit.differ(*a, *b)));
        }
        let apart = oracle.circuit.any(&apart);
        let matters = oracle.circuit.can_be(&[apart]);
        found.insert((Finding::NoEffect, name), can && !matters);
    }
    found
}

/// Returns what the program finds, in the same words.
fn proved(book: &Book, text: &str) -> BTreeSet<(Finding, String)> {
    let plan = plan(text);
    // Rows have no names: they are told by their lines, which follow one another in the text.
    let mut rows = BTreeMap::new();
    for (_, name) in plan.named() {
        let bloomward::plan::Origin::Band(band) = &name.origin else { continue };
        let at = usize::from(&*name.word == "worry");
        rows.extend(band.rows.iter().enumerate().map(|(row, it)| (it.span.start, format!("row {at} {row}"))));
    }
    assert_eq!(rows.len(), book.bands.iter().map(Vec::len).sum::<usize>());
    let problems = prove::findings(&plan);
    let told = |problem: &bloomward::problems::Problem| {
        let mut names = problem.message.split('`').skip(1).step_by(2);
        let first = names.next().unwrap_or_default().to_owned();
        match problem.finding {
            // A choice is told with all that it disagrees with.
            Finding::Conflict => {
                let pair = |other: &str| {
                    let [one, other] = if *first < *other { [&*first, other] } else { [other, &*first] };
                    format!("{one} {other}")
                };
                names.map(pair).collect()
            }
            Finding::Gap => vec![String::new()],
            Finding::NeverHolds | Finding::NoEffect | Finding::PromiseBroken | Finding::AlwaysHolds => {
                vec![rows.get(&problem.at.start).cloned().unwrap_or(first)]
            }
            Finding::Untested | Finding::NeverAdvised | Finding::LabelMissing | Finding::NoLasts => {
                Vec::new()
            }
            other => panic!("{other:?}: {}\n{text}", problem.message),
        }
    };
    problems.iter().flat_map(|it| told(it).into_iter().map(|name| (it.finding, name))).collect()
}

#[test]
fn the_proofs_agree_with_a_solver_of_propositional_formulas() {
    let mut answers: BTreeMap<(Finding, bool), usize> = BTreeMap::new();
    for seed in 1..=165 {
        let book = book(seed);
        let text = book.text();
        let found = proved(&book, &text);
        let expected = expected(&book);
        for (what, is) in &expected {
            assert_eq!(found.contains(what), *is, "{seed}: {what:?}\n{text}");
            *answers.entry((what.0, *is)).or_default() += 1;
        }
        let more: Vec<_> = found.iter().filter(|it| !expected.contains_key(it)).collect();
        assert!(more.is_empty(), "{seed}: {more:?}\n{text}");
    }
    // Both answers occurred, neither in less than one case of twenty; items that can never hold are rarer.
    for finding in
        [Finding::Conflict, Finding::Gap, Finding::PromiseBroken, Finding::NeverHolds, Finding::NoEffect]
    {
        let count = |is: bool| answers.get(&(finding, is)).copied().unwrap_or(0);
        let (yes, no) = (count(true), count(false));
        let least = if finding == Finding::NeverHolds { 100 } else { 20 };
        assert!(yes * least >= yes + no && no * 20 >= yes + no, "{finding:?}: {yes} yes, {no} no");
    }
}
