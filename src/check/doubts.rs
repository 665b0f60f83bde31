//! What is doubtful in a text without errors: items without a source, names that nothing uses, gates that leave today
//! out, choices that advise a weak product. Assumptions that could open a gate are in `assumptions`.
//!
//! Comes in: the items of a book and the plan made of them. Goes out: warnings.

use super::Checker;
use super::catalogue::{NameMeaning, called};
use super::clauses::named;
use super::overlay::{MergedItem, called_at};
use super::walk::{self, WalkedPiece};
use crate::plan::{Choice, Gate, Goodness, ItemKind, NameId, Subject, Way, Window};
use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::syntax::tree::{Cite, Clause, Item};
use rustc_hash::FxHashMap;

impl<'a> Checker<'a> {
    /// Reports what is doubtful. All that is computed comes in an order in which each stands after what it is made
    /// from.
    pub(super) fn doubts(&mut self, entries: &[MergedItem<'a>], order: &[Subject]) {
        for entry in entries {
            self.uncited(entry.item);
            self.owes_a_source(entry.item);
            self.unused(entry.item);
        }
        self.weak_choices(entries);
        self.today_left_out(entries, order);
        self.risky_assumptions(order);
    }

    fn uncited(&mut self, item: &'a Item<'a>) {
        let owes = matches!(
            item.kind,
            ItemKind::Gate
                | ItemKind::Choice
                | ItemKind::Band
                | ItemKind::Table
                | ItemKind::Tally
                | ItemKind::Product
                | ItemKind::Task
                | ItemKind::Warning
                | ItemKind::Prefer
        );
        let cites = item.clauses.iter().any(|clause| matches!(clause.value, Clause::Cites(_)));
        let mut rows = item.clauses.iter().filter_map(|clause| match &clause.value {
            Clause::BandRow(row) => Some(!row.cites.is_empty()),
            _ => None,
        });
        let rows_cite = rows.next().is_some_and(|first| first && rows.all(|row| row));
        if owes && !cites && !rows_cite {
            let message = format!("{} cites no source", named(item));
            self.problems.push(Problem::new(Finding::Uncited, called_at(item), message).help(
                "add a line: `cites KEY \"where\"`, `cites common-practice` for a fact of the trade, or `cites \
                 to-be-sourced`",
            ));
        }
    }

    fn owes_a_source(&mut self, item: &'a Item<'a>) {
        let mut found: Vec<Span> = Vec::new();
        let mut look = |cites: &[Cite<'_>]| {
            found.extend(
                cites.iter().filter(|cite| cite.key.value == "to-be-sourced").map(|cite| cite.key.span),
            );
        };
        for clause in &item.clauses {
            match &clause.value {
                Clause::Cites(cites) => look(cites),
                Clause::BandRow(row) => look(&row.cites),
                _ => {}
            }
        }
        for at in found {
            let message = format!("the source of {} is still to be found", named(item));
            self.problems.push(
                Problem::new(Finding::ToBeSourced, at, message)
                    .help("find who says so, and cite it: `source KEY \"…\"` and `cites KEY`"),
            );
        }
    }

    fn unused(&mut self, item: &'a Item<'a>) {
        let meant_for_use = matches!(
            item.kind,
            ItemKind::Figure
                | ItemKind::Source
                | ItemKind::Disease
                | ItemKind::Scale
                | ItemKind::Observe
                | ItemKind::Hourly
                | ItemKind::Daily
                | ItemKind::Measure
                | ItemKind::Table
                | ItemKind::Tally
                | ItemKind::Band
                | ItemKind::Product
                | ItemKind::Setting
        );
        let Some(name) = item.name.filter(|_| meant_for_use) else { return };
        let stands_for = match self.catalogue.peek(name.value) {
            Some(NameMeaning::Name(id)) => self.met_hidden.contains(&id),
            Some(_) | None => false,
        };
        if stands_for || self.catalogue.is_used(item.kind, name.value) {
            return;
        }
        let what = called(item.kind).trim_start_matches("an ").trim_start_matches("a ");
        let verb = if item.kind == ItemKind::Source { "cites" } else { "uses" };
        let message = format!("nothing {verb} the {what} `{}`", name.value);
        self.problems.push(
            Problem::new(Finding::Unused, called_at(item), message)
                .help("leave it out, or look for the rule that was meant to use it"),
        );
    }

    /// Reports choices against a disease whose product is slight on it, or says nothing of it.
    fn weak_choices(&mut self, entries: &[MergedItem<'a>]) {
        let items =
            entries.iter().filter(|entry| entry.item.kind == ItemKind::Choice).map(|entry| entry.item);
        let mut found = Vec::new();
        for (choice, item) in self.plan.choices.iter().zip(items) {
            let spans = way_spans(item);
            for (at, way) in choice.ways.iter().enumerate() {
                let span = spans.get(at).copied().unwrap_or_else(|| called_at(item));
                found.extend(self.weak_way(choice, way, span));
            }
        }
        found.into_iter().for_each(|problem| self.problems.push(problem));
    }

    fn weak_way(&self, choice: &Choice, way: &Way, at: Span) -> Vec<Problem> {
        let Way::Spray(doses) = way else { return Vec::new() };
        let mut found = Vec::new();
        for disease in &choice.aims {
            let best = doses
                .iter()
                .filter_map(|(product, _)| self.plan.products.get(product.index()))
                .flat_map(|product| &product.against)
                .filter(|(known, _)| known == disease)
                .map(|(_, goodness)| *goodness)
                .max();
            let says = match best {
                Some(Goodness::Good | Goodness::Moderate) => continue,
                Some(Goodness::Slight) => "works but slightly on it",
                None => "does not list it",
            };
            let Some((product, _)) = doses.first() else { continue };
            let Some(product) = self.plan.products.get(product.index()) else { continue };
            let disease = self.plan.diseases.get(disease.index()).map_or("", |disease| &disease.name);
            let message =
                format!("choice `{}` is against `{disease}`, and `{}` {says}", choice.name, product.name);
            found.push(
                Problem::new(Finding::WeakChoice, at, message)
                    .related(product.span, format!("`{}` is defined here", product.name))
                    .help(format!(
                        "advise a product that is good against `{disease}`, or say here what it is against"
                    )),
            );
        }
        found
    }

    /// Reports gates that look at the next days and not at today.
    fn today_left_out(&mut self, entries: &[MergedItem<'a>], order: &[Subject]) {
        let mut ahead: FxHashMap<Subject, Ahead> = FxHashMap::default();
        for subject in order {
            let mut looks = Ahead::default();
            walk::of_subject(&self.plan, *subject, &mut |met| match met {
                WalkedPiece::Subject(other) => looks.join(ahead.get(&other)),
                WalkedPiece::Window(Window::NextDays(_)) => {
                    if let Subject::Name(id) = subject {
                        looks.days = looks.days.or(Some(*id));
                    }
                }
                WalkedPiece::Window(
                    Window::Today
                    | Window::LastDaysAndToday(_)
                    | Window::TodayAndNextDays(_)
                    | Window::NextHours(_)
                    | Window::Tonight
                    | Window::NextNights(_),
                ) => looks.today = true,
                WalkedPiece::Window(_) => {}
            });
            ahead.insert(*subject, looks);
        }
        let items = entries.iter().filter(|entry| entry.item.kind == ItemKind::Gate).map(|entry| entry.item);
        let mut found = Vec::new();
        for (gate, item) in self.plan.gates.iter().zip(items) {
            let mut looks = Ahead::default();
            each_of_gate(gate, &mut |subject| looks.join(ahead.get(&subject)));
            let Some(name) = looks.days.filter(|_| !looks.today) else { continue };
            let name = &self.plan[name];
            let message = format!("{} looks at the next days and leaves today out", named(item));
            found.push(
                Problem::new(Finding::TodayLeftOut, called_at(item), message)
                    .related(name.span, format!("`{}` begins tomorrow", name.word))
                    .help("write `today and next 2 days` where today counts too"),
            );
        }
        found.into_iter().for_each(|problem| self.problems.push(problem));
    }
}

/// At which days ahead something looks.
#[derive(Clone, Copy, Default)]
struct Ahead {
    /// The name that looks at the days after today.
    days: Option<NameId>,
    /// Whether it looks at today too.
    today: bool,
}

impl Ahead {
    fn join(&mut self, other: Option<&Ahead>) {
        if let Some(other) = other {
            self.days = self.days.or(other.days);
            self.today |= other.today;
        }
    }
}

/// Calls a function with every name that the conditions of a gate speak of.
fn each_of_gate(gate: &Gate, visit: &mut dyn FnMut(Subject)) {
    for condition in [&gate.condition, &gate.unless].into_iter().flatten() {
        walk::condition(condition, &mut |met| {
            if let WalkedPiece::Subject(subject) = met {
                visit(subject);
            }
        });
    }
}

/// Returns where the alternatives of a choice stand, in their order.
fn way_spans(item: &Item<'_>) -> Vec<Span> {
    let of = |advised: bool| {
        item.clauses.iter().filter_map(move |clause| match &clause.value {
            Clause::Advise(_) if advised => Some(clause.span),
            Clause::OrElse(_) if !advised => Some(clause.span),
            _ => None,
        })
    };
    of(true).chain(of(false)).collect()
}
