//! Bloomward decides, tree by tree, whether to spray a mango grove in bloom, from regional rulebooks.
//!
//! The order of the modules is the order of the layers, lowest first: a module uses only modules above its
//! own line.

pub mod source;
pub mod phrase;
pub mod problems;
pub mod units;
pub mod tables;
pub mod syntax;
pub mod plan;
pub mod check;
pub mod weather;
pub mod intake;
pub mod grove;
pub mod measure;
pub mod situation;
pub mod trace;
pub mod decide;
pub mod labels;
pub mod advice;
pub mod prove;
pub mod sprayday;
pub mod workspace;
pub mod replay;
pub mod explain;
pub mod words;
pub mod report;
#[cfg(feature = "cli")]
pub mod cli;
