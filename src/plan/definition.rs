//! What each name means, as a number: two names have the same number where their definitions are the same, all the way
//! down, whatever they are called. An observation is its word; a person can be asked for nothing else.

use super::{
    Aggregate, CellValue, Compare, Condition, Counted, DailyId, Datum, Expr, ExprNode, HourSeries, HourlyId,
    Kind, NameId, Origin, Pattern, Plan, Spell, Sprayed, Subject, TableId, Window, Yields,
};
use crate::units::Threshold;
use rustc_hash::FxHashMap;
use std::cell::RefCell;
use std::hash::{DefaultHasher, Hash, Hasher};

/// The meaning of a definition; equal for equal definitions of the same or another plan.
pub type Meaning = u64;

/// The meanings of a plan's definitions, each computed once.
#[derive(Clone, Debug)]
pub struct Definitions<'p> {
    plan: &'p Plan,
    known: RefCell<FxHashMap<Subject, Meaning>>,
    depth: Depth,
}

/// How far down a definition is read.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Depth {
    /// All the way: what it is computed from, too.
    Whole,
    /// As it is written: other items by their names.
    AsWritten,
}

impl<'p> Definitions<'p> {
    /// Reads the definitions of a plan, names before those that are computed from them.
    pub fn of(plan: &'p Plan) -> Self {
        let definitions = Self { plan, known: RefCell::default(), depth: Depth::Whole };
        for name in &plan.order {
            definitions.name(*name);
        }
        definitions
    }

    /// Reads the definitions of a plan as they are written, other items by their names.
    pub fn as_written(plan: &'p Plan) -> Self {
        Self { plan, known: RefCell::default(), depth: Depth::AsWritten }
    }

    /// Returns the meaning of a name's own definition.
    pub fn own(&self, id: NameId) -> Meaning {
        let mut hasher = DefaultHasher::new();
        self.hash_name(id, &mut hasher);
        hasher.finish()
    }

    fn by_word(&self, word: &str) -> Meaning {
        let mut hasher = DefaultHasher::new();
        word.hash(&mut hasher);
        hasher.finish()
    }

    /// Returns the meaning of a name.
    pub fn name(&self, id: NameId) -> Meaning {
        if self.depth == Depth::AsWritten
            && let Some(name) = self.plan.names.get(id.index()).filter(|name| !name.hidden)
        {
            return self.by_word(&name.word);
        }
        // A copy of a name is that name; a measure that is a bare expression is that expression.
        if let Some(Origin::Measure(measure)) = self.plan.names.get(id.index()).map(|name| &name.origin)
            && measure.valid_if.is_none()
        {
            return self.kept(Subject::Name(id), &|| self.expr(&measure.expr));
        }
        self.kept(Subject::Name(id), &|| {
            let mut hasher = DefaultHasher::new();
            self.hash_name(id, &mut hasher);
            hasher.finish()
        })
    }

    /// Returns the meaning of an expression.
    pub fn expr(&self, expr: &Expr) -> Meaning {
        if let ExprNode::Name(name) = &*expr.node {
            return self.name(*name);
        }
        let mut hasher = DefaultHasher::new();
        self.hash_node(expr, &mut hasher);
        hasher.finish()
    }

    /// Returns the meaning of a condition.
    pub fn condition(&self, condition: &Condition) -> Meaning {
        let mut hasher = DefaultHasher::new();
        self.hash_condition(condition, &mut hasher);
        hasher.finish()
    }

    fn kept(&self, subject: Subject, make: &dyn Fn() -> Meaning) -> Meaning {
        if let Some(known) = self.known.borrow().get(&subject) {
            return *known;
        }
        let made = make();
        self.known.borrow_mut().insert(subject, made);
        made
    }

