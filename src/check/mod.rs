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
mod arithmetic;
mod aggregates;
mod history;
mod windows;
mod definitions;
mod listing;
mod cautions;
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
mod assumptions;
mod load;
mod left_out;

pub(crate) use kinds::canonical_unit;
pub use left_out::left_out;
pub use load::{builds_on, load, resolve};

use crate::plan::{
    DailyId, FigureId, GateId, HourlyId, ItemKind, Kind, LabelWord, NameId, Plan, ProductId, Subject, TextId,
    Why, WordListId,
};
use crate::problems::{Finding, Level, Problem, Problems};
use crate::source::SourceId;
use crate::syntax::tree::{Cite, Clause, Item, Tree};
use crate::units::Unit;
use catalogue::Catalogue;
use overlay::{Book, MergedItem};
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
    /// Names that hidden expressions stand for.
    met_hidden: FxHashSet<NameId>,
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
            met_hidden: FxHashSet::default(),
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
        self.lost_cautions(book);
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
            self.doubts(&book.entries, &order);
        }
    }

    /// Adds a finding, and returns nothing.
    fn fail<T>(&mut self, problem: Problem) -> Option<T> {
        self.problems.push(problem);
        None
    }

    /// Checks all that is made from names: tables, rules, and what is proved.
    fn rules(&mut self, entries: &[MergedItem<'a>]) {
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
            let there = catalogue::ALWAYS_SOURCES.contains(&cite.key.value);
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
                    if let walk::WalkedPiece::Subject(subject) = met {
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
