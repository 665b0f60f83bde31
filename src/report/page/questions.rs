//! CHECK FIRST: what to look at, what each answer leads to, and what is allowed whatever the answer is.

use super::Page;
use super::said::sentence;
use crate::advice::{AnswersAre, Case, Need, SafeIs};
use crate::plan::{NameId, Origin};
use crate::report::{Lines, ranges};
use crate::words::{Language, Words};

/// So many answers are told one by one.
const ANSWERS: usize = 8;
/// So many questions are told with how to look.
const HOW: usize = 3;

/// Writes the questions of a case.
pub fn write(lines: &mut Lines, page: &Page<'_>, case: &Case, trees: &[usize]) {
    let needs = case.needs_of(trees);
    let how = needs.len() <= HOW;
    let needs: Vec<String> =
        asked_all(page, &needs, how, Language::English).into_iter().map(|(_, words)| words).collect();
    lines.fields("Look at", needs.iter().map(String::as_str));
    lines.fields("Then", thens(page, case).iter().map(String::as_str));
    if let Some((label, says)) = safe_words(page.words(), case) {
        lines.field(label, &says);
    }
}

/// Says which sprays are allowed whatever is found, under a label; nothing where that is of no use. It never says that
/// something is to be sprayed which the answers do not say.
pub fn safe_words(words: Words<'_>, case: &Case) -> Option<(&'static str, String)> {
    let safe: Vec<String> = case.safe.iter().map(|safe| words.doses(safe)).collect();
    let allowed = format!("{} is allowed, whatever you find", safe.join(", or "));
    match case.safe_is() {
        SafeIs::OfNoUse => None,
        SafeIs::ForEveryAnswer => Some(("Either way", allowed)),
        SafeIs::IfItIsASpray => {
            Some(("If you spray", format!("{allowed}; whether to spray at all is still open")))
        }
    }
}

/// Returns needs as questions, each with the first need that it stands for; what is wanted of several other trees is
/// asked once.
pub fn asked_all<'n>(
    page: &Page<'_>,
    needs: &'n [Need],
    how: bool,
    language: Language,
) -> Vec<(&'n Need, String)> {
    let mut questions = Vec::new();
    let mut told: Vec<NameId> = Vec::new();
    for need in needs {
        let Need::OfTree(name, _) = need else {
            questions.push((need, asked_in(page, need, how, language)));
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
        let of = format!(" of {}", ranges(page.ground, &trees));
        questions.push((need, question(page, *name, &of, how && trees.len() == 1)));
    }
    questions
}

/// Returns what each answer leads to; of very many answers only where they can lead.
pub fn thens(page: &Page<'_>, case: &Case) -> Vec<String> {
    if case.answers.len() > ANSWERS {
        let mut ends: Vec<String> =
            case.answers.iter().map(|answer| page.words().verdict(&answer.then)).collect();
        ends.sort_unstable();
        ends.dedup();
        let ends = page.words().language.listed("list.or", &ends);
        return vec![page.words().say("look.then.any", &[("ends", &ends)])];
    }
    let more = (case.answers_are == AnswersAre::OfOne || case.answers.is_empty())
        .then(|| page.words().say("look.more", &[]));
    let tree = |tree| page.ground.name(tree);
    case.answers.iter().map(|answer| page.words().answer(answer, tree)).chain(more).collect()
}

/// Returns a need as a question, with how to look where that is wanted.
pub fn asked(page: &Page<'_>, need: &Need, how: bool) -> String {
    asked_in(page, need, how, Language::English)
}

/// Returns a need as a question in a language; what the rulebook asks stays in its author's.
pub fn asked_in(page: &Page<'_>, need: &Need, how: bool, language: Language) -> String {
    match need {
        Need::Name(name) => question(page, *name, "", how),
        Need::OfTree(name, tree) => question(page, *name, &format!(" of {}", page.ground.name(*tree)), how),
        Need::Sprays => language.say("look.need.sprays", &[]),
        Need::Harvest => language.say("look.need.harvest", &[]),
        Need::Weather => language.say("look.need.weather", &[]),
        Need::Sprayer => language.say("look.need.sprayer", &[]),
    }
}

fn question(page: &Page<'_>, name: NameId, of: &str, how: bool) -> String {
    let Some(item) = page.scene.plan.names.get(name.index()) else { return String::new() };
    let label = format!("{}{of}", item.label);
    let seen = match &item.origin {
        Origin::Observed(seen) => seen,
        Origin::Cultivar => return format!("{label}: write it beside the tree, `cultivar: NAME`"),
        Origin::Measure(_) | Origin::Tally(_) | Origin::Band(_) => {
            let contact = page.scene.plan.head.contact.as_ref();
            let ask = contact.map_or_else(|| "whom you trust".to_string(), |contact| contact.to_string());
            return format!("{label}: nobody can look at it, and the guide does not know it here; ask {ask}");
        }
        Origin::Block | Origin::Date => return label,
    };
    let ask = seen.ask.as_ref().map_or_else(String::new, |ask| format!(": {}", sentence(ask)));
    let sign = if ask.is_empty() { ":" } else { "" };
    let how = seen.how.as_ref().filter(|_| how);
    let how = how.map_or_else(String::new, |how| format!("{sign} {}", sentence(how)));
    format!("{label}{ask}{how}")
}
