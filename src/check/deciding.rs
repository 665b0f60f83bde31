//! Gates, preferred hours, choices, tasks and warnings.
//!
//! Comes in: such items, when all names and products are known. Goes out: the plan's rules.

use super::Checker;
use super::conditions::{Scene, Speaks};
use super::definitions::label;
use super::order;
use crate::plan::{
    Choice, ChoiceId, Condition, DiseaseId, Gate, ItemKind, Place, Prefer, ProductId, Shut, SpeaksOf, Task,
    Warning, Way,
};
use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::syntax::tree::{self, Clause, Item, Name, Spanned};

/// What an item says about when it speaks.
struct ItemCondition {
    condition: Option<Condition>,
    unless: Option<Condition>,
    /// The narrowest part of the grove that it speaks of, and where it does so.
    reach: (Place, Span),
}

impl<'a> Checker<'a> {
    fn when(&mut self, item: &'a Item<'a>) -> ItemCondition {
        let mut when = ItemCondition { condition: None, unless: None, reach: (Place::Grove, item.span) };
        for clause in &item.clauses {
            let (written, unless) = match &clause.value {
                Clause::If(condition) => (condition, false),
                Clause::Unless(condition) => (condition, true),
                _ => continue,
            };
            let mut scene = Scene::of(Speaks::Tree);
            let condition = self.condition(written, &mut scene);
            if scene.place > when.reach.0 {
                when.reach = (scene.place, written.span());
            }
            if unless {
                when.unless = condition;
            } else {
                when.condition = condition;
            }
        }
        when
    }

    fn hours_when(&mut self, item: &'a Item<'a>) -> Option<Condition> {
        item.clauses.iter().find_map(|clause| match &clause.value {
            Clause::InHours(condition) => self.condition(condition, &mut Scene::of(Speaks::Hour)),
            _ => None,
        })
    }

    /// Checks a gate. It is listed in any case.
    pub(super) fn gate(&mut self, item: &'a Item<'a>) {
        let (why, when, hours) = (self.why(item), self.when(item), self.hours_when(item));
        let (mut shuts, mut holds) = (Vec::new(), Vec::new());
        for clause in &item.clauses {
            match &clause.value {
                Clause::Shuts(list) => shuts.extend(list.iter().filter_map(|shut| self.shut(shut))),
                Clause::HoldsTo(product, strength) => {
                    holds.extend(self.dose(product, strength));
                }
                _ => {}
            }
        }
        self.holds_no_hours(item);
        self.plan.gates.push(Gate {
            name: item.name.map_or("", |name| name.value).into(),
            label: label(item).into(),
            shuts,
            holds,
            fits: None,
            hours,
            condition: when.condition,
            unless: when.unless,
            line: None,
            why,
            span: item.span,
        });
    }

    /// Says where a gate holds a product in some hours only.
    fn holds_no_hours(&mut self, item: &'a Item<'a>) {
        let holds = item.clauses.iter().find(|it| matches!(it.value, Clause::HoldsTo(..)));
        let in_hours = item.clauses.iter().find(|it| matches!(it.value, Clause::InHours(_)));
        let (Some(holds), Some(in_hours)) = (holds, in_hours) else { return };
        let message = "a gate that holds a product to a strength speaks of the day, not of hours";
        self.problems.push(
            Problem::new(Finding::KindMismatch, in_hours.span, message)
                .related(holds.span, "it holds here")
                .help("write a gate of its own for the hours, with `shuts`"),
        );
    }

