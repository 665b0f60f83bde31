//! What a worked example takes for granted: values that are fixed, and the history of a tree that was never sprayed.

use super::compute::{self, Given, domain_of_leaf};
use crate::measure::{Extent, Possible, Truth, lookup, rows_used};
use crate::plan::{
    Datum, Definitions, Expected, Expr, ExprNode, Meaning, Name, NameId, Origin, Place, Plan, Sprayed,
    TableId, TakenValue, Worked,
};
use crate::units::Threshold;
use rustc_hash::FxHashMap;
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

/// A harvest that is far off, in hours.
const FAR_OFF: f64 = 24.0 * 3650.0;

/// What a worked example takes.
#[derive(Debug)]
pub(crate) struct Taken<'p> {
    pub(crate) plan: &'p Plan,
    pub(crate) definitions: &'p Definitions<'p>,
    /// The takes by name; its own go before those of its settings.
    pub(crate) takes: BTreeMap<NameId, TakenValue>,
    /// The same by meaning: equal names are one.
    by_meaning: FxHashMap<Meaning, Extent>,
    /// What names were computed to be, by their numbers.
    computed: RefCell<Vec<Option<Extent>>>,
    /// Whether the tree has one group of panicles, since something of it is taken.
    pub(crate) one_group: bool,
}

impl<'p> Taken<'p> {
    pub(crate) fn of(plan: &'p Plan, definitions: &'p Definitions<'p>, worked: &Worked) -> Self {
        let mut takes: BTreeMap<NameId, TakenValue> = BTreeMap::new();
        let settings = worked.with.iter().filter_map(|at| plan.settings.get(*at));
        for take in settings.flat_map(|setting| &setting.takes).chain(&worked.takes) {
            takes.insert(take.name, take.value.clone());
        }
        let by_meaning =
            takes.iter().map(|(name, value)| (definitions.name(*name), extent(plan, *name, value))).collect();
        let one_group = takes.keys().any(|name| plan[*name].scope == Place::Panicles);
        let computed = RefCell::new(vec![None; plan.names.len()]);
        Self { plan, definitions, takes, by_meaning, computed, one_group }
    }

    /// Returns the names that are cut off from what they are computed from.
    pub(crate) fn cut(&self) -> BTreeSet<NameId> {
        let computed = |name: &NameId| !matches!(self.plan[*name].origin, Origin::Observed(_));
        let taken = self.takes.keys().copied().filter(computed);
        let meanings: BTreeSet<Meaning> = taken.map(|name| self.definitions.name(name)).collect();
        // Two names with the same expression are one.
        let names = (0..self.plan.names.len() as u32).map(NameId).filter(computed);
        names.filter(|name| meanings.contains(&self.definitions.name(*name))).collect()
    }

    /// Returns the extent that a name of a meaning is fixed to.
    pub(crate) fn fixed(&self, meaning: Meaning) -> Option<Extent> {
        self.by_meaning.get(&meaning).copied()
    }

    /// Returns what is assumed of an expression about the log or the harvest; nothing where it is left open.
    pub(crate) fn assumed(&self, expr: &Expr) -> Option<Extent> {
        match &*expr.node {
            ExprNode::DaysSinceLast(what) => Some(Extent::number(self.youngest(what))),
            ExprNode::SpraysInARow(_)
            | ExprNode::SpraysOf(..)
            | ExprNode::AmountOf(..)
            | ExprNode::AmountOfProduct(..) => Some(Extent::number(0.0)),
            ExprNode::DaysToHarvest => Some(Extent::number(FAR_OFF)),
            ExprNode::Aggregate(_, window) => {
                self.youngest(window.spray()?).is_infinite().then_some(Extent::EMPTY)
            }
            ExprNode::Fitting { product, used, at_most, .. } => {
                let count = self.plan.products.get(product.index())?.strengths.len().min(62) as u16;
                let used = used.map_or(Extent::number(0.0), |name| self.name(name));
                let (low, high) = used.ends()?;
                // Of nothing used so far the cap leaves every strength; beyond it, none.
                if high <= 0.0 {
                    Some(Extent::word(count))
                } else {
                    (!at_most.is_kept_by(low, true)).then_some(Extent::word(0))
                }
            }
            _ => None,
        }
    }

    /// Returns the time since the last spray of something, as the takes have it: never, if they say nothing.
    fn youngest(&self, what: &Sprayed) -> f64 {
        let ages = self.plan.named().filter_map(|(id, name)| {
            let Origin::Measure(measure) = &name.origin else { return None };
            let ExprNode::DaysSinceLast(of) = &*measure.expr.node else { return None };
            let part = super::relations::part_of(self.plan, of, what) && measure.valid_if.is_none();
            self.fixed(self.definitions.name(id)).filter(|_| part)?.one_number()
        });
        ages.fold(f64::INFINITY, f64::min)
    }

    /// Returns what a name is under the takes.
    pub(crate) fn name(&self, name: NameId) -> Extent {
        compute::of_name(self.plan, name, self)
    }

    /// Returns of each table whether its rows are drawn upon: by what is expected of it, and by the measures that are not
    /// taken; nothing where no key of it is asked for.
    pub(crate) fn rows(&self, worked: &Worked) -> Vec<Option<Vec<Truth>>> {
        let mut all: Vec<Option<Vec<Truth>>> = vec![None; self.plan.tables.len()];
        let mut add = |table: TableId, keys: &[Extent]| {
            let rows = rows_used(&self.plan[table], keys);
            let Some(before) = all.get_mut(table.0 as usize) else { return };
            *before = Some(match before.take() {
                Some(before) => before.into_iter().zip(rows).map(|(a, b)| Truth::any([a, b])).collect(),
                None => rows,
            });
        };
        for expected in &worked.expects {
            if let Expected::TableIs(table, keys, ..) = &expected.what {
                let keys: Vec<Extent> = keys.iter().map(|key| Extent::datum(*key)).collect();
                add(*table, &keys);
            }
        }
        for (id, name) in self.plan.named() {
            let Origin::Measure(measure) = &name.origin else { continue };
            if self.fixed(self.definitions.name(id)).is_none() {
                each_lookup(&measure.expr, &mut |table, keys| {
                    let keys: Vec<Extent> =
                        keys.iter().map(|key| compute::of_expr(self.plan, key, self)).collect();
                    add(table, &keys);
                });
            }
        }
        all
    }

