//! Products: their strengths, and what their labels say apart from gates.
//!
//! Comes in: product items. Goes out: products of the plan. Label lines become gates in `labels`.

use super::Checker;
use super::definitions::label;
use super::wording;
use crate::plan::{Amount, AmountOf, DiseaseId, ItemKind, Product, Strength};
use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::syntax::tree::{Clause, Item, Label, Name, Quantity, UnitWord};
use crate::units::{self, Dimension, Unit};

/// What an amount of spray material is measured by.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum By {
    /// The volume of spray.
    Volume,
    /// The area.
    Area,
}

impl<'a> Checker<'a> {
    /// Lists a product with what others ask of it: its strengths, groups and ingredient.
    pub(super) fn product(&mut self, item: &'a Item<'a>) {
        let mut product = Product {
            name: item.name.map_or("", |name| name.value).into(),
            label: label(item).into(),
            active: None,
            groups: Vec::new(),
            contains: None,
            against: Vec::new(),
            class: None,
            strengths: Vec::new(),
            re_entry: None,
            before_harvest: None,
            cautions: Vec::new(),
            why: Default::default(),
            span: item.span,
        };
        let contains = ingredient(item);
        if let Some(contains) = contains {
            product.contains = Some(contains.into());
            self.ingredients.insert(contains);
        }
        let mut names: Vec<Name<'a>> = Vec::new();
        for clause in &item.clauses {
            match &clause.value {
                Clause::Active(text) => product.active = Some(text.value.as_str().into()),
                Clause::Group(codes) => {
                    for code in codes {
                        self.groups.insert(code.value);
                        product.groups.push(code.value.into());
                    }
                }
                Clause::Class(class) => product.class = Some(class.value),
                Clause::Caution(text) => product.cautions.push(text.value.as_str().into()),
                Clause::Strength(name, quantity, of) => {
                    names.push(*name);
                    let amount = self.amount(item, quantity, of.as_ref(), contains);
                    let sound = amount.is_some();
                    let amount = amount.unwrap_or_else(no_amount);
                    if sound {
                        self.grows(&product.strengths, &amount, clause.span);
                    }
                    let (name, shown) = (name.value.into(), crate::plan::spaced(name.value).into());
                    product.strengths.push(Strength { name, shown, amount, span: clause.span });
                }
                Clause::Label(Label::ReEntry(quantity)) => product.re_entry = self.duration(quantity),
                Clause::Label(Label::BeforeHarvest(quantity)) => {
                    product.before_harvest = self.duration(quantity).map(|hours| hours / 24.0);
                }
                _ => {}
            }
        }
        self.distinct(&names, "strength");
        if product.strengths.len() > 60 {
            let message = "a product has at most 60 strengths";
            self.problems.push(Problem::new(Finding::OutOfRange, item.word, message));
        }
        self.plan.products.push(product);
    }

    /// Checks what a product is good against, and whence it is known.
    pub(super) fn product_words(&mut self, number: usize, item: &'a Item<'a>) {
        let why = self.why(item);
        let mut against: Vec<(DiseaseId, _)> = Vec::new();
        for clause in &item.clauses {
            let Clause::GoodAgainst(list) = &clause.value else { continue };
            for (disease, goodness) in list {
                let Some(id) = self.find(ItemKind::Disease, disease).map(DiseaseId) else { continue };
                if against.iter().any(|(known, _)| *known == id) {
                    let message = format!("`{}` is named here twice", disease.value);
                    self.problems.push(
                        Problem::new(Finding::DefinedTwice, disease.span, message)
                            .help("leave one of them out"),
                    );
                    continue;
                }
                against.push((id, *goodness));
            }
        }
        if let Some(product) = self.plan.products.get_mut(number) {
            product.why = why;
            product.against = against;
        }
    }

    /// Says where a strength is weaker than the one before it.
    fn grows(&mut self, before: &[Strength], amount: &Amount, span: Span) {
        let comparable = before
            .iter()
            .rev()
            .find(|it| it.amount.of == amount.of && it.amount.unit.dimension == amount.unit.dimension);
        let Some(last) = comparable else { return };
        if !amount.threshold().is_kept_by(last.amount.quantity, true) {
            let message = format!(
                "strengths are listed weakest first, and `{}` is weaker than the one before",
                amount.written
            );
            self.problems.push(
                Problem::new(Finding::OutOfRange, span, message)
                    .related(last.span, format!("this one is `{}`", last.amount.written))
                    .help("move the weaker one up"),
            );
        }
    }

