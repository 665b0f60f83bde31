//! Dimensions, exact unit factors and quantities.
