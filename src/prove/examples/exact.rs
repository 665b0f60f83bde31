//! The situations that a worked example leaves, told exactly: whether an expectation is met in all of them, and if not, which
//! names would have to be taken too.

use super::unsure;
use super::{Failure, same, shuts_today};
use crate::decide::decide;
use crate::measure::{Extent, Possible, Truth};
use crate::plan::{
    Bound, Compare, Expectation, Expected, ExprNode, Name, NameId, Origin, Place, Plan, TakenValue,
    VerdictWord,
};
use crate::prove::meaning::Meaning;
use crate::prove::space::panicles;
use crate::prove::space::taken::{Taken, extent, holds, is_value, lies_in};
use crate::prove::space::witness::witness;
use crate::prove::space::{Book, Space};
use crate::situation::{Cells, Set};
use crate::source::Span;
use crate::trace::{Shutter, Verdict};
use crate::units::{Threshold, Unit};
use std::collections::BTreeSet;

/// The situations that a worked example leaves.
pub(crate) struct Exact<'p> {
    space: Space<'p>,
    meaning: Meaning,
    /// The situations that it takes.
    here: Set,
    /// What hangs on names that it takes for unknown, or for something between two values.
    unsure: BTreeSet<u16>,
}

impl<'p> Exact<'p> {
    pub(crate) fn new(book: Book<'p>, taken: &Taken<'_>, cut: &BTreeSet<NameId>, budget: usize) -> Self {
        let plan = book.plan;
        let more: Vec<(NameId, Compare)> = taken
            .takes
            .iter()
            .filter_map(|(name, value)| Some((*name, comparison(&plan[*name], value)?)))
            .collect();
        let known = taken.takes.iter().filter(|(_, value)| **value != TakenValue::Unknown);
        let fixed: Vec<(NameId, Extent)> =
            known.map(|(name, value)| (*name, extent(plan, *name, value))).collect();
        let mut space = Space::of_example(book, cut, &fixed, &more, budget);
        if taken.one_group {
            panicles::one_group(&mut space, 0);
        } else {
            panicles::add(&mut space);
        }
        let is_fixed = |(name, extent): &(NameId, Extent)| {
            space.where_name(0, *name, &|piece| lies_in(&plan[*name], *piece, *extent))
        };
        let mut parts: Vec<Set> = fixed.iter().map(is_fixed).collect();
        for (id, name) in plan.named() {
            let Origin::Measure(measure) = &name.origin else { continue };
            let is_fixed = taken.fixed(taken.definitions.name(id)).is_some();
            if is_fixed || measure.valid_if.is_some() || matches!(&*measure.expr.node, ExprNode::Name(_)) {
                continue;
            }
            if let Some(assumed) = taken.assumed(&measure.expr) {
                parts
                    .push(space.where_name(0, id, &|piece| {
                        lies_in(name, *piece, assumed) || holds(*piece, assumed)
                    }));
            }
        }
        let here = space.diagrams.all(parts);
        let unsure_value = |value: &TakenValue| matches!(value, TakenValue::Unknown | TakenValue::FromTo(..));
        let names =
            taken.takes.iter().filter(|(_, value)| unsure_value(value)).map(|(name, _)| *name).collect();
        let unsure = unsure::variables(&space, 0, &names);
        let meaning = Meaning::of(&mut space, 0);
        Self { space, meaning, here, unsure }
    }

