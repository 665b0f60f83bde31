//! What is known of one tree itself, as far as its measures ask for it.

use super::{History, Reading, WorldInput};
use crate::plan::{Counted, DosePer, NameId, ProductId, Sprayed, TextId};
use chrono::NaiveDate;

/// What is known of one tree itself.
pub trait Facts {
    /// Returns what was seen of a tree, its block or the grove, unknown where that is too old or was never seen.
    fn seen(&self, name: NameId) -> Reading;

    /// Returns the share of each group of panicles; one group without a share where the tree has none of its own.
    fn groups(&self) -> Vec<Option<f64>>;

    /// Returns what was seen of a group of panicles.
    fn seen_in_group(&self, group: usize, name: NameId) -> Reading;

    /// Returns the sample that was seen at a leaf.
    fn sample(&self, leaf: WorldInput) -> Option<(u32, u32)>;

    /// Returns the cultivar, nothing where it is not written down.
    fn cultivar(&self) -> Option<TextId>;

    /// Returns the block.
    fn block(&self) -> TextId;

    /// Returns the tree's own past.
    fn history(&self) -> &dyn History;

    /// Returns the number of sprays in a row that were of one kind.
    fn sprays_in_a_row(&self, of: &Sprayed) -> Reading;

    /// Returns the number of sprays over a time.
    fn sprays(&self, of: &Sprayed, over: Counted) -> Reading;

    /// Returns the amount of an ingredient over a time, as a mass on an area.
    fn amount(&self, ingredient: &str, over: Counted) -> Reading;

    /// Returns the amount of a product itself over a time, as a mass or a volume on an area.
    fn amount_of_product(&self, product: ProductId, over: Counted) -> Reading;

    /// Returns the harvest date.
    fn harvest(&self) -> Option<NaiveDate>;

    /// Returns how much of an ingredient, or of the product itself, a strength of a product brings on an area, or into a volume
    /// of spray.
    fn dose(&self, strength: (ProductId, u8), ingredient: Option<&str>, per: DosePer) -> Option<f64>;

    /// Returns of a measure over trees how many other trees certainly count, how many more may, and how many trees
    /// there are, this one among them.
    fn others(&self, name: NameId) -> Option<(f64, f64, f64)>;
}