    /// Returns what a table gives at keys.
    pub(crate) fn table(&self, table: TableId, keys: &[Datum]) -> Extent {
        let keys: Vec<Extent> = keys.iter().map(|key| Extent::datum(*key)).collect();
        lookup(self.plan, &self.plan[table], &keys).0
    }
}

impl Given for Taken<'_> {
    fn name(&self, name: NameId) -> Option<Extent> {
        let known = self.computed.borrow().get(name.index()).copied().flatten();
        known.or_else(|| self.fixed(self.definitions.name(name)))
    }

    fn keep(&self, name: NameId, extent: Extent) {
        if let Some(place) = self.computed.borrow_mut().get_mut(name.index()) {
            *place = Some(extent);
        }
    }

    fn leaf(&self, expr: &Expr) -> Extent {
        if let Some(fixed) = self.fixed(self.definitions.expr(expr)) {
            return fixed;
        }
        match &*expr.node {
            ExprNode::Panicles(_, condition) if self.one_group => {
                compute::of_condition(self.plan, condition, self).extent()
            }
            ExprNode::ShareOfPanicles(condition) if self.one_group => {
                match compute::of_condition(self.plan, condition, self) {
                    Truth::Yes => Extent::number(1.0),
                    Truth::No => Extent::number(0.0),
                    Truth::Open => Extent::between(0.0, 1.0),
                }
            }
            ExprNode::OfPanicles(_, name) if self.one_group => self.name(*name),
            _ => self.assumed(expr).unwrap_or_else(|| domain_of_leaf(self.plan, expr)),
        }
    }
}

/// Calls a function with each table that an expression looks up, and its keys.
pub(crate) fn each_lookup<'e>(expr: &'e Expr, f: &mut dyn FnMut(TableId, &'e [Expr])) {
    if let ExprNode::Lookup(table, keys) = &*expr.node {
        f(*table, keys);
    }
    expr.each_part(&mut |part| each_lookup(part, f));
}

/// Returns what a taken value can be.
pub(crate) fn extent(plan: &Plan, name: NameId, value: &TakenValue) -> Extent {
    Extent::taken(value).unwrap_or_else(|| compute::domain(plan, name))
}

/// Returns whether an extent is a value, within a tolerance in base units, and on the threshold that a number makes.
pub(crate) fn is_value(
    extent: Extent,
    value: &TakenValue,
    tolerance: Option<f64>,
    threshold: &dyn Fn(f64) -> Threshold,
) -> Truth {
    match value {
        TakenValue::Empty => {
            if extent.is_empty() {
                Truth::Yes
            } else if extent.may_be_empty {
                Truth::Open
            } else {
                Truth::No
            }
        }
        TakenValue::Unknown => Truth::of(!extent.is_settled()),
        TakenValue::One(datum) => is_between(extent, *datum, *datum, tolerance, threshold),
        TakenValue::FromTo(low, high) => is_between(extent, *low, *high, tolerance, threshold),
    }
}

fn is_between(
    extent: Extent,
    low: Datum,
    high: Datum,
    tolerance: Option<f64>,
    threshold: &dyn Fn(f64) -> Threshold,
) -> Truth {
    if extent.is_empty() {
        return Truth::No;
    }
    let (least, most) = match (low, high) {
        (Datum::Number(low), Datum::Number(high)) => {
            let more = tolerance.unwrap_or(0.0);
            (threshold(low - more).on().0, threshold(high + more).on().1)
        }
        (Datum::Word(low), Datum::Word(high)) => (f64::from(low), f64::from(high)),
        (Datum::Text(text), _) => {
            return Truth::of(extent.can_be == Possible::Text(text) && !extent.may_be_empty);
        }
        (Datum::Number(_) | Datum::Word(_), _) => return Truth::No,
    };
    let ends = match extent.word_set() {
        0 => extent.ends(),
        set => Some((f64::from(set.trailing_zeros()), f64::from(63 - set.leading_zeros()))),
    };
    let Some((from, to)) = ends else { return Truth::Open };
    if to < least || from > most {
        Truth::No
    } else if from >= least && to <= most && !extent.may_be_empty {
        Truth::Yes
    } else {
        Truth::Open
    }
}

/// Returns whether a piece of a name lies in an extent.
pub(crate) fn lies_in(name: &Name, piece: Extent, extent: Extent) -> bool {
    if piece.is_empty() {
        return extent.may_be_empty;
    }
    match (piece.can_be, extent.can_be) {
        (Possible::Numbers(low, high), Possible::Numbers(from, to)) => {
            name.threshold(from).is_reached_by(low, true) && name.threshold(to).is_kept_by(high, true)
        }
        (Possible::Words(one), Possible::Words(all)) => one & !all == 0,
        (Possible::Text(one), Possible::Text(other)) => one == other,
        (Possible::Text(_), Possible::AnyText) => true,
        _ => false,
    }
}

/// Returns whether a number lies in a piece.
pub(crate) fn holds(piece: Extent, number: Extent) -> bool {
    match (piece.ends(), number.one_number()) {
        (Some((low, high)), Some(number)) => low <= number && number <= high,
        _ => false,
    }
}
