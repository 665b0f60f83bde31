//! From syntax trees to a plan: every name, kind, unit and scope error of a rulebook and its bases, in one run.
//!
//! Comes in: the trees of a rulebook and of the bases that it builds on. Goes out: a [`Plan`], where the text has no
//! error, and findings. Knows no grove.

mod wording;
mod order;
mod overlay;
mod catalogue;
mod clauses;
mod dependencies;
mod kinds;
mod literals;
mod units_of;
mod conditions;
mod comparisons;
mod expressions;
mod aggregates;
mod history;
mod windows;
mod definitions;
mod head;
mod scales;
mod tables;
mod overlap;
mod products;
mod labels;
mod deciding;
mod proofs;
mod walk;
mod doubts;
mod load;

pub use load::{builds_on, load, resolve};

use crate::plan::{
    Cited, DailyId, Disease, FigureId, GateId, HourlyId, ItemKind, Kind, LabelWord, Name, NameId, Origin,
    Place, Plan, ProductId, Subject, Table, TextId, Why, WordListId,
};
use crate::problems::{Finding, Level, Problem, Problems};
use crate::source::{SourceId, Span};
use crate::syntax::tree::{Cite, Clause, Expression, Item, Node, Sprayed, Tree};
use crate::units::Unit;
use catalogue::{ALWAYS_THERE, Catalogue, Meaning};
use overlay::{Book, Entry};
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeSet;
use std::sync::Arc;
use units_of::Hint;

/// One file of a book: the rulebook itself, or a base that it builds on.
#[derive(Clone, Copy, Debug)]
pub struct Layer<'a> {
    /// The number of its text.
    pub source: SourceId,
    /// Its text.
    pub text: &'a str,
    /// What could be read of it.
    pub tree: &'a Tree<'a>,
}

/// Checks a book: its layers, from the deepest base to the rulebook on top.
///
/// The plan is returned also with errors in meaning (`table-overlap`, `rank-circle`, `label-broken`), and withheld
/// where the text has an error. Findings are sorted by place.
pub fn check(book: &[Layer<'_>]) -> (Option<Plan>, Problems) {
    let mut problems = Problems::default();
    let merged = overlay::merge(book, &mut problems);
    let mut checker = Checker::new(book, &merged, problems);
    checker.run(book, &merged);
    let (plan, mut problems) = (checker.plan, checker.problems);
    let in_base = |problem: &Problem| {
        let base = book.split_last().map(|(_, base)| base).unwrap_or_default();
        problem.finding.level() == Level::Error && base.iter().any(|layer| layer.source == problem.at.source)
    };
    if merged.changes.iter().any(|change| change.layer + 1 == book.len()) && problems.iter().any(in_base) {
        let (_, alone) = check(book.split_last().map(|(_, base)| base).unwrap_or_default());
        problems = overlay::relocate(problems, &alone, book, &merged.changes);
    }
    problems.sort();
    let readable = !problems.iter().any(|problem| is_of_text(problem.finding)) && !merged.any_broken();
    (readable.then_some(plan), problems)
}

/// Returns whether a finding is an error at the text, with which there is no plan.
pub fn is_of_text(finding: Finding) -> bool {
    matches!(
        finding,
        Finding::Syntax
            | Finding::UnknownName
            | Finding::DefinedTwice
            | Finding::UnitMismatch
            | Finding::KindMismatch
            | Finding::Circular
            | Finding::OutOfRange
            | Finding::NoCaution
            | Finding::Input
    )
}

/// What is known of a name, an hourly or a daily while checking.
#[derive(Clone, Debug)]
struct Made {
    /// The kind of its values; nothing where its definition is in error.
    kind: Option<Kind>,
    /// What suggests its unit.
    hint: Hint,
}

/// What is known while checking. The plan grows; all else serves to find things in it.
struct Checker<'a> {
    plan: Plan,
    problems: Problems,
    catalogue: Catalogue<'a>,
    made: FxHashMap<Subject, Made>,
    figures_sound: FxHashSet<FigureId>,
    tables: Vec<Option<tables::Shape>>,
    key_units: Vec<Vec<Option<Unit>>>,
    /// The ranges of observations.
    ranges: FxHashMap<NameId, (f64, f64)>,
    /// The first threshold of each subject: its place, as layer and byte, and its unit.
    thresholds: FxHashMap<Subject, ((usize, u32), Unit)>,
    /// The layer of each source.
    ranks: FxHashMap<SourceId, usize>,
    texts: FxHashMap<Arc<str>, TextId>,
    /// Names by the wording of their expression.
    hidden: FxHashMap<String, NameId>,
    one_ofs: FxHashMap<Vec<&'a str>, WordListId>,
    strength_lists: FxHashMap<ProductId, WordListId>,
    label_gates: FxHashMap<(ProductId, LabelWord), Vec<GateId>>,
    groups: BTreeSet<&'a str>,
    ingredients: BTreeSet<&'a str>,
    broken_product: bool,
}

