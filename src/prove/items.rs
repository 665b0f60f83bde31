//! Which items of two rulebooks differ: in meaning, in words and sources only, added, omitted, or renamed.

use crate::plan::{
    AmountOf, Condition, Definitions, Expected, Kind, Meaning, Never, Only, Origin, Plan, Shut, Way, Why,
};
use crate::source::Span;
use std::collections::BTreeMap;
use std::hash::{DefaultHasher, Hash, Hasher};

/// How an item differs.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Change {
    /// It means something else.
    Changed,
    /// Its words or sources alone differ.
    Words,
    /// The new rulebook has it.
    Added,
    /// The old rulebook has it.
    Omitted,
    /// It means the same and is called otherwise.
    Renamed,
}

impl Change {
    /// Returns the word for it.
    pub fn word(self) -> &'static str {
        match self {
            Change::Changed => "changed",
            Change::Words => "words",
            Change::Added => "added",
            Change::Omitted => "omitted",
            Change::Renamed => "renamed",
        }
    }
}

/// An item that differs.
#[derive(Clone, Debug)]
pub struct ItemChange {
    /// What it is, `figure hot`.
    pub item: String,
    /// How it differs.
    pub change: Change,
    /// Where the old one stands.
    pub was: Option<Span>,
    /// Where the new one stands.
    pub now: Option<Span>,
    /// The values of a figure, as written.
    pub written: Option<(String, String)>,
}

impl ItemChange {
    /// Returns whether it differs in meaning: hours, tasks and warnings among them.
    pub fn in_meaning(&self) -> bool {
        let proved_only = ["promise", "worked", "setting"].iter().any(|kind| self.item.starts_with(kind));
        matches!(self.change, Change::Changed | Change::Added | Change::Omitted) && !proved_only
    }
}

/// An item: what it means, and in which words it says so.
struct Item {
    meaning: Meaning,
    words: Meaning,
    span: Span,
    written: Option<String>,
    computed: bool,
}

/// Returns all items that differ, sorted by kind and name.
pub fn changes(old: &Plan, new: &Plan) -> Vec<ItemChange> {
    let (was, now) = (items(old, &Definitions::of(old)), items(new, &Definitions::of(new)));
    let (as_was, as_now) =
        (items(old, &Definitions::as_written(old)), items(new, &Definitions::as_written(new)));
    let written = |items: &BTreeMap<String, Item>, name: &str| items.get(name).map(|it| it.meaning);
    let mut found: Vec<ItemChange> = Vec::new();
    for (name, before) in &was {
        match now.get(name) {
            None => found.push(change(name, Change::Omitted, Some(before), None)),
            // What differs only because of what it is computed from is said where that is said.
            Some(after) if after.meaning != before.meaning => {
                if written(&as_was, name) != written(&as_now, name) {
                    found.push(change(name, Change::Changed, Some(before), Some(after)));
                }
            }
            Some(after)
                if after.words != before.words || written(&as_was, name) != written(&as_now, name) =>
            {
                found.push(change(name, Change::Words, Some(before), Some(after)));
            }
            Some(_) => {}
        }
    }
    for (name, after) in now.iter().filter(|(name, _)| !was.contains_key(*name)) {
        let renamed = found.iter().position(|it| {
            let before = was.get(&it.item);
            it.change == Change::Omitted
                && it.item.split(' ').next() == name.split(' ').next()
                && before.is_some_and(|before| before.computed && before.meaning == after.meaning)
        });
        match renamed {
            Some(at) => {
                found[at].change = Change::Renamed;
                found[at].now = Some(after.span);
                found[at].item =
                    format!("{} to {}", found[at].item, name.split(' ').nth(1).unwrap_or_default());
            }
            None => found.push(change(name, Change::Added, None, Some(after))),
        }
    }
    found.sort_by(|a, b| a.item.cmp(&b.item));
    found
}

fn change(name: &str, change: Change, was: Option<&Item>, now: Option<&Item>) -> ItemChange {
    let written = was.and_then(|it| it.written.clone()).zip(now.and_then(|it| it.written.clone()));
    ItemChange {
        item: name.to_owned(),
        change,
        was: was.map(|it| it.span),
        now: now.map(|it| it.span),
        written: written.filter(|(a, b)| a != b),
    }
}

