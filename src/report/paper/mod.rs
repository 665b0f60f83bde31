//! Papers: what is carried into the grove, as text of a given width and as a page to print.
//!
//! Comes in: papers made of a few kinds of pieces. Goes out: text, one HTML document with rules for printing, or a PDF, a
//! sheet of paper each. Knows nothing of what stands on them.

mod html;
mod layout;
mod pdf;
mod text;

pub(in crate::report) use html::escaped;
pub use html::html;
pub use pdf::{Printed, SheetSize, pdf};
pub use text::text;

/// One paper.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Paper {
    /// What stands at its top, large.
    pub title: String,
    /// What stands under that.
    pub under: Vec<String>,
    /// What it is made of.
    pub pieces: Vec<Piece>,
}

/// A piece of a paper.
#[derive(Clone, PartialEq, Debug)]
pub enum Piece {
    /// A heading.
    Heading(String),
    /// Texts under a label.
    Field(String, Vec<String>),
    /// Texts under a label that nobody may overlook: the largest words of a printed paper.
    Large(String, Vec<String>),
    /// Lines that are drawn as they are, each sign as wide as the other.
    Drawn(Vec<String>),
    /// A table: its head and its rows, the last column the widest.
    Table(Vec<String>, Vec<Vec<String>>),
    /// Things to be ticked off.
    Boxes(Vec<String>),
    /// Places to write into, each with its label.
    Blanks(Vec<String>),
    /// A paragraph.
    Text(String),
    /// Something with a title of its own and what is said of it, a sentence a line; and more, each under its label, that only a
    /// form which unfolds has.
    Item {
        /// Its title.
        title: String,
        /// What is said of it.
        says: Vec<String>,
        /// What says that there is more, where there is.
        unfold: String,
        /// What there is more.
        more: Vec<(String, Vec<String>)>,
    },
    /// Room between two pieces.
    Gap,
}

impl Paper {
    /// Adds texts under a label, if there are any.
    pub fn field(&mut self, label: &str, texts: Vec<String>) {
        if !texts.is_empty() {
            self.pieces.push(Piece::Field(label.to_string(), texts));
        }
    }
}
