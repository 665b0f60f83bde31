//! Arithmetic on what values can be: one definition for hours, days and trees.
//!
//! An operation with an empty value is empty, with an unknown one unknown; on intervals it is interval arithmetic,
//! exact where the result rises or falls with each operand.

use super::{Cause, Extent, InDoubt, NoValue, Possible, Reading, lookup};
use crate::plan::{Expr, ExprNode, Function, Kind, Operator, Pick, Plan};
use crate::units::{Dimension, Unit};

/// A value on its way through an expression, with whatever it carries along.
pub trait Carried: Clone {
    /// Returns what the value can be.
    fn extent(&self) -> Extent;

    /// Makes a value from the values that went into it; the cause says why it is empty or unknown where none of
    /// them is.
    fn made_of(extent: Extent, parts: &[&Self], cause: Option<Cause>) -> Self;
}

impl Carried for Reading {
    fn extent(&self) -> Extent {
        self.extent
    }

    fn made_of(extent: Extent, parts: &[&Self], cause: Option<Cause>) -> Self {
        let blemished = !extent.is_settled() || extent.is_empty();
        let fits = |part: &&&Self| {
            !part.extent.is_settled() || part.extent.is_empty() && (extent.is_empty() || extent.may_be_empty)
        };
        let inherited = || parts.iter().find(fits).and_then(|part| part.cause.clone());
        let cause = if blemished { inherited().or(cause) } else { None };
        let any = |mark: fn(&Self) -> bool| parts.iter().any(|part| mark(part));
        Self { extent, cause, forecast: any(|part| part.forecast), assumed: any(|part| part.assumed) }
    }
}

/// Computes an expression. `leaf` gives whatever is no arithmetic: names, series, aggregates, the spray log,
/// panicles.
pub fn evaluate<V: Carried>(expr: &Expr, plan: &Plan, leaf: &mut dyn FnMut(&Expr) -> V) -> V {
    match &*expr.node {
        ExprNode::Number(number) => V::made_of(Extent::number(*number), &[], None),
        ExprNode::Word(place) => V::made_of(Extent::word(*place), &[], None),
        ExprNode::Arithmetic(operator, left, right) => {
            let (a, b) = (evaluate(left, plan, leaf), evaluate(right, plan, leaf));
            let scaled = dates(*operator, left.kind, right.kind);
            let (extent, why) = operate(*operator, a.extent(), b.extent(), scaled);
            let (extent, cause) = countable(extent, &[a.extent(), b.extent()], why);
            V::made_of(extent, &[&a, &b], cause)
        }
        ExprNode::InUnit(inner, unit) => {
            let a = evaluate(inner, plan, leaf);
            let point = inner.kind == Kind::Temperature;
            let extent = rising(a.extent(), |number| from_base(unit, point, number));
            let (extent, cause) = countable(extent, &[a.extent()], None);
            V::made_of(extent, &[&a], cause)
        }
        ExprNode::Rounded(inner, step, unit) => {
            let a = evaluate(inner, plan, leaf);
            let point = inner.kind == Kind::Temperature;
            let extent = rising(a.extent(), |number| round(number, *step, unit, point));
            V::made_of(extent, &[&a], None)
        }
        ExprNode::Kept(inner, low, high) => {
            let parts = [inner, low, high].map(|part| evaluate(part, plan, leaf));
            let [a, low, high] = &parts;
            let floor = pick(Pick::Greater, a.extent(), low.extent());
            let extent = pick(Pick::Lesser, floor, high.extent());
            V::made_of(extent, &[a, low, high], None)
        }
        ExprNode::OrElse(first, second) => {
            let a = evaluate(first, plan, leaf);
            if !a.extent().may_be_empty {
                return a;
            }
            let b = evaluate(second, plan, leaf);
            if a.extent().is_empty() {
                return V::made_of(b.extent(), &[&b, &a], None);
            }
            let there = Extent { may_be_empty: false, ..a.extent() };
            V::made_of(there.union(b.extent()), &[&a, &b], None)
        }
        ExprNode::Pick(which, left, right) => {
            let (a, b) = (evaluate(left, plan, leaf), evaluate(right, plan, leaf));
            V::made_of(pick(*which, a.extent(), b.extent()), &[&a, &b], None)
        }
        ExprNode::Function(function, inner) => {
            let a = evaluate(inner, plan, leaf);
            let (extent, why) = apply(*function, a.extent());
            let (extent, cause) = countable(extent, &[a.extent()], why);
            V::made_of(extent, &[&a], cause)
        }
        ExprNode::Lookup(table, keys) => {
            let keys: Vec<V> = keys.iter().map(|key| evaluate(key, plan, leaf)).collect();
            let extents: Vec<Extent> = keys.iter().map(Carried::extent).collect();
            let (extent, cause) = plan
                .tables
                .get(table.index())
                .map_or((Extent::EMPTY, None), |table| lookup(plan, table, &extents));
            V::made_of(extent, &keys.iter().collect::<Vec<_>>(), cause)
        }
        ExprNode::Name(_)
        | ExprNode::Series(_)
        | ExprNode::Hourly(_)
        | ExprNode::Daily(_)
        | ExprNode::DaysSinceLast(_)
        | ExprNode::DaysSince(_)
        | ExprNode::DaysTo(_)
        | ExprNode::DaysToHarvest
        | ExprNode::SpraysInARow(_)
        | ExprNode::SpraysOf(..)
        | ExprNode::AmountOf(..)
        | ExprNode::AmountOfProduct(..)
        | ExprNode::Panicles(..)
        | ExprNode::ShareOfPanicles(_)
        | ExprNode::ShareOfTrees(..)
        | ExprNode::OfPanicles(..)
        | ExprNode::LikelyRange(_)
        | ExprNode::Aggregate(..)
        | ExprNode::Fitting { .. } => leaf(expr),
    }
}