    fn hash_name(&self, id: NameId, to: &mut DefaultHasher) {
        let Some(name) = self.plan.names.get(id.index()) else { return };
        self.hash_kind(name.kind, to);
        match &name.origin {
            Origin::Observed(_) => {
                // What of it is taken says nothing of what it is.
                (0u8, &name.word, name.scope).hash(to);
            }
            Origin::Measure(measure) => {
                1u8.hash(to);
                self.expr(&measure.expr).hash(to);
                measure.valid_if.iter().for_each(|valid| self.hash_condition(valid, to));
            }
            Origin::Tally(tally) => {
                (2u8, tally.starts.to_bits(), tally.begins).hash(to);
                self.hash_window(&tally.over, to);
                tally.kept.map(|(low, high)| (low.to_bits(), high.to_bits())).hash(to);
                for condition in tally.waits_for.iter().chain(&tally.reset) {
                    (tally.reset.is_some(), self.condition(condition)).hash(to);
                }
                let adds = tally
                    .adds
                    .iter()
                    .map(|add| (self.expr(&add.amount), add.condition.as_ref().map(|it| self.condition(it))));
                in_any_order(adds, to);
            }
            Origin::Band(band) => {
                3u8.hash(to);
                let levels = self.plan.word_lists.get(band.levels.index()).map_or(0, |list| list.words.len());
                levels.hash(to);
                let rows = band.rows.iter().map(|row| (row.caps, row.level, self.condition(&row.condition)));
                in_any_order(rows, to);
            }
            Origin::Cultivar => 4u8.hash(to),
            Origin::Block => 5u8.hash(to),
            Origin::Date => 6u8.hash(to),
        }
    }

    /// Returns the meaning of an `hourly`.
    pub fn hourly(&self, id: HourlyId) -> Meaning {
        self.kept(Subject::Hourly(id), &|| match self.plan.hourlies.get(id.index()).map(|it| &it.yields) {
            Some(yields) => self.yields(yields),
            None => 0,
        })
    }

    /// Returns the meaning of a `daily`.
    pub fn daily(&self, id: DailyId) -> Meaning {
        self.kept(Subject::Daily(id), &|| {
            let Some(daily) = self.plan.dailies.get(id.index()) else { return 0 };
            let mut hasher = DefaultHasher::new();
            (daily.begins, self.yields(&daily.yields)).hash(&mut hasher);
            daily.valid_if.iter().for_each(|valid| self.hash_condition(valid, &mut hasher));
            hasher.finish()
        })
    }

    fn of_hourly(&self, id: HourlyId) -> Meaning {
        match (self.depth, self.plan.hourlies.get(id.index())) {
            (Depth::AsWritten, Some(hourly)) => self.by_word(&hourly.name),
            (Depth::Whole, _) | (Depth::AsWritten, None) => self.hourly(id),
        }
    }

    fn of_daily(&self, id: DailyId) -> Meaning {
        match (self.depth, self.plan.dailies.get(id.index())) {
            (Depth::AsWritten, Some(daily)) => self.by_word(&daily.name),
            (Depth::Whole, _) | (Depth::AsWritten, None) => self.daily(id),
        }
    }

    fn yields(&self, yields: &Yields) -> Meaning {
        match yields {
            Yields::Condition(condition) => self.condition(condition),
            Yields::Value(expr) => self.expr(expr),
        }
    }

    fn hash_kind(&self, kind: Kind, to: &mut DefaultHasher) {
        std::mem::discriminant(&kind).hash(to);
        match kind {
            Kind::Words(list) => {
                let words = self.plan.word_lists.get(list.index());
                words.iter().flat_map(|list| &list.words).for_each(|word| word.name.hash(to));
            }
            Kind::Quantity(dimension) => dimension.hash(to),
            Kind::Share
            | Kind::Number
            | Kind::Count
            | Kind::Temperature
            | Kind::Date
            | Kind::Clock
            | Kind::YesNo
            | Kind::Text => {}
        }
    }

