//! What is proved: statements, promises, settings and worked examples.
//!
//! Comes in: such items, when the rules are known. Goes out: the plan's.

use super::Checker;
use super::catalogue::NameMeaning;
use super::conditions::{Scene, Speaks};
use super::wording;
use crate::plan::{
    Always, ChoiceId, Condition, Datum, Expectation, Expected, GateId, ItemKind, Kind, LabelWord, NameId,
    Never, Only, ProductId, Promise, Setting, Subject, TableId, Take, TakenValue, Worked,
};
use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::syntax::tree::{self, Clause, Expression, Item, Literal, Name, Node, Quantity, Value};
use crate::tables::read_stamp;
use crate::units::Dimension;
use rustc_hash::FxHashMap;

/// Whether speaking of a name is a use of it: to fix a value is none, to ask for it is one.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Use {
    Counts,
    Silent,
}

impl<'a> Checker<'a> {
    /// Checks an `always`. It is listed where its statement is sound.
    pub(super) fn always(&mut self, item: &'a Item<'a>) {
        let why = self.why(item);
        let mut statement = None;
        for clause in &item.clauses {
            if let Clause::Statement(condition) = &clause.value {
                let mut scene = Scene::of(Speaks::Tree);
                scene.compares_names = true;
                statement = self.condition(condition, &mut scene);
            }
        }
        let Some(statement) = statement else { return };
        let name = item.name.map_or("", |name| name.value).into();
        self.plan.always.push(Always { name, statement, why, span: item.span });
    }

    /// Checks a promise. It is listed in any case.
    pub(super) fn promise(&mut self, item: &'a Item<'a>) {
        let mut promise = Promise {
            name: item.name.map_or("", |name| name.value).into(),
            whenever: Condition::All(Vec::new()),
            never: Vec::new(),
            only: None,
            tasks: Vec::new(),
            why: self.why(item),
            span: item.span,
        };
        for clause in &item.clauses {
            match &clause.value {
                Clause::Whenever(condition) => {
                    if let Some(condition) = self.condition(condition, &mut Scene::of(Speaks::Tree)) {
                        promise.whenever = condition;
                    }
                }
                Clause::Never(list) => {
                    for never in list {
                        let never = match &never.value {
                            tree::Never::Above(product, strength) => self
                                .dose(product, strength)
                                .map(|(product, place)| Never::Above(product, place)),
                            tree::Never::Shut(shut) => {
                                self.shut(&tree::Spanned::new(shut.clone(), never.span)).map(Never::Shut)
                            }
                        };
                        promise.never.extend(never);
                    }
                }
                Clause::Only(list) => {
                    let mut allowed = Vec::new();
                    for only in list {
                        allowed.extend(match &only.value {
                            tree::Only::Verdict(word) => Some(Only::Verdict(*word)),
                            tree::Only::Product(name) => {
                                self.find(ItemKind::Product, name).map(|id| Only::Product(ProductId(id)))
                            }
                        });
                    }
                    promise.only = Some(allowed);
                }
                Clause::PromisedTask(name) => {
                    promise.tasks.extend(self.find(ItemKind::Task, name).map(|number| number as usize));
                }
                _ => {}
            }
        }
        self.plan.promises.push(promise);
    }

    /// Checks a setting. It is listed in any case.
    pub(super) fn setting(&mut self, item: &'a Item<'a>) {
        self.why(item);
        let takes = self.takes(item);
        let name = item.name.map_or("", |name| name.value).into();
        self.plan.settings.push(Setting { name, takes, span: item.span });
    }

    /// Checks a worked example. It is listed in any case.
    pub(super) fn worked(&mut self, item: &'a Item<'a>) {
        let mut worked = Worked {
            title: item.label.as_ref().map_or("", |title| title.value.as_str()).into(),
            with: Vec::new(),
            takes: self.takes(item),
            expects: Vec::new(),
            hours_from: None,
            as_of: None,
            why: self.why(item),
            span: item.span,
        };
        for clause in &item.clauses {
            match &clause.value {
                Clause::With(name) => {
                    worked.with.extend(self.find(ItemKind::Setting, name).map(|number| number as usize));
                }
                Clause::Expect(expected) => {
                    let what = self.expected(expected, clause.span);
                    worked.expects.extend(what.map(|what| Expectation { what, span: clause.span }));
                }
                Clause::HoursFrom(text) => worked.hours_from = Some((text.value.as_str().into(), text.span)),
                Clause::AsOf(moment) if self.moment(moment).is_some() => {
                    worked.as_of = Some((moment.value.into(), moment.span));
                }
                _ => {}
            }
        }
        self.plan.worked.push(worked);
    }

