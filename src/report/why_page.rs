//! Everything about one tree's verdict: the chain whole, the values, and what would change it.

use super::Lines;
use super::page::{Ground, at_words, span, then_words, verdict_heading};
use crate::advice::{Advice, Case, TreeAdvice};
use crate::explain::{Role, Scene, Statement, Values, chain, several, weekday, why_not};
use crate::plan::ProductId;
use crate::trace::Verdict;

/// Returns the page of one tree.
pub fn page(scene: &Scene<'_>, ground: &dyn Ground, advice: &Advice, tree: usize, width: usize) -> String {
    let mut lines = Lines::new(width);
    let Some(advised) = advice.trees.get(tree) else { return String::new() };
    let Some(case) = advice.case_of(advised) else { return String::new() };
    let values = Values::of_tree(tree, &ground.gauge(tree));
    head(&mut lines, scene, ground, case, tree);
    facts(&mut lines, scene, advised, case);
    if !case.needs.is_empty() {
        part(&mut lines, "What to find out");
        for need in &case.needs {
            lines.text(2, &need_words(scene, ground, need));
        }
        for answer in &case.answers {
            lines.text(4, &format!("{} {}: {}", answer.name, answer.at, then_words(&answer.then)));
        }
    }
    part(&mut lines, "Why");
    for statement in chain(scene, &values, case) {
        write(&mut lines, scene, &statement, 2);
    }
    if !case.flips.is_empty() {
        part(&mut lines, "What would change it");
        for flip in &case.flips {
            let at = at_words(scene, flip.name, &flip.at);
            lines.text(2, &format!("{at}: {}", then_words(&flip.then)));
        }
    }
    part(&mut lines, "All values");
    for (id, name) in scene.plan.named().filter(|(_, name)| !name.hidden) {
        let shown = several(scene, id, values.of(id));
        if !shown.is_empty() {
            lines.text(2, &format!("{} ({}): {shown}", name.label, name.word));
        }
    }
    lines.blank();
    lines.text(0, "Next: `bloomward why TREE --not PRODUCT` says why a product is not advised.");
    lines.finish()
}

/// Returns why a product is not advised for a tree.
pub fn not_page(
    scene: &Scene<'_>,
    ground: &dyn Ground,
    advice: &Advice,
    (tree, product): (usize, ProductId),
    width: usize,
) -> String {
    let mut lines = Lines::new(width);
    let Some(case) = advice.trees.get(tree).and_then(|advised| advice.case_of(advised)) else {
        return String::new();
    };
    let values = Values::of_tree(tree, &ground.gauge(tree));
    head(&mut lines, scene, ground, case, tree);
    let label = scene.plan.products.get(product.index()).map_or("", |product| &product.label);
    part(&mut lines, &format!("Why not {label}"));
    for statement in why_not(scene, &values, case, product) {
        write(&mut lines, scene, &statement, 2);
    }
    lines.blank();
    lines.text(0, "Next: `bloomward why TREE` shows everything about this tree.");
    lines.finish()
}

fn head(lines: &mut Lines, scene: &Scene<'_>, ground: &dyn Ground, case: &Case, tree: usize) {
    let block = ground.block(tree);
    let block = if block.is_empty() { String::new() } else { format!(", block {block}") };
    lines.text(0, &format!("Tree {}{block}", ground.name(tree)));
    lines.text(0, &verdict_heading(scene.plan, case));
    lines.rule('=');
}

fn facts(lines: &mut Lines, scene: &Scene<'_>, advised: &TreeAdvice, case: &Case) {
    let day = |day| weekday(day);
    lines.field("Seen", &advised.seen.map_or_else(|| "never".to_string(), day));
    if matches!(case.decision.verdict, Verdict::Spray(_)) {
        let windows: Vec<String> = advised.hours.windows.iter().map(span).collect();
        lines.fields("Hours", windows.iter().map(String::as_str));
    }
    let dates = [
        ("Look again", advised.recheck),
        ("Covered until", advised.covered_until),
        ("Pick", advised.pick_not_before),
    ];
    for (label, date) in dates {
        if let Some(date) = date {
            lines.field(label, &day(date));
        }
    }
    for call in &advised.close_calls {
        let name = scene.plan.names.get(call.name.index()).map_or("", |name| &name.label);
        let more =
            call.look_at_more.map_or_else(String::new, |more| format!("; look at {more} more to be clear"));
        lines.field("Close call", &format!("{name}: a small error of the reading would turn it{more}"));
    }
}

fn part(lines: &mut Lines, title: &str) {
    lines.blank();
    lines.text(0, title);
    lines.rule('-');
}

fn need_words(scene: &Scene<'_>, ground: &dyn Ground, need: &crate::advice::Need) -> String {
    use crate::advice::Need;
    let asked = |name: crate::plan::NameId| {
        let item = scene.plan.names.get(name.index());
        let ask = item.and_then(|item| match &item.origin {
            crate::plan::Origin::Observed(seen) => seen.ask.clone(),
            _ => None,
        });
        let label = item.map_or_else(String::new, |item| item.label.to_string());
        ask.map_or_else(|| label.clone(), |ask| format!("{label}: {ask}"))
    };
    match need {
        Need::Name(name) => asked(*name),
        Need::OfTree(name, tree) => format!("{} of {}", asked(*name), ground.name(*tree)),
        Need::Sprays => "the spray log: what was sprayed, and when".to_string(),
        Need::Harvest => "the harvest date".to_string(),
        Need::Weather => "the weather".to_string(),
        Need::Sprayer => "how much spray goes on an area: sprayer, spacing and jug".to_string(),
    }
}

/// Writes a statement with all that it rests on.
fn write(lines: &mut Lines, scene: &Scene<'_>, statement: &Statement, indent: usize) {
    let lead = if statement.item.is_empty() || statement.role == Role::Condition {
        statement.says.clone()
    } else {
        format!("{}: {}", statement.item, statement.says)
    };
    lines.text(indent, &lead);
    if let Some(because) = &statement.because {
        lines.text(indent + 2, &format!("because {because}"));
    }
    if !statement.cites.is_empty() {
        lines.text(indent + 2, &format!("source: {}", statement.cites.join("; ")));
    }
    if !statement.item.is_empty() && statement.because.is_some() {
        lines.text(indent + 2, &format!("at {}", scene.sources.locate(statement.at)));
    }
    for below in &statement.from {
        write(lines, scene, below, indent + 2);
    }
}
