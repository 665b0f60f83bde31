//! Which figures that changed stand behind the items that made a difference.

use super::pair::Pair;
use crate::plan::{Condition, FigureId, NameId, Plan};
use crate::prove::space::places::bounds;
use crate::prove::space::roots::{each_condition_within, names_in, names_within};
use std::collections::BTreeSet;

impl Pair<'_> {
    /// Returns the figures that have another value in the new rulebook and of which some items speak, directly or through names.
    pub(super) fn moved_figures(&self, because_of: &[String]) -> Vec<String> {
        let (old, new) = (self.space.books[0].plan, self.space.books[1].plan);
        let mut used: BTreeSet<FigureId> = BTreeSet::new();
        let mut todo: Vec<NameId> = Vec::new();
        for item in because_of {
            let places = self.places(1, item);
            let gates = places.gates.iter().map(|at| &new.gates[*at]);
            let choices = places.choices.iter().map(|at| &new.choices[*at]);
            let conditions = gates
                .flat_map(|it| [&it.condition, &it.unless])
                .chain(choices.flat_map(|it| [&it.condition, &it.unless]));
            for condition in conditions.flatten() {
                figures_in(condition, &mut used);
                names_in(condition, &mut todo);
            }
        }
        let mut seen: BTreeSet<NameId> = BTreeSet::new();
        while let Some(name) = todo.pop() {
            if seen.insert(name) {
                each_condition_within(new, name, &mut |condition| figures_in(condition, &mut used));
                todo.extend(names_within(new, name));
            }
        }
        let is_moved = |plan: &Plan, id: FigureId| {
            let figure = plan.figures.get(id.index())?;
            let was = old.figures.iter().find(|it| it.name == figure.name)?;
            (was.value != figure.value).then(|| figure.name.to_string())
        };
        used.into_iter().filter_map(|id| is_moved(new, id)).collect()
    }
}

fn figures_in(condition: &Condition, used: &mut BTreeSet<FigureId>) {
    condition.each_test(&mut |test| bounds(&test.compare, &mut |bound| used.extend(bound.figure)));
}
