//! What all trees of a case share, made once: the parts of a tree's entry.

use super::advice_json::Trees;
use super::json::WindowEntry;
use super::range_json::AnswersEntry;
use crate::advice::{Case, Hours, Need, Spray, Window};
use crate::plan::{ChoiceId, GateId, NameId, Plan, ProductId};
use crate::trace::{Shutter, Verdict};
use serde::Serialize;

/// One product of a spray.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct DoseEntry<'a> {
    product: &'a str,
    strength: &'a str,
}

/// What to do.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct DecisionEntry<'a> {
    #[cfg_attr(test, schemars(extend("enum" = ["spray", "hold", "look", "undecided", "uncovered"])))]
    verdict: &'static str,
    /// Of a hold only. `advised-or-all-shut`: what is not known decides which of both; a hold it is either way.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, schemars(extend("enum" = ["advised", "all-shut", "advised-or-all-shut"])))]
    because: Option<&'static str>,
    spray: Vec<DoseEntry<'a>>,
}

/// What was decided, and what gates rule out.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct OutcomeEntry<'a> {
    #[serde(flatten)]
    decision: DecisionEntry<'a>,
    choice: Option<&'a str>,
    choices: Vec<&'a str>,
    shut: Vec<ShutEntry<&'a str>>,
    /// Where all is shut: what no one gate certainly shuts, with the gates of which one does whatever is found.
    shut_between: Vec<ShutEntry<Vec<&'a str>>>,
    held: Vec<HeldEntry<'a>>,
}

#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(inline))]
struct ShutEntry<By> {
    product: String,
    by: By,
}

#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct HeldEntry<'a> {
    product: &'a str,
    to: &'a str,
    by: &'a str,
}

/// When to spray.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct HoursEntry<'a> {
    windows: Vec<WindowEntry>,
    short_windows: Vec<ShortWindow>,
    not_checked: Vec<NotChecked<'a>>,
    compromise: Option<CompromiseEntry<'a>>,
}

/// An open piece that is shorter than the guide's window, with its minutes.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct ShortWindow {
    #[serde(flatten)]
    window: WindowEntry,
    minutes: i64,
}

/// Hours that could not be checked, with the gates that need what is not known.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct NotChecked<'a> {
    #[serde(flatten)]
    window: WindowEntry,
    by: Vec<&'a str>,
}

/// The best hours where none are open, with the gates that they break.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct CompromiseEntry<'a> {
    #[serde(flatten)]
    window: WindowEntry,
    breaks: Vec<&'a str>,
}

/// What is open, and what holds all the same.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct OpenEntry<'a> {
    #[serde(flatten)]
    answers: AnswersEntry,
    /// Names that nobody saw, and without whose assumed value the verdict might be another.
    rests_on: Vec<&'a str>,
    between: Vec<&'a str>,
    /// Sprays that nothing that may be found shuts; whether to spray at all is what the answers say.
    safe: Vec<Vec<DoseEntry<'a>>>,
    tasks: Vec<&'a str>,
    warnings: Vec<&'a str>,
}

impl<'a> DecisionEntry<'a> {
    pub(super) fn of(plan: &'a Plan, case: &Case) -> Self {
        let verdict = &case.decision.verdict;
        let because = match verdict {
            Verdict::Hold if case.shut_in_some => Some("advised-or-all-shut"),
            Verdict::Hold => Some("advised"),
            Verdict::AllShut => Some("all-shut"),
            Verdict::Spray(_) | Verdict::Look | Verdict::Undecided | Verdict::Uncovered => None,
        };
        Self { verdict: verdict.word(), because, spray: doses(plan, &case.spray) }
    }
}

