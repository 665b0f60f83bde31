//! Tests.

mod house;
mod syntax;
