//! What all trees of a case share, written once: the parts of a tree's entry before and after its own.

use super::advice_json::Trees;
use super::json;
use super::range_json::answers;
use crate::advice::{Case, Hours, Need, Spray};
use crate::plan::{ChoiceId, GateId, Plan, ProductId};
use crate::trace::{Shutter, Verdict};

/// The shared parts of the entries of all trees of a case.
#[derive(Clone, Debug, Default)]
pub struct Fragments {
    /// From the verdict to what is held.
    pub first: Vec<u8>,
    /// What is needed.
    pub needs: Vec<u8>,
    /// From what each answer leads to to the warnings.
    pub second: Vec<u8>,
}

/// Writes the shared parts of a case.
pub fn fragments(plan: &Plan, trees: &dyn Trees, case: &Case) -> Fragments {
    let (mut first, mut second) = (Vec::new(), Vec::new());
    decision(&mut first, plan, case);
    choices(&mut first, plan, case);
    first.extend_from_slice(b",\"shut\":");
    json::list(&mut first, &case.shut, |out, (products, shutter)| {
        out.extend_from_slice(b"{\"product\":");
        json::text(out, &products_words(plan, products));
        out.extend_from_slice(b",\"by\":");
        match shutter {
            Shutter::Gate(gate) => json::text(out, gate_name(plan, *gate)),
            Shutter::Certified => json::text(out, "certified organic"),
        }
        out.push(b'}');
    });
    first.extend_from_slice(b",\"shut_between\":");
    json::list(&mut first, &case.shut_between, |out, (products, gates)| {
        out.extend_from_slice(b"{\"product\":");
        json::text(out, &products_words(plan, products));
        out.extend_from_slice(b",\"by\":");
        json::texts(out, gates.iter().map(|gate| gate_name(plan, *gate)));
        out.push(b'}');
    });
    first.extend_from_slice(b",\"held\":");
    json::list(&mut first, &case.held, |out, (product, strength, gate)| {
        out.extend_from_slice(b"{\"product\":");
        json::text(out, product_name(plan, *product));
        out.extend_from_slice(b",\"to\":");
        json::text(out, strength_name(plan, *product, *strength));
        out.extend_from_slice(b",\"by\":");
        json::text(out, gate_name(plan, *gate));
        out.push(b'}');
    });
    questions(&mut second, plan, trees, case);
    let mut needed = Vec::new();
    needs(&mut needed, plan, trees, &case.needs);
    Fragments { first, needs: needed, second }
}

/// Writes the verdict, why it is a hold, and the spray.
pub fn decision(out: &mut Vec<u8>, plan: &Plan, case: &Case) {
    let verdict = &case.decision.verdict;
    out.extend_from_slice(b"\"verdict\":");
    json::text(out, verdict.word());
    match verdict {
        Verdict::Hold if case.shut_in_some => {
            out.extend_from_slice(b",\"because\":\"advised-or-all-shut\"");
        }
        Verdict::Hold => out.extend_from_slice(b",\"because\":\"advised\""),
        Verdict::AllShut => out.extend_from_slice(b",\"because\":\"all-shut\""),
        Verdict::Spray(_) | Verdict::Look | Verdict::Undecided | Verdict::Uncovered => {}
    }
    out.extend_from_slice(b",\"spray\":");
    spray(out, plan, &case.spray);
}

fn choices(out: &mut Vec<u8>, plan: &Plan, case: &Case) {
    let names = || case.decision.choices.iter().map(|choice| choice_name(plan, *choice));
    out.extend_from_slice(b",\"choice\":");
    match names().next() {
        Some(first) => json::text(out, first),
        None => out.extend_from_slice(b"null"),
    }
    out.extend_from_slice(b",\"choices\":");
    json::texts(out, names());
}

/// Writes the hours of a spray: `windows`, `short_windows`, `not_checked` and `compromise`.
pub fn hours(out: &mut Vec<u8>, plan: &Plan, hours: &Hours) {
    out.extend_from_slice(b"\"windows\":");
    windows(out, hours);
    out.extend_from_slice(b",\"short_windows\":");
    short_windows(out, hours);
    out.extend_from_slice(b",\"not_checked\":");
    json::list(out, &hours.not_checked, |out, (window, gates)| {
        out.push(b'{');
        json::window(out, window);
        out.extend_from_slice(b",\"by\":");
        json::texts(out, gates.iter().map(|gate| gate_name(plan, *gate)));
        out.push(b'}');
    });
    out.extend_from_slice(b",\"compromise\":");
    match &hours.compromise {
        Some((window, gates)) => {
            out.push(b'{');
            json::window(out, window);
            out.extend_from_slice(b",\"breaks\":");
            json::texts(out, gates.iter().map(|gate| gate_name(plan, *gate)));
            out.push(b'}');
        }
        None => out.extend_from_slice(b"null"),
    }
}

