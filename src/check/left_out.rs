//! What an author may have left out of a rulebook without an error: how long an observation lasts, the label of a product, a choice
//! that advises it; and weather that no place has.
//!
//! Comes in: a plan. Goes out: warnings about its own file.

use crate::plan::{Choice, Datum, Kind, Origin, Plan, ProductId, Way};
use crate::problems::{Finding, Problem, Problems};
use crate::source::Span;

/// Air temperatures of any place, in °C: what was measured on Earth lies well within.
const AIR: std::ops::RangeInclusive<f64> = -60.0..=60.0;

/// Returns what was left out of a rulebook's own file.
pub fn left_out(plan: &Plan) -> Problems {
    let mut problems = Problems::default();
    let own = |span: Span| span.source == plan.head.span.source;
    for (_, name, seen) in plan.observations().filter(|(_, name, _)| own(name.span) && !name.hidden) {
        if seen.lasts.is_none() && name.kind != Kind::Date {
            let message = format!("`{}` never grows too old: it has no `lasts`", name.word);
            let help = "say how long what was seen counts: `lasts 5 d`";
            problems.push(Problem::new(Finding::NoLasts, name.span, message).help(help));
        }
    }
    let sprays = plan.choices.iter().flat_map(|it| &it.ways).any(|way| matches!(way, Way::Spray(_)));
    for (at, product) in plan.products.iter().enumerate().filter(|(_, it)| own(it.span)) {
        let id = ProductId(at as u32);
        if sprays && !plan.choices.iter().any(|it| advises(it, id)) {
            let message = format!("no choice advises `{}`", product.name);
            let help = format!(
                "advise it, or leave it out: `or else {} at …` in the choice that should fall back on it",
                product.name
            );
            problems.push(Problem::new(Finding::NeverAdvised, product.span, message).help(help));
        }
        let has_line =
            plan.gates.iter().any(|gate| gate.line.as_ref().is_some_and(|line| line.product == id));
        if !has_line && product.re_entry.is_none() {
            let message = format!("`{}` has no label line: nothing holds it to its label", product.name);
            let help = "write what its label says: `label interval at least 7 d`, `label season at most 4 sprays`, \
                        `label before-harvest at least 7 d`, `label re-entry 24 h`";
            problems.push(Problem::new(Finding::LabelMissing, product.span, message).help(help));
        }
    }
    for figure in plan.figures.iter().filter(|it| own(it.span) && it.kind == Kind::Temperature) {
        if let Datum::Number(degrees) = figure.value
            && !AIR.contains(&degrees)
        {
            let message = format!("`{}` is {}, which no weather reaches", figure.name, figure.written);
            let help = "is the unit the one that was meant, °F or °C?";
            problems.push(Problem::new(Finding::NoSuchWeather, figure.span, message).help(help));
        }
    }
    let says_nothing = plan.choices.is_empty()
        && plan.gates.is_empty()
        && plan.figures.is_empty()
        && plan.tables.is_empty()
        && plan.named().all(|(_, name)| {
            name.hidden || matches!(name.origin, Origin::Cultivar | Origin::Block | Origin::Date)
        });
    if says_nothing {
        let message = "this rulebook decides nothing: it has a head and no rules";
        let help = "begin with what a person sees (`observe`), a `product` and a `choice`, or build on a base: \
                    `builds-on \"base.rulebook\"`";
        problems.push(Problem::new(Finding::Empty, plan.head.span, message).help(help));
    }
    problems
}

fn advises(choice: &Choice, product: ProductId) -> bool {
    choice
        .ways
        .iter()
        .any(|way| matches!(way, Way::Spray(doses) if doses.iter().any(|(it, _)| *it == product)))
}
