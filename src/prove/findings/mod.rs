//! What is wrong in a rulebook's decisions: conflicts, gaps, items that never hold, broken promises. Each is shown by a
//! situation that was decided.

pub(crate) mod conflicts;
pub(crate) mod effect;
pub(crate) mod idle;
pub(crate) mod rows;

use crate::decide::{Logic, Outcome, decide};
use crate::plan::{ChoiceId, NameId, Never, Only, Origin, ProductId, Promise, Shut, VerdictWord};
use crate::problems::{Certainty, Finding, Problem, Problems};
use crate::prove::meaning::{self, Meaning};
use crate::prove::space::witness::witness;
use crate::prove::space::{Book, Space};
use crate::situation::Set;
use crate::source::Span;
use crate::trace::{Decision, Verdict};
use std::collections::{BTreeMap, BTreeSet};

/// How many findings of one kind are listed; the rest is counted.
const MOST: usize = 40;

/// How many other choices each may stand unranked beside, in the mean, for all pairs to be asked.
const FEW: usize = 20;

/// A rulebook with its space and its meaning.
#[derive(Clone, Debug)]
pub struct Prover<'p> {
    /// The rulebook.
    pub book: Book<'p>,
    /// All its situations.
    pub space: Space<'p>,
    /// What it says in them.
    pub meaning: Meaning,
    /// When tasks are to be done, warnings are given and hours are shut.
    pub(crate) spoken: Vec<Set>,
}

impl<'p> Prover<'p> {
    /// Reads a rulebook; at most so many nodes are made.
    pub fn new(book: Book<'p>, budget: usize) -> Self {
        Self::of(book, Space::new(&[book], &BTreeSet::new(), &[], budget))
    }

    /// Reads a rulebook in a space of which it is the first.
    pub(crate) fn of(book: Book<'p>, mut space: Space<'p>) -> Self {
        let meaning = Meaning::of(&mut space, 0);
        Self { book, space, meaning, spoken: Vec::new() }
    }

    /// Returns everything that is wrong in a rulebook's decisions.
    pub fn wrong(&mut self) -> Problems {
        let mut problems = Problems::default();
        let contradicts = self.conflicts(&mut problems);
        self.gaps(&mut problems);
        self.never_holds(&mut problems);
        self.promises(&mut problems, contradicts);
        problems
    }

    /// Returns what is broken in them: contradictions, gaps, promises.
    pub(crate) fn broken(&mut self) -> Problems {
        let mut problems = Problems::default();
        let contradicts = self.conflicts(&mut problems);
        self.gaps(&mut problems);
        self.promises(&mut problems, contradicts);
        problems
    }

    /// Decides a situation as the program decides a tree.
    pub fn decide(&self, situation: &[u16]) -> Option<Decision> {
        decide(self.book.plan, self.book.rules, &self.space.cells(0, situation)).ok()
    }

    /// Shows a finding by a situation.
    pub(crate) fn show(&self, problem: Problem, situation: &[u16], names: &BTreeSet<NameId>) -> Problem {
        let found = witness(&self.space, 0, situation, names);
        let certainty =
            if found.shared.is_empty() { Certainty::Seen } else { Certainty::OnPaper(found.shared) };
        Problem { situation: found.values, certainty: Some(certainty), ..problem }
    }

    /// Returns all pairs of choices that disagree somewhere, with where they do.
    pub(super) fn disagreements(&mut self) -> Vec<(ChoiceId, ChoiceId, Set)> {
        let rules = self.book.rules;
        let count = self.meaning.leads.len();
        let ranked: usize = rules.outranked_by.iter().map(Vec::len).sum();
        let mut ranks: Vec<usize> = rules.outranked_by.iter().map(Vec::len).collect();
        rules.outranked_by.iter().flatten().for_each(|above| ranks[above.index()] += 1);
        // Of many pairs without a rank it is found out first where any of them disagree.
        let within = if count * count > 2 * ranked + FEW * count {
            self.meaning.undecided(&mut self.space, Set::ALL)
        } else {
            Set::ALL
        };
        let diagrams = &mut self.space.diagrams;
        let meaning = &self.meaning;
        // What has a rank to each other choice disagrees with none.
        let unranked = |at: &usize| rules.circular[*at] || ranks[*at] + 1 < count;
        let leads = (0..count).filter(unranked).map(|at| (at, diagrams.both(meaning.leads[at], within)));
        let here: Vec<(usize, Set)> = leads.filter(|(_, set)| !set.is_none()).collect();
        let mut pairs = Vec::new();
        for (place, (one, a)) in here.iter().enumerate() {
            for (other, b) in here.iter().skip(place + 1) {
                let ids = (ChoiceId(*one as u32), ChoiceId(*other as u32));
                if rules.is_above(ids.0, ids.1) || rules.is_above(ids.1, ids.0) {
                    continue;
                }
                let mut both = diagrams.both(*a, *b);
                if both.is_none() {
                    continue;
                }
                for (outcome, set) in &meaning.outcomes[*one] {
                    if let Some((_, same)) = meaning.outcomes[*other].iter().find(|(it, _)| it == outcome) {
                        let agree = diagrams.both(*set, *same);
                        both = diagrams.without(both, agree);
                    }
                }
                if !both.is_none() {
                    pairs.push((ids.0, ids.1, both));
                }
            }
        }
        pairs
    }

