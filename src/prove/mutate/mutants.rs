//! Small changes of a rulebook: each threshold moved by one step, each `and`, `or` and `unless` turned, each row dropped.

use super::changes::{SmallChange, of_condition};
use super::defined;
use crate::plan::{
    Condition, DailyId, HourlyId, Measure, NameId, Origin, Plan, TableId, Tally, Warning, Yields,
};
use crate::source::Span;

/// A rulebook with one small change.
#[derive(Clone, Debug)]
pub struct Mutant {
    /// The item that is changed: `gate copper-on-open-bloom`, `row severe of mildew-weather`, `measure open-bloom`.
    pub item: String,
    /// Where the change is.
    pub at: Span,
    /// The change in words: "`5` for `6`", "`or` for `and`", "dropped".
    pub change: String,
    /// What must be met for it to tell: "humidity is between 94 % and 95 %, or on one of them".
    pub tells: String,
    /// Whether it is a change of what is counted over hours or days: only examples with hours can tell.
    pub of_hours: bool,
    pub(crate) site: MutantSite,
    pub(crate) becomes: Becomes,
}

/// Which item is changed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum MutantSite {
    Gate(usize),
    Choice(usize),
    Row(NameId, usize),
    Task(usize),
    Warning(usize),
    /// A measure or a tally.
    Name(NameId),
    Hourly(HourlyId),
    Daily(DailyId),
    TableRow(TableId, usize),
}

impl MutantSite {
    /// Returns whether it is the definition of a value, on which rules hang.
    pub(super) fn is_definition(self) -> bool {
        matches!(
            self,
            MutantSite::Name(_) | MutantSite::Hourly(_) | MutantSite::Daily(_) | MutantSite::TableRow(..)
        )
    }
}

/// What becomes of an item.
#[derive(Clone, Debug)]
pub(crate) enum Becomes {
    Dropped,
    When(MutantCondition),
    Measure(Measure),
    Tally(Tally),
    /// An `hourly` or a `daily`, and when it is valid.
    Series(Yields, Option<Condition>),
}

/// When an item holds after the change.
#[derive(Clone, Debug)]
pub(crate) struct MutantCondition {
    pub(crate) condition: Option<Condition>,
    pub(crate) unless: Option<Condition>,
}

impl Mutant {
    /// Returns when the item holds after the change; nothing where it is dropped or no rule.
    pub(crate) fn when(&self) -> Option<&MutantCondition> {
        if let Becomes::When(when) = &self.becomes { Some(when) } else { None }
    }

    /// Returns the rulebook with the change.
    pub(super) fn applied(&self, plan: &Plan) -> Plan {
        let mut plan = plan.clone();
        let (condition, unless) = match self.site {
            MutantSite::Gate(at) => {
                let gate = &mut plan.gates[at];
                (&mut gate.condition, &mut gate.unless)
            }
            MutantSite::Choice(at) => {
                let choice = &mut plan.choices[at];
                (&mut choice.condition, &mut choice.unless)
            }
            MutantSite::Task(at) => {
                let speaks = &mut plan.tasks[at].speaks;
                (&mut speaks.condition, &mut speaks.unless)
            }
            MutantSite::Warning(at) => {
                let speaks = &mut plan.warnings[at].speaks;
                (&mut speaks.condition, &mut speaks.unless)
            }
            MutantSite::Row(name, at) => {
                if let Origin::Band(band) = &mut plan.names[name.index()].origin {
                    match self.when().and_then(|when| when.condition.as_ref()) {
                        Some(condition) => band.rows[at].condition.clone_from(condition),
                        None => drop(band.rows.remove(at)),
                    }
                }
                return plan;
            }
            MutantSite::Name(_) | MutantSite::Hourly(_) | MutantSite::Daily(_) | MutantSite::TableRow(..) => {
                defined::apply(self, &mut plan);
                return plan;
            }
        };
        if let Becomes::When(when) = &self.becomes {
            condition.clone_from(&when.condition);
            unless.clone_from(&when.unless);
        }
        plan
    }
}

