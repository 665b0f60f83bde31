//! The rounds of a day: one mix each, its trees in walking order, its loads, its hours.
//!
//! Comes in: the advice for a grove. Goes out: rounds in the order in which one sprayer does them.

use super::one_tank::OneTank;
use super::planned::{PlanInputs, Planned, Wait, plan_round};
use super::work::{load_hours, with_fills};
use super::{Job, NoAmounts, TankPart, area_of, jobs};
use crate::advice::{Case, Hours, Spray, Window, hour_gates, shutting_between};
use crate::grove::Grove;
use crate::labels::{Waits, first_picking_of, picking_after_all, re_entry_of};
use crate::measure::{Extent, Truth, WeatherMeasures};
use crate::plan::{DiseaseId, GateId, Plan, Series};
use crate::trace::Verdict;
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;
use std::sync::Arc;

/// Trees for which an advice is the same.
#[derive(Clone, Debug)]
pub struct Decided<'c> {
    /// Their cases, all with the same verdict and spray.
    pub cases: Vec<&'c Case>,
    /// Their hours.
    pub hours: &'c Arc<Hours>,
    /// The trees, in walking order.
    pub trees: &'c [usize],
}

/// The work of a day.
#[derive(Clone, Debug)]
pub struct Day<'a> {
    /// The rounds, in the order in which they are done; last those of which no amounts can be given.
    pub rounds: Vec<Round<'a>>,
    /// Where it was asked for: the single mix that is allowed on most trees, and the one with the least lost, where there are several mixes.
    pub one_tank: Vec<OneTank>,
    /// The first hour ahead for which rain is forecast.
    pub rain: Option<DateTime<Tz>>,
    /// The trees of which something must be looked at first.
    pub look: Vec<usize>,
    /// All trees that are not sprayed, those among them.
    pub not_sprayed: Vec<usize>,
    /// How long it takes to fill the tank, in hours.
    pub fill: f64,
    /// The moment of the plan.
    pub as_of: DateTime<Tz>,
}

/// One round of the sprayer.
#[derive(Clone, Debug)]
pub struct Round<'a> {
    /// What is sprayed.
    pub spray: Spray,
    /// The trees, in walking order.
    pub trees: Vec<usize>,
    /// The land that they stand on, in square millimetres.
    pub area: Option<f64>,
    /// What it is against.
    pub aims: Vec<DiseaseId>,
    /// The hours that the advice leaves.
    pub hours: Arc<Hours>,
    /// The tank work, or why it is not known.
    pub job: Result<Job<'a>, NoAmounts>,
    /// Which trees each load reaches.
    pub loads: Vec<LoadTrees>,
    /// How many hours all of it takes with the filling before each load, if the pace is known.
    pub takes: Option<f64>,
    /// How many hours each load takes, if the pace is known.
    pub load_hours: Option<Vec<f64>>,
    /// By when it must be done.
    pub done_by: Option<DoneBy>,
    /// When it is planned.
    pub planned: Planned,
    /// Why it does not begin today, where it waits for another day, with the gates that shut the hours before.
    pub waits: Option<(Wait, Vec<GateId>)>,
    /// Until when people keep out, if it is done as planned.
    pub keep_out_until: Option<DateTime<Tz>>,
    /// Until when people keep out because of an earlier spray, where that reaches into the round.
    pub kept_out_before: Option<DateTime<Tz>>,
    /// The first day on which fruit may be picked, if it is done as planned.
    pub pick_not_before: Option<NaiveDate>,
}

/// By when a round must be done.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct DoneBy {
    /// The end of the last hours that are open, or of the last before rain.
    pub at: DateTime<Tz>,
    /// Whether it is for the rain that is forecast: what dries before it is worth more than an hour that is open after it.
    pub rain: bool,
}

impl Round<'_> {
    /// Returns from when to when it is planned, if its end is known.
    pub fn span(&self) -> Option<(DateTime<Tz>, DateTime<Tz>)> {
        let stretches = &self.planned.stretches;
        Some((stretches.first()?.from, stretches.last()?.to?))
    }

    /// Returns the open hours that count for it, earliest first.
    pub fn usable(&self) -> Vec<Window> {
        self.hours.usable(self.load_hours.as_deref())
    }

    /// Returns whether the amount of each product is known for each load; where a jug is missing, or says too little, there is
    /// nothing to weigh.
    pub fn is_weighed(&self) -> bool {
        let known = |part: &TankPart<'_>| {
            part.jug.is_some() && [&part.full, &part.last].into_iter().flatten().all(Result::is_ok)
        };
        self.job.as_ref().map_or(true, |job| job.parts.iter().all(known))
    }
}

