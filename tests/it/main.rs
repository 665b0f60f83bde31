//! Tests.

mod house;
mod schema;
mod syntax;
