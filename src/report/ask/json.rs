//! What to look at as JSON, `bloomward.ask/1`.

use super::{Asking, Spot, Stop};
use crate::report::case_json::{DoseEntry, doses, need_name};
use crate::report::json::{self, Day, Moment};
use crate::report::page::asked;
use crate::report::range_json::AnswersEntry;
use serde::Serialize;

/// What to look at: the observations that would change a decision, in walking order.
#[derive(Serialize)]
#[serde(tag = "format", rename = "bloomward.ask/1")]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(in crate::report) struct AskForm<'a> {
    grove: &'a str,
    as_of: Moment,
    /// What settles most; null where nothing is to be looked at.
    first: Option<FirstLook<'a>>,
    /// Days whose rain was only forecast and only the rain gauge can tell.
    gauge: Vec<Day>,
    /// Numbers of sheets of days that are over, of which the spray log says nothing.
    sheets: Vec<u64>,
    /// Trees that are due to be looked at again, though nothing of them is open.
    again: Vec<&'a str>,
    stops: Vec<StopEntry<'a>>,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct FirstLook<'a> {
    need: String,
    /// A tree, a block or `grove`.
    at: &'a str,
    /// So many trees by itself.
    settles: usize,
    /// So many trees want it, with others.
    waiting: usize,
}

/// Trees of which the same is to be found out.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct StopEntry<'a> {
    trees: Vec<&'a str>,
    /// Nobody goes in before, after an earlier spray.
    keep_out_until: Option<Moment>,
    needs: Vec<String>,
    /// The needs, in the same order, in words.
    questions: Vec<String>,
    #[serde(flatten)]
    answers: AnswersEntry,
    /// Sprays that nothing that may be found shuts; whether to spray at all is what the answers say.
    safe: Vec<Vec<DoseEntry<'a>>>,
}

/// Returns the stops of a walk as JSON.
pub fn ask_json(asking: &Asking<'_>, stops: &[Stop<'_>]) -> String {
    let (plan, ground) = (asking.scene.plan, asking.ground);
    let name = |tree: usize| ground.trees.grove.trees.name(tree);
    let first = asking.first(stops).map(|(look, worth)| FirstLook {
        need: need_name(plan, ground, &look.need),
        at: match look.place {
            Spot::Grove => "grove",
            Spot::Block(block) => asking.block(block),
            Spot::Tree(tree) => name(tree),
        },
        settles: worth.alone,
        waiting: worth.waiting,
    });
    let stop = |stop: &Stop<'_>| {
        let needs = stop.case.needs_of(&stop.trees);
        StopEntry {
            trees: stop.trees.iter().map(|tree| name(*tree)).collect(),
            keep_out_until: stop.keep_out_until.map(Moment::from),
            needs: needs.iter().map(|need| need_name(plan, ground, need)).collect(),
            questions: needs.iter().map(|need| asked(&asking.page(), need, true)).collect(),
            answers: AnswersEntry::of(plan, ground, stop.case),
            safe: stop.case.safe.iter().map(|safe| doses(plan, safe)).collect(),
        }
    };
    json::line(&AskForm {
        grove: asking.facts.grove,
        as_of: asking.advice.as_of.into(),
        first,
        gauge: asking.gauge.iter().copied().map(Day::from).collect(),
        sheets: asking.sheets.iter().map(|sheet| sheet.number).collect(),
        again: super::due_again(asking, stops).into_iter().flat_map(|(_, trees)| trees).map(name).collect(),
        stops: stops.iter().map(stop).collect(),
    })
}
