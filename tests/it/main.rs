//! Tests.

mod advice;
mod case;
mod check;
mod grove;
mod groves;
mod house;
mod report;
mod schema;
mod syntax;
