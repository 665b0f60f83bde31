//! The lines of labels as gates of their own.
//!
//! Comes in: the `label` lines of products. Goes out: gates after those of the text, each with the hidden name whose
//! value it asks for. `re-entry` shuts nothing and makes no gate.

use super::Checker;
use super::aggregates::{DURATION, days};
use super::products::{By, ingredient, measured_by};
use super::wording;
use crate::plan::{
    AmountOf, Bound, Compare, Condition, DosePer, ExprNode, Gate, ItemKind, Kind, LabelLimit, LabelLine,
    LabelWord, NameId, ProductId, Shut, Sprayed, Subject, Test, Total, WordListId,
};
use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::syntax::tree::{Clause, Item, Label, Name, Number, Quantity, Spanned};
use crate::units::{Dimension, Unit};
use rustc_hash::FxHashMap;
use std::sync::Arc;

/// The product and the line that a gate is made of.
#[derive(Clone, Copy)]
struct LabelledProduct<'l, 'a> {
    id: ProductId,
    item: &'a Item<'a>,
    label: &'l Label<'a>,
    span: Span,
}

impl<'a> Checker<'a> {
    /// Makes the gates of a product's label.
    pub(super) fn labels(&mut self, number: usize, item: &'a Item<'a>) {
        let mut seen: FxHashMap<String, Span> = FxHashMap::default();
        for clause in &item.clauses {
            let Clause::Label(label) = &clause.value else { continue };
            if let Some(before) = seen.insert(sort(label), clause.span) {
                let message = format!("the label of {} says this twice", super::clauses::named(item));
                self.problems.push(
                    Problem::new(Finding::DefinedTwice, clause.span, message)
                        .related(before, "it already says so here")
                        .help("leave one of them out: the stricter one counts"),
                );
            }
            let line = LabelledProduct { id: ProductId(number as u32), item, label, span: clause.span };
            self.label(line);
        }
    }

    fn label(&mut self, line: LabelledProduct<'_, 'a>) {
        let product = line.item.name.map_or("", |name| name.value);
        let shuts = vec![Shut::Product(line.id)];
        match line.label {
            Label::Interval(least) => {
                let Some(hours) = self.duration(least) else { return };
                let name = self.days_since_last(line.id, product, line.span);
                let condition = self.below(name, hours, least);
                self.line(line, LabelWord::Interval, None, shuts, Some(condition), None);
            }
            Label::Sprays(total, most) => {
                let Some(most) = self.most_sprays(most) else { return };
                let (word, node) = self.sprays_name(line.id, product, *total);
                let name = self.hidden(word, node, Kind::Count, Unit::none(), line.span);
                let condition = self.at_least(name, most, line.span);
                self.line(line, total.line(), None, shuts, Some(condition), None);
            }
            Label::Amount(total, cap, of) => self.cap(line, Some(*total), cap, of.as_ref()),
            Label::Single(cap, of) => self.cap(line, None, cap, of.as_ref()),
            Label::BeforeHarvest(least) => {
                let Some(hours) = self.duration(least) else { return };
                let node = ExprNode::DaysToHarvest;
                let name = self.hidden("days to harvest".to_string(), node, DURATION, days(), line.span);
                let condition = self.below(name, hours, least);
                self.line(line, LabelWord::BeforeHarvest, None, shuts, Some(condition), None);
            }
            Label::Apart(other, least) => self.apart_from(line, product, other, least),
            Label::ReEntry(_) => {}
        }
    }

    /// Returns how much a line allows, or how long it asks for; nothing of one that makes no gate.
    fn limit(&mut self, label: &Label<'a>) -> Option<LabelLimit> {
        match label {
            Label::Interval(least) | Label::BeforeHarvest(least) | Label::Apart(_, least) => {
                self.duration(least).map(|hours| LabelLimit::Days(hours / 24.0))
            }
            Label::Sprays(_, most) => self.most_sprays(most).map(LabelLimit::Sprays),
            Label::Amount(_, cap, of) | Label::Single(cap, of) => {
                let unit = cap.unit.as_ref().and_then(super::literals::unit_of).unwrap_or_else(Unit::none);
                let of = of.as_ref().map_or_else(String::new, |of| format!(" {}", of.value));
                Some(LabelLimit::Amount((wording::quantity(cap) + &of).into(), unit))
            }
            Label::ReEntry(_) => None,
        }
    }

