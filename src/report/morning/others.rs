//! What is not sprayed: what to look at first, other work, what is left alone and why; and what to take care of.

use super::{MorningFacts, item, sentence};
use crate::advice::{Case, Need, SafeIs};
use crate::explain::Role;
use crate::plan::{Place, ProductId, Task};
use crate::report::TreeGroup;
use crate::report::page::{
    asked, branches, cautions_of, contact, covers_words, due_words, guide_words, next_words, not_now,
    questions_of, said_of, short_reasons, tasks_of, verdict_heading, weather_words,
};
use crate::report::paper::{Paper, Piece};
use crate::trace::Verdict;
use chrono::{DateTime, Duration, NaiveDate};
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// So many things to look at are asked for in a sentence each.
const ASKED: usize = 2;

/// What is to be looked at before anything is sprayed; what only the files lack is said once, not tree by tree.
pub fn look_first(paper: &mut Paper, morning: &MorningFacts<'_>) {
    let mut items = Vec::new();
    let mut of_files: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for group in morning.with(|it| *it == Verdict::Look) {
        let page = &morning.page;
        let Some(case) = group.cases.first().and_then(|number| page.case(*number)) else { continue };
        let needs = case.needs_of(&group.trees);
        let is_of_files = |need: &Need| !matches!(need, Need::Name(_) | Need::OfTree(..));
        for need in needs.iter().filter(|need| is_of_files(need)) {
            of_files.entry(asked(page, need, false)).or_default().extend(&group.trees);
        }
        let needs: Vec<Need> = needs.iter().filter(|need| !is_of_files(need)).cloned().collect();
        if !needs.is_empty() {
            items.push(to_look_at(morning, group, case, &needs));
        }
    }
    let of_files = of_files.into_iter().map(|(needs, mut trees)| {
        trees.sort_unstable();
        item(
            morning.say("morning.labeled", &[("label", &morning.named(&trees)), ("says", &needs)]),
            Vec::new(),
        )
    });
    morning.section(paper, "morning.look", of_files.chain(items).collect());
}

fn to_look_at(morning: &MorningFacts<'_>, group: &TreeGroup, case: &Case, needs: &[Need]) -> Piece {
    let page = &morning.page;
    let questions = questions_of(page, (case, &group.values), needs);
    let mut says = Vec::new();
    let title = if questions.len() <= ASKED {
        let list: Vec<String> = questions.iter().map(|(need, _)| asked(page, need, false)).collect();
        let branches = branches(page, case, &|verdict| morning.leads_to(verdict));
        says.push(sentence(&branches.join("; ")));
        let places = [("label", &*page.ranges(&group.trees)), ("says", &*list.join(" "))];
        morning.say("morning.labeled", &places)
    } else {
        let labels = questions.iter().map(|(need, words)| match need {
            Need::Name(name) => page.words().label(*name).to_string(),
            _ => words.clone(),
        });
        let labels = few(morning, labels.collect());
        let (trees, seen) = (page.ranges(&group.trees), seen_ago(morning, &group.trees));
        morning.say("morning.look.words", &[("trees", &trees), ("seen", &seen), ("labels", &labels)])
    };
    says.extend(safe(morning, case));
    item(title, says)
}

/// So many things to look at are named; `ask` has all of them, and how to look.
const NAMED: usize = 5;

/// Returns the first of many things to look at, and how many more there are.
fn few(morning: &MorningFacts<'_>, labels: Vec<String>) -> String {
    match labels.get(..NAMED).filter(|_| labels.len() > NAMED + 1) {
        Some(first) => {
            let (list, count) = (first.join(", "), (labels.len() - NAMED).to_string());
            morning.say("morning.look.more", &[("list", &list), ("count", &count)])
        }
        None => labels.join(", "),
    }
}

/// Returns when trees were last seen: `yesterday`, `19 days ago`; of several days the oldest.
fn seen_ago(morning: &MorningFacts<'_>, trees: &[usize]) -> String {
    let advice = |tree: &usize| morning.page.advice.trees.get(*tree);
    let seen: Option<Vec<NaiveDate>> = trees.iter().map(|tree| advice(tree)?.seen).collect();
    match seen.and_then(|days| days.into_iter().min()) {
        Some(day) => {
            let ago = morning.page.words().ago(day, morning.page.advice.as_of.date_naive());
            morning.say("morning.seen.ago", &[("ago", &ago)])
        }
        None => morning.say("morning.seen.never", &[]),
    }
}

