//! Tests.

mod check;
mod syntax;
