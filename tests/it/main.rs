//! Tests.

mod check;
mod house;
mod schema;
mod syntax;
