//! Everything about one tree's verdict: the decision, the whole chain, what would change it; and why a product is not
//! advised.

use super::Lines;
use super::page::{
    Facts, Ground, Page, Spraying, asked, assumed_words, close_words, closed_words, contact, due_words,
    hours_words, keep_out_words, not_now, opens_before, questions_of, reasons_of, safe_in_shed, sentence,
    thens, turn_words, verdict_heading,
};
use crate::advice::{Advice, AnswersAre, Case, TreeAdvice, keep_out_after};
use crate::explain::{Claim, Role, Statement, Values};
use crate::plan::{Kind, Origin, Place, ProductId, Subject};
use crate::sprayday::Work;
use crate::trace::Verdict;
use crate::words::{Scene, Words};

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
        let (label, assumed) = (scene.words().say("page.assumed", &[]), assumed_words(&page, *name, &values));
        lines.text(0, &sentence(&format!("{label}: {assumed}")));
    }
    let statements = scene.chain(&values, case);
    for (heading, roles) in PARTS {
        let part: Vec<&Statement> = statements.iter().filter(|it| roles.contains(&it.role)).collect();
        if !part.is_empty() {
            part_head(&mut lines, scene.words(), heading);
            part.iter().for_each(|statement| tell(&mut lines, scene, statement, 0));
            let not_now = if roles.contains(&Role::Task) { not_now(&page, &[tree]) } else { String::new() };
            if !not_now.is_empty() {
                lines.text(0, not_now.trim_start());
            }
        }
    }
    decision(&mut lines, &page, (tree, case), tree_advice);
    questions(&mut lines, &page, case, tree);
    changes(&mut lines, &page, (tree, case), tree_advice);
    all_values(&mut lines, scene, &values);
    lines.blank();
    lines.text(0, &next(&page, case));
    lines.finish()
}

/// Returns the answer about a tree: the verdict, its reasons in a few lines, its dates, what would change it; of a tree that is
/// not there, nothing.
pub fn short_page(
    scene: &Scene<'_>,
    facts: &Facts<'_>,
    ground: &dyn Ground,
    advice: &Advice,
    tree: usize,
    width: usize,
) -> String {
    let Some((tree_advice, case)) = advised(advice, tree) else { return String::new() };
    let page = Page { scene, facts, ground, advice };
    let words = scene.words();
    let values = Values::of_tree(tree, &ground.gauge(tree));
    let mut lines = Lines::new(width);
    head(&mut lines, &page, tree, tree_advice);
    lines.text(0, &verdict_heading(words, case));
    for (label, says) in reasons_of(&page, &values, case) {
        lines.field(&label, &says);
    }
    if case.shut_in_some {
        lines.field(&words.say("page.shut-in-some", &[]), &words.say("page.shut-in-some.words", &[]));
    }
    let assumed = case.rests_on.iter().map(|name| assumed_words(&page, *name, &values));
    lines.fields(&words.say("page.assumed", &[]), assumed.collect::<Vec<_>>().iter().map(String::as_str));
    let needs = case.needs_of(&[tree]);
    let asked: Vec<String> =
        questions_of(&page, (case, &values), &needs).into_iter().map(|(_, it)| it).collect();
    lines.fields(&words.say("look.at", &[]), asked.iter().map(String::as_str));
    if !needs.is_empty() {
        lines.fields(&words.say("look.then", &[]), thens(&page, case).iter().map(String::as_str));
        if let Some((label, says)) = safe_in_shed(&page, case) {
            lines.field(&label, &says);
        }
    }
    dates(&mut lines, &page, (tree, case), tree_advice);
    let mut points: Vec<String> =
        case.tipping_points.iter().take(SHORT).map(|it| words.tipping(it)).collect();
    if let Some(more) = case.tipping_points.len().checked_sub(SHORT).filter(|more| *more > 0) {
        points.push(words.say("why.change.more", &[("count", &more.to_string())]));
    }
    lines.fields(&words.say("page.change", &[]), points.iter().map(String::as_str));
    let close = tree_advice.close_calls.iter();
    let close: Vec<String> =
        close.map(|call| format!("{}: {}", words.label(call.name), close_words(&page, call, tree))).collect();
    lines.fields(&words.say("page.close", &[]), close.iter().map(String::as_str));
    lines.blank();
    lines.text(0, &words.say("why.all", &[("tree", ground.name(tree))]));
    lines.text(0, &next(&page, case));
    lines.finish()
}

/// So many values that would change a verdict are told with the answer.
const SHORT: usize = 4;

fn advised(advice: &Advice, tree: usize) -> Option<(&TreeAdvice, &Case)> {
    let tree = advice.trees.get(tree)?;
    Some((tree, advice.case_of(tree)?))
}

