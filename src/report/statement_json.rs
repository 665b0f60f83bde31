//! A chain of statements in JSON: what they say is English, whatever the language of pages is.

use crate::explain::Statement;
use crate::words::Scene;
use serde::Serialize;
use std::sync::Arc;

/// What is claimed, where that stands, and what it rests on.
#[derive(Clone, Debug, Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct StatementEntry {
    item: String,
    /// file:line:column, both from 1.
    at: String,
    says: String,
    because: Option<Arc<str>>,
    cites: Vec<String>,
    /// What it rests on.
    from: Vec<StatementEntry>,
}

/// Returns the statements of a chain, each with those that it rests on.
pub fn chain(scene: &Scene<'_>, statements: Vec<Statement>) -> Vec<StatementEntry> {
    let scene = scene.in_english();
    let entry = |statement: Statement| StatementEntry {
        item: statement.item.written(scene.plan),
        at: scene.sources.locate(statement.at),
        says: scene.says(&statement),
        cites: statement.cites.iter().map(|it| scene.words().cited(it)).collect(),
        because: statement.because,
        from: chain(&scene, statement.from),
    };
    statements.into_iter().map(entry).collect()
}