fn hash(of: impl Hash) -> Meaning {
    let mut hasher = DefaultHasher::new();
    of.hash(&mut hasher);
    hasher.finish()
}

fn why(why: &Why) -> Meaning {
    let cites: Vec<_> = why.cites.iter().map(|cite| (&cite.key, &cite.locator)).collect();
    hash((&why.because, cites))
}

/// Returns the items of a rulebook by what they are.
fn items(plan: &Plan, definitions: &Definitions<'_>) -> BTreeMap<String, Item> {
    let mut all = BTreeMap::new();
    let mut add = |name: String, meaning: Meaning, words: Meaning, span: Span| {
        all.insert(name, Item { meaning, words, span, written: None, computed: false });
    };
    let when = |condition: &Option<Condition>, unless: &Option<Condition>| {
        let of = |it: &Option<Condition>| it.as_ref().map(|it| definitions.condition(it));
        hash((of(condition), of(unless)))
    };
    let head = &plan.head;
    let meaning = hash((
        head.in_force,
        head.season,
        head.window.0.to_bits(),
        head.window.1.to_bits(),
        head.gaps.to_bits(),
    ));
    let accuracy: Vec<_> = head.accuracy.iter().map(|(series, by)| (series, by.to_bits())).collect();
    let words = hash((&head.title, &head.edition, &head.region, &head.contact));
    add("rulebook".to_owned(), hash((meaning, accuracy)), words, head.span);
    for caution in &head.cautions {
        add(format!("caution \"{caution}\""), hash(caution), 0, head.span);
    }
    for gate in &plan.gates {
        let shuts: Vec<Meaning> = gate.shuts.iter().map(|shut| shut_meaning(plan, shut)).collect();
        let holds: Vec<_> =
            gate.holds.iter().map(|(product, at)| dose_meaning(plan, *product, *at)).collect();
        let fits = gate.fits.map(|(_, name)| definitions.name(name));
        let hours = gate.hours.as_ref().map(|it| definitions.condition(it));
        let meaning = hash((sorted(shuts), sorted(holds), fits, hours, when(&gate.condition, &gate.unless)));
        let kind = if gate.line.is_some() { "label of" } else { "gate" };
        let name = gate.name.replacen(" label ", " ", 1);
        add(format!("{kind} {name}"), meaning, hash((why(&gate.why), &gate.label)), gate.span);
    }
    for prefer in &plan.prefers {
        add(
            format!("prefer {}", prefer.name),
            definitions.condition(&prefer.hours),
            hash((why(&prefer.why), &prefer.label)),
            prefer.span,
        );
    }
    for choice in &plan.choices {
        let ways: Vec<Meaning> = choice.ways.iter().map(|way| way_meaning(plan, way)).collect();
        let outranks: Vec<_> = choice.outranks.iter().map(|it| hash(&plan[*it].name)).collect();
        let numbers = (choice.within.map(f64::to_bits), choice.recheck.map(f64::to_bits));
        let meaning = hash((ways, sorted(outranks), numbers, when(&choice.condition, &choice.unless)));
        let aims: Vec<_> = choice.aims.iter().map(|it| &plan[*it].name).collect();
        let words = hash((why(&choice.why), &choice.label, &choice.how, aims));
        add(format!("choice {}", choice.name), meaning, words, choice.span);
    }
    let speaks = plan.tasks.iter().map(|it| ("task", &it.name, &it.label, &it.does, &it.speaks));
    let warnings = plan.warnings.iter().map(|it| ("warning", &it.name, &it.label, &it.says, &it.speaks));
    for (kind, name, label, says, speaks) in speaks.chain(warnings) {
        let meaning = hash((speaks.place, when(&speaks.condition, &speaks.unless)));
        add(format!("{kind} {name}"), meaning, hash((label, says, why(&speaks.why))), speaks.span);
    }
    for it in &plan.always {
        add(format!("always {}", it.name), definitions.condition(&it.statement), why(&it.why), it.span);
    }
    for promise in &plan.promises {
        let never: Vec<Meaning> = promise
            .never
            .iter()
            .map(|never| match never {
                Never::Above(product, at) => hash((1u8, dose_meaning(plan, *product, *at))),
                Never::Shut(shut) => shut_meaning(plan, shut),
            })
            .collect();
        let only = promise.only.as_ref().map(|list| {
            let of = |only: &Only| match only {
                Only::Verdict(word) => hash(format!("{word:?}")),
                Only::Product(product) => hash(&plan[*product].name),
            };
            sorted(list.iter().map(of).collect())
        });
        let tasks: Vec<_> =
            promise.tasks.iter().filter_map(|at| plan.tasks.get(*at)).map(|it| &it.name).collect();
        let meaning = hash((definitions.condition(&promise.whenever), sorted(never), only, tasks));
        add(format!("promise {}", promise.name), meaning, why(&promise.why), promise.span);
    }
    for worked in &plan.worked {
        let takes: Vec<_> = worked
            .takes
            .iter()
            .map(|take| hash((&plan[take.name].word, format!("{:?}", take.value))))
            .collect();
        let expects: Vec<Meaning> =
            worked.expects.iter().map(|it| expected_meaning(plan, &it.what)).collect();
        let with: Vec<_> =
            worked.with.iter().filter_map(|at| plan.settings.get(*at)).map(|it| &it.name).collect();
        let meaning = hash((sorted(takes), sorted(expects), with));
        add(format!("worked {}", worked.title), meaning, why(&worked.why), worked.span);
    }
    for setting in &plan.settings {
        let takes =
            setting.takes.iter().map(|take| hash((&plan[take.name].word, format!("{:?}", take.value))));
        add(format!("setting {}", setting.name), hash(sorted(takes.collect())), 0, setting.span);
    }
    for product in &plan.products {
        let strengths: Vec<_> = (0..product.strengths.len() as u8)
            .map(|at| (&product.strengths[usize::from(at)].name, amount_meaning(product, at)))
            .collect();
        let against: Vec<_> =
            product.against.iter().map(|(it, good)| hash((&plan[*it].name, format!("{good:?}")))).collect();
        let class = product.class.map(|it| format!("{it:?}"));
        let numbers = (product.re_entry.map(f64::to_bits), product.before_harvest.map(f64::to_bits));
        let meaning = hash((strengths, &product.groups, &product.contains, class, numbers));
        let words =
            hash((&product.label, &product.active, &product.cautions, sorted(against), why(&product.why)));
        add(format!("product {}", product.name), meaning, words, product.span);
    }
    for (at, table) in plan.tables.iter().enumerate() {
        let meaning = definitions.table(crate::plan::TableId(at as u32));
        add(format!("table {}", table.name), meaning, hash((&table.label, why(&table.why))), table.span);
    }
    for (at, it) in plan.hourlies.iter().enumerate() {
        let meaning = definitions.hourly(crate::plan::HourlyId(at as u32));
        add(format!("hourly {}", it.name), meaning, hash((&it.label, why(&it.why))), it.span);
    }
    for (at, it) in plan.dailies.iter().enumerate() {
        let meaning = definitions.daily(crate::plan::DailyId(at as u32));
        add(format!("daily {}", it.name), meaning, hash((&it.label, why(&it.why))), it.span);
    }
    for list in plan.word_lists.iter().filter(|list| !list.name.is_empty() && list.ordered) {
        if plan.names.iter().any(|name| name.word == list.name && matches!(name.origin, Origin::Band(_))) {
            continue;
        }
        let words: Vec<_> = list.words.iter().map(|word| (&word.name, word.codes)).collect();
        let labels: Vec<_> = list.words.iter().map(|word| &word.label).collect();
        add(format!("scale {}", list.name), hash(words), hash(labels), list.span);
    }
    for (id, name) in plan.named().filter(|(_, name)| !name.hidden) {
        let (kind, more, words) = match &name.origin {
            Origin::Observed(seen) => {
                let assume = seen.assume.as_ref().map(|it| {
                    (format!("{:?}", it.value), it.condition.as_ref().map(|it| definitions.condition(it)))
                });
                ("observe", hash((seen.lasts.map(f64::to_bits), assume)), hash((&seen.ask, &seen.how)))
            }
            Origin::Measure(_) => ("measure", 0, 0),
            Origin::Tally(_) => ("tally", 0, 0),
            Origin::Band(band) => {
                ("band", 0, hash(band.rows.iter().map(|row| why(&row.why)).collect::<Vec<_>>()))
            }
            Origin::Cultivar | Origin::Block | Origin::Date => continue,
        };
        let words = hash((&name.label, why(&name.why), words));
        let computed = kind == "measure" || kind == "band" || kind == "tally";
        let meaning = hash((definitions.own(id), more));
        all.insert(
            format!("{kind} {}", name.word),
            Item { meaning, words, span: name.span, written: None, computed },
        );
    }
    for figure in &plan.figures {
        let value = match figure.value {
            crate::plan::Datum::Number(number) => hash((0u8, number.to_bits())),
            crate::plan::Datum::Word(place) => hash((1u8, place)),
            crate::plan::Datum::Text(text) => hash((2u8, plan.texts.get(text.0 as usize))),
        };
        let item = Item {
            meaning: hash((value, std::mem::discriminant::<Kind>(&figure.kind))),
            words: why(&figure.why),
            span: figure.span,
            written: Some(figure.written.to_string()),
            computed: false,
        };
        all.insert(format!("figure {}", figure.name), item);
    }
    all
}

