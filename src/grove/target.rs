//! What a row of scouting or of the spray log speaks of: a tree, a range, a block, a cultivar of a block, the grove.
//!
//! Comes in: the cell `on`. Goes out: trees by their places in walking order. Knows no values.

use super::block::{Block, unknown_block};
use super::tree::Trees;
use super::trouble::Trouble;
use crate::phrase::{Phrase, said};
use crate::problems::nearest;
use std::cell::Cell;
use std::collections::BTreeMap;

/// What a row speaks of.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, PartialOrd, Ord)]
pub(super) enum Target {
    /// Every tree.
    Grove,
    /// The trees of a block.
    Block(u16),
    /// The trees of a cultivar in a block.
    Cultivar(u16, u32),
    /// From one tree to another in walking order, both counted.
    Range(u32, u32),
    /// One tree.
    Tree(u32),
}

impl Target {
    /// Returns how specific it is; of two rows of one day the more specific counts.
    pub fn rank(self) -> u8 {
        match self {
            Target::Grove => 0,
            Target::Block(_) => 1,
            Target::Cultivar(..) => 2,
            Target::Range(..) => 3,
            Target::Tree(_) => 4,
        }
    }

    /// Goes through its trees.
    pub fn each_tree(self, trees: &Trees, mut each: impl FnMut(usize)) {
        match self {
            Target::Grove => (0..trees.len()).for_each(each),
            Target::Block(block) => {
                (0..trees.len()).filter(|tree| trees.block(*tree) == usize::from(block)).for_each(each);
            }
            Target::Cultivar(block, cultivar) => (0..trees.len())
                .filter(|tree| trees.block(*tree) == usize::from(block))
                .filter(|tree| trees.cultivar_number(*tree) == Some(cultivar as usize))
                .for_each(each),
            Target::Range(first, last) => (first as usize..=last as usize).for_each(each),
            Target::Tree(tree) => each(tree as usize),
        }
    }
}

impl Target {
    /// Returns the words by which the column `on` of a log names it.
    pub fn words(self, trees: &Trees, blocks: &[Block]) -> String {
        let block = |at: u16| blocks.get(usize::from(at)).map_or("", |block| &*block.name);
        match self {
            Target::Grove => "grove".to_string(),
            Target::Block(at) => block(at).to_string(),
            Target::Cultivar(at, cultivar) => {
                let cultivar = trees.cultivar_names().get(cultivar as usize).map_or("", |name| &**name);
                format!("{}/{cultivar}", block(at))
            }
            Target::Range(first, last) => {
                format!("{}-{}", trees.name(first as usize), trees.name(last as usize))
            }
            Target::Tree(tree) => trees.name(tree as usize).to_string(),
        }
    }
}

/// So many gaps of a row are named.
const GAPS: usize = 4;

/// The names that `on` may use.
pub(super) struct Places<'g> {
    trees: &'g Trees,
    blocks: &'g [Block],
    /// So many mistyped names are still compared with every tree's; that is slow in a large grove.
    patience: Cell<u32>,
}

impl<'g> Places<'g> {
    /// Takes the names of a grove.
    pub fn new(trees: &'g Trees, blocks: &'g [Block]) -> Self {
        Self { trees, blocks, patience: Cell::new(2_000_000) }
    }

    /// Reads `on`: one place, or several with `;` or `,` between them.
    pub fn read(&self, text: &str) -> Result<Vec<Target>, Trouble> {
        if text.is_empty() {
            return Err(Trouble::new("the row does not say what it speaks of").help(
                "write a tree, a range `A01-A15`, a block, a block and a cultivar `terrace/Kent`, or `grove`",
            ));
        }
        let whole = self.one(text);
        if let Ok(Some(target)) = whole {
            return Ok(vec![target]);
        }
        let parts: Vec<&str> =
            text.split([';', ',']).map(str::trim).filter(|part| !part.is_empty()).collect();
        if parts.len() < 2 {
            return Err(whole.err().unwrap_or_else(|| self.unknown(text)));
        }
        let mut targets = Vec::new();
        for part in parts {
            let target = self.one(part)?.ok_or_else(|| self.unknown(part))?;
            if !targets.contains(&target) {
                targets.push(target);
            }
        }
        Ok(targets)
    }

