//! Groups of trees with one decision: the same verdict, product, hours and open questions.

use super::GroveGround;
use crate::advice::{Advice, Advisor, Case, Hours, TreeAdvice, Turn};
use crate::explain::Values;
use crate::measure::Gauged;
use crate::sprayday::{Day, Decided, day};
use crate::trace::Verdict;
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;
use rustc_hash::FxHashMap;
use std::sync::Arc;

/// A group of trees with one decision.
#[derive(Clone, Debug)]
pub struct TreeGroup {
    /// The trees, in the grove's order.
    pub trees: Vec<usize>,
    /// Their cases, in the order in which they were met; all with the same decision.
    pub cases: Vec<usize>,
    /// Their hours.
    pub hours: Arc<Hours>,
    /// The day until which they are covered, where only time is missing.
    pub covered_until: Option<NaiveDate>,
    /// When their verdict becomes another if the forecast holds.
    pub turn: Option<Turn>,
    /// The values of its trees together, where they were gathered.
    pub values: Values,
}

impl TreeGroup {
    /// Returns what is decided for its trees; `case` finds a case by its number.
    fn decided<'c>(&'c self, case: impl Fn(usize) -> Option<&'c Case>) -> Decided<'c> {
        let cases = self.cases.iter().filter_map(|number| case(*number)).collect();
        Decided { cases, hours: &self.hours, trees: &self.trees }
    }
}

/// Advises all trees, and puts those that are chosen, given in the grove's order, into groups with their values.
pub fn advise_in_groups(advisor: &Advisor<'_>, chosen: &[usize]) -> (Advice, Vec<TreeGroup>) {
    let mut groups = Groups::default();
    let mut chosen = chosen.iter().copied().peekable();
    let advice = advisor.advise_with(|tree, advice, case, gauged| {
        if chosen.next_if_eq(&tree).is_some() {
            groups.add(tree, advice, case);
            groups.join(tree, gauged);
        }
    });
    (advice, groups.in_order())
}

/// Returns the rounds of a day for trees in groups, as of a moment; `case` finds a case by its number.
pub fn day_of_groups<'a, 'c>(
    ground: &GroveGround<'a>,
    as_of: DateTime<Tz>,
    groups: &'c [TreeGroup],
    case: impl Fn(usize) -> Option<&'c Case>,
) -> Day<'a> {
    let decided: Vec<Decided<'_>> = groups.iter().map(|group| group.decided(&case)).collect();
    day(ground.trees.plan, ground.trees.grove, ground.weather_measures, as_of, &decided)
}

/// Trees being put into groups as they come.
#[derive(Debug, Default)]
pub struct Groups {
    groups: Vec<TreeGroup>,
    decisions: FxHashMap<usize, usize>,
    first_cases: Vec<Case>,
    hours: FxHashMap<*const Hours, (usize, Arc<Hours>)>,
    different_hours: Vec<Arc<Hours>>,
    places: FxHashMap<(usize, usize, Option<NaiveDate>, Option<Turn>), usize>,
    /// The group to which the last tree was added.
    last: usize,
}

impl Groups {
    /// Adds a tree.
    pub fn add(&mut self, tree: usize, advice: &TreeAdvice, case: &Case) {
        let decision = self.decision(advice.case, case);
        let hours = self.hours_of(&advice.hours);
        let key = (decision, hours, advice.covered_until, advice.turn.clone());
        let place = *self.places.entry(key).or_insert_with(|| {
            self.groups.push(TreeGroup {
                trees: Vec::new(),
                cases: Vec::new(),
                hours: Arc::clone(&advice.hours),
                covered_until: advice.covered_until,
                values: Values::default(),
                turn: advice.turn.clone(),
            });
            self.groups.len() - 1
        });
        self.last = place;
        if let Some(group) = self.groups.get_mut(place) {
            group.trees.push(tree);
            if group.cases.last() != Some(&advice.case) && !group.cases.contains(&advice.case) {
                group.cases.push(advice.case);
            }
        }
    }

    /// Adds the values of the tree that was added last.
    fn join(&mut self, tree: usize, gauged: &Gauged) {
        let Some(group) = self.groups.get_mut(self.last) else { return };
        match &group.trees[..] {
            [_] => group.values = Values::of_tree(tree, gauged),
            _ => group.values.join(gauged),
        }
    }

    /// Returns the groups in the order of a page: sprays, what is to be looked at, the shut, the contradictory,
    /// the uncovered, those not to spray; within each by the first tree.
    pub fn in_order(self) -> Vec<TreeGroup> {
        let rank: Vec<u8> = self
            .groups
            .iter()
            .map(|group| {
                let case = group.cases.first().and_then(|case| self.decisions.get(case));
                case.and_then(|at| self.first_cases.get(*at))
                    .map_or(u8::MAX, |case| case.decision.verdict.rank())
            })
            .collect();
        let mut ranked: Vec<(u8, TreeGroup)> = rank.into_iter().zip(self.groups).collect();
        ranked.sort_by_key(|(rank, group)| (*rank, group.trees.first().copied()));
        ranked.into_iter().map(|(_, group)| group).collect()
    }

    /// Returns the number of a case's decision: cases that ask and advise the same share it.
    fn decision(&mut self, number: usize, case: &Case) -> usize {
        if let Some(decision) = self.decisions.get(&number) {
            return *decision;
        }
        let known = self.first_cases.iter().position(|known| same_decision(known, case));
        let decision = known.unwrap_or_else(|| {
            self.first_cases.push(case.clone());
            self.first_cases.len() - 1
        });
        self.decisions.insert(number, decision);
        decision
    }

    fn hours_of(&mut self, hours: &Arc<Hours>) -> usize {
        if **hours == Hours::default() {
            return 0;
        }
        if let Some((number, _)) = self.hours.get(&Arc::as_ptr(hours)) {
            return *number;
        }
        let known = self.different_hours.iter().position(|known| known == hours);
        let number = known.unwrap_or_else(|| {
            self.different_hours.push(Arc::clone(hours));
            self.different_hours.len() - 1
        }) + 1;
        // The pointer is kept alive beside its number, so that no other hours can come to lie there.
        self.hours.insert(Arc::as_ptr(hours), (number, Arc::clone(hours)));
        number
    }
}

fn same_decision(a: &Case, b: &Case) -> bool {
    a.decision.verdict == b.decision.verdict
        && a.spray == b.spray
        && (a.decision.verdict != Verdict::Undecided || a.decision.choices == b.decision.choices)
        && (a.decision.verdict != Verdict::AllShut
            || (&a.shut, &a.shut_between) == (&b.shut, &b.shut_between))
        && a.needs == b.needs
        && a.shut_in_some == b.shut_in_some
        && a.answers == b.answers
        && a.answers_are == b.answers_are
        && a.safe == b.safe
}
