//! Random edits of the shipped rulebooks, held against advice: groves of random trees are advised by the rulebook as it was and
//! as it is, and what `compare` and `tightens` say of all situations must be what was met. Every tree that is decided otherwise
//! lies in a told region with what was and is said; no other tree lies in one; and where an overlay is proved to tighten, no
//! tree gets more.
//!
//! `cargo test` takes a few edits of a fixed seed. `BLOOMWARD_EDITS=all cargo test --release --test it edits::` takes all, a
//! number so many, `BLOOMWARD_EDITS_SEED` other ones and other trees.

use crate::edits_made::{Edit, edits};
use crate::edits_trees::{Dice, Grove, Told, groves};
use bloomward::check;
use bloomward::measure::Possible;
use bloomward::plan::{Plan, Product};
use bloomward::prove::BUDGET;
use bloomward::prove::differences::{Comparison, Region, Regions, compare};
use bloomward::prove::loosened::tightens;
use bloomward::source::Sources;
use bloomward::trace::Verdict;

/// The shipped rulebooks that are edited: each alone, or with the base that it builds on.
const BOOKS: [&str; 4] =
    ["base/mango.rulebook", "dry-hills.rulebook", "humid-lowland.rulebook", "southern-subtropics.rulebook"];

/// How many edits are tried by `cargo test`.
const FEW: usize = 2;

#[test]
fn what_is_told_of_an_edit_is_what_trees_meet() {
    let number = |name: &str| std::env::var(name).ok().and_then(|it| it.parse::<usize>().ok());
    let is_all = std::env::var("BLOOMWARD_EDITS").is_ok_and(|it| it == "all");
    let mut dice = Dice(number("BLOOMWARD_EDITS_SEED").unwrap_or(11) as u64);
    let mut all: Vec<(&str, Edit)> = Vec::new();
    for book in BOOKS {
        let text = read(book);
        all.extend(edits(&text).into_iter().map(|edit| (book, edit)));
    }
    assert!(all.len() > 300, "{} edits", all.len());
    let count = if is_all { all.len() } else { number("BLOOMWARD_EDITS").unwrap_or(FEW) };
    let mut failed = Vec::new();
    let (mut tried, mut differing) = (0, 0);
    while tried < count && !all.is_empty() {
        let (book, edit) = if is_all { all.remove(0) } else { all.swap_remove(dice.below(all.len())) };
        let Some(new) = plan_of(book, &edit.text) else { continue };
        let old = plan_of(book, &read(book)).expect("the shipped rulebook is read");
        tried += 1;
        let (met, wrong) = held(&old, &new, &groves(&mut dice, if is_all { 6 } else { 3 }));
        differing += met;
        eprintln!("{book}, {}: {met} trees decided otherwise, {} wrong", edit.what, wrong.len());
        wrong.iter().for_each(|it| eprintln!("  {it}"));
        failed.extend(wrong.into_iter().map(|it| format!("{book}, {}: {it}", edit.what)));
    }
    eprintln!("{tried} edits tried, {differing} trees decided otherwise");
    assert!(failed.is_empty(), "{} wrong:\n{}", failed.len(), failed.join("\n"));
}

