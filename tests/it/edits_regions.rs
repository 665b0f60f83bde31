//! Told regions: whether a tree lies in one, and what trees are made from so that they do.

use crate::edits_trees::{Seed, Told};
use bloomward::measure::{Extent, Possible};
use bloomward::plan::{Datum, ExprNode, NameId, Origin, Place, Plan, Sprayed, TakenValue};
use bloomward::prove::compare::Region;
use bloomward::prove::space::places::Where;
use std::collections::BTreeMap;

/// Whether a tree is in a region.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Lies {
    Inside,
    /// As far as what is known of it goes.
    Perhaps,
    Outside,
}

/// Returns whether a tree is in a region, by what each rulebook reads of it.
pub fn lies(region: &Region, was: &Told, now: &Told) -> Lies {
    let places = region.place.iter();
    places.map(|place| lies_at(place, was, now)).max().unwrap_or(Lies::Inside)
}

fn lies_at(place: &Where, was: &Told, now: &Told) -> Lies {
    let one = |place: &Where| {
        let readings = if place.book == 0 { was.readings(&place.name) } else { now.readings(&place.name) };
        let all = readings.iter().map(|extent| holds(place, *extent));
        // What has no name tells nothing; of several groups of panicles some may be there.
        match (all.clone().min(), all.max()) {
            (Some(Lies::Inside), Some(Lies::Inside)) => Lies::Inside,
            (Some(Lies::Outside), _) => Lies::Outside,
            _ => Lies::Perhaps,
        }
    };
    place.other.as_deref().map_or(Lies::Inside, one).max(one(place))
}

/// Returns whether all, some or none of what a value can be is among those of a place.
fn holds(place: &Where, extent: Extent) -> Lies {
    if place.has(extent) {
        return Lies::Inside;
    }
    let is_some = match extent.can_be {
        Possible::Numbers(low, high) => low != high || (extent.may_be_empty && place.has(Extent::EMPTY)),
        Possible::Words(set) => {
            (0..64).any(|bit| set & (1 << bit) != 0 && place.has(Extent::words(1 << bit)))
        }
        Possible::AnyText => true,
        Possible::Nothing | Possible::Text(_) => false,
    };
    if is_some { Lies::Perhaps } else { Lies::Outside }
}

/// Returns what weather and day decide in a region: how many of its values are not as they are read.
pub fn misses(old: &Plan, new: &Plan, region: &Region, was: &Told, now: &Told) -> usize {
    let of_weather = |place: &&Where| {
        let plan = if place.book == 0 { old } else { new };
        let name = plan.name(&place.name).map(|id| &plan[id]).filter(|it| it.scope == Place::Grove);
        name.is_some_and(|it| match &it.origin {
            Origin::Measure(measure) => !matches!(&*measure.expr.node, ExprNode::ShareOfTrees(..)),
            Origin::Observed(_) => false,
            _ => true,
        })
    };
    let places = region.place.iter().filter(of_weather);
    places.filter(|place| lies_at(place, was, now) == Lies::Outside).count()
}

/// Returns what worked examples take.
pub fn seeds_of_examples(plan: &Plan) -> Vec<Seed> {
    let seeds = plan.worked.iter().map(|worked| {
        let settings = worked.with.iter().filter_map(|at| plan.settings.get(*at));
        let takes = settings.flat_map(|it| &it.takes).chain(&worked.takes);
        let values = takes.filter_map(|take| {
            let TakenValue::One(datum) = &take.value else { return None };
            let value = match datum {
                Datum::Word(place) => plan.word_of(take.name, *place),
                Datum::Number(base) => plan.number_of(take.name, *base),
                Datum::Text(text) => plan.texts[text.0 as usize].to_string(),
            };
            Some((take.name, value))
        });
        seed(plan, values)
    });
    seeds.filter(|it| !it.seen.is_empty() || !it.sprayed.is_empty()).collect()
}

/// Returns the situation that a region is shown by.
pub fn seed_of(plan: &Plan, region: &Region) -> Seed {
    let values = region.situation.values.iter().filter_map(|(word, value)| {
        let (amount, unit) = (&value["value"], value["unit"].as_str().unwrap_or_default());
        let amount = amount.as_str().map_or_else(|| amount.to_string(), str::to_owned);
        let is_told = amount != "null" && amount != "longer than any";
        let name = plan.named().find(|(_, it)| *it.word == **word).map(|(id, _)| id);
        name.filter(|_| is_told).map(|name| (name, format!("{amount} {unit}").trim().to_owned()))
    });
    seed(plan, values)
}

/// Takes what is seen of a tree or logged out of some values.
fn seed(plan: &Plan, values: impl Iterator<Item = (NameId, String)>) -> Seed {
    let mut seed = Seed::default();
    let (mut ages, mut counts) = (BTreeMap::new(), BTreeMap::new());
    for (name, value) in values {
        let number = || value.split(' ').next().and_then(|it| it.parse::<f64>().ok()).map(|it| it as i64);
        let of_group =
            |group: &str| plan.products.iter().find(|it| it.groups.iter().any(|of| **of == *group));
        match &plan[name].origin {
            Origin::Observed(_) | Origin::Cultivar => {
                let value = if value == "any other" { "unheard of".to_owned() } else { value };
                seed.seen.insert(plan[name].word.to_string(), value);
            }
            Origin::Measure(measure) => match &*measure.expr.node {
                ExprNode::DaysToHarvest => seed.harvest = number(),
                ExprNode::DaysSinceLast(Sprayed::Product(it)) => {
                    number().map(|days| ages.insert(&plan[*it].name, days));
                }
                ExprNode::SpraysOf(Sprayed::Product(it), _)
                | ExprNode::SpraysInARow(Sprayed::Product(it)) => {
                    number().map(|count| counts.insert(&plan[*it].name, count));
                }
                ExprNode::SpraysInARow(Sprayed::Group(group)) => {
                    of_group(group).zip(number()).map(|(it, count)| counts.insert(&it.name, count));
                }
                _ => {}
            },
            _ => {}
        }
    }
    for (product, count) in counts {
        let last = *ages.entry(product).or_insert(16);
        seed.sprayed.extend((1..count.min(9)).map(|it| (product.to_string(), last + it)));
        if count < 1 {
            ages.remove(product);
        }
    }
    seed.sprayed.extend(ages.into_iter().map(|(product, days)| (product.to_string(), days)));
    seed.sprayed.retain(|(_, days)| (1..90).contains(days));
    seed
}
