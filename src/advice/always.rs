//! What the rulebook says is true of every grove, held against one: a tree of which it certainly is not true is an
//! error in the data.

use super::Advisor;
use crate::measure::{Extent, Gauged, Inputs, Possible, Truth, World};
use crate::phrase::{Phrase, said};
use crate::plan::{Always, Condition, ExprNode, NameId, Origin, Place, Plan};
use crate::problems::{Finding, Problem, Problems};
use crate::source::Span;
use crate::units::clean;

/// Finds the trees that break an `always` of the rulebook. What may yet be true, since something is not known, breaks
/// nothing; nor does a value that does not exist, which is no mistake of the data.
///
/// A statement on the grove alone is broken once, at the first tree.
pub fn broken_always(advisor: &Advisor<'_>) -> Problems {
    let mut found = Problems::default();
    let plan = advisor.plan();
    if plan.always.is_empty() {
        return found;
    }
    let statements: Vec<AlwaysFact<'_>> =
        plan.always.iter().map(|it| AlwaysFact::new(plan, advisor.inputs(), it)).collect();
    for tree in 0..advisor.grove().trees.len() {
        let statements = statements.iter().filter(|it| tree == 0 || !it.of_grove);
        let gauged = advisor.gauge(tree);
        found_of_tree(advisor, tree, &gauged, statements, &mut found);
    }
    found
}

/// An `always` with the names that a reader would look at.
struct AlwaysFact<'p> {
    always: &'p Always,
    names: Vec<NameId>,
    of_grove: bool,
}

impl<'p> AlwaysFact<'p> {
    fn new(plan: &Plan, inputs: &Inputs, always: &'p Always) -> Self {
        let mut names = Vec::new();
        spoken_of(plan, inputs, &always.statement, &mut names);
        let of_grove = names.iter().all(|name| plan[*name].scope == Place::Grove);
        Self { always, names, of_grove }
    }
}

/// Gathers the names of a condition; those that the program made itself give way to what they are made of.
fn spoken_of(plan: &Plan, inputs: &Inputs, condition: &Condition, names: &mut Vec<NameId>) {
    let mut spoken = Vec::new();
    condition.each_test(&mut |test| spoken.extend(test.names()));
    for name in spoken {
        match &plan[name].origin {
            Origin::Measure(made) if plan[name].hidden => match &*made.expr.node {
                ExprNode::Panicles(_, inner) | ExprNode::ShareOfPanicles(inner) => {
                    spoken_of(plan, inputs, inner, names);
                }
                _ => names.extend(inputs.direct(name)),
            },
            _ if names.contains(&name) => {}
            _ => names.push(name),
        }
    }
}

fn found_of_tree<'s>(
    advisor: &Advisor<'_>,
    tree: usize,
    gauged: &Gauged,
    statements: impl Iterator<Item = &'s AlwaysFact<'s>>,
    found: &mut Problems,
) {
    let (plan, facts) = (advisor.plan(), advisor.facts(tree));
    for statement in statements {
        let holds = advisor.judge().holds(&facts, &World::default(), gauged, &statement.always.statement);
        let met: Vec<(NameId, Vec<Extent>)> =
            statement.names.iter().map(|name| (*name, extents(plan, gauged, *name))).collect();
        let exists = met.iter().flat_map(|(_, extents)| extents).all(|extent| !extent.may_be_empty);
        if holds != Truth::No || !exists {
            continue;
        }
        let grove = advisor.grove();
        let who = match statement.of_grove {
            true => "the grove".into(),
            false => said!("the tree `{tree}`", tree = grove.trees.name(tree)),
        };
        let met = met.iter().map(|(name, extents)| {
            let values = values_met(advisor, tree, *name, extents);
            said!("{name} {values}", name = plan[*name].label, values)
        });
        let values = met.reduce(|one, other| said!("{one}, {other}", one, other)).unwrap_or_default();
        let name = &statement.always.name;
        let message = said!("{who} breaks `always {name}`: {values}", who, name, values);
        let help: Phrase = match gauged.groups.len() {
            0 | 1 => "correct what was written down wrongly".into(),
            // A group of panicles has what was seen of the whole tree where its own row says nothing else.
            _ => {
                "correct what was written down wrongly, or write what else is true of one group of panicles in its row".into()
            }
        };
        let because = &statement.always.why.because;
        let help = match because {
            Some(why) => said!("{help}; the rulebook says: {why}", help, why),
            None => help,
        };
        let mut problem = Problem::new(Finding::Input, grove.trees.span(tree), message).help(help);
        for (name, at) in sightings(advisor, tree, gauged.groups.len(), &statement.names) {
            problem = problem.related(at, said!("{label} was seen here", label = plan[name].label));
        }
        found.push(problem.related(statement.always.span, "this is broken"));
    }
}

