//! Sums, products, powers, roundings and functions.
//!
//! Comes in: the parts of such a step as written. Goes out: an expression of the plan. A temperature is a point on a
//! scale: two of them have a difference, and nothing else.

use super::Checker;
use super::conditions::Scene;
use super::expressions::{Typed, is_bare, is_degrees, typed};
use super::kinds;
use super::units_of::Hint;
use super::wording;
use crate::plan::{Expr, ExprNode, Function, Kind, Operator, Pick};
use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::syntax::tree::{Expression, Quantity, UnitWord};
use crate::units::{Dimension, Unit};

impl<'a> Checker<'a> {
    pub(super) fn sum(
        &mut self,
        operator: Operator,
        left: &Expression<'a>,
        right: &Expression<'a>,
        span: Span,
        scene: &mut Scene,
    ) -> Option<Typed> {
        let difference = Kind::Quantity(Dimension::TEMPERATURE);
        // A temperature literal beside a difference is a difference; beside a temperature it is one in a sum only.
        let place = |other: Option<Kind>, literal: &Expression<'_>| match other {
            Some(Kind::Temperature) if is_degrees(literal) => {
                Some(if operator == Operator::Plus { difference } else { Kind::Temperature })
            }
            Some(kind) if kind == difference && is_degrees(literal) => Some(difference),
            Some(Kind::Count) if is_bare(literal) => Some(Kind::Count),
            Some(_) | None => None,
        };
        let (left, right) = if (is_degrees(left) || is_bare(left)) && !is_degrees(right) && !is_bare(right) {
            let right = self.expression(right, None, scene);
            let left = self.expression(left, place(right.as_ref().map(Typed::kind), left), scene);
            (left?, right?)
        } else {
            let left = self.expression(left, None, scene);
            let right = self.expression(right, place(left.as_ref().map(Typed::kind), right), scene);
            (left?, right?)
        };
        let sound = (self.numeric(&left.expr), self.numeric(&right.expr));
        sound.0.and(sound.1)?;
        let kind = match (left.kind(), operator, right.kind()) {
            (Kind::Temperature, Operator::Minus, Kind::Temperature) => difference,
            (Kind::Temperature, _, Kind::Temperature) => {
                let message = "two temperatures have no sum";
                let help =
                    "add their numbers: `(a in °C) + (b in °C)`, or write their mean as `a + (b - a) / 2`";
                return self.fail(Problem::new(Finding::KindMismatch, span, message).help(help));
            }
            (Kind::Temperature, _, kind) if kind == difference => Kind::Temperature,
            (kind, Operator::Plus, Kind::Temperature) if kind == difference => Kind::Temperature,
            (kind, _, Kind::Temperature) if kind == difference => {
                let message = "a temperature cannot be taken from a difference of temperatures";
                return self.fail(
                    Problem::new(Finding::KindMismatch, span, message)
                        .help("write the temperature first: `a - b`"),
                );
            }
            (Kind::Count, Operator::Plus, Kind::Count) => Kind::Count,
            (one, _, other) if kinds::is_plain(one) && kinds::is_plain(other) => Kind::Number,
            (one, _, other) if one == other => one,
            _ => return self.apart(&left.expr, &right.expr, "they cannot be added or taken away"),
        };
        let hint = left.hint.or(right.hint);
        Some(typed(ExprNode::Arithmetic(operator, left.expr, right.expr), kind, hint, span))
    }

    /// Says that a point on a scale cannot be multiplied.
    fn no_point(&mut self, expr: &Expr) -> Option<()> {
        self.numeric(expr)?;
        if expr.kind != Kind::Temperature {
            return Some(());
        }
        let message = "a temperature is a point on a scale, and cannot be multiplied or divided";
        self.fail(
            Problem::new(Finding::KindMismatch, expr.span, message)
                .help("take its plain number, `(a in °C)`, or a difference, `(a - b)`"),
        )
    }

    pub(super) fn product_or_quotient(
        &mut self,
        operator: Operator,
        left: &Expression<'a>,
        right: &Expression<'a>,
        span: Span,
        scene: &mut Scene,
    ) -> Option<Typed> {
        let amount = |it: &Expression<'_>| is_degrees(it).then_some(Kind::Quantity(Dimension::TEMPERATURE));
        let (left, right) =
            (self.expression(left, amount(left), scene), self.expression(right, amount(right), scene));
        let (left, right) = (left?, right?);
        let sound = (self.no_point(&left.expr), self.no_point(&right.expr));
        sound.0.and(sound.1)?;
        let (one, other) = (left.kind().dimension(), right.kind().dimension());
        let dimension = if operator == Operator::Times { one.times(other) } else { one.over(other) };
        let counts = left.kind() == Kind::Count && right.kind() == Kind::Count && operator == Operator::Times;
        let kind = if counts { Kind::Count } else { kinds::of_dimension(dimension) };
        let hint = match (one == Dimension::NONE, other == Dimension::NONE) {
            (false, true) => left.hint,
            (true, false) if operator == Operator::Times => right.hint,
            (_, _) => Hint::Open,
        };
        Some(typed(ExprNode::Arithmetic(operator, left.expr, right.expr), kind, hint, span))
    }

    pub(super) fn power(
        &mut self,
        base: &Expression<'a>,
        exponent: &Expression<'a>,
        span: Span,
        scene: &mut Scene,
    ) -> Option<Typed> {
        let amount = is_degrees(base).then_some(Kind::Quantity(Dimension::TEMPERATURE));
        let (base, exponent) = (self.expression(base, amount, scene), self.expression(exponent, None, scene));
        let (base, exponent) = (base?, exponent?);
        let sound = (self.no_point(&base.expr), self.numeric(&exponent.expr));
        sound.0.and(sound.1)?;
        if !kinds::is_plain(exponent.kind()) {
            let message =
                format!("an exponent is a plain number, and this is {}", self.called(exponent.kind()));
            return self.fail(Problem::new(Finding::UnitMismatch, exponent.expr.span, message));
        }
        let dimension = base.kind().dimension();
        let kind = if dimension == Dimension::NONE {
            Kind::Number
        } else {
            let whole = match *exponent.expr.node {
                ExprNode::Number(number) if number.fract() == 0.0 && number.abs() <= 9.0 => {
                    Some(number as i8)
                }
                _ => None,
            };
            let Some(dimension) = whole.and_then(|exponent| dimension.power(exponent)) else {
                let message = format!("{} takes a small whole number as exponent", self.called(base.kind()));
                return self.fail(
                    Problem::new(Finding::UnitMismatch, exponent.expr.span, message)
                        .help("take the plain number of the base first: `(a in h) ^ 1.5`"),
                );
            };
            kinds::of_dimension(dimension)
        };
        Some(typed(ExprNode::Arithmetic(Operator::Power, base.expr, exponent.expr), kind, Hint::Open, span))
    }

    pub(super) fn in_unit(
        &mut self,
        inner: &Expression<'a>,
        word: &UnitWord<'_>,
        at: Span,
        span: Span,
        scene: &mut Scene,
    ) -> Option<Typed> {
        let (inner, unit) = (self.expression(inner, None, scene), self.unit(word, at));
        let (inner, unit) = (inner?, unit?);
        self.numeric(&inner.expr)?;
        if unit.dimension != inner.kind().dimension() {
            let called = if unit.is_temperature() { "a temperature".into() } else { unit.dimension.called() };
            let message =
                format!("`{}` is a unit of {called}, and this is {}", unit.symbol, self.called(inner.kind()));
            let symbols = kinds::unit_symbols(inner.kind());
            let help =
                (!symbols.is_empty()).then(|| format!("use one of these units: {}", wording::both(symbols)));
            return self.fail(Problem::new(Finding::UnitMismatch, at, message).maybe_help(help));
        }
        Some(typed(ExprNode::InUnit(inner.expr, unit), Kind::Number, Hint::Unit(Unit::none()), span))
    }

    pub(super) fn rounded(
        &mut self,
        inner: &Expression<'a>,
        step: &Quantity<'a>,
        expected: Option<Kind>,
        span: Span,
        scene: &mut Scene,
    ) -> Option<Typed> {
        let inner = self.expression(inner, expected, scene)?;
        self.numeric(&inner.expr)?;
        let step_kind = match inner.kind() {
            Kind::Temperature => Kind::Quantity(Dimension::TEMPERATURE),
            Kind::Count => Kind::Number,
            kind => kind,
        };
        let (_, unit) = self.quantity(step, step_kind)?;
        if step.number.value <= 0.0 {
            let message = format!("`{}` is no step to round to", wording::quantity(step));
            return self.fail(
                Problem::new(Finding::OutOfRange, step.span, message)
                    .help("write a step above zero: `rounded to 1 °C`"),
            );
        }
        let (kind, hint) = (inner.kind(), inner.hint.or(Hint::Unit(unit.clone())));
        Some(typed(ExprNode::Rounded(inner.expr, step.number.value, unit), kind, hint, span))
    }

    pub(super) fn pick(
        &mut self,
        pick: Pick,
        first: &Expression<'a>,
        second: &Expression<'a>,
        expected: Option<Kind>,
        span: Span,
        scene: &mut Scene,
    ) -> Option<Typed> {
        let (first, second) = self.pair(first, second, expected, scene)?;
        let sound = (self.numeric(&first.expr), self.numeric(&second.expr));
        sound.0.and(sound.1)?;
        let kind = self.joined(&first.expr, &second.expr)?;
        Some(typed(ExprNode::Pick(pick, first.expr, second.expr), kind, first.hint.or(second.hint), span))
    }

    pub(super) fn function(
        &mut self,
        function: Function,
        inner: &Expression<'a>,
        span: Span,
        scene: &mut Scene,
    ) -> Option<Typed> {
        let inner = self.expression(inner, None, scene)?;
        self.numeric(&inner.expr)?;
        if !kinds::is_plain(inner.kind()) {
            let (word, of) = match function {
                Function::SquareRoot => ("square root", "square root of"),
                Function::NaturalLog => ("natural log", "natural log of"),
                Function::Exponential => ("exponential", "exponential of"),
            };
            let unit = kinds::unit_symbols(inner.kind()).first().copied().unwrap_or("h");
            let message =
                format!("the {word} is of a plain number, and this is {}", self.called(inner.kind()));
            return self.fail(
                Problem::new(Finding::UnitMismatch, inner.expr.span, message)
                    .help(format!("take its plain number in a unit: `{of} (a in {unit})`")),
            );
        }
        Some(typed(ExprNode::Function(function, inner.expr), Kind::Number, Hint::Unit(Unit::none()), span))
    }
}
