//! Conditions as sets over what they compare, each thing free of the others: hours by the hour's own values, a condition of
//! an assumption by what it speaks of.
//!
//! What holds in all of these combinations holds of every hour; what does not may still be so, where some of them cannot be.

use super::across::{Across, DEEP, DefinitionOf};
use super::compute::{self, Anything};
use super::roots::Rooted;
use crate::measure::{Extent, Truth, compare};
use crate::plan::{
    Compare, Condition, Definitions, HourSeries, Kind, Meaning, Plan, Series, Subject, Test, Yields,
};
use crate::situation::{Axis, Diagrams, Set};
use std::collections::{BTreeMap, BTreeSet};

/// How many nodes are made before it is left open.
const BUDGET: usize = 200_000;

/// Something that conditions compare, by what it means.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum FreeTerm {
    Series(Series),
    Other(Meaning),
}

/// What conditions of two rulebooks compare, with the pieces in which every comparison is settled.
pub(crate) struct FreeSets<'p> {
    plans: [&'p Plan; 2],
    definitions: [Definitions<'p>; 2],
    places: BTreeMap<FreeTerm, (u16, Vec<Extent>)>,
    pub(crate) diagrams: Diagrams,
    /// The combinations that can be, as far as a definition that changed follows the other.
    possible: Set,
}

impl<'p> FreeSets<'p> {
    /// Reads what some conditions of two rulebooks compare.
    pub(crate) fn of(plans: [&'p Plan; 2], conditions: &[(usize, &'p Condition)]) -> Self {
        let definitions = plans.map(Definitions::of);
        let mut met: BTreeMap<FreeTerm, (usize, Subject, Vec<&'p Compare>)> = BTreeMap::new();
        for (book, condition) in conditions {
            each_test(plans[*book], condition, &mut |test| {
                let of = compared(&definitions[*book], test.subject);
                met.entry(of).or_insert((*book, test.subject, Vec::new())).2.push(&test.compare);
            });
        }
        let computed =
            met.iter().filter_map(|(of, (book, subject, _))| Some((*of, *book, computed(*subject)?)));
        let computed: Vec<(FreeTerm, usize, HourSeries)> = computed.collect();
        let mut places = BTreeMap::new();
        let mut cells = Vec::new();
        for (at, (of, (book, subject, compares))) in met.into_iter().enumerate() {
            let pieces = pieces(plans[book], subject, &compares);
            cells.push(pieces.len().max(1) as u16);
            places.insert(of, (at as u16, pieces));
        }
        let diagrams = Diagrams::new(cells, BUDGET);
        let mut sets = Self { plans, definitions, places, diagrams, possible: Set::ALL };
        sets.follow(&computed);
        sets
    }

    /// Leaves out combinations in which a definition of the one rulebook and its like in the other cannot be together: rain over a
    /// shorter time is no more.
    fn follow(&mut self, computed: &[(FreeTerm, usize, HourSeries)]) {
        let rooted =
            self.plans.map(|plan| Rooted { plan, definitions: Definitions::of(plan), cut: BTreeSet::new() });
        let across = Across { rooted: &rooted };
        let is_never_empty = |book: usize, series: &HourSeries| match yields(self.plans[book], series) {
            Some(Yields::Value(expr)) => {
                let plan = self.plans[book];
                !compute::of_expr(plan, expr, &Anything { plan }).may_be_empty
            }
            Some(Yields::Condition(_)) | None => false,
        };
        let mut impossible: Vec<ApartPieces> = Vec::new();
        for (old, _, was) in computed.iter().filter(|it| it.1 == 0) {
            for (new, _, now) in computed.iter().filter(|it| it.1 == 1) {
                let (one, other) = (DefinitionOf(0, was), DefinitionOf(1, now));
                let (rises, falls) = (across.series(one, other, DEEP), across.series(other, one, DEEP));
                let (Some((a, before)), Some((b, after))) = (self.places.get(old), self.places.get(new))
                else {
                    continue;
                };
                let are_there = is_never_empty(0, was) && is_never_empty(1, now);
                let apart = |x: &Extent, y: &Extent| match (x.ends(), y.ends()) {
                    (Some((low, high)), Some((from, to))) => rises && low > to || falls && from > high,
                    _ => are_there,
                };
                let pairs = before.iter().enumerate().flat_map(|(i, x)| {
                    after.iter().enumerate().filter(move |(_, y)| apart(x, y)).map(move |(j, _)| (i, j))
                });
                if rises || falls {
                    impossible.push((*a, *b, pairs.collect()));
                }
            }
        }
        for (a, b, pairs) in impossible {
            for (i, j) in pairs {
                let one = self.diagrams.test(a, |piece| usize::from(piece) == i);
                let other = self.diagrams.test(b, |piece| usize::from(piece) == j);
                let both = self.diagrams.both(one, other);
                self.possible = self.diagrams.without(self.possible, both);
            }
        }
    }

    /// Returns the combinations that can be and are in the one set alone.
    pub(crate) fn alone(&mut self, one: Set, other: Set) -> Set {
        let alone = self.diagrams.without(one, other);
        self.diagrams.both(alone, self.possible)
    }

    /// Returns the combinations in which a condition holds; nothing where that is not settled in each.
    pub(crate) fn set(&mut self, book: usize, condition: &'p Condition) -> Option<Set> {
        let found = match condition {
            Condition::Not(inner) => {
                let inner = self.set(book, inner)?;
                self.diagrams.not(inner)
            }
            Condition::All(parts) => {
                let parts: Option<Vec<Set>> = parts.iter().map(|part| self.set(book, part)).collect();
                self.diagrams.all(parts?)
            }
            Condition::Any(parts) => {
                let parts: Option<Vec<Set>> = parts.iter().map(|part| self.set(book, part)).collect();
                self.diagrams.any(parts?)
            }
            Condition::Test(test) => match condition_of(self.plans[book], test) {
                Some((condition, wanted)) => {
                    let holds = self.set(book, condition)?;
                    match wanted {
                        0 => Set::NONE,
                        1 => self.diagrams.not(holds),
                        2 => holds,
                        _ => Set::ALL,
                    }
                }
                None => self.test(book, test)?,
            },
        };
        (!self.diagrams.is_spent()).then_some(found)
    }

    fn test(&mut self, book: usize, test: &Test) -> Option<Set> {
        let (variable, pieces) = self.places.get(&compared(&self.definitions[book], test.subject))?;
        // Each rulebook numbers its texts by itself.
        if pieces.iter().any(|piece| piece.text().is_some()) {
            return None;
        }
        let truths: Vec<Truth> = pieces.iter().map(|piece| compare(*piece, &test.compare)).collect();
        if truths.contains(&Truth::Open) {
            return None;
        }
        let variable = *variable;
        Some(self.diagrams.test(variable, |piece| truths.get(usize::from(piece)) == Some(&Truth::Yes)))
    }

    /// Returns whether one of the combinations of a set is certain to be, as far as that can be said: things that hang together
    /// are not free of one another.
    pub(crate) fn is_certain(&mut self, set: Set) -> bool {
        let spoken: BTreeSet<u16> = self.diagrams.depends_on(set).into_iter().collect();
        let here = |group: &dyn Fn(FreeTerm) -> bool| {
            self.places.iter().filter(|(of, (at, _))| spoken.contains(at) && group(**of)).count()
        };
        let of_air = [2, 3, 4].iter().any(|group| here(&|of| hangs_together(of) == Some(*group)) > 1);
        if set.is_none() || of_air {
            return false;
        }
        if here(&|of| hangs_together(of) == Some(SUN)) < 2 {
            return true;
        }
        // Noon and midnight are hours of every day.
        [(12.0, true, 6.0, 18.0), (0.0, false, -6.0, 6.0)].into_iter().any(
            |(clock, daylight, risen, down)| {
                let mut at_that_hour = set;
                for (of, (variable, pieces)) in &self.places {
                    let FreeTerm::Series(series) = of else { continue };
                    let value = match series {
                        Series::Clock => Extent::number(clock),
                        Series::Daylight => Extent::word(u16::from(daylight)),
                        Series::AfterSunrise => Extent::number(risen),
                        Series::AfterSunset => Extent::number(down),
                        _ => continue,
                    };
                    let holds: Vec<bool> = pieces.iter().map(|piece| lies_in(value, *piece)).collect();
                    let test =
                        self.diagrams.test(*variable, |piece| holds.get(usize::from(piece)) == Some(&true));
                    at_that_hour = self.diagrams.both(at_that_hour, test);
                }
                !at_that_hour.is_none()
            },
        )
    }
}

/// Returns whether a value is in a piece.
fn lies_in(value: Extent, piece: Extent) -> bool {
    match (value.ends(), piece.ends()) {
        (Some((at, _)), Some((low, high))) => low <= at && at <= high,
        _ => value.word_set() != 0 && value.word_set() & piece.word_set() != 0,
    }
}

/// The group of the sun and the clock.
const SUN: u8 = 1;

/// Returns the group of a series of an hour: those of one group hang together. What else is compared is taken to be free.
fn hangs_together(of: FreeTerm) -> Option<u8> {
    let FreeTerm::Series(series) = of else { return None };
    Some(match series {
        Series::Clock | Series::Daylight | Series::AfterSunrise | Series::AfterSunset => SUN,
        Series::Temperature
        | Series::Humidity
        | Series::DewPoint
        | Series::WetBulb
        | Series::DeltaT
        | Series::VapourDeficit => 2,
        Series::Wind | Series::Gust => 3,
        Series::Rain | Series::LeafWet => 4,
    })
}

/// Returns what is computed for each hour or day; nothing of what is measured.
fn computed(subject: Subject) -> Option<HourSeries> {
    match subject {
        Subject::Hourly(id) => Some(HourSeries::Hourly(id)),
        Subject::Daily(id) => Some(HourSeries::Daily(id)),
        Subject::Series(_) | Subject::Name(_) => None,
    }
}

/// Two variables, and the pairs of their pieces that cannot be together.
type ApartPieces = (u16, u16, Vec<(usize, usize)>);

fn yields<'p>(plan: &'p Plan, series: &HourSeries) -> Option<&'p Yields> {
    match series {
        HourSeries::Hourly(id) => plan.hourlies.get(id.index()).map(|it| &it.yields),
        HourSeries::Daily(id) => plan.dailies.get(id.index()).map(|it| &it.yields),
        HourSeries::Series(_) => None,
    }
}

