//! What to find out: the least set of questions that settles a verdict, and what each answer leads to.

use super::worlds::{Gauge, Leads, Node, Split, TooMany, Walk};
use super::{Answer, Need, Spray};
use crate::measure::{Extent, Leaf};
use crate::plan::{NameId, Origin, Plan, Way};
use crate::situation::Axis;
use crate::trace::{Truth, Verdict};

/// What is open about a tree.
#[derive(Debug, Default)]
pub struct Questions {
    /// The least set of things to find out, alphabetical.
    pub needs: Vec<Need>,
    /// What each answer leads to.
    pub answers: Vec<Answer>,
    /// The sprays that are allowed whatever the answers are.
    pub safe: Vec<Spray>,
}

/// The most questions that are tried together before all are asked.
const MOST: usize = 4;

/// Finds the least set of questions for a tree whose verdict is open.
pub fn questions(walk: &Walk<'_>, gauge: &dyn Gauge, root: &Node) -> Questions {
    let leads = walk.leads(gauge, root);
    let mut keys: Vec<Vec<Need>> = match &leads {
        Ok(leads) => leads.asked.iter().map(|(_, _, needs)| needs.clone()).collect(),
        // Too much is open to walk it all: everything is asked that an open gate or choice hangs on.
        Err(TooMany) => walk.everything_open(gauge, root),
    };
    keys.sort_by_key(|needs| needs.iter().map(|need| words(walk.plan, gauge, need)).collect::<Vec<_>>());
    keys.dedup();
    let chosen = match &leads {
        Ok(_) => least(walk, gauge, root, &keys).unwrap_or_else(|_| keys.clone()),
        Err(TooMany) => keys.clone(),
    };
    let mut needs: Vec<Need> = chosen.iter().flatten().cloned().collect();
    needs.sort_by_key(|need| words(walk.plan, gauge, need));
    needs.dedup();
    let answers =
        if leads.is_ok() { answers(walk, gauge, root, &chosen).unwrap_or_default() } else { Vec::new() };
    Questions { needs, answers, safe: safe(walk, gauge, root) }
}

/// Returns the words that name a need.
fn words(plan: &Plan, gauge: &dyn Gauge, need: &Need) -> String {
    match need {
        Need::Name(name) => plan[*name].word.to_string(),
        Need::OfTree(name, tree) => format!("{} of {}", plan[*name].word, gauge.tree_name(*tree)),
        Need::Sprays => "sprays".into(),
        Need::Harvest => "harvest".into(),
        Need::Weather => "weather".into(),
        Need::Sprayer => "sprayer".into(),
    }
}

/// Returns the smallest subset of questions that settles the verdict, the first of equal ones.
fn least(
    walk: &Walk<'_>,
    gauge: &dyn Gauge,
    root: &Node,
    questions: &[Vec<Need>],
) -> Result<Vec<Vec<Need>>, TooMany> {
    for size in 1..questions.len().min(MOST + 1) {
        let mut places: Vec<usize> = (0..size).collect();
        loop {
            let subset: Vec<Vec<Need>> = places.iter().filter_map(|at| questions.get(*at)).cloned().collect();
            if settles(walk, gauge, root, &subset)? {
                return Ok(subset);
            }
            if !next_combination(&mut places, questions.len()) {
                break;
            }
        }
    }
    Ok(questions.to_vec())
}

fn next_combination(places: &mut [usize], count: usize) -> bool {
    let size = places.len();
    let Some(at) = (0..size).rev().find(|at| places[*at] < count - size + at) else { return false };
    places[at] += 1;
    for later in at + 1..size {
        places[later] = places[later - 1] + 1;
    }
    true
}

/// Returns whether every combination of answers to these questions leaves one verdict.
fn settles(
    walk: &Walk<'_>,
    gauge: &dyn Gauge,
    node: &Node,
    questions: &[Vec<Need>],
) -> Result<bool, TooMany> {
    let leads = walk.leads(gauge, node)?;
    if leads.one().is_some() {
        return Ok(true);
    }
    let Some(split) = ours(walk, gauge, node, &leads, questions) else { return Ok(false) };
    for piece in split.pieces {
        let next = walk.step(gauge, node, split.leaf, piece)?;
        if !settles(walk, gauge, &next, questions)? {
            return Ok(false);
        }
    }
    Ok(true)
}