/// Returns what a name can be; of panicles in each of their groups.
fn extents(plan: &Plan, gauged: &Gauged, name: NameId) -> Vec<Extent> {
    let of = |readings: &[crate::measure::Reading]| readings.get(name.index()).map(|it| it.extent);
    match plan[name].scope {
        Place::Panicles => gauged.groups.iter().filter_map(|group| of(&group.names)).collect(),
        Place::Tree | Place::Block | Place::Grove => of(&gauged.names).into_iter().collect(),
    }
}

/// Returns what was met of a name in words, group by group.
fn values_met(advisor: &Advisor<'_>, tree: usize, name: NameId, extents: &[Extent]) -> Phrase {
    let plan = advisor.plan();
    let number = |base: f64| -> Phrase {
        match clean(base) {
            // Longer than any: of a spray that never was.
            endless if endless.is_infinite() => "longer than any".into(),
            base => plan.number_of(name, base).into(),
        }
    };
    let one = |extent: &Extent| match extent.can_be {
        Possible::Nothing => "none".into(),
        Possible::Numbers(low, high) if low == high => number(low),
        Possible::Numbers(low, high) if low.is_infinite() && high.is_infinite() => "not known".into(),
        Possible::Numbers(low, high) if low.is_infinite() => said!("at most {number}", number = number(high)),
        Possible::Numbers(low, high) if high.is_infinite() => {
            said!("at least {number}", number = number(low))
        }
        Possible::Numbers(low, high) => said!("{low} to {high}", low = number(low), high = number(high)),
        Possible::Words(set) => {
            let places = (0..64u16).filter(|place| set >> place & 1 == 1);
            Phrase::any_of(places.map(|place| plan.word_of(name, place)))
        }
        Possible::Text(_) | Possible::AnyText => text(advisor, tree, name).into(),
    };
    let mut met: Vec<Phrase> = extents.iter().map(one).collect();
    met.dedup();
    met.into_iter().reduce(|one, other| said!("{one} and {other}", one, other)).unwrap_or_default()
}

pub(super) fn text(advisor: &Advisor<'_>, tree: usize, name: NameId) -> String {
    let grove = advisor.grove();
    let written = match advisor.plan()[name].origin {
        Origin::Cultivar => grove.trees.cultivar(tree).map(|cultivar| cultivar.to_string()),
        Origin::Block => grove.block_of(tree).map(|block| block.name.to_string()),
        _ => match grove.seen(tree, name).map(|seen| seen.value) {
            Some(crate::grove::SeenValue::Text(text)) => Some(text.to_string()),
            _ => None,
        },
    };
    written.map_or_else(|| "not known".to_string(), |written| format!("\"{written}\""))
}

/// Returns where the observations among some names were written down, if elsewhere than with the tree.
fn sightings(advisor: &Advisor<'_>, tree: usize, groups: usize, names: &[NameId]) -> Vec<(NameId, Span)> {
    let (plan, grove, facts) = (advisor.plan(), advisor.grove(), advisor.facts(tree));
    let observed = names.iter().filter(|name| matches!(plan[**name].origin, Origin::Observed(_)));
    let mut found: Vec<(NameId, Span)> = Vec::new();
    for name in observed {
        let of_groups = plan[*name].scope == Place::Panicles;
        let groups = (0..if of_groups { groups } else { 1 }).map(|group| of_groups.then_some(group));
        for (sighting, _) in groups.filter_map(|group| facts.sighting(group, *name)) {
            let known = found.iter().any(|(_, at)| *at == sighting.at);
            if !known && sighting.at != grove.trees.span(tree) {
                found.push((*name, sighting.at));
            }
        }
    }
    found
}
