//! One group of trees: its decision, its reason, its mix, its hours, and what would change it.

use super::Page;
use super::hours::{Spraying, hours_words};
use super::said::{sentence, verdict_heading};
use super::when::{due_words, keep_out_words, planned_out_words, turn_words};
use super::{changes, closed, neighbours, questions, reasons};
use crate::advice::{Case, Hours, Spray, TreeAdvice, keep_out_after, picking_after};
use crate::explain::{Role, Values};
use crate::labels::picking;
use crate::plan::{Amount, ChoiceId, Kind};
use crate::report::{Lines, TreeGroup};
use crate::sprayday::Day;
use crate::trace::Verdict;
use crate::units::show;

/// Writes a group.
pub fn write(lines: &mut Lines, page: &Page<'_>, (day, group): (&Day<'_>, &TreeGroup), of: usize) {
    let Some(case) = group.cases.first().and_then(|number| page.case(*number)) else { return };
    let words = page.words();
    lines.blank();
    lines.text(0, &verdict_heading(page.words(), case));
    lines.rule('-');
    let size = group.trees.len();
    let list = page.ranges(&group.trees);
    let (count, all) = (size.to_string(), of.to_string());
    let key = if size == of && of > 1 { "page.trees.all" } else { "page.trees.of" };
    let trees = words.say(key, &[("count", &count), ("all", &all), ("list", &list)]);
    lines.field(&words.say("page.trees", &[]), &trees);
    let values = &group.values;
    if case.decision.verdict != Verdict::Undecided {
        why(lines, page, group);
    }
    match &case.decision.verdict {
        Verdict::Spray(_) => spray(lines, page, group, case),
        Verdict::Look => questions::write(lines, page, (case, values), &group.trees),
        Verdict::Undecided => {
            let says: Vec<String> =
                case.decision.choices.iter().map(|id| choice_says(page, values, case, *id)).collect();
            lines.fields(&page.words().say("page.between", &[]), says.iter().map(String::as_str));
            contact(lines, page);
        }
        Verdict::Uncovered => contact(lines, page),
        Verdict::AllShut | Verdict::Hold => {}
    }
    let verdict = &case.decision.verdict;
    if let Some((label, says)) = group.covered_until.and_then(|day| due_words(words, case, day)) {
        lines.field(&words.say(label, &[]), &says);
    } else if *verdict == Verdict::AllShut {
        lines.field(&words.say("page.until", &[]), &until(page, group));
    }
    if let Some(turn) = &group.turn {
        lines.field(&words.say("page.turn", &[]), &turn_words(words, turn));
    }
    if case.shut_in_some {
        lines.field(&words.say("page.shut-in-some", &[]), &words.say("page.shut-in-some.words", &[]));
    }
    changes::rests_on(lines, page, group, values);
    changes::write(lines, page, group);
    let close = changes::close_calls(page, &group.trees, values);
    lines.fields(&words.say("page.close", &[]), close.iter().map(String::as_str));
    dates(lines, page, (day, group), case);
}

/// Returns until when nothing is allowed, where no day is known.
fn until(page: &Page<'_>, group: &TreeGroup) -> String {
    let none = changes::of_all(page, group).is_empty();
    page.words().say(if none { "page.until.several" } else { "page.until.change" }, &[])
}

/// So many different reasons are told for one group.
const REASONS: usize = 3;

