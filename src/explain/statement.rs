//! What an explanation is made of.

use super::claim::Claim;
use super::item::Item;
use crate::plan::{Citation, Why};
use crate::source::Span;
use std::sync::Arc;

/// What a statement does in an explanation.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Role {
    /// A choice that led to the verdict.
    Choice,
    /// A gate that shuts a product which a choice would spray.
    Shut,
    /// A gate that shuts another product.
    ShutBeside,
    /// A gate that holds a product to a weaker strength.
    Held,
    /// A gate that holds another product.
    HeldBeside,
    /// A choice that holds and steps aside, since all its alternatives are shut.
    Aside,
    /// A choice that holds and gives way to another.
    Outranked,
    /// A choice or a gate of which it is not known whether it speaks.
    Open,
    /// A gate that nearly speaks.
    NearlyShut,
    /// A choice that nearly holds.
    NearlyHeld,
    /// A gate that shuts hours.
    Hours,
    /// Work other than spraying.
    Task,
    /// What changes no verdict.
    Warning,
    /// A condition with the value it met.
    Condition,
    /// A row of a band that raises or caps.
    Row,
    /// How a value came about.
    Value,
}

/// One statement of an explanation, with those that it rests on.
#[derive(Clone, PartialEq, Debug)]
pub struct Statement {
    /// What it does.
    pub role: Role,
    /// The item that it is of.
    pub item: Item,
    /// Where that stands.
    pub at: Span,
    /// What is claimed.
    pub claim: Claim,
    /// The author's reason.
    pub because: Option<Arc<str>>,
    /// The sources.
    pub cites: Vec<Citation>,
    /// What it rests on.
    pub from: Vec<Statement>,
}

impl Statement {
    /// Makes a statement that rests on nothing yet.
    pub fn new(role: Role, item: Item, at: Span, claim: Claim) -> Self {
        Self { role, item, at, claim, because: None, cites: Vec::new(), from: Vec::new() }
    }

    /// Adds the reason and the sources of an item.
    pub fn owing(mut self, why: &Why) -> Self {
        self.because = why.because.clone();
        self.cites = why.cites.clone();
        self
    }

    /// Adds what it rests on.
    pub fn resting_on(mut self, from: Vec<Statement>) -> Self {
        self.from = from;
        self
    }

    /// Returns the conditions that it rests on.
    pub fn conditions(&self) -> impl Iterator<Item = &Statement> {
        self.from.iter().filter(|part| part.role == Role::Condition)
    }
}
