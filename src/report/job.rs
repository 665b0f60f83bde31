//! The tank work of one group of trees in sentences.

use crate::labels::single_limits;
use crate::sprayday::{Job, Mix, TankPart};
use crate::words::{Speech, Words};

/// Returns a job in sentences: the volume and its loads, then each product with its amounts.
pub fn job_words(job: &Job<'_>, words: Words<'_>) -> Vec<String> {
    let volume = |cubic: f64| words.volume(cubic);
    let (least, most) = (volume(job.per_tree.0), volume(job.per_tree.1));
    let each = if job.per_tree.0 == job.per_tree.1 {
        least
    } else {
        words.say("value.span", &[("low", &least), ("high", &most)])
    };
    let loads = loads_words(job, words);
    let trees = words.language.trees(job.trees.len());
    let places = [("trees", &*trees), ("each", &each), ("loads", &loads)];
    let mut said = vec![words.say("tank.trees", &places)];
    said.extend(job.parts.iter().map(|part| part_words(job, part, words)));
    said
}

/// Says into how many loads the spray of a job goes.
pub fn loads_words(job: &Job<'_>, words: Words<'_>) -> String {
    let key = match (job.loads.full, job.loads.last > 0.0) {
        (0, _) => "tank.one-load",
        (1, false) => "tank.one-full",
        (_, false) => "tank.full",
        (1, true) => "tank.one-full.last",
        (_, true) => "tank.full.last",
    };
    let volume = |cubic: f64| words.volume(cubic);
    let (tank, count) = (job.tank.map_or_else(String::new, volume), job.loads.full.to_string());
    let places = [("tank", &*tank), ("count", &count), ("last", &volume(job.loads.last))];
    let loads = words.say(key, &places);
    words.say("tank.volume", &[("volume", &volume(job.volume)), ("loads", &loads)])
}

/// Says how much of a product goes into each load; where that is not known, or more than its label allows, all that is said of
/// it elsewhere.
pub fn part_words_short(job: &Job<'_>, part: &TankPart<'_>, words: Words<'_>) -> String {
    if part.jug.is_none() {
        return part_words(job, part, words);
    }
    let last = if job.loads.full == 0 { "tank.short.load" } else { "tank.short.last" };
    let mut amounts = Vec::new();
    for (load, key) in [(&part.full, "tank.short.full"), (&part.last, last)] {
        match load {
            Some(Ok(mix)) => {
                let kept = part.jug.is_some_and(|jug| {
                    single_limits(words.plan, Some(part.product), jug, mix.of_jug)
                        .iter()
                        .all(|it| it.kept != Some(false))
                });
                if !kept {
                    return part_words(job, part, words);
                }
                amounts.push(words.say(key, &[("amount", &words.amount(&mix.shown))]));
            }
            Some(Err(_)) => return part_words(job, part, words),
            None => {}
        }
    }
    let places = [("product", &*words.product(part.product)), ("amounts", &*amounts.join(", "))];
    words.say("tank.short", &places)
}

fn part_words(job: &Job<'_>, part: &TankPart<'_>, words: Words<'_>) -> String {
    let product = words.product(part.product);
    let Some(jug) = part.jug else { return words.say("tank.jug.none", &[("product", &product)]) };
    let named = match &jug.registration {
        Some(number) => {
            let places = [("product", &*product), ("name", &*jug.name), ("registration", number)];
            words.say("tank.jug.registered", &places)
        }
        None => words.say("tank.jug", &[("product", &product), ("name", &jug.name)]),
    };
    let of_jug = |key: &str, place: (&str, &str)| words.say(key, &[("jug", &named), place]);
    let last = if job.loads.full == 0 { "tank.for.load" } else { "tank.for.last" };
    let mut amounts = Vec::new();
    let mut made: Option<&Mix> = None;
    for (load, key) in [(&part.full, "tank.for.full"), (&part.last, last)] {
        match load {
            Some(Ok(mix)) => {
                amounts.push(words.say(key, &[("amount", &words.amount(&mix.shown))]));
                made = made.or(Some(mix));
            }
            Some(Err(trouble)) => return of_jug("tank.part", ("what", &words.language.mix_trouble(trouble))),
            None => {}
        }
    }
    let limits = made.map(|mix| single_limits(words.plan, Some(part.product), jug, mix.of_jug));
    let broken = limits.iter().flatten().filter(|limit| limit.kept == Some(false));
    let broken: Vec<String> = broken.map(|limit| words.label_line(limit.word, &limit.limit)).collect();
    if !broken.is_empty() {
        return of_jug("tank.part.too-much", ("limits", &broken.join("; ")));
    }
    amounts.extend(made.map(|mix| match words.speech {
        Speech::Metric => words.say("tank.for.liter", &[("amount", &words.amount(&mix.per_litre))]),
        Speech::Us | Speech::AsWritten | Speech::Both => {
            words.say("tank.for.gallon", &[("amount", &words.amount(&mix.per_gallon))])
        }
    }));
    let places = [("jug", &*named), ("read", &words.label_read(jug)), ("amounts", &amounts.join("; "))];
    words.say("tank.part.read", &places)
}
