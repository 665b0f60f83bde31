//! Choices that contradict each other: those of one choice are one finding.

use super::{MOST, Prover};
use crate::plan::{ChoiceId, NameId, Origin};
use crate::problems::{Finding, Problem, Problems};
use crate::prove::space::roots::names_in;
use crate::situation::Set;
use crate::trace::Verdict;
use std::collections::{BTreeMap, BTreeSet};

/// How many of the choices that one disagrees with are shown with what they say.
const SHOWN: usize = 3;

/// Two choices that disagree in some situations, with one of these.
struct Pair {
    choices: [ChoiceId; 2],
    set: Set,
    situation: Vec<u16>,
}

impl Prover<'_> {
    /// Adds the choices that contradict each other, and returns whether there are any.
    pub(super) fn conflicts(&mut self, problems: &mut Problems) -> bool {
        let mut pairs = Vec::new();
        for (one, other, set) in self.disagreements() {
            let Some(situation) = self.space.witness(&[set]) else { continue };
            if self.decide(&situation).is_some_and(|it| it.verdict == Verdict::Undecided) {
                pairs.push(Pair { choices: [one, other], set, situation });
            }
        }
        let is_any = !pairs.is_empty();
        let mut told = 0;
        while let Some(of) = self.most(&pairs) {
            let (mine, rest): (Vec<Pair>, Vec<Pair>) =
                pairs.into_iter().partition(|it| it.choices.contains(&of));
            pairs = rest;
            told += 1;
            if told <= MOST {
                problems.push(self.conflict(of, &mine));
            } else {
                let more = mine.len() + pairs.len();
                let message = format!("{more} more pairs of choices can both hold and disagree");
                problems.push(Problem::new(Finding::Conflict, self.book.plan.head.span, message));
                break;
            }
        }
        is_any
    }

    /// Returns the choice of most pairs: of several a choice of the file itself, the one that stands first.
    fn most(&self, pairs: &[Pair]) -> Option<ChoiceId> {
        let plan = self.book.plan;
        let mut counts: BTreeMap<ChoiceId, usize> = BTreeMap::new();
        pairs.iter().flat_map(|it| it.choices).for_each(|it| *counts.entry(it).or_default() += 1);
        let is_own = |it: ChoiceId| plan[it].span.source == plan.head.span.source;
        counts
            .into_iter()
            .max_by_key(|(it, count)| (*count, is_own(*it), std::cmp::Reverse(*it)))
            .map(|it| it.0)
    }

    fn conflict(&mut self, of: ChoiceId, pairs: &[Pair]) -> Problem {
        let plan = self.book.plan;
        let a = &plan[of];
        let others: Vec<(ChoiceId, &Pair)> =
            pairs.iter().map(|it| (it.choices[usize::from(it.choices[0] == of)], it)).collect();
        let names: Vec<String> = others.iter().map(|(it, _)| format!("`{}`", plan[*it].name)).collect();
        let Some((first, pair)) = others.first().copied() else {
            return Problem::new(Finding::Conflict, a.span, format!("`{}` disagrees with others", a.name));
        };
        let says = |it: ChoiceId, pair: &Pair| self.says(it, &pair.situation);
        let (mine, theirs) = (says(of, pair), says(first, pair));
        let mut problem = match others.len() {
            1 => {
                let message = format!(
                    "`{}` and `{}` can both hold, neither outranks the other, and they disagree: {mine} or {theirs}",
                    a.name, plan[first].name
                );
                let help = format!(
                    "let one give way: `outranks {}`, or tell their conditions apart",
                    plan[first].name
                );
                Problem::new(Finding::Conflict, a.span, message).help(help)
            }
            count => {
                let is_base = others.iter().all(|(it, _)| plan[*it].span.source != a.span.source);
                let whose = if is_base { " of the base" } else { "" };
                let message = format!(
                    "`{}` disagrees with {count} choices{whose}: {}; both can hold, and neither outranks the other",
                    a.name,
                    names.join(", ")
                );
                let all: Vec<&str> = others.iter().map(|(it, _)| &*plan[*it].name).collect();
                let help = format!(
                    "say which goes first: write `outranks {}` into `{}`, without those that are to go before it; these say \
                     `outranks {}`. Where both are due, a choice for both outranks them all",
                    all.join(", "),
                    a.name,
                    a.name
                );
                Problem::new(Finding::Conflict, a.span, message).help(help)
            }
        };
        problem = problem.label(format!("`{}` says: {mine}", a.name));
        for (other, pair) in others.iter().take(SHOWN) {
            let of = &plan[*other];
            problem = problem.related(of.span, format!("`{}` says: {}", of.name, says(*other, pair)));
        }
        let mut names = self.names_of_choices(&[of, first]);
        let mut asked = Vec::new();
        [of, first]
            .iter()
            .filter_map(|it| plan[*it].condition.as_ref())
            .for_each(|it| names_in(it, &mut asked));
        names.extend(self.that_matter(pair.set, &pair.situation, &names));
        let mut problem = self.show(problem, &pair.situation, &names);
        problem.foremost = foremost(plan, asked.into_iter().collect());
        problem
    }
}

/// Returns the words of those names that a person goes by: what is seen, and grades.
fn foremost(plan: &crate::plan::Plan, names: BTreeSet<NameId>) -> BTreeSet<String> {
    let is_hidden = |name: &NameId| plan[*name].hidden || matches!(plan[*name].origin, Origin::Date);
    names.into_iter().filter(|it| !is_hidden(it)).map(|it| plan[it].word.to_string()).collect()
}
