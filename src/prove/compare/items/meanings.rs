//! What each item of a rulebook means, part by part: its conditions, its hours, and a number for the rest of it; and, apart
//! from that, its words and its sources.

use super::heads::HeadClause;
use super::product_facts::ProductFact;
use crate::decide::Ranks;
use crate::plan::{
    AmountOf, ChoiceId, Condition, DailyId, Definitions, ExprNode, Gate, HourlyId, Kind, LabelWord, Meaning,
    NameId, Never, Only, Origin, Plan, Product, ProductId, TableId, Why,
};
use crate::source::Span;
use std::collections::BTreeMap;
use std::hash::{DefaultHasher, Hash, Hasher};

/// What part an item has in an advice.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum Role {
    /// It says what others speak of, and nothing by itself.
    Definition,
    /// A band, by its name.
    Band(NameId),
    /// A gate of today, by its place.
    Gate(usize),
    /// A gate of hours, by its place.
    HourGate(usize),
    /// A label line, by the places of its gates.
    Label(Vec<usize>),
    /// Which hours are better.
    Prefer,
    /// A choice, by its place.
    Choice(usize),
    /// A task or a warning.
    Speaking,
    /// What is always so, by its place.
    Always(usize),
    /// A promise.
    Promise,
    /// A worked example or what several take.
    Example,
    /// What is always printed.
    Caution,
    /// A clause of the head.
    Head(HeadClause),
    /// A fact of a product or a choice besides what it does.
    Fact(ProductFact),
    /// What stands for itself.
    Other,
}

/// One item of a rulebook.
pub(crate) struct BookItem<'p> {
    pub(crate) role: Role,
    /// All that it means but its conditions.
    pub(crate) rest: Meaning,
    /// When it speaks: its `if` and its `unless`.
    pub(crate) when: [Option<&'p Condition>; 2],
    /// In which hours it does.
    pub(crate) hours: Option<&'p Condition>,
    /// All that it means.
    pub(crate) meaning: Meaning,
    /// Its words, those of its author to a reader.
    pub(crate) words: Meaning,
    /// Its sources.
    pub(crate) sources: Meaning,
    pub(crate) span: Span,
    /// Its value as written, where it is one.
    pub(crate) written: Option<String>,
    /// Whether it is known by what it means, whatever it is called.
    pub(crate) computed: bool,
    /// The product that it is part of, if it is not one itself.
    pub(crate) product: Option<&'p str>,
}

/// Whether items are read by what they mean, or by how they are written.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Reading {
    Meant,
    Written,
}

/// Returns the items of a rulebook by what they are.
pub(crate) fn items<'p>(
    plan: &'p Plan,
    definitions: &Definitions<'p>,
    reading: Reading,
) -> BTreeMap<String, BookItem<'p>> {
    let mut reader = Reader { plan, definitions, reading, all: BTreeMap::new() };
    reader.head();
    reader.gates();
    reader.choices();
    reader.speaking();
    reader.promises();
    reader.examples();
    reader.products();
    reader.series();
    reader.names();
    reader.figures();
    reader.all
}

/// Returns what a strength amounts to; how it is called says nothing.
pub(crate) fn amount_meaning(product: &Product, at: u8) -> Meaning {
    let amount = product.strengths.get(usize::from(at)).map(|strength| &strength.amount);
    let of = amount
        .map(|amount| (crate::units::clean(amount.quantity).to_bits(), amount.of == AmountOf::Ingredient));
    hash((of, amount.map(|amount| format!("{:?}", amount.unit.dimension))))
}

pub(crate) fn hash(of: impl Hash) -> Meaning {
    let mut hasher = DefaultHasher::new();
    of.hash(&mut hasher);
    hasher.finish()
}

/// Returns a number for a set of different things, in whatever order they come.
fn of_all(things: impl Iterator<Item = Meaning>) -> Meaning {
    let add = |(count, sum, bits): (u64, u64, u64), it: Meaning| (count + 1, sum.wrapping_add(it), bits ^ it);
    hash(things.fold((0, 0, 0), add))
}

pub(crate) fn sorted(mut list: Vec<Meaning>) -> Vec<Meaning> {
    list.sort_unstable();
    list
}

fn cites(why: &Why) -> Meaning {
    hash(why.cites.iter().map(|cite| (&cite.key, &cite.locator)).collect::<Vec<_>>())
}

pub(crate) struct Reader<'r, 'p> {
    pub(crate) plan: &'p Plan,
    pub(crate) definitions: &'r Definitions<'p>,
    pub(crate) reading: Reading,
    all: BTreeMap<String, BookItem<'p>>,
}

