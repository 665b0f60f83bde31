//! Tests.

mod grove;
mod syntax;