    /// Returns how an expectation fails, if it does.
    pub(crate) fn failure(&mut self, expected: &Expectation, taken: &Taken<'_>) -> Option<Failure> {
        let met = match self.met(&expected.what) {
            Some(met) => met,
            None => return self.value(expected, taken),
        };
        if self.space.diagrams.is_spent() {
            return Some(Failure {
                at: expected.span,
                says: "its situations are too many to be decided".to_owned(),
                missing: Vec::new(),
                situation: std::collections::BTreeMap::new(),
                is_undecided: false,
            });
        }
        if self.space.witness(&[self.here]).is_none() {
            return Some(Failure {
                at: expected.span,
                says: "what it takes cannot be together".to_owned(),
                missing: Vec::new(),
                situation: std::collections::BTreeMap::new(),
                is_undecided: false,
            });
        }
        let missed = self.space.diagrams.without(self.here, met);
        let situation = self.space.witness(&[missed])?;
        let could_be = self.space.diagrams.both(self.here, met);
        let could_be = self.space.witness(&[could_be]).is_some();
        let missing = if could_be { self.missing(missed, &situation, taken) } else { BTreeSet::new() };
        let plan = self.space.books[0].plan;
        let says = self.says(&situation, &expected.what);
        let mut shown: BTreeSet<NameId> = missing.clone();
        shown.extend(taken.takes.keys().copied());
        let found = witness(&self.space, 0, &situation, &shown);
        let missing: Vec<String> = missing.into_iter().map(|name| format!("`{}`", plan[name].word)).collect();
        let says =
            if could_be { format!("it is not settled; it can be {says}") } else { format!("it is {says}") };
        let is_of_verdict =
            matches!(expected.what, Expected::Spray(_) | Expected::Verdict(_) | Expected::By(_));
        let is_undecided = is_of_verdict && self.verdict_in(&situation) == Some(Verdict::Undecided);
        Some(Failure { at: expected.span, says, missing, situation: found.values, is_undecided })
    }

    /// Returns the names that are left open and matter to a situation that misses an expectation.
    fn missing(&mut self, missed: Set, situation: &[u16], taken: &Taken<'_>) -> BTreeSet<NameId> {
        let plan = self.space.books[0].plan;
        let mut rest = missed;
        let mut names = BTreeSet::new();
        for variable in self.space.diagrams.depends_on(missed) {
            let outside = self.space.diagrams.without(self.here, rest);
            let leaves = self.space.diagrams.exists(outside, &|it| it == variable);
            let named = self.space.variables.get(usize::from(variable)).and_then(|it| it.name);
            let is_open = named.is_some_and(|(_, name)| taken.fixed(taken.definitions.name(name)).is_none());
            if is_open && self.space.diagrams.contains(leaves, situation) {
                names.extend(named.map(|(_, name)| name));
                let here = situation.get(usize::from(variable)).copied().unwrap_or(0);
                let at = self.space.diagrams.test(variable, |cell| cell == here);
                rest = self.space.diagrams.both(rest, at);
                rest = self.space.diagrams.exists(rest, &|it| it == variable);
            }
        }
        // An author takes bands and measures rather than what they are made of.
        names.retain(|name| !plan[*name].hidden || plan[*name].scope != Place::Panicles);
        names
    }