    fn hash_node(&self, expr: &Expr, to: &mut DefaultHasher) {
        std::mem::discriminant(&*expr.node).hash(to);
        match &*expr.node {
            ExprNode::Number(number) => number.to_bits().hash(to),
            ExprNode::Word(place) => {
                place.hash(to);
                self.hash_kind(expr.kind, to);
            }
            ExprNode::Name(name) | ExprNode::DaysSince(name) | ExprNode::DaysTo(name) => {
                self.name(*name).hash(to);
            }
            ExprNode::LikelyRange(name) => self.name(*name).hash(to),
            ExprNode::Series(series) => series.hash(to),
            ExprNode::Hourly(id) => self.of_hourly(*id).hash(to),
            ExprNode::Daily(id) => self.of_daily(*id).hash(to),
            ExprNode::Arithmetic(operator, a, b) => {
                operator.hash(to);
                (self.expr(a), self.expr(b), discriminants(a.kind, b.kind)).hash(to);
            }
            ExprNode::InUnit(a, unit) => (self.expr(a), &unit.symbol, a.kind == Kind::Temperature).hash(to),
            ExprNode::Kept(a, low, high) => (self.expr(a), self.expr(low), self.expr(high)).hash(to),
            ExprNode::Rounded(a, step, unit) => (self.expr(a), step.to_bits(), &unit.symbol).hash(to),
            ExprNode::OrElse(a, b) => (self.expr(a), self.expr(b)).hash(to),
            ExprNode::Pick(pick, a, b) => (pick, self.expr(a), self.expr(b)).hash(to),
            ExprNode::Function(function, a) => (function, self.expr(a)).hash(to),
            ExprNode::Lookup(table, keys) => {
                match (self.depth, self.plan.tables.get(table.index())) {
                    (Depth::AsWritten, Some(of)) => of.name.hash(to),
                    (Depth::Whole, _) | (Depth::AsWritten, None) => self.hash_table(*table, to),
                }
                keys.iter().for_each(|key| self.expr(key).hash(to));
            }
            ExprNode::DaysSinceLast(what) | ExprNode::SpraysInARow(what) => self.hash_sprayed(what, to),
            ExprNode::DaysToHarvest => {}
            ExprNode::SpraysOf(what, over) => {
                self.hash_sprayed(what, to);
                self.hash_counted(*over, to);
            }
            ExprNode::AmountOf(ingredient, over) => {
                ingredient.hash(to);
                self.hash_counted(*over, to);
            }
            ExprNode::AmountOfProduct(product, over) => {
                self.hash_product(product.index(), to);
                self.hash_counted(*over, to);
            }
            ExprNode::Panicles(quantifier, condition) => {
                quantifier.hash(to);
                self.hash_condition(condition, to);
            }
            ExprNode::ShareOfPanicles(condition) => self.hash_condition(condition, to),
            ExprNode::ShareOfTrees(place, condition) => {
                place.hash(to);
                self.hash_condition(condition, to);
            }
            ExprNode::OfPanicles(statistic, name) => (statistic, self.name(*name)).hash(to),
            ExprNode::Aggregate(aggregate, window) => {
                self.hash_aggregate(aggregate, to);
                self.hash_window(window, to);
            }
            ExprNode::Fitting { product, ingredient, used, at_most, per } => {
                self.hash_product(product.index(), to);
                (ingredient, used.map(|name| self.name(name)), at_most.value().to_bits(), per).hash(to);
                // The doses are the product's own.
                if let Some(product) = self.plan.products.get(product.index()) {
                    for strength in &product.strengths {
                        (&strength.amount.quantity.to_bits(), &strength.amount.unit.symbol).hash(to);
                    }
                }
            }
        }
    }

