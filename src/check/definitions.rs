//! Items that name values: figures, observations, hourlies, dailies, measures, tallies and bands.
//!
//! Comes in: such items, each after those it is made from. Goes out: the plan's names and series, with their kinds
//! and scopes.

use super::Checker;
use super::conditions::{Scene, Speaks};
use super::expressions::{Typed, is_degrees};
use super::kinds;
use super::literals::Given;
use super::units_of::Hint;
use super::windows::Over;
use super::wording;
use crate::plan::{
    Assumption, Band, BandRow, Condition, Daily, Datum, Figure, Hourly, Kind, Measure, NameId, Observation,
    Origin, Place, Subject, Tally, TallyAdd, Why, WordListId, Yields,
};
use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::syntax::tree::{self, Clause, Expression, Item, Value};
use crate::units::{Dimension, Unit};

impl<'a> Checker<'a> {
    /// Checks a figure. It is listed in any case, and noted as sound where it is.
    pub(super) fn define_figure(&mut self, item: &'a Item<'a>) {
        let id = crate::plan::FigureId(self.plan.figures.len() as u32);
        let why = self.why(item);
        let value = item.clauses.iter().find_map(|clause| match &clause.value {
            Clause::Value(value) => Some(value),
            _ => None,
        });
        let sound = value.and_then(|value| self.figure_of(value));
        let (kind, given) = match sound {
            Some((kind, given)) => {
                self.figures_sound.insert(id);
                (kind, (given.datum, given.unit))
            }
            None => (Kind::Number, (Datum::Number(0.0), Unit::none())),
        };
        self.plan.figures.push(Figure {
            name: item.name.map_or("", |name| name.value).into(),
            kind,
            value: given.0,
            unit: given.1,
            written: value.map(wording::value).unwrap_or_default().into(),
            why,
            span: item.span,
        });
    }

    fn figure_of(&mut self, value: &Value<'a>) -> Option<(Kind, Given)> {
        match value {
            Value::Literal(literal) => {
                let kind = match literal {
                    tree::Literal::Date(_) => Kind::Date,
                    tree::Literal::Clock(_) => Kind::Clock,
                    tree::Literal::Text(_) => Kind::Text,
                    tree::Literal::YesNo(_) => Kind::YesNo,
                    tree::Literal::Quantity(quantity) => self.natural_kind(quantity)?,
                    tree::Literal::DayOfYear(day) => {
                        let message = "a figure is one value, and this is a day of every year";
                        return self.fail(
                            Problem::new(Finding::KindMismatch, day.span, message)
                                .help("write the day where it is compared: `date from 1 Dec to 31 Mar`"),
                        );
                    }
                };
                Some((kind, self.literal(literal, kind)?))
            }
            Value::Name(name) => {
                if let Some(other) = self.figure(name.value) {
                    if !self.figures_sound.contains(&other) {
                        return None;
                    }
                    let other = &self.plan[other];
                    let given =
                        Given { datum: other.value, unit: other.unit.clone(), figure: None, span: name.span };
                    return Some((other.kind, given));
                }
                self.word_figure(name)
            }
        }
    }

    /// Returns a figure that is a word of one list.
    fn word_figure(&mut self, name: &tree::Name<'a>) -> Option<(Kind, Given)> {
        let mut found = (0..self.plan.word_lists.len() as u32)
            .map(WordListId)
            .filter_map(|list| self.word(list, name.value).map(|place| (list, place)));
        match (found.next(), found.next()) {
            (Some((list, place)), None) => {
                let given =
                    Given { datum: Datum::Word(place), unit: Unit::none(), figure: None, span: name.span };
                Some((Kind::Words(list), given))
            }
            (Some(_), Some(_)) => {
                let message =
                    format!("`{}` is a word of several lists, and a figure is of one kind", name.value);
                self.fail(
                    Problem::new(Finding::KindMismatch, name.span, message)
                        .help("write the word where it is compared"),
                )
            }
            (None, _) => self.unknown_name(name, "a value", |kind, _| kind == crate::plan::ItemKind::Figure),
        }
    }

