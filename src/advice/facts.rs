//! What is known of one tree itself: sightings that are not too old, its sprays, its doses.

use super::others::Others;
use crate::grove::{AmountUnknown, Counting, Grove, LastSpray as Logged, SeenValue, Sighting};
use crate::measure::{
    Cause, Extent, Facts, History, LastSpray, LogGap, Reading, Unseen, WorldInput, days_counted,
};
use crate::plan::{Counted, Datum, DosePer, NameId, Place, Plan, ProductId, Sprayed, TextId};
use crate::units::Threshold;
use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;

/// What is known of one tree of a grove.
#[derive(Clone, Copy, Debug)]
pub struct TreeFacts<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// The grove.
    pub grove: &'a Grove,
    /// What is known of the other trees.
    pub(super) others: &'a Others,
    /// The tree's number.
    pub tree: usize,
    /// The moment of the advice, or the later one that is judged.
    pub as_of: DateTime<Tz>,
    /// The day by which it is told how old a sighting is.
    pub today: NaiveDate,
}

impl TreeFacts<'_> {
    /// Returns the sighting that counts for a name, in a group of panicles or of the tree, and whether it still holds.
    pub fn sighting(&self, group: Option<usize>, name: NameId) -> Option<(Sighting, Fresh)> {
        let found = self.newest(group, name)?;
        let fresh = self.freshness(name, found.on);
        Some((found, fresh))
    }

    fn newest(&self, group: Option<usize>, name: NameId) -> Option<Sighting> {
        match group {
            Some(group) => self.grove.seen_in_group(self.tree, group, name),
            None => self.grove.seen(self.tree, name),
        }
    }

    /// Returns whether what was seen on a day still holds.
    fn freshness(&self, name: NameId, on: NaiveDate) -> Fresh {
        let days = (self.today - on).num_days();
        let lasts = match &self.plan[name].origin {
            crate::plan::Origin::Observed(seen) => seen.lasts,
            crate::plan::Origin::Measure(_)
            | crate::plan::Origin::Tally(_)
            | crate::plan::Origin::Band(_)
            | crate::plan::Origin::Cultivar
            | crate::plan::Origin::Block
            | crate::plan::Origin::Date => None,
        };
        let holds = lasts.is_none_or(|lasts| Threshold::of_hours(lasts).is_kept_by(days as f64 * 24.0, true));
        if holds { Fresh::Yes } else { Fresh::TooOld { days } }
    }

    fn read(&self, group: Option<usize>, name: NameId) -> Reading {
        let item = &self.plan[name];
        let anything = || {
            let kind = Extent::anything(item.kind, self.plan);
            match (&item.origin, kind.ends()) {
                (crate::plan::Origin::Observed(seen), Some((low, high))) => {
                    seen.range.map_or(kind, |(from, to)| Extent::between(low.max(from), high.min(to)))
                }
                _ => kind,
            }
        };
        match self.sighting(group, name) {
            None => Reading::because(anything(), Cause::Unseen(Unseen::Never)),
            Some((found, Fresh::TooOld { days })) => {
                Reading::because(anything(), Cause::Unseen(Unseen::TooOld { on: found.on, days }))
            }
            Some((found, Fresh::Yes)) => match found.value {
                SeenValue::Number(value) => Reading::known(Extent::number(value)),
                SeenValue::Between(low, high) => doubt(Extent::between(low, high)),
                SeenValue::Sample { found, of } => {
                    Reading::known(Extent::number(f64::from(found) / f64::from(of.max(1))))
                }
                SeenValue::Word(place) => Reading::known(Extent::word(place)),
                SeenValue::Words(low, high) => {
                    let set = (low..=high.min(63)).fold(0u64, |set, place| set | 1 << place);
                    doubt(Extent::words(set))
                }
                SeenValue::Text(text) => Reading::known(Extent::datum(Datum::Text(self.plan.text(&text)))),
            },
        }
    }

    /// Returns the day of the last spray of something, if there was one.
    pub fn last_day(&self, what: &Sprayed) -> Option<NaiveDate> {
        match self.last_spray(what) {
            LastSpray::Ended(moment) => Some(moment.with_timezone(&self.as_of.timezone()).date_naive()),
            LastSpray::Never | LastSpray::Unknown => None,
        }
    }

    fn history_number(&self) -> usize {
        self.grove.log.history_of(self.tree)
    }

    fn days(&self, over: Counted) -> (NaiveDate, NaiveDate) {
        days_counted(over, self.plan.head.season.0, self.as_of.date_naive())
    }

    fn amount_between(&self, what: Counting<'_>, days: (NaiveDate, NaiveDate)) -> Reading {
        match self.grove.amount_sprayed(self.tree, what, days, self.plan) {
            Ok(amount) => Reading::known(Extent::number(amount)),
            Err(AmountUnknown::NoLog) => no_log(Extent::between(0.0, f64::INFINITY)),
            Err(AmountUnknown::Content(word, day)) => {
                let cause = Cause::Sprays(LogGap::Content(word.clone(), day));
                Reading::because(Extent::between(0.0, f64::INFINITY), cause)
            }
            Err(AmountUnknown::Row(on, day)) => {
                let cause = Cause::Sprays(LogGap::Amount(on.clone(), day));
                Reading::because(Extent::between(0.0, f64::INFINITY), cause)
            }
        }
    }
}

