//! The foot of a page: other work, warnings, what is printed whenever something is sprayed, what to do next.

use super::Page;
use super::closed::not_now;
use super::said::sentence;
use crate::explain::Role;
use crate::plan::{Place, Product, ProductId, Task};
use crate::report::{Lines, TreeGroup};
use crate::trace::Verdict;
use std::collections::{BTreeMap, BTreeSet};

/// Writes the foot.
pub fn write(lines: &mut Lines, page: &Page<'_>, groups: &[TreeGroup], chosen: &[usize]) {
    let words = page.words();
    let work = said_of(page, chosen, |case| &case.tasks, (Role::Task, true));
    let warnings = said_of(page, chosen, |case| &case.warnings, (Role::Warning, true));
    if !work.is_empty() || !warnings.is_empty() {
        lines.blank();
        lines.text(0, &words.say("page.also", &[]));
        lines.rule('-');
        lines.fields(&words.say("page.do", &[]), work.iter().map(String::as_str));
        lines.fields(&words.say("page.note", &[]), warnings.iter().map(String::as_str));
    }
    let sprays = verdicts(page, groups).iter().any(|verdict| matches!(verdict, Verdict::Spray(_)));
    lines.blank();
    lines.text(0, &words.say(if sprays { "page.when-spraying" } else { "page.always" }, &[]));
    lines.rule('-');
    for caution in cautions_of(page, groups).iter().flatten() {
        lines.text(0, caution);
    }
    lines.text(0, &covers_words(page));
    lines.blank();
    lines.text(0, &next_words(page, groups));
}

fn verdicts<'p>(page: &Page<'p>, groups: &[TreeGroup]) -> Vec<&'p Verdict> {
    let cases = groups.iter().filter_map(|group| page.advice.cases.get(*group.cases.first()?));
    cases.map(|case| &case.decision.verdict).collect()
}

/// Returns what to take care of: what the guide always says, and where something is sprayed, what goes for each product and
/// for every spray.
pub fn cautions_of(page: &Page<'_>, groups: &[TreeGroup]) -> [Vec<String>; 3] {
    let of_guide = page.scene.plan.head.cautions.iter().map(|it| sentence(it)).collect();
    if !verdicts(page, groups).iter().any(|verdict| matches!(verdict, Verdict::Spray(_))) {
        return [of_guide, Vec::new(), Vec::new()];
    }
    [of_guide, cautions(page, groups), ALWAYS.map(|key| page.words().say(key, &[])).into()]
}

/// Returns what to take care of with each product that is sprayed, in the rulebook's order.
fn cautions(page: &Page<'_>, groups: &[TreeGroup]) -> Vec<String> {
    let cases = groups.iter().filter_map(|group| page.case(*group.cases.first()?));
    let sprayed: BTreeSet<ProductId> =
        cases.flat_map(|case| &case.spray).map(|(product, _)| *product).collect();
    let products = sprayed.into_iter().filter_map(|product| page.scene.plan.products.get(product.index()));
    let of = |product: &Product| {
        let said: Vec<String> = product.cautions.iter().map(|caution| sentence(caution)).collect();
        let name = product.label.to_string();
        sentence(&page.words().say("page.care", &[("product", &name), ("cautions", &said.join(" "))]))
    };
    products.filter(|product| !product.cautions.is_empty()).map(of).collect()
}

/// What is printed on every page that says SPRAY.
const ALWAYS: [&str; 4] =
    ["page.always.jug", "page.always.insects", "page.always.weather", "page.always.record"];

/// Says which diseases the guide covers.
pub fn covers_words(page: &Page<'_>) -> String {
    let words = page.words();
    let names: Vec<String> =
        page.scene.plan.diseases.iter().map(|disease| disease.label.to_string()).collect();
    if names.is_empty() {
        return words.say("page.covers.none", &[]);
    }
    words.say("page.covers", &[("diseases", &words.language.listed("list.and", &names))])
}

/// Says what to do next.
pub fn next_words(page: &Page<'_>, groups: &[TreeGroup]) -> String {
    let verdicts = verdicts(page, groups);
    let has = |wanted: fn(&Verdict) -> bool| verdicts.iter().any(|verdict| wanted(verdict));
    let key = if has(|verdict| matches!(verdict, Verdict::Spray(_))) {
        "page.next.spray"
    } else if has(|verdict| *verdict == Verdict::Look) {
        "page.next.look"
    } else if has(|verdict| matches!(verdict, Verdict::Undecided | Verdict::Uncovered)) {
        "page.next.contact"
    } else {
        "page.next.hold"
    };
    page.words().say(key, &[])
}

/// Returns the tasks of some trees, each once, with the trees that it speaks of.
pub fn tasks_of<'p>(page: &Page<'p>, chosen: &[usize]) -> Vec<(&'p Task, Vec<usize>)> {
    let mut by_place: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for tree in chosen {
        let case = page.advice.trees.get(*tree).and_then(|advice| page.advice.case_of(advice));
        for place in case.into_iter().flat_map(|case| &case.tasks) {
            by_place.entry(*place).or_default().push(*tree);
        }
    }
    let tasks = &page.scene.plan.tasks;
    by_place.into_iter().filter_map(|(place, trees)| Some((tasks.get(place)?, trees))).collect()
}

/// Returns what tasks or warnings say, each once, with the trees that it speaks of, unless it is all of them.
pub fn said_of(
    page: &Page<'_>,
    chosen: &[usize],
    list: fn(&crate::advice::Case) -> &Vec<usize>,
    (role, with_why): (Role, bool),
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
            _ => format!(" ({})", page.ranges(&trees)),
        };
        let why = speaks
            .why
            .because
            .as_ref()
            .filter(|_| with_why)
            .map_or_else(String::new, |why| format!(" {}", sentence(why)));
        // Work of the whole grove leads into every row of it.
        let closed = if role == Role::Task { not_now(page, &trees) } else { String::new() };
        Some(format!("{}{of}{why}{closed}", sentence(says)))
    };
    by_place.into_iter().filter_map(say).collect()
}
