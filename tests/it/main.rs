//! Tests.

mod check;
mod groves;
mod house;
mod report;
mod schema;
mod syntax;
