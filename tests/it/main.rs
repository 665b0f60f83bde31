//! Tests.

mod advice;
mod case;
mod check;
mod house;
mod schema;
mod syntax;
