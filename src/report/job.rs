//! The tank work of one group of trees in sentences.

use crate::sprayday::{Job, Part, limits};
use crate::units::plain;
use crate::words::{Speech, Words};

/// Returns a job in sentences: the volume and its loads, then each product with its amounts.
pub fn job_words(words: Words<'_>, job: &Job<'_>) -> Vec<String> {
    let volume = |cubic: f64| volume_words(cubic, words.speech);
    let (least, most) = job.per_tree;
    let each = if least == most {
        volume(least)
    } else {
        words.say("value.span", &[("low", &volume(least)), ("high", &volume(most))])
    };
    let tank = job.tank.map_or_else(String::new, volume);
    let tanks = || words.language.counted("mix.tanks", job.loads.full as i64, &[("tank", &tank)]);
    let loads = match (job.loads.full, job.loads.last > 0.0) {
        (0, _) => words.say("mix.one-load", &[]),
        (_, false) => tanks(),
        (_, true) => words.say("mix.last", &[("tanks", &tanks()), ("last", &volume(job.loads.last))]),
    };
    let (trees, all) = (words.language.trees(job.trees.len()), volume(job.volume));
    let places = [("trees", &*trees), ("each", &each), ("volume", &all), ("loads", &loads)];
    let mut said = vec![words.say("mix.job", &places)];
    said.extend(job.parts.iter().map(|part| part_words(words, job, part)));
    said
}

fn part_words(words: Words<'_>, job: &Job<'_>, part: &Part<'_>) -> String {
    let product = words.product(part.product);
    let Some(jug) = part.jug else { return words.say("mix.jug.none", &[("product", &product)]) };
    let named = match &jug.registration {
        Some(number) => {
            let places = [("product", &*product), ("jug", &jug.name), ("registration", number)];
            words.say("mix.jug.registered", &places)
        }
        None => words.say("mix.jug", &[("product", &product), ("jug", &jug.name)]),
    };
    let of_jug = |key: &str, place: &str, what: &str| words.say(key, &[("jug", &named), (place, what)]);
    let of = |key: &str, shown: &[String]| words.say(key, &[("amount", &twice(shown))]);
    let last = if job.loads.full == 0 { "mix.for.load" } else { "mix.for.last" };
    let mut amounts = Vec::new();
    for (made, key) in [(&part.full, "mix.for.tank"), (&part.last, last)] {
        match made {
            Some(Ok(mix)) => amounts.push(of(key, &mix.shown)),
            Some(Err(trouble)) => {
                return of_jug("mix.jug.trouble", "why", &words.language.mix_trouble(trouble));
            }
            None => {}
        }
    }
    if let Some(mix) = [&part.full, &part.last].into_iter().flatten().find_map(|made| made.as_ref().ok()) {
        let limits = limits(mix, jug, Some(part.product), words.plan);
        let broken = limits.iter().filter(|limit| limit.kept == Some(false));
        let broken: Vec<String> = broken.map(|limit| format!("`{}`", limit.written)).collect();
        if !broken.is_empty() {
            return of_jug("mix.jug.broken", "limits", &broken.join("; "));
        }
        amounts.push(match words.speech {
            Speech::Metric => of("mix.for.liter", &mix.per_litre),
            Speech::Us | Speech::AsWritten => of("mix.for.gallon", &mix.per_gallon),
        });
    }
    let amounts = amounts.join("; ");
    match jug.label_read {
        Some(day) => {
            let places = [("jug", &*named), ("day", &words.day(day)), ("amounts", &amounts)];
            words.say("mix.jug.read", &places)
        }
        None => of_jug("mix.jug.unread", "amounts", &amounts),
    }
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
    amounts.extend(made.map(|mix| match words.speech {
        Speech::Metric => words.say("tank.for.liter", &[("amount", &words.amount(&mix.per_litre))]),
        Speech::Us | Speech::AsWritten => {
            words.say("tank.for.gallon", &[("amount", &words.amount(&mix.per_gallon))])
        }
    }));
    let places = [("jug", &*named), ("read", &words.label_read(jug)), ("amounts", &amounts.join("; "))];
    words.say("tank.part.read", &places)
}