/// Writes why: the short chain of each set of choices that led to the group's decision.
fn why(lines: &mut Lines, page: &Page<'_>, group: &TreeGroup) {
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
            lines.field(&page.words().say("page.for", &[]), &page.ranges(trees));
        }
        let mut label = String::new();
        for reason in reasons::reasons(page, &page.values(trees), &common, most) {
            let again = !reason.label.is_empty() && reason.label == label;
            lines.field(if again { "" } else { &reason.label }, &reason.says);
            label = if reason.label.is_empty() { label } else { reason.label };
        }
    }
    if let Some(rest) = sets.get(REASONS..).filter(|rest| !rest.is_empty()) {
        let mut trees: Vec<usize> = rest.iter().flat_map(|(_, _, trees)| trees).copied().collect();
        trees.sort_unstable();
        let trees = page.ranges(&trees);
        let others = page.words().say("page.for.others", &[("trees", &trees)]);
        lines.field(&page.words().say("page.for", &[]), &others);
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

fn spray(lines: &mut Lines, page: &Page<'_>, group: &TreeGroup, case: &Case) {
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
    lines.fields(&page.words().say("page.strength", &[]), strengths.iter().map(String::as_str));
    lines.fields(
        &page.words().say("page.mix", &[]),
        page.ground.mix(&case.spray, &group.trees, page.words()).iter().map(String::as_str),
    );
    let choice = case.choice().and_then(|id| plan.choices.get(id.index()));
    if let Some(how) = choice.and_then(|choice| choice.how.as_ref()) {
        lines.field(&page.words().say("page.how", &[]), &sentence(how));
    }
    let risks = neighbours::at_risk(page, &group.trees, &case.spray);
    lines.fields(&page.words().say("page.neighbours", &[]), risks.iter().map(String::as_str));
}

/// Returns all that the long page says of why and how some trees are sprayed, each under its label.
pub fn long_of(page: &Page<'_>, values: &Values, cases: &[&Case]) -> Vec<(String, Vec<String>)> {
    let Some(case) = common(cases) else { return Vec::new() };
    let mut said: Vec<(String, Vec<String>)> = Vec::new();
    for reason in reasons::reasons(page, values, &case, usize::MAX / 2) {
        match said.last_mut() {
            Some((label, says)) if reason.label.is_empty() || *label == reason.label => {
                says.push(reason.says)
            }
            _ => said.push((reason.label, vec![reason.says])),
        }
    }
    let words = page.words();
    let choice = case.choice().and_then(|id| page.scene.plan.choices.get(id.index()));
    let how = choice.and_then(|choice| choice.how.as_ref()).map(|how| sentence(how));
    let change = changes::shared(cases).into_iter().map(|point| words.tipping(point)).collect();
    said.push((words.say("page.how", &[]), how.into_iter().collect()));
    said.push((words.say("page.change", &[]), change));
    said.retain(|(_, says)| !says.is_empty());
    said
}

/// Returns a strength as it is written and, where that is another, in the grower's units.
fn strength_words(page: &Page<'_>, amount: &Amount) -> String {
    let written = page.scene.plan.amount_shown(&amount.written);
    let kind = Kind::Quantity(amount.unit.dimension);
    let (number, symbol) = page.scene.speech.parts(kind, &amount.unit, amount.quantity);
    if symbol == *amount.unit.symbol {
        return written;
    }
    format!("{written} ({})", show(number, &symbol))
}

fn hours(lines: &mut Lines, page: &Page<'_>, hours: &Hours, (spray, trees): (&Spray, &[usize])) {
    let spraying = Spraying { work: page.ground.work(spray, trees), one_tree: false };
    let said = hours_words(page, hours, &spraying);
    lines.fields(&page.words().say("page.hours", &[]), said.iter().map(String::as_str));
    let unchecked: Vec<String> = hours
        .not_checked
        .iter()
        .map(|(window, needs)| format!("{}: {}", page.words().window(window), page.words().gates(needs)))
        .collect();
    lines.fields(&page.words().say("page.not-checked", &[]), unchecked.iter().map(String::as_str));
}

fn dates(lines: &mut Lines, page: &Page<'_>, (day, group): (&Day<'_>, &TreeGroup), case: &Case) {
    let advices: Vec<&TreeAdvice> =
        group.trees.iter().filter_map(|tree| page.advice.trees.get(*tree)).collect();
    if let Some(day) = advices.iter().filter_map(|it| it.recheck).min() {
        lines.field(&page.words().say("page.look-again", &[]), &page.words().day(day));
    }
    let mut keep_out = closed::closed_words(page, &group.trees);
    let out = advices.iter().filter_map(|it| it.keep_out_until).max();
    let products = || case.spray.iter().map(|(product, _)| *product);
    let takes = (None, page.advice.as_of);
    // As the rounds of the day are planned; where their end is not known, at least.
    let planned =
        day.rounds_of(&group.trees).filter_map(|round| Some((round.keep_out_until?, round.span()?)));
    let planned = planned.max_by_key(|(until, _)| *until);
    let ahead = match planned {
        Some((until, span)) => Some((until, planned_out_words(page.words(), until, span))),
        None => keep_out_after(page.scene.plan, products(), &group.hours, takes)
            .map(|ahead| (ahead.until, keep_out_words(page.words(), &ahead))),
    };
    let until = ahead.as_ref().map(|(until, _)| *until);
    keep_out.extend(
        ahead.filter(|(until, _)| closed::opens_before(page, &group.trees, *until)).map(|(_, says)| says),
    );
    // All trees of a group take longer than one of them.
    let out = out.max(until);
    lines.fields(&page.words().say("page.keep-out", &[]), keep_out.iter().map(String::as_str));
    let planned = day.rounds_of(&group.trees).filter_map(|round| round.pick_not_before).max();
    let pick = planned.or_else(|| picking_after(page.scene.plan, products(), &group.hours, takes));
    let pick = advices.iter().filter_map(|it| it.pick_not_before).chain(pick).max();
    if let Some(day) = picking(pick, out) {
        lines.field(&page.words().say("page.pick", &[]), &page.words().pick(day, out));
    }
}

fn choice_says(page: &Page<'_>, values: &Values, case: &Case, id: ChoiceId) -> String {
    let plan = page.scene.plan;
    let Some(choice) = plan.choices.get(id.index()) else { return String::new() };
    let statement =
        page.scene.chain(values, case).into_iter().find(|it| it.role == Role::Choice && it.at == choice.span);
    let Some(statement) = statement else { return choice.label.to_string() };
    let met: Vec<String> = statement.conditions().map(|part| page.scene.says(part)).collect();
    let says = format!("{} {}", choice.label, page.scene.says(&statement));
    if met.is_empty() {
        return says;
    }
    page.words().say("claim.because", &[("claim", &says), ("why", &met.join("; "))])
}

fn contact(lines: &mut Lines, page: &Page<'_>) {
    if let Some(contact) = &page.scene.plan.head.contact {
        lines.field(&page.words().say("page.ask", &[]), contact);
    }
}