/// How many base units of a duration one step of the operands is: dates count days, durations hours.
fn dates(operator: Operator, left: Kind, right: Kind) -> Scaled {
    let time = Kind::Quantity(Dimension::TIME);
    match (operator, left, right) {
        (Operator::Minus, Kind::Date, Kind::Date) => Scaled { right: 1.0, left: 1.0, result: 24.0 },
        (Operator::Plus | Operator::Minus, Kind::Date, kind) if kind == time => {
            Scaled { right: 1.0 / 24.0, ..Scaled::NOT }
        }
        (Operator::Plus, kind, Kind::Date) if kind == time => Scaled { left: 1.0 / 24.0, ..Scaled::NOT },
        _ => Scaled::NOT,
    }
}

/// What the operands and the result are multiplied by.
#[derive(Clone, Copy, PartialEq)]
struct Scaled {
    left: f64,
    right: f64,
    result: f64,
}

impl Scaled {
    const NOT: Self = Self { left: 1.0, right: 1.0, result: 1.0 };
}

type Made = (Extent, Option<NoValue>);

fn operate(operator: Operator, a: Extent, b: Extent, scaled: Scaled) -> Made {
    let (Some((a_low, a_high)), Some((b_low, b_high))) = (a.ends(), b.ends()) else {
        return (Extent::EMPTY, None);
    };
    let (a_low, a_high) = (a_low * scaled.left, a_high * scaled.left);
    let (b_low, b_high) = (b_low * scaled.right, b_high * scaled.right);
    let made = match operator {
        Operator::Plus => (Extent::between(a_low + b_low, a_high + b_high), None),
        Operator::Minus => (Extent::between(a_low - b_high, a_high - b_low), None),
        Operator::Times => (corners([a_low, a_high], [b_low, b_high], times), None),
        Operator::Over => divide([a_low, a_high], [b_low, b_high]),
        Operator::Power => power([a_low, a_high], [b_low, b_high]),
    };
    let extent = if scaled == Scaled::NOT { made.0 } else { rising(made.0, |number| number * scaled.result) };
    (empty_if(extent, a.may_be_empty || b.may_be_empty), made.1)
}

