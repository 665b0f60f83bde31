//! The walk through a season, morning by morning.

use super::{Blank, BloomCount, DayAir, DecisionGroup, ReplayedDay, TankDone, assumed, wet_hours_of};
use crate::advice::{Advice, Advisor, Depth, PlanReady, Window, broken_always};
use crate::grove::{Grove, SprayLog, SprayRow};
use crate::measure::{Gauged, WeatherMeasures};
use crate::plan::{Kind, NameId, Origin, Place, Plan};
use crate::weather::{Weather, first_instant};
use crate::workspace::{EarlierWeather, OpenGrove};
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use chrono_tz::Tz;
use std::borrow::Cow;
use std::rc::Rc;

/// Which mornings of which trees are looked back at.
#[derive(Clone, Debug)]
pub struct ReplayWanted<'a> {
    /// The first and the last day, both counted. Mornings after the moment of the grove are left out.
    pub days: (NaiveDate, NaiveDate),
    /// The time of day at which the guide is asked.
    pub at: NaiveTime,
    /// Whether the advice is taken as followed: then the log counts up to the first morning only.
    pub assume_sprayed: bool,
    /// The trees, in walking order.
    pub trees: &'a [usize],
    /// How much of each decision is worked out.
    pub depth: Depth,
}

/// A season as it was replayed.
#[derive(Clone, Debug)]
pub struct Replay {
    /// Its mornings, the earliest first.
    pub days: Vec<ReplayedDay>,
    /// The spray log at its end, with what was taken as done.
    pub log: SprayLog,
    /// What the rulebook calls the stages of bloom that the days count; nothing where it has none.
    pub bloom: Option<NameId>,
}

/// A morning while it is at hand, for whoever wants to know why.
pub struct ToldMorning<'m> {
    /// The grove as it stood.
    pub grove: &'m Grove,
    /// The weather as it was known.
    pub weather_measures: &'m WeatherMeasures<'m>,
    /// What advised it.
    pub advisor: &'m Advisor<'m>,
    /// What was advised.
    pub advice: &'m Advice,
    /// The morning.
    pub day: &'m ReplayedDay,
}

/// Replays a season, and shows each morning that has an answer while it is at hand.
pub fn replay(open: &OpenGrove, wanted: &ReplayWanted<'_>, mut show: impl FnMut(&ToldMorning<'_>)) -> Replay {
    let mornings = mornings(open, wanted);
    let plan = &open.plan;
    let earlier = open.earlier_weather();
    let ends = mornings.first().zip(mornings.last());
    // Laid out once for all mornings that see the same weather.
    let shared = ends.map(|(first, last)| {
        let moments = (first.with_timezone(&Utc), last.with_timezone(&Utc));
        WeatherMeasures::over(plan, earlier.as_ref().map(EarlierWeather::shared), &open.site, moments)
    });
    let (bloom, ready) = (bloom_of(plan), Rc::new(PlanReady::new(plan, open.grove.certified)));
    let mut log = match mornings.first() {
        Some(first) if wanted.assume_sprayed => open.grove.log.at(*first, &open.grove.trees),
        Some(_) | None => open.grove.log.clone(),
    };
    let mut done = tanks(&log, &open.grove, wanted.trees);
    let mut days = Vec::with_capacity(mornings.len());
    for (at, morning) in mornings.iter().enumerate() {
        let mut day = ReplayedDay::of(*morning);
        match open.grove.at_with(*morning, log.at(*morning, &open.grove.trees)) {
            Err(shares) => day.blank = Some(Blank::Shares(shares)),
            Ok(grove) => {
                let of_morning = earlier.as_ref().map(|earlier| earlier.of(&grove));
                let weather: Option<&Weather> = of_morning.as_ref().map(Cow::as_ref);
                let as_of = morning.with_timezone(&Utc);
                let measures = match &shared {
                    Some(shared) if weather.is_none() || matches!(of_morning, Some(Cow::Borrowed(_))) => {
                        shared.moved_to(as_of)
                    }
                    _ => WeatherMeasures::new(plan, weather, &open.site, as_of),
                };
                let advisor = Advisor::ready(Rc::clone(&ready), (plan, &grove), &measures, *morning)
                    .as_deep_as(wanted.depth);
                let advice = day.ask(&advisor, wanted.trees, bloom);
                let next = mornings.get(at + 1);
                if let Some(next) = next.filter(|_| wanted.assume_sprayed && day.blank.is_none()) {
                    let sprays = assumed::sprays((plan, &grove), &advice, wanted.trees, *next);
                    let (rows, tanks): (Vec<SprayRow>, Vec<TankDone>) = sprays.into_iter().unzip();
                    log = log.with(rows, &open.grove.trees);
                    done.extend(tanks);
                }
                show(&ToldMorning {
                    grove: &grove,
                    weather_measures: &measures,
                    advisor: &advisor,
                    advice: &advice,
                    day: &day,
                });
            }
        }
        days.push(day);
    }
    put_in_place(&mut days, done, wanted);
    breathe(open, &mut days);
    Replay { days, log, bloom }
}

/// Returns the mornings of the days, none of them after the moment of the grove.
fn mornings(open: &OpenGrove, wanted: &ReplayWanted<'_>) -> Vec<DateTime<Tz>> {
    let zone = open.site.zone();
    let (first, last) = wanted.days;
    let days = first.iter_days().take_while(|day| *day <= last);
    let mornings = days.map(|day| first_instant(zone, day.and_time(wanted.at)).with_timezone(&zone));
    mornings.take_while(|morning| *morning <= open.as_of).collect()
}

