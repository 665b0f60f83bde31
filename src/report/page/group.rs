//! One group of trees: its decision, its reason, its mix, its hours, and what would change it.

use super::Page;
use super::hours::{Spraying, hours_words};
use super::said::{sentence, verdict_heading};
use super::when::keep_out_words;
use super::{changes, closed, neighbours, questions, reasons};
use crate::advice::{Case, Hours, Spray, TreeAdvice, keep_out_after};
use crate::explain::{Role, Values, chain};
use crate::grove::picking;
use crate::plan::{Amount, ChoiceId, Kind};
use crate::report::{Group, Lines, count, ranges};
use crate::sprayday::Work;
use crate::trace::Verdict;
use crate::units::show;

/// Writes a group.
pub fn write(lines: &mut Lines, page: &Page<'_>, group: &Group, of: usize) {
    let Some(case) = group.cases.first().and_then(|number| page.case(*number)) else { return };
    lines.blank();
    lines.text(0, &verdict_heading(page.words(), case));
    lines.rule('-');
    let size = group.trees.len();
    let trees = if size == of && of > 1 {
        format!("all {of}: {}", ranges(page.ground, &group.trees))
    } else {
        format!(
            "{} of {of}: {}",
            count(size).trim_end_matches(" trees").trim_end_matches(" tree"),
            ranges(page.ground, &group.trees)
        )
    };
    lines.field("Trees", &trees);
    let values = page.values(&group.trees);
    if case.decision.verdict != Verdict::Undecided {
        why(lines, page, group);
    }
    match &case.decision.verdict {
        Verdict::Spray(_) => spray(lines, page, group, case),
        Verdict::Look => questions::write(lines, page, case, &group.trees),
        Verdict::Undecided => {
            let says: Vec<String> =
                case.decision.choices.iter().map(|id| choice_says(page, &values, case, *id)).collect();
            lines.fields("Between", says.iter().map(String::as_str));
            contact(lines, page);
        }
        Verdict::Uncovered => contact(lines, page),
        Verdict::AllShut | Verdict::Hold => {}
    }
    if let Some(day) = group.covered_until {
        lines.field("Covered until", &page.words().day(day));
    } else if case.decision.verdict == Verdict::AllShut {
        lines.field("Until", until(page, group));
    }
    if case.shut_in_some {
        lines.field("Whatever it is", SHUT_IN_SOME);
    }
    changes::rests_on(lines, page, group, &values);
    changes::write(lines, page, group);
    changes::close_calls(lines, page, group, &values);
    dates(lines, page, group, case);
}

/// What is said of a hold that a choice advises in some states of the world, while in others all is shut.
pub const SHUT_IN_SOME: &str = "not all is known, but either nothing asks for a spray, or every spray that would be \
                                chosen is not allowed today";