    /// Checks an observation. Its kind and place are known from before.
    pub(super) fn define_observation(&mut self, id: NameId, item: &'a Item<'a>) {
        let why = self.why(item);
        let kind = self.made.get(&Subject::Name(id)).and_then(|made| made.kind);
        let place = self.plan[id].scope;
        let word = item.name.map_or("", |name| name.value);
        let mut seen = Observation { range: None, ask: None, how: None, lasts: None, assume: None };
        if let Some(kind) = kind {
            seen.range = match kind {
                Kind::Share => Some((0.0, 1.0)),
                Kind::Count => Some((0.0, f64::INFINITY)),
                _ => None,
            };
        }
        let mut hint = Hint::Open;
        for clause in &item.clauses {
            match &clause.value {
                Clause::Ask(text) => seen.ask = Some(text.value.as_str().into()),
                Clause::How(text) => seen.how = Some(text.value.as_str().into()),
                Clause::Lasts(quantity) => seen.lasts = self.duration(quantity),
                Clause::Range(low, high) => {
                    if let Some((range, unit)) =
                        kind.and_then(|kind| self.range(word, kind, low, high, clause.span))
                    {
                        seen.range = Some(range);
                        hint = Hint::Unit(unit);
                    }
                }
                _ => {}
            }
        }
        if let Some(range) = seen.range {
            self.ranges.insert(id, range);
        }
        for clause in &item.clauses {
            if let Clause::Assume(value, condition) = &clause.value {
                seen.assume = self.assumption(id, value, condition.as_ref(), clause.span, place);
            }
        }
        if let Some(made) = self.made.get_mut(&Subject::Name(id)) {
            made.hint = hint;
        }
        self.set_name(id, place, Origin::Observed(seen), why);
    }

    fn range(
        &mut self,
        word: &str,
        kind: Kind,
        low: &Value<'a>,
        high: &Value<'a>,
        span: Span,
    ) -> Option<((f64, f64), Unit)> {
        if !kind.is_numeric() {
            let message = format!("`{word}` is {}, which has no range of numbers", self.called(kind));
            return self.fail(Problem::new(Finding::KindMismatch, span, message).help("leave the range out"));
        }
        let (low, high) = (self.value(low, kind), self.value(high, kind));
        let (low, high) = (low?, high?);
        let (from, to) = (low.number()?, high.number()?);
        if from > to {
            let message = "nothing lies in this range";
            return self.fail(
                Problem::new(Finding::OutOfRange, span, message)
                    .help("write the lower end first: `range from … to …`"),
            );
        }
        Some(((from, to), low.unit))
    }

    fn assumption(
        &mut self,
        id: NameId,
        value: &Value<'a>,
        condition: Option<&tree::Condition<'a>>,
        span: Span,
        place: Place,
    ) -> Option<Assumption> {
        let kind = self.made.get(&Subject::Name(id)).and_then(|made| made.kind);
        let given = kind.and_then(|kind| {
            let given = self.value(value, kind)?;
            let word = self.plan[id].word.clone();
            self.in_range(&word, Subject::Name(id), kind, &given, &wording::value(value))?;
            Some(given)
        });
        let condition = match condition {
            None => None,
            Some(written) => {
                let group = place == Place::Panicles;
                let mut scene = Scene::of(if group { Speaks::Group } else { Speaks::Tree });
                let condition = self.condition(written, &mut scene)?;
                if !group && scene.place > place {
                    self.too_narrow(written.span(), "this observation", place, scene.place);
                    return None;
                }
                Some(condition)
            }
        };
        Some(Assumption { value: given?.datum, condition, span })
    }

    /// Says that something of a wide part of the grove speaks of a narrower one.
    pub(super) fn too_narrow(&mut self, at: Span, what: &str, of: Place, speaks: Place) {
        let word = |place| match place {
            Place::Grove => "the grove",
            Place::Block => "a block",
            Place::Tree => "a tree",
            Place::Panicles => "panicles",
        };
        let message = format!("{what} is of {}, and this speaks of {}", word(of), word(speaks));
        let share = if of == Place::Block { "block" } else { "grove" };
        self.problems.push(
            Problem::new(Finding::KindMismatch, at, message)
                .help(format!("name it in a measure: `share of trees in {share} with …`")),
        );
    }

    /// Checks an `hourly`. It is listed in any case.
    pub(super) fn define_hourly(&mut self, item: &'a Item<'a>) {
        let id = crate::plan::HourlyId(self.plan.hourlies.len() as u32);
        let why = self.why(item);
        let mut scene = Scene::of(Speaks::Hour);
        let made = self.yields(item, &mut scene);
        let (kind, yields, hint) = pieces(made);
        self.made.insert(Subject::Hourly(id), super::Made { kind, hint });
        self.plan.hourlies.push(Hourly {
            name: item.name.map_or("", |name| name.value).into(),
            label: label(item).into(),
            kind: kind.unwrap_or(Kind::Number),
            unit: Unit::none(),
            yields,
            why,
            span: item.span,
        });
    }