    fn most_sprays(&mut self, most: &Spanned<Number<'a>>) -> Option<f64> {
        let quantity = Quantity { number: most.value, unit: None, span: most.span };
        self.quantity(&quantity, Kind::Count).map(|(most, _)| most)
    }

    fn days_since_last(&mut self, id: ProductId, product: &'a str, span: Span) -> NameId {
        let name = Name { value: product, span };
        let word = wording::days_since_last(&crate::syntax::tree::Sprayed::Product(name));
        self.hidden(word, ExprNode::DaysSinceLast(Sprayed::Product(id)), DURATION, days(), span)
    }

    fn sprays_name(&mut self, id: ProductId, product: &str, total: Total) -> (String, ExprNode) {
        let word = format!("sprays of {product} this {}", total.line().word());
        (word, ExprNode::SpraysOf(Sprayed::Product(id), total.into()))
    }

    /// Makes the gates of two products that are kept apart: each shuts the other for a time, and their mix always.
    fn apart_from(
        &mut self,
        line: LabelledProduct<'_, 'a>,
        product: &'a str,
        other: &Name<'a>,
        least: &Quantity<'a>,
    ) {
        let hours = self.duration(least);
        let found = self.find(ItemKind::Product, other).map(ProductId);
        let (Some(hours), Some(other_id)) = (hours, found) else { return };
        if other_id == line.id {
            let message = format!("`{product}` cannot be kept apart from itself");
            self.problems
                .push(Problem::new(Finding::KindMismatch, other.span, message).help(
                    "the time between two sprays of it is its interval: `label interval at least 7 d`",
                ));
            return;
        }
        let (since_other, since_this) = (
            self.days_since_last(other_id, other.value, line.span),
            self.days_since_last(line.id, product, line.span),
        );
        let word = LabelWord::Apart;
        let condition = self.below(since_other, hours, least);
        self.line(line, word, Some(other_id), vec![Shut::Product(line.id)], Some(condition), None);
        let condition = self.below(since_this, hours, least);
        self.line(line, word, Some(other_id), vec![Shut::Product(other_id)], Some(condition), None);
        self.line(line, word, Some(other_id), vec![Shut::Mix(line.id, other_id)], None, None);
    }

    /// Makes the gate of a cap on amounts: it holds the product to the strongest strength that fits.
    fn cap(
        &mut self,
        line: LabelledProduct<'_, 'a>,
        total: Option<Total>,
        cap: &Quantity<'a>,
        of: Option<&Name<'a>>,
    ) {
        let contains = ingredient(line.item);
        if cap.unit.as_ref().and_then(measured_by) != Some(By::Area) {
            let message = format!("`{}` is no amount on an area", wording::quantity(cap));
            self.problems.push(
                Problem::new(Finding::UnitMismatch, cap.span, message)
                    .help("caps are by area: `12 lb / ac copper`, `3 kg / ha`"),
            );
            return;
        }
        let Some(amount) = self.amount(line.item, cap, of, contains) else { return };
        let said = wording::label(line.label);
        self.above_label(line.id.index(), &amount, &said, line.span);
        let counts_ingredient = amount.of == AmountOf::Ingredient;
        let kind = Kind::Quantity(amount.unit.dimension);
        let counted_in: Option<Arc<str>> = contains.filter(|_| counts_ingredient).map(Into::into);
        let product = line.item.name.map_or("", |name| name.value);
        let used = total.map(|total| {
            let season = total.line().word();
            let (word, node) = match &counted_in {
                Some(ingredient) => (
                    format!("amount of {ingredient} this {season}"),
                    ExprNode::AmountOf(ingredient.clone(), total.into()),
                ),
                None => (
                    format!("amount of the product {product} this {season}"),
                    ExprNode::AmountOfProduct(line.id, total.into()),
                ),
            };
            let kind = if counts_ingredient { Kind::Quantity(Dimension::RATE) } else { kind };
            self.hidden(word, node, kind, amount.unit.clone(), line.span)
        });
        let word = total.map_or(LabelWord::Single, Total::line);
        let Some(strengths) = self.strength_words(line.id) else { return };
        let at_most = amount.threshold();
        let node =
            ExprNode::Fitting { product: line.id, ingredient: counted_in, used, at_most, per: DosePer::Area };
        let name = format!("strongest {product} within {said}");
        let fits = self.hidden(name, node, Kind::Words(strengths), Unit::none(), line.span);
        self.line(line, word, None, Vec::new(), None, Some((line.id, fits)));
    }