impl<'a> Day<'a> {
    /// Returns the rounds in which some of these trees are sprayed.
    pub fn rounds_of<'d>(&'d self, trees: &[usize]) -> impl Iterator<Item = &'d Round<'a>> {
        let has = |round: &&Round<'_>| trees.iter().any(|tree| round.trees.binary_search(tree).is_ok());
        self.rounds.iter().filter(move |round| has(round))
    }

    /// Returns how many hours all rounds take one after the other with all filling, where the pace of the sprayer is known.
    pub fn takes(&self) -> Option<f64> {
        self.rounds.iter().map(|round| round.takes).sum()
    }
}

/// The trees of one load.
#[derive(Clone, PartialEq, Debug)]
pub struct LoadTrees {
    /// How much spray, in cubic millimetres.
    pub volume: f64,
    /// The trees that it reaches; one that needs the next load too is the last of them and the first of the next.
    pub trees: Vec<usize>,
    /// The tree that is finished from the next load.
    pub goes_on_with: Option<usize>,
}

/// Plans the sprays that are decided for some trees, as of a moment.
pub fn day<'a>(
    plan: &'a Plan,
    grove: &'a Grove,
    weather_measures: &WeatherMeasures<'_>,
    as_of: DateTime<Tz>,
    decided: &[Decided<'_>],
) -> Day<'a> {
    let verdict = |it: &Decided<'_>| it.cases.first().map(|case| case.decision.verdict.clone());
    let mut rounds: Vec<Round<'a>> = Vec::new();
    let mut first_cases: Vec<&Case> = Vec::new();
    for alike in alike(decided, plan.head.window.0) {
        let Some(first) = alike.cases.first() else { continue };
        let made = match jobs(plan, grove, &first.spray, &alike.trees) {
            Ok(jobs) => jobs.into_iter().map(|job| (job.trees.clone(), Ok(job))).collect(),
            Err(why) => vec![(alike.trees, Err(why))],
        };
        for (trees, job) in made {
            first_cases.push(first);
            rounds.push(Round {
                area: area_of(grove, &trees),
                loads: job.as_ref().map_or_else(|_| Vec::new(), |job| loads_of(grove, job)),
                takes: None,
                load_hours: None,
                done_by: None,
                planned: Planned::default(),
                waits: None,
                spray: first.spray.clone(),
                trees,
                aims: aims(plan, &alike.cases),
                hours: Arc::clone(&alike.hours),
                job,
                keep_out_until: None,
                kept_out_before: None,
                pick_not_before: None,
            });
        }
    }
    let rain = rain_ahead(weather_measures, &rounds);
    let preferred = |at: DateTime<Tz>| prefers(plan, weather_measures, at);
    in_time(&mut rounds, (grove, as_of), rain, &preferred);
    for round in &mut rounds {
        dates(round, plan, grove);
        let first = first_cases.iter().find(|case| case.spray == round.spray);
        round.waits = first.and_then(|case| waits(round, (plan, weather_measures), case, as_of));
    }
    let trees = |wanted: fn(&Verdict) -> bool| -> Vec<usize> {
        let those = decided.iter().filter(|it| verdict(it).is_some_and(|verdict| wanted(&verdict)));
        let mut trees: Vec<usize> = those.flat_map(|it| it.trees).copied().collect();
        trees.sort_unstable();
        trees
    };
    let look = trees(|verdict| *verdict == Verdict::Look);
    let not_sprayed = trees(|verdict| !matches!(verdict, Verdict::Spray(_)));
    let fill = grove.sprayer.as_ref().and_then(|sprayer| sprayer.fill).unwrap_or(0.0);
    Day { one_tank: Vec::new(), rounds, rain, look, not_sprayed, fill, as_of }
}

/// Trees that get the same spray in hours that they share.
struct Alike<'c> {
    cases: Vec<&'c Case>,
    hours: Arc<Hours>,
    trees: Vec<usize>,
}