    /// Reads one place; nothing where no name fits.
    pub fn one(&self, text: &str) -> Result<Option<Target>, Trouble> {
        if let Some(tree) = self.tree(text) {
            return Ok(Some(Target::Tree(tree)));
        }
        if let Some(block) = self.block(text) {
            return Ok(Some(Target::Block(block)));
        }
        if text.eq_ignore_ascii_case("grove") {
            return Ok(Some(Target::Grove));
        }
        if let Some((block, cultivar)) = text.split_once('/') {
            let (block, cultivar) = (block.trim(), cultivar.trim());
            let number = self.block(block).ok_or_else(|| unknown_block(block, self.blocks))?;
            let found = self.trees.cultivar_names().iter().position(|known| &**known == cultivar);
            let Some(found) = found.and_then(|at| u32::try_from(at).ok()) else {
                let near = nearest(cultivar, self.trees.cultivar_names().iter().map(|name| &**name));
                return Err(Trouble::new(said!("no tree is of the cultivar `{cultivar}`", cultivar))
                    .maybe_help(near.map(|near| said!("did you mean `{block}/{near}`?", block, near))));
            };
            return Ok(Some(Target::Cultivar(number, found)));
        }
        self.range(text)
    }

    fn range(&self, text: &str) -> Result<Option<Target>, Trouble> {
        for (first, last) in ends_of_range(text) {
            let (Some(from), Some(to)) = (self.tree(first), self.tree(last)) else { continue };
            if from > to {
                return Err(Trouble::new(said!("the range `{text}` runs against the walking order", text))
                    .help(said!("write `{last}-{first}`", last, first)));
            }
            return Ok(Some(Target::Range(from, to)));
        }
        Ok(None)
    }

    fn tree(&self, name: &str) -> Option<u32> {
        self.trees.find(name).and_then(|tree| u32::try_from(tree).ok())
    }

    fn block(&self, name: &str) -> Option<u16> {
        let at = self.blocks.iter().position(|block| &*block.name == name)?;
        u16::try_from(at).ok()
    }

    /// Says that no tree or block has this name.
    pub fn unknown(&self, text: &str) -> Trouble {
        if let Some(trouble) = self.missing_of_range(text) {
            return trouble;
        }
        let help = self
            .near(text)
            .map(|near| said!("did you mean `{near}`?", near))
            .or_else(|| self.near_range(text).map(|near| said!("did you mean `{near}`?", near)))
            .unwrap_or_else(|| {
                "write a tree, a range `A01-A15`, a block, a block and a cultivar `terrace/Kent`, or `grove`"
                    .into()
            });
        Trouble::new(said!("there is no tree or block `{text}`", text)).help(help)
    }