    /// Returns an amount of a product or of its ingredient, by volume of spray or by area.
    pub(super) fn amount(
        &mut self,
        item: &'a Item<'a>,
        quantity: &Quantity<'a>,
        of: Option<&Name<'a>>,
        contains: Option<&'a str>,
    ) -> Option<Amount> {
        let number = self.finite(quantity.number, quantity.span)?;
        let unit = match &quantity.unit {
            Some(word) => Some(self.unit(word, quantity.span)?),
            None => None,
        };
        let measured = quantity.unit.as_ref().and_then(measured_by);
        let Some(unit) = unit.filter(|_| measured.is_some()) else {
            let message = format!("`{}` is no strength of a spray", wording::quantity(quantity));
            return self.fail(Problem::new(Finding::UnitMismatch, quantity.span, message).help(
                "write an amount by volume of spray or by area: `2 lb / 100 gal`, `600 ppm copper`, `3 lb / ac`",
            ));
        };
        if number <= 0.0 {
            let message = format!("`{}` is no amount above zero", wording::quantity(quantity));
            return self.fail(Problem::new(Finding::OutOfRange, quantity.span, message));
        }
        let ingredient = match (&quantity.unit, of) {
            (Some(UnitWord::Ppm(ingredient)), _) => Some((*ingredient, quantity.span)),
            (_, Some(of)) => Some((of.value, of.span)),
            (_, None) => None,
        };
        if let Some((ingredient, at)) = ingredient {
            self.of_ingredient(item, ingredient, at, contains)?;
        }
        let of_mass = unit.dimension.mass == 1;
        if ingredient.is_some() && !of_mass {
            let message = "an ingredient is counted by its mass, and this is a volume";
            return self.fail(
                Problem::new(Finding::UnitMismatch, quantity.span, message)
                    .help("write `600 ppm copper` or `2 kg / ha copper`"),
            );
        }
        let value = unit.amount_to_base(number);
        if !value.is_finite() {
            let message = format!("`{}` is too great an amount to reckon with", wording::quantity(quantity));
            return self.fail(Problem::new(Finding::OutOfRange, quantity.span, message));
        }
        let amount = Amount {
            quantity: value,
            unit,
            of: if ingredient.is_some() { AmountOf::Ingredient } else { AmountOf::Product },
            written: wording::amount(quantity, of).into(),
        };
        Some(amount)
    }

    /// Says where an amount is of another ingredient than its product contains.
    fn of_ingredient(
        &mut self,
        item: &'a Item<'a>,
        ingredient: &str,
        at: Span,
        contains: Option<&'a str>,
    ) -> Option<()> {
        if contains == Some(ingredient) {
            return Some(());
        }
        let product = item.name.map_or("", |name| name.value);
        let (message, help) = match contains {
            Some(contains) => (
                format!("`{product}` contains `{contains}`, and this counts `{ingredient}`"),
                format!("write `{contains}`, or change its `contains`"),
            ),
            None => (
                format!("`{product}` does not say that it contains `{ingredient}`"),
                format!("add a line: `contains {ingredient}`"),
            ),
        };
        self.fail(Problem::new(Finding::UnknownName, at, message).help(help))
    }

    /// Reports strengths above a label of their own product, where both are by area and of the same thing.
    pub(super) fn above_label(&mut self, product: usize, cap: &Amount, line: &str, at: Span) {
        let Some(product) = self.plan.products.get(product) else { return };
        let above = |strength: &&Strength| {
            strength.amount.of == cap.of
                && strength.amount.unit.dimension == cap.unit.dimension
                && is_by_area(&strength.amount.unit)
                && cap.quantity > 0.0
                && !cap.threshold().is_kept_by(strength.amount.quantity, true)
        };
        for strength in product.strengths.iter().filter(above) {
            let message = format!(
                "`{}` at `{}` is `{}`, above its label: `{line}`",
                product.name, strength.name, strength.amount.written
            );
            self.problems.push(
                Problem::new(Finding::LabelBroken, strength.span, message)
                    .related(at, "the label line")
                    .help(format!("the label leaves at most `{}`", cap.written)),
            );
        }
    }
}

/// Returns what a product contains: as it says, or the only ingredient that its strengths are counted in.
pub(super) fn ingredient<'a>(item: &'a Item<'a>) -> Option<&'a str> {
    let said = item.clauses.iter().find_map(|clause| match &clause.value {
        Clause::Contains(name) => Some(name.value),
        _ => None,
    });
    said.or_else(|| {
        item.clauses.iter().find_map(|clause| match &clause.value {
            Clause::Strength(_, Quantity { unit: Some(UnitWord::Ppm(of)), .. }, _) => Some(*of),
            Clause::Strength(_, _, Some(of)) => Some(of.value),
            _ => None,
        })
    })
}

/// Returns whether a unit is an amount by volume or by area, nothing where it is neither.
pub(super) fn measured_by(word: &UnitWord<'_>) -> Option<By> {
    match word {
        UnitWord::Ppm(_) => Some(By::Volume),
        UnitWord::Rate { base, .. } => match units::plain(base).map(|unit| unit.dimension) {
            Some(Dimension::VOLUME) => Some(By::Volume),
            Some(Dimension::AREA) => Some(By::Area),
            Some(_) | None => None,
        },
        UnitWord::Plain(_) => None,
    }
}

/// Returns whether an amount in this unit is by area: a mass or a volume on an area.
fn is_by_area(unit: &Unit) -> bool {
    unit.dimension == Dimension::RATE || unit.dimension == Dimension::LENGTH
}

fn no_amount() -> Amount {
    Amount { quantity: 0.0, unit: Unit::none(), of: AmountOf::Product, written: "".into() }
}
