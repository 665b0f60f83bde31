//! Small changes of a rulebook: each threshold moved by one step, each `and`, `or` and `unless` turned, each row dropped.

use crate::plan::{Bound, Compare, Condition, Kind, NameId, Origin, Plan, Subject, Test, Warning, number_in};
use crate::source::Span;
use crate::units::clean;

/// A rulebook with one small change.
#[derive(Clone, Debug)]
pub struct Mutant {
    /// The item that is changed: `gate copper-on-open-bloom`, `row severe of mildew-weather`.
    pub item: String,
    /// Where the change is.
    pub at: Span,
    /// The change in words: "`5` is `6`", "`or` for `and`", "dropped".
    pub change: String,
    pub(super) site: Site,
    /// Nothing: it is dropped.
    pub(super) becomes: Option<When>,
}

/// Which item is changed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Site {
    Gate(usize),
    Choice(usize),
    Row(NameId, usize),
    Task(usize),
    Warning(usize),
}

/// When an item holds after the change.
#[derive(Clone, Debug)]
pub(super) struct When {
    pub(super) condition: Option<Condition>,
    pub(super) unless: Option<Condition>,
}

impl Mutant {
    /// Returns the rulebook with the change.
    pub(super) fn applied(&self, plan: &Plan) -> Plan {
        let mut plan = plan.clone();
        let (condition, unless) = match self.site {
            Site::Gate(at) => {
                let gate = &mut plan.gates[at];
                (&mut gate.condition, &mut gate.unless)
            }
            Site::Choice(at) => {
                let choice = &mut plan.choices[at];
                (&mut choice.condition, &mut choice.unless)
            }
            Site::Task(at) => {
                let speaks = &mut plan.tasks[at].speaks;
                (&mut speaks.condition, &mut speaks.unless)
            }
            Site::Warning(at) => {
                let speaks = &mut plan.warnings[at].speaks;
                (&mut speaks.condition, &mut speaks.unless)
            }
            Site::Row(name, at) => {
                if let Origin::Band(band) = &mut plan.names[name.index()].origin {
                    match self.becomes.as_ref().and_then(|when| when.condition.as_ref()) {
                        Some(condition) => band.rows[at].condition.clone_from(condition),
                        None => drop(band.rows.remove(at)),
                    }
                }
                return plan;
            }
        };
        if let Some(when) = &self.becomes {
            condition.clone_from(&when.condition);
            unless.clone_from(&when.unless);
        }
        plan
    }
}

/// Returns all small changes of a rulebook's gates of today, choices, bands, tasks and warnings. Label lines and gates of
/// hours are left out: no situation tells of them.
pub fn mutants(plan: &Plan) -> Vec<Mutant> {
    let mut all = Vec::new();
    for (at, gate) in plan.gates.iter().enumerate() {
        if gate.line.is_none() && gate.hours.is_none() {
            let of = Of { plan, item: format!("gate {}", gate.name), site: Site::Gate(at), span: gate.span };
            of.add(gate.condition.as_ref(), gate.unless.as_ref(), &mut all);
        }
    }
    for (at, choice) in plan.choices.iter().enumerate() {
        let of =
            Of { plan, item: format!("choice {}", choice.name), site: Site::Choice(at), span: choice.span };
        of.add(choice.condition.as_ref(), choice.unless.as_ref(), &mut all);
    }
    for (id, name) in plan.named() {
        let Origin::Band(band) = &name.origin else { continue };
        for (at, row) in band.rows.iter().enumerate() {
            let caps = if row.caps { "at most " } else { "" };
            let item = format!("row {caps}{} of {}", plan.word_of(id, row.level), name.word);
            let of = Of { plan, item, site: Site::Row(id, at), span: row.span };
            of.add(Some(&row.condition), None, &mut all);
            all.push(of.mutant(row.span, "dropped".to_owned(), None));
        }
    }
    for (at, task) in plan.tasks.iter().enumerate() {
        let item = format!("task {}", task.name);
        let of = Of { plan, item, site: Site::Task(at), span: task.speaks.span };
        of.add(task.speaks.condition.as_ref(), task.speaks.unless.as_ref(), &mut all);
    }
    for (at, warning) in plan.warnings.iter().enumerate() {
        let Warning { name, speaks, .. } = warning;
        let of = Of { plan, item: format!("warning {name}"), site: Site::Warning(at), span: speaks.span };
        of.add(speaks.condition.as_ref(), speaks.unless.as_ref(), &mut all);
    }
    all
}

struct Of<'p> {
    plan: &'p Plan,
    item: String,
    site: Site,
    span: Span,
}