/// Returns the trees that get the same spray in hours that they share, by the first of them.
fn alike<'c>(decided: &[Decided<'c>], at_least: f64) -> Vec<Alike<'c>> {
    let mut alike: Vec<Alike<'c>> = Vec::new();
    for those in decided {
        let Some(case) = those.cases.first() else { continue };
        if !matches!(case.decision.verdict, Verdict::Spray(_)) {
            continue;
        }
        let same = |it: &&mut Alike<'_>| it.cases.first().is_some_and(|known| known.spray == case.spray);
        let found = alike
            .iter_mut()
            .filter(same)
            .find_map(|it| shared(&it.hours, those.hours, at_least).map(|hours| (it, hours)));
        match found {
            Some((known, hours)) => {
                known.hours = hours;
                known.trees.extend(those.trees);
                known.cases.extend(&those.cases);
            }
            None => alike.push(Alike {
                cases: those.cases.clone(),
                hours: Arc::clone(those.hours),
                trees: those.trees.to_vec(),
            }),
        }
    }
    alike.iter_mut().for_each(|it| it.trees.sort_unstable());
    alike.sort_by_key(|it| it.trees.first().copied());
    alike
}

/// Returns the hours in which two trees can both be sprayed; nothing where there are none.
fn shared(one: &Arc<Hours>, other: &Arc<Hours>, at_least: f64) -> Option<Arc<Hours>> {
    if one == other {
        return Some(Arc::clone(one));
    }
    let both = |a: &Window, b: &Window| {
        let (from, to) = (a.from.max(b.from), a.to.min(b.to));
        // Which of these hours the guide prefers is asked again where they are planned.
        (from < to).then_some(Window { from, to, preferred: (0, 0) })
    };
    let others = other.open();
    let pairs = one.open().into_iter().flat_map(|a| others.iter().filter_map(move |b| both(&a, b)));
    let (windows, short): (Vec<Window>, Vec<Window>) = pairs.partition(|window| window.holds(at_least));
    (!windows.is_empty()).then(|| Arc::new(Hours { windows, short, ..Hours::default() }))
}

fn aims(plan: &Plan, cases: &[&Case]) -> Vec<DiseaseId> {
    let choices = cases.iter().flat_map(|case| &case.decision.choices);
    let mut aims: Vec<DiseaseId> = choices
        .filter_map(|id| plan.choices.get(id.index()))
        .flat_map(|it| it.aims.iter().copied())
        .collect();
    aims.sort();
    aims.dedup();
    aims
}

/// Returns the loads of a job with the trees that each of them reaches.
pub(super) fn loads_of(grove: &Grove, job: &Job<'_>) -> Vec<LoadTrees> {
    let full = job.tank.filter(|_| job.loads.full > 0);
    let volumes = full.into_iter().flat_map(|tank| std::iter::repeat_n(tank, job.loads.full as usize));
    let volumes = volumes.chain(Some(job.loads.last).filter(|last| *last > 0.0));
    let each = |tree: &usize| {
        let sprayer = grove.sprayer.as_ref()?;
        Some((*tree, grove.block_of(*tree).and_then(|block| sprayer.volume_per_tree(block))?))
    };
    let mut wanted = job.trees.iter().filter_map(each);
    let mut under_way = wanted.next();
    let loads = volumes.map(|volume| {
        let mut load = LoadTrees { volume, trees: Vec::new(), goes_on_with: None };
        let mut left = volume;
        while let Some((tree, needs)) = under_way.filter(|_| left > volume * 1e-9) {
            load.trees.push(tree);
            // What only the noise of binary numbers leaves over is nothing.
            if needs <= left + volume * 1e-9 {
                left -= needs;
                under_way = wanted.next();
            } else {
                under_way = Some((tree, needs - left));
                load.goes_on_with = Some(tree);
                left = 0.0;
            }
        }
        load
    });
    loads.collect()
}

/// Returns the first hour ahead for which rain is forecast, as far as the hours of the rounds reach, and a day more.
fn rain_ahead(weather_measures: &WeatherMeasures<'_>, rounds: &[Round<'_>]) -> Option<DateTime<Tz>> {
    if rounds.is_empty() {
        return None;
    }
    let now = weather_measures.hour_under_way();
    let rains = |hour: &i64| {
        let rain: Extent = weather_measures.series_in_hour(Series::Rain, *hour);
        rain.ends().is_some_and(|(least, _)| least > 0.0)
    };
    (now..now + 72).find(rains).map(|hour| weather_measures.hour_start(hour))
}

/// A round that begins so many hours ahead, on another day, is told with why it waits.
const WAITS: i64 = 12;

