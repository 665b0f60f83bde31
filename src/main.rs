//! The `bloomward` program.

fn main() {}