/// Keeps a result from having no end where numbers with an end gave it: it is at least the greatest number, and no
/// more is known. The duration of a spray that never was has no end, and goes on as it is.
fn countable(made: Extent, parts: &[Extent], why: Option<NoValue>) -> (Extent, Option<Cause>) {
    let cause = why.map(Cause::Empty);
    let endless = |part: &Extent| part.ends().is_some_and(|(low, high)| low == high && low.is_infinite());
    let Some((low, high)) = made.ends().filter(|_| !parts.iter().any(endless)) else { return (made, cause) };
    let kept = Extent::between(low.min(f64::MAX), high.max(f64::MIN));
    let grew = |part: &Extent| part.ends().is_some_and(|(low, high)| low.is_finite() && high.is_finite());
    let over =
        made.ends() != kept.ends() || ((low.is_infinite() || high.is_infinite()) && parts.iter().all(grew));
    (empty_if(kept, made.may_be_empty), cause.or_else(|| over.then_some(Cause::Doubt(InDoubt::TooGreat))))
}

fn empty_if(extent: Extent, may_be_empty: bool) -> Extent {
    if may_be_empty { extent.or_empty() } else { extent }
}

/// Returns what an operation gives on the corners of two intervals.
fn corners(a: [f64; 2], b: [f64; 2], with: fn(f64, f64) -> f64) -> Extent {
    let all = a.iter().flat_map(|a| b.iter().map(move |b| with(*a, *b)));
    let (mut low, mut high, mut none) = (f64::INFINITY, f64::NEG_INFINITY, false);
    for number in all {
        none |= number.is_nan();
        (low, high) = (low.min(number), high.max(number));
    }
    if none { Extent::EMPTY } else { Extent::between(low, high) }
}

/// Nothing times something that is larger than any number is nothing.
fn times(a: f64, b: f64) -> f64 {
    if a == 0.0 || b == 0.0 { 0.0 } else { a * b }
}

/// Something by something larger than any number is nothing; where both are, it may be anything from there on.
fn over(a: f64, b: f64) -> f64 {
    if b.is_infinite() { 0.0 } else { a / b }
}

fn divide(a: [f64; 2], b: [f64; 2]) -> Made {
    let [b_low, b_high] = b;
    if b_low == 0.0 && b_high == 0.0 {
        return (Extent::EMPTY, Some(NoValue::ByZero));
    }
    if a[0].is_infinite() && a[0] == a[1] && b_low.is_infinite() && b_low == b_high {
        return (Extent::EMPTY, None);
    }
    if b_low > 0.0 || b_high < 0.0 {
        return (corners(a, b, over), None);
    }
    // The divisor may be zero: towards it the quotient has no end on the side of its sign.
    let mut extent: Option<Extent> = None;
    for (edge, sign) in [(b_low, -1.0), (b_high, 1.0)] {
        if edge != 0.0 {
            let towards =
                corners(a, [edge, edge], over).union(corners(a, [sign * f64::INFINITY; 2], |a, infinite| {
                    if a == 0.0 { 0.0 } else { a.signum() * infinite }
                }));
            extent = Some(extent.map_or(towards, |other| other.union(towards)));
        }
    }
    (extent.unwrap_or(Extent::EMPTY).or_empty(), Some(NoValue::ByZero))
}

fn power(a: [f64; 2], b: [f64; 2]) -> Made {
    let ([a_low, a_high], [b_low, b_high]) = (a, b);
    let one_exponent = b_low == b_high;
    if one_exponent && b_low.fract() == 0.0 && b_low.abs() < 1e15 && (a_low < 0.0 || b_low < 0.0) {
        return whole_power(a, b_low);
    }
    if a_low > 0.0 || (a_low == 0.0 && b_low >= 0.0) {
        return (corners(a, b, libm::pow), None);
    }
    let mut parts = Vec::new();
    if a_high > 0.0 || (a_high == 0.0 && b_high >= 0.0) {
        parts.push(corners([0.0, a_high], b, libm::pow));
    }
    // Of negative numbers there are the whole powers, of either sign.
    if a_low < 0.0 && !one_exponent && libm::ceil(b_low) <= libm::floor(b_high) {
        let size = corners([(-a_high).max(0.0), -a_low], b, libm::pow);
        parts.extend(size.ends().map(|(_, most)| Extent::between(-most, most)));
    }
    let extent = parts.into_iter().reduce(Extent::union).unwrap_or(Extent::EMPTY);
    (extent.or_empty(), Some(NoValue::Power))
}