    /// Says where two settings of one worked example take the same name; its own takes settle it.
    pub(super) fn settings_agree(&mut self) {
        let mut found = Vec::new();
        for worked in &self.plan.worked {
            let mut from: FxHashMap<NameId, (usize, &TakenValue, Span)> = FxHashMap::default();
            for with in &worked.with {
                let Some(setting) = self.plan.settings.get(*with) else { continue };
                for take in &setting.takes {
                    if worked.takes.iter().any(|own| own.name == take.name) {
                        continue;
                    }
                    match from.get(&take.name) {
                        Some((other, value, span)) if other != with && **value != take.value => {
                            found.push((worked.span, take.name, *span, take.span));
                        }
                        Some(_) => {}
                        None => {
                            from.insert(take.name, (*with, &take.value, take.span));
                        }
                    }
                }
            }
        }
        for (at, name, one, other) in found {
            let word = self.plan[name].word.clone();
            let message = format!("two settings of this worked example take `{word}`, each otherwise");
            self.problems.push(
                Problem::new(Finding::DefinedTwice, at, message)
                    .related(one, "one takes it here")
                    .related(other, "the other here")
                    .help(format!("say in the example itself which it is: `take {word} …`")),
            );
        }
    }

    fn takes(&mut self, item: &'a Item<'a>) -> Vec<Take> {
        let mut takes: Vec<Take> = Vec::new();
        let mut seen: FxHashMap<NameId, Span> = FxHashMap::default();
        for clause in &item.clauses {
            let Clause::Take(list) = &clause.value else { continue };
            for taken in list {
                let Some((id, kind)) = self.taken_name(&taken.name, Use::Silent) else { continue };
                let span = taken.name.span.to(taken_span(&taken.value));
                if let Some(before) = seen.insert(id, span) {
                    let message = format!("`{}` is taken twice", taken.name.value);
                    self.problems.push(
                        Problem::new(Finding::DefinedTwice, span, message)
                            .related(before, "it is already taken here")
                            .help("leave one of them out"),
                    );
                    continue;
                }
                let Some(value) = self.taken_value(taken.name.value, id, kind, &taken.value) else {
                    continue;
                };
                takes.push(Take { name: id, value, span });
            }
        }
        takes
    }

    /// Returns a name that a worked example can fix or ask for.
    fn taken_name(&mut self, name: &Name<'a>, counts: Use) -> Option<(NameId, Kind)> {
        let meaning = match counts {
            Use::Counts => self.catalogue.meaning(name.value),
            Use::Silent => self.catalogue.peek(name.value),
        };
        match meaning {
            Some(NameMeaning::Name(id)) => self.kinded(Subject::Name(id)).map(|(_, kind)| (id, kind)),
            Some(
                NameMeaning::Series(_)
                | NameMeaning::Hourly(_)
                | NameMeaning::Daily(_)
                | NameMeaning::Figure(_),
            ) => {
                let what = self.catalogue.value_called(name.value).unwrap_or("something else");
                let message = format!(
                    "expected an observation, a measure, a tally or a band, but `{}` is {what}",
                    name.value
                );
                let help =
                    "take what is made from it; whole hours come from a file: `hours from \"week.csv\"`";
                self.fail(Problem::new(Finding::KindMismatch, name.span, message).help(help))
            }
            None => self.unknown_name(name, "an observation, a measure, a tally or a band", |_, meaning| {
                matches!(meaning, NameMeaning::Name(_))
            }),
        }
    }

