//! CHECK FIRST: what to look at, what each answer leads to, and what is allowed whatever the answer is.

use super::Page;
use super::said::{at_words, sentence, then_words};
use crate::advice::{Answer, Case, Need};
use crate::explain::dose_words;
use crate::plan::{NameId, Origin};
use crate::report::Lines;

/// Writes the questions of a case.
pub fn write(lines: &mut Lines, page: &Page<'_>, case: &Case) {
    let needs: Vec<String> = case.needs.iter().map(|need| asked(page, need)).collect();
    lines.fields("Look at", needs.iter().map(String::as_str));
    let answers: Vec<String> = case
        .answers
        .iter()
        .map(|answer| format!("{}: {}", answer_words(page, answer), then_words(&answer.then)))
        .collect();
    lines.fields("Then", answers.iter().map(String::as_str));
    for safe in &case.safe {
        let says = format!("{} is allowed whatever you find", dose_words(page.scene.plan, safe));
        lines.field("Safe either way", &says);
    }
}

/// Returns a need as a question with how to look.
pub fn asked(page: &Page<'_>, need: &Need) -> String {
    match need {
        Need::Name(name) => question(page, *name, ""),
        Need::OfTree(name, tree) => question(page, *name, &format!(" of {}", page.ground.name(*tree))),
        Need::Sprays => {
            "the spray log: write down what was sprayed and when, or `sprays: none yet`".to_string()
        }
        Need::Harvest => "the harvest: write down its earliest expected day, `harvest: DATE`".to_string(),
        Need::Weather => {
            "the weather: the hours that are missing or not reached by `weather.csv`".to_string()
        }
        Need::Sprayer => "the sprayer: how much spray goes on a tree or an area, `sprayer:`".to_string(),
    }
}

fn question(page: &Page<'_>, name: NameId, of: &str) -> String {
    let Some(item) = page.scene.plan.names.get(name.index()) else { return String::new() };
    let label = format!("{}{of}", item.label);
    let Origin::Observed(seen) = &item.origin else { return label };
    let ask = seen.ask.as_ref().map_or_else(String::new, |ask| format!(": {}", sentence(ask)));
    let how = seen.how.as_ref().map_or_else(String::new, |how| format!(" {}", sentence(how)));
    format!("{label}{ask}{how}")
}

/// Returns an answer in the grower's units. The names and the answers of several questions stand side by side.
fn answer_words(page: &Page<'_>, answer: &Answer) -> String {
    let names: Vec<&str> = answer.name.split(" and ").collect();
    let values: Vec<&str> = answer.at.split(" and ").collect();
    if names.len() != values.len() {
        return format!("{} {}", answer.name, answer.at);
    }
    let one = |(name, at): (&&str, &&str)| {
        let (word, of) = name.split_once(" of ").map_or((*name, None), |(word, of)| (word, Some(of)));
        let words = page
            .scene
            .plan
            .name(word)
            .map_or_else(|| format!("{word} {at}"), |id| at_words(page.scene, id, at));
        of.map_or(words.clone(), |of| format!("{of}: {words}"))
    };
    names.iter().zip(&values).map(one).collect::<Vec<_>>().join(" and ")
}
