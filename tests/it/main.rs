//! Tests.

mod syntax;
mod tidy_text;
