//! Comparisons of a name with values of its kind.
//!
//! Comes in: a comparison as written, and the kind of what is compared. Goes out: a comparison of the plan in base
//! units. Every threshold is noted, for the unit in which its name is printed.

use super::Checker;
use super::catalogue::NameMeaning;
use super::conditions::Scene;
use super::kinds;
use super::literals::Given;
use super::wording;
use crate::plan::{Bound, Compare, Datum, Kind, Order, Subject, WordListId};
use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::syntax::tree::{Comparison, DayOfYear, Literal, Spanned, Value};
use crate::units;

impl<'a> Checker<'a> {
    /// Checks with what a name is compared.
    pub(super) fn compare(
        &mut self,
        name: &str,
        subject: Subject,
        kind: Kind,
        comparison: &Comparison<'a>,
        span: Span,
        scene: &mut Scene,
    ) -> Option<Compare> {
        if scene.compares_names
            && let Some(compare) = self.compare_names(kind, comparison, scene)
        {
            return compare;
        }
        match kind {
            Kind::YesNo => self.yes_no(name, comparison, span),
            Kind::Text => self.texts(name, comparison, span),
            Kind::Words(list) => self.words(name, list, comparison, span),
            Kind::Date if days(comparison).is_some() => self.days_of_year(name, comparison, span),
            Kind::Share
            | Kind::Number
            | Kind::Count
            | Kind::Temperature
            | Kind::Quantity(_)
            | Kind::Date
            | Kind::Clock => self.numbers(name, subject, kind, comparison, span),
        }
    }

    fn numbers(
        &mut self,
        name: &str,
        subject: Subject,
        kind: Kind,
        comparison: &Comparison<'a>,
        span: Span,
    ) -> Option<Compare> {
        let end =
            |checker: &mut Self, value: &Value<'a>, closed| checker.bound(name, subject, kind, value, closed);
        let compare = match comparison {
            Comparison::AtLeast(a) => Compare::Numbers { low: Some(end(self, a, true)?), high: None },
            Comparison::AtMost(a) => Compare::Numbers { low: None, high: Some(end(self, a, true)?) },
            Comparison::Above(a) => Compare::Numbers { low: Some(end(self, a, false)?), high: None },
            Comparison::Below(a) => Compare::Numbers { low: None, high: Some(end(self, a, false)?) },
            Comparison::FromTo(a, b) | Comparison::FromToBelow(a, b) => {
                let below = matches!(comparison, Comparison::FromToBelow(..));
                let (low, high) = (end(self, a, true), end(self, b, !below));
                return self.between(kind, low?, high?, span);
            }
            Comparison::Is(a) | Comparison::IsNot(a) => {
                let bound = end(self, a, true)?;
                if !matches!(kind, Kind::Count | Kind::Date) {
                    return self.is_of_continuous(name, kind, comparison, span);
                }
                let is = Compare::Numbers { low: Some(bound.clone()), high: Some(bound) };
                if matches!(comparison, Comparison::IsNot(_)) { Compare::Not(Box::new(is)) } else { is }
            }
            Comparison::IsOneOf(list) => {
                let bounds: Vec<Option<Bound>> = list.iter().map(|value| end(self, value, true)).collect();
                let bounds = bounds.into_iter().collect::<Option<Vec<Bound>>>()?;
                if !matches!(kind, Kind::Count | Kind::Date) {
                    return self.is_of_continuous(name, kind, comparison, span);
                }
                Compare::NumberIsOneOf(bounds)
            }
        };
        Some(compare)
    }

    fn between(&mut self, kind: Kind, low: Bound, high: Bound, span: Span) -> Option<Compare> {
        let (from, to) = (low.value(), high.value());
        let empty = from > to || (low.at.is_same(&high.at) && !high.closed);
        if !empty {
            return Some(Compare::Numbers { low: Some(low), high: Some(high) });
        }
        if kind == Kind::Clock && from > to {
            // Over midnight: all but what lies between the end and the beginning.
            let (from, to) = (Bound { closed: false, ..low }, high);
            let low = Bound { closed: !to.closed, ..to };
            return Some(Compare::Not(Box::new(Compare::Numbers { low: Some(low), high: Some(from) })));
        }
        self.fail(
            Problem::new(Finding::OutOfRange, span, "nothing lies between these two")
                .help("write the lower one first: `from … to …`"),
        )
    }