    fn hash_aggregate(&self, aggregate: &Aggregate, to: &mut DefaultHasher) {
        std::mem::discriminant(aggregate).hash(to);
        match aggregate {
            Aggregate::Hours(condition) => self.hash_condition(condition, to),
            Aggregate::Spell(spell) => self.hash_spell(spell, to),
            Aggregate::Spells(condition, hours) => {
                self.hash_condition(condition, to);
                hours.to_bits().hash(to);
            }
            Aggregate::Days(daily, compare) => {
                self.of_daily(*daily).hash(to);
                compare.iter().for_each(|compare| self.hash_compare(compare, to));
            }
            Aggregate::Of(statistic, series) => {
                statistic.hash(to);
                self.hash_hour_series(*series, to);
            }
            Aggregate::While(statistic, series, condition) => {
                statistic.hash(to);
                self.hash_hour_series(*series, to);
                self.hash_condition(condition, to);
            }
            Aggregate::InSpell(statistic, series, spell) => {
                statistic.hash(to);
                self.hash_hour_series(*series, to);
                self.hash_spell(spell, to);
            }
        }
    }

    fn hash_spell(&self, spell: &Spell, to: &mut DefaultHasher) {
        (spell.which, spell.across.to_bits()).hash(to);
        self.hash_condition(&spell.condition, to);
    }

    fn hash_hour_series(&self, series: HourSeries, to: &mut DefaultHasher) {
        match series {
            HourSeries::Series(series) => (0u8, series).hash(to),
            HourSeries::Hourly(id) => (1u8, self.of_hourly(id)).hash(to),
            HourSeries::Daily(id) => (2u8, self.of_daily(id)).hash(to),
        }
    }

    fn hash_window(&self, window: &Window, to: &mut DefaultHasher) {
        match window {
            Window::Since(name) => (0u8, self.name(*name)).hash(to),
            Window::SinceLast(what) => {
                1u8.hash(to);
                self.hash_sprayed(what, to);
            }
            Window::HoursAfterLast(hours, what) => {
                (3u8, hours).hash(to);
                self.hash_sprayed(what, to);
            }
            Window::ThisSeason => (2u8, self.plan.head.season).hash(to),
            // No other window speaks of a plan.
            other => format!("{other:?}").hash(to),
        }
    }

    fn hash_counted(&self, over: Counted, to: &mut DefaultHasher) {
        over.hash(to);
        if over == Counted::ThisSeason {
            self.plan.head.season.hash(to);
        }
    }

    fn hash_sprayed(&self, what: &Sprayed, to: &mut DefaultHasher) {
        match what {
            Sprayed::Any => 0u8.hash(to),
            Sprayed::Group(group) => (1u8, group).hash(to),
            Sprayed::Product(product) => {
                2u8.hash(to);
                self.hash_product(product.index(), to);
            }
        }
    }

    fn hash_product(&self, product: usize, to: &mut DefaultHasher) {
        self.plan.products.get(product).map(|product| &product.name).hash(to);
    }

    /// Returns the meaning of a table.
    pub fn table(&self, id: TableId) -> Meaning {
        let mut hasher = DefaultHasher::new();
        self.hash_table(id, &mut hasher);
        hasher.finish()
    }

    fn hash_table(&self, id: TableId, to: &mut DefaultHasher) {
        let Some(table) = self.plan.tables.get(id.index()) else { return };
        table.keys.iter().for_each(|kind| self.hash_kind(*kind, to));
        self.hash_kind(table.gives, to);
        (table.between, table.beyond).hash(to);
        let rows = table.rows.iter().map(|row| {
            let patterns: Vec<Meaning> = row.patterns.iter().map(|it| self.pattern(it)).collect();
            (patterns, self.cell_value(row.gives))
        });
        in_any_order(rows, to);
        table.otherwise.map(|value| self.cell_value(value)).hash(to);
    }

    fn pattern(&self, pattern: &Pattern) -> Meaning {
        let mut to = DefaultHasher::new();
        let bits =
            |bound: &Option<(Threshold, bool)>| bound.map(|(at, closed)| (at.value().to_bits(), closed));
        match pattern {
            Pattern::Any => 0u8.hash(&mut to),
            Pattern::Is(datum) => self.hash_datum(*datum, &mut to),
            Pattern::Numbers { low, high } => (2u8, bits(low), bits(high)).hash(&mut to),
        }
        to.finish()
    }