/// Splits a world at the first of our questions on which its verdict hangs.
fn ours(
    walk: &Walk<'_>,
    gauge: &dyn Gauge,
    node: &Node,
    leads: &Leads,
    questions: &[Vec<Need>],
) -> Option<Split> {
    let asked = leads.asked.iter().filter(|(_, _, needs)| questions.contains(needs));
    asked.filter_map(|(leaf, target, needs)| walk.split_at(gauge, node, *leaf, *target, needs)).next()
}

/// Tells what each answer, or each combination of answers, leads to; answers next to each other that lead to the
/// same are joined.
fn answers(
    walk: &Walk<'_>,
    gauge: &dyn Gauge,
    root: &Node,
    questions: &[Vec<Need>],
) -> Result<Vec<Answer>, TooMany> {
    let mut told = Vec::new();
    tell(walk, gauge, root, questions, &mut Vec::new(), &mut told)?;
    Ok(told)
}

fn tell(
    walk: &Walk<'_>,
    gauge: &dyn Gauge,
    node: &Node,
    questions: &[Vec<Need>],
    path: &mut Vec<(String, String)>,
    told: &mut Vec<Answer>,
) -> Result<(), TooMany> {
    let leads = walk.leads(gauge, node)?;
    let settled = leads.one().cloned();
    let split = if settled.is_some() { None } else { ours(walk, gauge, node, &leads, questions) };
    let Some(split) = split else {
        let verdict = settled.unwrap_or(Verdict::Look);
        let name = path.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>().join(" and ");
        let at = path.iter().map(|(_, at)| at.as_str()).collect::<Vec<_>>().join(" and ");
        let sprays = matches!(verdict, Verdict::Spray(_));
        told.push(Answer { name, at, then: verdict.words(walk.plan), sprays });
        return Ok(());
    };
    let mut runs: Vec<(Vec<Extent>, Vec<Answer>)> = Vec::new();
    for piece in &split.pieces {
        let next = walk.step(gauge, node, split.leaf, *piece)?;
        let mut below = Vec::new();
        path.push((leaf_words(walk.plan, gauge, split.leaf, &split.needs), String::new()));
        tell(walk, gauge, &next, questions, path, &mut below)?;
        path.pop();
        match runs.last_mut() {
            Some((pieces, same)) if *same == below => pieces.push(*piece),
            Some(_) | None => runs.push((vec![*piece], below)),
        }
    }
    let depth = path.len();
    for (pieces, below) in runs {
        let at = piece_words(walk, split.leaf, &pieces);
        told.extend(below.into_iter().map(|answer| {
            let deeper =
                answer.at.split(" and ").filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" and ");
            let before: Vec<&str> =
                path.iter().take(depth).map(|(_, at)| at.as_str()).filter(|at| !at.is_empty()).collect();
            let parts = before
                .into_iter()
                .chain([at.as_str()])
                .chain(Some(deeper.as_str()).filter(|it| !it.is_empty()));
            Answer { at: parts.collect::<Vec<_>>().join(" and "), ..answer }
        }));
    }
    Ok(())
}

fn leaf_words(plan: &Plan, gauge: &dyn Gauge, leaf: Leaf, needs: &[Need]) -> String {
    match leaf {
        Leaf::Others(_) => needs.iter().map(|need| words(plan, gauge, need)).collect::<Vec<_>>().join(", "),
        Leaf::InGroup(_, name) => plan[name].word.to_string(),
        Leaf::Name(name) if matches!(plan[name].origin, Origin::Observed(_)) => plan[name].word.to_string(),
        Leaf::Name(name) => match needs {
            [Need::Name(asked)] if *asked != name => plan[*asked].word.to_string(),
            _ => plan[name].word.to_string(),
        },
    }
}

/// Says an answer in words: neighbouring pieces as one range.
fn piece_words(walk: &Walk<'_>, leaf: Leaf, pieces: &[Extent]) -> String {
    let name = match leaf {
        Leaf::Name(name) | Leaf::InGroup(_, name) => name,
        Leaf::Others(_) => {
            let counts: Vec<f64> = pieces.iter().filter_map(|piece| piece.one_number()).collect();
            return match counts[..] {
                [one] => format!("{one} of them"),
                [first, .., last] => format!("{first} to {last} of them"),
                [] => String::new(),
            };
        }
    };
    let axis = walk.cuts.get(name.index()).unwrap_or_else(|| walk.rules.axes.of(name));
    range_words(walk.plan, name, axis, pieces)
}