    /// Returns what a choice comes to in a situation.
    pub(super) fn says(&self, choice: ChoiceId, situation: &[u16]) -> String {
        let outcomes = self.meaning.outcomes.get(choice.index()).map_or(&[][..], |list| list);
        let here = outcomes.iter().find(|(_, set)| self.space.diagrams.contains(*set, situation));
        here.map_or_else(String::new, |(outcome, _)| outcome_words(self.book.plan, outcome))
    }

    fn gaps(&mut self, problems: &mut Problems) {
        let plan = self.book.plan;
        if plan.choices.is_empty() {
            return;
        }
        let uncovered = self.meaning.uncovered(&mut self.space);
        let Some(situation) = self.space.witness(&[uncovered]) else { return };
        if self.decide(&situation).is_none_or(|it| it.verdict != Verdict::Uncovered) {
            return;
        }
        let problem = Problem::new(Finding::Gap, plan.head.span, "there are situations in which no choice holds")
            .help("add a choice for what is left, `choice keep-watching` with `advise hold`, that all others outrank");
        let all: Vec<ChoiceId> = (0..plan.choices.len() as u32).map(ChoiceId).collect();
        let all = self.names_of_choices(&all);
        let names = self.that_matter(uncovered, &situation, &all);
        let names = if names.is_empty() { all } else { names };
        problems.push(self.show(problem, &situation, &names));
    }

    /// Returns names without which a situation would not be sure to lie in a set, those of a list where it has them: names
    /// whose every other value keeps it there are left out, one after the other.
    pub(super) fn that_matter(
        &mut self,
        set: Set,
        situation: &[u16],
        names: &BTreeSet<NameId>,
    ) -> BTreeSet<NameId> {
        let mut rest = set;
        let mut kept = BTreeSet::new();
        for variable in 0..self.space.variables.len() as u16 {
            let here = situation.get(usize::from(variable)).copied().unwrap_or(0);
            let outside = self.space.diagrams.not(rest);
            let leaves = self.space.diagrams.exists(outside, &|it| it == variable);
            if self.space.diagrams.contains(leaves, situation) {
                kept.insert(variable);
                let at = self.space.diagrams.test(variable, |cell| cell == here);
                let only = self.space.diagrams.both(rest, at);
                rest = self.space.diagrams.exists(only, &|it| it == variable);
            } else {
                rest = self.space.diagrams.not(leaves);
            }
        }
        let variable = |name: &NameId| self.space.variable(0, *name);
        let matters = |name: &NameId| variable(name).is_some_and(|it| kept.contains(&it));
        let mut found: BTreeSet<NameId> = names.iter().copied().filter(matters).collect();
        for at in &kept {
            if !found.iter().any(|name| variable(name) == Some(*at)) {
                let of = self.space.variables.get(usize::from(*at)).and_then(|it| it.name);
                found.extend(of.map(|(_, name)| name));
            }
        }
        found
    }

    fn never_holds(&mut self, problems: &mut Problems) {
        let plan = self.book.plan;
        let rules = self.book.rules;
        let mut items: Vec<(Set, Span, String)> = Vec::new();
        let mut asks = Vec::new();
        for (gate, set) in plan.gates.iter().zip(&self.meaning.speaks.gates) {
            if gate.line.is_none() {
                items.push((*set, gate.span, format!("the gate `{}`", gate.name)));
                asks.push(gate.hours.is_none() && gate.condition.is_some());
            }
        }
        for (choice, set) in plan.choices.iter().zip(&self.meaning.speaks.choices) {
            items.push((*set, choice.span, format!("the choice `{}`", choice.name)));
            asks.push(choice.condition.is_some());
        }
        for ((set, span, words), _) in items.iter().zip(&asks).filter(|(_, asks)| **asks) {
            let other = self.space.diagrams.not(*set);
            if self.space.witness(&[other]).is_none() && !self.space.diagrams.is_spent() {
                let message = format!("{words} always holds: every situation meets its `if`");
                problems.push(
                    Problem::new(Finding::AlwaysHolds, *span, message)
                        .help("mend the condition; where it is meant to hold always, leave the `if` out"),
                );
            }
        }
        for band in &rules.bands {
            let Origin::Band(of) = &plan[band.name].origin else { continue };
            for (row, (_, level, logic)) in of.rows.iter().zip(&band.rows) {
                let set = self.space.holds(0, logic);
                let level = plan.word_of(band.name, *level);
                let kind = if row.caps { "at most " } else { "" };
                items.push((set, row.span, format!("the row `{kind}{level}` of `{}`", plan[band.name].word)));
            }
        }
        let speaking = plan
            .tasks
            .iter()
            .zip(&rules.tasks)
            .map(|(task, logic)| (logic, task.speaks.span, format!("the task `{}`", task.name)));
        let warnings = plan.warnings.iter().zip(&rules.warnings);
        let warnings =
            warnings.map(|(it, logic)| (logic, it.speaks.span, format!("the warning `{}`", it.name)));
        for (logic, span, words) in speaking.chain(warnings) {
            let set = self.space.holds(0, logic);
            items.push((set, span, words));
        }
        for promise in &plan.promises {
            let logic = Logic::new(&promise.whenever, &rules.axes);
            let set = self.space.holds(0, &logic);
            items.push((set, promise.span, format!("the promise `{}`", promise.name)));
        }
        for (set, span, words) in items {
            if self.space.witness(&[set]).is_none() {
                let message = format!("{words} never holds: no situation reaches it");
                problems.push(Problem::new(Finding::NeverHolds, span, message).help(
                    "its conditions exclude one another, or an `always` excludes them; fix or omit it",
                ));
            }
        }
    }

