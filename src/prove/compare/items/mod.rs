//! Which items of two rulebooks differ: in meaning, in their form only, in words, in sources, added, omitted, or renamed.
//!
//! Conditions are compared as sets over situations, those of hours over hours, numbers as figures, texts as texts.

pub(crate) mod meanings;
pub(crate) mod parts;
pub(crate) mod holds;
pub(crate) mod sets;
pub(super) mod table_changes;

use crate::decide::{Certified, Rules};
use crate::plan::{Definitions, Origin, Plan};
pub(crate) use crate::prove::compare::items::meanings::amount_meaning;
pub use crate::prove::compare::items::table_changes::RowChange;
use crate::prove::space::Book;
use crate::prove::space::free_sets::FreeSets;
use crate::source::Span;
use meanings::{BookItem, Reading, Role, items};
use sets::{ItemSets, SetChange};
use std::collections::{BTreeMap, BTreeSet};
use table_changes::row_changes;

/// How an item differs.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Change {
    /// It means something else.
    Changed,
    /// It is written otherwise, and means the same.
    Otherwise,
    /// Its words alone differ.
    Words,
    /// It rests on other sources.
    Sources,
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
            Change::Otherwise => "written otherwise",
            Change::Words => "words",
            Change::Sources => "sources",
            Change::Added => "added",
            Change::Omitted => "omitted",
            Change::Renamed => "renamed",
        }
    }
}

/// Which way an item moved, where that can be said of it alone.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum ItemDirection {
    /// It shuts more, or promises more.
    Stricter,
    /// It shuts less, or promises less.
    Looser,
    /// All strengths are as strong or stronger.
    Stronger,
    /// All strengths are as weak or weaker.
    Weaker,
    /// It leaves more hours.
    MoreHours,
    /// It leaves fewer hours.
    FewerHours,
    /// More must be looked at.
    MustLook,
    /// It says the same in other words, or on other authority.
    OtherWords,
}

impl ItemDirection {
    /// Returns what a gate of hours that shuts more or less does to hours.
    fn of_hours(self) -> Self {
        if self == ItemDirection::Stricter { ItemDirection::FewerHours } else { ItemDirection::MoreHours }
    }

    /// Returns the words for it.
    pub fn words(self) -> &'static str {
        match self {
            ItemDirection::Stricter => "stricter",
            ItemDirection::Looser => "looser",
            ItemDirection::Stronger => "stronger",
            ItemDirection::Weaker => "weaker",
            ItemDirection::MoreHours => "more hours",
            ItemDirection::FewerHours => "fewer hours",
            ItemDirection::MustLook => "must look",
            ItemDirection::OtherWords => "other words",
        }
    }
}

/// What an item is to a reader who signs.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Concern {
    /// A gate of today.
    Gate,
    /// A gate of hours.
    Hours,
    /// Which hours are better.
    Prefer,
    /// A line of a label.
    Label,
    /// When people may go in again.
    ReEntry,
    /// A promise.
    Promise,
    /// A caution.
    Caution,
    /// A task or a warning.
    Speaking,
    /// A worked example, or what several take.
    Example,
    /// What others speak of, a choice, a product.
    Other,
}

/// An item that differs.
#[derive(Clone, Debug)]
pub struct ItemChange {
    /// What it is, `figure hot`.
    pub item: String,
    /// What it is to a reader.
    pub concern: Concern,
    /// How it differs.
    pub change: Change,
    /// Where the old one stands.
    pub was: Option<Span>,
    /// Where the new one stands.
    pub now: Option<Span>,
    /// The values of a figure or a label line, as written.
    pub written: Option<(String, String)>,
    /// Its value as written, in each rulebook that has it.
    pub value: [Option<String>; 2],
    /// Which way it moved.
    pub direction: Option<ItemDirection>,
    /// The rows of a table that differ.
    pub rows: Vec<RowChange>,
    meant: bool,
}

impl ItemChange {
    /// Returns whether an advice may differ by it: a verdict, hours, a label, what is known, promised or printed.
    pub fn in_meaning(&self) -> bool {
        self.meant
    }

