//! Where in all situations something is so, in the values that a name has there.

use crate::measure::{Extent, Possible};
use crate::plan::{Kind, NameId, Plan};
use crate::units::clean;

/// A run of values of a name: between ends that count or do not, or words.
#[derive(Clone, PartialEq, Debug)]
pub struct Run {
    /// The lower end in words, and whether it counts.
    pub from: Option<(String, bool)>,
    /// The upper end in words, and whether it counts.
    pub to: Option<(String, bool)>,
    /// What has no ends: one word, or that there is no such value.
    pub is: Option<String>,
}

/// A name with the values that it has in a region.
#[derive(Clone, PartialEq, Debug)]
pub struct Where {
    /// The name.
    pub name: String,
    /// Its values.
    pub runs: Vec<Run>,
}

/// Returns a run of a name's pieces, from one to another, in words.
pub(super) fn run(plan: &Plan, name: NameId, extents: &[Extent], whole: bool, first: u16, last: u16) -> Run {
    let at = |place: u16| extents.get(usize::from(place)).copied();
    // The piece for empty is the last one.
    let until = match at(last) {
        Some(extent) if extent.is_empty() && last > first => last - 1,
        _ => last,
    };
    let (Some(low), Some(high)) = (at(first), at(until)) else {
        return Run { from: None, to: None, is: None };
    };
    if low.is_empty() {
        return Run { from: None, to: None, is: Some("empty".to_owned()) };
    }
    if let (Some((from, _)), Some((_, to))) = (low.ends(), high.ends()) {
        let is_point = |extent: Extent| extent.ends().is_some_and(|(a, b)| a == b);
        let words = |number: f64| plan.number_of(name, in_unit(plan, name, number));
        let end = |number: f64, closed: bool| number.is_finite().then(|| (words(number), closed || whole));
        return Run {
            from: end(from, is_point(low) || first == 0),
            to: end(to, is_point(high) || usize::from(until) + 1 == extents.len()),
            is: None,
        };
    }
    let word = |extent: Extent| match extent.can_be {
        Possible::Words(set) => plan.word_of(name, set.trailing_zeros() as u16),
        Possible::Text(text) => {
            plan.texts.get(text.0 as usize).map_or("any other", |text| &**text).to_owned()
        }
        _ => "any".to_owned(),
    };
    if first == until {
        return Run { from: None, to: None, is: Some(word(low)) };
    }
    if plan.is_ordered(name) {
        return Run { from: Some((word(low), true)), to: Some((word(high), true)), is: None };
    }
    let all: Vec<String> = (first..=until).filter_map(at).map(word).collect();
    Run { from: None, to: None, is: Some(all.join(", ")) }
}

/// Returns an end without the little that a piece stays inside of its threshold.
fn in_unit(plan: &Plan, name: NameId, number: f64) -> f64 {
    let of = &plan[name];
    let point = of.kind == Kind::Temperature;
    let shown = if point { of.unit.point_from_base(number) } else { of.unit.amount_from_base(number) };
    let round = clean((shown * 1e4).round() / 1e4);
    if point { of.unit.point_to_base(round) } else { of.unit.amount_to_base(round) }
}
