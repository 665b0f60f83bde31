//! A worked example that would notice a change, written as an author writes it: of all that it could expect what needs the
//! fewest takes, at the very edge where it can stand there, named for what it is about, and with the rule's own sources.

use super::catcher::conditions;
use super::mutants::{Mutant, MutantSite};
use super::{comes_to, names_to_take};
use crate::measure::{Extent, Possible, Truth};
use crate::plan::{
    Datum, Definitions, Expectation, Expected, GateId, Kind, Name, NameId, Origin, Plan, ProductId, Shut,
    Subject, Take, TakenValue, Test, VerdictWord, Why, Worked, number_in,
};
use crate::prove::findings::Prover;
use crate::prove::space::compute;
use crate::prove::space::roots::names_within;
use crate::prove::space::taken::Taken;
use crate::prove::space::witness::{extent_of, taken_value};
use crate::source::Span;
use crate::syntax::tidy_text;
use crate::trace::Verdict;
use crate::units::clean;
use std::collections::BTreeSet;

/// How many takes a title names at most.
const NAMED: usize = 3;

/// A change in a situation in which it matters.
pub(super) struct Shown<'s, 'p> {
    pub(crate) plan: &'s Plan,
    pub(crate) prover: &'s Prover<'p>,
    pub(crate) mutant: &'s Mutant,
    pub(crate) situation: &'s [u16],
    /// The names that cannot be taken, since the change is in them.
    pub(super) untaken: &'s BTreeSet<NameId>,
}

/// What an example could expect: as it is written, and as a title says it.
struct WantedExample {
    what: Expected,
    written: String,
    said: String,
}

impl Shown<'_, '_> {
    /// Writes the example for a change that turns a verdict.
    pub(super) fn of_verdict(&self) -> Option<String> {
        let everything = self.everything_taken();
        let mut wanted: Vec<WantedExample> = self.grade(&everything).into_iter().chain(self.shut()).collect();
        wanted.extend(self.verdict(&everything));
        self.written(&everything, wanted)
    }

    /// Writes the example in which a task or, numbered after the tasks, a warning goes missing.
    pub(super) fn of_speaking(&self, at: usize) -> Option<String> {
        let plan = self.plan;
        let (what, written, said) = match at.checked_sub(plan.tasks.len()) {
            None => (Expected::Task(at), format!("task {}", plan.tasks[at].name), &plan.tasks[at].label),
            Some(at) => {
                let warning = &plan.warnings[at];
                (Expected::Warning(at), format!("warning {}", warning.name), &warning.label)
            }
        };
        let everything = self.everything_taken();
        let wanted = self.grade(&everything).into_iter().chain([WantedExample {
            what,
            written,
            said: said.to_string(),
        }]);
        self.written(&everything, wanted.collect())
    }

    /// Returns an example that takes all that rules speak of, as it is in the situation.
    fn everything_taken(&self) -> Worked {
        let rules = self.prover.book.rules;
        let names = names_to_take(self.plan, rules, self.untaken);
        let take = |name: NameId| {
            let value = taken_value(&self.prover.space, 0, self.situation, name)?;
            Some(Take { name, value, span: Span::default() })
        };
        Worked { takes: names.into_iter().filter_map(take).collect(), ..Worked::default() }
    }

    /// The grade of a band of which a row is changed, or the value of a measure that is.
    fn grade(&self, everything: &Worked) -> Option<WantedExample> {
        let (name, value) = match self.mutant.site {
            MutantSite::Row(name, _) => (name, taken_value(&self.prover.space, 0, self.situation, name)?),
            MutantSite::Name(name) if !self.plan[name].hidden => {
                let definitions = Definitions::of(self.plan);
                let taken = Taken::of(self.plan, &definitions, everything);
                (name, value_of(compute::of_name(self.plan, name, &taken))?)
            }
            _ => return None,
        };
        let (of, level) = (&self.plan[name], value_words(self.plan, name, &value));
        Some(WantedExample {
            written: format!("{} is {level}", of.word),
            said: format!("{} is {level}", of.label),
            what: Expected::Is(name, value, None),
        })
    }

    /// What a changed gate shuts.
    fn shut(&self) -> Vec<WantedExample> {
        let MutantSite::Gate(at) = self.mutant.site else { return Vec::new() };
        let gate = &self.plan.gates[at];
        let products = self.plan.products.iter().enumerate().filter(|(number, product)| {
            gate.shuts.iter().any(|shut| match shut {
                Shut::Spraying => true,
                Shut::Group(group) => product.groups.contains(group),
                Shut::Product(it) => it.index() == *number,
                Shut::Mix(..) => false,
            })
        });
        products
            .map(|(number, product)| WantedExample {
                what: Expected::ShutBy(ProductId(number as u32), vec![GateId(at as u32)]),
                written: format!("{} shut by {}", product.name, gate.name),
                said: format!("{} is shut", product.label),
            })
            .collect()
    }

