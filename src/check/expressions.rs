//! Arithmetic: kinds and dimensions of every step.
//!
//! Comes in: an expression as written and what it speaks of. Goes out: an expression of the plan, the kind of its
//! values, and the unit in which they are best printed. Aggregates and history are in `aggregates`.

use super::Checker;
use super::catalogue::NameMeaning;
use super::conditions::{Scene, Speaks};
use super::kinds;
use super::units_of::Hint;
use super::wording;
use crate::plan::{Datum, Expr, ExprNode, ItemKind, Kind, Operator, Subject, TableId};
use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::syntax::tree::{self, Expression, Literal, Node, Quantity, UnitWord};
use crate::units::Dimension;

/// An expression with the unit in which its values are best printed.
pub(super) struct Typed {
    /// The expression.
    pub(super) expr: Expr,
    /// The unit.
    pub(super) hint: Hint,
}

impl Typed {
    /// Returns the kind of its values.
    pub(super) fn kind(&self) -> Kind {
        self.expr.kind
    }
}

/// Makes an expression.
pub(super) fn typed(node: ExprNode, kind: Kind, hint: Hint, span: Span) -> Typed {
    Typed { expr: Expr { node: Box::new(node), kind, span }, hint }
}

impl<'a> Checker<'a> {
    /// Checks an expression. A literal takes the kind that its place expects.
    pub(super) fn expression(
        &mut self,
        written: &Expression<'a>,
        expected: Option<Kind>,
        scene: &mut Scene,
    ) -> Option<Typed> {
        let span = written.span;
        match &*written.node {
            Node::Parenthesis(inner) => self.expression(inner, expected, scene),
            Node::Literal(literal) => self.literal_expression(literal, expected),
            Node::Name(name) => self.name_expression(name, expected, scene),
            Node::Arithmetic(operator, left, right) => match operator {
                Operator::Plus | Operator::Minus => self.sum(*operator, left, right, span, scene),
                Operator::Times | Operator::Over => {
                    self.product_or_quotient(*operator, left, right, span, scene)
                }
                Operator::Power => self.power(left, right, span, scene),
            },
            Node::InUnit(inner, unit) => self.in_unit(inner, &unit.value, unit.span, span, scene),
            Node::Kept(inner, low, high) => {
                let inner = self.expression(inner, expected, scene);
                let bounds = inner.as_ref().map(Typed::kind).or(expected);
                let (low, high) = (self.expression(low, bounds, scene), self.expression(high, bounds, scene));
                let (inner, low, high) = (inner?, low?, high?);
                let kind = self.joined(&inner.expr, &low.expr)?;
                let kind = kinds::meet(kind, self.joined(&inner.expr, &high.expr)?)?;
                // What is kept within shares is a share where what is kept is one.
                let kind =
                    if inner.kind() == Kind::Share && kind == Kind::Number { Kind::Share } else { kind };
                self.numeric(&inner.expr)?;
                Some(typed(ExprNode::Kept(inner.expr, low.expr, high.expr), kind, inner.hint, span))
            }
            Node::Rounded(inner, step) => self.rounded(inner, step, expected, span, scene),
            Node::OrElse(first, second) => {
                let (first, second) = self.pair(first, second, expected, scene)?;
                let kind = self.joined(&first.expr, &second.expr)?;
                Some(typed(ExprNode::OrElse(first.expr, second.expr), kind, first.hint.or(second.hint), span))
            }
            Node::Pick(pick, first, second) => self.pick(*pick, first, second, expected, span, scene),
            Node::Function(function, inner) => self.function(*function, inner, span, scene),
            Node::Lookup(table, keys) => self.lookup(table, keys, span, scene),
            Node::DaysSinceLast(_)
            | Node::DaysSince(_)
            | Node::DaysTo(_)
            | Node::DaysToHarvest
            | Node::SpraysInARow(_)
            | Node::SpraysOf(..)
            | Node::AmountOf(..) => self.history(&written.node, span, scene),
            Node::Panicles(..)
            | Node::ShareOfPanicles(_)
            | Node::ShareOfTrees(..)
            | Node::OfPanicles(..)
            | Node::LikelyRange(_) => self.land(&written.node, span, scene),
            Node::Aggregate(aggregate, window) => self.aggregate(aggregate, window, span, scene),
        }
    }

