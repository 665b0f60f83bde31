//! The labels of the jugs on the shelf joined with the rulebook's: the stricter of both counts.
//!
//! A jug's line tightens the rulebook's line of the same kind; where the rulebook has none it becomes a gate of its
//! own, named as if the rulebook had it.

use crate::grove::{Grove, Jug, JugCap, JugLabel, SprayRow};
use crate::plan::{
    Bound, Compare, Condition, DosePer, Expr, ExprNode, Gate, GateId, Kind, LabelLimit, LabelLine, LabelWord,
    Measure, Name, NameId, Origin, Place, Plan, ProductId, Shut, Sprayed, Subject, Test, Total, Why, Word,
    WordList, WordListId,
};
use crate::units::{Dimension, Unit, plain};
use std::sync::Arc;

/// Returns the plan with the labels of jugs; the first jug of a product is the one in use.
pub fn with_jugs<'j>(plan: &Plan, jugs: impl IntoIterator<Item = &'j Jug>) -> Plan {
    let mut plan = plan.clone();
    let mut seen = Vec::new();
    for jug in jugs {
        let Some(product) = jug.product.filter(|product| !seen.contains(product)) else { continue };
        seen.push(product);
        Joined { plan: &mut plan, product, jug }.join();
    }
    plan
}

/// Returns the jugs of the shed, by their places, whose labels say something of a logged spray.
pub(super) fn jugs_used(grove: &Grove, row: &SprayRow) -> Vec<usize> {
    let says = |at: &usize| grove.shed.get(*at).is_some_and(|jug| jug.label != JugLabel::default());
    row.parts.iter().filter_map(|part| part.jug).filter(says).collect()
}

/// Returns jugs of the shed by their places.
pub(super) fn in_shed<'g>(grove: &'g Grove, jugs: &[usize]) -> impl Iterator<Item = &'g Jug> {
    jugs.iter().filter_map(|at| grove.shed.get(*at))
}

struct Joined<'a> {
    plan: &'a mut Plan,
    product: ProductId,
    jug: &'a Jug,
}

const TIME: Kind = Kind::Quantity(Dimension::TIME);

