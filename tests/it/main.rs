//! Tests.

#![expect(clippy::unwrap_used, clippy::expect_used, reason = "a test may stop where its ground is missing")]

mod advice;
mod books;
mod case;
mod check;
mod cli;
mod grove;
mod grove_any;
mod grove_log;
mod grove_seen;
mod groves;
mod hours;
mod house;
mod mix;
mod properties;
mod reference_days;
mod reference_leafwet;
mod reference_mango;
mod reference_models;
mod reference_points;
mod reference_potato;
mod reference_practice;
mod reference_weather;
mod report;
mod rulebook_maker;
mod schema;
mod syntax;
mod syntax_random;
mod syntax_reading;
mod syntax_traps;
mod tidy_text;