/// Returns the observation that says in which stage of bloom panicles are: the first of them that is a word of a scale.
fn bloom_of(plan: &Plan) -> Option<NameId> {
    let mut seen = plan.observations().filter(|(_, name, _)| !name.hidden);
    seen.find(|(_, name, _)| match name.kind {
        Kind::Words(list) => {
            matches!(name.scope, Place::Panicles)
                && plan.word_lists.get(list.index()).is_some_and(|it| it.ordered)
        }
        _ => false,
    })
    .map(|(id, ..)| id)
}

impl ReplayedDay {
    fn of(morning: DateTime<Tz>) -> Self {
        Self {
            morning,
            blank: None,
            groups: Vec::new(),
            done: Vec::new(),
            levels: Vec::new(),
            bloom: Vec::new(),
            hours_left: (0.0, 0),
            air: DayAir::default(),
        }
    }

    /// Asks the guide, and notes what it says.
    fn ask(&mut self, advisor: &Advisor<'_>, trees: &[usize], bloom: Option<NameId>) -> Advice {
        if let Some(broken) = broken_always(advisor).iter().next() {
            self.blank = Some(Blank::Always(Box::new(broken.clone())));
        }
        let plan = advisor.plan();
        let mut wanted = trees.iter().copied().peekable();
        let blocks = advisor.grove().blocks.len();
        self.bloom = vec![BloomCount::default(); if bloom.is_some() { blocks } else { 0 }];
        let advice = advisor.advise_with(|tree, own, case, gauged| {
            if wanted.next_if_eq(&tree).is_none() {
                return;
            }
            let at = self.groups.iter().position(|group| group.is_of(case)).unwrap_or_else(|| {
                self.groups.push(DecisionGroup::new(case));
                self.groups.len() - 1
            });
            if let Some(group) = self.groups.get_mut(at) {
                group.trees.push(tree);
            }
            if case.decision.verdict.is_spray() {
                self.hours_left.0 += own.hours.open().iter().map(Window::hours).sum::<f64>();
                self.hours_left.1 += 1;
            }
            let block = self.bloom.get_mut(advisor.grove().trees.block(tree));
            if let Some((block, name)) = block.zip(bloom) {
                block.count(gauged, name);
            }
        });
        self.groups.sort_by_key(|group| (group.verdict.rank(), group.trees.first().copied()));
        let waits = |group: &DecisionGroup| group.waits_for_weather;
        if self.blank.is_none() && !self.groups.is_empty() && self.groups.iter().all(waits) {
            self.blank = Some(Blank::Weather);
        }
        let is_band = |id: &NameId| matches!(plan[*id].origin, Origin::Band(_));
        let levels = advisor.grove_values().filter(|(id, _)| is_band(id));
        self.levels = levels.map(|(id, reading)| (id, one_word(reading.extent.word_set()))).collect();
        advice
    }
}

impl BloomCount {
    /// Counts a tree in the stages in which its panicles are; one of which that is not known in none.
    fn count(&mut self, gauged: &Gauged, name: NameId) {
        let mut set = 0u64;
        for group in gauged.groups.iter() {
            let own = group.names.get(name.index()).map_or(0, |reading| reading.extent.word_set());
            set |= one_word(own).map_or(0, |word| 1 << word);
        }
        for place in (0..64usize).filter(|place| set >> place & 1 == 1) {
            if self.stages.len() <= place {
                self.stages.resize(place + 1, 0);
            }
            if let Some(count) = self.stages.get_mut(place) {
                *count += 1;
            }
        }
    }
}

/// Returns the only word of a set.
fn one_word(set: u64) -> Option<u16> {
    (set.count_ones() == 1).then(|| set.trailing_zeros() as u16)
}

/// Returns the tanks of a log that were sprayed on some trees, the oldest first.
fn tanks(log: &SprayLog, grove: &Grove, trees: &[usize]) -> Vec<TankDone> {
    let same = |a: &SprayRow, b: &SprayRow| a.is_one_with(b) && a.on == b.on;
    let tank = |rows: &[SprayRow]| {
        let first = rows.first()?;
        let parts = rows.iter().flat_map(|row| &row.parts);
        let mut sprayed = first.trees(&grove.trees);
        sprayed.retain(|tree| trees.binary_search(tree).is_ok());
        (!sprayed.is_empty()).then(|| TankDone {
            start: first.start,
            parts: parts.map(|part| (part.word.clone(), part.product, part.strength)).collect(),
            trees: sprayed,
            assumed: false,
        })
    };
    log.rows().chunk_by(same).filter_map(tank).collect()
}

/// Gives each spray to the latest morning before it; what lies outside the season is left out.
fn put_in_place(days: &mut [ReplayedDay], done: Vec<TankDone>, wanted: &ReplayWanted<'_>) {
    for tank in done {
        let later = days.partition_point(|day| day.morning <= tank.start);
        let day = later.checked_sub(1).and_then(|at| days.get_mut(at));
        if let Some(day) = day.filter(|_| tank.start.date_naive() <= wanted.days.1) {
            day.done.push(tank);
        }
    }
    days.iter_mut().for_each(|day| day.done.sort_by_key(|tank| tank.start));
}

/// Takes the air of each day from what is known at the end.
fn breathe(open: &OpenGrove, days: &mut [ReplayedDay]) {
    let Some(weather) = &open.weather else { return };
    let measures = open.weather_measures();
    let wet = wet_hours_of(&open.plan);
    for day in days {
        day.air = DayAir::of(weather, &measures, wet, day.date());
    }
}
