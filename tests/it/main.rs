//! Tests.

mod advice;
mod case;
mod check;
mod grove;
mod house;
mod schema;
mod syntax;
