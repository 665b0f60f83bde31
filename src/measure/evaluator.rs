//! All values of one tree: what every name of a plan is, in the world as it is or in a possible one.
//!
//! Comes in: what was seen of the tree and sprayed on it ([`Facts`]), the weather ([`WeatherMeasures`]), and a [`World`].
//! Names are computed in the plan's order, each once.

use super::caused_truth::CausedTruth;
use super::panicles::{statistic_of_numbers, statistic_of_words};
use super::{
    Cause, Extent, Facts, Gauged, GaugedGroup, History, InDoubt, LogGap, NoValue, Placed, Reading, Truth,
    Unseen, WeatherMeasures, World, WorldInput, against, compare, evaluate, grade, wilson,
};
use crate::plan::{
    Compare, Condition, DosePer, Expr, ExprNode, Kind, Name, NameId, Observation, Origin, Place, Plan,
    ProductId, Quantifier, Statistic, Subject, TextId, Window,
};
use crate::units::Threshold;
use chrono::{Datelike, NaiveDate};
use std::ops::Not;
use std::sync::Arc;

/// A plan under the weather of a moment: what evaluates each tree.
#[derive(Clone, Copy)]
pub struct Evaluator<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// The weather.
    pub weather_measures: &'a WeatherMeasures<'a>,
    /// The day of the advice.
    pub today: NaiveDate,
    /// The values of the whole grove, once they are known, so that they are not computed for each tree.
    pub grove: Option<&'a [Reading]>,
}

impl Evaluator<'_> {
    /// Returns what every name is for a tree in a world.
    pub fn gauge(&self, facts: &dyn Facts, world: &World) -> Gauged {
        self.gauge_names(facts, world, &self.plan.order)
    }

    /// Returns what some names are, each listed after those it is computed from; the others are blank.
    pub fn gauge_names(&self, facts: &dyn Facts, world: &World, wanted: &[NameId]) -> Gauged {
        let blank = || vec![Reading::known(Extent::EMPTY); self.plan.names.len()];
        let known = self.grove.filter(|_| world.is_as_it_is());
        let names = known.map_or_else(blank, <[Reading]>::to_vec);
        let groups = facts.groups().into_iter().map(|share| GaugedGroup { share, names: blank() }).collect();
        let mut gauged = Gauged { names, groups };
        for id in wanted {
            if known.is_none() || self.plan[*id].scope != Place::Grove {
                self.fill(facts, world, &mut gauged, *id, &mut drop);
            }
        }
        gauged
    }

    /// Makes the values of one world those of another that differs from it in one leaf: only what is computed from that
    /// leaf is computed anew, each name after those it is computed from. `replaced` gets what stood there before.
    pub fn gauge_from(
        &self,
        facts: &dyn Facts,
        world: &World,
        gauged: &mut Gauged,
        (leaf, dependents): (WorldInput, &mut dyn Iterator<Item = NameId>),
        replaced: &mut dyn FnMut(Placed),
    ) {
        for id in std::iter::once(leaf.name()).chain(dependents) {
            self.fill(facts, world, gauged, id, replaced);
        }
    }

    /// Computes a name. `replaced` gets what stood there before.
    fn fill(
        &self,
        facts: &dyn Facts,
        world: &World,
        gauged: &mut Gauged,
        id: NameId,
        replaced: &mut dyn FnMut(Placed),
    ) {
        let name = &self.plan[id];
        if let (Origin::Observed(seen), Place::Panicles) = (&name.origin, name.scope) {
            for group in 0..gauged.groups.len() {
                let at = ValuesSoFar { judge: self, facts, world, gauged };
                let fixed = world.fixed(WorldInput::InGroup(group, id)).or(world.fixed(WorldInput::Name(id)));
                let reading = fixed.map_or_else(
                    || at.assumed(seen, facts.seen_in_group(group, id), Some(group)),
                    Reading::known,
                );
                if gauged.groups.len() == 1 {
                    replaced(gauged.put(Placed { group: None, name: id, reading: reading.clone() }));
                }
                replaced(gauged.put(Placed { group: Some(group), name: id, reading }));
            }
            return;
        }
        let at = ValuesSoFar { judge: self, facts, world, gauged };
        let reading = world.fixed(WorldInput::Name(id)).map_or_else(|| at.read(id, name), Reading::known);
        replaced(gauged.put(Placed { group: None, name: id, reading }));
    }

    /// Returns whether a condition holds of a tree whose values are known, with what it hangs on.
    pub fn holds(&self, facts: &dyn Facts, world: &World, gauged: &Gauged, condition: &Condition) -> Truth {
        let at = ValuesSoFar { judge: self, facts, world, gauged };
        at.condition(condition, None).truth
    }
}

