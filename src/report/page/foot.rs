//! The foot of a page: other work, warnings, what is printed whenever something is sprayed, what to do next.

use super::Page;
use super::closed::not_now;
use super::said::sentence;
use crate::explain::Role;
use crate::plan::{Place, Product, ProductId};
use crate::report::{Group, Lines, ranges};
use crate::trace::Verdict;
use std::collections::{BTreeMap, BTreeSet};

/// Writes the foot.
pub fn write(lines: &mut Lines, page: &Page<'_>, groups: &[Group], chosen: &[usize]) {
    let words = page.words();
    let work = said_of(page, chosen, |case| &case.tasks, Role::Task);
    let warnings = said_of(page, chosen, |case| &case.warnings, Role::Warning);
    if !work.is_empty() || !warnings.is_empty() {
        lines.blank();
        lines.text(0, &words.say("page.also", &[]));
        lines.rule('-');
        lines.fields(&words.say("page.do", &[]), work.iter().map(String::as_str));
        lines.fields(&words.say("page.note", &[]), warnings.iter().map(String::as_str));
    }
    let verdicts: Vec<&Verdict> = groups
        .iter()
        .filter_map(|group| page.case(*group.cases.first()?))
        .map(|case| &case.decision.verdict)
        .collect();
    let sprays = verdicts.iter().any(|verdict| matches!(verdict, Verdict::Spray(_)));
    lines.blank();
    lines.text(0, &words.say(if sprays { "page.when-spraying" } else { "page.always" }, &[]));
    lines.rule('-');
    for caution in &page.scene.plan.head.cautions {
        lines.text(0, &sentence(caution));
    }
    if sprays {
        for caution in cautions(page, groups) {
            lines.text(0, &caution);
        }
        for key in ALWAYS {
            lines.text(0, &words.say(key, &[]));
        }
    }
    lines.text(0, &diseases(page));
    lines.blank();
    lines.text(0, &words.say(next(&verdicts), &[]));
}

/// Returns what to take care of with each product that is sprayed, in the rulebook's order.
fn cautions(page: &Page<'_>, groups: &[Group]) -> Vec<String> {
    let cases = groups.iter().filter_map(|group| page.case(*group.cases.first()?));
    let sprayed: BTreeSet<ProductId> =
        cases.flat_map(|case| &case.spray).map(|(product, _)| *product).collect();
    let products = sprayed.into_iter().filter_map(|product| page.scene.plan.products.get(product.index()));
    let of = |product: &Product| {
        let said: Vec<String> = product.cautions.iter().map(|caution| sentence(caution)).collect();
        let name = product.label.to_string();
        page.words().say("page.care", &[("product", &name), ("cautions", &said.join(" "))])
    };
    products.filter(|product| !product.cautions.is_empty()).map(of).collect()
}

/// What is printed on every page that says SPRAY.
const ALWAYS: [&str; 4] =
    ["page.always.jug", "page.always.insects", "page.always.weather", "page.always.record"];

/// Returns which diseases the guide covers.
fn diseases(page: &Page<'_>) -> String {
    let words = page.words();
    let names: Vec<String> =
        page.scene.plan.diseases.iter().map(|disease| disease.label.to_string()).collect();
    if names.is_empty() {
        return words.say("page.covers.none", &[]);
    }
    words.say("page.covers", &[("diseases", &words.language.listed("list.and", &names))])
}

/// Returns what to do next, as a key of the catalogue.
fn next(verdicts: &[&Verdict]) -> &'static str {
    let has = |wanted: fn(&Verdict) -> bool| verdicts.iter().any(|verdict| wanted(verdict));
    if has(|verdict| matches!(verdict, Verdict::Spray(_))) {
        "page.next.spray"
    } else if has(|verdict| *verdict == Verdict::Look) {
        "page.next.look"
    } else if has(|verdict| matches!(verdict, Verdict::Undecided | Verdict::Uncovered)) {
        "page.next.contact"
    } else {
        "page.next.hold"
    }
}

/// Returns what tasks or warnings say, each once, with the trees that it speaks of, unless it is all of them.
fn said_of(
    page: &Page<'_>,
    chosen: &[usize],
    list: fn(&crate::advice::Case) -> &Vec<usize>,
    role: Role,
) -> Vec<String> {
    let plan = page.scene.plan;
    let mut by_place: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for tree in chosen {
        let case = page.advice.trees.get(*tree).and_then(|advice| page.advice.case_of(advice));
        for place in case.into_iter().flat_map(list) {
            by_place.entry(*place).or_default().push(*tree);
        }
    }
    let say = |(place, trees): (usize, Vec<usize>)| {
        let (says, speaks) = match role {
            Role::Task => plan.tasks.get(place).map(|task| (&task.does, &task.speaks))?,
            _ => plan.warnings.get(place).map(|warning| (&warning.says, &warning.speaks))?,
        };
        let of = match speaks.place {
            Place::Grove => String::new(),
            _ if trees.len() == chosen.len() && trees.len() > 1 => String::new(),
            _ => format!(" ({})", ranges(page.ground, &trees)),
        };
        let why = speaks.why.because.as_ref().map_or_else(String::new, |why| format!(" {}", sentence(why)));
        // Work of the whole grove leads into every row of it.
        let closed = if role == Role::Task { not_now(page, &trees) } else { String::new() };
        Some(format!("{}{of}{why}{closed}", sentence(says)))
    };
    by_place.into_iter().filter_map(say).collect()
}