/// The keys of the parts of the page, in order, with the statements that stand in each.
const PARTS: &[(&str, &[Role])] = &[
    ("page.why", &[Role::Choice]),
    ("page.open", &[Role::Open]),
    ("page.not-allowed", &[Role::Shut]),
    ("why.held", &[Role::Held]),
    ("why.hours", &[Role::Hours]),
    ("why.aside", &[Role::Aside]),
    ("why.outranked", &[Role::Outranked]),
    ("why.nearly-shut", &[Role::NearlyShut]),
    ("why.nearly-held", &[Role::NearlyHeld]),
    ("why.beside", &[Role::ShutBeside, Role::HeldBeside]),
    ("why.task", &[Role::Task]),
    ("page.note", &[Role::Warning]),
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
    let words = scene.words();
    let page = Page { scene, facts, ground, advice };
    let values = Values::of_tree(tree, &ground.gauge(tree));
    let mut lines = Lines::new(width);
    head(&mut lines, &page, tree, tree_advice);
    lines.text(0, &verdict_heading(scene.words(), case));
    lines.blank();
    lines.text(0, &words.say("why.not", &[("product", &words.product(product))]));
    lines.rule('-');
    for statement in scene.why_not(&values, case, product) {
        tell(&mut lines, scene, &statement, 0);
    }
    lines.blank();
    lines.text(0, &words.say("why.next.not", &[("tree", ground.name(tree))]));
    lines.finish()
}

fn head(lines: &mut Lines, page: &Page<'_>, tree: usize, advice: &TreeAdvice) {
    let words = page.words();
    let block = page.ground.block(tree);
    let key = if block.is_empty() { "why.title" } else { "why.title.block" };
    let places = [("grove", page.facts.grove), ("tree", page.ground.name(tree)), ("block", block)];
    lines.text(0, &words.say(key, &places));
    let moment = words.moment(page.advice.as_of);
    lines.text(
        0,
        &match advice.seen {
            Some(day) => {
                let (day, ago) = (words.day(day), words.ago(day, page.scene.today));
                words.say("why.for", &[("moment", &moment), ("day", &day), ("ago", &ago)])
            }
            None => words.say("why.for.unseen", &[("moment", &moment)]),
        },
    );
    lines.rule('=');
    if page.facts.now.date_naive() != page.advice.as_of.date_naive() {
        let now = words.moment(page.facts.now);
        lines.text(0, &words.say("page.not-today", &[("as-of", &moment), ("now", &now)]));
    }
    for problem in page.facts.rulebook_problems {
        lines.text(0, &words.say("page.rulebook-errors", &[("problem", problem)]));
    }
}

fn part_head(lines: &mut Lines, words: Words<'_>, key: &str) {
    lines.blank();
    lines.text(0, &words.say(key, &[]));
    lines.rule('-');
}

/// Tells a statement and all that it rests on, each a step further in.
fn tell(lines: &mut Lines, scene: &Scene<'_>, statement: &Statement, depth: usize) {
    let indent = 2 * depth;
    let item = match (statement.role, statement.item.written(scene.plan)) {
        (Role::Condition | Role::Row | Role::Value, _) => String::new(),
        (_, item) if item.is_empty() => item,
        (_, item) => format!("`{item}`: "),
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
        lines.text(2 * depth, &scene.words().say("why.defined", &[("written", &written)]));
    } else if condition.item != value.item && value.from.is_empty() {
        lines.text(2 * depth, &scene.value(value));
    }
    owed(lines, scene, value, 2 * depth);
    value.from.iter().for_each(|below| tell(lines, scene, below, depth));
}

fn decision(lines: &mut Lines, page: &Page<'_>, of: (usize, &Case), advice: &TreeAdvice) {
    if said_of_dates(page, of, advice).is_empty() {
        return;
    }
    let sprays = matches!(of.1.decision.verdict, Verdict::Spray(_));
    part_head(lines, page.words(), if sprays { "sheet.when" } else { "why.dates" });
    dates(lines, page, of, advice);
}