impl Joined<'_> {
    fn join(&mut self) {
        let label = &self.jug.label;
        let stricter = |book: Option<f64>, jug: Option<f64>| book.into_iter().chain(jug).reduce(f64::max);
        if let Some(product) = self.plan.products.get_mut(self.product.index()) {
            product.re_entry = stricter(product.re_entry, label.re_entry);
            product.before_harvest = stricter(product.before_harvest, label.before_harvest);
        }
        if let Some(days) = label.interval {
            let node = ExprNode::DaysSinceLast(Sprayed::Product(self.product));
            let word = format!("days since last {}", self.word());
            self.at_least(LabelWord::Interval, node, word, days, format!("interval at least {days} d"));
        }
        if let Some(days) = label.before_harvest {
            let word = "days to harvest".to_string();
            let said = format!("before-harvest at least {days} d");
            self.at_least(LabelWord::BeforeHarvest, ExprNode::DaysToHarvest, word, days, said);
        }
        for (total, most) in &label.sprays {
            self.at_most_sprays(*total, f64::from(*most));
        }
        for cap in &label.amounts {
            self.cap(cap, cap.total.map_or(LabelWord::Single, Total::line), DosePer::Area);
        }
        for cap in &label.strengths {
            self.cap(cap, LabelWord::Strength, DosePer::Spray);
        }
    }

    fn word(&self) -> Arc<str> {
        self.plan[self.product].name.clone()
    }

    /// Returns the gate of a line of this product's label that counts days or sprays; a cap on amounts is another line.
    fn gate(&self, word: LabelWord) -> Option<GateId> {
        let is = |gate: &Gate| {
            let is_line = |line: &LabelLine| line.product == self.product && line.word == word;
            gate.fits.is_none() && gate.line.as_ref().is_some_and(is_line)
        };
        self.plan.gates.iter().position(is).map(|at| GateId(at as u32))
    }

    /// Keeps a number of days: an interval, or the days before harvest.
    fn at_least(&mut self, word: LabelWord, node: ExprNode, name: String, days: f64, said: String) {
        if let Some(gate) = self.gate(word) {
            self.tighten(gate, |compare| match compare {
                Compare::Numbers { high: Some(bound), .. } if bound.value() < days * 24.0 => {
                    bound.at = bound.unit.threshold_of_amount(days * 24.0);
                    Some((said.clone(), LabelLimit::Days(days)))
                }
                _ => None,
            });
            return;
        }
        let name = self.name(name, node, TIME, plain("d").unwrap_or_else(Unit::none));
        let bound = self.bound(days * 24.0, false, plain("d").unwrap_or_else(Unit::none));
        let written = format!("{} below {days} d", self.plan[name].word);
        let said = (said, LabelLimit::Days(days));
        self.add(word, said, Some((name, Compare::Numbers { low: None, high: Some(bound) }, written)), None);
    }

    fn at_most_sprays(&mut self, total: Total, most: f64) {
        let (word, season) = (total.line(), total.line().word());
        let said = format!("{season} at most {most} sprays");
        if let Some(gate) = self.gate(word) {
            self.tighten(gate, |compare| match compare {
                Compare::Numbers { low: Some(bound), .. } if bound.value() > most => {
                    bound.at = Unit::none().threshold_of_amount(most);
                    Some((said.clone(), LabelLimit::Sprays(most)))
                }
                _ => None,
            });
            return;
        }
        let node = ExprNode::SpraysOf(Sprayed::Product(self.product), total.into());
        let name =
            self.name(format!("sprays of {} this {season}", self.word()), node, Kind::Count, Unit::none());
        let bound = self.bound(most, true, Unit::none());
        let written = format!("{} at least {most}", self.plan[name].word);
        let said = (said, LabelLimit::Sprays(most));
        self.add(word, said, Some((name, Compare::Numbers { low: Some(bound), high: None }, written)), None);
    }

    /// Adds a cap on amounts; a cap of the rulebook stays beside it, and both count.
    fn cap(&mut self, cap: &JugCap, word: LabelWord, per: DosePer) {
        let season = word.word();
        let used = cap.total.map(|total| {
            let (name, node) = match &cap.of {
                Some(of) => {
                    (format!("amount of {of} this {season}"), ExprNode::AmountOf(of.clone(), total.into()))
                }
                None => (
                    format!("amount of the product {} this {season}", self.word()),
                    ExprNode::AmountOfProduct(self.product, total.into()),
                ),
            };
            let unit = Unit::rate(
                &plain("g").unwrap_or_else(Unit::none),
                1.0,
                &plain("m²").unwrap_or_else(Unit::none),
            );
            self.name(name, node, Kind::Quantity(cap.dimension), unit)
        });
        let said = format!("{season} at most {}", cap.written);
        let product = self.product;
        let node = ExprNode::Fitting { product, ingredient: cap.of.clone(), used, at_most: cap.at_most, per };
        let list = self.strengths();
        let fits = self.name(
            format!("strongest {} within {said} of the jug", self.word()),
            node,
            Kind::Words(list),
            Unit::none(),
        );
        let limit = LabelLimit::Amount(cap.written.clone(), cap.unit.clone());
        self.add(word, (said, limit), None, Some((product, fits)));
    }

    fn strengths(&mut self) -> WordListId {
        let product = &self.plan[self.product];
        let none = Arc::from("none");
        let words = std::iter::once(Word::plain(none)).chain(
            product
                .strengths
                .iter()
                .map(|it| Word { shown: it.shown.clone(), ..Word::plain(it.name.clone()) }),
        );
        let list = WordList {
            name: product.name.clone(),
            ordered: true,
            words: words.collect(),
            span: product.span,
        };
        self.plan.word_lists.push(list);
        WordListId(self.plan.word_lists.len() as u32 - 1)
    }

    /// Returns the name of an expression: one that is there already, or a hidden one.
    fn name(&mut self, word: String, node: ExprNode, kind: Kind, unit: Unit) -> NameId {
        let same = |name: &Name| matches!(&name.origin, Origin::Measure(it) if it.valid_if.is_none() && *it.expr.node == node);
        if let Some(at) = self.plan.names.iter().position(same) {
            return NameId(at as u32);
        }
        let span = self.jug.span;
        let expr = Expr { node: Box::new(node), kind, span };
        let id = NameId(self.plan.names.len() as u32);
        self.plan.names.push(Name {
            label: word.as_str().into(),
            word: word.into(),
            hidden: true,
            kind,
            unit,
            scope: Place::Tree,
            origin: Origin::Measure(Measure { expr, valid_if: None }),
            why: Why::default(),
            span,
        });
        // Whatever the new name speaks of stands before it, and no older name speaks of it.
        self.plan.order.push(id);
        id
    }

    fn bound(&self, value: f64, closed: bool, unit: Unit) -> Bound {
        Bound { at: unit.threshold_of_amount(value), closed, unit, figure: None, span: self.jug.span }
    }

    fn tighten(
        &mut self,
        gate: GateId,
        mut change: impl FnMut(&mut Compare) -> Option<(String, LabelLimit)>,
    ) {
        let Some(gate) = self.plan.gates.get_mut(gate.index()) else { return };
        let Some(Condition::Test(test)) = &mut gate.condition else { return };
        if let Some((said, limit)) = change(&mut test.compare) {
            test.written = format!("{} (jug)", said).into();
            if let Some(line) = &mut gate.line {
                (line.written, line.limit) = (said.into(), limit);
            }
        }
    }

    fn add(
        &mut self,
        word: LabelWord,
        (said, limit): (String, LabelLimit),
        test: Option<(NameId, Compare, String)>,
        fits: Option<(ProductId, NameId)>,
    ) {
        let name: Arc<str> = format!("{} label {}", self.word(), word.word()).into();
        let span = self.jug.span;
        let condition = test.map(|(name, compare, written)| {
            Condition::Test(Test { subject: Subject::Name(name), compare, written: written.into(), span })
        });
        self.plan.gates.push(Gate {
            label: name.clone(),
            name,
            shuts: if fits.is_some() { Vec::new() } else { vec![Shut::Product(self.product)] },
            holds: Vec::new(),
            fits,
            hours: None,
            condition,
            unless: None,
            line: Some(LabelLine { product: self.product, word, other: None, limit, written: said.into() }),
            why: Why { because: Some("the label of the jug says so".into()), cites: Vec::new() },
            span,
        });
    }
}