/// Writes the open windows as a list.
pub fn windows(out: &mut Vec<u8>, hours: &Hours) {
    json::list(out, &hours.windows, |out, window| {
        out.push(b'{');
        json::window(out, window);
        out.push(b'}');
    });
}

/// Writes the open pieces that are shorter than the guide asks for as a list, each with its minutes.
pub fn short_windows(out: &mut Vec<u8>, hours: &Hours) {
    json::list(out, &hours.short, |out, window| {
        out.push(b'{');
        json::window(out, window);
        out.extend_from_slice(b",\"minutes\":");
        json::number(out, (window.to - window.from).num_minutes() as f64);
        out.push(b'}');
    });
}

/// Writes what has to be found out.
pub(super) fn needs(out: &mut Vec<u8>, plan: &Plan, trees: &dyn Trees, needs: &[Need]) {
    out.extend_from_slice(b"\"needs\":");
    json::list(out, needs, |out, need| json::text(out, &need_name(plan, trees, need)));
}

fn questions(out: &mut Vec<u8>, plan: &Plan, trees: &dyn Trees, case: &Case) {
    answers(out, plan, trees, case);
    out.extend_from_slice(b",\"rests_on\":");
    json::texts(
        out,
        case.rests_on.iter().filter_map(|id| plan.names.get(id.index())).map(|name| &*name.word),
    );
    out.extend_from_slice(b",\"between\":");
    let between = if case.decision.verdict == Verdict::Undecided { &case.decision.choices[..] } else { &[] };
    json::texts(out, between.iter().map(|choice| choice_name(plan, *choice)));
    out.extend_from_slice(b",\"safe\":");
    json::list(out, &case.safe, |out, safe| spray(out, plan, safe));
    out.extend_from_slice(b",\"tasks\":");
    json::texts(out, case.tasks.iter().filter_map(|at| plan.tasks.get(*at)).map(|task| &*task.name));
    out.extend_from_slice(b",\"warnings\":");
    json::texts(out, case.warnings.iter().filter_map(|at| plan.warnings.get(*at)).map(|it| &*it.name));
}

/// Writes a spray as a list of products with their strengths.
pub fn spray(out: &mut Vec<u8>, plan: &Plan, spray: &Spray) {
    json::list(out, spray, |out, (product, strength)| {
        out.extend_from_slice(b"{\"product\":");
        json::text(out, product_name(plan, *product));
        out.extend_from_slice(b",\"strength\":");
        json::text(out, strength_name(plan, *product, *strength));
        out.push(b'}');
    });
}

/// Returns what has to be found out, as a name or as one of the words for what is no name.
pub fn need_name(plan: &Plan, trees: &dyn Trees, need: &Need) -> String {
    let word = |name: &crate::plan::NameId| plan.names.get(name.index()).map_or("", |name| &*name.word);
    match need {
        Need::Name(name) => word(name).to_string(),
        Need::OfTree(name, tree) => format!("{} of {}", word(name), trees.name(*tree)),
        Need::Sprays => "sprays".to_string(),
        Need::Harvest => "harvest".to_string(),
        Need::Weather => "weather".to_string(),
        Need::Sprayer => "sprayer".to_string(),
    }
}

fn products_words(plan: &Plan, products: &[ProductId]) -> String {
    products.iter().map(|product| product_name(plan, *product)).collect::<Vec<_>>().join(" with ")
}

fn product_name(plan: &Plan, product: ProductId) -> &str {
    plan.products.get(product.index()).map_or("", |product| &product.name)
}

fn strength_name(plan: &Plan, product: ProductId, strength: u8) -> &str {
    let product = plan.products.get(product.index());
    product.and_then(|product| product.strengths.get(usize::from(strength))).map_or("", |it| &it.name)
}

fn gate_name(plan: &Plan, gate: GateId) -> &str {
    plan.gates.get(gate.index()).map_or("", |gate| &gate.name)
}

fn choice_name(plan: &Plan, choice: ChoiceId) -> &str {
    plan.choices.get(choice.index()).map_or("", |choice| &choice.name)
}
