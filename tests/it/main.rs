//! Tests.

mod advice;
mod case;
mod check;
mod check_order;
mod check_plan;
mod house;
mod schema;
mod syntax;
