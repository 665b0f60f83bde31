//! What to do and what not: choices in rank order, gates, hours, other work, promises.

use super::Bulletin;
use crate::plan::{Choice, ChoiceId, Condition, Gate, Never, Only, Shut, SpeaksOf, VerdictWord, Way, Why};
use crate::report::paper::Piece;
use crate::trace::Sense;

impl Bulletin<'_> {
    /// Returns the choices, each after those that go before it.
    pub(super) fn choices(&self) -> Vec<Piece> {
        let choices = &self.plan().choices;
        let mut pieces = vec![Piece::Text(self.say("guide.do.order", &[]))];
        for (at, id) in in_rank_order(choices).into_iter().enumerate() {
            let choice = &self.plan()[id];
            let mut says = vec![self.when(&choice.condition, &choice.unless)];
            says.push(self.say("guide.spray", &[("ways", &self.ways(&choice.ways))]));
            if let Some(hours) = choice.within {
                says.push(self.say("guide.within", &[("hours", &hours.to_string())]));
            }
            if let Some(days) = choice.recheck {
                says.push(self.say("guide.recheck", &[("days", &days.to_string())]));
            }
            says.extend(choice.how.iter().map(|how| self.say("guide.how", &[("how", how)])));
            if !choice.outranks.is_empty() {
                let others: Vec<String> =
                    choice.outranks.iter().map(|id| self.plan()[*id].label.to_string()).collect();
                says.push(self.say("guide.before", &[("others", &others.join(", "))]));
            }
            says.extend(self.why(&choice.why));
            pieces.push(self.item(&format!("{}. {}", at + 1, choice.label), says));
        }
        if choices.is_empty() { Vec::new() } else { pieces }
    }

    /// Returns the gates that speak of a whole day; label lines stand with their products.
    pub(super) fn gates(&self) -> Vec<Piece> {
        self.rules(|gate| gate.line.is_none() && gate.hours.is_none())
    }

    /// Returns in which hours nothing, or not everything, is sprayed, and which are better.
    pub(super) fn hours(&self) -> Vec<Piece> {
        let mut pieces = self.rules(|gate| gate.line.is_none() && gate.hours.is_some());
        pieces.extend(self.plan().prefers.iter().map(|prefer| {
            let hours = self.words.condition(&prefer.hours, Sense::Asked);
            let mut says = vec![self.say("guide.prefer", &[("hours", &hours)])];
            says.extend(self.why(&prefer.why));
            self.item(&prefer.label, says)
        }));
        let (least, within) = self.plan().head.window;
        if !pieces.is_empty() {
            let places = [("least", &*least.to_string()), ("within", &within.to_string())];
            pieces.push(Piece::Text(self.say("guide.window", &places)));
        }
        pieces
    }

    fn rules(&self, of: impl Fn(&Gate) -> bool) -> Vec<Piece> {
        let gates = self.plan().gates.iter().filter(|gate| of(gate));
        gates.map(|gate| self.item(&gate.label, self.gate(gate))).collect()
    }

    fn gate(&self, gate: &Gate) -> Vec<String> {
        let mut says = Vec::new();
        if !gate.shuts.is_empty() {
            let what: Vec<String> = gate.shuts.iter().map(|shut| self.shut(shut)).collect();
            says.push(self.say("guide.shuts", &[("what", &what.join(", "))]));
        }
        for (product, strength) in &gate.holds {
            let dose = self.words.dose(*product, *strength);
            says.push(self.say("guide.holds", &[("dose", &dose)]));
        }
        if let Some(hours) = &gate.hours {
            let hours = self.words.condition(hours, Sense::Asked);
            says.push(self.say("guide.in-hours", &[("hours", &hours)]));
        }
        if gate.hours.is_none() || gate.condition.is_some() || gate.unless.is_some() {
            says.push(self.when(&gate.condition, &gate.unless));
        }
        says.extend(self.why(&gate.why));
        says
    }

    /// Returns tasks and warnings.
    pub(super) fn other_work(&self) -> Vec<Piece> {
        let plan = self.plan();
        let tasks = plan.tasks.iter().map(|it| (&it.label, &it.does, &it.speaks));
        let warnings = plan.warnings.iter().map(|it| (&it.label, &it.says, &it.speaks));
        let one = |(label, says, speaks): (&_, &_, &SpeaksOf)| {
            let mut lines = vec![format!("{says}.").replace("..", ".")];
            lines.push(self.when(&speaks.condition, &speaks.unless));
            lines.extend(self.why(&speaks.why));
            let label: &std::sync::Arc<str> = label;
            self.item(label, lines)
        };
        tasks.chain(warnings).map(one).collect()
    }

    /// Returns what is guaranteed in every situation.
    pub(super) fn promises(&self) -> Vec<Piece> {
        let mut pieces = vec![Piece::Text(self.say("guide.promises.proved", &[]))];
        for promise in &self.plan().promises {
            let whenever = self.words.condition(&promise.whenever, Sense::Asked);
            let mut says = vec![self.say("guide.whenever", &[("when", &whenever)])];
            let never: Vec<String> = promise.never.iter().map(|never| self.never(never)).collect();
            if !never.is_empty() {
                says.push(self.say("guide.never", &[("what", &never.join(", "))]));
            }
            if let Some(only) = &promise.only {
                let only: Vec<String> = only.iter().map(|only| self.only(only)).collect();
                says.push(self.say("guide.only", &[("what", &only.join(", "))]));
            }
            for task in promise.tasks.iter().filter_map(|at| self.plan().tasks.get(*at)) {
                says.push(self.say("guide.always-task", &[("task", &task.label)]));
            }
            pieces.push(self.item(&format!("`{}`", promise.name), says));
        }
        if self.plan().promises.is_empty() { Vec::new() } else { pieces }
    }

    fn when(&self, condition: &Option<Condition>, unless: &Option<Condition>) -> String {
        let said = |condition: &Condition| self.words.condition(condition, Sense::Asked);
        let when = match condition {
            Some(condition) => self.say("guide.when", &[("when", &said(condition))]),
            None => self.say("guide.always", &[]),
        };
        match unless {
            Some(unless) => self.say("guide.unless", &[("when", &when), ("unless", &said(unless))]),
            None => when,
        }
    }

    /// Returns the reason and the sources of an item.
    pub(super) fn why(&self, why: &Why) -> Vec<String> {
        let mut says: Vec<String> =
            why.because.iter().map(|because| self.say("guide.because", &[("because", because)])).collect();
        if !why.cites.is_empty() {
            says.push(self.say("guide.cites", &[("numbers", &self.numbers(&why.cites))]));
        }
        says
    }

    fn ways(&self, ways: &[Way]) -> String {
        self.words.ways(ways)
    }

    fn shut(&self, shut: &Shut) -> String {
        match shut {
            Shut::Spraying => self.say("guide.spraying", &[]),
            Shut::Group(group) => self.say("guide.group", &[("group", group)]),
            Shut::Product(product) => self.words.product(*product),
            Shut::Mix(one, other) => self.words.tank(&[*one, *other]),
        }
    }

    fn never(&self, never: &Never) -> String {
        match never {
            Never::Shut(shut) => self.shut(shut),
            Never::Above(product, strength) => {
                self.say("guide.above", &[("dose", &self.words.dose(*product, *strength))])
            }
        }
    }

    fn only(&self, only: &Only) -> String {
        match only {
            Only::Product(product) => self.words.product(*product),
            Only::Verdict(VerdictWord::Hold) => self.say("dose.hold", &[]),
            Only::Verdict(VerdictWord::Look) => self.say("verdict.look", &[]),
            Only::Verdict(VerdictWord::Undecided) => self.say("verdict.undecided", &[]),
            Only::Verdict(VerdictWord::Uncovered) => self.say("verdict.uncovered", &[]),
        }
    }
}

/// Returns the choices so that each stands before those that it outranks, else in the author's order.
fn in_rank_order(choices: &[Choice]) -> Vec<ChoiceId> {
    let mut left: Vec<usize> = (0..choices.len()).collect();
    let mut order = Vec::new();
    while !left.is_empty() {
        let outranked =
            |at: &usize| left.iter().any(|other| choices[*other].outranks.iter().any(|id| id.index() == *at));
        // In a circle of ranks, which a check refuses, the author's order goes on.
        let next = left.iter().position(|at| !outranked(at)).unwrap_or(0);
        order.push(ChoiceId(left.remove(next) as u32));
    }
    order
}
