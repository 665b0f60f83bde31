//! Tests.

mod syntax;