    /// Checks a `daily`. It is listed in any case.
    pub(super) fn define_daily(&mut self, item: &'a Item<'a>) {
        let id = crate::plan::DailyId(self.plan.dailies.len() as u32);
        let why = self.why(item);
        let mut scene = Scene::of(Speaks::Day);
        let made = self.yields(item, &mut scene);
        let (mut begins, mut valid_if) = (0, None);
        for clause in &item.clauses {
            match &clause.value {
                Clause::DaysBegin(clock) => {
                    if let Some(hours) = self.clock(*clock) {
                        begins = (hours * 60.0 + 0.5) as u16;
                    }
                }
                Clause::ValidIf(condition) => valid_if = self.condition(condition, &mut scene),
                _ => {}
            }
        }
        let (kind, yields, hint) = pieces(made);
        self.made.insert(Subject::Daily(id), super::Made { kind, hint });
        self.plan.dailies.push(Daily {
            name: item.name.map_or("", |name| name.value).into(),
            label: label(item).into(),
            kind: kind.unwrap_or(Kind::Number),
            unit: Unit::none(),
            yields,
            valid_if,
            begins,
            of_log: scene.log,
            why,
            span: item.span,
        });
    }

    /// Returns the condition or value behind the `=` of an hourly or a daily.
    fn yields(&mut self, item: &'a Item<'a>, scene: &mut Scene) -> Option<(Kind, Yields, Hint)> {
        for clause in &item.clauses {
            match &clause.value {
                Clause::Holds(condition) => {
                    // A name alone may be a condition or a value: its kind decides.
                    if let Some(name) = lone_name(condition) {
                        let typed = self.expression(&alone(name), None, scene)?;
                        if typed.kind() != Kind::YesNo {
                            return Some((typed.kind(), Yields::Value(typed.expr), typed.hint));
                        }
                    }
                    let condition = self.condition(condition, scene)?;
                    return Some((Kind::YesNo, Yields::Condition(condition), Hint::Open));
                }
                Clause::Yields(expression) => {
                    let Typed { expr, hint } = self.expression(expression, None, scene)?;
                    return Some((expr.kind, Yields::Value(expr), hint));
                }
                _ => {}
            }
        }
        None
    }

    /// Checks a measure.
    pub(super) fn define_measure(&mut self, id: NameId, item: &'a Item<'a>) {
        let why = self.why(item);
        let mut scene = Scene::of(Speaks::Tree);
        let (mut typed, mut valid_if) = (None, None);
        for clause in &item.clauses {
            match &clause.value {
                Clause::Yields(expression) => typed = self.expression(expression, None, &mut scene),
                Clause::Holds(condition) => {
                    typed =
                        lone_name(condition).and_then(|name| self.expression(&alone(name), None, &mut scene));
                }
                Clause::ValidIf(condition) => valid_if = self.condition(condition, &mut scene),
                _ => {}
            }
        }
        let Some(typed) = typed else { return };
        self.set_made(id, typed.kind(), typed.hint);
        self.set_name(id, scene.place, Origin::Measure(Measure { expr: typed.expr, valid_if }), why);
    }

    /// Checks a tally.
    pub(super) fn define_tally(&mut self, id: NameId, item: &'a Item<'a>) {
        let why = self.why(item);
        let mut scene = Scene::of(Speaks::Tally);
        let mut over = None;
        let (mut waits_for, mut reset) = (None, None);
        let mut adds: Vec<(Typed, Option<Condition>, Span)> = Vec::new();
        let mut sound = true;
        for clause in &item.clauses {
            match &clause.value {
                Clause::Over(window) => over = self.window(window, Over::Days, &mut scene),
                Clause::WaitsFor(condition) => waits_for = self.condition(condition, &mut scene),
                Clause::Reset(condition) => reset = self.condition(condition, &mut scene),
                Clause::Add(amount, condition) => {
                    let expected = is_degrees(amount).then_some(Kind::Quantity(Dimension::TEMPERATURE));
                    let amount = self.expression(amount, expected, &mut scene);
                    let condition = condition.as_ref().map(|condition| self.condition(condition, &mut scene));
                    match amount {
                        Some(amount) => adds.push((amount, condition.flatten(), clause.span)),
                        None => sound = false,
                    }
                }
                _ => {}
            }
        }
        let Some(kind) = self.tally_kind(&adds).filter(|_| sound) else { return };
        let hint = adds.first().map_or(Hint::Open, |(amount, _, _)| amount.hint.clone());
        let (mut starts, mut kept) = (0.0, None);
        for clause in &item.clauses {
            match &clause.value {
                Clause::Starts(value) => {
                    if let Some(number) = self.value(value, kind).and_then(|given| given.number()) {
                        starts = number;
                    }
                }
                Clause::Kept(low, high) => {
                    kept = self.range("the tally", kind, low, high, clause.span).map(|(range, _)| range);
                }
                _ => {}
            }
        }
        self.set_made(id, kind, hint);
        let Some(over) = over else { return };
        let adds = adds
            .into_iter()
            .map(|(amount, condition, span)| TallyAdd { amount: amount.expr, condition, span })
            .collect();
        let mut uses = std::mem::take(&mut scene.tallies);
        uses.sort_unstable();
        let tally = Tally { over, waits_for, starts, adds, kept, reset, uses, begins: scene.begins };
        self.set_name(id, scene.place, Origin::Tally(tally), why);
    }