/// Returns how many trees are decided otherwise, and what is wrong in what is told of them.
fn held(old: &Plan, new: &Plan, groves: &[Grove]) -> (usize, Vec<String>) {
    let comparison = compare(old, new, BUDGET, Regions::All);
    let tightened = tightens(old, new, BUDGET);
    let mut wrong = Vec::new();
    if comparison.unconfirmed > 0 {
        wrong.push(format!("{} regions are not confirmed", comparison.unconfirmed));
    }
    let mut differing = 0;
    for grove in groves {
        let (was, now) = (grove.told(old), grove.told(new));
        for (was, now) in was.iter().zip(&now) {
            let same = shared(old, &was.verdict) == shared(new, &now.verdict);
            let is_loose = !same && !is_tighter(old, new, was, now);
            if is_loose && tightened.is_kept() {
                wrong.push(format!(
                    "{} loosens, and `tightens` is proved: {}",
                    was.tree,
                    turn(old, new, was, now)
                ));
            }
            if !same && comparison.same {
                wrong.push(format!(
                    "{} differs, and the advice is the same: {}",
                    was.tree,
                    turn(old, new, was, now)
                ));
            }
            // Regions are told of groves that are not certified.
            if grove.certified
                || comparison.spent
                || was.verdict == Verdict::Look
                || now.verdict == Verdict::Look
            {
                continue;
            }
            differing += usize::from(!same);
            if !same && comparison.same_verdicts {
                wrong.push(format!(
                    "{} differs, and all is the same: {}",
                    was.tree,
                    turn(old, new, was, now)
                ));
            }
            wrong.extend(place(&comparison, [old, new], was, now, same));
        }
    }
    wrong.truncate(8);
    (differing, wrong)
}

/// Returns what is wrong in the regions for one tree.
fn place(comparison: &Comparison, plans: [&Plan; 2], was: &Told, now: &Told, same: bool) -> Option<String> {
    let [old, new] = plans;
    let inside: Vec<(&Region, Lies)> = comparison
        .regions
        .iter()
        .map(|it| (it, lies(it, was, now)))
        .filter(|(_, it)| *it != Lies::Outside)
        .collect();
    let is_right = |region: &Region| {
        shared(old, &region.was.is) == shared(old, &was.verdict)
            && shared(new, &region.now.is) == shared(new, &now.verdict)
    };
    // A tree with several groups of panicles is in regions of each of them, and a place may be one that has no name.
    let sure: Vec<&Region> = inside.iter().filter(|(_, it)| *it == Lies::Inside).map(|(it, _)| *it).collect();
    if same {
        let first = sure.first()?;
        return Some(format!(
            "{} is told to differ, {} to {}",
            was.tree, first.was.verdict, first.now.verdict
        ));
    }
    if !inside.iter().any(|(region, _)| is_right(region)) && !is_cut(comparison, [old, new], was, now) {
        return Some(format!("{} differs and is in no region: {}", was.tree, turn(old, new, was, now)));
    }
    let other = sure.iter().find(|region| !is_right(region))?;
    Some(format!(
        "{} is told to go {} to {}: {}",
        was.tree,
        other.was.verdict,
        other.now.verdict,
        turn(old, new, was, now)
    ))
}

/// Returns whether not all regions of what becomes of a tree are told.
fn is_cut(comparison: &Comparison, [old, new]: [&Plan; 2], was: &Told, now: &Told) -> bool {
    let words = |plan: &Plan, verdict: &Verdict| match verdict {
        Verdict::Spray(doses) => {
            let mut doses: Vec<String> = doses
                .iter()
                .map(|(id, at)| {
                    format!("{} {}", plan[*id].name, plan[*id].strengths[usize::from(*at)].amount.written)
                })
                .collect();
            doses.sort();
            format!("spray {}", doses.join(" with "))
        }
        Verdict::Hold | Verdict::AllShut => "hold".to_owned(),
        other => other.word().to_owned(),
    };
    let (was, now) = (words(old, &was.verdict), words(new, &now.verdict));
    comparison.cut.iter().any(|turn| turn.was.starts_with(&was) && turn.now.starts_with(&now))
}

/// Whether a tree is in a region.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Lies {
    Inside,
    Outside,
    Perhaps,
}