impl<'a> OutcomeEntry<'a> {
    pub(super) fn of(plan: &'a Plan, case: &Case) -> Self {
        let choices = choices(plan, &case.decision.choices);
        let by = |shutter: &Shutter| match shutter {
            Shutter::Gate(gate) => &*plan[*gate].name,
            Shutter::Certified => "certified organic",
        };
        let products = |products: &[ProductId]| {
            products.iter().map(|product| &*plan[*product].name).collect::<Vec<_>>().join(" with ")
        };
        let shut = case.shut.iter();
        let shut_between = case.shut_between.iter();
        let held = case.held.iter().map(|(product, strength, gate)| {
            let DoseEntry { product, strength: to } = dose(plan, &(*product, *strength));
            HeldEntry { product, to, by: &plan[*gate].name }
        });
        Self {
            decision: DecisionEntry::of(plan, case),
            choice: choices.first().copied(),
            choices,
            shut: shut.map(|(of, shutter)| ShutEntry { product: products(of), by: by(shutter) }).collect(),
            shut_between: shut_between
                .map(|(of, by)| ShutEntry { product: products(of), by: gates(plan, by) })
                .collect(),
            held: held.collect(),
        }
    }
}

impl<'a> HoursEntry<'a> {
    pub(super) fn of(plan: &'a Plan, hours: &Hours) -> Self {
        let not_checked = hours.not_checked.iter();
        let compromise = hours.compromise.as_ref();
        Self {
            windows: windows(hours),
            short_windows: short_windows(hours),
            not_checked: not_checked
                .map(|(window, by)| NotChecked { window: window.into(), by: gates(plan, by) })
                .collect(),
            compromise: compromise.map(|(window, gates_broken)| CompromiseEntry {
                window: window.into(),
                breaks: gates(plan, gates_broken),
            }),
        }
    }
}

impl<'a> OpenEntry<'a> {
    pub(super) fn of(plan: &'a Plan, trees: &dyn Trees, case: &Case) -> Self {
        let undecided = case.decision.verdict == Verdict::Undecided;
        Self {
            answers: AnswersEntry::of(plan, trees, case),
            rests_on: case.rests_on.iter().map(|id| &*plan[*id].word).collect(),
            between: if undecided { choices(plan, &case.decision.choices) } else { Vec::new() },
            safe: case.safe.iter().map(|safe| doses(plan, safe)).collect(),
            tasks: case.tasks.iter().filter_map(|at| plan.tasks.get(*at)).map(|it| &*it.name).collect(),
            warnings: case
                .warnings
                .iter()
                .filter_map(|at| plan.warnings.get(*at))
                .map(|it| &*it.name)
                .collect(),
        }
    }
}

/// Returns the open windows.
pub(super) fn windows(hours: &Hours) -> Vec<WindowEntry> {
    hours.windows.iter().map(WindowEntry::from).collect()
}

/// Returns the open pieces that are shorter than the guide asks for.
pub(super) fn short_windows(hours: &Hours) -> Vec<ShortWindow> {
    let minutes = |window: &Window| (window.to - window.from).num_minutes();
    hours.short.iter().map(|it| ShortWindow { window: it.into(), minutes: minutes(it) }).collect()
}

/// Returns the products of a spray with their strengths.
pub fn doses<'a>(plan: &'a Plan, spray: &Spray) -> Vec<DoseEntry<'a>> {
    spray.iter().map(|it| dose(plan, it)).collect()
}

fn dose<'a>(plan: &'a Plan, (product, strength): &(ProductId, u8)) -> DoseEntry<'a> {
    let product = &plan[*product];
    let strength = product.strengths.get(usize::from(*strength)).map_or("", |it| &it.name);
    DoseEntry { product: &product.name, strength }
}

fn gates<'a>(plan: &'a Plan, gates: &[GateId]) -> Vec<&'a str> {
    gates.iter().map(|gate| &*plan[*gate].name).collect()
}

fn choices<'a>(plan: &'a Plan, choices: &[ChoiceId]) -> Vec<&'a str> {
    choices.iter().map(|choice| &*plan[*choice].name).collect()
}

/// Returns what has to be found out, as a name or as one of the words for what is no name.
pub fn need_name(plan: &Plan, trees: &dyn Trees, need: &Need) -> String {
    let word = |name: &NameId| plan[*name].word.to_string();
    match need {
        Need::Name(name) => word(name),
        Need::OfTree(name, tree) => format!("{} of {}", word(name), trees.name(*tree)),
        Need::Sprays => "sprays".to_string(),
        Need::Harvest => "harvest".to_string(),
        Need::Weather => "weather".to_string(),
        Need::Sprayer => "sprayer".to_string(),
    }
}
