//! All that a page is said with: what statements are made from, and the words for them.

use super::{Language, Speech, Words};
use crate::advice::Case;
use crate::decide::Rules;
use crate::explain::{self, Basis, Origins, Statement, Values};
use crate::measure::Inputs;
use crate::plan::{Plan, ProductId};
use crate::source::Sources;
use chrono::NaiveDate;

/// All that a page is said with, the same for every tree.
#[derive(Clone, Copy)]
pub struct Scene<'a> {
    /// The rulebook.
    pub plan: &'a Plan,
    /// The rulebook made ready.
    pub rules: &'a Rules,
    /// What each name is computed from.
    pub inputs: &'a Inputs,
    /// The texts that spans point into.
    pub sources: &'a Sources,
    /// Where values came from.
    pub origins: &'a dyn Origins,
    /// In which language.
    pub language: Language,
    /// In which units values are said.
    pub speech: Speech,
    /// The day of the advice.
    pub today: NaiveDate,
}

impl<'a> Scene<'a> {
    /// Returns the words in which facts are said.
    pub fn words(&self) -> Words<'a> {
        Words { language: self.language, speech: self.speech, plan: self.plan }
    }

    /// Returns the same in English, for programs.
    pub fn in_english(self) -> Self {
        Self { language: Language::English, ..self }
    }

    /// Returns the chain of a case, most important first.
    pub fn chain(&self, values: &Values, case: &Case) -> Vec<Statement> {
        explain::chain(&self.basis(), values, case)
    }

    /// Returns why a product is not advised.
    pub fn why_not(&self, values: &Values, case: &Case, product: ProductId) -> Vec<Statement> {
        explain::why_not(&self.basis(), values, case, product)
    }

    fn basis(&self) -> Basis<'a> {
        Basis { plan: self.plan, rules: self.rules, inputs: self.inputs, origins: self.origins }
    }
}