/// Says which sprays of the shed are allowed whatever is found. A mix of products that are each allowed is not named.
fn safe(morning: &MorningFacts<'_>, case: &Case) -> Option<String> {
    let mut case = on_the_shelf(morning, case);
    let singles: Vec<_> = case.safe.iter().filter(|spray| spray.len() == 1).flatten().copied().collect();
    case.safe.retain(|spray| spray.len() == 1 || !spray.iter().all(|dose| singles.contains(dose)));
    let (key, sprays) = match case.safe_is() {
        SafeIs::OfNoUse => return None,
        SafeIs::ForEveryAnswer => ("morning.safe", &case.safe),
        SafeIs::IfItIsASpray => ("morning.safe.if", &case.safe),
    };
    let words = morning.page.words();
    let sprays: Vec<String> = sprays.iter().map(|spray| words.doses(spray)).collect();
    Some(morning.say(key, &[("sprays", &words.language.listed("list.or", &sprays))]))
}

/// Returns a case that names, of the sprays that are allowed whatever is found, those of which all is in the shed, if there are
/// any.
fn on_the_shelf(morning: &MorningFacts<'_>, case: &Case) -> Case {
    let shed = &morning.crew.ground.trees.grove.shed;
    let has = |product: ProductId| shed.iter().any(|jug| jug.product == Some(product));
    let mut case = case.clone();
    if case.safe.iter().any(|spray| spray.iter().all(|(product, _)| has(*product))) {
        case.safe.retain(|spray| spray.iter().all(|(product, _)| has(*product)));
    }
    case
}

/// What is left alone, and why; first what wants a spray and may have none, and what the guide does not settle.
pub fn leave_alone(paper: &mut Paper, morning: &MorningFacts<'_>) {
    let shut = morning.with(|it| matches!(it, Verdict::AllShut | Verdict::Undecided | Verdict::Uncovered));
    morning.section(paper, "morning.shut", shut.map(|group| not_settled(morning, group)).collect());
    let mut by_reason: BTreeMap<(Option<NaiveDate>, String), Vec<usize>> = BTreeMap::new();
    for group in morning.with(|it| *it == Verdict::Hold) {
        let case = group.cases.first().and_then(|number| morning.page.case(*number));
        let due = group.covered_until.zip(case);
        let due = due.and_then(|(day, case)| due_words(morning.page.words(), case, day));
        let words = match due {
            Some((key, says)) => {
                morning.say("morning.labeled", &[("label", &morning.say(key, &[])), ("says", &says)])
            }
            None => morning.say("morning.leave.nothing", &[]),
        };
        by_reason.entry((group.covered_until, words)).or_default().extend(&group.trees);
    }
    let say = |((_, says), mut trees): ((Option<NaiveDate>, String), Vec<usize>)| {
        trees.sort_unstable();
        let places = [("trees", &*morning.page.ranges(&trees)), ("says", &*says)];
        item(morning.say("morning.leave.words", &places), Vec::new())
    };
    let again = look_again(morning).into_iter().map(|says| item(says, Vec::new()));
    morning.section(paper, "morning.leave", by_reason.into_iter().map(say).chain(again).collect());
}

/// Returns a group that wants a spray and may have none, or of which the guide says nothing that settles it.
fn not_settled(morning: &MorningFacts<'_>, group: &TreeGroup) -> Piece {
    let page = &morning.page;
    let Some(case) = group.cases.first().and_then(|number| page.case(*number)) else { return Piece::Gap };
    let places = [("what", &*verdict_heading(page.words(), case)), ("trees", &*page.ranges(&group.trees))];
    let title = morning.say("morning.shut.title", &places);
    let mut says = short_reasons(page, &group.values, &[case]);
    says.extend(group.covered_until.and_then(|day| due_words(page.words(), case, day)).map(|(key, says)| {
        morning.say("morning.labeled", &[("label", &morning.say(key, &[])), ("says", &says)])
    }));
    if case.decision.verdict != Verdict::AllShut {
        says.push(morning.say("morning.ask", &[("contact", &contact(page))]));
    }
    item(title, says)
}

/// Returns the days on which trees are to be looked at again, if there are any.
fn look_again(morning: &MorningFacts<'_>) -> Option<String> {
    let mut by_day: BTreeMap<NaiveDate, Vec<usize>> = BTreeMap::new();
    for tree in morning.chosen {
        if let Some(day) = morning.page.advice.trees.get(*tree).and_then(|it| it.recheck) {
            by_day.entry(day).or_default().push(*tree);
        }
    }
    let say = |(day, trees): (NaiveDate, Vec<usize>)| {
        let places = [("day", &*morning.page.words().day_ahead(day)), ("trees", &*morning.named(&trees))];
        morning.say("morning.again.words", &places)
    };
    let said: Vec<String> = by_day.into_iter().map(say).collect();
    (!said.is_empty()).then(|| {
        let label = morning.say("morning.again", &[]);
        morning.say("morning.again.all", &[("label", &label), ("list", &said.join("; "))])
    })
}

/// So many kinds of work are told with how they are done: those of the fewest trees. The others are named.
const WORK: usize = 2;