    fn literal_expression(&mut self, literal: &Literal<'a>, expected: Option<Kind>) -> Option<Typed> {
        let kind = match (literal, expected) {
            // A plain number that is no count is a number, also beside a count.
            (Literal::Quantity(quantity), Some(Kind::Count)) if !is_count(quantity) => natural(literal)?,
            (_, Some(kind)) => kind,
            (Literal::Text(text), None) => {
                let message = "arithmetic has no use for a text";
                return self.fail(Problem::new(Finding::KindMismatch, text.span, message));
            }
            (Literal::DayOfYear(day), None) => {
                let message = "arithmetic has no use for a day of every year";
                let help = "conditions ask for it: `date from 1 Dec to 31 Mar`";
                return self.fail(Problem::new(Finding::KindMismatch, day.span, message).help(help));
            }
            (Literal::Quantity(quantity), None) => self.natural_kind(quantity)?,
            (_, None) => natural(literal)?,
        };
        let given = self.literal(literal, kind)?;
        let node = match given.datum {
            Datum::Number(number) => ExprNode::Number(number),
            Datum::Word(word) => ExprNode::Word(word),
            Datum::Text(_) => {
                let message = "arithmetic has no use for a text";
                return self.fail(Problem::new(Finding::KindMismatch, given.span, message));
            }
        };
        Some(typed(node, kind, Hint::Unit(given.unit), given.span))
    }

    /// Returns the kind that a quantity has where nothing says otherwise.
    pub(super) fn natural_kind(&mut self, quantity: &Quantity<'_>) -> Option<Kind> {
        let Some(word) = &quantity.unit else { return Some(Kind::Number) };
        let unit = self.unit(word, quantity.span)?;
        Some(match unit.dimension {
            _ if unit.is_temperature() => Kind::Temperature,
            Dimension::NONE if &*unit.symbol == "%" => Kind::Share,
            dimension => kinds::of_dimension(dimension),
        })
    }

    fn name_expression(
        &mut self,
        name: &tree::Name<'a>,
        expected: Option<Kind>,
        scene: &mut Scene,
    ) -> Option<Typed> {
        let meaning = self.catalogue.meaning(name.value);
        if let Some(kind @ Kind::Words(list)) = expected {
            let named = meaning.and_then(|meaning| self.meaning_kind(meaning));
            if let Some(place) = self.word(list, name.value).filter(|_| named != Some(kind)) {
                return Some(typed(ExprNode::Word(place), kind, Hint::Open, name.span));
            }
        }
        let speaks = scene.speaks;
        let Some(meaning) = meaning else {
            return self.unknown_name(name, "a name that can be reckoned with", move |kind, meaning| {
                match meaning {
                    NameMeaning::Figure(_) => true,
                    NameMeaning::Series(_) | NameMeaning::Hourly(_) => speaks == Speaks::Hour,
                    NameMeaning::Daily(_) => matches!(speaks, Speaks::Day | Speaks::Tally),
                    NameMeaning::Name(_) => match speaks {
                        Speaks::Tree | Speaks::Group => true,
                        Speaks::Day | Speaks::Tally => kind == ItemKind::Tally,
                        Speaks::Hour => false,
                    },
                }
            });
        };
        if let NameMeaning::Figure(id) = meaning {
            if !self.figures_sound.contains(&id) {
                return None;
            }
            let figure = &self.plan[id];
            let (kind, hint) = (figure.kind, Hint::Unit(figure.unit.clone()));
            let node = match figure.value {
                Datum::Number(number) => ExprNode::Number(number),
                Datum::Word(word) => ExprNode::Word(word),
                Datum::Text(_) => {
                    let message = format!("`{}` is a text, and arithmetic has no use for it", name.value);
                    return self.fail(Problem::new(Finding::KindMismatch, name.span, message));
                }
            };
            return Some(typed(node, kind, hint, name.span));
        }
        let (subject, kind) = self.subject(name, scene)?;
        let node = match subject {
            Subject::Name(id) => ExprNode::Name(id),
            Subject::Series(series) => ExprNode::Series(series),
            Subject::Hourly(id) => ExprNode::Hourly(id),
            Subject::Daily(id) => ExprNode::Daily(id),
        };
        let hint = match subject {
            Subject::Series(_) => Hint::Open,
            subject => Hint::Like(subject),
        };
        Some(typed(node, kind, hint, name.span))
    }

