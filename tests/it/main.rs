//! Tests.

mod advice;
mod case;
mod check;
mod grove;
mod grove_any;
mod grove_log;
mod grove_seen;
mod house;
mod mix;
mod schema;
mod syntax;