/// Other work of the day: before the sprays, since nobody goes in after them.
pub fn work(paper: &mut Paper, morning: &MorningFacts<'_>) {
    let page = &morning.page;
    let mut tasks = tasks_of(page, morning.chosen);
    tasks.sort_by_key(|(task, trees)| (task.speaks.place == Place::Grove, trees.len()));
    let of = |(task, trees): &(&Task, Vec<usize>)| match task.speaks.place {
        Place::Grove => String::new(),
        _ => format!(" ({})", morning.named(trees)),
    };
    let (told, named) = tasks.split_at(tasks.len().min(WORK));
    let mut items: Vec<Piece> = told
        .iter()
        .map(|task| {
            let closed = not_now(page, &task.1);
            item(format!("{}{}{closed}", sentence(&task.0.does).trim_end_matches('.'), of(task)), Vec::new())
        })
        .collect();
    if !named.is_empty() {
        let list: Vec<String> = named.iter().map(|task| format!("{}{}", task.0.label, of(task))).collect();
        items.push(item(morning.say("morning.work.more", &[("list", &list.join(", "))]), Vec::new()));
    }
    morning.section(paper, "morning.work.title", items);
}

/// What to take care of, each once.
pub fn cautions(paper: &mut Paper, morning: &MorningFacts<'_>) {
    let sprays = !morning.crew.day.rounds.is_empty();
    let [of_guide, of_products, always] = cautions_of(&morning.page, morning.groups);
    let warnings = said_of(&morning.page, morning.chosen, |case| &case.warnings, (Role::Warning, false));
    let of_guide = of_guide.into_iter().chain([covers_words(&morning.page)]).collect::<Vec<_>>().join(" ");
    let mut said = vec![warnings.join(" "), of_guide, of_products.join(" "), always.join(" ")];
    said.retain(|it| !it.is_empty());
    let key = if sprays { "morning.before" } else { "page.always" };
    morning.section(paper, key, said.into_iter().map(|says| item(says, Vec::new())).collect());
}

/// By which guide, how old everything is, where what is left out stands, and what to do next.
pub fn foot(paper: &mut Paper, morning: &MorningFacts<'_>, data: bool) {
    let page = &morning.page;
    let label = |key: &str| morning.say(key, &[]);
    let labeled = |key: &str, says: &str| {
        sentence(&morning.say("morning.labeled", &[("label", &label(key)), ("says", says)]))
    };
    let problems = page.facts.data_problems;
    let of_data = match (data, problems.len()) {
        (true, _) | (false, 0) => None,
        (false, 1) => Some(label("morning.data.one")),
        (false, count) => Some(morning.say("morning.data", &[("count", &count.to_string())])),
    };
    let mut said = vec![labeled("page.guide", &guide_words(page)), seen(morning)];
    said.push(weather(morning).unwrap_or_else(|| labeled("page.weather", &weather_words(page))));
    said.extend(of_data);
    said.push(label("morning.rest"));
    said.push(sentence(&next_words(page, morning.groups)));
    paper.pieces.push(Piece::Text(said.join(" ")));
    if data {
        paper.field(&label("page.data"), problems.to_vec());
    }
}

/// Says to when the weather is measured and of when the forecast is, where both are of today and yesterday.
fn weather(morning: &MorningFacts<'_>) -> Option<String> {
    let (page, as_of) = (&morning.page, morning.page.advice.as_of);
    let is_new = |at: &DateTime<Tz>| *at <= as_of && as_of - *at < Duration::hours(24);
    let measured = page.facts.weather_measured_to.filter(is_new)?;
    let issued = page.facts.forecast_issued.filter(is_new)?;
    let places = [("measured", &*morning.clock(measured)), ("issued", &*morning.clock(issued))];
    Some(morning.say("morning.weather", &places))
}

/// Says when the trees were last seen: most of them, and those that were seen on other days.
fn seen(morning: &MorningFacts<'_>) -> String {
    let (words, today) = (morning.page.words(), morning.page.advice.as_of.date_naive());
    let mut by_day: BTreeMap<Option<NaiveDate>, Vec<usize>> = BTreeMap::new();
    for tree in morning.chosen {
        let day = morning.page.advice.trees.get(*tree).and_then(|advice| advice.seen);
        by_day.entry(day).or_default().push(*tree);
    }
    let ago = |day: Option<NaiveDate>| match day {
        Some(day) => words.ago(day, today),
        None => morning.say("morning.seen.not", &[]),
    };
    let Some(most) = by_day.iter().max_by_key(|(_, trees)| trees.len()).map(|(day, _)| *day) else {
        return String::new();
    };
    let others = by_day.iter().rev().filter(|(day, _)| **day != most).map(|(day, trees)| {
        let places = [("trees", &*morning.named(trees)), ("ago", &*ago(*day))];
        morning.say("morning.seen.other", &places)
    });
    let said: Vec<String> = std::iter::once(ago(most)).chain(others).collect();
    sentence(&morning.say("morning.seen", &[("list", &said.join("; "))]))
}