    /// Returns where an expectation is met; nothing for a value, which is no set of situations.
    fn met(&mut self, expected: &Expected) -> Option<Set> {
        let rules = self.space.books[0].rules;
        let book = self.space.books[0];
        let of = |name: NameId| move |at: f64| book.plan[name].threshold(at);
        Some(match expected {
            Expected::Spray(doses) => {
                let is = |it: &Verdict| matches!(it, Verdict::Spray(found) if same(found, doses));
                self.verdict(&is)
            }
            Expected::Verdict(VerdictWord::Hold) => self.verdict(&|it| it.essence() == Verdict::Hold),
            Expected::Verdict(VerdictWord::Undecided) => self.verdict(&|it| *it == Verdict::Undecided),
            Expected::Verdict(VerdictWord::Uncovered) => self.verdict(&|it| *it == Verdict::Uncovered),
            Expected::Verdict(VerdictWord::Look) => {
                // Where some verdict is reached whatever the names not known for sure are, there is nothing to look at.
                let mut settled = Vec::new();
                for (_, set) in self.meaning.partition(&mut self.space, Set::ALL) {
                    let other = self.space.diagrams.without(self.here, set);
                    let other = self.space.real(other);
                    let some = self.space.diagrams.exists(other, &|it| self.unsure.contains(&it));
                    settled.push(self.space.diagrams.not(some));
                }
                let settled = self.space.diagrams.any(settled);
                self.space.diagrams.not(settled)
            }
            Expected::By(choice) => {
                let set = self.meaning.leads.get(choice.index()).copied().unwrap_or(Set::NONE);
                let shut = self.meaning.all_shut(&mut self.space, Set::ALL);
                let holds = self.meaning.speaks.choices.get(choice.index()).copied().unwrap_or(Set::NONE);
                let aside = self.space.diagrams.both(shut, holds);
                self.space.diagrams.either(set, aside)
            }
            Expected::Task(task) => match rules.tasks.get(*task) {
                Some(logic) => self.space.holds(0, logic),
                None => Set::NONE,
            },
            Expected::Warning(warning) => match rules.warnings.get(*warning) {
                Some(logic) => self.space.holds(0, logic),
                None => Set::NONE,
            },
            Expected::ShutBy(product, gates) => {
                let mut sets = Vec::new();
                for gate in gates {
                    let speaks = self.meaning.speaks.gates.get(gate.index()).copied().unwrap_or(Set::NONE);
                    let fits = book.plan.gates.get(gate.index()).and_then(|gate| gate.fits);
                    let set = match fits {
                        Some((held, name)) if held == *product => self.space.test(0, name, &Cells::one(0)),
                        _ if shuts_today(book, *gate, *product) => speaks,
                        // Two products shut together are shut each for the other.
                        _ => speaks,
                    };
                    sets.push(set);
                }
                self.space.diagrams.any(sets)
            }
            Expected::Allowed(product) => {
                let shut = self.meaning.shut.get(product.index()).copied().unwrap_or(Set::NONE);
                self.space.diagrams.not(shut)
            }
            Expected::Is(name, value, _) if self.space.bands[0].contains_key(name) => {
                let settled = |level: &Extent| is_value(*level, value, None, &of(*name)) == Truth::Yes;
                self.space.where_name(0, *name, &settled)
            }
            Expected::Is(name, value, tolerance) if self.space.variable(0, *name).is_some() => {
                let settled = |piece: &Extent| is_value(*piece, value, *tolerance, &of(*name)) == Truth::Yes;
                let set = self.space.where_name(0, *name, &settled);
                if set.is_none() {
                    return None;
                }
                set
            }
            Expected::Is(..) | Expected::TableIs(..) => return None,
        })
    }

    fn verdict(&mut self, is: &dyn Fn(&Verdict) -> bool) -> Set {
        let parts = self.meaning.partition(&mut self.space, Set::ALL);
        self.space.diagrams.any(parts.into_iter().filter(|(it, _)| is(it)).map(|(_, set)| set))
    }

    /// Returns how a value fails, if it does.
    fn value(&self, expected: &Expectation, taken: &Taken<'_>) -> Option<Failure> {
        let plan = self.space.books[0].plan;
        let threshold: &dyn Fn(f64) -> Threshold = match &expected.what {
            Expected::Is(name, ..) => &|at| plan[*name].threshold(at),
            Expected::TableIs(table, ..) => &|at| plan[*table].threshold(at),
            _ => return None,
        };
        let (extent, value, tolerance, words) = match &expected.what {
            Expected::Is(name, value, tolerance) => {
                let extent = taken.name(*name);
                let unit = &plan[*name].unit;
                (extent, value, tolerance, extent_words(plan, plan[*name].kind, unit, extent))
            }
            Expected::TableIs(table, keys, value, tolerance) => {
                let extent = taken.table(*table, keys);
                let of = &plan[*table];
                (extent, value, tolerance, extent_words(plan, of.gives, &of.unit, extent))
            }
            _ => return None,
        };
        match is_value(extent, value, *tolerance, threshold) {
            Truth::Yes => None,
            Truth::No | Truth::Open => Some(Failure {
                at: expected.span,
                says: format!("it is {words}"),
                missing: Vec::new(),
                situation: std::collections::BTreeMap::new(),
                is_undecided: false,
            }),
        }
    }