fn compared(definitions: &Definitions<'_>, subject: Subject) -> FreeTerm {
    match subject {
        Subject::Series(series) => FreeTerm::Series(series),
        Subject::Name(name) => FreeTerm::Other(definitions.name(name)),
        Subject::Hourly(id) => FreeTerm::Other(definitions.hourly(id)),
        Subject::Daily(id) => FreeTerm::Other(definitions.daily(id)),
    }
}

/// Returns the condition that an hourly or daily condition stands for, with the bits of `no` and `yes` that are asked for.
fn condition_of<'p>(plan: &'p Plan, test: &Test) -> Option<(&'p Condition, u64)> {
    let yields = match test.subject {
        Subject::Hourly(id) => &plan.hourlies.get(id.index())?.yields,
        // The days of a `valid if` are empty.
        Subject::Daily(id) => {
            let daily = plan.dailies.get(id.index())?;
            daily.valid_if.is_none().then_some(&daily.yields)?
        }
        Subject::Name(_) | Subject::Series(_) => return None,
    };
    let Yields::Condition(condition) = yields else { return None };
    let words = |compare: &Compare| match compare {
        Compare::Words(set) => Some(*set & 3),
        Compare::Not(inner) => match &**inner {
            Compare::Words(set) => Some(!*set & 3),
            _ => None,
        },
        _ => None,
    };
    Some((condition, words(&test.compare)?))
}