/// Returns powers with a whole exponent of numbers that may be negative.
fn whole_power(a: [f64; 2], exponent: f64) -> Made {
    let [low, high] = a;
    if exponent < 0.0 {
        let (Extent { can_be: Possible::Numbers(from, to), .. }, _) = whole_power(a, -exponent) else {
            return (Extent::EMPTY, None);
        };
        return divide([1.0, 1.0], [from, to]);
    }
    let ends = corners(a, [exponent; 2], libm::pow);
    let even = exponent % 2.0 == 0.0;
    if even && low < 0.0 && high > 0.0 && exponent > 0.0 {
        return (ends.union(Extent::number(0.0)), None);
    }
    (ends, None)
}

fn pick(which: Pick, a: Extent, b: Extent) -> Extent {
    let (Some((a_low, a_high)), Some((b_low, b_high))) = (a.ends(), b.ends()) else {
        return pick_words(which, a, b);
    };
    let of = match which {
        Pick::Greater => f64::max,
        Pick::Lesser => f64::min,
    };
    empty_if(Extent::between(of(a_low, b_low), of(a_high, b_high)), a.may_be_empty || b.may_be_empty)
}

fn pick_words(which: Pick, a: Extent, b: Extent) -> Extent {
    let (a_set, b_set) = (a.word_set(), b.word_set());
    if a_set == 0 || b_set == 0 {
        return Extent::EMPTY;
    }
    let places = |set: u64| (0..64u32).filter(move |place| set & (1 << place) != 0);
    let mut picked = 0;
    for one in places(a_set) {
        for other in places(b_set) {
            let place = match which {
                Pick::Greater => one.max(other),
                Pick::Lesser => one.min(other),
            };
            picked |= 1 << place;
        }
    }
    empty_if(Extent::words(picked), a.may_be_empty || b.may_be_empty)
}

fn apply(function: Function, a: Extent) -> Made {
    let Some((low, high)) = a.ends() else { return (Extent::EMPTY, None) };
    let (made, why) = match function {
        Function::Exponential => return (rising(a, libm::exp), None),
        Function::SquareRoot if high < 0.0 => (Extent::EMPTY, Some(NoValue::Root)),
        Function::SquareRoot if low < 0.0 => {
            let root = Extent::between(0.0, libm::sqrt(high)).or_empty();
            (root, Some(NoValue::Root))
        }
        Function::SquareRoot => (Extent::between(libm::sqrt(low), libm::sqrt(high)), None),
        Function::NaturalLog if high <= 0.0 => (Extent::EMPTY, Some(NoValue::Logarithm)),
        Function::NaturalLog if low <= 0.0 => {
            let log = Extent::between(f64::NEG_INFINITY, libm::log(high)).or_empty();
            (log, Some(NoValue::Logarithm))
        }
        Function::NaturalLog => (Extent::between(libm::log(low), libm::log(high)), None),
    };
    (empty_if(made, a.may_be_empty), why)
}

/// Returns what a function that never falls gives on an extent of numbers.
fn rising(extent: Extent, of: impl Fn(f64) -> f64) -> Extent {
    let Some((low, high)) = extent.ends() else { return Extent::EMPTY };
    empty_if(Extent::between(of(low), of(high)), extent.may_be_empty)
}

fn from_base(unit: &Unit, point: bool, number: f64) -> f64 {
    if !number.is_finite() {
        number
    } else if point {
        unit.point_from_base(number)
    } else {
        unit.amount_from_base(number)
    }
}

/// Rounds to whole steps of a unit, halves up; a half that binary arithmetic left a little short is a half.
fn round(number: f64, step: f64, unit: &Unit, point: bool) -> f64 {
    if !number.is_finite() || step <= 0.0 || step.is_nan() {
        return number;
    }
    let steps = from_base(unit, point, number) / step;
    let whole = libm::floor(steps + 0.5 + (1e-9 * steps.abs().max(1.0)).min(1e-6)) * step;
    if point { unit.point_to_base(whole) } else { unit.amount_to_base(whole) }
}
