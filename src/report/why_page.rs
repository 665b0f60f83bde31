//! Everything about one tree's verdict: the decision, the whole chain, what would change it; and why a product is not
//! advised.

use super::Lines;
use super::page::{
    Facts, Ground, Page, Spraying, asked, closed_words, hours_words, keep_out_words, not_now, opens_before,
    sentence, turn_words, verdict_heading,
};
use crate::advice::{Advice, AnswersAre, Case, TreeAdvice, keep_out_after};
use crate::explain::{Claim, Role, Statement, Values};
use crate::plan::{Kind, Origin, Place, ProductId, Subject};
use crate::sprayday::Work;
use crate::trace::Verdict;
use crate::units::show;
use crate::words::Scene;

/// Returns everything about a tree, in lines no longer than `width`; of a tree that is not there, nothing.
pub fn page(
    scene: &Scene<'_>,
    facts: &Facts<'_>,
    ground: &dyn Ground,
    advice: &Advice,
    tree: usize,
    width: usize,
) -> String {
    let Some((tree_advice, case)) = advised(advice, tree) else { return String::new() };
    let page = Page { scene, facts, ground, advice };
    let values = Values::of_tree(tree, &ground.gauge(tree));
    let mut lines = Lines::new(width);
    head(&mut lines, &page, tree, tree_advice);
    lines.text(0, &verdict_heading(scene.words(), case));
    if case.shut_in_some {
        lines.text(0, &sentence(&scene.words().say("page.shut-in-some.words", &[])));
    }
    for name in &case.rests_on {
        let assumed = super::page::assumed_words(&page, *name, &values);
        lines.text(0, &sentence(&format!("assumed: {assumed}")));
    }
    let statements = scene.chain(&values, case);
    for (heading, roles) in PARTS {
        let part: Vec<&Statement> = statements.iter().filter(|it| roles.contains(&it.role)).collect();
        if !part.is_empty() {
            part_head(&mut lines, heading);
            part.iter().for_each(|statement| tell(&mut lines, scene, statement, 0));
            let not_now = if roles.contains(&Role::Task) { not_now(&page, &[tree]) } else { String::new() };
            if !not_now.is_empty() {
                lines.text(0, not_now.trim_start());
            }
        }
    }
    decision(&mut lines, &page, (tree, case), tree_advice);
    questions(&mut lines, &page, case, tree);
    changes(&mut lines, &page, case, tree_advice);
    all_values(&mut lines, scene, &values);
    lines.blank();
    lines.text(0, &next(ground.name(tree), case));
    lines.finish()
}

fn advised(advice: &Advice, tree: usize) -> Option<(&TreeAdvice, &Case)> {
    let tree = advice.trees.get(tree)?;
    Some((tree, advice.case_of(tree)?))
}

/// The parts of the page, in order, with the statements that stand in each.
const PARTS: &[(&str, &[Role])] = &[
    ("Why", &[Role::Choice]),
    ("Not settled", &[Role::Open]),
    ("Not allowed", &[Role::Shut]),
    ("Held to a weaker strength", &[Role::Held]),
    ("Hours that are shut", &[Role::Hours]),
    ("Choices that hold and step aside", &[Role::Aside]),
    ("Choices that hold and give way", &[Role::Outranked]),
    ("Nearly not allowed", &[Role::NearlyShut]),
    ("Choices that nearly hold", &[Role::NearlyHeld]),
    ("Not allowed either, though nothing here would spray it", &[Role::ShutBeside, Role::HeldBeside]),
    ("Other work", &[Role::Task]),
    ("Mind", &[Role::Warning]),
];

/// Returns why a product is not advised for a tree; of a tree that is not there, nothing.
pub fn not_page(
    scene: &Scene<'_>,
    facts: &Facts<'_>,
    ground: &dyn Ground,
    advice: &Advice,
    (tree, product): (usize, ProductId),
    width: usize,
) -> String {
    let Some((tree_advice, case)) = advised(advice, tree) else { return String::new() };
    let label = scene.plan.products.get(product.index()).map_or("", |product| &product.label);
    let page = Page { scene, facts, ground, advice };
    let values = Values::of_tree(tree, &ground.gauge(tree));
    let mut lines = Lines::new(width);
    head(&mut lines, &page, tree, tree_advice);
    lines.text(0, &verdict_heading(scene.words(), case));
    part_head(&mut lines, &format!("Why not {label}"));
    for statement in scene.why_not(&values, case, product) {
        tell(&mut lines, scene, &statement, 0);
    }
    lines.blank();
    lines.text(
        0,
        &format!("Next: `bloomward why {}` tells what is advised instead, and why.", ground.name(tree)),
    );
    lines.finish()
}

