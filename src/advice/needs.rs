//! What to find out: the least set of questions that settles a verdict, and what each answer leads to.

use super::reached::Reached;
use super::splits::Split;
use super::worlds::{Gauge, Leads, TooMany, WorldNode, WorldWalk};
use super::{Answer, AnswersAre, AskedOf, FoundValue, Need, PanicleShare, RangeEnd, Spray, ValueRange};
use crate::measure::{Extent, WorldInput};
use crate::plan::{Origin, Plan, ProductId, Way};
use crate::trace::{Truth, Verdict};
use std::cell::OnceCell;

/// What is open about a tree.
#[derive(Debug, Default)]
pub struct Questions {
    /// The least set of things to find out, alphabetical.
    pub needs: Vec<Need>,
    /// What each answer leads to.
    pub answers: Vec<Answer>,
    /// How far the answers go.
    pub answers_are: AnswersAre,
    /// The sprays that are allowed whatever the answers are.
    pub safe: Vec<Spray>,
}

/// The most questions that are tried together before all are asked.
const MOST: usize = 4;
/// How many worlds are looked at for what is asked after one answer.
const NARROWED: u32 = 200;
/// How many worlds are looked at for one answer to one question.
const WORLDS: u32 = 100;

/// Finds the least set of questions for a tree whose verdict is open.
pub fn questions(walk: &WorldWalk<'_>, gauge: &dyn Gauge, root: &WorldNode) -> Questions {
    let leads = walk.leads(gauge, root);
    let mut keys: Vec<Vec<Need>> = match &leads {
        Ok(leads) => leads.asked.iter().map(|(_, _, needs)| needs.clone()).collect(),
        // Too much is open to walk it all: everything is asked that an open gate or choice hangs on.
        Err(TooMany) => walk.everything_open(gauge, root),
    };
    keys.sort_by_cached_key(|needs| {
        needs.iter().map(|need| words(walk.plan, gauge, need)).collect::<Vec<_>>()
    });
    keys.dedup();
    // What nobody can look at is named only where there is nothing that somebody can.
    let can_be_asked = |needs: &Vec<Need>| !needs.iter().all(|need| is_computed(walk.plan, need));
    if keys.iter().any(can_be_asked) {
        keys.retain(can_be_asked);
    }
    let chosen = match &leads {
        Ok(_) => least(walk, gauge, root, &keys).ok().filter(|least| least.len() < keys.len()),
        Err(TooMany) => None,
    };
    let best = OnceCell::new();
    let best = || best.get_or_init(|| best_split(walk, gauge, root, &keys)).as_ref();
    let mut chosen =
        chosen.unwrap_or_else(|| narrowed(walk, gauge, root, best()).unwrap_or_else(|| keys.clone()));
    if chosen.iter().any(can_be_asked) {
        chosen.retain(can_be_asked);
    }
    let mut needs: Vec<Need> = chosen.iter().flatten().cloned().collect();
    needs.sort_by_cached_key(|need| words(walk.plan, gauge, need));
    needs.dedup();
    let (answers, answers_are) = match &leads {
        Ok(_) => match answers(walk, gauge, root, &chosen) {
            Ok(answers) => (answers, AnswersAre::All),
            Err(TooMany) => (of_one(walk, root, best()), AnswersAre::OfOne),
        },
        Err(TooMany) => (of_one(walk, root, best()), AnswersAre::OfOne),
    };
    Questions { needs, answers, answers_are, safe: safe(walk, gauge, root) }
}