    /// Returns what is shut.
    pub(super) fn shut(&mut self, shut: &Spanned<tree::Shut<'a>>) -> Option<Shut> {
        match &shut.value {
            tree::Shut::Spraying => Some(Shut::Spraying),
            tree::Shut::Group(code) => {
                if !self.groups.contains(code.value) && !self.broken_product {
                    let near = self.catalogue.near(code.value, self.groups.iter().copied());
                    let message = format!("no product is of group `{}`", code.value);
                    let help = match near {
                        Some(near) => format!("did you mean `group {near}`?"),
                        None => format!("a product says so in a line: `group {}`", code.value),
                    };
                    return self.fail(Problem::new(Finding::UnknownName, code.span, message).help(help));
                }
                Some(Shut::Group(code.value.into()))
            }
            tree::Shut::Product(name) => {
                self.find(ItemKind::Product, name).map(|id| Shut::Product(ProductId(id)))
            }
            tree::Shut::Mix(one, other) => {
                let (first, second) =
                    (self.find(ItemKind::Product, one), self.find(ItemKind::Product, other));
                let (first, second) = (ProductId(first?), ProductId(second?));
                if first == second {
                    return self.no_mix(one, other);
                }
                Some(Shut::Mix(first, second))
            }
        }
    }

    fn no_mix<T>(&mut self, one: &Name<'a>, other: &Name<'a>) -> Option<T> {
        let message = format!("`{}` with itself is no mix", one.value);
        self.fail(
            Problem::new(Finding::DefinedTwice, other.span, message).help("name two products, or one alone"),
        )
    }

    /// Returns a product at a strength.
    pub(super) fn dose(&mut self, product: &Name<'a>, strength: &Name<'a>) -> Option<(ProductId, u8)> {
        let id = ProductId(self.find(ItemKind::Product, product)?);
        let strengths = &self.plan[id].strengths;
        if let Some(place) = strengths.iter().position(|it| &*it.name == strength.value) {
            return Some((id, place as u8));
        }
        if strengths.is_empty() {
            return None;
        }
        let near = self.catalogue.near(strength.value, strengths.iter().map(|it| &*it.name));
        let help = match near {
            Some(near) => format!("did you mean `{near}`?"),
            None => {
                let names: Vec<&str> = strengths.iter().take(12).map(|it| &*it.name).collect();
                format!("its strengths are {}", super::wording::both(names))
            }
        };
        let message = format!("`{}` has no strength `{}`", product.value, strength.value);
        let problem = Problem::new(Finding::UnknownName, strength.span, message)
            .related(self.plan[id].span, format!("`{}` is defined here", product.value));
        self.fail(problem.help(help))
    }

    /// Checks a `prefer`. It is listed where its hours are sound.
    pub(super) fn prefer(&mut self, item: &'a Item<'a>) {
        let (why, hours) = (self.why(item), self.hours_when(item));
        let Some(hours) = hours else { return };
        self.plan.prefers.push(Prefer {
            name: item.name.map_or("", |name| name.value).into(),
            label: label(item).into(),
            hours,
            why,
            span: item.span,
        });
    }