    /// Returns whether it is something that protects, and is weaker now, or gone, or not shown to be as strong.
    pub fn is_weakened(&self) -> bool {
        let protects = match self.concern {
            Concern::Gate
            | Concern::Hours
            | Concern::Label
            | Concern::ReEntry
            | Concern::Promise
            | Concern::Caution => true,
            Concern::Speaking => self.change == Change::Omitted,
            Concern::Prefer | Concern::Example | Concern::Other => false,
        };
        let is_looser = match self.direction {
            Some(direction) => matches!(direction, ItemDirection::Looser | ItemDirection::MoreHours),
            None => protects,
        };
        self.meant && self.change != Change::Added && is_looser
    }
}

/// Returns all items that differ, sorted by kind and name.
pub fn changes(old: &Plan, new: &Plan, budget: usize) -> Vec<ItemChange> {
    let plans = [old, new];
    let meant = plans.map(|plan| items(plan, &Definitions::of(plan), Reading::Meant));
    let written = plans.map(|plan| items(plan, &Definitions::as_written(plan), Reading::Written));
    let rules = plans.map(|plan| Rules::new(plan, Certified::No));
    let books = [Book { plan: old, rules: &rules[0] }, Book { plan: new, rules: &rules[1] }];
    let mut compared = ItemPair { plans, books, budget, sets: None, gates: None, choices: None };
    let [was, now] = &meant;
    let names: BTreeSet<&String> = was.keys().chain(now.keys()).collect();
    let mut found: Vec<ItemChange> = Vec::new();
    for name in names {
        let (before, after) = (was.get(name), now.get(name));
        let is_written_so =
            written[0].get(name).map(|it| it.meaning) == written[1].get(name).map(|it| it.meaning);
        let Some(change) = how(before, after, is_written_so) else { continue };
        found.push(compared.item(name, change, before, after));
    }
    renamed(&mut found, &meant);
    found
}

/// Returns how an item differs at first sight; nothing where it does not, or only by what others say.
fn how(was: Option<&BookItem<'_>>, now: Option<&BookItem<'_>>, is_written_so: bool) -> Option<Change> {
    let (Some(was), Some(now)) = (was, now) else {
        return Some(if now.is_some() { Change::Added } else { Change::Omitted });
    };
    // What is promised is held to what its words stand for.
    // So is what a gate shuts and holds to, in amounts.
    let is_gate = matches!(was.role, Role::Gate(_) | Role::HourGate(_));
    // The hours of a gate are compared nowhere else, so what its words stand for is.
    let is_of_hours = matches!(was.role, Role::HourGate(_));
    let is_held_so = was.role != Role::Promise && !is_of_hours && !(is_gate && was.rest != now.rest);
    if was.meaning != now.meaning && !(is_written_so && is_held_so) {
        Some(Change::Changed)
    } else if was.sources != now.sources {
        Some(Change::Sources)
    } else if was.words != now.words {
        Some(Change::Words)
    } else if !is_written_so {
        Some(Change::Otherwise)
    } else {
        None
    }
}