/// Says neighbouring pieces of a name's range in words: `at least 5`, `from 20 % to below 50 %`, `full-bloom`.
pub fn range_words(plan: &Plan, name: NameId, axis: &Axis, pieces: &[Extent]) -> String {
    let (Some(first), Some(last)) = (pieces.first(), pieces.last()) else { return String::new() };
    if first.is_empty() {
        return "nothing there".into();
    }
    let set = pieces.iter().fold(0, |set, piece| set | piece.word_set());
    if set != 0 {
        return word_range(plan, name, set);
    }
    let (Some((low, _)), Some((_, high))) = (first.ends(), last.ends()) else { return "any other".into() };
    let Axis::Numbers { thresholds, .. } = axis else { return "some".into() };
    let said = |value: f64| plan.number_of(name, value);
    let from = thresholds.iter().rev().find(|it| it.value <= low + crate::units::tolerance(low) * 2.0);
    let to = thresholds.iter().find(|it| it.value >= high - crate::units::tolerance(high) * 2.0);
    let on = |bound: f64, value: f64| (bound - value).abs() <= crate::units::tolerance(value) / 8.0;
    let whole = matches!(axis, Axis::Numbers { whole: true, .. });
    if whole && low == high {
        return said(low);
    }
    match (from, to) {
        (None, None) if whole && low.is_finite() && high.is_finite() => {
            format!("from {} to {}", said(low), said(high))
        }
        (None, None) => "any".into(),
        (Some(a), Some(b)) if on(a.value, low) && on(b.value, high) && a.value == b.value => said(a.value),
        (Some(a), Some(b)) => {
            let to = if on(b.value, high) { said(b.value) } else { format!("below {}", said(b.value)) };
            let from = if on(a.value, low) || whole {
                format!("from {}", said(low))
            } else {
                format!("above {}", said(a.value))
            };
            if whole { format!("from {} to {}", said(low), said(high)) } else { format!("{from} to {to}") }
        }
        (Some(a), None) if on(a.value, low) => format!("at least {}", said(a.value)),
        (Some(_), None) if whole => format!("at least {}", said(low)),
        (Some(a), None) => format!("above {}", said(a.value)),
        (None, Some(b)) if on(b.value, high) => format!("at most {}", said(b.value)),
        (None, Some(b)) if whole && high < b.value => format!("below {}", said(high + 1.0)),
        (None, Some(b)) => format!("below {}", said(b.value)),
    }
}

fn word_range(plan: &Plan, name: NameId, set: u64) -> String {
    let word = |place: u32| plan.word_of(name, place as u16);
    let (first, last) = (set.trailing_zeros(), 63 - set.leading_zeros());
    let run = (u64::MAX >> (63 - last)) & (u64::MAX << first);
    let ordered = plan.is_ordered(name);
    if first == last {
        word(first)
    } else if ordered && set == run {
        format!("from {} to {}", word(first), word(last))
    } else {
        (first..=last).filter(|place| set >> place & 1 == 1).map(word).collect::<Vec<_>>().join(", ")
    }
}

/// Returns the sprays of choices that may hold which are allowed in every state of the world.
fn safe(walk: &Walk<'_>, gauge: &dyn Gauge, root: &Node) -> Vec<Spray> {
    let weighed = crate::decide::Weighed::new(walk.plan, walk.rules, &root.cells);
    let mut safe: Vec<Spray> = Vec::new();
    for (choice, met) in walk.plan.choices.iter().zip(&weighed.trace().choices) {
        if met.holds == Truth::No {
            continue;
        }
        for way in &choice.ways {
            let Way::Spray(doses) = way else { continue };
            if !safe.contains(doses) && walk.surely_allowed(gauge, root, way) == Ok(true) {
                safe.push(doses.clone());
            }
        }
    }
    let product = |dose: &(crate::plan::ProductId, u8)| (&walk.plan[dose.0].name, dose.1);
    safe.sort_by(|a, b| a.iter().map(product).cmp(b.iter().map(product)));
    safe
}
