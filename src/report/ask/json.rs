//! What to look at as JSON, `bloomward.ask/1`.

use super::{Asking, Spot, Stop};
use crate::report::case_json::{need_name, spray};
use crate::report::json;
use crate::report::page::asked;
use crate::report::range_json::answers;

/// Returns the stops of a walk as JSON.
pub fn ask_json(asking: &Asking<'_>, stops: &[Stop<'_>]) -> String {
    let mut out = Vec::new();
    let plan = asking.scene.plan;
    out.extend_from_slice(b"{\"format\":\"bloomward.ask/1\",\"grove\":");
    json::text(&mut out, asking.facts.grove);
    out.extend_from_slice(b",\"as_of\":");
    json::moment(&mut out, Some(asking.advice.as_of));
    out.extend_from_slice(b",\"first\":");
    match asking.first(stops) {
        None => out.extend_from_slice(b"null"),
        Some((look, worth)) => {
            out.extend_from_slice(b"{\"need\":");
            json::text(&mut out, &need_name(plan, asking.ground, &look.need));
            out.extend_from_slice(b",\"at\":");
            let at = match look.place {
                Spot::Grove => "grove",
                Spot::Block(block) => asking.block(block),
                Spot::Tree(tree) => asking.ground.trees.grove.trees.name(tree),
            };
            json::text(&mut out, at);
            out.extend_from_slice(b",\"settles\":");
            json::number(&mut out, worth.alone as f64);
            out.extend_from_slice(b",\"waiting\":");
            json::number(&mut out, worth.waiting as f64);
            out.push(b'}');
        }
    }
    let days: Vec<String> = asking.gauge.iter().map(ToString::to_string).collect();
    out.extend_from_slice(b",\"gauge\":");
    json::texts(&mut out, days.iter().map(String::as_str));
    out.extend_from_slice(b",\"stops\":");
    json::list(&mut out, stops, |out, stop| {
        out.extend_from_slice(b"{\"trees\":");
        json::texts(out, stop.trees.iter().map(|tree| asking.ground.trees.grove.trees.name(*tree)));
        out.extend_from_slice(b",\"keep_out_until\":");
        json::moment(out, stop.keep_out_until);
        out.extend_from_slice(b",\"needs\":");
        let needs = stop.case.needs_of(&stop.trees);
        json::list(out, &needs, |out, need| json::text(out, &need_name(plan, asking.ground, need)));
        out.extend_from_slice(b",\"questions\":");
        json::list(out, &needs, |out, need| json::text(out, &asked(&asking.page(), need, true)));
        answers(out, plan, asking.ground, stop.case);
        out.extend_from_slice(b",\"safe\":");
        json::list(out, &stop.case.safe, |out, safe| spray(out, plan, safe));
        out.push(b'}');
    });
    out.extend_from_slice(b"}\n");
    String::from_utf8_lossy(&out).into_owned()
}