    fn taken_value(
        &mut self,
        name: &str,
        id: NameId,
        kind: Kind,
        written: &tree::TakenValue<'a>,
    ) -> Option<TakenValue> {
        match written {
            tree::TakenValue::Unknown(_) => Some(TakenValue::Unknown),
            tree::TakenValue::Empty(_) => Some(TakenValue::Empty),
            tree::TakenValue::One(value) => self.taken_datum(name, id, kind, value).map(TakenValue::One),
            tree::TakenValue::FromTo(from, to) => {
                let (low, high) =
                    (self.taken_datum(name, id, kind, from), self.taken_datum(name, id, kind, to));
                let (low, high) = (low?, high?);
                let at = from.span().to(to.span());
                let ordered = match (low, high) {
                    (Datum::Number(low), Datum::Number(high)) => low <= high,
                    (Datum::Word(low), Datum::Word(high)) if super::tables::is_ordered(kind, self) => {
                        low <= high
                    }
                    _ => {
                        let message = format!("`{name}` is {}, which has no order", self.called(kind));
                        return self
                            .fail(Problem::new(Finding::KindMismatch, at, message).help("take one value"));
                    }
                };
                if !ordered {
                    return self.fail(
                        Problem::new(Finding::OutOfRange, at, "nothing lies between these two")
                            .help("write the lower one first"),
                    );
                }
                Some(TakenValue::FromTo(low, high))
            }
        }
    }

    fn taken_datum(&mut self, name: &str, id: NameId, kind: Kind, value: &Value<'a>) -> Option<Datum> {
        let given = self.value(value, kind)?;
        self.in_range(name, Subject::Name(id), kind, &given, &wording::value(value))?;
        Some(given.datum)
    }

    fn expected(&mut self, expected: &tree::Expected<'a>, span: Span) -> Option<Expected> {
        Some(match expected {
            tree::Expected::Verdict(word) => Expected::Verdict(word.value),
            tree::Expected::Spray(doses) => Expected::Spray(self.doses(doses)?),
            tree::Expected::By(name) => Expected::By(ChoiceId(self.find(ItemKind::Choice, name)?)),
            tree::Expected::Task(name) => Expected::Task(self.find(ItemKind::Task, name)? as usize),
            tree::Expected::Warning(name) => Expected::Warning(self.find(ItemKind::Warning, name)? as usize),
            tree::Expected::Allowed(name) => {
                Expected::Allowed(ProductId(self.find(ItemKind::Product, name)?))
            }
            tree::Expected::ShutBy(product, gate) => {
                let (product, gates) = (self.find(ItemKind::Product, product), self.gate_named(gate, span));
                Expected::ShutBy(ProductId(product?), gates?)
            }
            tree::Expected::Is(subject, what, within) if subject.keys.is_empty() => {
                let (id, kind) = self.taken_name(&subject.name, Use::Counts)?;
                let value = self
                    .is_what(what, |checker, value| checker.taken_datum(subject.name.value, id, kind, value));
                let within = self.tolerance(kind, within.as_ref());
                Expected::Is(id, value?, within?)
            }
            tree::Expected::Is(subject, what, within) => {
                let id = TableId(self.find(ItemKind::Table, &subject.name)?);
                let shape = self.tables.get(id.index()).cloned().flatten()?;
                if shape.keys.len() != subject.keys.len() {
                    return self.wrong_key_count(&subject.name, subject.keys.len(), shape.keys.len(), span);
                }
                let keys: Vec<Option<Datum>> = subject
                    .keys
                    .iter()
                    .zip(&shape.keys)
                    .map(|(key, kind)| self.constant(key, *kind))
                    .collect();
                let kind = shape.gives;
                let value =
                    self.is_what(what, |checker, value| checker.value(value, kind).map(|given| given.datum));
                let within = self.tolerance(kind, within.as_ref());
                Expected::TableIs(id, keys.into_iter().collect::<Option<Vec<Datum>>>()?, value?, within?)
            }
        })
    }

