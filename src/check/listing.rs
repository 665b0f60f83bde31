//! Listing names, and checking definitions in an order in which each stands after those it is made from.
//!
//! Comes in: the items of a book. Goes out: the plan's names, series, figures, and what others ask of scales, products
//! and tables.

use super::catalogue::{self, ALWAYS_THERE, NameMeaning};
use super::overlay::{self, MergedItem};
use super::units_of::Hint;
use super::{Checker, Made, definitions, dependencies, order, tables, wording};
use crate::plan::{
    Cited, DailyId, Disease, FigureId, HourlyId, ItemKind, Kind, Name, NameId, Origin, Place, Subject, Why,
};
use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::syntax::tree::{Clause, Expression, Item, Node, Sprayed};
use crate::units::Unit;
use rustc_hash::FxHashMap;

impl<'a> Checker<'a> {
    /// Lists what definitions ask of other items: scales, products, kinds of observations, levels, shapes of tables.
    /// Returns the numbers of the names, by entry.
    pub(super) fn prepare(&mut self, entries: &[MergedItem<'a>]) -> Vec<Option<NameId>> {
        self.always_there();
        for entry in entries.iter().filter(|entry| entry.item.kind == ItemKind::Scale) {
            self.scale(entry.item);
        }
        for entry in entries.iter().filter(|entry| entry.item.kind == ItemKind::Product) {
            self.product(entry.item);
        }
        let mut names = Vec::with_capacity(entries.len());
        for entry in entries {
            let item = entry.item;
            let judged =
                matches!(item.kind, ItemKind::Observe | ItemKind::Measure | ItemKind::Tally | ItemKind::Band);
            let id = judged.then(|| self.name(item));
            names.push(id);
            match (item.kind, id) {
                (ItemKind::Observe, Some(id)) => self.observed_kind(id, item),
                (ItemKind::Band, Some(id)) => self.levels(id, item),
                (ItemKind::Measure, Some(id)) if !entry.shadowed => self.note_expression(id, item),
                (ItemKind::Table, _) => {
                    let shape = self.shape(item);
                    self.tables.push(shape);
                    self.key_units.push(Vec::new());
                    self.plan.tables.push(tables::no_rows(item));
                }
                (ItemKind::Disease, _) => self.plan.diseases.push(Disease {
                    name: item.name.map_or("", |name| name.value).into(),
                    label: definitions::label(item).into(),
                    span: item.span,
                }),
                (ItemKind::Source, _) => self.plan.sources.push(Cited {
                    key: item.name.map_or("", |name| name.value).into(),
                    citation: item.label.as_ref().map_or("", |text| text.value.as_str()).into(),
                    recalled: item.clauses.iter().any(|clause| matches!(clause.value, Clause::Recalled)),
                    span: item.span,
                }),
                _ => {}
            }
        }
        names
    }

    fn always_there(&mut self) {
        let there = [
            (Kind::Text, Place::Tree, Origin::Cultivar),
            (Kind::Text, Place::Block, Origin::Block),
            (Kind::Date, Place::Grove, Origin::Date),
        ];
        for ((word, id), (kind, scope, origin)) in ALWAYS_THERE.into_iter().zip(there) {
            self.made.insert(Subject::Name(id), Made { kind: Some(kind), hint: Hint::Open });
            self.plan.names.push(Name {
                word: word.into(),
                label: word.into(),
                hidden: false,
                kind,
                unit: Unit::none(),
                scope,
                origin,
                why: Why::default(),
                span: Span::default(),
            });
        }
    }

    /// Lists a name; what it is comes later.
    fn name(&mut self, item: &'a Item<'a>) -> NameId {
        let id = NameId(self.plan.names.len() as u32);
        self.plan.names.push(Name {
            word: item.name.map_or("", |name| name.value).into(),
            label: definitions::label(item).into(),
            hidden: false,
            kind: Kind::Number,
            unit: Unit::none(),
            scope: Place::Tree,
            origin: Origin::Date,
            why: Why::default(),
            span: item.span,
        });
        id
    }

    /// Notes the wording of a measure that something hidden may have too.
    fn note_expression(&mut self, id: NameId, item: &'a Item<'a>) {
        if item.clauses.iter().any(|clause| matches!(clause.value, Clause::ValidIf(_))) {
            return;
        }
        let word = item.clauses.iter().find_map(|clause| match &clause.value {
            Clause::Yields(expression) => expression_wording(expression),
            _ => None,
        });
        let Some(word) = word else { return };
        // Of several measures the first in the alphabet stands for all, whatever their order in the text.
        let first = match self.hidden.get(&word) {
            Some(other) if self.plan[*other].word <= self.plan[id].word => *other,
            Some(_) | None => id,
        };
        self.hidden.insert(word, first);
    }

    /// Checks all definitions, each after those it is made from.
    pub(super) fn define(&mut self, entries: &[MergedItem<'a>], names: &[Option<NameId>]) {
        let places: FxHashMap<&'a str, u32> = entries
            .iter()
            .enumerate()
            .filter(|(_, entry)| catalogue::is_value(entry.item.kind) && !entry.shadowed)
            .rev()
            .filter_map(|(at, entry)| entry.item.name.map(|name| (name.value, at as u32)))
            .collect();
        let mut edges: Vec<Vec<u32>> = Vec::with_capacity(entries.len());
        for entry in entries {
            let mut from = Vec::new();
            if catalogue::is_value(entry.item.kind) {
                dependencies::of_item(entry.item, &mut |name, stands| {
                    let Some(at) = places.get(name) else { return };
                    let figure = entries.get(*at as usize).is_some_and(|it| it.item.kind == ItemKind::Figure);
                    if stands == dependencies::Stands::AsName || figure {
                        from.push(*at);
                    }
                });
                from.sort_unstable();
                from.dedup();
            }
            edges.push(from);
        }
        let sorted = order::sort(&edges);
        self.circles(entries, &sorted.circles);
        let (mut hourlies, mut dailies, mut figures) = (0, 0, 0);
        for at in &sorted.order {
            let Some(entry) = entries.get(*at as usize) else { continue };
            let number = |count: &mut u32| {
                *count += 1;
                *count - 1
            };
            let meaning = match (entry.item.kind, names.get(*at as usize).copied().flatten()) {
                (_, Some(id)) => NameMeaning::Name(id),
                (ItemKind::Hourly, None) => NameMeaning::Hourly(HourlyId(number(&mut hourlies))),
                (ItemKind::Daily, None) => NameMeaning::Daily(DailyId(number(&mut dailies))),
                (ItemKind::Figure, None) => NameMeaning::Figure(FigureId(number(&mut figures))),
                (_, None) => continue,
            };
            if let Some(name) = entry.item.name.filter(|name| places.get(name.value) == Some(at)) {
                self.catalogue.give(name.value, entry.item.kind, meaning);
            }
        }
        for at in &sorted.order {
            let Some(entry) = entries.get(*at as usize) else { continue };
            let item = entry.item;
            match (item.kind, names.get(*at as usize).copied().flatten()) {
                (ItemKind::Figure, _) => self.define_figure(item),
                (ItemKind::Hourly, _) => self.define_hourly(item),
                (ItemKind::Daily, _) => self.define_daily(item),
                (ItemKind::Observe, Some(id)) => self.define_observation(id, item),
                (ItemKind::Measure, Some(id)) => self.define_measure(id, item),
                (ItemKind::Tally, Some(id)) => self.define_tally(id, item),
                (ItemKind::Band, Some(id)) => self.define_band(id, item),
                _ => {}
            }
        }
    }

    fn circles(&mut self, entries: &[MergedItem<'a>], circles: &[Vec<u32>]) {
        for circle in circles {
            let members: Vec<&Item<'_>> =
                circle.iter().filter_map(|at| entries.get(*at as usize)).map(|entry| entry.item).collect();
            let Some(first) = members.first() else { continue };
            let names: Vec<&str> =
                members.iter().map(|item| item.name.map_or("", |name| name.value)).collect();
            let message = wording::circle(&names, "is made from");
            let mut problem = Problem::new(Finding::Circular, overlay::called_at(first), message)
                .help("take one of these steps out, or make it from something else");
            for other in members.iter().skip(1).take(8) {
                problem = problem.related(overlay::called_at(other), "this is in the circle");
            }
            self.problems.push(problem);
        }
    }
}

/// Returns the wording of an expression that a condition or a label line may have too.
fn expression_wording(expression: &Expression<'_>) -> Option<String> {
    match &*expression.node {
        Node::Parenthesis(inner) => expression_wording(inner),
        Node::Panicles(quantifier, condition) => Some(wording::panicles(*quantifier, condition)),
        Node::DaysSinceLast(what @ Sprayed::Product(_)) => Some(wording::days_since_last(what)),
        Node::SpraysOf(what, over) => Some(wording::sprays_of(what, over)),
        Node::AmountOf(ingredient, over) => Some(wording::amount_of(ingredient.value, over)),
        Node::DaysToHarvest => Some("days to harvest".to_string()),
        _ => None,
    }
}
