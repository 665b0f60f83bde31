//! What is not sprayed: what to look at first, what is left alone and why, other work; and what to take care of.

use super::{MorningFacts, item, sentence};
use crate::advice::{Case, Need};
use crate::explain::Role;
use crate::plan::ProductId;
use crate::report::TreeGroup;
use crate::report::page::{
    cautions_of, contact, covers_words, due_words, guide_words, next_words, questions_of, safe_words,
    said_of, seen_words, short_reasons, thens, verdict_heading, weather_words,
};
use crate::report::paper::{Paper, Piece};
use crate::trace::Verdict;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// So many things to look at are asked for in a sentence each.
const ASKED: usize = 2;
/// So many answers are told one by one; `ask` and `why` have all of them.
const ANSWERS: usize = 2;

/// What is to be looked at before anything is sprayed.
pub fn look_first(paper: &mut Paper, morning: &MorningFacts<'_>) {
    let items = morning.with(|it| *it == Verdict::Look).filter_map(|group| {
        let page = &morning.page;
        let case = page.case(*group.cases.first()?)?;
        let needs = case.needs_of(&group.trees);
        let questions = questions_of(page, (case, &group.values), &needs);
        let mut says = Vec::new();
        if questions.len() <= ASKED {
            says.extend(questions.into_iter().map(|(_, words)| words));
        } else {
            let labels = questions.iter().map(|(need, words)| match need {
                Need::Name(name) => page.words().label(*name).to_string(),
                _ => words.clone(),
            });
            says.push(labels.collect::<Vec<_>>().join(", "));
            let seen = seen_words(page, &group.trees).join("; ");
            says.push(
                morning.say("morning.labeled", &[("label", &morning.say("page.seen", &[])), ("says", &seen)]),
            );
        }
        says.extend(thens(page, case).into_iter().take(ANSWERS));
        let safe = safe_words(page.words(), &on_the_shelf(morning, case));
        says.extend(
            safe.map(|(label, safe)| morning.say("morning.labeled", &[("label", &label), ("says", &safe)])),
        );
        Some(item(page.ranges(&group.trees), says))
    });
    morning.section(paper, "morning.look", items.collect());
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
        let due = group.covered_until.and_then(|day| due_words(morning.page.words(), &Verdict::Hold, day));
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
    morning.section(paper, "morning.leave", by_reason.into_iter().map(say).collect());
    paper.field(&morning.say("morning.again", &[]), look_again(morning));
}

/// Returns a group that wants a spray and may have none, or of which the guide says nothing that settles it.
fn not_settled(morning: &MorningFacts<'_>, group: &TreeGroup) -> Piece {
    let page = &morning.page;
    let Some(case) = group.cases.first().and_then(|number| page.case(*number)) else { return Piece::Gap };
    let places = [("what", &*verdict_heading(page.words(), case)), ("trees", &*page.ranges(&group.trees))];
    let title = morning.say("morning.shut.title", &places);
    let mut says = short_reasons(page, &group.values, &[case]);
    says.extend(
        group.covered_until.and_then(|day| due_words(page.words(), &case.decision.verdict, day)).map(
            |(key, says)| {
                morning.say("morning.labeled", &[("label", &morning.say(key, &[])), ("says", &says)])
            },
        ),
    );
    if case.decision.verdict != Verdict::AllShut {
        says.push(morning.say("morning.ask", &[("contact", &contact(page))]));
    }
    item(title, says)
}

/// Returns the days on which trees are to be looked at again.
fn look_again(morning: &MorningFacts<'_>) -> Vec<String> {
    let mut by_day: BTreeMap<NaiveDate, Vec<usize>> = BTreeMap::new();
    for tree in morning.chosen {
        if let Some(day) = morning.page.advice.trees.get(*tree).and_then(|it| it.recheck) {
            by_day.entry(day).or_default().push(*tree);
        }
    }
    let say = |(day, trees): (NaiveDate, Vec<usize>)| {
        let places =
            [("day", &*morning.page.words().day_ahead(day)), ("trees", &*morning.page.ranges(&trees))];
        morning.say("morning.again.words", &places)
    };
    vec![by_day.into_iter().map(say).collect::<Vec<_>>().join("; ")]
}

/// Other work of the day, and warnings.
pub fn work(paper: &mut Paper, morning: &MorningFacts<'_>) {
    let tasks = said_of(&morning.page, morning.chosen, |case| &case.tasks, (Role::Task, false));
    let warnings = said_of(&morning.page, morning.chosen, |case| &case.warnings, (Role::Warning, false));
    let items = tasks.into_iter().chain(warnings).map(|says| item(says, Vec::new())).collect();
    morning.section(paper, "morning.work.title", items);
}

/// What to take care of, each once.
pub fn cautions(paper: &mut Paper, morning: &MorningFacts<'_>) {
    let sprays = !morning.crew.day.rounds.is_empty();
    let [of_guide, of_products, always] = cautions_of(&morning.page, morning.groups);
    let mut said = vec![of_guide.join(" ")];
    said.extend(of_products);
    said.push(always.join(" "));
    said.push(covers_words(&morning.page));
    said.retain(|it| !it.is_empty());
    let key = if sprays { "morning.before" } else { "page.always" };
    morning.section(paper, key, said.into_iter().map(|says| item(says, Vec::new())).collect());
}

/// By which guide, how old everything is, and what to do next.
pub fn foot(paper: &mut Paper, morning: &MorningFacts<'_>, data: bool) {
    let page = &morning.page;
    let label = |key: &str| morning.say(key, &[]);
    paper.pieces.push(Piece::Gap);
    paper.field(&label("page.guide"), vec![guide_words(page)]);
    paper.field(&label("page.seen"), vec![seen_words(page, morning.chosen).join("; ")]);
    paper.field(&label("page.weather"), vec![weather_words(page)]);
    let problems = page.facts.data_problems;
    paper.field(
        &label("page.data"),
        match (data, problems.len()) {
            (true, _) => problems.to_vec(),
            (false, 0) => Vec::new(),
            (false, 1) => vec![label("morning.data.one")],
            (false, count) => vec![morning.say("morning.data", &[("count", &count.to_string())])],
        },
    );
    paper.pieces.push(Piece::Text(sentence(&next_words(page, morning.groups))));
}