/// Puts together what was omitted and added and means the same under another name.
fn renamed(found: &mut Vec<ItemChange>, [was, now]: &[BTreeMap<String, BookItem<'_>>; 2]) {
    let added: Vec<ItemChange> = found.iter().filter(|it| it.change == Change::Added).cloned().collect();
    for new in added {
        let Some(after) = now.get(&new.item).filter(|it| it.computed) else { continue };
        let kind = |name: &str| name.split(' ').next().map(str::to_owned);
        let is_it = |it: &ItemChange| {
            it.change == Change::Omitted
                && kind(&it.item) == kind(&new.item)
                && was.get(&it.item).is_some_and(|before| before.meaning == after.meaning)
        };
        if let Some(old) = found.iter_mut().find(|it| is_it(it)) {
            old.change = Change::Renamed;
            old.now = Some(after.span);
            old.meant = false;
            old.direction = Some(ItemDirection::OtherWords);
            old.item = format!("{} to {}", old.item, new.item.split(' ').nth(1).unwrap_or_default());
            found.retain(|it| it.change != Change::Added || it.item != new.item);
        }
    }
}

fn concern(role: &Role) -> Concern {
    match role {
        Role::Gate(_) => Concern::Gate,
        Role::HourGate(_) => Concern::Hours,
        Role::Prefer => Concern::Prefer,
        Role::Label(gates) if gates.is_empty() => Concern::ReEntry,
        Role::Label(_) => Concern::Label,
        Role::Promise => Concern::Promise,
        Role::Caution => Concern::Caution,
        Role::Speaking => Concern::Speaking,
        Role::Example => Concern::Example,
        Role::Definition | Role::Band(_) | Role::Choice(_) | Role::Always | Role::Other => Concern::Other,
    }
}

/// Two rulebooks whose items are compared; what is worked out for several is worked out once.
struct ItemPair<'p> {
    plans: [&'p Plan; 2],
    books: [Book<'p>; 2],
    budget: usize,
    sets: Option<ItemSets<'p>>,
    gates: Option<bool>,
    choices: Option<bool>,
}

impl<'p> ItemPair<'p> {
    fn item(
        &mut self,
        name: &str,
        change: Change,
        was: Option<&BookItem<'p>>,
        now: Option<&BookItem<'p>>,
    ) -> ItemChange {
        let written = was.and_then(|it| it.written.clone()).zip(now.and_then(|it| it.written.clone()));
        let written = written.or_else(|| holds::words(self.plans, was.zip(now)?));
        let rows = row_changes(self.plans, name);
        let (change, meant, direction) = match change {
            Change::Words | Change::Otherwise | Change::Renamed => {
                (change, false, Some(ItemDirection::OtherWords))
            }
            Change::Sources => (change, true, Some(ItemDirection::OtherWords)),
            Change::Changed => match was.zip(now) {
                Some((was, now)) => match self.moved(was, now) {
                    Some(direction) => (change, true, direction),
                    None => (Change::Otherwise, false, Some(ItemDirection::OtherWords)),
                },
                None => (change, true, None),
            },
            Change::Added | Change::Omitted => {
                let (meant, direction) = was.or(now).map_or((true, None), |it| self.comes(it, change));
                (change, meant, direction)
            }
        };
        ItemChange {
            item: name.to_owned(),
            concern: was.or(now).map_or(Concern::Other, |it| concern(&it.role)),
            change,
            was: was.map(|it| it.span),
            now: now.map(|it| it.span),
            written: written.filter(|(a, b)| a != b),
            value: [was, now].map(|it| it.and_then(|it| it.written.clone())),
            direction,
            rows,
            meant,
        }
    }

    fn sets(&mut self) -> &mut ItemSets<'p> {
        let (books, budget) = (self.books, self.budget);
        self.sets.get_or_insert_with(|| ItemSets::of(books, budget))
    }

    fn gates_agree(&mut self) -> bool {
        if self.gates.is_none() {
            self.gates = Some(self.sets().gates_agree());
        }
        self.gates == Some(true)
    }

    fn choices_agree(&mut self) -> bool {
        if self.choices.is_none() {
            self.choices = Some(self.sets().choices_agree());
        }
        self.choices == Some(true)
    }

    /// Returns whether an item that comes or goes means something by itself, and which way that moves.
    fn comes(&mut self, item: &BookItem<'p>, change: Change) -> (bool, Option<ItemDirection>) {
        let to = |more: ItemDirection, fewer: ItemDirection| {
            Some(if change == Change::Added { more } else { fewer })
        };
        let stricter = to(ItemDirection::Stricter, ItemDirection::Looser);
        match &item.role {
            Role::Definition | Role::Band(_) | Role::Example => (false, None),
            Role::Gate(_) => {
                let meant = !self.gates_agree();
                (meant, stricter.filter(|_| meant))
            }
            Role::HourGate(_) => (true, to(ItemDirection::FewerHours, ItemDirection::MoreHours)),
            Role::Label(_) | Role::Promise | Role::Caution => (true, stricter),
            Role::Choice(_) => (!self.choices_agree(), None),
            Role::Prefer | Role::Speaking | Role::Always | Role::Other => (true, None),
        }
    }

    /// Returns which way an item moved, if that can be said; nothing where it means the same.
    fn moved(&mut self, was: &BookItem<'p>, now: &BookItem<'p>) -> Option<Option<ItemDirection>> {
        let is_rest_so = was.rest == now.rest;
        let by = |change: SetChange, more: ItemDirection, fewer: ItemDirection| match change {
            SetChange::Same => None,
            SetChange::Wider => Some(Some(more)),
            SetChange::Narrower => Some(Some(fewer)),
            SetChange::Other => Some(None),
        };
        let (stricter, looser) = (ItemDirection::Stricter, ItemDirection::Looser);
        match (&was.role, &now.role) {
            (Role::Gate(_), Role::Gate(_)) => {
                if self.gates_agree() {
                    None
                } else if is_rest_so {
                    by(self.sets().when(was.when, now.when), stricter, looser)
                } else {
                    let is_when_so = self.sets().when(was.when, now.when) == SetChange::Same;
                    let direction = holds::direction(self.plans, (was, now));
                    Some(direction.filter(|_| is_when_so))
                }
            }
            (Role::HourGate(_), Role::HourGate(_)) if is_rest_so => {
                let when = match was.when == now.when {
                    true => SetChange::Same,
                    false => self.sets().when(was.when, now.when),
                };
                let hours = self.hours(was, now);
                let both = match (when, hours) {
                    (SetChange::Same, other) | (other, SetChange::Same) => other,
                    (one, other) if one == other => one,
                    _ => SetChange::Other,
                };
                by(both, ItemDirection::FewerHours, ItemDirection::MoreHours)
            }
            (Role::HourGate(_), Role::HourGate(_)) => {
                let is_so = was.when == now.when && self.hours(was, now) == SetChange::Same;
                Some(holds::direction(self.plans, (was, now)).filter(|_| is_so).map(ItemDirection::of_hours))
            }
            (Role::Prefer, Role::Prefer) => match self.hours(was, now) {
                SetChange::Same => None,
                _ => Some(None),
            },
            (Role::Label(one), Role::Label(other)) => self.label(was, now, (one, other)),
            (Role::Choice(_), Role::Choice(_)) => {
                let is_so = self.choices_agree()
                    || is_rest_so && self.sets().when(was.when, now.when) == SetChange::Same;
                (!is_so).then_some(None)
            }
            (Role::Speaking, Role::Speaking) if is_rest_so => {
                (self.sets().when(was.when, now.when) != SetChange::Same).then_some(None)
            }
            (Role::Promise, Role::Promise) if is_rest_so => {
                by(self.sets().when(was.when, now.when), stricter, looser)
            }
            (Role::Band(one), Role::Band(other)) => (!self.sets().bands_agree(*one, *other)).then_some(None),
            (Role::Definition, Role::Definition) => Some(self.known(was, now)),
            (Role::Other, Role::Other) => Some(self.strengths(was, now)),
            _ => Some(None),
        }
    }

    /// Returns how the hours of an item changed.
    fn hours(&self, was: &BookItem<'p>, now: &BookItem<'p>) -> SetChange {
        let (Some(was), Some(now)) = (was.hours, now.hours) else { return SetChange::Other };
        let mut sets = FreeSets::of(self.plans, &[(0, was), (1, now)]);
        let (Some(was), Some(now)) = (sets.set(0, was), sets.set(1, now)) else { return SetChange::Other };
        let (more, fewer) = (sets.alone(now, was), sets.alone(was, now));
        match (more.is_none(), fewer.is_none()) {
            (true, true) => SetChange::Same,
            (false, true) => SetChange::Wider,
            (true, false) => SetChange::Narrower,
            (false, false) => SetChange::Other,
        }
    }

    fn label(
        &mut self,
        was: &BookItem<'p>,
        now: &BookItem<'p>,
        (one, other): (&[usize], &[usize]),
    ) -> Option<Option<ItemDirection>> {
        let product = |book: usize, span: Span| self.plans[book].products.iter().find(|it| it.span == span);
        if one.is_empty() && other.is_empty() {
            let hours = |book, span| product(book, span).and_then(|it| it.re_entry).unwrap_or(0.0);
            let stricter = hours(1, now.span) > hours(0, was.span);
            return Some(Some(if stricter { ItemDirection::Stricter } else { ItemDirection::Looser }));
        }
        let caps = [(0, one), (1, other)].map(|(book, gates): (usize, &[usize])| {
            gates.first().and_then(|at| holds::cap(self.plans[book], *at))
        });
        if let [Some(was), Some(now)] = caps {
            let direction = if now < was { ItemDirection::Stricter } else { ItemDirection::Looser };
            return Some((now != was).then_some(direction));
        }
        match self.sets().gates(one, other) {
            SetChange::Same if was.rest == now.rest => None,
            SetChange::Wider if was.rest == now.rest => Some(Some(ItemDirection::Stricter)),
            SetChange::Narrower if was.rest == now.rest => Some(Some(ItemDirection::Looser)),
            _ => Some(None),
        }
    }

    /// Returns which way what is known moved, of an observation whose assumption or age alone changed.
    fn known(&self, was: &BookItem<'p>, now: &BookItem<'p>) -> Option<ItemDirection> {
        let seen = |book: usize, span: Span| {
            let name = self.plans[book].names.iter().find(|name| name.span == span && !name.hidden)?;
            match &name.origin {
                Origin::Observed(seen) => Some((name.kind, seen)),
                _ => None,
            }
        };
        let ((_, was), (_, now)) = seen(0, was.span).zip(seen(1, now.span))?;
        if was.range != now.range {
            return None;
        }
        let lasts = |hours: Option<f64>| hours.unwrap_or(f64::INFINITY);
        let lasts = lasts(now.lasts).total_cmp(&lasts(was.lasts));
        let assumed = now.assume.is_some().cmp(&was.assume.is_some());
        match (lasts, assumed) {
            _ if was.assume.as_ref().zip(now.assume.as_ref()).is_some_and(|(one, other)| {
                (one.value, &one.condition) != (other.value, &other.condition)
            }) =>
            {
                None
            }
            (std::cmp::Ordering::Less | std::cmp::Ordering::Equal, std::cmp::Ordering::Less)
            | (std::cmp::Ordering::Less, std::cmp::Ordering::Equal) => Some(ItemDirection::MustLook),
            (std::cmp::Ordering::Greater | std::cmp::Ordering::Equal, std::cmp::Ordering::Greater)
            | (std::cmp::Ordering::Greater, std::cmp::Ordering::Equal) => Some(ItemDirection::Looser),
            _ => None,
        }
    }

    /// Returns which way the strengths of a product moved, of the same names.
    fn strengths(&self, was: &BookItem<'p>, now: &BookItem<'p>) -> Option<ItemDirection> {
        let product = |book: usize, span: Span| self.plans[book].products.iter().find(|it| it.span == span);
        let (was, now) = product(0, was.span).zip(product(1, now.span))?;
        let mut ways = BTreeSet::new();
        for strength in &was.strengths {
            let other = now.strengths.iter().find(|it| it.name == strength.name)?;
            if (other.amount.of, other.amount.unit.dimension)
                != (strength.amount.of, strength.amount.unit.dimension)
            {
                return None;
            }
            let (before, after) = [strength, other].map(|it| crate::units::clean(it.amount.quantity)).into();
            if before != after {
                ways.insert(if after > before { ItemDirection::Stronger } else { ItemDirection::Weaker });
            }
        }
        ways.first().copied().filter(|_| ways.len() == 1 && was.strengths.len() == now.strengths.len())
    }
}
