//! The rows that a note comes to: of the trees, of their groups of panicles, of the grove.

use super::places::NotedPlace;
use super::read::Note;
use super::{Noted, NotedRain, NotedValue, TypedDay, today};
use crate::grove::reading::FileReading;
use crate::grove::target::Target;
use crate::grove::trouble::Trouble;
use crate::grove::value::SeenValue;
use crate::phrase::said;
use crate::plan::{Kind, Place};
use crate::source::Span;
use chrono::{DateTime, NaiveDate, NaiveTime, TimeZone};
use chrono_tz::Tz;

/// Returns the day of those pieces of a note that name none; it is not clear where the others name several.
pub(super) fn day_of_all(pieces: &[Note], usual: TypedDay, reading: &mut FileReading) -> Option<TypedDay> {
    let mut days = pieces.iter().filter_map(|note| note.day);
    let first = days.next();
    let several = first.is_some_and(|first| days.any(|day| day.date != first.date));
    match pieces.iter().find(|note| note.day.is_none()).filter(|_| several) {
        Some(note) => {
            let at = note.span(0, note.words.len());
            let help = "write one note for each day";
            reading.problems.push(Trouble::new("the note speaks of two days").help(help).at(at));
            None
        }
        None => Some(first.unwrap_or(usual)),
    }
}

/// Returns the night at whose end or later something is noted: from six in the evening to six in the morning, this program's
/// own limits, or to now.
fn night_before(now: DateTime<Tz>) -> Option<(DateTime<Tz>, DateTime<Tz>)> {
    let six = |evening| NaiveTime::from_hms_opt(if evening { 18 } else { 6 }, 0, 0);
    let (morning, zone) = (now.date_naive(), now.timezone());
    Some((moment(morning.pred_opt()?, six(true)?, zone)?, moment(morning, six(false)?, zone)?.min(now)))
}

/// Returns the moment at which a clock shows a time.
fn moment(day: NaiveDate, time: NaiveTime, zone: Tz) -> Option<DateTime<Tz>> {
    zone.from_local_datetime(&day.and_time(time)).earliest()
}