    /// The verdict that the takes come to: what the log says is assumed where it cannot be taken, so that it may be
    /// another than in the situation.
    fn verdict(&self, everything: &Worked) -> Option<WantedExample> {
        let verdict = comes_to(self.plan, everything).1?;
        let (what, words) = match &verdict {
            Verdict::Spray(doses) => {
                let words = verdict.words(self.plan);
                (Expected::Spray(doses.clone()), words.trim_start_matches("spray ").to_owned())
            }
            Verdict::Hold | Verdict::AllShut | Verdict::Look => {
                (Expected::Verdict(VerdictWord::Hold), "hold".to_owned())
            }
            Verdict::Undecided => (Expected::Verdict(VerdictWord::Undecided), "undecided".to_owned()),
            Verdict::Uncovered => (Expected::Verdict(VerdictWord::Uncovered), "uncovered".to_owned()),
        };
        Some(WantedExample { what, said: words.clone(), written: words })
    }

    /// Writes the example that needs the fewest takes to notice the change.
    fn written(&self, everything: &Worked, wanted: Vec<WantedExample>) -> Option<String> {
        let changed = self.mutant.applied(self.plan);
        let notices = |worked: &Worked| {
            comes_to(self.plan, worked).0 == Truth::Yes && comes_to(&changed, worked).0 == Truth::No
        };
        let mut best: Option<(Worked, WantedExample)> = None;
        for wanted in wanted {
            let expects = vec![Expectation { what: wanted.what.clone(), span: Span::default() }];
            let worked = Worked { expects, ..everything.clone() };
            if !notices(&worked) {
                continue;
            }
            let worked = shortened(worked, &notices);
            if best.as_ref().is_none_or(|(best, _)| worked.takes.len() < best.takes.len()) {
                best = Some((worked, wanted));
            }
        }
        let (mut worked, wanted) = best?;
        self.put_at_the_edge(&mut worked, &notices);
        Some(self.text(&worked, &wanted))
    }

    /// Returns the names of which the changed item speaks: that of a test that is changed first.
    fn about(&self) -> Vec<NameId> {
        if let MutantSite::Name(name) = self.mutant.site {
            return names_within(self.plan, name).into_iter().collect();
        }
        let (condition, unless) = conditions(self.plan, self.mutant.site);
        let is_changed = |test: &Test| {
            let at = self.mutant.at;
            test.span.start <= at.start && at.end <= test.span.end
        };
        let mut names: Vec<(bool, NameId)> = Vec::new();
        for condition in condition.into_iter().chain(unless) {
            condition.each_test(&mut |test| {
                if let Subject::Name(name) = test.subject {
                    names.push((!is_changed(test), name));
                }
            });
        }
        names.sort_by_key(|(other, _)| *other);
        names.into_iter().map(|(_, name)| name).collect()
    }

    /// Puts numbers where a person would look: those of which the changed item speaks at an end of the range in which
    /// they notice the change, others at a shorter number beside them.
    fn put_at_the_edge(&self, worked: &mut Worked, notices: &dyn Fn(&Worked) -> bool) {
        let about = self.about();
        for at in 0..worked.takes.len() {
            let name = worked.takes[at].name;
            let of = &self.plan[name];
            let TakenValue::One(Datum::Number(number)) = worked.takes[at].value else { continue };
            if of.kind == Kind::Date || of.kind == Kind::Clock {
                continue;
            }
            let mut tried = Vec::new();
            if about.contains(&name) {
                let ends = extent_of(&self.prover.space, 0, self.situation, name);
                let ends = ends.and_then(|(extent, _)| extent.ends());
                tried
                    .extend(ends.into_iter().flat_map(|(low, high)| [low, high]).filter(|it| it.is_finite()));
            }
            let shown = in_unit(of, number);
            for step in [1.0, 0.1, 0.01] {
                let beside = [libm::floor(shown / step), libm::ceil(shown / step)];
                tried.extend(beside.map(|count| from_unit(of, clean(count * step))));
            }
            let length = |number: f64| number_in(of.kind, &of.unit, number).len();
            for other in tried.into_iter().filter(|it| length(*it) <= length(number)) {
                let before =
                    std::mem::replace(&mut worked.takes[at].value, TakenValue::One(Datum::Number(other)));
                if notices(worked) {
                    break;
                }
                worked.takes[at].value = before;
            }
        }
    }