fn waits(
    round: &Round<'_>,
    (plan, weather_measures): (&Plan, &WeatherMeasures<'_>),
    case: &Case,
    now: DateTime<Tz>,
) -> Option<(Wait, Vec<GateId>)> {
    let begins = round.planned.stretches.first()?.from;
    let why = round.planned.waits?;
    if begins.date_naive() == now.date_naive() || (begins - now).num_hours() < WAITS {
        return None;
    }
    Some((why, shutting_between(plan, weather_measures, &hour_gates(plan, case), (now, begins))))
}

fn prefers(plan: &Plan, weather_measures: &WeatherMeasures<'_>, at: DateTime<Tz>) -> bool {
    let hours =
        (at - weather_measures.hour_start(weather_measures.hour_under_way())).num_seconds().div_euclid(3600);
    let hour = weather_measures.hour_under_way() + hours;
    !plan.prefers.is_empty()
        && plan
            .prefers
            .iter()
            .all(|it| weather_measures.hour(&it.hours, hour, &|_| Extent::EMPTY).truth == Truth::Yes)
}

/// Plans the rounds one after the other, those first whose hours end first, and puts them into the order in which they begin.
/// A round of which nothing can be weighed takes no time of the sprayer.
fn in_time(
    rounds: &mut [Round<'_>],
    (grove, as_of): (&Grove, DateTime<Tz>),
    rain: Option<DateTime<Tz>>,
    liked: &dyn Fn(DateTime<Tz>) -> bool,
) {
    let fill = grove.sprayer.as_ref().and_then(|sprayer| sprayer.fill).unwrap_or(0.0);
    for round in rounds.iter_mut() {
        round.load_hours = round.job.as_ref().ok().and_then(|job| load_hours(grove, job, &round.loads));
        round.takes = round.load_hours.as_deref().map(|loads| with_fills(loads, fill));
        round.done_by = done_by(&round.usable(), rain);
    }
    rounds.sort_by_key(|round| {
        let end = round.done_by.map(|it| it.at);
        (!round.is_weighed(), end.is_none(), end, round.trees.first().copied())
    });
    // The first tank is filled before its hour comes, but not before now.
    let mut busy = vec![(as_of, as_of)];
    for round in rounds.iter_mut() {
        let wanted = PlanInputs {
            hours: &round.hours,
            loads: round.load_hours.as_deref(),
            fill,
            busy: &busy,
            work: &grove.work,
            rain,
            liked,
        };
        round.planned = plan_round(&wanted);
        if round.is_weighed() {
            busy.extend(round.planned.stretches.iter().filter_map(|it| Some((it.from, it.to?))));
        }
    }
    rounds.sort_by_key(|round| {
        let begins = round.planned.stretches.first().map(|stretch| stretch.from);
        (!round.is_weighed(), begins.is_none(), begins)
    });
}

/// Returns by when what is open then must be done: the end of the last hours before the rain, else of the last.
fn done_by(open: &[Window], rain: Option<DateTime<Tz>>) -> Option<DoneBy> {
    let ends = || open.iter().map(|window| window.to);
    let before_rain = rain.and_then(|rain| ends().filter(|to| *to <= rain).max());
    before_rain
        .map(|at| DoneBy { at, rain: true })
        .or_else(|| Some(DoneBy { at: ends().max()?, rain: false }))
}

/// Fills in the days and times that labels set, from the planned end on.
fn dates(round: &mut Round<'_>, plan: &Plan, grove: &Grove) {
    let end = round.planned.stretches.last().and_then(|stretch| stretch.to);
    let waits = Waits::of(plan, round.spray.iter().map(|(product, _)| *product));
    let own_picking = end.and_then(|end| waits.first_picking(end.date_naive()));
    round.keep_out_until = end.and_then(|end| waits.keep_out(end));
    let start = round.planned.stretches.first().map(|stretch| stretch.from);
    let rows = round.trees.iter().flat_map(|tree| grove.log.of_tree(*tree));
    let done: Vec<_> = rows.filter(|row| row.end <= grove.as_of).collect();
    let earlier = done.iter().filter_map(|row| re_entry_of(plan, grove, row)).max();
    round.kept_out_before = earlier.filter(|until| start.is_some_and(|start| *until > start));
    // An earlier spray may bar the harvest for longer than this one.
    let picked = done.iter().filter_map(|row| first_picking_of(plan, grove, row));
    let keep_out = round.keep_out_until.max(round.kept_out_before);
    round.pick_not_before = picking_after_all(picked, own_picking, keep_out, grove.as_of.date_naive());
}