    /// Returns a threshold.
    fn bound(
        &mut self,
        name: &str,
        subject: Subject,
        kind: Kind,
        value: &Value<'a>,
        closed: bool,
    ) -> Option<Bound> {
        let given = self.value(value, kind)?;
        let number = given.number()?;
        self.in_range(name, subject, kind, &given, &wording::value(value))?;
        let key = (self.ranks.get(&given.span.source).copied().unwrap_or_default(), given.span.start);
        let earlier = self.thresholds.get(&subject).is_some_and(|(before, _)| *before <= key);
        if !earlier {
            self.thresholds.insert(subject, (key, given.unit.clone()));
        }
        let at = kind.threshold(&given.unit, number);
        Some(Bound { at, closed, unit: given.unit, figure: given.figure, span: given.span })
    }

    /// Says where a value lies outside of what a name can be.
    pub(super) fn in_range(
        &mut self,
        name: &str,
        subject: Subject,
        kind: Kind,
        given: &Given,
        written: &str,
    ) -> Option<()> {
        let Some(number) = given.number() else { return Some(()) };
        let own = match subject {
            Subject::Name(id) => self.ranges.get(&id).copied(),
            Subject::Series(_) | Subject::Hourly(_) | Subject::Daily(_) => None,
        };
        let range = own.or((kind == Kind::Share).then_some((0.0, 1.0)));
        let Some((low, high)) = range else { return Some(()) };
        let end = |at: f64| kind.threshold(&given.unit, at);
        if end(low).is_reached_by(number, true) && end(high).is_kept_by(number, true) {
            return Some(());
        }
        let shown = |base: f64| match kind {
            Kind::Temperature => units::clean(given.unit.point_from_base(base)),
            _ => units::clean(given.unit.amount_from_base(base)),
        };
        let symbol = &given.unit.symbol;
        let unit = if symbol.is_empty() { String::new() } else { format!(" {symbol}") };
        let ends = match (kind, high.is_finite()) {
            (Kind::Date, _) => "its range".to_string(),
            (_, true) => format!("`{}{unit}` to `{}{unit}`", shown(low), shown(high)),
            (_, false) => format!("`{}{unit}` on", shown(low)),
        };
        let message = format!("`{written}` lies outside of what `{name}` can be");
        let mut problem =
            Problem::new(Finding::OutOfRange, given.span, message).help(format!("it goes from {ends}"));
        if let Subject::Name(id) = subject {
            problem = problem.related(self.plan[id].span, format!("`{name}` is defined here"));
        }
        self.fail(problem)
    }

    fn is_of_continuous(
        &mut self,
        name: &str,
        kind: Kind,
        comparison: &Comparison<'a>,
        span: Span,
    ) -> Option<Compare> {
        let value = match comparison {
            Comparison::Is(value) | Comparison::IsNot(value) => wording::value(value),
            Comparison::IsOneOf(_)
            | Comparison::AtLeast(_)
            | Comparison::AtMost(_)
            | Comparison::Above(_)
            | Comparison::Below(_)
            | Comparison::FromTo(..)
            | Comparison::FromToBelow(..) => "…".to_string(),
        };
        let message = format!("`{name}` is {}, and never exactly one value", self.called(kind));
        let not = if matches!(comparison, Comparison::IsNot(_)) { "not " } else { "" };
        self.fail(
            Problem::new(Finding::KindMismatch, span, message)
                .help(format!("write a range: `{not}{name} from {value} to …`")),
        )
    }

    fn days_of_year(&mut self, name: &str, comparison: &Comparison<'a>, span: Span) -> Option<Compare> {
        match days(comparison) {
            Some((from, to)) if matches!(comparison, Comparison::FromTo(..) | Comparison::Is(_)) => {
                let (from, to) = (self.day_of_year(from), self.day_of_year(to));
                Some(Compare::DaysOfYear(from?, to?))
            }
            Some(_) | None => {
                let message = "days of the year go round, so none is before another";
                self.fail(
                    Problem::new(Finding::KindMismatch, span, message)
                        .help(format!("write from which to which day: `{name} from 1 Dec to 31 Mar`")),
                )
            }
        }
    }