/// Calls a function with every test, those of conditions that hours and days are named for instead of their names.
fn each_test<'p>(plan: &'p Plan, condition: &'p Condition, f: &mut dyn FnMut(&'p Test)) {
    condition.each_test(&mut |test| match condition_of(plan, test) {
        Some((inner, _)) => each_test(plan, inner, f),
        None => f(test),
    });
}

/// Returns the pieces of something in each of which every comparison is settled.
fn pieces(plan: &Plan, subject: Subject, compares: &[&Compare]) -> Vec<Extent> {
    let (kind, all) = match subject {
        Subject::Series(series) => (series.kind(), compute::of_series(plan, HourSeries::Series(series))),
        Subject::Hourly(id) => (plan[id].kind, None),
        Subject::Daily(id) => (plan[id].kind, None),
        Subject::Name(name) => (plan[name].kind, Some(compute::domain(plan, name))),
    };
    let whole = matches!(kind, Kind::Count | Kind::Date);
    let axis = Axis::new(plan, kind, compares, whole);
    let mut pieces = axis.split(all.unwrap_or(Extent::anything(kind, plan)));
    // What is computed may be empty; what is measured or seen is there or unknown.
    if !matches!(subject, Subject::Series(_)) && !pieces.contains(&Extent::EMPTY) {
        pieces.push(Extent::EMPTY);
    }
    pieces
}
