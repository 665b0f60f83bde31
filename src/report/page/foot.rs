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
    let work = said_of(page, chosen, |case| &case.tasks, Role::Task);
    let warnings = said_of(page, chosen, |case| &case.warnings, Role::Warning);
    if !work.is_empty() || !warnings.is_empty() {
        lines.blank();
        lines.text(0, "ALSO");
        lines.rule('-');
        lines.fields("Do", work.iter().map(String::as_str));
        lines.fields("Note", warnings.iter().map(String::as_str));
    }
    let verdicts: Vec<&Verdict> = groups
        .iter()
        .filter_map(|group| page.case(*group.cases.first()?))
        .map(|case| &case.decision.verdict)
        .collect();
    let sprays = verdicts.iter().any(|verdict| matches!(verdict, Verdict::Spray(_)));
    lines.blank();
    if sprays {
        lines.text(0, "WHEN YOU SPRAY");
    } else {
        lines.text(0, "ALWAYS");
    }
    lines.rule('-');
    for caution in &page.scene.plan.head.cautions {
        lines.text(0, &sentence(caution));
    }
    if sprays {
        for caution in cautions(page, groups) {
            lines.text(0, &caution);
        }
        for line in ALWAYS {
            lines.text(0, line);
        }
    }
    lines.text(0, &troubles(page));
    lines.blank();
    lines.text(0, &next(&verdicts));
}

/// Returns what to take care of with each product that is sprayed, in the rulebook's order.
fn cautions(page: &Page<'_>, groups: &[Group]) -> Vec<String> {
    let cases = groups.iter().filter_map(|group| page.case(*group.cases.first()?));
    let sprayed: BTreeSet<ProductId> =
        cases.flat_map(|case| &case.spray).map(|(product, _)| *product).collect();
    let products = sprayed.into_iter().filter_map(|product| page.scene.plan.products.get(product.index()));
    let of = |product: &Product| {
        let said: Vec<String> = product.cautions.iter().map(|caution| sentence(caution)).collect();
        format!("Take care with {}: {}", product.label, said.join(" "))
    };
    products.filter(|product| !product.cautions.is_empty()).map(of).collect()
}

/// What is printed on every page that says SPRAY.
const ALWAYS: [&str; 4] = [
    "Take the jug that the mix names, and mix no more than this page says.",
    "Stop when insects come to the flowers, whatever the clock says.",
    "Stop for wind, for smoke that lies flat, and for rain.",
    "Record it when it is done: a row at the end of the spray log.",
];

fn troubles(page: &Page<'_>) -> String {
    let names: Vec<&str> = page.scene.plan.diseases.iter().map(|disease| &*disease.label).collect();
    match &names[..] {
        [] => "This guide names no disease.".to_string(),
        [one] => format!("This guide speaks of {one}, and of no other trouble."),
        [first @ .., last] => {
            format!("This guide speaks of {} and {last}, and of no other trouble.", first.join(", "))
        }
    }
}

/// Returns what to do next.
fn next(verdicts: &[&Verdict]) -> String {
    let has = |wanted: fn(&Verdict) -> bool| verdicts.iter().any(|verdict| wanted(verdict));
    let says = if has(|verdict| matches!(verdict, Verdict::Spray(_))) {
        "read the label, then mix; `bloomward why TREE` tells what is behind it"
    } else if has(|verdict| *verdict == Verdict::Look) {
        "look, add rows to scouting.csv, and run `bloomward advise` again"
    } else if has(|verdict| matches!(verdict, Verdict::Undecided | Verdict::Uncovered)) {
        "ring whom the guide names, and do not spray before"
    } else {
        "spray nothing; walk the grove again, and add rows to scouting.csv"
    };
    format!("Next: {says}.")
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