    fn cell_value(&self, value: CellValue) -> Meaning {
        let mut to = DefaultHasher::new();
        match value {
            CellValue::One(datum) => self.hash_datum(datum, &mut to),
            CellValue::Between(low, high) => {
                self.hash_datum(low, &mut to);
                self.hash_datum(high, &mut to);
            }
            CellValue::Unknown => 8u8.hash(&mut to),
            CellValue::Empty => 9u8.hash(&mut to),
        }
        to.finish()
    }

    fn hash_datum(&self, datum: Datum, to: &mut DefaultHasher) {
        match datum {
            Datum::Number(number) => (0u8, number.to_bits()).hash(to),
            Datum::Word(place) => (1u8, place).hash(to),
            Datum::Text(text) => (2u8, self.plan.texts.get(text.0 as usize)).hash(to),
        }
    }

    fn hash_condition(&self, condition: &Condition, to: &mut DefaultHasher) {
        if self.depth == Depth::Whole {
            return self.canonical(condition, false).hash(to);
        }
        match condition {
            Condition::Test(test) => {
                0u8.hash(to);
                self.hash_subject(test.subject, to);
                self.hash_compare(&test.compare, to);
            }
            Condition::Not(inner) => {
                1u8.hash(to);
                self.hash_condition(inner, to);
            }
            Condition::All(parts) | Condition::Any(parts) => {
                matches!(condition, Condition::All(_)).hash(to);
                in_any_order(parts.iter().map(|part| self.condition(part)), to);
            }
        }
    }

    pub(super) fn hash_subject(&self, subject: Subject, to: &mut DefaultHasher) {
        match subject {
            Subject::Name(name) => (0u8, self.name(name)).hash(to),
            Subject::Series(series) => (1u8, series).hash(to),
            Subject::Hourly(id) => (2u8, self.of_hourly(id)).hash(to),
            Subject::Daily(id) => (3u8, self.of_daily(id)).hash(to),
        }
    }

    pub(super) fn plan(&self) -> &'p Plan {
        self.plan
    }

    pub(super) fn hash_compare(&self, compare: &Compare, to: &mut DefaultHasher) {
        let one = |it: &super::Bound| {
            let figure = it.figure.filter(|_| self.depth == Depth::AsWritten);
            match figure.and_then(|figure| self.plan.figures.get(figure.index())) {
                Some(figure) => self.by_word(&figure.name),
                None => it.value().to_bits(),
            }
        };
        let bits = |bound: &Option<super::Bound>| bound.as_ref().map(|it| (one(it), it.closed));
        match compare {
            Compare::Numbers { low, high } => (0u8, bits(low), bits(high)).hash(to),
            Compare::NumberIsOneOf(list) => {
                1u8.hash(to);
                in_any_order(list.iter().map(one), to);
            }
            Compare::Words(set) => (2u8, set).hash(to),
            Compare::Texts(list) => {
                3u8.hash(to);
                in_any_order(list.iter().map(|text| self.plan.texts.get(text.0 as usize)), to);
            }
            Compare::DaysOfYear(from, end) => (4u8, from, end).hash(to),
            Compare::Name(order, name) => (5u8, std::mem::discriminant(order), self.name(*name)).hash(to),
            Compare::Not(inner) => {
                6u8.hash(to);
                self.hash_compare(inner, to);
            }
        }
    }
}

fn discriminants(a: Kind, b: Kind) -> (std::mem::Discriminant<Kind>, std::mem::Discriminant<Kind>) {
    (std::mem::discriminant(&a), std::mem::discriminant(&b))
}

/// Hashes a list whose order means nothing.
fn in_any_order<T: Hash + Ord>(list: impl Iterator<Item = T>, to: &mut DefaultHasher) {
    let mut list: Vec<T> = list.collect();
    list.sort();
    list.hash(to);
}