fn head(lines: &mut Lines, page: &Page<'_>, tree: usize, advice: &TreeAdvice) {
    let block = page.ground.block(tree);
    let of = if block.is_empty() { String::new() } else { format!(", block {block}") };
    lines.text(0, &format!("{}: tree {}{of}", page.facts.grove, page.ground.name(tree)));
    let seen = match advice.seen {
        Some(day) => {
            format!("last seen {} ({})", page.words().day(day), page.words().ago(day, page.scene.today))
        }
        None => "never seen".to_string(),
    };
    lines.text(0, &format!("Advice for {}; {seen}", page.words().moment(page.advice.as_of)));
    lines.rule('=');
    if page.facts.now.date_naive() != page.advice.as_of.date_naive() {
        lines.text(0, &format!("NOT TODAY: now it is {}.", page.words().moment(page.facts.now)));
    }
    for problem in page.facts.rulebook_problems {
        lines.text(0, &format!("THE GUIDE HAS ERRORS: {problem}"));
    }
}

fn part_head(lines: &mut Lines, heading: &str) {
    lines.blank();
    lines.text(0, heading);
    lines.rule('-');
}

/// Tells a statement and all that it rests on, each a step further in.
fn tell(lines: &mut Lines, scene: &Scene<'_>, statement: &Statement, depth: usize) {
    let indent = 2 * depth;
    let item = match (statement.role, statement.item.written(scene.plan)) {
        (Role::Condition | Role::Row | Role::Value, _) => String::new(),
        (_, item) if item.is_empty() => item,
        (_, item) => format!("{item}: "),
    };
    lines.text(indent, &format!("{item}{}", scene.says(statement)));
    owed(lines, scene, statement, indent + 2);
    if depth == 0 {
        let at = scene.sources.locate(statement.at);
        lines.text(indent + 2, &scene.words().say("why.at", &[("at", &at)]));
    }
    for below in &statement.from {
        // A condition and the value below it say the same; what the value rests on is told at once.
        if statement.role == Role::Condition && matches!(below.claim, Claim::Value { .. }) {
            value_of_condition(lines, scene, statement, below, depth + 1);
        } else {
            tell(lines, scene, below, depth + 1);
        }
    }
}

/// Writes the author's reason and the sources.
fn owed(lines: &mut Lines, scene: &Scene<'_>, statement: &Statement, indent: usize) {
    let words = scene.words();
    if let Some(because) = &statement.because {
        lines.text(indent, &words.say("why.because", &[("because", because)]));
    }
    if !statement.cites.is_empty() {
        let cites: Vec<String> = statement.cites.iter().map(|it| words.cited(it)).collect();
        lines.text(indent, &words.say("why.source", &[("source", &cites.join("; "))]));
    }
}

fn value_of_condition(
    lines: &mut Lines,
    scene: &Scene<'_>,
    condition: &Statement,
    value: &Statement,
    depth: usize,
) {
    if let Claim::Value { definition: Some(definition), .. } = &value.claim {
        let written = scene.written(*definition);
        lines.text(2 * depth, &scene.words().say("claim.it-is", &[("claim", &written)]));
    } else if condition.item != value.item && value.from.is_empty() {
        lines.text(2 * depth, &scene.value(value));
    }
    owed(lines, scene, value, 2 * depth);
    value.from.iter().for_each(|below| tell(lines, scene, below, depth));
}

fn decision(lines: &mut Lines, page: &Page<'_>, (tree, case): (usize, &Case), advice: &TreeAdvice) {
    let hours = &advice.hours;
    let work = page.ground.work(&case.spray, &[tree]);
    let mut said: Vec<(&str, String)> = Vec::new();
    if matches!(case.decision.verdict, Verdict::Spray(_)) {
        let spraying = Spraying { work: work.clone(), one_tree: true };
        said.extend(hours_words(page, hours, &spraying).into_iter().map(|words| ("Hours", words)));
    }
    let unchecked = hours.not_checked.iter();
    said.extend(unchecked.map(|(window, needs)| {
        ("Not checked", format!("{}: {}", page.words().window(window), page.words().gates(needs)))
    }));
    said.extend(advice.covered_until.map(|day| ("Covered until", page.words().day(day))));
    said.extend(advice.turn.as_ref().map(|turn| ("Coming up", turn_words(page.words(), turn))));
    said.extend(advice.recheck.map(|day| ("Look again", page.words().day(day))));
    said.extend(closed_words(page, &[tree]).into_iter().map(|words| ("Keep out", words)));
    let products = case.spray.iter().map(|(product, _)| *product);
    let ahead = keep_out_after(page.scene.plan, products, hours, work.as_ref().map(Work::takes));
    let told = ahead.filter(|ahead| opens_before(page, &[tree], ahead.until));
    said.extend(told.map(|ahead| ("Keep out", keep_out_words(page.words(), &ahead))));
    let out = advice.keep_out_until;
    let pick = advice.pick_not_before.map(|day| page.words().pick(day, out));
    said.extend(pick.map(|words| ("Pick", words)));
    if said.is_empty() {
        return;
    }
    part_head(lines, if matches!(case.decision.verdict, Verdict::Spray(_)) { "When" } else { "Dates" });
    let mut last = "";
    for (label, words) in &said {
        lines.field(if *label == last { "" } else { label }, words);
        last = label;
    }
}

