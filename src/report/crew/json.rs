//! The day's rounds as JSON, `bloomward.sprayday/1`.

use super::Crew;
use crate::report::job_json::amount;
use crate::report::json;
use crate::sprayday::{Ground, Job, KeptSheet, Round};
use crate::units::plain;

/// Returns the rounds of a day as JSON, each with what is kept of its sheet.
pub fn crew_json(crew: &Crew<'_>, kept: &[KeptSheet]) -> String {
    let mut out = Vec::new();
    out.extend_from_slice(b"{\"format\":\"bloomward.sprayday/1\",\"grove\":");
    json::text(&mut out, crew.facts.grove);
    out.extend_from_slice(b",\"as_of\":");
    json::moment(&mut out, Some(crew.advice.as_of));
    out.extend_from_slice(b",\"rain_from\":");
    json::moment(&mut out, crew.day.rain);
    out.extend_from_slice(b",\"sheets\":");
    let rounds = crew.day.rounds.iter().zip(kept).enumerate();
    json::list(&mut out, rounds, |out, (at, (round, kept))| {
        sheet(crew, out, crew.numbers.get(at).copied(), (round, kept));
    });
    out.extend_from_slice(b",\"one_tank\":");
    one_tank(crew, &mut out);
    out.extend_from_slice(b",\"look\":");
    names(crew, &mut out, &crew.day.look);
    out.extend_from_slice(b",\"not_sprayed\":");
    names(crew, &mut out, &crew.day.not_sprayed);
    out.extend_from_slice(b"}\n");
    String::from_utf8_lossy(&out).into_owned()
}

fn sheet(crew: &Crew<'_>, out: &mut Vec<u8>, number: Option<u64>, (round, kept): (&Round<'_>, &KeptSheet)) {
    out.extend_from_slice(b"{\"number\":");
    match number {
        Some(number) => json::number(out, number as f64),
        None => out.extend_from_slice(b"null"),
    }
    for key in ["day", "product", "jug", "registration", "strength", "rate", "volume", "area", "target"] {
        out.push(b',');
        json::key(out, key);
        match kept.value(key) {
            Some(value) => json::text(out, value),
            None => out.extend_from_slice(b"null"),
        }
    }
    out.extend_from_slice(b",\"trees\":");
    names(crew, out, &round.trees);
    out.extend_from_slice(b",\"ground\":");
    let ground = match round.planned.ground {
        Ground::Open => "open",
        Ground::Compromise { .. } => "compromise",
        Ground::Unknown => "unknown",
        // No load fits into what is open.
        Ground::Short | Ground::Nothing => "none",
    };
    json::text(out, ground);
    out.extend_from_slice(b",\"stretches\":");
    json::list(out, &round.planned.stretches, |out, stretch| {
        out.extend_from_slice(b"{\"from\":");
        json::moment(out, Some(stretch.from));
        out.extend_from_slice(b",\"to\":");
        json::moment(out, stretch.to);
        out.extend_from_slice(b",\"loads\":");
        json::number(out, stretch.loads as f64);
        out.push(b'}');
    });
    out.extend_from_slice(b",\"loads_without_hours\":");
    json::number(out, round.planned.unfitted as f64);
    out.extend_from_slice(b",\"loads\":");
    loads(crew, out, round);
    out.extend_from_slice(b",\"keep_out_until\":");
    json::moment(out, round.keep_out_until);
    out.extend_from_slice(b",\"pick_not_before\":");
    json::day(out, round.pick_not_before);
    out.push(b'}');
}

fn loads(crew: &Crew<'_>, out: &mut Vec<u8>, round: &Round<'_>) {
    let Ok(job) = &round.job else { return out.extend_from_slice(b"[]") };
    let symbol = if crew.scene.speech == crate::words::Speech::Metric { "L" } else { "gal" };
    json::list(out, round.loads.iter().enumerate(), |out, (at, load)| {
        out.extend_from_slice(b"{\"volume\":{\"value\":");
        json::number(out, plain(symbol).map_or(0.0, |unit| unit.amount_from_base(load.volume)));
        out.extend_from_slice(b",\"unit\":");
        json::text(out, symbol);
        out.extend_from_slice(b"},\"amounts\":");
        amounts(out, job, (at as u64) < job.loads.full);
        out.extend_from_slice(b",\"trees\":");
        names(crew, out, &load.trees);
        out.push(b'}');
    });
}

fn amounts(out: &mut Vec<u8>, job: &Job<'_>, is_full: bool) {
    json::list(out, &job.parts, |out, part| {
        amount(out, if is_full { part.full.as_ref() } else { part.last.as_ref() });
    });
}

fn one_tank(crew: &Crew<'_>, out: &mut Vec<u8>) {
    let plan = crew.scene.plan;
    json::list(out, &crew.day.one_tank, |out, tank| {
        out.extend_from_slice(b"{\"spray\":");
        json::text(out, &crate::trace::doses_in_words(plan, &tank.spray));
        out.extend_from_slice(b",\"allowed\":");
        names(crew, out, &tank.allowed);
        out.extend_from_slice(b",\"left_out\":");
        names(crew, out, &tank.left_out);
        out.extend_from_slice(b",\"unguarded\":");
        json::list(out, &tank.unguarded, |out, (disease, trees)| {
            out.extend_from_slice(b"{\"disease\":");
            json::text(out, plan.diseases.get(disease.index()).map_or("", |disease| &disease.name));
            out.extend_from_slice(b",\"trees\":");
            names(crew, out, trees);
            out.push(b'}');
        });
        out.extend_from_slice(b",\"needless\":");
        names(crew, out, &tank.needless);
        out.push(b'}');
    });
}

fn names(crew: &Crew<'_>, out: &mut Vec<u8>, trees: &[usize]) {
    json::texts(out, trees.iter().map(|tree| crew.ground.trees.grove.trees.name(*tree)));
}