    fn yes_no(&mut self, name: &str, comparison: &Comparison<'a>, span: Span) -> Option<Compare> {
        let (value, not) = match comparison {
            Comparison::Is(value) => (value, false),
            Comparison::IsNot(value) => (value, true),
            Comparison::AtLeast(_)
            | Comparison::AtMost(_)
            | Comparison::Above(_)
            | Comparison::Below(_)
            | Comparison::IsOneOf(_)
            | Comparison::FromTo(..)
            | Comparison::FromToBelow(..) => {
                let message = format!("`{name}` is yes or no, and neither is more than the other");
                let help = format!("write `{name}` or `not {name}`");
                return self.fail(Problem::new(Finding::KindMismatch, span, message).help(help));
            }
        };
        let given = self.value(value, Kind::YesNo)?;
        let is = Compare::Words(self.mask(&given));
        Some(if not { Compare::Not(Box::new(is)) } else { is })
    }

    fn texts(&mut self, name: &str, comparison: &Comparison<'a>, span: Span) -> Option<Compare> {
        let (values, not) = match comparison {
            Comparison::Is(value) => (std::slice::from_ref(value), false),
            Comparison::IsNot(value) => (std::slice::from_ref(value), true),
            Comparison::IsOneOf(list) => (list.as_slice(), false),
            Comparison::AtLeast(_)
            | Comparison::AtMost(_)
            | Comparison::Above(_)
            | Comparison::Below(_)
            | Comparison::FromTo(..)
            | Comparison::FromToBelow(..) => {
                let message = format!("`{name}` is a text, and no text is more than another");
                let help = format!("write `{name} is \"…\"` or `{name} is one of \"…\", \"…\"`");
                return self.fail(Problem::new(Finding::KindMismatch, span, message).help(help));
            }
        };
        let mut ids = Vec::with_capacity(values.len());
        for value in values {
            ids.push(self.value(value, Kind::Text).and_then(|given| match given.datum {
                Datum::Text(id) => Some(id),
                Datum::Number(_) | Datum::Word(_) => None,
            }));
        }
        let mut ids = ids.into_iter().collect::<Option<Vec<_>>>()?;
        ids.sort_unstable();
        ids.dedup();
        let is = Compare::Texts(ids);
        Some(if not { Compare::Not(Box::new(is)) } else { is })
    }

