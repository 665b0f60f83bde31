//! Builds expressions: arithmetic, aggregates over windows, history and tables.
//!
//! The grammar lists operands and operators flat; the functions here give them their binding, the loosest first.

use super::grammar::Rule;
use super::pieces::{Built, PieceWalk, RulePiece};
use super::tree::{
    Aggregate, Counted, Expression, Function, Node, Operator, Pick, Place, Spanned, Spell, Sprayed,
    Statistic, ToThatDay, Which, Window,
};

/// How high a tree of arithmetic may grow: a sum of so many terms, or as many steps one inside another.
const HIGHEST: u16 = 256;

/// An expression and the number of steps in it that stand one inside another.
struct Grown<'s> {
    expression: Expression<'s>,
    height: u16,
}

impl<'s> PieceWalk<'s, '_> {
    /// Takes an expression.
    pub fn expression(&mut self) -> Built<Expression<'s>> {
        self.grown().map(|grown| grown.expression)
    }

    fn grown(&mut self) -> Built<Grown<'s>> {
        let whole = self.expect(Rule::expression)?;
        let mut left = self.adjusted(whole)?;
        while self.peek_in(whole).is_some() {
            self.expect(Rule::or_else)?;
            let right = self.adjusted(whole)?;
            left = self.join(left, right, Node::OrElse)?;
        }
        Ok(left)
    }

    /// Takes a sum and what it is kept from or rounded to.
    fn adjusted(&mut self, whole: RulePiece) -> Built<Grown<'s>> {
        let mut left = self.sum(whole)?;
        loop {
            match self.peek_in(whole) {
                Some(Rule::kept_from) => {
                    self.take()?;
                    let low = self.sum(whole)?;
                    self.expect(Rule::kw_to)?;
                    let high = self.sum(whole)?;
                    let (height, low) = (left.height.max(low.height), low.expression);
                    let left_side = Grown { expression: left.expression, height };
                    left = self.join(left_side, high, |of, high| Node::Kept(of, low, high))?;
                }
                Some(Rule::rounded_to) => {
                    self.take()?;
                    let step = self.quantity()?;
                    let span = left.expression.span.to(step.span);
                    left = self.grow(Node::Rounded(left.expression, step), span, left.height)?;
                }
                _ => return Ok(left),
            }
        }
    }

    fn sum(&mut self, whole: RulePiece) -> Built<Grown<'s>> {
        let mut left = self.factor(whole)?;
        loop {
            let operator = match self.peek_in(whole) {
                Some(Rule::plus) => Operator::Plus,
                Some(Rule::minus) => Operator::Minus,
                _ => return Ok(left),
            };
            let sign = self.take()?;
            if operator == Operator::Minus && !self.blank_before(sign) {
                let help = "write a blank on both sides of a minus sign: `a - b`";
                return self.refuse(self.span(sign), "a minus sign has blanks around it", help);
            }
            let right = self.factor(whole)?;
            left = self.join(left, right, |left, right| Node::Arithmetic(operator, left, right))?;
        }
    }

    fn factor(&mut self, whole: RulePiece) -> Built<Grown<'s>> {
        let mut left = self.power(whole)?;
        loop {
            let operator = match self.peek_in(whole) {
                Some(Rule::times) => Operator::Times,
                Some(Rule::divided_by) => Operator::Over,
                _ => return Ok(left),
            };
            self.take()?;
            let right = self.power(whole)?;
            left = self.join(left, right, |left, right| Node::Arithmetic(operator, left, right))?;
        }
    }

    fn power(&mut self, whole: RulePiece) -> Built<Grown<'s>> {
        let base = self.reading(whole)?;
        if self.peek_in(whole) != Some(Rule::to_the_power) {
            return Ok(base);
        }
        self.take()?;
        let exponent = self.reading(whole)?;
        self.join(base, exponent, |base, exponent| Node::Arithmetic(Operator::Power, base, exponent))
    }

    /// Takes an operand and the unit it is read in.
    fn reading(&mut self, whole: RulePiece) -> Built<Grown<'s>> {
        let operand = self.operand(whole)?;
        if self.peek_in(whole) != Some(Rule::kw_in) {
            return Ok(operand);
        }
        self.take()?;
        let unit = self.unit()?;
        let span = operand.expression.span.to(unit.span);
        self.grow(Node::InUnit(operand.expression, unit), span, operand.height)
    }

    fn operand(&mut self, whole: RulePiece) -> Built<Grown<'s>> {
        match self.peek_in(whole) {
            Some(Rule::parenthesised) => self.parenthesised(),
            Some(Rule::weather) => {
                let name = self.name()?;
                self.grow(Node::Name(name), name.span, 0)
            }
            Some(Rule::name) => {
                let name = self.name()?;
                if self.peek_in(whole) != Some(Rule::keys) {
                    return self.grow(Node::Name(name), name.span, 0);
                }
                let (keys, height, place) = self.keys()?;
                self.grow(Node::Lookup(name, keys), name.span.to(place), height)
            }
            Some(Rule::worded) => self.worded(),
            Some(Rule::aggregate) => {
                let piece = self.take()?;
                let node = self.aggregate()?;
                self.grow(node, self.span(piece), 0)
            }
            Some(Rule::history) => {
                let piece = self.take()?;
                let node = self.history()?;
                self.grow(node, self.span(piece), 0)
            }
            Some(Rule::land) => {
                let piece = self.take()?;
                let node = self.land()?;
                self.grow(node, self.span(piece), 0)
            }
            Some(Rule::likely) => {
                let piece = self.take()?;
                self.expect(Rule::likely_range_of)?;
                let node = Node::LikelyRange(self.name()?);
                self.grow(node, self.span(piece), 0)
            }
            _ => {
                let literal = self.literal()?;
                let span = literal.span();
                self.grow(Node::Literal(literal), span, 0)
            }
        }
    }

    fn parenthesised(&mut self) -> Built<Grown<'s>> {
        let piece = self.expect(Rule::parenthesised)?;
        self.deeper(piece)?;
        let inner = self.grown()?;
        self.depth -= 1;
        self.grow(Node::Parenthesis(inner.expression), self.span(piece), inner.height)
    }

    /// Takes what a word function or a table's key takes: a name, a literal or a parenthesis.
    fn small_operand(&mut self) -> Built<Grown<'s>> {
        match self.peek() {
            Some(Rule::parenthesised) => self.parenthesised(),
            Some(Rule::name | Rule::weather) => {
                let name = self.name()?;
                self.grow(Node::Name(name), name.span, 0)
            }
            _ => {
                let literal = self.literal()?;
                let span = literal.span();
                self.grow(Node::Literal(literal), span, 0)
            }
        }
    }

    /// Takes the amount of an `add`: a number, or an expression in parentheses.
    pub fn amount(&mut self) -> Built<Expression<'s>> {
        self.small_operand().map(|grown| grown.expression)
    }

    /// Takes `at KEY, KEY`: the keys, their height and their place.
    fn keys(&mut self) -> Built<(Vec<Expression<'s>>, u16, crate::source::Span)> {
        let whole = self.expect(Rule::keys)?;
        self.expect(Rule::lookup_at)?;
        let (mut keys, mut height) = (Vec::new(), 0);
        while self.peek_in(whole).is_some() {
            let key = self.small_operand()?;
            height = height.max(key.height);
            keys.push(key.expression);
        }
        Ok((keys, height, self.span(whole)))
    }

    /// Takes the keys of a table where an expectation names one.
    pub fn expected_keys(&mut self) -> Built<Vec<Expression<'s>>> {
        self.keys().map(|(keys, _, _)| keys)
    }

    fn worded(&mut self) -> Built<Grown<'s>> {
        let whole = self.expect(Rule::worded)?;
        let word = self.take()?.rule;
        let first = self.small_operand()?;
        let function = match word {
            Rule::square_root_of => Function::SquareRoot,
            Rule::natural_log_of => Function::NaturalLog,
            Rule::exponential_of => Function::Exponential,
            Rule::greater_of | Rule::lesser_of => {
                let pick = if word == Rule::greater_of { Pick::Greater } else { Pick::Lesser };
                self.expect(Rule::kw_and)?;
                let second = self.small_operand()?;
                let height = first.height.max(second.height);
                let node = Node::Pick(pick, first.expression, second.expression);
                return self.grow(node, self.span(whole), height);
            }
            _ => return self.odd(),
        };
        self.grow(Node::Function(function, first.expression), self.span(whole), first.height)
    }

    fn join(
        &self,
        left: Grown<'s>,
        right: Grown<'s>,
        node: impl FnOnce(Expression<'s>, Expression<'s>) -> Node<'s>,
    ) -> Built<Grown<'s>> {
        let span = left.expression.span.to(right.expression.span);
        let height = left.height.max(right.height);
        self.grow(node(left.expression, right.expression), span, height)
    }

    /// Makes an expression of a node whose highest part has this height.
    fn grow(&self, node: Node<'s>, span: crate::source::Span, below: u16) -> Built<Grown<'s>> {
        let height = below + 1;
        if height > HIGHEST {
            let help = "give parts of it names of their own, each in a `measure`";
            return self.refuse(span, "this expression has more than 256 steps", help);
        }
        Ok(Grown { expression: Expression { node: Box::new(node), span }, height })
    }

    fn history(&mut self) -> Built<Node<'s>> {
        Ok(match self.take()?.rule {
            Rule::kw_days => match self.take()?.rule {
                Rule::kw_since if self.skip(Rule::kw_last) => Node::DaysSinceLast(self.sprayed()?),
                Rule::kw_since => Node::DaysSince(self.name()?),
                Rule::kw_to if self.skip(Rule::kw_harvest) => Node::DaysToHarvest,
                Rule::kw_to => Node::DaysTo(self.name()?),
                _ => return self.odd(),
            },
            Rule::sprays_in_a_row_of => Node::SpraysInARow(self.sprayed()?),
            Rule::kw_sprays => {
                self.expect(Rule::kw_of)?;
                let of = if self.skip(Rule::kw_any) { Sprayed::Any } else { self.sprayed()? };
                Node::SpraysOf(of, self.counted()?)
            }
            Rule::kw_amount => {
                self.expect(Rule::kw_of)?;
                Node::AmountOf(self.name()?, self.counted()?)
            }
            _ => return self.odd(),
        })
    }

    fn sprayed(&mut self) -> Built<Sprayed<'s>> {
        self.expect(Rule::sprayed)?;
        Ok(if self.skip(Rule::kw_spray) {
            Sprayed::Any
        } else if self.skip(Rule::kw_group) {
            Sprayed::Group(self.name()?)
        } else {
            Sprayed::Product(self.name()?)
        })
    }

    fn counted(&mut self) -> Built<Counted<'s>> {
        Ok(match self.take()?.rule {
            Rule::this_season => Counted::ThisSeason,
            Rule::that_day => Counted::ThatDay,
            Rule::kw_over => {
                self.expect(Rule::kw_last)?;
                let days = self.number()?;
                self.expect(Rule::kw_days)?;
                Counted::LastDays(days)
            }
            _ => return self.odd(),
        })
    }

    fn land(&mut self) -> Built<Node<'s>> {
        if matches!(self.peek(), Some(Rule::kw_some | Rule::kw_all)) {
            let quantifier = self.quantifier()?;
            self.expect(Rule::panicles_with)?;
            return Ok(Node::Panicles(quantifier, self.condition()?));
        }
        if !self.skip(Rule::share_of) {
            let statistic = self.statistic()?;
            let name = self.name()?;
            self.expect(Rule::of_panicles)?;
            return Ok(Node::OfPanicles(statistic, name));
        }
        if self.skip(Rule::panicles_with) {
            return Ok(Node::ShareOfPanicles(self.condition()?));
        }
        self.expect(Rule::kw_trees)?;
        self.expect(Rule::kw_in)?;
        let place = if self.take()?.rule == Rule::kw_block { Place::Block } else { Place::Grove };
        self.expect(Rule::kw_with)?;
        Ok(Node::ShareOfTrees(place, self.condition()?))
    }

    fn statistic(&mut self) -> Built<Statistic> {
        match self.take()?.rule {
            Rule::kw_lowest => Ok(Statistic::Lowest),
            Rule::kw_highest => Ok(Statistic::Highest),
            Rule::kw_mean => Ok(Statistic::Mean),
            Rule::kw_total => Ok(Statistic::Total),
            _ => self.odd(),
        }
    }

    fn aggregate(&mut self) -> Built<Node<'s>> {
        let aggregate = match self.peek() {
            Some(Rule::hours_with) => {
                self.take()?;
                Aggregate::Hours(self.condition()?)
            }
            Some(Rule::spell) => Aggregate::Spell(self.spell()?),
            Some(Rule::spells_with) => {
                self.take()?;
                let condition = self.condition()?;
                self.expect(Rule::of_at_least)?;
                Aggregate::Spells(condition, self.quantity()?)
            }
            Some(Rule::days_with) => {
                self.take()?;
                let name = self.name()?;
                let compared = self.peek() == Some(Rule::comparison);
                let comparison = if compared { Some(self.comparison()?.0) } else { None };
                Aggregate::Days(name, comparison)
            }
            _ => {
                let statistic = self.statistic()?;
                let series = self.name()?;
                if self.skip(Rule::kw_while) {
                    Aggregate::While(statistic, series, self.condition()?)
                } else if self.skip(Rule::kw_in) {
                    Aggregate::InSpell(statistic, series, self.spell()?)
                } else {
                    Aggregate::Of(statistic, series)
                }
            }
        };
        self.skip(Rule::kw_over);
        Ok(Node::Aggregate(aggregate, self.window()?))
    }

    fn spell(&mut self) -> Built<Spell<'s>> {
        self.expect(Rule::spell)?;
        let which = if self.take()?.rule == Rule::kw_longest { Which::Longest } else { Which::Latest };
        self.expect(Rule::spell_with)?;
        let condition = self.condition()?;
        let across = if self.skip(Rule::across_gaps_below) { Some(self.quantity()?) } else { None };
        Ok(Spell { which, condition, across })
    }

    /// Takes a window of time.
    pub fn window(&mut self) -> Built<Spanned<Window<'s>>> {
        let whole = self.expect(Rule::window)?;
        let window = self.window_inside(whole)?;
        Ok(self.spanned(window, whole))
    }

    fn window_inside(&mut self, whole: RulePiece) -> Built<Window<'s>> {
        if self.peek() == Some(Rule::number) {
            let number = self.number()?;
            let measured_in = self.take()?.rule;
            return match (measured_in, self.take()?.rule) {
                (Rule::unit_h, Rule::to_that_hour) => Ok(Window::HoursToThatHour(number)),
                (Rule::unit_h, Rule::after_that_hour) => Ok(Window::HoursAfterThatHour(number)),
                (Rule::kw_days, Rule::to_that_day) => Ok(Window::DaysToThatDay(number)),
                _ => self.odd(),
            };
        }
        match self.take()?.rule {
            Rule::kw_last => {
                let number = self.number()?;
                match self.take()?.rule {
                    Rule::unit_h => Ok(Window::LastHours(number)),
                    Rule::kw_nights => Ok(Window::LastNights(number)),
                    Rule::kw_days if self.peek_in(whole) == Some(Rule::kw_and) => {
                        self.take()?;
                        self.expect(Rule::kw_today)?;
                        Ok(Window::LastDaysAndToday(number))
                    }
                    Rule::kw_days => Ok(Window::LastDays(number)),
                    _ => self.odd(),
                }
            }
            Rule::kw_next => {
                let number = self.number()?;
                match self.take()?.rule {
                    Rule::unit_h => Ok(Window::NextHours(number)),
                    Rule::kw_nights => Ok(Window::NextNights(number)),
                    Rule::kw_days => Ok(Window::NextDays(number)),
                    _ => self.odd(),
                }
            }
            Rule::kw_today if self.peek_in(whole) == Some(Rule::kw_and) => {
                self.take()?;
                self.expect(Rule::kw_next)?;
                let number = self.number()?;
                self.expect(Rule::kw_days)?;
                Ok(Window::TodayAndNextDays(number))
            }
            Rule::kw_today => Ok(Window::Today),
            Rule::kw_tonight => Ok(Window::Tonight),
            Rule::this_season => Ok(Window::ThisSeason),
            Rule::that_day => Ok(Window::ThatDay),
            Rule::that_night => Ok(Window::ThatNight),
            Rule::kw_the => {
                let number = self.number()?;
                self.expect(Rule::unit_h)?;
                self.expect(Rule::after_the_last)?;
                Ok(Window::HoursAfterLast(number, self.sprayed()?))
            }
            Rule::kw_since if self.skip(Rule::kw_last) => Ok(Window::SinceLast(self.sprayed()?)),
            Rule::kw_since => match self.peek() {
                Some(Rule::date) => Ok(Window::SinceDate(self.date()?, self.ends_on_that_day(whole))),
                Some(Rule::day_of_year) => {
                    Ok(Window::SinceDayOfYear(self.day_of_year()?, self.ends_on_that_day(whole)))
                }
                _ => Ok(Window::Since(self.name()?)),
            },
            _ => self.odd(),
        }
    }

    fn ends_on_that_day(&mut self, whole: RulePiece) -> ToThatDay {
        let said = self.peek_in(whole).is_some() && self.skip(Rule::to_that_day);
        if said { ToThatDay::Yes } else { ToThatDay::No }
    }
}