/// Returns until when nothing is allowed, where no day is known.
fn until(page: &Page<'_>, group: &Group) -> &'static str {
    match changes::of_all(page, group).is_empty() {
        true => "more than one value changes: `bloomward why` with a tree tells what shuts each spray",
        false => "a value is met that stands under Would change",
    }
}

/// So many different reasons are told for one group.
const REASONS: usize = 3;

/// Writes why: the short chain of each set of choices that led to the group's decision.
fn why(lines: &mut Lines, page: &Page<'_>, group: &Group) {
    let mut sets: Vec<(&[ChoiceId], Vec<&Case>, Vec<usize>)> = Vec::new();
    for tree in &group.trees {
        let Some(case) = page.advice.trees.get(*tree).and_then(|it| page.advice.case_of(it)) else {
            continue;
        };
        match sets.iter_mut().find(|(choices, _, _)| *choices == &case.decision.choices[..]) {
            Some((_, cases, trees)) => {
                if !cases.iter().any(|known| std::ptr::eq(*known, case)) {
                    cases.push(case);
                }
                trees.push(*tree);
            }
            None => sets.push((&case.decision.choices, vec![case], vec![*tree])),
        }
    }
    let most = reasons::MOST / sets.len().clamp(1, REASONS);
    for (_, cases, trees) in sets.iter().take(REASONS) {
        let Some(common) = common(cases) else { continue };
        if sets.len() > 1 {
            lines.field("For", &ranges(page.ground, trees));
        }
        let mut label = "";
        for reason in reasons::reasons(page, &page.values(trees), &common, most) {
            let again = !reason.label.is_empty() && reason.label == label;
            lines.field(if again { "" } else { reason.label }, &reason.says);
            label = if reason.label.is_empty() { label } else { reason.label };
        }
    }
    if let Some(rest) = sets.get(REASONS..).filter(|rest| !rest.is_empty()) {
        let mut trees: Vec<usize> = rest.iter().flat_map(|(_, _, trees)| trees).copied().collect();
        trees.sort_unstable();
        lines.field("For", &format!("{}: other reasons, `bloomward why` tells", ranges(page.ground, &trees)));
    }
}

/// Returns the first of several cases, with what is shut or held in all of them.
fn common(cases: &[&Case]) -> Option<Case> {
    let (first, rest) = cases.split_first()?;
    let mut common = (*first).clone();
    common.shut.retain(|shut| rest.iter().all(|case| case.shut.contains(shut)));
    common.held.retain(|held| rest.iter().all(|case| case.held.contains(held)));
    Some(common)
}

fn spray(lines: &mut Lines, page: &Page<'_>, group: &Group, case: &Case) {
    let plan = page.scene.plan;
    hours(lines, page, &group.hours, (&case.spray, &group.trees));
    let strengths: Vec<String> = case
        .spray
        .iter()
        .filter_map(|(product, strength)| {
            let product = plan.products.get(product.index())?;
            let strength = product.strengths.get(usize::from(*strength))?;
            let active = product.active.as_ref().filter(|active| **active != product.label);
            let active = active.map_or_else(String::new, |active| format!(" ({active})"));
            Some(format!("{}{active}: {}", product.label, strength_words(page, &strength.amount)))
        })
        .collect();
    lines.fields("Strength", strengths.iter().map(String::as_str));
    lines.fields("Mix", page.ground.mix(&case.spray, &group.trees, page.words()).iter().map(String::as_str));
    let choice = case.choice().and_then(|id| plan.choices.get(id.index()));
    if let Some(how) = choice.and_then(|choice| choice.how.as_ref()) {
        lines.field("How", &sentence(how));
    }
    let risks = neighbours::at_risk(page, &group.trees, &case.spray);
    lines.fields("Neighbours", risks.iter().map(String::as_str));
}

/// Returns a strength as it is written and, where that is another, in the grower's units.
fn strength_words(page: &Page<'_>, amount: &Amount) -> String {
    let kind = Kind::Quantity(amount.unit.dimension);
    let (number, symbol) = page.scene.speech.parts(kind, &amount.unit, amount.quantity);
    if symbol == *amount.unit.symbol {
        return amount.written.to_string();
    }
    format!("{} ({})", amount.written, show(number, &symbol))
}

fn hours(lines: &mut Lines, page: &Page<'_>, hours: &Hours, (spray, trees): (&Spray, &[usize])) {
    let spraying = Spraying { work: page.ground.work(spray, trees), one_tree: false };
    let said = hours_words(page, hours, &spraying);
    lines.fields("Hours", said.iter().map(String::as_str));
    let unchecked: Vec<String> = hours
        .not_checked
        .iter()
        .map(|(window, needs)| {
            format!("{}: {}", page.words().span_ahead(window.from, window.to), page.words().gates(needs))
        })
        .collect();
    lines.fields("Not checked", unchecked.iter().map(String::as_str));
}

fn dates(lines: &mut Lines, page: &Page<'_>, group: &Group, case: &Case) {
    let advices: Vec<&TreeAdvice> =
        group.trees.iter().filter_map(|tree| page.advice.trees.get(*tree)).collect();
    if let Some(day) = advices.iter().filter_map(|it| it.recheck).min() {
        lines.field("Look again", &page.words().day(day));
    }
    let mut keep_out = closed::closed_words(page, &group.trees);
    let out = advices.iter().filter_map(|it| it.keep_out_until).max();
    let products = case.spray.iter().map(|(product, _)| *product);
    let work = page.ground.work(&case.spray, &group.trees);
    let ahead = keep_out_after(page.scene.plan, products, &group.hours, work.as_ref().map(Work::takes));
    keep_out.extend(
        ahead
            .filter(|ahead| closed::opens_before(page, &group.trees, ahead.until))
            .map(|it| keep_out_words(&it, page.words())),
    );
    // All trees of a group take longer than one of them.
    let out = out.max(ahead.map(|ahead| ahead.until));
    lines.fields("Keep out", keep_out.iter().map(String::as_str));
    if let Some(day) = picking(advices.iter().filter_map(|it| it.pick_not_before).max(), out) {
        lines.field("Pick", &page.words().pick(day, out));
    }
}

fn choice_says(page: &Page<'_>, values: &Values, case: &Case, id: ChoiceId) -> String {
    let plan = page.scene.plan;
    let Some(choice) = plan.choices.get(id.index()) else { return String::new() };
    let statement = chain(page.scene, values, case)
        .into_iter()
        .find(|it| it.role == Role::Choice && it.at == choice.span);
    let Some(statement) = statement else { return choice.label.to_string() };
    let met: Vec<&str> =
        statement.from.iter().filter(|part| part.role == Role::Condition).map(|part| &*part.says).collect();
    let since = if met.is_empty() { String::new() } else { format!(", since {}", met.join("; ")) };
    format!("{} {}{since}", choice.label, statement.says)
}

fn contact(lines: &mut Lines, page: &Page<'_>) {
    if let Some(contact) = &page.scene.plan.head.contact {
        lines.field("Ask", contact);
    }
}
