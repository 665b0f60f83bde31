//! A rehearsal as JSON, `bloomward.rehearsal/1`.

use super::json;
use super::mutation::{MutationForm, mutation_form};
use super::rehearsal::Rehearsal;
use crate::problems::Problem;
use crate::prove::examples::Failure;
use crate::prove::examples::reach::{Part, Reach};
use crate::prove::mutate::Mutation;
use serde::Serialize;
use serde_json::Value;
use std::collections::BTreeMap;

#[derive(Serialize)]
#[serde(tag = "format", rename = "bloomward.rehearsal/1")]
struct RehearsalForm<'a> {
    worked: Vec<WorkedForm<'a>>,
    promises: Vec<PromiseForm<'a>>,
    reach: Vec<ReachForm<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    mutation: Option<MutationForm<'a>>,
}

#[derive(Serialize)]
struct WorkedForm<'a> {
    title: &'a str,
    at: String,
    /// Nothing of one that was not run.
    passed: Option<bool>,
    failures: Vec<FailureForm<'a>>,
}

#[derive(Serialize)]
struct FailureForm<'a> {
    at: String,
    says: &'a str,
    missing: &'a [String],
    situation: &'a BTreeMap<String, Value>,
}

#[derive(Serialize)]
struct PromiseForm<'a> {
    name: &'a str,
    at: String,
    /// Nothing where it could not be decided.
    kept: Option<bool>,
    situation: Option<&'a BTreeMap<String, Value>>,
}

#[derive(Serialize)]
struct ReachForm<'a> {
    item: &'a str,
    at: String,
    reached: bool,
    both_ways: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    row: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    condition: Option<&'a str>,
}

impl Rehearsal<'_> {
    /// Returns the rehearsal as JSON, with what came of small changes, where these were tried.
    pub fn json(&self, mutation: Option<&Mutation>) -> String {
        json::lines(&RehearsalForm {
            worked: (0..self.plan.worked.len()).filter_map(|at| self.worked(at)).collect(),
            promises: self.promise_forms(),
            reach: self.reach.iter().map(|it| self.reach_form(it)).collect(),
            mutation: mutation.map(|it| mutation_form(it, self.sources)),
        })
    }

    fn worked(&self, at: usize) -> Option<WorkedForm<'_>> {
        let worked = self.plan.worked.get(at)?;
        let outcome = self.outcomes.iter().find(|it| it.number == at);
        let failure = |it: &'_ Failure| self.sources.locate(it.at);
        let failures = outcome.map_or(&[][..], |it| &it.failures).iter().map(|it| FailureForm {
            at: failure(it),
            says: &it.says,
            missing: &it.missing,
            situation: &it.situation,
        });
        Some(WorkedForm {
            title: &worked.title,
            at: self.sources.locate(worked.span),
            passed: outcome.map(|it| it.failures.is_empty()),
            failures: failures.collect(),
        })
    }

    fn promise_forms(&self) -> Vec<PromiseForm<'_>> {
        let form = |(promise, broken): (&'_ crate::plan::Promise, &'_ Option<Problem>)| {
            (self.sources.locate(promise.span), self.decided.then_some(broken.is_none()))
        };
        let both = self.plan.promises.iter().zip(&self.promises);
        both.map(|it| {
            let (at, kept) = form(it);
            PromiseForm { name: &it.0.name, at, kept, situation: it.1.as_ref().map(|it| &it.situation) }
        })
        .collect()
    }

    fn reach_form<'a>(&self, it: &'a Reach) -> ReachForm<'a> {
        let (row, condition) = match &it.part {
            Part::Whole => (None, None),
            Part::Row => (Some(self.row(it)), None),
            Part::Condition(written) => (None, Some(&**written)),
        };
        let at = self.sources.locate(it.at);
        ReachForm { item: &it.item, at, reached: it.reached, both_ways: it.both_ways, row, condition }
    }
}