impl<'p> Reader<'_, 'p> {
    pub(super) fn add(&mut self, name: String, role: Role, rest: Meaning, span: Span) -> &mut BookItem<'p> {
        let item = BookItem {
            role,
            rest,
            when: [None, None],
            hours: None,
            meaning: rest,
            words: 0,
            sources: 0,
            span,
            written: None,
            computed: false,
            product: None,
        };
        self.all.entry(name).or_insert(item)
    }

    /// Adds an item with conditions.
    fn add_when(
        &mut self,
        (name, role): (String, Role),
        rest: Meaning,
        when: [&'p Option<Condition>; 2],
        hours: Option<&'p Condition>,
        span: Span,
    ) -> &mut BookItem<'p> {
        let of = |it: Option<&Condition>| it.map(|it| self.definitions.condition(it));
        let when = when.map(Option::as_ref);
        let meaning = hash((rest, when.map(of), of(hours)));
        let item = self.add(name, role, rest, span);
        (item.when, item.hours, item.meaning) = (when, hours, meaning);
        item
    }

    fn gates(&mut self) {
        let plan = self.plan;
        for (at, gate) in plan.gates.iter().enumerate() {
            let rest = self.gate_rest(gate);
            let when = [&gate.condition, &gate.unless];
            if gate.line.is_some() {
                self.label_line(at, gate, rest);
                continue;
            }
            let hours = gate.hours.as_ref();
            let role = if hours.is_some() { Role::HourGate(at) } else { Role::Gate(at) };
            let item = self.add_when((format!("gate {}", gate.name), role), rest, when, hours, gate.span);
            item.words = hash((&gate.why.because, &gate.label));
            item.sources = cites(&gate.why);
        }
        for prefer in &plan.prefers {
            let named = (format!("prefer {}", prefer.name), Role::Prefer);
            let item = self.add_when(named, 0, [&None, &None], Some(&prefer.hours), prefer.span);
            item.words = hash((&prefer.why.because, &prefer.label));
            item.sources = cites(&prefer.why);
        }
    }

    fn gate_rest(&self, gate: &Gate) -> Meaning {
        let shuts: Vec<Meaning> = gate.shuts.iter().map(|shut| self.shut(shut)).collect();
        let holds: Vec<_> = gate.holds.iter().map(|(product, at)| self.dose(*product, *at)).collect();
        let fits = gate.fits.map(|(_, name)| match (self.reading, &gate.line) {
            // The strengths that fit are the product's.
            (Reading::Written, Some(line)) => hash(&line.written),
            (Reading::Meant | Reading::Written, _) => self.definitions.name(name),
        });
        hash((sorted(shuts), sorted(holds), fits))
    }

    /// Adds a line of a label; the gates of one line are one item.
    fn label_line(&mut self, at: usize, gate: &'p Gate, rest: Meaning) {
        let Some(line) = &gate.line else { return };
        let plan = self.plan;
        let product = &plan[line.product].name;
        let amount = gate.fits.map(|(_, name)| match &plan[name].origin {
            Origin::Measure(measure) => match &*measure.expr.node {
                ExprNode::Fitting { ingredient: Some(ingredient), .. } => format!(" amount of {ingredient}"),
                _ => " amount".to_owned(),
            },
            _ => " amount".to_owned(),
        });
        let qualifier = match (line.word, amount, line.other) {
            (_, Some(amount), _) => amount,
            (LabelWord::Season | LabelWord::Year, None, _) => " sprays".to_owned(),
            (_, None, Some(other)) => format!(" from {}", plan[other].name),
            (_, None, None) => String::new(),
        };
        let name = format!("label of {product} {}{qualifier}", line.word.word());
        let when = [&gate.condition, &gate.unless];
        if let Some(BookItem { role: Role::Label(gates), rest: before, meaning, .. }) =
            self.all.get_mut(&name)
        {
            gates.push(at);
            let of = |it: &Option<Condition>| it.as_ref().map(|it| self.definitions.condition(it));
            (*before, *meaning) = (hash((*before, rest)), hash((*meaning, rest, when.map(of))));
            return;
        }
        let item = self.add_when((name, Role::Label(vec![at])), rest, when, None, gate.span);
        item.product = Some(product);
        item.written = Some(line.written.to_string());
    }

    fn choices(&mut self) {
        let plan = self.plan;
        let names: Vec<Meaning> = plan.choices.iter().map(|choice| hash(&choice.name)).collect();
        let together =
            |choices: &mut dyn Iterator<Item = ChoiceId>| of_all(choices.map(|it| names[it.index()]));
        let ranks = (self.reading == Reading::Meant).then(|| Ranks::of(plan));
        for (at, choice) in plan.choices.iter().enumerate() {
            let ways: Vec<Meaning> = choice.ways.iter().map(|way| self.way(way)).collect();
            // A rank that follows from others says nothing more.
            let outranks = match &ranks {
                None => together(&mut choice.outranks.iter().copied()),
                Some(ranks) => together(&mut ranks.below(at)),
            };
            let numbers = (choice.within.map(f64::to_bits), choice.recheck.map(f64::to_bits));
            let rest = hash((ways, outranks, numbers));
            let named = (format!("choice {}", choice.name), Role::Choice(at));
            let item = self.add_when(named, rest, [&choice.condition, &choice.unless], None, choice.span);
            item.words = hash((&choice.why.because, &choice.label, &choice.how));
            item.sources = cites(&choice.why);
            self.aims(choice);
        }
    }

    fn speaking(&mut self) {
        let plan = self.plan;
        let tasks = plan.tasks.iter().map(|it| ("task", &it.name, &it.label, &it.does, &it.speaks));
        let warnings = plan.warnings.iter().map(|it| ("warning", &it.name, &it.label, &it.says, &it.speaks));
        for (kind, name, label, says, speaks) in tasks.chain(warnings) {
            let named = (format!("{kind} {name}"), Role::Speaking);
            let when = [&speaks.condition, &speaks.unless];
            let item = self.add_when(named, hash((speaks.place, says)), when, None, speaks.span);
            item.words = hash((label, &speaks.why.because));
            item.sources = cites(&speaks.why);
        }
        for (at, it) in plan.always.iter().enumerate() {
            let meaning = self.definitions.condition(&it.statement);
            let item = self.add(format!("always {}", it.name), Role::Always(at), 0, it.span);
            (item.meaning, item.when) = (meaning, [Some(&it.statement), None]);
            (item.words, item.sources) = (hash(&it.why.because), cites(&it.why));
        }
    }

    fn promises(&mut self) {
        let plan = self.plan;
        for promise in &plan.promises {
            let never = promise.never.iter().map(|never| match never {
                Never::Above(product, at) => hash((1u8, self.dose(*product, *at))),
                Never::Shut(shut) => self.shut(shut),
            });
            let never: Vec<Meaning> = never.collect();
            let only = promise.only.as_ref().map(|list| {
                let of = |only: &Only| match only {
                    Only::Verdict(word) => hash(format!("{word:?}")),
                    Only::Product(product) => hash(&plan[*product].name),
                };
                sorted(list.iter().map(of).collect())
            });
            let tasks: Vec<_> =
                promise.tasks.iter().filter_map(|at| plan.tasks.get(*at)).map(|it| hash(&it.name)).collect();
            let rest = hash((sorted(never), only, sorted(tasks)));
            let meaning = hash((rest, self.definitions.condition(&promise.whenever)));
            let item = self.add(format!("promise {}", promise.name), Role::Promise, rest, promise.span);
            (item.meaning, item.when) = (meaning, [Some(&promise.whenever), None]);
            (item.words, item.sources) = (hash(&promise.why.because), cites(&promise.why));
        }
    }

    fn examples(&mut self) {
        let plan = self.plan;
        for worked in &plan.worked {
            let takes: Vec<_> = worked
                .takes
                .iter()
                .map(|take| hash((&plan[take.name].word, self.taken(&take.value))))
                .collect();
            let expects: Vec<Meaning> = worked.expects.iter().map(|it| self.expected(&it.what)).collect();
            let with: Vec<_> =
                worked.with.iter().filter_map(|at| plan.settings.get(*at)).map(|it| &it.name).collect();
            let rest = hash((sorted(takes), sorted(expects), with));
            let item = self.add(format!("worked {}", worked.title), Role::Example, rest, worked.span);
            (item.words, item.sources) = (hash(&worked.why.because), cites(&worked.why));
        }
        for setting in &plan.settings {
            let takes =
                setting.takes.iter().map(|take| hash((&plan[take.name].word, self.taken(&take.value))));
            let rest = hash(sorted(takes.collect()));
            self.add(format!("setting {}", setting.name), Role::Example, rest, setting.span);
        }
    }

    fn products(&mut self) {
        let plan = self.plan;
        for (at, product) in plan.products.iter().enumerate() {
            let id = ProductId(at as u32);
            let strengths: Vec<_> = (0..product.strengths.len() as u8)
                .map(|at| {
                    let written = self.reading == Reading::Written;
                    let name = product.strengths.get(usize::from(at)).map(|strength| &strength.name);
                    (amount_meaning(product, at), name.filter(|_| written))
                })
                .collect();
            let name = &plan[id].name;
            let item = self.add(format!("product {name}"), Role::Other, hash(strengths), product.span);
            (item.words, item.sources) = (hash(&product.why.because), cites(&product.why));
            self.product_facts(product);
            for caution in &product.cautions {
                let of = format!("caution of {name} \"{caution}\"");
                let item = self.add(of, Role::Caution, 0, product.span);
                (item.written, item.product) = (Some(caution.to_string()), Some(&**name));
            }
            if let Some(hours) = product.re_entry {
                let of = format!("label of {name} re-entry");
                let item = self.add(of, Role::Label(Vec::new()), hash(hours.to_bits()), product.span);
                (item.written, item.product) = (Some(hours_words(hours)), Some(&**name));
            }
        }
    }

    fn series(&mut self) {
        let (plan, definitions) = (self.plan, self.definitions);
        for (at, it) in plan.tables.iter().enumerate() {
            let meaning = definitions.table(TableId(at as u32));
            let item = self.add(format!("table {}", it.name), Role::Definition, meaning, it.span);
            (item.words, item.sources) = (hash((&it.label, &it.why.because)), cites(&it.why));
        }
        for (at, it) in plan.hourlies.iter().enumerate() {
            let meaning = definitions.hourly(HourlyId(at as u32));
            let item = self.add(format!("hourly {}", it.name), Role::Definition, meaning, it.span);
            (item.words, item.sources) = (hash((&it.label, &it.why.because)), cites(&it.why));
        }
        for (at, it) in plan.dailies.iter().enumerate() {
            let meaning = definitions.daily(DailyId(at as u32));
            let item = self.add(format!("daily {}", it.name), Role::Definition, meaning, it.span);
            (item.words, item.sources) = (hash((&it.label, &it.why.because)), cites(&it.why));
        }
        for list in plan.word_lists.iter().filter(|list| !list.name.is_empty() && list.ordered) {
            let is_other = plan
                .names
                .iter()
                .any(|name| name.word == list.name && matches!(name.origin, Origin::Band(_)))
                || plan.products.iter().any(|product| product.name == list.name);
            if is_other {
                continue;
            }
            let words: Vec<_> = list.words.iter().map(|word| (&word.name, word.codes)).collect();
            let labels: Vec<_> = list.words.iter().map(|word| &word.label).collect();
            let item = self.add(format!("scale {}", list.name), Role::Definition, hash(words), list.span);
            item.words = hash(labels);
        }
    }

    fn names(&mut self) {
        let plan = self.plan;
        for (id, name) in plan.named().filter(|(_, name)| !name.hidden) {
            let (kind, more, words, sources) = match &name.origin {
                Origin::Observed(seen) => {
                    let assume = seen.assume.as_ref().map(|it| {
                        let condition = it.condition.as_ref().map(|it| self.definitions.condition(it));
                        (self.datum(it.value), condition)
                    });
                    let range = seen.range.map(|(low, high)| (low.to_bits(), high.to_bits()));
                    let more = hash((range, seen.lasts.map(f64::to_bits), assume));
                    ("observe", more, hash((&seen.ask, &seen.how)), 0)
                }
                Origin::Measure(_) => ("measure", 0, 0, 0),
                Origin::Tally(_) => ("tally", 0, 0, 0),
                Origin::Band(band) => {
                    let rows = || band.rows.iter().map(|row| &row.why);
                    let because: Vec<_> = rows().map(|why| &why.because).collect();
                    ("band", 0, hash(because), hash(rows().map(cites).collect::<Vec<_>>()))
                }
                Origin::Cultivar | Origin::Block | Origin::Date => continue,
            };
            let role = if kind == "band" { Role::Band(id) } else { Role::Definition };
            let meaning = hash((self.definitions.own(id), more));
            let item = self.add(format!("{kind} {}", name.word), role, meaning, name.span);
            item.words = hash((&name.label, &name.why.because, words));
            item.sources = hash((cites(&name.why), sources));
            item.computed = kind == "measure" || kind == "band" || kind == "tally";
        }
    }

    fn figures(&mut self) {
        let plan = self.plan;
        for figure in &plan.figures {
            let rest = hash((self.datum(figure.value), std::mem::discriminant::<Kind>(&figure.kind)));
            let item = self.add(format!("figure {}", figure.name), Role::Definition, rest, figure.span);
            (item.words, item.sources) = (hash(&figure.why.because), cites(&figure.why));
            item.written = Some(figure.written.to_string());
        }
    }
}

/// Returns hours as a label says them.
fn hours_words(hours: f64) -> String {
    let hours = crate::units::clean(hours);
    if hours > 48.0 && hours % 24.0 == 0.0 { format!("{} d", hours / 24.0) } else { format!("{hours} h") }
}