impl<'a> Checker<'a> {
    fn new(layers: &[Layer<'a>], book: &Book<'a>, mut problems: Problems) -> Self {
        let catalogue = Catalogue::declare(&book.entries, book.broken.clone(), &mut problems);
        Self {
            plan: Plan::default(),
            problems,
            catalogue,
            made: FxHashMap::default(),
            figures_sound: FxHashSet::default(),
            tables: Vec::new(),
            key_units: Vec::new(),
            ranges: FxHashMap::default(),
            thresholds: FxHashMap::default(),
            ranks: layers.iter().enumerate().map(|(rank, layer)| (layer.source, rank)).collect(),
            texts: FxHashMap::default(),
            hidden: FxHashMap::default(),
            one_ofs: FxHashMap::default(),
            strength_lists: FxHashMap::default(),
            label_gates: FxHashMap::default(),
            groups: BTreeSet::new(),
            ingredients: BTreeSet::new(),
            broken_product: book.broken_product,
        }
    }

    fn run(&mut self, layers: &[Layer<'a>], book: &Book<'a>) {
        self.heads(layers, book);
        for entry in &book.entries {
            self.clauses(entry.item);
        }
        let names = self.prepare(&book.entries);
        self.define(&book.entries, &names);
        self.rules(&book.entries);
        let order = self.sort_plan();
        self.units(&order);
        self.overlaps();
        self.rank_circles();
        if !book.any_broken() && !self.problems.iter().any(|problem| is_of_text(problem.finding)) {
            self.doubts(&book.entries);
        }
    }

    /// Adds a finding, and returns nothing.
    fn fail<T>(&mut self, problem: Problem) -> Option<T> {
        self.problems.push(problem);
        None
    }

    /// Lists what definitions ask of other items: scales, products, kinds of observations, levels, shapes of tables.
    /// Returns the numbers of the names, by entry.
    fn prepare(&mut self, entries: &[Entry<'a>]) -> Vec<Option<NameId>> {
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
                    self.plan.tables.push(no_table(item));
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
    fn define(&mut self, entries: &[Entry<'a>], names: &[Option<NameId>]) {
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
                (_, Some(id)) => Meaning::Name(id),
                (ItemKind::Hourly, None) => Meaning::Hourly(HourlyId(number(&mut hourlies))),
                (ItemKind::Daily, None) => Meaning::Daily(DailyId(number(&mut dailies))),
                (ItemKind::Figure, None) => Meaning::Figure(FigureId(number(&mut figures))),
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

    fn circles(&mut self, entries: &[Entry<'a>], circles: &[Vec<u32>]) {
        for circle in circles {
            let members: Vec<&Item<'_>> =
                circle.iter().filter_map(|at| entries.get(*at as usize)).map(|entry| entry.item).collect();
            let Some(first) = members.first() else { continue };
            let mut names: Vec<&str> =
                members.iter().map(|item| item.name.map_or("", |name| name.value)).collect();
            names.push(names.first().copied().unwrap_or_default());
            let path =
                names.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(" is made from ");
            let at = overlay::called_at(first);
            let mut problem = Problem::new(Finding::Circular, at, format!("{path}, in a circle"))
                .help("take one of these steps out, or make it from something else");
            for other in members.iter().skip(1) {
                problem = problem.related(overlay::called_at(other), "this is in the circle");
            }
            self.problems.push(problem);
        }
    }

    /// Checks all that is made from names: tables, rules, and what is proved.
    fn rules(&mut self, entries: &[Entry<'a>]) {
        let of = |kind: ItemKind| {
            entries.iter().filter(move |entry| entry.item.kind == kind).map(|entry| entry.item)
        };
        of(ItemKind::Table).enumerate().for_each(|(number, item)| self.define_table(number, item));
        of(ItemKind::Product).enumerate().for_each(|(number, item)| self.product_words(number, item));
        of(ItemKind::Gate).for_each(|item| self.gate(item));
        of(ItemKind::Product).enumerate().for_each(|(number, item)| self.labels(number, item));
        for (number, gate) in self.plan.gates.iter().enumerate() {
            if let Some(line) = &gate.line {
                self.label_gates.entry((line.product, line.word)).or_default().push(GateId(number as u32));
            }
        }
        of(ItemKind::Prefer).for_each(|item| self.prefer(item));
        of(ItemKind::Choice).for_each(|item| self.choice(item));
        of(ItemKind::Task).for_each(|item| self.task(item));
        of(ItemKind::Warning).for_each(|item| self.warning(item));
        of(ItemKind::Always).for_each(|item| self.always(item));
        of(ItemKind::Promise).for_each(|item| self.promise(item));
        of(ItemKind::Setting).for_each(|item| self.setting(item));
        of(ItemKind::Worked).for_each(|item| self.worked(item));
        of(ItemKind::Scale).for_each(|item| {
            self.why(item);
        });
        self.settings_agree();
    }

    /// Returns why an item says what it says.
    fn why(&mut self, item: &'a Item<'a>) -> Why {
        let mut why = Why::default();
        for clause in &item.clauses {
            match &clause.value {
                Clause::Because(text) => why.because = Some(text.value.as_str().into()),
                Clause::Cites(cites) => why.cites.extend(self.citations(cites)),
                _ => {}
            }
        }
        why
    }

    fn citations(&mut self, cites: &[Cite<'a>]) -> Vec<crate::plan::Citation> {
        let mut citations = Vec::with_capacity(cites.len());
        for cite in cites {
            let there = matches!(cite.key.value, "common-practice" | "to-be-sourced");
            if there || self.find(ItemKind::Source, &cite.key).is_some() {
                citations.push(crate::plan::Citation {
                    key: cite.key.value.into(),
                    locator: cite.locator.as_ref().map(|text| text.value.as_str().into()),
                });
            }
        }
        citations
    }

    /// Sorts the names of the plan, and returns all that is computed in that order.
    fn sort_plan(&mut self) -> Vec<Subject> {
        let plan = &self.plan;
        let (names, hourlies) = (plan.names.len() as u32, plan.hourlies.len() as u32);
        let number = |subject: Subject| match subject {
            Subject::Name(NameId(id)) => Some(id),
            Subject::Hourly(HourlyId(id)) => Some(names + id),
            Subject::Daily(DailyId(id)) => Some(names + hourlies + id),
            Subject::Series(_) => None,
        };
        let all: Vec<Subject> = (0..names)
            .map(|id| Subject::Name(NameId(id)))
            .chain((0..hourlies).map(|id| Subject::Hourly(HourlyId(id))))
            .chain((0..plan.dailies.len() as u32).map(|id| Subject::Daily(DailyId(id))))
            .collect();
        let edges: Vec<Vec<u32>> = all
            .iter()
            .map(|subject| {
                let mut from = Vec::new();
                walk::of_subject(plan, *subject, &mut |met| {
                    if let walk::Met::Subject(subject) = met {
                        from.extend(number(subject));
                    }
                });
                from
            })
            .collect();
        let order: Vec<Subject> =
            order::sort(&edges).order.into_iter().filter_map(|at| all.get(at as usize).copied()).collect();
        self.plan.order = order
            .iter()
            .filter_map(|subject| match subject {
                Subject::Name(id) => Some(*id),
                Subject::Hourly(_) | Subject::Daily(_) | Subject::Series(_) => None,
            })
            .collect();
        order
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

fn no_table(item: &Item<'_>) -> Table {
    Table {
        name: item.name.map_or("", |name| name.value).into(),
        label: "".into(),
        keys: Vec::new(),
        gives: Kind::Number,
        unit: Unit::none(),
        rows: Vec::new(),
        otherwise: None,
        between: crate::plan::Between::Exact,
        beyond: None,
        why: Why::default(),
        span: item.span,
    }
}
