//! Conditions and what a name is compared with.

use super::{At, Name, Value};
use crate::source::Span;

/// A condition.
#[derive(Clone, Debug, PartialEq)]
#[expect(clippy::large_enum_variant, reason = "most conditions are comparisons, the largest of them")]
pub enum Condition<'s> {
    /// All of them hold; two or more.
    All(Vec<Condition<'s>>),
    /// Any of them holds; two or more.
    Any(Vec<Condition<'s>>),
    /// It does not hold.
    Not(Box<Condition<'s>>, At),
    /// In parentheses, kept for the formatter.
    Parenthesis(Box<Condition<'s>>, At),
    /// `some|all panicles with …`
    Panicles(Quantifier, Box<Condition<'s>>, At),
    /// A name that stands alone.
    Bare(Name<'s>),
    /// A name compared.
    Test(Name<'s>, Comparison<'s>, At),
}

impl Condition<'_> {
    /// Returns where the condition stands.
    pub fn span(&self) -> Span {
        match self {
            Condition::All(parts) | Condition::Any(parts) => {
                let first = parts.first().map(Condition::span).unwrap_or_default();
                parts.last().map_or(first, |last| first.to(last.span()))
            }
            Condition::Not(_, span)
            | Condition::Parenthesis(_, span)
            | Condition::Panicles(_, _, span)
            | Condition::Test(_, _, span) => span.0,
            Condition::Bare(name) => name.span,
        }
    }
}

/// Whether some or all.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Quantifier {
    /// At least one.
    Some,
    /// Every one.
    All,
}

/// What a name is compared with.
#[derive(Clone, Debug, PartialEq)]
pub enum Comparison<'s> {
    /// `at least A`
    AtLeast(Value<'s>),
    /// `at most A`
    AtMost(Value<'s>),
    /// `above A`
    Above(Value<'s>),
    /// `below A`
    Below(Value<'s>),
    /// `is A`
    Is(Value<'s>),
    /// `is not A`
    IsNot(Value<'s>),
    /// `is one of A, B`
    IsOneOf(Vec<Value<'s>>),
    /// `from A to B`, both ends counted
    FromTo(Value<'s>, Value<'s>),
    /// `from A to below B`
    FromToBelow(Value<'s>, Value<'s>),
}
