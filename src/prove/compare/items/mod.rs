//! Which items of two rulebooks differ: in meaning, in their form only, in words, in sources, added, omitted, or renamed.
//!
//! Conditions are compared as sets over situations, those of hours over hours, numbers as figures, texts as texts.

pub(crate) mod meanings;
pub(crate) mod heads;
pub(crate) mod product_facts;
pub(crate) mod parts;
pub(crate) mod holds;
pub(crate) mod sets;
pub(super) mod table_changes;
pub(super) mod moved;

use crate::plan::{Definitions, Plan};
pub(crate) use crate::prove::compare::items::meanings::amount_meaning;
pub use crate::prove::compare::items::table_changes::RowChange;
use crate::prove::space::Book;
use crate::source::Span;
use meanings::{BookItem, Reading, Role, items};
use product_facts::doses;
use sets::ItemSets;
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
    /// A clause of the head, or a fact of a product, on which something that protects hangs.
    Fact,
    /// What others speak of.
    Definition,
    /// A choice, a product.
    Other,
}

impl Concern {
    /// Returns the word for it.
    pub fn word(self) -> &'static str {
        match self {
            Concern::Gate => "gate",
            Concern::Hours => "gate of hours",
            Concern::Prefer => "preferred hours",
            Concern::Label => "label",
            Concern::ReEntry => "re-entry",
            Concern::Promise => "promise",
            Concern::Caution => "caution",
            Concern::Speaking => "task or warning",
            Concern::Example => "worked example",
            Concern::Fact => "fact",
            Concern::Definition => "definition",
            Concern::Other => "choice or product",
        }
    }
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
            | Concern::Caution
            | Concern::Fact => true,
            Concern::Speaking => self.change == Change::Omitted,
            Concern::Prefer | Concern::Example | Concern::Definition | Concern::Other => false,
        };
        let is_looser = match self.direction {
            Some(direction) => matches!(direction, ItemDirection::Looser | ItemDirection::MoreHours),
            None => protects,
        };
        self.meant && self.change != Change::Added && is_looser
    }
}

/// Returns all items that differ, sorted by kind and name. `books` take all that can be seen under either of the plans.
pub(crate) fn changes(plans: [&Plan; 2], books: [Book<'_>; 2], budget: usize) -> Vec<ItemChange> {
    let meant = plans.map(|plan| items(plan, &Definitions::of(plan), Reading::Meant));
    let written = plans.map(|plan| items(plan, &Definitions::as_written(plan), Reading::Written));
    let mut compared = ItemPair { plans, books, budget, sets: None, gates: None, choices: None };
    let [was, now] = &meant;
    let names: BTreeSet<&String> = was.keys().chain(now.keys()).collect();
    let mut found: Vec<ItemChange> = Vec::new();
    for name in names {
        let (before, after) = (was.get(name), now.get(name));
        // What belongs to a product comes and goes with it, and so does a fact of a choice.
        let Some(one) = before.or(after) else { continue };
        let is_fact = matches!(one.role, Role::Fact(_)) && before.zip(after).is_none();
        let is_gone = |of| plans.iter().any(|plan| plan.product(of).is_none());
        if is_fact || one.product.is_some_and(is_gone) {
            continue;
        }
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
        Role::Head(clause) if clause.protects() => Concern::Fact,
        Role::Fact(fact) if fact.protects() => Concern::Fact,
        Role::Definition | Role::Band(_) => Concern::Definition,
        Role::Always(_) => Concern::Fact,
        Role::Choice(_) | Role::Head(_) | Role::Fact(_) | Role::Other => Concern::Other,
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
        let product = |book: usize, it: &BookItem<'_>| match it.role {
            Role::Other => self.plans[book].products.iter().find(|product| product.span == it.span),
            _ => None,
        };
        let written = written.or_else(|| doses(product(0, was?)?, product(1, now?)?));
        let value = [was, now].map(|it| it.and_then(|it| it.written.clone()));
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
            value,
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
            Role::Label(_) | Role::Promise | Role::Caution | Role::Always(_) => (true, stricter),
            Role::Choice(_) => (!self.choices_agree(), None),
            Role::Prefer | Role::Speaking | Role::Head(_) | Role::Fact(_) | Role::Other => (true, None),
        }
    }
}