    /// Checks two expressions of which a literal takes the kind of the other.
    pub(super) fn pair(
        &mut self,
        first: &Expression<'a>,
        second: &Expression<'a>,
        expected: Option<Kind>,
        scene: &mut Scene,
    ) -> Option<(Typed, Typed)> {
        if takes_kind(first) && !takes_kind(second) {
            let second = self.expression(second, expected, scene);
            let kind = second.as_ref().map(Typed::kind).or(expected);
            let first = self.expression(first, kind, scene);
            return Some((first?, second?));
        }
        let first = self.expression(first, expected, scene);
        let kind = first.as_ref().map(Typed::kind).or(expected);
        let second = self.expression(second, kind, scene);
        Some((first?, second?))
    }

    /// Returns the kind of one or the other value.
    pub(super) fn joined(&mut self, first: &Expr, second: &Expr) -> Option<Kind> {
        if let Some(kind) = kinds::meet(first.kind, second.kind) {
            return Some(kind);
        }
        self.apart(first, second, "they are not of one kind")
    }

    pub(super) fn apart<T>(&mut self, first: &Expr, second: &Expr, what: &str) -> Option<T> {
        let numeric = first.kind.is_numeric() && second.kind.is_numeric();
        let finding = if numeric && first.kind.dimension() != second.kind.dimension() {
            Finding::UnitMismatch
        } else {
            Finding::KindMismatch
        };
        let (one, other) = (self.called(first.kind), self.called(second.kind));
        let message = format!("this is {other}, and what it meets is {one}: {what}");
        let mut problem = Problem::new(finding, second.span, message)
            .label(format!("{other} here"))
            .related(first.span, format!("{one} here"));
        if let (ExprNode::Number(number), Kind::Number) = (&*second.node, second.kind) {
            let symbols = kinds::unit_symbols(first.kind);
            if !symbols.is_empty() {
                let ways: Vec<String> = symbols.iter().map(|symbol| format!("{number} {symbol}")).collect();
                problem = problem.help(format!("write {}", wording::either(ways.iter().map(String::as_str))));
            }
        }
        self.fail(problem)
    }

    pub(super) fn numeric(&mut self, expr: &Expr) -> Option<()> {
        if expr.kind.is_numeric() && !matches!(expr.kind, Kind::Date | Kind::Clock) {
            return Some(());
        }
        let message =
            format!("this is {}, and arithmetic takes numbers and quantities", self.called(expr.kind));
        let problem = Problem::new(Finding::KindMismatch, expr.span, message);
        let help = match expr.kind {
            Kind::Date => Some("dates meet today in `days since NAME` and `days to NAME`"),
            Kind::Clock => Some("the hours of a day are counted in `after-sunrise` and `after-sunset`"),
            _ => None,
        };
        self.fail(problem.maybe_help(help.map(str::to_string)))
    }

