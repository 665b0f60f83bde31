//! The printed guide: a rulebook as a bulletin, complete, in the order in which a grower asks.
//!
//! Comes in: a rulebook's plan, its texts, in which words. Goes out: one paper. Every choice, gate, product, label line,
//! caution, task, table and source of the plan stands on it; nothing is decided here.

mod doing;
mod grading;
mod products;
mod sources;

use super::paper::{Paper, Piece};
use crate::plan::Plan;
use crate::source::Sources;
use crate::words::Words;

/// All that a bulletin is made from.
#[derive(Clone, Copy)]
pub struct Bulletin<'a> {
    /// In which words it is said.
    pub words: Words<'a>,
    /// The texts that spans of the plan point into.
    pub sources: &'a Sources,
}

impl Bulletin<'_> {
    /// Returns the bulletin as a paper.
    pub fn paper(&self) -> Paper {
        let parts = [
            ("guide.cautions", self.cautions()),
            ("guide.look", self.looks()),
            ("guide.do", self.choices()),
            ("guide.not", self.gates()),
            ("guide.hours", self.hours()),
            ("guide.products", self.products()),
            ("guide.tank", self.tanks()),
            ("guide.other", self.other_work()),
            ("guide.grades", self.grades()),
            ("guide.tables", self.tables()),
            ("guide.meaning", self.meanings()),
            ("guide.promises", self.promises()),
            ("guide.sources", self.cited()),
        ];
        let parts = parts.into_iter().filter(|(_, pieces)| !pieces.is_empty());
        let parts: Vec<(String, Vec<Piece>)> =
            parts.enumerate().map(|(at, (key, pieces))| (self.numbered(at, key), pieces)).collect();
        let contents = parts.iter().map(|(title, _)| title.clone()).collect();
        let mut pieces = vec![Piece::Field(self.say("guide.contents", &[]), contents)];
        for (title, of_part) in parts {
            pieces.push(Piece::Heading(title));
            pieces.extend(of_part);
        }
        Paper { title: self.plan().head.title.to_string(), under: self.under(), pieces }
    }

    fn plan(&self) -> &Plan {
        self.words.plan
    }

    fn say(&self, key: &str, places: &[(&str, &str)]) -> String {
        self.words.say(key, places)
    }

    fn numbered(&self, at: usize, key: &str) -> String {
        format!("{}. {}", at + 1, self.say(key, &[]))
    }

    /// Returns region, edition, validity and whom to ring.
    fn under(&self) -> Vec<String> {
        let head = &self.plan().head;
        let mut under: Vec<String> = head.region.iter().map(|region| region.to_string()).collect();
        if let Some(edition) = &head.edition {
            under.push(self.say("guide.edition", &[("edition", edition)]));
        }
        if let Some((from, to)) = head.in_force {
            let (from, to) = (self.words.day(from), self.words.day(to));
            under.push(self.say("guide.in-force", &[("from", &from), ("to", &to)]));
        }
        if let Some(contact) = &head.contact {
            under.push(self.say("guide.contact", &[("contact", contact)]));
        }
        under
    }

    fn cautions(&self) -> Vec<Piece> {
        self.plan().head.cautions.iter().map(|caution| Piece::Text(caution.to_string())).collect()
    }

    /// Returns an item with a title and what is said of it.
    fn item(&self, title: &str, says: Vec<String>) -> Piece {
        Piece::Item { title: title.to_owned(), says, unfold: String::new(), more: Vec::new() }
    }
}
