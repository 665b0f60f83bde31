//! What was last seen of a tree, and of its groups of panicles.
//!
//! The newest day counts; on one day the most specific row; of equal ones the later. Whether it is too old is for the
//! caller to say.

use super::group::Group;
use super::sight::{Candidate, UNDATED};
use super::tree::date_of;
use super::value::SeenValue;
use super::{Grove, NamePlace, target::Target};
use crate::plan::NameId;
use crate::source::Span;
use chrono::{Datelike, NaiveDate};
use std::slice;
use std::sync::Arc;

/// What was seen, when, and where it is written.
#[derive(Clone, PartialEq, Debug)]
pub struct Sighting {
    /// What.
    pub value: SeenValue,
    /// On which day.
    pub on: NaiveDate,
    /// Of what: a tree inherits what was seen of its group.
    pub of: SeenOf,
    /// Who looked, where the row says so.
    pub who: Option<Arc<str>>,
    /// The row.
    pub at: Span,
}

/// Of what something was seen.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum SeenOf {
    /// The grove.
    Grove,
    /// A block.
    Block,
    /// A cultivar of a block.
    Cultivar,
    /// A range of trees.
    Range,
    /// The tree.
    Tree,
    /// A group of the tree's panicles.
    Group,
}

impl SeenOf {
    fn of_rank(rank: u8) -> Self {
        match rank {
            0 => SeenOf::Grove,
            1 => SeenOf::Block,
            2 => SeenOf::Cultivar,
            3 => SeenOf::Range,
            _ => SeenOf::Tree,
        }
    }
}

const WHOLE: Group = Group::WHOLE;

impl Grove {
    /// Returns what was last seen of a tree; of an observation of panicles what was seen of all of them together.
    pub fn seen(&self, tree: usize, name: NameId) -> Option<Sighting> {
        self.seen_whole(tree, name)
    }

    /// Returns the groups of a tree's panicles; a tree without groups of its own is one group.
    pub fn groups(&self, tree: usize) -> &[Group] {
        self.sights.groups_of(tree, &self.trees).unwrap_or(slice::from_ref(&WHOLE))
    }

    /// Returns what was last seen of a group of a tree's panicles, by its place in [`Grove::groups`].
    pub fn seen_in_group(&self, tree: usize, group: usize, name: NameId) -> Option<Sighting> {
        let whole =
            self.seen_whole(tree, name).filter(|whole| self.speaks_of_group(tree, group, name, whole.on));
        let own = self.groups(tree).get(group).filter(|group| group.at.is_some()).and_then(|group| {
            let value = self.sights.value(usize::from(self.place_of(name).row?), group.row)?;
            let (on, at) = (date_of(group.day)?, self.sights.span(group.row));
            Some(Sighting { value, on, of: SeenOf::Group, who: self.sights.who(group.row), at })
        });
        match (own, whole) {
            (Some(own), Some(whole)) => Some(if whole.on > own.on { whole } else { own }),
            (own, whole) => own.or(whole),
        }
    }

    /// Returns whether what was seen of all panicles on a day holds for a group of them: not where the group was parted from
    /// the others since, at another word of a scale than all of them were.
    fn speaks_of_group(&self, tree: usize, group: usize, name: NameId, on: NaiveDate) -> bool {
        let Some(group) = self.groups(tree).get(group).filter(|group| group.at.is_some()) else {
            return true;
        };
        if !self.place_of(name).of_panicles || date_of(group.day).is_none_or(|day| day <= on) {
            return true;
        }
        let names = (0..self.places.len()).map(|at| NameId(u32::try_from(at).unwrap_or(u32::MAX)));
        names.filter(|other| *other != name && self.place_of(*other).of_panicles).all(|other| {
            let own = self.place_of(other).row.and_then(|row| self.sights.value(usize::from(row), group.row));
            let is_word = matches!(own, Some(SeenValue::Word(_) | SeenValue::Words(..)));
            !is_word || self.seen_whole(tree, other).is_none_or(|whole| Some(whole.value) == own)
        })
    }

    /// Returns the day on which anything was last seen of a tree; what was seen of the whole grove is nothing of the tree.
    pub fn last_seen(&self, tree: usize) -> Option<NaiveDate> {
        let names = (0..self.places.len()).filter(|at| {
            let place = self.places.get(*at);
            place.is_some_and(|place| !place.of_grove && place.own.or(place.row).is_some())
        });
        let names = names.map(|at| NameId(u32::try_from(at).unwrap_or(u32::MAX)));
        if self.sights.groups_of(tree, &self.trees).is_none() {
            return names
                .filter_map(|name| self.newest(tree, name))
                .map(|it| it.day())
                .max()
                .and_then(date_of);
        }
        let groups = 0..self.groups(tree).len();
        names
            .flat_map(|name| groups.clone().map(move |group| (group, name)))
            .filter_map(|(group, name)| self.seen_in_group(tree, group, name))
            .map(|sighting| sighting.on)
            .max()
    }

    /// Passes over the rows that speak of one group of panicles only.
    fn seen_whole(&self, tree: usize, name: NameId) -> Option<Sighting> {
        let newest = self.newest(tree, name)?;
        let on = date_of(newest.day())?;
        Some(match newest {
            Newest::Own { column, .. } => {
                let value = self.trees.own_value(column, tree)?;
                Sighting { value, on, of: SeenOf::Tree, who: None, at: self.trees.span(tree) }
            }
            Newest::Row { column, candidate: Candidate { rank, row, .. } } => {
                let (value, of) = (self.sights.value(column, row)?, SeenOf::of_rank(rank));
                Sighting { value, on, of, who: self.sights.who(row), at: self.sights.span(row) }
            }
        })
    }

    /// Finds where the newest value of a tree stands; rows that speak of one group of panicles are passed over.
    fn newest(&self, tree: usize, name: NameId) -> Option<Newest> {
        let NamePlace { own, row, of_panicles, .. } = self.place_of(name);
        let own = own.map(usize::from).zip(self.trees.seen_day(tree));
        let today = self.as_of.date_naive().num_days_from_ce();
        let own = own.map(|(column, day)| (column, if day == UNDATED { today } else { day }));
        let own = own.filter(|(_, day)| *day <= today);
        let own = own.filter(|(column, _)| self.trees.is_seen(*column, tree));
        let row = row.map(usize::from).and_then(|column| {
            let candidate = self.sights.of_tree(column, tree, &self.trees, of_panicles)?;
            Some((column, candidate))
        });
        match (own, row) {
            (Some((column, day)), row)
                if row.is_none_or(|(_, row)| (row.day, row.rank) < (day, Target::Tree(0).rank())) =>
            {
                Some(Newest::Own { column, day })
            }
            (_, row) => row.map(|(column, candidate)| Newest::Row { column, candidate }),
        }
    }
}

/// Where the newest value of a tree stands.
enum Newest {
    /// In the tree's own row.
    Own { column: usize, day: i32 },
    /// In a row of scouting.
    Row { column: usize, candidate: Candidate },
}

impl Newest {
    fn day(&self) -> i32 {
        match self {
            Newest::Own { day, .. } => *day,
            Newest::Row { candidate, .. } => candidate.day,
        }
    }
}
