//! One group of trees: its decision, its reason, its mix, its hours, and what would change it.

use super::Page;
use super::said::{at_words, sentence, then_words, verdict_heading};
use super::when::{moment, span};
use super::{neighbours, questions, reasons};
use crate::advice::{Case, CloseCall, Hours, TreeAdvice};
use crate::explain::{Role, Values, chain, gate_words, several, weekday};
use crate::plan::{ChoiceId, GateId, NameId};
use crate::report::{Group, Lines, count, ranges};
use crate::trace::Verdict;

/// Writes a group.
pub fn write(lines: &mut Lines, page: &Page<'_>, group: &Group, of: usize) {
    let Some(case) = group.cases.first().and_then(|number| page.case(*number)) else { return };
    let plan = page.scene.plan;
    lines.blank();
    lines.text(0, &verdict_heading(plan, case));
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
    for reason in reasons::reasons(page, &values, case) {
        lines.field(reason.label, &reason.says);
    }
    match &case.decision.verdict {
        Verdict::Spray(_) => spray(lines, page, group, case),
        Verdict::Look => questions::write(lines, page, case),
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
        lines.field("Covered until", &weekday(day));
    } else if case.decision.verdict == Verdict::AllShut {
        lines.field("Until", "what is said below changes");
    }
    changes(lines, page, case);
    close_calls(lines, page, group, &values);
    dates(lines, page, group, case);
}

fn spray(lines: &mut Lines, page: &Page<'_>, group: &Group, case: &Case) {
    let plan = page.scene.plan;
    hours(lines, page, &group.hours);
    let strengths: Vec<String> = case
        .spray
        .iter()
        .filter_map(|(product, strength)| {
            let product = plan.products.get(product.index())?;
            let strength = product.strengths.get(usize::from(*strength))?;
            let active = product.active.as_ref().map_or_else(String::new, |active| format!(" ({active})"));
            Some(format!("{}{active}: {}", product.label, strength.amount.written))
        })
        .collect();
    lines.fields("Strength", strengths.iter().map(String::as_str));
    lines.fields("Mix", page.ground.mix(&case.spray, &group.trees).iter().map(String::as_str));
    let choice = case.choice().and_then(|id| plan.choices.get(id.index()));
    if let Some(how) = choice.and_then(|choice| choice.how.as_ref()) {
        lines.field("How", &sentence(how));
    }
    let cautions = case.spray.iter().filter_map(|(product, _)| plan.products.get(product.index()));
    let cautions: Vec<&str> = cautions.flat_map(|product| &product.cautions).map(|it| &**it).collect();
    lines.fields("Take care", cautions);
    let risks = neighbours::at_risk(page, group, &case.spray);
    lines.fields("Neighbours", risks.iter().map(String::as_str));
}

fn hours(lines: &mut Lines, page: &Page<'_>, hours: &Hours) {
    let plan = page.scene.plan;
    let gates = |ids: &[GateId]| ids.iter().map(|id| gate_words(plan, *id)).collect::<Vec<_>>().join(", ");
    let mut said: Vec<String> = hours
        .windows
        .iter()
        .map(|window| {
            let better = match window.preferred {
                (0, _) => String::new(),
                (liked, of) if liked == of => " (the better hours)".to_string(),
                (liked, of) => format!(" ({liked} of {of} hours are the better ones)"),
            };
            span(window) + &better
        })
        .collect();
    if hours.windows.is_empty() {
        said.push(match &hours.compromise {
            Some((window, broken)) => {
                format!(
                    "none is open. The best that labels and pollinators leave: {}; against it: {}",
                    span(window),
                    gates(broken)
                )
            }
            None if hours.not_checked.is_empty() => {
                "none is open, and labels and pollinators leave no other".to_string()
            }
            None => "none is known to be open".to_string(),
        });
    }
    lines.fields("Hours", said.iter().map(String::as_str));
    let unchecked: Vec<String> = hours
        .not_checked
        .iter()
        .map(|(window, needs)| format!("{}: {}", span(window), gates(needs)))
        .collect();
    lines.fields("Not checked", unchecked.iter().map(String::as_str));
}

/// So many values that would change a decision are told on the page.
const CHANGES: usize = 4;

fn changes(lines: &mut Lines, page: &Page<'_>, case: &Case) {
    let all = &case.flips;
    let mut said: Vec<String> = all
        .iter()
        .take(CHANGES)
        .map(|flip| format!("{}: {}", at_words(page.scene, flip.name, &flip.at), then_words(&flip.then)))
        .collect();
    if all.len() > CHANGES {
        said.push(format!("and {} more: `bloomward why` with a tree", all.len() - CHANGES));
    }
    lines.fields("Would change", said.iter().map(String::as_str));
}

fn close_calls(lines: &mut Lines, page: &Page<'_>, group: &Group, values: &Values) {
    let mut calls: Vec<(NameId, Option<u32>, Vec<usize>)> = Vec::new();
    for tree in &group.trees {
        let Some(advice) = page.advice.trees.get(*tree) else { continue };
        for CloseCall { name, look_at_more } in &advice.close_calls {
            match calls.iter_mut().find(|(known, more, _)| known == name && more == look_at_more) {
                Some((_, _, trees)) => trees.push(*tree),
                None => calls.push((*name, *look_at_more, vec![*tree])),
            }
        }
    }
    let said: Vec<String> = calls
        .iter()
        .map(|(name, more, trees)| {
            let label = page.scene.plan.names.get(name.index()).map_or("", |name| &name.label);
            let value = several(page.scene, *name, values.of(*name));
            let on = if trees.len() == group.trees.len() {
                String::new()
            } else {
                format!(" on {}", ranges(page.ground, trees))
            };
            let advice = match more {
                Some(more) => format!("look at {more} more to be sure"),
                None => "a small error of the reading would turn it".to_string(),
            };
            format!("{label} {value}{on}: {advice}")
        })
        .collect();
    lines.fields("Close call", said.iter().map(String::as_str));
}

fn dates(lines: &mut Lines, page: &Page<'_>, group: &Group, case: &Case) {
    let advices: Vec<&TreeAdvice> =
        group.trees.iter().filter_map(|tree| page.advice.trees.get(*tree)).collect();
    if let Some(day) = advices.iter().filter_map(|it| it.recheck).min() {
        lines.field("Look again", &weekday(day));
    }
    let out = advices.iter().filter_map(|it| it.keep_out_until).max();
    if let Some(until) = out.filter(|until| *until > page.advice.as_of) {
        let sprays = matches!(case.decision.verdict, Verdict::Spray(_));
        let when = if sprays { ", if sprayed in the first hours" } else { "" };
        lines.field("Keep out", &format!("until {}{when}", moment(until)));
    }
    if let Some(day) = advices.iter().filter_map(|it| it.pick_not_before).max() {
        lines.field("Pick", &format!("not before {}", weekday(day)));
    }
}

fn choice_says(page: &Page<'_>, values: &Values, case: &Case, id: ChoiceId) -> String {
    let plan = page.scene.plan;
    let Some(choice) = plan.choices.get(id.index()) else { return String::new() };
    let statement = chain(page.scene, values, case)
        .into_iter()
        .find(|it| it.role == Role::Choice && it.at == choice.span);
    statement.map_or_else(|| choice.label.to_string(), |it| format!("{}: {}", choice.label, it.says))
}

fn contact(lines: &mut Lines, page: &Page<'_>) {
    if let Some(contact) = &page.scene.plan.head.contact {
        lines.field("Ask", contact);
    }
}