    /// Returns the products and strengths of a spray.
    pub(super) fn doses(&mut self, doses: &[tree::Dose<'a>]) -> Option<Vec<(ProductId, u8)>> {
        let found: Vec<Option<(ProductId, u8)>> =
            doses.iter().map(|dose| self.dose(&dose.product, &dose.strength)).collect();
        let found = found.into_iter().collect::<Option<Vec<_>>>()?;
        if let ([first, second], [one, other]) = (found.as_slice(), doses)
            && first.0 == second.0
        {
            return self.no_mix(&one.product, &other.product);
        }
        Some(found)
    }

    /// Checks a choice. It is listed in any case.
    pub(super) fn choice(&mut self, item: &'a Item<'a>) {
        let (why, when) = (self.why(item), self.when(item));
        let mut choice = Choice {
            name: item.name.map_or("", |name| name.value).into(),
            label: label(item).into(),
            aims: Vec::new(),
            ways: Vec::new(),
            condition: when.condition,
            unless: when.unless,
            outranks: Vec::new(),
            within: None,
            recheck: None,
            how: None,
            why,
            span: item.span,
        };
        // `advise` is the first alternative, wherever it stands.
        for advised in [true, false] {
            for clause in &item.clauses {
                let way = match &clause.value {
                    Clause::Advise(way) if advised => way,
                    Clause::OrElse(way) if !advised => way,
                    _ => continue,
                };
                let way = match way {
                    tree::Way::Hold(_) => Some(Way::Hold),
                    tree::Way::Spray(doses) => self.doses(doses).map(Way::Spray),
                };
                let Some(way) = way else { continue };
                if choice.ways.contains(&way) {
                    let message = "this alternative is already listed";
                    self.problems.push(
                        Problem::new(Finding::DefinedTwice, clause.span, message)
                            .help("leave one of them out"),
                    );
                }
                choice.ways.push(way);
            }
        }
        for clause in &item.clauses {
            match &clause.value {
                Clause::Aims(names) => {
                    let aims: Vec<DiseaseId> = names
                        .iter()
                        .filter_map(|name| self.find(ItemKind::Disease, name))
                        .map(DiseaseId)
                        .collect();
                    choice.aims.extend(aims);
                }
                Clause::Outranks(names) => {
                    for name in names {
                        let Some(id) = self.find(ItemKind::Choice, name).map(ChoiceId) else { continue };
                        if !choice.outranks.contains(&id) {
                            choice.outranks.push(id);
                        }
                    }
                }
                Clause::Within(quantity) => choice.within = self.duration(quantity),
                Clause::Recheck(quantity) => {
                    choice.recheck = self.duration(quantity).map(|hours| hours / 24.0)
                }
                Clause::How(text) => choice.how = Some(text.value.as_str().into()),
                _ => {}
            }
        }
        self.plan.choices.push(choice);
    }

    /// Reports choices that outrank one another in a circle.
    pub(super) fn rank_circles(&mut self) {
        let edges: Vec<Vec<u32>> =
            self.plan.choices.iter().map(|choice| choice.outranks.iter().map(|id| id.0).collect()).collect();
        for circle in order::sort(&edges).circles {
            let members: Vec<&Choice> =
                circle.iter().filter_map(|id| self.plan.choices.get(*id as usize)).collect();
            let Some(first) = members.first() else { continue };
            let names: Vec<&str> = members.iter().map(|choice| &*choice.name).collect();
            let message = super::wording::circle(&names, "outranks");
            let mut problem = Problem::new(Finding::RankCircle, first.span, message)
                .help("decide which of them gives way, and take one `outranks` out");
            for other in members.iter().skip(1).take(8) {
                problem = problem.related(other.span, format!("`{}` is in the circle", other.name));
            }
            self.problems.push(problem);
        }
    }

    fn speaks_of(&mut self, item: &'a Item<'a>) -> SpeaksOf {
        let (why, when) = (self.why(item), self.when(item));
        let said = item.clauses.iter().find_map(|clause| match &clause.value {
            Clause::Of(place) => Some(*place),
            _ => None,
        });
        let place = said.unwrap_or(Place::Tree);
        if when.reach.0 > place {
            let what = if item.kind == ItemKind::Task { "this task" } else { "this warning" };
            self.too_narrow(when.reach.1, what, place, when.reach.0);
        }
        SpeaksOf { place, condition: when.condition, unless: when.unless, why, span: item.span }
    }

    /// Checks a task. It is listed in any case.
    pub(super) fn task(&mut self, item: &'a Item<'a>) {
        let speaks = self.speaks_of(item);
        let does = item.clauses.iter().find_map(|clause| match &clause.value {
            Clause::Do(text) => Some(text.value.as_str()),
            _ => None,
        });
        self.plan.tasks.push(Task {
            name: item.name.map_or("", |name| name.value).into(),
            label: label(item).into(),
            does: does.unwrap_or_default().into(),
            speaks,
        });
    }

    /// Checks a warning. It is listed in any case.
    pub(super) fn warning(&mut self, item: &'a Item<'a>) {
        let speaks = self.speaks_of(item);
        let says = item.clauses.iter().find_map(|clause| match &clause.value {
            Clause::Says(text) => Some(text.value.as_str()),
            _ => None,
        });
        self.plan.warnings.push(Warning {
            name: item.name.map_or("", |name| name.value).into(),
            label: label(item).into(),
            says: says.unwrap_or_default().into(),
            speaks,
        });
    }
}