    fn verdict_in(&self, situation: &[u16]) -> Option<Verdict> {
        let book = self.space.books[0];
        decide(book.plan, book.rules, &self.space.cells(0, situation)).ok().map(|it| it.verdict)
    }

    /// Returns what comes out in a situation where something else is expected.
    fn says(&self, situation: &[u16], expected: &Expected) -> String {
        let book = self.space.books[0];
        let plan = book.plan;
        let decided = decide(plan, book.rules, &self.space.cells(0, situation));
        match expected {
            Expected::Spray(_) | Expected::Verdict(_) => match decided {
                Ok(decision) => decision.verdict.words(plan),
                Err(_) => "not decided".to_owned(),
            },
            Expected::By(_) => match decided {
                Ok(decision) => {
                    let names: Vec<&str> = decision.choices.iter().map(|it| &*plan[*it].name).collect();
                    format!(
                        "{}, by {}",
                        decision.verdict.words(plan),
                        if names.is_empty() { "no choice".to_owned() } else { names.join(", ") }
                    )
                }
                Err(_) => "not decided".to_owned(),
            },
            Expected::Task(_) => "no such task".to_owned(),
            Expected::Warning(_) => "no such warning".to_owned(),
            Expected::ShutBy(..) => "not shut by it".to_owned(),
            Expected::Allowed(product) => {
                let by = book.rules.products.get(product.index()).map_or(&[][..], |rules| &rules.shut_by);
                let by = by.iter().find_map(|shutter| match shutter {
                    Shutter::Gate(gate) => {
                        let set = self.meaning.speaks.gates.get(gate.index()).copied()?;
                        self.space.diagrams.contains(set, situation).then(|| plan[*gate].name.to_string())
                    }
                    Shutter::Certified => None,
                });
                format!("shut by `{}`", by.unwrap_or_default())
            }
            Expected::Is(name, ..) => {
                let found = witness(&self.space, 0, situation, &BTreeSet::from([*name]));
                let value = found.values.get(&*plan[*name].word);
                value.map_or_else(
                    || "another".to_owned(),
                    |it| {
                        let unit = it["unit"].as_str().map_or_else(String::new, |unit| format!(" {unit}"));
                        it["value"].to_string().replace('"', "") + &unit
                    },
                )
            }
            Expected::TableIs(..) => "another".to_owned(),
        }
    }
}

fn extent_words(plan: &Plan, kind: crate::plan::Kind, unit: &Unit, extent: Extent) -> String {
    let number = |at: f64| {
        if at.is_infinite() { "longer than any".to_owned() } else { crate::plan::number_in(kind, unit, at) }
    };
    match extent.can_be {
        Possible::Nothing => "empty".to_owned(),
        Possible::Numbers(low, high) if low == high => number(low),
        Possible::Numbers(low, high) if low.is_finite() && high.is_finite() => {
            format!("not settled: from {} to {}", number(low), number(high))
        }
        Possible::Words(set) if set.is_power_of_two() => plan.word_in(kind, set.trailing_zeros() as u16),
        Possible::Numbers(..) | Possible::Words(_) | Possible::Text(_) | Possible::AnyText => {
            "not settled: what it comes from is not taken".to_owned()
        }
    }
}

/// Returns the comparison that cuts a range at a taken value.
fn comparison(name: &Name, value: &TakenValue) -> Option<Compare> {
    use crate::plan::Datum;
    let bound = |value: f64| {
        let (at, unit) = (name.threshold(value), name.unit.clone());
        Some(Bound { at, closed: true, unit, figure: None, span: Span::default() })
    };
    match value {
        TakenValue::One(Datum::Number(number)) => {
            Some(Compare::Numbers { low: bound(*number), high: bound(*number) })
        }
        TakenValue::FromTo(Datum::Number(low), Datum::Number(high)) => {
            Some(Compare::Numbers { low: bound(*low), high: bound(*high) })
        }
        TakenValue::One(_) | TakenValue::FromTo(..) | TakenValue::Unknown | TakenValue::Empty => None,
    }
}
