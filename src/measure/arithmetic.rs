//! Arithmetic on what values can be.
//!
//! The result of an operation is every number that it can give for some values of its operands, exactly where it
//! rises or falls with each of them; a little more elsewhere, never less. Arithmetic with an empty value is empty.

use super::{Extent, Possible};
use crate::plan::{Function, Kind, Operator, Pick};
use crate::units::{Unit, clean, tolerance};

/// Joins two values by an operator.
pub fn arithmetic(operator: Operator, left: Extent, right: Extent) -> Extent {
    two(left, right, |(a, b), (c, d)| match operator {
        Operator::Plus => Extent::between(a + c, b + d),
        Operator::Minus => Extent::between(a - d, b - c),
        Operator::Times => corners((a, b), (c, d), times),
        Operator::Over => over((a, b), (c, d)),
        Operator::Power => power((a, b), (c, d)),
    })
}

/// Returns the greater or the lesser of two values.
pub fn pick(pick: Pick, left: Extent, right: Extent) -> Extent {
    two(left, right, |(a, b), (c, d)| match pick {
        Pick::Greater => Extent::between(a.max(c), b.max(d)),
        Pick::Lesser => Extent::between(a.min(c), b.min(d)),
    })
}

/// Returns a value kept between two others; where they are the wrong way round the upper one counts.
pub fn kept(value: Extent, low: Extent, high: Extent) -> Extent {
    pick(Pick::Lesser, pick(Pick::Greater, value, low), high)
}

/// Returns a value rounded to whole steps of a unit, halves up.
pub fn rounded(value: Extent, kind: Kind, step: f64, unit: &Unit) -> Extent {
    one(value, |(low, high)| {
        let round = |base: f64| {
            if !base.is_finite() {
                return base;
            }
            let number = if kind == Kind::Temperature {
                unit.point_from_base(base)
            } else {
                unit.amount_from_base(base)
            };
            // Binary noise must not turn a half: 20.5 °C stays a half wherever it came from.
            let steps = number / step;
            let whole = (steps + 0.5 + tolerance(steps)).floor();
            if kind == Kind::Temperature {
                unit.point_to_base(clean(whole * step))
            } else {
                unit.amount_to_base(clean(whole * step))
            }
        };
        Extent::between(round(low), round(high))
    })
}

/// Returns the plain number of a value in a unit.
pub fn in_unit(value: Extent, kind: Kind, unit: &Unit) -> Extent {
    one(value, |(low, high)| {
        let number = |base: f64| {
            if kind == Kind::Temperature { unit.point_from_base(base) } else { unit.amount_from_base(base) }
        };
        Extent::between(number(low), number(high))
    })
}

/// Returns a function of a plain number; outside its domain it is empty.
pub fn function(function: Function, value: Extent) -> Extent {
    one(value, |(low, high)| match function {
        Function::SquareRoot => rising((low, high), 0.0, libm::sqrt),
        Function::NaturalLog if low <= 0.0 && high > 0.0 => {
            Extent::between(f64::NEG_INFINITY, libm::log(high)).or_empty()
        }
        Function::NaturalLog if high <= 0.0 => Extent::EMPTY,
        Function::NaturalLog => Extent::between(libm::log(low), libm::log(high)),
        Function::Exponential => Extent::between(libm::exp(low), libm::exp(high)),
    })
}

/// Returns the second value where the first is empty.
pub fn or_else(first: Extent, second: impl FnOnce() -> Extent) -> Extent {
    if !first.may_be_empty {
        return first;
    }
    let second = second();
    if first.is_empty() {
        return second;
    }
    Extent { may_be_empty: false, ..first }.union(second)
}

/// Applies a function to the ends of a value.
fn one(value: Extent, of: impl FnOnce((f64, f64)) -> Extent) -> Extent {
    let found = match value.can_be {
        Possible::Numbers(low, high) => of((low, high)),
        Possible::Nothing | Possible::Words(_) | Possible::Text(_) | Possible::AnyText => Extent::EMPTY,
    };
    Extent { may_be_empty: found.may_be_empty || value.may_be_empty, ..found }
}

fn two(left: Extent, right: Extent, of: impl FnOnce((f64, f64), (f64, f64)) -> Extent) -> Extent {
    let Some(ends) = right.ends() else { return Extent::EMPTY };
    let found = one(left, |left| of(left, ends));
    Extent { may_be_empty: found.may_be_empty || right.may_be_empty, ..found }
}

/// Zero times anything is zero, also times what has no bound.
fn times(a: f64, b: f64) -> f64 {
    if a == 0.0 || b == 0.0 { 0.0 } else { a * b }
}

fn corners((a, b): (f64, f64), (c, d): (f64, f64), of: fn(f64, f64) -> f64) -> Extent {
    let all = [of(a, c), of(a, d), of(b, c), of(b, d)];
    let low = all.iter().copied().fold(f64::INFINITY, f64::min);
    let high = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    Extent::between(low, high)
}

/// Division by zero is empty; where the divisor may be zero the quotient may be anything on that side, or empty.
fn over((a, b): (f64, f64), (c, d): (f64, f64)) -> Extent {
    let quotient = |x: f64, y: f64| if x == 0.0 || y.is_infinite() { 0.0 } else { x / y };
    if c > 0.0 || d < 0.0 {
        return corners((a, b), (c, d), quotient);
    }
    if c == 0.0 && d == 0.0 {
        return Extent::EMPTY;
    }
    if c < 0.0 && d > 0.0 {
        return Extent::between(f64::NEG_INFINITY, f64::INFINITY).or_empty();
    }
    // The divisor is zero at one end: the quotient has no bound there.
    let sign = if c == 0.0 { 1.0 } else { -1.0 };
    let far = if c == 0.0 { d } else { c };
    let (low, high) = if sign > 0.0 { (a, b) } else { (-b, -a) };
    let far = far.abs();
    let low = if low < 0.0 { f64::NEG_INFINITY } else { quotient(low, far) };
    let high = if high > 0.0 { f64::INFINITY } else { quotient(high, far) };
    Extent::between(low, high).or_empty()
}

/// A power of a negative number is empty unless the exponent is whole.
fn power((a, b): (f64, f64), (c, d): (f64, f64)) -> Extent {
    if c == d && c.fract() == 0.0 {
        if c < 0.0 {
            return match power((a, b), (-c, -c)).ends() {
                Some(ends) => over((1.0, 1.0), ends),
                None => Extent::EMPTY,
            };
        }
        let even = c % 2.0 == 0.0;
        let (low, high) = (libm::pow(a, c), libm::pow(b, c));
        return if even && a < 0.0 && b > 0.0 {
            Extent::between(0.0, low.max(high))
        } else {
            Extent::between(low, high)
        };
    }
    if b < 0.0 {
        return Extent::EMPTY;
    }
    let found =
        if a < 0.0 || (a == 0.0 && c < 0.0) {
            corners((0.0f64.max(a), b), (c, d), |x, y| {
                if x == 0.0 && y < 0.0 { f64::INFINITY } else { libm::pow(x, y) }
            })
            .or_empty()
        } else {
            corners((a, b), (c, d), libm::pow)
        };
    if a == 0.0 && b == 0.0 && d < 0.0 { Extent::EMPTY } else { found }
}

/// Applies a rising function that is defined from a number on.
fn rising((low, high): (f64, f64), from: f64, of: fn(f64) -> f64) -> Extent {
    if high < from {
        return Extent::EMPTY;
    }
    let found = Extent::between(of(low.max(from)), of(high));
    if low < from { found.or_empty() } else { found }
}
