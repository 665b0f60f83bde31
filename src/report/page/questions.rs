//! CHECK FIRST: what to look at, what each answer leads to, and what is allowed whatever the answer is.

use super::Page;
use super::said::sentence;
use super::shelf::{safe_in_shed, with_missing};
use crate::advice::{AnswersAre, Case, Need, SafeIs};
use crate::explain::Values;
use crate::measure::{Cause, Unseen};
use crate::plan::{NameId, Origin};
use crate::report::Lines;
use crate::trace::Verdict;
use crate::words::Words;

/// So many answers are told one by one.
const ANSWERS: usize = 8;
/// So many questions are told with how to look.
const HOW: usize = 3;

/// Writes the questions of a case.
pub fn write(lines: &mut Lines, page: &Page<'_>, (case, values): (&Case, &Values), trees: &[usize]) {
    let words = page.words();
    let needs = case.needs_of(trees);
    let needs: Vec<String> =
        questions_of(page, (case, values), &needs).into_iter().map(|(_, asked)| asked).collect();
    lines.fields(&words.say("look.at", &[]), needs.iter().map(String::as_str));
    lines.fields(&words.say("look.then", &[]), thens(page, case).iter().map(String::as_str));
    if let Some((label, says)) = safe_in_shed(page, case) {
        lines.field(&label, &says);
    }
}

/// Returns needs of a case as questions, those first for which answers are told, each with when its answer was last seen if
/// that is too long ago.
pub fn questions_of<'n>(
    page: &Page<'_>,
    (case, values): (&Case, &Values),
    needs: &'n [Need],
) -> Vec<(&'n Need, String)> {
    let words = page.words();
    let mut asked = asked_all(page, needs, needs.len() <= HOW);
    told_first(case, &mut asked);
    let with_age = |(need, asked): (&'n Need, String)| {
        let old = match need {
            Need::Name(name) => too_old(words, values, *name),
            _ => None,
        };
        let with = |old: &String| words.say("look.too-old", &[("question", &asked), ("seen", old)]);
        (need, old.as_ref().map_or_else(|| asked.clone(), with))
    };
    asked.into_iter().map(with_age).collect()
}

/// Says which sprays are allowed whatever is found, under a label; nothing where that is of no use. It never says that
/// something is to be sprayed which the answers do not say.
pub fn safe_words(words: Words<'_>, case: &Case) -> Option<(String, String)> {
    let safe: Vec<String> = case.safe.iter().map(|safe| words.doses(safe)).collect();
    let sprays = words.language.joined("look.or", &safe);
    let (label, says) = match case.safe_is() {
        SafeIs::OfNoUse => return None,
        SafeIs::ForEveryAnswer => ("look.safe", "look.safe.words"),
        SafeIs::IfItIsASpray => ("look.safe.if", "look.safe.if.words"),
    };
    Some((words.say(label, &[]), words.say(says, &[("sprays", &sprays)])))
}

/// Returns needs as questions, each with the first need that it stands for; what is wanted of several other trees is
/// asked once.
fn asked_all<'n>(page: &Page<'_>, needs: &'n [Need], how: bool) -> Vec<(&'n Need, String)> {
    let mut questions = Vec::new();
    let mut told: Vec<NameId> = Vec::new();
    for need in needs {
        let Need::OfTree(name, _) = need else {
            questions.push((need, asked(page, need, how)));
            continue;
        };
        if told.contains(name) {
            continue;
        }
        told.push(*name);
        let mut trees: Vec<usize> = needs
            .iter()
            .filter_map(|other| match other {
                Need::OfTree(of, tree) if of == name => Some(*tree),
                _ => None,
            })
            .collect();
        trees.sort_unstable();
        let of = page.ranges(&trees);
        questions.push((need, question(page, *name, Some(&of), how && trees.len() == 1)));
    }
    questions
}

/// Returns what each answer leads to; of very many answers only where they can lead.
pub fn thens(page: &Page<'_>, case: &Case) -> Vec<String> {
    branches(page, case, &|verdict| {
        let words = page.words().verdict(verdict);
        match verdict {
            Verdict::Spray(spray) => with_missing(page, words, spray),
            _ => words,
        }
    })
}