/// Returns whether a need is a value that the rulebook computes, which nobody sees.
fn is_computed(plan: &Plan, need: &Need) -> bool {
    match need {
        Need::Name(name) | Need::OfTree(name, _) => {
            matches!(plan[*name].origin, Origin::Measure(_) | Origin::Tally(_) | Origin::Band(_))
        }
        Need::Sprays | Need::Harvest | Need::Weather | Need::Sprayer => false,
    }
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
    walk: &WorldWalk<'_>,
    gauge: &dyn Gauge,
    root: &WorldNode,
    questions: &[Vec<Need>],
) -> Result<Vec<Vec<Need>>, TooMany> {
    let mut node = root.clone();
    let root = Reached::new(walk, gauge, &mut node)?;
    for size in 1..questions.len().min(MOST + 1) {
        let mut places: Vec<usize> = (0..size).collect();
        loop {
            let subset: Vec<Vec<Need>> = places.iter().filter_map(|at| questions.get(*at)).cloned().collect();
            if root.is_settled_by(walk, gauge, &mut node, &subset)? {
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

/// Splits a world at the first of our questions on which its verdict hangs.
fn ours(
    walk: &WorldWalk<'_>,
    gauge: &dyn Gauge,
    node: &WorldNode,
    leads: &Leads,
    questions: &[Vec<Need>],
) -> Option<Split> {
    let asked = leads.asked.iter().filter(|(_, _, needs)| questions.contains(needs));
    asked.filter_map(|(leaf, target, needs)| walk.split_at(gauge, node, *leaf, *target, needs)).next()
}

/// Tells what each answer, or each combination of answers, leads to; answers next to each other that lead to the
/// same are joined.
fn answers(
    walk: &WorldWalk<'_>,
    gauge: &dyn Gauge,
    root: &WorldNode,
    questions: &[Vec<Need>],
) -> Result<Vec<Answer>, TooMany> {
    let mut told = Vec::new();
    tell(walk, gauge, &mut root.clone(), questions, (&mut Vec::new(), &mut told))?;
    Ok(told.into_iter().map(said_once).collect())
}

/// Returns the questions that are left of many: the one that settles most, and the least set after each of its answers;
/// nothing where no question settles anything.
fn narrowed(
    walk: &WorldWalk<'_>,
    gauge: &dyn Gauge,
    root: &WorldNode,
    best: Option<&Settling<'_>>,
) -> Option<Vec<Vec<Need>>> {
    let (split, needs, verdicts) = best?;
    let mut found = vec![(*needs).clone()];
    for (piece, verdict) in split.pieces.iter().zip(verdicts) {
        if *verdict != Verdict::Look {
            continue;
        }
        let next = walk.fixed(gauge, root, split.leaf, *piece);
        walk.budget.set(NARROWED);
        let Ok(leads) = walk.leads(gauge, &next) else {
            found.extend(walk.everything_open(gauge, &next));
            continue;
        };
        let asked: Vec<Vec<Need>> = leads.asked.iter().map(|(_, _, needs)| needs.clone()).collect();
        walk.budget.set(NARROWED);
        found.extend(least(walk, gauge, &next, &asked).unwrap_or(asked));
    }
    found.sort();
    found.dedup();
    Some(found)
}

/// A question, its answers, and the verdict of each.
type Settling<'q> = (Split, &'q Vec<Need>, Vec<Verdict>);

/// Finds the question that settles most by itself; nothing where none settles anything.
fn best_split<'q>(
    walk: &WorldWalk<'_>,
    gauge: &dyn Gauge,
    root: &WorldNode,
    questions: &'q [Vec<Need>],
) -> Option<Settling<'q>> {
    let mut best: Option<(usize, Split, &Vec<Need>, Vec<Verdict>)> = None;
    let mut node = root.clone();
    for needs in questions {
        let [Need::Name(name)] = needs[..] else { continue };
        let split = walk.split(gauge, root, name);
        let then = |piece: &Extent| {
            walk.budget.set(WORLDS);
            let one = walk.visit(gauge, &mut node, (split.leaf, *piece), |node| walk.one_of(gauge, node));
            one.ok().flatten().unwrap_or(Verdict::Look)
        };
        let verdicts: Vec<Verdict> = split.pieces.iter().map(then).collect();
        let settled = verdicts.iter().filter(|verdict| **verdict != Verdict::Look).count();
        if settled > best.as_ref().map_or(0, |(most, ..)| *most) {
            best = Some((settled, split, needs, verdicts));
        }
    }
    best.map(|(_, split, needs, verdicts)| (split, needs, verdicts))
}

/// Tells what each answer to one question alone leads to, where so much is open that all of it cannot be told: of the
/// question that settles most, or of none where none settles anything.
fn of_one(walk: &WorldWalk<'_>, root: &WorldNode, best: Option<&Settling<'_>>) -> Vec<Answer> {
    let Some((split, needs, verdicts)) = best else { return Vec::new() };
    let asked = question(root, split.leaf, needs);
    let mut runs: Vec<(Vec<Extent>, &Verdict)> = Vec::new();
    for (piece, verdict) in split.pieces.iter().zip(verdicts) {
        let first = if piece.text().is_some() { 0 } else { runs.len().saturating_sub(1) };
        match runs.iter_mut().skip(first).find(|(_, same)| *same == verdict) {
            Some((pieces, _)) => pieces.push(*piece),
            None => runs.push((vec![*piece], verdict)),
        }
    }
    let answer = |(pieces, verdict): (Vec<Extent>, &Verdict)| Answer {
        found: vec![FoundValue {
            range: range_of(walk, split.leaf, &pieces, &split.pieces),
            ..asked.clone()
        }],
        then: verdict.clone(),
    };
    runs.into_iter().map(answer).collect()
}

fn tell(
    walk: &WorldWalk<'_>,
    gauge: &dyn Gauge,
    node: &mut WorldNode,
    questions: &[Vec<Need>],
    (path, told): (&mut Vec<FoundValue>, &mut Vec<Answer>),
) -> Result<(), TooMany> {
    let leads = walk.leads_of(gauge, node)?;
    let settled = leads.one();
    let split = if settled.is_some() { None } else { ours(walk, gauge, node, &leads, questions) };
    let Some(split) = split else {
        told.push(Answer { found: path.clone(), then: settled.unwrap_or(Verdict::Look) });
        return Ok(());
    };
    let mut runs: Vec<(Vec<Extent>, Vec<Answer>)> = Vec::new();
    for piece in &split.pieces {
        let mut below = Vec::new();
        path.push(question(node, split.leaf, &split.needs));
        walk.within(gauge, node, (split.leaf, *piece), |node| {
            tell(walk, gauge, node, questions, (path, &mut below))
        })?;
        path.pop();
        // Texts stand in no order: all that lead to the same are one answer.
        let first = if piece.text().is_some() { 0 } else { runs.len().saturating_sub(1) };
        match runs.iter_mut().skip(first).find(|(_, same)| *same == below) {
            Some((pieces, _)) => pieces.push(*piece),
            None => runs.push((vec![*piece], below)),
        }
    }
    let depth = path.len();
    for (pieces, below) in runs {
        let range = range_of(walk, split.leaf, &pieces, &split.pieces);
        told.extend(below.into_iter().map(|mut answer| {
            if let Some(found) = answer.found.get_mut(depth) {
                found.range.clone_from(&range);
            }
            answer
        }));
    }
    Ok(())
}

/// Returns what is asked where a leaf is split, without an answer.
fn question(node: &WorldNode, leaf: WorldInput, needs: &[Need]) -> FoundValue {
    let groups = &node.gauged.groups;
    let (name, of) = match (leaf, needs) {
        // Each tree of a case is among the others of the rest: none is named.
        (WorldInput::Others(_), [Need::OfTree(name, _), _, ..]) => (*name, AskedOf::OtherTrees),
        (WorldInput::Others(_), [Need::OfTree(name, tree)]) => (*name, AskedOf::Tree(*tree)),
        (WorldInput::Others(name), _) => (name, AskedOf::OtherTrees),
        // Of several groups it is said which one is meant.
        (WorldInput::InGroup(group, name), _) if groups.len() > 1 => {
            let share = groups.get(group).and_then(|group| group.share);
            (name, AskedOf::Group(PanicleShare { group, share }))
        }
        (WorldInput::InGroup(_, name) | WorldInput::Name(name), _) => (name, AskedOf::Itself),
    };
    FoundValue { name, of, range: ValueRange::ANY }
}

/// Says an answer that cuts one name twice by what is left of it: not `below 3 and below 2`.
fn said_once(answer: Answer) -> Answer {
    let is_said_by = |earlier: &FoundValue, later: &FoundValue| {
        (later.name, later.of) == (earlier.name, earlier.of) && earlier.range.is_said_by(&later.range)
    };
    let all = &answer.found;
    let kept =
        all.iter().enumerate().filter(|(at, it)| !all.iter().skip(at + 1).any(|more| is_said_by(it, more)));
    Answer { found: kept.map(|(_, it)| it.clone()).collect(), ..answer }
}

/// Returns neighbouring pieces as one range, of all that was split; of other trees at how many of them it is so.
fn range_of(walk: &WorldWalk<'_>, leaf: WorldInput, pieces: &[Extent], all: &[Extent]) -> ValueRange {
    if matches!(leaf, WorldInput::Others(_)) {
        let low = pieces.first().and_then(|piece| piece.ends()).map(|(low, _)| RangeEnd::closed(low));
        let high = pieces.last().and_then(|piece| piece.ends()).map(|(_, high)| RangeEnd::closed(high));
        return ValueRange::Numbers { low, high };
    }
    let name = leaf.name();
    let axis = walk.cuts.get(name.index()).unwrap_or_else(|| walk.rules.axes.of(name));
    ValueRange::of_pieces(walk.plan, name, axis, pieces, all)
}

/// Returns the sprays of choices that may hold which are allowed in every state of the world: as written, else at the
/// strongest weaker strengths, where a gate may hold them to these.
fn safe(walk: &WorldWalk<'_>, gauge: &dyn Gauge, root: &WorldNode) -> Vec<Spray> {
    let weighed = walk.weighed(root);
    let mut safe: Vec<Spray> = Vec::new();
    for (choice, met) in walk.plan.choices.iter().zip(&weighed.trace().choices) {
        if met.holds == Truth::No {
            continue;
        }
        for way in &choice.ways {
            let Way::Spray(doses) = way else { continue };
            if let Some(doses) = safest(walk, gauge, root, doses)
                && !safe.contains(&doses)
            {
                safe.push(doses);
            }
        }
    }
    let product = |dose: &(ProductId, u8)| (&walk.plan[dose.0].name, dose.1);
    safe.sort_by(|a, b| a.iter().map(product).cmp(b.iter().map(product)));
    safe
}

/// Returns doses at the strongest strengths, none above the wanted ones, that are allowed in every state of the world.
fn safest(walk: &WorldWalk<'_>, gauge: &dyn Gauge, root: &WorldNode, wanted: &Spray) -> Option<Spray> {
    let allowed = |doses: &Spray| walk.surely_allowed(gauge, root, &Way::Spray(doses.clone())) == Ok(true);
    if allowed(wanted) {
        return Some(wanted.clone());
    }
    // A gate holds each product by itself; together they may still be shut.
    let alone = |(product, strength): &(ProductId, u8)| {
        let held = (0..=*strength).rev().find(|weaker| allowed(&vec![(*product, *weaker)]));
        held.map(|held| (*product, held))
    };
    let held: Spray = wanted.iter().map(alone).collect::<Option<_>>()?;
    (held != *wanted && allowed(&held)).then_some(held)
}
