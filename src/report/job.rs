//! The tank work of one group of trees in sentences.

use crate::plan::Plan;
use crate::sprayday::{Job, Part, limits};
use crate::units::plain;
use crate::words::Speech;

/// Returns a job in sentences: the volume and its loads, then each product with its amounts.
pub fn job_words(plan: &Plan, job: &Job<'_>, speech: Speech) -> Vec<String> {
    let volume = |cubic: f64| volume_words(cubic, speech);
    let each = if job.per_tree.0 == job.per_tree.1 {
        volume(job.per_tree.0)
    } else {
        format!("{} to {}", volume(job.per_tree.0), volume(job.per_tree.1))
    };
    let tank = job.tank.map_or_else(String::new, volume);
    let loads = match (job.loads.full, job.loads.last > 0.0) {
        (0, _) => "in one load".to_string(),
        (1, false) => format!("in one full tank of {tank}"),
        (full, false) => format!("in {full} full tanks of {tank}"),
        (1, true) => format!("in one full tank of {tank} and a last load of {}", volume(job.loads.last)),
        (full, true) => {
            format!("in {full} full tanks of {tank} and a last load of {}", volume(job.loads.last))
        }
    };
    let trees = crate::report::count(job.trees.len());
    let mut said = vec![format!("{trees} at {each}: {} {loads}", volume(job.volume))];
    for part in &job.parts {
        said.extend(part_words(plan, job, part, speech));
    }
    said
}

fn part_words(plan: &Plan, job: &Job<'_>, part: &Part<'_>, speech: Speech) -> Vec<String> {
    let label = plan.products.get(part.product.index()).map_or("", |product| &product.label);
    let Some(jug) = part.jug else {
        return vec![format!("{label}: not in your shed, so no amount; the label of the jug tells")];
    };
    let registration = jug.registration.as_ref().map_or_else(String::new, |number| format!(" ({number})"));
    let mut amounts = Vec::new();
    let mut trouble = None;
    let one_load = job.loads.full == 0;
    let loads =
        [(&part.full, "a full tank"), (&part.last, if one_load { "the load" } else { "the last load" })];
    for (made, which) in loads {
        match made {
            Some(Ok(mix)) => amounts.push(format!("{} for {which}", twice(&mix.shown))),
            Some(Err(error)) => trouble = Some(error.to_string()),
            None => {}
        }
    }
    if let Some(trouble) = trouble {
        return vec![format!("{label} from `{}`{registration}: {trouble}", jug.name)];
    }
    let mix = [&part.full, &part.last].into_iter().flatten().find_map(|made| made.as_ref().ok());
    let limits = mix.map_or_else(Vec::new, |mix| limits(mix, jug, Some(part.product), plan));
    let broken: Vec<&str> =
        limits.iter().filter(|limit| limit.kept == Some(false)).map(|limit| &*limit.written).collect();
    if !broken.is_empty() {
        let words = format!(
            "{label} from `{}`{registration}: DO NOT MIX THIS, it is more than the label allows: {}",
            jug.name,
            broken.join("; ")
        );
        return vec![words];
    }
    if let Some(mix) = mix {
        amounts.push(match speech {
            Speech::Metric => format!("{} for a litre", twice(&mix.per_litre)),
            Speech::Us | Speech::AsWritten => format!("{} for a gallon", twice(&mix.per_gallon)),
        });
    }
    let read = match jug.label_read {
        Some(day) => format!(", label read {}", crate::words::weekday(day)),
        None => ", READ ITS LABEL FIRST: when it was read is not noted".to_string(),
    };
    vec![format!("{label} from `{}`{registration}{read}: {}", jug.name, amounts.join("; "))]
}

/// Returns an amount in its units: `30 g (1.0 oz)`.
pub(crate) fn twice(shown: &[String]) -> String {
    match shown {
        [] => String::new(),
        [one] => one.clone(),
        [first, rest @ ..] => format!("{first} ({})", rest.join(", ")),
    }
}

/// Returns a volume in the grower's unit and in the other: `4 gal (15.1 L)`.
pub fn volume_words(cubic: f64, speech: Speech) -> String {
    let one = |symbol: &str| {
        let number = plain(symbol).map_or(0.0, |unit| unit.amount_from_base(cubic));
        let digits = format!("{number:.2}");
        format!("{} {symbol}", digits.trim_end_matches('0').trim_end_matches('.'))
    };
    match speech {
        Speech::Metric => format!("{} ({})", one("L"), one("gal")),
        Speech::Us | Speech::AsWritten => format!("{} ({})", one("gal"), one("L")),
    }
}