fn lies(region: &Region, was: &Told, now: &Told) -> Lies {
    let mut found = Lies::Inside;
    for place in &region.place {
        let read = |it: &bloomward::prove::places::Where| {
            let readings = if it.book == 0 { was.readings(&it.name) } else { now.readings(&it.name) };
            // What is not known, or has no name, tells nothing.
            let is_open = |extent: &bloomward::measure::Extent| match extent.can_be {
                Possible::Numbers(low, high) => low != high,
                Possible::Words(set) => set.count_ones() != 1,
                Possible::Nothing | Possible::Text(_) | Possible::AnyText => false,
            };
            if readings.is_empty() || readings.iter().any(is_open) {
                return Lies::Perhaps;
            }
            let held = readings.iter().filter(|extent| it.has(**extent)).count();
            match (held, readings.len()) {
                (0, _) => Lies::Outside,
                (held, all) if held == all => Lies::Inside,
                _ => Lies::Perhaps,
            }
        };
        let all = std::iter::once(read(place)).chain(place.other.as_deref().map(read));
        for one in all {
            match one {
                Lies::Outside => return Lies::Outside,
                Lies::Perhaps => found = Lies::Perhaps,
                Lies::Inside => {}
            }
        }
    }
    found
}

/// Returns a verdict as two rulebooks can share it: products with what their strengths amount to; every hold is one.
fn shared(plan: &Plan, verdict: &Verdict) -> String {
    match verdict {
        Verdict::Spray(doses) => {
            let of = |product: &Product, at: usize| {
                format!("{} {:.9e}", product.name, product.strengths[at].amount.quantity)
            };
            let mut doses: Vec<String> =
                doses.iter().map(|(product, at)| of(&plan[*product], usize::from(*at))).collect();
            doses.sort();
            doses.join(" with ")
        }
        Verdict::Hold | Verdict::AllShut => "hold".to_owned(),
        other => other.word().to_owned(),
    }
}

/// Returns whether a verdict is one that an overlay which tightens may come to: a hold, a look, the same no stronger, or where
/// it shuts what was sprayed, another way, which is the base's own where the proof says so.
fn is_tighter(old: &Plan, new: &Plan, was: &Told, now: &Told) -> bool {
    match (&was.verdict, &now.verdict) {
        (_, Verdict::Hold | Verdict::AllShut | Verdict::Look) => true,
        // What is not known may be decided where each possible value decides alike.
        (Verdict::Look, Verdict::Spray(_)) => true,
        (Verdict::Spray(before), Verdict::Spray(after)) => {
            let amounts = |plan: &Plan, doses: &[(bloomward::plan::ProductId, u8)]| {
                let mut all: Vec<(String, f64)> = doses
                    .iter()
                    .map(|(id, at)| {
                        (plan[*id].name.to_string(), plan[*id].strengths[usize::from(*at)].amount.quantity)
                    })
                    .collect();
                all.sort_by(|a, b| a.0.cmp(&b.0));
                all
            };
            let (before, after) = (amounts(old, before), amounts(new, after));
            let weaker = before.len() == after.len()
                && before.iter().zip(&after).all(|(a, b)| a.0 == b.0 && b.1 <= a.1 * (1.0 + 1e-9));
            let is_shut = before.iter().any(|(name, _)| now.shut.contains(name) && !was.shut.contains(name));
            weaker || is_shut
        }
        (Verdict::Undecided, Verdict::Undecided) => true,
        _ => false,
    }
}

fn turn(old: &Plan, new: &Plan, was: &Told, now: &Told) -> String {
    format!("{} becomes {} ({})", was.verdict.words(old), now.verdict.words(new), was.seen)
}

fn read(book: &str) -> String {
    let path = format!("{}/rulebooks/{book}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// Reads a text in the place of a shipped rulebook; nothing where it is in error.
fn plan_of(book: &str, text: &str) -> Option<Plan> {
    let mut sources = Sources::default();
    let top = sources.add(book, text);
    let mut base = |path: &str| Ok(read(path));
    let (plan, problems) = check::load(top, &mut sources, None, &mut base);
    plan.filter(|_| !problems.any_error()).map(|mut plan| {
        // Worked examples and promises decide nothing.
        plan.worked.clear();
        plan
    })
}
