//! Tests.

mod advice;
mod case;
mod check;
mod grove;
mod groves;
mod house;
mod mix;
mod report;
mod rulebook_maker;
mod schema;
mod syntax;
mod syntax_random;
mod syntax_reading;
mod syntax_traps;
mod tidy_text;