    fn words(
        &mut self,
        name: &str,
        list: WordListId,
        comparison: &Comparison<'a>,
        span: Span,
    ) -> Option<Compare> {
        let kind = Kind::Words(list);
        let ordered = self.plan[list].ordered;
        let all = below(self.plan[list].words.len() as u16);
        let one_of = match comparison {
            Comparison::Is(value) => Some((std::slice::from_ref(value), false)),
            Comparison::IsNot(value) => Some((std::slice::from_ref(value), true)),
            Comparison::IsOneOf(list) => Some((list.as_slice(), false)),
            Comparison::AtLeast(_)
            | Comparison::AtMost(_)
            | Comparison::Above(_)
            | Comparison::Below(_)
            | Comparison::FromTo(..)
            | Comparison::FromToBelow(..) => None,
        };
        if let Some((values, not)) = one_of {
            let given: Vec<Option<Given>> = values.iter().map(|value| self.value(value, kind)).collect();
            let mut set = 0;
            for given in given {
                set |= self.mask(&given?);
            }
            let is = Compare::Words(set);
            return Some(if not { Compare::Not(Box::new(is)) } else { is });
        }
        if !ordered {
            let message = format!("`{name}` is {}, and none of them is more than another", self.called(kind));
            let help = format!("write `{name} is one of …`, or make a `scale` of these words");
            return self.fail(Problem::new(Finding::KindMismatch, span, message).help(help));
        }
        let mut place = |value: &Value<'a>| {
            self.value(value, kind).and_then(|given| match given.datum {
                Datum::Word(place) => Some(place),
                Datum::Number(_) | Datum::Text(_) => None,
            })
        };
        let set = match comparison {
            Comparison::AtLeast(a) => all & !below(place(a)?),
            Comparison::AtMost(a) => below(place(a)? + 1),
            Comparison::Above(a) => all & !below(place(a)? + 1),
            Comparison::Below(a) => below(place(a)?),
            Comparison::FromTo(a, b) => {
                let (from, to) = (place(a), place(b));
                below(to? + 1) & !below(from?)
            }
            Comparison::FromToBelow(a, b) => {
                let (from, to) = (place(a), place(b));
                below(to?) & !below(from?)
            }
            Comparison::Is(_) | Comparison::IsNot(_) | Comparison::IsOneOf(_) => 0,
        };
        if set == 0 {
            let message = match comparison {
                Comparison::FromTo(..) | Comparison::FromToBelow(..) => "nothing lies between these two",
                _ => "no word of the list lies there",
            };
            return self.fail(
                Problem::new(Finding::OutOfRange, span, message)
                    .help("words are ordered as their list has them, the lowest first"),
            );
        }
        Some(Compare::Words(set))
    }

    /// Returns the set of one word.
    fn mask(&self, given: &Given) -> u64 {
        match given.datum {
            Datum::Word(place) => 1u64.checked_shl(u32::from(place)).unwrap_or(0),
            Datum::Number(_) | Datum::Text(_) => 0,
        }
    }

    /// Returns the comparison of two names, if it is one; within, nothing where it is in error.
    #[expect(clippy::option_option, reason = "not a comparison of names, or one in error")]
    fn compare_names(
        &mut self,
        kind: Kind,
        comparison: &Comparison<'a>,
        scene: &mut Scene,
    ) -> Option<Option<Compare>> {
        let (order, value) = match comparison {
            Comparison::AtLeast(value) => (Order::AtLeast, value),
            Comparison::AtMost(value) => (Order::AtMost, value),
            Comparison::Above(value) => (Order::Above, value),
            Comparison::Below(value) => (Order::Below, value),
            Comparison::Is(value) => (Order::Is, value),
            Comparison::IsNot(value) => (Order::IsNot, value),
            Comparison::IsOneOf(_) | Comparison::FromTo(..) | Comparison::FromToBelow(..) => return None,
        };
        let Value::Name(name) = value else { return None };
        if let Kind::Words(list) = kind {
            self.word(list, name.value).map_or(Some(()), |_| None)?;
        }
        let Some(meaning) = self.catalogue.meaning(name.value) else {
            let what = "a name, a value or a figure";
            let judged = |_, meaning| matches!(meaning, NameMeaning::Name(_) | NameMeaning::Figure(_));
            return (!matches!(kind, Kind::Words(_))).then(|| self.unknown_name(name, what, judged));
        };
        if matches!(meaning, NameMeaning::Figure(_)) {
            return None;
        }
        let Some((other, other_kind)) = self.subject(name, scene) else { return Some(None) };
        let Subject::Name(id) = other else { return Some(None) };
        if kinds::meet(kind, other_kind).is_none() {
            let finding =
                if kind.is_numeric() && other_kind.is_numeric() && kind.dimension() != other_kind.dimension()
                {
                    Finding::UnitMismatch
                } else {
                    Finding::KindMismatch
                };
            let (due, found) = (self.called(kind), self.called(other_kind));
            let message = format!("expected {due}, but `{}` is {found}", name.value);
            return Some(self.fail(Problem::new(finding, name.span, message)));
        }
        let ordered = match kind {
            Kind::Words(list) => self.plan[list].ordered,
            Kind::YesNo | Kind::Text => false,
            _ => true,
        };
        if !ordered && !matches!(order, Order::Is | Order::IsNot) {
            let message = format!("no {} is more than another", self.called(kind).trim_start_matches("a "));
            return Some(self.fail(
                Problem::new(Finding::KindMismatch, name.span, message).help("compare them with `is`"),
            ));
        }
        Some(Some(Compare::Name(order, id)))
    }
}

/// Returns the set of the first so many words.
fn below(count: u16) -> u64 {
    1u64.checked_shl(u32::from(count)).map_or(u64::MAX, |bit| bit - 1)
}

/// Returns the days of the year between which a comparison asks, if it names any.
fn days(comparison: &Comparison<'_>) -> Option<(Spanned<DayOfYear>, Spanned<DayOfYear>)> {
    let day = |value: &Value<'_>| match value {
        Value::Literal(Literal::DayOfYear(day)) => Some(*day),
        _ => None,
    };
    match comparison {
        Comparison::AtLeast(a)
        | Comparison::AtMost(a)
        | Comparison::Above(a)
        | Comparison::Below(a)
        | Comparison::Is(a)
        | Comparison::IsNot(a) => day(a).map(|day| (day, day)),
        Comparison::IsOneOf(list) => list.iter().find_map(day).map(|day| (day, day)),
        Comparison::FromTo(a, b) | Comparison::FromToBelow(a, b) => match (day(a), day(b)) {
            (Some(from), Some(to)) => Some((from, to)),
            (_, _) => None,
        },
    }
}