    /// Adds how promises are broken. Where choices contradict each other, what comes of that is no finding of its own.
    fn promises(&mut self, problems: &mut Problems, contradicts: bool) {
        for at in 0..self.book.plan.promises.len() {
            problems.extend(self.broken_promise(at, contradicts).map(Problems::of).unwrap_or_default());
        }
    }

    /// Returns how a promise is broken, if it is.
    pub fn promise(&mut self, at: usize) -> Option<Problem> {
        self.broken_promise(at, false)
    }

    fn broken_promise(&mut self, at: usize, but_undecided: bool) -> Option<Problem> {
        let plan = self.book.plan;
        let promise = plan.promises.get(at)?;
        let whenever = self.space.holds(0, &Logic::new(&promise.whenever, &self.book.rules.axes));
        let mut broken = Vec::new();
        if self.may_break(promise, whenever) {
            let parts = self.meaning.partition(&mut self.space, whenever);
            let counts = |verdict: &Verdict| !(but_undecided && *verdict == Verdict::Undecided);
            let breaking = parts.into_iter().filter(|(it, _)| counts(it) && breaks(self.book, promise, it));
            broken.extend(breaking.map(|(_, set)| set));
        }
        let mut names = BTreeSet::new();
        for task in &promise.tasks {
            if let Some(logic) = self.book.rules.tasks.get(*task) {
                let done = self.space.holds(0, logic);
                broken.push(self.space.diagrams.not(done));
                logic.each_name(&mut |name| {
                    names.insert(name);
                });
            }
        }
        let broken = self.space.diagrams.any(broken);
        let set = self.space.diagrams.both(whenever, broken);
        let situation = self.space.witness(&[set])?;
        let decision = self.decide(&situation)?;
        promise.whenever.each_test(&mut |test| {
            if let crate::plan::Subject::Name(name) = test.subject {
                names.insert(name);
            }
        });
        names.extend(self.names_of_choices(&decision.choices));
        let those = self.that_matter(set, &situation, &names);
        let names = if those.is_empty() { names } else { those };
        let message = format!(
            "the promise `{}` is broken: the verdict can be {}",
            promise.name,
            decision.verdict.words(plan)
        );
        let mut problem = Problem::new(Finding::PromiseBroken, promise.span, message)
            .help("close the situation with a gate, or promise less");
        if promise.span.source != plan.head.span.source {
            problem = problem.help("the base promises this: close the situation with a gate, or leave its promise out with a reason");
            problem.edit = Some(format!("omit promise {} because \"…\"", promise.name));
        }
        for choice in decision.choices.iter().take(4) {
            problem = problem.related(plan[*choice].span, format!("`{}` leads there", plan[*choice].name));
        }
        Some(self.show(problem, &situation, &names))
    }

    /// Returns whether a verdict that a promise rules out may be given in some situations: none is, where no choice that leads
    /// comes to one.
    fn may_break(&mut self, promise: &Promise, within: Set) -> bool {
        let book = self.book;
        let ruled_out = |verdict: &Verdict| breaks(book, promise, verdict);
        if [Verdict::Hold, Verdict::Uncovered].iter().any(ruled_out) {
            return true;
        }
        if ruled_out(&Verdict::Undecided) && !self.meaning.undecided(&mut self.space, within).is_none() {
            return true;
        }
        if self.are_shut(&ruled_out, within) {
            return false;
        }
        if self.led_to(&ruled_out, within).is_empty() {
            return false;
        }
        let within = self.space.nearly_real(within);
        self.led_to(&ruled_out, within).into_iter().any(|broken| self.space.witness(&[broken]).is_some())
    }