    fn tally_kind(&mut self, adds: &[(Typed, Option<Condition>, Span)]) -> Option<Kind> {
        let mut kind: Option<Kind> = None;
        for (amount, _, _) in adds {
            let found = if kinds::is_plain(amount.kind()) { Kind::Number } else { amount.kind() };
            if found != Kind::Number && !matches!(found, Kind::Quantity(_)) {
                let message =
                    format!("a tally adds up numbers and quantities, and this is {}", self.called(found));
                let help = (found == Kind::Temperature)
                    .then(|| "add its plain number: `add (NAME in °C)`".to_string());
                return self
                    .fail(Problem::new(Finding::KindMismatch, amount.expr.span, message).maybe_help(help));
            }
            match kind {
                Some(before) if before != found => {
                    let (one, other) = (self.called(before), self.called(found));
                    let message = format!("this is {other}, and the first amount of the tally is {one}");
                    return self.fail(Problem::new(Finding::UnitMismatch, amount.expr.span, message));
                }
                Some(_) | None => kind = Some(found),
            }
        }
        kind
    }

    /// Checks a band. Its levels are known from before.
    pub(super) fn define_band(&mut self, id: NameId, item: &'a Item<'a>) {
        let why = self.why(item);
        let list = match self.made.get(&Subject::Name(id)).and_then(|made| made.kind) {
            Some(Kind::Words(list)) => Some(list),
            Some(_) | None => None,
        };
        let mut scene = Scene::of(Speaks::Tree);
        let mut rows = Vec::new();
        for clause in &item.clauses {
            let Clause::BandRow(row) = &clause.value else { continue };
            let level = list.and_then(|list| {
                let level = self.word(list, row.level.value);
                if level.is_none() {
                    self.no_level(list, &row.level);
                }
                level
            });
            let condition = self.condition(&row.condition, &mut scene);
            let cites = self.citations(&row.cites);
            let because = row.because.as_ref().map(|text| text.value.as_str().into());
            if let (Some(level), Some(condition)) = (level, condition) {
                let why = Why { because, cites };
                rows.push(BandRow { caps: row.caps, level, condition, why, span: clause.span });
            }
        }
        let Some(levels) = list else { return };
        self.set_name(id, scene.place, Origin::Band(Band { levels, rows }), why);
    }

    fn no_level(&mut self, list: WordListId, level: &tree::Name<'a>) {
        let levels = &self.plan[list];
        let near = self.catalogue.near(level.value, levels.words.iter().map(|word| &*word.name));
        let help = match near {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("its levels are {}", wording::both(levels.words.iter().map(|word| &*word.name))),
        };
        let message = format!("`{}` is no level of the band `{}`", level.value, levels.name);
        self.problems.push(Problem::new(Finding::UnknownName, level.span, message).help(help));
    }

    fn set_made(&mut self, id: NameId, kind: Kind, hint: Hint) {
        self.made.insert(Subject::Name(id), super::Made { kind: Some(kind), hint });
        if let Some(name) = self.plan.names.get_mut(id.index()) {
            name.kind = kind;
        }
    }

    fn set_name(&mut self, id: NameId, scope: Place, origin: Origin, why: Why) {
        if let Some(name) = self.plan.names.get_mut(id.index()) {
            name.scope = scope;
            name.origin = origin;
            name.why = why;
        }
    }
}

/// Returns how an item is printed.
pub(super) fn label(item: &Item<'_>) -> String {
    match (&item.label, &item.name) {
        (Some(label), _) => label.value.clone(),
        (None, Some(name)) => crate::plan::spaced(name.value),
        (None, None) => String::new(),
    }
}

/// Returns the name that a condition is, in parentheses or not.
pub(super) fn lone_name<'e, 'a>(condition: &'e tree::Condition<'a>) -> Option<&'e tree::Name<'a>> {
    match condition {
        tree::Condition::Bare(name) => Some(name),
        tree::Condition::Parenthesis(inner, _) => lone_name(inner),
        _ => None,
    }
}

fn alone<'a>(name: &tree::Name<'a>) -> Expression<'a> {
    Expression { node: Box::new(tree::Node::Name(*name)), span: name.span }
}

fn pieces(made: Option<(Kind, Yields, Hint)>) -> (Option<Kind>, Yields, Hint) {
    match made {
        Some((kind, yields, hint)) => (Some(kind), yields, hint),
        None => (None, Yields::Condition(Condition::All(Vec::new())), Hint::Open),
    }
}