/// Returns the same with verdicts said in another way.
pub fn branches(page: &Page<'_>, case: &Case, leads_to: &dyn Fn(&Verdict) -> String) -> Vec<String> {
    if case.answers.len() > ANSWERS {
        let mut ends: Vec<String> = case.answers.iter().map(|answer| leads_to(&answer.then)).collect();
        ends.sort_unstable();
        ends.dedup();
        let ends = page.words().language.joined("look.or", &ends);
        return vec![page.words().say("look.ends", &[("ends", &ends)])];
    }
    let tree = |tree| page.ground.name(tree);
    let more = case.answers_are == AnswersAre::OfOne || case.answers.is_empty();
    // Of one question alone an answer that settles nothing is told together with all that is still open.
    let told = case.answers.iter().filter(|answer| !more || answer.then != Verdict::Look);
    let more = more.then(|| page.words().say("look.more", &[]));
    // Answers that lead to the same are one branch.
    let mut branches: Vec<(&Verdict, Vec<String>)> = Vec::new();
    for answer in told {
        let found = page.words().answered(answer, tree);
        match branches.iter_mut().find(|(then, _)| **then == answer.then) {
            Some((_, those)) => those.push(found),
            None => branches.push((&answer.then, vec![found])),
        }
    }
    let say = |(then, found): (&Verdict, Vec<String>)| {
        let (at, then) = (page.words().language.listed("list.or", &found), leads_to(then));
        page.words().say("leads-to", &[("at", &at), ("then", &then)])
    };
    branches.into_iter().map(say).chain(more).collect()
}

/// Puts what answers are told for before what else is asked.
fn told_first(case: &Case, needs: &mut [(&Need, String)]) {
    let told = |name: &NameId| case.answers.iter().any(|it| it.found.iter().any(|found| found.name == *name));
    needs.sort_by_key(|(need, _)| !matches!(need, Need::Name(name) if told(name)));
}

/// Returns when a name was last seen, where that is too long ago to count: of trees seen on several days the latest.
fn too_old(words: Words<'_>, values: &Values, name: NameId) -> Option<String> {
    let in_groups = (0..values.groups()).flat_map(|group| values.in_group(group, name));
    let causes = values.of(name).iter().chain(in_groups).filter_map(|reading| reading.cause.as_ref());
    let seen = causes.filter_map(|cause| match cause {
        Cause::Unseen(Unseen::TooOld { on, .. }) => Some((*on, cause)),
        _ => None,
    });
    seen.max_by_key(|(on, _)| *on).map(|(_, cause)| words.cause(cause))
}

/// Returns a need as a question, with how to look where that is wanted.
pub fn asked(page: &Page<'_>, need: &Need, how: bool) -> String {
    let words = page.words();
    match need {
        Need::Name(name) => question(page, *name, None, how),
        Need::OfTree(name, tree) => question(page, *name, Some(page.ground.name(*tree)), how),
        Need::Sprays => words.say("look.need.sprays", &[]),
        Need::Harvest => words.say("look.need.harvest", &[]),
        Need::Weather => words.say("look.need.weather", &[]),
        Need::Sprayer => words.say("look.need.sprayer", &[]),
    }
}

/// Returns what is asked of a name, of other trees where these are said.
fn question(page: &Page<'_>, name: NameId, of: Option<&str>, how: bool) -> String {
    let Some(item) = page.scene.plan.names.get(name.index()) else { return String::new() };
    let words = page.words();
    let label = match of {
        Some(trees) => words.say("look.of", &[("name", &item.label), ("trees", trees)]),
        None => item.label.to_string(),
    };
    let seen = match &item.origin {
        Origin::Observed(seen) => seen,
        Origin::Cultivar => return words.say("look.need.cultivar", &[("name", &label)]),
        Origin::Measure(_) | Origin::Tally(_) | Origin::Band(_) => {
            return words.say("look.need.unknown", &[("name", &label), ("contact", &contact(page))]);
        }
        Origin::Block | Origin::Date => return label,
    };
    let ask = seen.ask.as_ref().map_or_else(String::new, |ask| format!(": {}", sentence(ask)));
    let sign = if ask.is_empty() { ":" } else { "" };
    let how = seen.how.as_ref().filter(|_| how);
    let how = how.map_or_else(String::new, |how| format!("{sign} {}", sentence(how)));
    format!("{label}{ask}{how}")
}

/// Returns whom to ask: whom the guide names, else anybody who can be trusted.
pub fn contact(page: &Page<'_>) -> String {
    let contact = page.scene.plan.head.contact.as_ref();
    contact.map_or_else(|| page.words().say("look.contact", &[]), ToString::to_string)
}