    /// Returns whether gates alone keep every spray of a kind away from some situations, whatever choices lead there: each has
    /// a dose that is of this kind by itself, and such a dose of no product comes out.
    fn are_shut(&mut self, is: &dyn Fn(&Verdict) -> bool, within: Set) -> bool {
        let alone = |dose: &(ProductId, u8)| is(&Verdict::Spray(vec![*dose]));
        let mut weakest: BTreeMap<ProductId, u8> = BTreeMap::new();
        for (outcome, _) in self.meaning.outcomes.iter().flatten() {
            let Outcome::Spray(doses) = outcome else { continue };
            if !is(&Verdict::Spray(doses.clone())) {
                continue;
            }
            let mut those = doses.iter().filter(|dose| alone(dose)).peekable();
            if those.peek().is_none() {
                return false;
            }
            for (product, strength) in those {
                let least = weakest.entry(*product).or_insert(*strength);
                *least = (*strength).min(*least);
            }
        }
        let gates = self.meaning.speaks.gates.clone();
        weakest.into_iter().all(|(product, strength)| {
            let out = meaning::comes_out(&mut self.space, 0, product, strength, &gates);
            self.space.is_nowhere(vec![within, out])
        })
    }

    /// Returns where choices that lead come to certain verdicts, of some situations.
    fn led_to(&mut self, is: &dyn Fn(&Verdict) -> bool, within: Set) -> Vec<Set> {
        let diagrams = &mut self.space.diagrams;
        let mut found = Vec::new();
        for (comes, leads) in self.meaning.outcomes.iter().zip(&self.meaning.leads) {
            let here = diagrams.both(within, *leads);
            for (outcome, set) in comes {
                if matches!(outcome, Outcome::Spray(doses) if is(&Verdict::Spray(doses.clone()))) {
                    found.push(diagrams.both(here, *set));
                }
            }
        }
        found.retain(|set| !set.is_none());
        found
    }

    /// Returns the names on which some choices hang: their own, and those of gates on what they advise.
    pub(super) fn names_of_choices(&self, choices: &[ChoiceId]) -> BTreeSet<NameId> {
        let (plan, rules) = (self.book.plan, self.book.rules);
        let mut names = BTreeSet::new();
        for choice in choices {
            names.extend(rules.choice_names.get(choice.index()).into_iter().flatten().copied());
        }
        names.retain(|name| {
            self.space.variable(0, *name).is_some() || matches!(plan[*name].origin, Origin::Band(_))
        });
        names
    }
}

/// Returns what an outcome is in words.
pub(super) fn outcome_words(plan: &crate::plan::Plan, outcome: &Outcome) -> String {
    match outcome {
        Outcome::Spray(doses) => Verdict::Spray(doses.clone()).words(plan),
        Outcome::Hold => "hold".to_owned(),
        Outcome::Aside => "nothing, every alternative is shut".to_owned(),
    }
}

/// Returns whether a verdict is one that a promise rules out.
pub(crate) fn breaks(book: Book<'_>, promise: &Promise, verdict: &Verdict) -> bool {
    let doses: &[(ProductId, u8)] = match verdict {
        Verdict::Spray(doses) => doses,
        Verdict::Hold | Verdict::AllShut | Verdict::Look | Verdict::Undecided | Verdict::Uncovered => &[],
    };
    let sprayed = |product: ProductId| doses.iter().any(|(it, _)| *it == product);
    let forbidden = promise.never.iter().any(|never| match never {
        Never::Above(product, most) => doses.iter().any(|(it, strength)| it == product && strength > most),
        Never::Shut(Shut::Spraying) => !doses.is_empty(),
        Never::Shut(Shut::Product(product)) => sprayed(*product),
        Never::Shut(Shut::Mix(a, b)) => sprayed(*a) && sprayed(*b),
        Never::Shut(Shut::Group(group)) => {
            doses.iter().any(|(product, _)| book.plan[*product].groups.contains(group))
        }
    });
    let word = match verdict {
        Verdict::Spray(_) => None,
        Verdict::Hold | Verdict::AllShut => Some(VerdictWord::Hold),
        Verdict::Look => Some(VerdictWord::Look),
        Verdict::Undecided => Some(VerdictWord::Undecided),
        Verdict::Uncovered => Some(VerdictWord::Uncovered),
    };
    let allowed = promise.only.as_ref().is_none_or(|list| {
        let named = list.iter().any(|only| matches!(only, Only::Verdict(it) if Some(*it) == word));
        let product = |dose: &(ProductId, u8)| list.contains(&Only::Product(dose.0));
        named || (!doses.is_empty() && doses.iter().all(product))
    });
    forbidden || !allowed
}
