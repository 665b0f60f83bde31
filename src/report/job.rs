//! The tank work of one group of trees: loads of the grower's own sprayer, and what goes into them from the jugs on
//! the shelf.

use crate::advice;
use crate::explain::Speech;
use crate::grove::{Grove, Jug};
use crate::plan::{Amount, Plan, ProductId};
use crate::sprayday::{Loads, Mix, MixTrouble, Spray, Wanted, limits, loads, mix};
use crate::units::{Dimension, clean, plain};

/// Trees that are sprayed out of the same tanks.
#[derive(Clone, Debug)]
pub struct Job<'a> {
    /// How many trees.
    pub trees: usize,
    /// The least and the most spray that one of them takes, in cubic millimetres.
    pub per_tree: (f64, f64),
    /// The spray for all of them, in cubic millimetres.
    pub volume: f64,
    /// What the tank holds, in cubic millimetres, if that is known.
    pub tank: Option<f64>,
    /// Full tanks, and the last load in cubic millimetres.
    pub loads: Loads,
    /// What goes in.
    pub parts: Vec<Part<'a>>,
}

/// One product of a tank.
#[derive(Clone, Debug)]
pub struct Part<'a> {
    /// The product.
    pub product: ProductId,
    /// The place of its strength.
    pub strength: u8,
    /// The jug; nothing where the shed has none of it.
    pub jug: Option<&'a Jug>,
    /// What goes into a full tank, where there is one.
    pub full: Option<Result<Mix, MixTrouble>>,
    /// What goes into the last load, where there is one.
    pub last: Option<Result<Mix, MixTrouble>>,
}

/// Returns the tank work for a spray on some trees, or why there is none.
pub fn jobs<'a>(
    plan: &'a Plan,
    grove: &'a Grove,
    spray: &advice::Spray,
    trees: &[usize],
) -> Result<Vec<Job<'a>>, String> {
    let Some(sprayer) = &grove.sprayer else {
        return Err("no amounts: `sprayer:` is not in grove.yaml".to_string());
    };
    let mut batches: Vec<Batch> = Vec::new();
    for tree in trees {
        let block = grove.block_of(*tree);
        let per_tree = block.and_then(|block| sprayer.volume_per_tree(block));
        let Some(per_tree) = per_tree.filter(|volume| *volume > 0.0) else {
            let block = block.map_or("", |block| &block.name);
            return Err(format!(
                "no amounts: how much spray a tree of block {block} takes is not known; write `per-tree` of the sprayer"
            ));
        };
        let per_area = block.and_then(|block| sprayer.volume_per_area(block));
        match batches.iter_mut().find(|it| it.per_tree == (per_tree, per_tree) && it.per_area == per_area) {
            Some(batch) => batch.trees += 1,
            None => batches.push(Batch { trees: 1, per_tree: (per_tree, per_tree), per_area, volume: 0.0 }),
        }
    }
    batches.iter_mut().for_each(|batch| batch.volume = clean(batch.per_tree.0 * batch.trees as f64));
    let amounts = || spray.iter().filter_map(|(product, strength)| amount(plan, *product, *strength));
    let by_volume =
        |amount: &Amount| matches!(amount.unit.dimension, Dimension::CONCENTRATION | Dimension::NONE);
    if amounts().all(by_volume) {
        batches = batches.into_iter().reduce(Batch::with).into_iter().collect();
    }
    Ok(batches.iter().map(|batch| batch.job(plan, grove, spray, sprayer.tank)).collect())
}

/// Trees that take spray of one strength.
struct Batch {
    trees: usize,
    per_tree: (f64, f64),
    per_area: Option<f64>,
    volume: f64,
}

impl Batch {
    fn with(self, other: Self) -> Self {
        Self {
            trees: self.trees + other.trees,
            per_tree: (self.per_tree.0.min(other.per_tree.0), self.per_tree.1.max(other.per_tree.1)),
            per_area: self.per_area.filter(|area| Some(*area) == other.per_area),
            volume: clean(self.volume + other.volume),
        }
    }

    fn job<'a>(&self, plan: &'a Plan, grove: &'a Grove, spray: &advice::Spray, tank: Option<f64>) -> Job<'a> {
        let loads = loads(self.volume, tank.unwrap_or(self.volume));
        let full = tank.filter(|_| loads.full > 0);
        let (loads, last) = match (tank, full) {
            (None, _) => (Loads { full: 0, last: self.volume }, Some(self.volume)),
            (Some(_), _) => (loads, Some(loads.last).filter(|last| *last > 0.0)),
        };
        let per_tree = Some(self.per_tree.0).filter(|one| *one == self.per_tree.1);
        let of = |volume: f64| Spray { volume, per_area: self.per_area, per_tree };
        let part = |(product, strength): &(ProductId, u8)| {
            let jug = grove.jug(*product);
            let wanted = amount(plan, *product, *strength).map(|amount| {
                let contains = plan.products.get(product.index()).and_then(|it| it.contains.as_ref());
                Wanted::of_plan(amount, contains)
            });
            let made = |volume: Option<f64>| Some(mix(jug?, wanted.as_ref()?, &of(volume?)));
            Part { product: *product, strength: *strength, jug, full: made(full), last: made(last) }
        };
        Job {
            trees: self.trees,
            per_tree: self.per_tree,
            volume: self.volume,
            tank,
            loads,
            parts: spray.iter().map(part).collect(),
        }
    }
}

fn amount(plan: &Plan, product: ProductId, strength: u8) -> Option<&Amount> {
    let product = plan.products.get(product.index())?;
    product.strengths.get(usize::from(strength)).map(|strength| &strength.amount)
}

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
    let trees = crate::report::count(job.trees);
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
    if let Some(mix) = mix {
        amounts.push(match speech {
            Speech::Metric => format!("{} for a litre", twice(&mix.per_litre)),
            Speech::Us | Speech::AsWritten => format!("{} for a gallon", twice(&mix.per_gallon)),
        });
    }
    let read = match jug.label_read {
        Some(day) => format!(", label read {}", crate::explain::weekday(day)),
        None => ", READ ITS LABEL FIRST: when it was read is not noted".to_string(),
    };
    let mut said = vec![format!("{label} from `{}`{registration}{read}: {}", jug.name, amounts.join("; "))];
    let broken = mix.map_or_else(Vec::new, |mix| limits(mix, jug, Some(part.product), plan));
    said.extend(
        broken
            .iter()
            .filter(|limit| limit.kept == Some(false))
            .map(|limit| format!("{label}: this is MORE THAN THE LABEL ALLOWS, {}", limit.written)),
    );
    said
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