    /// Returns the list `none` and the strengths of a product.
    fn strength_words(&mut self, id: ProductId) -> Option<WordListId> {
        if let Some(list) = self.strength_lists.get(&id) {
            return Some(*list);
        }
        let product = self.plan.products.get(id.index())?;
        let words: Vec<crate::plan::Word> = std::iter::once(Arc::from("none"))
            .chain(product.strengths.iter().map(|strength| strength.name.clone()))
            .map(crate::plan::Word::plain)
            .collect();
        let list = WordListId(self.plan.word_lists.len() as u32);
        let (name, span) = (product.name.clone(), product.span);
        self.plan.word_lists.push(crate::plan::WordList { name, ordered: true, words, span });
        self.strength_lists.insert(id, list);
        Some(list)
    }

    fn below(&mut self, name: NameId, hours: f64, written: &Quantity<'a>) -> Condition {
        let unit = written.unit.as_ref().and_then(super::literals::unit_of).unwrap_or_else(days);
        let at = unit.threshold_of_amount(hours);
        let bound = Bound { at, closed: false, unit, figure: None, span: written.span };
        let said = format!("{} below {}", self.plan[name].word, wording::quantity(written));
        self.notes(name, &bound);
        Condition::Test(Test {
            subject: Subject::Name(name),
            compare: Compare::Numbers { low: None, high: Some(bound) },
            written: said.into(),
            span: written.span,
        })
    }

    fn at_least(&mut self, name: NameId, count: f64, span: Span) -> Condition {
        let unit = Unit::none();
        let at = unit.threshold_of_amount(count);
        let bound = Bound { at, closed: true, unit, figure: None, span };
        let said = format!("{} at least {count}", self.plan[name].word);
        Condition::Test(Test {
            subject: Subject::Name(name),
            compare: Compare::Numbers { low: Some(bound), high: None },
            written: said.into(),
            span,
        })
    }

    /// Notes a label's threshold for the unit in which its name is printed.
    fn notes(&mut self, name: NameId, bound: &Bound) {
        let key = (self.ranks.get(&bound.span.source).copied().unwrap_or_default(), bound.span.start);
        let subject = Subject::Name(name);
        if self.thresholds.get(&subject).is_none_or(|(before, _)| *before > key) {
            self.thresholds.insert(subject, (key, bound.unit.clone()));
        }
    }

    fn line(
        &mut self,
        line: LabelledProduct<'_, 'a>,
        word: LabelWord,
        other: Option<ProductId>,
        shuts: Vec<Shut>,
        condition: Option<Condition>,
        fits: Option<(ProductId, NameId)>,
    ) {
        let Some(limit) = self.limit(line.label) else { return };
        let product = &self.plan[line.id];
        let from = other.map(|other| &self.plan[other]);
        let what = word.word();
        let (mut name, mut label) =
            (format!("{} label {what}", product.name), format!("{} label {what}", product.label));
        if let Some(other) = from {
            name += &format!(" from {}", other.name);
            label += &format!(" from {}", other.label);
        }
        let mut why = product.why.clone();
        why.because = None;
        self.plan.gates.push(Gate {
            name: name.into(),
            label: label.into(),
            shuts,
            holds: Vec::new(),
            fits,
            hours: None,
            condition,
            unless: None,
            line: Some(LabelLine {
                product: line.id,
                word,
                other,
                limit,
                written: wording::label(line.label).into(),
            }),
            why,
            span: line.span,
        });
    }
}

/// Returns what two lines of one label must not both say.
fn sort(label: &Label<'_>) -> String {
    let of = |of: &Option<Name<'_>>| of.map_or_else(String::new, |name| name.value.to_string());
    match label {
        Label::Interval(_) => "interval".to_string(),
        Label::Sprays(total, _) => format!("{} sprays", total.line().word()),
        Label::Amount(total, _, it) => format!("{} amount {}", total.line().word(), of(it)),
        Label::Single(_, it) => format!("single {}", of(it)),
        Label::BeforeHarvest(_) => "before-harvest".to_string(),
        Label::Apart(other, _) => format!("apart {}", other.value),
        Label::ReEntry(_) => "re-entry".to_string(),
    }
}
