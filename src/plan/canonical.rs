//! One form for conditions that are written otherwise and hold in the same cases, whatever their comparisons are of: what
//! is negated is brought to the comparisons, lists in lists are one, and whole numbers are compared from end to end.

use super::{Bound, Compare, Condition, Definitions, Kind, Meaning, Subject};
use std::hash::{DefaultHasher, Hash, Hasher};

impl Definitions<'_> {
    /// Returns a number that is the same for conditions of one form; for the denial of a condition where it is `denied`.
    pub(super) fn canonical(&self, condition: &Condition, denied: bool) -> Meaning {
        let mut hasher = DefaultHasher::new();
        match condition {
            Condition::Test(test) => {
                (0u8, denied).hash(&mut hasher);
                self.hash_subject(test.subject, &mut hasher);
                match self.whole(test.subject, &test.compare) {
                    Some(ends) => (7u8, ends).hash(&mut hasher),
                    None => self.hash_compare(&test.compare, &mut hasher),
                }
            }
            Condition::Not(inner) => return self.canonical(inner, !denied),
            Condition::All(_) | Condition::Any(_) => {
                let all = matches!(condition, Condition::All(_)) != denied;
                let mut parts = Vec::new();
                self.parts(condition, denied, all, &mut parts);
                parts.sort_unstable();
                parts.dedup();
                if let [one] = parts[..] {
                    return one;
                }
                (1u8, all, parts).hash(&mut hasher);
            }
        }
        hasher.finish()
    }

    /// Adds the parts of a list, and those of lists of its kind in it.
    fn parts(&self, condition: &Condition, denied: bool, all: bool, found: &mut Vec<Meaning>) {
        match condition {
            Condition::Not(inner) => self.parts(inner, !denied, all, found),
            Condition::All(parts) | Condition::Any(parts)
                if (matches!(condition, Condition::All(_)) != denied) == all =>
            {
                parts.iter().for_each(|part| self.parts(part, denied, all, found));
            }
            Condition::Test(_) | Condition::All(_) | Condition::Any(_) => {
                found.push(self.canonical(condition, denied));
            }
        }
    }

    /// Returns the first and the last whole number that a comparison of whole numbers takes; nothing for others.
    fn whole(&self, subject: Subject, compare: &Compare) -> Option<(Option<i64>, Option<i64>)> {
        let kind = match subject {
            Subject::Name(name) => self.plan().names.get(name.index())?.kind,
            Subject::Hourly(id) => self.plan().hourlies.get(id.index())?.kind,
            Subject::Daily(id) => self.plan().dailies.get(id.index())?.kind,
            Subject::Series(_) => return None,
        };
        if !matches!(kind, Kind::Count | Kind::Date) {
            return None;
        }
        let first = |bound: &Bound| {
            let next = if bound.closed { bound.value().ceil() } else { bound.value().floor() + 1.0 };
            next as i64
        };
        let last = |bound: &Bound| {
            let before = if bound.closed { bound.value().floor() } else { bound.value().ceil() - 1.0 };
            before as i64
        };
        match compare {
            Compare::Numbers { low, high } => Some((low.as_ref().map(first), high.as_ref().map(last))),
            Compare::NumberIsOneOf(list) => {
                let mut numbers: Vec<i64> = list.iter().map(|bound| bound.value() as i64).collect();
                numbers.sort_unstable();
                numbers.dedup();
                let is_run = numbers.windows(2).all(|pair| pair[0] + 1 == pair[1]);
                let is_whole = list.iter().all(|bound| bound.value().fract() == 0.0);
                (is_run && is_whole).then(|| (numbers.first().copied(), numbers.last().copied()))
            }
            Compare::Words(_)
            | Compare::Texts(_)
            | Compare::DaysOfYear(..)
            | Compare::Name(..)
            | Compare::Not(_) => None,
        }
    }
}
