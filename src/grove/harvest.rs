//! When a tree is harvested at the earliest: what is said of it, of its cultivar and block, or of the grove.

use super::Grove;
use super::keys::{self, Keys};
use super::reading::FileReading;
use super::target::{Places, Target};
use super::tree::Trees;
use super::trouble::Trouble;
use super::value;
use super::yaml::{Value, YamlNode};
use crate::phrase::said;
use chrono::NaiveDate;

/// The harvest dates that stand in the grove file, but for those of single trees.
#[derive(Clone, Debug, Default)]
pub(super) struct Harvests {
    targets: Vec<(Target, NaiveDate)>,
    cultivars: Vec<(u32, NaiveDate)>,
}

impl Grove {
    /// Returns the earliest day on which a tree is harvested.
    ///
    /// What is said of the tree goes before what is said of its cultivar in its block; then the earlier of block and
    /// cultivar, since it may be the day on which people eat the fruit; then the grove's.
    pub fn harvest(&self, tree: usize) -> Option<NaiveDate> {
        let block = self.trees.block(tree);
        let cultivar = self.trees.cultivar_number(tree);
        let of = |rank: u8| {
            let holds = |target: &Target| match *target {
                Target::Grove => true,
                Target::Block(at) => usize::from(at) == block,
                Target::Cultivar(at, of) => usize::from(at) == block && Some(of as usize) == cultivar,
                Target::Range(first, last) => (first as usize..=last as usize).contains(&tree),
                Target::Tree(at) => at as usize == tree,
            };
            let mut all =
                self.harvests.targets.iter().filter(|(target, _)| target.rank() == rank && holds(target));
            all.next().map(|(_, date)| *date)
        };
        let of_block = self.block_of(tree).and_then(|block| block.harvest).or_else(|| of(1));
        let of_cultivar = self.harvests.cultivars.iter().find(|(at, _)| Some(*at as usize) == cultivar);
        let earlier = [of_block, of_cultivar.map(|(_, date)| *date)].into_iter().flatten().min();
        let own = self.trees.own_harvest(tree);
        own.or_else(|| of(4)).or_else(|| of(3)).or_else(|| of(2)).or(earlier).or_else(|| of(0))
    }
}

/// Reads the key `harvest`: one day for the grove, or days by tree, block, cultivar, `block/cultivar` and `grove`.
pub(super) fn read(node: &YamlNode, places: &Places, trees: &Trees, reading: &mut FileReading) -> Harvests {
    let mut harvests = Harvests::default();
    if let Value::Text(text) = &node.value {
        let date = reading.keep(value::date(text), node.span);
        harvests.targets.extend(date.map(|date| (Target::Grove, date)));
        return harvests;
    }
    let Some(keys) = Keys::open(node, "the harvest", &mut reading.problems) else { return harvests };
    for (key, node) in keys.rest() {
        let Some(text) = keys::text(node, &key.text, &mut reading.problems) else { continue };
        let date = reading.keep(value::date(text), node.span);
        let Some(targets) = reading.keep(of_what(&key.text, places, trees), key.span) else { continue };
        let Some(date) = date else { continue };
        match targets {
            HarvestOf::Targets(targets) => {
                harvests.targets.extend(targets.into_iter().map(|target| (target, date)))
            }
            HarvestOf::Cultivar(cultivar) => harvests.cultivars.push((cultivar, date)),
        }
    }
    harvests
}

/// Reads the key `cultivars`: a list of what is said of each.
pub(super) fn cultivars(node: &YamlNode, trees: &Trees, harvests: &mut Harvests, reading: &mut FileReading) {
    let Value::List(items) = &node.value else {
        let help = "write one `- { cultivar: Kent, harvest: 2027-06-20 }` on each line";
        reading.error(node.span, "`cultivars` is a list", help);
        return;
    };
    for item in items {
        let Some(mut keys) = Keys::open(item, "a cultivar", &mut reading.problems) else { continue };
        let name = keys.text("cultivar", &mut reading.problems);
        let date = keys.text("harvest", &mut reading.problems);
        keys.refuse_rest(&mut reading.problems);
        let Some((name, at)) = name else {
            reading.error(item.span, "a cultivar has no name", "write `cultivar:` and its name");
            continue;
        };
        let found = reading.keep(cultivar(name, trees), at);
        let date = date.and_then(|(text, at)| reading.keep(value::date(text), at));
        harvests.cultivars.extend(found.zip(date));
    }
}

enum HarvestOf {
    Targets(Vec<Target>),
    Cultivar(u32),
}

fn of_what(key: &str, places: &Places, trees: &Trees) -> Result<HarvestOf, Trouble> {
    match (places.read(key), cultivar(key, trees)) {
        (Ok(targets), _) => Ok(HarvestOf::Targets(targets)),
        (Err(_), Ok(cultivar)) => Ok(HarvestOf::Cultivar(cultivar)),
        (Err(of_place), Err(of_cultivar)) => Err(if of_place.is_sure() { of_place } else { of_cultivar }),
    }
}

/// Returns the number of a cultivar.
pub(super) fn cultivar(name: &str, trees: &Trees) -> Result<u32, Trouble> {
    let names = || trees.cultivar_names().iter().map(|known| &**known);
    let found = names().position(|known| known == name).and_then(|at| u32::try_from(at).ok());
    found.ok_or_else(|| {
        let near = crate::problems::nearest(name, names());
        let help = "write a tree, a block, a cultivar, `terrace/Kent` or `grove`".into();
        Trouble::new(said!("there is no tree, block or cultivar `{name}`", name))
            .help(near.map_or(help, |near| said!("did you mean `{near}`?", near)))
    })
}
