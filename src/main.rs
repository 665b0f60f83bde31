//! The `bloomward` program.

use std::process::ExitCode;

fn main() -> ExitCode {
    bloomward::cli::run()
}