    /// Parts what is written under `on` into places that there are and trees that are not in the grove; nothing where
    /// something is neither: a block that does not exist, one end of a range, a name that is one of the grove's but for
    /// capitals, signs and noughts.
    pub fn without_gone<'t>(&self, text: &'t str) -> Option<(Vec<Target>, Vec<&'t str>)> {
        let (mut left, mut gone) = (Vec::new(), Vec::new());
        for part in text.split([';', ',']).map(str::trim).filter(|part| !part.is_empty()) {
            match self.one(part).ok()? {
                Some(target) => left.push(target),
                None if self.is_gone(part) => gone.push(part),
                None => return None,
            }
        }
        Some((left, gone)).filter(|(_, gone)| !gone.is_empty())
    }

    /// Returns whether a name that is none of the grove's may be that of a tree.
    fn is_gone(&self, name: &str) -> bool {
        let like_a_tree = name.bytes().any(|sign| sign.is_ascii_digit()) && !name.contains('/');
        let ends = name.split(['-', '–']).chain(name.split(" to ")).filter(|end| *end != name);
        let half_known = ends.into_iter().any(|end| self.tree(end.trim()).is_some());
        let count = u32::try_from(self.trees.len()).unwrap_or(u32::MAX);
        let Some(rest) = self.patience.get().checked_sub(count) else { return false };
        if !like_a_tree || half_known {
            return false;
        }
        self.patience.set(rest);
        let plain = plain(name);
        !(0..self.trees.len()).any(|tree| self::plain(self.trees.name(tree)) == plain)
    }

    /// Returns the name of a place that is near to a mistyped one.
    pub fn near(&self, text: &str) -> Option<&str> {
        let count = u32::try_from(self.trees.len()).unwrap_or(u32::MAX);
        let left = self.patience.get().checked_sub(count)?;
        self.patience.set(left);
        let length = text.len();
        let trees = (0..self.trees.len()).map(|tree| self.trees.name(tree));
        let alike = trees.filter(|name| name.len().abs_diff(length) <= 1);
        nearest(text, self.blocks.iter().map(|block| &*block.name).chain(["grove"]).chain(alike))
    }

    /// Says which trees of a range there are not: see [`Places::missing_of`].
    pub fn missing_of_range(&self, text: &str) -> Option<Trouble> {
        ends_of_range(text).find_map(|(first, last)| self.missing_of(first, last))
    }

    /// Says which trees from one number of a row to another there are not, and offers those that there are; nothing where
    /// the ends are not of one row, or none is missing.
    pub fn missing_of(&self, first: &str, last: &str) -> Option<Trouble> {
        let ((row, from), (of_last, to)) = (numbered(first)?, numbered(last)?);
        let is_row = |letters: &str| letters.eq_ignore_ascii_case(row);
        let count = u32::try_from(self.trees.len()).unwrap_or(u32::MAX);
        self.patience.set(self.patience.get().checked_sub(count)?);
        let of_tree = |tree: usize| {
            let (letters, number) = numbered(self.trees.name(tree))?;
            is_row(letters).then_some((number, tree))
        };
        let numbers: BTreeMap<u32, usize> = (0..self.trees.len()).filter_map(of_tree).collect();
        let (least, most) = (*numbers.first_key_value()?.1, *numbers.last_key_value()?.1);
        if from > to || !is_row(of_last) {
            return None;
        }
        let known = self.trees.name(least);
        let (letters, _) = numbered(known)?;
        let width = known.len() - letters.len();
        let name = |number: u32| format!("{letters}{number:0width$}");
        let mut missing: Vec<Phrase> = Vec::new();
        let mut next = from;
        let ends = numbers.range(from..=to).map(|(number, _)| *number).chain([to.saturating_add(1)]);
        for number in ends {
            match number.saturating_sub(next) {
                0 => {}
                1 => missing.push(Phrase::from(format!("`{}`", name(next)))),
                _ => {
                    missing.push(said!("`{first}` to `{last}`", first = name(next), last = name(number - 1)))
                }
            }
            next = number.saturating_add(1);
        }
        if missing.is_empty() {
            return None;
        }
        if missing.len() > GAPS {
            missing.truncate(GAPS);
            missing.push("others".into());
        }
        let mut there: Vec<usize> = numbers.range(from..=to).map(|(_, tree)| *tree).collect();
        there.sort_unstable();
        let runs = there.chunk_by(|a, b| a + 1 == *b).filter_map(|run| Some((*run.first()?, *run.last()?)));
        let said = |(first, last): (usize, usize)| match first == last {
            true => self.trees.name(first).to_string(),
            false => format!("{}-{}", self.trees.name(first), self.trees.name(last)),
        };
        let runs: Vec<String> = runs.map(said).collect();
        let help = match runs.is_empty() {
            true => {
                said!("the trees of that row are `{trees}`", trees = said((least.min(most), least.max(most))))
            }
            false => said!("write `{runs}`", runs = runs.join("; ")),
        };
        let missing = missing.into_iter().reduce(|one, other| said!("{one} nor {other}", one, other));
        Some(
            Trouble::new(said!("there is no tree {missing}", missing = missing.unwrap_or_default()))
                .help(help),
        )
    }

    /// Mends one end of a range.
    fn near_range(&self, text: &str) -> Option<String> {
        let (first, last) = text.split_once('-')?;
        let (first, last) = (first.trim(), last.trim());
        let mend = |name: &str| match self.tree(name) {
            Some(_) => Some(name.to_string()),
            None => self.near(name).filter(|near| self.tree(near).is_some()).map(str::to_string),
        };
        let (first, last) = (mend(first)?, mend(last)?);
        (first != last).then(|| format!("{first}-{last}"))
    }
}

/// Returns what stands on both sides of each dash, and of ` to `.
fn ends_of_range(text: &str) -> impl Iterator<Item = (&str, &str)> {
    let dashes = text.match_indices(['-', '–']).map(|(at, dash)| (at, at + dash.len()));
    let words = text.find(" to ").map(|at| (at, at + 4));
    dashes.chain(words).filter_map(|(end, start)| Some((text.get(..end)?.trim(), text.get(start..)?.trim())))
}

/// Returns the letters and the number of a name that ends in one.
fn numbered(name: &str) -> Option<(&str, u32)> {
    let letters = name.trim_end_matches(|sign: char| sign.is_ascii_digit());
    let number = name.get(letters.len()..)?.parse().ok()?;
    (!letters.is_empty()).then_some((letters, number))
}

/// Returns a name without what is easily written otherwise: capitals, signs, and noughts before a number.
fn plain(name: &str) -> String {
    let mut plain = String::new();
    for sign in name.chars().filter(char::is_ascii_alphanumeric) {
        if sign != '0' || plain.ends_with(|before: char| before.is_ascii_digit()) {
            plain.extend(sign.to_lowercase());
        }
    }
    plain
}