fn sorted(mut list: Vec<Meaning>) -> Vec<Meaning> {
    list.sort_unstable();
    list
}

fn shut_meaning(plan: &Plan, shut: &Shut) -> Meaning {
    match shut {
        Shut::Spraying => 7,
        Shut::Group(group) => hash((1u8, group)),
        Shut::Product(product) => hash((2u8, &plan[*product].name)),
        Shut::Mix(a, b) => {
            let mut names = [&plan[*a].name, &plan[*b].name];
            names.sort();
            hash((3u8, names))
        }
    }
}

fn dose_meaning(plan: &Plan, product: crate::plan::ProductId, at: u8) -> Meaning {
    hash((&plan[product].name, amount_meaning(&plan[product], at)))
}

/// Returns what a strength amounts to; how it is called says nothing.
pub(super) fn amount_meaning(product: &crate::plan::Product, at: u8) -> Meaning {
    let amount = product.strengths.get(usize::from(at)).map(|strength| &strength.amount);
    let of = amount
        .map(|amount| (crate::units::clean(amount.quantity).to_bits(), amount.of == AmountOf::Ingredient));
    hash((of, amount.map(|amount| format!("{:?}", amount.unit.dimension))))
}

fn way_meaning(plan: &Plan, way: &Way) -> Meaning {
    match way {
        Way::Hold => 5,
        Way::Spray(doses) => sorted(doses.iter().map(|(it, at)| dose_meaning(plan, *it, *at)).collect())
            .into_iter()
            .fold(11, |all, it| hash((all, it))),
    }
}

fn expected_meaning(plan: &Plan, expected: &Expected) -> Meaning {
    match expected {
        Expected::Spray(doses) => way_meaning(plan, &Way::Spray(doses.clone())),
        Expected::By(choice) => hash((1u8, &plan[*choice].name)),
        Expected::ShutBy(product, gates) => {
            let gates: Vec<_> = gates.iter().map(|it| &plan[*it].name).collect();
            hash((2u8, &plan[*product].name, gates))
        }
        Expected::Allowed(product) => hash((3u8, &plan[*product].name)),
        Expected::Task(at) => hash((4u8, plan.tasks.get(*at).map(|it| &it.name))),
        Expected::Warning(at) => hash((5u8, plan.warnings.get(*at).map(|it| &it.name))),
        Expected::Verdict(word) => hash((6u8, format!("{word:?}"))),
        Expected::Is(name, value, within) => {
            hash((7u8, &plan[*name].word, format!("{value:?}"), within.map(f64::to_bits)))
        }
        Expected::TableIs(table, keys, value, within) => {
            hash((8u8, &plan[*table].name, format!("{keys:?} {value:?}"), within.map(f64::to_bits)))
        }
    }
}
