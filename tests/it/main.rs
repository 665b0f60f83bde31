//! Tests.

mod syntax;
mod rulebook_maker;
mod syntax_random;
mod syntax_reading;
mod syntax_traps;
mod tidy_text;