    fn is_what(
        &mut self,
        what: &tree::IsWhat<'a>,
        value: impl FnOnce(&mut Self, &Value<'a>) -> Option<Datum>,
    ) -> Option<TakenValue> {
        match what {
            tree::IsWhat::Unknown(_) => Some(TakenValue::Unknown),
            tree::IsWhat::Empty(_) => Some(TakenValue::Empty),
            tree::IsWhat::Value(written) => value(self, written).map(TakenValue::One),
        }
    }

    /// Returns a tolerance in base units; within, nothing where none is written.
    #[expect(clippy::option_option, reason = "in error, or not written")]
    fn tolerance(&mut self, kind: Kind, within: Option<&Quantity<'a>>) -> Option<Option<f64>> {
        let Some(quantity) = within else { return Some(None) };
        let step = match kind {
            Kind::Temperature => Kind::Quantity(Dimension::TEMPERATURE),
            Kind::Date | Kind::Clock => Kind::Quantity(Dimension::TIME),
            Kind::Count => Kind::Number,
            kind => kind,
        };
        if !step.is_numeric() {
            let message = format!("{} is met exactly or not at all", self.called(kind));
            return self.fail(
                Problem::new(Finding::KindMismatch, quantity.span, message).help("leave the `within` out"),
            );
        }
        let (amount, _) = self.quantity(quantity, step)?;
        let amount = if kind == Kind::Date { amount / 24.0 } else { amount };
        Some(Some(amount))
    }

    /// Returns the value of an expression that is a literal, a word or a figure.
    fn constant(&mut self, written: &Expression<'a>, kind: Kind) -> Option<Datum> {
        match &*written.node {
            Node::Parenthesis(inner) => self.constant(inner, kind),
            Node::Literal(literal) => {
                let literal: &Literal<'a> = literal;
                self.literal(literal, kind).map(|given| given.datum)
            }
            Node::Name(name) => self.value(&Value::Name(*name), kind).map(|given| given.datum),
            _ => {
                let message = "a worked example asks a table with plain values";
                self.fail(
                    Problem::new(Finding::KindMismatch, written.span, message)
                        .help("write the value: `NAME at 15 °C is 26 h`"),
                )
            }
        }
    }

    fn gate_named(&mut self, gate: &tree::GateName<'a>, span: Span) -> Option<Vec<GateId>> {
        match gate {
            tree::GateName::Gate(name) => self.find(ItemKind::Gate, name).map(|id| vec![GateId(id)]),
            tree::GateName::Label(name, word, other) => {
                let product = self.find(ItemKind::Product, name).map(ProductId);
                let other = match other {
                    Some(other) => Some(self.find(ItemKind::Product, other).map(ProductId)?),
                    None => None,
                };
                let product = product?;
                let lines = self.label_gates.get(&(product, *word)).cloned().unwrap_or_default();
                let gates: Vec<GateId> = lines
                    .into_iter()
                    .filter(|id| {
                        let line = self.plan.gates.get(id.index()).and_then(|gate| gate.line.as_ref());
                        line.is_some_and(|line| other.is_none() || line.other == other)
                    })
                    .collect();
                if gates.is_empty() {
                    return self.no_label(name, *word, product, span);
                }
                Some(gates)
            }
        }
    }

    fn no_label<T>(&mut self, name: &Name<'a>, word: LabelWord, product: ProductId, span: Span) -> Option<T> {
        let message = format!("the label of `{}` has no such line: `{}`", name.value, word.word());
        let lines: Vec<String> = self
            .label_gates
            .keys()
            .filter(|(found, _)| *found == product)
            .map(|(_, word)| format!("{} label {}", name.value, word.word()))
            .collect();
        let mut lines: Vec<&str> = lines.iter().map(String::as_str).collect();
        lines.sort_unstable();
        let help = (!lines.is_empty()).then(|| format!("it has {}", wording::both(lines)));
        self.fail(Problem::new(Finding::UnknownName, span, message).maybe_help(help))
    }

    /// Says where a moment does not exist.
    fn moment(&mut self, moment: &Name<'a>) -> Option<()> {
        let text = moment.value;
        if read_stamp(text).is_some() {
            return Some(());
        }
        let message = format!("there is no moment `{text}`");
        self.fail(
            Problem::new(Finding::OutOfRange, moment.span, message)
                .help("moments are date and time: `2027-02-11T05:30`"),
        )
    }
}

fn taken_span(value: &tree::TakenValue<'_>) -> Span {
    match value {
        tree::TakenValue::One(value) => value.span(),
        tree::TakenValue::FromTo(from, to) => from.span().to(to.span()),
        tree::TakenValue::Unknown(at) | tree::TakenValue::Empty(at) => at.0,
    }
}
