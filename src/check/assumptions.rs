//! Assumed values that could open a gate.
//!
//! Comes in: the plan. Goes out: warnings. An assumption is let pass where everything that a gate asks of it comes out
//! on the side that shuts: `assume 0` for a set that has to be large before a gate opens. What is reckoned from the
//! value in any other way than over a tree's groups counts as open.

use super::Checker;
use super::walk::{self, WalkedPiece};
use crate::plan::{Compare, Condition, Datum, ExprNode, Gate, NameId, Origin, Plan, Subject, Test};
use crate::problems::{Finding, Problem};
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeSet;

/// An observation with the value that is assumed of it.
#[derive(Clone, Copy)]
struct Assumed<'p> {
    plan: &'p Plan,
    name: NameId,
    value: Datum,
    /// All that is made from it.
    made: &'p FxHashSet<Subject>,
}

impl Checker<'_> {
    /// Reports assumed values that could open a gate.
    pub(super) fn risky_assumptions(&mut self, all: &[Subject]) {
        let plan = &self.plan;
        let uses = Uses::of(plan, all);
        let mut found = Vec::new();
        for (at, name) in plan.names.iter().enumerate() {
            let Origin::Observed(seen) = &name.origin else { continue };
            let Some(assume) = &seen.assume else { continue };
            let id = NameId(at as u32);
            let (made, gates) = uses.from(id);
            let assumed = Assumed { plan, name: id, value: assume.value, made: &made };
            let gates: Vec<&Gate> = gates
                .iter()
                .filter_map(|at| plan.gates.get(*at))
                .filter(|gate| gate.line.is_none() && could_open(gate, assumed))
                .collect();
            let Some(first) = gates.first() else { continue };
            let more = match gates.len() {
                1 => String::new(),
                2 => " and another".to_string(),
                count => format!(" and {} others", count - 1),
            };
            let message = format!(
                "where nobody has seen `{}`, this value could open the gate `{}`{more}",
                name.word, first.name
            );
            let mut problem = Problem::new(Finding::RiskyAssumption, assume.span, message)
                .help("leave the `assume` out where a gate must not be walked through unseen");
            for gate in gates.iter().take(8) {
                problem = problem.related(gate.span, format!("gate `{}`", gate.name));
            }
            found.push(problem);
        }
        found.into_iter().for_each(|problem| self.problems.push(problem));
    }
}

/// What is made from what, and which gates ask for it.
struct Uses {
    makes: FxHashMap<Subject, Vec<Subject>>,
    gates: FxHashMap<Subject, Vec<usize>>,
}

impl Uses {
    fn of(plan: &Plan, all: &[Subject]) -> Self {
        let mut uses = Self { makes: FxHashMap::default(), gates: FxHashMap::default() };
        for subject in all {
            walk::of_subject(plan, *subject, &mut |met| {
                if let WalkedPiece::Subject(other) = met {
                    uses.makes.entry(other).or_default().push(*subject);
                }
            });
        }
        for (at, gate) in plan.gates.iter().enumerate() {
            for condition in [&gate.condition, &gate.unless].into_iter().flatten() {
                walk::condition(condition, &mut |met| {
                    if let WalkedPiece::Subject(other) = met {
                        uses.gates.entry(other).or_default().push(at);
                    }
                });
            }
        }
        uses
    }

    /// Returns all that is made from a name, itself among it, and the gates that ask for any of it.
    fn from(&self, name: NameId) -> (FxHashSet<Subject>, BTreeSet<usize>) {
        let start = Subject::Name(name);
        let (mut made, mut gates, mut open) = (FxHashSet::default(), BTreeSet::new(), vec![start]);
        made.insert(start);
        while let Some(subject) = open.pop() {
            gates.extend(self.gates.get(&subject).into_iter().flatten());
            for next in self.makes.get(&subject).into_iter().flatten() {
                if made.insert(*next) {
                    open.push(*next);
                }
            }
        }
        (made, gates)
    }
}

fn could_open(gate: &Gate, assumed: Assumed<'_>) -> bool {
    let shuts = gate.condition.as_ref().is_some_and(|it| opens(it, true, assumed));
    let lets_through = gate.unless.as_ref().is_some_and(|it| opens(it, false, assumed));
    shuts || lets_through
}

/// Returns whether a test of a condition that speaks of the value comes out on the side that opens; `shuts` says
/// whether the gate is shut where the condition holds.
fn opens(condition: &Condition, shuts: bool, assumed: Assumed<'_>) -> bool {
    match condition {
        Condition::Not(inner) => opens(inner, !shuts, assumed),
        Condition::All(parts) | Condition::Any(parts) => parts.iter().any(|part| opens(part, shuts, assumed)),
        Condition::Test(test) => {
            assumed.made.contains(&test.subject) && outcome(test, assumed) != Some(shuts)
        }
    }
}

/// Returns whether a test holds where the value is assumed of all groups of a tree, where that is plain to see.
fn outcome(test: &Test, assumed: Assumed<'_>) -> Option<bool> {
    let Subject::Name(id) = test.subject else { return None };
    if id == assumed.name {
        return holds(&test.compare, assumed.value);
    }
    let Origin::Measure(measure) = &assumed.plan.names.get(id.index())?.origin else { return None };
    if measure.valid_if.is_some() {
        return None;
    }
    match &*measure.expr.node {
        ExprNode::Name(of) | ExprNode::OfPanicles(_, of) if *of == assumed.name => {
            holds(&test.compare, assumed.value)
        }
        ExprNode::Panicles(_, Condition::Test(inner)) => {
            let inner = outcome(inner, assumed)?;
            holds(&test.compare, Datum::Word(u16::from(inner)))
        }
        ExprNode::ShareOfPanicles(Condition::Test(inner)) => {
            let inner = outcome(inner, assumed)?;
            holds(&test.compare, Datum::Number(f64::from(u8::from(inner))))
        }
        _ => None,
    }
}

/// Returns whether a comparison holds of a value.
fn holds(compare: &Compare, value: Datum) -> Option<bool> {
    match (compare, value) {
        (Compare::Not(inner), _) => holds(inner, value).map(|holds| !holds),
        (Compare::Numbers { low, high }, Datum::Number(number)) => {
            Some(Compare::is_between(number, low.as_ref(), high.as_ref()))
        }
        (Compare::NumberIsOneOf(list), Datum::Number(number)) => {
            Some(list.iter().any(|bound| bound.at.is_on(number)))
        }
        (Compare::Words(set), Datum::Word(place)) => {
            Some(1u64.checked_shl(u32::from(place)).is_some_and(|bit| set & bit != 0))
        }
        (Compare::Texts(list), Datum::Text(text)) => Some(list.contains(&text)),
        (_, _) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Bound;
    use crate::source::Span;
    use crate::units::Unit;

    fn bound(value: f64, closed: bool) -> Option<Bound> {
        let unit = Unit::none();
        Some(Bound { at: unit.threshold_of_amount(value), closed, unit, figure: None, span: Span::default() })
    }

    #[test]
    fn a_bound_counts_itself_only_where_it_is_closed() {
        let at_least = Compare::Numbers { low: bound(5.0, true), high: None };
        let above = Compare::Numbers { low: bound(5.0, false), high: None };
        assert_eq!(holds(&at_least, Datum::Number(5.0)), Some(true));
        assert_eq!(holds(&above, Datum::Number(5.0)), Some(false));
        assert_eq!(holds(&Compare::Not(Box::new(above)), Datum::Number(5.0)), Some(true));
    }
}
