//! Builds conditions, comparisons and the patterns of table rows.

use super::grammar::Rule;
use super::pieces::{Built, PieceWalk, RulePiece};
use super::tree::{At, Comparison, Condition, Name, Pattern, Quantifier, TableCell, Value};
use crate::source::Span;

/// How many parentheses, and signs like them, may stand one inside another.
const DEEPEST: usize = 64;

/// A value or an open end: what a range of values says after `to`.
enum UpTo<'s> {
    Closed(Value<'s>),
    Below(Value<'s>),
}

impl<'s> PieceWalk<'s, '_> {
    /// Takes a condition.
    pub fn condition(&mut self) -> Built<Condition<'s>> {
        let whole = self.take()?;
        if !matches!(whole.rule, Rule::condition | Rule::band_condition) {
            return self.odd();
        }
        let first = self.term()?;
        let Some(joint) = self.peek_in(whole) else { return Ok(first) };
        let mut parts = vec![first];
        while self.peek_in(whole) == Some(joint) {
            self.take()?;
            parts.push(self.term()?);
        }
        match joint {
            Rule::kw_and => Ok(Condition::All(parts)),
            Rule::kw_or => Ok(Condition::Any(parts)),
            _ => self.odd(),
        }
    }

    /// Takes one part of a condition.
    fn term(&mut self) -> Built<Condition<'s>> {
        match self.peek() {
            Some(Rule::kw_not) => {
                let not = self.take()?;
                self.deeper(not)?;
                let inner = self.term()?;
                self.depth -= 1;
                let place = At(self.span(not).to(inner.span()));
                Ok(Condition::Not(Box::new(inner), place))
            }
            Some(Rule::group_test | Rule::band_group_test) => {
                let whole = self.take()?;
                let quantifier = self.quantifier()?;
                self.expect(Rule::panicles_with)?;
                let inner = self.term()?;
                Ok(Condition::Panicles(quantifier, Box::new(inner), self.place(whole)))
            }
            Some(Rule::parenthesis) => {
                let whole = self.take()?;
                self.deeper(whole)?;
                let inner = self.condition()?;
                self.depth -= 1;
                Ok(Condition::Parenthesis(Box::new(inner), self.place(whole)))
            }
            _ => {
                let name = self.name()?;
                if self.peek() != Some(Rule::comparison) {
                    return Ok(Condition::Bare(name));
                }
                let (comparison, span) = self.comparison()?;
                Ok(Condition::Test(name, comparison, At(name.span.to(span))))
            }
        }
    }

    /// Goes one parenthesis deeper, or refuses to.
    pub fn deeper(&mut self, at: RulePiece) -> Built<()> {
        self.depth += 1;
        if self.depth <= DEEPEST {
            return Ok(());
        }
        let help = "give the inner parts names of their own, each in a `measure` or an `hourly`";
        self.refuse(self.span(at), "these parentheses stand more than 64 deep", help)
    }

    /// Takes `some` or `all`.
    pub fn quantifier(&mut self) -> Built<Quantifier> {
        match self.take()?.rule {
            Rule::kw_some => Ok(Quantifier::Some),
            Rule::kw_all => Ok(Quantifier::All),
            _ => self.odd(),
        }
    }

    /// Takes a comparison, and says where it stands.
    pub fn comparison(&mut self) -> Built<(Comparison<'s>, Span)> {
        let whole = self.expect(Rule::comparison)?;
        let comparison = match self.take()?.rule {
            Rule::at_least => Comparison::AtLeast(self.value()?),
            Rule::at_most => Comparison::AtMost(self.value()?),
            Rule::kw_above => Comparison::Above(self.value()?),
            Rule::kw_below => Comparison::Below(self.value()?),
            Rule::kw_is => Comparison::Is(self.value()?),
            Rule::is_not => Comparison::IsNot(self.value()?),
            Rule::is_one_of => Comparison::IsOneOf(self.values(whole)?),
            Rule::kw_from => match self.span_of_values()? {
                (from, UpTo::Closed(to)) => Comparison::FromTo(from, to),
                (from, UpTo::Below(to)) => Comparison::FromToBelow(from, to),
            },
            _ => return self.odd(),
        };
        Ok((comparison, self.span(whole)))
    }

    fn values(&mut self, whole: RulePiece) -> Built<Vec<Value<'s>>> {
        let mut values = Vec::new();
        while self.peek_in(whole).is_some() {
            values.push(self.value()?);
        }
        Ok(values)
    }

    /// Takes `A to B` or `A to below B`.
    fn span_of_values(&mut self) -> Built<(Value<'s>, UpTo<'s>)> {
        let from = self.value()?;
        self.expect(Rule::kw_to)?;
        let open = self.skip(Rule::kw_below);
        let to = self.value()?;
        Ok((from, if open { UpTo::Below(to) } else { UpTo::Closed(to) }))
    }

    /// Takes `from A to B` after its `from`, or after none.
    pub fn closed_range(&mut self) -> Built<(Value<'s>, Value<'s>)> {
        let from = self.value()?;
        self.expect(Rule::kw_to)?;
        Ok((from, self.value()?))
    }

    /// Takes one pattern of a table's row.
    pub fn pattern(&mut self) -> Built<Pattern<'s>> {
        self.expect(Rule::pattern)?;
        if self.literal_ahead() || self.peek() == Some(Rule::name) {
            return self.value().map(Pattern::Value);
        }
        let piece = self.take()?;
        Ok(match piece.rule {
            Rule::at_least => Pattern::AtLeast(self.value()?),
            Rule::at_most => Pattern::AtMost(self.value()?),
            Rule::kw_above => Pattern::Above(self.value()?),
            Rule::kw_below => Pattern::Below(self.value()?),
            Rule::kw_any => Pattern::Any(self.place(piece)),
            Rule::kw_from => match self.span_of_values()? {
                (from, UpTo::Closed(to)) => Pattern::FromTo(from, to),
                (from, UpTo::Below(to)) => Pattern::FromToBelow(from, to),
            },
            _ => return self.odd(),
        })
    }

    /// Takes what a row of a table gives.
    pub fn cell(&mut self) -> Built<TableCell<'s>> {
        let whole = self.expect(Rule::cell)?;
        match self.peek() {
            Some(Rule::kw_unknown) => Ok(TableCell::Unknown(At(self.name()?.span))),
            Some(Rule::kw_empty) => Ok(TableCell::Empty(At(self.name()?.span))),
            _ => {
                let low = self.value()?;
                if self.peek_in(whole).is_none() {
                    return Ok(TableCell::One(low));
                }
                self.expect(Rule::kw_to)?;
                Ok(TableCell::Between(low, self.value()?))
            }
        }
    }

    /// Takes names set apart by nothing but their order, up to the end of a piece, each with what follows it.
    pub fn each<T>(
        &mut self,
        whole: RulePiece,
        mut then: impl FnMut(&mut Self, Name<'s>) -> Built<T>,
    ) -> Built<Vec<T>> {
        let mut list = Vec::new();
        while self.peek_in(whole).is_some() {
            let name = self.name()?;
            list.push(then(self, name)?);
        }
        Ok(list)
    }
}