/// The values of a tree while others are computed.
struct ValuesSoFar<'a> {
    judge: &'a Evaluator<'a>,
    facts: &'a dyn Facts,
    world: &'a World,
    gauged: &'a Gauged,
}

impl ValuesSoFar<'_> {
    fn read(&self, id: NameId, name: &Name) -> Reading {
        match &name.origin {
            Origin::Observed(seen) => self.assumed(seen, self.facts.seen(id), None),
            Origin::Cultivar => self.facts.cultivar().map_or_else(
                || {
                    let cause = Cause::Unseen(Unseen::Cultivar);
                    Reading::because(Extent::anything(Kind::Text, self.judge.plan), cause)
                },
                text,
            ),
            Origin::Block => text(self.facts.block()),
            Origin::Date => Reading::known(Extent::number(f64::from(self.judge.today.num_days_from_ce()))),
            Origin::Tally(_) => self.judge.weather_measures.tally(id, &Past { at: self }),
            Origin::Band(band) => {
                let met: Vec<CausedTruth> =
                    band.rows.iter().map(|row| self.condition(&row.condition, None)).collect();
                let rows = band.rows.iter().zip(&met).map(|(row, met)| (row.caps, row.level, met.truth));
                let grades = grade(rows);
                // It rests on what was assumed where rows that do so could be otherwise and the grade with them.
                let open = |met: &CausedTruth| if met.assumed { Truth::Open } else { met.truth };
                let rows = band.rows.iter().zip(&met).map(|(row, met)| (row.caps, row.level, open(met)));
                let assumed = met.iter().any(|it| it.assumed) && grade(rows) != grades;
                Reading { assumed, ..Reading::known(Extent::words(grades)) }
            }
            Origin::Measure(measure) => {
                let mut leaf = |expr: &Expr| self.leaf(id, expr);
                let reading = evaluate(&measure.expr, self.judge.plan, &mut leaf);
                let Some(valid) = &measure.valid_if else { return reading };
                let valid = self.condition(valid, None);
                match valid.truth {
                    Truth::Yes => Reading { assumed: reading.assumed || valid.assumed, ..reading },
                    Truth::No => Reading {
                        extent: Extent::EMPTY,
                        cause: Some(Cause::Empty(NoValue::Invalid)),
                        assumed: reading.assumed || valid.assumed,
                        ..reading
                    },
                    Truth::Open => Reading {
                        extent: reading.extent.or_empty(),
                        cause: valid.cause.cloned().or(reading.cause),
                        forecast: reading.forecast || valid.forecast,
                        assumed: reading.assumed || valid.assumed,
                    },
                }
            }
        }
    }

    /// Takes the assumed value where nothing at all was seen and its condition holds. What was seen as an interval or as
    /// one of several stages was seen; where the condition is not known, the value is not.
    fn assumed(&self, seen: &Observation, reading: Reading, group: Option<usize>) -> Reading {
        let Some(assume) = &seen.assume else { return reading };
        if !matches!(reading.cause, Some(Cause::Unseen(_))) {
            return reading;
        }
        let holds = assume.condition.as_ref().map_or(Truth::Yes, |it| self.condition(it, group).truth);
        match holds {
            Truth::Yes => Reading { assumed: true, ..Reading::known(Extent::datum(assume.value)) },
            // Unknown is any value that the kind allows, the assumed one among them.
            Truth::Open | Truth::No => reading,
        }
    }

    /// Reads what is no arithmetic.
    fn leaf(&self, of: NameId, expr: &Expr) -> Reading {
        match &*expr.node {
            ExprNode::Name(name) => self.named(*name, None),
            ExprNode::DaysSince(name) => self.days(*name, |today, date| today - date),
            ExprNode::DaysTo(name) => self.days(*name, |today, date| date - today),
            ExprNode::DaysToHarvest => match self.facts.harvest() {
                Some(date) => {
                    let days = (date - self.judge.today).num_days() as f64;
                    Reading::known(Extent::number(days * 24.0))
                }
                None => Reading::because(Extent::between(f64::NEG_INFINITY, f64::INFINITY), Cause::Harvest),
            },
            ExprNode::DaysSinceLast(what) => self.days_since_last(what),
            ExprNode::SpraysInARow(what) => self.facts.sprays_in_a_row(what),
            ExprNode::SpraysOf(what, over) => self.facts.sprays(what, *over),
            ExprNode::AmountOf(ingredient, over) => self.facts.amount(ingredient, *over),
            ExprNode::AmountOfProduct(product, over) => self.facts.amount_of_product(*product, *over),
            ExprNode::Panicles(quantifier, condition) => self.panicles(*quantifier, condition),
            ExprNode::ShareOfPanicles(condition) => self.share_of_panicles(condition),
            ExprNode::ShareOfTrees(_, condition) => self.share_of_trees(of, condition),
            ExprNode::OfPanicles(statistic, name) => self.of_panicles(*statistic, *name, expr.kind),
            ExprNode::LikelyRange(name) => self.likely_range(*name),
            ExprNode::Aggregate(aggregate, window) => {
                let past = Past { at: self };
                let reading = self.judge.weather_measures.aggregate(aggregate, window, &past);
                match window {
                    Window::Since(name) if !self.named(*name, None).extent.is_settled() => {
                        Reading { cause: self.named(*name, None).cause.or(reading.cause), ..reading }
                    }
                    _ => reading,
                }
            }
            ExprNode::Fitting { product, ingredient, used, at_most, per } => {
                self.fitting((*product, ingredient.as_ref(), *per), *used, at_most)
            }
            ExprNode::Number(_)
            | ExprNode::Word(_)
            | ExprNode::Series(_)
            | ExprNode::Hourly(_)
            | ExprNode::Daily(_)
            | ExprNode::Arithmetic(..)
            | ExprNode::InUnit(..)
            | ExprNode::Kept(..)
            | ExprNode::Rounded(..)
            | ExprNode::OrElse(..)
            | ExprNode::Pick(..)
            | ExprNode::Function(..)
            | ExprNode::Lookup(..) => Reading::known(Extent::EMPTY),
        }
    }

    fn named(&self, name: NameId, group: Option<usize>) -> Reading {
        self.reading(name, group).cloned().unwrap_or_else(|| Reading::known(Extent::EMPTY))
    }

    fn reading(&self, name: NameId, group: Option<usize>) -> Option<&Reading> {
        let of_group = group.filter(|_| self.judge.plan[name].scope == Place::Panicles);
        let names = match of_group {
            Some(group) => &self.gauged.groups.get(group)?.names,
            None => &self.gauged.names,
        };
        names.get(name.index())
    }

    fn days(&self, name: NameId, count: fn(f64, f64) -> f64) -> Reading {
        let date = self.named(name, None);
        let today = f64::from(self.judge.today.num_days_from_ce());
        let extent = match date.extent.ends() {
            Some((low, high)) => {
                let days = Extent::between(count(today, low) * 24.0, count(today, high) * 24.0);
                Extent { may_be_empty: date.extent.may_be_empty, ..days }
            }
            None => Extent::EMPTY,
        };
        Reading { extent, ..date }
    }

    fn days_since_last(&self, what: &crate::plan::Sprayed) -> Reading {
        match self.facts.history().last_spray(what) {
            super::LastSpray::Never => Reading::known(Extent::number(f64::INFINITY)),
            super::LastSpray::Ended(moment) => {
                let days =
                    (self.judge.today - self.judge.weather_measures.local_date(moment)).num_days() as f64;
                Reading::known(Extent::number(days * 24.0))
            }
            super::LastSpray::Unknown => {
                Reading::because(Extent::between(0.0, f64::INFINITY), Cause::Sprays(LogGap::Unknown))
            }
        }
    }

    fn panicles(&self, quantifier: Quantifier, condition: &Condition) -> Reading {
        let groups = (0..self.gauged.groups.len()).map(|group| self.condition(condition, Some(group)));
        let CausedTruth { truth, cause, assumed, .. } = match quantifier {
            Quantifier::Some => CausedTruth::any(groups),
            Quantifier::All => CausedTruth::all(groups),
        };
        Reading { cause: cause.cloned(), assumed, ..Reading::known(truth.extent()) }
    }

    fn share_of_panicles(&self, condition: &Condition) -> Reading {
        let groups: Vec<CausedTruth> =
            (0..self.gauged.groups.len()).map(|group| self.condition(condition, Some(group))).collect();
        let shares: Option<Vec<f64>> = match &self.gauged.groups[..] {
            [_] => Some(vec![1.0]),
            more => more.iter().map(|group| group.share).collect(),
        };
        let Some(shares) = shares else {
            let cause = Cause::Unseen(Unseen::Shares);
            return Reading::because(Extent::between(0.0, 1.0), cause);
        };
        let sum = |counts: fn(Truth) -> bool| {
            let counted =
                groups.iter().zip(&shares).filter(|(it, _)| counts(it.truth)).map(|(_, share)| share);
            crate::units::clean(counted.sum::<f64>())
        };
        let extent = Extent::between(sum(|truth| truth == Truth::Yes), sum(|truth| truth != Truth::No));
        let cause = groups.iter().find_map(|it| it.cause).filter(|_| !extent.is_settled());
        let assumed = groups.iter().any(|it| it.assumed);
        Reading { cause: cause.cloned(), assumed, ..Reading::known(extent) }
    }

    fn share_of_trees(&self, of: NameId, condition: &Condition) -> Reading {
        let Some((sure, perhaps, all)) = self.facts.others(of) else {
            let cause = Cause::Unseen(Unseen::Others);
            return Reading::because(Extent::between(0.0, 1.0), cause);
        };
        let own = self.condition(condition, None);
        let more = self.world.fixed(WorldInput::Others(of)).and_then(Extent::ends).unwrap_or((0.0, perhaps));
        let (low, high) = (sure + more.0, sure + more.1);
        let low = low + if own.truth == Truth::Yes { 1.0 } else { 0.0 };
        let high = high + if own.truth == Truth::No { 0.0 } else { 1.0 };
        let extent = Extent::between(low / all.max(1.0), high / all.max(1.0));
        let cause = if extent.is_settled() {
            None
        } else {
            own.cause.cloned().or(Some(Cause::Unseen(Unseen::SomeOthers)))
        };
        Reading { cause, forecast: own.forecast, assumed: own.assumed, ..Reading::known(extent) }
    }

    fn of_panicles(&self, statistic: Statistic, name: NameId, kind: Kind) -> Reading {
        let groups: Vec<(Option<f64>, Reading)> = self
            .gauged
            .groups
            .iter()
            .enumerate()
            .map(|(at, it)| (it.share, self.named(name, Some(at))))
            .collect();
        let there = groups.iter().filter(|(_, reading)| !reading.extent.is_empty());
        let extents: Vec<(Option<f64>, Extent)> =
            there.map(|(share, reading)| (*share, reading.extent)).collect();
        let extent = match (&extents[..], kind.is_numeric()) {
            ([], _) => Extent::EMPTY,
            ([(_, one)], _) => *one,
            (several, true) => statistic_of_numbers(statistic, several),
            (several, false) => statistic_of_words(statistic, several),
        };
        let cause = groups.iter().find_map(|(_, reading)| reading.cause.clone());
        let cause = cause.filter(|_| !extent.is_settled() || extent.is_empty());
        let assumed = groups.iter().any(|(_, reading)| reading.assumed);
        Reading { cause, assumed, ..Reading::known(extent) }
    }

    fn likely_range(&self, name: NameId) -> Reading {
        let reading = self.named(name, None);
        let leaf = if self.judge.plan[name].scope == Place::Panicles {
            WorldInput::InGroup(0, name)
        } else {
            WorldInput::Name(name)
        };
        if self.world.fixed(leaf).is_some() {
            return reading;
        }
        match self.facts.sample(leaf) {
            Some((found, of)) => {
                let (low, high) = wilson(found, of);
                let cause = Cause::Doubt(InDoubt::Sample(found, of));
                Reading::because(Extent::between(low, high), cause)
            }
            None => reading,
        }
    }

    /// Finds the strongest strength that keeps a cap: word 0 is none, word 1 the weakest strength.
    fn fitting(
        &self,
        (product, ingredient, per): (ProductId, Option<&Arc<str>>, DosePer),
        used: Option<NameId>,
        cap: &Threshold,
    ) -> Reading {
        let strengths = self.judge.plan[product].strengths.len().min(62) as u8;
        let used = used.map_or_else(|| Reading::known(Extent::number(0.0)), |name| self.named(name, None));
        let doses: Option<Vec<f64>> = (0..strengths)
            .map(|it| self.facts.dose((product, it), ingredient.map(|it| &**it), per))
            .collect();
        let every = (1u64 << (u32::from(strengths) + 1)) - 1;
        let Some(doses) = doses else {
            return Reading::because(Extent::words(every), Cause::Sprayer);
        };
        let fits = |used: f64| {
            doses.iter().rposition(|dose| cap.is_kept_by(used + dose, true)).map_or(0, |at| at as u16 + 1)
        };
        let Some((low, high)) = used.extent.ends() else { return Reading::known(Extent::word(fits(0.0))) };
        let set = (fits(high)..=fits(low)).fold(0, |set, place| set | 1u64 << place);
        Reading { extent: Extent::words(set), cause: used.cause.filter(|_| !set.is_power_of_two()), ..used }
    }

    fn condition(&self, condition: &Condition, group: Option<usize>) -> CausedTruth<'_> {
        match condition {
            Condition::Test(test) => match test.subject {
                Subject::Name(name) => {
                    let reading = self.reading(name, group);
                    let extent = reading.map_or(Extent::EMPTY, |it| it.extent);
                    let truth = match test.compare {
                        Compare::Name(order, other) => {
                            let other = self.reading(other, group).map_or(Extent::EMPTY, |it| it.extent);
                            against(order, &self.judge.plan[name], extent, other)
                        }
                        _ => compare(extent, &test.compare),
                    };
                    CausedTruth {
                        truth,
                        cause: reading.filter(|_| truth == Truth::Open).and_then(|it| it.cause.as_ref()),
                        forecast: reading.is_some_and(|it| it.forecast),
                        assumed: reading.is_some_and(|it| it.assumed),
                    }
                }
                Subject::Series(_) | Subject::Hourly(_) | Subject::Daily(_) => CausedTruth::OPEN,
            },
            Condition::Not(inner) => self.condition(inner, group).not(),
            Condition::All(parts) => CausedTruth::all(parts.iter().map(|part| self.condition(part, group))),
            Condition::Any(parts) => CausedTruth::any(parts.iter().map(|part| self.condition(part, group))),
        }
    }
}

fn text(text: TextId) -> Reading {
    Reading::known(Extent::datum(crate::plan::Datum::Text(text)))
}

/// A tree's past with the dates as they are in a world.
struct Past<'a> {
    at: &'a ValuesSoFar<'a>,
}

impl History for Past<'_> {
    fn number(&self) -> usize {
        self.at.facts.history().number()
    }

    fn last_spray(&self, what: &crate::plan::Sprayed) -> super::LastSpray {
        self.at.facts.history().last_spray(what)
    }

    fn sprays_on(&self, day: NaiveDate, begins: u16, what: &crate::plan::Sprayed) -> Reading {
        self.at.facts.history().sprays_on(day, begins, what)
    }

    fn amount_on(&self, day: NaiveDate, begins: u16, ingredient: &str) -> Reading {
        self.at.facts.history().amount_on(day, begins, ingredient)
    }

    fn date_of(&self, name: NameId) -> Reading {
        self.at.named(name, None)
    }
}