impl Of<'_> {
    fn mutant(&self, at: Span, change: String, becomes: Option<When>) -> Mutant {
        Mutant { item: self.item.clone(), at, change, site: self.site, becomes }
    }

    fn add(&self, condition: Option<&Condition>, unless: Option<&Condition>, all: &mut Vec<Mutant>) {
        for (changed, at, change) in condition.map(|it| self.changed(it)).unwrap_or_default() {
            let when = When { condition: Some(changed), unless: unless.cloned() };
            all.push(self.mutant(at, change, Some(when)));
        }
        for (changed, at, change) in unless.map(|it| self.changed(it)).unwrap_or_default() {
            let when = When { condition: condition.cloned(), unless: Some(changed) };
            all.push(self.mutant(at, change, Some(when)));
        }
        if let Some(unless) = unless {
            let parts = condition.into_iter().chain([unless]).cloned().collect();
            let when = When { condition: Some(Condition::All(parts)), unless: None };
            all.push(self.mutant(self.span, "`and` for `unless`".to_owned(), Some(when)));
        }
    }

    /// Returns a condition with each of its small changes, where each is, and in words.
    fn changed(&self, condition: &Condition) -> Vec<(Condition, Span, String)> {
        match condition {
            Condition::Test(test) => self.changed_test(test),
            Condition::Not(inner) => self
                .changed(inner)
                .into_iter()
                .map(|(it, at, change)| (Condition::Not(Box::new(it)), at, change))
                .collect(),
            Condition::All(parts) | Condition::Any(parts) => {
                let all = matches!(condition, Condition::All(_));
                let again = |parts: Vec<Condition>, all: bool| {
                    if all { Condition::All(parts) } else { Condition::Any(parts) }
                };
                let mut found = Vec::new();
                for (place, part) in parts.iter().enumerate() {
                    for (changed, at, change) in self.changed(part) {
                        let mut parts = parts.clone();
                        parts[place] = changed;
                        found.push((again(parts, all), at, change));
                    }
                }
                if parts.len() > 1 {
                    let words = if all { "`or` for `and`" } else { "`and` for `or`" };
                    found.push((again(parts.clone(), !all), self.span, words.to_owned()));
                }
                found
            }
        }
    }

    fn changed_test(&self, test: &Test) -> Vec<(Condition, Span, String)> {
        let Subject::Name(name) = test.subject else { return Vec::new() };
        let with = |compare: Compare| Condition::Test(Test { compare, ..test.clone() });
        self.changed_compare(name, &test.compare, test.span)
            .into_iter()
            .map(|(compare, at, change)| (with(compare), at, change))
            .collect()
    }

    fn changed_compare(&self, name: NameId, compare: &Compare, span: Span) -> Vec<(Compare, Span, String)> {
        let kind = self.plan[name].kind;
        let mut found = Vec::new();
        match compare {
            Compare::Numbers { low, high } => {
                for (bound, is_low) in
                    low.iter().map(|it| (it, true)).chain(high.iter().map(|it| (it, false)))
                {
                    for up in [true, false] {
                        let moved = moved(kind, bound, up);
                        let words = |at: f64| number_in(kind, &bound.unit, at);
                        let change = format!("`{}` for `{}`", words(moved.value), words(bound.value));
                        let compare = if is_low {
                            Compare::Numbers { low: Some(moved), high: high.clone() }
                        } else {
                            Compare::Numbers { low: low.clone(), high: Some(moved) }
                        };
                        if !is_reversed(&compare) {
                            found.push((compare, bound.span, change));
                        }
                    }
                }
            }
            Compare::Words(set) if matches!(kind, Kind::Words(list) if self.plan[list].ordered) => {
                let Kind::Words(list) = kind else { return found };
                let count = self.plan[list].words.len() as u32;
                let (low, high) = (set.trailing_zeros(), 63 - set.leading_zeros().min(63));
                let word = |place: u32| self.plan.word_of(name, place as u16).to_owned();
                let mut add = |place: u32, words: &str| {
                    let turned = set ^ (1 << place);
                    if turned != 0 && turned.count_ones() < count {
                        found.push((Compare::Words(turned), span, format!("{words} `{}`", word(place))));
                    }
                };
                if low > 0 {
                    add(low - 1, "with");
                }
                if high + 1 < count {
                    add(high + 1, "with");
                }
                if low < high {
                    add(low, "without");
                    add(high, "without");
                }
            }
            Compare::Not(inner) => {
                for (compare, at, change) in self.changed_compare(name, inner, span) {
                    found.push((Compare::Not(Box::new(compare)), at, change));
                }
            }
            Compare::Words(_)
            | Compare::NumberIsOneOf(_)
            | Compare::Texts(_)
            | Compare::DaysOfYear(..)
            | Compare::Name(..) => {}
        }
        found
    }
}

fn is_reversed(compare: &Compare) -> bool {
    matches!(compare, Compare::Numbers { low: Some(low), high: Some(high) } if low.value > high.value)
}

/// Moves a threshold by one in its last written place; a day or a count by one, a time of day by a minute.
fn moved(kind: Kind, bound: &Bound, up: bool) -> Bound {
    let sign = if up { 1.0 } else { -1.0 };
    let value = match kind {
        Kind::Date | Kind::Count => bound.value + sign,
        Kind::Clock => bound.value + sign / 60.0,
        Kind::Temperature => {
            let number = clean(bound.unit.point_from_base(bound.value));
            bound.unit.point_to_base(clean(number + sign * step(number)))
        }
        _ => {
            let number = clean(bound.unit.amount_from_base(bound.value));
            bound.unit.amount_to_base(clean(number + sign * step(number)))
        }
    };
    Bound { value, figure: None, ..bound.clone() }
}

/// Returns one in the last place of a number.
fn step(number: f64) -> f64 {
    let written = number.to_string();
    let places = written.split_once('.').map_or(0, |(_, places)| places.len());
    libm::pow(10.0, -(places.min(9) as f64))
}