    fn text(&self, worked: &Worked, wanted: &WantedExample) -> String {
        let plan = self.plan;
        let mut about = self.about();
        let mut seen = BTreeSet::new();
        about.retain(|name| seen.insert(*name));
        let taken = about.iter().filter_map(|name| worked.takes.iter().find(|take| take.name == *name));
        let said = taken.take(NAMED).map(|take| {
            let of = &plan[take.name];
            match &take.value {
                TakenValue::One(Datum::Word(1)) if of.kind == Kind::YesNo => of.label.to_string(),
                value => format!("{} {}", of.label, value_words(plan, take.name, value)),
            }
        });
        let mut said = said.collect::<Vec<_>>().join(", ");
        if said.is_empty() {
            said.clone_from(&self.mutant.item);
        }
        let title = format!("{said}: {}", wanted.said).replace(['"', '\\'], "");
        let mut text = format!("worked \"{title}\"\n");
        let cites = self.cites();
        if !cites.is_empty() {
            text += &format!("  cites {}\n", cites.join(", "));
        }
        let takes = worked
            .takes
            .iter()
            .map(|take| format!("{} {}", plan[take.name].word, value_words(plan, take.name, &take.value)));
        if !worked.takes.is_empty() {
            text += &format!("  take {}\n", takes.collect::<Vec<_>>().join(", "));
        }
        text += &format!("  expect {}\n", wanted.written);
        tidy_text(&text, Span::default().source).unwrap_or(text)
    }

    /// Returns the keys of the sources of the changed item.
    fn cites(&self) -> Vec<&str> {
        let plan = self.plan;
        let why = match self.mutant.site {
            MutantSite::Gate(at) => &plan.gates[at].why,
            MutantSite::Choice(at) => &plan.choices[at].why,
            MutantSite::Task(at) => &plan.tasks[at].speaks.why,
            MutantSite::Warning(at) => &plan.warnings[at].speaks.why,
            MutantSite::Name(name) => &plan[name].why,
            MutantSite::Hourly(id) => &plan[id].why,
            MutantSite::Daily(id) => &plan[id].why,
            MutantSite::TableRow(id, _) => &plan[id].why,
            MutantSite::Row(name, at) => match &plan[name].origin {
                Origin::Band(band) => match band.rows.get(at) {
                    Some(row) if !row.why.cites.is_empty() => &row.why,
                    Some(_) | None => &plan[name].why,
                },
                _ => &plan[name].why,
            },
        };
        cited(why)
    }
}

/// Returns the keys of sources; what is still to be found is not said again where another is named.
pub(crate) fn cited(why: &Why) -> Vec<&str> {
    let mut keys: Vec<&str> = why.cites.iter().map(|cite| &*cite.key).collect();
    if keys.len() > 1 {
        keys.retain(|key| *key != "to-be-sourced");
    }
    keys
}

/// Returns what is taken of an extent that is settled.
fn value_of(extent: Extent) -> Option<TakenValue> {
    match extent.can_be {
        Possible::Nothing => Some(TakenValue::Empty),
        Possible::Numbers(low, high) if low == high => Some(TakenValue::One(Datum::Number(low))),
        Possible::Words(set) if set.is_power_of_two() => {
            Some(TakenValue::One(Datum::Word(set.trailing_zeros() as u16)))
        }
        _ => None,
    }
    .filter(|_| extent.is_settled())
}

/// Leaves out takes without which an example notices as well: halves first, then one by one.
fn shortened(mut worked: Worked, notices: &dyn Fn(&Worked) -> bool) -> Worked {
    let mut size = worked.takes.len().div_ceil(2);
    while size > 0 {
        let mut at = 0;
        while at < worked.takes.len() {
            let mut fewer = worked.clone();
            fewer.takes.drain(at..(at + size).min(worked.takes.len()));
            if notices(&fewer) {
                worked = fewer;
            } else {
                at += size;
            }
        }
        size = if size == 1 { 0 } else { size.div_ceil(2) };
    }
    worked
}

/// Returns a number of base units as it is written.
fn in_unit(of: &Name, base: f64) -> f64 {
    let temperature = of.kind == Kind::Temperature;
    clean(if temperature { of.unit.point_from_base(base) } else { of.unit.amount_from_base(base) })
}

/// Returns a number as it is written in base units.
fn from_unit(of: &Name, number: f64) -> f64 {
    let temperature = of.kind == Kind::Temperature;
    if temperature { of.unit.point_to_base(number) } else { of.unit.amount_to_base(number) }
}

fn value_words(plan: &Plan, name: NameId, value: &TakenValue) -> String {
    let of = &plan[name];
    match value {
        TakenValue::One(datum) => plan.datum_in(of.kind, &of.unit, *datum),
        TakenValue::Empty => "empty".to_owned(),
        TakenValue::Unknown | TakenValue::FromTo(..) => "unknown".to_owned(),
    }
}