/// Whether a sighting still holds.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Fresh {
    /// It does.
    Yes,
    /// It was seen longer ago than the rulebook lets it hold.
    TooOld {
        /// How many days ago.
        days: i64,
    },
}

fn doubt(extent: Extent) -> Reading {
    if extent.is_settled() { Reading::known(extent) } else { Reading::because(extent, Cause::SeenBetween) }
}

fn no_log(extent: Extent) -> Reading {
    Reading::because(extent, Cause::Sprays(LogGap::Unknown))
}

impl Facts for TreeFacts<'_> {
    fn seen(&self, name: NameId) -> Reading {
        self.read(None, name)
    }

    fn groups(&self) -> Vec<Option<f64>> {
        self.grove.groups(self.tree).iter().map(|group| Some(group.share)).collect()
    }

    fn seen_in_group(&self, group: usize, name: NameId) -> Reading {
        self.read(Some(group), name)
    }

    fn sample(&self, leaf: WorldInput) -> Option<(u32, u32)> {
        let group = match leaf {
            WorldInput::Name(name) if self.plan[name].scope == Place::Panicles => Some(0),
            WorldInput::Name(_) => None,
            WorldInput::InGroup(group, _) => Some(group),
            WorldInput::Others(_) => return None,
        };
        match self.newest(group, leaf.name())? {
            Sighting { value: SeenValue::Sample { found, of }, on, .. }
                if self.freshness(leaf.name(), on) == Fresh::Yes =>
            {
                Some((found, of))
            }
            _ => None,
        }
    }

    fn cultivar(&self) -> Option<TextId> {
        self.grove.trees.cultivar(self.tree).map(|cultivar| self.plan.text(cultivar))
    }

    fn block(&self) -> TextId {
        self.grove.block_of(self.tree).map_or(TextId::OTHER, |block| self.plan.text(&block.name))
    }

    fn history(&self) -> &dyn History {
        self
    }

    fn sprays_in_a_row(&self, of: &Sprayed) -> Reading {
        match self.grove.log.in_a_row(self.history_number(), of, self.as_of, self.plan) {
            Some(count) => Reading::known(Extent::number(f64::from(count))),
            None => no_log(Extent::between(0.0, f64::INFINITY)),
        }
    }

    fn sprays(&self, of: &Sprayed, over: Counted) -> Reading {
        match self.grove.log.count(self.history_number(), of, self.days(over), self.plan) {
            Some(count) => Reading::known(Extent::number(f64::from(count))),
            None => no_log(Extent::between(0.0, f64::INFINITY)),
        }
    }

    fn amount(&self, ingredient: &str, over: Counted) -> Reading {
        self.amount_between(Counting::Ingredient(ingredient), self.days(over))
    }

    fn amount_of_product(&self, product: ProductId, over: Counted) -> Reading {
        self.amount_between(Counting::Product(product), self.days(over))
    }

    fn harvest(&self) -> Option<NaiveDate> {
        self.grove.harvest(self.tree)
    }

    fn dose(&self, strength: (ProductId, u8), ingredient: Option<&str>, per: DosePer) -> Option<f64> {
        self.grove.dose(self.tree, self.plan, strength, ingredient, per)
    }

    fn others(&self, name: NameId) -> Option<(f64, f64, f64)> {
        self.others.beside(name, self.tree, self.grove)
    }
}

impl History for TreeFacts<'_> {
    fn number(&self) -> usize {
        self.history_number() * (self.grove.blocks.len() + 1) + self.grove.trees.block(self.tree)
    }

    fn last_spray(&self, what: &Sprayed) -> LastSpray {
        match self.grove.log.last(self.history_number(), what, self.as_of, self.plan) {
            Logged::Unknown => LastSpray::Unknown,
            Logged::Never => LastSpray::Never,
            Logged::Row(row) => LastSpray::Ended(row.end.with_timezone(&Utc)),
        }
    }

    fn sprays_on(&self, day: NaiveDate, begins: u16, what: &Sprayed) -> Reading {
        match self.grove.log.count_on(self.history_number(), what, day, begins, self.plan) {
            Some(count) => Reading::known(Extent::number(f64::from(count))),
            None => no_log(Extent::between(0.0, f64::INFINITY)),
        }
    }

    fn amount_on(&self, day: NaiveDate, _: u16, ingredient: &str) -> Reading {
        self.amount_between(Counting::Ingredient(ingredient), (day, day))
    }

    fn date_of(&self, name: NameId) -> Reading {
        self.read(None, name)
    }
}