impl Note<'_> {
    pub fn is_only_a_day(&self) -> bool {
        let says = self.groups.iter().any(|group| !group.values.is_empty() || group.share.is_some());
        !says && self.rain.is_none() && self.remark.is_none() && self.place.is_none()
    }

    /// Makes rows of a note that was read.
    pub fn finish(mut self, day: TypedDay, reading: &mut FileReading) -> Vec<Noted> {
        let whole = self.span(0, self.words.len());
        let scope = |value: &NotedValue| reading.plan[value.name].scope;
        let values = || self.groups.iter().flat_map(|group| &group.values);
        let of_grove = values().all(|value| scope(value) == Place::Grove);
        if self.last_night && self.rain.is_none() {
            let help = "only the rain of `last night` is understood; write `yesterday`, or nothing for today";
            reading.problems.push(Trouble::new("`last night` is not a day").help(help).at(whole));
            return Vec::new();
        }
        let is_grove = |place: &NotedPlace| place.targets == [Target::Grove];
        if values().next().is_none() && self.rain.is_none() && self.remark.is_none() {
            let help = "write what was seen behind it: `a1-15 full 80 set 0`";
            reading.problems.push(Trouble::new("the note says nothing of these trees").help(help).at(whole));
            return Vec::new();
        }
        let place = match self.place.take() {
            Some(place) => place,
            None if of_grove => match self.places.read_all("grove") {
                Ok(place) => place,
                Err(trouble) => {
                    reading.problems.push(trouble.at(whole));
                    return Vec::new();
                }
            },
            None => {
                let help = "begin with the trees: `a1-15`, a block, `terrace/kent` or `grove`";
                reading.problems.push(Trouble::new("the note does not say which trees").help(help).at(whole));
                return Vec::new();
            }
        };
        if self.rain.is_some() && !is_grove(&place) {
            let help = "write it on a line of its own: `rain 1.3 in sat`";
            reading
                .problems
                .push(Trouble::new("the rain gauge speaks of the whole grove").help(help).at(whole));
            return Vec::new();
        }
        // What was there beside these trees was there in the grove.
        let is_there = |value: &NotedValue| {
            scope(value) == Place::Grove
                && value.value == SeenValue::Word(1)
                && !is_grove(&place)
                && reading.plan[value.name].kind == Kind::YesNo
        };
        let misplaced = values()
            .filter(|value| !is_there(value))
            .find_map(|value| place.targets.iter().find_map(|target| reading.misplaced(value.name, *target)));
        if let Some(trouble) = misplaced {
            let help = "write it in a note of its own that begins with `grove`, or with the block";
            reading.problems.push(trouble.help(help).at(whole));
            return Vec::new();
        }
        let seen_at = self.time.and_then(|time| moment(day.date, time, reading.zone()));
        if seen_at.is_some_and(|seen_at| seen_at > reading.as_of) {
            let help = "write the time at which it was seen, or the day with it: `yesterday 6 pm`";
            reading.problems.push(Trouble::new("this time is still to come").help(help).at(whole));
            return Vec::new();
        }
        let shares: Vec<f64> = self.groups.iter().filter_map(|group| group.share).collect();
        let sum: f64 = shares.iter().sum();
        if !shares.is_empty() && (sum - 1.0).abs() > 1e-6 {
            let sum = crate::units::show(crate::units::clean(sum * 100.0), "%");
            let help = "write every group of panicles with its share: `60 % full 70, 40 % spreading`";
            reading.problems.push(
                Trouble::new(said!("the shares of the panicles add up to {sum}", sum)).help(help).at(whole),
            );
            return Vec::new();
        }
        self.rows(day, &place, whole, reading)
    }

    /// What is seen of a group is a row of its own; what is seen of the tree stands on the first that has no share.
    fn rows(self, day: TypedDay, place: &NotedPlace, at: Span, reading: &FileReading) -> Vec<Noted> {
        let mut rows: Vec<Noted> = Vec::new();
        let seen_at = self.time.and_then(|time| moment(day.date, time, reading.zone()));
        // Of a day that is not over the gauge shows the hours up to now.
        let read = (day.date == today(reading.as_of)).then_some(reading.as_of);
        let night = read.filter(|_| self.last_night && seen_at.is_none()).and_then(night_before);
        let (from, read) = night.map_or((None, seen_at.or(read)), |(from, to)| (Some(from), Some(to)));
        let mut of_tree = Noted {
            day: day.date,
            year: day.year,
            time: seen_at,
            place: place.clone(),
            share: None,
            values: Vec::new(),
            rain: self.rain.map(|rain| NotedRain { from, read, ..rain }),
            remark: self.remark,
            at,
        };
        for group in self.groups {
            let of_panicles = |value: &NotedValue| reading.plan[value.name].scope == Place::Panicles;
            let (own, other): (Vec<_>, Vec<_>) =
                group.values.into_iter().partition(|value| group.share.is_some() && of_panicles(value));
            of_tree.values.extend(other);
            if group.share.is_some() {
                rows.push(Noted {
                    day: day.date,
                    year: day.year,
                    time: seen_at,
                    place: place.clone(),
                    share: group.share,
                    values: own,
                    rain: None,
                    remark: None,
                    at,
                });
            }
        }
        let mut of_grove = of_tree.clone();
        if !place.trees.is_empty() && place.targets != [Target::Grove] {
            let is_of_grove = |it: &NotedValue| reading.plan[it.name].scope == Place::Grove;
            of_grove.values.retain(is_of_grove);
            of_tree.values.retain(|it| !is_of_grove(it));
        } else {
            of_grove.values.clear();
        }
        if !of_tree.values.is_empty() || of_tree.rain.is_some() || of_tree.remark.is_some() {
            rows.push(of_tree);
        }
        if let (false, Ok(place)) = (of_grove.values.is_empty(), self.places.read_all("grove")) {
            rows.push(Noted { place, rain: None, remark: None, ..of_grove });
        }
        rows
    }
}
