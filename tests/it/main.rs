//! Tests.

mod advice;
mod case;
mod check;
mod grove;
mod house;
mod mix;
mod schema;
mod syntax;
