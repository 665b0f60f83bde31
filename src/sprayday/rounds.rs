//! The rounds of a day: one mix each, its trees in walking order, its loads, its hours.
//!
//! Comes in: the advice for a grove. Goes out: rounds in the order in which one sprayer does them.

use super::one_tank::{OneTank, one_tank};
use super::planned::{PlanInputs, Planned, Wait, hours_of, plan_round};
use super::work::load_hours;
use super::{Job, NoAmounts, area_of, jobs};
use crate::advice::{Advice, Case, Hours, Spray, Window, hour_gates, shutting_between};
use crate::decide::Rules;
use crate::grove::Grove;
use crate::labels::{Waits, first_picking_of, picking_after_all, re_entry_of};
use crate::measure::{Extent, Truth, WeatherMeasures};
use crate::plan::{DiseaseId, GateId, Plan, Series};
use crate::trace::Verdict;
use chrono::{DateTime, NaiveDate};
use chrono_tz::Tz;
use std::sync::Arc;

/// The work of a day.
#[derive(Clone, Debug)]
pub struct Day<'a> {
    /// The rounds, in the order in which they are done.
    pub rounds: Vec<Round<'a>>,
    /// The single mix that is allowed on most trees, and the one with the least lost, where there are several mixes.
    pub one_tank: Vec<OneTank>,
    /// The first hour ahead for which rain is forecast.
    pub rain: Option<DateTime<Tz>>,
    /// The trees of which something must be looked at first.
    pub look: Vec<usize>,
    /// All trees that are not sprayed, those among them.
    pub not_sprayed: Vec<usize>,
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
    /// How many hours all of it takes with the filling between its loads, if the pace is known.
    pub takes: Option<f64>,
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

/// Plans the sprays that an advice gives for some trees.
pub fn day<'a>(
    plan: &'a Plan,
    grove: &'a Grove,
    rules: &Rules,
    weather_measures: &WeatherMeasures<'_>,
    advice: &Advice,
    chosen: &[usize],
) -> Day<'a> {
    let case = |tree: usize| advice.trees.get(tree).and_then(|it| advice.case_of(it));
    let is = |tree: &usize, wanted: fn(&Verdict) -> bool| {
        case(*tree).is_some_and(|case| wanted(&case.decision.verdict))
    };
    let sprays = |verdict: &Verdict| matches!(verdict, Verdict::Spray(_));
    let (sprayed, not_sprayed): (Vec<usize>, Vec<usize>) = chosen.iter().partition(|tree| is(tree, sprays));
    let mut rounds: Vec<Round<'a>> = Vec::new();
    for (spray, hours, trees) in alike(advice, &sprayed, plan.head.window.0) {
        let aims = aims(plan, trees.iter().filter_map(|tree| case(*tree)));
        let made = match jobs(plan, grove, &spray, &trees) {
            Ok(jobs) => jobs.into_iter().map(|job| (job.trees.clone(), Ok(job))).collect(),
            Err(why) => vec![(trees, Err(why))],
        };
        for (trees, job) in made {
            rounds.push(Round {
                area: area_of(grove, &trees),
                loads: job.as_ref().map_or_else(|_| Vec::new(), |job| loads_of(grove, job)),
                takes: None,
                planned: Planned {
                    stretches: Vec::new(),
                    unfitted: 0,
                    ground: super::PlanGround::Nothing,
                    before_rain: None,
                    waits: None,
                },
                waits: None,
                spray: spray.clone(),
                trees,
                aims: aims.clone(),
                hours: Arc::clone(&hours),
                job,
                keep_out_until: None,
                kept_out_before: None,
                pick_not_before: None,
            });
        }
    }
    let rain = rain_ahead(weather_measures, &rounds);
    let preferred = |at: DateTime<Tz>| prefers(plan, weather_measures, at);
    in_time(&mut rounds, grove, rain, &preferred);
    for round in &mut rounds {
        dates(round, plan, grove);
        let first = round.trees.first().and_then(|tree| case(*tree));
        round.waits = first.and_then(|case| waits(round, (plan, weather_measures), case, advice.as_of));
    }
    let look = not_sprayed.iter().copied().filter(|tree| is(tree, |it| *it == Verdict::Look)).collect();
    Day { one_tank: one_tank(plan, rules, advice, &sprayed), rounds, rain, look, not_sprayed }
}

/// Returns the trees that get the same spray in hours that they share, by the first of them.
fn alike(advice: &Advice, sprayed: &[usize], at_least: f64) -> Vec<(Spray, Arc<Hours>, Vec<usize>)> {
    let mut alike: Vec<(Spray, Arc<Hours>, Vec<usize>)> = Vec::new();
    for tree in sprayed {
        let Some(of_tree) = advice.trees.get(*tree) else { continue };
        let Some(case) = advice.case_of(of_tree) else { continue };
        let found = alike.iter_mut().find_map(|(spray, hours, trees)| {
            let shared =
                if *spray == case.spray { shared(hours, &of_tree.hours, at_least)? } else { return None };
            Some((hours, shared, trees))
        });
        match found {
            Some((hours, shared, trees)) => {
                *hours = shared;
                trees.push(*tree);
            }
            None => alike.push((case.spray.clone(), Arc::clone(&of_tree.hours), vec![*tree])),
        }
    }
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

fn aims<'c>(plan: &Plan, cases: impl Iterator<Item = &'c Case>) -> Vec<DiseaseId> {
    let choices = cases.flat_map(|case| &case.decision.choices);
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
fn in_time(
    rounds: &mut [Round<'_>],
    grove: &Grove,
    rain: Option<DateTime<Tz>>,
    liked: &dyn Fn(DateTime<Tz>) -> bool,
) {
    let fill = grove.sprayer.as_ref().and_then(|sprayer| sprayer.fill).unwrap_or(0.0);
    let deadline = |round: &Round<'_>| {
        let before = |to: &DateTime<Tz>| rain.is_none_or(|rain| *to <= rain);
        let loads = round.job.as_ref().ok().and_then(|job| load_hours(grove, job, &round.loads));
        let ends: Vec<DateTime<Tz>> =
            round.hours.usable(loads.as_deref()).iter().map(|window| window.to).collect();
        ends.iter().copied().filter(before).max().or(ends.iter().copied().max())
    };
    rounds.sort_by_key(|round| {
        let end = deadline(round);
        (end.is_none(), end, round.trees.first().copied())
    });
    let mut busy = Vec::new();
    for round in rounds.iter_mut() {
        let shares = round.job.as_ref().ok().and_then(|job| load_hours(grove, job, &round.loads));
        round.takes = shares.as_deref().map(|shares| hours_of(shares, fill));
        let wanted =
            PlanInputs { hours: &round.hours, loads: shares.as_deref(), fill, busy: &busy, rain, liked };
        round.planned = plan_round(&wanted);
        busy.extend(round.planned.stretches.iter().filter_map(|it| Some((it.from, it.to?))));
    }
    rounds.sort_by_key(|round| {
        let begins = round.planned.stretches.first().map(|stretch| stretch.from);
        (begins.is_none(), begins)
    });
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
