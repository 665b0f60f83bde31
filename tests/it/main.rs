//! Tests.

mod advice;
mod case;
mod check;
mod grove;
mod house;
mod mix;
mod schema;
mod syntax;
mod rulebook_maker;
mod syntax_random;
mod syntax_traps;
mod tidy_text;