    fn lookup(
        &mut self,
        table: &tree::Name<'a>,
        keys: &[Expression<'a>],
        span: Span,
        scene: &mut Scene,
    ) -> Option<Typed> {
        let found = self.find(ItemKind::Table, table);
        let shape = found.and_then(|id| self.tables.get(id as usize).cloned().flatten());
        let due = shape.as_ref().map(|shape| shape.keys.as_slice()).unwrap_or_default();
        let given: Vec<Option<Typed>> = keys
            .iter()
            .enumerate()
            .map(|(at, key)| {
                let kind = due.get(at).copied();
                let key = self.expression(key, kind, scene)?;
                if let Some(kind) = kind.filter(|kind| kinds::meet(*kind, key.kind()).is_none()) {
                    return self.wrong_key(&key.expr, kind, table.value);
                }
                Some(key)
            })
            .collect();
        let shape = shape?;
        if keys.len() != shape.keys.len() {
            return self.wrong_key_count(table, keys.len(), shape.keys.len(), span);
        }
        let keys = given.into_iter().map(|key| key.map(|key| key.expr)).collect::<Option<Vec<Expr>>>()?;
        let id = TableId(found?);
        Some(typed(ExprNode::Lookup(id, keys), shape.gives, Hint::Table(id), span))
    }

    /// Says that a table is asked with too many or too few keys.
    pub(super) fn wrong_key_count<T>(
        &mut self,
        table: &tree::Name<'a>,
        given: usize,
        due: usize,
        span: Span,
    ) -> Option<T> {
        let keys = if due == 1 { "key" } else { "keys" };
        let message = format!("the table `{}` has {due} {keys}, and is asked with {given}", table.value);
        self.fail(
            Problem::new(Finding::KindMismatch, span, message)
                .help("give one key for each kind that its `of` lists"),
        )
    }

    fn wrong_key<T>(&mut self, key: &Expr, due: Kind, table: &str) -> Option<T> {
        let numeric = key.kind.is_numeric() && due.is_numeric();
        let finding = if numeric && key.kind.dimension() != due.dimension() {
            Finding::UnitMismatch
        } else {
            Finding::KindMismatch
        };
        let (found, due) = (self.called(key.kind), self.called(due));
        let message = format!("this key of `{table}` is {due}, and is asked with {found}");
        self.fail(Problem::new(finding, key.span, message))
    }
}

/// Returns the literal that an expression is, in parentheses or not.
fn literal_of<'e, 'a>(expression: &'e Expression<'a>) -> Option<&'e Literal<'a>> {
    match &*expression.node {
        Node::Literal(literal) => Some(literal),
        Node::Parenthesis(inner) => literal_of(inner),
        _ => None,
    }
}

/// Returns whether an expression is a literal in degrees.
pub(super) fn is_degrees(expression: &Expression<'_>) -> bool {
    matches!(
        literal_of(expression),
        Some(Literal::Quantity(Quantity { unit: Some(UnitWord::Plain("°C" | "°F")), .. }))
    )
}

/// Returns whether an expression is a number without a unit.
pub(super) fn is_bare(expression: &Expression<'_>) -> bool {
    matches!(literal_of(expression), Some(Literal::Quantity(Quantity { unit: None, .. })))
}

/// Returns whether an expression takes the kind of what it meets.
fn takes_kind(expression: &Expression<'_>) -> bool {
    literal_of(expression).is_some() || matches!(&*expression.node, Node::Name(_))
}

fn is_count(quantity: &Quantity<'_>) -> bool {
    quantity.unit.is_some() || (quantity.number.value.fract() == 0.0 && quantity.number.value >= 0.0)
}

/// Returns the kind of a literal other than a quantity with a unit.
fn natural(literal: &Literal<'_>) -> Option<Kind> {
    match literal {
        Literal::Date(_) => Some(Kind::Date),
        Literal::Clock(_) => Some(Kind::Clock),
        Literal::YesNo(_) => Some(Kind::YesNo),
        Literal::Quantity(_) => Some(Kind::Number),
        Literal::Text(_) | Literal::DayOfYear(_) => None,
    }
}