/// Returns all small changes of a rulebook's gates, choices, bands, tasks, warnings, and of the definitions of what they
/// compare. Label lines and the hours of gates are left out: no situation tells of them.
pub fn mutants(plan: &Plan) -> Vec<Mutant> {
    let mut all = Vec::new();
    for (at, gate) in plan.gates.iter().enumerate() {
        if gate.line.is_none() && gate.hours.is_none() {
            let of = MutantOf {
                plan,
                item: format!("gate {}", gate.name),
                site: MutantSite::Gate(at),
                span: gate.span,
            };
            of.add(gate.condition.as_ref(), gate.unless.as_ref(), &mut all);
        }
    }
    for (at, choice) in plan.choices.iter().enumerate() {
        let of = MutantOf {
            plan,
            item: format!("choice {}", choice.name),
            site: MutantSite::Choice(at),
            span: choice.span,
        };
        of.add(choice.condition.as_ref(), choice.unless.as_ref(), &mut all);
    }
    for (id, name) in plan.named() {
        let Origin::Band(band) = &name.origin else { continue };
        for (at, row) in band.rows.iter().enumerate() {
            let caps = if row.caps { "at most " } else { "" };
            let item = format!("row {caps}{} of {}", plan.word_of(id, row.level), name.word);
            let of = MutantOf { plan, item, site: MutantSite::Row(id, at), span: row.span };
            of.add(Some(&row.condition), None, &mut all);
            all.push(of.mutant(&of.whole("dropped"), false, Becomes::Dropped));
        }
    }
    for (at, task) in plan.tasks.iter().enumerate() {
        let item = format!("task {}", task.name);
        let of = MutantOf { plan, item, site: MutantSite::Task(at), span: task.speaks.span };
        of.add(task.speaks.condition.as_ref(), task.speaks.unless.as_ref(), &mut all);
    }
    for (at, warning) in plan.warnings.iter().enumerate() {
        let Warning { name, speaks, .. } = warning;
        let of = MutantOf {
            plan,
            item: format!("warning {name}"),
            site: MutantSite::Warning(at),
            span: speaks.span,
        };
        of.add(speaks.condition.as_ref(), speaks.unless.as_ref(), &mut all);
    }
    defined::add(plan, &mut all);
    all.retain(|mutant| !defined::is_of_log(plan, mutant));
    all
}

/// Returns how many small changes are not tried, since no worked example can tell of them: those of the hours of gates and
/// preferences, and those of what the log of sprays says: label lines, and sprays of a day.
pub fn untried(plan: &Plan) -> (usize, usize) {
    let count = |condition: &Condition| of_condition(plan, condition, Span::default()).len();
    let of_gates = plan.gates.iter().filter_map(|gate| gate.hours.as_ref());
    let hours: usize = of_gates.chain(plan.prefers.iter().map(|prefer| &prefer.hours)).map(count).sum();
    let beside = plan.gates.iter().filter(|gate| gate.line.is_some() || gate.hours.is_some());
    let (labels, rules): (Vec<_>, Vec<_>) = beside.partition(|gate| gate.line.is_some());
    let of = |gates: Vec<&crate::plan::Gate>| -> usize {
        gates.iter().flat_map(|gate| gate.condition.iter().chain(&gate.unless)).map(count).sum()
    };
    let mut definitions = Vec::new();
    defined::add(plan, &mut definitions);
    let of_log = definitions.iter().filter(|mutant| defined::is_of_log(plan, mutant)).count();
    (hours + of(rules), of(labels) + of_log)
}

/// An item, or a definition, of which changes are made.
pub(crate) struct MutantOf<'p> {
    pub(crate) plan: &'p Plan,
    pub(crate) item: String,
    pub(crate) site: MutantSite,
    pub(crate) span: Span,
}

impl MutantOf<'_> {
    /// Returns a change of it, and what it becomes.
    pub(crate) fn mutant<T>(&self, change: &SmallChange<T>, of_hours: bool, becomes: Becomes) -> Mutant {
        Mutant {
            item: self.item.clone(),
            at: change.at,
            change: change.words.clone(),
            tells: change.tells.clone(),
            of_hours,
            site: self.site,
            becomes,
        }
    }

    fn add(&self, condition: Option<&Condition>, unless: Option<&Condition>, all: &mut Vec<Mutant>) {
        let changes =
            |of: Option<&Condition>| of.map(|it| of_condition(self.plan, it, self.span)).unwrap_or_default();
        for change in changes(condition) {
            let when = MutantCondition { condition: Some(change.becomes.clone()), unless: unless.cloned() };
            all.push(self.mutant(&change, false, Becomes::When(when)));
        }
        for change in changes(unless) {
            let when =
                MutantCondition { condition: condition.cloned(), unless: Some(change.becomes.clone()) };
            all.push(self.mutant(&change, false, Becomes::When(when)));
        }
        if let Some(unless) = unless {
            let parts = condition.into_iter().chain([unless]).cloned().collect();
            let when = MutantCondition { condition: Some(Condition::All(parts)), unless: None };
            all.push(self.mutant(&self.whole("`and` for `unless`"), false, Becomes::When(when)));
        }
    }

    /// Returns a change of the whole item.
    fn whole(&self, words: &str) -> SmallChange<()> {
        SmallChange { becomes: (), at: self.span, words: words.to_owned(), tells: String::new() }
    }
}
