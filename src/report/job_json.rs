//! The tank work of a group in JSON.

use super::page::Ground;
use super::{Group, json};
use crate::advice;
use crate::grove::Grove;
use crate::plan::Plan;
use crate::sprayday::{Job, Mix, MixTrouble, Part, ShownAmount, Work, jobs};
use crate::units::plain;
use crate::words::{Language, Speech, Words};

/// Writes what goes into the tank for a spray on some trees; null where there is no spray, or no amounts are known.
pub fn write_mix(
    out: &mut Vec<u8>,
    plan: &Plan,
    grove: &Grove,
    (spray, trees): (&advice::Spray, &[usize]),
    speech: Speech,
) {
    let jobs = if spray.is_empty() { Ok(Vec::new()) } else { jobs(plan, grove, spray, trees) };
    write_jobs(out, plan, &jobs.unwrap_or_default(), speech);
}

/// Writes as a further key until when people keep out after the spray of a group that begins as its first hours open.
pub fn write_keep_out(
    out: &mut Vec<u8>,
    plan: &Plan,
    ground: &dyn Ground,
    group: &Group,
    case: &advice::Case,
) {
    let products = case.spray.iter().map(|(product, _)| *product);
    let work = ground.work(&case.spray, &group.trees);
    let ahead = advice::keep_out_after(plan, products, &group.hours, work.as_ref().map(Work::takes));
    out.extend_from_slice(b",\"keep_out_until\":");
    json::moment(out, ahead.map(|ahead| ahead.until));
}

fn write_jobs(out: &mut Vec<u8>, plan: &Plan, jobs: &[Job<'_>], speech: Speech) {
    if jobs.is_empty() {
        return out.extend_from_slice(b"null");
    }
    json::list(out, jobs, |out, job| {
        out.extend_from_slice(b"{\"trees\":");
        json::number(out, job.trees.len() as f64);
        out.extend_from_slice(b",\"volume\":");
        volume(out, Some(job.volume), speech);
        out.extend_from_slice(b",\"tank\":");
        volume(out, job.tank, speech);
        out.extend_from_slice(b",\"full_loads\":");
        json::number(out, job.loads.full as f64);
        out.extend_from_slice(b",\"last_load\":");
        volume(out, Some(job.loads.last).filter(|last| *last > 0.0), speech);
        out.extend_from_slice(b",\"products\":");
        json::list(out, &job.parts, |out, part| write_part(out, plan, part));
        out.push(b'}');
    });
}

fn write_part(out: &mut Vec<u8>, plan: &Plan, part: &Part<'_>) {
    let product = plan.products.get(part.product.index());
    let strength = product.and_then(|product| product.strengths.get(usize::from(part.strength)));
    out.extend_from_slice(b"{\"product\":");
    json::text(out, product.map_or("", |product| &product.name));
    out.extend_from_slice(b",\"strength\":");
    json::text(out, strength.map_or("", |strength| &strength.amount.written));
    out.extend_from_slice(b",\"jug\":");
    match part.jug {
        Some(jug) => json::text(out, &jug.name),
        None => out.extend_from_slice(b"null"),
    }
    out.extend_from_slice(b",\"full_load\":");
    amount(out, part.full.as_ref());
    out.extend_from_slice(b",\"last_load\":");
    amount(out, part.last.as_ref());
    let trouble = [&part.full, &part.last].into_iter().flatten().find_map(|made| made.as_ref().err());
    out.extend_from_slice(b",\"trouble\":");
    match trouble {
        Some(trouble) => json::text(out, &english(plan).language.mix_trouble(trouble)),
        None => out.extend_from_slice(b"null"),
    }
    out.push(b'}');
}

/// Returns the words of the JSON forms.
fn english(plan: &Plan) -> Words<'_> {
    Words { language: Language::English, speech: Speech::AsWritten, plan }
}

/// Writes an amount with how a scale shows it; null where there is none.
pub(super) fn amount(out: &mut Vec<u8>, made: Option<&Result<Mix, MixTrouble>>) {
    let Some(Ok(mix)) = made else { return out.extend_from_slice(b"null") };
    out.extend_from_slice(b"{\"value\":");
    json::number(out, mix.amount);
    out.extend_from_slice(b",\"unit\":");
    json::text(out, mix.unit);
    out.extend_from_slice(b",\"shown\":");
    shown_json(out, &mix.shown);
    out.push(b'}');
}

fn volume(out: &mut Vec<u8>, cubic: Option<f64>, speech: Speech) {
    let symbol = match speech {
        Speech::Metric => "L",
        Speech::Us | Speech::AsWritten => "gal",
    };
    match (cubic, plain(symbol)) {
        (Some(cubic), Some(unit)) => {
            out.extend_from_slice(b"{\"value\":");
            json::number(out, unit.amount_from_base(cubic));
            out.extend_from_slice(b",\"unit\":");
            json::text(out, symbol);
            out.push(b'}');
        }
        _ => out.extend_from_slice(b"null"),
    }
}

/// Writes amounts as scale and cup show them, in English.
pub(super) fn shown_json(out: &mut Vec<u8>, shown: &[ShownAmount]) {
    json::list(out, shown, |out, amount| {
        let figure = amount.figure();
        match amount.less_than {
            Some(_) => {
                json::text(out, &Language::English.say("amount.less-than", &[("amount", &figure)]));
            }
            None => json::text(out, &figure),
        }
    });
}