/// Returns the hours and days of a verdict, each with the key of its label.
fn said_of_dates<'k>(
    page: &Page<'_>,
    (tree, case): (usize, &Case),
    advice: &TreeAdvice,
) -> Vec<(&'k str, String)> {
    let hours = &advice.hours;
    let work = page.ground.work(&case.spray, &[tree]);
    let mut said: Vec<(&str, String)> = Vec::new();
    if matches!(case.decision.verdict, Verdict::Spray(_)) {
        let spraying = Spraying { work: work.clone(), one_tree: true };
        said.extend(hours_words(page, hours, &spraying).into_iter().map(|words| ("page.hours", words)));
    }
    let unchecked = hours.not_checked.iter();
    said.extend(unchecked.map(|(window, needs)| {
        ("page.not-checked", format!("{}: {}", page.words().window(window), page.words().gates(needs)))
    }));
    said.extend(advice.covered_until.and_then(|day| due_words(page.words(), case, day)));
    said.extend(advice.turn.as_ref().map(|turn| ("page.turn", turn_words(page.words(), turn))));
    said.extend(advice.recheck.map(|day| ("page.look-again", page.words().day(day))));
    said.extend(closed_words(page, &[tree]).into_iter().map(|words| ("page.keep-out", words)));
    let products = case.spray.iter().map(|(product, _)| *product);
    let ahead =
        keep_out_after(page.scene.plan, products, hours, (work.as_ref().map(Work::takes), page.advice.as_of));
    let told = ahead.filter(|ahead| opens_before(page, &[tree], ahead.until));
    said.extend(told.map(|ahead| ("page.keep-out", keep_out_words(page.words(), &ahead))));
    let out = advice.keep_out_until;
    let pick = advice.pick_not_before.map(|day| page.words().pick(day, out));
    said.extend(pick.map(|words| ("page.pick", words)));
    said
}

/// Writes the hours and days of a verdict.
fn dates(lines: &mut Lines, page: &Page<'_>, of: (usize, &Case), advice: &TreeAdvice) {
    let mut last = "";
    for (key, words) in said_of_dates(page, of, advice) {
        let label = if key == last { String::new() } else { page.words().say(key, &[]) };
        lines.field(&label, &words);
        last = key;
    }
}

fn questions(lines: &mut Lines, page: &Page<'_>, case: &Case, tree: usize) {
    if case.needs.is_empty() {
        return;
    }
    part_head(lines, page.words(), "why.look");
    for need in &case.needs_of(&[tree]) {
        lines.text(0, &asked(page, need, true));
    }
    part_head(lines, page.words(), "why.answers");
    for answer in &case.answers {
        lines.text(0, &page.words().answer(answer, |tree| page.ground.name(tree)));
    }
    if case.answers_are == AnswersAre::OfOne {
        lines.text(0, &page.words().say("look.more", &[]));
    }
    if let Some((label, says)) = safe_in_shed(page, case) {
        lines.text(0, &sentence(&format!("{label}: {says}")));
    }
}

fn changes(lines: &mut Lines, page: &Page<'_>, (tree, case): (usize, &Case), advice: &TreeAdvice) {
    if !case.tipping_points.is_empty() {
        part_head(lines, page.words(), "why.change");
        for point in &case.tipping_points {
            lines.text(0, &page.words().tipping(point));
        }
    }
    let stays = stays(page, case);
    if !stays.is_empty() {
        part_head(lines, page.words(), "why.same");
        stays.iter().for_each(|says| lines.text(0, says));
    }
    if !advice.close_calls.is_empty() {
        part_head(lines, page.words(), "why.close");
        for call in &advice.close_calls {
            lines.text(0, &format!("{}: {}", page.words().label(call.name), close_words(page, call, tree)));
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
        said.push(page.words().say("why.whatever", &[("names", &whatever.join(", "))]));
    }
    said
}

/// Writes every value of the tree, used or not.
fn all_values(lines: &mut Lines, scene: &Scene<'_>, values: &Values) {
    let words = scene.words();
    part_head(lines, words, "why.values");
    for (id, name) in scene.plan.named().filter(|(_, name)| !name.hidden) {
        let groups = if name.scope == Place::Panicles { values.groups() } else { 1 };
        for group in 0..groups {
            let readings = if groups > 1 { values.in_group(group, id) } else { values.of(id) };
            let own =
                values.tree.filter(|_| name.kind == Kind::Text).and_then(|tree| scene.origins.text(tree, id));
            let shown = match own {
                Some(own) => own,
                None if name.kind == Kind::Text => words.say("why.not-given", &[]),
                None => words.several(id, readings) + &words.assumed(readings),
            };
            let share = values.share(group).filter(|_| groups > 1).map(|share| words.share(share));
            let key = if share.is_some() { "why.value.group" } else { "met.is" };
            let share = share.unwrap_or_default();
            lines.text(0, &words.say(key, &[("name", &name.label), ("share", &share), ("value", &shown)]));
        }
    }
}

fn next(page: &Page<'_>, case: &Case) -> String {
    let words = page.words();
    match &case.decision.verdict {
        Verdict::Spray(_) => words.say("why.next.spray", &[]),
        Verdict::Look => words.say("why.next.look", &[]),
        Verdict::Undecided | Verdict::Uncovered => {
            words.say("why.next.contact", &[("contact", &contact(page))])
        }
        Verdict::Hold | Verdict::AllShut => words.say("why.next.hold", &[]),
    }
}