fn questions(lines: &mut Lines, page: &Page<'_>, case: &Case, tree: usize) {
    if case.needs.is_empty() {
        return;
    }
    part_head(lines, "What to look at");
    for need in &case.needs_of(&[tree]) {
        lines.text(0, &asked(page, need, true));
    }
    part_head(lines, "What each answer leads to");
    for answer in &case.answers {
        lines.text(0, &page.words().answer(answer, |tree| page.ground.name(tree)));
    }
    if case.answers_are == AnswersAre::OfOne {
        lines.text(0, &sentence(&page.words().say("look.more", &[])));
    }
    if let Some((label, says)) = super::page::safe_words(page.words(), case) {
        lines.text(0, &sentence(&format!("{label}: {says}")));
    }
}

fn changes(lines: &mut Lines, page: &Page<'_>, case: &Case, advice: &TreeAdvice) {
    if !case.tipping_points.is_empty() {
        part_head(lines, "What would change it");
        for point in &case.tipping_points {
            lines.text(0, &page.words().tipping(point));
        }
    }
    let stays = stays(page, case);
    if !stays.is_empty() {
        part_head(lines, "It stays the same, each taken alone");
        stays.iter().for_each(|says| lines.text(0, says));
    }
    if !advice.close_calls.is_empty() {
        part_head(lines, "Close calls");
        for call in &advice.close_calls {
            let label = page.scene.plan.names.get(call.name.index()).map_or("", |name| &name.label);
            let says = match call.look_at_more {
                Some(more) => format!("{label}: look at {more} more to be sure"),
                None => format!("{label}: a small error of the reading would turn the verdict"),
            };
            lines.text(0, &says);
        }
    }
}

/// Returns over which range of each name the verdict stays the same: up to the nearest values that change it. Names on which
/// the leading choices rest and of which no value changes it are told together.
fn stays(page: &Page<'_>, case: &Case) -> Vec<String> {
    let plan = page.scene.plan;
    let names = case.turning_names();
    let over = names.iter().filter_map(|name| Some((*name, case.stays_over(plan, *name)?)));
    let mut said: Vec<String> = over.map(|(name, range)| page.words().in_range(name, &range)).collect();
    let mut whatever: Vec<&str> = Vec::new();
    for choice in &case.decision.choices {
        let Some(choice) = plan.choices.get(choice.index()) else { continue };
        for condition in choice.condition.iter().chain(&choice.unless) {
            condition.each_test(&mut |test| {
                let Subject::Name(name) = test.subject else { return };
                let is_seen = !plan[name].hidden && !matches!(plan[name].origin, Origin::Band(_));
                if is_seen && !names.contains(&name) && !whatever.contains(&&*plan[name].label) {
                    whatever.push(&plan[name].label);
                }
            });
        }
    }
    if !whatever.is_empty() {
        said.push(format!("whatever it is: {}", whatever.join(", ")));
    }
    said
}

/// Writes every value of the tree, used or not.
fn all_values(lines: &mut Lines, scene: &Scene<'_>, values: &Values) {
    part_head(lines, "All values");
    for (id, name) in scene.plan.named().filter(|(_, name)| !name.hidden) {
        let groups = if name.scope == Place::Panicles { values.groups() } else { 1 };
        for group in 0..groups {
            let readings = if groups > 1 { values.in_group(group, id) } else { values.of(id) };
            let own =
                values.tree.filter(|_| name.kind == Kind::Text).and_then(|tree| scene.origins.text(tree, id));
            let shown = match own {
                Some(own) => own,
                None if name.kind == Kind::Text => "not given".to_string(),
                None => scene.words().several(id, readings) + &scene.words().assumed(readings),
            };
            let share = values.share(group).filter(|_| groups > 1);
            let of = share.map_or_else(String::new, |share| {
                format!(" on {} of the panicles", show(share * 100.0, "%"))
            });
            lines.text(0, &format!("{}{of}: {shown}", name.label));
        }
    }
}

fn next(tree: &str, case: &Case) -> String {
    let says = match &case.decision.verdict {
        Verdict::Spray(_) => "`bloomward advise` shows the mix for all trees of this spray".to_string(),
        Verdict::Look => {
            format!("look, add a row for {tree} to scouting.csv, and run this again")
        }
        Verdict::Undecided | Verdict::Uncovered => {
            "ring whom the guide names; do not spray before".to_string()
        }
        Verdict::Hold | Verdict::AllShut => "leave the tree as it is, and look at it again".to_string(),
    };
    sentence(&format!("Next: {says}"))
}
