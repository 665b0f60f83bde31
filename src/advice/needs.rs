//! What to find out: the least set of questions that settles a verdict, and what each answer leads to.

use super::reached::Reached;
use super::worlds::{Gauge, Leads, Node, Split, TooMany, Walk};
use super::{Answer, AnswersAre, Found, Need, Spray};
use crate::measure::{Extent, Leaf};
use crate::plan::{Bound, Kind, NameId, Origin, Plan, ProductId, TextId, Way};
use crate::situation::Axis;
use crate::trace::{Truth, Verdict};
use crate::units::Threshold;
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
pub fn questions(walk: &Walk<'_>, gauge: &dyn Gauge, root: &Node) -> Questions {
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
            Err(TooMany) => (of_one(walk, gauge, root, best()), AnswersAre::OfOne),
        },
        Err(TooMany) => (of_one(walk, gauge, root, best()), AnswersAre::OfOne),
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
    walk: &Walk<'_>,
    gauge: &dyn Gauge,
    root: &Node,
    questions: &[Vec<Need>],
) -> Result<Vec<Vec<Need>>, TooMany> {
    let root = Reached::new(walk, gauge, root.clone())?;
    for size in 1..questions.len().min(MOST + 1) {
        let mut places: Vec<usize> = (0..size).collect();
        loop {
            let subset: Vec<Vec<Need>> = places.iter().filter_map(|at| questions.get(*at)).cloned().collect();
            if root.is_settled_by(walk, gauge, &subset)? {
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
    Ok(told.into_iter().map(said_once).collect())
}

/// Returns the questions that are left of many: the one that settles most, and the least set after each of its answers;
/// nothing where no question settles anything.
fn narrowed(
    walk: &Walk<'_>,
    gauge: &dyn Gauge,
    root: &Node,
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
    walk: &Walk<'_>,
    gauge: &dyn Gauge,
    root: &Node,
    questions: &'q [Vec<Need>],
) -> Option<Settling<'q>> {
    let mut best: Option<(usize, Split, &Vec<Need>, Vec<Verdict>)> = None;
    for needs in questions {
        let [Need::Name(name)] = needs[..] else { continue };
        let split = walk.split(gauge, root, name);
        let then = |piece: &Extent| {
            walk.budget.set(WORLDS);
            let next = walk.fixed(gauge, root, split.leaf, *piece);
            walk.one(gauge, &next).ok().flatten().unwrap_or(Verdict::Look)
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
fn of_one(walk: &Walk<'_>, gauge: &dyn Gauge, root: &Node, best: Option<&Settling<'_>>) -> Vec<Answer> {
    let Some((split, needs, verdicts)) = best else { return Vec::new() };
    let asked = question(walk.plan, gauge, root, split.leaf, needs);
    let mut runs: Vec<(Vec<Extent>, &Verdict)> = Vec::new();
    for (piece, verdict) in split.pieces.iter().zip(verdicts) {
        let first = if piece.text().is_some() { 0 } else { runs.len().saturating_sub(1) };
        match runs.iter_mut().skip(first).find(|(_, same)| *same == verdict) {
            Some((pieces, _)) => pieces.push(*piece),
            None => runs.push((vec![*piece], verdict)),
        }
    }
    let answer = |(pieces, verdict): (Vec<Extent>, &Verdict)| Answer {
        found: vec![Found { at: piece_words(walk, split.leaf, &pieces, &split.pieces), ..asked.clone() }],
        then: verdict.words(walk.plan),
        sprays: matches!(verdict, Verdict::Spray(_)),
    };
    runs.into_iter().map(answer).collect()
}

fn tell(
    walk: &Walk<'_>,
    gauge: &dyn Gauge,
    node: &Node,
    questions: &[Vec<Need>],
    path: &mut Vec<Found>,
    told: &mut Vec<Answer>,
) -> Result<(), TooMany> {
    let leads = walk.leads(gauge, node)?;
    let settled = leads.one();
    let split = if settled.is_some() { None } else { ours(walk, gauge, node, &leads, questions) };
    let Some(split) = split else {
        let verdict = settled.unwrap_or(Verdict::Look);
        let sprays = matches!(verdict, Verdict::Spray(_));
        told.push(Answer { found: path.clone(), then: verdict.words(walk.plan), sprays });
        return Ok(());
    };
    let mut runs: Vec<(Vec<Extent>, Vec<Answer>)> = Vec::new();
    for piece in &split.pieces {
        let next = walk.step(gauge, node, split.leaf, *piece)?;
        let mut below = Vec::new();
        path.push(question(walk.plan, gauge, node, split.leaf, &split.needs));
        tell(walk, gauge, &next, questions, path, &mut below)?;
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
        let at = piece_words(walk, split.leaf, &pieces, &split.pieces);
        told.extend(below.into_iter().map(|mut answer| {
            if let Some(found) = answer.found.get_mut(depth) {
                found.at.clone_from(&at);
            }
            answer
        }));
    }
    Ok(())
}

/// Returns what is asked where a leaf is split, without an answer.
fn question(plan: &Plan, gauge: &dyn Gauge, node: &Node, leaf: Leaf, needs: &[Need]) -> Found {
    let (asked, name, of) = match leaf {
        Leaf::Others(_) => match needs {
            // Each tree of a case is among the others of the rest: none is named.
            [Need::OfTree(name, _), _, ..] => {
                let of = "other trees".to_string();
                (format!("{} of {of}", plan[*name].word), Some(*name), Some(of))
            }
            [Need::OfTree(name, tree)] => {
                let of = gauge.tree_name(*tree);
                (format!("{} of {of}", plan[*name].word), Some(*name), Some(of))
            }
            [Need::Name(name)] => (plan[*name].word.to_string(), Some(*name), None),
            _ => {
                (needs.iter().map(|need| words(plan, gauge, need)).collect::<Vec<_>>().join(", "), None, None)
            }
        },
        // Of several groups it is said which one is meant.
        Leaf::InGroup(group, name) if node.gauged.groups.len() > 1 => {
            let share = node.gauged.groups.get(group).and_then(|group| group.share);
            let share = share.map_or_else(String::new, |share| {
                format!(" ({} of panicles)", crate::units::show(crate::units::clean(share * 100.0), "%"))
            });
            let of = format!("group {}{share}", group + 1);
            (format!("{} of {of}", plan[name].word), Some(name), Some(of))
        }
        Leaf::InGroup(_, name) | Leaf::Name(name) => (plan[name].word.to_string(), Some(name), None),
    };
    Found { asked, name, of, at: String::new() }
}

/// Says an answer that cuts one name twice by what is left of it: not `below 3 and below 2`.
fn said_once(answer: Answer) -> Answer {
    let cuts_more = |earlier: &str, later: &str| {
        let upper = |at: &str| at.starts_with("below ") || at.starts_with("at most ");
        let lower = |at: &str| at.starts_with("above ") || at.starts_with("at least ");
        // A single value or a range with both ends says all there is to say.
        later != "any"
            && (upper(earlier) == upper(later) && lower(earlier) == lower(later)
                || !upper(later) && !lower(later))
            || earlier == "any"
    };
    let is_said_by =
        |earlier: &Found, later: &Found| later.asked == earlier.asked && cuts_more(&earlier.at, &later.at);
    let all = &answer.found;
    let kept =
        all.iter().enumerate().filter(|(at, it)| !all.iter().skip(at + 1).any(|more| is_said_by(it, more)));
    Answer { found: kept.map(|(_, it)| it.clone()).collect(), ..answer }
}

/// Says an answer in words: neighbouring pieces as one range, of all that was split.
fn piece_words(walk: &Walk<'_>, leaf: Leaf, pieces: &[Extent], all: &[Extent]) -> String {
    let name = match leaf {
        Leaf::Name(name) | Leaf::InGroup(_, name) => name,
        Leaf::Others(_) => {
            let ends: Vec<(f64, f64)> = pieces.iter().filter_map(|piece| piece.ends()).collect();
            return match (ends.first(), ends.last()) {
                (Some((one, _)), Some((_, other))) if one == other => format!("{one} of them"),
                (Some((first, _)), Some((_, last))) => format!("{first} to {last} of them"),
                _ => String::new(),
            };
        }
    };
    let axis = walk.cuts.get(name.index()).unwrap_or_else(|| walk.rules.axes.of(name));
    range_words(walk.plan, name, axis, pieces, all)
}

/// Says neighbouring pieces of a name's range in words: `at least 5`, `from 20 % to below 50 %`, `full-bloom`. An end that
/// is an end of the whole range is not said.
fn range_words(plan: &Plan, name: NameId, axis: &Axis, pieces: &[Extent], all: &[Extent]) -> String {
    let (Some(first), Some(last)) = (pieces.first(), pieces.last()) else { return String::new() };
    if first.is_empty() {
        return "nothing there".into();
    }
    let set = pieces.iter().fold(0, |set, piece| set | piece.word_set());
    if set != 0 {
        return word_range(plan, name, set);
    }
    let texts: Vec<TextId> = pieces.iter().filter_map(|piece| piece.text()).collect();
    if !texts.is_empty() {
        let word = |text: &TextId| plan.texts.get(text.0 as usize).map_or("any other", |text| &**text);
        return texts.iter().map(word).collect::<Vec<_>>().join(", ");
    }
    let numbers = || all.iter().filter_map(|piece| piece.ends());
    let ends = (first.ends(), last.ends(), numbers().next(), numbers().next_back());
    let (Some((low, _)), Some((_, high)), Some((least, _)), Some((_, most))) = ends else {
        return "any other".into();
    };
    let lower = (low > least).then(|| border(plan, name, axis, low));
    let upper = (high < most).then(|| border(plan, name, axis, high));
    let said = |value: f64| plan.number_of(name, value);
    let is_whole = matches!(plan[name].kind, Kind::Count | Kind::Date);
    if is_whole && low == high {
        return said(low);
    }
    match (lower, upper) {
        (None, None) => "any".into(),
        (Some(from), None) if from >= low => format!("at least {}", said(from)),
        (Some(from), None) => format!("above {}", said(from)),
        (None, Some(to)) if plan[name].kind == Kind::Count && !is_constant(axis, to) => {
            format!("below {}", said(to + 1.0))
        }
        (None, Some(to)) if to <= high => format!("at most {}", said(to)),
        (None, Some(to)) => format!("below {}", said(to)),
        (Some(from), Some(to)) if from == to => said(from),
        (Some(from), Some(to)) => {
            let begins = if from >= low { "from" } else { "above" };
            let ends = if to <= high { "to" } else { "to below" };
            format!("{begins} {} {ends} {}", said(from), said(to))
        }
    }
}

/// Returns the border that an end of a piece stands at, as an author would write it: the number itself where only whole
/// ones are, else the constant on whose rim it lies, else the shortest number of its unit that is near.
pub(super) fn border(plan: &Plan, name: NameId, axis: &Axis, at: f64) -> f64 {
    let (kind, unit) = (plan[name].kind, &plan[name].unit);
    let near = |constant: &Threshold| constant.is_by(at);
    match kind {
        Kind::Count | Kind::Date => at,
        Kind::Temperature => {
            constant(axis, near).unwrap_or_else(|| unit.point_to_base(short(unit.point_from_base(at))))
        }
        _ => constant(axis, near).unwrap_or_else(|| unit.amount_to_base(short(unit.amount_from_base(at)))),
    }
}

fn constant(axis: &Axis, is: impl Fn(&Threshold) -> bool) -> Option<f64> {
    match axis {
        Axis::Numbers { thresholds, .. } => thresholds.iter().find(|it| is(&it.at)).map(Bound::value),
        Axis::Words(_) | Axis::Texts(_) | Axis::Calendar { .. } => None,
    }
}

fn is_constant(axis: &Axis, value: f64) -> bool {
    constant(axis, |it| it.value() == value).is_some()
}

/// Returns the shortest decimal number near to one: a computed border lies within a small tolerance of the true one.
fn short(number: f64) -> f64 {
    let slack = 2e-5 * number.abs().max(1.0);
    let rounded = (0..9).filter_map(|digits| format!("{number:.digits$e}").parse::<f64>().ok());
    rounded.into_iter().find(|it| (it - number).abs() <= slack).unwrap_or(number)
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

/// Returns the sprays of choices that may hold which are allowed in every state of the world: as written, else at the
/// strongest weaker strengths, where a gate may hold them to these.
fn safe(walk: &Walk<'_>, gauge: &dyn Gauge, root: &Node) -> Vec<Spray> {
    let weighed = crate::decide::Weighed::new(walk.plan, walk.rules, &root.cells);
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
    let product = |dose: &(crate::plan::ProductId, u8)| (&walk.plan[dose.0].name, dose.1);
    safe.sort_by(|a, b| a.iter().map(product).cmp(b.iter().map(product)));
    safe
}

/// Returns doses at the strongest strengths, none above the wanted ones, that are allowed in every state of the world.
fn safest(walk: &Walk<'_>, gauge: &dyn Gauge, root: &Node, wanted: &Spray) -> Option<Spray> {
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
