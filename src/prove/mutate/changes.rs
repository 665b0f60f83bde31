//! The small changes of one condition: each threshold moved by one step, each `and` and `or` turned.

use crate::plan::{Bound, Compare, Condition, Kind, Plan, Subject, Test, number_in};
use crate::source::Span;
use crate::units::clean;

/// A small change of a condition or a comparison.
#[derive(Clone, Debug)]
pub(crate) struct SmallChange<T> {
    /// What it becomes.
    pub(crate) becomes: T,
    /// Where the change is.
    pub(crate) at: Span,
    /// The change in words: "`5` for `6`", "`or` for `and`".
    pub(crate) words: String,
    /// What must be met for it to tell: "humidity is between 94 % and 95 %".
    pub(crate) tells: String,
}

impl<T> SmallChange<T> {
    fn map<U>(self, f: impl FnOnce(T) -> U) -> SmallChange<U> {
        SmallChange { becomes: f(self.becomes), at: self.at, words: self.words, tells: self.tells }
    }
}

/// Returns a condition with each of its small changes; `span` is where an `and` or `or` is said to stand.
pub(crate) fn of_condition(plan: &Plan, condition: &Condition, span: Span) -> Vec<SmallChange<Condition>> {
    match condition {
        Condition::Test(test) => {
            let with = |compare: Compare| Condition::Test(Test { compare, ..test.clone() });
            let changes = of_compare(plan, test.subject, &test.compare, test.span);
            changes.into_iter().map(|it| it.map(with)).collect()
        }
        Condition::Not(inner) => {
            let changes = of_condition(plan, inner, span);
            changes.into_iter().map(|it| it.map(|inner| Condition::Not(Box::new(inner)))).collect()
        }
        Condition::All(parts) | Condition::Any(parts) => {
            let all = matches!(condition, Condition::All(_));
            let again = |parts: Vec<Condition>, all: bool| {
                if all { Condition::All(parts) } else { Condition::Any(parts) }
            };
            let mut found = Vec::new();
            for (place, part) in parts.iter().enumerate() {
                found.extend(of_condition(plan, part, span).into_iter().map(|it| {
                    it.map(|changed| {
                        let mut parts = parts.clone();
                        parts[place] = changed;
                        again(parts, all)
                    })
                }));
            }
            if parts.len() > 1 {
                let (new, old) = if all { ("or", "and") } else { ("and", "or") };
                found.push(SmallChange {
                    becomes: again(parts.clone(), !all),
                    at: span,
                    words: format!("`{new}` for `{old}`"),
                    tells: format!("one side of the `{old}` is met and the other is not"),
                });
            }
            found
        }
    }
}

/// Returns a comparison with each of its small changes; `span` is where it stands.
pub(super) fn of_compare(
    plan: &Plan,
    subject: Subject,
    compare: &Compare,
    span: Span,
) -> Vec<SmallChange<Compare>> {
    let (kind, label) = subject_of(plan, subject);
    match compare {
        Compare::Numbers { low, high } => {
            let mut found = Vec::new();
            for (bound, is_low) in low.iter().map(|it| (it, true)).chain(high.iter().map(|it| (it, false))) {
                for up in [true, false] {
                    let moved = moved(kind, bound, up);
                    let words = |at: f64| number_in(kind, &bound.unit, at);
                    let (was, is) = (words(bound.value()), words(moved.value()));
                    let (from, to) = if up { (&was, &is) } else { (&is, &was) };
                    let tells = format!("{label} is between {from} and {to}, or on one of them");
                    let becomes = if is_low {
                        Compare::Numbers { low: Some(moved), high: high.clone() }
                    } else {
                        Compare::Numbers { low: low.clone(), high: Some(moved) }
                    };
                    // A time of day may run over midnight.
                    if !is_reversed(&becomes) || is_reversed(compare) {
                        let words = format!("`{is}` for `{was}`");
                        found.push(SmallChange { becomes, at: bound.span, words, tells });
                    }
                }
            }
            found
        }
        Compare::Words(set) => of_words(plan, kind, &label, *set, span),
        Compare::Not(inner) => {
            let changes = of_compare(plan, subject, inner, span);
            changes.into_iter().map(|it| it.map(|compare| Compare::Not(Box::new(compare)))).collect()
        }
        Compare::NumberIsOneOf(_) | Compare::Texts(_) | Compare::DaysOfYear(..) | Compare::Name(..) => {
            Vec::new()
        }
    }
}

/// Words of an ordered list, with one more or fewer at an end.
fn of_words(plan: &Plan, kind: Kind, label: &str, set: u64, span: Span) -> Vec<SmallChange<Compare>> {
    let Kind::Words(list) = kind else { return Vec::new() };
    let list = &plan[list];
    let mut found = Vec::new();
    if !list.ordered {
        return found;
    }
    let count = list.words.len() as u32;
    let (low, high) = (set.trailing_zeros(), 63 - set.leading_zeros().min(63));
    let mut add = |place: u32, words: &str| {
        let turned = set ^ (1 << place);
        let Some(word) = list.words.get(place as usize).map(|word| &word.name) else { return };
        if turned != 0 && turned.count_ones() < count {
            found.push(SmallChange {
                becomes: Compare::Words(turned),
                at: span,
                words: format!("{words} `{word}`"),
                tells: format!("{label} is {word}"),
            });
        }
    };
    if low > 0 {
        add(low - 1, "with");
    }
    if high + 1 < count {
        add(high + 1, "with");
    }
    if low < high {
        add(low, "without");
        add(high, "without");
    }
    found
}

/// Returns of what kind a subject is, and what it is called.
fn subject_of(plan: &Plan, subject: Subject) -> (Kind, String) {
    match subject {
        Subject::Name(name) => (plan[name].kind, plan[name].label.to_string()),
        Subject::Series(series) => (series.kind(), series.word().to_owned()),
        Subject::Hourly(id) => (plan[id].kind, plan[id].label.to_string()),
        Subject::Daily(id) => (plan[id].kind, plan[id].label.to_string()),
    }
}

fn is_reversed(compare: &Compare) -> bool {
    matches!(compare, Compare::Numbers { low: Some(low), high: Some(high) } if low.value() > high.value())
}

/// Moves a threshold by one in its last written place; a day or a count by one, a time of day by a minute.
fn moved(kind: Kind, bound: &Bound, up: bool) -> Bound {
    let sign = if up { 1.0 } else { -1.0 };
    let value = match kind {
        Kind::Date | Kind::Count => bound.value() + sign,
        Kind::Clock => bound.value() + sign / 60.0,
        Kind::Temperature => {
            let number = clean(bound.unit.point_from_base(bound.value()));
            bound.unit.point_to_base(clean(number + sign * step(number)))
        }
        _ => {
            let number = clean(bound.unit.amount_from_base(bound.value()));
            bound.unit.amount_to_base(clean(number + sign * step(number)))
        }
    };
    Bound { at: kind.threshold(&bound.unit, value), figure: None, ..bound.clone() }
}

/// Returns one in the last place of a number.
fn step(number: f64) -> f64 {
    let written = number.to_string();
    let places = written.split_once('.').map_or(0, |(_, places)| places.len());
    libm::pow(10.0, -(places.min(9) as f64))
}
