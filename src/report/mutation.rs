//! Small changes of a rulebook, and which of them its examples and promises notice; as text and as JSON.

use super::filling::{filled, paragraph};
use crate::prove::mutate::{Mutation, Survivor};
use crate::source::Sources;
use serde::Serialize;
use std::collections::BTreeMap;

/// What came of all small changes.
#[derive(Serialize)]
pub struct MutationForm<'a> {
    tried: usize,
    equal: usize,
    by_examples: usize,
    by_promises: usize,
    unsayable: usize,
    decided: bool,
    not_tried: NotTried,
    survived: Vec<SurvivorForm<'a>>,
}

#[derive(Serialize)]
struct NotTried {
    hours: usize,
    log: usize,
}

#[derive(Serialize)]
struct SurvivorForm<'a> {
    item: &'a str,
    at: String,
    change: &'a str,
    worked: Option<&'a str>,
    hours: Option<String>,
}

/// Returns what came of all small changes as JSON.
pub fn mutation_form<'a>(mutation: &'a Mutation, sources: &Sources) -> MutationForm<'a> {
    let survived = mutation.survived.iter().map(|it| SurvivorForm {
        item: &it.mutant.item,
        at: sources.locate(it.mutant.at),
        change: &it.mutant.change,
        worked: it.worked.as_deref(),
        hours: hours_of(it),
    });
    MutationForm {
        tried: mutation.tried,
        equal: mutation.equal,
        by_examples: mutation.by_examples,
        by_promises: mutation.by_promises,
        unsayable: mutation.unsayable,
        decided: !mutation.spent,
        not_tried: NotTried { hours: mutation.of_hours, log: mutation.of_log },
        survived: survived.collect(),
    }
}

/// Returns what came of all small changes as text of which no line is longer than the width, but the worked examples, which
/// are to be pasted as they stand.
pub fn mutation_text(mutation: &Mutation, sources: &Sources, width: usize) -> String {
    let mut out = String::new();
    let mut printed: BTreeMap<&str, String> = BTreeMap::new();
    for it in &mutation.survived {
        let Survivor { mutant, worked } = it;
        let words = format!("{}: UNNOTICED {}: {}", sources.locate(mutant.at), mutant.item, mutant.change);
        out += &joined(filled(&words, "", "  ", width));
        match worked.as_deref().map(|worked| (worked, body(worked))) {
            Some((worked, body)) => match printed.get(body) {
                Some(before) => {
                    let words = format!("the worked example printed for {before} notices it too");
                    out += &joined(filled(&words, "  ", "  ", width));
                }
                None => {
                    printed.insert(body, format!("{}: {}", mutant.item, mutant.change));
                    out += &format!("\n{worked}\n");
                }
            },
            None => {
                let words = match hours_of(it) {
                    Some(hours) => format!("only an example with `hours from` can notice it: {hours}"),
                    None => "no worked example was found that would notice it".to_owned(),
                };
                out += &joined(filled(&words, "  ", "  ", width));
            }
        }
    }
    if mutation.spent {
        return out + &paragraph("Small changes: not decided, there are too many situations.", width);
    }
    let words = format!(
        "Small changes: of {} tried, {} change no decision anywhere, {} are noticed by worked examples, {} by promises, {} by nothing.",
        mutation.tried,
        mutation.equal,
        mutation.by_examples,
        mutation.by_promises,
        mutation.survived.len()
    );
    out += &paragraph(&words, width);
    if mutation.unsayable > 0 {
        let words = format!(
            "{} more only give a task or a warning more often, which no worked example can rule out.",
            mutation.unsayable
        );
        out += &paragraph(&words, width);
    }
    let kinds = [
        (mutation.of_hours, "of the hours of gates and preferences"),
        (mutation.of_log, "of label lines and the log"),
    ];
    let left: Vec<String> =
        kinds.iter().filter(|(count, _)| *count > 0).map(|(count, what)| format!("{count} {what}")).collect();
    if !left.is_empty() {
        let words = format!("Not tried: {}; no worked example tells of them.", left.join(", "));
        out += &paragraph(&words, width);
    }
    let next = if mutation.survived.is_empty() {
        "Next: nothing; every small change that matters is noticed."
    } else if mutation.survived.iter().any(|it| it.worked.is_some()) {
        "Next: paste the worked examples whose outcome is right; where it is wrong, fix the rule."
    } else {
        "Next: write the examples that would notice them; where none can, say why beside the rule."
    };
    out + &paragraph(next, width)
}

/// Returns what the hours of an example would have in them that notices a change; nothing of a change of which other examples
/// tell.
fn hours_of(it: &Survivor) -> Option<String> {
    let Survivor { mutant, worked } = it;
    let met = if mutant.tells.is_empty() {
        "hours in which the two differ".to_owned()
    } else {
        format!("hours in which {}", mutant.tells)
    };
    (mutant.of_hours && worked.is_none()).then_some(met)
}

/// Returns a worked example without its title.
fn body(worked: &str) -> &str {
    worked.split_once("\"\n").map_or(worked, |(_, body)| body)
}

fn joined(lines: Vec<String>) -> String {
    lines.iter().map(|line| line.trim_end().to_owned() + "\n").collect()
}
